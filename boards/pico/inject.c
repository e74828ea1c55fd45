/*
 * Hardware in the loop: while an injection is on, the core gets codes that came over the link in place of
 * the sensors', one set a tick; a tick for which none came repeats the last set with nothing fresh. Only
 * with the bench strap closed at boot. It ends, outputs off, on any real tach edge, when the arm switch
 * opens, 200 ms after the last frame, or when asked to; the controller then restarts, so that nothing of it
 * stays. Outputs stay off unless the request has the word that allows them; their limits are kept.
 */
#include <string.h>
#include "link.h"

#define SETS 8u
#define INJECTED 20u /* all codes but the time */
#define SET_BYTES (2 + 4 * INJECTED)
#define SILENCE_TICKS 10u
#define QUIET_MS 2000u
#define OUTPUTS_ALLOWED 0x504d5550u
#define STATE_WORDS_MAX 340u
#define FRESH 1
#define FEEDBACK 16
/* A trace without feedback: it is what the calibration expects of the last tick's outputs. */
#define FEEDBACK_FOLLOWS (-1)
#define CALIBRATION_FEEDBACK 3 /* its place in the list of controller/flat.ts; a test compares it */
#define OUTPUTS 4u

int32_t frozen[STATE_WORDS_MAX];
uint32_t frozen_count, frozen_tick;

struct set {
    uint32_t number;
    int32_t codes[INJECTED];
};
static struct set sets[SETS];
static uint32_t sets_in, sets_out, silent_ticks, edges_at_begin, is_on, drives, is_new, was_armed;
static int32_t expected[OUTPUTS];
/* The frozen state is being fetched: it stays as it is. */
static uint32_t is_held;

/* Copies the state, unless a copy is being fetched; gives how many words there are. */
uint32_t inject_freeze(void) {
    if (is_held) return frozen_count;
    frozen_count = engine_state(frozen, STATE_WORDS_MAX);
    if (frozen_count > STATE_WORDS_MAX) frozen_count = 0;
    frozen_tick = tick_count;
    return frozen_count;
}

/* For the recorder, which does without the link while it needs the copy (recorder_holds_state). */
uint32_t recorder_state(const int32_t **words) {
    *words = frozen;
    return inject_freeze();
}

/* The copy is kept from here on, for as long as the injection lasts. */
void inject_hold(void) { is_held = (uint32_t)is_on; }

int inject_is_on(void) { return is_on != 0; }
int inject_drives_outputs(void) { return !is_on || drives; }
void inject_heard(void) { silent_ticks = 0; }

static int is_armed(void) { return gpio_is_active(MASK_ARM, ACTIVE_LOW_ARM); }

/* Payload: four bytes, the word that allows outputs or anything else. */
uint8_t inject_begin(const uint8_t *payload, uint32_t length, const struct facts *facts) {
    if (length != 4) return BAD_LENGTH;
    if (is_on) return BUSY;
    if (!facts->is_bench || !gpio_is_active(MASK_BENCH, ACTIVE_LOW_BENCH)) return NO_BENCH;
    if (supervisor_cause() != CAUSE_NONE) return NOT_NOW;
    if (tach.age_ms < QUIET_MS) return PULSES;
    if (facts->word & 3) return ARMED;
    recorder_stop();
    is_on = 1;
    drives = get32(payload) == OUTPUTS_ALLOWED;
    was_armed = (uint32_t)is_armed();
    edges_at_begin = tach.count;
    sets_in = sets_out = silent_ticks = 0;
    memcpy(sets[SETS - 1].codes, facts->codes + 1, 4 * INJECTED);
    sets_out = sets_in = SETS;
    sets[SETS - 1].number = 0xffff;
    inject_freeze();
    is_held = 1;
    return DONE;
}

/* Payload: number (two bytes), then the codes from `fresh` on. */
uint8_t inject_queue(const uint8_t *payload, uint32_t length) {
    if (length != SET_BYTES) return BAD_LENGTH;
    if (!is_on || sets_in - sets_out >= SETS - 1) return BUSY;
    struct set *set = &sets[sets_in % SETS];
    set->number = payload[0] | (uint32_t)payload[1] << 8;
    memcpy(set->codes, payload + 2, 4 * INJECTED);
    sets_in++;
    return DONE;
}

/* Outputs off at once; the answer says why, and the restart follows when it has left. */
void inject_end(uint32_t why) {
    if (!is_on) return;
    supervisor_command(0, 0);
    const uint8_t payload[2] = {DONE, (uint8_t)why};
    link_answer(INJECT_END, 0, payload, sizeof payload);
    /* 20 bytes at 11.5 a millisecond; the sending interrupt goes on meanwhile. */
    uart_flush();
    for (const uint32_t from = now_us(); now_us() - from < 5000;) {}
    watchdog_restart();
}

static uint32_t reason_to_end(void) {
    if (tach.count != edges_at_begin) return END_TACH;
    if (was_armed && !is_armed()) return END_ARM;
    if (supervisor_cause() != CAUSE_NONE) return END_STOPPED;
    return ++silent_ticks > SILENCE_TICKS ? END_SILENCE : 0;
}

void inject_configure(const struct settings *found) {
    if (found->calibration_count < CALIBRATION_FEEDBACK + OUTPUTS) return;
    memcpy(expected, found->calibration + CALIBRATION_FEEDBACK, sizeof expected);
}

/* Before a tick: puts the injected codes in place of the real ones, or ends it. */
void inject_replace(int32_t *codes) {
    if (!is_on) return;
    const uint32_t why = reason_to_end();
    if (why) inject_end(why);
    was_armed |= (uint32_t)is_armed();
    is_new = sets_out != sets_in;
    /* The state of the beginning is fetched until the first set comes. */
    if (is_new && sets_out == SETS) is_held = 0;
    if (is_new) sets_out++;
    memcpy(codes + 1, sets[(sets_out - 1) % SETS].codes, 4 * INJECTED);
    if (!is_new) codes[FRESH] = 0;
    /* The word's bit 0 is the pump, bit 1 enable; the list has enable first. */
    const uint32_t outputs = (last_output >> 1 & 1) | (last_output & 1) << 1;
    if (codes[FEEDBACK] == FEEDBACK_FOLLOWS) codes[FEEDBACK] = expected[outputs] == 1;
}

/*
 * After a tick: the number of the set that it used, its time and word, and the CRC-32 of the state; bit 0
 * of the flags says that the set was new, bit 1 that the CRC is told.
 */
void inject_tell(const struct facts *facts) {
    uint8_t payload[24] = {DONE, (uint8_t)((is_new ? 1 : 0) | (is_held ? 0 : 2))};
    const uint32_t count = inject_freeze();
    uint32_t at = 2;
    at += put32(payload + at, sets[(sets_out - 1) % SETS].number);
    at += put32(payload + at, tick_count);
    at += put32(payload + at, (uint32_t)facts->codes[0]);
    at += put32(payload + at, facts->word);
    at += put32(payload + at, crc32_add(0, frozen, 4 * count));
    link_answer(INJECT_CODES, 0, payload, at);
}
