/*
 * What lies in flash beside the image: the bundle, and two copies of settings and calibration. Layouts:
 * host-sim/pack/bundle-header.ts and sector.ts. Everything is checked by CRC-32 (ISO-HDLC) before it is
 * believed, and written so that a power cut leaves the old or the new.
 */
#include <string.h>
#include "board.h"

#define BUNDLE_MAGIC 0x31424d53u
#define SECTOR_MAGIC 0x31534d53u
#define SECTOR_VERSION 1u
#define SECTOR_HEAD_WORDS 8u
#define SECTOR_NUMBERS_MAX 1016u

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
