// ATmega328P, 16 MHz: six converters. Data lines on port C (A0 to A5 of common boards), clock lines on port B (8 to 13).
#include "board.h"

#define PIN(n) {&PINC, &PORTB, &PCMSK1, 1 << n, 1 << n, 1 << n}
const struct pins PINS[CHANNELS] = {PIN(0), PIN(1), PIN(2), PIN(3), PIN(4), PIN(5)};

void board_pins(void) {
    DDRB = 0x3F;   // clocks low: a clock that stays high turns a converter off
    PORTB = 0;
    DDRC = 0;
    PORTC = 0x3F;  // pull-ups: an unplugged converter reads as never ready
    PCMSK1 = 0x3F;
    PCICR = 1 << PCIE1;
}

uint16_t board_low(void) { return ~PINC & PCMSK1 & 0x3F; }
