/*
 * The JavaScript engine and the bundle in it (the functions of controller/bundle.ts). Everything that
 * can throw runs protected: an error, a full heap, too deep a stack or too long a run come back
 * as a sentence. The word of a tick is that of controller/bundle.ts.
 */
#include "duktape.h"
#include "board.h"

/* The bundle's functions, at fixed places of the value stack. */
enum function { TAKE, START, CODE, TICK, DIGEST, FAIL, ACCOUNT, NEEDED, CHECK = NEEDED, LIST, RECORDS, FIELDS, FUNCTIONS };
static const char *const NAMES[FUNCTIONS] = {"take", "start",   "code",  "tick",     "digest",  "fail",
                                             "account", "check", "listNext", "records", "fields"};

#define PART_SETTINGS 0
#define PART_CALIBRATION 1
#define PART_BOOT 2
#define CODES 21
#define FIRST_CODE_SENT 2 /* time and freshness are arguments of a tick */

/* Run-time bounds: the worst tick measured takes 6 ms; loading must end before the boot deadline. */
#define TICK_BOUND_US 10000u
#define LOAD_BOUND_US 1800000u
#define ASIDE_BOUND_US 80000u
#define CHECK_BOUND_US 300000u
/* What interrupts, and the engine on its way out of an error, may still need of the stack. */
#define STACK_MARGIN_BYTES 2048u

static duk_context *context;
static uint32_t bound_from_us, bound_us;
static int is_bounded;
volatile uint32_t engine_bound_hits;
static char error[48];
static int32_t sent[CODES];

const char *engine_error(void) { return error[0] ? error : "none"; }

int engine_is_too_long(void *user) {
    (void)user;
    if (!is_bounded || now_us() - bound_from_us < bound_us) return 0;
    engine_bound_hits++;
    return 1;
}

int engine_is_stack_low(void) {
    return (uint32_t)__builtin_frame_address(0) < (uint32_t)&stack_end + STACK_MARGIN_BYTES;
}

static void set_bound(uint32_t microseconds) {
    bound_from_us = now_us();
    bound_us = microseconds;
    is_bounded = 1;
}

/* Keeps an error's words, without spaces, so that they are one value of a line. */
static void keep_error(const char *words) {
    unsigned at = 0;
    for (; words && words[at] && at < sizeof error - 1; at++) {
        error[at] = words[at] <= ' ' || words[at] > '~' ? '-' : words[at];
    }
    error[at] = 0;
}

static void give_up(void *user, const char *words) {
    (void)user;
    keep_error(words);
    supervisor_halt(CAUSE_ENGINE);
}

/* Runs `work` protected within a time; 0, or 1 with the error kept. */
static int protect(duk_ret_t (*work)(duk_context *, void *), void *with, uint32_t microseconds) {
    set_bound(microseconds);
    const int failed = duk_safe_call(context, work, with, 0, 1) != DUK_EXEC_SUCCESS;
    is_bounded = 0;
    if (failed) keep_error(duk_safe_to_string(context, -1));
    duk_pop(context);
    return failed;
}

/* Source is compiled here; bytecode was, by the same engine, when the image was built. */
static duk_ret_t load(duk_context *ctx, void *with) {
    const struct bundle *bundle = with;
    if (bundle->is_bytecode) {
        duk_push_external_buffer(ctx);
        duk_config_buffer(ctx, -1, (void *)bundle->code, bundle->length);
        duk_load_function(ctx);
    } else {
        duk_compile_lstring(ctx, 0, (const char *)bundle->code, bundle->length);
    }
    duk_call(ctx, 0);
    duk_pop(ctx);
    duk_get_global_literal(ctx, "smirr");
    for (int index = 0; index < FUNCTIONS; index++) {
        duk_get_prop_string(ctx, -1, NAMES[index]);
        /* The link does without the rest; the core of a test has only what a tick needs. */
        if (index < NEEDED) duk_require_function(ctx, -1);
        duk_replace(ctx, index);
    }
    return 0;
}

/* Loads and runs the bundle. Gives 0, or 1 with the error kept. */
int engine_start(const struct bundle *bundle) {
    heap_start();
    context = duk_create_heap((duk_alloc_function)heap_allocate, (duk_realloc_function)heap_resize,
                              heap_release, 0, give_up);
    if (!context) {
        keep_error("no heap");
        return 1;
    }
    duk_require_stack(context, FUNCTIONS + 8);
    for (int index = 0; index < FUNCTIONS; index++) duk_push_undefined(context);
    return protect(load, (void *)bundle, LOAD_BOUND_US - now_us());
}

struct numbers {
    const int32_t *settings, *calibration, *boot;
    uint32_t settings_count, calibration_count;
    int refused;
};

static void hand_over(duk_context *ctx, int part, const int32_t *values, uint32_t count) {
    duk_dup(ctx, TAKE);
    duk_push_int(ctx, part);
    duk_push_array(ctx);
    for (uint32_t index = 0; index < count; index++) {
        duk_push_int(ctx, values[index]);
        duk_put_prop_index(ctx, -2, index);
    }
    duk_call(ctx, 2);
    duk_pop(ctx);
}

static duk_ret_t configure(duk_context *ctx, void *with) {
    struct numbers *numbers = with;
    hand_over(ctx, PART_SETTINGS, numbers->settings, numbers->settings_count);
    hand_over(ctx, PART_CALIBRATION, numbers->calibration, numbers->calibration_count);
    hand_over(ctx, PART_BOOT, numbers->boot, 7);
    duk_dup(ctx, START);
    duk_push_uint(ctx, numbers->settings_count);
    duk_push_uint(ctx, numbers->calibration_count);
    duk_call(ctx, 2);
    numbers->refused = duk_get_int(ctx, -1);
    return 0;
}

static duk_ret_t check(duk_context *ctx, void *with) {
    struct numbers *numbers = with;
    numbers->refused = 1;
    if (!duk_is_function(ctx, CHECK)) return 0;
    hand_over(ctx, PART_SETTINGS, numbers->settings, numbers->settings_count);
    hand_over(ctx, PART_CALIBRATION, numbers->calibration, numbers->calibration_count);
    duk_dup(ctx, CHECK);
    duk_push_uint(ctx, numbers->settings_count);
    duk_push_uint(ctx, numbers->calibration_count);
    duk_call(ctx, 2);
    numbers->refused = duk_get_int(ctx, -1);
    return 0;
}

/* Would the core take these settings at a boot? 0 if so. Tens of milliseconds: only in maintenance. */
int engine_check(const int32_t *settings, uint32_t settings_count, const int32_t *calibration,
                 uint32_t calibration_count) {
    struct numbers numbers = {settings, calibration, 0, settings_count, calibration_count, 1};
    if (protect(check, &numbers, CHECK_BOUND_US)) return 1;
    duk_gc(context, 0);
    return numbers.refused != 0;
}

/* Lists the words of a record of the state; when all are, keeps the two lists. */
static duk_ret_t list_next(duk_context *ctx, void *with) {
    int *is_more = with;
    *is_more = 0;
    if (!duk_is_function(ctx, LIST)) return 0;
    duk_dup(ctx, LIST);
    duk_call(ctx, 0);
    *is_more = duk_get_int(ctx, -1);
    duk_pop(ctx);
    if (*is_more) return 0;
    /* From here on the places of these two functions hold the lists that they give. */
    for (int index = RECORDS; index <= FIELDS; index++) {
        duk_dup(ctx, index);
        duk_call(ctx, 0);
        duk_replace(ctx, index);
    }
    return 0;
}

/*
 * Where the words of the state are is listed after the first ticks, one record a call, because all at
 * once would take longer than a tick leaves. Gives 1 while there is more to do.
 */
int engine_list_words(void) {
    int is_more = 0;
    return protect(list_next, &is_more, ASIDE_BOUND_US) ? 0 : is_more;
}

struct words {
    int32_t *into;
    uint32_t room, count;
};

/* Walks the two lists of the bundle: the records of the state, and the name of each number in them. */
static duk_ret_t copy_words(duk_context *ctx, void *with) {
    struct words *words = with;
    if (!duk_is_array(ctx, RECORDS) || !duk_is_array(ctx, FIELDS)) return 0;
    const uint32_t count = (uint32_t)duk_get_length(ctx, RECORDS);
    for (uint32_t index = 0; index < count && index < words->room; index++) {
        duk_get_prop_index(ctx, RECORDS, index);
        duk_get_prop_index(ctx, FIELDS, index);
        duk_get_prop(ctx, -2);
        words->into[index] = duk_get_int(ctx, -1);
        duk_pop_2(ctx);
    }
    words->count = count;
    return 0;
}

/*
 * Copies the numbers of the whole state, in the order of the digest, into `into`, at most `room`.
 * Gives how many the state has; 0 if the bundle does not tell them.
 */
uint32_t engine_state(int32_t *into, uint32_t room) {
    struct words words = {into, room, 0};
    return protect(copy_words, &words, ASIDE_BOUND_US) ? 0 : words.count;
}

/*
 * The engine keeps the records of calls and of `try` that ended and takes them again. A few calls within calls make
 * as many as a tick can need, so that none is allocated in a tick.
 */
static const char CALL_DEEP[] = 
    "deep=function(n){try{return n>0?deep(n-1)+1:0}finally{}};deep(24);delete deep";

static duk_ret_t call_deep(duk_context *ctx, void *with) {
    (void)with;
    duk_compile_lstring(ctx, 0, CALL_DEEP, sizeof CALL_DEEP - 1);
    duk_call(ctx, 0);
    return 0;
}

/* Makes the core. Gives what `start` gives (0, or 1 if refused), or -1 with the error kept. */
int engine_configure(const int32_t *settings, uint32_t settings_count, const int32_t *calibration,
                     uint32_t calibration_count, const int32_t boot[7]) {
    struct numbers numbers = {settings, calibration, boot, settings_count, calibration_count, 0};
    if (protect(configure, &numbers, LOAD_BOUND_US - now_us())) return -1;
    if (protect(call_deep, 0, LOAD_BOUND_US - now_us())) return -1;
    for (int index = 0; index < CODES; index++) sent[index] = INT32_MIN;
    return numbers.refused;
}

struct tick {
    const int32_t *codes;
    uint32_t word;
};

static void send_codes(duk_context *ctx, const int32_t *codes) {
    for (int index = FIRST_CODE_SENT; index < CODES; index++) {
        if (codes[index] == sent[index]) continue;
        sent[index] = codes[index];
        duk_dup(ctx, CODE);
        duk_push_int(ctx, index);
        duk_push_int(ctx, codes[index]);
        duk_call(ctx, 2);
        duk_pop(ctx);
    }
}

static duk_ret_t run_send(duk_context *ctx, void *with) {
    send_codes(ctx, with);
    return 0;
}

/* Hands over all codes before the first tick, which would otherwise be the longest. 0, or 1. */
int engine_send(int32_t *codes) { return protect(run_send, codes, LOAD_BOUND_US - now_us()); }

static duk_ret_t run_tick(duk_context *ctx, void *with) {
    struct tick *tick = with;
    const int32_t *codes = tick->codes;
    send_codes(ctx, codes);
    duk_dup(ctx, TICK);
    duk_push_int(ctx, codes[0]);
    duk_push_int(ctx, codes[1]);
    duk_call(ctx, 2);
    tick->word = (uint32_t)duk_get_int(ctx, -1);
    return 0;
}

static duk_ret_t run_fail(duk_context *ctx, void *with) {
    (void)with;
    duk_dup(ctx, FAIL);
    duk_call(ctx, 0);
    return 0;
}

/* Word of a core that failed: lamp long-short, reason and cutoff `core-fault` (controller/bundle.ts). */
#define WORD_CORE_FAULT ((5u << 2) | (22u << 5) | (1u << 29))

/*
 * One tick: its word. If it threw or took too long, the outputs are dropped until the next reset, the
 * core is told, and no further tick is run: one that fills the heap bit by bit would end in a reset, and
 * begin anew.
 */
uint32_t engine_tick(int32_t *codes) {
    static int has_failed;
    if (has_failed) return WORD_CORE_FAULT;
    struct tick tick = {codes, 0};
    const uint32_t hits = engine_bound_hits;
    if (!protect(run_tick, &tick, TICK_BOUND_US)) return tick.word;
    const int was_new = supervisor_cause() == CAUSE_NONE;
    supervisor_drop(engine_bound_hits != hits ? CAUSE_TICK_LONG : CAUSE_TICK);
    if (was_new) {
        print_word("error", error);
        print_number("cause", (int32_t)supervisor_cause());
        print_end();
    }
    protect(run_fail, 0, TICK_BOUND_US);
    has_failed = 1;
    return WORD_CORE_FAULT;
}

struct question {
    int function, index;
    int32_t answer;
};

static duk_ret_t ask(duk_context *ctx, void *with) {
    struct question *question = with;
    duk_dup(ctx, question->function);
    duk_push_int(ctx, question->index);
    duk_call(ctx, 1);
    question->answer = duk_get_int(ctx, -1);
    return 0;
}

/* Hash over the whole state; for tests and the link, never in a tick. */
int32_t engine_digest(void) {
    struct question question = {DIGEST, 0, 0};
    return protect(ask, &question, ASIDE_BOUND_US) ? -1 : question.answer;
}

/* A number that is kept over power (AccountNumber of controller/bundle.ts); -1 if it threw. */
int32_t engine_account(unsigned index) {
    struct question question = {ACCOUNT, (int)index, -1};
    return protect(ask, &question, TICK_BOUND_US) ? -1 : question.answer;
}
