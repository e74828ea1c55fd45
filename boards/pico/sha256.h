/* SHA-256 (FIPS 180-4, chapter 6.2), in pieces. No registers: the tests compile it on the host too. */
#ifndef SMIRR_SHA256_H
#define SMIRR_SHA256_H
#include <stdint.h>

struct sha256 {
    uint32_t state[8], length;
    uint8_t block[64];
};

void sha256_start(struct sha256 *sha);
void sha256_add(struct sha256 *sha, const uint8_t *bytes, uint32_t count);
void sha256_end(struct sha256 *sha, uint8_t digest[32]);
#endif
