#include "board/page.h"

#include "portmuster/text.h"

static int draw(const struct page *page, int indent, enum canvas_style style, const char *text)
{
	int shown = page->line - page->skip, hidden = shown < 0 ? -shown : 0, first = shown < 0 ? 0 : shown;
	bool seen = page->canvas && first < page->rows;
	int width = page->columns - indent;
	return canvas_wrap(seen ? page->canvas : NULL, page->row + first, page->column + indent, page->rows - first,
	                   width < 1 ? 1 : width, style, text, hidden);
}

void page_text(struct page *page, int indent, enum canvas_style style, const char *text)
{
	page->line += draw(page, indent, style, text);
}

void page_add(struct page *page, int indent, enum canvas_style style, const char *format, ...)
{
	char line[1500];
	struct pm_text text;
	va_list args;
	pm_text_fixed(&text, line, sizeof line);
	va_start(args, format);
	pm_text_addv(&text, format, args);
	va_end(args);
	page_text(page, indent, style, line);
}

void page_pair(struct page *page, int indent, enum canvas_style word_style, const char *word, int beside,
               enum canvas_style style, const char *text)
{
	int shown = page->line - page->skip;
	if (page_sees(page, shown))
		canvas_put(page->canvas, page->row + shown, page->column + indent, beside - indent - 1, word_style, word);
	int lines = draw(page, beside, style, text);
	page->line += lines ? lines : 1;
}

void page_heading(struct page *page, const char *text)
{
	page->line += page->line > 0;
	page_text(page, 0, STYLE_STRONG, text);
}
