/*
 * The device's side of the link (docs/link.md): frames are taken from the line after each tick, at most
 * 300 bytes and one message that has an answer, and only while 9 ms are left before the next tick, so
 * that whatever arrives, or does not, delays none. An answer that finds no room on the line waits
 * with its request. Nothing here changes what the core decides but an injection (inject.c).
 */
#include <string.h>
#include "frame.h"
#include "link.h"
#include "sha256.h"

#define BYTES_PER_TICK 300
#define SLACK_US 9000u
#define HASH_BYTES_PER_TICK 4096u
#define READ_BYTES_MAX 224u
#define STATUS_WORDS_MAX 30u
#define FROZEN_WORDS_MAX 55u
#define FLASH_BYTES (2u * 1024u * 1024u)
#define BOARD_PICO 1
/* The last answer must have left before a restart. */
#define RESTART_TICKS 10

static struct receiver receiver;
static struct frame frame;
static struct facts facts;
static uint32_t bundle_crc, restart_in;
static struct {
    struct sha256 sha;
    uint32_t address, left;
    uint8_t sequence, is_on;
} hash;

/* Seen from outside: the time of the last call and of the longest, us. */
volatile uint32_t link_us, link_worst_us;

uint32_t put32(uint8_t *to, uint32_t value) {
    memcpy(to, &value, 4);
    return 4;
}

uint32_t get32(const uint8_t *from) {
    uint32_t value;
    memcpy(&value, from, 4);
    return value;
}

void link_answer(uint8_t type, uint8_t sequence, const uint8_t *payload, uint32_t length) {
    uint8_t line[FRAME_LINE_MAX];
    uart_write(line, frame_encode(type | ANSWER, sequence, payload, length, line));
}

void link_start(uint32_t layout_hash, int is_bench) {
    facts.layout_hash = layout_hash;
    facts.is_bench = is_bench;
    bundle_crc = *(const uint32_t *)(BUNDLE_ADDRESS + 16);
    link_answer(HELLO, 0, (const uint8_t[]){DONE}, 1);
}

static void answer(const uint8_t *payload, uint32_t length) {
    link_answer(frame.type, frame.sequence, payload, length);
}

static void answer_result(uint8_t result) { answer(&result, 1); }

static void tell_hello(void) {
    uint8_t payload[48] = {DONE, 'S', 'M', 'R', 'L', FRAME_VERSION, BOARD_PICO};
    const struct settings settings = store_find_settings(facts.layout_hash);
    payload[7] = (uint8_t)((facts.is_bench ? 1 : 0) |
                           (gpio_is_active(MASK_LOCK, ACTIVE_LOW_LOCK) ? 2 : 0) |
                           (facts.may_write ? 4 : 0) | (inject_is_on() ? 8 : 0) |
                           (recorder_status().is_full ? 16 : 0));
    payload[8] = (uint8_t)supervisor_cause();
    payload[9] = (uint8_t)settings.sector;
    uint32_t at = 10;
    at += put32(payload + at, facts.layout_hash);
    at += put32(payload + at, bundle_crc);
    at += put32(payload + at, settings.sequence);
    at += put32(payload + at, tick_count);
    at += put32(payload + at, (uint32_t)facts.codes[0]);
    answer(payload, at);
}

static void tell_status(void) {
    uint8_t payload[FRAME_PAYLOAD_MAX] = {DONE};
    if (frame.length % 2 || frame.length > 2 * STATUS_WORDS_MAX) return answer_result(BAD_LENGTH);
    if (frame.length && inject_is_on()) return answer_result(BUSY);
    const uint32_t count = frame.length ? inject_freeze() : 0;
    uint32_t at = 1;
    at += put32(payload + at, tick_count);
    at += put32(payload + at, facts.word);
    for (int index = 0; index < CODES; index++) at += put32(payload + at, (uint32_t)facts.codes[index]);
    for (uint32_t index = 0; index < frame.length; index += 2) {
        const uint32_t word = frame.payload[index] | (uint32_t)frame.payload[index + 1] << 8;
        if (word >= count) return answer_result(BAD_VALUE);
        at += put32(payload + at, (uint32_t)frozen[word]);
    }
    answer(payload, at);
}

static int is_in_flash(uint32_t address, uint32_t length) {
    return address >= FLASH_BASE && length <= FLASH_BYTES && address - FLASH_BASE <= FLASH_BYTES - length;
}

static void tell_flash(void) {
    if (frame.length != 5) return answer_result(BAD_LENGTH);
    const uint32_t address = get32(frame.payload), length = frame.payload[4];
    if (length > READ_BYTES_MAX || !is_in_flash(address, length)) return answer_result(BAD_VALUE);
    uint8_t payload[FRAME_PAYLOAD_MAX] = {DONE};
    put32(payload + 1, address);
    memcpy(payload + 5, (const void *)address, length);
    answer(payload, 5 + length);
}

static void begin_hash(void) {
    if (frame.length != 8) return answer_result(BAD_LENGTH);
    if (!is_in_flash(get32(frame.payload), get32(frame.payload + 4))) return answer_result(BAD_VALUE);
    hash.address = get32(frame.payload);
    hash.left = get32(frame.payload + 4);
    hash.sequence = frame.sequence;
    hash.is_on = 1;
    sha256_start(&hash.sha);
}

/* One piece a tick; the answer comes with the last. A new request takes the place of the one before. */
static void go_on_hashing(void) {
    const uint32_t piece = hash.left < HASH_BYTES_PER_TICK ? hash.left : HASH_BYTES_PER_TICK;
    sha256_add(&hash.sha, (const uint8_t *)hash.address, piece);
    hash.address += piece;
    hash.left -= piece;
    if (hash.left > 0 || uart_room() < FRAME_LINE_MAX) return;
    uint8_t payload[33] = {DONE};
    sha256_end(&hash.sha, payload + 1);
    link_answer(HASH, hash.sequence, payload, sizeof payload);
    hash.is_on = 0;
}

static void tell_frozen(void) {
    if (frame.length != 3) return answer_result(BAD_LENGTH);
    const uint32_t from = frame.payload[0] | (uint32_t)frame.payload[1] << 8;
    const uint32_t count = frame.payload[2];
    if (count > FROZEN_WORDS_MAX || from + count > frozen_count) return answer_result(BAD_VALUE);
    uint8_t payload[FRAME_PAYLOAD_MAX] = {DONE};
    memcpy(payload + 1, frozen + from, 4 * count);
    answer(payload, 1 + 4 * count);
}

static void freeze(void) {
    uint8_t payload[17] = {DONE};
    const uint32_t count = inject_freeze();
    inject_hold();
    uint32_t at = 1;
    at += put32(payload + at, count);
    at += put32(payload + at, frozen_tick);
    at += put32(payload + at, crc32_add(0, frozen, 4 * count));
    at += put32(payload + at, (uint32_t)facts.codes[0]);
    answer(payload, at);
}

/* The answer has the codes of the last tick, which stand until the first set comes. */
static void begin_injection(void) {
    if (trial_is_on) return answer_result(BUSY);
    uint8_t payload[9 + 4 * CODES] = {inject_begin(frame.payload, frame.length, &facts)};
    if (payload[0] != DONE) return answer_result(payload[0]);
    uint32_t at = 1;
    at += put32(payload + at, frozen_tick);
    at += put32(payload + at, frozen_count);
    memcpy(payload + at, facts.codes, 4 * CODES);
    answer(payload, sizeof payload);
}

static void tell_trial(void) {
    uint8_t payload[24];
    answer(payload, trial_tell(payload));
}

static void tell_memory(void) {
    extern volatile uint32_t stack_low;
    const uint32_t figures[] = {heap_used, heap_peak, heap_arena_bytes, heap_calls,
                                stack_low, uart_dropped, link_worst_us};
    uint8_t payload[1 + sizeof figures] = {DONE};
    memcpy(payload + 1, figures, sizeof figures);
    answer(payload, sizeof payload);
}

static void tell_recorder(void) {
    uint8_t payload[FRAME_PAYLOAD_MAX];
    answer(payload, recorder_tell(payload));
}

static void tell_sectors(void) {
    uint8_t payload[FRAME_PAYLOAD_MAX];
    answer(payload, recorder_tell_sectors(payload, frame.payload, frame.length));
}

static void restart(void) {
    if (gpio_is_active(MASK_LOCK, ACTIVE_LOW_LOCK)) return answer_result(LOCKED);
    if (!facts.may_write) return answer_result(ARMED);
    restart_in = RESTART_TICKS;
    answer_result(DONE);
}

/* Does what the frame asks; 1 if that may have taken time, so that the rest waits for the next tick. */
static int serve(void) {
    if (frame.version != FRAME_VERSION) return 0;
    inject_heard();
    trial_heard();
    if (frame.type == INJECT_CODES) {
        inject_queue(frame.payload, frame.length);
        return 0;
    }
    switch (frame.type) {
    case HELLO: tell_hello(); break;
    case STATUS: tell_status(); break;
    case READ: tell_flash(); break;
    case HASH: begin_hash(); break;
    case STAGE: answer_result(settings_stage(frame.payload, frame.length)); break;
    case SAVE: answer_result(settings_save(frame.payload, frame.length, &facts)); break;
    case RESTART: restart(); break;
    case INJECT_BEGIN: begin_injection(); break;
    case INJECT_END: inject_end(END_ASKED); break;
    case FREEZE: freeze(); break;
    case FROZEN: tell_frozen(); break;
    case MEMORY: tell_memory(); break;
    case RECORDER: tell_recorder(); break;
    case SECTORS: tell_sectors(); break;
    case TRY: answer_result(trial_begin(frame.payload, frame.length, &facts)); break;
    case TRIED: tell_trial(); break;
    case CLEAR: answer_result(trial_clear(frame.payload, frame.length, &facts)); break;
    default: answer_result(UNKNOWN);
    }
    return 1;
}

static void take_frames(void) {
    for (int count = 0; count < BYTES_PER_TICK; count++) {
        if (uart_room() < FRAME_LINE_MAX) return;
        const int byte = uart_read();
        if (byte < 0) return;
        if (frame_receive(&receiver, (uint8_t)byte, &frame) && serve()) return;
    }
}

/* Once a tick, after it. `may_write`: disarmed for a second, and nothing driven. */
void link_after_tick(const int32_t *codes, uint32_t word, int may_write) {
    facts.codes = codes;
    facts.word = word;
    facts.may_write = may_write && !inject_is_on();
    if (restart_in > 0 && --restart_in == 0) watchdog_restart();
    static int is_listed;
    const uint32_t from_us = now_us();
    if (!is_listed && timer_left_us() >= SLACK_US) {
        is_listed = !engine_list_words();
    } else if (timer_left_us() >= SLACK_US) {
        if (inject_is_on()) inject_tell(&facts);
        if (!recorder_holds_state()) take_frames();
    }
    if (hash.is_on && timer_left_us() >= SLACK_US) go_on_hashing();
    link_us = now_us() - from_us;
    if (link_us > link_worst_us) link_worst_us = link_us;
}
