/*
 * What lies in flash beside the image: the bundle, two copies of settings and calibration, and the account
 * ring of four sectors. Layouts: host-sim/pack/bundle-header.ts and sector.ts; an account record is
 * below. Everything is checked by CRC-32 (ISO-HDLC) before it is believed, and written so that a power
 * cut leaves the old or the new.
 */
#include <string.h>
#include "board.h"

#define BUNDLE_MAGIC 0x31424d53u
#define SECTOR_MAGIC 0x31534d53u
#define SECTOR_VERSION 1u
#define SECTOR_HEAD_WORDS 8u
#define SECTOR_NUMBERS_MAX 1016u
#define BLANK 0xffffffffu

/*
 * CRC-32 (ISO-HDLC), eight bits at a time by a table that is made when it is first needed: a bundle takes
 * 5 ms at boot, and 12 by a table of sixteen.
 */
static uint32_t crc_table[256];

static void make_crc_table(void) {
    for (uint32_t byte = 0; byte < 256; byte++) {
        uint32_t crc = byte;
        for (int bit = 0; bit < 8; bit++) crc = (crc >> 1) ^ (crc & 1 ? 0xedb88320u : 0);
        crc_table[byte] = crc;
    }
}

/* Start with 0 and go on with the result. */
uint32_t crc32_add(uint32_t crc, const void *bytes, uint32_t length) {
    const uint8_t *next = bytes, *const end = next + length;
    if (!crc_table[1]) make_crc_table();
    crc = ~crc;
    for (; (uint32_t)next % 4 == 0 && next + 4 <= end; next += 4) {
        crc ^= *(const uint32_t *)next;
        crc = (crc >> 8) ^ crc_table[crc & 255];
        crc = (crc >> 8) ^ crc_table[crc & 255];
        crc = (crc >> 8) ^ crc_table[crc & 255];
        crc = (crc >> 8) ^ crc_table[crc & 255];
    }
    while (next < end) crc = (crc >> 8) ^ crc_table[(crc ^ *next++) & 255];
    return ~crc;
}

/* Bundle: magic, type (0 source, 1 bytecode), length, layout hash, CRC over those and what follows. */
struct bundle store_find_bundle(void) {
    const uint32_t *head = (const uint32_t *)BUNDLE_ADDRESS;
    struct bundle found = {(const uint8_t *)(head + 5), head[2], head[3], head[1] == 1, 0};
    if (head[0] != BUNDLE_MAGIC) found.problem = head[0] == BLANK ? "blank" : "bad-magic";
    else if (head[1] > 1) found.problem = "bad-type";
    else if (head[2] > BUNDLE_BYTES - 20) found.problem = "bad-length";
    else if (crc32_add(crc32_add(0, head, 16), head + 5, head[2]) != head[4]) found.problem = "bad-crc";
    return found;
}

/* Sector: magic, version, sequence, counts of settings, calibration and steps, layout hash, CRC. */
const char *store_check_sector(const uint32_t *sector, uint32_t layout_hash) {
    if (sector[0] == BLANK) return "blank";
    if (sector[0] != SECTOR_MAGIC) return "bad-magic";
    if (sector[1] != SECTOR_VERSION) return "bad-version";
    for (int index = 3; index <= 5; index++) {
        if (sector[index] > SECTOR_NUMBERS_MAX) return "bad-count";
    }
    const uint32_t count = sector[3] + sector[4] + sector[5];
    if (count > SECTOR_NUMBERS_MAX) return "bad-count";
    const uint32_t crc = crc32_add(crc32_add(0, sector, 28), sector + SECTOR_HEAD_WORDS, 4 * count);
    if (crc != sector[7]) return "bad-crc";
    return sector[6] == layout_hash ? 0 : "other-layout";
}

static const uint32_t *sector_at(int index) {
    return (const uint32_t *)(SETTINGS_ADDRESS + SECTOR_BYTES * (uint32_t)index);
}

/* The valid sector of the higher sequence, the first of two alike; `sector` is -1 if there is none. */
struct settings store_find_settings(uint32_t layout_hash) {
    struct settings found = {.sector = -1};
    for (int index = 0; index < 2; index++) {
        const uint32_t *sector = sector_at(index);
        found.problems[index] = store_check_sector(sector, layout_hash);
        if (found.problems[index]) continue;
        if (found.sector >= 0 && sector[2] <= found.sequence) continue;
        found.sector = index;
        found.sequence = sector[2];
        found.settings_count = sector[3];
        found.calibration_count = sector[4];
        found.step_count = sector[5];
        found.settings = (const int32_t *)sector + SECTOR_HEAD_WORDS;
        found.calibration = found.settings + sector[3];
        found.steps = found.calibration + sector[4];
    }
    return found;
}

/*
 * Writes a whole sector (in RAM, 4,096 bytes) over the copy that is not in use. It gets the next
 * sequence number; its first page, with magic and CRC, is written last, so that a power cut at
 * any point leaves it invalid and the other in use. Each operation is a maintenance of its own.
 * Gives 0, or 1 if it did not read back.
 */
int store_write_settings(uint32_t *sector, uint32_t layout_hash) {
    const struct settings now = store_find_settings(layout_hash);
    const int target = now.sector == 0 ? 1 : 0;
    const uint32_t address = SETTINGS_ADDRESS + SECTOR_BYTES * (uint32_t)target;
    const uint32_t count = sector[3] + sector[4] + sector[5];
    sector[2] = now.sector < 0 ? 1 : now.sequence + 1;
    sector[7] = crc32_add(crc32_add(0, sector, 28), sector + SECTOR_HEAD_WORDS, 4 * count);
    supervisor_begin_maintenance();
    flash_erase_sector(address);
    supervisor_end_maintenance();
    for (uint32_t offset = SECTOR_BYTES; offset > 0;) {
        offset -= PAGE_BYTES;
        supervisor_begin_maintenance();
        flash_program_page(address + offset, (const uint8_t *)sector + offset);
        supervisor_end_maintenance();
    }
    return memcmp((const void *)address, sector, SECTOR_BYTES) != 0;
}

/*
 * Account: records of 32 bytes in a ring of four sectors, eight to a page; the valid one of the highest
 * sequence counts. A record is programmed with the rest of its page left as it is (0xFF changes
 * nothing). A record that a power cut spoilt fails its CRC and is stepped over.
 */
#define ACCOUNT_MAGIC 0x31414d53u
#define RECORDS 512u
#define RECORDS_IN_SECTOR 128u

struct record {
    uint32_t magic, sequence;
    int32_t tank_ul, ambient_hpa;
    uint32_t pump_stuck_on, has_run, reserved, crc;
};
_Static_assert(sizeof(struct record) == 32, "eight records a page");

static uint32_t next_record, next_sequence = 1;
static uint32_t page[PAGE_BYTES / 4];

static const struct record *record_at(uint32_t index) {
    return (const struct record *)(ACCOUNT_ADDRESS + sizeof(struct record) * (index % RECORDS));
}

static int is_blank(const void *words, uint32_t bytes) {
    const uint32_t *word = words;
    for (uint32_t index = 0; index < bytes / 4; index++) {
        if (word[index] != BLANK) return 0;
    }
    return 1;
}

static int is_valid(const struct record *record) {
    return record->magic == ACCOUNT_MAGIC && record->crc == crc32_add(0, record, 28);
}

/* Fills `account` from the newest record; a tank of -1 and no pressure if there is none. */
void store_find_account(struct account *account) {
    *account = (struct account){.tank_ul = -1};
    for (uint32_t index = 0; index < RECORDS; index++) {
        const struct record *record = record_at(index);
        if (record->magic != ACCOUNT_MAGIC || record->sequence < next_sequence) continue;
        if (!is_valid(record)) continue;
        next_sequence = record->sequence + 1;
        next_record = index + 1;
        *account = (struct account){record->tank_ul, record->ambient_hpa, record->pump_stuck_on,
                                    record->has_run};
    }
}

/*
 * Adds a record: one page program, allowed in any tick. Gives 0, or 1 if the ring has no blank place
 * left (see store_make_room) or the record did not read back.
 */
int store_write_account(const struct account *account) {
    for (uint32_t tries = 0; tries < RECORDS_IN_SECTOR; tries++, next_record++) {
        const struct record *place = record_at(next_record);
        if (is_blank(place, sizeof *place)) break;
    }
    const struct record *place = record_at(next_record);
    if (!is_blank(place, sizeof *place)) return 1;
    struct record record = {ACCOUNT_MAGIC, next_sequence, account->tank_ul, account->ambient_hpa,
                            account->pump_stuck_on, account->has_run, BLANK, 0};
    record.crc = crc32_add(0, &record, 28);
    memset(page, 0xff, sizeof page);
    memcpy((uint8_t *)page + (uint32_t)place % PAGE_BYTES, &record, sizeof record);
    flash_program_page((uint32_t)place & ~(PAGE_BYTES - 1), page);
    next_record++;
    next_sequence++;
    return is_valid(place) ? 0 : 1;
}

/* Erases the sector after the one in use, if it is not blank: only while disarmed. */
void store_make_room(void) {
    const uint32_t sector = (next_record / RECORDS_IN_SECTOR + 1) % (RECORDS / RECORDS_IN_SECTOR);
    const uint32_t address = ACCOUNT_ADDRESS + SECTOR_BYTES * sector;
    if (is_blank((const void *)address, SECTOR_BYTES)) return;
    supervisor_begin_maintenance();
    flash_erase_sector(address);
    supervisor_end_maintenance();
}
