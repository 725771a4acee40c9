/* The step screen: where you are, what can hurt, what to do; below it the answer. */
#include "portmuster/text.h"
#include "walk/answer.h"
#include "walk/frame.h"
#include "walk/prose.h"
#include "walk/step.h"

/* Rows that the answer part would like to have. */
static int wanted(const struct walk_state *state, const struct session *session)
{
	const struct pm_step *step = walk_step(state, session);
	/* why the phase is shut, or that the answer is from before */
	int words = session->result.gates.open[state->phase] && !walk_outlived(session, step) ? 0 : 2;
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

/* The caution, with its marks, below it what to do, and the facts to do it with. */
static void put_words(struct run *run, const struct session *session, const struct pm_step *step)
{
	char shown[1200];
	struct pm_text text;
	if (pm_given(step->caution)) {
		struct run caution = *run;
		caution.column += 2;
		caution.width -= 2;
		run_prose(&caution, STYLE_CAUTION, step->caution.text);
		for (; run->line < caution.line; run->line++)
			if (run_canvas(run) && !run_hidden(run))
				canvas_put(run->canvas, run_row(run), run->column, 1, STYLE_CAUTION, "!");
		run->line++;
	}
	if (step->text.text)
		run_prose(run, STYLE_PLAIN, step->text.text);
	run->line += step->show.count > 0;
	for (size_t i = 0; i < step->show.count; i++) {
		pm_text_fixed(&text, shown, sizeof shown);
		answer_shown(session, step->show.item[i].text, &text);
		run_text(run, 0, STYLE_STRONG, shown);
	}
}

static int words_lines(const struct session *session, const struct pm_step *step, int width)
{
	struct run run = { .width = width };
	put_words(&run, session, step);
	return run.line;
}

/* A low window has the step's title alone, on as many rows as it needs. */
static int heading_rows(const struct walk_state *state, const struct session *session, const struct frame *area)
{
	if (!area->low)
		return 2;
	return canvas_wrap(NULL, 0, 0, 0, area->columns - 2, STYLE_STRONG, walk_step(state, session)->title.text, 0) > 1 ? 2 : 1;
}

static struct answer_place answer_part(const struct walk_state *state, const struct session *session,
                                       const struct frame *area, int row)
{
	return (struct answer_place){
		.state = state, .session = session, .step = walk_step(state, session), .row = row,
		.end = area->row + area->rows, .columns = area->columns, .low = area->low,
	};
}

/* Rows that the answer part takes as it stands. */
static int needed(const struct walk_state *state, const struct session *session, const struct frame *area)
{
	struct answer_place place = answer_part(state, session, area, 0);
	place.end = 1000;
	answer_draw(&place);
	return place.row;
}

/* What the answer does not take is left to the words. Where there is room for all,
 * the answer keeps its place while lines in it come and go. */
struct step_layout step_layout(const struct walk_state *state, const struct session *session, int rows, int columns)
{
	struct step_layout l = { .area = frame_area(state, rows, columns) };
	l.heading = heading_rows(state, session, &l.area);
	int lines = l.lines = words_lines(session, walk_step(state, session), columns - 4);
	int both = l.area.rows - l.heading, need = needed(state, session, &l.area), least = l.area.low ? 1 : 4;
	int calm = both - wanted(state, session);
	l.room = both - need;
	if (l.room > calm && calm >= lines)
		l.room = calm;
	if (l.room < least)
		l.room = least;
	l.alone = l.area.low && lines > l.room && !step_read(state);
	if (l.alone)
		l.room = both - 1;
	l.most = lines > l.room ? lines - l.room : 0;
	return l;
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
	struct step_layout l = step_layout(state, session, canvas->rows, canvas->columns);
	struct run words = { .canvas = canvas, .row = l.area.row + l.heading, .column = 2, .rows = l.room,
	                     .width = canvas->columns - 4, .skip = state->scroll < l.most ? state->scroll : l.most };
	struct answer_place answer = answer_part(state, session, &l.area, l.area.row + l.heading + l.room);
	draw_heading(state, session, canvas, &l.area);
	put_words(&words, session, walk_step(state, session));
	answer.canvas = canvas;
	answer.more = l.most - words.skip ? l.most - words.skip : l.alone ? -1 : 0;
	canvas->cursor_row = answer.row + !l.alone;
	canvas->cursor_column = 2;
	if (l.alone)
		answer_rule(&answer);
	else
		answer_draw(&answer);
}
