/*
 * Clocks: the crystal of 12 MHz is the reference, clk_sys and clk_peri are 125 MHz, clk_adc is 48 MHz,
 * and the microsecond tick of timer and watchdog comes from the reference.
 * RP2040 datasheet chapters 2.15 (clocks), 2.16 (crystal), 2.18 (PLL), 4.7.2 (tick).
 */
#include "board.h"

#define LOCKED (1u << 31)

/* 2.18.3: reference x `multiplier` / `first` / `second`; the power bits 5 and 0 are "off" bits. */
static void start_pll(uint32_t pll, uint32_t multiplier, uint32_t first, uint32_t second) {
    REGISTER(pll + PLL_CS) = 1;
    REGISTER(pll + PLL_FBDIV) = multiplier;
    CLEAR_BITS(pll + PLL_PWR) = (1u << 5) | (1u << 0);
    while (!(REGISTER(pll + PLL_CS) & LOCKED)) {}
    REGISTER(pll + PLL_PRIM) = (first << 16) | (second << 12);
    CLEAR_BITS(pll + PLL_PWR) = 1u << 3;
}

void clocks_start(void) {
    /* 2.16.7: range 1 to 15 MHz, start-up of 47 x 256 periods (1 ms), enable. */
    REGISTER(XOSC_CTRL) = 0xaa0;
    REGISTER(XOSC_STARTUP) = 47;
    SET_BITS(XOSC_CTRL) = 0xfabu << 12;
    while (!(REGISTER(XOSC_STATUS) & (1u << 31))) {}
    REGISTER(CLK_REF_CTRL) = 2;
    while (!(REGISTER(CLK_REF_SELECTED) & (1u << 2))) {}
    const uint32_t both = RESETS_PLL_SYS | RESETS_PLL_USB;
    CLEAR_BITS(RESETS_RESET) = both;
    while ((REGISTER(RESETS_DONE) & both) != both) {}
    start_pll(PLL_SYS, 125, 6, 2); /* 12 MHz x 125 / 12 = 125 MHz */
    start_pll(PLL_USB, 100, 5, 5); /* 12 MHz x 100 / 25 = 48 MHz */
    REGISTER(CLK_SYS_CTRL) = 0;
    REGISTER(CLK_SYS_CTRL) = 1;
    while (!(REGISTER(CLK_SYS_SELECTED) & (1u << 1))) {}
    REGISTER(CLK_PERI_CTRL) = 1u << 11;
    REGISTER(CLK_ADC_CTRL) = 1u << 11;
    REGISTER(WATCHDOG_TICK) = 12 | (1u << 9);
    const uint32_t used = RESETS_ADC | RESETS_TIMER | RESETS_UART0;
    CLEAR_BITS(RESETS_RESET) = used;
    while ((REGISTER(RESETS_DONE) & used) != used) {}
}
