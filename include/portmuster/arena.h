/* arena.h - one owner for all that a loaded document or a check allocates.
 *
 * Life cycle: pm_arena_init, any number of allocations, pm_arena_free; or
 * pm_arena_clear and on. There is no way to give back one allocation: everything
 * goes at once. An arena
 * must not be moved while a pm_text grows in it.
 *
 * Errors: when memory runs out the allocating call returns null and `failed`
 * stays set, so a long computation may go on and look once at its end.
 */
#ifndef PORTMUSTER_ARENA_H
#define PORTMUSTER_ARENA_H

#include <stdbool.h>
#include <stddef.h>

struct pm_arena_block;

struct pm_arena {
	struct pm_arena_block *blocks;
	size_t bytes;   /* handed out so far */
	bool failed;    /* an allocation could not be met */
};

void pm_arena_init(struct pm_arena *arena);

/* Release everything and leave the arena as after pm_arena_init. */
void pm_arena_free(struct pm_arena *arena);

/* Forget everything, and keep the largest block for what comes next. */
void pm_arena_clear(struct pm_arena *arena);

/* `size` zeroed bytes, aligned for any type; null when memory ran out. A size
 * of 0 yields a valid pointer. */
void *pm_arena_alloc(struct pm_arena *arena, size_t size);

/* As pm_arena_alloc for `count` elements of `size` bytes; null on overflow. */
void *pm_arena_array(struct pm_arena *arena, size_t count, size_t size);

/* A terminated copy of `length` bytes; null when memory ran out. */
char *pm_arena_copy(struct pm_arena *arena, const char *text, size_t length);

/* Room for one more element at the end of a list whose elements are `size`
 * bytes: grows `*items` (doubling) when `*count` has reached `*room`, counts
 * the element, and returns it zeroed; null when memory ran out, the list then
 * unchanged. Start with items = NULL, count = room = 0. */
void *pm_arena_push(struct pm_arena *arena, void **items, size_t *count, size_t *room, size_t size);

#endif
