#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <time.h>

#include <cmocka.h>

#include "merge_fixture.h"
#include "portmuster/fact.h"
#include "portmuster/text.h"
#include "store/fields.h"

#define OLD R("port/port1", A1, "typed", "X", "00")
#define BASE HEAD READ OLD
#define FLOW "{format: 1, plan: p, gear: g, site: {code: a}"
#define ONE "{of: port/port1, value: a, source: typed, by: X, at: 1}"
#define TWO "{of: port/port2, value: b, source: typed, by: Y, at: 2}"
#define WAIVER(by) "  - {phase: muster, gate: close, condition: no-stops, by: " by ", reason: r, at: \"2026-03-01T10:00:00Z\"}\n"

static const struct merge_join joins[] = {
	/* --- nothing, one side, both sides --- */
	{ "nothing changed", BASE, BASE, BASE, BASE, "" },
	{ "only MINE", BASE, BASE R("kit/lamp", "1", "stated", "X", "01"), BASE, BASE R("kit/lamp", "1", "stated", "X", "01"), "" },
	{ "only THEIRS", BASE, BASE, BASE R("kit/lamp", "1", "stated", "Y", "01"), BASE R("kit/lamp", "1", "stated", "Y", "01"), "" },
	{ "by time", BASE, BASE R("kit/a", "1", "stated", "X", "03") R("kit/b", "1", "stated", "X", "05"),
	  BASE R("kit/c", "1", "stated", "Y", "02") R("kit/d", "1", "stated", "Y", "04"),
	  BASE R("kit/c", "1", "stated", "Y", "02") R("kit/a", "1", "stated", "X", "03")
	  R("kit/d", "1", "stated", "Y", "04") R("kit/b", "1", "stated", "X", "05"), "" },
	{ "a tie: MINE first", BASE, BASE R("kit/a", "1", "stated", "X", "03"), BASE R("kit/b", "1", "stated", "Y", "03"),
	  BASE R("kit/a", "1", "stated", "X", "03") R("kit/b", "1", "stated", "Y", "03"), "" },
	{ "by the instant, not by the letters", BASE,
	  BASE "  - {of: kit/a, value: a, source: typed, by: X, at: \"2026-03-01T11:00:00+02:00\"}\n",
	  BASE R("kit/b", "1", "stated", "Y", "03") "  - {of: kit/c, value: a, source: typed, by: Y, at: \"2026-03-01T08:59:00Z\"}\n",
	  BASE "  - {of: kit/a, value: a, source: typed, by: X, at: \"2026-03-01T11:00:00+02:00\"}\n"
	  R("kit/b", "1", "stated", "Y", "03") "  - {of: kit/c, value: a, source: typed, by: Y, at: \"2026-03-01T08:59:00Z\"}\n", "" },
	{ "never before what its side had seen", BASE R("kit/z", "1", "stated", "Z", "59"),
	  BASE R("kit/z", "1", "stated", "Z", "59") R("kit/a", "1", "stated", "X", "09") R("kit/a", "2", "stated", "X", "03"),
	  BASE R("kit/z", "1", "stated", "Z", "59") R("kit/b", "1", "stated", "Y", "05"),
	  BASE R("kit/z", "1", "stated", "Z", "59") R("kit/b", "1", "stated", "Y", "05")
	  R("kit/a", "1", "stated", "X", "09") R("kit/a", "2", "stated", "X", "03"), "" },
	{ "no time that can be read", BASE, BASE "  - {of: kit/a, value: 1, source: stated, by: X, at: soon}\n",
	  BASE R("kit/b", "1", "stated", "Y", "02"),
	  BASE "  - {of: kit/a, value: 1, source: stated, by: X, at: soon}\n" R("kit/b", "1", "stated", "Y", "02"), "" },
	{ "the same entry once", BASE, BASE R("kit/a", "1", "stated", "X", "03"), BASE R("kit/a", "1", "stated", "X", "03"),
	  BASE R("kit/a", "1", "stated", "X", "03"), "" },
	{ "the same in another style once", BASE, BASE R("kit/a", "1", "stated", "X", "03"),
	  BASE "  - value: '1'\n    of: kit/a\n    by: X\n    at: 2026-03-01T10:03:00Z\n    source: stated\n",
	  BASE R("kit/a", "1", "stated", "X", "03"), "" },
	{ "equal values by two people stay two", BASE, BASE R("kit/a", "1", "stated", "X", "03"), BASE R("kit/a", "1", "stated", "Y", "03"),
	  BASE R("kit/a", "1", "stated", "X", "03") R("kit/a", "1", "stated", "Y", "03"), "" },
	{ "one side has it twice", BASE, BASE R("kit/a", "1", "stated", "X", "03") R("kit/a", "1", "stated", "X", "03"),
	  BASE R("kit/a", "1", "stated", "X", "03"), BASE R("kit/a", "1", "stated", "X", "03") R("kit/a", "1", "stated", "X", "03"), "" },
	{ "an unknown key keeps two apart", BASE, BASE R("kit/a", "1", "stated", "X", "03"),
	  BASE "  - {of: kit/a, value: \"1\", source: stated, by: X, at: \"2026-03-01T10:03:00Z\", hue: red}\n",
	  BASE R("kit/a", "1", "stated", "X", "03")
	  "  - {of: kit/a, value: \"1\", source: stated, by: X, at: \"2026-03-01T10:03:00Z\", hue: red}\n", "" },
	/* --- no common ancestor --- */
	{ "no base", "", BASE R("kit/a", "1", "stated", "X", "03"), BASE R("kit/b", "1", "stated", "Y", "02"),
	  BASE R("kit/b", "1", "stated", "Y", "02") R("kit/a", "1", "stated", "X", "03"), "" },
	{ "a base of blanks", "\n  \r\n", BASE, BASE R("kit/b", "1", "stated", "Y", "02"), BASE R("kit/b", "1", "stated", "Y", "02"), "" },
	{ "no base, heads differ", "", HEAD "  due: \"2026-04-01\"\n", HEAD "  due: \"2026-05-01\"\n  crew: south\n",
	  HEAD "  # in conflict: due is \"2026-05-01\" in THEIRS\n  due: \"2026-04-01\"\n  crew: \"south\"\n",
	  "head site.due: 2026-04-01/6 2026-05-01/6\n" },
	{ "no base, both hold the same in another order", "", BASE R("kit/a", "1", "stated", "X", "01") R("kit/b", "1", "stated", "X", "02"),
	  BASE R("kit/b", "1", "stated", "X", "02") R("kit/a", "1", "stated", "X", "01"),
	  BASE R("kit/a", "1", "stated", "X", "01") R("kit/b", "1", "stated", "X", "02"), "" },
	/* --- readings that contradict --- */
	{ "two addresses", BASE, BASE R("port/port3", A1, "typed", "X", "03"), BASE R("port/port3", A2, "console", "Y", "02"),
	  BASE R("port/port3", A2, "console", "Y", "02") R("port/port3", A1, "typed", "X", "03"),
	  "reading port/port3: " A1 "/8 " A2 "/8\n" },
	{ "one address in two notations", BASE, BASE R("port/port3", A1, "typed", "X", "03"), BASE R("port/port3", "0000.5e00.5301", "console", "Y", "02"),
	  BASE R("port/port3", "0000.5e00.5301", "console", "Y", "02") R("port/port3", A1, "typed", "X", "03"), "" },
	{ "two serials", BASE, BASE R("router/serial", "S1", "label", "X", "01"), BASE R("router/serial", "S2", "label", "Y", "02"),
	  BASE R("router/serial", "S1", "label", "X", "01") R("router/serial", "S2", "label", "Y", "02"),
	  "reading router/serial: S1/8 S2/8\n" },
	{ "one side contradicts the base only", BASE, BASE R("port/port1", A2, "typed", "X", "03"), BASE R("kit/a", "1", "stated", "Y", "04"),
	  BASE R("port/port1", A2, "typed", "X", "03") R("kit/a", "1", "stated", "Y", "04"), "" },
	{ "the last word differs", BASE, BASE R("step/s", "good", "stated", "X", "03"), BASE R("step/s", "bad", "stated", "Y", "02"),
	  BASE R("step/s", "bad", "stated", "Y", "02") R("step/s", "good", "stated", "X", "03"),
	  "last-word step/s: good/8 bad/8\n" },
	{ "the last word agrees in the end", BASE, BASE R("step/s", "good", "stated", "X", "03"),
	  BASE R("step/s", "bad", "stated", "Y", "02") R("step/s", "good", "stated", "Y", "04"),
	  BASE R("step/s", "bad", "stated", "Y", "02") R("step/s", "good", "stated", "X", "03") R("step/s", "good", "stated", "Y", "04"), "" },
	{ "skipped and answered", BASE, BASE R("step/s", "", "skipped", "X", "03"), BASE R("step/s", "good", "stated", "Y", "04"),
	  BASE R("step/s", "", "skipped", "X", "03") R("step/s", "good", "stated", "Y", "04"), "last-word step/s: /8 good/8\n" },
	{ "skipped on both", BASE, BASE R("step/s", "", "skipped", "X", "03"), BASE R("step/s", "", "skipped", "Y", "04"),
	  BASE R("step/s", "", "skipped", "X", "03") R("step/s", "", "skipped", "Y", "04"), "" },
	{ "two decisions", BASE, BASE R("desk/decision", "accepted", "desk", "X", "03"), BASE R("desk/decision", "rejected", "desk", "Y", "04"),
	  BASE R("desk/decision", "accepted", "desk", "X", "03") R("desk/decision", "rejected", "desk", "Y", "04"),
	  "last-word desk/decision: accepted/8 rejected/8\n" },
	/* --- withdrawals --- */
	{ "one side withdraws", BASE, BASE R("kit/a", "1", "stated", "X", "01"), BASE R("port/port1", A1, "withdrawn", "Y", "02"),
	  BASE R("kit/a", "1", "stated", "X", "01") R("port/port1", A1, "withdrawn", "Y", "02"), "" },
	{ "withdrawn there, read again here before", BASE, BASE R("port/port1", A1, "console", "X", "02"), BASE R("port/port1", A1, "withdrawn", "Y", "04"),
	  BASE R("port/port1", A1, "withdrawn", "Y", "04") R("port/port1", A1, "console", "X", "02"),
	  "withdrawn port/port1: " A1 "/8 " A1 "/8\n" },
	{ "withdrawn here, read again there before", BASE, BASE R("port/port1", A1, "withdrawn", "X", "04"), BASE R("port/port1", "00:00:5e:00:53:01", "console", "Y", "02"),
	  BASE R("port/port1", A1, "withdrawn", "X", "04") R("port/port1", "00:00:5e:00:53:01", "console", "Y", "02"),
	  "withdrawn port/port1: " A1 "/8 00:00:5e:00:53:01/8\n" },
	{ "withdrawn and read again there", BASE, BASE R("port/port1", A1, "console", "X", "02"),
	  BASE R("port/port1", A1, "withdrawn", "Y", "03") R("port/port1", A1, "typed", "Y", "04"),
	  BASE R("port/port1", A1, "withdrawn", "Y", "03") R("port/port1", A1, "console", "X", "02") R("port/port1", A1, "typed", "Y", "04"), "" },
	{ "withdrawn on both", BASE, BASE R("port/port1", A1, "withdrawn", "X", "02"), BASE R("port/port1", A1, "withdrawn", "Y", "03"),
	  BASE R("port/port1", A1, "withdrawn", "X", "02") R("port/port1", A1, "withdrawn", "Y", "03"), "" },
	{ "withdrawn with any value", BASE, BASE R("step/s", "good", "stated", "X", "02"), BASE R("step/s", "", "withdrawn", "Y", "03"),
	  BASE R("step/s", "", "withdrawn", "Y", "03") R("step/s", "good", "stated", "X", "02"), "withdrawn step/s: good/8 /8\n" },
	{ "a withdrawal of another value waits for nothing", BASE, BASE R("port/port1", A2, "console", "X", "02"), BASE R("port/port1", A1, "withdrawn", "Y", "03"),
	  BASE R("port/port1", A2, "console", "X", "02") R("port/port1", A1, "withdrawn", "Y", "03"), "" },
	{ "what was read and withdrawn on each side", BASE,
	  BASE R("kit/a", "1", "stated", "X", "01") R("kit/a", "1", "withdrawn", "X", "03"),
	  BASE R("kit/a", "1", "stated", "Y", "02") R("kit/a", "1", "withdrawn", "Y", "04"),
	  BASE R("kit/a", "1", "stated", "X", "01") R("kit/a", "1", "stated", "Y", "02")
	  R("kit/a", "1", "withdrawn", "X", "03") R("kit/a", "1", "withdrawn", "Y", "04"), "" },
	{ "each withdraws what the other reads anew", BASE,
	  BASE R("port/port3", A1, "typed", "X", "01") R("port/port3", A2, "withdrawn", "X", "03"),
	  BASE R("port/port3", A2, "typed", "Y", "02") R("port/port3", A1, "withdrawn", "Y", "04"),
	  BASE R("port/port3", A1, "withdrawn", "Y", "04") R("port/port3", A1, "typed", "X", "01")
	  R("port/port3", A2, "withdrawn", "X", "03") R("port/port3", A2, "typed", "Y", "02"),
	  "reading port/port3: " A1 "/8 " A2 "/8\nmoved port/port3 theirs/9\n" },
	{ "what a withdrawal took back comes early with it", BASE,
	  BASE R("port/port3", A1, "typed", "X", "01") R("port/port3", A2, "withdrawn", "X", "03"),
	  BASE R("port/port3", A2, "typed", "Y", "02") R("port/port3", A1, "typed", "Y", "03") R("port/port3", A1, "withdrawn", "Y", "04"),
	  BASE R("port/port3", A1, "typed", "Y", "03") R("port/port3", A1, "withdrawn", "Y", "04") R("port/port3", A1, "typed", "X", "01")
	  R("port/port3", A2, "withdrawn", "X", "03") R("port/port3", A2, "typed", "Y", "02"),
	  "reading port/port3: " A1 "/8 " A2 "/8\nmoved port/port3 theirs/10\n" },
	/* --- gone by hand --- */
	{ "gone from THEIRS", BASE, BASE, HEAD READ, BASE, "kept port/port1 mine/7\n" },
	{ "gone from MINE", BASE R("kit/a", "1", "stated", "X", "01"), HEAD READ R("kit/a", "1", "stated", "X", "01"), BASE R("kit/a", "1", "stated", "X", "01"),
	  BASE R("kit/a", "1", "stated", "X", "01"), "kept port/port1 theirs/7\n" },
	{ "gone from both", BASE R("kit/a", "1", "stated", "X", "01"), HEAD READ OLD, HEAD READ OLD, HEAD READ OLD, "" },
	{ "list gone from MINE", BASE, HEAD, BASE, BASE, "kept port/port1 theirs/7\n" },
	{ "changed by hand", BASE, BASE, HEAD READ R("port/port1", A2, "typed", "X", "00"), BASE R("port/port1", A2, "typed", "X", "00"),
	  "kept port/port1 mine/7\n" },
	{ "a head key gone from THEIRS", HEAD "  due: x\n", HEAD "  due: x\n", HEAD, HEAD "  due: x\n", "kept site.due mine/6\n" },
	{ "a head key gone from MINE", HEAD "  due: x\n", HEAD, HEAD "  due: x\n", HEAD "  due: \"x\"\n", "kept site.due theirs/6\n" },
	/* --- the head --- */
	{ "value of MINE", HEAD "  due: x\n", HEAD "  due: y\n", HEAD "  due: x\n", HEAD "  due: y\n", "" },
	{ "value of THEIRS", HEAD "  due: x # day\n", HEAD "  due: x # day\n", HEAD "  due: y\n", HEAD "  due: \"y\" # day\n", "" },
	{ "values differ", "# top\n" HEAD "  due: x\n", "# top\n" HEAD "  due: y\n", HEAD "  due: \"z # w\"\n",
	  "# top\n" HEAD "  # in conflict: due is \"z # w\" in THEIRS\n  due: y\n", "head site.due: y/7 z # w/6\n" },
	{ "values differ, once more", HEAD "  due: x\n", HEAD "  # in conflict: due is \"z\" in THEIRS\n  due: y\n", HEAD "  due: z\n",
	  HEAD "  # in conflict: due is \"z\" in THEIRS\n  due: y\n", "head site.due: y/7 z/6\n" },
	{ "one site renamed", HEAD, "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n", HEAD,
	  "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n", "" },
	{ "renamed by THEIRS, with readings", BASE, BASE R("kit/a", "1", "stated", "X", "01"),
	  "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n" READ OLD R("kit/b", "1", "stated", "Y", "02"),
	  "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: \"TB-12\"\n" READ OLD R("kit/a", "1", "stated", "X", "01") R("kit/b", "1", "stated", "Y", "02"), "" },
	{ "renamed by THEIRS", HEAD, HEAD, "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n",
	  "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: \"TB-12\"\n", "" },
	{ "new keys, known and unknown", HEAD, HEAD "gear-digest: a\n", HEAD "plan-digest: b\nodd key:\n  - 1\n  - {x: ~}\n",
	  HEAD "gear-digest: a\nplan-digest: \"b\"\n\"odd key\": [\"1\", {x: ~}]\n", "" },
	{ "an unknown value changed on both sides", HEAD "x: {a: 1, b: 1}\n", HEAD "x: {a: 2, b: 1}\n", HEAD "x: {a: 1, b: 3}\n", HEAD "x: {a: 2, b: \"3\"}\n", "" },
	{ "a practice site", HEAD "practice:\n", HEAD "practice:\n", HEAD "practice:\n  wait: 5\n", HEAD "practice: {wait: \"5\"}\n", "" },
	{ "a block text replaced", HEAD "x: |\n  one\n  two\ny: 1\n", HEAD "x: |\n  one\n  two\ny: 1\n", HEAD "x: three\ny: 1\n", HEAD "x: \"three\"\ny: 1\n", "" },
	/* --- layout --- */
	{ "no list yet", HEAD, HEAD, BASE, HEAD READ OLD, "" },
	{ "no list yet, no newline", HEAD, HEAD "note: x", BASE, HEAD "note: x\nreadings:\n" OLD, "" },
	{ "an empty list", HEAD, HEAD "readings: [] # none\n", BASE, HEAD "readings: # none\n" OLD, "" },
	{ "no final newline", BASE, HEAD READ "  - {of: port/port1, value: \"" A1 "\", source: typed, by: X, at: \"2026-03-01T10:00:00Z\"}",
	  BASE R("kit/a", "1", "stated", "Y", "02"), BASE R("kit/a", "1", "stated", "Y", "02"), "" },
	{ "comments come along", BASE, BASE "# end of MINE\n",
	  HEAD "# about\n" READ OLD "    # of the old one\n  # of the new one\n  - of: kit/a\n    value: 1 # one\n    source: stated\n    by: Y\n    at: t\n    hue: [a,b]\n",
	  HEAD READ OLD "  # of the new one\n  - of: kit/a\n    value: 1 # one\n    source: stated\n    by: Y\n    at: t\n    hue: [a,b]\n# end of MINE\n",
	  "comment # about theirs/6\ncomment # of the old one theirs/9\n" },
	{ "the first entry's comment", HEAD, HEAD, HEAD READ "  # first\n\n  # of all\n" OLD, HEAD READ "  # of all\n" OLD, "comment # first theirs/7\n" },
	{ "other indentation, deeper", BASE, BASE, HEAD READ "    - {of: port/port1, value: \"" A1 "\", source: typed, by: X, at: \"2026-03-01T10:00:00Z\"}\n"
	  "    -   of: kit/a\n        value: |\n          one\n\n            two\n        source: stated\n        by: Y\n        at: t\n",
	  BASE "  -   of: kit/a\n      value: |\n        one\n\n          two\n      source: stated\n      by: Y\n      at: t\n", "" },
	{ "other indentation, none", BASE, BASE, HEAD READ "- {of: port/port1, value: \"" A1 "\", source: typed, by: X, at: \"2026-03-01T10:00:00Z\"}\n"
	  "- of: kit/a\n  value: >\n    one\n    two\n  source: stated\n  by: Y\n  at: t\n",
	  BASE "  - of: kit/a\n    value: >\n      one\n      two\n    source: stated\n    by: Y\n    at: t\n", "" },
	{ "other line breaks", HEAD, "format: 1\r\nplan: flood\r\ngear: eg-12\r\nsite:\r\n  code: TB-11\r\n", HEAD READ "  - of: kit/a\n    value: 1\n    source: stated\n    by: Y\n    at: t\n",
	  "format: 1\r\nplan: flood\r\ngear: eg-12\r\nsite:\r\n  code: TB-11\r\nreadings:\r\n  - of: kit/a\r\n    value: 1\r\n    source: stated\r\n    by: Y\r\n    at: t\r\n", "" },
	{ "THEIRS in brackets", HEAD, HEAD, HEAD "readings: [" ONE ", {of: kit/b, value: b, source: typed,\n  by: Y, at: 2}]\n",
	  HEAD READ "  - " ONE "\n  - {of: \"kit/b\", value: \"b\", source: \"typed\", by: \"Y\", at: \"2\"}\n", "" },
	{ "MINE in brackets", FLOW ", readings: [" ONE "]}\n", FLOW ", readings: [" ONE "] # m\n}\n", FLOW ", readings: [" ONE ", " TWO "], x: 1}\n",
	  FLOW ", readings: [" ONE ", " TWO "], x: \"1\" # m\n}\n", "" },
	{ "before the first in brackets", FLOW ", readings: [" ONE ", " TWO "]}", FLOW ", readings: [" TWO ",]}", FLOW ", readings: [" ONE ", " TWO "]}",
	  FLOW ", readings: [" ONE ", " TWO ",]}", "kept port/port1 theirs/1\n" },
	{ "no list in brackets", FLOW "}", FLOW "}", FLOW ", readings: [" ONE ", " TWO "]}", FLOW ", readings: [" ONE ", " TWO "]}", "" },
	{ "an empty list in brackets", FLOW "}", FLOW ", readings: []}", FLOW ", readings: [" ONE ", " TWO "]}", FLOW ", readings: [" ONE ", " TWO "]}", "" },
	{ "a list in the middle", HEAD READ OLD "waivers: []\n# z\n", HEAD READ OLD "waivers: []\n# z\n", HEAD READ OLD R("kit/a", "1", "stated", "Y", "02") "waivers:\n" WAIVER("L"),
	  HEAD READ OLD R("kit/a", "1", "stated", "Y", "02") "waivers:\n" WAIVER("L") "# z\n", "" },
	{ "a document's end", HEAD "...\n", HEAD "...\n# z\n", BASE, HEAD READ OLD "...\n# z\n", "" },
	/* --- waivers, unknown keys --- */
	{ "waivers of both", HEAD, HEAD "waivers:\n" WAIVER("L1"), HEAD "waivers:\n" WAIVER("L2"), HEAD "waivers:\n" WAIVER("L1") WAIVER("L2"), "" },
	{ "an unknown key of an old reading", BASE, BASE, HEAD READ "  - {of: port/port1, value: \"" A1 "\", source: typed, by: X, at: \"2026-03-01T10:00:00Z\", x: 1}\n",
	  HEAD READ "  - {of: port/port1, value: \"" A1 "\", source: typed, by: X, at: \"2026-03-01T10:00:00Z\", x: \"1\"}\n", "" },
};

static void test_joins(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof joins / sizeof *joins; i++)
		merge_expect(&joins[i]);
}

/* --- what is refused --- */

static const struct {
	const char *name, *base, *mine, *theirs, *file;
	enum pm_fault_kind kind;
	uint32_t line;
} refused[] = {
	{ "two sites", "", HEAD, "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n", "theirs.yaml", PM_FAULT_VALUE, 5 },
	{ "two sites, another base", HEAD, "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-13\n",
	  "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n", "theirs.yaml", PM_FAULT_VALUE, 5 },
	{ "another site's file in place of THEIRS", BASE, BASE, "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n" READ R("kit/a", "1", "stated", "Y", "00"),
	  "theirs.yaml", PM_FAULT_VALUE, 5 },
	{ "another site's file in place of MINE", BASE, "format: 1\nplan: flood\ngear: eg-12\nsite:\n  code: TB-12\n", BASE, "theirs.yaml", PM_FAULT_VALUE, 5 },
	{ "two plans", "", HEAD, "format: 1\nplan: ebb\ngear: eg-12\nsite:\n  code: TB-11\n", "theirs.yaml", PM_FAULT_VALUE, 2 },
	{ "two gears", "", HEAD, "format: 1\nplan: flood\ngear: eg-13\nsite:\n  code: TB-11\n", "theirs.yaml", PM_FAULT_VALUE, 3 },
	{ "markers in MINE", HEAD, HEAD "<<<<<<< ours\n  due: x\n", HEAD, "mine.yaml", PM_FAULT_SYNTAX, 6 },
	{ "markers in THEIRS", HEAD, HEAD, HEAD "=======\n", "theirs.yaml", PM_FAULT_SYNTAX, 6 },
	{ "markers with CRLF", HEAD, HEAD, HEAD ">>>>>>> theirs\r\n", "theirs.yaml", PM_FAULT_SYNTAX, 6 },
	{ "markers in the base", "||||||| base\n" HEAD, HEAD, HEAD, "base.yaml", PM_FAULT_SYNTAX, 1 },
	{ "MINE is empty", HEAD, "", HEAD, "mine.yaml", PM_FAULT_SYNTAX, 1 },
	{ "THEIRS is no YAML", HEAD, HEAD, HEAD "\t- x\n", "theirs.yaml", PM_FAULT_SYNTAX, 6 },
	{ "the base is no job", "format: 1\n", HEAD, HEAD, "base.yaml", PM_FAULT_VALUE, 1 },
	{ "a newer format", HEAD, HEAD, "format: 2\n", "theirs.yaml", PM_FAULT_NEWER, 1 },
	{ "no safe place", HEAD "? readings\n: - " ONE "\n", HEAD "? readings\n: - " ONE "\n", HEAD READ "  - " ONE "\n  - " TWO "\n",
	  "mine.yaml", PM_FAULT_SYNTAX, 0 },
};

static void test_refused(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
		struct store_merged merged;
		struct pm_fault fault = { 0 };
		if (merge_texts(refused[i].base, refused[i].mine, refused[i].theirs, &merged, &fault))
			fail_msg("%s: merged to\n%s", refused[i].name, merged.text);
		if (fault.kind != refused[i].kind || fault.line != refused[i].line || strcmp(fault.file, refused[i].file))
			fail_msg("%s: %s %s:%u: %s", refused[i].name, pm_fault_word(fault.kind), fault.file, fault.line, fault.message);
	}
}

/* Near misses of a marker are text like any other. */
static void test_no_markers(void **state)
{
	(void)state;
	static const char *const texts[] = { HEAD "x: <<<<<<< y\n", HEAD "x: |\n  <<<<<<< y\n", HEAD "\"<<<<<<<<\": y\n", HEAD "<<<<<<: y\n", HEAD "# <<<<<<< y\n" };
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		struct store_merged merged;
		struct pm_fault fault = { 0 };
		if (!merge_texts("", texts[i], texts[i], &merged, &fault))
			fail_msg("%s: %s", texts[i], fault.message);
		assert_string_equal(merged.text, texts[i]);
		store_merged_free(&merged);
	}
}

/* A conflict comment that has no safe place is left out, and the merge is made. */
static void test_no_room_for_a_comment(void **state)
{
	(void)state;
	struct store_merged merged;
	struct pm_fault fault = { 0 };
	assert_true(merge_texts("", "{format: 1, plan: p, gear: g, x: \"a\n  b\", site: {code: a, due: x}}\n",
	                        "{format: 1, plan: p, gear: g, x: a b, site: {code: a, due: y}}\n", &merged, &fault));
	assert_string_equal(merged.text, "{format: 1, plan: p, gear: g, x: \"a\n  b\", site: {code: a, due: x}}\n");
	assert_int_equal(merged.conflicts, 1);
	store_merged_free(&merged);
}

/* Every key of a reading and of a waiver tells entries apart: one with another
 * value is another entry, whichever keys the table has. */
static void test_every_key(void **state)
{
	(void)state;
	static const struct {
		const char *list;
		const struct store_table *table;
	} lists[] = { { "readings", &store_reading_table }, { "waivers", &store_waiver_table } };
	struct pm_arena arena;
	pm_arena_init(&arena);
	for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
		for (size_t changed = 0; changed < lists[i].table->count; changed++) {
			struct pm_text text[2];
			struct store_merged merged;
			struct pm_fault fault = { 0 };
			for (size_t side = 0; side < 2; side++) {
				pm_text_grow(&text[side], &arena);
				pm_text_add(&text[side], HEAD "%s:\n", lists[i].list);
				for (size_t k = 0; k < lists[i].table->count; k++) {
					const struct store_field *field = &lists[i].table->fields[k];
					bool other = side == 1 && k == changed;
					const char *value = field->choice ? field->choice->word(other) : other ? "y" : "x";
					pm_text_add(&text[side], "%s%s: \"%s\"\n", k ? "    " : "  - ", field->key, value);
				}
			}
			assert_false(arena.failed);
			if (!merge_texts(text[0].data, text[0].data, text[1].data, &merged, &fault))
				fail_msg("%s: %s", lists[i].table->fields[changed].key, fault.message);
			if (merged.taken != 1 || merged.notes != 1)
				fail_msg("%s of %s:\n%s", lists[i].table->fields[changed].key, lists[i].list, merged.text);
			store_merged_free(&merged);
		}
	pm_arena_free(&arena);
}

static void test_too_many(void **state)
{
	(void)state;
	struct pm_text text[2];
	struct pm_arena arena;
	struct store_merged merged;
	struct pm_fault fault = { 0 };
	pm_arena_init(&arena);
	for (int side = 0; side < 2; side++) {
		pm_text_grow(&text[side], &arena);
		pm_text_str(&text[side], HEAD READ);
		for (unsigned i = 0; i < STORE_MOST_READINGS / 2 + 1; i++)
			pm_text_add(&text[side], "- {of: \"kit/%d-%u\", value: 1, source: stated, by: X, at: \"2026-03-01T10:00:00Z\"}\n", side, i);
	}
	assert_false(arena.failed);
	assert_false(merge_texts(HEAD, text[0].data, text[1].data, &merged, &fault));
	assert_int_equal(fault.kind, PM_FAULT_LIMIT);
	pm_arena_free(&arena);
}

/* Readings of one value on one side, on the other as many withdrawals of it or readings
 * in another notation, as many as a job may have together. */
static void test_many(void **state)
{
	(void)state;
	static const struct { const char *name, *source, *value; unsigned others, again; const char *report; } cases[] = {
		{ "all withdrawn", "withdrawn", A1, 4999, 0, "withdrawn port/port1: " A1 "/5005 " A1 "/7\n" },
		{ "withdrawn and read again", "withdrawn", A1, 4998, 1, "" },
		{ "any value withdrawn", "withdrawn", "", 4999, 0, "withdrawn port/port1: " A1 "/5005 /7\n" },
		{ "read in another notation", "typed", "0000.5e00.5301", 4999, 0, "" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		struct pm_text mine, theirs;
		struct pm_arena arena;
		struct store_merged merged;
		struct pm_fault fault = { 0 };
		char report[400];
		pm_arena_init(&arena);
		pm_text_grow(&mine, &arena);
		pm_text_grow(&theirs, &arena);
		pm_text_str(&mine, HEAD READ);
		pm_text_str(&theirs, HEAD READ);
		for (unsigned k = 0; k < 4999; k++)
			pm_text_add(&mine, "  - {of: port/port1, value: %s, source: typed, by: X%u, at: \"2026-03-01T10:00:%02uZ\"}\n", A1, k, k % 60);
		for (unsigned k = 0; k < cases[i].others + cases[i].again; k++)
			pm_text_add(&theirs, "  - {of: port/port1, value: \"%s\", source: %s, by: Y%u, at: \"2026-03-01T10:01:%02uZ\"}\n",
			            k < cases[i].others ? cases[i].value : A1, k < cases[i].others ? cases[i].source : "typed", k, k % 60);
		assert_false(arena.failed);
		clock_t start = clock();
		if (!merge_texts(HEAD, mine.data, theirs.data, &merged, &fault))
			fail_msg("%s: %s:%u: %s", cases[i].name, fault.file, fault.line, fault.message);
		double took = (double)(clock() - start) / CLOCKS_PER_SEC;
		merge_report(&merged, report, sizeof report);
		if (strcmp(report, cases[i].report) != 0)
			fail_msg("%s: %s", cases[i].name, report);
		/* held against each other three at a time, they would take minutes */
		if (took > 4)
			fail_msg("%s: %f s", cases[i].name, took);
		store_merged_free(&merged);
		pm_arena_free(&arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_joins),
		cmocka_unit_test(test_refused),
		cmocka_unit_test(test_no_markers),
		cmocka_unit_test(test_no_room_for_a_comment),
		cmocka_unit_test(test_every_key),
		cmocka_unit_test(test_too_many),
		cmocka_unit_test(test_many),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
