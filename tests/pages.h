/* pages.h - a documentation page held against the table it is made from. With
 * PM_WRITE_DOCS set (make docs) the page is written instead. */
#ifndef TESTS_PAGES_H
#define TESTS_PAGES_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static inline int page_matches(const char *path, const char *page)
{
	FILE *file;
	if (getenv("PM_WRITE_DOCS")) {
		file = fopen(path, "w");
		if (!file)
			return 0;
		int good = fputs(page, file) >= 0;
		return fclose(file) == 0 && good;
	}
	file = fopen(path, "r");
	if (!file)
		return 0;
	size_t length = strlen(page), got;
	char *read = malloc(length + 2);
	got = read ? fread(read, 1, length + 2, file) : 0;
	fclose(file);
	int same = read && got == length && memcmp(read, page, length) == 0;
	free(read);
	return same;
}

#endif
