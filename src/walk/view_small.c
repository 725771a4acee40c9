/* Hello, menu, help and leave, as drawn. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/lists.h"
#include "walk/prose.h"

static int put(struct canvas *canvas, int row, enum canvas_style style, const char *text)
{
	return row + canvas_wrap(canvas, row, 2, 4, canvas->columns - 4, style, text, 0);
}

/* Where the job was left, and the last thing that was completed: after an
 * interruption both are needed before going on. */
static int resume(const struct walk_state *state, const struct session *session, struct canvas *canvas, int row)
{
	const struct pm_job *job = &session->job.job;
	char shown[500], at[PM_WHEN_TEXT], span[PM_WHEN_TEXT];
	struct pm_text text;
	if (job->reading_count == 0) {
		row = put(canvas, row, STYLE_PLAIN, "This job has no entry yet. It begins with the first step of the first phase.");
		return row + 1;
	}
	const struct pm_reading *last = &job->readings[job->reading_count - 1];
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_str(&text, "Last entry: ");
	const struct pm_step *step = last->of.text && strncmp(last->of.text, "step/", 5) == 0
	                           ? pm_plan_step(&session->plan.plan, last->of.text + 5, NULL) : NULL;
	pm_text_quote(&text, step ? step->title.text : frame_fact(last->of.text));
	if (step) {
		pm_text_str(&text, " answered ");
		pm_text_quote(&text, last->value.text);
	}
	pm_text_add(&text, " by %s, %s", last->by.text ? last->by.text : "-", pm_when_write(last->when, at));
	if (last->when.known && last->when.second <= session->now.second)
		pm_text_add(&text, " (%s ago)", pm_when_span(session->now.second - last->when.second, span));
	row = put(canvas, row, STYLE_PLAIN, shown);
	if (walk_finished(session))
		return put(canvas, row, STYLE_GOOD, "This job is done: every phase is closed.") + 1;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "Next: %s, step %zu: ", walk_phase(state, session)->id.text, state->step + 1);
	pm_text_quote(&text, walk_step(state, session)->title.text);
	return put(canvas, row, STYLE_STRONG, shown) + 1;
}

void hello_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_job *job = &session->job.job;
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	static const char question[] = "Who is at the rack? Your name or role signs every entry. No password is ever asked for.";
	char shown[700];
	struct pm_text text;
	int row = area.row;
	if (!area.low) {
		canvas_put(canvas, row++, 2, area.columns - 4, STYLE_STRONG, session->plan.plan.title.text);
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_add(&text, "gear: %s%s", session->gear.gear.title.text ? session->gear.gear.title.text
		            : session->gear.gear.id.text, job->practice ? "; practice site" : "");
		row = put(canvas, row, STYLE_PLAIN, shown) + 1;
	}
	/* what must be known comes first: a low window may have no room for the rest */
	if (session->read_only) {
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_add(&text, "READ-ONLY: %s", session->held_by);
		row = put(canvas, row, STYLE_BAD, shown) + !area.low;
	}
	row = resume(state, session, canvas, row);
	if (job->practice && !area.low) {
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_str(&text, "Practice: what the labels say stands in ");
		frame_labels(session, &text);
		row = put(canvas, row, STYLE_PLAIN, shown) + 1;
	}
	if (!session->has_map && !area.low)
		row = put(canvas, row, STYLE_WAIT, "No registry index: makers' prefixes will not be checked.") + 1;
	int last = area.row + area.rows - 1;
	const char *asked = area.low ? "Who is at the rack?" : question;
	int lines = canvas_wrap(NULL, 0, 0, 0, area.columns - 4, STYLE_PLAIN, asked, 0);
	if (row + lines > last)
		row = last - lines;
	canvas_fill(canvas, row, 0, last - row + 1, area.columns, STYLE_PLAIN, ' ');
	row = put(canvas, row, STYLE_PLAIN, asked);
	int used = canvas_put(canvas, row, 2, 20, STYLE_STRONG, "name: ");
	field_draw(&state->field, canvas, row, 2 + used, area.columns - used - 4 < 40 ? area.columns - used - 4 : 40, true);
}

void menu_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int heading = area.low ? 0 : 2;
	size_t room = (size_t)(area.rows - heading), first = frame_first(state->over, menu_row_count, room);
	(void)session;
	if (heading)
		canvas_put(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "Where to?");
	for (size_t i = first; i < menu_row_count && i < first + room; i++) {
		int row = area.row + heading + (int)(i - first);
		canvas_print(canvas, row, 2, area.columns - 4, i == state->over ? STYLE_CHOSEN : STYLE_PLAIN, " %c  %s ",
		             menu_rows[i].letter, menu_rows[i].label);
		if (i == state->over)
			frame_choose(canvas, row, 1);
	}
}

static void help_keys_of(struct run *h, const struct keytable_row *keys, size_t count)
{
	int row = run_row(h);
	h->line += keytable_help(keys, count, run_canvas(h), row, h->column, h->row + h->rows - row, h->width, run_hidden(h));
}

/* The help as one run of lines, of which a part shows. */
static void help_all(struct run *h, const struct walk_state *state)
{
	static const char *const marks[] = {
		"phases  = closed  > open  # shut  . later",
		"ports   = confirmed  - held  . open  / skipped",
		"        ! conflict  x breaks the numbering  ? malformed",
		"steps   [=] answered  [~] waiting  [!] stopped  [-] does not apply",
		"Every accepted entry is saved at once. Esc never loses what was accepted.",
	};
	const struct walk_screen_row *under = &walk_screens[state->under];
	if (state->typing || state->noting)
		help_keys_of(h, walk_typing_keys, walk_typing_key_count);
	help_keys_of(h, under->keys, under->key_count);
	if (state->under == WALK_LIVE) {
		run_text(h, 0, STYLE_PLAIN, "When all is read:");
		help_keys_of(h, walk_heard_keys, walk_heard_key_count);
	}
	h->line++;
	if (state->under == WALK_LIVE)
		run_text(h, 0, STYLE_PLAIN, "console ~ read in the pass that runs");
	for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
		run_text(h, 0, STYLE_PLAIN, marks[i]);
}

size_t help_lines(const struct walk_state *state)
{
	struct frame area = frame_area(state, state->rows, state->columns);
	struct run help = { .column = 3, .width = state->columns - 4 };
	help_all(&help, state);
	int most = help.line - (area.rows - 1) + 1;
	return most < 1 ? 1 : (size_t)most;
}

void help_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	struct run help = { .canvas = canvas, .row = area.row + 1, .column = 3, .rows = area.rows - 1,
	                    .width = area.columns - 4, .skip = (int)state->over };
	(void)session;
	int used = canvas_print(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "Keys on this screen: %s",
	                        walk_screens[state->under].title);
	help_all(&help, state);
	if (help.line - help.skip > help.rows)
		canvas_put(canvas, area.row, 4 + used, area.columns - 5 - used, STYLE_STRONG, "more: Down");
	canvas->cursor_row = area.row;
	canvas->cursor_column = 2;
}

void leave_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int row = area.row + !area.low;
	row = put(canvas, row, STYLE_STRONG, "Leave the wizard?");
	row = put(canvas, row, STYLE_PLAIN, "Everything accepted is saved. You come back to the same place with the same command.");
	int64_t left = 0;
	if (walk_progress(session, walk_step(state, session), &left, NULL) == PM_RUNNING)
		row = put(canvas, row, STYLE_WAIT, "The waiting time goes on while you are away.");
	/* the name is no entry: it is asked for each time */
	if (state->field.length && state->under != WALK_HELLO)
		row = put(canvas, row, STYLE_WAIT, "What stands in the field was not accepted yet and would be lost: "
		          "n goes back to it.");
	canvas->cursor_row = area.row + !area.low;
	canvas->cursor_column = 2;
}
