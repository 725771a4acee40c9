/* The lettered answers and the kit list of the step screen. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/answer.h"
#include "walk/frame.h"
#include "walk/step.h"

static const char *choice_text(const struct answer_place *p, size_t choice, bool *halts)
{
	const char *text = step_choice_text(p->step, choice, halts);
	enum pm_progress progress = walk_progress(p->session, p->step, NULL, NULL);
	/* a second beginning is for a router that was switched on a second time */
	if (p->step->ask == PM_ASK_WAIT && !step_is_skip(p->step, choice) && progress != PM_TODO)
		return "the wait begins again, from now";
	return text;
}

static const char *note_label(const struct answer_place *p)
{
	if (step_is_skip(p->step, (size_t)p->state->choice))
		return "why it does not apply";
	if (p->step->ask == PM_ASK_DECISION)
		return p->state->choice == 0 ? "the centre's reference" : "the centre's reason";
	return step_note_needed(p->step, p->state->choice) ? p->step->note.text : "note";
}

/* The words of an answer as they show. What stops the job says so, in front
 * where there is no room behind. */
static bool choice_words(const struct answer_place *p, size_t i, struct pm_text *into)
{
	static const char over[] = "   (the job stops here)", back[] = "   (then the way back)";
	const char *stops = walk_either_way(p->state, p->session) ? back : over;
	bool halts;
	const char *text = choice_text(p, i, &halts);
	bool behind = halts && canvas_width(text) + canvas_width(stops) <= p->columns - 9;
	pm_text_add(into, "%s%s%s", halts && !behind ? "STOPS: " : "", text, behind ? stops : "");
	return halts;
}

int answer_choice_lines(const struct answer_place *p, size_t i)
{
	char words[300];
	struct pm_text text;
	pm_text_fixed(&text, words, sizeof words);
	choice_words(p, i, &text);
	return canvas_wrap(NULL, 0, 0, 0, p->columns - 9, STYLE_PLAIN, words, 0);
}

static bool recorded(const struct answer_place *p, size_t i)
{
	char of[200];
	bool halts;
	if (p->step->ask != PM_ASK_ANSWER && p->step->ask != PM_ASK_DECISION)
		return false;
	step_fact(p->step, p->session, 0, of);
	const struct pm_reading *last = pm_fact_last(&p->session->job.job, of);
	if (!last || step_is_skip(p->step, i))
		return last && last->source == PM_SOURCE_SKIPPED;
	return last->source != PM_SOURCE_SKIPPED && pm_same(last->value.text, step_choice_text(p->step, i, &halts));
}

/* One lettered answer, on as many rows as it needs and may have. */
static void draw_choice(struct answer_place *p, size_t i, int most)
{
	bool chosen = p->state->choice == (int)i;
	char words[300];
	struct pm_text text;
	pm_text_fixed(&text, words, sizeof words);
	bool halts = choice_words(p, i, &text);
	const char *mark = chosen ? ">" : !recorded(p, i) ? " " : halts ? "!" : "=";
	enum canvas_style style = chosen ? STYLE_CHOSEN : STYLE_PLAIN;
	char letter[] = { mark[0], ' ', (char)('a' + (int)i), ' ', ' ', '\0' };
	answer_put(p, p->row, 2, 6, style, letter);
	int lines = canvas_wrap(p->canvas, p->row, 7, most, p->columns - 9, style, words, 0);
	if (chosen && p->canvas) {
		p->canvas->cursor_row = p->row;
		p->canvas->cursor_column = 2;
	}
	p->row += lines < most ? lines : most;
}

void answer_choices(struct answer_place *p)
{
	size_t count = step_choices(p->step), first = 0, end = count;
	int keep = p->state->noting ? 1 : 0, lines = 0;
	for (size_t i = 0; i < count; i++)
		lines += answer_choice_lines(p, i);
	if (p->state->noting && lines + keep > p->end - p->row) {
		/* while words to it are typed, the chosen one is enough */
		first = (size_t)p->state->choice;
		end = first + 1;
	} else if ((int)count + keep > p->end - p->row) {
		size_t room = p->end - p->row > keep ? (size_t)(p->end - p->row - keep) : 1;
		first = frame_first(p->state->choice < 0 ? 0 : (size_t)p->state->choice, count, room);
		end = first + room;
	}
	for (size_t i = first; i < end && p->row < p->end; i++) {
		int spare = p->end - p->row - (int)(end - i - 1) - keep;
		draw_choice(p, i, spare < 1 ? 1 : spare);
	}
	if (p->state->noting)
		answer_field(p, note_label(p));
}

/* --- the kit --- */

/* What was counted and is short: its first `most` names, and how many more. */
static size_t kit_short(const struct answer_place *p, size_t most, struct pm_text *text)
{
	const struct pm_plan *plan = &p->session->plan.plan;
	size_t lacking = 0;
	for (size_t i = 0; i < plan->kit_count; i++)
		if (step_kit_short(p->session, i) && lacking++ < most) {
			pm_text_str(text, text->length ? ", " : "SHORT: ");
			pm_text_visible(text, plan->kit[i].name.text, strlen(plan->kit[i].name.text));
		}
	if (lacking > most)
		pm_text_add(text, " and %zu more in the list", lacking - most);
	return lacking;
}

static int short_lines(const struct answer_place *p, const char *lacking)
{
	return *lacking ? canvas_wrap(NULL, 0, 0, 0, p->columns - 3, STYLE_BAD, lacking, 0) : 0;
}

/* No name is cut in the middle: those that do not fit `rows` are counted. */
static int kit_lacking(const struct answer_place *p, int rows, char *out, size_t room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	for (size_t most = kit_short(p, (size_t)-1, &text); most && (text.cut || short_lines(p, out) > rows); ) {
		pm_text_fixed(&text, out, room);
		kit_short(p, --most, &text);
	}
	return short_lines(p, out);
}

static void draw_kit_item(struct answer_place *p, size_t i, bool wide)
{
	const struct pm_kit_item *item = &p->session->plan.plan.kit[i];
	uint64_t count = 0;
	bool counted = step_kit_count(p->session, i, &count), focused = i == p->state->row;
	bool short_of = step_kit_short(p->session, i);
	enum canvas_style style = short_of ? STYLE_BAD : STYLE_GOOD;
	int need = wide ? 47 : p->columns - 19, typed = wide ? 55 : p->columns - 6;
	canvas_print(p->canvas, p->row, 2, need - 3, focused ? STYLE_CHOSEN : STYLE_PLAIN, "%s %-42s",
	             focused ? ">" : " ", item->name.text);
	if (wide)
		canvas_print(p->canvas, p->row, need, 8, STYLE_PLAIN, "need %lld", (long long)item->need);
	if (wide && counted)
		canvas_print(p->canvas, p->row, 62, p->columns - 63, style, "%llu %s", (unsigned long long)count,
		             short_of ? "SHORT" : "here");
	else if (counted)
		canvas_print(p->canvas, p->row, need, 12, style, "%llu/%lld %s", (unsigned long long)count,
		             (long long)item->need, short_of ? "SHORT" : "here");
	else if (!wide)
		canvas_print(p->canvas, p->row, need, 12, STYLE_PLAIN, "need %lld", (long long)item->need);
	if (focused)
		field_draw(&p->state->field, p->canvas, p->row, typed, 5, true);
	p->row++;
}

#define KIT_ROWS 8         /* items that show at least, where the words leave room for them */
#define KIT_SHORT_ROWS 3

void answer_kit(struct answer_place *p)
{
	const struct pm_plan *plan = &p->session->plan.plan;
	char lacking[1500];
	int least = p->end - p->row > KIT_SHORT_ROWS + 2 ? KIT_SHORT_ROWS : 1;
	int below = kit_lacking(p, least, lacking, sizeof lacking);
	if (!p->canvas) {
		p->row += (plan->kit_count < KIT_ROWS ? (int)plan->kit_count : KIT_ROWS) + below;
		return;
	}
	int end = p->end - below;
	bool wide = p->columns >= 74;
	size_t room = end - p->row < 1 ? 1 : (size_t)(end - p->row);
	size_t first = frame_first(p->state->row, plan->kit_count, room);
	int top = p->row;
	for (size_t i = first; i < plan->kit_count && p->row < end; i++)
		draw_kit_item(p, i, wide);
	if (wide && first)
		canvas_put(p->canvas, top, p->columns - 5, 4, STYLE_DIM, "(Up)");
	if (wide && first + room < plan->kit_count)
		canvas_put(p->canvas, end - 1, p->columns - 7, 6, STYLE_DIM, "(Down)");
	if (below)
		answer_say(p, STYLE_BAD, lacking, 0);
}
