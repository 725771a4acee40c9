#!/bin/sh
# A list that grows is reached through a pointer of its own type: where the address of a
# typed pointer passes for that of a void pointer, the compiler may take what is stored
# through the one for something that the other never sees (C11 6.5, paragraph 7).
set -u
tmp=$(mktemp -d) || exit 2
trap 'rm -rf "$tmp"' EXIT

# Every such cast in the files given, one a line.
casts() {
	grep -nE '\(void[[:space:]]*\*[[:space:]]*\*[[:space:]]*\)[[:space:]]*&?[[:alnum:]_(]' "$@" /dev/null
}

cat >"$tmp/wrong.c" <<'END'
	item = pm_arena_push(arena, (void **)&list->item, &list->count, &list->room, sizeof *item);
	item = pm_arena_push(arena, (void * *) list, &count, &room, sizeof *item);
END
cat >"$tmp/right.c" <<'END'
	void *items = list->item, **at = &items;
	item = pm_arena_push(arena, &items, &list->count, &list->room, sizeof *item);
	void *push(struct pm_arena *arena, void **items, size_t *count);
	_Atomic(void *) *known;
END
if [ "$(casts "$tmp/wrong.c" | wc -l)" -eq 2 ] && ! casts "$tmp/right.c"; then
	echo 'ok casts are found, and nothing else is'
else
	echo 'not ok casts are found, and nothing else is'
fi

found=$(casts src/sheet/*.[ch])
if [ -z "$found" ]; then
	echo 'ok no list of the sheet is grown through a pointer of another type'
else
	echo 'not ok no list of the sheet is grown through a pointer of another type'
	echo "$found" | sed 's/^/# /'
fi
