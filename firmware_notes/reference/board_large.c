// ATmega2560, 16 MHz: ten converters. Data lines on port B (B0 to B7: 53 to 50, 10 to 13) and J0, J1 (15, 14), clock lines on port A (22 to
// 29) and C0, C1 (37, 36).
#include "board.h"

#define LOW(n) {&PINB, &PORTA, &PCMSK0, 1 << n, 1 << n, 1 << n}
#define HIGH(n) {&PINJ, &PORTC, &PCMSK1, 1 << n, 1 << n, 2 << n}
const struct pins PINS[CHANNELS] = {LOW(0), LOW(1), LOW(2), LOW(3), LOW(4), LOW(5), LOW(6), LOW(7), HIGH(0), HIGH(1)};

void board_pins(void) {
    DDRA = 0xFF;
    DDRC = 0x03;
    PORTA = PORTC = 0;
    DDRB = DDRJ = 0;
    PORTB = 0xFF;
    PORTJ = 0x03;
    PCMSK0 = 0xFF;
    PCMSK1 = 0x06;  // the first bit of this mask is a pin of port E
    PCICR = 1 << PCIE0 | 1 << PCIE1;
}

uint16_t board_low(void) { return (uint8_t)(~PINB & PCMSK0) | (uint16_t)(~PINJ & PCMSK1 >> 1 & 3) << 8; }
