/*
 * What the account says and when it is written: after a spray ended and at most each 30 s, when the
 * pump-stuck flag changes, and for the flag "the engine ran in the first 60 s of this boot", which a boot
 * finds if the one before it lasted less than 60 s. One number of the core is asked a tick, so that no
 * tick grows; when it is written they are asked again, so that it is right to the tick. The core's events
 * are fetched here too, for the recorder.
 */
#include "keep.h"

enum number { TANK_UL, TANK_KNOWN, AMBIENT_HPA, EVENTS, PUMP_STUCK_ON, ENGINE_RUNS, NUMBERS };

#define FIRST_TICKS 3000u /* 60 s */
#define BETWEEN_TICKS 1500u /* 30 s */
#define AMBIENT_CHANGE_HPA 5

/* AccountNumber.FirstEvent of controller/bundle.ts: id, detail and time of each place of the ring. */
#define FIRST_EVENT 16u
#define EVENT_NUMBERS 4u
#define EVENT_RING 16u
#define EVENT_TOTAL_MASK 0x3fffffffu
#define EVENT_REFILLED 5

/* The word of a tick: bit 0 pump, cutoffs from bit 11. */
#define CUTOFF(bit) (1u << (11 + (bit)))
#define CUTOFF_ENGINE_STOPPED CUTOFF(1)
/* Sensor lost, late input, supply, pump circuit, button stuck, bad settings, unexpected reset, core fault. */
#define CUTOFFS_FAULTS \
    (CUTOFF(2) | CUTOFF(3) | CUTOFF(11) | CUTOFF(12) | CUTOFF(13) | CUTOFF(15) | CUTOFF(16) | CUTOFF(18))
/* Those that hold at every boot until their input has been good for its time. */
#define CUTOFFS_OF_A_BOOT (CUTOFF(2) | CUTOFF(3) | CUTOFF(11))

static struct account written, latest;
static int32_t numbers[NUMBERS];
static uint32_t ticks, ticks_since_write, had_word, events_told;

void account_start(struct account stored) {
    written = latest = stored;
    latest.has_run = 0;
    ticks_since_write = BETWEEN_TICKS;
    had_word = CUTOFFS_OF_A_BOOT;
}

const struct account *account_now(void) { return &latest; }

static void count(uint32_t word) {
    const uint32_t begun = word & ~had_word;
    had_word = word;
    latest.bursts += begun & 1;
    latest.engine_ticks += (word & CUTOFF_ENGINE_STOPPED) == 0;
    for (uint32_t bits = begun & CUTOFFS_FAULTS; bits; bits &= bits - 1) latest.faults++;
}

static int has_changed(void) {
    const int32_t moved = latest.ambient_hpa - written.ambient_hpa;
    return latest.tank_ul != written.tank_ul || moved > AMBIENT_CHANGE_HPA ||
           moved < -AMBIENT_CHANGE_HPA || latest.engine_ticks != written.engine_ticks ||
           latest.faults != written.faults || latest.refills != written.refills;
}

static int is_urgent(void) {
    return latest.pump_stuck_on != written.pump_stuck_on || latest.has_run != written.has_run;
}

/* One event a tick, in their order; those that the ring has lost are left out. */
static void follow_events(void) {
    const uint32_t total = (uint32_t)numbers[EVENTS];
    const uint32_t behind = (total - events_told) & EVENT_TOTAL_MASK;
    if (numbers[EVENTS] < 0 || behind == 0 || !recorder_can_take_event()) return;
    if (behind > EVENT_RING) events_told = (total - EVENT_RING) & EVENT_TOTAL_MASK;
    const unsigned first = FIRST_EVENT + EVENT_NUMBERS * (events_told % EVENT_RING);
    const int32_t id = engine_account(first);
    if (id == EVENT_REFILLED) latest.refills++;
    recorder_event(events_told, id, engine_account(first + 1), engine_account(first + 2));
    events_told = (events_told + 1) & EVENT_TOTAL_MASK;
}

static void take_numbers(void) {
    latest.tank_ul = numbers[TANK_KNOWN] == 1 ? numbers[TANK_UL] : -1;
    latest.ambient_hpa = numbers[AMBIENT_HPA];
    latest.pump_stuck_on = numbers[PUMP_STUCK_ON] == 1;
    if (ticks >= FIRST_TICKS) latest.has_run = 0;
    else if (numbers[ENGINE_RUNS] == 1) latest.has_run = 1;
}

/*
 * Once a tick, after it: `word` is the tick's. `may_program`: nothing else was written to flash in this
 * tick; `may_erase`: disarmed, and nothing was erased either.
 */
void account_follow(uint32_t word, int may_erase, int may_program) {
    const unsigned asked = ticks++ % NUMBERS;
    ticks_since_write++;
    count(word);
    numbers[asked] = engine_account(asked);
    follow_events();
    if (asked != NUMBERS - 1) return;
    take_numbers();
    const int sprays = word & 1;
    const int is_due = !sprays && ticks_since_write >= BETWEEN_TICKS && has_changed();
    if (!is_due && !is_urgent()) {
        if (may_erase) account_make_room();
        return;
    }
    if (!may_program) return;
    for (unsigned index = 0; index < NUMBERS; index++) numbers[index] = engine_account(index);
    take_numbers();
    account_write(&latest);
    written = latest;
    ticks_since_write = 0;
}
