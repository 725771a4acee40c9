/* Saving: the package's own records are copied as they are, byte for byte and in
 * their order; only the records of filled pages are made anew. libzip would write
 * every local header again (dropping data descriptors and their flag), so the
 * copying is done here, after APPNOTE.TXT 6.3, sections 4.3 and 4.4; libzip packs
 * the new parts. */
#include <stdlib.h>
#include <string.h>

#include "sheet/workbook_parts.h"
#include "store/save.h"

/* Sizes of the fixed parts of records, and where what is changed stands in them. */
enum {
	LOCAL = 30, LOCAL_FLAGS = 6, LOCAL_METHOD = 8, LOCAL_CRC = 14, LOCAL_PACKED = 18, LOCAL_SIZE = 22,
	LOCAL_NAME = 26, LOCAL_EXTRA = 28,
	ENTRY = 46, ENTRY_FLAGS = 8, ENTRY_METHOD = 10, ENTRY_CRC = 16, ENTRY_PACKED = 20, ENTRY_SIZE = 24,
	ENTRY_NAME = 28, ENTRY_EXTRA = 30, ENTRY_COMMENT = 32, ENTRY_DISK = 34, ENTRY_LOCAL = 42,
	END = 22, END_DISK = 4, END_FIRST = 6, END_COUNT = 10, END_SIZE = 12, END_OFFSET = 16, END_COMMENT = 20,
	DESCRIPTOR_FLAG = 1 << 3, WIDE_EXTRA = 0x0001,
};

/* One part of the package in its two records. */
struct record {
	size_t entry, entry_length;    /* in the central directory */
	size_t local, next;            /* from its local header to the next part's */
	size_t part;
	size_t moved;                  /* where its local header comes to stand */
	bool filled;
	const char *packed;            /* of a filled page */
	zip_stat_t about;
};

struct archive {
	struct workbook *workbook;
	struct pm_arena *arena;
	struct pm_fault *fault;
	const unsigned char *bytes;
	size_t length;
	size_t directory, end;         /* the central directory and the record behind it */
	struct record *records;        /* in the directory's order */
	struct record **by_place;      /* in the order of their local headers */
	size_t count;
	struct pm_text out;
};

static unsigned read16(const unsigned char *at)
{
	return at[0] | (unsigned)at[1] << 8;
}

static uint32_t read32(const unsigned char *at)
{
	return read16(at) | (uint32_t)read16(at + 2) << 16;
}

static void write16(char *at, unsigned value)
{
	at[0] = (char)(value & 0xFF);
	at[1] = (char)(value >> 8 & 0xFF);
}

static void write32(char *at, uint32_t value)
{
	write16(at, value & 0xFFFF);
	write16(at + 2, value >> 16);
}

static bool fail(const struct archive *a, enum pm_fault_kind kind, const char *message)
{
	return pm_fail(a->fault, kind, (struct pm_place){ a->workbook->path, 0, 0 }, "%s", message);
}

static bool unsound(const struct archive *a)
{
	fail(a, PM_FAULT_SYNTAX, "the archive's lists of its parts do not agree: it can be read, not filled");
	return pm_fail_remedy(a->fault, "open the workbook in the program that made it and save it again");
}

static bool too_wide(const struct archive *a)
{
	fail(a, PM_FAULT_VALUE, "the archive is of the kind for very large files: it can be read, not filled");
	return pm_fail_remedy(a->fault, "open the workbook in the program that made it and save it again");
}

/* --- the records as they are --- */

static bool find_end(struct archive *a)
{
	for (size_t at = a->length < END ? 0 : a->length - END + 1; at-- > 0 && a->length - at <= END + UINT16_MAX;) {
		const unsigned char *end = a->bytes + at;
		if (memcmp(end, "PK\5\6", 4) || at + END + read16(end + END_COMMENT) != a->length)
			continue;
		a->end = at;
		a->directory = read32(end + END_OFFSET);
		a->count = read16(end + END_COUNT);
		if (a->count == UINT16_MAX || a->directory == UINT32_MAX)
			return too_wide(a);
		size_t size = read32(end + END_SIZE);
		bool whole = !read16(end + END_DISK) && !read16(end + END_FIRST);
		return (whole && a->directory <= at && size == at - a->directory && a->count == a->workbook->part_count) ||
		       unsound(a);
	}
	return unsound(a);
}

static bool same_name(const struct archive *a, size_t at, size_t length, size_t part)
{
	const char *name = a->workbook->parts[part];
	return strlen(name) == length && !memcmp(a->bytes + at, name, length);
}

static bool read_entry(struct archive *a, size_t at, struct record *record)
{
	const unsigned char *entry = a->bytes + at;
	if (a->end - at < ENTRY || memcmp(entry, "PK\1\2", 4))
		return unsound(a);
	size_t name = read16(entry + ENTRY_NAME);
	record->entry = at;
	record->entry_length = ENTRY + name + read16(entry + ENTRY_EXTRA) + read16(entry + ENTRY_COMMENT);
	record->local = read32(entry + ENTRY_LOCAL);
	if (record->entry_length > a->end - at || read16(entry + ENTRY_DISK) ||
	    !same_name(a, at + ENTRY, name, record->part))
		return unsound(a);
	if (read32(entry + ENTRY_PACKED) == UINT32_MAX || read32(entry + ENTRY_SIZE) == UINT32_MAX ||
	    record->local == UINT32_MAX)
		return too_wide(a);
	return true;
}

static int by_local(const void *one, const void *other)
{
	const struct record *a = *(struct record *const *)one, *b = *(struct record *const *)other;
	return (a->local > b->local) - (a->local < b->local);
}

/* The local records follow each other without overlapping. */
static bool check_locals(struct archive *a)
{
	for (size_t i = 0; i < a->count; i++) {
		struct record *record = a->by_place[i];
		record->next = i + 1 < a->count ? a->by_place[i + 1]->local : a->directory;
		size_t room = record->next - record->local;
		const unsigned char *local = a->bytes + record->local;
		if (record->next < record->local || record->next > a->directory || room < LOCAL ||
		    memcmp(local, "PK\3\4", 4))
			return unsound(a);
		size_t name = read16(local + LOCAL_NAME), extra = read16(local + LOCAL_EXTRA);
		size_t packed = read32(a->bytes + record->entry + ENTRY_PACKED);
		if (room - LOCAL < name + extra || room - LOCAL - name - extra < packed ||
		    !same_name(a, record->local + LOCAL, name, record->part))
			return unsound(a);
	}
	return true;
}

static bool survey(struct archive *a)
{
	if (!find_end(a))
		return false;
	a->records = pm_arena_array(a->arena, a->count, sizeof *a->records);
	a->by_place = pm_arena_array(a->arena, a->count, sizeof *a->by_place);
	if (!a->records || !a->by_place)
		return fail(a, PM_FAULT_MEMORY, "out of memory");
	size_t at = a->directory;
	for (size_t i = 0; i < a->count; i++) {
		a->by_place[i] = &a->records[i];
		a->records[i].part = i;
		if (!read_entry(a, at, &a->records[i]))
			return false;
		at += a->records[i].entry_length;
	}
	qsort(a->by_place, a->count, sizeof *a->by_place, by_local);
	return check_locals(a);
}

/* --- packing --- */

/* Let libzip make an archive of one part, and take the packed bytes out of it. */
static bool take_packed(struct archive *a, zip_source_t *archive, struct record *record)
{
	zip_error_t error;
	zip_error_init(&error);
	zip_source_keep(archive);
	zip_t *zip = zip_open_from_source(archive, ZIP_RDONLY, &error);
	zip_error_fini(&error);
	if (!zip) {
		zip_source_free(archive);
		return false;
	}
	zip_file_t *file = NULL;
	bool good = zip_stat_index(zip, 0, 0, &record->about) == 0 && record->about.comp_size < UINT32_MAX &&
	            (file = zip_fopen_index(zip, 0, ZIP_FL_COMPRESSED)) != NULL;
	char *packed = good ? pm_arena_alloc(a->arena, (size_t)record->about.comp_size) : NULL;
	good = packed && zip_fread(file, packed, record->about.comp_size) == (zip_int64_t)record->about.comp_size;
	record->packed = packed;
	if (file)
		zip_fclose(file);
	zip_discard(zip);
	return good;
}

static bool pack(struct archive *a, struct record *record, const char *bytes, size_t length)
{
	bool stored = read16(a->bytes + record->entry + ENTRY_METHOD) == ZIP_CM_STORE;
	zip_error_t error;
	zip_error_init(&error);
	zip_source_t *archive = zip_source_buffer_create(NULL, 0, 0, &error);
	bool good = false;
	if (archive) {
		zip_source_keep(archive);
		zip_t *zip = zip_open_from_source(archive, ZIP_CREATE | ZIP_TRUNCATE, &error);
		zip_source_t *source = zip ? zip_source_buffer(zip, bytes, length, 0) : NULL;
		if (!zip)
			zip_source_free(archive);
		if (source && zip_file_add(zip, "part", source, 0) < 0)
			zip_source_free(source);
		else
			good = source && zip_set_file_compression(zip, 0, stored ? ZIP_CM_STORE : ZIP_CM_DEFLATE, 0) == 0;
		if (zip && (!good || zip_close(zip) != 0)) {
			zip_discard(zip);
			good = false;
		}
		good = good && take_packed(a, archive, record);
		zip_source_free(archive);
	}
	zip_error_fini(&error);
	record->filled = good;
	return good || fail(a, PM_FAULT_MEMORY, "a filled page can't be packed");
}

static bool pack_pages(struct archive *a)
{
	struct workbook *workbook = a->workbook;
	for (size_t i = 0; i < workbook->page_count; i++) {
		const struct book_page *page = &workbook->pages[i];
		const char *xml;
		size_t length;
		if (!page->edit_count)
			continue;
		if (!book_page_splice(page, &workbook->words, a->arena, &xml, &length, workbook->path, a->fault) ||
		    !pack(a, &a->records[page->index], xml, length))
			return false;
	}
	return true;
}

/* --- writing --- */

/* The local header of a filled page: its own but for sizes and sum, without a
 * data descriptor and without the extra field that would hold larger sizes. */
static void put_local(struct archive *a, const struct record *record)
{
	const unsigned char *local = a->bytes + record->local;
	size_t name = read16(local + LOCAL_NAME), extra = read16(local + LOCAL_EXTRA), kept = 0;
	char header[LOCAL];
	memcpy(header, local, LOCAL);
	size_t start = a->out.length;
	pm_text_put(&a->out, header, LOCAL);
	pm_text_put(&a->out, (const char *)local + LOCAL, name);
	for (size_t at = 0; at + 4 <= extra;) {
		const unsigned char *field = local + LOCAL + name + at;
		size_t size = 4 + read16(field + 2);
		if (size > extra - at)
			break;
		if (read16(field) != WIDE_EXTRA) {
			pm_text_put(&a->out, (const char *)field, size);
			kept += size;
		}
		at += size;
	}
	if (a->out.cut)
		return;
	char *to = a->out.data + start;
	write16(to + LOCAL_FLAGS, read16(local + LOCAL_FLAGS) & ~(unsigned)DESCRIPTOR_FLAG);
	write16(to + LOCAL_METHOD, record->about.comp_method);
	write32(to + LOCAL_CRC, record->about.crc);
	write32(to + LOCAL_PACKED, (uint32_t)record->about.comp_size);
	write32(to + LOCAL_SIZE, (uint32_t)record->about.size);
	write16(to + LOCAL_EXTRA, (unsigned)kept);
}

static void put_locals(struct archive *a)
{
	pm_text_put(&a->out, (const char *)a->bytes, a->count ? a->by_place[0]->local : a->directory);
	for (size_t i = 0; i < a->count; i++) {
		struct record *record = a->by_place[i];
		record->moved = a->out.length;
		if (!record->filled) {
			pm_text_put(&a->out, (const char *)a->bytes + record->local, record->next - record->local);
			continue;
		}
		put_local(a, record);
		pm_text_put(&a->out, record->packed, (size_t)record->about.comp_size);
	}
}

static void put_directory(struct archive *a)
{
	size_t directory = a->out.length;
	for (size_t i = 0; i < a->count; i++) {
		const struct record *record = &a->records[i];
		size_t start = a->out.length;
		pm_text_put(&a->out, (const char *)a->bytes + record->entry, record->entry_length);
		if (a->out.cut)
			return;
		char *to = a->out.data + start;
		write32(to + ENTRY_LOCAL, (uint32_t)record->moved);
		if (!record->filled)
			continue;
		write16(to + ENTRY_FLAGS, read16(a->bytes + record->entry + ENTRY_FLAGS) & ~(unsigned)DESCRIPTOR_FLAG);
		write16(to + ENTRY_METHOD, record->about.comp_method);
		write32(to + ENTRY_CRC, record->about.crc);
		write32(to + ENTRY_PACKED, (uint32_t)record->about.comp_size);
		write32(to + ENTRY_SIZE, (uint32_t)record->about.size);
	}
	/* what stood between the last entry and the end record, if anything did, and that record */
	const struct record *last = a->count ? &a->records[a->count - 1] : NULL;
	size_t tail = last ? last->entry + last->entry_length : a->directory, end = a->out.length + (a->end - tail);
	pm_text_put(&a->out, (const char *)a->bytes + tail, a->length - tail);
	if (!a->out.cut)
		write32(a->out.data + end + END_OFFSET, (uint32_t)directory);
}

bool book_compose(struct workbook *workbook, struct pm_arena *arena, const char **bytes, size_t *length,
                  struct pm_fault *fault)
{
	struct archive a = { .workbook = workbook, .arena = arena, .fault = fault,
		.bytes = (const unsigned char *)workbook->bytes, .length = workbook->length };
	size_t filled = 0;
	for (size_t i = 0; i < workbook->page_count; i++)
		filled += workbook->pages[i].edit_count > 0;
	*bytes = workbook->bytes;
	*length = workbook->length;
	if (!filled)
		return true;
	if (!survey(&a) || !pack_pages(&a))
		return false;
	pm_text_grow(&a.out, arena);
	put_locals(&a);
	put_directory(&a);
	if (a.out.cut)
		return fail(&a, PM_FAULT_MEMORY, "out of memory");
	*bytes = a.out.data;
	*length = a.out.length;
	return true;
}

bool workbook_save(struct workbook *workbook, const char *path, struct pm_fault *fault)
{
	struct pm_arena arena;
	const char *bytes;
	size_t length;
	pm_arena_init(&arena);
	bool good = book_compose(workbook, &arena, &bytes, &length, fault) &&
	            store_write_file(path, bytes, length, fault);
	pm_arena_free(&arena);
	return good;
}
