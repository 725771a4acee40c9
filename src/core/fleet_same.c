/* What may stand at one site only: each kind of it a row of a table, all of them
 * found by sorting. */
#include <string.h>

#include "core/fleet_parts.h"

#define NAMED_MOST 4   /* sites that a message names; the finding lists all */

typedef struct pm_site_summary site_t;

/* One kind of thing that a site bears a number of. */
struct kind {
	enum pm_code code;
	size_t (*count)(const site_t *site);
	uint64_t (*key)(const site_t *site, size_t item);   /* 0: this one counts for nothing */
	bool (*same)(const site_t *a, size_t i, const site_t *b, size_t k);
	void (*say)(struct pm_text *text, const site_t *site, size_t item);
	const char *(*bearer)(const site_t *site, size_t item);   /* or null */
	bool one_code;   /* sites of one code are the very thing that is looked for */
};

/* --- addresses --- */

static size_t address_count(const site_t *site)
{
	return site->address_count;
}

static uint64_t address_key(const site_t *site, size_t item)
{
	return site->addresses[item].key;
}

static bool address_same(const site_t *a, size_t i, const site_t *b, size_t k)
{
	return a->addresses[i].key == b->addresses[k].key;
}

static void address_say(struct pm_text *text, const site_t *site, size_t item)
{
	const struct pm_address_summary *address = &site->addresses[item];
	struct pm_eui48 read = pm_eui48_from(address->key);
	char out[PM_EUI48_TEXT];
	if (address->text)
		pm_text_quote(text, address->text);
	else
		pm_text_str(text, pm_eui48_text(&read, out));
}

static const char *address_bearer(const site_t *site, size_t item)
{
	return site->addresses[item].bearer;
}

/* --- serial numbers --- */

static size_t serial_count(const site_t *site)
{
	return site->serial_count;
}

static uint64_t serial_key(const site_t *site, size_t item)
{
	return site->serials[item].key;
}

static bool serial_same(const site_t *a, size_t i, const site_t *b, size_t k)
{
	return pm_same_nocase(a->serials[i].kind, b->serials[k].kind) &&
	       fleet_hash_name(FLEET_HASH_START, a->serials[i].text) ==
	       fleet_hash_name(FLEET_HASH_START, b->serials[k].text);
}

static void serial_say(struct pm_text *text, const site_t *site, size_t item)
{
	pm_text_add(text, "%s serial number ", site->serials[item].kind);
	pm_text_quote(text, site->serials[item].text);
}

/* --- captures --- */

static size_t evidence_count(const site_t *site)
{
	return site->evidence_count;
}

static uint64_t evidence_key(const site_t *site, size_t item)
{
	uint64_t key = 0;
	for (size_t i = 0; i < 8; i++)
		key = key << 8 | site->evidence[item].byte[i];
	return key;
}

static bool evidence_same(const site_t *a, size_t i, const site_t *b, size_t k)
{
	return memcmp(&a->evidence[i], &b->evidence[k], sizeof a->evidence[i]) == 0;
}

static void evidence_say(struct pm_text *text, const site_t *site, size_t item)
{
	pm_text_str(text, "capture ");
	for (size_t i = 0; i < 6; i++)
		pm_text_add(text, "%02x", site->evidence[item].byte[i]);
	pm_text_str(text, "...");
}

/* --- copied jobs: all the readings (item 0), or one of the router's serial
 *     number, word for word: who, when and how included --- */

static size_t copy_count(const site_t *site)
{
	return 1 + site->serial_count;
}

static uint64_t copy_key(const site_t *site, size_t item)
{
	return item ? site->serials[item - 1].reading : site->body;
}

static bool copy_same(const site_t *a, size_t i, const site_t *b, size_t k)
{
	return i && k ? serial_same(a, i - 1, b, k - 1) : i == k && a->reading_count == b->reading_count;
}

static void copy_say(struct pm_text *text, const site_t *site, size_t item)
{
	if (item == 0)
		pm_text_add(text, "every reading (%zu), by the same people at the same times,", site->reading_count);
	else
		pm_text_str(text, "a reading of the serial number, by the same person at the same time,");
}

/* --- site codes --- */

static size_t code_count(const site_t *site)
{
	(void)site;
	return 1;
}

static uint64_t code_key(const site_t *site, size_t item)
{
	(void)item;
	return site->code_key;
}

static bool code_same(const site_t *a, size_t i, const site_t *b, size_t k)
{
	(void)i, (void)k;
	return fleet_hash_name(FLEET_HASH_START, a->code) == fleet_hash_name(FLEET_HASH_START, b->code);
}

static void code_say(struct pm_text *text, const site_t *site, size_t item)
{
	(void)item;
	pm_text_str(text, "site code ");
	pm_text_quote(text, site->code);
}

static const struct kind kinds[] = {
	{ PM_SITE_CODE_REPEATED, code_count, code_key, code_same, code_say, NULL, true },
	{ PM_JOB_CLONED, copy_count, copy_key, copy_same, copy_say, NULL, false },
	{ PM_ADDRESS_ELSEWHERE, address_count, address_key, address_same, address_say, address_bearer, false },
	{ PM_SERIAL_ELSEWHERE, serial_count, serial_key, serial_same, serial_say, NULL, false },
	{ PM_EVIDENCE_ELSEWHERE, evidence_count, evidence_key, evidence_same, evidence_say, NULL, false },
};

/* --- finding them --- */

/* A run of keys of one thing at several sites. */
struct group {
	size_t from, to;        /* in the keys; one key a site */
	size_t more;            /* other things that the very same sites share */
};

struct search {
	struct fleet_check *check;
	const struct kind *kind;
	struct fleet_keys keys;
	struct group *group;
	size_t groups;
};

static const site_t *site_at(const struct search *s, size_t key)
{
	return &s->check->fleet->site[s->keys.key[key].site];
}

static bool gather(struct search *s)
{
	const struct pm_fleet *fleet = s->check->fleet;
	size_t count = 0;
	for (size_t i = 0; i < fleet->count; i++)
		count += fleet->site[i].fault ? 0 : s->kind->count(&fleet->site[i]);
	s->keys.count = 0;
	s->keys.key = pm_arena_array(&s->check->scratch, count, sizeof *s->keys.key);
	if (!s->keys.key)
		return false;
	for (size_t i = 0; i < fleet->count; i++) {
		const site_t *site = &fleet->site[i];
		size_t items = site->fault ? 0 : s->kind->count(site);
		for (size_t item = 0; item < items; item++) {
			uint64_t key = s->kind->key(site, item);
			/* practice sites are compared only with each other */
			if (key)
				s->keys.key[s->keys.count++] = (struct fleet_key){
					fleet_key_apart(key, site->practice), (uint32_t)i, (uint32_t)item };
		}
	}
	return fleet_sort(&s->keys, &s->check->scratch);
}

/* Keep the first key of each site in [from, to), and none that is only alike by
 * its hash; returns the new end. Keys of one thing stand in the order of sites. */
static size_t one_a_site(struct search *s, size_t from, size_t to)
{
	struct fleet_key *key = s->keys.key;
	size_t kept = from + 1;
	for (size_t i = from + 1; i < to; i++) {
		if (key[i].site == key[kept - 1].site || site_at(s, i)->practice != site_at(s, from)->practice ||
		    !s->kind->same(site_at(s, from), key[from].item, site_at(s, i), key[i].item))
			continue;
		key[kept++] = key[i];
	}
	return kept;
}

static bool counts(const struct search *s, size_t from, size_t to)
{
	if (to - from < 2)
		return false;
	if (s->kind->one_code)
		return true;
	/* two files of one site are another finding */
	for (size_t i = from + 1; i < to; i++)
		if (!site_at(s, i)->code_key || site_at(s, i)->code_key != site_at(s, from)->code_key)
			return true;
	return false;
}

static bool find_groups(struct search *s)
{
	size_t most = 0, to;
	for (size_t i = 1; i < s->keys.count; i++)
		most += s->keys.key[i].key == s->keys.key[i - 1].key;
	s->groups = 0;
	s->group = pm_arena_array(&s->check->scratch, most, sizeof *s->group);
	if (!s->group)
		return false;
	for (size_t from = 0; from < s->keys.count; from = to) {
		for (to = from + 1; to < s->keys.count && s->keys.key[to].key == s->keys.key[from].key; to++)
			;
		if (to - from < 2)
			continue;
		size_t end = one_a_site(s, from, to);
		if (counts(s, from, end))
			s->group[s->groups++] = (struct group){ from, end, 0 };
	}
	return true;
}

static bool same_sites(const struct search *s, const struct group *a, const struct group *b)
{
	if (a->to - a->from != b->to - b->from)
		return false;
	for (size_t i = 0; i < a->to - a->from; i++)
		if (s->keys.key[a->from + i].site != s->keys.key[b->from + i].site)
			return false;
	return true;
}

/* Is `a` the better one to name: the earlier item of the first site? */
static bool stands_before(const struct search *s, const struct group *a, const struct group *b)
{
	return s->keys.key[a->from].item < s->keys.key[b->from].item;
}

/* Whatever the very same sites share is one finding. */
static bool unite(struct search *s)
{
	struct fleet_keys sets = { pm_arena_array(&s->check->scratch, s->groups, sizeof *sets.key), s->groups };
	if (!sets.key)
		return false;
	for (size_t i = 0; i < s->groups; i++) {
		uint64_t hash = FLEET_HASH_START;
		for (size_t k = s->group[i].from; k < s->group[i].to; k++)
			hash = fleet_hash_end(hash + s->keys.key[k].site);
		sets.key[i] = (struct fleet_key){ hash, 0, (uint32_t)i };
	}
	if (!fleet_sort(&sets, &s->check->scratch))
		return false;
	struct group *united = pm_arena_array(&s->check->scratch, s->groups, sizeof *united);
	if (!united)
		return false;
	size_t count = 0;
	for (size_t i = 0; i < s->groups; i++) {
		const struct group *next = &s->group[sets.key[i].item];
		struct group *last = count ? &united[count - 1] : NULL;
		if (!last || !same_sites(s, last, next)) {
			united[count++] = *next;
			continue;
		}
		size_t more = last->more + 1;
		if (stands_before(s, next, last))
			*last = *next;
		last->more = more;
	}
	s->group = united;
	s->groups = count;
	return true;
}

static bool report(struct search *s, const struct group *group)
{
	struct pm_text text;
	size_t count = group->to - group->from;
	uint32_t *site = pm_arena_array(&s->check->scratch, count, sizeof *site);
	if (!site)
		return false;
	pm_text_grow(&text, &s->check->scratch);
	s->kind->say(&text, site_at(s, group->from), s->keys.key[group->from].item);
	if (group->more)
		pm_text_add(&text, " and %zu more", group->more);
	pm_text_str(&text, group->more ? " stand in " : " stands in ");
	for (size_t i = 0; i < count; i++) {
		const struct fleet_key *key = &s->keys.key[group->from + i];
		site[i] = key->site;
		if (i >= NAMED_MOST)
			continue;
		pm_text_str(&text, !i ? "" : i + 1 == count ? " and " : ", ");
		fleet_name(&text, site_at(s, group->from + i));
		if (s->kind->bearer)
			pm_text_add(&text, " at %s", s->kind->bearer(site_at(s, group->from + i), key->item));
	}
	if (count > NAMED_MOST)
		pm_text_add(&text, " and %zu more", count - NAMED_MOST);
	return fleet_add(s->check, s->kind->code, site, count, &text) != NULL;
}

bool fleet_check_same(struct fleet_check *check)
{
	for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
		struct search s = { .check = check, .kind = &kinds[i] };
		if (!gather(&s) || !find_groups(&s) || !unite(&s))
			return false;
		for (size_t k = 0; k < s.groups; k++)
			if (!report(&s, &s.group[k]))
				return false;
	}
	return true;
}
