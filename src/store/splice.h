/* splice.h - changing a document's source text in one place only.
 *
 * Each function returns the new text in `arena` and stores its length; null
 * when memory ran out or the document's shape has no place for the edit. None
 * of them is trusted: the caller reads the new text again and holds it against
 * the tree it expected (store_expect_*).
 */
#ifndef STORE_SPLICE_H
#define STORE_SPLICE_H

#include "portmuster/text.h"
#include "store/bind.h"

/* Add `value` between double quotes, on one line. Invisible and disputed
 * characters are escaped, all others stay as they are. */
void store_put_quoted(struct pm_text *out, const char *value);

/* The document's own line ending, by its first line. */
const char *store_splice_break(const struct store_tree *tree);

/* Behind the line break that ends the line of `at`, or the end of the text. */
size_t store_splice_next_line(const struct store_tree *tree, size_t at);

/* Where a line can be added after the content that ends at `end`: behind its
 * line, and behind comment lines indented by more than `column`, which belong
 * to that content. */
size_t store_splice_line_after(const struct store_tree *tree, size_t end, size_t column);

/* Nothing is there, or an empty collection that holds no comment. */
bool store_splice_nothing(const struct store_tree *tree, const struct store_node *node);

/* One entry more at the end of the top level list `list`, which need not be
 * there yet. */
char *store_splice_append(const struct store_tree *tree, const char *list,
                          const struct store_pair *pairs, size_t count,
                          struct pm_arena *arena, size_t *length);

/* The text under `key` of the mapping `outer` (null: the top level) becomes
 * `value`; what is missing is added. */
char *store_splice_set(const struct store_tree *tree, const char *outer, const char *key,
                       const char *value, struct pm_arena *arena, size_t *length);

/* The same edits on the tree itself; false when memory ran out. */
bool store_expect_append(struct store_tree *tree, const char *list,
                         const struct store_pair *pairs, size_t count, struct pm_arena *arena);
bool store_expect_set(struct store_tree *tree, const char *outer, const char *key,
                      const char *value, struct pm_arena *arena);

#endif
