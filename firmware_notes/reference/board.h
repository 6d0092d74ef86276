// What a board's pins are: one file a board defines these; everything else is the same.
#ifndef BOARD_H
#define BOARD_H

#include <avr/io.h>
#include <stdint.h>

// One channel: where its converter's data line comes in (a pin with a pin-change interrupt) and its clock line goes out.
struct pins {
    volatile uint8_t *data_in, *clock_out, *mask;  // PINx, PORTx, PCMSKn
    uint8_t data_bit, clock_bit, mask_bit;         // as masks
};

enum { CHANNELS = BOARD_CHANNELS };
extern const struct pins PINS[CHANNELS];

// Data directions, pull-ups of the data lines, pin-change interrupts on.
void board_pins(void);

// A bit a channel whose data line is low and whose pin-change interrupt is on: all at once, as it runs in interrupts.
uint16_t board_low(void);

#endif
