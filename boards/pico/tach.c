/*
 * Engine and vehicle speed: the interrupt at a rising edge writes the time since the last one, and
 * nothing else; what the numbers mean is the core's business. Bouncing or oscillating wires cannot
 * keep the processor busy: after 64 edges in a millisecond the interrupt rests until the next one. An edge
 * sooner after the last than the shortest period is a bounce and counts for nothing; that period is a quarter
 * of the one at the highest plausible speed, so that a speed that is absurd is still seen to be so.
 * Periods in microseconds. RP2040 datasheet chapter 2.19.6.1 (INTR, INTE).
 */
#include "board.h"

#define EDGES_MAX_PER_MS 64
/* From here on the microsecond counter may have wrapped: the period is "very long". */
#define AGE_MS_MAX 1000000u
#define PERIOD_US_MAX 0x3fffffffu

struct edges tach, wheel;
static volatile uint32_t edges_this_ms;

#define TACH_EDGE GPIO_EDGE_HIGH(PIN_TACH)
#define SPEED_EDGE GPIO_EDGE_HIGH(PIN_SPEED)

_Static_assert(PIN_TACH / 8 == PIN_SPEED / 8, "both edges are in one interrupt register");

void tach_start(void) {
    tach.age_ms = wheel.age_ms = AGE_MS_MAX;
    REGISTER(GPIO_INTR(PIN_TACH)) = TACH_EDGE | SPEED_EDGE;
    REGISTER(GPIO_INTE(PIN_TACH)) = TACH_EDGE | SPEED_EDGE;
    REGISTER(NVIC_ENABLE) = 1u << INTERRUPT_GPIO;
}

/* The shortest period of each input; 0 takes every edge. */
void tach_configure(uint32_t tach_shortest_us, uint32_t wheel_shortest_us) {
    tach.shortest_us = tach_shortest_us;
    wheel.shortest_us = wheel_shortest_us;
}

INLINE void take_edge(struct edges *edges, uint32_t at_us) {
    uint32_t period_us = at_us - edges->last_us;
    if (period_us < edges->shortest_us && edges->count != 0 && edges->age_ms < AGE_MS_MAX) return;
    if (edges->age_ms >= AGE_MS_MAX) period_us = edges->count == 0 ? 0 : PERIOD_US_MAX;
    edges->periods_us[edges->count & 3] = period_us > PERIOD_US_MAX ? PERIOD_US_MAX : period_us;
    edges->count++;
    edges->last_us = at_us;
    edges->age_ms = 0;
}

IN_RAM void gpio_interrupt(void) {
    const uint32_t at_us = now_us();
    const uint32_t raised = REGISTER(GPIO_INTR(PIN_TACH)) & (TACH_EDGE | SPEED_EDGE);
    REGISTER(GPIO_INTR(PIN_TACH)) = raised;
    if (raised & TACH_EDGE) take_edge(&tach, at_us);
    if (raised & SPEED_EDGE) take_edge(&wheel, at_us);
    if (++edges_this_ms >= EDGES_MAX_PER_MS) REGISTER(GPIO_INTE(PIN_TACH)) = 0;
}

/* Called from the supervisor's interrupt each millisecond: ages, and the end of a rest. */
IN_RAM void tach_millisecond(void) {
    if (tach.age_ms < AGE_MS_MAX) tach.age_ms++;
    if (wheel.age_ms < AGE_MS_MAX) wheel.age_ms++;
    edges_this_ms = 0;
    REGISTER(GPIO_INTE(PIN_TACH)) = TACH_EDGE | SPEED_EDGE;
}
