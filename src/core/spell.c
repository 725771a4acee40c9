#include "portmuster/seal.h"
#include "portmuster/text.h"

/* ICAO Annex 10 volume II, spelling alphabet; the letters' words as printed there. */
static const char *const letters[26] = {
	"Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India",
	"Juliett", "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo",
	"Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
};

static const char *const digits[10] = {
	"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
};

static const char *const sounds[10] = {
	"ZE-RO", "WUN", "TOO", "TREE", "FOW-er", "FIFE", "SIX", "SEV-en", "AIT", "NIN-er",
};

const char *pm_spell(int character)
{
	character = pm_upper(character);
	if (pm_is_upper(character))
		return letters[character - 'A'];
	if (pm_is_digit(character))
		return digits[character - '0'];
	/* the 37th character has no word in the alphabet: this project's rule */
	return character == '*' ? "star" : NULL;
}

const char *pm_spell_digit_sound(int character)
{
	return pm_is_digit(character) ? sounds[character - '0'] : NULL;
}
