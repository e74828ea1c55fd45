/*
 * What the files of this board share: where code lies, the phases of a tick, the causes of a stop,
 * and one line for each function that another file calls. Times are microseconds (`_us`) or
 * milliseconds (`_ms`) and wrap; only differences are compared.
 */
#ifndef SMIRR_BOARD_H
#define SMIRR_BOARD_H
#include <stdint.h>
#include "build/pins.h"
#include "keep.h"
#include "registers.h"

/* Code and constants that must be reached while the flash is busy live in RAM; build.mjs checks it. */
#define IN_RAM __attribute__((noinline, section(".ramfunc")))
#define CONST_IN_RAM __attribute__((section(".ramdata")))
/* Part of the caller, so that code in RAM never calls a copy of it in flash. */
#define INLINE static inline __attribute__((always_inline))

/* Where the bundle lies in flash, the rest is in keep.h; host-sim/pack/flash-map.ts has the same figures, a test compares them. */
#define BUNDLE_ADDRESS 0x10060000u
#define BUNDLE_BYTES 0x20000u

#define TICK_US 20000u

/* Why outputs are off for good. The lamp blinks one long and then this many short. */
enum cause {
    CAUSE_NONE = 0,
    CAUSE_BUNDLE = 2,        /* the bundle failed its check */
    CAUSE_LOAD = 3,          /* the bundle threw, or ran too long, while it was loaded */
    CAUSE_ENGINE = 4,        /* the engine gave up: nothing can be caught any more */
    CAUSE_TICK = 5,          /* a tick threw: also a full heap and too deep a stack */
    CAUSE_TICK_LONG = 6,     /* a tick ran too long */
    CAUSE_NO_TICK = 7,       /* no tick for 100 ms */
    CAUSE_PUMP_LONG = 8,     /* the pump was on 12 s in one piece, or 40 s in 60 s */
    CAUSE_BOOT_DEADLINE = 9, /* no first tick within 2 s */
    CAUSE_MAINTENANCE = 10,  /* a flash operation took longer than 600 ms */
    CAUSE_HARD_FAULT = 11,
    CAUSE_STACK = 12,        /* the stack reached its end */
};

INLINE uint32_t now_us(void) { return REGISTER(TIMER_RAW_LOW); }

/* clocks.c */
void clocks_start(void);
/* gpio.c */
void gpio_make_outputs_safe(void);
void gpio_start(void);
int gpio_is_active(unsigned pin_mask, int active_low);
/* adc.c */
void adc_start(void);
uint32_t adc_code(unsigned channel);
/* inputs.c */
void inputs_start(void);
struct settings;
void inputs_configure(const struct settings *found);
void inputs_sample(int32_t *codes);
int inputs_arm_open_ticks(void);
/* tach.c */
struct edges {
    volatile uint32_t last_us;
    volatile uint32_t age_ms;
    volatile uint32_t count;
    volatile uint32_t periods_us[4];
    volatile uint32_t shortest_us;
};
extern struct edges tach, wheel;
void tach_start(void);
void tach_configure(uint32_t tach_shortest_us, uint32_t wheel_shortest_us);
void tach_millisecond(void);
void gpio_interrupt(void);
/* uart.c */
extern volatile uint32_t uart_dropped;
void uart_start(void);
void uart_drain(void);
void uart_flush(void);
void uart_interrupt(void);
int uart_read(void);
uint32_t uart_room(void);
int uart_write(const uint8_t *bytes, uint32_t count);
void print(const char *text);
void print_number(const char *key, int32_t value);
/* flash.c */
void flash_start(void);
/* watchdog.c */
struct reset {
    int is_power_on, is_planned;
    uint32_t reason;
    uint32_t chip_reset;
    uint32_t last_cause;
    uint32_t left;
};
/* What a trial leaves for the next boot: tenths of a ms until the pump's pin was low, or a sound circuit. */
#define TRIAL_STALLED 0x53540000u
#define TRIAL_NEVER_OFF 0xffffu
#define TRIAL_SOUND 0x534f4b21u
struct reset watchdog_start(void);
void watchdog_feed(void);
void watchdog_keep_cause(uint32_t cause);
void watchdog_leave(uint32_t what);
void watchdog_restart(void) __attribute__((noreturn));
/* timer.c */
void timer_start(void);
uint32_t timer_wait_tick(void);
uint32_t timer_left_us(void);
void timer0_interrupt(void);
void timer1_interrupt(void);
/* supervisor.c */
void supervisor_start(void);
void supervisor_millisecond(void);
void supervisor_command(int pump, int enable);
void supervisor_drop(uint32_t cause);
uint32_t supervisor_cause(void);
int supervisor_was_busy(void);
void supervisor_halt(uint32_t cause) __attribute__((noreturn));
void hard_fault(void);
/* heap.c */
extern volatile uint32_t heap_used, heap_peak, heap_calls, heap_failed;
extern const uint32_t heap_arena_bytes;
void heap_start(void);
void *heap_allocate(void *user, unsigned bytes);
void *heap_resize(void *user, void *block, unsigned bytes);
void heap_release(void *user, void *block);
/* engine.c */
struct bundle;
int engine_start(const struct bundle *bundle);
int engine_configure(const int32_t *settings, uint32_t settings_count, const int32_t *calibration,
                     uint32_t calibration_count, const int32_t boot[7]);
int engine_send(int32_t *codes);
uint32_t engine_tick(int32_t *codes);
int32_t engine_digest(void);
int engine_check(const int32_t *settings, uint32_t settings_count, const int32_t *calibration,
                 uint32_t calibration_count);
int engine_list_words(void);
uint32_t engine_state(int32_t *into, uint32_t room);
const char *engine_error(void);
/* store.c */
struct bundle {
    const uint8_t *code;
    uint32_t length;
    uint32_t layout_hash;
    int is_bytecode;
    const char *problem;
};
struct settings {
    const int32_t *settings, *calibration, *steps;
    uint32_t settings_count, calibration_count, step_count, sequence;
    int sector;
    const char *problems[2];
};
struct bundle store_find_bundle(void);
struct settings store_find_settings(uint32_t layout_hash);
const char *store_check_sector(const uint32_t *sector, uint32_t layout_hash);
int store_write_settings(uint32_t *sector, uint32_t layout_hash);

/* Set by the linker script. */
extern uint32_t stack_end, stack_top;

#define STACK_PATTERN 0x5aa55aa5u
#endif
