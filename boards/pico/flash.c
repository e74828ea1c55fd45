/*
 * Erase and program, through the functions of the boot ROM, by code in RAM that touches nothing in
 * flash until reads are set up again. Interrupts stay on: their code, tables and numbers are all in
 * RAM. Addresses are those of the bus. RP2040 datasheet chapter 2.8.3 (ROM table, flash functions).
 */
#include "board.h"
#include "quad-reads.h"

/* 2.8.3: half-words at 0x14 (table of functions) and 0x18 (look-up); a code is two letters. */
typedef void *(*look_up)(uint16_t *table, uint32_t code);
#define ROM_TABLE (*(volatile uint16_t *)0x14)
#define ROM_LOOK_UP (*(volatile uint16_t *)0x18)
#define ROM_CODE(first, second) ((uint32_t)(first) | ((uint32_t)(second) << 8))
#define ERASE_BLOCK 65536u
#define ERASE_BLOCK_COMMAND 0xd8u

static struct {
    void (*connect)(void);
    void (*leave_reads)(void);
    void (*erase)(uint32_t offset, uint32_t bytes, uint32_t block, uint8_t command);
    void (*program)(uint32_t offset, const uint8_t *data, uint32_t bytes);
    void (*flush)(void);
    void (*enter_reads)(void);
} rom;

static void *find(uint32_t code) {
    uint16_t *table = (uint16_t *)(uint32_t)ROM_TABLE;
    return ((look_up)(uint32_t)ROM_LOOK_UP)(table, code);
}

void flash_start(void) {
    rom.connect = (void (*)(void))find(ROM_CODE('I', 'F'));
    rom.leave_reads = (void (*)(void))find(ROM_CODE('E', 'X'));
    rom.erase = (void (*)(uint32_t, uint32_t, uint32_t, uint8_t))find(ROM_CODE('R', 'E'));
    rom.program = (void (*)(uint32_t, const uint8_t *, uint32_t))find(ROM_CODE('R', 'P'));
    rom.flush = (void (*)(void))find(ROM_CODE('F', 'C'));
    rom.enter_reads = (void (*)(void))find(ROM_CODE('C', 'X'));
}

IN_RAM static void change(uint32_t offset, const uint8_t *page) {
    rom.connect();
    rom.leave_reads();
    if (page) rom.program(offset, page, PAGE_BYTES);
    else rom.erase(offset, SECTOR_BYTES, ERASE_BLOCK, ERASE_BLOCK_COMMAND);
    rom.flush();
    rom.enter_reads();
    quad_reads_start();
}

/* Takes 45 ms, at most 400 ms: only in maintenance. */
void flash_erase_sector(uint32_t address) { change(address - FLASH_BASE, 0); }

/* Takes 0.4 to 3 ms; `page` must be in RAM. */
void flash_program_page(uint32_t address, const void *page) { change(address - FLASH_BASE, page); }
