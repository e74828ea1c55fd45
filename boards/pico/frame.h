/*
 * The device's half of controller/link/frame.ts: COBS between zeros around version, type, sequence,
 * length, payload, CRC-16/IBM-3740 and CRC-16/ARC. No registers: the tests compile it on the host too.
 */
#ifndef SMIRR_FRAME_H
#define SMIRR_FRAME_H
#include <stdint.h>

#define FRAME_VERSION 1u
#define FRAME_PAYLOAD_MAX 240u
#define FRAME_HEAD 4u
#define FRAME_CHECKS 4u
#define FRAME_PLAIN_MAX (FRAME_HEAD + FRAME_PAYLOAD_MAX + FRAME_CHECKS)
#define FRAME_ENCODED_MAX (FRAME_PLAIN_MAX + 1u)
/* With the zeros before and after it. */
#define FRAME_LINE_MAX (FRAME_ENCODED_MAX + 2u)

struct frame {
    uint8_t version, type, sequence, length;
    uint8_t payload[FRAME_PAYLOAD_MAX + FRAME_CHECKS];
};

struct receiver {
    uint8_t bytes[FRAME_ENCODED_MAX];
    uint32_t count;
    int is_too_long;
};

uint16_t crc16_ibm3740(const uint8_t *bytes, uint32_t count);
uint16_t crc16_arc(const uint8_t *bytes, uint32_t count);
uint32_t cobs_encode(const uint8_t *bytes, uint32_t count, uint8_t *encoded);
int32_t cobs_decode(const uint8_t *encoded, uint32_t count, uint8_t *bytes);
uint32_t frame_encode(uint8_t type, uint8_t sequence, const uint8_t *payload, uint32_t length,
                      uint8_t line[FRAME_LINE_MAX]);
int frame_decode(const uint8_t *encoded, uint32_t count, struct frame *frame);
int frame_receive(struct receiver *receiver, uint8_t byte, struct frame *frame);
#endif
