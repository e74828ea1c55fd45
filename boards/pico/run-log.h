/*
 * The run log's code: how the codes and the decision of a tick become bits, each number as its distance from
 * what was to be expected (docs/recorder.md). No registers and no flash: the tests compile it for the host.
 */
#ifndef SMIRR_RUN_LOG_H
#define SMIRR_RUN_LOG_H
#include <stdint.h>

#define LOG_CODES 21u
#define LOG_PERIODS 4u
/* Without the lamp's light, which follows from the rest. */
#define LOG_WORD_MASK 0x3ffffbffu
#define LOG_WORD_LOW_BITS 10u
#define LOG_CUTOFF_BITS 19u
#define LOG_FRESH_SLOTS 8u

/* Bits from the highest of each byte on; what finds no place is counted all the same. */
struct log_bits {
    uint8_t *bytes;
    uint32_t at, end;
};

/* How far a kind of number usually moves, in sixteenths: from it the length of its code follows. */
enum log_kind { LOG_PERIOD, LOG_BOOST, LOG_CHARGE, LOG_SPEED, LOG_KINDS };

/* All that the code of the next tick depends on. */
struct log_state {
    int32_t codes[LOG_CODES];
    uint32_t word, ticks;
    uint16_t fresh[LOG_FRESH_SLOTS];
    uint16_t usual[LOG_KINDS];
    uint8_t is_ageing[2];
};

void log_start(struct log_state *state, const int32_t *codes, uint32_t word);
void log_put_tick(struct log_state *state, struct log_bits *bits, const int32_t *codes, uint32_t word);
uint32_t log_put_varint(uint8_t *to, uint32_t value);
uint32_t log_zigzag(int32_t value);
#endif
