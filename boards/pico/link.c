/*
 * Commands over the serial line, one a line, answered by one line of `key=value`:
 *   heap                 what the heap and the stack took
 *   put OFFSET HEX       bytes for a sector of settings that is put together in RAM
 *   save                 checks that sector and writes it over the copy not in use
 * Settings are written only while disarmed and while the lock strap is open; they count from the next
 * boot. A line is at most 160 characters.
 */
#include <string.h>
#include "board.h"

#define LINE_MAX 160

static char line[LINE_MAX + 1];
static uint32_t length;
static uint32_t staged[SECTOR_BYTES / 4];
static uint32_t layout_hash;

void link_start(uint32_t hash) {
    layout_hash = hash;
    memset(staged, 0xff, sizeof staged);
}

static void answer(const char *key, const char *word) {
    print_word(key, word);
    print_end();
}

static int hex_digit(char character) {
    if (character >= '0' && character <= '9') return character - '0';
    if (character >= 'a' && character <= 'f') return character - 'a' + 10;
    return -1;
}

static void put_bytes(const char *text) {
    uint32_t offset = 0;
    while (*text >= '0' && *text <= '9') offset = 10 * offset + (uint32_t)(*text++ - '0');
    if (*text++ != ' ') return answer("put", "bad-line");
    for (; text[0] && text[1]; text += 2) {
        const int high = hex_digit(text[0]), low = hex_digit(text[1]);
        if (high < 0 || low < 0) return answer("put", "bad-hex");
        if (offset >= SECTOR_BYTES) return answer("put", "too-far");
        ((uint8_t *)staged)[offset++] = (uint8_t)(16 * high + low);
    }
    answer("put", "ok");
}

static void save(int may_write) {
    if (gpio_is_active(MASK_LOCK, ACTIVE_LOW_LOCK)) return answer("save", "locked");
    if (!may_write) return answer("save", "armed");
    const char *problem = store_check_sector(staged, layout_hash);
    if (problem) return answer("save", problem);
    answer("save", store_write_settings(staged, layout_hash) == 0 ? "ok" : "not-written");
}

static void tell_heap(void) {
    extern volatile uint32_t stack_low;
    print_number("heap", (int32_t)heap_used);
    print_number("peak", (int32_t)heap_peak);
    print_number("arena", (int32_t)heap_arena_bytes);
    print_number("calls", (int32_t)heap_calls);
    print_number("stack", (int32_t)stack_low);
    print_number("dropped", (int32_t)uart_dropped);
    print_end();
}

static void obey(int may_write) {
    if (strcmp(line, "heap") == 0) tell_heap();
    else if (strncmp(line, "put ", 4) == 0) put_bytes(line + 4);
    else if (strcmp(line, "save") == 0) save(may_write);
    else if (line[0]) answer("error", "unknown-command");
}

/* Takes what arrived; at most one command a call. `may_write`: disarmed, and nothing driven. */
void link_poll(int may_write) {
    for (int byte = uart_read(); byte >= 0; byte = uart_read()) {
        if (byte == '\r') continue;
        if (byte != '\n') {
            if (length < LINE_MAX) line[length++] = (char)byte;
            continue;
        }
        line[length] = 0;
        length = 0;
        obey(may_write);
        return;
    }
}
