/* Likely causes of a changed cell. What spreadsheets do to texts that look like
 * numbers or dates is common practice, no source. */
#include "sheet/causes.h"

#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/slip.h"
#include "sheet/compose.h"
#include "sheet/fold.h"
#include "sheet/numbers.h"
#include "sheet/trouble.h"

#define EXPLAINS(name) static bool name(const struct cause_view *v, struct pm_text *say)

/* For a row's function to end with. */
static bool because(struct pm_text *say, bool good, const char *phrase)
{
	if (good)
		pm_text_str(say, phrase);
	return good;
}

EXPLAINS(covered)
{
	return because(say, v->covered && *v->seen, "it lies under merged cells, where a spreadsheet shows nothing");
}

EXPLAINS(formula)
{
	static const char *const errors[] = { "#N/A", "#NAME?", "#REF!", "#VALUE!", "#DIV/0!", "#NUM!", "#NULL!" };
	if (v->kind == WORKBOOK_FORMULA)
		return because(say, true, "a formula computes it, and its result can change");
	bool error = v->kind == WORKBOOK_ERROR;
	for (size_t i = 0; i < sizeof errors / sizeof *errors; i++)
		error |= strcmp(v->seen, errors[i]) == 0;
	if (error)
		return because(say, true, "an error that a formula left");
	if (v->seen[0] && strspn(v->seen, "#") == strlen(v->seen))
		return because(say, true, "the column was too narrow to show a number, and the signs were kept for it");
	size_t length = strlen(v->right);
	bool wrapped = length && v->seen[0] == '=' && v->seen[1] == '"' && strncmp(v->seen + 2, v->right, length) == 0 &&
	               strcmp(v->seen + 2 + length, "\"") == 0;
	return because(say, wrapped, "the value was put into a formula, as is done to keep it from being taken for a number") ||
	       because(say, v->seen[0] == '=' && v->right[0] != '=' && v->right[0] != '\'', "a formula stands in its place");
}

EXPLAINS(emptied) { return because(say, !v->seen[0], "the cell was emptied"); }
EXPLAINS(added) { return because(say, !v->right[0], "the job has nothing there"); }

EXPLAINS(swapped)
{
	if (!v->swapped_with)
		return false;
	pm_text_add(say, "changed places with the value of row %s", v->swapped_with);
	return true;
}

EXPLAINS(apostrophe)
{
	bool dropped = v->right[0] == '\'' && strcmp(v->right + 1, v->seen) == 0;
	bool added = v->seen[0] == '\'' && strcmp(v->seen + 1, v->right) == 0;
	return because(say, dropped, "the apostrophe in front was taken off, and a spreadsheet would run it") ||
	       because(say, added, "an apostrophe was put in front");
}

EXPLAINS(zeros)
{
	const char *rest = v->right + strspn(v->right, "0");
	bool same = *v->seen && (strcmp(rest, v->seen) == 0 || numbers_same_whole(rest, v->seen));
	return because(say, same && strcmp(v->right, v->seen) != 0 && v->right[0] == '0' && numbers_alike(v->right),
	               "leading zeros were lost: it was taken for a number");
}

EXPLAINS(scientific)
{
	switch (strcmp(v->right, v->seen) == 0 ? NUMBERS_NOT_TURNED : numbers_turned(v->right, v->seen)) {
	case NUMBERS_NOT_TURNED: break;
	case NUMBERS_TURNED:
		return because(say, true, numbers_scientific(v->seen) ? "it was taken for a number and turned into scientific notation"
		                                                      : "it was taken for a number in scientific notation");
	case NUMBERS_TURNED_OTHERWISE:
		return because(say, true, "scientific notation, as of something taken for a number, and not even of this one");
	}
	return false;
}

EXPLAINS(date)
{
	return because(say, v->kind == WORKBOOK_DATE || numbers_became_date(v->right, v->seen), "it was taken for a date");
}

EXPLAINS(number)
{
	if (v->kind == WORKBOOK_NUMBER && strcmp(v->right, v->seen) == 0)
		return because(say, true, "it is kept as a number, though it still reads the same");
	bool stored = v->kind == WORKBOOK_NUMBER && strcmp(v->right, v->seen) != 0 && numbers_stored(v->right, v->seen);
	if (numbers_digits_lost(v->right, v->seen) || (stored && !numbers_same(v->right, v->seen)))
		return because(say, true, "it was taken for a number, which keeps fifteen digits only");
	return because(say, strcmp(v->right, v->seen) != 0 && numbers_same(v->right, v->seen), "it was taken for a number");
}

/* Same length, and each character that differs is one of a pair that is confused. */
static size_t look_alikes(const char *right, const char *seen)
{
	size_t differing = 0;
	if (strlen(right) != strlen(seen))
		return 0;
	for (; *right; right++, seen++)
		if (pm_lower((unsigned char)*right) != pm_lower((unsigned char)*seen)) {
			if (!pm_look_alike((unsigned char)*right, (unsigned char)*seen))
				return 0;
			differing++;
		}
	return differing;
}

EXPLAINS(look_alike)
{
	uint32_t point;
	size_t place = fold_first(v->seen, fold_alphabets, &point);
	if (place && fold_same(v->right, v->seen, fold_alphabets)) {
		pm_text_add(say, "character %zu is U+%04X, which only looks like the right one", place, (unsigned)point);
		return true;
	}
	size_t many = look_alikes(v->right, v->seen);
	char said[120];
	if (many == 1)
		pm_text_str(say, pm_slip_say(pm_slip_between(v->right, v->seen), "character", said, sizeof said));
	else if (many)
		pm_text_add(say, "%zu characters are look-alikes of the right ones", many);
	if (many && v->row_of)
		pm_text_add(say, "; it is also the value of row %s", v->row_of);
	return many != 0;
}

EXPLAINS(blanks)
{
	return because(say, fold_same(v->right, v->seen, fold_blanks), "blanks or line breaks were added or lost");
}

EXPLAINS(invisible)
{
	return because(say, fold_same(v->right, v->seen, fold_invisible),
	               "no-break blanks or characters without width were added, as on a copy from a page");
}

EXPLAINS(typography)
{
	return because(say, fold_same(v->right, v->seen, fold_typography),
	               "typographic dashes or quotes stand for plain ones, as a word processor writes them");
}

EXPLAINS(composition)
{
	uint32_t point;
	if (!compose_same(v->right, v->seen))
		return false;
	size_t place = compose_first(v->seen, &point);
	pm_text_str(say, "the same letters in another Unicode normal form (UAX #15): ");
	if (place)
		pm_text_add(say, "character %zu is U+%04X, the mark of the letter before it", place, (unsigned)point);
	else
		pm_text_str(say, "a letter and its mark were made one character");
	return true;
}

EXPLAINS(letter_case)
{
	return because(say, !v->address && fold_same(v->right, v->seen, fold_case), "the case of letters was changed");
}

EXPLAINS(notation)
{
	struct pm_eui48 a, b;
	return because(say, v->address && pm_eui48_parse(v->right, &a) && pm_eui48_parse(v->seen, &b) && !pm_eui48_compare(&a, &b),
	               "the same address in another notation");
}

EXPLAINS(shifted)
{
	if (!v->column_of)
		return false;
	pm_text_str(say, "it is what belongs under ");
	trouble_quote(say, v->column_of);
	return true;
}

/* The characters that count: of an address its digits. */
static const char *plain(const struct cause_view *v, const char *string, char *out, size_t room)
{
	size_t length = 0;
	if (!v->address)
		return string;
	for (; *string && length + 1 < room; string++)
		if (!strchr("-:. ", *string))
			out[length++] = *string;
	out[length] = '\0';
	return out;
}

static bool ascii(const char *text)
{
	for (; *text; text++)
		if ((unsigned char)*text >= 0x80)
			return false;
	return true;
}

EXPLAINS(slip)
{
	char right[80], seen[80], said[120];
	if (!ascii(v->right) || !ascii(v->seen))
		return false;
	struct pm_slip slip = pm_slip_between(plain(v, v->right, right, sizeof right), plain(v, v->seen, seen, sizeof seen));
	if (!pm_slip_single(slip.kind))
		return false;
	pm_text_str(say, pm_slip_say(slip, v->address ? "digit" : "character", said, sizeof said));
	if (v->row_of)
		pm_text_add(say, "; it is also the value of row %s", v->row_of);
	return true;
}

EXPLAINS(another_row)
{
	if (!v->row_of)
		return false;
	pm_text_add(say, "it is the value of row %s", v->row_of);
	return true;
}

EXPLAINS(truncated)
{
	size_t right = strlen(v->right), seen = strlen(v->seen);
	if (seen >= right)
		return false;
	return because(say, memcmp(v->right, v->seen, seen) == 0, "its end was cut off") ||
	       because(say, memcmp(v->right + right - seen, v->seen, seen) == 0, "its beginning was cut off");
}

EXPLAINS(misread)
{
	return because(say, fold_misread(v->right, v->seen), "the file was read in another character set and saved so");
}

EXPLAINS(several)
{
	(void)v;
	return because(say, true, "no single cause explains it");
}

#define IMPORT "open the CSV sheet through the spreadsheet's import, every column as text, or better not at all"
#define COPY "put the job's value back by copy and paste, or write the sheet again"
#define AGAIN "write the sheet again"

static const struct cause causes[] = {
	{ "covered", false, "part the merged cells, or write the sheet again", covered },
	{ "formula", false, "put the job's value there as plain text", formula },
	{ "emptied", false, AGAIN, emptied },
	{ "added", false, "take it out, or enter it in the job if it is right", added },
	{ "rows-swapped", false, AGAIN, swapped },
	{ "apostrophe", false, AGAIN, apostrophe },
	{ "columns-shifted", false, AGAIN, shifted },
	{ "leading-zeros", false, IMPORT, zeros },
	{ "scientific", false, IMPORT, scientific },
	{ "date", false, IMPORT, date },
	{ "number", false, IMPORT, number },
	{ "look-alike", false, COPY, look_alike },
	{ "blanks", false, COPY, blanks },
	{ "invisible", false, COPY, invisible },
	{ "typography", false, COPY, typography },
	{ "composition", false, COPY, composition },
	{ "case", false, COPY, letter_case },
	{ "notation", true, "nothing need be done; the desk may want its own notation back", notation },
	{ "slip", false, COPY, slip },
	{ "another-row", false, AGAIN, another_row },
	{ "truncated", false, COPY, truncated },
	{ "character-set", false, "save the sheet as UTF-8, or write it again", misread },
	{ "other", false, AGAIN, several },
};

#define CAUSES (sizeof causes / sizeof *causes)

const struct cause *cause_table(size_t *count)
{
	*count = CAUSES;
	return causes;
}

const struct cause *cause_find(const struct cause_view *view, struct pm_text *say)
{
	size_t i = 0;
	while (i + 1 < CAUSES && !causes[i].explains(view, say))
		i++;
	if (i + 1 == CAUSES)
		causes[i].explains(view, say);
	return &causes[i];
}

const char *cause_of_title(const char *right, const char *seen)
{
	if (fold_same(right, seen, fold_blanks) || fold_same(right, seen, fold_invisible))
		return "blanks differ";
	if (fold_same(right, seen, fold_case))
		return "case differs";
	if (fold_same(right, seen, fold_alphabets) || fold_same(right, seen, fold_typography))
		return "look-alike characters";
	if (compose_same(right, seen))
		return "another Unicode normal form";
	if (fold_misread(right, seen))
		return "read in another character set";
	if (strlen(right) > 3 && ascii(right) && ascii(seen) && pm_slip_single(pm_slip_between(right, seen).kind))
		return "one slip";
	return NULL;
}
