/*
 * A tick as bits (docs/recorder.md has the same in words, host-sim/recorder/tick-code.ts reads it). One bit says
 * whether all is as expected; if not, seven more say what is not. Numbers that move often have a Rice code
 * whose length follows how far they moved of late (Rice and Plaunt 1971); the others an exponential
 * Golomb code of order 0.
 */
#include <string.h>
#include "run-log.h"

enum code {
    NOW = 0,
    FRESH = 1,
    PERIODS = 2,
    PULSE_AGE = 6,
    BOOST = 7,
    CHARGE = 9,
    SPEED_PERIOD = 12,
    SPEED_AGE = 13,
};

/* Those that move seldom, by their place in the list that follows bit "others". */
static const uint8_t OTHERS[] = {NOW, FRESH, 8, 10, 11, SPEED_AGE, 14, 15, 16, 17, 18, 19, 20};
#define OTHERS_COUNT (sizeof OTHERS)
#define OTHER_BITS 4u
#define OTHERS_END 15u

#define TICK_MS 20u
#define TIME_MASK 0x3fffffff
#define USUAL_SHIFT 4u /* sixteenths */
#define USUAL_SPEED 3u /* an eighth of the way to the newest */
#define USUAL_START 64u
#define USUAL_MAX 0xfff0u
#define RICE_ONES_MAX 16u
#define ALL_ONES 0xffffffffu

static void put_bit(struct log_bits *bits, uint32_t bit) {
    if (bits->at < bits->end) {
        uint8_t *byte = bits->bytes + bits->at / 8;
        const uint8_t mask = (uint8_t)(0x80u >> bits->at % 8);
        *byte = (uint8_t)(bit ? *byte | mask : *byte & ~mask);
    }
    bits->at++;
}

static void put(struct log_bits *bits, uint32_t value, uint32_t count) {
    while (count--) put_bit(bits, value >> count & 1);
}

/* 0, -1, 1, -2, 2 ... become 0, 1, 2, 3, 4 ... */
uint32_t log_zigzag(int32_t value) { return ((uint32_t)value << 1) ^ (value < 0 ? ALL_ONES : 0); }

/* Seven bits a byte, lowest first, the highest bit set in all but the last (LEB128). Gives its length. */
uint32_t log_put_varint(uint8_t *to, uint32_t value) {
    uint32_t count = 0;
    for (; value >= 0x80; value >>= 7) to[count++] = (uint8_t)(value | 0x80);
    to[count++] = (uint8_t)value;
    return count;
}

static uint32_t length_of(uint32_t value) {
    uint32_t length = 0;
    for (; value; value >>= 1) length++;
    return length;
}

/* Exponential Golomb of order 0: as many zeros as value + 1 has bits after its first, then value + 1. */
static void put_golomb(struct log_bits *bits, uint32_t value) {
    const uint32_t length = value == ALL_ONES ? 33 : length_of(value + 1);
    for (uint32_t zeros = 1; zeros < length; zeros++) put_bit(bits, 0);
    if (length == 33) put_bit(bits, 1);
    put(bits, value + 1, length == 33 ? 32 : length);
}

/* Rice: value >> k ones and a zero, then k bits; or sixteen ones and 32 bits. */
static void put_rice(struct log_bits *bits, uint16_t *usual, uint32_t value) {
    const uint32_t mean = *usual >> USUAL_SHIFT;
    const uint32_t k = mean ? length_of(mean) - 1 : 0;
    const uint32_t ones = value >> k;
    for (uint32_t count = 0; count < ones && count < RICE_ONES_MAX; count++) put_bit(bits, 1);
    if (ones >= RICE_ONES_MAX) {
        put(bits, value, 32);
    } else {
        put_bit(bits, 0);
        put(bits, value, k);
    }
    const uint32_t now = value < USUAL_MAX >> USUAL_SHIFT ? value << USUAL_SHIFT : USUAL_MAX;
    *usual = (uint16_t)(*usual - (*usual >> USUAL_SPEED) + (now >> USUAL_SPEED));
}

/* Begins after a tick of which everything is known. */
void log_start(struct log_state *state, const int32_t *codes, uint32_t word) {
    memset(state, 0, sizeof *state);
    memcpy(state->codes, codes, sizeof state->codes);
    state->word = word & LOG_WORD_MASK;
    for (uint32_t slot = 0; slot < LOG_FRESH_SLOTS; slot++) state->fresh[slot] = (uint16_t)codes[FRESH];
    for (uint32_t kind = 0; kind < LOG_KINDS; kind++) state->usual[kind] = USUAL_START;
}

/* A tick later, under wrap. */
static int32_t later(int32_t ms) { return (int32_t)((uint32_t)ms + TICK_MS); }

/* What a code is expected to be: time goes on, an age too if it did, channels take turns. */
static int32_t expected(const struct log_state *state, uint32_t code) {
    const int32_t had = state->codes[code];
    if (code == NOW) return later(had) & TIME_MASK;
    if (code == FRESH) return state->fresh[state->ticks % LOG_FRESH_SLOTS];
    if (code == PULSE_AGE && state->is_ageing[0]) return later(had);
    if (code == SPEED_AGE && state->is_ageing[1]) return later(had);
    return had;
}

static uint32_t off(const struct log_state *state, const int32_t *codes, uint32_t code) {
    return (uint32_t)codes[code] - (uint32_t)expected(state, code);
}

static void put_often(struct log_state *state, struct log_bits *bits, uint32_t distance, enum log_kind kind) {
    put_rice(bits, &state->usual[kind], log_zigzag((int32_t)distance));
}

static void put_periods(struct log_state *state, struct log_bits *bits, const int32_t *codes) {
    for (uint32_t index = 0; index < LOG_PERIODS; index++) {
        put_bit(bits, off(state, codes, PERIODS + index) != 0);
    }
    /* The engine goes faster or slower: a period moves as the one before it did. */
    uint32_t trend = 0;
    for (uint32_t index = 0; index < LOG_PERIODS; index++) {
        const uint32_t distance = off(state, codes, PERIODS + index);
        if (!distance) continue;
        put_often(state, bits, distance - trend, LOG_PERIOD);
        trend = distance;
    }
}

static void put_one(struct log_state *state, struct log_bits *bits, const int32_t *codes, uint32_t code,
                    enum log_kind kind) {
    const uint32_t distance = off(state, codes, code);
    put_bit(bits, distance != 0);
    if (distance) put_often(state, bits, distance, kind);
}

/* Ages go in steps of a tick: whole ones are told as such. */
static void put_age(const struct log_state *state, struct log_bits *bits, const int32_t *codes) {
    const int32_t distance = (int32_t)off(state, codes, PULSE_AGE);
    const int is_whole = distance % (int32_t)TICK_MS == 0;
    put_bit(bits, distance != 0);
    if (distance == 0) return;
    put_bit(bits, (uint32_t)is_whole);
    put_golomb(bits, log_zigzag(is_whole ? distance / (int32_t)TICK_MS : distance));
}

static void put_others(const struct log_state *state, struct log_bits *bits, const int32_t *codes) {
    for (uint32_t place = 0; place < OTHERS_COUNT; place++) {
        const uint32_t distance = off(state, codes, OTHERS[place]);
        if (!distance) continue;
        put(bits, place, OTHER_BITS);
        put_golomb(bits, log_zigzag((int32_t)distance));
    }
    put(bits, OTHERS_END, OTHER_BITS);
}

static void put_word(struct log_bits *bits, uint32_t had, uint32_t word) {
    const uint32_t cutoffs = word >> (LOG_WORD_LOW_BITS + 1);
    const int is_other = cutoffs != had >> (LOG_WORD_LOW_BITS + 1);
    put(bits, word, LOG_WORD_LOW_BITS);
    put_bit(bits, (uint32_t)is_other);
    if (is_other) put(bits, cutoffs, LOG_CUTOFF_BITS);
}

static int any_off(const struct log_state *state, const int32_t *codes, const uint8_t *list, uint32_t count) {
    for (uint32_t place = 0; place < count; place++) {
        if (off(state, codes, list[place])) return 1;
    }
    return 0;
}

static void keep(struct log_state *state, const int32_t *codes, uint32_t word) {
    state->is_ageing[0] = codes[PULSE_AGE] == later(state->codes[PULSE_AGE]);
    state->is_ageing[1] = codes[SPEED_AGE] == later(state->codes[SPEED_AGE]);
    state->fresh[state->ticks % LOG_FRESH_SLOTS] = (uint16_t)codes[FRESH];
    state->ticks++;
    memcpy(state->codes, codes, sizeof state->codes);
    state->word = word;
}

/* Puts one tick. If `bits` got longer than it may, state and bits must be put back by the caller. */
void log_put_tick(struct log_state *state, struct log_bits *bits, const int32_t *codes, uint32_t word) {
    static const uint8_t EACH_PERIOD[LOG_PERIODS] = {PERIODS, PERIODS + 1, PERIODS + 2, PERIODS + 3};
    static const uint8_t SINGLE[] = {PULSE_AGE, BOOST, CHARGE, SPEED_PERIOD};
    const uint32_t decided = word & LOG_WORD_MASK;
    const int periods = any_off(state, codes, EACH_PERIOD, LOG_PERIODS);
    const int others = any_off(state, codes, OTHERS, OTHERS_COUNT);
    const int is_other_word = decided != state->word;
    const int is_off = periods || others || is_other_word || any_off(state, codes, SINGLE, sizeof SINGLE);
    put_bit(bits, (uint32_t)is_off);
    if (is_off) {
        put_bit(bits, (uint32_t)periods);
        if (periods) put_periods(state, bits, codes);
        put_age(state, bits, codes);
        put_one(state, bits, codes, BOOST, LOG_BOOST);
        put_one(state, bits, codes, CHARGE, LOG_CHARGE);
        put_one(state, bits, codes, SPEED_PERIOD, LOG_SPEED);
        put_bit(bits, (uint32_t)others);
        if (others) put_others(state, bits, codes);
        put_bit(bits, (uint32_t)is_other_word);
        if (is_other_word) put_word(bits, state->word, decided);
    }
    keep(state, codes, decided);
}
