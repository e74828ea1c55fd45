/*
 * Addresses of the RP2040's registers, block by block, each block with the chapter of the RP2040
 * datasheet that lists it. Only what this image uses is here. Bits are named where they are used.
 */
#ifndef SMIRR_REGISTERS_H
#define SMIRR_REGISTERS_H
#include <stdint.h>

#define REGISTER(address) (*(volatile uint32_t *)(address))

/* Chapter 2.1.2: a write to register + 0x2000 sets bits, to register + 0x3000 clears bits. */
#define SET_BITS(address) REGISTER((address) + 0x2000)
#define CLEAR_BITS(address) REGISTER((address) + 0x3000)

/* Chapter 2.14.3, subsystem resets: one bit a subsystem. */
#define RESETS_RESET 0x4000c000
#define RESETS_DONE 0x4000c008
#define RESETS_ADC (1u << 0)
#define RESETS_IO_BANK0 (1u << 5)
#define RESETS_PADS_BANK0 (1u << 8)
#define RESETS_PLL_SYS (1u << 12)
#define RESETS_PLL_USB (1u << 13)
#define RESETS_TIMER (1u << 21)
#define RESETS_UART0 (1u << 22)

/* Chapter 2.13.5, power-on state machine. */
#define PSM_WDSEL 0x40010008

/* Chapter 2.10.6, core supply regulator and chip reset. */
#define CHIP_RESET 0x40064008
#define CHIP_RESET_HAD_POR (1u << 8)
#define CHIP_RESET_HAD_RUN (1u << 16)

/* Chapter 2.15.7, clocks. */
#define CLK_REF_CTRL 0x40008030
#define CLK_REF_SELECTED 0x40008038
#define CLK_SYS_CTRL 0x4000803c
#define CLK_SYS_SELECTED 0x40008044
#define CLK_PERI_CTRL 0x40008048
#define CLK_ADC_CTRL 0x40008060

/* Chapter 2.16.7, crystal oscillator. */
#define XOSC_CTRL 0x40024000
#define XOSC_STATUS 0x40024004
#define XOSC_STARTUP 0x4002400c

/* Chapter 2.18.4, PLL; the one for clk_sys and the one of 48 MHz. */
#define PLL_SYS 0x40028000
#define PLL_USB 0x4002c000
#define PLL_CS 0x0
#define PLL_PWR 0x4
#define PLL_FBDIV 0x8
#define PLL_PRIM 0xc

/* Chapter 2.19.6.1, user bank IO; chapter 2.19.6.3, pads of the user bank. */
#define GPIO_CTRL(pin) (0x40014004 + 8 * (pin))
#define GPIO_INTR(pin) (0x400140f0 + 4 * ((pin) / 8))
#define GPIO_INTE(pin) (0x40014100 + 4 * ((pin) / 8))
#define GPIO_EDGE_HIGH(pin) (8u << (4 * ((pin) % 8)))
#define GPIO_FUNCTION_UART 2
#define GPIO_FUNCTION_SIO 5
#define GPIO_FUNCTION_NONE 0x1f
#define PAD(pin) (0x4001c004 + 4 * (pin))
#define PAD_SCHMITT (1u << 1)
#define PAD_PULL_DOWN (1u << 2)
#define PAD_PULL_UP (1u << 3)
#define PAD_DRIVE_4MA (1u << 4)
#define PAD_INPUT (1u << 6)
#define PAD_OUTPUT_DISABLE (1u << 7)

/* Chapter 2.3.1.7, single-cycle IO. */
#define SIO_GPIO_IN 0xd0000004
#define SIO_OUT_SET 0xd0000014
#define SIO_OUT_CLEAR 0xd0000018
#define SIO_OUTPUT_SET 0xd0000024

/* Chapter 4.2.8, UART 0 (a PL011). */
#define UART_DATA 0x40034000
#define UART_FLAGS 0x40034018
#define UART_BAUD_WHOLE 0x40034024
#define UART_BAUD_FRACTION 0x40034028
#define UART_LINE 0x4003402c
#define UART_CTRL 0x40034030
#define UART_LEVELS 0x40034034
#define UART_INTERRUPT_MASK 0x40034038
#define UART_INTERRUPT_CLEAR 0x40034044
#define UART_RECEIVE_EMPTY (1u << 4)
#define UART_TRANSMIT_FULL (1u << 5)

/* Chapter 4.6.5, timer: it counts microseconds. */
#define TIMER_ALARM(index) (0x40054010 + 4 * (index))
#define TIMER_RAW_LOW 0x40054028
#define TIMER_INTR 0x40054034
#define TIMER_INTE 0x40054038

/* Chapter 4.7.6, watchdog. */
#define WATCHDOG_CTRL 0x40058000
#define WATCHDOG_LOAD 0x40058004
#define WATCHDOG_REASON 0x40058008
#define WATCHDOG_SCRATCH(index) (0x4005800c + 4 * (index))
#define WATCHDOG_TICK 0x4005802c

/* Chapter 4.9.6, converter. */
#define ADC_CS 0x4004c000
#define ADC_RESULT 0x4004c004

/* Chapter 4.10.13, serial interface of the flash (SSI). */
#define SSI_CTRLR0 0x18000000
#define SSI_CTRLR1 0x18000004
#define SSI_SSIENR 0x18000008
#define SSI_BAUDR 0x18000014
#define SSI_SR 0x18000028
#define SSI_DR0 0x18000060
#define SSI_RX_SAMPLE_DLY 0x180000f0
#define SSI_SPI_CTRLR0 0x180000f4

/* Chapter 2.19.6.4, pads of the flash: clock, then four data lines. */
#define PAD_QSPI_CLOCK 0x40020004

/* Chapter 2.4.8, registers of the Cortex-M0+; chapter 2.3.2 has the numbers of the interrupts. */
#define NVIC_ENABLE 0xe000e100
#define NVIC_CLEAR_PENDING 0xe000e280
#define NVIC_PRIORITY(interrupt) (0xe000e400 + 4 * ((interrupt) / 4))
#define VECTOR_TABLE_OFFSET 0xe000ed08
#define INTERRUPT_TIMER0 0
#define INTERRUPT_TIMER1 1
#define INTERRUPT_GPIO 13
#define INTERRUPT_UART0 20

#endif
