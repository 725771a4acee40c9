/* slip.h - can one copying error explain the difference between two texts?
 *
 * Kinds and their rough shares after Verhoeff's study of decimal errors
 * (secondary source); look-alike pairs are common practice, no source.
 */
#ifndef PORTMUSTER_SLIP_H
#define PORTMUSTER_SLIP_H

#include <stdbool.h>
#include <stddef.h>

enum pm_slip_kind {
	PM_SLIP_NONE,          /* no difference */
	PM_SLIP_LOOK_ALIKE,    /* one character, of a pair that is often confused */
	PM_SLIP_WRONG,         /* one wrong character */
	PM_SLIP_NEIGHBOURS,    /* two swapped neighbours */
	PM_SLIP_JUMP,          /* abc copied as cba */
	PM_SLIP_TWIN,          /* aa copied as bb */
	PM_SLIP_JUMP_TWIN,     /* aca copied as bcb */
	PM_SLIP_PAIRS,         /* two swapped neighbouring pairs (octets) */
	PM_SLIP_DROPPED,       /* one character left out */
	PM_SLIP_DOUBLED,       /* one character written twice */
	PM_SLIP_EXTRA,         /* one character too many */
	PM_SLIP_SEVERAL,       /* more than one slip */
	PM_SLIPS
};

struct pm_slip {
	enum pm_slip_kind kind;
	size_t at;          /* 1-based place in `right` (in `seen` for an extra one) */
	char right, seen;   /* the characters there; 0 where there is none */
};

/* Compare what should stand with what was seen, without regard to ASCII case.
 * Both are read as plain characters: take separators out first where they do
 * not matter. The likeliest single kind wins. */
struct pm_slip pm_slip_between(const char *right, const char *seen);

/* True for every kind from look-alike to extra: one slip explains it. */
bool pm_slip_single(enum pm_slip_kind kind);

/* Two characters that are often taken for each other (either order, either
 * case): O/0 D/0 B/8 I/1 L/1 S/5 Z/2 G/6 and the like. */
bool pm_look_alike(int a, int b);

/* The kind in words: "swapped neighbours"; never null. */
const char *pm_slip_name(enum pm_slip_kind kind);

/* A sentence part such as `character 11 reads 8 where B belongs (look-alike)`,
 * for when it is settled what should stand. `unit` is what is counted: "character",
 * or "digit" for the twelve of an address without its separators. Into `out`,
 * terminated; returns `out`. */
const char *pm_slip_say(struct pm_slip slip, const char *unit, char *out, size_t room);

/* The same where nothing says which of the two is right: `they differ in digit 11:
 * B in the first, 8 in the second (look-alike)`. */
const char *pm_slip_differ(struct pm_slip slip, const char *unit, char *out, size_t room);

#endif
