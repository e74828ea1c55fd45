/*
 * Pins, by the tables that make-pins.mjs makes of pins.json: every output is driven to its safe
 * level first, everything else follows later. RP2040 datasheet chapter 2.19.
 */
#include "board.h"

/* Runs before data is copied and before clocks: it uses nothing but registers and the stack. */
void gpio_make_outputs_safe(void) {
    const uint32_t banks = RESETS_IO_BANK0 | RESETS_PADS_BANK0;
    CLEAR_BITS(RESETS_RESET) = banks;
    while ((REGISTER(RESETS_DONE) & banks) != banks) {}
    REGISTER(SIO_OUT_CLEAR) = OUTPUTS_SAFE_LOW;
    REGISTER(SIO_OUTPUT_SET) = OUTPUTS_SAFE_LOW;
#define OUTPUT(pin) REGISTER(GPIO_CTRL(pin)) = GPIO_FUNCTION_SIO;
    FOR_EACH_OUTPUT(OUTPUT)
#undef OUTPUT
}

void gpio_start(void) {
#define PIN(pin, pad, function)   \
    REGISTER(PAD(pin)) = (pad);   \
    REGISTER(GPIO_CTRL(pin)) = (function);
    FOR_EACH_PIN(PIN)
#undef PIN
}

/* Is a switch closed? `active_low` is the switch's own: closed to ground. */
int gpio_is_active(unsigned pin_mask, int active_low) {
    const int is_high = (REGISTER(SIO_GPIO_IN) & pin_mask) != 0;
    return is_high != active_low;
}
