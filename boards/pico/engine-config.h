/*
 * The engine's configuration: its stock one, with what differs on this board. Built-ins stay (the stock
 * tables refer to them); what is switched off is what a controller never needs at run time.
 */
#ifndef SMIRR_ENGINE_CONFIG_H
#define SMIRR_ENGINE_CONFIG_H
#include "duk_config_stock.h"

/* Integers of the core stay unboxed: no software floating point in a tick but for its quotients. */
#undef DUK_USE_FASTINT
#define DUK_USE_FASTINT
#undef DUK_USE_ALLOW_UNDEFINED_BEHAVIOR
#define DUK_USE_ALLOW_UNDEFINED_BEHAVIOR

/* Built-in functions take no object each: less heap. */
#undef DUK_USE_LIGHTFUNC_BUILTINS
#define DUK_USE_LIGHTFUNC_BUILTINS

/* An error is a sentence and no more. */
#undef DUK_USE_DEBUGGER_SUPPORT
#undef DUK_USE_TRACEBACKS
#undef DUK_USE_ERRCREATE
#undef DUK_USE_ERRTHROW
#undef DUK_USE_AUGMENT_ERROR_CREATE
#undef DUK_USE_AUGMENT_ERROR_THROW
#undef DUK_USE_PARANOID_ERRORS
#undef DUK_USE_VERBOSE_ERRORS
#define DUK_USE_VERBOSE_ERRORS
#undef DUK_USE_FATAL_MAXLEN
#define DUK_USE_FATAL_MAXLEN 64

/* Compiling: the source lies whole in flash, and nobody asks for line numbers or file names. */
#undef DUK_USE_PC2LINE
#undef DUK_USE_LEXER_SLIDING_WINDOW
#undef DUK_USE_FUNC_FILENAME_PROPERTY
#undef DUK_USE_FUNC_NAME_PROPERTY
#undef DUK_USE_NONSTD_FUNC_SOURCE_PROPERTY
#undef DUK_USE_HTML_COMMENTS
#undef DUK_USE_SHEBANG_COMMENTS
#undef DUK_USE_SOURCE_NONBMP

/* What differs between the chip and the computer that makes its bytecode: bytecode has neither. */
#undef DUK_USE_PACKED_TVAL
#undef DUK_USE_ALIGN_BY
#ifdef SMIRR_HOST
#define DUK_USE_ALIGN_BY 8
#else
#define DUK_USE_PACKED_TVAL
#define DUK_USE_ALIGN_BY 4
/* Strings and objects are small and references few: two bytes for lengths, hashes and counts. */
#undef DUK_USE_OBJSIZES16
#define DUK_USE_OBJSIZES16
#undef DUK_USE_REFCOUNT16
#define DUK_USE_REFCOUNT16
#undef DUK_USE_STRHASH16
#define DUK_USE_STRHASH16
#undef DUK_USE_STRLEN16
#define DUK_USE_STRLEN16
#undef DUK_USE_HSTRING_CLEN
#undef DUK_USE_PROVIDE_DEFAULT_ALLOC_FUNCTIONS
#endif

/* Memory: reference counts free what is dropped; a full arena still collects before it fails. */
#undef DUK_USE_VOLUNTARY_GC
#undef DUK_USE_LITCACHE_SIZE
#undef DUK_USE_STRTAB_MINSIZE
#define DUK_USE_STRTAB_MINSIZE 512
#undef DUK_USE_STRTAB_MAXSIZE
#define DUK_USE_STRTAB_MAXSIZE 512
#undef DUK_USE_STRTAB_SHRINK_LIMIT
#define DUK_USE_STRTAB_SHRINK_LIMIT 0
#undef DUK_USE_STRTAB_GROW_LIMIT
#define DUK_USE_STRTAB_GROW_LIMIT 65536
#undef DUK_USE_STRTAB_RESIZE_CHECK_MASK
#define DUK_USE_STRTAB_RESIZE_CHECK_MASK 255
/* Arrays and objects grow by fewer, larger steps: a boot fills some hundred, and each step copies one. */
#undef DUK_USE_HOBJECT_ARRAY_MINGROW_ADD
#define DUK_USE_HOBJECT_ARRAY_MINGROW_ADD 32
#undef DUK_USE_HOBJECT_ARRAY_MINGROW_DIVISOR
#define DUK_USE_HOBJECT_ARRAY_MINGROW_DIVISOR 4
#undef DUK_USE_HOBJECT_ENTRY_MINGROW_DIVISOR
#define DUK_USE_HOBJECT_ENTRY_MINGROW_DIVISOR 4
/* The value stack grows to what is asked for, and is shrunk by a collection: loading needs much. */
#undef DUK_USE_VALSTACK_GROW_SHIFT

#ifndef SMIRR_HOST
/* A bound on run time: the check is made each DUK_HTHREAD_INTCTR_DEFAULT operations. */
#undef DUK_USE_INTERRUPT_COUNTER
#define DUK_USE_INTERRUPT_COUNTER
extern int engine_is_too_long(void *user);
#define DUK_USE_EXEC_TIMEOUT_CHECK(user) engine_is_too_long((user))

/* A bound on the C stack, and lower bounds on recursion than a computer's. */
extern int engine_is_stack_low(void);
#undef DUK_USE_NATIVE_STACK_CHECK
#define DUK_USE_NATIVE_STACK_CHECK() engine_is_stack_low()
#endif
#undef DUK_USE_NATIVE_CALL_RECLIMIT
#define DUK_USE_NATIVE_CALL_RECLIMIT 24
#undef DUK_USE_COMPILER_RECLIMIT
#define DUK_USE_COMPILER_RECLIMIT 200
#undef DUK_USE_CALLSTACK_LIMIT
#define DUK_USE_CALLSTACK_LIMIT 100
#undef DUK_USE_MARK_AND_SWEEP_RECLIMIT
#define DUK_USE_MARK_AND_SWEEP_RECLIMIT 32

/* There is no date and no chance on a controller. */
#ifndef SMIRR_HOST
#undef DUK_USE_GET_RANDOM_DOUBLE
#undef DUK_USE_GET_MONOTONIC_TIME
#undef DUK_USE_DATE_NOW_GETTIMEOFDAY
#undef DUK_USE_DATE_TZO_GMTIME_R
#undef DUK_USE_DATE_PRS_STRPTIME
#undef DUK_USE_DATE_FMT_STRFTIME
#undef DUK_USE_DATE_GET_NOW
#define DUK_USE_DATE_GET_NOW(context) 0.0
#undef DUK_USE_DATE_GET_LOCAL_TZOFFSET
#define DUK_USE_DATE_GET_LOCAL_TZOFFSET(date) 0
#endif

#endif
