/* Hello, menu, help and leave, as drawn. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/lists.h"

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
	pm_text_quote(&text, step ? step->title.text : last->of.text);
	if (step) {
		pm_text_str(&text, " answered ");
		pm_text_quote(&text, last->value.text);
	}
	pm_text_add(&text, " by %s, %s", last->by.text ? last->by.text : "-", pm_when_write(last->when, at));
	if (last->when.known && last->when.second <= session->now.second)
		pm_text_add(&text, " (%s ago)", pm_when_span(session->now.second - last->when.second, span));
	row = put(canvas, row, STYLE_PLAIN, shown);
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_add(&text, "Next: %s, step %zu: ", walk_phase(state, session)->id.text, state->step + 1);
	pm_text_quote(&text, walk_step(state, session)->title.text);
	return put(canvas, row, STYLE_STRONG, shown) + 1;
}

void hello_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	const struct pm_job *job = &session->job.job;
	struct frame area = frame_area(canvas->rows, canvas->columns);
	char shown[400];
	struct pm_text text;
	int row = area.row;
	canvas_print(canvas, row++, 2, area.columns - 4, STYLE_STRONG, "%s", session->plan.plan.title.text);
	canvas_print(canvas, row++, 2, area.columns - 4, STYLE_PLAIN, "gear: %s%s", session->gear.gear.title.text
	             ? session->gear.gear.title.text : session->gear.gear.id.text, job->practice ? "; practice site" : "");
	row = resume(state, session, canvas, row + 1);
	if (session->read_only) {
		pm_text_fixed(&text, shown, sizeof shown);
		pm_text_add(&text, "READ-ONLY: %s", session->held_by);
		row = put(canvas, row, STYLE_BAD, shown) + 1;
	}
	if (!session->has_map)
		row = put(canvas, row, STYLE_WAIT, "No registry index: makers' prefixes will not be checked.") + 1;
	row = put(canvas, row, STYLE_PLAIN, "Who is at the rack? Your name or role signs every entry. "
	          "No password is ever asked for.");
	int used = canvas_put(canvas, row, 2, 20, STYLE_STRONG, "name: ");
	field_draw(&state->field, canvas, row, 2 + used, 40, true);
}

void menu_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	(void)session;
	canvas_put(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "Where to?");
	for (size_t i = 0; i < menu_row_count && (int)i < area.rows - 2; i++) {
		int row = area.row + 2 + (int)i;
		canvas_print(canvas, row, 2, area.columns - 4, i == state->row ? STYLE_CHOSEN : STYLE_PLAIN, " %c  %s ",
		             menu_rows[i].letter, menu_rows[i].label);
		if (i == state->row) {
			canvas->cursor_row = row;
			canvas->cursor_column = 2;
		}
	}
}

void help_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	const struct walk_screen_row *under = &walk_screens[state->under];
	static const char *const marks[] = {
		"phases   = closed   > open   # shut   . later",
		"ports    = confirmed   - held   . open   ! conflict   x breaks row   ? malformed",
		"steps    [=] answered   [~] waiting   [!] stopped   [-] does not apply",
		"Every accepted entry is saved at once. Esc never loses anything.",
	};
	(void)session;
	canvas_print(canvas, area.row, 2, area.columns - 4, STYLE_STRONG, "Keys on this screen: %s", under->title);
	int lines = keytable_help(under->keys, under->key_count, canvas, area.row + 1, 3, area.rows - 6, area.columns - 6, 0);
	int row = area.row + 2 + (lines < area.rows - 6 ? lines : area.rows - 6);
	for (size_t i = 0; i < sizeof marks / sizeof *marks && row < area.row + area.rows; i++)
		canvas_put(canvas, row++, 3, area.columns - 4, STYLE_PLAIN, marks[i]);
}

void leave_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(canvas->rows, canvas->columns);
	int row = area.row + 1;
	row = put(canvas, row, STYLE_STRONG, "Leave the wizard?");
	row = put(canvas, row, STYLE_PLAIN, "Everything accepted is saved. You come back to the same place with the same command.");
	const struct pm_step *step = walk_step(state, session);
	int64_t left = 0;
	if (walk_progress(session, step, &left, NULL) == PM_RUNNING)
		row = put(canvas, row, STYLE_WAIT, "The waiting time goes on while you are away.");
	if (state->field.length)
		row = put(canvas, row, STYLE_WAIT, "What stands in the field was not accepted yet and would be lost: "
		          "press n and Enter to keep it.");
	canvas->cursor_row = row;
	canvas->cursor_column = 2;
}
