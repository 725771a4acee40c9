/* kept.h - plans and gear profiles kept in their loaded form, so that the next
 * start need not parse them.
 *
 * A kept document lies in $XDG_CACHE_HOME/portmuster (or ~/.cache/portmuster)
 * and is used only while the file it came from is the very same: device,
 * inode, size, and both its times to the nanosecond. A file that had changed
 * just before it was kept is not trusted. It is only ever an aid: whatever is
 * wrong with it, the document is parsed as usual. PORTMUSTER_CACHE=no turns it off.
 */
#ifndef STORE_KEPT_H
#define STORE_KEPT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "portmuster/arena.h"
#include "store/fields.h"

/* What must be the same for a kept form to be used. */
struct kept_key {
	uint64_t device, inode, size;
	int64_t changed[4];    /* modification and status change: seconds, nanoseconds */
};

/* The key of the regular file at `path` now; false when there is none, or when
 * keeping is turned off. */
bool kept_key(const char *path, struct kept_key *key);
bool kept_same(const struct kept_key *a, const struct kept_key *b);

/* The same without asking whether keeping is turned off, and for any kind of
 * file; all zeros when there is none. */
void kept_look(const char *path, struct kept_key *key);

/* Fill the struct of `size` bytes at `base`, bound by `table`, from its kept
 * form; everything lives in `arena`. `digest` receives the SHA-256 that was kept
 * with it. False when there is none that can be used; then nothing has changed.
 * Members outside the table must be set anew by the caller. */
bool kept_load(const struct kept_key *key, const struct store_table *table, void *base, size_t size,
               struct pm_arena *arena, char digest[static 65]);

/* Keep it; failures are of no consequence and not reported. */
void kept_save(const struct kept_key *key, const struct store_table *table, const void *base, size_t size,
               const char *digest);

#endif
