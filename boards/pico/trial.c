/*
 * Trials, for the self-test on a bench: for a time that was asked for, and while frames keep coming, lamp, enable
 * and pump are driven in place of the core's wish, or ticks are held back so that supervisor and watchdog
 * must act. Only with the bench strap closed, the engine still, the core driving nothing, and the word that
 * says a person unplugged the pump; a pump that is plugged in all the same lifts the sensed low side
 * while enable alone is closed, and that ends it before the low side is. It ends with both outputs off.
 */
#include "link.h"

#define UNPLUGGED 0x21595244u
#define CLEAR_WORD 0x21434b4fu
#define MS_MAX 15000u
#define TICK_MS 20u
#define QUIET_MS 2000u
#define SILENCE_TICKS 15u
/* Enable stands alone this long: feedback is sampled every second tick. */
#define ALONE_TICKS 8u
#define STALL_TICKS 16u
/* The second layer has 100 ms, the watchdog 200 ms from the last tick. */
#define SUPERVISOR_US 150000u
#define STALL_US 1000000u
#define BLINK_TICKS 25u
#define CODE_FEEDBACK 16

enum { PUMP = 1, ENABLE = 2, LAMP = 4, STALL = 8 };

enum trial_end {
    TRIAL_ASKED = 1,
    TRIAL_TACH = 2,
    TRIAL_STRAP = 3,
    TRIAL_SILENCE = 4,
    TRIAL_DROPPED = 5,
    TRIAL_TIME = 6,
    TRIAL_PLUGGED = 7,
    TRIAL_CORE = 8,
    TRIAL_ARM = 9,
    TRIAL_NO_RESET = 10,
};

uint32_t trial_is_on;
static struct {
    uint32_t ticks, length_ticks, silent_ticks, edges, was_armed, ended;
} trial;
static struct reset came_from;

void trial_start(const struct reset *reset) { came_from = *reset; }

void trial_heard(void) { trial.silent_ticks = 0; }

static uint32_t is_armed(void) { return (uint32_t)gpio_is_active(MASK_ARM, ACTIVE_LOW_ARM); }

static int is_on_bench(const struct facts *facts) {
    return facts->is_bench && gpio_is_active(MASK_BENCH, ACTIVE_LOW_BENCH);
}

static void end(enum trial_end why) {
    trial_is_on = 0;
    trial.ended = why;
}

static uint8_t reason_to_refuse(uint32_t what, uint32_t word, const struct facts *facts) {
    if (!is_on_bench(facts)) return NO_BENCH;
    if (inject_is_on() || trial_is_on) return BUSY;
    if (supervisor_cause() != CAUSE_NONE) return NOT_NOW;
    if (tach.age_ms < QUIET_MS) return PULSES;
    if (facts->word & (PUMP | ENABLE)) return ARMED;
    if (what == LAMP) return DONE;
    return word == UNPLUGGED && facts->codes[CODE_FEEDBACK] == 0 ? DONE : NOT_UNPLUGGED;
}

/* Payload: what (1), length in ms (2), the word (4). Nothing to be driven ends the one that is on. */
uint8_t trial_begin(const uint8_t *payload, uint32_t length, const struct facts *facts) {
    if (length != 7) return BAD_LENGTH;
    const uint32_t what = payload[0], length_ms = payload[1] | (uint32_t)payload[2] << 8;
    if (what == 0) {
        if (trial_is_on) end(TRIAL_ASKED);
        return DONE;
    }
    const int is_known = what == LAMP || what == ENABLE || what == (ENABLE | PUMP) || what == (STALL | ENABLE | PUMP);
    if (!is_known || length_ms < TICK_MS || length_ms > MS_MAX) return BAD_VALUE;
    const uint8_t refused = reason_to_refuse(what, get32(payload + 3), facts);
    if (refused != DONE) return refused;
    trial.ticks = trial.silent_ticks = trial.ended = 0;
    trial.length_ticks = length_ms / TICK_MS;
    trial.edges = tach.count;
    trial.was_armed = is_armed();
    trial_is_on = what;
    return DONE;
}

/* Holds the next tick back, with both outputs on; what follows is read by the next boot. */
static void stall(void) {
    const uint32_t from_us = now_us();
    uint32_t is_off = 0;
    watchdog_leave(TRIAL_STALLED | TRIAL_NEVER_OFF);
    for (uint32_t passed_us = 0; passed_us < STALL_US; passed_us = now_us() - from_us) {
        if (!is_off && !(REGISTER(SIO_GPIO_IN) & MASK_PUMP)) {
            is_off = 1;
            watchdog_leave(TRIAL_STALLED | passed_us / 100);
        }
        if (!is_off && passed_us > SUPERVISOR_US) supervisor_drop(CAUSE_TICK_LONG);
    }
    supervisor_drop(CAUSE_TICK_LONG);
    end(TRIAL_NO_RESET);
}

static enum trial_end reason_to_end(uint32_t word, int32_t feedback) {
    if (tach.count != trial.edges) return TRIAL_TACH;
    if (!gpio_is_active(MASK_BENCH, ACTIVE_LOW_BENCH)) return TRIAL_STRAP;
    if (supervisor_cause() != CAUSE_NONE) return TRIAL_DROPPED;
    if (++trial.silent_ticks > SILENCE_TICKS) return TRIAL_SILENCE;
    if (word & (PUMP | ENABLE)) return TRIAL_CORE;
    if (trial_is_on == LAMP) return trial.ticks >= trial.length_ticks ? TRIAL_TIME : 0;
    if (feedback != 0) return TRIAL_PLUGGED;
    if (is_armed() != trial.was_armed) return TRIAL_ARM;
    return trial.ticks >= trial.length_ticks ? TRIAL_TIME : 0;
}

/* In a tick of a trial, after the core: what the supervisor is to be told in place of the core's word. */
uint32_t trial_outputs(uint32_t word, const int32_t *codes) {
    const enum trial_end why = reason_to_end(word, codes[CODE_FEEDBACK]);
    if (why) {
        end(why);
        return 0;
    }
    trial.ticks++;
    if (trial_is_on & STALL && trial.ticks > STALL_TICKS) stall();
    if (trial.ticks <= ALONE_TICKS) return trial_is_on & ENABLE;
    return trial_is_on & (PUMP | ENABLE);
}

/* The lamp in a tick of a trial: half a second lit, half a second dark. */
int trial_lamp(int lit) {
    return trial_is_on & LAMP ? (trial.ticks - 1) / BLINK_TICKS % 2 == 0 : lit;
}

/* The trial that is on or was last, and how the chip came up: its reset, the cause before it, what was left. */
uint32_t trial_tell(uint8_t *payload) {
    payload[0] = DONE;
    payload[1] = (uint8_t)trial_is_on;
    payload[2] = (uint8_t)trial.ended;
    payload[3] = (uint8_t)((came_from.is_power_on ? 1 : 0) | (came_from.is_planned ? 2 : 0));
    uint32_t at = 4;
    at += put32(payload + at, trial.ticks);
    at += put32(payload + at, came_from.reason);
    at += put32(payload + at, came_from.last_cause);
    at += put32(payload + at, came_from.left);
    return at;
}

/* Payload: the word. The restart that follows finds the pump's circuit said to be sound. */
uint8_t trial_clear(const uint8_t *payload, uint32_t length, const struct facts *facts) {
    if (length != 4) return BAD_LENGTH;
    if (get32(payload) != CLEAR_WORD) return BAD_VALUE;
    if (!is_on_bench(facts)) return NO_BENCH;
    if (!facts->may_write) return ARMED;
    watchdog_leave(TRIAL_SOUND);
    return DONE;
}
