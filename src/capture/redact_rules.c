#include "capture/redact_rules.h"

#include <string.h>

#include "portmuster/text.h"

static const struct redact_rule table[] = {
	{ "password", REDACT_REST, false, "sets, shows or asks for a password" },
	{ "passwords", REDACT_REST, false, "more than one of them" },
	{ "passwd", REDACT_REST, false, "short for password" },
	{ "pwd", REDACT_REST, false, "short for password" },
	{ "passphrase", REDACT_REST, false, "opens a key" },
	{ "passcode", REDACT_REST, false, "another word for it" },
	{ "secret", REDACT_REST, false, "shared with a server, or a second password" },
	{ "secrets", REDACT_REST, false, "more than one of them" },
	{ "community", REDACT_REST, false, "SNMP community string, to read or to write with" },
	{ "rocommunity", REDACT_NEXT_WORD, false, "SNMP community string, to read with" },
	{ "rwcommunity", REDACT_NEXT_WORD, false, "SNMP community string, to write with" },
	{ "psk", REDACT_REST, false, "pre-shared key" },
	{ "key", REDACT_REST, true, "a key, pre-shared or private" },
	{ "keys", REDACT_REST, true, "more than one of them" },
	{ "keystring", REDACT_REST, false, "the text of a key" },
	{ "token", REDACT_REST, false, "access token" },
	{ "tokens", REDACT_REST, false, "more than one of them" },
	{ "credential", REDACT_REST, false, "a password or key with its user" },
	{ "credentials", REDACT_REST, false, "passwords or keys with their users" },
	{ "pin", REDACT_PROMPT, false, "number that opens a card" },
	{ "puk", REDACT_PROMPT, false, "number that opens a blocked card" },
	{ "again", REDACT_PROMPT, false, "the second typing of a new password" },
	{ "retype", REDACT_PROMPT, false, "the second typing of a new password" },
	{ "repeat", REDACT_PROMPT, false, "the second typing of a new password" },
	{ "confirm", REDACT_PROMPT, false, "the second typing of a new password" },
	{ "verify", REDACT_PROMPT, false, "the second typing of a new password" },
};

const struct redact_rule *redact_table(size_t *count)
{
	*count = sizeof table / sizeof *table;
	return table;
}

/* Words that show that a doubtful word is meant in its everyday sense: before
 * it, and behind it. */
static const char *const before[] = {
	"a", "any", "arrow", "each", "enter", "escape", "every", "function", "hit", "press", "return", "space",
	"that", "the", "this", "which", NULL,
};
static const char *const behind[] = {
	"and", "by", "for", "found", "has", "in", "of", "on", "or", "pressed", "to", "was", "with", NULL,
};

static bool is_word_char(char c)
{
	return pm_is_alnum(c) || c == '_';
}

/* Behind the word at `from`; a hyphen between two parts belongs to it, a ruler
 * does not. */
static size_t word_end(const char *text, size_t length, size_t from)
{
	while (from < length && (is_word_char(text[from]) ||
	                         (text[from] == '-' && from + 1 < length && is_word_char(text[from + 1]))))
		from++;
	return from;
}

static bool same(const char *text, size_t length, const char *word)
{
	for (; length; length--, text++, word++)
		if (pm_lower((unsigned char)*text) != *word)
			return false;
	return *word == '\0';
}

static bool one_of(const char *text, struct span word, const char *const *list)
{
	for (; *list; list++)
		if (same(text + word.from, word.to - word.from, *list))
			return true;
	return false;
}

/* The next part of a compound word: "wifi", "psk" of "wifi-psk", "admin",
 * "Password" of "adminPassword". Digits part, and belong to none. */
static struct span next_part(const char *text, size_t from, size_t to)
{
	struct span part;
	while (from < to && !pm_is_alpha(text[from]))
		from++;
	part.from = part.to = from;
	while (part.to < to && pm_is_alpha(text[part.to]) &&
	       !(part.to > from && pm_is_upper(text[part.to]) && pm_is_lower(text[part.to - 1])))
		part.to++;
	return part;
}

static const struct redact_rule *rule_of(const char *text, struct span part)
{
	for (size_t i = 0; i < sizeof table / sizeof *table; i++)
		if (same(text + part.from, part.to - part.from, table[i].word))
			return &table[i];
	return NULL;
}

/* "pass phrase", "pass-word", "passPhrase", "key-string": two parts that make one word. */
static const struct redact_rule *rule_of_two(const char *text, struct span first, struct span second)
{
	char both[16];
	size_t a = first.to - first.from, b = second.to - second.from;
	if (a == 0 || b == 0 || second.from > first.to + 1 || a + b >= sizeof both)
		return NULL;
	memcpy(both, text + first.from, a);
	memcpy(both + a, text + second.from, b);
	return rule_of(both, (struct span){ 0, a + b });
}

/* What parts a word from its value. */
static size_t behind_marks(const char *text, size_t length, size_t i, bool *told)
{
	static const char marks[] = " \t\r\"':=>?";
	*told = false;
	for (; i < length && strchr(marks, text[i]) && text[i]; i++)
		*told = *told || text[i] == ':' || text[i] == '=' || text[i] == '?';
	/* a ruler is no value */
	size_t ruler = i;
	while (ruler < length && strchr("- \t\r", text[ruler]))
		ruler++;
	return ruler == length ? length : i;
}

/* Is the word meant in its everyday sense? `last` is the word or part before it. */
static bool everyday(const char *text, size_t length, const struct hit *hit, struct span last)
{
	struct span next = { hit->value, word_end(text, length, hit->value) };
	return one_of(text, last, before) || (!hit->told && one_of(text, next, behind));
}

/* The rule that a compound word tells by, given the word before it. */
static const struct redact_rule *look(const char *text, struct span word, struct span *last)
{
	const struct redact_rule *rule = NULL;
	for (struct span part = next_part(text, word.from, word.to); part.to > part.from;
	     part = next_part(text, part.to, word.to)) {
		rule = rule_of_two(text, *last, part);
		if (!rule)
			rule = rule_of(text, part);
		if (rule)
			return rule;
		*last = part;
	}
	return NULL;
}

/* One word after the other, until a rule matches; its value may be empty. */
static bool find(const char *text, size_t length, size_t from, struct hit *hit)
{
	struct span last = { from, from };
	for (size_t i = from; i < length;) {
		if (!is_word_char(text[i])) {
			i++;
			continue;
		}
		struct span word = { i, word_end(text, length, i) };
		i = word.to;
		hit->rule = look(text, word, &last);
		/* behind the title of a key block comes the key: it goes by its shape */
		if (!hit->rule || (length - i >= 4 && memcmp(text + i, "----", 4) == 0))
			continue;
		hit->word = word;
		hit->value = behind_marks(text, length, word.to, &hit->told);
		if (!(hit->rule->doubtful && everyday(text, length, hit, last)) &&
		    !(hit->rule->what == REDACT_PROMPT && !hit->told))
			return true;
		last = word;
	}
	return false;
}

bool rule_find(const char *text, size_t length, size_t from, struct hit *hit)
{
	while (find(text, length, from, hit)) {
		if (hit->value < length)
			return true;
		from = hit->word.to;
	}
	return false;
}

bool rule_asks(const char *text, size_t length)
{
	struct hit hit;
	while (length && strchr(" \t\r", text[length - 1]))
		length--;
	for (size_t from = 0; find(text, length, from, &hit); from = hit.word.to)
		/* a number alone is the kind of a secret */
		if (strchr(":=?", text[length - 1]) ||
		    (hit.value + 1 == length && pm_is_digit((unsigned char)text[hit.value])))
			return true;
	return false;
}

bool rule_dangles(const char *text, size_t length)
{
	struct hit hit;
	for (size_t from = 0; find(text, length, from, &hit); from = hit.word.to)
		if (hit.value == length)
			return true;
	return false;
}
