// The board: each converter is read when it says that it is ready, by its own clock line; 80 times a second the newest conversions go out
// with the times at which they were ready. Between, the processor sleeps.
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/sleep.h>
#include <avr/wdt.h>
#include <string.h>

#include "board.h"
#include "converter.h"
#include "line.h"
#include "stream.h"

enum { DECIHERTZ = 800 };
#define BOOTS_AT ((uint16_t *)0)   // EEPROM: how often it was started; eight bytes of the board's own name behind
#define NAME_AT ((const void *)2)

static struct stream stream;
static struct receiver receiver;
static uint16_t boot;
static uint8_t reset_cause;

// --- time: ticks of 4 µs ---

static volatile uint16_t high;
ISR(TIMER1_OVF_vect) { high++; }
EMPTY_INTERRUPT(TIMER1_COMPA_vect)  // only wakes

static uint32_t ticks_in_interrupt(void) {
    uint16_t low = TCNT1, above = high;
    if ((TIFR1 & 1 << TOV1) && low < 0x8000) above++;  // it has just turned over, and nobody counted it yet
    return (uint32_t)above << 16 | low;
}

static uint32_t ticks(void) {
    uint8_t before = SREG;
    cli();
    uint32_t now = ticks_in_interrupt();
    SREG = before;
    return now;
}

static void time_init(void) {
    TCCR1A = 0;
    TCCR1B = 1 << CS11 | 1 << CS10;  // 16 MHz / 64
    TCNT1 = 0;
    TIMSK1 = 1 << TOIE1 | 1 << OCIE1A | 1 << OCIE1B;
}

// --- converters ---

static volatile uint32_t ready_at[CHANNELS];
static volatile uint16_t ready;  // a bit a channel

static void note_ready(void) {
    uint16_t news = board_low() & ~ready;
    if (!news) return;
    uint32_t now = ticks_in_interrupt();
    ready |= news;
    for (uint8_t c = 0; news; c++, news >>= 1)
        if (news & 1) ready_at[c] = now;
}

ISR(PCINT0_vect) { note_ready(); }
ISR(PCINT1_vect) { note_ready(); }
ISR(PCINT2_vect) { note_ready(); }

ISR(TIMER1_COMPB_vect) {  // each millisecond: a line that was low before anybody listened has no edge to come
    OCR1B += TICKS_PER_S / 1000;
    note_ready();
}

static bool read_converters(void) {
    bool any = false;
    for (uint8_t c = 0; c < CHANNELS; c++) {
        uint16_t bit = 1u << c;
        if (!(ready & bit)) continue;
        any = true;
        cli();
        *PINS[c].mask &= ~PINS[c].mask_bit;  // its data line now carries bits, not readiness
        uint32_t at = ready_at[c];
        sei();
        int32_t counts = converter_read(&PINS[c]);
        cli();
        *PINS[c].mask |= PINS[c].mask_bit;
        ready &= ~bit;
        sei();
        stream_converted(&stream, c, counts, at);
    }
    return any;
}

// --- messages ---

static bool send(const uint8_t *payload, uint8_t length) {
    uint8_t frame[MOST_FRAME];
    return line_put(frame, frame_of(payload, length, frame));
}

static void send_or_count(const uint8_t *payload, uint8_t length) {
    if (!send(payload, length)) stream_dropped(&stream);
}

static uint32_t uptime_ms;

static void send_status(void) {
    uint8_t payload[MOST_PAYLOAD];
    send_or_count(payload, stream_status(&stream, uptime_ms, receiver.bad, payload));
}

static void send_hello(void) {
    uint8_t payload[MOST_PAYLOAD], *at = payload;
    const uint8_t head[] = {HELLO, MAJOR, MINOR, 1, 0, 0};
    memcpy(at, head, sizeof head);
    at = put_u16(at + sizeof head, boot);
    *at++ = reset_cause;
    *at++ = CHANNELS;
    *at++ = CONVERTER_KIND;
    *at++ = converter_gain_now();
    at = put_u16(at, DECIHERTZ);
    at = put_u32(at, BAUD);
    eeprom_read_block(at, NAME_AT, 8);
    at += 8;
    *at++ = stream.running;
    send_or_count(payload, at - payload);
}

static uint8_t obey(const struct command *command) {
    uint16_t decihertz = DECIHERTZ;
    switch (command->kind) {
        case ASK_HELLO:
            send_hello();
            return DONE;
        case DO_TEST:
            if (command->length < 2) return BAD_ARGUMENT;
            decihertz = command->argument[0] | command->argument[1] << 8;
            if (decihertz < 10 || decihertz > 4000) return BAD_ARGUMENT;
            // fall through
        case DO_START:
            if (stream.running) return NOT_NOW;
            stream_start(&stream, ticks(), decihertz, command->kind == DO_TEST);
            return DONE;
        case DO_STOP:
            stream.running = stream.test = false;
            return DONE;
        case DO_PING:
            return command->length < 8 ? BAD_ARGUMENT : DONE;
        case DO_GAIN:
            if (command->length < 1 || !converter_gain(command->argument[0])) return BAD_ARGUMENT;
            stream_unsettle(&stream);
            return DONE;
        case ASK_STATUS:
            stream_look(&stream, ticks());
            send_status();
            return DONE;
        default:
            return UNKNOWN_COMMAND;
    }
}

static void answer(const struct command *command, uint32_t received_at) {
    uint8_t payload[MOST_PAYLOAD], *at = payload;
    uint8_t result = obey(command);
    *at++ = ACK;
    *at++ = command->request_id;
    *at++ = command->kind;
    *at++ = result;
    at = put_u32(at, received_at * 4);
    at = put_u32(at, ticks() * 4);
    memset(at, 0, 8);
    if (command->kind == DO_PING && result == DONE) memcpy(at, command->argument, 8);
    send_or_count(payload, at + 8 - payload);
}

static bool read_commands(void) {
    static struct command command;
    uint8_t byte;
    bool any = false;
    while (line_get(&byte)) {
        any = true;
        if (receive(&receiver, byte, &command)) answer(&command, ticks());
    }
    if (line_had_error()) stream.receive_error = true;
    return any;
}

// --- life ---

static void wait_for_work(uint32_t second_at) {
    uint32_t wake = stream.running && (int32_t)(stream.next - second_at) < 0 ? stream.next : second_at;
    cli();
    OCR1A = (uint16_t)wake;
    bool due = (int32_t)(ticks_in_interrupt() - wake) >= -2;  // so near that the timer may pass it before we sleep
    if (!due && !ready) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

int main(void) {
    reset_cause = MCUSR;
    MCUSR = 0;
    wdt_enable(WDTO_250MS);
    boot = eeprom_read_word(BOOTS_AT) + 1;
    eeprom_update_word(BOOTS_AT, boot);
    time_init();
    line_init();
    board_pins();
    stream_init(&stream, CHANNELS);
    set_sleep_mode(SLEEP_MODE_IDLE);
    sei();
    line_put((const uint8_t[]){0}, 1);
    send_hello();
    uint32_t second_at = TICKS_PER_S;
    for (;;) {
        wdt_reset();
        bool busy = read_converters() | read_commands();
        uint32_t now = ticks();
        if (stream_due(&stream, now)) {
            uint8_t payload[MOST_PAYLOAD];
            send_or_count(payload, stream_samples(&stream, payload));
            busy = true;
        }
        if ((int32_t)(now - second_at) >= 0) {
            second_at += TICKS_PER_S;
            uptime_ms += 1000;
            stream_look(&stream, now);
            send_status();
            busy = true;
        }
        if (!busy) wait_for_work(second_at);
    }
}
