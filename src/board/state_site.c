/* One site in full, and the conditions of it that a lead may waive. */
#include <string.h>

#include "board/frame.h"
#include "board/state.h"
#include "portmuster/text.h"

#define REASON_LEAST 8
#define NAME_LEAST   2

/* --- the site --- */

static void other_site(struct board_state *state, const struct board_model *model, int request)
{
	size_t before = state->row;
	board_move(&state->row, request == ASK_NEXT ? ASK_DOWN : ASK_UP, state->order.count, 1);
	if (state->row == before || !state->order.count) {
		board_say(state, STYLE_PLAIN, "that was the %s site listed", request == ASK_NEXT ? "last" : "first");
		return;
	}
	state->moved = true;
	board_focus(state, model, state->row);
	state->line = 0;
	board_look_at(state, model, board_at(state, model), BOARD_FLEET);
}

void board_site_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	int request = board_request_of(state, event);
	struct frame area = board_area(state);
	int most = page_most(site_lines(state, model), area.rows);
	if (board_scroll(&state->line, request, most, area.rows))
		return;
	switch (request) {
	case ASK_BACK: board_go(state, state->from); break;
	case ASK_NEXT:
	case ASK_PREVIOUS: other_site(state, model, request); break;
	case ASK_WAIVE:
		if (!model->opened || model->detail.job.from_disk)
			board_go(state, BOARD_WAIVE);
		else
			board_say(state, STYLE_WAIT, "at a git revision nothing can be waived; open the folder itself for that");
		break;
	case ASK_HELP: board_over(state, BOARD_HELP); break;
	}
}

/* --- waivers --- */

bool board_may_waive(const struct pm_gate_line *line)
{
	const char *argument;
	const struct pm_condition *row = pm_condition_find(line->need->condition.text, &argument);
	return !line->met && line->need->waiver && row && !row->never_waived;
}

size_t board_need_count(const struct board_model *model)
{
	size_t count = 0;
	const struct pm_gates *gates = &model->detail.result.gates;
	for (size_t i = 0; model->opened && i < gates->count; i++)
		count += board_may_waive(&gates->line[i]);
	return count;
}

const struct pm_gate_line *board_need(const struct board_model *model, size_t row)
{
	const struct pm_gates *gates = &model->detail.result.gates;
	for (size_t i = 0; model->opened && i < gates->count; i++)
		if (board_may_waive(&gates->line[i]) && row-- == 0)
			return &gates->line[i];
	return NULL;
}

/* Characters, blanks at the ends not counted. */
static size_t characters(const char *text)
{
	size_t length = strlen(text), count = 0;
	uint32_t point;
	while (length && text[length - 1] == ' ')
		length--;
	while (length && *text == ' ') {
		text++;
		length--;
	}
	for (; length; count++) {
		size_t step = pm_utf8_next(text, length, &point);
		text += step;
		length -= step;
	}
	return count;
}

static void ask_reason(struct board_state *state)
{
	state->naming = false;
	field_clear(&state->field);
	board_say(state, STYLE_WAIT, "the waiver is signed %s; type the reason, then Enter", state->by);
}

static void take_name(struct board_state *state)
{
	if (characters(state->field.text) < NAME_LEAST || state->field.length >= sizeof state->by) {
		board_say(state, STYLE_BAD, "type your name or role, 2 to %zu bytes: the waiver is signed with it",
		          sizeof state->by - 1);
		return;
	}
	struct pm_text by;
	pm_text_fixed(&by, state->by, sizeof state->by);
	pm_text_str(&by, state->field.text);
	ask_reason(state);
}

static void take_reason(struct board_state *state)
{
	if (characters(state->field.text) < REASON_LEAST)
		board_say(state, STYLE_BAD, "a waiver needs a reason of at least %d characters that somebody else can understand",
		          REASON_LEAST);
	else
		state->want = WANT_WAIVE;
}

static void waive_typing(struct board_state *state, const struct screen_event *event)
{
	if (field_key(&state->field, event) || event->kind != EVENT_KEY)
		return;
	if (event->key == KEYS_ESCAPE) {
		state->typing = false;
		board_say(state, STYLE_PLAIN, "nothing was waived");
	} else if (event->key == KEYS_ENTER) {
		if (state->naming)
			take_name(state);
		else
			take_reason(state);
	}
}

/* The condition is kept by its words: rows move when the files are read again. */
static bool pick(struct board_state *state, const struct board_model *model)
{
	const struct pm_gate_line *line = board_need(model, state->need);
	struct pm_text phase, condition;
	if (!line)
		return false;
	pm_text_fixed(&phase, state->picked.phase, sizeof state->picked.phase);
	pm_text_fixed(&condition, state->picked.condition, sizeof state->picked.condition);
	pm_text_str(&phase, model->detail.the_case.plan->phases[line->phase].id.text);
	pm_text_str(&condition, line->need->condition.text);
	state->picked.closing = line->closing;
	return !phase.cut && !condition.cut;
}

void board_waive_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	if (state->typing) {
		waive_typing(state, event);
		return;
	}
	int request = board_request_of(state, event);
	if (board_move(&state->need, request, board_need_count(model), 8))
		return;
	switch (request) {
	case ASK_BACK: board_go(state, BOARD_SITE); break;
	case ASK_HELP: board_over(state, BOARD_HELP); break;
	case ASK_ENTER:
		if (!pick(state, model))
			break;
		state->typing = true;
		state->naming = !state->by[0];
		field_clear(&state->field);
		if (state->naming)
			board_say(state, STYLE_WAIT, "who signs the waiver? Type your name or role, then Enter");
		else
			ask_reason(state);
		break;
	}
}
