#include "store/registry_build.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "portmuster/registry.h"
#include "portmuster/text.h"
#include "portmuster/when.h"
#include "store/csv.h"
#include "store/save.h"

#define MOST_SOURCE (64u << 20)   /* bytes of one source file; today's largest has 3 million */

static const struct source {
	const char *file;
	enum pm_register from;
	unsigned part;
	unsigned digits;   /* of an assignment */
} sources[] = {
	{ "oui.csv", PM_MA_L, PM_BLOCK_24, 6 },
	{ "mam.csv", PM_MA_M, PM_BLOCK_28, 7 },
	{ "oui36.csv", PM_MA_S, PM_BLOCK_36, 9 },
	{ "iab.csv", PM_IAB, PM_BLOCK_36, 9 },
};
#define SOURCES (sizeof sources / sizeof *sources)

struct entry {
	struct pm_registry_row row;
	const char *holder;   /* null: a split prefix without a row of its own */
	size_t order;         /* as read, so that the first of repeats stays first */
};

struct entries {
	struct entry *item;
	size_t count, room;
};

struct build {
	struct pm_arena arena;
	const char *folder;
	struct entries part[PM_BLOCK_SIZES];
	struct pm_registry_layout layout;
	size_t order;
	struct pm_text names;
	char dated[PM_WHEN_TEXT];
};

static bool fail_memory(struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}

static struct entry *add_entry(struct build *build, unsigned part)
{
	struct entries *list = &build->part[part];
	void *items = list->item;
	struct entry *entry = pm_arena_push(&build->arena, &items, &list->count, &list->room, sizeof *entry);
	list->item = items;
	return entry;
}

/* --- reading ---------------------------------------------------------------- */

struct columns { size_t registry, assignment, holder, most; };

static bool find_columns(const struct pm_words *header, const char *file, struct columns *columns,
                         struct pm_fault *fault)
{
	static const char *const names[] = { "Registry", "Assignment", "Organization Name" };
	size_t found[3] = { 0 };
	columns->most = 0;
	for (size_t n = 0; n < 3; n++) {
		size_t i = 0;
		while (i < header->count && !pm_same(header->item[i].text, names[n]))
			i++;
		if (i == header->count)
			return pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ file, 1, 0 },
			               "no column \"%s\" in the first line", names[n]);
		found[n] = i;
		if (i > columns->most)
			columns->most = i;
	}
	columns->registry = found[0];
	columns->assignment = found[1];
	columns->holder = found[2];
	return true;
}

/* `digits` hex digits and nothing else, as the first address of the block. */
static bool read_assignment(const char *text, unsigned digits, uint64_t *base)
{
	uint64_t value = 0;
	for (unsigned i = 0; i < digits; i++) {
		int digit = pm_hex_value((unsigned char)text[i]);
		if (digit < 0)
			return false;
		value = value << 4 | (uint64_t)digit;
	}
	*base = value << (48 - 4 * digits);
	return text[digits] == '\0';
}

static bool add_record(struct build *build, const struct source *source, const char *file,
                       const struct columns *columns, const struct pm_words *fields,
                       struct pm_fault *fault)
{
	const struct pm_word *first = &fields->item[0];
	char shown[80];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	if (fields->count <= columns->most)
		return pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ file, first->line, 1 },
		               "a record of %zu fields; it needs %zu", fields->count, columns->most + 1);
	const struct pm_word *registry = &fields->item[columns->registry];
	const struct pm_word *assignment = &fields->item[columns->assignment];
	if (!pm_same(registry->text, pm_register_name(source->from))) {
		pm_text_quote(&text, registry->text);
		return pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ file, registry->line, registry->column },
		               "registry %s in the file of %s", shown, pm_register_name(source->from));
	}
	uint64_t base;
	if (!read_assignment(assignment->text, source->digits, &base)) {
		pm_text_quote(&text, assignment->text);
		return pm_fail(fault, PM_FAULT_VALUE,
		               (struct pm_place){ file, assignment->line, assignment->column },
		               "assignment %s is not %u hex digits", shown, source->digits);
	}
	const char *holder = fields->item[columns->holder].text;
	struct entry *entry = add_entry(build, source->part);
	char *kept = pm_arena_copy(&build->arena, holder, strlen(holder));
	if (!entry || !kept)
		return fail_memory(fault);
	entry->row = (struct pm_registry_row){ .base = base, .from = source->from, .holders = 1, .listed = true };
	entry->holder = kept;
	entry->order = build->order++;
	build->layout.rows[source->from]++;
	return true;
}

static bool read_records(struct build *build, const struct source *source, const char *file,
                         struct pm_arena *scratch, struct pm_fault *fault)
{
	char *text;
	size_t length;
	struct csv_reader reader;
	struct pm_words fields;
	struct columns columns = { 0 };
	if (!store_read_file(file, MOST_SOURCE, scratch, &text, &length, fault))
		return false;
	csv_open(&reader, text, length, file, scratch);
	int got = csv_next(&reader, &fields, fault);
	if (got == 0)
		return pm_fail(fault, PM_FAULT_SYNTAX, (struct pm_place){ file, 0, 0 }, "the file is empty");
	if (got < 0 || !find_columns(&fields, file, &columns, fault))
		return false;
	while ((got = csv_next(&reader, &fields, fault)) > 0)
		if (!add_record(build, source, file, &columns, &fields, fault))
			return false;
	return got == 0;
}

/* --- the date ---------------------------------------------------------------- */

static void put_date(struct build *build, int64_t second)
{
	pm_when_write(pm_when_utc(second), build->dated);
	build->dated[10] = '\0';   /* the full-date only */
}

#define YEAR_2000 INT64_C(946684800)
#define YEAR_9999_END INT64_C(253402300799)

/* What `.lastupdate` holds: seconds since 1970, or a date at its start. A
 * number before the year 2000 is something else. */
static bool read_update(struct build *build, const char *text)
{
	char line[PM_WHEN_TEXT];
	size_t length = strcspn(text, " \t\r\n");
	if (length == 0 || length >= sizeof line)
		return false;
	memcpy(line, text, length);
	line[length] = '\0';
	uint64_t second;
	if (pm_read_number(line, YEAR_9999_END, &second)) {
		if (second < YEAR_2000)
			return false;
		put_date(build, (int64_t)second);
		return true;
	}
	struct pm_when when;
	if (length < 10)
		return false;
	memcpy(line + 10, "T00:00:00Z", sizeof "T00:00:00Z");
	if (!pm_when_read(line, &when, NULL))
		return false;
	put_date(build, when.second);
	return true;
}

static bool find_date(struct build *build, struct pm_fault *fault)
{
	char *path = pm_say(&build->arena, "%s/.lastupdate", build->folder), *text;
	size_t length;
	struct pm_fault ignored;
	if (!path)
		return fail_memory(fault);
	if (store_read_file(path, 4096, &build->arena, &text, &length, &ignored) && read_update(build, text))
		return true;
	int64_t newest = 0;
	for (size_t s = 0; s < SOURCES; s++) {
		struct stat about;
		path = pm_say(&build->arena, "%s/%s", build->folder, sources[s].file);
		if (path && stat(path, &about) == 0 && about.st_mtime > newest)
			newest = about.st_mtime;
	}
	put_date(build, newest);
	return path ? true : fail_memory(fault);
}

/* --- ordering and marking ---------------------------------------------------- */

static int by_base(const void *a, const void *b)
{
	const struct entry *left = a, *right = b;
	if (left->row.base != right->row.base)
		return left->row.base < right->row.base ? -1 : 1;
	return left->order < right->order ? -1 : left->order > right->order;
}

static int by_holder(const void *a, const void *b)
{
	const char *const *left = a, *const *right = b;
	return strcmp(*left, *right);
}

static void sort_entries(struct entries *list)
{
	if (list->count)
		qsort(list->item, list->count, sizeof *list->item, by_base);
}

/* One entry a prefix, counting how often it was listed. */
static void merge_repeats(struct entries *list)
{
	size_t kept = 0;
	for (size_t i = 0; i < list->count; i++) {
		struct entry *last = kept ? &list->item[kept - 1] : NULL;
		if (last && last->row.base == list->item[i].row.base) {
			if (last->row.holders < UINT8_MAX)
				last->row.holders++;
		} else {
			list->item[kept++] = list->item[i];
		}
	}
	list->count = kept;
}

static struct entry *find_entry(const struct entries *list, size_t count, uint64_t base)
{
	size_t low = 0, high = count;
	while (low < high) {
		size_t middle = low + (high - low) / 2;
		struct entry *entry = &list->item[middle];
		if (entry->row.base == base)
			return entry;
		if (entry->row.base < base)
			low = middle + 1;
		else
			high = middle;
	}
	return NULL;
}

/* Every 24-bit prefix that has smaller blocks in it is split, listed or not. */
static bool mark_parents(struct build *build, struct pm_fault *fault)
{
	struct entries *list = &build->part[PM_BLOCK_24];
	size_t listed = list->count;
	uint64_t last = UINT64_MAX;
	for (unsigned p = PM_BLOCK_28; p < PM_BLOCK_SIZES; p++)
		for (size_t i = 0; i < build->part[p].count; i++) {
			uint64_t base = build->part[p].item[i].row.base & 0xFFFFFF000000u;
			if (base == last)
				continue;
			last = base;
			struct entry *parent = find_entry(list, listed, base);
			if (!parent) {
				parent = add_entry(build, PM_BLOCK_24);
				if (!parent)
					return fail_memory(fault);
				parent->row = (struct pm_registry_row){ .base = base };
				parent->order = build->order++;
			}
			parent->row.split = true;
		}
	sort_entries(list);
	merge_repeats(list);
	return true;
}

/* Whoever holds most of the split prefixes is the registration authority; its
 * other 24-bit prefixes are split as well, though no block of theirs is listed
 * yet. */
static bool mark_authority(struct build *build, struct pm_fault *fault)
{
	struct entries *list = &build->part[PM_BLOCK_24];
	const char **holder = pm_arena_array(&build->arena, list->count + 1, sizeof *holder);
	const char *authority = NULL;
	size_t count = 0, most = 0;
	if (!holder)
		return fail_memory(fault);
	for (size_t i = 0; i < list->count; i++)
		if (list->item[i].row.split && list->item[i].holder)
			holder[count++] = list->item[i].holder;
	if (count)
		qsort(holder, count, sizeof *holder, by_holder);
	for (size_t i = 0, from = 0; i < count; i++) {
		if (!pm_same(holder[i], holder[from]))
			from = i;
		if (i - from + 1 > most) {
			most = i - from + 1;
			authority = holder[i];
		}
	}
	for (size_t i = 0; authority && i < list->count; i++)
		if (pm_same(list->item[i].holder, authority))
			list->item[i].row.split = true;
	return true;
}

/* --- writing ----------------------------------------------------------------- */

static int by_holder_name(const void *a, const void *b)
{
	const struct entry *const *left = a, *const *right = b;
	return strcmp((*left)->holder, (*right)->holder);
}

/* Each name once. The empty name is at offset 0. */
static bool put_names(struct build *build, struct pm_fault *fault)
{
	size_t total = 0, count = 0;
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		total += build->part[p].count;
	struct entry **named = pm_arena_array(&build->arena, total + 1, sizeof *named);
	if (!named)
		return fail_memory(fault);
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		for (size_t i = 0; i < build->part[p].count; i++)
			if (build->part[p].item[i].holder && build->part[p].item[i].holder[0])
				named[count++] = &build->part[p].item[i];
	if (count)
		qsort(named, count, sizeof *named, by_holder_name);

	struct pm_text *names = &build->names;
	pm_text_grow(names, &build->arena);
	pm_text_char(names, '\0');
	build->layout.origin = (uint32_t)names->length;
	pm_text_put(names, build->folder, strlen(build->folder) + 1);
	build->layout.dated = (uint32_t)names->length;
	pm_text_put(names, build->dated, strlen(build->dated) + 1);
	for (size_t i = 0; i < count; i++) {
		if (i && pm_same(named[i]->holder, named[i - 1]->holder)) {
			named[i]->row.name = named[i - 1]->row.name;
			continue;
		}
		if (names->length > UINT32_MAX / 2)
			return pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ 0 }, "too many holder names");
		named[i]->row.name = (uint32_t)names->length;
		pm_text_put(names, named[i]->holder, strlen(named[i]->holder) + 1);
	}
	build->layout.names_length = (uint32_t)names->length;
	return names->cut ? fail_memory(fault) : true;
}

static bool write_index(struct build *build, const char *path, struct pm_fault *fault)
{
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		build->layout.count[p] = (uint32_t)build->part[p].count;
	size_t length = pm_registry_size(&build->layout);
	if (length == 0)
		return pm_fail(fault, PM_FAULT_LIMIT, (struct pm_place){ path, 0, 0 }, "registry index larger than 4 GiB");
	unsigned char *bytes = pm_arena_alloc(&build->arena, length);
	if (!bytes)
		return fail_memory(fault);
	unsigned char *at = bytes + PM_REGISTRY_HEADER;
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++)
		for (size_t i = 0; i < build->part[p].count; i++, at += PM_REGISTRY_ROW)
			pm_registry_put_row(at, &build->part[p].item[i].row);
	memcpy(at, build->names.data, build->names.length);
	pm_registry_put_header(bytes, &build->layout);
	return store_write_file(path, bytes, length, fault);
}

static bool build_index(struct build *build, const char *path, struct pm_fault *fault)
{
	for (size_t s = 0; s < SOURCES; s++) {
		const char *file = pm_say(&build->arena, "%s/%s", build->folder, sources[s].file);
		if (!file)
			return fail_memory(fault);
		struct pm_arena scratch;
		pm_arena_init(&scratch);
		bool good = read_records(build, &sources[s], file, &scratch, fault);
		pm_arena_free(&scratch);
		if (!good)
			return false;
	}
	for (unsigned p = 0; p < PM_BLOCK_SIZES; p++) {
		sort_entries(&build->part[p]);
		merge_repeats(&build->part[p]);
	}
	return mark_parents(build, fault) && mark_authority(build, fault) && find_date(build, fault) &&
	       put_names(build, fault) && write_index(build, path, fault);
}

bool store_registry_build(const char *folder, const char *path, struct pm_fault *fault)
{
	struct build build = { .folder = folder };
	pm_arena_init(&build.arena);
	bool good = build_index(&build, path, fault);
	pm_arena_free(&build.arena);
	return good;
}
