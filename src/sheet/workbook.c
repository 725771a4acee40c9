#include "sheet/workbook.h"

#include <stdlib.h>
#include <string.h>

#include "sheet/workbook_parts.h"
#include "store/save.h"

static struct pm_place place_of(const char *path)
{
	return (struct pm_place){ path, 0, 0 };
}

static bool out_of_memory(const char *path, struct pm_fault *fault)
{
	return pm_fail(fault, PM_FAULT_MEMORY, place_of(path), "out of memory");
}

/* --- what a file is that is no package --- */

static const struct {
	const char *bytes;
	size_t length;
	const char *what, *remedy;
} marks[] = {
	/* the compound file header, as the old workbooks and the encrypted ones have it */
	{ "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8, "an encrypted or old workbook", "save it as .xlsx without a password" },
	{ "PK", 2, "a zip archive that is damaged or cut short", "copy or send it again" },
	{ "%PDF", 4, "a PDF document", "ask for the workbook itself" },
	{ "\x1F\x8B", 2, "a compressed file", "unpack it first" },
	{ "<", 1, "a page of markup", "save it as .xlsx" },
	{ "\xEF\xBB\xBF<", 4, "a page of markup", "save it as .xlsx" },
};

static bool not_workbook(const char *path, const char *bytes, size_t length, struct pm_fault *fault)
{
	const char *what = "of another kind", *remedy = "";
	bool plain = true;
	for (size_t i = 0; plain && i < length && i < 4096; i++)
		plain = (unsigned char)bytes[i] >= 0x20 || strchr("\t\r\n", bytes[i]);
	for (size_t i = 0; plain && i < length && i < 4096; i++)
		plain = bytes[i] != '\0';
	if (!length)
		what = "an empty file";
	else if (plain)
		what = "plain text", remedy = "a CSV file has a layout of its own kind";
	for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
		if (length >= marks[i].length && !memcmp(bytes, marks[i].bytes, marks[i].length)) {
			what = marks[i].what;
			remedy = marks[i].remedy;
			break;
		}
	}
	pm_fail(fault, PM_FAULT_SYNTAX, place_of(path), "not a workbook: it is %s", what);
	return pm_fail_remedy(fault, "%s", remedy);
}

/* --- parts --- */

size_t book_part_find(const struct workbook *workbook, const char *name)
{
	/* ECMA-376 part 2, 9.1.1: part names differ by more than ASCII case */
	for (size_t i = 0; i < workbook->part_count; i++)
		if (pm_same_nocase(workbook->parts[i], name))
			return i;
	return BOOK_NO_PART;
}

static bool part_fail(const struct workbook *workbook, size_t part, struct pm_fault *fault,
                      enum pm_fault_kind kind, const char *problem)
{
	char quoted[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, workbook->parts[part]);
	return pm_fail(fault, kind, place_of(workbook->path), "part %s: %s", quoted, problem);
}

/* Unpack to the end of the part, however long its header says it is. */
static bool unpack(struct workbook *workbook, size_t part, zip_file_t *file, char **bytes, size_t *length,
                   struct pm_fault *fault)
{
	size_t room = 1u << 16, used = 0;
	char *to = malloc(room + 1);
	zip_int64_t got = 0;
	while (to && (got = zip_fread(file, to + used, room - used)) > 0) {
		used += (size_t)got;
		if (used < room)
			continue;
		if (room >= BOOK_MOST_PART + 1u) {
			free(to);
			return part_fail(workbook, part, fault, PM_FAULT_LIMIT, "larger than 64 MiB when it is unpacked");
		}
		room = room * 2 > BOOK_MOST_PART ? BOOK_MOST_PART + 1u : room * 2;
		char *wider = realloc(to, room + 1);
		if (!wider)
			free(to);
		to = wider;
	}
	if (!to)
		return out_of_memory(workbook->path, fault);
	if (got < 0) {
		free(to);
		return part_fail(workbook, part, fault, PM_FAULT_SYNTAX, "damaged: it does not unpack to what it says");
	}
	*bytes = to;
	*length = used;
	return true;
}

bool book_part_read(struct workbook *workbook, size_t part, const char **bytes, size_t *length,
                    struct pm_fault *fault)
{
	zip_file_t *file = zip_fopen_index(workbook->zip, part, 0);
	char *unpacked = NULL;
	if (!file)
		return part_fail(workbook, part, fault, PM_FAULT_SYNTAX, "damaged: it can't be unpacked");
	bool good = unpack(workbook, part, file, &unpacked, length, fault);
	zip_fclose(file);
	if (!good)
		return false;
	*bytes = pm_arena_copy(&workbook->arena, unpacked, *length);
	free(unpacked);
	return *bytes || out_of_memory(workbook->path, fault);
}

static bool part_allowed(struct workbook *workbook, size_t part, struct pm_fault *fault)
{
	zip_stat_t about;
	if (zip_stat_index(workbook->zip, part, 0, &about) != 0)
		return part_fail(workbook, part, fault, PM_FAULT_SYNTAX, "damaged: the archive says nothing about it");
	if ((about.valid & ZIP_STAT_ENCRYPTION_METHOD) && about.encryption_method != ZIP_EM_NONE) {
		part_fail(workbook, part, fault, PM_FAULT_VALUE, "encrypted");
		return pm_fail_remedy(fault, "save the workbook without a password");
	}
	if (about.comp_method != ZIP_CM_STORE && about.comp_method != ZIP_CM_DEFLATE)
		return part_fail(workbook, part, fault, PM_FAULT_SYNTAX, "packed in a way that no workbook uses");
	if (about.size > BOOK_MOST_PART)
		return part_fail(workbook, part, fault, PM_FAULT_LIMIT, "larger than 64 MiB when it is unpacked");
	for (size_t i = 0; i < part; i++)
		if (pm_same_nocase(workbook->parts[i], workbook->parts[part]))
			return part_fail(workbook, part, fault, PM_FAULT_SYNTAX, "there are two of that name");
	return true;
}

static bool list_parts(struct workbook *workbook, struct pm_fault *fault)
{
	zip_int64_t count = zip_get_num_entries(workbook->zip, 0);
	if (count < 0 || count > (zip_int64_t)BOOK_MOST_PARTS)
		return pm_fail(fault, PM_FAULT_LIMIT, place_of(workbook->path), "more than %u parts", BOOK_MOST_PARTS);
	workbook->parts = pm_arena_array(&workbook->arena, (size_t)count, sizeof *workbook->parts);
	if (!workbook->parts)
		return out_of_memory(workbook->path, fault);
	for (size_t i = 0; i < (size_t)count; i++) {
		const char *name = zip_get_name(workbook->zip, i, ZIP_FL_ENC_RAW);
		workbook->parts[i] = name ? pm_arena_copy(&workbook->arena, name, strlen(name)) : "";
		if (!workbook->parts[i])
			return out_of_memory(workbook->path, fault);
	}
	for (workbook->part_count = 0; workbook->part_count < (size_t)count; workbook->part_count++)
		if (!part_allowed(workbook, workbook->part_count, fault))
			return false;
	return true;
}

/* --- opening --- */

static bool open_zip(struct workbook *workbook, struct pm_fault *fault)
{
	zip_error_t error;
	zip_error_init(&error);
	zip_source_t *source = zip_source_buffer_create(workbook->bytes, workbook->length, 0, &error);
	workbook->zip = source ? zip_open_from_source(source, ZIP_RDONLY, &error) : NULL;
	if (!workbook->zip && source)
		zip_source_free(source);
	bool memory = zip_error_code_zip(&error) == ZIP_ER_MEMORY;
	zip_error_fini(&error);
	if (workbook->zip)
		return true;
	return memory ? out_of_memory(workbook->path, fault)
	              : not_workbook(workbook->path, workbook->bytes, workbook->length, fault);
}

struct workbook *book_open_bytes(const char *path, const char *bytes, size_t length, struct pm_fault *fault)
{
	struct workbook *workbook = calloc(1, sizeof *workbook);
	if (!workbook) {
		out_of_memory(path, fault);
		return NULL;
	}
	pm_arena_init(&workbook->arena);
	workbook->bytes = bytes;
	workbook->length = length;
	workbook->path = pm_arena_copy(&workbook->arena, path, strlen(path));
	bool good = workbook->path ? length >= 2 && !memcmp(bytes, "PK", 2) ? open_zip(workbook, fault)
	                                                                    : not_workbook(path, bytes, length, fault)
	                           : out_of_memory(path, fault);
	if (good && list_parts(workbook, fault) && book_parts_read(workbook, fault))
		return workbook;
	workbook_close(workbook);
	return NULL;
}

struct workbook *workbook_open(const char *path, struct pm_fault *fault)
{
	struct pm_arena arena;
	char *bytes;
	size_t length;
	pm_arena_init(&arena);
	struct workbook *workbook = NULL;
	if (store_read_file(path, BOOK_MOST_FILE, &arena, &bytes, &length, fault))
		workbook = book_open_bytes(path, bytes, length, fault);
	if (workbook)
		workbook->file = arena;
	else
		pm_arena_free(&arena);
	return workbook;
}

void workbook_close(struct workbook *workbook)
{
	if (!workbook)
		return;
	if (workbook->zip)
		zip_discard(workbook->zip);
	pm_arena_free(&workbook->arena);
	pm_arena_free(&workbook->file);
	free(workbook);
}

/* --- pages --- */

size_t workbook_pages(const struct workbook *workbook)
{
	return workbook->page_count;
}

const char *workbook_page_name(const struct workbook *workbook, size_t page)
{
	return page < workbook->page_count ? workbook->pages[page].name : "";
}

bool workbook_page_hidden(const struct workbook *workbook, size_t page)
{
	return page < workbook->page_count && workbook->pages[page].hidden;
}

size_t workbook_page_find(const struct workbook *workbook, const char *name)
{
	for (size_t i = 0; i < workbook->page_count; i++)
		if (pm_same(workbook->pages[i].name, name))
			return i;
	return WORKBOOK_NO_PAGE;
}

struct book_page *book_page_need(struct workbook *workbook, size_t page, struct pm_fault *fault)
{
	if (page >= workbook->page_count) {
		pm_fail(fault, PM_FAULT_USAGE, place_of(workbook->path), "no page %zu: there are %zu", page + 1,
		        workbook->page_count);
		return NULL;
	}
	struct book_page *found = &workbook->pages[page], fresh = *found;
	if (found->loaded)
		return found;
	if (found->chart) {
		part_fail(workbook, found->index, fault, PM_FAULT_VALUE, "a page without cells, such as a chart");
		return NULL;
	}
	/* a copy, so that a page which can't be read leaves nothing half read behind */
	if (!book_part_read(workbook, found->index, &fresh.xml, &fresh.length, fault) ||
	    !book_page_read(&fresh, &workbook->words, &workbook->arena, workbook->path, fault))
		return NULL;
	*found = fresh;
	return found;
}

/* --- cells --- */

static bool place_allowed(const struct workbook *workbook, uint32_t row, uint32_t column, struct pm_fault *fault)
{
	if (row < WORKBOOK_MOST_ROWS && column < WORKBOOK_MOST_COLUMNS)
		return true;
	return pm_fail(fault, PM_FAULT_USAGE, place_of(workbook->path),
	               "row %llu, column %llu lies outside of every page", (unsigned long long)row + 1, (unsigned long long)column + 1);
}

bool book_cell_fail(struct pm_fault *fault, enum pm_fault_kind kind, const char *file, const struct book_page *page,
                    uint32_t row, uint32_t column, const char *problem)
{
	char name[12], quoted[PM_FAULT_TEXT];
	struct pm_text text;
	workbook_name(row, column, name);
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, page->name);
	return pm_fail(fault, kind, place_of(file), "cell %s of page %s: %s", name, quoted, problem);
}

bool workbook_extent(struct workbook *workbook, size_t page, uint32_t *rows, uint32_t *columns,
                     struct pm_fault *fault)
{
	const struct book_page *found = book_page_need(workbook, page, fault);
	uint32_t down = 0, across = 0;
	if (!found)
		return false;
	for (size_t i = 0; i < found->row_count; i++) {
		const struct book_row *row = &found->rows[i];
		for (size_t j = row->first; j < row->first + row->count; j++) {
			const struct book_cell *cell = &found->cells[j];
			if (cell->kind == WORKBOOK_EMPTY || book_edit_find(found, row->number, cell->column))
				continue;
			down = row->number + 1;
			across = cell->column + 1u > across ? cell->column + 1u : across;
		}
	}
	for (size_t i = 0; i < found->edit_count; i++) {
		const struct book_edit *edit = &found->edits[i];
		if (!*edit->text)
			continue;
		down = edit->row + 1 > down ? edit->row + 1 : down;
		across = edit->column + 1 > across ? edit->column + 1 : across;
	}
	*rows = down;
	*columns = across;
	return true;
}

bool workbook_formulas(struct workbook *workbook, size_t page, size_t *count, uint32_t *row, uint32_t *column,
                       struct pm_fault *fault)
{
	const struct book_page *found = book_page_need(workbook, page, fault);
	*count = 0;
	for (size_t i = 0; found && i < found->row_count; i++)
		for (size_t j = found->rows[i].first; j < found->rows[i].first + found->rows[i].count; j++) {
			const struct book_cell *cell = &found->cells[j];
			if (cell->formula == BOOK_NO_FORMULA || !*cell->text)
				continue;
			if (!(*count)++) {
				*row = found->rows[i].number;
				*column = cell->column;
			}
		}
	return found != NULL;
}

bool workbook_recalculates(const struct workbook *workbook)
{
	return workbook->recalculates;
}

bool workbook_get(struct workbook *workbook, size_t page, uint32_t row, uint32_t column,
                  struct pm_arena *arena, struct workbook_cell *cell, struct pm_fault *fault)
{
	const struct book_page *found = book_page_need(workbook, page, fault);
	if (!found || !place_allowed(workbook, row, column, fault))
		return false;
	const struct book_cell *stored = book_cell_find(found, row, column);
	const struct book_edit *edit = book_edit_find(found, row, column);
	const char *text = edit ? edit->text : stored ? stored->text : "";
	cell->covered = book_covered(found, row, column);
	cell->kind = edit ? (*text ? WORKBOOK_TEXT : WORKBOOK_EMPTY) : stored ? stored->kind : WORKBOOK_EMPTY;
	if (book_formula_of(found, row, column) != BOOK_NO_FORMULA)
		cell->kind = WORKBOOK_FORMULA;
	cell->text = *text ? pm_arena_copy(arena, text, strlen(text)) : "";
	return cell->text || out_of_memory(workbook->path, fault);
}

bool workbook_put(struct workbook *workbook, size_t page, uint32_t row, uint32_t column,
                  const char *text, struct pm_fault *fault)
{
	if (workbook->signed_by_someone) {
		pm_fail(fault, PM_FAULT_VALUE, place_of(workbook->path),
		        "a signed workbook: filling it would break the signature");
		return pm_fail_remedy(fault, "ask for a copy without a signature");
	}
	struct book_page *found = book_page_need(workbook, page, fault);
	return found && place_allowed(workbook, row, column, fault) &&
	       book_page_put(found, row, column, text, &workbook->arena, workbook->path, fault);
}
