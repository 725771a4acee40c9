#include "walk/prose.h"

#include <string.h>

#include "portmuster/text.h"

int run_row(const struct run *run)
{
	return run->row + (run->line > run->skip ? run->line - run->skip : 0);
}

int run_hidden(const struct run *run)
{
	return run->skip > run->line ? run->skip - run->line : 0;
}

struct canvas *run_canvas(const struct run *run)
{
	return run->line - run->skip < run->rows ? run->canvas : NULL;
}

void run_text(struct run *run, int indent, enum canvas_style style, const char *text)
{
	int row = run_row(run);
	run->line += canvas_wrap(run_canvas(run), row, run->column + indent, run->row + run->rows - row,
	                         run->width - indent, style, text, run_hidden(run));
}

/* --- paragraphs --- */

/* One paragraph on its way. A longer one than there is room for goes on below
 * without a word lost. */
struct paragraph {
	struct run *run;
	enum canvas_style style;
	char words[1500];
	struct pm_text text;
	char mark[8];        /* of an item */
	int hang;
	bool item;
};

static void begin(struct paragraph *p)
{
	pm_text_fixed(&p->text, p->words, sizeof p->words);
}

static void flush(struct paragraph *p)
{
	if (p->text.length == 0)
		return;
	if (p->mark[0] && run_canvas(p->run) && !run_hidden(p->run))
		canvas_put(p->run->canvas, run_row(p->run), p->run->column, p->hang, p->style, p->mark);
	p->mark[0] = '\0';
	run_text(p->run, p->hang, p->style, p->words);
	begin(p);
}

/* A word longer than all the room is given out in pieces. */
static void put_word(struct paragraph *p, const char *word, size_t length)
{
	while (length) {
		size_t most = sizeof p->words - 2, part = length < most ? length : most;
		while (part < length && part > 1 && ((unsigned char)word[part] & 0xC0) == 0x80)
			part--;
		if (p->text.length + part > most)
			flush(p);
		if (p->text.length)
			pm_text_char(&p->text, ' ');
		pm_text_put(&p->text, word, part);
		word += part;
		length -= part;
	}
}

static void put_words(struct paragraph *p, const char *line, size_t length)
{
	while (length) {
		size_t word = 0;
		while (word < length && !pm_is_blank(line[word]))
			word++;
		put_word(p, line, word);
		for (line += word, length -= word; length && pm_is_blank(*line); line++, length--)
			;
	}
}

/* "1. ", "12. " or "- ": how long the mark is, its blank included; else 0. */
static size_t item_mark(const char *line, size_t length)
{
	size_t at = 0;
	while (at < length && at < 3 && pm_is_digit(line[at]))
		at++;
	if (at ? at == length || line[at] != '.' : length == 0 || line[0] != '-')
		return 0;
	at++;
	return at < length && line[at] == ' ' ? at + 1 : 0;
}

static void put_line(struct paragraph *p, const char *line, size_t length)
{
	size_t mark = item_mark(line, length), blanks = 0;
	struct pm_text into;
	while (blanks < length && pm_is_blank(line[blanks]))
		blanks++;
	if (blanks == length) {
		flush(p);
		p->item = false;
		p->hang = 0;
		p->run->line++;
	} else if (mark) {
		flush(p);
		p->item = true;
		p->hang = (int)mark;
		pm_text_fixed(&into, p->mark, sizeof p->mark);
		pm_text_put(&into, line, mark);
		put_words(p, line + mark, length - mark);
	} else if (blanks && !p->item) {
		flush(p);
		p->hang = blanks < 20 ? (int)blanks : 20;
		put_words(p, line + blanks, length - blanks);
		flush(p);
		p->hang = 0;
	} else {
		put_words(p, line + blanks, length - blanks);
	}
}

void run_prose(struct run *run, enum canvas_style style, const char *text)
{
	struct paragraph p = { .run = run, .style = style };
	begin(&p);
	while (*text) {
		size_t length = strcspn(text, "\n");
		put_line(&p, text, length);
		text += length + (text[length] == '\n');
	}
	flush(&p);
}
