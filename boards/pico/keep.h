/*
 * What is kept over power, and what that needs of the rest: the account (account.c, account-ring.c) and the run
 * log (recorder.c, run-log.c). No registers here: the tests compile these files for the host, with an
 * array as flash and the core of the host behind them.
 */
#ifndef SMIRR_KEEP_H
#define SMIRR_KEEP_H
#include <stdint.h>

/* Where things lie in flash; host-sim/pack/flash-map.ts has the same figures, a test compares them. */
#define FLASH_BASE 0x10000000u
#define SETTINGS_ADDRESS 0x10080000u
#define ACCOUNT_ADDRESS 0x10082000u
#define RUN_LOG_ADDRESS 0x10086000u
#define RUN_LOG_BYTES 1548288u
#define SECTOR_BYTES 4096u
#define PAGE_BYTES 256u
#define BLANK 0xffffffffu

#ifdef SMIRR_HOST
extern uint8_t host_flash[];
#define FLASH_AT(address) ((const void *)(host_flash + ((address) - FLASH_BASE)))
#else
#define FLASH_AT(address) ((const void *)(address))
#endif

/* flash.c: `page` must be in RAM; an erase only in maintenance */
void flash_erase_sector(uint32_t address);
void flash_program_page(uint32_t address, const void *page);
void supervisor_begin_maintenance(void);
void supervisor_end_maintenance(void);
/* engine.c: a number of AccountNumber in controller/bundle.ts */
int32_t engine_account(unsigned index);
/* uart.c */
void print_word(const char *key, const char *word);
void print_end(void);

/* crc32.c */
uint32_t crc32_add(uint32_t crc, const void *bytes, uint32_t length);

/* account-ring.c. Counters run on for the life of the device. */
struct account {
    int32_t tank_ul, ambient_hpa;
    uint32_t pump_stuck_on, has_run;
    uint32_t bursts, engine_ticks, faults, refills;
};
int flash_is_blank(uint32_t address, uint32_t bytes);
void account_find(struct account *account);
int account_write(const struct account *account);
int account_make_room(void);

/* account.c */
void account_start(struct account stored);
void account_follow(uint32_t word, int may_erase, int may_program);
const struct account *account_now(void);

/* recorder.c */
struct recorder_facts {
    uint32_t layout_hash, bundle_crc, settings_sequence;
    const int32_t *settings, *calibration;
    uint32_t settings_count, calibration_count;
    const int32_t *boot; /* what the core was told at boot, 7 numbers */
};
struct recorder_status {
    uint32_t is_on, is_full, sector, page, sequence, prepared;
};
void recorder_start(const struct recorder_facts *facts);
int recorder_tick(const int32_t *codes, uint32_t word, uint32_t tick, int may_erase);
void recorder_event(uint32_t number, int32_t id, int32_t detail, int32_t at_ms);
int recorder_can_take_event(void);
void recorder_stop(void);
int recorder_holds_state(void);
struct recorder_status recorder_status(void);
uint32_t recorder_sequence_at(uint32_t sector);
/* inject.c: copies the state and gives where it stands; it is not copied again while the recorder holds it */
uint32_t recorder_state(const int32_t **words);
#endif
