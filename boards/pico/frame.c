/*
 * Frames of the link (frame.h). COBS: Cheshire and Baker, IEEE/ACM Transactions on Networking 7(2), 1999.
 * The CRCs are named as in the RevEng catalogue; tables of 16 entries take four bits at a time.
 */
#include <string.h>
#include "frame.h"

/* Polynomial 0x1021, start all ones, not reflected. */
uint16_t crc16_ibm3740(const uint8_t *bytes, uint32_t count) {
    static const uint16_t TABLE[16] = {0x0000, 0x1021, 0x2042, 0x3063, 0x4084, 0x50a5, 0x60c6, 0x70e7,
                                       0x8108, 0x9129, 0xa14a, 0xb16b, 0xc18c, 0xd1ad, 0xe1ce, 0xf1ef};
    uint32_t crc = 0xffff;
    while (count--) {
        crc ^= (uint32_t)*bytes++ << 8;
        crc = ((crc << 4) ^ TABLE[(crc >> 12) & 15]) & 0xffff;
        crc = ((crc << 4) ^ TABLE[(crc >> 12) & 15]) & 0xffff;
    }
    return (uint16_t)crc;
}

/* Polynomial 0x8005, start 0, reflected. */
uint16_t crc16_arc(const uint8_t *bytes, uint32_t count) {
    static const uint16_t TABLE[16] = {0x0000, 0xcc01, 0xd801, 0x1400, 0xf001, 0x3c00, 0x2800, 0xe401,
                                       0xa001, 0x6c00, 0x7800, 0xb401, 0x5000, 0x9c01, 0x8801, 0x4400};
    uint32_t crc = 0;
    while (count--) {
        crc ^= *bytes++;
        crc = (crc >> 4) ^ TABLE[crc & 15];
        crc = (crc >> 4) ^ TABLE[crc & 15];
    }
    return (uint16_t)crc;
}

/* Gives the count of bytes in `encoded`, which must have room for one more in each 254. */
uint32_t cobs_encode(const uint8_t *bytes, uint32_t count, uint8_t *encoded) {
    uint32_t code_at = 0, at = 1;
    for (uint32_t index = 0; index < count; index++) {
        if (bytes[index] != 0) encoded[at++] = bytes[index];
        const uint32_t run = at - code_at - 1;
        if (bytes[index] != 0 && (run < 254 || index == count - 1)) continue;
        encoded[code_at] = (uint8_t)(run + 1);
        code_at = at++;
    }
    encoded[code_at] = (uint8_t)(at - code_at);
    return at;
}

/* Gives the count of bytes, or -1 if `encoded` has a zero, ends within a run, or is empty. */
int32_t cobs_decode(const uint8_t *encoded, uint32_t count, uint8_t *bytes) {
    uint32_t at = 0, made = 0;
    while (at < count) {
        const uint32_t code = encoded[at];
        if (code == 0 || at + code > count) return -1;
        for (uint32_t next = at + 1; next < at + code; next++) {
            if (encoded[next] == 0) return -1;
            bytes[made++] = encoded[next];
        }
        at += code;
        if (code <= 254 && at < count) bytes[made++] = 0;
    }
    return count == 0 ? -1 : (int32_t)made;
}

/* Gives the count of bytes in `line`, both zeros among them. `length` is at most 240. */
uint32_t frame_encode(uint8_t type, uint8_t sequence, const uint8_t *payload, uint32_t length,
                      uint8_t line[FRAME_LINE_MAX]) {
    uint8_t plain[FRAME_PLAIN_MAX] = {FRAME_VERSION, type, sequence, (uint8_t)length};
    memcpy(plain + FRAME_HEAD, payload, length);
    uint32_t count = FRAME_HEAD + length;
    const uint16_t first = crc16_ibm3740(plain, count), second = crc16_arc(plain, count);
    plain[count++] = (uint8_t)first;
    plain[count++] = (uint8_t)(first >> 8);
    plain[count++] = (uint8_t)second;
    plain[count++] = (uint8_t)(second >> 8);
    line[0] = 0;
    const uint32_t encoded = cobs_encode(plain, count, line + 1);
    line[1 + encoded] = 0;
    return encoded + 2;
}

/* Gives 1 if the bytes between two zeros are a frame, of whatever version. */
int frame_decode(const uint8_t *encoded, uint32_t count, struct frame *frame) {
    if (count > FRAME_ENCODED_MAX) return 0;
    uint8_t *plain = (uint8_t *)frame;
    const int32_t made = cobs_decode(encoded, count, plain);
    if (made < (int32_t)(FRAME_HEAD + FRAME_CHECKS)) return 0;
    const uint32_t body = (uint32_t)made - FRAME_CHECKS;
    if (frame->length != body - FRAME_HEAD) return 0;
    const uint8_t *checks = plain + body;
    if ((checks[0] | checks[1] << 8) != crc16_ibm3740(plain, body)) return 0;
    return (checks[2] | checks[3] << 8) == crc16_arc(plain, body);
}

/* Takes one byte; 1 if it ends a frame, which is then in `frame`. */
int frame_receive(struct receiver *receiver, uint8_t byte, struct frame *frame) {
    if (byte != 0) {
        if (receiver->count < FRAME_ENCODED_MAX) receiver->bytes[receiver->count++] = byte;
        else receiver->is_too_long = 1;
        return 0;
    }
    const uint32_t count = receiver->count;
    const int is_too_long = receiver->is_too_long;
    receiver->count = 0;
    receiver->is_too_long = 0;
    return !is_too_long && count > 0 && frame_decode(receiver->bytes, count, frame);
}
