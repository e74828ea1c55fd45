/*
 * Account and recorder of the device on the host: recorder-host FLASH FROM TO. FLASH is a file of 2 MB that is
 * flash before and after; from FROM come batches of ticks, to TO goes "K" after each, or "S" and a number
 * where the recorder wants the state as that tick of the batch left it. All numbers are int32 of this
 * computer, and before each message stands how many it has. A batch is its count, then for each tick 21 codes, word, may-erase, 6 numbers of the account, the
 * count of new events and three numbers for each. A count of 0 ends it; standard output then has the
 * most programs and erases in a tick, and the most and fewest erases of a sector of the run log.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "keep.h"

#define FLASH_BYTES (2u * 1024u * 1024u)
#define CODES 21
#define NUMBERS 6
#define EVENT_RING 16
#define FIRST_EVENT 16
#define STATE_MAX 400
#define MESSAGE_MAX 20000
#define SECTORS (RUN_LOG_BYTES / SECTOR_BYTES)

uint8_t host_flash[FLASH_BYTES];
static FILE *from, *to;
static int32_t numbers[NUMBERS], events[EVENT_RING][3], state[STATE_MAX], message[MESSAGE_MAX];
static int32_t message_at, in_batch, total_events;
static uint32_t programs, erases, programs_most, erases_most, in_maintenance, erased[SECTORS];

static void fail(const char *why) {
    fprintf(stderr, "%s\n", why);
    exit(1);
}

static int32_t read_number(void) {
    int32_t number;
    if (fread(&number, 4, 1, from) != 1) fail("the input ends");
    return number;
}

/* A message is read as a whole before it is used: what the recorder asks for comes after it. */
static void read_message(void) {
    const int32_t length = read_number();
    if (length > MESSAGE_MAX) fail("a message is too long");
    for (int32_t at = 0; at < length; at++) message[at] = read_number();
    message_at = 0;
}

static int32_t take(void) { return message[message_at++]; }

void flash_program_page(uint32_t address, const void *page) {
    if (address % PAGE_BYTES) fail("a page begins elsewhere");
    const uint8_t *bytes = page;
    for (uint32_t at = 0; at < PAGE_BYTES; at++) host_flash[address - FLASH_BASE + at] &= bytes[at];
    programs++;
}

void flash_erase_sector(uint32_t address) {
    if (address % SECTOR_BYTES || !in_maintenance) fail("an erase that may not be");
    memset(host_flash + address - FLASH_BASE, 0xff, SECTOR_BYTES);
    if (address >= RUN_LOG_ADDRESS) erased[(address - RUN_LOG_ADDRESS) / SECTOR_BYTES]++;
    erases++;
}

void supervisor_begin_maintenance(void) { in_maintenance = 1; }
void supervisor_end_maintenance(void) { in_maintenance = 0; }
void print_word(const char *key, const char *word) { printf("%s=%s ", key, word); }
void print_end(void) { printf("\n"); }

int32_t engine_account(unsigned index) {
    if (index < NUMBERS) return numbers[index];
    return events[(index - FIRST_EVENT) / 4][(index - FIRST_EVENT) % 4];
}

uint32_t recorder_state(const int32_t **words) {
    fputc('S', to);
    fwrite(&in_batch, 4, 1, to);
    fflush(to);
    const int32_t count = read_number();
    for (int32_t at = 0; at < count && at < STATE_MAX; at++) state[at] = read_number();
    *words = state;
    return (uint32_t)count;
}

static void run_tick(uint32_t tick) {
    int32_t codes[CODES];
    for (int at = 0; at < CODES; at++) codes[at] = take();
    const uint32_t word = (uint32_t)take();
    const int may_erase = take();
    for (int at = 0; at < NUMBERS; at++) numbers[at] = take();
    for (int32_t count = take(); count > 0; count--) {
        for (int at = 0; at < 3; at++) events[total_events % EVENT_RING][at] = take();
        total_events++;
    }
    programs = erases = 0;
    const int used = recorder_tick(codes, word, tick, may_erase);
    account_follow(word, may_erase && !used, !used);
    if (programs > programs_most) programs_most = programs;
    if (erases > erases_most) erases_most = erases;
    if (programs && erases) fail("a page and an erase in one tick");
    if (erases && !may_erase) fail("an erase while armed");
}

static void start(void) {
    static struct recorder_facts facts;
    static int32_t settings[256], calibration[1024], boot[7];
    struct account account;
    read_message();
    facts.layout_hash = (uint32_t)take();
    facts.settings_count = (uint32_t)take();
    for (uint32_t at = 0; at < facts.settings_count; at++) settings[at] = take();
    facts.calibration_count = (uint32_t)take();
    for (uint32_t at = 0; at < facts.calibration_count; at++) calibration[at] = take();
    for (int at = 0; at < 7; at++) boot[at] = take();
    facts.settings = settings;
    facts.calibration = calibration;
    facts.boot = boot;
    facts.settings_sequence = 1;
    account_find(&account);
    account_start(account);
    recorder_start(&facts);
}

int main(int argc, char **argv) {
    if (argc != 4) return 2;
    FILE *file = fopen(argv[1], "rb");
    if (!file || fread(host_flash, 1, FLASH_BYTES, file) != FLASH_BYTES) fail("no flash");
    fclose(file);
    from = fopen(argv[2], "rb");
    to = fopen(argv[3], "wb");
    start();
    uint32_t tick = 0;
    for (;;) {
        read_message();
        const int32_t count = take();
        if (count == 0) break;
        for (in_batch = 0; in_batch < count; in_batch++) run_tick(++tick);
        fputc('K', to);
        fflush(to);
    }
    file = fopen(argv[1], "wb");
    if (!file || fwrite(host_flash, 1, FLASH_BYTES, file) != FLASH_BYTES) fail("flash is not kept");
    fclose(file);
    uint32_t most = 0, fewest = ~0u;
    for (uint32_t at = 0; at < SECTORS; at++) {
        if (erased[at] > most) most = erased[at];
        if (erased[at] < fewest) fewest = erased[at];
    }
    printf("%u %u %u %u\n", programs_most, erases_most, most, fewest);
    fputc('E', to);
    fclose(to);
    return 0;
}
