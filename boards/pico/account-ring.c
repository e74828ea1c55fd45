/*
 * The account in flash: records of 32 bytes in a ring of four sectors, eight to a page; the valid one of
 * the highest sequence counts. A record is programmed with the rest of its page left as it is (0xFF
 * changes nothing). A record that a power cut spoilt fails its CRC and is stepped over.
 */
#include <string.h>
#include "keep.h"

#define ACCOUNT_MAGIC 0x32414d53u /* SMA2 */
#define RECORDS 512u
#define RECORDS_IN_SECTOR 128u
#define FLAG_PUMP_STUCK_ON 1u
#define FLAG_HAS_RUN 2u
#define COUNT_MAX 0xffffu

struct record {
    uint32_t magic, sequence;
    int32_t tank_ul;
    int16_t ambient_hpa;
    uint16_t flags;
    uint32_t bursts, engine_ticks;
    uint16_t faults, refills;
    uint32_t crc;
};
_Static_assert(sizeof(struct record) == 32, "eight records a page");

static uint32_t next_record, next_sequence = 1;

static uint32_t address_of(uint32_t index) {
    return ACCOUNT_ADDRESS + (uint32_t)sizeof(struct record) * (index % RECORDS);
}

static const struct record *record_at(uint32_t index) { return FLASH_AT(address_of(index)); }

/* Is everything there erased? Both are multiples of four. */
int flash_is_blank(uint32_t address, uint32_t bytes) {
    const uint32_t *word = FLASH_AT(address);
    for (uint32_t index = 0; index < bytes / 4; index++) {
        if (word[index] != BLANK) return 0;
    }
    return 1;
}

static int is_valid(const struct record *record) {
    return record->magic == ACCOUNT_MAGIC && record->crc == crc32_add(0, record, 28);
}

/* Fills `account` from the newest record; a tank of -1 and nothing else if there is none. */
void account_find(struct account *account) {
    *account = (struct account){.tank_ul = -1};
    for (uint32_t index = 0; index < RECORDS; index++) {
        const struct record *record = record_at(index);
        if (record->magic != ACCOUNT_MAGIC || record->sequence < next_sequence) continue;
        if (!is_valid(record)) continue;
        next_sequence = record->sequence + 1;
        next_record = index + 1;
        *account = (struct account){
            .tank_ul = record->tank_ul,
            .ambient_hpa = record->ambient_hpa,
            .pump_stuck_on = (record->flags & FLAG_PUMP_STUCK_ON) != 0,
            .has_run = (record->flags & FLAG_HAS_RUN) != 0,
            .bursts = record->bursts,
            .engine_ticks = record->engine_ticks,
            .faults = record->faults,
            .refills = record->refills,
        };
    }
}

static uint16_t at_most(uint32_t count) { return (uint16_t)(count < COUNT_MAX ? count : COUNT_MAX); }

/*
 * Adds a record: one page program, allowed in any tick. Gives 0, or 1 if the ring has no blank place
 * left (see account_make_room) or the record did not read back.
 */
int account_write(const struct account *account) {
    for (uint32_t tries = 0; tries < RECORDS_IN_SECTOR; tries++, next_record++) {
        if (flash_is_blank(address_of(next_record), sizeof(struct record))) break;
    }
    const uint32_t address = address_of(next_record);
    if (!flash_is_blank(address, sizeof(struct record))) return 1;
    struct record record = {
        .magic = ACCOUNT_MAGIC,
        .sequence = next_sequence,
        .tank_ul = account->tank_ul,
        .ambient_hpa = (int16_t)account->ambient_hpa,
        .flags = (uint16_t)((account->pump_stuck_on ? FLAG_PUMP_STUCK_ON : 0) |
                            (account->has_run ? FLAG_HAS_RUN : 0)),
        .bursts = account->bursts,
        .engine_ticks = account->engine_ticks,
        .faults = at_most(account->faults),
        .refills = at_most(account->refills),
    };
    record.crc = crc32_add(0, &record, 28);
    uint8_t page[PAGE_BYTES];
    memset(page, 0xff, sizeof page);
    memcpy(page + address % PAGE_BYTES, &record, sizeof record);
    flash_program_page(address & ~(PAGE_BYTES - 1), page);
    next_record++;
    next_sequence++;
    return is_valid(FLASH_AT(address)) ? 0 : 1;
}

/* Erases the sector after the one in use, if it is not blank: only while disarmed. 1 if it did. */
int account_make_room(void) {
    const uint32_t sector = (next_record / RECORDS_IN_SECTOR + 1) % (RECORDS / RECORDS_IN_SECTOR);
    const uint32_t address = ACCOUNT_ADDRESS + SECTOR_BYTES * sector;
    if (flash_is_blank(address, SECTOR_BYTES)) return 0;
    supervisor_begin_maintenance();
    flash_erase_sector(address);
    supervisor_end_maintenance();
    return 1;
}
