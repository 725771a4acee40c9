/* list.h - which part of a long list shows. */
#ifndef SCREEN_LIST_H
#define SCREEN_LIST_H

#include <stddef.h>

/* The first visible row, so that `chosen` shows among `room` of `count`. */
static inline size_t list_first(size_t chosen, size_t count, size_t room)
{
	if (count <= room || chosen < room / 2)
		return 0;
	size_t first = chosen - room / 2;
	return first + room > count ? count - room : first;
}

#endif
