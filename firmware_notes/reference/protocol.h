// The wire format, version 1: payloads to frames on the line and back. No hardware, no clock: the same file runs on the board and on the
// host, where the project's tests hold it against the program's own codec.
#ifndef PROTOCOL_H
#define PROTOCOL_H

#include <stdbool.h>
#include <stdint.h>

enum { MAJOR = 1, MINOR = 0, MOST_CHANNELS = 14, MOST_PAYLOAD = 96, MOST_FRAME = MOST_PAYLOAD + 4 + 2 };
enum { HELLO = 0x02, ACK = 0x03, STATUS = 0x04, SAMPLES = 0x05 };
enum { ASK_HELLO = 0x81, DO_START, DO_STOP, DO_PING, DO_GAIN, ASK_STATUS, DO_TEST };
enum { DONE, UNKNOWN_COMMAND, BAD_ARGUMENT, NOT_NOW };
enum { GOOD, SATURATED, TIMED_OUT, STUCK };  // a channel's status
enum { FLAG_FAULT = 1, FLAG_DROPPED = 2, FLAG_RECEIVE_ERROR = 4, FLAG_FIRST = 8, FLAG_TEST = 16, FLAG_SETTLING = 32, FLAG_MISSED = 64 };

// CRC-32 of zlib (reflected 0x04C11DB7), begun with 0.
uint32_t crc32_more(uint32_t crc, uint8_t byte);

// payload (at most MOST_PAYLOAD bytes) as it goes over the line: COBS(payload + CRC), then 0x00. The length; out holds MOST_FRAME.
uint8_t frame_of(const uint8_t *payload, uint8_t length, uint8_t *out);

// Little-endian numbers into a payload; each gives the place behind.
uint8_t *put_u16(uint8_t *at, uint16_t value);
uint8_t *put_u24(uint8_t *at, int32_t value);
uint8_t *put_u32(uint8_t *at, uint32_t value);

// A command, as the program sends it.
struct command {
    uint8_t kind, request_id, length;  // length of the argument
    uint8_t argument[MOST_PAYLOAD];
};

// What comes in, byte by byte. Begin with everything zero.
struct receiver {
    uint8_t frame[MOST_FRAME], length;
    bool overlong;
    uint32_t bad;  // frames that were none
};

// True where this byte completed a command.
bool receive(struct receiver *receiver, uint8_t byte, struct command *command);

#endif
