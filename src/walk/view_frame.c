#include "walk/frame.h"

#include <string.h>

#include "portmuster/text.h"

struct frame frame_area(int rows, int columns)
{
	return (struct frame){ 3, rows - 6, columns };
}

size_t frame_first(size_t chosen, size_t count, size_t room)
{
	if (count <= room || chosen < room / 2)
		return 0;
	size_t first = chosen - room / 2;
	return first + room > count ? count - room : first;
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

/* "03-02 09:14Z": the minute by which everything is judged. */
static void clock_text(struct pm_when now, char out[static 16])
{
	char full[PM_WHEN_TEXT];
	struct pm_text text;
	now.offset = 0;
	now.offset_unknown = false;
	pm_when_write(now, full);
	pm_text_fixed(&text, out, 16);
	if (strlen(full) < 16)
		return;
	pm_text_put(&text, full + 5, 5);
	pm_text_char(&text, ' ');
	pm_text_put(&text, full + 11, 5);
	pm_text_char(&text, 'Z');
}

static void title_bar(const struct session *session, struct canvas *canvas)
{
	const struct pm_job *job = &session->job.job;
	const struct pm_result *result = &session->result;
	char right[80], now[16];
	struct pm_text text;
	clock_text(session->now, now);
	size_t stops = pm_findings_count(&result->findings, PM_STOP);
	pm_text_fixed(&text, right, sizeof right);
	pm_text_add(&text, "%zu/%zu confirmed  %zu stop  %s%s ", result->roster.confirmed, result->roster.count,
	            stops, session->read_only ? "READ-ONLY  " : "", now);
	canvas_fill(canvas, 0, 0, 1, canvas->columns, STYLE_BAR, ' ');
	int right_width = canvas_width(right), left_room = canvas->columns - right_width - 2;
	canvas_print(canvas, 0, 1, left_room, STYLE_BAR, "%s%s%s", job->code.text,
	             pm_given(job->name) ? "  " : "", pm_given(job->name) ? job->name.text : "");
	canvas_put(canvas, 0, canvas->columns - right_width, right_width, STYLE_BAR, right);
}

static void phase_strip(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_plan *plan = &session->plan.plan;
	const struct pm_result *result = &session->result;
	int column = 1, share = (canvas->columns - 2) / (int)plan->phase_count;
	for (size_t i = 0; i < plan->phase_count; i++) {
		bool now = i == result->phase;
		const char *mark = result->gates.closed[i] ? "=" : !now ? "." : result->gates.open[i] ? ">" : "#";
		enum canvas_style style = result->gates.closed[i] ? STYLE_GOOD : !now ? STYLE_DIM
		                        : result->gates.open[i] ? STYLE_WAIT : STYLE_BAD;
		if (i == state->phase && state->screen == WALK_STEP)
			style = STYLE_CHOSEN;
		canvas_print(canvas, 1, column, share - 1, style, "%s %s", mark, plan->phases[i].id.text);
		column += share;
	}
	canvas_rule(canvas, 2, 0, canvas->columns);
}

void frame_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct walk_screen_row *row = &walk_screens[state->screen];
	title_bar(session, canvas);
	phase_strip(state, session, canvas);
	canvas_wrap(canvas, canvas->rows - 3, 1, 2, canvas->columns - 2, state->message_style, state->message, 0);
	canvas_fill(canvas, canvas->rows - 1, 0, 1, canvas->columns, STYLE_BAR, ' ');
	bool typing = state->typing || state->noting;
	keytable_bar(typing ? walk_typing_keys : row->keys, typing ? walk_typing_key_count : row->key_count, canvas, canvas->rows - 1, 1, canvas->columns - 2);
}

void walk_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	canvas_clear(canvas);
	canvas->cursor_shown = false;
	if (canvas->rows < FRAME_ROWS || canvas->columns < FRAME_COLUMNS) {
		canvas_print(canvas, 0, 0, canvas->columns, STYLE_BAD, "window too small: %dx%d needed",
		             FRAME_COLUMNS, FRAME_ROWS);
		canvas_put(canvas, 1, 0, canvas->columns, STYLE_PLAIN, "nothing is lost; make it larger");
		return;
	}
	frame_draw(state, session, canvas);
	walk_screens[state->screen].draw(state, session, canvas);
}
