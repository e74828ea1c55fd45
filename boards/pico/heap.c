/*
 * The engine's heap: first fit over a free list with boundary tags, in one static arena. Sizes in
 * bytes. The counters tell the peak and how often the engine asked; a full arena answers null, which
 * the engine turns into an error that can be caught.
 */
#include <string.h>
#include "board.h"

#define ARENA_BYTES (HEAP_KB * 1024u)
#define HEAD_BYTES 8u
#define LEAST_BYTES 24u
#define IN_USE 1u

struct block {
    uint32_t size;     /* with its head; bit 0: in use */
    uint32_t previous; /* size of the block before; 0 for the first */
    struct block *next_free, *last_free;
};

/* The last block is a head alone, but the compiler wants room for a whole one. */
static uint64_t arena[ARENA_BYTES / 8 + 1];
static struct block *first_free;

volatile uint32_t heap_used, heap_peak, heap_calls, heap_failed;
const uint32_t heap_arena_bytes = ARENA_BYTES;

static uint32_t size_of(const struct block *block) { return block->size & ~IN_USE; }
static int is_free(const struct block *block) { return !(block->size & IN_USE); }
static struct block *after(struct block *block) {
    return (struct block *)((char *)block + size_of(block));
}
static struct block *block_of(void *payload) {
    return (struct block *)((char *)payload - HEAD_BYTES);
}

static void unlink_free(struct block *block) {
    if (block->last_free) block->last_free->next_free = block->next_free;
    else first_free = block->next_free;
    if (block->next_free) block->next_free->last_free = block->last_free;
}

static void link_free(struct block *block) {
    block->last_free = 0;
    block->next_free = first_free;
    if (first_free) first_free->last_free = block;
    first_free = block;
}

static void count(int32_t change) {
    heap_used += (uint32_t)change;
    if (heap_used > heap_peak) heap_peak = heap_used;
}

void heap_start(void) {
    struct block *all = (struct block *)arena;
    all->size = ARENA_BYTES - HEAD_BYTES;
    all->previous = 0;
    first_free = 0;
    link_free(all);
    /* A last block that is never free ends every search for a neighbour. */
    struct block *end = after(all);
    end->size = HEAD_BYTES | IN_USE;
    end->previous = all->size;
}

static uint32_t whole(uint32_t bytes) {
    const uint32_t size = (bytes + HEAD_BYTES + 7) & ~7u;
    return size < LEAST_BYTES ? LEAST_BYTES : size;
}

/* Gives back what a block in use has over `size`, joined with a free block after it. */
static void trim(struct block *block, uint32_t size) {
    const uint32_t rest_size = size_of(block) - size;
    if (rest_size < LEAST_BYTES) return;
    struct block *next = after(block);
    struct block *rest = (struct block *)((char *)block + size);
    rest->size = rest_size;
    if (is_free(next)) {
        unlink_free(next);
        rest->size += next->size;
    }
    rest->previous = size;
    block->size = size | IN_USE;
    after(rest)->previous = rest->size;
    link_free(rest);
}

static void *take(uint32_t size) {
    for (struct block *block = first_free; block; block = block->next_free) {
        if (block->size < size) continue;
        unlink_free(block);
        block->size |= IN_USE;
        trim(block, size);
        count((int32_t)size_of(block));
        return (char *)block + HEAD_BYTES;
    }
    heap_failed++;
    return 0;
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
    block->size &= ~IN_USE;
    count(-(int32_t)block->size);
    struct block *next = after(block);
    if (is_free(next)) {
        unlink_free(next);
        block->size += next->size;
    }
    if (block->previous) {
        struct block *before = (struct block *)((char *)block - block->previous);
        if (is_free(before)) {
            unlink_free(before);
            before->size += block->size;
            block = before;
        }
    }
    after(block)->previous = block->size;
    link_free(block);
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
    struct block *next = after(block);
    if (had < size && is_free(next) && had + next->size >= size) {
        unlink_free(next);
        block->size = (had + next->size) | IN_USE;
        after(block)->previous = size_of(block);
    }
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
