/* The roster as a port map, and the preview of a console log. */
#include <string.h>

#include "portmuster/differ.h"
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
		return (struct look){ "x", "breaks", STYLE_BAD };
	switch (call->fact.standing) {
	case PM_OPEN: return (struct look){ ".", "open", STYLE_DIM };
	case PM_HELD: return (struct look){ "-", "held", STYLE_WAIT };
	case PM_CONFIRMED: return (struct look){ "=", "confirmed", STYLE_GOOD };
	case PM_SKIPPED: return (struct look){ "/", "skipped", STYLE_DIM };
	case PM_CONFLICT: break;
	}
	return (struct look){ "!", "conflict", STYLE_BAD };
}

/* The first reading is not shown while a second one is typed, and an address that a
 * person read not even before: it must not be copied. */
static bool hidden(const struct walk_state *state, const struct session *session, size_t i)
{
	const struct pm_call *call = &session->result.roster.call[i];
	return call->fact.first && ((state->typing && !state->asking_path && state->row == i) ||
	       (call->valid && call->fact.standing == PM_HELD && call->fact.first->source != PM_SOURCE_CONSOLE));
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
	struct pm_text text;
	pm_text_fixed(&text, address, sizeof address);
	if (hidden(state, session, i))
		pm_text_str(&text, "(hidden)");
	else if (call->fact.standing == PM_CONFLICT)
		pm_text_add(&text, "%zu readings", call->fact.readings);
	else if (call->valid)
		pm_eui48_text(&call->address, address);
	else if (call->fact.first)
		pm_text_str(&text, "unreadable");
	canvas_put(canvas, row + 1, column, PORTS_CELL - 1, focused ? STYLE_CHOSEN : STYLE_PLAIN,
	           address[0] ? address : "--");
	if (focused)
		frame_choose(canvas, row, column - 1);
}

static void put_reading(struct canvas *canvas, int row, int width, const char *label, const struct pm_reading *reading,
                        bool hide)
{
	char shown[240], at[16];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "%s ", label);
	if (hide)
		pm_text_str(&text, "(hidden)");
	else
		pm_text_quote(&text, reading->value.text);
	pm_text_add(&text, "  %s", pm_source_word(reading->source));
	if (width >= 60) {
		frame_clock(reading->when, at);
		pm_text_add(&text, ", %s, %s", reading->by.text ? reading->by.text : "-", at);
	}
	canvas_put(canvas, row, 2, width, STYLE_PLAIN, shown);
}

/* The readings behind the two that are shown, which is where a conflict is settled:
 * the same ones of one source together. */
static int put_more(const struct session *session, struct canvas *canvas, int row, int rows, int width,
                     const struct pm_fact *fact)
{
	char shown[400];
	struct pm_text text;
	size_t at = 0, more = 0, count = 0;
	const struct pm_reading *next, *held = NULL;
	pm_text_fixed(&text, shown, sizeof shown);
	for (;;) {
		next = pm_fact_next(&session->job.job, fact->first->of.text, &at);
		if (next && (next == fact->first || next == fact->second || next->source == PM_SOURCE_SKIPPED))
			continue;
		bool same = next && held && next->source == held->source &&
		            pm_fact_same(next->value.text, held->value.text, PM_AS_ADDRESS);
		if (held && !same) {
			pm_text_str(&text, more == count ? ": " : ", ");
			pm_text_quote(&text, held->value.text);
			pm_text_add(&text, " %s", pm_source_word(held->source));
			if (count > 1)
				pm_text_add(&text, " %zu times", count);
			count = 0;
		}
		if (!next)
			break;
		held = next;
		count++;
		more++;
	}
	char whole[440];
	pm_text_fixed(&text, whole, sizeof whole);
	pm_text_add(&text, "+%zu more%s", more, shown);
	int used = canvas_wrap(canvas, row, 2, rows, width, STYLE_PLAIN, whole, 0);
	return used < rows ? used : rows;
}

static void put_favoured(const struct session *session, struct canvas *canvas, int row, int rows, int width, size_t i)
{
	const struct pm_expect *expect = &session->result.pattern.expect[i];
	struct pm_differ differ;
	char shown[200];
	struct pm_text text;
	pm_differ_find(&session->job.job, session->result.roster.call[i].fact.first->of.text, PM_AS_ADDRESS,
	               expect->group == PM_NO_GROUP ? NULL : &expect->address, &differ);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_differ_say_favoured(&differ, &text);
	pm_text_str(&text, text.length ? ": read it again all the same" : "nothing here tells which is right: read it again");
	canvas_wrap(canvas, row, 2, rows, width, STYLE_WAIT, shown, 0);
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
		                        : call->fact.first ? "read again at the console" : "address");
		if (width - used < 20) {
			row++;
			used = 0;
		}
		field_draw(&state->field, canvas, row++, 2 + used, width - used, true);
		for (size_t i = 0; state->asking_path && i < session->log_count && row < end; i++)
			canvas_print(canvas, row++, 4, width, STYLE_PLAIN, "%zu  %s", i + 1, session->logs[i]);
		if (state->asking_path && !session->log_count && row < end)
			canvas_put(canvas, row++, 4, width, STYLE_DIM, "no .log or .txt file beside the job file");
		return;
	}
	if (row < end && call->fact.first)
		put_reading(canvas, row++, width, "first  ", call->fact.first, hidden(state, session, state->row));
	else if (row < end && call->fact.standing == PM_OPEN)
		row += canvas_wrap(canvas, row, 2, end - row, width, STYLE_PLAIN,
		                   "No reading yet: c reads the console itself, r a saved log; console text may be pasted; Enter types.", 0);
	if (row < end && call->fact.second)
		put_reading(canvas, row++, width, "second ", call->fact.second, false);
	if (row < end && call->fact.readings > 2 && call->fact.second)
		row += put_more(session, canvas, row, end - row > 2 ? 2 : 1, width, &call->fact);
	if (row < end && call->valid && !hidden(state, session, state->row) && call->fact.standing != PM_CONFLICT)
		canvas_print(canvas, row++, 2, width, STYLE_PLAIN, "check character %c (%s)",
		             pm_eui48_check(&call->address), pm_spell(pm_eui48_check(&call->address)));
	if (row < end && call->fact.standing == PM_CONFLICT)
		put_favoured(session, canvas, row, end - row, width, state->row);
	else if (row < end && expect->group != PM_NO_GROUP && (!call->valid || expect->breaks))
		canvas_print(canvas, row++, 2, width, STYLE_WAIT, "the numbering of the others gives %s",
		             pm_eui48_text(&expect->address, text));
}

void ports_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_roster *roster = &session->result.roster;
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
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
	else if (first)
		canvas_put(canvas, row - 1, canvas->columns - 20, 18, STYLE_STRONG, "more ports above");
	draw_detail(state, session, canvas, row, area.row + area.rows);
}

/* --- preview of a log --- */

static void log_summary(const struct session *session, char *out, size_t room)
{
	const struct session_log *log = session->log;
	const struct listing *listing = &log->listing;
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	if (log->kind != SOURCE_CONSOLE)
		pm_text_add(&text, "read as %s: ", source_title(log->kind));
	pm_text_add(&text, "%zu address%s", listing->count, listing->count == 1 ? "" : "es");
	if (log->differing)
		pm_text_add(&text, ", %zu DIFFERING from the job", log->differing);
	if (log->strangers)
		pm_text_add(&text, ", %zu of no interface of this gear (left out)", log->strangers);
	if (listing->problem_count)
		pm_text_add(&text, ", %zu not readable", listing->problem_count);
	if (log->serials)
		pm_text_add(&text, "; %zu DIFFERENT serial numbers, none is taken", log->serials);
	if (log->serial) {
		struct pm_fact held = pm_fact_find(&session->job.job, "router/serial", PM_AS_TEXT);
		pm_text_str(&text, "; serial number ");
		pm_text_visible(&text, log->serial->text, strlen(log->serial->text));
		if (held.first && !pm_fact_same(held.first->value.text, log->serial->text, PM_AS_TEXT))
			pm_text_str(&text, ", DIFFERING from the job");
	}
}

/* What taking a reading would mean, in words for a wide screen and a narrow one. */
static const char *log_word(const struct session *session, const struct listing_reading *reading, bool narrow)
{
	if (reading->port == PM_NO_PORT)
		return narrow ? "left out" : "not on this gear: left out";
	const struct pm_call *call = &session->result.roster.call[reading->port];
	if (!call->fact.first)
		return narrow ? "new" : "not held yet";
	if (call->valid && pm_eui48_compare(&call->address, &reading->address) == 0)
		return narrow ? "agrees" : "agrees with the job";
	return narrow ? "DIFFERS" : "DIFFERS FROM THE JOB";
}

static void log_row(const struct session *session, struct canvas *canvas, size_t i, int row, bool focused, bool narrow)
{
	const struct listing *listing = &session->log->listing;
	int width = canvas->columns - 4;
	if (i >= listing->count) {
		const struct listing_problem *problem = &listing->problem[i - listing->count];
		canvas_print(canvas, row, 2, width, focused ? STYLE_CHOSEN : STYLE_BAD, "! line %u, column %u: %s",
		             (unsigned)problem->line, (unsigned)problem->column, problem->text);
		return;
	}
	const struct listing_reading *reading = &listing->reading[i];
	char text[PM_EUI48_TEXT], line[24] = "";
	struct pm_text into;
	pm_text_fixed(&into, line, sizeof line);
	if (!narrow)
		pm_text_add(&into, " line %u", (unsigned)reading->line);
	int cells = narrow ? 7 : 10, used = canvas_put(canvas, row, 2, cells, focused ? STYLE_CHOSEN : STYLE_PLAIN, reading->interface);
	canvas_fill(canvas, row, 2 + used, 1, cells + 1 - used, focused ? STYLE_CHOSEN : STYLE_PLAIN, ' ');
	canvas_print(canvas, row, 3 + cells, width - cells - 1, focused ? STYLE_CHOSEN : STYLE_PLAIN, "%s%-*s %s",
	             pm_eui48_text(&reading->address, text), narrow ? 0 : 12, line, log_word(session, reading, narrow));
}

/* Why a row could not be read, below the rows. */
static void log_problem(const struct listing_problem *problem, struct canvas *canvas, int row, int rows)
{
	char shown[400];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "line %u, column %u: %s: ", (unsigned)problem->line, (unsigned)problem->column, problem->reason);
	pm_text_str(&text, problem->text);
	canvas_wrap(canvas, row, 2, rows, canvas->columns - 4, STYLE_BAD, shown, 0);
}

void log_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	char summary[300];
	if (!session->log)
		return;
	const struct listing *listing = &session->log->listing;
	int row = area.row, width = area.columns - 4, below = listing->problem_count ? 2 : 0;
	if (!area.low)
		canvas_print(canvas, row++, 2, width, STYLE_STRONG, "read from %s", session->log->path);
	log_summary(session, summary, sizeof summary);
	int most = area.low ? 2 : 3, lines = canvas_wrap(canvas, row, 2, most, width,
		session->log->differing || listing->problem_count ? STYLE_BAD : STYLE_PLAIN, summary, 0);
	row += lines < most ? lines : most;
	if (session->log->seen_before)
		row += canvas_wrap(canvas, row, 2, 2, width, STYLE_BAD, "this very capture is in the job already: it counts once", 0);
	row += !area.low;
	int end = area.row + area.rows - below;
	size_t count = listing->count + listing->problem_count, room = end > row ? (size_t)(end - row) : 1;
	size_t first = frame_first(state->row, count, room);
	canvas->cursor_row = area.row;
	canvas->cursor_column = 2;
	for (size_t i = first; i < count && i < first + room; i++, row++) {
		log_row(session, canvas, i, row, i == state->row, area.narrow);
		if (i == state->row)
			frame_choose(canvas, row, 1);
	}
	if (state->row >= listing->count && state->row < count)
		log_problem(&listing->problem[state->row - listing->count], canvas, end, below);
}
