/*
 * Settings over the link: a sector is put together in RAM piece by piece, checked as a whole (its own CRC,
 * the layout, and by the core its values), and written over the copy not in use. Only while disarmed
 * and with the lock strap open; in maintenance, in which both outputs are locked off.
 */
#include <string.h>
#include "link.h"

static uint32_t staged[SECTOR_BYTES / 4];

/* Payload: offset (two bytes), then the bytes. */
uint8_t settings_stage(const uint8_t *payload, uint32_t length) {
    if (length < 2) return BAD_LENGTH;
    const uint32_t offset = payload[0] | (uint32_t)payload[1] << 8;
    if (offset + length - 2 > SECTOR_BYTES) return BAD_VALUE;
    memcpy((uint8_t *)staged + offset, payload + 2, length - 2);
    return DONE;
}

static int is_refused(void) {
    const int32_t *numbers = (const int32_t *)staged + 8;
    supervisor_begin_maintenance();
    const int refused = engine_check(numbers, staged[3], numbers + staged[3], staged[4]);
    supervisor_end_maintenance();
    return refused;
}

/* Payload: CRC-32 over the 4,096 bytes that were to be staged. */
uint8_t settings_save(const uint8_t *payload, uint32_t length, const struct facts *facts) {
    if (length != 4) return BAD_LENGTH;
    if (gpio_is_active(MASK_LOCK, ACTIVE_LOW_LOCK)) return LOCKED;
    if (!facts->may_write) return ARMED;
    if (crc32_add(0, staged, SECTOR_BYTES) != get32(payload)) return BAD_VALUE;
    if (store_check_sector(staged, facts->layout_hash) || is_refused()) return REFUSED;
    return store_write_settings(staged, facts->layout_hash) == 0 ? DONE : NOT_WRITTEN;
}
