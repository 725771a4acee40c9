#include "portmuster/seal.h"

#include <sodium/crypto_hash_sha256.h>
#include <string.h>

#include "portmuster/text.h"

static const char alphabet[] = "ACDEFHJKLMNPRTVWXY23456789";
static const char check_alphabet[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";

void pm_sha256_hex(const void *bytes, size_t length, char out[static 65])
{
	unsigned char hash[crypto_hash_sha256_BYTES];
	crypto_hash_sha256(hash, bytes, length);
	for (size_t i = 0; i < sizeof hash; i++) {
		out[2 * i] = "0123456789abcdef"[hash[i] >> 4];
		out[2 * i + 1] = "0123456789abcdef"[hash[i] & 15];
	}
	out[64] = '\0';
}

/* Pure system recursive method of ISO/IEC 7064 with modulus 37 and radix 2:
 * the check character makes the weighted sum congruent to 1. */
char pm_check_character(const char *text, size_t length)
{
	unsigned sum = 0;
	for (size_t i = 0; i < length; i++) {
		int c = pm_upper(text[i]);
		if (!pm_is_alnum(c))
			return 0;
		unsigned value = pm_is_digit(c) ? (unsigned)(c - '0') : (unsigned)(c - 'A' + 10);
		sum = (sum + value) * 2 % 37;
	}
	return check_alphabet[(38 - sum) % 37];
}

bool pm_check_character_valid(const char *text, size_t length)
{
	return length > 1 && pm_check_character(text, length - 1) == pm_upper(text[length - 1]);
}

char pm_eui48_check(const struct pm_eui48 *address)
{
	char digits[PM_EUI48_TEXT];
	size_t length = pm_eui48_write(address, PM_BARE, false, digits);
	return pm_check_character(digits, length);
}

const char *pm_fact_value(const struct pm_job *job, const char *of, struct pm_arena *arena)
{
	bool address = strncmp(of, "port/", 5) == 0;
	struct pm_fact fact = pm_fact_find(job, of, address ? PM_AS_ADDRESS : PM_AS_TEXT);
	if (fact.standing == PM_CONFLICT || fact.standing == PM_SKIPPED)
		return NULL;
	if (!fact.first) {
		if (pm_same(of, "site/unit"))
			return job->unit.text;
		if (pm_same(of, "site/parent"))
			return job->parent.text;
		return NULL;
	}
	const char *value = fact.first->value.text;
	struct pm_eui48 read;
	if (address) {
		if (!pm_eui48_parse(value, &read))
			return NULL;
		char text[PM_EUI48_TEXT];
		pm_eui48_text(&read, text);
		return pm_arena_copy(arena, text, strlen(text));
	}
	size_t length = value ? strlen(value) : 0;
	while (length && pm_is_blank(*value))
		value++, length--;
	while (length && pm_is_blank(value[length - 1]))
		length--;
	return value ? pm_arena_copy(arena, value, length) : NULL;
}

void pm_seal_text(const char *canonical, struct pm_seal *seal)
{
	pm_sha256_hex(canonical, strlen(canonical), seal->sha256);
	uint64_t number = 0;
	for (size_t i = 0; i < 16; i++)
		number = number << 4 | (uint64_t)pm_hex_value(seal->sha256[i]);
	char letters[9];
	for (size_t i = 8; i--; number /= sizeof alphabet - 1)
		letters[i] = alphabet[number % (sizeof alphabet - 1)];
	struct pm_text text;
	pm_text_fixed(&text, seal->text, sizeof seal->text);
	pm_text_put(&text, letters, 4);
	pm_text_char(&text, '-');
	pm_text_put(&text, letters + 4, 4);
	pm_text_char(&text, '-');
	pm_text_char(&text, pm_check_character(letters, 8));
	seal->canonical = canonical;
}

/* One line of the canonical text; a missing value makes the seal incomplete. A
 * control character in a name or value can't forge a line: it is written visibly. */
static void put_line(struct pm_text *text, const char *key, const char *value, bool *complete)
{
	size_t length = value ? strlen(value) : 0;
	while (length && pm_is_blank(*value))
		value++, length--;
	while (length && pm_is_blank(value[length - 1]))
		length--;
	if (!length)
		*complete = false;
	pm_text_visible(text, key, strlen(key));
	pm_text_char(text, '=');
	if (length)
		pm_text_visible(text, value, length);
	pm_text_char(text, '\n');
}

static void put_address(struct pm_text *text, const char *key, const char *value, bool *complete)
{
	struct pm_eui48 address;
	char canonical[PM_EUI48_TEXT];
	bool readable = pm_eui48_parse(value, &address);
	put_line(text, key, readable ? pm_eui48_text(&address, canonical) : value, complete);
}

/* An attached device has what the site list says of it; what is left out there
 * does not make the seal incomplete. */
static void put_attached(struct pm_text *text, const struct pm_attached *device)
{
	bool ignored = true;
	put_line(text, "attached", device->name.text, &ignored);
	put_line(text, " kind", device->kind.text, &ignored);
	put_line(text, " serial", device->serial.text, &ignored);
	put_address(text, " address", device->address.text, &ignored);
}

bool pm_seal_facts(const struct pm_seal_facts *facts, struct pm_arena *arena, struct pm_seal *seal)
{
	struct pm_text text;
	bool complete = true;
	pm_text_grow(&text, arena);
	pm_text_str(&text, "portmuster-seal 1\n");
	put_line(&text, "site", facts->site, &complete);
	put_line(&text, "unit", facts->unit, &complete);
	put_line(&text, "parent", facts->parent, &complete);
	put_line(&text, "serial", facts->serial, &complete);
	for (size_t i = 0; i < facts->port_count; i++) {
		const char *key = pm_say(arena, "port %s", facts->ports[i].name);
		if (!key)
			return false;
		put_address(&text, key, facts->ports[i].address, &complete);
	}
	for (size_t i = 0; i < facts->attached_count; i++)
		put_attached(&text, &facts->attached[i]);
	if (text.cut || arena->failed)
		return false;
	pm_seal_text(text.data, seal);
	seal->complete = complete;
	return true;
}

bool pm_seal_job(const struct pm_job *job, const struct pm_gear *gear,
                 struct pm_arena *arena, struct pm_seal *seal)
{
	struct pm_seal_port *ports = pm_arena_array(arena, gear->port_count, sizeof *ports);
	for (size_t i = 0; ports && i < gear->port_count; i++) {
		const char *of = pm_say(arena, "port/%s", gear->ports[i].name.text);
		if (!of)
			return false;
		ports[i] = (struct pm_seal_port){ gear->ports[i].name.text, pm_fact_value(job, of, arena) };
	}
	const struct pm_seal_facts facts = {
		job->code.text, pm_fact_value(job, "site/unit", arena), pm_fact_value(job, "site/parent", arena),
		pm_fact_value(job, "router/serial", arena), ports, gear->port_count, job->attached, job->attached_count,
	};
	return ports && pm_seal_facts(&facts, arena, seal);
}
