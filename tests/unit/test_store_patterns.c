/* Expressions in a gear profile: refused, with their line, when they do not
 * compile or have no group. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "scratch.h"
#include "store/document.h"

#define HEAD "format: \"1\"\ngear: \"eg-9\"\ntitle: \"practice\"\nports:\n  - { name: \"port1\" }\nconsole:\n"

#define COSTLY "write it without back-references, and its counts so that they multiply to 1000 at most"

static const struct {
	const char *line;
	const char *message, *remedy;   /* null: it is accepted */
} cases[] = {
	{ "  prompt: \"eg-9> $\"\n", NULL, NULL },
	{ "  interface-line: \"^~~ ([a-z0-9]+)\"\n", NULL, NULL },
	{ "  address-line: '^ +true name (.*)$'\n", NULL, NULL },
	{ "  serial-line: '(a|b)c'\n", NULL, NULL },
	{ "  interface-line: \"\"\n", NULL, NULL },
	{ "  prompt: \"eg(9> $\"\n", "prompt \"eg(9> $\" is no POSIX extended regular expression: ", "" },
	{ "  interface-line: \"^~~ ([a-z\"\n", "interface-line \"^~~ ([a-z\" is no POSIX extended regular expression: ", "" },
	{ "  address-line: \"^ +true name .*$\"\n", "address-line \"^ +true name .*$\" has no group", "put round brackets around what stands for the address" },
	{ "  serial-line: '\\(a\\)'\n", "serial-line \"\\(a\\)\" has no group", "put round brackets around what stands for the serial number" },
	{ "  serial-line: '([A-Z]{2}[0-9]{2}-[0-9]{4})'\n", NULL, NULL },
	{ "  serial-line: '(x{1,10}){10}(y{10,})'\n", NULL, NULL },
	{ "  serial-line: '(x{1,10}){10}(y{11})'\n", "serial-line \"(x{1,10}){10}(y{11})\" repeats too often", COSTLY },
	{ "  serial-line: '(((x{1,200}){1,200}){1,200})'\n", "serial-line \"(((x{1,200}){1,200}){1,200})\" repeats too often", COSTLY },
	{ "  serial-line: '(x{99999999999999999999999})'\n", "serial-line \"(x{99999999999999999999999})\" repeats too often", COSTLY },
	{ "  serial-line: '(.*)(.*)\\1\\2x'\n", "serial-line \"(.*)(.*)\\1\\2x\" has a back-reference", COSTLY },
	{ "  serial-line: '(.*)\\\\1x'\n", NULL, NULL },
	{ "  interface-line: \"x\"\n", "interface-line \"x\" has no group", "put round brackets around what stands for the name" },
};

static void patterns(void **state)
{
	(void)state;
	char folder[200], path[256];
	assert_true(scratch_make(folder, sizeof folder));
	snprintf(path, sizeof path, "%s/eg-9.yaml", folder);
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct store_gear gear;
		struct pm_fault fault = { 0 };
		char text[1024];
		snprintf(text, sizeof text, "%s%s", HEAD, cases[i].line);
		assert_true(scratch_write(path, text, strlen(text)));
		bool good = store_gear_load(path, &gear, &fault);
		if (good != !cases[i].message) fail_msg("%s%s", cases[i].line, fault.message);
		if (good) {
			store_gear_free(&gear);
			continue;
		}
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		assert_int_equal(fault.line, 7);
		assert_true(fault.column > 3);
		assert_memory_equal(fault.message, cases[i].message, strlen(cases[i].message));
		assert_string_equal(fault.remedy, cases[i].remedy);
	}
	scratch_remove(folder);
}

/* What was parsed is kept for the next time: it is asked again. */
static void kept(void **state)
{
	(void)state;
	static const char text[] = HEAD "  interface-line: \"^~~ ([a-z0-9]+)\"\n  serial-line: \"^plate (.*)\"\n";
	char folder[200], path[256];
	assert_true(scratch_make(folder, sizeof folder));
	assert_int_equal(setenv("XDG_CACHE_HOME", folder, 1), 0);
	snprintf(path, sizeof path, "%s/eg-9.yaml", folder);
	assert_true(scratch_write(path, text, strlen(text)));
	for (int time = 0; time < 2; time++) {
		struct store_gear gear;
		nanosleep(&(struct timespec){ .tv_nsec = 150000000 }, NULL);   /* a file just written is not kept */
		assert_true(store_gear_load(path, &gear, NULL));
		assert_string_equal(gear.gear.console.interface_line.text, "^~~ ([a-z0-9]+)");
		assert_int_equal(gear.gear.console.interface_line.line, 7);
		assert_null(gear.gear.console.address_line.text);
		assert_string_equal(gear.gear.console.serial_line.text, "^plate (.*)");
		store_gear_free(&gear);
	}
	snprintf(path, sizeof path, "%s/portmuster", folder);
	assert_int_equal(access(path, F_OK), 0);
	scratch_remove(folder);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(patterns), cmocka_unit_test(kept) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
