// A converter: ready when its data line is low. Another kind of converter is another file with these.
#ifndef CONVERTER_H
#define CONVERTER_H

#include <stdbool.h>
#include <stdint.h>

#include "board.h"

enum { CONVERTER_KIND = 1 };  // 24-bit bridge, as HELLO says

// False where it does not have that gain.
bool converter_gain(uint8_t gain);
uint8_t converter_gain_now(void);

// The conversion that is ready, signed; also tells the converter the gain of the next one. Interrupts may come between its clock pulses
// and never in one: a pulse of 60 µs would turn the converter off.
int32_t converter_read(const struct pins *pins);

#endif
