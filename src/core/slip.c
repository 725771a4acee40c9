#include "portmuster/slip.h"

#include <string.h>

#include "portmuster/text.h"

/* Each row is a set of characters that one hand writes for another; the
 * order within a row does not matter. Common practice, no source. */
static const char *const look_alikes[] = {
	"0OQD", "1IL7J", "2Z7", "5S", "6G", "6B", "8B", "8S", "38", "68", "C0", "CG", "9G4",
	"4A", "4H", "UV", "EF", "MN",
};

bool pm_look_alike(int a, int b)
{
	a = pm_upper(a);
	b = pm_upper(b);
	if (a == b || a <= 0 || b <= 0)
		return false;
	for (size_t i = 0; i < sizeof look_alikes / sizeof *look_alikes; i++)
		if (strchr(look_alikes[i], a) && strchr(look_alikes[i], b))
			return true;
	return false;
}

static bool same_at(const char *a, const char *b, size_t i)
{
	return pm_lower(a[i]) == pm_lower(b[i]);
}

static bool same_char(char a, char b)
{
	return pm_lower(a) == pm_lower(b);
}

/* Both texts have the same length and differ first at `from`, last at `to`. */
static struct pm_slip same_length(const char *right, const char *seen, size_t from, size_t to)
{
	struct pm_slip slip = { PM_SLIP_SEVERAL, from + 1, right[from], seen[from] };
	size_t span = to - from + 1;
	const char *r = right + from, *s = seen + from;
	if (span == 1) {
		slip.kind = pm_look_alike(*r, *s) ? PM_SLIP_LOOK_ALIKE : PM_SLIP_WRONG;
	} else if (span == 2 && same_char(r[0], s[1]) && same_char(r[1], s[0])) {
		slip.kind = PM_SLIP_NEIGHBOURS;
	} else if (span == 2 && same_char(r[0], r[1]) && same_char(s[0], s[1])) {
		slip.kind = PM_SLIP_TWIN;
	} else if (span == 3 && same_at(r, s, 1) && same_char(r[0], s[2]) && same_char(r[2], s[0])) {
		slip.kind = PM_SLIP_JUMP;
	} else if (span == 3 && same_at(r, s, 1) && same_char(r[0], r[2]) && same_char(s[0], s[2])) {
		slip.kind = PM_SLIP_JUMP_TWIN;
	} else if (span == 4 && same_char(r[0], s[2]) && same_char(r[1], s[3]) &&
	           same_char(r[2], s[0]) && same_char(r[3], s[1])) {
		slip.kind = PM_SLIP_PAIRS;
	}
	return slip;
}

/* `longer` holds one character more than `shorter`, at index `at`. */
static bool one_longer(const char *shorter, const char *longer, size_t *at)
{
	size_t i = 0;
	while (shorter[i] && same_at(shorter, longer, i))
		i++;
	*at = i;
	for (; shorter[i]; i++)
		if (!same_char(shorter[i], longer[i + 1]))
			return false;
	return true;
}

struct pm_slip pm_slip_between(const char *right, const char *seen)
{
	size_t n = strlen(right), m = strlen(seen), at;
	if (n == m) {
		size_t from = 0, to = n;
		while (from < n && same_at(right, seen, from))
			from++;
		if (from == n)
			return (struct pm_slip){ PM_SLIP_NONE, 0, 0, 0 };
		while (same_at(right, seen, to - 1))
			to--;
		return same_length(right, seen, from, to - 1);
	}
	if (m + 1 == n && one_longer(seen, right, &at))
		return (struct pm_slip){ PM_SLIP_DROPPED, at + 1, right[at], 0 };
	if (n + 1 == m && one_longer(right, seen, &at)) {
		bool doubled = at > 0 && same_char(seen[at], seen[at - 1]);
		return (struct pm_slip){ doubled ? PM_SLIP_DOUBLED : PM_SLIP_EXTRA, at + 1, 0, seen[at] };
	}
	return (struct pm_slip){ PM_SLIP_SEVERAL, 0, 0, 0 };
}

bool pm_slip_single(enum pm_slip_kind kind)
{
	return kind > PM_SLIP_NONE && kind < PM_SLIP_SEVERAL;
}

const char *pm_slip_name(enum pm_slip_kind kind)
{
	switch (kind) {
	case PM_SLIP_NONE: return "no difference";
	case PM_SLIP_LOOK_ALIKE: return "look-alike";
	case PM_SLIP_WRONG: return "one wrong character";
	case PM_SLIP_NEIGHBOURS: return "swapped neighbours";
	case PM_SLIP_JUMP: return "swapped across one";
	case PM_SLIP_TWIN: return "wrong twin";
	case PM_SLIP_JUMP_TWIN: return "wrong twin across one";
	case PM_SLIP_PAIRS: return "swapped pairs";
	case PM_SLIP_DROPPED: return "dropped character";
	case PM_SLIP_DOUBLED: return "doubled character";
	case PM_SLIP_EXTRA: return "one character too many";
	case PM_SLIP_SEVERAL: return "several differences";
	case PM_SLIPS: break;
	}
	return "unknown";
}

/* Where two texts differ: `digit 3`, or `digits 3 and 5`. */
static void place(struct pm_text *text, const char *unit, struct pm_slip slip)
{
	unsigned at = (unsigned)slip.at, more = 0;
	switch (slip.kind) {
	case PM_SLIP_NEIGHBOURS:
	case PM_SLIP_TWIN: more = 1; break;
	case PM_SLIP_JUMP:
	case PM_SLIP_JUMP_TWIN:
	case PM_SLIP_PAIRS: more = 2; break;
	case PM_SLIP_NONE:
	case PM_SLIP_LOOK_ALIKE:
	case PM_SLIP_WRONG:
	case PM_SLIP_DROPPED:
	case PM_SLIP_DOUBLED:
	case PM_SLIP_EXTRA:
	case PM_SLIP_SEVERAL:
	case PM_SLIPS: break;
	}
	pm_text_add(text, "%s%s %u", unit, more ? "s" : "", at);
	if (more)
		pm_text_add(text, " and %u", at + more);
}

/* Twins are shown as both of them. */
static void characters(struct pm_text *text, struct pm_slip slip, char c)
{
	pm_text_char(text, (char)pm_upper(c));
	if (slip.kind == PM_SLIP_TWIN)
		pm_text_char(text, (char)pm_upper(c));
}

const char *pm_slip_say(struct pm_slip slip, const char *unit, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	if (!pm_slip_single(slip.kind)) {
		pm_text_str(&text, pm_slip_name(slip.kind));
		return out;
	}
	if (slip.kind == PM_SLIP_PAIRS)
		pm_text_str(&text, "the pairs at ");
	place(&text, unit, slip);
	switch (slip.kind) {
	case PM_SLIP_NONE:
	case PM_SLIP_SEVERAL:
	case PM_SLIPS:
		break;
	case PM_SLIP_LOOK_ALIKE:
	case PM_SLIP_WRONG:
	case PM_SLIP_TWIN:
	case PM_SLIP_JUMP_TWIN:
		pm_text_str(&text, slip.kind == PM_SLIP_TWIN || slip.kind == PM_SLIP_JUMP_TWIN ? " read " : " reads ");
		characters(&text, slip, slip.seen);
		pm_text_str(&text, " where ");
		characters(&text, slip, slip.right);
		pm_text_str(&text, " belongs");
		break;
	case PM_SLIP_NEIGHBOURS:
	case PM_SLIP_JUMP:
	case PM_SLIP_PAIRS:
		pm_text_str(&text, " stand in each other's place");
		break;
	case PM_SLIP_DROPPED:
		pm_text_add(&text, ", %c, is left out", pm_upper(slip.right));
		break;
	case PM_SLIP_DOUBLED:
		pm_text_add(&text, ", %c, is written twice", pm_upper(slip.seen));
		break;
	case PM_SLIP_EXTRA:
		pm_text_add(&text, ", %c, is one too many", pm_upper(slip.seen));
		break;
	}
	pm_text_add(&text, " (%s)", pm_slip_name(slip.kind));
	return out;
}

/* A slip's name tells which of the two went wrong, but where they merely differ it must not. */
static const char *neutral_name(enum pm_slip_kind kind)
{
	switch (kind) {
	case PM_SLIP_LOOK_ALIKE:
	case PM_SLIP_NEIGHBOURS:
	case PM_SLIP_JUMP:
	case PM_SLIP_PAIRS:
		return pm_slip_name(kind);
	case PM_SLIP_NONE:
	case PM_SLIP_WRONG:
	case PM_SLIP_TWIN:
	case PM_SLIP_JUMP_TWIN:
	case PM_SLIP_DROPPED:
	case PM_SLIP_DOUBLED:
	case PM_SLIP_EXTRA:
	case PM_SLIP_SEVERAL:
	case PM_SLIPS: break;
	}
	return NULL;
}

const char *pm_slip_differ(struct pm_slip slip, const char *unit, char *out, size_t room)
{
	struct pm_text text;
	const char *name = neutral_name(slip.kind);
	pm_text_fixed(&text, out, room);
	if (!pm_slip_single(slip.kind)) {
		pm_text_str(&text, slip.kind == PM_SLIP_NONE ? pm_slip_name(slip.kind) : "they differ in several places");
		return out;
	}
	pm_text_str(&text, slip.kind == PM_SLIP_PAIRS ? "they differ in the pairs at " : "they differ in ");
	place(&text, unit, slip);
	switch (slip.kind) {
	case PM_SLIP_NONE:
	case PM_SLIP_SEVERAL:
	case PM_SLIPS:
		break;
	case PM_SLIP_LOOK_ALIKE:
	case PM_SLIP_WRONG:
	case PM_SLIP_TWIN:
	case PM_SLIP_JUMP_TWIN:
		pm_text_str(&text, ": ");
		characters(&text, slip, slip.right);
		pm_text_str(&text, " in the first, ");
		characters(&text, slip, slip.seen);
		pm_text_str(&text, " in the second");
		break;
	case PM_SLIP_NEIGHBOURS:
	case PM_SLIP_JUMP:
	case PM_SLIP_PAIRS:
		pm_text_str(&text, ", which change places");
		break;
	case PM_SLIP_DROPPED:
		pm_text_add(&text, ": %c in the first, nothing in the second", pm_upper(slip.right));
		break;
	case PM_SLIP_DOUBLED:
	case PM_SLIP_EXTRA:
		pm_text_add(&text, ": nothing in the first, %c in the second", pm_upper(slip.seen));
		break;
	}
	if (name)
		pm_text_add(&text, " (%s)", name);
	return out;
}
