/* The packet as plain text: first all lines of a sheet, then its pages. */
#include <string.h>

#include "report/packet_parts.h"
#include "report/plain.h"

#define INDENT 2
#define GAP 2
#define BOX 8          /* columns inside a port of the drawn panel */
#define PAGE_HEAD 3    /* lines above a page's own */

struct line {
	char *text;
	bool keep;         /* never the last one of a page: what follows belongs to it */
};

struct lines {
	struct pm_arena *arena;
	void *item;
	size_t count, room;
};

static void add_line(struct lines *lines, const char *text, size_t length, bool keep)
{
	struct line *line = pm_arena_push(lines->arena, &lines->item, &lines->count, &lines->room, sizeof *line);
	while (length && text[length - 1] == ' ')
		length--;
	if (line)
		*line = (struct line){ pm_arena_copy(lines->arena, text, length), keep };
}

static char *visible(struct lines *lines, const char *string)
{
	struct pm_text text;
	pm_text_grow(&text, lines->arena);
	if (string)
		pm_text_visible(&text, string, strlen(string));
	return text.data;
}

static size_t widest_word(const char *text)
{
	size_t widest = 0, taken;
	while (*text) {
		size_t length = strcspn(text, " ");
		char word[PACKET_COLUMNS + 1];
		struct pm_text copy;
		pm_text_fixed(&copy, word, sizeof word);
		pm_text_put(&copy, text, length);
		plain_fitting(word, PACKET_COLUMNS, &taken);
		if (taken > widest)
			widest = taken;
		text += length + (text[length] == ' ');
	}
	return widest;
}

/* The columns' widths: what their cells want, then narrowed until they fit,
 * first where only blanks give way, then wherever most is. */
static void find_widths(const struct packet_table *table, const char *const *cells, size_t rows, size_t *width)
{
	size_t least[PACKET_MOST_COLUMNS] = { 0 }, sum = INDENT + GAP * (table->columns - 1);
	for (size_t c = 0; c < table->columns; c++) {
		width[c] = 2;   /* any one character */
		for (size_t r = 0; r < rows; r++) {
			size_t taken, word = widest_word(cells[r * table->columns + c]);
			plain_fitting(cells[r * table->columns + c], PACKET_COLUMNS * 2, &taken);
			if (taken > width[c])
				width[c] = taken;
			if (word > least[c])
				least[c] = word;
		}
		sum += width[c];
	}
	for (bool hard = false; sum > PACKET_COLUMNS;) {
		size_t most = PACKET_MOST_COLUMNS;
		for (size_t c = 0; c < table->columns; c++)
			if ((hard ? width[c] > 2 : width[c] > least[c]) && (most == PACKET_MOST_COLUMNS || width[c] > width[most]))
				most = c;
		if (most == PACKET_MOST_COLUMNS) {
			hard = true;
			continue;
		}
		width[most]--;
		sum--;
	}
}

/* One row of cells, wrapped into as many lines as the longest cell takes. */
static void add_row(struct lines *lines, const char *const *cells, size_t columns, const size_t *width, bool keep)
{
	const char *rest[PACKET_MOST_COLUMNS];
	bool more = true;
	memcpy(rest, cells, columns * sizeof *rest);
	while (more) {
		struct pm_text text;
		size_t at = 0, column = INDENT;
		pm_text_grow(&text, lines->arena);
		more = false;
		for (size_t c = 0; c < columns; column += width[c++] + GAP) {
			const char *piece;
			size_t taken, bytes = plain_piece(&rest[c], width[c], &piece);
			char *part = pm_arena_copy(lines->arena, piece, bytes);
			if (!part)
				return;
			plain_fitting(part, PACKET_COLUMNS, &taken);
			plain_pad(&text, &at, column);
			pm_text_str(&text, part);
			at += taken;
			more = more || rest[c][strspn(rest[c], " ")];
		}
		add_line(lines, text.data, text.length, keep || more);
	}
}

static void add_heading(struct lines *lines, const char *title)
{
	add_line(lines, "", 0, true);
	add_line(lines, title, strlen(title), true);
}

static void add_table(struct lines *lines, const struct packet_table *table)
{
	size_t width[PACKET_MOST_COLUMNS], headed = table->head[0] ? 1 : 0;
	size_t rows = table->columns ? table->cells / table->columns + headed : 0;
	if (!table->cells && !table->none)
		return;
	add_heading(lines, table->title);
	if (!table->cells) {
		struct pm_text text;
		pm_text_grow(&text, lines->arena);
		pm_text_add(&text, "  %s", table->none);
		add_line(lines, text.data, text.length, false);
		return;
	}
	const char **cells = pm_arena_array(lines->arena, rows * table->columns, sizeof *cells);
	if (!cells)
		return;
	for (size_t i = 0; i < rows * table->columns; i++)
		cells[i] = headed && i < table->columns ? table->head[i]
		           : visible(lines, table->cell[i - headed * table->columns]);
	find_widths(table, cells, rows, width);
	for (size_t r = 0; r < rows; r++)
		add_row(lines, cells + r * table->columns, table->columns, width, r < headed);
}

static void add_paragraph(struct lines *lines, const char *string)
{
	const size_t width[] = { PACKET_COLUMNS - INDENT };
	const char *shown = visible(lines, string);
	add_line(lines, "", 0, true);
	add_row(lines, &shown, 1, width, false);
}

/* What stands in a port's box: its label above, what to compare below. */
static void put_box(struct pm_text *text, struct lines *lines, const struct packet_port *port, bool below)
{
	size_t taken, at;
	const char *label = visible(lines, port->panel);
	if (below) {
		struct pm_text under;
		pm_text_grow(&under, lines->arena);
		pm_text_str(&under, port->tail[0] ? port->tail : pm_standing_word(port->standing));
		if (port->check)
			pm_text_add(&under, " %c%s", port->check, port->standing == PM_CONFIRMED ? "" : "?");
		label = under.data;
	}
	size_t bytes = plain_fitting(label, BOX, &taken);
	/* a label that is cut says so */
	if (label[bytes])
		bytes = plain_fitting(label, BOX - 1, &taken);
	pm_text_put(text, label, bytes);
	at = taken;
	if (label[bytes]) {
		pm_text_char(text, '~');
		at++;
	}
	plain_pad(text, &at, BOX);
}

static void add_panel(struct lines *lines, const struct packet *packet)
{
	size_t across = packet_panel_columns(packet->ports);
	add_heading(lines, "Front panel (label; last two octets, check character, ? where not confirmed)");
	for (size_t from = 0; from < packet->ports; from += across) {
		size_t count = packet->ports - from < across ? packet->ports - from : across;
		for (int part = from ? 1 : 0; part < 4; part++) {
			struct pm_text text;
			pm_text_grow(&text, lines->arena);
			pm_text_str(&text, "  ");
			/* the rule above a shorter last row was drawn with the row before it */
			for (size_t i = 0; i < count; i++) {
				if (part == 0 || part == 3) {
					pm_text_str(&text, "+--------");
					continue;
				}
				pm_text_char(&text, '|');
				put_box(&text, lines, &packet->port[from + i], part == 2);
			}
			pm_text_char(&text, part == 0 || part == 3 ? '+' : '|');
			add_line(lines, text.data, text.length, part < 3);
		}
	}
}

/* How many of the lines from `from` on go on one page. */
static size_t page_lines(const struct lines *lines, size_t from)
{
	const struct line *line = lines->item;
	size_t most = PACKET_LINES - PAGE_HEAD, count = lines->count - from;
	if (count <= most)
		return count;
	for (count = most; count > 1 && line[from + count - 1].keep;)
		count--;
	return line[from + count - 1].keep ? most : count;
}

static size_t count_pages(const struct lines *lines)
{
	size_t pages = 0;
	for (size_t from = 0; from < lines->count; pages++)
		from += page_lines(lines, from);
	return pages;
}

static size_t written_lines(const struct pm_text *out)
{
	size_t count = 0;
	for (size_t i = 0; i < out->length; i++)
		count += out->data[i] == '\n';
	return count;
}

static void put_page_head(struct lines *lines, const struct packet *packet, const char *sheet, size_t page, size_t pages,
                          struct pm_text *out)
{
	struct pm_text title, which;
	size_t taken, at;
	pm_text_grow(&title, lines->arena);
	packet_title(packet, &title);
	pm_text_grow(&which, lines->arena);
	pm_text_add(&which, "%s, page %zu of %zu", sheet, page, pages);
	size_t bytes = plain_fitting(title.data, PACKET_COLUMNS - which.length - GAP, &taken);
	pm_text_put(out, title.data, bytes);
	at = taken;
	plain_pad(out, &at, PACKET_COLUMNS - which.length);
	pm_text_add(out, "%s\n%s\n", which.data, packet->printed);
	for (size_t i = 0; i < PACKET_COLUMNS; i++)
		pm_text_char(out, '=');
	pm_text_char(out, '\n');
}

static void put_sheet(struct lines *lines, const struct packet *packet, const char *sheet, size_t *page, size_t pages,
                      struct pm_text *out)
{
	const struct line *line = lines->item;
	for (size_t from = 0; from < lines->count; (*page)++) {
		size_t count = page_lines(lines, from), last = written_lines(out) % PACKET_LINES;
		for (; last && last < PACKET_LINES; last++)
			pm_text_char(out, '\n');
		put_page_head(lines, packet, sheet, *page, pages, out);
		for (size_t i = from; i < from + count; i++)
			pm_text_add(out, "%s\n", line[i].text);
		from += count;
	}
}

void packet_text(const struct packet *packet, struct pm_text *out)
{
	struct pm_arena arena;
	pm_arena_init(&arena);
	struct lines door = { .arena = &arena }, file = { .arena = &arena };
	for (int i = 0; i < PACKET_PARTS; i++) {
		if (i == PACKET_PORTS)
			add_panel(&door, packet);
		add_table(i < PACKET_FILE ? &door : &file, &packet->table[i]);
	}
	add_paragraph(&door, packet->caution);
	if (!arena.failed) {
		size_t page = 1, pages = count_pages(&door) + count_pages(&file);
		put_sheet(&door, packet, "for the door", &page, pages, out);
		put_sheet(&file, packet, "for the file", &page, pages, out);
	}
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}
