/*
 * From reset to main: the outputs are driven low before anything else, then clocks, then data and
 * the code that lives in RAM are copied. Two vector tables: a short one in flash for boot2, and the
 * one in RAM that interrupts use, so that they do not need the flash.
 */
#include "board.h"

extern uint32_t ram_start, ram_end, ram_load, zero_start, zero_end;
int main(void);

typedef void (*vector)(void);

/* Nothing else can interrupt: a vector that is not in use is a fault of ours. */
__attribute__((section(".text.start"))) void start(void) {
    gpio_make_outputs_safe();
    clocks_start();
    const uint32_t *from = &ram_load;
    for (uint32_t *to = &ram_start; to < &ram_end; to++) *to = *from++;
    for (uint32_t *to = &zero_start; to < &zero_end; to++) *to = 0;
    extern const vector ram_vectors[];
    REGISTER(VECTOR_TABLE_OFFSET) = (uint32_t)ram_vectors;
    main();
    for (;;) {}
}

__attribute__((section(".vectors"), used)) const vector flash_vectors[4] = {
    (vector)&stack_top, start, hard_fault, hard_fault};

/* Chapter 2.4.8 asks for a table at a multiple of 256 bytes. */
__attribute__((section(".ramvectors"), used, aligned(256))) const vector ram_vectors[48] = {
    (vector)&stack_top, start, hard_fault, hard_fault,
    0, 0, 0, 0, 0, 0, 0, hard_fault, 0, 0, hard_fault, hard_fault,
    [16 + INTERRUPT_TIMER0] = timer0_interrupt,
    [16 + INTERRUPT_TIMER1] = timer1_interrupt,
    [16 + INTERRUPT_GPIO] = gpio_interrupt,
    [16 + INTERRUPT_UART0] = uart_interrupt,
};
