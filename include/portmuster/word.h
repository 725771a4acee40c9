/* word.h - the pieces that documents are made of: one scalar and lists of them.
 *
 * The text of a loaded document lives in the document's arena; nothing here
 * owns anything.
 */
#ifndef PORTMUSTER_WORD_H
#define PORTMUSTER_WORD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* One scalar with its place in the file; `text` is null when the key is not
 * there. Always text, whatever the quoting. Line and column count from 1. */
struct pm_word {
	const char *text;
	uint32_t line, column;
};

struct pm_words {
	struct pm_word *item;
	size_t count;
};

/* A number with up to six decimals, as millionths (230.5 is 230500000). */
struct pm_number {
	struct pm_word word;
	int64_t millionths;
};

/* A key that the format does not have: nothing reads what stands under it. One
 * that begins with "x-" is somebody's own and is not among them. */
struct pm_stray_key {
	struct pm_word key;
	const char *inside;   /* what it stands in: "job", "reading" ... */
	const char *meant;    /* the key that is one slip away, or null */
};

struct pm_stray_keys {
	struct pm_stray_key *item;
	size_t count;
};

static inline bool pm_given(struct pm_word word) { return word.text && word.text[0]; }

#endif
