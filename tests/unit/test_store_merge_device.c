/* Attached devices of two copies: what is one device, and what becomes of it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "merge_fixture.h"
#include "portmuster/text.h"

#define LIST HEAD "attached:\n"
#define DEVICE LIST "  - kind: camera\n    name: north\n"
/* Devices on a line each: with a serial, with an address, with both, with neither. */
#define S(name, serial) "  - {kind: camera, name: " name ", serial: \"" serial "\"}\n"
#define A(name, address) "  - {kind: camera, name: " name ", address: \"" address "\"}\n"
#define SA(name, serial, address) "  - {kind: camera, name: " name ", serial: \"" serial "\", address: \"" address "\"}\n"
#define N(name) "  - {kind: camera, name: " name "}\n"

static const struct merge_join joins[] = {
	/* --- one device, by its kind and name --- */
	{ "a device of each", HEAD, HEAD "attached:\n" N("north"), HEAD "attached:\n  - kind: siren\n    name: south\n", LIST N("north") "  - kind: siren\n    name: south\n", "" },
	{ "changed by THEIRS", DEVICE, DEVICE, DEVICE "    address: " A1 "\n", DEVICE "    address: \"" A1 "\"\n", "" },
	{ "changed by both", DEVICE "    address: a\n", DEVICE "    address: b\n", DEVICE "    address: c\n",
	  DEVICE "    # in conflict: address is \"c\" in THEIRS\n    address: b\n", "head attached.north.address: b/9 c/9\n" },
	{ "changed and one added", DEVICE, DEVICE "x: 1\n", DEVICE "    address: a\n  - {kind: k, name: n}\n",
	  DEVICE "    address: \"a\"\n  - {kind: k, name: n}\nx: 1\n", "" },
	/* --- serials --- */
	{ "a serial corrected by THEIRS", LIST SA("north", "0417733", A1), LIST SA("north", "0417733", A1) N("south"), LIST SA("north", "0417734", A1),
	  LIST SA("north", "0417734", A1) N("south"), "" },
	{ "a serial corrected by MINE, an address given by THEIRS", DEVICE "    serial: s1\n", DEVICE "    serial: s2\n", DEVICE "    serial: s1\n    address: a\n",
	  DEVICE "    serial: s2\n    address: \"a\"\n", "" },
	{ "serial and address corrected", LIST SA("north", "s1", A1), LIST SA("north", "s1", A1) "x: 1\n", LIST SA("north", "s2", A2),
	  LIST SA("north", "s2", A2) "x: 1\n", "" },
	{ "a serial given by both", DEVICE, DEVICE "    serial: T1\n", DEVICE "    serial: T2\n",
	  DEVICE "    # in conflict: serial is \"T2\" in THEIRS\n    serial: T1\n", "head attached.north.serial: T1/9 T2/9\n" },
	{ "a serial given by both, on one line", LIST N("north"), LIST S("north", "T1"), LIST S("north", "T2"),
	  LIST "  # in conflict: serial is \"T2\" in THEIRS\n" S("north", "T1"), "head attached.north.serial: T1/7 T2/7\n" },
	{ "a serial corrected by both", LIST S("north", "s1"), LIST S("north", "s2"), LIST S("north", "s3"),
	  LIST "  # in conflict: serial is \"s3\" in THEIRS\n" S("north", "s2"), "head attached.north.serial: s2/7 s3/7\n" },
	{ "the same serial given by both", LIST N("north"), LIST S("north", "s1"), LIST S("north", "s1"), LIST S("north", "s1"), "" },
	{ "a serial by one, an address by the other", LIST N("north"), LIST S("north", "s1"), LIST A("north", A1),
	  LIST "  - {kind: camera, name: north, serial: \"s1\", address: \"" A1 "\"}\n", "" },
	{ "serials corrected down the list", LIST S("a", "s1") S("b", "s2") S("c", "s3"), LIST S("a", "s1") SA("b", "s2", A1) S("c", "s3"),
	  LIST S("a", "s2") S("b", "s3") S("c", "s4"), LIST S("a", "s2") SA("b", "s3", A1) S("c", "s4"), "" },
	{ "serials exchanged", LIST S("a", "s1") S("b", "s2"), LIST SA("a", "s1", A1) S("b", "s2"), LIST S("a", "s2") S("b", "s1"),
	  LIST SA("a", "s2", A1) S("b", "s1"), "" },
	/* --- names --- */
	{ "renamed by MINE, the serial corrected by THEIRS", LIST S("north", "s1"), LIST S("mast", "s1"), LIST S("north", "s2"), LIST S("mast", "s2"), "" },
	{ "the serial corrected by MINE, renamed by THEIRS", LIST S("north", "s1"), LIST S("north", "s2"), LIST S("mast", "s1"),
	  LIST "  - {kind: camera, name: \"mast\", serial: \"s2\"}\n", "" },
	{ "renamed by MINE, the address corrected by THEIRS", LIST SA("north", "s1", A1), LIST SA("mast", "s1", A1), LIST SA("north", "s1", A2),
	  LIST SA("mast", "s1", A2), "" },
	{ "renamed by its address, in another notation", LIST A("north", A1), LIST A("mast", "0000.5e00.5301"), LIST SA("north", "s1", A1),
	  LIST "  - {kind: camera, name: mast, address: \"0000.5e00.5301\", serial: \"s1\"}\n", "" },
	{ "renamed by both", LIST S("north", "s1"), LIST S("mast", "s1"), LIST S("tower", "s1"),
	  LIST "  # in conflict: name is \"tower\" in THEIRS\n" S("mast", "s1"), "head attached.mast.name: mast/7 tower/7\n" },
	{ "kind and name changed", LIST S("north", "s1"), LIST "  - {kind: sensor, name: mast, serial: \"s1\"}\n", LIST S("north", "s2"),
	  LIST "  - {kind: sensor, name: mast, serial: \"s2\"}\n", "" },
	{ "a name handed on", LIST S("north", "s1") S("south", "s2"), LIST S("south", "s1") S("east", "s2"), LIST S("north", "s1") SA("south", "s2", A2),
	  LIST S("south", "s1") "  - {kind: camera, name: east, serial: \"s2\", address: \"" A2 "\"}\n", "" },
	{ "renamed with a serial that the other side gave too", LIST N("north"), LIST S("mast", "s1"), LIST S("north", "s1"),
	  LIST S("mast", "s1"), "" },
	{ "renamed, and nothing to know it by", LIST N("north"), LIST N("mast"), LIST A("north", A1), LIST A("north", A1) N("mast"), "kept attached/north theirs/7\n" },
	/* --- alike --- */
	{ "one name twice, told apart by serials", LIST S("north", "s1") S("north", "s2"), LIST S("north", "s2") S("north", "s1"),
	  LIST S("north", "s1") SA("north", "s2", A2), LIST "  - {kind: camera, name: north, serial: \"s2\", address: \"" A2 "\"}\n" S("north", "s1"), "" },
	{ "one name twice, by their places", LIST N("north") N("north"), LIST N("north") N("north"), LIST A("north", A1) A("north", A2),
	  LIST "  - {kind: camera, name: north, address: \"" A1 "\"}\n  - {kind: camera, name: north, address: \"" A2 "\"}\n", "" },
	{ "one of two alike is gone", LIST S("north", "s1") S("north", "s2"), LIST S("north", "s1") S("north", "s2"), LIST S("north", "s2"),
	  LIST S("north", "s1") S("north", "s2"), "kept attached/north mine/7\n" },
	/* --- added by both --- */
	{ "one device added by both", HEAD, LIST S("north", "s1"), LIST SA("north", "s1", A1), LIST "  - {kind: camera, name: north, serial: \"s1\", address: \"" A1 "\"}\n", "" },
	{ "added by both, with different serials", HEAD, LIST S("north", "s1"), LIST S("north", "s2"), LIST S("north", "s1") S("north", "s2"),
	  "device attached.north.serial: s1/7 s2/7\n" },
	{ "added by both, with different addresses", "", LIST A("north", A1), LIST A("north", A2), LIST A("north", A1) A("north", A2),
	  "device attached.north.address: " A1 "/7 " A2 "/7\n" },
	{ "added by both, of one address, with different serials", HEAD, LIST SA("north", "s1", A1), LIST SA("mast", "s2", A1),
	  LIST SA("north", "s1", A1) SA("mast", "s2", A1), "device attached.north.serial: s1/7 s2/7\n" },
	{ "added by both under two names", HEAD, LIST S("north", "s1"), LIST S("mast", "s1"), LIST "  # in conflict: name is \"mast\" in THEIRS\n" S("north", "s1"),
	  "head attached.north.name: north/7 mast/7\n" },
	{ "another of the same name, knowingly", LIST S("north", "s1"), LIST S("north", "s1"), LIST S("north", "s1") S("north", "s2"),
	  LIST S("north", "s1") S("north", "s2"), "" },
	{ "one serial, two kinds", HEAD, LIST S("north", "1"), LIST "  - {kind: siren, name: mast, serial: \"1\"}\n",
	  LIST S("north", "1") "  - {kind: siren, name: mast, serial: \"1\"}\n", "" },
};

static void test_joins(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof joins / sizeof *joins; i++)
		merge_expect(&joins[i]);
}

/* --- random edits that do not meet --- */

enum { VALUES = 4, MOST = 8, SEEDS = 3000 };
static const char *const keys[VALUES] = { "kind", "name", "serial", "address" };

struct device {
	unsigned value[VALUES];    /* a number of its own for every value; 0: not given */
	unsigned id;               /* an unknown key that no one edits */
};

static uint32_t seed_state;

static uint32_t below(uint32_t most)
{
	seed_state = seed_state * 1664525u + 1013904223u;   /* a usual pair, from memory */
	return (seed_state >> 16) % most;
}

static void put_device(struct pm_text *out, const struct device *device)
{
	pm_text_add(out, "  - {id: %u", device->id);
	for (size_t k = 0; k < VALUES; k++)
		if (device->value[k])
			pm_text_add(out, ", %s: v%u", keys[k], device->value[k]);
	pm_text_str(out, "}\n");
}

static const char *text_of(struct pm_arena *arena, const struct device *device, size_t count)
{
	struct pm_text out;
	pm_text_grow(&out, arena);
	pm_text_str(&out, count ? LIST : HEAD);
	for (size_t i = 0; i < count; i++)
		put_device(&out, &device[i]);
	assert_false(arena->failed);
	return out.data;
}

/* Some values anew, but not all that it can be known by. */
static void edit(struct device *device, unsigned *fresh, bool taken[VALUES])
{
	size_t stays = device->value[2] ? 2 : device->value[3] ? 3 : 0;
	bool named = stays == 0 || below(2);
	for (size_t k = 0; k < VALUES; k++) {
		if ((named ? k < 2 : k == stays) || taken[k] || below(2))
			continue;
		device->value[k] = ++*fresh;
		taken[k] = true;
	}
}

static bool has(const struct store_job *job, const struct device *device)
{
	for (size_t i = 0; i < job->job.attached_count; i++) {
		const struct pm_attached *there = &job->job.attached[i];
		const struct pm_word word[VALUES] = { there->kind, there->name, there->serial, there->address };
		bool same = true;
		for (size_t k = 0; k < VALUES; k++) {
			char wanted[20] = "";
			if (device->value[k])
				snprintf(wanted, sizeof wanted, "v%u", device->value[k]);
			same = same && strcmp(wanted, pm_given(word[k]) ? word[k].text : "") == 0;
		}
		if (same)
			return true;
	}
	return false;
}

/* What only one side changed of a device is in it, whatever else is changed. */
static void test_edits(void **state)
{
	(void)state;
	for (uint32_t seed = 1; seed <= SEEDS; seed++) {
		struct device base[MOST], mine[MOST + 1], theirs[MOST + 1];
		struct store_merged merged;
		struct store_job job;
		struct pm_fault fault = { 0 };
		struct pm_arena arena;
		unsigned fresh = 0;
		size_t count = 1 + below(MOST - 1);
		pm_arena_init(&arena);
		seed_state = seed * 2654435761u;
		for (size_t i = 0; i < count; i++) {
			base[i] = (struct device){ .id = (unsigned)i + 1 };
			for (size_t k = 0; k < VALUES; k++)
				base[i].value[k] = k < 2 || below(3) ? ++fresh : 0;
		}
		memcpy(mine, base, sizeof base);
		memcpy(theirs, base, sizeof base);
		struct device wanted[MOST + 2];
		for (size_t i = 0; i < count; i++) {
			bool taken[VALUES] = { false };
			edit(&mine[i], &fresh, taken);
			edit(&theirs[i], &fresh, taken);
			wanted[i] = base[i];
			for (size_t k = 0; k < VALUES; k++)
				wanted[i].value[k] = mine[i].value[k] != base[i].value[k] ? mine[i].value[k] : theirs[i].value[k];
		}
		mine[count] = wanted[count] = (struct device){ { fresh + 1, fresh + 2, fresh + 3, 0 }, 100 };
		theirs[count] = wanted[count + 1] = (struct device){ { fresh + 4, fresh + 5, 0, 0 }, 101 };
		/* one side's list in another order */
		struct device first = theirs[0];
		theirs[0] = theirs[count / 2];
		theirs[count / 2] = first;
		const char *text[] = { text_of(&arena, base, count), text_of(&arena, mine, count + 1), text_of(&arena, theirs, count + 1) };
		for (int way = 0; way < 2; way++) {
			if (!merge_texts(text[0], text[way ? 2 : 1], text[way ? 1 : 2], &merged, &fault))
				fail_msg("seed %u: %s", (unsigned)seed, fault.message);
			assert_true(store_job_parse(merged.text, merged.length, "x.yaml", &job, &fault));
			bool good = merged.conflicts == 0 && merged.notes == 0 && job.job.attached_count == count + 2;
			for (size_t i = 0; i < count + 2; i++)
				good = good && has(&job, &wanted[i]);
			if (!good)
				fail_msg("seed %u, %zu in conflict\n--- base\n%s\n--- mine\n%s\n--- theirs\n%s\n--- merged\n%s", (unsigned)seed,
				         merged.conflicts, text[0], text[way ? 2 : 1], text[way ? 1 : 2], merged.text);
			store_job_free(&job);
			store_merged_free(&merged);
		}
		pm_arena_free(&arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(test_joins), cmocka_unit_test(test_edits) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
