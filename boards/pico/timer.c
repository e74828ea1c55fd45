/*
 * Two alarms of the microsecond timer: 0 starts a tick every 20 ms on planned times, 1 runs the
 * supervisor every millisecond and outranks everything else. An alarm that is set in the past would
 * wait for the counter to wrap (71 minutes), so a time that has gone is replaced by one from now.
 * RP2040 datasheet chapter 4.6.
 */
#include "board.h"

#define SUPERVISOR_US 1000u
/* Nearer than this an alarm could be missed while it is being set. */
#define SOONEST_US 20u

static volatile uint32_t tick_is_due;
static uint32_t tick_at_us;
static uint32_t supervisor_at_us;

/* 2.4.8: priority 0 is the highest, 0x40 the next; four interrupts a register. */
static void set_priority(unsigned interrupt, uint32_t priority) {
    const unsigned shift = 8 * (interrupt % 4);
    const uint32_t others = REGISTER(NVIC_PRIORITY(interrupt)) & ~(0xffu << shift);
    REGISTER(NVIC_PRIORITY(interrupt)) = others | (priority << shift);
}

void timer_start(void) {
    set_priority(INTERRUPT_TIMER1, 0);
    set_priority(INTERRUPT_GPIO, 0x40);
    set_priority(INTERRUPT_UART0, 0x80);
    set_priority(INTERRUPT_TIMER0, 0xc0);
    REGISTER(TIMER_INTR) = 3;
    REGISTER(TIMER_INTE) = 3;
    REGISTER(NVIC_ENABLE) = (1u << INTERRUPT_TIMER0) | (1u << INTERRUPT_TIMER1);
    supervisor_at_us = now_us() + SUPERVISOR_US;
    REGISTER(TIMER_ALARM(1)) = supervisor_at_us;
    tick_at_us = now_us();
}

IN_RAM void timer0_interrupt(void) {
    REGISTER(TIMER_INTR) = 1u << 0;
    tick_is_due = 1;
}

IN_RAM void timer1_interrupt(void) {
    REGISTER(TIMER_INTR) = 1u << 1;
    supervisor_millisecond();
    supervisor_at_us += SUPERVISOR_US;
    if ((int32_t)(supervisor_at_us - now_us()) < (int32_t)SOONEST_US) {
        supervisor_at_us = now_us() + SUPERVISOR_US;
    }
    REGISTER(TIMER_ALARM(1)) = supervisor_at_us;
}

/*
 * Sleeps until the next tick is due and gives its planned time (us): 20 ms after the last planned
 * one, or, after an overrun, from now. Sleeping with interrupts masked loses no wake-up (WFI ends on
 * a pending interrupt all the same).
 */
uint32_t timer_wait_tick(void) {
    tick_at_us += TICK_US;
    if ((int32_t)(tick_at_us - now_us()) < (int32_t)SOONEST_US) tick_at_us = now_us() + SOONEST_US;
    tick_is_due = 0;
    REGISTER(TIMER_ALARM(0)) = tick_at_us;
    for (;;) {
        __asm volatile("cpsid i" ::: "memory");
        if (tick_is_due) break;
        __asm volatile("wfi" ::: "memory");
        __asm volatile("cpsie i" ::: "memory");
    }
    __asm volatile("cpsie i" ::: "memory");
    return tick_at_us;
}

/* Time until the next tick is planned, us; 0 if that has gone. */
uint32_t timer_left_us(void) {
    const int32_t left_us = (int32_t)(tick_at_us + TICK_US - now_us());
    return left_us > 0 ? (uint32_t)left_us : 0;
}
