/*
 * Sets up the flash's serial interface for quad reads without a command byte, for chips that
 * understand what a W25Q does: status register 2 by 0x35, its bit 1 allows quad, "fast read quad IO"
 * is 0xEB, and mode byte 0xA0 keeps the chip in that mode. boot2 runs it before the image, flash.c
 * after each operation, because the boot ROM leaves slow serial reads behind.
 * RP2040 datasheet chapter 4.10 (fields of CTRLR0 and SPI_CTRLR0 in 4.10.13); not tried on silicon.
 */
#ifndef SMIRR_QUAD_READS_H
#define SMIRR_QUAD_READS_H
#include "registers.h"

#define FLASH_WRITE_ENABLE 0x06
#define FLASH_READ_STATUS 0x05
#define FLASH_READ_STATUS_2 0x35
#define FLASH_WRITE_STATUS 0x01
#define FLASH_QUAD_ALLOWED 0x02
#define FLASH_READ_QUAD 0xebu
#define FLASH_CONTINUE 0xa0u

/* CTRLR0: bits 22:21 lines (2 = quad), 20:16 frame length - 1, 9:8 transfer mode (3 = read). */
#define SSI_PLAIN_BYTES (7u << 16)
#define SSI_QUAD_WORDS ((2u << 21) | (31u << 16) | (3u << 8))
/*
 * SPI_CTRLR0: bits 31:24 command, 15:11 wait cycles, 9:8 command length (2 = 8 bits), 5:2 address
 * length in 4 bits (8 = 24 bits and the mode byte), 1:0 what is sent on four lines (1 = the
 * address, 2 = all).
 */
#define SSI_FIRST_READ ((4u << 11) | (2u << 8) | (8u << 2) | 1u)
#define SSI_LATER_READS ((FLASH_CONTINUE << 24) | (4u << 11) | (0u << 8) | (8u << 2) | 2u)

#define QUAD_INLINE static inline __attribute__((always_inline))
/* boot2 must be small, and has a function; the image needs all of it inside one function in RAM. */
#ifdef QUAD_READS_SMALL
#define QUAD_CALLED static __attribute__((noinline))
#else
#define QUAD_CALLED QUAD_INLINE
#endif
/* Pads as after reset (input buffer, pull, 4 mA), but: drive 8 mA and fast; no Schmitt trigger. */
#define PAD_QSPI_FAST (PAD_INPUT | (2u << 4) | PAD_SCHMITT | 1u)
#define PAD_QSPI_PLAIN (PAD_INPUT | (1u << 4))

/* A block's registers by their offsets. The compiler must not see the number: with a constant for
 * each register boot2 would not fit into its 252 bytes. */
QUAD_INLINE volatile uint32_t *block_at(uint32_t address) {
    __asm("" : "+r"(address));
    return (volatile uint32_t *)address;
}
#define SSI(name) ssi[((name) - SSI_CTRLR0) / 4]

/* Sends up to three bytes as one command; gives what came back with the last. */
QUAD_CALLED uint32_t ssi_command(volatile uint32_t *ssi, uint32_t bytes, int count) {
    uint32_t last = 0;
    for (int index = 0; index < count; index++, bytes >>= 8) SSI(SSI_DR0) = bytes & 0xff;
    /* SR: bit 2 is "all sent", bit 0 "busy". */
    while ((SSI(SSI_SR) & 5) != 4) {}
    for (int index = 0; index < count; index++) last = SSI(SSI_DR0);
    return last;
}

QUAD_INLINE void ssi_allow_quad(volatile uint32_t *ssi) {
    if (ssi_command(ssi, FLASH_READ_STATUS_2, 2) & FLASH_QUAD_ALLOWED) return;
    ssi_command(ssi, FLASH_WRITE_ENABLE, 1);
    ssi_command(ssi, FLASH_WRITE_STATUS | (FLASH_QUAD_ALLOWED << 16), 3);
    while (ssi_command(ssi, FLASH_READ_STATUS, 2) & 1) {}
}

QUAD_INLINE void quad_reads_start(void) {
    /* Chapter 2.19.6.4: clock with 8 mA and fast edges, data lines without Schmitt trigger. */
    volatile uint32_t *pads = block_at(PAD_QSPI_CLOCK);
    pads[0] = PAD_QSPI_FAST;
    for (int line = 1; line <= 4; line++) pads[line] = PAD_QSPI_PLAIN;
    volatile uint32_t *ssi = block_at(SSI_CTRLR0);
    SSI(SSI_SSIENR) = 0;
    SSI(SSI_BAUDR) = 4; /* 31.25 MHz at 125 MHz; a W25Q takes far more, to be raised on silicon */
    SSI(SSI_RX_SAMPLE_DLY) = 1;
    SSI(SSI_CTRLR0) = SSI_PLAIN_BYTES;
    SSI(SSI_SSIENR) = 1;
    ssi_allow_quad(ssi);
    SSI(SSI_SSIENR) = 0;
    SSI(SSI_CTRLR0) = SSI_QUAD_WORDS;
    SSI(SSI_CTRLR1) = 0;
    SSI(SSI_SPI_CTRLR0) = SSI_FIRST_READ;
    SSI(SSI_SSIENR) = 1;
    /* One read with the command byte puts the chip into the mode; what it reads does not matter. */
    SSI(SSI_DR0) = FLASH_READ_QUAD;
    SSI(SSI_DR0) = FLASH_CONTINUE;
    while ((SSI(SSI_SR) & 5) != 4) {}
    SSI(SSI_SSIENR) = 0;
    SSI(SSI_SPI_CTRLR0) = SSI_LATER_READS;
    SSI(SSI_SSIENR) = 1;
}
#endif
