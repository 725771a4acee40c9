/* The board: what keys do there. */
#include <string.h>

#include "board/frame.h"
#include "board/state.h"
#include "portmuster/text.h"

static void take_text(struct board_state *state, const struct board_model *model)
{
	struct pm_text text;
	pm_text_fixed(&text, state->filter.text, sizeof state->filter.text);
	pm_text_str(&text, state->field.text);
	board_arrange(state, model);
}

/* While the filter is typed the list follows. */
static void filter_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	if (field_key(&state->field, event)) {
		take_text(state, model);
		return;
	}
	if (event->kind != EVENT_KEY)
		return;
	if (event->key == KEYS_ENTER)
		state->typing = false;
	else if (event->key == KEYS_ESCAPE) {
		state->typing = false;
		field_clear(&state->field);
		take_text(state, model);
	}
	else if (event->key == KEYS_UP || event->key == KEYS_DOWN) {
		state->moved = true;
		board_move(&state->row, event->key == KEYS_UP ? ASK_UP : ASK_DOWN, state->order.count, 1);
		board_focus(state, model, state->row);
	}
}

static void say_list(struct board_state *state)
{
	char block[ORDER_TEXT + 16];
	order_block_say(&state->filter, block);
	board_say(state, STYLE_PLAIN, "sorted by %s; listed: %s%s%s%s", order_sort_word(state->sort),
	          block[0] ? block : "every site", state->filter.text[0] ? ", with \"" : "", state->filter.text,
	          state->filter.text[0] ? "\"" : "");
}

void board_fleet_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	if (state->typing) {
		filter_event(state, model, event);
		return;
	}
	int request = board_request_of(state, event);
	if (board_move(&state->row, request, state->order.count, frame_list_rows(state))) {
		state->moved = true;
		board_focus(state, model, state->row);
		return;
	}
	switch (request) {
	case ASK_ENTER:
		board_look_at(state, model, board_at(state, model), BOARD_FLEET);
		break;
	case ASK_BACK:
		state->filter = (struct order_filter){ .block = BLOCK_ANY };
		board_arrange(state, model);
		say_list(state);
		break;
	case ASK_SORT:
		state->sort = (enum board_sort)((state->sort + 1) % SORTS);
		board_arrange(state, model);
		say_list(state);
		break;
	case ASK_BLOCK:
		order_next_block(&state->filter, model);
		board_arrange(state, model);
		say_list(state);
		break;
	case ASK_FILTER:
		state->typing = true;
		field_set(&state->field, state->filter.text);
		break;
	case ASK_FINDINGS: board_go(state, BOARD_FINDINGS); break;
	case ASK_FORECAST:
		board_go(state, BOARD_FORECAST);
		state->want = WANT_FORECAST;
		break;
	case ASK_HELP: board_over(state, BOARD_HELP); break;
	case ASK_LEAVE: state->want = WANT_LEAVE; break;
	}
}
