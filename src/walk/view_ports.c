/* The roster as a port map, and the preview of a console log. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/ports.h"

#define CELL_ROWS 3   /* one shared border, name and state, address */

struct look {
	const char *mark, *word;
	enum canvas_style style;
};

/* Every state has a mark and a word of its own; colour only adds to them. */
static struct look look_of(const struct session *session, size_t i)
{
	const struct pm_call *call = &session->result.roster.call[i];
	if (call->fact.first && !call->valid && call->fact.standing != PM_SKIPPED)
		return (struct look){ "?", "malformed", STYLE_BAD };
	if (call->fact.standing == PM_CONFLICT)
		return (struct look){ "!", "conflict", STYLE_BAD };
	if (session->result.pattern.expect[i].breaks)
		return (struct look){ "x", "breaks row", STYLE_BAD };
	switch (call->fact.standing) {
	case PM_OPEN: return (struct look){ ".", "open", STYLE_DIM };
	case PM_HELD: return (struct look){ "-", "held", STYLE_WAIT };
	case PM_CONFIRMED: return (struct look){ "=", "confirmed", STYLE_GOOD };
	case PM_SKIPPED: return (struct look){ "/", "skipped", STYLE_DIM };
	case PM_CONFLICT: break;
	}
	return (struct look){ "!", "conflict", STYLE_BAD };
}

/* While a second reading is typed the first one is not shown. */
static bool hidden(const struct walk_state *state, size_t i)
{
	return state->typing && !state->asking_path && state->row == i;
}

static void draw_cell(const struct walk_state *state, const struct session *session, struct canvas *canvas,
                      size_t i, int row, int column)
{
	const struct pm_call *call = &session->result.roster.call[i];
	struct look look = look_of(session, i);
	bool focused = i == state->row;
	char address[PM_EUI48_TEXT] = "";
	canvas_print(canvas, row, column, 7, focused ? STYLE_CHOSEN : STYLE_STRONG, "%-6.6s", call->port->name.text);
	canvas_print(canvas, row, column + 7, PORTS_CELL - 8, look.style, "%s %s", look.mark, look.word);
	if (hidden(state, i) && call->fact.first)
		memcpy(address, "(hidden)", 9);
	else if (call->valid)
		pm_eui48_text(&call->address, address);
	else if (call->fact.first)
		memcpy(address, "unreadable", 11);
	canvas_put(canvas, row + 1, column, PORTS_CELL - 1, focused ? STYLE_CHOSEN : STYLE_PLAIN,
	           address[0] ? address : "--");
	if (focused && !canvas->cursor_shown) {
		canvas->cursor_row = row;
		canvas->cursor_column = column;
	}
}

static void put_reading(struct canvas *canvas, int row, int width, const char *label, const struct pm_reading *reading)
{
	char shown[240], at[PM_WHEN_TEXT];
	struct pm_text text;
	if (!reading)
		return;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "%s ", label);
	pm_text_quote(&text, reading->value.text);
	pm_text_add(&text, "  %s, %s, %s", pm_source_word(reading->source),
	            reading->by.text ? reading->by.text : "-", pm_when_write(reading->when, at));
	canvas_put(canvas, row, 2, width, STYLE_PLAIN, shown);
}

/* What is known of the focused port, below the map. */
static void draw_detail(const struct walk_state *state, const struct session *session, struct canvas *canvas,
                        int row, int end)
{
	const struct pm_call *call = &session->result.roster.call[state->row];
	const struct pm_expect *expect = &session->result.pattern.expect[state->row];
	int width = canvas->columns - 4;
	char text[PM_EUI48_TEXT];
	canvas_rule(canvas, row, 1, canvas->columns - 2);
	canvas_print(canvas, row++, 3, width, STYLE_STRONG, " %s, panel %s, %s ", call->port->name.text,
	             call->port->panel.text ? call->port->panel.text : "-",
	             call->port->role.text ? call->port->role.text : "no role given");
	if (state->typing) {
		int used = canvas_print(canvas, row, 2, width, STYLE_STRONG, "%s: ",
		                        state->asking_path ? "log file (a number or a path)"
		                        : call->fact.first ? "read again, not from the screen" : "address");
		field_draw(&state->field, canvas, row++, 2 + used, width - used, true);
		for (size_t i = 0; state->asking_path && i < session->log_count && row < end; i++)
			canvas_print(canvas, row++, 4, width, STYLE_PLAIN, "%zu  %s", i + 1, session->logs[i]);
		if (state->asking_path && !session->log_count && row < end)
			canvas_put(canvas, row++, 4, width, STYLE_DIM, "no .log or .txt file beside the job file");
		return;
	}
	if (row < end)
		put_reading(canvas, row++, width, "first  ", call->fact.first);
	if (row < end && call->fact.second)
		put_reading(canvas, row++, width, "second ", call->fact.second);
	if (row < end && call->valid)
		canvas_print(canvas, row++, 2, width, STYLE_PLAIN, "check character %c (%s)",
		             pm_eui48_check(&call->address), pm_spell(pm_eui48_check(&call->address)));
	if (row < end && expect->group != PM_NO_GROUP && (!call->valid || expect->breaks))
		canvas_print(canvas, row++, 2, width, STYLE_WAIT, "the numbering of the others gives %s",
		             pm_eui48_text(&expect->address, text));
}

void ports_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_roster *roster = &session->result.roster;
	struct frame area = frame_area(canvas->rows, canvas->columns);
	size_t across = ports_across(canvas->columns), rows = (roster->count + across - 1) / across;
	int detail = state->asking_path ? 4 + (int)session->log_count : 6;
	if (detail > area.rows / 2)
		detail = area.rows / 2;
	size_t fits = (size_t)(area.rows - detail) / CELL_ROWS;
	if (fits == 0)
		fits = 1;
	size_t first = frame_first(state->row / across, rows, fits);
	int row = area.row;
	for (size_t r = first; r < rows && r < first + fits; r++, row += CELL_ROWS)
		for (size_t i = r * across; i < roster->count && i < (r + 1) * across; i++)
			draw_cell(state, session, canvas, i, row, 2 + (int)(i % across) * PORTS_CELL);
	if (first + fits < rows)
		canvas_put(canvas, row - 1, canvas->columns - 20, 18, STYLE_STRONG, "more ports below");
	draw_detail(state, session, canvas, row, area.row + area.rows);
}

/* --- preview of a log --- */

static void log_summary(const struct session_log *log, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	pm_text_add(&text, "%zu addresses", log->listing.count);
	if (log->differing)
		pm_text_add(&text, ", %zu differ from what is held", log->differing);
	if (log->strangers)
		pm_text_add(&text, ", %zu of interfaces this gear has not got (left out)", log->strangers);
	if (log->listing.problem_count)
		pm_text_add(&text, ", %zu could not be read", log->listing.problem_count);
	if (log->listing.serial_count == 1)
		pm_text_str(&text, ", serial number");
}

static void log_row(const struct session *session, struct canvas *canvas, size_t i, int row, bool focused)
{
	const struct listing *listing = &session->log->listing;
	int width = canvas->columns - 4;
	if (i >= listing->count) {
		const struct listing_problem *problem = &listing->problem[i - listing->count];
		canvas_print(canvas, row, 2, width, focused ? STYLE_CHOSEN : STYLE_BAD, "! line %u, column %u: %s: %s",
		             (unsigned)problem->line, (unsigned)problem->column, problem->reason, problem->text);
		return;
	}
	const struct listing_reading *reading = &listing->reading[i];
	char text[PM_EUI48_TEXT], held[60] = "not held yet";
	if (reading->port == PM_NO_PORT) {
		memcpy(held, "no such interface on this gear", 31);
	} else {
		const struct pm_call *call = &session->result.roster.call[reading->port];
		bool same = call->valid && pm_eui48_compare(&call->address, &reading->address) == 0;
		if (call->fact.first)
			memcpy(held, same ? "agrees with the job" : "DIFFERS FROM THE JOB", same ? 20 : 21);
	}
	canvas_print(canvas, row, 2, width, focused ? STYLE_CHOSEN : STYLE_PLAIN, "%-10.10s %s  line %-5u %s",
	             reading->interface, pm_eui48_text(&reading->address, text), (unsigned)reading->line, held);
}

void log_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	char summary[240];
	if (!session->log)
		return;
	const struct listing *listing = &session->log->listing;
	canvas_print(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "read from %s", session->log->path);
	log_summary(session->log, summary, sizeof summary);
	canvas_put(canvas, area.row + 1, 2, area.columns - 4,
	           session->log->differing || listing->problem_count ? STYLE_BAD : STYLE_PLAIN, summary);
	if (session->log->seen_before)
		canvas_put(canvas, area.row + 2, 2, area.columns - 4, STYLE_BAD,
		           "this very capture is in the job already: it would count once only");
	size_t count = listing->count + listing->problem_count, room = (size_t)(area.rows - 3);
	size_t first = frame_first(state->row, count, room);
	for (size_t i = first; i < count && i < first + room; i++) {
		int row = area.row + 3 + (int)(i - first);
		log_row(session, canvas, i, row, i == state->row);
		if (i == state->row) {
			canvas->cursor_row = row;
			canvas->cursor_column = 2;
		}
	}
}
