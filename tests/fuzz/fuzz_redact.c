/* Redaction: however the bytes come in pieces the result is the same, line feeds
 * keep their number, and what is redacted once is not changed by another time. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "capture/redact.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool holds)
{
	if (!holds)
		abort();
}

static size_t line_feeds(const char *bytes, size_t length)
{
	size_t count = 0;
	for (size_t i = 0; i < length; i++)
		count += bytes[i] == '\n';
	return count;
}

/* The same in two pieces. */
static void in_pieces(const char *bytes, size_t size, size_t cut, const char *whole, size_t whole_length, struct pm_arena *arena)
{
	struct redact *redact = redact_begin();
	const char *out;
	size_t length, at = 0;
	demand(redact != NULL);
	for (int piece = 0; piece < 2; piece++) {
		demand(redact_feed(redact, bytes + (piece ? cut : 0), piece ? size - cut : cut, &out, &length));
		demand(length <= whole_length - at && memcmp(out, whole + at, length) == 0);
		at += length;
	}
	demand(redact_end(redact, arena, &out, &length));
	demand(length == whole_length - at && memcmp(out, whole + at, length) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct pm_arena arena;
	size_t once, twice, count;
	pm_arena_init(&arena);
	/* a copy of its own size, so that no byte beyond is read */
	char *bytes = malloc(size ? size : 1);
	demand(bytes != NULL);
	if (size)
		memcpy(bytes, data, size);
	char *first = redact_all(bytes, size, &arena, &once, &count);
	demand(first != NULL);
	demand(line_feeds(first, once) == line_feeds(bytes, size));
	demand(count > 0 || (once == size && memcmp(first, bytes, size) == 0));
	char *second = redact_all(first, once, &arena, &twice, NULL);
	demand(second != NULL && twice == once && memcmp(first, second, once) == 0);
	in_pieces(bytes, size, size ? bytes[0] % size : 0, first, once, &arena);
	in_pieces(bytes, size, size / 2, first, once, &arena);
	free(bytes);
	pm_arena_free(&arena);
	return 0;
}
