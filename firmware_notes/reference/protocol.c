#include "protocol.h"

#include <string.h>

#ifdef __AVR__
#include <avr/pgmspace.h>
#else
#define PROGMEM
#define pgm_read_dword(at) (*(at))
#endif

// A table of 16 does half a byte at a time: a sixteenth of the usual table's size, half its speed.
static const uint32_t HALF_BYTE[16] PROGMEM = {
    0x00000000, 0x1DB71064, 0x3B6E20C8, 0x26D930AC, 0x76DC4190, 0x6B6B51F4, 0x4DB26158, 0x5005713C,
    0xEDB88320, 0xF00F9344, 0xD6D6A3E8, 0xCB61B38C, 0x9B64C2B0, 0x86D3D2D4, 0xA00AE278, 0xBDBDF21C,
};

uint32_t crc32_more(uint32_t crc, uint8_t byte) {
    crc = ~crc ^ byte;
    crc = crc >> 4 ^ pgm_read_dword(&HALF_BYTE[crc & 15]);
    crc = crc >> 4 ^ pgm_read_dword(&HALF_BYTE[crc & 15]);
    return ~crc;
}

uint8_t frame_of(const uint8_t *payload, uint8_t length, uint8_t *out) {
    uint32_t crc = 0;
    uint8_t code_at = 0, at = 1, whole = length + 4;
    for (uint8_t i = 0; i < whole; i++) {
        uint8_t byte;
        if (i < length) {
            byte = payload[i];
            crc = crc32_more(crc, byte);
        } else {
            byte = crc;
            crc >>= 8;
        }
        if (byte == 0) {  // a run has at most 100 bytes here: COBS' full runs of 254 cannot come up
            out[code_at] = at - code_at;
            code_at = at;
        } else {
            out[at] = byte;
        }
        at++;
    }
    out[code_at] = at - code_at;
    out[at++] = 0;
    return at;
}

uint8_t *put_u16(uint8_t *at, uint16_t value) {
    *at++ = value;
    *at++ = value >> 8;
    return at;
}

uint8_t *put_u24(uint8_t *at, int32_t value) {
    at = put_u16(at, value);
    *at++ = value >> 16;
    return at;
}

uint8_t *put_u32(uint8_t *at, uint32_t value) {
    at = put_u16(at, value);
    return put_u16(at, value >> 16);
}

// COBS in place; the length, or 0 where it is malformed.
static uint8_t unstuff(uint8_t *frame, uint8_t length) {
    uint8_t from = 0, to = 0;
    while (from < length) {
        uint8_t code = frame[from];
        if (code > length - from) return 0;
        for (uint8_t i = 1; i < code; i++) frame[to++] = frame[from + i];
        from += code;
        if (code < 255 && from < length) frame[to++] = 0;
    }
    return to;
}

static bool parse(struct receiver *receiver, struct command *command) {
    uint8_t size = unstuff(receiver->frame, receiver->length);
    if (size < 6) return false;  // type, request and checksum
    uint32_t crc = 0;
    for (uint8_t i = 0; i < size - 4; i++) crc = crc32_more(crc, receiver->frame[i]);
    for (uint8_t i = size - 4; i < size; i++, crc >>= 8)
        if (receiver->frame[i] != (uint8_t)crc) return false;
    if (receiver->frame[0] < 0x80) return false;  // what only a board sends
    command->kind = receiver->frame[0];
    command->request_id = receiver->frame[1];
    command->length = size - 6;
    memcpy(command->argument, receiver->frame + 2, command->length);
    return true;
}

bool receive(struct receiver *receiver, uint8_t byte, struct command *command) {
    if (byte != 0) {
        if (receiver->length < sizeof receiver->frame)
            receiver->frame[receiver->length++] = byte;
        else
            receiver->overlong = true;
        return false;
    }
    bool empty = receiver->length == 0 && !receiver->overlong;  // a lone delimiter is nobody's fault
    bool good = !empty && !receiver->overlong && parse(receiver, command);
    if (!good && !empty) receiver->bad++;
    receiver->length = 0;
    receiver->overlong = false;
    return good;
}
