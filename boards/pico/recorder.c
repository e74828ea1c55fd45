/*
 * The run log in flash (docs/recorder.md): a ring of sectors, in each a head with its sequence, then chunks of
 * at most 250 bytes with a CRC each, none over the end of a page. A chunk is written when its page is
 * full, and at the latest after 0.8 s, so that a power cut loses less than the last second. Each boot, each
 * 64 KB and each new beginning has a chunk from which the host can start. Sectors ahead are erased only
 * while disarmed; where no erased one is left, it says "recorder full" and waits for the next.
 */
#include <string.h>
#include "keep.h"
#include "run-log.h"

#define FORMAT 1u
#define SECTORS (RUN_LOG_BYTES / SECTOR_BYTES)
#define PAGES_IN_SECTOR (SECTOR_BYTES / PAGE_BYTES)
#define SECTOR_MAGIC 0x314c4d53u /* SML1 */
#define SECTORS_IN_BLOCK 16u
/* Half of the ring is kept erased; the other half is what was there before. */
#define AHEAD (SECTORS / 2)
#define ERASE_EACH_TICKS 10u
#define GARBAGE_SECTORS_MAX 4u

#define FLUSH_TICKS 40u /* 0.8 s */
#define CHUNK_HEAD 2u
#define CHUNK_CRC 4u
#define TICKS_IN_CHUNK_MAX 100u
#define NUMBERS_AT_ONCE 40u
#define NUMBERS_ROOM 48u
#define NUMBER_BYTES_MAX 5u
/* The numbers of a boot wait until its first second is written. */
#define NUMBERS_AFTER_TICKS 60u
#define BOOT_NUMBERS 7u

enum kind { BEGIN = 1, NUMBERS = 2, EVENT = 3, TICKS = 0x80 };
enum part { STATE, SETTINGS, CALIBRATION, PARTS };

static const struct recorder_facts *facts;
static struct recorder_status now;
static struct log_state state;
static struct log_bits bits;
/* The page being filled, where it goes, how much of it holds whole chunks, and how much is in flash. */
static uint8_t page[PAGE_BYTES];
static uint32_t used, flushed, ticks_in_chunk, since_flush, since_erase, did_program, is_stopping;
/* What must still be told of the last beginning. */
static uint32_t must_begin, is_boot, part, next_number, state_count, ticks_since_begin;
static const int32_t *state_words;

static struct {
    uint32_t is_waiting, number;
    int32_t id, detail, at_ms;
} event;

static uint32_t sector_address(uint32_t sector) { return RUN_LOG_ADDRESS + SECTOR_BYTES * sector; }

/* The sequence of a sector, from 1 on; 0 if it is erased or no sector of the log. */
uint32_t recorder_sequence_at(uint32_t sector) {
    const uint32_t *head = FLASH_AT(sector_address(sector));
    if (head[0] != SECTOR_MAGIC || head[1] == 0) return 0;
    return head[2] == crc32_add(0, head, 8) ? head[1] : 0;
}

static void put32(uint8_t *to, uint32_t value) { memcpy(to, &value, 4); }

static void begin_page(void) {
    memset(page, 0xff, sizeof page);
    used = flushed = ticks_in_chunk = 0;
}

static void begin_sector(uint32_t sector) {
    now.sector = sector;
    now.page = 0;
    now.sequence++;
    begin_page();
    put32(page, SECTOR_MAGIC);
    put32(page + 4, now.sequence);
    put32(page + 8, crc32_add(0, page, 8));
    used = 12;
    if (now.sequence % SECTORS_IN_BLOCK == 0) must_begin = 1;
}

static void tell_full(void) {
    print_word("recorder", "full");
    print_end();
}

/* Goes to the next sector that is erased. One that a power cut left as garbage is stepped over. */
static void next_sector(void) {
    for (uint32_t step = 1; step <= GARBAGE_SECTORS_MAX; step++) {
        const uint32_t sector = (now.sector + step) % SECTORS;
        if (now.prepared >= step || flash_is_blank(sector_address(sector), SECTOR_BYTES)) {
            now.prepared -= now.prepared >= step ? step : now.prepared;
            return begin_sector(sector);
        }
        if (recorder_sequence_at(sector)) break;
    }
    now.is_full = 1;
    now.prepared = 0;
    tell_full();
}

/* Programs what is new in the page; the rest of it is left as it is. */
static void program(void) {
    uint8_t part_of_page[PAGE_BYTES];
    memset(part_of_page, 0xff, sizeof part_of_page);
    memcpy(part_of_page + flushed, page + flushed, used - flushed);
    const uint32_t address = sector_address(now.sector) + PAGE_BYTES * now.page;
    if (used > flushed) {
        flash_program_page(address, part_of_page);
        did_program = 1;
    }
    flushed = used;
    since_flush = 0;
    /* A page that does not hold what was written is left, and the log begins anew on the next. */
    if (memcmp(FLASH_AT(address), page, used) == 0) return;
    must_begin = 1;
    used = flushed = PAGE_BYTES;
}

static void close_chunk(uint32_t kind, uint32_t length) {
    uint8_t *chunk = page + used;
    chunk[0] = (uint8_t)length;
    chunk[1] = (uint8_t)kind;
    put32(chunk + CHUNK_HEAD + length, crc32_add(0, chunk, CHUNK_HEAD + length));
    used += CHUNK_HEAD + length + CHUNK_CRC;
}

static void close_ticks(void) {
    if (!ticks_in_chunk) return;
    close_chunk(TICKS | ticks_in_chunk, (bits.at + 7) / 8 - used - CHUNK_HEAD);
    ticks_in_chunk = 0;
}

static void next_page(void) {
    close_ticks();
    program();
    now.page++;
    if (now.page < PAGES_IN_SECTOR) begin_page();
    else next_sector();
}

static uint32_t room(void) {
    const uint32_t taken = used + CHUNK_HEAD + CHUNK_CRC;
    return taken < PAGE_BYTES ? PAGE_BYTES - taken : 0;
}

/* Adds a chunk to the page, on the next page if need be, which is written at most once a tick. */
static int put_chunk(uint32_t kind, const uint8_t *payload, uint32_t length) {
    close_ticks();
    if (room() < length && !did_program) next_page();
    if (now.is_full || room() < length) return 0;
    memcpy(page + used + CHUNK_HEAD, payload, length);
    close_chunk(kind, length);
    return 1;
}

/* From here on the host can start: what the device carries, and the codes and decision of this tick. */
static void put_begin(const int32_t *codes, uint32_t word, uint32_t tick) {
    uint8_t payload[4 + 4 * (6 + BOOT_NUMBERS + LOG_CODES)] = {FORMAT, (uint8_t)is_boot};
    state_count = is_boot ? 0 : recorder_state(&state_words);
    payload[2] = (uint8_t)facts->settings_count;
    payload[3] = 0;
    const uint32_t head[] = {facts->layout_hash, facts->bundle_crc,           facts->settings_sequence,
                             tick,               facts->calibration_count << 16 | state_count, word};
    memcpy(payload + 4, head, sizeof head);
    memcpy(payload + 4 + sizeof head, facts->boot, 4 * BOOT_NUMBERS);
    memcpy(payload + 4 + sizeof head + 4 * BOOT_NUMBERS, codes, 4 * LOG_CODES);
    if (!put_chunk(BEGIN, payload, sizeof payload)) return;
    log_start(&state, codes, word);
    part = is_boot ? SETTINGS : STATE;
    next_number = 0;
    ticks_since_begin = is_boot ? 0 : NUMBERS_AFTER_TICKS;
    must_begin = is_boot = 0;
}

static uint32_t count_of(uint32_t which) {
    if (which == STATE) return state_count;
    return which == SETTINGS ? facts->settings_count : facts->calibration_count;
}

static const int32_t *numbers_of(uint32_t which) {
    if (which == STATE) return state_words;
    return which == SETTINGS ? facts->settings : facts->calibration;
}

/* Some of the numbers that belong to a beginning: its part, the first one's place, then they. */
static void put_numbers(void) {
    if (part >= PARTS || ticks_since_begin++ < NUMBERS_AFTER_TICKS) return;
    uint8_t payload[3 + NUMBERS_AT_ONCE * NUMBER_BYTES_MAX] = {(uint8_t)part, (uint8_t)next_number,
                                                               (uint8_t)(next_number >> 8)};
    close_ticks();
    if (room() < NUMBERS_ROOM && !did_program) next_page();
    if (now.is_full || room() < NUMBERS_ROOM) return;
    const uint32_t most = room() < sizeof payload ? room() : sizeof payload;
    const uint32_t count = count_of(part);
    const int32_t *numbers = numbers_of(part);
    uint32_t length = 3, at = next_number;
    for (; at < count && at < next_number + NUMBERS_AT_ONCE && length + NUMBER_BYTES_MAX <= most; at++) {
        length += log_put_varint(payload + length, log_zigzag(numbers[at]));
    }
    if (count && !put_chunk(NUMBERS, payload, length)) return;
    next_number = at;
    if (next_number < count) return;
    part++;
    next_number = 0;
}

static void put_event(void) {
    uint8_t payload[4 * NUMBER_BYTES_MAX];
    uint32_t length = log_put_varint(payload, event.number);
    length += log_put_varint(payload + length, (uint32_t)event.id);
    length += log_put_varint(payload + length, log_zigzag(event.detail));
    length += log_put_varint(payload + length, (uint32_t)event.at_ms);
    if (put_chunk(EVENT, payload, length)) event.is_waiting = 0;
}

/* Gives 1 if the tick found its place in the page. */
static int try_tick(const int32_t *codes, uint32_t word) {
    if (room() == 0 || ticks_in_chunk >= TICKS_IN_CHUNK_MAX) return 0;
    if (!ticks_in_chunk) bits.at = 8 * (used + CHUNK_HEAD);
    bits.bytes = page;
    bits.end = 8 * (PAGE_BYTES - CHUNK_CRC);
    const struct log_state had = state;
    const uint32_t from = bits.at;
    log_put_tick(&state, &bits, codes, word);
    if (bits.at <= bits.end) {
        ticks_in_chunk++;
        return 1;
    }
    state = had;
    bits.at = from;
    /* What went beyond is erased again; the CRC of the chunk comes over its first bytes. */
    const uint32_t whole = ticks_in_chunk ? (from + 7) / 8 : used;
    memset(page + whole, 0xff, PAGE_BYTES - whole);
    return 0;
}

static void put_tick(const int32_t *codes, uint32_t word, uint32_t tick) {
    if (must_begin) return put_begin(codes, word, tick);
    if (try_tick(codes, word)) return;
    if (!did_program) next_page();
    if (now.is_full) return;
    /* A new sector may begin a new block; and what finds no place even so is a gap. */
    if (must_begin || !try_tick(codes, word)) {
        must_begin = 1;
        put_begin(codes, word, tick);
    }
}

/*
 * Looks at one sector more ahead, and erases it if need be; 1 if it did. In steps, so that the core and the
 * link have their time between two erases.
 */
static int prepare(void) {
    since_erase++;
    if (now.prepared >= AHEAD) return 0;
    const uint32_t address = sector_address((now.sector + now.prepared + 1) % SECTORS);
    if (flash_is_blank(address, SECTOR_BYTES)) {
        now.prepared++;
        return 0;
    }
    if (since_erase < ERASE_EACH_TICKS) return 0;
    since_erase = 0;
    supervisor_begin_maintenance();
    flash_erase_sector(address);
    supervisor_end_maintenance();
    return 1;
}

static void find_end(void) {
    now.sector = SECTORS - 1;
    now.page = PAGES_IN_SECTOR;
    for (uint32_t sector = 0; sector < SECTORS; sector++) {
        const uint32_t sequence = recorder_sequence_at(sector);
        if (sequence <= now.sequence) continue;
        now.sequence = sequence;
        now.sector = sector;
    }
    if (!now.sequence) return;
    const uint32_t address = sector_address(now.sector);
    while (now.page > 1 && flash_is_blank(address + PAGE_BYTES * (now.page - 1), PAGE_BYTES)) now.page--;
}

/* At boot: finds the end of what is there, and begins on the page after it. `given` must stay. */
void recorder_start(const struct recorder_facts *given) {
    facts = given;
    find_end();
    now.is_on = 1;
    must_begin = is_boot = 1;
    if (now.page < PAGES_IN_SECTOR) begin_page();
    else next_sector();
}

/* While codes are injected nothing is recorded; what was is written in the next tick. */
void recorder_stop(void) { is_stopping = 1; }

static int stop(void) {
    now.is_on = 0;
    if (now.is_full) return 0;
    close_ticks();
    program();
    return (int)did_program;
}

/*
 * Once a tick, after it. `may_erase`: disarmed for a second, nothing driven. Gives 1 if it used the flash:
 * then nobody else may in this tick.
 */
int recorder_tick(const int32_t *codes, uint32_t word, uint32_t tick, int may_erase) {
    did_program = 0;
    if (!now.is_on) return 0;
    if (is_stopping) return stop();
    /* Only its first tick begins a boot. */
    if (tick > 1) is_boot = 0;
    if (now.is_full) {
        event.is_waiting = 0;
        part = PARTS;
        if (may_erase && prepare()) return 1;
        if (now.prepared == 0) return 0;
        now.is_full = 0;
        must_begin = 1;
        next_sector();
    }
    since_flush++;
    if (event.is_waiting && !must_begin) put_event();
    if (!now.is_full) put_tick(codes, word, tick);
    if (!now.is_full && !must_begin) put_numbers();
    if (now.is_full) return (int)did_program;
    if (since_flush >= FLUSH_TICKS && !did_program) {
        close_ticks();
        program();
    }
    return did_program || (may_erase && prepare());
}

/* One event of the core waits until the next tick. */
int recorder_can_take_event(void) { return !event.is_waiting; }

void recorder_event(uint32_t number, int32_t id, int32_t detail, int32_t at_ms) {
    if (!now.is_on || now.is_full) return;
    event.is_waiting = 1;
    event.number = number;
    event.id = id;
    event.detail = detail;
    event.at_ms = at_ms;
}

/* The copy of the state is being written: it must stay as it is. */
int recorder_holds_state(void) { return now.is_on && !must_begin && part == STATE; }

struct recorder_status recorder_status(void) { return now; }
