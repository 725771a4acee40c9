#include "walk/frame.h"
#include "walk/live_screen.h"
#include "walk/seal_screen.h"
#include "walk/step.h"

#include <string.h>

#include "portmuster/text.h"
#include "screen/list.h"

#define LOW_ROWS      18   /* a lower window gives the strip's rows to the middle */
#define NARROW_COLUMNS 70

/* In a low window a message takes only what it needs. */
static int message_rows(const struct walk_state *state, int columns, bool low)
{
	int lines = canvas_wrap(NULL, 0, 0, 0, columns - 2, STYLE_PLAIN, state->message, 0), least = low ? 1 : 2;
	return lines < least ? least : lines > 4 ? 4 : lines;
}

bool frame_fits(int rows, int columns)
{
	return rows >= FRAME_ROWS && columns >= FRAME_COLUMNS;
}

struct frame frame_area(const struct walk_state *state, int rows, int columns)
{
	struct frame area = { .low = rows < LOW_ROWS, .narrow = columns < NARROW_COLUMNS, .columns = columns };
	area.row = area.low ? 1 : 3;
	area.rows = rows - area.row - message_rows(state, columns, area.low) - 1;
	return area;
}

size_t frame_first(size_t chosen, size_t count, size_t room)
{
	return list_first(chosen, count, room);
}

const char *progress_mark(enum pm_progress progress, enum canvas_style *style)
{
	switch (progress) {
	case PM_TODO: *style = STYLE_PLAIN; return " ";
	case PM_RUNNING: *style = STYLE_WAIT; return "~";
	case PM_DONE: *style = STYLE_GOOD; return "=";
	case PM_HALTED: *style = STYLE_BAD; return "!";
	case PM_DOES_NOT_APPLY: *style = STYLE_DIM; return "-";
	}
	*style = STYLE_PLAIN;
	return " ";
}

const char *progress_word(enum pm_progress progress)
{
	switch (progress) {
	case PM_TODO: return "to do";
	case PM_RUNNING: return "waiting";
	case PM_DONE: return "answered";
	case PM_HALTED: return "STOPPED";
	case PM_DOES_NOT_APPLY: return "does not apply";
	}
	return "";
}

void frame_rest(struct canvas *canvas, int row)
{
	if (canvas->cursor_shown)
		return;
	canvas->cursor_row = row;
	canvas->cursor_column = 1;
}

void frame_choose(struct canvas *canvas, int row, int column)
{
	frame_rest(canvas, row);
	if (!canvas->cursor_shown)
		canvas->cursor_column = column + 1;
	canvas_put(canvas, row, column, 1, STYLE_STRONG, ">");
}

const char *frame_fact(const char *of)
{
	static const struct { const char *of, *words; } facts[] = {
		{ "desk/sent", "the sheet was sent" }, { "desk/decision", "the centre's decision" },
		{ "desk/appointment", "the appointment" }, { "router/serial", "serial number of the new router" },
		{ "old/serial", "serial number of the old router" }, { "site/unit", "unit code" },
		{ "site/parent", "parent's code" },
	};
	for (size_t i = 0; i < sizeof facts / sizeof *facts; i++)
		if (pm_same(of, facts[i].of))
			return facts[i].words;
	return of;
}

void frame_labels(const struct session *session, struct pm_text *text)
{
	const char *path = session->job.path, *slash = strrchr(path, '/');
	pm_text_visible(text, path, slash ? (size_t)(slash - path) + 1 : 0);
	pm_text_str(text, "labels.md");
}

void frame_clock(struct pm_when when, char out[static 16])
{
	char full[PM_WHEN_TEXT];
	struct pm_text text;
	when.offset = 0;
	when.offset_unknown = false;
	pm_when_write(when, full);
	pm_text_fixed(&text, out, 16);
	if (strlen(full) < 16)
		return;
	pm_text_put(&text, full + 5, 5);
	pm_text_char(&text, ' ');
	pm_text_put(&text, full + 11, 5);
	pm_text_char(&text, 'Z');
}

static void title_bar(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_job *job = &session->job.job;
	const struct pm_result *result = &session->result;
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	char right[80], left[200], now[16];
	struct pm_text text;
	frame_clock(session->now, now);
	size_t stops = pm_findings_count(&result->findings, PM_STOP);
	pm_text_fixed(&text, right, sizeof right);
	pm_text_add(&text, area.narrow ? "%zu/%zu %zu stop " : "%zu/%zu confirmed  %zu stop  ", result->roster.confirmed,
	            result->roster.count, stops);
	/* on a narrow screen the time of day has to do, and gives way to what matters more */
	if (session->read_only)
		pm_text_add(&text, "READ-ONLY%s", area.narrow ? "" : "  ");
	if (!area.narrow)
		pm_text_str(&text, now);
	else if (!session->read_only && strlen(now) > 6)
		pm_text_str(&text, now + 6);
	pm_text_char(&text, ' ');
	pm_text_fixed(&text, left, sizeof left);
	pm_text_visible(&text, job->code.text, strlen(job->code.text));
	bool placed = area.low && state->screen == WALK_STEP;
	if (placed) {
		pm_text_add(&text, " %s %zu/%zu", walk_phase(state, session)->id.text, state->step + 1,
		            walk_phase(state, session)->step_count);
	} else if (pm_given(job->name)) {
		pm_text_str(&text, "  ");
		pm_text_visible(&text, job->name.text, strlen(job->name.text));
	}
	canvas_fill(canvas, 0, 0, 1, canvas->columns, STYLE_BAR, ' ');
	int right_width = canvas_width(right), left_room = canvas->columns - right_width - 2;
	/* a whole code says more than half a name */
	canvas_put(canvas, 0, 1, left_room, STYLE_BAR, canvas_width(left) > left_room && !placed ? job->code.text : left);
	canvas_put(canvas, 0, canvas->columns - right_width, right_width, STYLE_BAR, right);
}

static const char *phase_mark(const struct session *session, size_t i, enum canvas_style *style)
{
	const struct pm_result *result = &session->result;
	bool closed = result->gates.closed[i], now = i == result->phase, open = result->gates.open[i];
	*style = closed ? STYLE_GOOD : !now ? STYLE_DIM : open ? STYLE_WAIT : STYLE_BAD;
	return closed ? "=" : !now ? "." : open ? ">" : "#";
}

static void phase_strip(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_plan *plan = &session->plan.plan;
	int column = 1, share = (canvas->columns - 2) / (int)plan->phase_count, widest = 0;
	enum canvas_style style;
	for (size_t i = 0; i < plan->phase_count; i++) {
		int width = canvas_width(plan->phases[i].id.text) + 2;
		widest = width > widest ? width : widest;
	}
	canvas_rule(canvas, 2, 0, canvas->columns);
	if (share < widest + 1) {
		/* no room for all: the one that is shown */
		const char *mark = phase_mark(session, state->phase, &style);
		canvas_print(canvas, 1, 1, canvas->columns - 2, style, "%s %s, phase %zu of %zu", mark,
		             plan->phases[state->phase].id.text, state->phase + 1, plan->phase_count);
		return;
	}
	for (size_t i = 0; i < plan->phase_count; i++) {
		const char *mark = phase_mark(session, i, &style);
		if (i == state->phase && state->screen == WALK_STEP)
			style = STYLE_CHOSEN;
		canvas_print(canvas, 1, column, share - 1, style, "%s %s", mark, plan->phases[i].id.text);
		column += share;
	}
}

void frame_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct walk_screen_row *row = &walk_screens[state->screen];
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int message = area.row + area.rows;
	title_bar(state, session, canvas);
	if (!area.low)
		phase_strip(state, session, canvas);
	canvas_wrap(canvas, message, 1, canvas->rows - 1 - message, canvas->columns - 2, state->message_style, state->message, 0);
	canvas_fill(canvas, canvas->rows - 1, 0, 1, canvas->columns, STYLE_BAR, ' ');
	int edge = area.narrow ? 0 : 1;
	bool typing = (state->typing || state->noting) && !walk_is_over(state->screen);
	bool field = state->screen == WALK_STEP && step_has_field(walk_step(state, session));
	const struct keytable_row *keys = typing ? walk_typing_keys : field ? walk_field_keys : row->keys;
	size_t count = typing ? walk_typing_key_count : field ? walk_field_key_count : row->key_count;
	if (state->screen == WALK_LIVE)
		live_keys_now(state, session, &keys, &count);
	if (field && !typing && state->field.length) {
		keys = walk_filled_keys;
		count = walk_filled_key_count;
	}
	if (state->screen == WALK_STEP && state->choice >= 0 && !state->noting) {
		keys = walk_chosen_keys;
		count = walk_chosen_key_count;
	}
	if (state->screen == WALK_SEAL && state->page == SEAL_CODE) {
		keys = walk_code_keys;
		count = walk_code_key_count;
	}
	keytable_bar(keys, count, canvas, canvas->rows - 1, edge, canvas->columns - 2 * edge);
}

void walk_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	canvas_clear(canvas);
	canvas->cursor_shown = false;
	if (!frame_fits(canvas->rows, canvas->columns)) {
		canvas_print(canvas, 0, 0, canvas->columns, STYLE_BAD, "window too small: %dx%d needed",
		             FRAME_COLUMNS, FRAME_ROWS);
		canvas_put(canvas, 1, 0, canvas->columns, STYLE_PLAIN, "nothing is lost; make it larger");
		canvas_put(canvas, 2, 0, canvas->columns, STYLE_PLAIN, "no key answers anything here");
		canvas_put(canvas, 3, 0, canvas->columns, STYLE_PLAIN,
		           state->screen == WALK_LEAVE ? "leave? y leaves, n stays" : "Ctrl-C asks whether to leave");
		return;
	}
	frame_draw(state, session, canvas);
	walk_screens[state->screen].draw(state, session, canvas);
}
