/*
 * The link's messages, as docs/link.md has them, and what its files share. An answer has the type of
 * its request with the highest bit set, its sequence, and as first byte of its payload a result.
 * All numbers are little-endian.
 */
#ifndef SMIRR_LINK_H
#define SMIRR_LINK_H
#include "board.h"

#define CODES 21
#define ANSWER 0x80

enum message {
    HELLO = 1,
    STATUS = 2,
    READ = 3,
    HASH = 4,
    STAGE = 5,
    SAVE = 6,
    RESTART = 7,
    INJECT_BEGIN = 8,
    INJECT_CODES = 9,
    INJECT_END = 10,
    FREEZE = 11,
    FROZEN = 12,
    MEMORY = 13,
    RECORDER = 0x30,
    SECTORS = 0x31,
    TRY = 0x40,
    TRIED = 0x41,
    CLEAR = 0x42,
};

enum result {
    DONE = 0,
    UNKNOWN = 1,
    BAD_LENGTH = 2,
    BAD_VALUE = 3,
    ARMED = 4,
    LOCKED = 5,
    NO_BENCH = 6,
    REFUSED = 7,
    BUSY = 8,
    NOT_WRITTEN = 9,
    NOT_NOW = 10,
    PULSES = 11,
    NOT_UNPLUGGED = 12,
};

/* Why an injection ended. */
enum end { END_ASKED = 1, END_TACH = 2, END_ARM = 3, END_SILENCE = 4, END_STOPPED = 5 };

/* What an answer may tell of the tick that just ended. */
struct facts {
    const int32_t *codes;
    uint32_t word, layout_hash;
    int may_write, is_bench;
};

/* link.c */
void link_start(uint32_t layout_hash, int is_bench);
void link_after_tick(const int32_t *codes, uint32_t word, int may_write);
uint32_t put32(uint8_t *to, uint32_t value);
uint32_t get32(const uint8_t *from);
void link_answer(uint8_t type, uint8_t sequence, const uint8_t *payload, uint32_t length);
/* link-settings.c: each gives the result */
uint8_t settings_stage(const uint8_t *payload, uint32_t length);
uint8_t settings_save(const uint8_t *payload, uint32_t length, const struct facts *facts);
/* link-recorder.c: each gives the length of the answer, whose first byte is the result */
uint32_t recorder_tell(uint8_t *payload);
uint32_t recorder_tell_sectors(uint8_t *payload, const uint8_t *request, uint32_t length);
/* inject.c */
void inject_configure(const struct settings *found);
uint8_t inject_begin(const uint8_t *payload, uint32_t length, const struct facts *facts);
uint8_t inject_queue(const uint8_t *payload, uint32_t length);
void inject_heard(void);
void inject_end(uint32_t why);
int inject_is_on(void);
int inject_drives_outputs(void);
void inject_replace(int32_t *codes);
void inject_tell(const struct facts *facts);
uint32_t inject_freeze(void);
void inject_hold(void);
/* trial.c */
extern uint32_t trial_is_on;
void trial_start(const struct reset *reset);
void trial_heard(void);
uint8_t trial_begin(const uint8_t *payload, uint32_t length, const struct facts *facts);
uint32_t trial_outputs(uint32_t word, const int32_t *codes);
int trial_lamp(int lit);
uint32_t trial_tell(uint8_t *payload);
uint8_t trial_clear(const uint8_t *payload, uint32_t length, const struct facts *facts);
extern int32_t frozen[];
extern uint32_t frozen_count, frozen_tick;
extern volatile uint32_t tick_count, last_output;
#endif
