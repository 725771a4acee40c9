/* source_read.h - a text read as a listing, in pieces, and written down. */
#ifndef TESTS_SOURCE_READ_H
#define TESTS_SOURCE_READ_H

#include "capture/source.h"
#include "listing_text.h"

/* Read with the roster's gear: `split` bytes first, then pieces of `piece`. */
static inline const char *read_split(const char *bytes, size_t length, size_t split, size_t piece, enum source_kind as,
                                     enum source_kind *kind, struct pm_arena *arena)
{
	struct listing listing;
	struct pm_gear gear = roster_gear();
	struct source *source = source_begin(&listing, &gear, arena, as);
	assert_non_null(source);
	assert_true(source_feed(source, bytes, split));
	for (size_t at = split; at < length; at += length - at < piece ? length - at : piece)
		assert_true(source_feed(source, bytes + at, length - at < piece ? length - at : piece));
	assert_true(source_end(source, kind));
	assert_true(listing_is_sound(&listing, &gear));
	const char *text = listing_text(&listing, true, arena);
	assert_non_null(text);
	return text;
}

#endif
