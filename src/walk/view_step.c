/* The step screen: where you are, what can hurt, what to do; below it the answer. */
#include "portmuster/text.h"
#include "walk/answer.h"
#include "walk/frame.h"
#include "walk/step.h"

/* Rows that the answer part would like to have. */
static int wanted(const struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	/* why the phase is shut, or that the answer is from before */
	int words = session->result.gates.open[state->phase] && !walk_outlived(session, state->phase, step) ? 0 : 2;
	words += session->job.job.live && walk_window_line(session, state->phase);
	int items = (int)session->plan.plan.kit_count;
	switch (step->ask) {
	case PM_ASK_KIT: return items + 1 > 9 ? 9 : items + 1;
	case PM_ASK_ANSWER: return (int)step_choices(step) + 3 + words;
	case PM_ASK_WAIT: return 6 + words;
	case PM_ASK_NUMBER:
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: return step_conflict(session, step) ? 8 : 5 + words;
	case PM_ASK_SENT: return 6 + words;
	case PM_ASK_APPOINTMENT:
	case PM_ASK_DECISION: return 5 + words;
	case PM_ASK_TEXT:
	case PM_ASK_ADDRESSES:
	case PM_ASKS: break;
	}
	return 5 + words;
}

static int words_lines(const struct pm_step *step, int width)
{
	int lines = canvas_wrap(NULL, 0, 0, 0, width, STYLE_PLAIN, step->text.text ? step->text.text : "", 0);
	if (pm_given(step->caution))
		lines += canvas_wrap(NULL, 0, 0, 0, width - 2, STYLE_PLAIN, step->caution.text, 0) + 1;
	return lines;
}

/* A low window has the step's title alone, on as many rows as it needs. */
static int heading_rows(const struct walk_state *state, const struct session *session, const struct frame *area)
{
	if (!area->low)
		return 2;
	return canvas_wrap(NULL, 0, 0, 0, area->columns - 2, STYLE_STRONG, walk_step(state, session)->title.text, 0) > 1 ? 2 : 1;
}

/* What the answer does not need is left to the words. */
static int words_room(const struct walk_state *state, const struct session *session, const struct frame *area)
{
	int room = area->rows - heading_rows(state, session, area) - wanted(state, session);
	int least = area->low ? 1 : 4;
	return room < least ? least : room;
}

int step_scroll_most(const struct walk_state *state, const struct session *session)
{
	struct frame area = frame_area(state, state->rows, state->columns);
	int most = words_lines(walk_step(state, session), state->columns - 4) - words_room(state, session, &area);
	return most > 0 ? most : 0;
}

/* Draws them; true when more follow below. */
static bool draw_words(const struct walk_state *state, const struct session *session, struct canvas *canvas,
                       int row, int rows)
{
	const struct pm_step *step = walk_step(state, session);
	int width = canvas->columns - 4, skip = state->scroll, used = 0;
	int most = words_lines(step, width) - rows;
	if (skip > most)
		skip = most > 0 ? most : 0;
	bool more = skip < most;
	if (pm_given(step->caution)) {
		int lines = canvas_wrap(NULL, 0, 0, 0, width - 2, STYLE_CAUTION, step->caution.text, 0);
		int shown = lines - skip < rows ? lines - skip : rows;
		if (shown > 0) {
			canvas_wrap(canvas, row, 4, shown, width - 2, STYLE_CAUTION, step->caution.text, skip);
			for (int i = 0; i < shown; i++)
				canvas_put(canvas, row + i, 2, 1, STYLE_CAUTION, "!");
			used = shown + 1;
		} else {
			used = skip == lines;   /* of the blank row between */
		}
		skip = skip > lines + 1 ? skip - lines - 1 : 0;
	}
	if (used < rows && step->text.text)
		canvas_wrap(canvas, row + used, 2, rows - used, width, STYLE_PLAIN, step->text.text, skip);
	return more;
}

static void draw_heading(const struct walk_state *state, const struct session *session, struct canvas *canvas,
                         const struct frame *area)
{
	const struct pm_step *step = walk_step(state, session);
	const struct pm_phase *phase = walk_phase(state, session);
	int row = area->row;
	if (area->low) {
		/* that it is critical stands beside its progress */
		canvas_wrap(canvas, row, 1, 2, area->columns - 2, STYLE_STRONG, step->title.text, 0);
		return;
	}
	char place[40];
	struct pm_text text;
	pm_text_fixed(&text, place, sizeof place);
	pm_text_add(&text, "step %zu of %zu", state->step + 1, phase->step_count);
	int width = canvas_width(place);
	canvas_put(canvas, row, 1, area->columns - width - 4, STYLE_DIM, phase->title.text);
	canvas_put(canvas, row++, area->columns - width - 1, width, STYLE_DIM, place);
	canvas_put(canvas, row, 1, area->columns - (step->critical ? 12 : 2), STYLE_STRONG, step->title.text);
	if (step->critical)
		canvas_put(canvas, row, area->columns - 9, 8, STYLE_CAUTION, "CRITICAL");
}

void step_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int heading = heading_rows(state, session, &area), room = words_room(state, session, &area);
	draw_heading(state, session, canvas, &area);
	bool more = draw_words(state, session, canvas, area.row + heading, room);
	struct answer_place answer = {
		.state = state, .session = session, .step = walk_step(state, session), .canvas = canvas,
		.row = area.row + heading + room, .end = area.row + area.rows, .columns = area.columns, .more = more, .low = area.low,
	};
	canvas->cursor_row = answer.row + 1;
	canvas->cursor_column = 2;
	answer_draw(&answer);
}
