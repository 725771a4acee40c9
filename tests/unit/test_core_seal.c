#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void test_sha256(void **state)
{
	(void)state;
	static const struct { const char *text, *hex, *source; } hashes[] = {
		{ "abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", "FIPS 180-4 example" },
		{ "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
		  "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1", "FIPS 180-4 example, 448 bits" },
		{ "", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", "from memory" },
	};
	for (size_t i = 0; i < COUNT(hashes); i++) {
		char hex[65];
		pm_sha256_hex(hashes[i].text, strlen(hashes[i].text), hex);
		assert_string_equal(hex, hashes[i].hex);
	}
}

/* ISO/IEC 7064 MOD 37-2; the values come from a general tool. */
static void test_check_character(void **state)
{
	(void)state;
	static const struct { const char *text; char check; } vectors[] = { { "G123489654321", 'Y' }, { "00005E005301", '5' } };
	for (size_t i = 0; i < COUNT(vectors); i++) {
		char whole[40];
		size_t length = strlen(vectors[i].text);
		assert_int_equal(pm_check_character(vectors[i].text, length), vectors[i].check);
		snprintf(whole, sizeof whole, "%s%c", vectors[i].text, vectors[i].check);
		assert_true(pm_check_character_valid(whole, length + 1));
		for (const char *c = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"; *c; c++) {
			whole[length] = *c;
			assert_int_equal(pm_check_character_valid(whole, length + 1), *c == vectors[i].check);
		}
	}
	assert_int_equal(pm_check_character("g123489654321", 13), 'Y');
	assert_true(pm_check_character_valid("00005e0053015", 13));
	assert_int_equal(pm_check_character("00-00", 5), 0);
	assert_int_equal(pm_check_character("0*", 2), 0);
	assert_int_equal(pm_check_character("\xC3\xA9", 2), 0);
	assert_false(pm_check_character_valid("", 0));
	assert_false(pm_check_character_valid("1", 1));
	/* each of the 37 comes up, `*` included */
	bool met[256] = { false };
	for (unsigned i = 0; i < 4096; i++) {
		char text[8];
		snprintf(text, sizeof text, "%03X", i);
		met[(unsigned char)pm_check_character(text, 3)] = true;
	}
	for (const char *c = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"; *c; c++)
		assert_true(met[(unsigned char)*c]);
	struct pm_eui48 address;
	assert_true(pm_eui48_parse("00:00:5e:00:53:01", &address));
	assert_int_equal(pm_eui48_check(&address), '5');
}

static uint64_t next(uint64_t *seed)
{
	*seed ^= *seed << 13;
	*seed ^= *seed >> 7;
	*seed ^= *seed << 17;
	return *seed >> 16;
}

static void swap(char *text, size_t a, size_t b)
{
	char kept = text[a];
	text[a] = text[b];
	text[b] = kept;
}

/* Make one slip of a kind at a random place; false when it changes nothing. */
static bool slip(char text[static 13], unsigned kind, uint64_t *seed)
{
	char before[13];
	memcpy(before, text, 13);
	uint64_t at = next(seed);
	switch (kind) {
	case 0: text[at % 12] = "0123456789ABCDEF"[next(seed) % 16]; break;
	case 1: swap(text, at % 11, at % 11 + 1); break;
	case 2: swap(text, at % 10, at % 10 + 2); break;
	case 3: swap(text, at % 5 * 2, at % 5 * 2 + 2), swap(text, at % 5 * 2 + 1, at % 5 * 2 + 3); break;
	case 4: /* the pair is made a twin first */
		at %= 11;
		text[at + 1] = before[at + 1] = text[at];
		text[at] = text[at + 1] = "0123456789ABCDEF"[next(seed) % 16];
		break;
	default: {
		uint64_t other = (at + 1 + next(seed) % 11) % 12;
		at %= 12;
		if (other == at)
			return false;
		text[at] = "0123456789ABCDEF"[next(seed) % 16];
		text[other] = "0123456789ABCDEF"[next(seed) % 16];
		if (text[at] == before[at] || text[other] == before[other])
			return false;
	}
	}
	if (memcmp(before, text, 13) == 0)
		return false;
	before[12] = pm_check_character(before, 12);
	text[12] = before[12];
	return true;
}

/* What the check character catches on 12 hex digits; the expected shares come
 * from 20,000 trials with a general tool. */
static void test_detection(void **state)
{
	(void)state;
	static const struct { const char *what; double expected; } kinds[] = {
		{ "one wrong", 100 }, { "adjacent swap", 100 }, { "jump swap", 100 },
		{ "octet swap", 97.8 }, { "twin", 100 }, { "two wrong", 97.3 },
	};
	uint64_t seed = 0x2545F4914F6CDD1D;
	for (unsigned kind = 0; kind < COUNT(kinds); kind++) {
		size_t trials = 0, caught = 0;
		while (trials < 200000) {
			char text[13] = { 0 };
			for (size_t i = 0; i < 12; i++)
				text[i] = "0123456789ABCDEF"[next(&seed) % 16];
			if (!slip(text, kind, &seed))
				continue;
			trials++;
			caught += !pm_check_character_valid(text, 13);
		}
		double share = 100.0 * (double)caught / (double)trials;
		printf("# figure MOD 37-2 on 12 hex digits catches %s: %.2f %% (expected %.1f)\n", kinds[kind].what, share, kinds[kind].expected);
		if (kinds[kind].expected >= 100)
			assert_int_equal(caught, trials);
		else   /* three standard errors of 20,000 trials are 0.35 */
			assert_true(share > kinds[kind].expected - 0.4 && share < kinds[kind].expected + 0.4);
	}
}

static void compute(struct fixture *f, struct pm_seal *seal)
{
	fixture_forget(f);
	assert_true(pm_seal_job(&f->job, &f->gear, &f->arena, seal));
}

static void test_canonical(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_seal seal, same;
	fixture_init(&f);
	compute(&f, &seal);
	static const char head[] = "portmuster-seal 1\nsite=TB-01\nunit=GS-0417\nparent=GP-02\nserial=\nport mgmt=\nport port1=\n";
	assert_int_equal(strncmp(seal.canonical, head, sizeof head - 1), 0);
	assert_false(seal.complete);
	fixture_say(&f, "router/serial", "  EG12-26-00417\t");
	for (size_t i = 0; i < FIXTURE_PORTS; i++)
		fixture_say(&f, fixture_text(&f, "port/%s", f.ports[i].name.text), fixture_text(&f, "0:0:5e:0:53:%zx", i));
	compute(&f, &seal);
	assert_string_equal(seal.canonical, "portmuster-seal 1\nsite=TB-01\nunit=GS-0417\nparent=GP-02\nserial=EG12-26-00417\n"
		"port mgmt=00-00-5E-00-53-00\nport port1=00-00-5E-00-53-01\nport port2=00-00-5E-00-53-02\n"
		"port port3=00-00-5E-00-53-03\nport port4=00-00-5E-00-53-04\nport port5=00-00-5E-00-53-05\n"
		"port port6=00-00-5E-00-53-06\nport port7=00-00-5E-00-53-07\nport port8=00-00-5E-00-53-08\n"
		"port port9=00-00-5E-00-53-09\nport port10=00-00-5E-00-53-0A\nport port11=00-00-5E-00-53-0B\n"
		"port port12=00-00-5E-00-53-0C\n");
	assert_true(seal.complete);
	char hex[65];
	pm_sha256_hex(seal.canonical, strlen(seal.canonical), hex);
	assert_string_equal(hex, seal.sha256);
	/* the published rule, in other words: 64 bits in base 26, then the check */
	uint64_t number = 0;
	char eight[9] = { 0 };
	for (int i = 0; i < 16; i++)
		number = number * 16 + (uint64_t)pm_hex_value(hex[i]);
	for (int i = 7; i >= 0; i--, number /= 26)
		eight[i] = "ACDEFHJKLMNPRTVWXY23456789"[number % 26];
	char whole[PM_SEAL_TEXT];
	snprintf(whole, sizeof whole, "%.4s-%s-%c", eight, eight + 4, pm_check_character(eight, 8));
	assert_string_equal(seal.text, whole);
	/* notation, case and a second reading change nothing */
	char kept[PM_SEAL_TEXT];
	strcpy(kept, seal.text);
	fixture_say(&f, "port/port3", "0000.5E00.5303");
	compute(&f, &same);
	assert_string_equal(same.text, kept);
	/* a conflict takes the value away, and so does a skip */
	fixture_say(&f, "port/port3", "00-00-5E-00-53-33");
	compute(&f, &same);
	assert_string_not_equal(same.text, kept);
	assert_false(same.complete);
	assert_non_null(strstr(same.canonical, "port port3=\n"));
	fixture_forget(&f);
}

/* Every single-character change of every registered fact changes the seal. */
static void test_every_change(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_seal seal, other;
	size_t tried = 0;
	struct pm_attached device = { word("camera"), word("north bank"), word("KC-20881"), word("00-00-5E-00-53-A1") };
	fixture_init(&f);
	f.job.attached = &device, f.job.attached_count = 1;
	fixture_say(&f, "router/serial", "EG12-26-00417");
	for (size_t i = 0; i < FIXTURE_PORTS; i++)
		fixture_say(&f, fixture_text(&f, "port/%s", f.ports[i].name.text), fixture_address(&f, i));
	compute(&f, &seal);
	char kept[PM_SEAL_TEXT];
	strcpy(kept, seal.text);
	struct { struct pm_word *word; bool address; } facts[7 + 1 + FIXTURE_PORTS] = {
		{ &f.job.code, false }, { &f.job.unit, false }, { &f.job.parent, false },
		{ &device.kind, false }, { &device.name, false }, { &device.serial, false }, { &device.address, true },
	};
	for (size_t i = 0; i < f.job.reading_count; i++)
		facts[7 + i].word = &f.readings[i].value, facts[7 + i].address = i > 0;
	for (size_t i = 0; i < COUNT(facts); i++) {
		const char *right = facts[i].word->text;
		for (size_t at = 0; right[at]; at++)
			for (int c = facts[i].address ? '0' : 0x21; c < 0x7F; c++) {
				char seen[40];
				snprintf(seen, sizeof seen, "%s", right);
				seen[at] = (char)c;
				if (c == right[at] || (facts[i].address && (pm_hex_value(c) < 0 || right[at] == '-' || pm_upper(c) == right[at])))
					continue;
				facts[i].word->text = seen;
				compute(&f, &other);
				if (strcmp(other.text, kept) == 0)
					fail_msg("%s and %s give one seal", right, seen);
				tried++;
			}
		facts[i].word->text = right;
	}
	compute(&f, &other);
	assert_string_equal(other.text, kept);
	printf("# figure %zu single-character changes of 21 facts, each changes the seal\n", tried);
	fixture_forget(&f);
}

/* Facts that come from a sheet give the seal that the job gives. */
static void test_facts(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_seal seal, other;
	struct pm_attached device = { word("camera"), word("north"), word(NULL), word("0000.5e00.53a1") };
	struct pm_seal_port ports[FIXTURE_PORTS];
	fixture_init(&f);
	f.job.attached = &device, f.job.attached_count = 1;
	fixture_reach(&f, REGISTER);
	compute(&f, &seal);
	for (size_t i = 0; i < FIXTURE_PORTS; i++)
		ports[i] = (struct pm_seal_port){ f.ports[i].name.text, fixture_text(&f, "0:0:5e:0:53:%zx", 0x10 + i) };
	struct pm_seal_facts facts = { "TB-01", " GS-0417", "GP-02\t", "EG12-26-00417", ports, FIXTURE_PORTS, &device, 1 };
	assert_true(pm_seal_facts(&facts, &f.arena, &other));
	assert_string_equal(other.canonical, seal.canonical);
	assert_string_equal(other.text, seal.text);
	assert_true(other.complete);
	ports[3].address = NULL;
	assert_true(pm_seal_facts(&facts, &f.arena, &other));
	assert_string_not_equal(other.text, seal.text);
	assert_false(other.complete);
	facts = (struct pm_seal_facts){ .port_count = 0 };
	assert_true(pm_seal_facts(&facts, &f.arena, &other));
	assert_string_equal(other.canonical, "portmuster-seal 1\nsite=\nunit=\nparent=\nserial=\n");
	assert_false(other.complete);
	fixture_forget(&f);
}

/* A value can't look like the end of its line and the start of another. */
static void test_no_forged_line(void **state)
{
	(void)state;
	struct fixture f;
	struct pm_seal seal;
	fixture_init(&f);
	fixture_say(&f, "router/serial", "X\nport mgmt=00-00-5E-00-53-00\rY\x1B");
	f.ports[1].name = word("port1=\nport evil");
	f.job.code = word("A\nunit=B");
	compute(&f, &seal);
	size_t lines = 0;
	for (const char *c = seal.canonical; *c; c++) {
		lines += *c == '\n';
		assert_true((unsigned char)*c >= ' ' || *c == '\n');
	}
	assert_int_equal(lines, 5 + FIXTURE_PORTS);
	assert_non_null(strstr(seal.canonical, "site=A\\x0Aunit=B\n"));
	fixture_forget(&f);
}

static void test_fact_value(void **state)
{
	(void)state;
	struct fixture f;
	fixture_init(&f);
	assert_string_equal(pm_fact_value(&f.job, "site/unit", &f.arena), "GS-0417");
	assert_null(pm_fact_value(&f.job, "router/serial", &f.arena));
	assert_null(pm_fact_value(&f.job, "site/nothing", &f.arena));
	fixture_say(&f, "site/unit", " GS-0418 ");
	assert_string_equal(pm_fact_value(&f.job, "site/unit", &f.arena), "GS-0418");
	fixture_say(&f, "port/port1", "no address");
	assert_null(pm_fact_value(&f.job, "port/port1", &f.arena));
	fixture_read(&f, "site/parent", NULL, PM_SOURCE_SKIPPED, NULL, FIXTURE_NOW);
	assert_null(pm_fact_value(&f.job, "site/parent", &f.arena));
	fixture_forget(&f);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_sha256),       cmocka_unit_test(test_check_character), cmocka_unit_test(test_detection),
		cmocka_unit_test(test_canonical),    cmocka_unit_test(test_every_change),      cmocka_unit_test(test_facts),
		cmocka_unit_test(test_no_forged_line), cmocka_unit_test(test_fact_value),
	};
	return cmocka_run_group_tests_name("seal", tests, NULL, NULL);
}
