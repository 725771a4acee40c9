/* What stands above the answer of a step: what was recorded, what it stopped and
 * what to do then, why the phase is shut; and what the plan wants to be seen. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/answer.h"
#include "walk/frame.h"
#include "walk/held.h"
#include "walk/step.h"

static void say_value(const struct session *session, const struct pm_reading *reading, struct pm_text *text)
{
	struct pm_when from, until;
	if (pm_same(reading->of.text, "desk/appointment") && pm_window_read(reading->value.text, &from, &until, NULL))
		pm_zone_say_window(text, session->zone.look.zone, from, until);
	else
		pm_text_quote(text, reading->source == PM_SOURCE_SKIPPED ? "does not apply" : reading->value.text);
}

static void say_note(const struct pm_reading *reading, struct pm_text *text)
{
	if (!pm_given(reading->note))
		return;
	pm_text_str(text, ", ");
	pm_text_quote(text, reading->note.text);
}

static void draw_last(struct answer_place *p, enum pm_progress progress)
{
	char of[200], shown[1200], at[16];
	struct pm_text text;
	if (p->step->ask == PM_ASK_KIT || p->step->ask == PM_ASK_SERIAL || p->step->ask == PM_ASK_CODE)
		return;   /* these show it themselves */
	step_fact(p->step, p->session, 0, of);
	const struct pm_reading *last = pm_fact_last(&p->session->job.job, of);
	if (!last)
		return;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_str(&text, progress == PM_TODO ? "before: " : "recorded: ");
	say_value(p->session, last, &text);
	if (p->step->ask == PM_ASK_NUMBER)
		pm_text_add(&text, " %s", p->step->unit.text);
	say_note(last, &text);
	frame_clock(last->when, at);
	pm_text_add(&text, ", %s, %s", last->by.text ? last->by.text : "-", at);
	enum canvas_style style = progress == PM_TODO ? STYLE_DIM : progress == PM_HALTED ? STYLE_BAD : STYLE_GOOD;
	/* it gives way to the answers where there is no room for both */
	int keep = p->state->noting ? 1 : 0;
	for (size_t i = 0; i < step_choices(p->step); i++)
		keep += answer_choice_lines(p, i);
	if (keep < 2)
		keep = 2;
	if (!p->low || p->end - p->row - keep >= canvas_wrap(NULL, 0, 0, 0, p->columns - 3, style, shown, 0))
		answer_say(p, style, shown, keep);
}

/* A step that stopped the job: what to do, and whom to ring. */
static void draw_stopped(struct answer_place *p)
{
	char shown[700];
	struct pm_text text;
	const char *contact = walk_contact(p->session);
	if (walk_either_way(p->state, p->session)) {
		answer_say(p, STYLE_STRONG, "Do: go on with Tab; the next phase leads the way back.", 2);
		return;
	}
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_str(&text, "Do: ");
	if (pm_given(p->step->stopped) && !p->low) {
		pm_text_visible(&text, p->step->stopped.text, strlen(p->step->stopped.text));
		pm_text_char(&text, ' ');
	}
	pm_text_str(&text, "Ring ");
	pm_text_visible(&text, contact ? contact : "your contact at base", strlen(contact ? contact : "your contact at base"));
	pm_text_str(&text, ". Answer anew when it is put right.");
	answer_say(p, STYLE_STRONG, shown, (int)step_choices(p->step));
}

/* The phase holds for another cause than this step: say which, and the way on. */
static void draw_shut(struct answer_place *p, enum pm_progress progress)
{
	const struct session *session = p->session;
	char shown[700];
	struct pm_text text;
	size_t phase = p->state->phase, at = phase;
	pm_text_fixed(&text, shown, sizeof shown);
	if (!session->result.gates.open[phase]) {
		if (!session->read_only && held_phase(session, phase, &text))
			answer_say(p, STYLE_BAD, shown, 1);
		return;
	}
	const struct pm_gate_line *line = walk_unmet(session, phase, true);
	if (!line || progress != PM_DONE || phase != session->result.phase || p->step->ask == PM_ASK_KIT)
		return;
	bool last = p->state->step + 1 == session->plan.plan.phases[phase].step_count;
	if (!last && held_supplier(session, line, &at) != p->step)
		return;
	pm_text_str(&text, "the phase does not close yet: ");
	held_say(session, line, p->step, &text);
	answer_say(p, STYLE_BAD, shown, 1);
}

static void say_seal(const struct pm_seal *seal, struct pm_text *text)
{
	pm_text_add(text, "seal  %s\n", seal->text);
	for (const char *c = seal->text, *gap = ""; *c; c++)
		if (pm_spell(*c)) {
			pm_text_add(text, "%s%s", gap, pm_spell(*c));
			gap = " ";
		}
}

void answer_seal(struct answer_place *p)
{
	char words[200];
	struct pm_text text;
	pm_text_fixed(&text, words, sizeof words);
	say_seal(&p->session->seal, &text);
	answer_say(p, STYLE_STRONG, words, 1);
}

void answer_shown(const struct session *session, const char *of, struct pm_text *text)
{
	const struct pm_reading *reading = pm_fact_last(&session->job.job, of);
	const struct pm_step *step = strncmp(of, "step/", 5) == 0 ? pm_plan_step(&session->plan.plan, of + 5, NULL) : NULL;
	if (pm_same(of, "seal")) {
		if (session->seal.complete)
			say_seal(&session->seal, text);
		else
			pm_text_str(text, "seal: not every registered fact has a value yet");
		return;
	}
	pm_text_add(text, "%s%s ", step ? step->title.text : frame_fact(of), step ? "" : ":");
	if (reading) {
		say_value(session, reading, text);
		say_note(reading, text);
	} else {
		pm_text_str(text, "not there yet");
	}
}

/* How long the window of a cutover still is. */
static void draw_window_left(struct answer_place *p)
{
	const struct session *session = p->session;
	const struct pm_gate_line *line = session->job.job.live ? walk_window_line(session, p->state->phase) : NULL;
	if (line && line->met)
		answer_say(p, strstr(line->why, "closed") ? STYLE_BAD : STYLE_WAIT, line->why, 2);
}

/* Where the sheet goes out, the menu has what it takes. */
static void draw_sheet_hint(struct answer_place *p)
{
	const struct pm_phase *phase = walk_phase(p->state, p->session);
	bool sends = false;
	for (size_t i = 0; i < phase->step_count; i++)
		sends = sends || phase->steps[i].ask == PM_ASK_SENT;
	if (sends && !p->low && p->session->result.gates.open[p->state->phase])
		answer_say(p, STYLE_DIM, "Esc, x writes the sheet. Esc, e shows the seal, to compare it.",
		           (int)step_choices(p->step));
}

void answer_recorded(struct answer_place *p, enum pm_progress progress)
{
	draw_last(p, progress);
	if (progress == PM_HALTED)
		draw_stopped(p);
	draw_shut(p, progress);
	draw_window_left(p);
	draw_sheet_hint(p);
	enum pm_outlived outlived = walk_outlived(p->session, p->step);
	if (outlived)
		answer_say(p, STYLE_WAIT, outlived == PM_OUTLIVED_WINDOW
		           ? "that was for an earlier appointment: answer it again"
		           : "that was for an earlier sheet: answer it again", 1);
}
