#include "capture/redact_rules.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/text.h"

static const struct redact_rule table[] = {
	{ "password", REDACT_REST, REDACT_SURE, "sets, shows or asks for a password" },
	{ "passwords", REDACT_REST, REDACT_SURE, "more than one of them" },
	{ "passwd", REDACT_REST, REDACT_SURE, "short for password" },
	{ "pwd", REDACT_REST, REDACT_SURE, "short for password" },
	{ "passphrase", REDACT_REST, REDACT_SURE, "opens a key" },
	{ "passcode", REDACT_REST, REDACT_SURE, "another word for it" },
	{ "secret", REDACT_REST, REDACT_SURE, "shared with a server, or a second password" },
	{ "secrets", REDACT_REST, REDACT_SURE, "more than one of them" },
	{ "community", REDACT_REST, REDACT_SURE, "SNMP community string, to read or to write with" },
	{ "rocommunity", REDACT_NEXT_WORD, REDACT_SURE, "SNMP community string, to read with" },
	{ "rwcommunity", REDACT_NEXT_WORD, REDACT_SURE, "SNMP community string, to write with" },
	{ "psk", REDACT_REST, REDACT_SURE, "pre-shared key" },
	{ "key", REDACT_REST, REDACT_DOUBTFUL, "a key, pre-shared or private" },
	{ "keys", REDACT_REST, REDACT_DOUBTFUL, "more than one of them" },
	{ "keystring", REDACT_REST, REDACT_SURE, "the text of a key" },
	{ "apikey", REDACT_REST, REDACT_SURE, "a key that a program logs in with" },
	{ "pass", REDACT_NEXT_WORD, REDACT_COMMON, "short for password" },
	{ "auth", REDACT_METHOD, REDACT_SURE, "SNMPv3: what proves who asks" },
	{ "authentication", REDACT_METHOD, REDACT_SURE, "the same, and of routing protocols" },
	{ "priv", REDACT_METHOD, REDACT_SURE, "SNMPv3: what the talk is enciphered with" },
	{ "privacy", REDACT_METHOD, REDACT_SURE, "the same" },
	{ "bearer", REDACT_NEXT_WORD, REDACT_COMMON, "access token, RFC 6750" },
	{ "authorization", REDACT_PROMPT, REDACT_SURE, "header with a password or token, RFC 9110" },
	{ "token", REDACT_REST, REDACT_SURE, "access token" },
	{ "tokens", REDACT_REST, REDACT_SURE, "more than one of them" },
	{ "credential", REDACT_REST, REDACT_SURE, "a password or key with its user" },
	{ "credentials", REDACT_REST, REDACT_SURE, "passwords or keys with their users" },
	{ "pin", REDACT_PROMPT, REDACT_SURE, "number that opens a card" },
	{ "puk", REDACT_PROMPT, REDACT_SURE, "number that opens a blocked card" },
	{ "again", REDACT_PROMPT, REDACT_SURE, "the second typing of a new password" },
	{ "retype", REDACT_PROMPT, REDACT_SURE, "the second typing of a new password" },
	{ "repeat", REDACT_PROMPT, REDACT_SURE, "the second typing of a new password" },
	{ "confirm", REDACT_PROMPT, REDACT_SURE, "the second typing of a new password" },
	{ "verify", REDACT_PROMPT, REDACT_SURE, "the second typing of a new password" },
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
/* The same for words that are common in other senses. */
static const char *const before_common[] = {
	"all", "and", "band", "by", "did", "first", "full", "high", "last", "low", "must", "next", "no", "not", "one",
	"or", "per", "second", "self", "test", "tests", "to", "will", NULL,
};
static const char *const behind_common[] = {
	"band", "channel", "complete", "completed", "criteria", "fail", "failed", "filter", "interface", "over", "rate",
	"rules", "service", "test", "tests", "through", NULL,
};

/* "user tech pass 7 ..." */
static const char *const users[] = { "account", "login", "user", "username", NULL };

/* These make it a key to be pressed even where a colon follows. */
static const char *const pressed[] = {
	"any", "arrow", "escape", "every", "function", "hit", "press", "return", "space", "strike", "tab", NULL,
};

/* Between the word and the colon of "Type the key for admin:". */
static const char *const leads[] = { "by", "for", "in", "of", "on", "to", "with", NULL };

/* Hashes and ciphers, without hyphens. */
static const char *const methods[] = {
	"3des", "aes", "aes128", "aes192", "aes256", "des", "des56", "hmacmd5", "hmacmd596", "hmacsha", "hmacsha1",
	"hmacsha196", "hmacsha256", "hmacsha512", "md5", "sha", "sha1", "sha2", "sha224", "sha256", "sha384", "sha512",
	NULL,
};

#define PROMPT_MOST 64   /* from the word to its colon */

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

/* Does the part go on with the next one as another rule's word? Then that rule
 * is meant: "pass phrase". */
static bool goes_on(const char *text, size_t length, struct span part)
{
	size_t from = part.to < length && !is_word_char(text[part.to]) ? part.to + 1 : part.to;
	size_t to = word_end(text, length, from);
	struct span next = next_part(text, from, to);
	/* "key s3cret" is no "keys" */
	return next.to - next.from >= 4 && (from == part.to || next.to == to) && rule_of_two(text, part, next);
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

/* The words before the one looked at: the last word or part, the last whole
 * word, and the one before that. */
struct trail {
	struct span last, word, earlier;
};

static bool only_blanks(const char *text, size_t from, size_t to)
{
	while (from < to && (pm_is_blank(text[from]) || text[from] == '<' || text[from] == '>'))
		from++;
	return from >= to;
}

/* A key of the keyboard: "press the key", "F2 key". */
static bool is_pressed(const char *text, const struct hit *hit, const struct trail *trail)
{
	struct span last = trail->last;
	bool function = last.to > last.from && pm_lower((unsigned char)text[last.from]) == 'f' && last.to < hit->word.from &&
	                pm_is_digit((unsigned char)text[last.to]);
	return function || one_of(text, last, pressed) ||
	       (only_blanks(text, trail->earlier.to, trail->word.from) && only_blanks(text, trail->word.to, hit->word.from) &&
	        one_of(text, trail->earlier, pressed));
}

/* "for admin: " behind the word: then what it tells of stands behind the colon. */
static void take_lead(const char *text, size_t length, struct hit *hit)
{
	struct span next = { hit->value, word_end(text, length, hit->value) };
	if (hit->told || !one_of(text, next, leads))
		return;
	for (size_t i = next.to; i < length && i - next.to < PROMPT_MOST; i++)
		if ((text[i] == ':' || text[i] == '=' || text[i] == '?') &&
		    (i + 1 == length || strchr(" \t\r\"'", text[i + 1]))) {
			hit->value = behind_marks(text, length, i, &hit->told);
			return;
		}
}

static bool is_small_number(const char *text, struct span word)
{
	for (size_t i = word.from; i < word.to; i++)
		if (!pm_is_digit((unsigned char)text[i]))
			return false;
	return word.to - word.from <= 3;
}

/* Is a word that is common in other senses meant in one of them? */
static bool is_common(const char *text, size_t length, const struct hit *hit, const struct trail *trail, struct span next)
{
	bool whole = next.to == length || pm_is_blank(text[next.to]);
	if (next.to > next.from && is_small_number(text, next))
		return !one_of(text, trail->earlier, users);
	return !hit->told && (one_of(text, trail->last, before_common) || one_of(text, next, behind_common) ||
	                      (whole && word_kind(text + next.from, next.to - next.from)) || rule_tells(text, next));
}

/* Is the word meant in its everyday sense? */
static bool everyday(const char *text, size_t length, struct hit *hit, const struct trail *trail)
{
	if (hit->rule->sense == REDACT_SURE)
		return false;
	take_lead(text, length, hit);
	struct span next = { hit->value, word_end(text, length, hit->value) };
	if (hit->rule->sense == REDACT_COMMON && is_common(text, length, hit, trail, next))
		return true;
	if (hit->told)
		return is_pressed(text, hit, trail);
	return one_of(text, trail->last, before) || one_of(text, next, behind);
}

/* What JSON has without quotes: a number, a word of its own, or a bracket. */
static bool is_literal(const char *text, size_t length, size_t from)
{
	static const char *const words[] = { "false", "null", "true", NULL };
	size_t to = from;
	if (strchr("{[", text[from]))
		return !rule_is_mark(text, length, from);
	while (to < length && (pm_is_digit((unsigned char)text[to]) || strchr("+-.eE", text[to])))
		to++;
	if (to == from)
		to = word_end(text, length, from);
	bool ends = to == length || strchr(" \t\r,}]", text[to]);
	return ends && (pm_is_digit((unsigned char)text[to - 1]) || one_of(text, (struct span){ from, to }, words));
}

/* Is the value none: "key":"" or, of a doubtful word, what can't be masked in JSON? */
static bool is_void(const char *text, size_t length, const struct hit *hit)
{
	for (size_t i = hit->word.to + 1; i + 1 < hit->value; i++)
		if ((text[i] == '"' || text[i] == '\'') && text[i + 1] == text[i])
			return true;
	if (hit->rule->sense == REDACT_SURE || !hit->told || hit->value >= length)
		return false;
	bool quoted = strchr("\"'", text[hit->value - 1]);
	return strchr(",;})]", text[hit->value]) ||
	       (text[hit->word.to] == '"' && !quoted && is_literal(text, length, hit->value));
}

bool rule_is_method(const char *text, struct span word)
{
	char plain[16];
	size_t n = 0;
	for (size_t i = word.from; i < word.to && n < sizeof plain; i++)
		if (text[i] != '-' && text[i] != '_')
			plain[n++] = text[i];
	return one_of(plain, (struct span){ 0, n }, methods);
}

bool rule_tells(const char *text, struct span word)
{
	struct span last = { word.from, word.from }, part = next_part(text, word.from, word.to);
	for (; part.to > part.from && part.to < word.to; part = next_part(text, part.to, word.to))
		last = part;
	bool apart = part.from == word.from || !pm_is_alnum(text[part.from - 1]);
	return part.to > part.from && apart && (rule_of(text, part) || rule_of_two(text, last, part));
}

/* "auth md5", "priv aes 128": up to there the word goes. */
static bool take_method(const char *text, size_t length, struct hit *hit)
{
	static const char *const bits[] = { "128", "192", "256", NULL };
	struct span next = { hit->value, word_end(text, length, hit->value) };
	if (!rule_is_method(text, next))
		return false;
	hit->word.to = next.to;
	hit->value = behind_marks(text, length, next.to, &hit->told);
	next = (struct span){ hit->value, word_end(text, length, hit->value) };
	if (one_of(text, next, bits)) {
		hit->word.to = next.to;
		hit->value = behind_marks(text, length, next.to, &hit->told);
	}
	return true;
}

/* Does the word tell of a value, which may be empty? */
static bool is_hit(const char *text, size_t length, struct hit *hit, const struct trail *trail)
{
	/* behind the title of a key block comes the key: it goes by its shape */
	if (!hit->rule || (length - hit->word.to >= 4 && memcmp(text + hit->word.to, "----", 4) == 0))
		return false;
	hit->value = behind_marks(text, length, hit->word.to, &hit->told);
	switch (hit->rule->what) {
	case REDACT_PROMPT:
		if (!hit->told)
			return false;
		break;
	case REDACT_METHOD:
		if (!take_method(text, length, hit))
			return false;
		break;
	case REDACT_REST: case REDACT_NEXT_WORD:
		break;
	}
	return !everyday(text, length, hit, trail) && !is_void(text, length, hit);
}

/* Does a part of a compound word tell, given the words before it? */
static bool look(const char *text, size_t length, struct span word, struct hit *hit, struct trail *trail)
{
	bool ruled = false;
	for (struct span part = next_part(text, word.from, word.to); part.to > part.from;
	     part = next_part(text, part.to, word.to)) {
		hit->word = word;
		hit->rule = rule_of_two(text, trail->last, part);
		if (!hit->rule && !goes_on(text, length, part))
			hit->rule = rule_of(text, part);
		if (is_hit(text, length, hit, trail))
			return true;
		ruled = ruled || hit->rule;
		trail->last = part;
	}
	if (ruled)
		trail->last = word;
	trail->earlier = trail->word;
	trail->word = word;
	return false;
}

/* One word after the other, until a rule matches; its value may be empty. */
static bool find(const char *text, size_t length, size_t from, struct hit *hit)
{
	struct trail trail = { { from, from }, { from, from }, { from, from } };
	for (size_t i = from; i < length;) {
		if (!is_word_char(text[i])) {
			i++;
			continue;
		}
		struct span word = { i, word_end(text, length, i) };
		i = word.to;
		if (look(text, length, word, hit, &trail))
			return true;
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
