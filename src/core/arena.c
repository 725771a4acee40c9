#include "portmuster/arena.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Blocks grow with use, so that a small document stays small. */
#define FIRST_BLOCK 2048u
#define LARGEST_BLOCK (256u << 10)

struct pm_arena_block {
	struct pm_arena_block *next;
	size_t used, room;
	max_align_t bytes[];
};

void pm_arena_init(struct pm_arena *arena)
{
	*arena = (struct pm_arena){ 0 };
}

void pm_arena_free(struct pm_arena *arena)
{
	struct pm_arena_block *block = arena->blocks;
	while (block) {
		struct pm_arena_block *next = block->next;
		free(block);
		block = next;
	}
	pm_arena_init(arena);
}

void pm_arena_clear(struct pm_arena *arena)
{
	struct pm_arena_block *kept = arena->blocks, *block = kept;
	for (; block; block = block->next)
		if (block->room > kept->room)
			kept = block;
	while ((block = arena->blocks)) {
		arena->blocks = block->next;
		if (block != kept)
			free(block);
	}
	pm_arena_init(arena);
	if (kept) {
		kept->next = NULL;
		kept->used = 0;
		arena->blocks = kept;
	}
}

static struct pm_arena_block *block_for(struct pm_arena *arena, size_t size)
{
	struct pm_arena_block *top = arena->blocks;
	if (top && top->room - top->used >= size)
		return top;
	size_t room = top ? top->room * 2 : FIRST_BLOCK;
	if (room > LARGEST_BLOCK)
		room = LARGEST_BLOCK;
	if (room < size)
		room = size;
	if (room > SIZE_MAX - sizeof *top)
		return NULL;
	struct pm_arena_block *block = malloc(sizeof *block + room);
	if (!block)
		return NULL;
	block->used = 0;
	block->room = room;
	block->next = top;
	arena->blocks = block;
	return block;
}

void *pm_arena_alloc(struct pm_arena *arena, size_t size)
{
	const size_t align = _Alignof(max_align_t);
	if (size > SIZE_MAX - align) {
		arena->failed = true;
		return NULL;
	}
	size = (size + align - 1) / align * align;
	if (size == 0)
		size = align;
	struct pm_arena_block *block = block_for(arena, size);
	if (!block) {
		arena->failed = true;
		return NULL;
	}
	void *at = (char *)block->bytes + block->used;
	block->used += size;
	arena->bytes += size;
	return memset(at, 0, size);
}

void *pm_arena_array(struct pm_arena *arena, size_t count, size_t size)
{
	if (size && count > SIZE_MAX / size) {
		arena->failed = true;
		return NULL;
	}
	return pm_arena_alloc(arena, count * size);
}

char *pm_arena_copy(struct pm_arena *arena, const char *text, size_t length)
{
	if (length == SIZE_MAX) {
		arena->failed = true;
		return NULL;
	}
	char *copy = pm_arena_alloc(arena, length + 1);
	if (copy && length)
		memcpy(copy, text, length);
	return copy;
}

void *pm_arena_push(struct pm_arena *arena, void **items, size_t *count, size_t *room, size_t size)
{
	if (*count == *room) {
		size_t wider = *room ? *room * 2 : 8;
		void *grown = pm_arena_array(arena, wider, size);
		if (!grown)
			return NULL;
		if (*count)
			memcpy(grown, *items, *count * size);
		*items = grown;
		*room = wider;
	}
	void *item = (char *)*items + *count * size;
	memset(item, 0, size);
	(*count)++;
	return item;
}
