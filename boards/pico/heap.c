/*
 * The engine's heap: boundary tags in one static arena, free blocks in lists by size (exact under 128
 * bytes, four to an octave above), the smallest list that fits. First fit over one list left a third of
 * the arena in pieces after compiling. Sizes in bytes, multiples of 4. The counters tell the peak and
 * how often the engine asked; a full arena answers null, which the engine turns into an error that can
 * be caught.
 *
 *   in use:  | size, bits 0 and 1 | payload ...                                  |
 *   free:    | size, bit 1        | next free | last free | ... | size once more |
 */
#include <string.h>
#include "board.h"

#define ARENA_BYTES (HEAP_KB * 1024u)
#define HEAD_BYTES 4u
#define LEAST_BYTES 16u
#define IN_USE 1u
#define FREE_BEFORE 2u /* the block before is free, and its size stands right before this head */
#define BITS 3u

struct block {
    uint32_t head;
    struct block *next_free, *last_free;
    uint32_t rest;
};

/* Not cleared at boot, which would take 2 ms; heap_start says what it begins with. */
__attribute__((section(".noinit"))) static struct block arena[ARENA_BYTES / sizeof(struct block)];

volatile uint32_t heap_used, heap_peak, heap_calls, heap_failed, heap_failed_bytes;
const uint32_t heap_arena_bytes = ARENA_BYTES;

static uint32_t size_of(const struct block *block) { return block->head & ~BITS; }
static int is_free(const struct block *block) { return !(block->head & IN_USE); }
static struct block *at_offset(struct block *block, uint32_t bytes) {
    return (struct block *)((char *)block + bytes);
}
static struct block *after(struct block *block) { return at_offset(block, size_of(block)); }
static struct block *block_of(void *payload) {
    return (struct block *)((char *)payload - HEAD_BYTES);
}

/* List of a size: 4..31 are 16..124 bytes exactly, then four an octave. */
#define LISTS 80u
#define LIST_WORDS ((LISTS + 31) / 32)
static struct block *lists[LISTS];
static uint32_t filled[LIST_WORDS];

static unsigned list_of(uint32_t size) {
    if (size < 128) return size / 4;
    const unsigned octave = 31 - (unsigned)__builtin_clz(size);
    return 32 + 4 * (octave - 7) + ((size >> (octave - 2)) & 3);
}

static void unlink_free(struct block *block) {
    if (block->next_free) block->next_free->last_free = block->last_free;
    if (block->last_free) {
        block->last_free->next_free = block->next_free;
        return;
    }
    const unsigned list = list_of(size_of(block));
    lists[list] = block->next_free;
    if (!lists[list]) filled[list / 32] &= ~(1u << (list % 32));
}

/* Makes `size` bytes at `block` a free block; what lies before it keeps its bit. */
static void link_free(struct block *block, uint32_t size) {
    block->head = size | (block->head & FREE_BEFORE);
    *(uint32_t *)((char *)block + size - 4) = size;
    at_offset(block, size)->head |= FREE_BEFORE;
    const unsigned list = list_of(size);
    block->last_free = 0;
    block->next_free = lists[list];
    if (lists[list]) lists[list]->last_free = block;
    lists[list] = block;
    filled[list / 32] |= 1u << (list % 32);
}

/* The first list from `list` on that is not empty; LISTS if there is none. */
static unsigned next_filled(unsigned list) {
    uint32_t wanted = ~0u << (list % 32);
    for (unsigned word = list / 32; word < LIST_WORDS; word++, wanted = ~0u) {
        const uint32_t bits = filled[word] & wanted;
        if (bits) return 32 * word + (unsigned)__builtin_ctz(bits);
    }
    return LISTS;
}

/* The smallest block of the size's own list that is big enough, else any of the next list. */
static struct block *find_free(uint32_t size) {
    const unsigned own = list_of(size);
    struct block *best = 0;
    for (struct block *block = lists[own]; block; block = block->next_free) {
        if (size_of(block) < size || (best && size_of(block) >= size_of(best))) continue;
        best = block;
        if (size_of(best) == size) break;
    }
    if (best) return best;
    const unsigned next = next_filled(own + 1);
    return next < LISTS ? lists[next] : 0;
}

static void count(int32_t change) {
    heap_used += (uint32_t)change;
    if (heap_used > heap_peak) heap_peak = heap_used;
}

void heap_start(void) {
    /* A last block that is never free ends every search for a neighbour. */
    struct block *end = &arena[ARENA_BYTES / sizeof(struct block) - 1];
    end->head = IN_USE;
    arena[0].head = 0;
    link_free(&arena[0], ARENA_BYTES - sizeof(struct block));
}

static uint32_t whole(uint32_t bytes) {
    const uint32_t size = (bytes + HEAD_BYTES + 3) & ~3u;
    return size < LEAST_BYTES ? LEAST_BYTES : size;
}

/* Gives back what a block in use has over `size`, joined with a free block after it. */
static void trim(struct block *block, uint32_t size) {
    uint32_t rest_size = size_of(block) - size;
    if (rest_size < LEAST_BYTES) return;
    struct block *next = after(block);
    if (is_free(next)) {
        unlink_free(next);
        rest_size += size_of(next);
    }
    block->head = size | (block->head & BITS);
    struct block *rest = at_offset(block, size);
    rest->head = 0;
    link_free(rest, rest_size);
}

static void *take(uint32_t size) {
    struct block *block = find_free(size);
    if (!block) {
        heap_failed++;
        heap_failed_bytes = size;
        return 0;
    }
    unlink_free(block);
    block->head |= IN_USE;
    after(block)->head &= ~FREE_BEFORE;
    trim(block, size);
    count((int32_t)size_of(block));
    return (char *)block + HEAD_BYTES;
}

void *heap_allocate(void *user, unsigned bytes) {
    (void)user;
    if (bytes == 0 || bytes > ARENA_BYTES) return 0;
    heap_calls++;
    return take(whole(bytes));
}

void heap_release(void *user, void *payload) {
    (void)user;
    if (!payload) return;
    heap_calls++;
    struct block *block = block_of(payload);
    uint32_t size = size_of(block);
    count(-(int32_t)size);
    struct block *next = after(block);
    if (is_free(next)) {
        unlink_free(next);
        size += size_of(next);
    }
    if (block->head & FREE_BEFORE) {
        const uint32_t before = *((uint32_t *)block - 1);
        block = (struct block *)((char *)block - before);
        unlink_free(block);
        size += before;
    }
    link_free(block, size);
}

/* Takes in a free block that follows, if that makes the block big enough. */
static void grow(struct block *block, uint32_t size) {
    struct block *next = after(block);
    if (size_of(block) >= size || !is_free(next) || size_of(block) + size_of(next) < size) return;
    unlink_free(next);
    block->head += size_of(next);
    after(block)->head &= ~FREE_BEFORE;
}

void *heap_resize(void *user, void *payload, unsigned bytes) {
    if (!payload) return heap_allocate(user, bytes);
    if (bytes == 0) {
        heap_release(user, payload);
        return 0;
    }
    if (bytes > ARENA_BYTES) return 0;
    heap_calls++;
    const uint32_t size = whole(bytes);
    struct block *block = block_of(payload);
    const uint32_t had = size_of(block);
    grow(block, size);
    if (size_of(block) >= size) {
        trim(block, size);
        count((int32_t)size_of(block) - (int32_t)had);
        return payload;
    }
    void *moved = take(size);
    if (!moved) return 0;
    memcpy(moved, payload, had - HEAD_BYTES < bytes ? had - HEAD_BYTES : bytes);
    heap_release(user, payload);
    return moved;
}
