#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "book_pieces.h"
#include "sheet/workbook_parts.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define NS "<worksheet xmlns=\"" BOOK_MAIN "\">"
#define END "</worksheet>"
#define INLINE(text) "t=\"inlineStr\"><is><t xml:space=\"preserve\">" text "</t></is></c>"

/* --- names of cells --- */

static void test_names(void **state)
{
	(void)state;
	static const struct { uint32_t row, column; const char *name; } pairs[] = {
		{ 0, 0, "A1" }, { 6, 1, "B7" }, { 0, 25, "Z1" }, { 0, 26, "AA1" }, { 9, 51, "AZ10" }, { 0, 52, "BA1" },
		{ 0, 701, "ZZ1" }, { 0, 702, "AAA1" }, { 1048575, 16383, "XFD1048576" },
	};
	static const char *const others[] = {
		"", "A", "1", "a1", "A0", "A01", "$A$1", "A1 ", " A1", "1A", "A1B", "XFE1", "A1048577", "AAAA1", "A-1", "A99999999999", "A1:B2",
	};
	for (size_t i = 0; i < COUNT(pairs); i++) {
		char name[12];
		uint32_t row, column;
		workbook_name(pairs[i].row, pairs[i].column, name);
		assert_string_equal(name, pairs[i].name);
		assert_true(workbook_place(name, &row, &column));
		assert_int_equal(row, pairs[i].row);
		assert_int_equal(column, pairs[i].column);
	}
	for (size_t i = 0; i < COUNT(others); i++) {
		uint32_t row = 7, column = 7;
		if (workbook_place(others[i], &row, &column))
			fail_msg("\"%s\" was taken for a place", others[i]);
		assert_int_equal(row, 7);
	}
	assert_false(workbook_place(NULL, &(uint32_t){ 0 }, &(uint32_t){ 0 }));
}

/* --- text and number formats --- */

static void test_escapes(void **state)
{
	(void)state;
	static const struct { const char *text, *stored; } pairs[] = {
		{ "a&b<c>\"'", "a&amp;b&lt;c&gt;\"'" }, { "_x0041_", "_x005F_x0041_" }, { "_x0041", "_x0041" }, { "_X0041_", "_X0041_" },
		{ "_x0041_x0042_", "_x005F_x0041_x005F_x0042_" }, { "_x005F_", "_x005F_x005F_" }, { "__x00eF_", "__x005F_x00eF_" },
		{ "_x00G1_", "_x00G1_" }, { "", "" },
	};
	for (size_t i = 0; i < COUNT(pairs); i++) {
		struct pm_text out;
		char room[200], back[200];
		pm_text_fixed(&out, room, sizeof room);
		book_text_put(&out, pairs[i].text);
		assert_string_equal(room, pairs[i].stored);
		if (strchr(room, '&'))
			continue;
		strcpy(back, room);
		back[book_text_decode(back, strlen(back))] = '\0';
		assert_string_equal(back, pairs[i].text);
	}
}

static void test_text_allowed(void **state)
{
	(void)state;
	static const char *const refused[] = { "a\nb", "\t", "\x7f", "\x1b[0m", "\xc2\x85", "\xff", "\xed\xa0\x80", "\xef\xbf\xbf", "a\xc3" };
	static const char *const allowed[] = { "", " ", "\xc3\xa9", "=1+1", "\xf0\x9f\x92\xa7", "\xef\xbf\xbd" };
	for (size_t i = 0; i < COUNT(refused); i++)
		assert_non_null(book_text_problem(refused[i]));
	for (size_t i = 0; i < COUNT(allowed); i++)
		assert_null(book_text_problem(allowed[i]));
	/* the bound counts as UTF-16 does: a character beyond the first plane is two */
	static char text[BOOK_MOST_TEXT * 4 + 8];
	memset(text, 'x', BOOK_MOST_TEXT);
	assert_null(book_text_problem(text));
	text[BOOK_MOST_TEXT] = 'x';
	assert_non_null(book_text_problem(text));
	for (size_t i = 0; i <= BOOK_MOST_TEXT / 2; i++)
		memcpy(text + 4 * i, "\xf0\x9f\x92\xa7", 5);
	assert_non_null(book_text_problem(text));
	text[4 * (BOOK_MOST_TEXT / 2)] = '\0';
	assert_null(book_text_problem(text));
}

static void test_formats(void **state)
{
	(void)state;
	/* ECMA-376 part 1, 18.8.30 and 18.8.31 */
	static const struct { const char *code; bool dates; } codes[] = {
		{ "General", false }, { "0.00", false }, { "@", false }, { "yyyy-mm-dd", true }, { "D/M", true }, { "hh:mm", true },
		{ "[h]:mm", true }, { "[ss]", true }, { "[Red]0", false }, { "[$-409]0", false }, { "[<=100]0", false },
		{ "0 \"days\"", false }, { "0\\d", false }, { "0_d", false }, { "*d0", false }, { "0;[Red]-0;\"s\"", false },
		{ "\"open d", false }, { "[h", false }, { "0\\", false }, { "0.00E+00", false }, { "# ?/?", false }, { "[$-F400]h:mm AM/PM", true },
	};
	for (size_t i = 0; i < COUNT(codes); i++)
		if (book_code_dates(codes[i].code) != codes[i].dates)
			fail_msg("\"%s\": %s", codes[i].code, codes[i].dates ? "a date" : "no date");
	static const struct { uint32_t id; bool dates; } ids[] = {
		{ 0, false }, { 13, false }, { 14, true }, { 22, true }, { 23, false }, { 26, false }, { 27, true }, { 36, true }, { 37, false },
		{ 44, false }, { 45, true }, { 47, true }, { 48, false }, { 49, false }, { 50, true }, { 58, true }, { 59, false },
	};
	for (size_t i = 0; i < COUNT(ids); i++)
		assert_int_equal(book_format_dates(ids[i].id), ids[i].dates);
}

/* --- splicing: the page before, what is put, the page after --- */

struct filling { const char *before, *place, *text, *after; };

static const struct filling fillings[] = {
	/* a cell that is there keeps its other attributes and where it stands */
	{ NS "<sheetData><row r=\"7\"><c r=\"A7\"/><c r=\"B7\" s=\"4\" t=\"s\"><v>3</v></c><c r=\"C7\"/></row></sheetData>" END, "B7", "x",
	  NS "<sheetData><row r=\"7\"><c r=\"A7\"/><c r=\"B7\" s=\"4\" " INLINE("x") "<c r=\"C7\"/></row></sheetData>" END },
	{ NS "<sheetData><row r='7'>\n <c  t='n'\n r='B7' vm='1' s='4'  ><!-- > --><v>3</v></c >\n</row></sheetData>" END, "B7", "x",
	  NS "<sheetData><row r='7'>\n <c\n r='B7' s='4' " INLINE("x") "\n</row></sheetData>" END },
	{ NS "<sheetData><row r=\"7\"><c r=\"B7\" s=\"4\"/></row></sheetData>" END, "B7", " a<b ",
	  NS "<sheetData><row r=\"7\"><c r=\"B7\" s=\"4\" " INLINE(" a&lt;b ") "</row></sheetData>" END },
	/* emptied, keeping the style */
	{ NS "<sheetData><row r=\"7\"><c r=\"B7\" s=\"4\" t=\"s\"><v>3</v></c></row></sheetData>" END, "B7", "",
	  NS "<sheetData><row r=\"7\"><c r=\"B7\" s=\"4\"/></row></sheetData>" END },
	/* nothing there and nothing put: nothing written */
	{ NS "<sheetData/>" END, "B7", "", NS "<sheetData/>" END },
	{ NS "<sheetData><row r=\"7\"/></sheetData>" END, "B7", "", NS "<sheetData><row r=\"7\"/></sheetData>" END },
	/* new cells, in order */
	{ NS "<sheetData><row r=\"7\"><c r=\"A7\"/><c r=\"C7\"/></row></sheetData>" END, "B7", "x",
	  NS "<sheetData><row r=\"7\"><c r=\"A7\"/><c r=\"B7\" " INLINE("x") "<c r=\"C7\"/></row></sheetData>" END },
	{ NS "<sheetData><row r=\"7\">\n<c r=\"C7\"/>\n</row></sheetData>" END, "B7", "x",
	  NS "<sheetData><row r=\"7\"><c r=\"B7\" " INLINE("x") "\n<c r=\"C7\"/>\n</row></sheetData>" END },
	{ NS "<sheetData><row r=\"7\"><c r=\"A7\"/><extLst/></row></sheetData>" END, "B7", "x",
	  NS "<sheetData><row r=\"7\"><c r=\"A7\"/><c r=\"B7\" " INLINE("x") "<extLst/></row></sheetData>" END },
	{ NS "<sheetData><row r=\"7\" ht=\"20\" /></sheetData>" END, "B7", "x",
	  NS "<sheetData><row r=\"7\" ht=\"20\" ><c r=\"B7\" " INLINE("x") "</row></sheetData>" END },
	/* new rows, in order */
	{ NS "<sheetData/>" END, "B7", "x", NS "<sheetData><row r=\"7\"><c r=\"B7\" " INLINE("x") "</row></sheetData>" END },
	{ NS "<sheetData></sheetData>" END, "B7", "x", NS "<sheetData><row r=\"7\"><c r=\"B7\" " INLINE("x") "</row></sheetData>" END },
	{ NS "<sheetData>\n<row r=\"6\"/>\n<row r=\"8\"/>\n</sheetData>" END, "B7", "x",
	  NS "<sheetData>\n<row r=\"6\"/><row r=\"7\"><c r=\"B7\" " INLINE("x") "</row>\n<row r=\"8\"/>\n</sheetData>" END },
	/* rows and cells that do not say where they stand */
	{ NS "<sheetData><row><c/><c/></row><row><c/></row></sheetData>" END, "B1", "x",
	  NS "<sheetData><row><c/><c " INLINE("x") "</row><row><c/></row></sheetData>" END },
	{ NS "<sheetData><row><c/><c/></row><row><c/></row></sheetData>" END, "B2", "x",
	  NS "<sheetData><row><c/><c/></row><row><c/><c r=\"B2\" " INLINE("x") "</row></sheetData>" END },
	{ NS "<sheetData><row r=\"5\"><c r=\"C5\"/><c/></row><row/></sheetData>" END, "D5", "x",
	  NS "<sheetData><row r=\"5\"><c r=\"C5\"/><c " INLINE("x") "</row><row/></sheetData>" END },
	{ NS "<sheetData><row r=\"5\"/><row/></sheetData>" END, "A6", "x",
	  NS "<sheetData><row r=\"5\"/><row><c r=\"A6\" " INLINE("x") "</row></sheetData>" END },
	/* styles of new cells: the row's when it has a format of its own, else the column's */
	{ NS "<cols><col min=\"2\" max=\"3\" style=\"5\"/></cols><sheetData><row r=\"7\" s=\"3\" customFormat=\"1\"/></sheetData>" END, "B7", "x",
	  NS "<cols><col min=\"2\" max=\"3\" style=\"5\"/></cols><sheetData><row r=\"7\" s=\"3\" customFormat=\"1\"><c r=\"B7\" s=\"3\" " INLINE("x")
	  "</row></sheetData>" END },
	{ NS "<cols><col min=\"2\" max=\"3\" style=\"5\"/></cols><sheetData><row r=\"7\" s=\"3\"/></sheetData>" END, "C7", "x",
	  NS "<cols><col min=\"2\" max=\"3\" style=\"5\"/></cols><sheetData><row r=\"7\" s=\"3\"><c r=\"C7\" s=\"5\" " INLINE("x") "</row></sheetData>" END },
	{ NS "<cols><col min=\"2\" max=\"3\" style=\"5\"/></cols><sheetData/>" END, "D7", "x",
	  NS "<cols><col min=\"2\" max=\"3\" style=\"5\"/></cols><sheetData><row r=\"7\"><c r=\"D7\" " INLINE("x") "</row></sheetData>" END },
	/* spans and dimension are widened, and only when they must be */
	{ NS "<dimension ref=\"A1:C9\"/><sheetData><row r=\"7\" spans=\"1:3\"/></sheetData>" END, "B7", "x",
	  NS "<dimension ref=\"A1:C9\"/><sheetData><row r=\"7\" spans=\"1:3\"><c r=\"B7\" " INLINE("x") "</row></sheetData>" END },
	{ NS "<dimension ref=\"C9\"/><sheetData><row r=\"7\" spans=\"3:3 5:6\" ht=\"1\"/></sheetData>" END, "H7", "x",
	  NS "<dimension ref=\"C7:H9\"/><sheetData><row r=\"7\" spans=\"3:8\" ht=\"1\"><c r=\"H7\" " INLINE("x") "</row></sheetData>" END },
	{ NS "<dimension ref=\"odd\"/><sheetData><row r=\"7\" spans=\"odd\"/></sheetData>" END, "B7", "x",
	  NS "<dimension ref=\"odd\"/><sheetData><row r=\"7\" spans=\"odd\"><c r=\"B7\" " INLINE("x") "</row></sheetData>" END },
	/* a prefix, as the page has it */
	{ "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<x:worksheet xmlns:x=\"" BOOK_MAIN "\"><x:sheetData><x:row r=\"7\"><x:c r=\"B7\" t=\"n\"/></x:row>"
	  "</x:sheetData></x:worksheet>", "B7", "x",
	  "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<x:worksheet xmlns:x=\"" BOOK_MAIN "\"><x:sheetData><x:row r=\"7\"><x:c r=\"B7\" t=\"inlineStr\"><x:is>"
	  "<x:t xml:space=\"preserve\">x</x:t></x:is></x:c></x:row></x:sheetData></x:worksheet>" },
	{ "<x:worksheet xmlns:x=\"" BOOK_MAIN "\"><x:sheetData/></x:worksheet>", "A1", "x",
	  "<x:worksheet xmlns:x=\"" BOOK_MAIN "\"><x:sheetData><x:row r=\"1\"><x:c r=\"A1\" t=\"inlineStr\"><x:is>"
	  "<x:t xml:space=\"preserve\">x</x:t></x:is></x:c></x:row></x:sheetData></x:worksheet>" },
	/* what looks like a cell and is none */
	{ "\xEF\xBB\xBF" NS "<!-- <c r=\"B7\"/> --><sheetData><?pi <c r=\"B7\"/> ?><row r=\"7\"><c r=\"A7\" t=\"str\"><v><![CDATA[<c r=\"B7\">]]></v></c>"
	  "<y:c xmlns:y=\"urn:y\" r=\"B7\"><y:v/></y:c></row></sheetData><extLst><sheetData><row r=\"7\"><c r=\"B7\"/></row></sheetData></extLst>" END, "B7", "x",
	  "\xEF\xBB\xBF" NS "<!-- <c r=\"B7\"/> --><sheetData><?pi <c r=\"B7\"/> ?><row r=\"7\"><c r=\"A7\" t=\"str\"><v><![CDATA[<c r=\"B7\">]]></v></c>"
	  "<c r=\"B7\" " INLINE("x") "<y:c xmlns:y=\"urn:y\" r=\"B7\"><y:v/></y:c></row></sheetData><extLst><sheetData><row r=\"7\"><c r=\"B7\"/></row></sheetData></extLst>" END },
};

static void test_fillings(void **state)
{
	(void)state;
	for (size_t i = 0; i < COUNT(fillings); i++) {
		const struct filling *f = &fillings[i];
		struct pm_arena arena;
		struct pm_fault fault = { 0 };
		struct book_page page = { .name = "p", .part = "part", .xml = f->before, .length = strlen(f->before) };
		struct book_words four = { .string = (const char *[]){ "0", "1", "2", "3" }, .string_count = 4 };
		uint32_t row, column;
		const char *xml = "";
		size_t length = 0;
		pm_arena_init(&arena);
		assert_true(workbook_place(f->place, &row, &column));
		if (!book_page_read(&page, &four, &arena, "f", &fault) || !book_page_put(&page, row, column, f->text, &arena, "f", &fault) ||
		    !book_page_splice(&page, &four, &arena, &xml, &length, "f", &fault))
			fail_msg("%s: %s", f->before, fault.message);
		assert_int_equal(length, strlen(xml));
		assert_string_equal(xml, f->after);
		pm_arena_free(&arena);
	}
}

/* Many at once, put in any order, some of them twice. */
static void test_many(void **state)
{
	(void)state;
	static const struct { const char *place, *text; } puts[] = {
		{ "C2", "c2" }, { "A1", "a1" }, { "B2", "first" }, { "B2", "b2" }, { "A9", "a9" }, { "A3", "a3" }, { "D2", "d2" }, { "C9", "" }, { "E5", "e5" },
	};
	static const char before[] = NS "<sheetData><row r=\"2\"><c r=\"C2\"><v>1</v></c></row><row r=\"3\"/><row r=\"5\"><c r=\"A5\"><v>5</v></c></row></sheetData>" END;
	static const char after[] = NS "<sheetData><row r=\"1\"><c r=\"A1\" " INLINE("a1") "</row><row r=\"2\"><c r=\"B2\" " INLINE("b2") "<c r=\"C2\" " INLINE("c2")
		"<c r=\"D2\" " INLINE("d2") "</row><row r=\"3\"><c r=\"A3\" " INLINE("a3") "</row><row r=\"5\"><c r=\"A5\"><v>5</v></c><c r=\"E5\" " INLINE("e5")
		"</row><row r=\"9\"><c r=\"A9\" " INLINE("a9") "</row></sheetData>" END;
	static const struct book_words words = { 0 };
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	struct book_page page = { .name = "p", .part = "part", .xml = before, .length = strlen(before) };
	const char *xml;
	size_t length;
	pm_arena_init(&arena);
	assert_true(book_page_read(&page, &words, &arena, "f", &fault));
	for (size_t i = 0; i < COUNT(puts); i++) {
		uint32_t row, column;
		assert_true(workbook_place(puts[i].place, &row, &column));
		assert_true(book_page_put(&page, row, column, puts[i].text, &arena, "f", &fault));
	}
	assert_true(book_page_splice(&page, &words, &arena, &xml, &length, "f", &fault));
	assert_string_equal(xml, after);
	pm_arena_free(&arena);
}

/* --- what is not written over --- */

static void test_refused(void **state)
{
	(void)state;
	static const char sheet[] = NS "<sheetData><row r=\"1\"><c r=\"A1\"><f>1+1</f><v>2</v></c><c r=\"B1\"><f t=\"shared\" si=\"0\"/><v>2</v></c>"
		"<c r=\"C1\"><f t=\"array\" ref=\"C1:C3\">X</f><v>2</v></c></row><row r=\"2\"><c r=\"C2\"><v>2</v></c>"
		"<c r=\"E2\"><f t=\"dataTable\" ref=\"E2:F2\"/><v>1</v></c></row></sheetData>"
		"<mergeCells><mergeCell ref=\"A5:B6\"/></mergeCells>" END;
	static const struct { const char *place, *text, *why; } cases[] = {
		{ "A1", "x", "formula" }, { "A1", "", "formula" }, { "B1", "x", "shares" }, { "C1", "x", "array" }, { "C2", "x", "array" }, { "C3", "x", "array" },
		{ "E2", "x", "computed" }, { "F2", "x", "array" }, { "B5", "x", "merged" }, { "A6", "x", "merged" }, { "B6", "x", "merged" },
		{ "D1", "a\nb", "control" }, { "D1", "\xff", "UTF-8" }, { "A5", "x", NULL }, { "C4", "x", NULL }, { "B4", "x", NULL }, { "C5", "x", NULL },
		{ "A7", "x", NULL }, { "D2", "x", NULL }, { "G2", "x", NULL },
	};
	static const struct book_words words = { 0 };
	struct pm_arena arena;
	struct book_page page = { .name = "p\x1b", .part = "part", .xml = sheet, .length = strlen(sheet) };
	pm_arena_init(&arena);
	assert_true(book_page_read(&page, &words, &arena, "f", NULL));
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_fault fault = { 0 };
		uint32_t row, column;
		assert_true(workbook_place(cases[i].place, &row, &column));
		bool put = book_page_put(&page, row, column, cases[i].text, &arena, "f", &fault);
		assert_int_equal(put, cases[i].why == NULL);
		if (put)
			continue;
		assert_int_equal(fault.kind, PM_FAULT_VALUE);
		if (!strstr(fault.message, cases[i].why) || !strstr(fault.message, cases[i].place) || strchr(fault.message, '\x1b') || !fault.remedy[0])
			fail_msg("%s: %s; %s", cases[i].place, fault.message, fault.remedy);
	}
	pm_arena_free(&arena);
}

/* --- pages that are refused --- */

static void test_odd_pages(void **state)
{
	(void)state;
	static const struct { const char *xml, *why; } cases[] = {
		{ "", "empty" }, { "x", "XML" }, { NS, "XML" }, { NS END, "no rows" }, { "<worksheet><sheetData/></worksheet>", "worksheet" },
		{ "<chartsheet xmlns=\"" BOOK_MAIN "\"/>", "chartsheet" }, { NS "<sheetData/><sheetData/>" END, "twice" },
		{ NS "<sheetData><row r=\"2\"/><row r=\"2\"/></sheetData>" END, "order" }, { NS "<sheetData><row r=\"2\"/><row r=\"1\"/></sheetData>" END, "order" },
		{ NS "<sheetData><row r=\"0\"/></sheetData>" END, "number" }, { NS "<sheetData><row r=\"1048577\"/></sheetData>" END, "number" },
		{ NS "<sheetData><row r=\"1048576\"/><row/></sheetData>" END, "rows" }, { NS "<sheetData><row r=\"1\"><c r=\"A2\"/></row></sheetData>" END, "name" },
		{ NS "<sheetData><row r=\"1\"><c r=\"B1\"/><c r=\"A1\"/></row></sheetData>" END, "order" },
		{ NS "<sheetData><row r=\"1\"><c r=\"B1\"/><c r=\"B1\"/></row></sheetData>" END, "order" },
		{ NS "<sheetData><row r=\"1\"><c r=\"XFD1\"/><c/></row></sheetData>" END, "columns" },
		{ NS "<sheetData><row r=\"1\"><c t=\"odd\"/></row></sheetData>" END, "kind" }, { NS "<sheetData><row r=\"1\"><c s=\"-1\"/></row></sheetData>" END, "style" },
		{ NS "<sheetData><row r=\"1\"><c t=\"s\"><v>0</v></c></row></sheetData>" END, "shared" },
		{ NS "<sheetData><row r=\"1\"><c t=\"b\"><v>2</v></c></row></sheetData>" END, "truth" },
		{ NS "<sheetData><row r=\"1\"><c><v>2</v><v>3</v></c></row></sheetData>" END, "two values" },
		{ NS "<sheetData><row r=\"1\"><c><is><t>2</t></is></c></row></sheetData>" END, "text" },
		{ NS "<sheetData><row r=\"1\"><c t=\"inlineStr\"><v>2</v></c></row></sheetData>" END, "value" },
		{ NS "<sheetData/><mergeCells><mergeCell ref=\"B2:A1\"/></mergeCells>" END, "merged" }, { NS "<sheetData/><mergeCells><mergeCell/></mergeCells>" END, "merged" },
		{ "<!DOCTYPE worksheet>" NS "<sheetData/>" END, "document type" },
		{ "<!DOCTYPE w [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;&a;\">]>" NS "<sheetData>&b;</sheetData>" END, "document type" },
		{ "<!DOCTYPE w SYSTEM \"http://192.0.2.1/x\">" NS "<sheetData/>" END, "document type" }, { NS "<sheetData>&b;</sheetData>" END, "XML" },
		{ "<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?>" NS "<sheetData/>" END, "ISO-8859-1" }, { "\xFF\xFE<", "UTF-16" }, { "\xFE\xFF<", "UTF-16" },
		{ NS "<sheetData q:a=\"1\"/>" END, "XML" }, { NS "<sheetData>\xff</sheetData>" END, "XML" },
	};
	static const struct book_words words = { 0 };
	for (size_t i = 0; i < COUNT(cases); i++) {
		struct pm_arena arena;
		struct pm_fault fault = { 0 };
		struct book_page page = { .name = "p", .part = "part", .xml = cases[i].xml, .length = strlen(cases[i].xml) };
		pm_arena_init(&arena);
		if (book_page_read(&page, &words, &arena, "f", &fault) || !strstr(fault.message, cases[i].why))
			fail_msg("%s: \"%s\"", cases[i].xml, fault.message);
		pm_arena_free(&arena);
	}
}

static void test_deep(void **state)
{
	(void)state;
	static const struct book_words words = { 0 };
	for (unsigned depth = BOOK_MOST_DEPTH - 2; depth <= BOOK_MOST_DEPTH + 1; depth++) {
		struct pm_arena arena;
		struct pm_fault fault = { 0 };
		struct pm_text text;
		pm_arena_init(&arena);
		pm_text_grow(&text, &arena);
		pm_text_str(&text, NS "<sheetData/>");
		for (unsigned i = 1; i < depth; i++)
			pm_text_str(&text, "<a>");
		for (unsigned i = 1; i < depth; i++)
			pm_text_str(&text, "</a>");
		pm_text_str(&text, END);
		struct book_page page = { .name = "p", .part = "part", .xml = text.data, .length = text.length };
		assert_int_equal(book_page_read(&page, &words, &arena, "f", &fault), depth <= BOOK_MOST_DEPTH);
		assert_int_equal(fault.kind, depth <= BOOK_MOST_DEPTH ? PM_FAULT_NONE : PM_FAULT_LIMIT);
		pm_arena_free(&arena);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_names), cmocka_unit_test(test_escapes), cmocka_unit_test(test_text_allowed), cmocka_unit_test(test_formats),
		cmocka_unit_test(test_fillings), cmocka_unit_test(test_many), cmocka_unit_test(test_refused), cmocka_unit_test(test_odd_pages),
		cmocka_unit_test(test_deep),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
