/*
 * What a tick sees: fills the codes of the core (order of controller/bundle.ts) from converter, edges and
 * switches. Boost and charge are sampled each tick, the rest through the analogue switch, one channel
 * a tick: it is selected right after the sample before, so it has a tick to settle. Codes are
 * filtered and held until they moved by their step; periods are held within 0.2 %. Whether a value is
 * believed, and debouncing, is the core's business.
 */
#include "board.h"

enum code {
    CODE_FRESH = 1,
    CODE_PERIODS = 2,
    CODE_PULSE_AGE = 6,
    CODE_BOOST = 7,
    CODE_RAIL = 8,
    CODE_CHARGE = 9,
    CODE_AMBIENT = 10,
    CODE_HUMIDITY = 11,
    CODE_SPEED_PERIOD = 12,
    CODE_SPEED_AGE = 13,
    CODE_LEVEL = 14,
    CODE_SUPPLY = 15,
    CODE_FEEDBACK = 16,
    CODE_ARM = 17,
    CODE_STAGE = 18,
    CODE_BUTTON = 19,
};

/* Bits of `fresh`, the order of INPUTS in controller/readings.ts. */
enum { RPM = 1, BOOST = 2, CHARGE = 4, AMBIENT = 8, HUMIDITY = 16, SPEED = 32, LEVEL = 64, SUPPLY = 128, FEEDBACK = 256 };

/* One of the analogue inputs; `step` is its place among the steps of a settings sector. */
struct input {
    uint8_t code, step;
    uint16_t fresh;
};
enum { IN_BOOST, IN_RAIL, IN_CHARGE, IN_AMBIENT, IN_HUMIDITY, IN_LEVEL, IN_SUPPLY, IN_FEEDBACK, IN_COUNT };
static const struct input INPUTS[IN_COUNT] = {
    [IN_BOOST] = {CODE_BOOST, 0, BOOST},
    [IN_RAIL] = {CODE_RAIL, 1, 0},
    [IN_CHARGE] = {CODE_CHARGE, 2, CHARGE},
    [IN_AMBIENT] = {CODE_AMBIENT, 3, AMBIENT},
    [IN_HUMIDITY] = {CODE_HUMIDITY, 4, HUMIDITY},
    [IN_LEVEL] = {CODE_LEVEL, 5, LEVEL},
    [IN_SUPPLY] = {CODE_SUPPLY, 6, SUPPLY},
    [IN_FEEDBACK] = {CODE_FEEDBACK, 0, FEEDBACK},
};

/* pins.json: channels of the switch by input, and their order; feedback every second tick. */
static const uint8_t ORDER[] = SWITCH_ORDER;
#define SLOTS (sizeof ORDER)

/* A change beyond this is a fault or a real jump: it is not smoothed, the core judges it. */
#define JUMP 4096
#define STEP_USUAL 24
#define LEVEL_SWITCH 0

static int32_t filtered[IN_COUNT], held[IN_COUNT], steps[7];
static uint32_t fitted = 0x1ff;
static int level_is_switch;
static uint32_t slot;
static int arm_open_ticks;

static const uint8_t CHANNEL[IN_COUNT] = SWITCH_CHANNEL_BY_INPUT;

static void select_slot(void) {
    const uint32_t channel = CHANNEL[ORDER[slot]];
    REGISTER(SIO_OUT_CLEAR) = SELECT_MASK;
    REGISTER(SIO_OUT_SET) = SELECT_BITS(channel);
}

/* Places in the lists of controller/flat.ts; a test compares them. */
#define CALIBRATION_PULSES 7 /* tach pulses in two revolutions */
#define CALIBRATION_SPEED_FROM_END 2 /* speed pulses in 100 m */
#define SETTING_RPM_MAX 38
#define SPEED_DKMH_MAX 5000u /* LIMITS.speedDkmhMax */
#define BOUNCE_SHARE 4u

/* 120,000,000 us are two revolutions at 1 1/min; 3,600,000,000 us are 100 m at 0.1 km/h. */
static void configure_edges(const struct settings *found) {
    if (found->calibration_count <= CALIBRATION_PULSES || found->settings_count <= SETTING_RPM_MAX) return;
    const int32_t pulses = found->calibration[CALIBRATION_PULSES];
    const int32_t wheel_pulses = found->calibration[found->calibration_count - CALIBRATION_SPEED_FROM_END];
    const uint32_t rpm = (uint32_t)found->settings[SETTING_RPM_MAX];
    if (pulses <= 0 || wheel_pulses <= 0 || rpm == 0 || rpm > 100000) return;
    tach_configure(120000000u / (uint32_t)pulses / (BOUNCE_SHARE * rpm),
                   3600000000u / (uint32_t)wheel_pulses / (BOUNCE_SHARE * SPEED_DKMH_MAX));
}

void inputs_configure(const struct settings *found) {
    for (int index = 0; index < 7; index++) {
        const int has = found->steps && index < (int)found->step_count && found->steps[index] > 0;
        steps[index] = has ? found->steps[index] : STEP_USUAL;
    }
    /* The first three numbers of a calibration: fitted, shared, levelKind (controller/flat.ts). */
    if (found->calibration && found->calibration_count >= 3) {
        fitted = (uint32_t)found->calibration[0];
        level_is_switch = found->calibration[2] == LEVEL_SWITCH;
        configure_edges(found);
    }
}

/* Fills every input once, so that the first tick sees no step that is not there. */
void inputs_start(void) {
    for (slot = 0; slot < SLOTS; slot++) {
        select_slot();
        for (const uint32_t from = now_us(); now_us() - from < SWITCH_SETTLE_US;) {}
        filtered[ORDER[slot]] = held[ORDER[slot]] = (int32_t)adc_code(SWITCH_CHANNEL);
    }
    filtered[IN_BOOST] = held[IN_BOOST] = (int32_t)adc_code(CHANNEL_BOOST);
    filtered[IN_CHARGE] = held[IN_CHARGE] = (int32_t)adc_code(CHANNEL_CHARGE);
    slot = 0;
    select_slot();
}

static int32_t distance(int32_t left, int32_t right) {
    return left < right ? right - left : left - right;
}

static void sample(int32_t *codes, int input, unsigned channel) {
    const int32_t code = (int32_t)adc_code(channel);
    const int32_t off = code - filtered[input];
    if (distance(code, filtered[input]) > JUMP) filtered[input] = code;
    else filtered[input] += off / 2 != 0 ? off / 2 : off;
    const int32_t step = input == IN_FEEDBACK ? 1 : steps[INPUTS[input].step];
    if (distance(filtered[input], held[input]) >= step) held[input] = filtered[input];
    const int place = INPUTS[input].code;
    codes[CODE_FRESH] |= INPUTS[input].fresh & (int32_t)fitted;
    if (input == IN_FEEDBACK) {
        if (code >= FEEDBACK_HIGH_FROM) codes[place] = 1;
        else if (code < FEEDBACK_LOW_TO) codes[place] = 0;
    } else if (input == IN_LEVEL && level_is_switch) {
        codes[place] = held[input] < LEVEL_SWITCH_WET_BELOW;
    } else {
        codes[place] = held[input];
    }
}

/* A period that moved by less than 1/512 is the one the core has. */
static int32_t hold_period(int32_t had_us, uint32_t period_us) {
    const int32_t new_us = (int32_t)period_us;
    return distance(new_us, had_us) <= had_us >> 9 ? had_us : new_us;
}

/* Ages go in steps of 20 ms, downwards, so that a running engine does not change them. */
static int32_t coarse_age(uint32_t age_ms) {
    if (age_ms >= 1000000u) return 0x3fffffff;
    return (int32_t)(age_ms - age_ms % 20);
}

static void take_edges(int32_t *codes) {
    for (int index = 0; index < 4; index++) {
        codes[CODE_PERIODS + index] = hold_period(codes[CODE_PERIODS + index], tach.periods_us[index]);
    }
    codes[CODE_PULSE_AGE] = coarse_age(tach.age_ms);
    if (!(fitted & SPEED)) return;
    codes[CODE_SPEED_PERIOD] =
        hold_period(codes[CODE_SPEED_PERIOD], wheel.periods_us[(wheel.count - 1) & 3]);
    codes[CODE_SPEED_AGE] = coarse_age(wheel.age_ms);
}

/* Fills everything but time and maintenance. */
void inputs_sample(int32_t *codes) {
    codes[CODE_FRESH] = (RPM | SPEED) & (int32_t)fitted;
    sample(codes, IN_BOOST, CHANNEL_BOOST);
    sample(codes, IN_CHARGE, CHANNEL_CHARGE);
    sample(codes, ORDER[slot], SWITCH_CHANNEL);
    slot = (slot + 1) % SLOTS;
    select_slot();
    take_edges(codes);
    codes[CODE_ARM] = gpio_is_active(MASK_ARM, ACTIVE_LOW_ARM);
    codes[CODE_STAGE] = gpio_is_active(MASK_STAGE, ACTIVE_LOW_STAGE);
    codes[CODE_BUTTON] = gpio_is_active(MASK_BUTTON, ACTIVE_LOW_BUTTON);
    arm_open_ticks = codes[CODE_ARM] ? 0 : arm_open_ticks + (arm_open_ticks < 1000);
}

/* For how many ticks the arm switch was seen open, at most 1000. */
int inputs_arm_open_ticks(void) { return arm_open_ticks; }
