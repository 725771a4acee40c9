/* open_json.h - objects out of a JSON text, one at a time.
 *
 * A scanner follows the brackets and strings of the text and keeps nothing of
 * it; only an object that is wanted is kept as bytes, and read as JSON once it
 * is whole. So a text that is cut off or goes wrong gives what stood before,
 * and the size of a text does not matter.
 */
#ifndef CAPTURE_OPEN_JSON_H
#define CAPTURE_OPEN_JSON_H

#include <jansson.h>

#include "capture/open_parts.h"

#define OPEN_JSON_DEEPEST 512            /* brackets within brackets */
#define OPEN_JSON_MOST (256u << 10)      /* bytes of one object */

/* What an array or object is; a kind has its own from OPEN_JSON_OWN on. */
enum { OPEN_JSON_NOTHING, OPEN_JSON_TEXT, OPEN_JSON_TAKEN, OPEN_JSON_OWN };

struct open_json_kind {
	char opener;                         /* "{" or "[": what a text begins with */
	const char *none;                    /* the problem when there is no text */
	/* What stands under `key` in a `parent`: OPEN_JSON_TAKEN to be given it, if
	 * it is an object. The key is empty in an array; the whole text's parent is
	 * OPEN_JSON_TEXT. */
	int (*enter)(int parent, struct open_text key, bool array);
	const char *prefix;                  /* that names of members may have, or "" */
	const char *address;                 /* the member that holds the address */
	/* One object, with the place of its address (or of itself). */
	void (*take)(struct collect *collect, json_t *object, struct open_place address);
};

/* The key without the prefix. */
struct open_text open_json_local(const struct open_json_kind *kind, struct open_text key);

/* A member that is a string; empty when it is not there, or null. Anything else
 * is `*wrong`. */
struct open_text open_json_string(const struct open_json_kind *kind, json_t *object, const char *name, bool *wrong);

void *open_json_begin(const struct open_json_kind *kind, struct listing *listing,
                      const struct pm_gear *gear, struct pm_arena *arena);
bool open_json_feed(void *state, const void *bytes, size_t length);
bool open_json_end(void *state);

#endif
