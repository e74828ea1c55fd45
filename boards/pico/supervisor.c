/*
 * The second layer: it knows nothing of JavaScript and drives both outputs from an interrupt that the
 * engine cannot block. A tick only leaves its wish here. All of it lives in RAM.
 *
 *   BOOTING --first good tick--> RUNNING <--begin/end--> MAINTENANCE
 *      |  2 s without one           |  limits broken          |  600 ms over
 *      +----------------------------+------------------------+--> DROPPED until the next reset
 *
 * Without a tick for 100 ms the outputs are dropped until ticks return, and the watchdog, which only
 * a tick feeds, resets the chip. `enable` alternates each millisecond (500 Hz).
 */
#include "board.h"

#define BOOT_MS 2000u
#define NO_TICK_MS 100u
#define PIECE_MS 12000u
#define WINDOW_PIECES 600u /* of 100 ms: 60 s */
#define WINDOW_PIECE_MS 100u
#define WINDOW_ON_MS 40000u
#define MAINTENANCE_MS 600u

enum phase { BOOTING, RUNNING, MAINTENANCE, DROPPED };

static volatile enum phase phase;
static volatile uint32_t wants_pump, wants_enable, since_tick_ms, phase_ms, cause, was_busy;

/* Time the pump was on, in pieces of 100 ms over the last 60 s, and in one piece. */
static uint8_t on_ms[WINDOW_PIECES];
static uint32_t on_at, on_at_ms, on_sum_ms, on_piece_ms;

void supervisor_start(void) {
    phase = BOOTING;
    /* The pattern by which a stack that grew too far is seen; the words below are in use. */
    uint32_t *here = (uint32_t *)__builtin_frame_address(0) - 32;
    for (uint32_t *word = &stack_end; word < here; word++) *word = STACK_PATTERN;
}

/* A change of phase that the interrupt must not come between. */
INLINE void move(enum phase from, enum phase to) {
    __asm volatile("cpsid i" ::: "memory");
    if (phase == from) {
        phase_ms = 0;
        phase = to;
    }
    __asm volatile("cpsie i" ::: "memory");
}

INLINE void outputs_off(void) {
    REGISTER(SIO_OUT_CLEAR) = MASK_PUMP | MASK_ENABLE;
}

INLINE void drop(uint32_t why) {
    outputs_off();
    if (phase == DROPPED) return;
    phase = DROPPED;
    cause = why;
    watchdog_keep_cause(why);
}

/* Drops both outputs until the next reset. */
IN_RAM void supervisor_drop(uint32_t why) { drop(why); }

uint32_t supervisor_cause(void) { return cause; }

INLINE void drive_outputs(int toggles) {
    if (phase != RUNNING || since_tick_ms >= NO_TICK_MS) {
        outputs_off();
        return;
    }
    if (wants_pump) REGISTER(SIO_OUT_SET) = MASK_PUMP;
    else REGISTER(SIO_OUT_CLEAR) = MASK_PUMP;
    if (!wants_enable) REGISTER(SIO_OUT_CLEAR) = MASK_ENABLE;
    else if (toggles) {
        if (phase_ms & 1) REGISTER(SIO_OUT_SET) = MASK_ENABLE;
        else REGISTER(SIO_OUT_CLEAR) = MASK_ENABLE;
    }
}

/* What a good tick wishes; it also says that the core is alive. */
IN_RAM void supervisor_command(int pump, int enable) {
    move(BOOTING, RUNNING);
    wants_pump = pump != 0 && enable != 0;
    wants_enable = enable != 0;
    since_tick_ms = 0;
    watchdog_feed();
    if (!wants_pump) REGISTER(SIO_OUT_CLEAR) = MASK_PUMP;
    if (!wants_enable) REGISTER(SIO_OUT_CLEAR) = MASK_ENABLE;
}

/* Counts what the pin really is, whoever set it. */
INLINE void count_pump(void) {
    const uint32_t is_on = (REGISTER(SIO_GPIO_IN) & MASK_PUMP) != 0 && phase == RUNNING;
    on_piece_ms = is_on ? on_piece_ms + 1 : 0;
    if (++on_at_ms > WINDOW_PIECE_MS) {
        on_at_ms = 1;
        on_at = on_at + 1 >= WINDOW_PIECES ? 0 : on_at + 1;
        on_sum_ms -= on_ms[on_at];
        on_ms[on_at] = 0;
    }
    if (!is_on) return;
    on_ms[on_at]++;
    on_sum_ms++;
    if (on_piece_ms > PIECE_MS || on_sum_ms > WINDOW_ON_MS) drop(CAUSE_PUMP_LONG);
}

IN_RAM void supervisor_millisecond(void) {
    phase_ms++;
    since_tick_ms++;
    tach_millisecond();
    uart_drain();
    if (stack_end != STACK_PATTERN) drop(CAUSE_STACK);
    if (phase == BOOTING) {
        if (phase_ms < BOOT_MS) watchdog_feed();
        else drop(CAUSE_BOOT_DEADLINE);
    }
    if (phase == MAINTENANCE) {
        if (phase_ms < MAINTENANCE_MS) watchdog_feed();
        else drop(CAUSE_MAINTENANCE);
    }
    if (phase == RUNNING && since_tick_ms == NO_TICK_MS) watchdog_keep_cause(CAUSE_NO_TICK);
    count_pump();
    drive_outputs(1);
}

/* Locks both outputs off for one flash operation of at most 600 ms; the watchdog is fed meanwhile. */
IN_RAM void supervisor_begin_maintenance(void) {
    wants_pump = wants_enable = 0;
    outputs_off();
    was_busy = 1;
    move(RUNNING, MAINTENANCE);
}

IN_RAM void supervisor_end_maintenance(void) {
    since_tick_ms = 0;
    move(MAINTENANCE, RUNNING);
    watchdog_feed();
}

/* Was there maintenance since this was last asked? The core counts no late tick for it. */
int supervisor_was_busy(void) {
    const int answer = was_busy != 0;
    was_busy = 0;
    return answer;
}

/*
 * A fault that no code can go on from: outputs off, its cause kept, and the watchdog resets the chip.
 */
IN_RAM void hard_fault(void) {
    drop(CAUSE_HARD_FAULT);
    for (;;) {}
}

/*
 * The engine is of no use any more: outputs stay off, the lamp tells the cause (one long, then `why`
 * short), the line repeats it each 2 s, and the watchdog is fed, so that it can be read.
 */
void supervisor_halt(uint32_t why) {
    supervisor_drop(why);
    uint32_t last_us = now_us(), at_ms = 0;
    for (;;) {
        watchdog_feed();
        if (now_us() - last_us < 1000) continue;
        last_us += 1000;
        if (++at_ms >= 2000 + 400 * why) at_ms = 0;
        if (at_ms == 1) {
            print_word("state", "halted");
            print_number("cause", (int32_t)why);
            print_word("error", engine_error());
            print_end();
        }
        const uint32_t after_long = at_ms - 1000;
        const int lit = at_ms < 800 || (at_ms >= 1000 && after_long < 400 * why && after_long % 400 < 150);
        REGISTER(lit ? SIO_OUT_SET : SIO_OUT_CLEAR) = MASK_LAMP;
    }
}
