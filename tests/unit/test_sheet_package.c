#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include "book_pieces.h"
#include "scratch.h"
#include "sheet/workbook_parts.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define PAGE(more) BOOK_RELATIONS(BOOK_RELATION("s1", "worksheet", "worksheets/sheet1.xml") more)

static char folder[200];

static int setup(void **state)
{
	(void)state;
	return scratch_make(folder, sizeof folder) ? 0 : -1;
}

static int teardown(void **state)
{
	(void)state;
	scratch_remove(folder);
	return 0;
}

static const char *path_of(int slot, const char *name)
{
	static char paths[4][600];
	snprintf(paths[slot], sizeof paths[slot], "%s/%s", folder, name);
	return paths[slot];
}

static struct workbook *open_sound(const char *bytes, size_t length)
{
	struct pm_fault fault = { 0 };
	struct workbook *workbook = bytes ? book_open_bytes("book.xlsx", bytes, length, &fault) : NULL;
	if (!workbook)
		fail_msg("not opened: %s", fault.message);
	return workbook;
}

/* --- reading --- */

static const char values[] = BOOK_SHEET("<sheetData><row r=\"1\">"
	"<c r=\"A1\" t=\"s\"><v>0</v></c><c r=\"B1\" t=\"s\"><v>1</v></c><c r=\"C1\" t=\"s\"><v>2</v></c><c r=\"D1\" t=\"s\"><v> 3 </v></c>"
	"<c r=\"E1\" t=\"inlineStr\"><is><r><t>in</t></r><r><t> line</t></r><rPh><t>no</t></rPh></is></c></row>"
	"<row r=\"2\"><c r=\"A2\"><v>112233</v></c><c r=\"B2\" t=\"n\"><v>\n1.2E+457\n</v></c><c r=\"C2\" t=\"b\"><v>1</v></c><c r=\"D2\" t=\"b\"><v>0</v></c>"
	"<c r=\"E2\" t=\"e\"><v>#N/A</v></c><c r=\"F2\" t=\"d\"><v>2026-03-01</v></c><c r=\"G2\" s=\"5\"/><c r=\"H2\"><v/></c></row>"
	"<row r=\"3\"><c r=\"A3\" s=\"1\"><v>46082</v></c><c r=\"B3\" s=\"2\"><v>46082.5</v></c><c r=\"C3\" s=\"3\"><v>7</v></c>"
	"<c r=\"D3\" s=\"4\"><v>0.5</v></c><c r=\"E3\" s=\"5\"><v>8</v></c><c r=\"F3\" s=\"99\"><v>9</v></c><c r=\"G3\" s=\"1\"/></row>"
	"<row r=\"4\"><c r=\"A4\" t=\"str\"><f>A1&amp;B1</f><v>a_x0041_&lt;</v></c><c r=\"B4\" s=\"1\"><f>NOW()</f><v>46000</v></c><c r=\"C4\"><f>1/0</f></c>"
	"<c r=\"D4\"><f t=\"array\" ref=\"D4:D5\">X</f><v>1</v></c></row><row r=\"5\"><c r=\"D5\"><v>2</v></c><c r=\"J5\" s=\"5\"/></row></sheetData>"
	"<mergeCells count=\"1\"><mergeCell ref=\"A1:B2\"/></mergeCells>");

static void test_values(void **state)
{
	(void)state;
	static const struct { const char *place; enum workbook_kind kind; const char *text; bool covered; } cells[] = {
		{ "A1", WORKBOOK_TEXT, "plain", false }, { "B1", WORKBOOK_TEXT, "two runs", true },
		{ "C1", WORKBOOK_TEXT, "A\xc3\xa9\xf0\x9f\x92\xa7_x0000__xD800__x0042_", false }, { "D1", WORKBOOK_EMPTY, "", false },
		{ "E1", WORKBOOK_TEXT, "in line", false }, { "A2", WORKBOOK_NUMBER, "112233", true }, { "B2", WORKBOOK_NUMBER, "1.2E+457", true },
		{ "C2", WORKBOOK_TRUTH, "TRUE", false }, { "D2", WORKBOOK_TRUTH, "FALSE", false }, { "E2", WORKBOOK_ERROR, "#N/A", false },
		{ "F2", WORKBOOK_DATE, "2026-03-01", false }, { "G2", WORKBOOK_EMPTY, "", false }, { "H2", WORKBOOK_EMPTY, "", false },
		{ "A3", WORKBOOK_DATE, "46082", false }, { "B3", WORKBOOK_DATE, "46082.5", false }, { "C3", WORKBOOK_NUMBER, "7", false },
		{ "D3", WORKBOOK_DATE, "0.5", false }, { "E3", WORKBOOK_NUMBER, "8", false }, { "F3", WORKBOOK_NUMBER, "9", false },
		{ "G3", WORKBOOK_EMPTY, "", false }, { "A4", WORKBOOK_FORMULA, "aA<", false }, { "B4", WORKBOOK_FORMULA, "46000", false },
		{ "C4", WORKBOOK_FORMULA, "", false }, { "D4", WORKBOOK_FORMULA, "1", false }, { "D5", WORKBOOK_FORMULA, "2", false },
		{ "XFD1048576", WORKBOOK_EMPTY, "", false },
	};
	size_t length;
	char *bytes = book_with_sheet(values, 0, &length);
	struct workbook *workbook = open_sound(bytes, length);
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	struct workbook_cell cell;
	uint32_t rows, columns;
	pm_arena_init(&arena);
	assert_int_equal(workbook_pages(workbook), 1);
	assert_string_equal(workbook_page_name(workbook, 0), "Units & sites");
	assert_int_equal(workbook_page_find(workbook, "Units & sites"), 0);
	assert_int_equal(workbook_page_find(workbook, "units & sites"), WORKBOOK_NO_PAGE);
	assert_false(workbook_page_hidden(workbook, 0));
	for (size_t i = 0; i < COUNT(cells); i++) {
		uint32_t row, column;
		assert_true(workbook_place(cells[i].place, &row, &column));
		if (!workbook_get(workbook, 0, row, column, &arena, &cell, &fault))
			fail_msg("%s: %s", cells[i].place, fault.message);
		if (cell.kind != cells[i].kind || strcmp(cell.text, cells[i].text) || cell.covered != cells[i].covered)
			fail_msg("%s: kind %d, \"%s\"%s", cells[i].place, cell.kind, cell.text, cell.covered ? ", covered" : "");
	}
	assert_true(workbook_extent(workbook, 0, &rows, &columns, &fault));
	assert_int_equal(rows, 5);
	assert_int_equal(columns, 6);
	/* what is put is what is got, before it is saved */
	assert_true(workbook_put(workbook, 0, 8, 9, "put", &fault));
	assert_true(workbook_put(workbook, 0, 0, 0, "", &fault));
	assert_true(workbook_get(workbook, 0, 8, 9, &arena, &cell, &fault));
	assert_string_equal(cell.text, "put");
	assert_int_equal(cell.kind, WORKBOOK_TEXT);
	assert_true(workbook_get(workbook, 0, 0, 0, &arena, &cell, &fault));
	assert_int_equal(cell.kind, WORKBOOK_EMPTY);
	assert_true(workbook_extent(workbook, 0, &rows, &columns, &fault));
	assert_int_equal(rows, 9);
	assert_int_equal(columns, 10);
	assert_false(workbook_get(workbook, 1, 0, 0, &arena, &cell, &fault));
	assert_false(workbook_get(workbook, 0, WORKBOOK_MOST_ROWS, 0, &arena, &cell, &fault));
	assert_false(workbook_put(workbook, 0, 0, WORKBOOK_MOST_COLUMNS, "x", &fault));
	assert_int_equal(fault.kind, PM_FAULT_USAGE);
	pm_arena_free(&arena);
	workbook_close(workbook);
	free(bytes);
}

/* --- packages that are refused --- */

struct package { const char *what; int piece; const char *name, *bytes; const char *why; };

/* Each replaces one piece of a sound package, or (piece PIECES) adds one; no bytes: it is left out. */
static const struct package packages[] = {
	{ "no content types", PIECE_TYPES, NULL, NULL, "[Content_Types].xml" },
	{ "no relations of the package", PIECE_TOP, NULL, NULL, "_rels/.rels" },
	{ "no main part", PIECE_BOOK, NULL, NULL, "main part" },
	{ "no relations of the main part", PIECE_RELATIONS, NULL, NULL, "xl/_rels/workbook.xml.rels" },
	{ "no page's part", PIECE_SHEET, NULL, NULL, "not there" },
	{ "no shared strings", PIECE_STRINGS, NULL, NULL, "xl/sharedStrings.xml" },
	{ "no styles", PIECE_STYLES, NULL, NULL, "xl/styles.xml" },
	{ "a target above the package", PIECE_RELATIONS, "xl/_rels/workbook.xml.rels", BOOK_RELATIONS(BOOK_RELATION("s1", "worksheet", "../../etc/passwd")), "leads to no part" },
	{ "a target outside", PIECE_RELATIONS, "xl/_rels/workbook.xml.rels",
	  BOOK_RELATIONS("<Relationship Id=\"s1\" Type=\"" BOOK_REL "/worksheet\" Target=\"worksheets/sheet1.xml\" TargetMode=\"External\"/>"), "leads to no part" },
	{ "a target that is missing", PIECE_RELATIONS, "xl/_rels/workbook.xml.rels", BOOK_RELATIONS(BOOK_RELATION("s1", "worksheet", "http://192.0.2.1/a")), "not there" },
	{ "a relation that is missing", PIECE_RELATIONS, "xl/_rels/workbook.xml.rels", BOOK_RELATIONS(""), "leads to no part" },
	{ "relations that are something else", PIECE_RELATIONS, "xl/_rels/workbook.xml.rels", BOOK_SHEET(""), "worksheet" },
	{ "one part for two pages", PIECE_BOOK, "xl/workbook.xml", "<workbook xmlns=\"" BOOK_MAIN "\" xmlns:r=\"" BOOK_REL "\"><sheets><sheet name=\"a\" r:id=\"s1\"/>"
	  "<sheet name=\"b\" r:id=\"s1\"/></sheets></workbook>", "another page" },
	{ "no page", PIECE_BOOK, "xl/workbook.xml", "<workbook xmlns=\"" BOOK_MAIN "\"><sheets/></workbook>", "without a page" },
	{ "a page without a name", PIECE_BOOK, "xl/workbook.xml", "<workbook xmlns=\"" BOOK_MAIN "\"><sheets><sheet/></sheets></workbook>", "without a name" },
	{ "macros by name", PIECES, "xl/vbaProject.bin", "x", "macros" },
	{ "macros by type", PIECE_TYPES, "[Content_Types].xml", BOOK_TYPES("<Default Extension=\"bin\" ContentType=\"application/vnd.ms-office.vbaProject\"/>"), "macros" },
	{ "macros by main type", PIECE_TYPES, "[Content_Types].xml", BOOK_TYPES("<Override PartName=\"/xl/workbook.xml\" "
	  "ContentType=\"application/vnd.ms-excel.sheet.macroEnabled.main+xml\"/>"), "macros" },
	{ "binary", PIECE_TYPES, "[Content_Types].xml", BOOK_TYPES("<Override PartName=\"/xl/workbook.bin\" "
	  "ContentType=\"application/vnd.ms-excel.sheet.binary.macroEnabled.main\"/>"), "binary" },
	{ "another kind of document", PIECE_TYPES, "[Content_Types].xml", "<Types xmlns=\"" BOOK_PACKAGE "/content-types\">"
	  "<Override PartName=\"/xl/workbook.xml\" ContentType=\"application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml\"/></Types>", "another kind" },
	{ "an OpenDocument file", PIECES, "mimetype", "application/vnd.oasis.opendocument.spreadsheet", "OpenDocument" },
	{ "two parts that differ by case", PIECES, "XL/WORKBOOK.xml", "x", "two of that name" },
	{ "an entity bomb", PIECE_STRINGS, "xl/sharedStrings.xml", "<!DOCTYPE b [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]>"
	  "<sst xmlns=\"" BOOK_MAIN "\"><si><t>&b;</t></si></sst>", "document type" },
};

static void test_packages(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(packages); i++) {
		struct book_piece pieces[MOST_PIECES];
		struct pm_fault fault = { 0 };
		size_t count = PIECES, length;
		int piece = packages[i].piece;
		memcpy(pieces, book_pieces, sizeof book_pieces);
		if (packages[i].bytes) {
			pieces[piece] = (struct book_piece){ packages[i].name, packages[i].bytes, 0 };
			count += piece == PIECES;
		} else {
			pieces[piece] = pieces[--count];
		}
		char *bytes = book_zip(pieces, count, &length);
		assert_non_null(bytes);
		if (book_open_bytes("f", bytes, length, &fault) || !strstr(fault.message, packages[i].why))
			fail_msg("%s: %s", packages[i].what, fault.message);
		free(bytes);
	}
}

static void test_no_package(void **state)
{
	(void)state;
	static const struct { const char *bytes; size_t length; const char *why; } files[] = {
		{ "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1....", 12, "encrypted or old" }, { "", 0, "empty" }, { "PK\3\4 cut", 8, "damaged" }, { "PK", 2, "damaged" },
		{ "a,b\r\n", 5, "plain text" }, { "<html>", 6, "markup" }, { "%PDF-1.4", 8, "PDF" }, { "\x1F\x8B\x08", 3, "compressed" }, { "\0\1\2", 3, "another kind" },
	};
	for (size_t i = 0; i < COUNT(files); i++) {
		struct pm_fault fault = { 0 };
		assert_true(scratch_write(path_of(0, "f"), files[i].bytes, files[i].length));
		if (workbook_open(path_of(0, "f"), &fault) || !strstr(fault.message, files[i].why) || fault.kind != PM_FAULT_SYNTAX)
			fail_msg("file %zu: %s", i, fault.message);
	}
	struct pm_fault fault = { 0 };
	assert_null(workbook_open(path_of(0, "none"), &fault));
	assert_int_equal(fault.kind, PM_FAULT_MISSING);
	assert_null(workbook_open(folder, &fault));
	assert_int_equal(fault.kind, PM_FAULT_UNREADABLE);
	workbook_close(NULL);
}

/* Cut at every length and with each byte spoiled: refused or read, never worse.
 * Whatever still can be filled is written as something that opens again. */
static void test_damaged(void **state)
{
	(void)state;
	size_t length;
	char *bytes = book_with_sheet(BOOK_SHEET("<sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>0</v></c></row></sheetData>"), 0, &length);
	assert_non_null(bytes);
	for (size_t cut = 0; cut < length; cut++) {
		char *piece = malloc(cut ? cut : 1);
		memcpy(piece, bytes, cut);
		assert_null(book_open_bytes("f", piece, cut, NULL));
		free(piece);
	}
	size_t opened = 0, saved = 0;
	for (size_t at = 0; at < length; at++) {
		struct pm_fault fault = { 0 };
		struct pm_arena arena;
		const char *out;
		size_t out_length;
		bytes[at] = (char)(bytes[at] ^ 0xFF);
		struct workbook *workbook = book_open_bytes("f", bytes, length, &fault);
		pm_arena_init(&arena);
		if (!workbook) {
			assert_true(fault.message[0] != '\0');
		} else if (workbook_put(workbook, 0, 3, 3, "x", &fault) && book_compose(workbook, &arena, &out, &out_length, &fault)) {
			struct workbook *again = book_open_bytes("f", out, out_length, &fault);
			if (!again)
				fail_msg("byte %zu: %s", at, fault.message);
			workbook_close(again);
			saved++;
		}
		opened += workbook != NULL;
		workbook_close(workbook);
		pm_arena_free(&arena);
		bytes[at] = (char)(bytes[at] ^ 0xFF);
	}
	assert_true(opened > 0 && saved > 0 && saved < opened && opened < length / 2);
	free(bytes);
}

/* --- bounds --- */

/* A part of 64 MiB and one byte, of which some 65 kB are stored; the shared
 * strings are read on opening, a page when it is asked for. */
static void test_ratio(void **state)
{
	(void)state;
	static const int which[] = { PIECE_STRINGS, PIECE_SHEET };
	size_t most = BOOK_MOST_PART + 1u, length;
	char *blanks = malloc(most);
	assert_non_null(blanks);
	memset(blanks, ' ', most);
	for (size_t i = 0; i < COUNT(which); i++) {
		struct book_piece pieces[PIECES];
		struct pm_fault fault = { 0 };
		memcpy(pieces, book_pieces, sizeof pieces);
		pieces[which[i]].bytes = blanks;
		pieces[which[i]].length = most;
		char *bytes = book_zip(pieces, PIECES, &length);
		assert_non_null(bytes);
		assert_true(length < most / 500);
		assert_null(book_open_bytes("f", bytes, length, &fault));
		assert_int_equal(fault.kind, PM_FAULT_LIMIT);
		/* the same with headers that claim a small size, the local and the central one */
		unsigned char size[4] = { most & 0xFF, most >> 8 & 0xFF, most >> 16 & 0xFF, most >> 24 & 0xFF };
		size_t lies = 0;
		for (size_t at = 0; at + 4 <= length; at++)
			if (!memcmp(bytes + at, size, 4)) {
				memcpy(bytes + at, "\x40\0\0\0", 4);
				lies++;
			}
		assert_int_equal(lies, 2);
		fault = (struct pm_fault){ 0 };
		struct workbook *workbook = book_open_bytes("f", bytes, length, &fault);
		uint32_t rows, columns;
		assert_false(workbook && workbook_extent(workbook, 0, &rows, &columns, &fault));
		assert_true(fault.kind == PM_FAULT_LIMIT || fault.kind == PM_FAULT_SYNTAX);
		workbook_close(workbook);
		free(bytes);
	}
	free(blanks);
}

static void test_parts(void **state)
{
	(void)state;
	static struct book_piece pieces[BOOK_MOST_PARTS + 1];
	static char names[BOOK_MOST_PARTS + 1][16];
	for (size_t count = BOOK_MOST_PARTS; count <= BOOK_MOST_PARTS + 1; count++) {
		struct pm_fault fault = { 0 };
		size_t length;
		memcpy(pieces, book_pieces, sizeof book_pieces);
		for (size_t i = PIECES; i < count; i++) {
			snprintf(names[i], sizeof names[i], "x/%zu", i);
			pieces[i] = (struct book_piece){ names[i], "x", 0 };
		}
		char *bytes = book_zip(pieces, count, &length);
		struct workbook *workbook = book_open_bytes("f", bytes, length, &fault);
		assert_int_equal(workbook != NULL, count == BOOK_MOST_PARTS);
		if (!workbook)
			assert_int_equal(fault.kind, PM_FAULT_LIMIT);
		workbook_close(workbook);
		free(bytes);
	}
}

/* Places are right far into a part that the parser does not hold whole. */
static void test_large(void **state)
{
	(void)state;
	enum { ROWS = 120000 };
	struct pm_arena arena;
	struct pm_text text;
	struct pm_fault fault = { 0 };
	struct workbook_cell cell;
	size_t length, out_length;
	const char *out;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	pm_text_str(&text, "<worksheet xmlns=\"" BOOK_MAIN "\"><sheetData>");
	for (unsigned i = 1; i <= ROWS; i++)
		pm_text_add(&text, "<row r=\"%u\" a=\"&amp;\xc3\xa9\"><c r=\"A%u\" t=\"inlineStr\"><is><t>&lt;\xe6\xb0\xb4 %u</t></is></c><c r=\"B%u\"><v>%u</v></c></row>\n", i, i, i, i, i);
	pm_text_str(&text, "</sheetData></worksheet>");
	assert_true(text.length > 12000000);
	char *bytes = book_with_sheet(text.data, text.length, &length);
	struct workbook *workbook = open_sound(bytes, length);
	for (uint32_t row = 0; row < ROWS; row += 997)
		assert_true(workbook_put(workbook, 0, row, 1, "here", &fault));
	if (!book_compose(workbook, &arena, &out, &out_length, &fault))
		fail_msg("%s", fault.message);
	workbook_close(workbook);
	workbook = open_sound(out, out_length);
	for (uint32_t row = 0; row < ROWS; row++) {
		char number[16];
		snprintf(number, sizeof number, "%u", row + 1);
		assert_true(workbook_get(workbook, 0, row, 1, &arena, &cell, &fault));
		assert_string_equal(cell.text, row % 997 ? number : "here");
	}
	workbook_close(workbook);
	free(bytes);
	pm_arena_free(&arena);
}

/* --- saving --- */

static void test_signed(void **state)
{
	(void)state;
	struct book_piece pieces[PIECES + 1];
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	struct workbook_cell cell;
	size_t length;
	memcpy(pieces, book_pieces, sizeof book_pieces);
	pieces[PIECES] = (struct book_piece){ "_xmlsignatures/origin.sigs", "x", 0 };
	char *bytes = book_zip(pieces, PIECES + 1, &length);
	struct workbook *workbook = open_sound(bytes, length);
	pm_arena_init(&arena);
	assert_true(workbook_get(workbook, 0, 0, 0, &arena, &cell, &fault));
	assert_false(workbook_put(workbook, 0, 0, 0, "x", &fault));
	assert_non_null(strstr(fault.message, "signed"));
	pm_arena_free(&arena);
	workbook_close(workbook);
	free(bytes);
}

static void test_save(void **state)
{
	(void)state;
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	struct workbook_cell cell;
	size_t length, after;
	char *bytes = book_with_sheet(BOOK_SHEET("<sheetData/>"), 0, &length);
	const char *path = path_of(0, "book.xlsx");
	assert_true(scratch_write(path, bytes, length));
	struct workbook *workbook = workbook_open(path, &fault);
	assert_non_null(workbook);
	/* nothing put: the very same bytes */
	assert_true(workbook_save(workbook, path_of(1, "copy.xlsx"), &fault));
	char *copy = scratch_read(path_of(1, "copy.xlsx"), &after);
	assert_int_equal(after, length);
	assert_memory_equal(copy, bytes, length);
	free(copy);
	/* over the file it was read from, and once more */
	assert_true(workbook_put(workbook, 0, 6, 1, "one", &fault));
	assert_true(workbook_save(workbook, path, &fault));
	assert_true(workbook_put(workbook, 0, 6, 2, "two", &fault));
	assert_true(workbook_save(workbook, path, &fault));
	workbook_close(workbook);
	workbook = workbook_open(path, &fault);
	assert_non_null(workbook);
	pm_arena_init(&arena);
	assert_true(workbook_get(workbook, 0, 6, 1, &arena, &cell, &fault));
	assert_string_equal(cell.text, "one");
	assert_true(workbook_get(workbook, 0, 6, 2, &arena, &cell, &fault));
	assert_string_equal(cell.text, "two");
	assert_int_equal(scratch_count(folder), 2);
	pm_arena_free(&arena);
	workbook_close(workbook);
	free(bytes);
}

/* As on a full device: a write beyond `most` bytes fails. The child says by its exit what went wrong. */
static int save_within(const char *path, rlim_t most)
{
	struct pm_fault fault = { 0 };
	struct rlimit limit = { most, most };
	struct workbook *workbook = workbook_open(path, &fault);
	if (!workbook || !workbook_put(workbook, 0, 0, 0, "x", &fault))
		return 1;
	signal(SIGXFSZ, SIG_IGN);
	if (setrlimit(RLIMIT_FSIZE, &limit) != 0)
		return 2;
	if (workbook_save(workbook, path, &fault))
		return 3;
	workbook_close(workbook);
	return fault.kind == PM_FAULT_FULL && fault.message[0] ? 0 : 4;
}

static void test_full(void **state)
{
	(void)state;
	static const rlim_t limits[] = { 0, 1, 1000 };
	size_t length, after;
	char *bytes = book_with_sheet(BOOK_SHEET("<sheetData/>"), 0, &length);
	const char *path = path_of(0, "book.xlsx");
	assert_true(length > 1000);
	assert_true(scratch_write(path, bytes, length));
	for (size_t i = 0; i < COUNT(limits); i++) {
		int status;
		fflush(NULL);
		pid_t child = fork();
		assert_true(child >= 0);
		if (child == 0)
			_exit(save_within(path, limits[i]));
		assert_int_equal(waitpid(child, &status, 0), child);
		assert_true(WIFEXITED(status));
		assert_int_equal(WEXITSTATUS(status), 0);
		char *kept = scratch_read(path, &after);
		assert_int_equal(after, length);
		assert_memory_equal(kept, bytes, length);
		free(kept);
		assert_int_equal(scratch_count(folder), 1);
	}
	free(bytes);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_values), cmocka_unit_test(test_packages),
		cmocka_unit_test_setup_teardown(test_no_package, setup, teardown), cmocka_unit_test(test_damaged),
		cmocka_unit_test(test_ratio), cmocka_unit_test(test_parts), cmocka_unit_test(test_large), cmocka_unit_test(test_signed),
		cmocka_unit_test_setup_teardown(test_save, setup, teardown), cmocka_unit_test_setup_teardown(test_full, setup, teardown),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
