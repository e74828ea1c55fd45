/*
 * The first 256 bytes of flash. The boot ROM copies them to RAM, checks the CRC-32 in their last four
 * bytes (RP2040 datasheet chapter 2.8.1.3.1; build.mjs appends it) and jumps to the first byte. This
 * sets the flash up for quad reads, then enters the image by the vector table behind it.
 */
#define QUAD_READS_SMALL
#include "quad-reads.h"

#define IMAGE_VECTORS 0x10000100u

/* Chapter 2.4.8: the first vector is the stack, the second the entry. */
__attribute__((noreturn, section(".boot2"))) void boot2(void) {
    quad_reads_start();
    REGISTER(VECTOR_TABLE_OFFSET) = IMAGE_VECTORS;
    __asm volatile("ldr r0, [%0]\n msr msp, r0\n ldr r0, [%0, #4]\n bx r0" ::"r"(IMAGE_VECTORS)
                   : "r0", "memory");
    __builtin_unreachable();
}
