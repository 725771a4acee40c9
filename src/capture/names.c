#include "capture/names.h"

#include <string.h>

#include "capture/words.h"
#include "portmuster/text.h"

#define LETTERS_MOST 15

static bool all_digits(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (!pm_is_digit(text[i])) return false;
	return length > 0;
}

/* Letters that with digits behind them are something else: versions, sums. */
static bool is_other_stem(const char *text, size_t length)
{
	static const char *const stem[] = {
		"ipv", "v", "ver", "version", "rev", "md", "sha", "utf", "crc", "mtu", "x", "q", "l", "n", "rx", "tx",
	};
	for (size_t i = 0; i < sizeof stem / sizeof stem[0]; i++) {
		if (strlen(stem[i]) != length) continue;
		size_t k = 0;
		while (k < length && pm_lower((unsigned char)text[k]) == stem[i][k]) k++;
		if (k == length) return true;
	}
	return false;
}

/* Letters, then digits that slashes, dots, colons or hyphens may part: port1,
 * lan0/3, e1.2. */
static bool has_shape(const char *text, size_t length)
{
	size_t i = 0, colons = 0;
	while (i < length && (pm_is_alpha(text[i]) || text[i] == '_'
	                      || (text[i] == '-' && i + 1 < length && pm_is_alpha(text[i + 1])))) i++;
	size_t letters = i;
	if (letters == 0 || letters > LETTERS_MOST || length > 32 || is_other_stem(text, letters)) return false;
	if (word_kind(text, letters) & (WORD_NETWORK | WORD_IDENT | WORD_PART | WORD_UNKNOWN)) return false;
	if (i < length && text[i] == '-') i++;
	size_t digits = 0;
	while (i < length && pm_is_digit(text[i])) i++, digits++;
	if (digits == 0 || digits > 5) return false;
	while (i < length && (text[i] == '/' || text[i] == '.' || text[i] == ':' || text[i] == '-')) {
		colons += text[i] == ':';
		size_t group = 0;
		for (i++; i < length && pm_is_alnum(text[i]); i++) group++;
		if (group == 0 || group > 5) return false;
	}
	if (i != length) return false;
	/* Octets look like that too. */
	return !(colons >= 2 && letters <= 2);
}

/* Of a roster's name, the letters may be cut short; but a short word without
 * a number is too likely to be something else. */
static size_t look_up(const struct pm_gear *gear, const char *text, size_t length)
{
	size_t port = pm_roster_find(gear, text, length);
	if (port == PM_NO_PORT) return PM_NO_PORT;
	bool digit = false, alpha = false;
	for (size_t i = 0; i < length; i++) {
		digit |= pm_is_digit(text[i]);
		alpha |= pm_is_alpha(text[i]);
	}
	if (digit) return alpha ? port : PM_NO_PORT;
	for (size_t i = 0; i <= gear->ports[port].aliases.count; i++) {
		struct pm_word name = i ? gear->ports[port].aliases.item[i - 1] : gear->ports[port].name;
		if (!name.text || strlen(name.text) != length) continue;
		size_t k = 0;
		while (k < length && pm_lower((unsigned char)name.text[k]) == pm_lower((unsigned char)text[k])) k++;
		if (k == length) return port;
	}
	return length >= 3 && !word_kind(text, length) ? port : PM_NO_PORT;
}

static size_t on_roster(struct names *names, const char *text, size_t length)
{
	if (!names->gear || length == 0) return PM_NO_PORT;
	if (length > sizeof names->memo[0].word) return look_up(names->gear, text, length);
	size_t hash = length;
	for (size_t i = 0; i < length; i++) hash = hash * 31 + (unsigned char)text[i];
	size_t at = (hash ^ hash >> 8) % (sizeof names->memo / sizeof names->memo[0]);
	if (names->memo[at].length != length || memcmp(names->memo[at].word, text, length) != 0) {
		memcpy(names->memo[at].word, text, length);
		names->memo[at].length = (unsigned char)length;
		names->memo[at].port = look_up(names->gear, text, length);
	}
	return names->memo[at].port;
}

bool name_whole(struct names *names, const char *text, size_t length, size_t *port)
{
	*port = on_roster(names, text, length);
	return *port != PM_NO_PORT || (!names->gear && has_shape(text, length));
}

bool name_at(struct names *names, const char *text, const struct token *token,
             size_t count, size_t i, struct name *name)
{
	if (i >= count || !token[i].alpha) return false;
	const struct token *t = &token[i], *next = i + 1 < count ? &token[i + 1] : NULL;
	*name = (struct name){ .start = t->start, .length = t->length, .first = i, .after = i + 1 };
	/* "port 7" */
	if (next && !t->digit && next->digit && !next->alpha && next->width <= 8 && next->gap == 1
	    && !next->parted && !next->value && pm_is_digit(text[next->start])) {
		size_t length = next->start + next->length - t->start;
		size_t port = on_roster(names, text + t->start, length);
		if (port != PM_NO_PORT
		    || (t->kind & WORD_PAIR && all_digits(text + next->start, next->length) && next->width <= 4)) {
			name->length = length;
			name->after = i + 2;
			name->port = port;
			return true;
		}
	}
	/* What follows an "@" only says what the interface is tied to. */
	const char *at = memchr(text + t->start, '@', t->length);
	if (at && at != text + t->start) name->length = (size_t)(at - text) - t->start;
	name->port = on_roster(names, text + name->start, name->length);
	return name->port != PM_NO_PORT
		|| (t->digit && !(t->kind & (WORD_PLAIN | WORD_IDENT)) && has_shape(text + name->start, name->length));
}

bool name_possible(const char *text, const struct token *t)
{
	if (t->kind & (WORD_PLAIN | WORD_BODY | WORD_UNKNOWN | WORD_PART | WORD_IDENT | WORD_SERIAL)) return false;
	if (t->width < 2 || t->width > 24 || !pm_is_alpha(text[t->start])) return false;
	for (size_t i = 0; i < t->length; i++) {
		char c = text[t->start + i];
		if (!pm_is_alnum(c) && c != '-' && c != '_' && c != '.' && c != '/' && c != '@') return false;
	}
	return true;
}

/* Past a running number and words such as "interface" or "name". */
static size_t skip_intro(const struct token *token, size_t count)
{
	size_t i = 0;
	if (count > 1 && token[0].digit && !token[0].alpha && token[0].width <= 4) i++;
	return i;
}

bool name_head(struct names *names, const char *text, const struct token *token,
               size_t count, struct name *name)
{
	size_t i = skip_intro(token, count);
	for (int intro = 0; intro < 3 && i < count; intro++, i++) {
		if (name_at(names, text, token, count, i, name)) return true;
		if (!(token[i].kind & WORD_NAME)) return false;
		/* "interface: mgmt" */
		if (i + 1 < count && token[i + 1].value && name_keyed(names, text, token + i, 2, name)) {
			name->first += i;
			name->after += i;
			return true;
		}
	}
	return false;
}

bool name_keyed(struct names *names, const char *text, const struct token *token,
                size_t count, struct name *name)
{
	for (size_t i = 0; i + 1 < count; i++) {
		const struct token *t = &token[i + 1];
		if (!(token[i].kind & WORD_NAME) || !t->value) continue;
		if (name_at(names, text, token, count, i + 1, name)) return true;
		if (t->kind & WORD_NAME || t->digit || !name_possible(text, t)) continue;
		*name = (struct name){ t->start, t->length, i + 1, i + 2, PM_NO_PORT };
		return true;
	}
	return false;
}

bool name_bare(const char *text, const struct token *token, size_t count, struct name *name)
{
	size_t i = skip_intro(token, count);
	if (i + 1 < count && token[i].kind & WORD_NAME) i++;
	if (i >= count || !name_possible(text, &token[i])) return false;
	const struct token *t = &token[i];
	*name = (struct name){ t->start, t->length, i, i + 1, PM_NO_PORT };
	const char *at = memchr(text + t->start, '@', t->length);
	if (at) name->length = (size_t)(at - text) - t->start;
	return true;
}

bool name_column(struct names *names, const char *text, const struct token *token,
                 size_t count, const struct columns *columns, struct name *name)
{
	if (!columns->count) return false;
	for (size_t i = 0; i < count; i++) {
		unsigned kind = columns_kind(columns, &token[i]);
		if (!(kind & WORD_NAME) || kind & (WORD_OTHER | WORD_ADDRESS | WORD_HARDWARE)) continue;
		if (name_at(names, text, token, count, i, name)) return true;
		const struct token *t = &token[i];
		*name = (struct name){ t->start, t->length, i, i + 1, PM_NO_PORT };
		if (all_digits(text + t->start, t->length) && t->length <= 4) {
			/* A bare number under "port" is that port. */
			char whole[32];
			struct pm_text both;
			pm_text_fixed(&both, whole, sizeof whole);
			pm_text_str(&both, columns->name_word);
			pm_text_put(&both, text + t->start, t->length);
			if (names->gear) name->port = pm_roster_find(names->gear, whole, both.length);
			return true;
		}
		return !(t->kind & WORD_UNKNOWN) && name_possible(text, t);
	}
	return false;
}

bool name_beside(struct names *names, const char *text, const struct token *token,
                 size_t count, const struct candidate *address, struct name *name)
{
	for (size_t i = 0; i < count; i++) {
		if (i >= address->first && i < address->after) continue;
		if (!name_at(names, text, token, count, i, name)) continue;
		if (addresses_phrase(token, i) & (WORD_OTHER | WORD_PLACE)) continue;
		unsigned between = 0;
		for (size_t k = address->after; k < i; k++) between |= token[k].kind;
		if (between & (WORD_OTHER | WORD_PLACE)) continue;
		return true;
	}
	return false;
}

/* --- lines that say nothing --------------------------------------------------- */

#define PROMPT_MOST 64

bool line_is_prompt(const char *text, size_t length)
{
	if (length >= 2 && (text[0] == '$' || text[0] == '%') && text[1] == ' ') return true;
	if (length == 0 || !(pm_is_alnum(text[0]) || text[0] == '[')) return false;
	for (size_t i = 0; i < length && i < PROMPT_MOST; i++) {
		char c = text[i];
		if (c == '>' || c == '#' || c == '$' || c == '%') {
			if (i == 0 || text[i - 1] == '-' || (c == '%' && pm_is_digit(text[i - 1]))) return false;
			return i + 1 == length || text[i + 1] == ' ' || (c != '%' && pm_is_alpha(text[i + 1]));
		}
		/* "[name@unit] >" */
		if (c == ' ' && i && text[i - 1] == ']' && i + 1 < length
		    && (text[i + 1] == '>' || text[i + 1] == '#' || text[i + 1] == '$')) continue;
		if (!pm_is_alnum(c) && !strchr("_.@~:/()[]-", c)) return false;
	}
	return false;
}

static size_t digits_at(const char *text, size_t length, size_t i)
{
	size_t n = 0;
	while (i + n < length && pm_is_digit(text[i + n])) n++;
	return n;
}

/* HH:MM:SS, or HH:MM when `brief`; the bytes it takes. */
static size_t time_at(const char *text, size_t length, size_t i)
{
	size_t at = i;
	for (int part = 0; part < 3; part++) {
		if (part && (at >= length || text[at++] != ':')) return 0;
		size_t n = digits_at(text, length, at);
		if (n == 0 || n > 2) return 0;
		at += n;
	}
	if (at < length && (text[at] == '.' || text[at] == ',')) at += 1 + digits_at(text, length, at + 1);
	return at < length && (text[at] == ':' || text[at] == '-' || pm_is_alnum(text[at])) ? 0 : at - i;
}

static size_t date_at(const char *text, size_t length, size_t i)
{
	if (digits_at(text, length, i) != 4 || i + 8 > length) return 0;
	char mark = text[i + 4];
	size_t month = digits_at(text, length, i + 5), at = i + 5 + month;
	if ((mark != '-' && mark != '/') || month == 0 || month > 2 || at >= length || text[at] != mark) return 0;
	size_t day = digits_at(text, length, at + 1);
	at += 1 + day;
	if (day == 0 || day > 2) return 0;
	return at == length || text[at] == ' ' || text[at] == 'T' || text[at] == 't' ? at - i : 0;
}

bool line_is_log(const char *text, size_t length)
{
	size_t i = 0;
	while (i < length && text[i] == ' ') i++;
	bool bracket = i < length && (text[i] == '[' || text[i] == '<' || text[i] == '(');
	if (bracket) {
		/* [  12.345], <134> */
		char close = text[i] == '[' ? ']' : text[i] == '<' ? '>' : ')';
		size_t at = i + 1, digits = 0;
		while (at < length && (text[at] == ' ' || text[at] == '.' || pm_is_digit(text[at])))
			digits += pm_is_digit(text[at++]);
		if (digits && close != ')' && at < length && text[at] == close) return true;
		i++;
	}
	if (time_at(text, length, i) || date_at(text, length, i)) return true;
	if (bracket && time_at(text, length, i)) return true;
	/* "May  6 12:30:05" */
	if (i + 3 >= length || !pm_is_alpha(text[i]) || !pm_is_alpha(text[i + 1]) || !pm_is_alpha(text[i + 2])
	    || text[i + 3] != ' ') return false;
	i += 3;
	while (i < length && text[i] == ' ') i++;
	size_t day = digits_at(text, length, i);
	if (day == 0 || day > 2 || i + day >= length || text[i + day] != ' ') return false;
	return time_at(text, length, i + day + 1) > 0;
}
