// What is known of each channel, and the messages made of it. No hardware: times are handed in, in ticks of 4 µs.
#ifndef STREAM_H
#define STREAM_H

#include "protocol.h"

enum { TICKS_PER_S = 250000, SETTLING = 4, STUCK_AFTER = 40 };  // conversions; 40 at 80/s are half a second
#define TIMEOUT_TICKS (TICKS_PER_S / 5)

struct channel {
    int32_t counts;
    uint32_t at;  // of its newest conversion
    uint8_t alike, status;
    uint8_t settling;  // conversions until it has settled, after power-up, reset, a start or a change of gain
    bool fresh, seen;
};

struct stream {
    struct channel channels[MOST_CHANNELS];
    uint8_t count;
    bool running, test, first, receive_error, dropped_before;
    uint16_t sequence;
    uint32_t period, next;  // of the messages, ticks
    uint32_t dropped, timeouts, stuck;
    uint16_t dead;
};

void stream_init(struct stream *stream, uint8_t count);

// Begins at `now`; every `decihertz` tenths of a hertz a message. test: made-up counts, the link's self-test.
void stream_start(struct stream *stream, uint32_t now, uint16_t decihertz, bool test);

// A conversion of a channel that was ready at `at`.
void stream_converted(struct stream *stream, uint8_t channel, int32_t counts, uint32_t at);

// Every converter has to settle anew.
void stream_unsettle(struct stream *stream);

// Takes note of channels that no longer answer; at least once a second, streaming or not.
void stream_look(struct stream *stream, uint32_t now);

// True where a message is due at `now`.
bool stream_due(const struct stream *stream, uint32_t now);

// The SAMPLES payload that is due; its length. After a stall several are due, one after the other.
uint8_t stream_samples(struct stream *stream, uint8_t *payload);

// The line did not take a message.
void stream_dropped(struct stream *stream);

uint8_t stream_status(const struct stream *stream, uint32_t uptime_ms, uint32_t bad_received, uint8_t *payload);

#endif
