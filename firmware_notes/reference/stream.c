#include "stream.h"

#include <string.h>

#define COUNTS_MAX 0x7FFFFFL
#define COUNTS_MIN (-0x7FFFFFL - 1)
#define TEST_SEED 77UL

void stream_init(struct stream *stream, uint8_t count) {
    memset(stream, 0, sizeof *stream);
    stream->count = count;
    stream_unsettle(stream);
}

void stream_unsettle(struct stream *stream) {
    for (uint8_t c = 0; c < stream->count; c++) stream->channels[c].settling = SETTLING;
}

void stream_start(struct stream *stream, uint32_t now, uint16_t decihertz, bool test) {
    stream->running = stream->first = true;
    stream->test = test;
    stream_unsettle(stream);
    stream->period = TICKS_PER_S * 10UL / decihertz;
    stream->next = now + stream->period;
    for (uint8_t c = 0; c < stream->count; c++) stream->channels[c].fresh = false;
}

void stream_converted(struct stream *stream, uint8_t number, int32_t counts, uint32_t at) {
    struct channel *channel = &stream->channels[number];
    bool alike = channel->seen && counts == channel->counts;
    channel->alike = !alike ? 0 : channel->alike < 255 ? channel->alike + 1 : 255;
    if (channel->alike == STUCK_AFTER) stream->stuck++;
    channel->counts = counts;
    channel->at = at;
    channel->fresh = channel->seen = true;
    if (channel->settling > 0) channel->settling--;
    stream->dead &= ~(1u << number);
    channel->status = counts >= COUNTS_MAX || counts <= COUNTS_MIN ? SATURATED : channel->alike >= STUCK_AFTER ? STUCK : GOOD;
}

bool stream_due(const struct stream *stream, uint32_t now) {
    return stream->running && (int32_t)(now - stream->next) >= 0;
}

void stream_look(struct stream *stream, uint32_t now) {
    for (uint8_t c = 0; c < stream->count; c++) {
        struct channel *channel = &stream->channels[c];
        if (channel->status == TIMED_OUT) continue;  // until it answers again, however long that takes
        if (channel->seen && (int32_t)(now - channel->at) <= (int32_t)TIMEOUT_TICKS) continue;
        channel->status = TIMED_OUT;
        stream->timeouts++;
        stream->dead |= 1u << c;
    }
}

static uint8_t *put_channel(const struct stream *stream, uint8_t number, uint32_t t0, uint8_t *at) {
    const struct channel *channel = &stream->channels[number];
    int32_t after = channel->status == TIMED_OUT ? INT16_MIN : (int32_t)(channel->at - t0);
    *at++ = number | channel->status << 4;
    at = put_u16(at, after < INT16_MIN ? INT16_MIN : after > INT16_MAX ? INT16_MAX : after);
    int32_t counts = stream->test ? (int32_t)((stream->sequence * TEST_SEED + number) % 1000000) : channel->counts;
    return put_u24(at, counts);
}

uint8_t stream_samples(struct stream *stream, uint8_t *payload) {
    uint32_t t0 = stream->next;
    uint8_t flags = 0;
    stream_look(stream, t0);
    uint8_t *at = payload;
    *at++ = SAMPLES;
    at = put_u16(at, stream->sequence);
    at = put_u32(at, t0 * 4);
    uint8_t *flags_at = at++;
    for (uint8_t c = 0; c < stream->count; c++) {
        struct channel *channel = &stream->channels[c];
        at = put_channel(stream, c, t0, at);
        if (channel->status != GOOD) flags |= FLAG_FAULT;
        if (!channel->fresh) flags |= FLAG_MISSED;
        if (channel->settling > 0 && channel->status != TIMED_OUT) flags |= FLAG_SETTLING;
        channel->fresh = false;
    }
    if (stream->dropped_before) flags |= FLAG_DROPPED;
    if (stream->receive_error) flags |= FLAG_RECEIVE_ERROR;
    if (stream->first) flags |= FLAG_FIRST;
    if (stream->test) flags |= FLAG_TEST;
    *flags_at = flags;
    stream->dropped_before = stream->receive_error = stream->first = false;
    stream->sequence++;
    stream->next += stream->period;
    return at - payload;
}

void stream_dropped(struct stream *stream) {
    stream->dropped++;
    stream->dropped_before = true;
}

uint8_t stream_status(const struct stream *stream, uint32_t uptime_ms, uint32_t bad_received, uint8_t *payload) {
    uint8_t *at = payload;
    *at++ = STATUS;
    at = put_u32(at, uptime_ms);
    at = put_u32(at, stream->dropped);
    at = put_u32(at, stream->timeouts);
    at = put_u32(at, stream->stuck);
    at = put_u32(at, bad_received);
    at = put_u16(at, stream->dead);
    return at - payload;
}
