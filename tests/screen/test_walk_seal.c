/* The seal on the screen: large, read back, row by row, and as QR codes. */
#include "portmuster/seal.h"
#include "report/qr.h"
#include "sheet/returned.h"
#include "walk/seal_screen.h"
#define CASE_BEGINS at_the_seal
#include "walk_case.h"

static int at_the_seal(void **state)
{
	at_first_step(state);
	course_prepare(&f);
	course_fit(&f);
	course_muster(&f);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "e");
	assert_int_equal(f.state.screen, WALK_SEAL);
	return 0;
}

/* The seal's words as they are spoken, all in one line. */
static void words_of(const char *seal, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	for (; *seal; seal++)
		if (pm_spell(*seal))
			pm_text_add(&text, "%s%s", text.length ? " " : "", pm_spell(*seal));
}

static void it_is_shown_large_and_in_words(void **state)
{
	char words[200], *first;
	(void)state;
	assert_true(f.session.seal.complete);
	words_of(f.session.seal.text, words, sizeof words);
	/* the first group of four, as the screen has it on a row of its own */
	first = words;
	for (int blanks = 0; *first && blanks < 4; first++)
		blanks += *first == ' ';
	first[-1] = '\0';
	assert_shows(&f, words);
	char *dump = canvas_dump(&f.canvas, false);
	size_t filled = 0;
	for (const char *c = dump; *c; c++)
		filled += *c == '#';
	free(dump);
	assert_true(filled > 60);   /* nine characters of five rows */
	walk_size(&f, 12, 40);
	assert_shows(&f, f.session.seal.text);
	walk_size(&f, 24, 80);
}

static void the_same_seal_is_recognised_however_it_is_typed(void **state)
{
	char typed[40];
	size_t n = 0;
	(void)state;
	walk_key(&f, KEYS_ENTER);
	assert_hides(&f, f.session.seal.text);
	for (const char *c = f.session.seal.text; *c; c++) {
		typed[n++] = (char)(*c >= 'A' && *c <= 'Z' ? *c + 32 : *c == '-' ? ' ' : *c);
		typed[n] = '\0';
	}
	walk_type(&f, typed);
	assert_shows(&f, pm_spell(typed[0]));
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "SAME SEAL");
	assert_false(f.state.typing);
}

/* Every one of the 36 wrong characters at every place is a mishearing; a seal that
 * is sound but another one is a difference of facts. */
static void a_mishearing_is_told_from_another_seal(void **state)
{
	static const char all[] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
	char heard[12];
	size_t misheard = 0;
	(void)state;
	for (size_t at = 0; at < 8; at++)
		for (const char *c = all; *c; c++) {
			seal_typed(f.session.seal.text, heard);
			if (heard[at] == *c)
				continue;
			heard[at] = *c;
			walk_key(&f, KEYS_ENTER);
			walk_answer(&f, heard);
			assert_shows(&f, "misheard or mistyped");
			assert_true(f.state.typing);
			walk_key(&f, KEYS_ESCAPE);
			misheard++;
		}
	assert_int_equal(misheard, 8 * 35);
	struct pm_seal other;
	pm_seal_text("portmuster-seal 1\nsite=TB-99\n", &other);
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, other.text);
	assert_shows(&f, "DIFFERENT SEAL");
	walk_ctrl(&f, 'u');
	walk_answer(&f, "RCR4");
	assert_shows(&f, "eight characters and a check character");
}

static void every_address_has_its_character(void **state)
{
	(void)state;
	walk_type(&f, "a");
	for (size_t i = 0; i < f.session.result.roster.count; i++) {
		const struct pm_call *call = &f.session.result.roster.call[i];
		char address[PM_EUI48_TEXT], line[120];
		char check = pm_eui48_check(&call->address);
		snprintf(line, sizeof line, "%-7s %s  %c  %s", call->port->name.text, pm_eui48_text(&call->address, address),
		         check, pm_spell(check));
		assert_shows(&f, line);
	}
}

/* The parts are whole lines; joined they are the registered facts, and each of
 * them has a code that fits the rows. */
static void the_codes_hold_all_the_facts(void **state)
{
	static const int rows[] = { 11, 17, 23, 40, 60 };
	(void)state;
	for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
		struct pm_arena arena;
		size_t count = 0, at = 0;
		pm_arena_init(&arena);
		const char *canonical = f.session.seal.canonical, *part;
		for (size_t i = 0; (part = seal_part(&f.session, rows[r], i, &count, &arena)); i++) {
			struct qr qr;
			struct pm_fault fault;
			assert_int_equal(strncmp(canonical + at, part, strlen(part)), 0);
			assert_int_equal(part[strlen(part) - 1], '\n');
			at += strlen(part);
			assert_true(qr_matrix(part, &arena, &qr, &fault));
			assert_true((int)(qr.size + 4 + 1) / 2 <= rows[r]);
		}
		/* a line that is too long for so small a window has no code at all */
		assert_int_equal(at, count ? strlen(canonical) : 0);
		assert_true(rows[r] < 17 || count > 0);
		pm_arena_free(&arena);
	}
}

static void the_code_is_drawn_as_the_matrix_has_it(void **state)
{
	(void)state;
	f.canvas.ascii = false;
	walk_type(&f, "q");
	struct pm_arena arena;
	struct pm_text text;
	struct qr qr;
	struct pm_fault fault;
	size_t count = 0;
	pm_arena_init(&arena);
	const char *part = seal_part(&f.session, 23, 0, &count, &arena);
	assert_non_null(part);
	pm_text_grow(&text, &arena);
	pm_text_add(&text, "1/%zu %s", count, part);
	assert_true(qr_matrix(text.data, &arena, &qr, &fault));
	for (unsigned y = 0; y < qr.size; y++)
		for (unsigned x = 0; x < qr.size; x++) {
			uint32_t point = f.canvas.cell[((int)y + 2) / 2 * f.canvas.columns + (int)x + 2].point;
			bool upper = (y + 2) % 2 == 0;
			bool light = point == 0x2588 || point == (upper ? 0x2580u : 0x2584u);
			assert_int_equal(light, !qr_dark(&qr, x, y));
		}
	pm_arena_free(&arena);
	assert_shows(&f, "code 1 of");
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "code 2 of");
	for (size_t i = 1; i < count; i++)
		walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "code 1 of");
	walk_size(&f, 12, 40);
	assert_shows(&f, "too small for a code");
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	assert_int_equal(f.state.screen, WALK_STEP);
}

static void without_all_facts_there_is_none(void **state)
{
	(void)state;
	walk_key(&f, KEYS_ESCAPE);
	walk_go(&f.state, &f.session, WALK_PORTS);
	f.state.row = 4;
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "00-00-5E-00-53-77");
	walk_key(&f, KEYS_ENTER);
	walk_go(&f.state, &f.session, WALK_SEAL);
	assert_false(f.session.seal.complete);
	assert_shows(&f, "There is no seal yet");
	walk_key(&f, KEYS_ENTER);
	assert_shows(&f, "no seal to compare");
	assert_false(f.state.typing);
}

/* What the cell of that name holds in the sheet that was written. */
static const char *cell_of(const struct returned *sheet, const char *page, const char *name)
{
	uint32_t row, column;
	for (size_t i = 0; pm_cell_place(name, &row, &column) && i < sheet->count; i++)
		if (pm_same(sheet->pages[i].name, page))
			return returned_at(&sheet->pages[i], row, column)->text;
	fail_msg("the sheet has no page %s", page);
	return "";
}

static void expect_facts(const struct returned *sheet)
{
	for (size_t i = 0; i < f.session.result.roster.count; i++) {
		const struct pm_call *call = &f.session.result.roster.call[i];
		const char check[2] = { pm_eui48_check(&call->address), '\0' };
		char address[PM_EUI48_TEXT], name[PM_CELL_TEXT];
		const char *expected[] = { "TB-00", call->port->name.text, call->port->panel.text, pm_eui48_text(&call->address, address), check };
		for (uint32_t k = 0; k < sizeof expected / sizeof *expected; k++)
			assert_string_equal(cell_of(sheet, "Interfaces", pm_cell_name(3 + (uint32_t)i, k, name)), expected[k]);
	}
	assert_string_equal(cell_of(sheet, "Station", "E4"), f.session.seal.text);
	assert_string_equal(cell_of(sheet, "Station", "C14"), "EG12-26-00417");
}

/* The sheet beside the job, the desk's workbook, holds every registered fact; without
 * all of them none is written, and the earlier one stays. */
static void the_sheet_is_written_from_the_job(void **state)
{
	char path[400];
	size_t length = 0, again = 0;
	struct store_layout layout;
	struct returned read;
	struct pm_arena arena;
	struct pm_fault fault = { 0 };
	(void)state;
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "x");
	assert_int_equal(f.state.screen, WALK_STEP);
	assert_shows(&f, "written: ");
	snprintf(path, sizeof path, "%s/site-sheet.xlsx", f.folder);
	char *sheet = scratch_read(path, &length);
	assert_non_null(sheet);
	pm_arena_init(&arena);
	assert_true(store_layout_load("data/sheets/tavrane-desk.yaml", &layout, &fault));
	if (!returned_read(path, &layout.layout, &arena, &read, &fault))
		fail_msg("%s", fault.message);
	expect_facts(&read);
	store_layout_free(&layout);
	pm_arena_free(&arena);
	/* without the desk's workbook it is another kind of sheet, and that is told */
	char layout_path[400], book[400];
	snprintf(book, sizeof book, "%s/sheets", f.folder);
	assert_int_equal(mkdir(book, 0777), 0);
	snprintf(layout_path, sizeof layout_path, "%s/sheets/tavrane-desk.yaml", f.folder);
	char *own = scratch_read("data/sheets/tavrane-desk.yaml", &again);
	scratch_write(layout_path, own, again);
	free(own);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "x");
	assert_shows(&f, "site-sheet.csv");
	assert_shows(&f, "\"tavrane-desk.xlsx\" does not lie beside");
	walk_go(&f.state, &f.session, WALK_PORTS);
	f.state.row = 4;
	walk_key(&f, KEYS_ENTER);
	walk_answer(&f, "00-00-5E-00-53-77");
	walk_key(&f, KEYS_ENTER);
	walk_key(&f, KEYS_ESCAPE);
	walk_key(&f, KEYS_ESCAPE);
	walk_type(&f, "mx");
	assert_shows(&f, "not every registered fact has a value");
	char *after = scratch_read(path, &again);
	assert_int_equal(again, length);
	assert_memory_equal(after, sheet, length);
	free(after);
	free(sheet);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		CASE(it_is_shown_large_and_in_words), CASE(the_same_seal_is_recognised_however_it_is_typed),
		CASE(a_mishearing_is_told_from_another_seal), CASE(every_address_has_its_character),
		CASE(the_codes_hold_all_the_facts), CASE(the_code_is_drawn_as_the_matrix_has_it),
		CASE(without_all_facts_there_is_none), CASE(the_sheet_is_written_from_the_job),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
