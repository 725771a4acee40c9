#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "portmuster/seal.h"

/* ICAO Annex 10 volume II, the spelling alphabet. */
static const char alphabet[] = "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November "
	"Oscar Papa Quebec Romeo Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu";
static const char digits[] = "zero one two three four five six seven eight nine";
static const char sounds[] = "ZE-RO WUN TOO TREE FOW-er FIFE SIX SEV-en AIT NIN-er";

/* The `index`th word of a list is `word`. */
static void assert_word(const char *list, int index, const char *word)
{
	for (; index; index--)
		list = strchr(list, ' ') + 1;
	size_t length = strcspn(list, " ");
	assert_non_null(word);
	assert_int_equal(strlen(word), length);
	assert_memory_equal(word, list, length);
}

static void test_letters(void **state)
{
	(void)state;
	for (int i = 0; i < 26; i++) {
		assert_word(alphabet, i, pm_spell('A' + i));
		assert_ptr_equal(pm_spell('a' + i), pm_spell('A' + i));
	}
}

static void test_digits(void **state)
{
	(void)state;
	for (int i = 0; i < 10; i++) {
		assert_word(digits, i, pm_spell('0' + i));
		assert_word(sounds, i, pm_spell_digit_sound('0' + i));
	}
	assert_string_equal(pm_spell('*'), "star");   /* this project's rule */
}

static void test_nothing_else(void **state)
{
	(void)state;
	for (int c = -128; c < 400; c++) {
		bool digit = c >= '0' && c <= '9', letter = (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
		assert_int_equal(pm_spell(c) != NULL, digit || letter || c == '*');
		assert_int_equal(pm_spell_digit_sound(c) != NULL, digit);
	}
}

/* No two characters share a word. */
static void test_words_differ(void **state)
{
	(void)state;
	static const char all[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";
	for (size_t i = 0; i < sizeof all - 1; i++)
		for (size_t k = 0; k < i; k++)
			assert_string_not_equal(pm_spell(all[i]), pm_spell(all[k]));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_letters), cmocka_unit_test(test_digits),
		cmocka_unit_test(test_nothing_else), cmocka_unit_test(test_words_differ),
	};
	return cmocka_run_group_tests_name("spelling", tests, NULL, NULL);
}
