/*
 * When the account is written: after a spray ended and at most each 30 s, when the pump-stuck flag
 * changes, and for the flag "the engine ran in the first 60 s of this boot", which a boot finds if
 * the one before it lasted less than 60 s. One number of the core is asked a tick, so that no tick grows.
 */
#include "board.h"

enum number { TANK_UL, TANK_KNOWN, AMBIENT_HPA, EVENTS, PUMP_STUCK_ON, ENGINE_RUNS, NUMBERS };

#define FIRST_TICKS 3000u /* 60 s */
#define BETWEEN_TICKS 1500u /* 30 s */
#define AMBIENT_CHANGE_HPA 5

static struct account written, latest;
static int32_t numbers[NUMBERS];
static uint32_t ticks, ticks_since_write, was_written;

void account_start(struct account stored) {
    written = latest = stored;
    latest.has_run = 0;
    ticks_since_write = BETWEEN_TICKS;
}

static int has_changed(void) {
    const int32_t moved = latest.ambient_hpa - written.ambient_hpa;
    return latest.tank_ul != written.tank_ul || moved > AMBIENT_CHANGE_HPA || moved < -AMBIENT_CHANGE_HPA;
}

static int is_urgent(void) {
    return latest.pump_stuck_on != written.pump_stuck_on || latest.has_run != written.has_run;
}

/* Once a tick, after it: `word` is the tick's. */
void account_follow(uint32_t word, int is_disarmed) {
    const unsigned asked = ticks++ % NUMBERS;
    ticks_since_write++;
    numbers[asked] = engine_account(asked);
    if (asked != NUMBERS - 1) return;
    latest.tank_ul = numbers[TANK_KNOWN] == 1 ? numbers[TANK_UL] : -1;
    latest.ambient_hpa = numbers[AMBIENT_HPA];
    latest.pump_stuck_on = numbers[PUMP_STUCK_ON] == 1;
    if (ticks >= FIRST_TICKS) latest.has_run = 0;
    else if (numbers[ENGINE_RUNS] == 1) latest.has_run = 1;
    const int sprays = word & 1;
    const int may_write = !sprays && ticks_since_write >= BETWEEN_TICKS && has_changed();
    if (!may_write && !is_urgent()) {
        if (is_disarmed) store_make_room();
        return;
    }
    if (store_write_account(&latest) == 0) was_written++;
    written = latest;
    ticks_since_write = 0;
}
