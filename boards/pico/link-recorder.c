/*
 * What the link tells of the run log and of the account: where the log stands, and the sequence of each sector
 * (docs/link.md). Its bytes are read as any of flash.
 */
#include <string.h>
#include "frame.h"
#include "link.h"

#define SECTORS_AT_ONCE 55u
#define SECTORS_ALL (RUN_LOG_BYTES / SECTOR_BYTES)

uint32_t recorder_tell(uint8_t *payload) {
    const struct recorder_status status = recorder_status();
    const struct account *account = account_now();
    const uint32_t numbers[] = {status.sector,
                                status.page,
                                status.sequence,
                                status.prepared,
                                (uint32_t)account->tank_ul,
                                (uint32_t)account->ambient_hpa,
                                account->bursts,
                                account->engine_ticks,
                                account->faults,
                                account->refills,
                                account->pump_stuck_on};
    payload[0] = DONE;
    payload[1] = (uint8_t)((status.is_on ? 1 : 0) | (status.is_full ? 2 : 0));
    memcpy(payload + 2, numbers, sizeof numbers);
    return 2 + sizeof numbers;
}

/* Request: the first sector (two bytes). */
uint32_t recorder_tell_sectors(uint8_t *payload, const uint8_t *request, uint32_t length) {
    payload[0] = length == 2 ? DONE : BAD_LENGTH;
    if (length != 2) return 1;
    const uint32_t first = request[0] | (uint32_t)request[1] << 8;
    uint32_t at = 1;
    for (uint32_t sector = first; sector < SECTORS_ALL && sector < first + SECTORS_AT_ONCE; sector++) {
        at += put32(payload + at, recorder_sequence_at(sector));
    }
    return at;
}
