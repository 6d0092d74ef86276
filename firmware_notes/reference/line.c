#include "line.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#ifndef USART_RX_vect  // the larger chip numbers its ports
#define USART_RX_vect USART0_RX_vect
#define USART_UDRE_vect USART0_UDRE_vect
#endif

enum { OUT_MASK = 255, IN_MASK = 63 };
static volatile uint8_t out[OUT_MASK + 1], in[IN_MASK + 1];
static volatile uint8_t out_head, out_tail, in_head, in_tail;
static volatile bool error;

void line_init(void) {
    UCSR0A = 1 << U2X0;  // before the divisor: some counters take it over only with it
    UBRR0 = F_CPU / 8 / BAUD - 1;
    UCSR0C = 1 << UCSZ01 | 1 << UCSZ00;
    UCSR0B = 1 << RXCIE0 | 1 << RXEN0 | 1 << TXEN0;
}

ISR(USART_RX_vect) {
    if (UCSR0A & (1 << FE0 | 1 << DOR0)) error = true;
    uint8_t byte = UDR0, next = (in_head + 1) & IN_MASK;
    if (next == in_tail) {
        error = true;
    } else {
        in[in_head] = byte;
        in_head = next;
    }
}

ISR(USART_UDRE_vect) {
    if (out_head == out_tail) {
        UCSR0B &= ~(1 << UDRIE0);
    } else {
        UDR0 = out[out_tail];
        out_tail = (out_tail + 1) & OUT_MASK;
    }
}

bool line_put(const uint8_t *bytes, uint8_t count) {
    uint8_t room = (uint8_t)(out_tail - out_head - 1) & OUT_MASK;
    if (count > room) return false;
    for (uint8_t i = 0; i < count; i++) {
        out[out_head] = bytes[i];
        out_head = (out_head + 1) & OUT_MASK;
    }
    UCSR0B |= 1 << UDRIE0;
    return true;
}

bool line_get(uint8_t *byte) {
    if (in_head == in_tail) return false;
    *byte = in[in_tail];
    in_tail = (in_tail + 1) & IN_MASK;
    return true;
}

bool line_had_error(void) {
    uint8_t before = SREG;
    cli();
    bool had = error;
    error = false;
    SREG = before;
    return had;
}
