/*
 * The hardware watchdog and what it tells about the last reset. It resets everything but the
 * oscillators, and runs on while a debugger holds the processor. Scratch register 0 says that this
 * image ran since power came on, 1 keeps the cause of a stop over the reset, 2 says that the restart was
 * asked for, 3 what a trial left; 4 to 7 are the boot ROM's.
 * RP2040 datasheet chapters 4.7 (watchdog), 2.13 (WDSEL), 2.10.6 (CHIP_RESET).
 */
#include "board.h"

#define PERIOD_US 200000u
#define ENABLE (1u << 30)
#define PAUSE_ON_DEBUG ((1u << 24) | (1u << 25) | (1u << 26))
/* WDSEL: bits 0 and 1 are the two oscillators, the other fifteen are reset. */
#define ALL_BUT_OSCILLATORS 0x1fffcu
#define RAN_BEFORE 0x736d6972u
#define PLANNED 0x706c616eu

IN_RAM void watchdog_feed(void) {
    REGISTER(WATCHDOG_LOAD) = 2 * PERIOD_US; /* erratum RP2040-E1: it counts twice a microsecond */
}

/* Kept over a reset by the watchdog; the first cause counts. */
IN_RAM void watchdog_keep_cause(uint32_t cause) {
    if (REGISTER(WATCHDOG_SCRATCH(1)) == CAUSE_NONE) REGISTER(WATCHDOG_SCRATCH(1)) = cause;
}

/*
 * Starts the watchdog and says how the chip came up. A power-on is a reset that neither the watchdog
 * nor a debugger made, in which the scratch registers were lost. A reset by the RUN pin counts as
 * one, since the supply's reset supervisor pulls it.
 */
struct reset watchdog_start(void) {
    struct reset reset;
    reset.reason = REGISTER(WATCHDOG_REASON);
    reset.chip_reset = REGISTER(CHIP_RESET);
    reset.last_cause = REGISTER(WATCHDOG_SCRATCH(1));
    const int ran_before = REGISTER(WATCHDOG_SCRATCH(0)) == RAN_BEFORE;
    const int had_power = (reset.chip_reset & (CHIP_RESET_HAD_POR | CHIP_RESET_HAD_RUN)) != 0;
    reset.is_power_on = reset.reason == 0 && had_power && !ran_before;
    if (!ran_before) reset.last_cause = CAUSE_NONE;
    /* A restart that the link asked for while disarmed is no unexpected reset. */
    reset.is_planned = ran_before && REGISTER(WATCHDOG_SCRATCH(2)) == PLANNED;
    if (reset.is_planned) reset.is_power_on = 1;
    reset.left = ran_before ? REGISTER(WATCHDOG_SCRATCH(3)) : 0;
    REGISTER(WATCHDOG_SCRATCH(3)) = 0;
    REGISTER(WATCHDOG_SCRATCH(2)) = 0;
    REGISTER(WATCHDOG_SCRATCH(0)) = RAN_BEFORE;
    REGISTER(WATCHDOG_SCRATCH(1)) = CAUSE_NONE;
    REGISTER(PSM_WDSEL) = ALL_BUT_OSCILLATORS;
    CLEAR_BITS(WATCHDOG_CTRL) = ENABLE | PAUSE_ON_DEBUG;
    watchdog_feed();
    SET_BITS(WATCHDOG_CTRL) = ENABLE;
    return reset;
}

/* Left for the boot after a reset by the watchdog. */
void watchdog_leave(uint32_t what) { REGISTER(WATCHDOG_SCRATCH(3)) = what; }

/* Outputs off, and a reset by the watchdog within 200 ms, which the next boot knows was asked for. */
IN_RAM void watchdog_restart(void) {
    __asm volatile("cpsid i" ::: "memory");
    REGISTER(SIO_OUT_CLEAR) = MASK_PUMP | MASK_ENABLE;
    REGISTER(WATCHDOG_SCRATCH(2)) = PLANNED;
    for (;;) {}
}
