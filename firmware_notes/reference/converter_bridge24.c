// The common 24-bit bridge converter with a two-wire serial port: 24 pulses clock the value out, most significant bit first; one more
// asks for gain 128 next, three more for gain 64, both of its first input.
#include "converter.h"

#include <avr/interrupt.h>
#include <util/delay.h>

static uint8_t extra_pulses = 1;

bool converter_gain(uint8_t gain) {
    if (gain != 128 && gain != 64) return false;
    extra_pulses = gain == 128 ? 1 : 3;
    return true;
}

uint8_t converter_gain_now(void) { return extra_pulses == 1 ? 128 : 64; }

static inline bool pulse(const struct pins *pins) {
    uint8_t before = SREG;
    cli();
    *pins->clock_out |= pins->clock_bit;
    _delay_us(0.5);  // at least 0.2 µs high; data is there 0.1 µs after the edge
    bool bit = *pins->data_in & pins->data_bit;
    *pins->clock_out &= ~pins->clock_bit;
    SREG = before;
    _delay_us(0.2);
    return bit;
}

int32_t converter_read(const struct pins *pins) {
    uint32_t value = 0;
    for (uint8_t i = 0; i < 24; i++) value = value << 1 | pulse(pins);
    for (uint8_t i = 0; i < extra_pulses; i++) pulse(pins);
    return (int32_t)(value << 8) >> 8;
}
