/*
 * Boot and the loop of ticks. Boot: watchdog, line, supervisor, then bundle, settings and account from
 * flash, then the core. A tick: sample, run the core, hand its wish to the supervisor, then what has
 * time (lamp, account, link). The names marked "seen from outside" are read by the tests through
 * the image's symbols; nothing else in the image is for them.
 */
#include "link.h"

#define CODE_MAINTENANCE 20
#define DISARMED_TICKS 50 /* the arm switch open for 1 s */

enum { WORD_PUMP = 1, WORD_ENABLE = 2, WORD_LIT = 1 << 10 };

/* Seen from outside. */
int32_t last_codes[CODES];
int32_t last_boot[7];
volatile uint32_t tick_phase, last_output, last_digest, digest_wanted, tick_count, stack_low, recorder_us;

static uint32_t planned_us, rest_us;
static int32_t now_ms;

/* Milliseconds of planned times, without drift; they wrap under the core's mask. */
static void move_clock(uint32_t tick_us) {
    rest_us += tick_us - planned_us;
    planned_us = tick_us;
    const uint32_t whole_ms = rest_us / 1000;
    rest_us -= 1000 * whole_ms;
    now_ms = (int32_t)(((uint32_t)now_ms + whole_ms) & 0x3fffffff);
}

static void measure_stack(void) {
    const uint32_t *word = &stack_end;
    while (word < &stack_top && *word == STACK_PATTERN) word++;
    stack_low = (uint32_t)((const uint8_t *)&stack_top - (const uint8_t *)word);
}

static void tell_boot(const struct reset *reset) {
    print_word("boot", reset->is_planned ? "restart" : reset->is_power_on ? "power-on" : "reset");
    print_number("reason", (int32_t)reset->reason);
    print_number("chip", (int32_t)reset->chip_reset);
    print_number("last-cause", (int32_t)reset->last_cause);
    print_end();
}

static void tell_settings(const struct settings *settings) {
    print_number("settings", settings->sector);
    print_number("sequence", (int32_t)settings->sequence);
    print_word("copy0", settings->problems[0] ? settings->problems[0] : "ok");
    print_word("copy1", settings->problems[1] ? settings->problems[1] : "ok");
    print_end();
}

static void load_bundle(const struct bundle *bundle) {
    if (bundle->problem) {
        print_word("bundle", bundle->problem);
        print_end();
        supervisor_halt(CAUSE_BUNDLE);
    }
    if (engine_start(bundle)) supervisor_halt(CAUSE_LOAD);
    print_word("bundle", "ok");
    print_number("us", (int32_t)now_us());
    print_end();
}

static void start_recorder(const struct bundle *bundle, const struct settings *settings) {
    static struct recorder_facts facts;
    facts = (struct recorder_facts){
        .layout_hash = bundle->layout_hash,
        .bundle_crc = *(const uint32_t *)(BUNDLE_ADDRESS + 16),
        .settings_sequence = settings->sequence,
        .settings = settings->settings,
        .calibration = settings->calibration,
        .settings_count = settings->settings_count,
        .calibration_count = settings->calibration_count,
        .boot = last_boot,
    };
    recorder_start(&facts);
}

static void make_core(const struct settings *settings, const struct reset *reset) {
    struct account account;
    account_find(&account);
    account_start(account);
    last_boot[0] = reset->is_power_on;
    last_boot[1] = account.has_run == 1;
    /* What was kept goes with the first account that is written: the core no longer says it. */
    last_boot[2] = account.pump_stuck_on == 1 && !(reset->is_planned && reset->left == TRIAL_SOUND);
    last_boot[3] = account.tank_ul;
    last_boot[4] = account.ambient_hpa;
    last_boot[5] = gpio_is_active(MASK_BENCH, ACTIVE_LOW_BENCH);
    last_boot[6] = settings->sector < 0;
    const int refused =
        engine_configure(settings->settings, settings->settings_count, settings->calibration,
                         settings->calibration_count, last_boot);
    if (refused < 0) supervisor_halt(CAUSE_LOAD);
    print_word("core", refused ? "bad-settings" : "ok");
    print_number("us", (int32_t)now_us());
    print_number("heap", (int32_t)heap_used);
    print_number("peak", (int32_t)heap_peak);
    print_end();
}

/*
 * What the lamp shows while the core cannot say it: one long, then as many short as the cause; and lit
 * but for a short gap each second while codes are injected.
 */
static void drive_lamp(uint32_t word) {
    const uint32_t cause = supervisor_cause();
    int lit = (word & WORD_LIT) != 0;
    if (inject_is_on()) lit = (tick_count * 20) % 1000 >= 100;
    if (trial_is_on) lit = trial_lamp(lit);
    if (cause != CAUSE_NONE) {
        const uint32_t at_ms = (tick_count * 20) % (2000 + 400 * cause);
        lit = at_ms < 800 || (at_ms >= 1000 && at_ms < 1000 + 400 * cause && (at_ms - 1000) % 400 < 150);
    }
    REGISTER(lit ? SIO_OUT_SET : SIO_OUT_CLEAR) = MASK_LAMP;
}

/* Says once why the outputs were dropped, whoever dropped them: the lamp repeats it. */
static void tell_cause(void) {
    static uint32_t told = CAUSE_NONE;
    const uint32_t cause = supervisor_cause();
    if (cause == told) return;
    told = cause;
    print_word("outputs", "dropped");
    print_number("cause", (int32_t)cause);
    print_end();
}

static void run_tick(void) {
    move_clock(timer_wait_tick());
    inputs_sample(last_codes);
    last_codes[0] = now_ms;
    inject_replace(last_codes);
    tick_phase = 1;
    const uint32_t word = engine_tick(last_codes);
    uint32_t outputs = inject_drives_outputs() ? word : 0;
    if (trial_is_on) outputs = trial_outputs(word, last_codes);
    if (supervisor_cause() == CAUSE_NONE) supervisor_command(outputs & WORD_PUMP, outputs & WORD_ENABLE);
    else watchdog_feed();
    last_output = word;
    tick_count++;
    tick_phase = 3;
    if (digest_wanted) last_digest = (uint32_t)engine_digest();
    tick_phase = 2;
    drive_lamp(word);
    tell_cause();
    const int is_off = (word & (WORD_PUMP | WORD_ENABLE)) == 0 && !trial_is_on;
    const int may_write = is_off && inputs_arm_open_ticks() >= DISARMED_TICKS;
    const uint32_t from_us = now_us();
    const int used_flash = recorder_tick(last_codes, word, tick_count, may_write);
    recorder_us = now_us() - from_us;
    if (!inject_is_on()) account_follow(word, may_write && !used_flash, !used_flash);
    link_after_tick(last_codes, word, may_write);
    last_codes[CODE_MAINTENANCE] = supervisor_was_busy();
    if (tick_count % 50 == 0) measure_stack();
}

int main(void) {
    const struct reset reset = watchdog_start();
    supervisor_start();
    gpio_start();
    uart_start();
    timer_start();
    tach_start();
    adc_start();
    flash_start();
    tell_boot(&reset);
    const struct bundle bundle = store_find_bundle();
    load_bundle(&bundle);
    const struct settings settings = store_find_settings(bundle.layout_hash);
    tell_settings(&settings);
    inputs_configure(&settings);
    inject_configure(&settings);
    make_core(&settings, &reset);
    start_recorder(&bundle, &settings);
    inputs_start();
    inputs_sample(last_codes);
    if (engine_send(last_codes)) supervisor_halt(CAUSE_LOAD);
    trial_start(&reset);
    link_start(bundle.layout_hash, last_boot[5]);
    measure_stack();
    for (;;) run_tick();
}
