// The serial line: bytes wait in two rings; nothing here ever waits for the line.
#ifndef LINE_H
#define LINE_H

#include <stdbool.h>
#include <stdint.h>

#define BAUD 500000UL

void line_init(void);
bool line_put(const uint8_t *bytes, uint8_t count);  // all or, where there is no room, nothing: false
bool line_get(uint8_t *byte);
bool line_had_error(void);  // a byte was damaged or lost since the last time

#endif
