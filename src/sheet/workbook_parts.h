/* workbook_parts.h - what the files of the workbook share. Private to the floor.
 *
 * A package is read whole into memory and stays there untouched. Its parts are
 * unpacked by libzip and read by libxml2 through tables of rules (book_rule); no
 * tree is built. A page keeps the byte range of each of its rows and cells, so
 * that filling is a splice of the part's own bytes (workbook_put.c), and saving a
 * copy of the package's own records (workbook_save.c).
 *
 * Everything lives in the arena of the workbook.
 */
#ifndef SHEET_WORKBOOK_PARTS_H
#define SHEET_WORKBOOK_PARTS_H

#include <zip.h>

#include "portmuster/text.h"
#include "sheet/workbook.h"

#define BOOK_MOST_FILE (64u << 20)     /* bytes of a package, packed */
#define BOOK_MOST_PART (64u << 20)     /* bytes of one part, unpacked */
#define BOOK_MOST_PARTS 2000u
#define BOOK_MOST_PAGES 1000u
#define BOOK_MOST_CELLS 2000000u       /* of one page */
#define BOOK_MOST_RANGES 100000u       /* merged ranges of one page, and array formulas */
#define BOOK_MOST_DEPTH 64u            /* elements within elements */
#define BOOK_MOST_TEXT 32767u          /* characters of a cell, as UTF-16 counts them */

/* --- bytes and names (workbook_name.c) --- */

struct book_bit {
	const char *bytes;   /* null: it is not there */
	size_t length;
};

/* Is it there, and these very characters? */
bool book_bit_is(struct book_bit bit, const char *string);
/* A decimal number of at most `most`; false (and *value as it was) for anything else. */
bool book_bit_number(struct book_bit bit, uint32_t most, uint32_t *value);
/* "1" or "true". */
bool book_bit_true(struct book_bit bit);

struct book_range {
	uint32_t row, column, last_row, last_column;   /* counted from 0, the last ones included */
};

/* "B7:D9" or "B7". */
bool book_range_read(struct book_bit bit, struct book_range *range);
void book_range_put(struct pm_text *out, const struct book_range *range);

/* The raw attributes of a start tag, as they stand in the part. */
struct book_raw {
	size_t from, to;        /* with the blanks in front */
	struct book_bit name, value;
};
/* The element's name with its prefix; `at` is the offset of its '<'. */
struct book_bit book_tag_name(const char *xml, size_t at);
/* The prefix of a name with its colon, empty when it has none. */
struct book_bit book_tag_prefix(const char *xml, size_t at);
/* The next attribute from `*at` (first: behind the name) on; false at the tag's end. */
bool book_tag_next(const char *xml, size_t *at, size_t end, struct book_raw *raw);

/* --- text (workbook_text.c) --- */

/* Undo the escapes _xHHHH_ of ECMA-376 part 1, 22.9.2.19. One that stands for
 * NUL or half a pair is left as it is. In place; returns the new length. */
size_t book_text_decode(char *bytes, size_t length);
/* Add text as the content of an element: escaped for XML and against being read as _xHHHH_. */
void book_text_put(struct pm_text *out, const char *text);
/* What is in the way of writing this text into a cell, or null. */
const char *book_text_problem(const char *text);
/* Does a number format show a date or a time? */
bool book_format_dates(uint32_t id);
bool book_code_dates(const char *code);

/* --- reading a part (workbook_xml.c) --- */

struct book_reader;

struct book_element {
	const unsigned char **attributes;   /* as libxml2 gives them; null when it closes */
	int attribute_count;
	size_t start, inside, end;   /* of '<'; behind the start tag; behind the element, 0 when it opens */
	bool closed;                 /* it is a <tag/> */
};

typedef bool book_step(struct book_reader *reader, const struct book_element *element);

/* Within an element known as `in`, the element `name` is known as `becomes`.
 * 0 is the document itself; where no rule fits, an element is passed over with
 * all that is in it. With `text` its characters are added to the reader's text. */
struct book_rule {
	unsigned char in;
	const char *name;
	unsigned char becomes;
	bool text;
	book_step *open, *close;
};

struct book_reader {
	const struct book_rule *rules;
	size_t rule_count;
	void *data;             /* the caller's */
	struct pm_text text;    /* emptied by whoever begins to collect */
	const char *file, *part;
	const char *xml;
	size_t length;
	struct pm_fault *fault;
	struct pm_arena arena;  /* of `text` */
	void *parser;
	size_t depth;
	struct book_level { unsigned char rule; struct book_element element; } level[BOOK_MOST_DEPTH];
	bool stopped;           /* a fault was found, and filled */
};

/* Go through a part. The caller fills rules, data, file, part, xml, length and
 * fault. A document type, an encoding other than UTF-8, text that is no XML and
 * elements nested too deep are refused, and a root that no rule knows. */
bool book_read(struct book_reader *reader);

/* An attribute without a namespace, or one of the relationships' namespace. */
struct book_bit book_attribute(const struct book_element *element, const char *name);
struct book_bit book_relation(const struct book_element *element, const char *name);

/* Fill the reader's fault and stop; returns false. */
bool book_stop(struct book_reader *reader, enum pm_fault_kind kind, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
/* Begin to collect text anew. */
void book_collect(struct book_reader *reader);

/* --- ranges by the cells that lie in them (workbook_cover.c) --- */

/* From this column on, up to the next stretch: the topmost row and the lowest that is
 * reached by the ranges which are filed together. */
struct book_stretch { uint32_t column, row, last_row; };
/* The stretches of the ranges that are filed under one row. */
struct book_file { uint32_t under, first, count; };

struct book_cover {
	struct book_file *file;
	struct book_stretch *stretch;
	size_t files, stretches;
};

/* Of ranges that may lie above each other; their order is lost. False when memory ran out. */
bool book_cover_make(struct book_cover *cover, struct book_range *range, size_t count, struct pm_arena *arena);
/* Does a cell lie in one of them? In a time that grows with the logarithm of their number. */
bool book_cover_holds(const struct book_cover *cover, uint32_t row, uint32_t column);

/* --- a page (workbook_page.c) --- */

enum book_formula { BOOK_NO_FORMULA, BOOK_FORMULA, BOOK_SHARED, BOOK_ARRAY, BOOK_TABLE };

struct book_cell {
	const char *text;
	uint32_t start, end;    /* its bytes in the part */
	uint32_t style;
	uint16_t column;
	unsigned char kind;     /* enum workbook_kind */
	unsigned char formula;  /* enum book_formula */
};

struct book_row {
	uint32_t number;
	uint32_t start, inside, end;
	uint32_t first, count;  /* of its cells */
	uint32_t style;         /* for new cells, when `styled` */
	bool styled, closed;
};

struct book_columns { uint32_t first, last, style; };

struct book_edit {
	uint32_t row, column;
	const char *text;
};

/* What cells refer to. */
struct book_words {
	const char **string;    /* the shared strings */
	size_t string_count, string_room;
	bool *dates;            /* by style: its numbers are dates */
	size_t style_count, style_room;
};

struct book_page {
	const char *name, *part;
	size_t index;               /* of the part in the package */
	bool hidden, chart;         /* a chart is a page without cells */
	bool loaded;
	const char *xml;
	size_t length;
	struct book_row *rows;
	struct book_cell *cells;
	struct book_cover covered;  /* cells under merged ones, the first of those left out */
	struct book_cover arrays;   /* cells of array formulas and of tables */
	struct book_columns *columns;
	struct book_edit *edits;    /* by row and column */
	size_t row_count, row_room, cell_count, cell_room;
	size_t column_count, column_room, edit_count, edit_room;
	struct book_element data;   /* the element of all rows */
	size_t dimension;           /* where the element of that name starts; 0: there is none */
};

/* Read `page->xml` into an empty page. `page->name` and `part` are for faults. */
bool book_page_read(struct book_page *page, const struct book_words *words, struct pm_arena *arena,
                    const char *file, struct pm_fault *fault);
/* The place of a row (or a cell of it) or, when there is none, of the next one. */
size_t book_row_at(const struct book_page *page, uint32_t row);
size_t book_cell_at(const struct book_page *page, const struct book_row *row, uint32_t column);
const struct book_cell *book_cell_find(const struct book_page *page, uint32_t row, uint32_t column);
/* The place of an edit or of the next one, and the edit itself or null. */
size_t book_edit_at(const struct book_page *page, uint32_t row, uint32_t column);
const struct book_edit *book_edit_find(const struct book_page *page, uint32_t row, uint32_t column);
bool book_covered(const struct book_page *page, uint32_t row, uint32_t column);
/* The formula that a cell's value comes from. */
enum book_formula book_formula_of(const struct book_page *page, uint32_t row, uint32_t column);

/* --- filling (workbook_put.c) --- */

/* Remember one text for a page that was read; refuses what workbook_put refuses. */
bool book_page_put(struct book_page *page, uint32_t row, uint32_t column, const char *text,
                   struct pm_arena *arena, const char *file, struct pm_fault *fault);
/* The page's bytes with its edits in place, read again and compared; in the arena. */
bool book_page_splice(const struct book_page *page, const struct book_words *words, struct pm_arena *arena,
                      const char **xml, size_t *length, const char *file, struct pm_fault *fault);

/* --- the package (workbook.c, workbook_package.c, workbook_save.c) --- */

struct workbook {
	struct pm_arena arena;
	const char *path;
	const char *bytes;          /* the package as it was read */
	size_t length;
	zip_t *zip;
	const char **parts;         /* names, in the package's order */
	size_t part_count;
	struct book_page *pages;
	size_t page_count, page_room;
	struct book_words words;
	bool signed_by_someone;     /* it can be read, not filled */
	bool recalculates;          /* by whoever opens it */
	struct pm_arena file;       /* of `bytes`, when they were read here */
};

/* Open a package in memory; `bytes` must live as long as the workbook. */
struct workbook *book_open_bytes(const char *path, const char *bytes, size_t length, struct pm_fault *fault);
#define BOOK_NO_PART ((size_t)-1)
size_t book_part_find(const struct workbook *workbook, const char *name);
/* Unpack a part into the workbook's arena. */
bool book_part_read(struct workbook *workbook, size_t part, const char **bytes, size_t *length,
                    struct pm_fault *fault);
/* Content types, relations, pages, shared strings and styles: what the package is made of. */
bool book_parts_read(struct workbook *workbook, struct pm_fault *fault);
/* The page, read; null with a fault when it can't be. */
struct book_page *book_page_need(struct workbook *workbook, size_t page, struct pm_fault *fault);

/* The package with every edit in place; in the arena. */
bool book_compose(struct workbook *workbook, struct pm_arena *arena, const char **bytes, size_t *length,
                  struct pm_fault *fault);

/* Fill a fault about one cell of a page. */
bool book_cell_fail(struct pm_fault *fault, enum pm_fault_kind kind, const char *file, const struct book_page *page,
                    uint32_t row, uint32_t column, const char *problem);

#endif
