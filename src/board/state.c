#include "board/state.h"

#include <string.h>

#include "board/frame.h"
#include "portmuster/text.h"

void board_say(struct board_state *state, enum canvas_style style, const char *format, ...)
{
	struct pm_text text;
	va_list args;
	pm_text_fixed(&text, state->message, sizeof state->message);
	va_start(args, format);
	pm_text_addv(&text, format, args);
	va_end(args);
	state->message_style = style;
}

int board_request_of(const struct board_state *state, const struct screen_event *event)
{
	const struct board_screen_row *row = &board_screens[state->screen];
	return keytable_request(row->keys, row->key_count, event);
}

bool board_move(size_t *row, int request, size_t count, size_t page)
{
	size_t last = count ? count - 1 : 0;
	page = page ? page : 1;
	switch (request) {
	case ASK_UP: *row -= *row > 0; break;
	case ASK_DOWN: *row += *row < last; break;
	case ASK_PAGE_UP: *row -= *row < page ? *row : page; break;
	case ASK_PAGE_DOWN: *row = last - *row > page ? *row + page : last; break;
	case ASK_FIRST: *row = 0; break;
	case ASK_LAST: *row = last; break;
	default: return false;
	}
	return true;
}

bool board_scroll(int *line, int request, int most, int page)
{
	size_t at = (size_t)(*line > most ? most : *line);
	bool moved = board_move(&at, request, (size_t)most + 1, page > 1 ? (size_t)page - 1 : 1);
	if (moved)
		*line = (int)at;
	return moved;
}

/* --- which site has the focus --- */

size_t board_at(const struct board_state *state, const struct board_model *model)
{
	return state->row < state->order.count ? state->order.row[state->row] : model->fleet->count;
}

void board_focus(struct board_state *state, const struct board_model *model, size_t row)
{
	state->row = row;
	size_t site = board_at(state, model);
	state->at = site < model->fleet->count ? board_key(&model->fleet->site[site]) : 0;
}

static size_t site_of(const struct board_model *model, uint64_t key)
{
	size_t i = 0;
	while (i < model->fleet->count && board_key(&model->fleet->site[i]) != key)
		i++;
	return i;
}

void board_arrange(struct board_state *state, const struct board_model *model)
{
	if (!order_make(&state->order, model, state->sort, &state->filter))
		board_say(state, STYLE_BAD, "out of memory: the sites cannot be listed");
	size_t last = state->order.count ? state->order.count - 1 : 0;
	if (!state->moved) {
		board_focus(state, model, 0);
		return;
	}
	for (size_t i = 0; i < state->order.count; i++)
		if (board_key(&model->fleet->site[state->order.row[i]]) == state->at) {
			state->row = i;
			return;
		}
	/* while the files are read again it may come yet */
	state->row = state->row > last ? last : state->row;
	if (!model->reading)
		board_focus(state, model, state->row);
}

void board_look_at(struct board_state *state, const struct board_model *model, size_t site, enum board_screen from)
{
	if (site >= model->fleet->count)
		return;
	state->site = site;
	state->site_at = board_key(&model->fleet->site[site]);
	state->from = from;
	state->want = WANT_OPEN;
}

/* --- screens --- */

static bool is_over(enum board_screen screen)
{
	return screen == BOARD_HELP || screen == BOARD_LEAVE;
}

void board_over(struct board_state *state, enum board_screen screen)
{
	if (!is_over(state->screen))
		state->under = state->screen;
	state->screen = screen;
	state->over = 0;
	state->message[0] = '\0';
}

void board_go(struct board_state *state, enum board_screen screen)
{
	state->screen = screen;
	state->typing = state->naming = false;
	state->line = 0;
	state->need = 0;
	field_clear(&state->field);
}

void board_begin(struct board_state *state, const struct board_model *model, const char *name)
{
	struct field given;
	struct pm_text by;
	memset(state, 0, sizeof *state);
	field_set(&given, name);   /* cleaned as if it had been typed */
	pm_text_fixed(&by, state->by, sizeof state->by);
	pm_text_str(&by, given.text);
	if (by.cut)
		state->by[0] = '\0';
	board_arrange(state, model);
}

void board_end(struct board_state *state)
{
	order_free(&state->order);
}

/* The screen that is worked on, whatever lies over it. */
static enum board_screen working(const struct board_state *state)
{
	return is_over(state->screen) ? state->under : state->screen;
}

void board_changed(struct board_state *state, const struct board_model *model)
{
	board_arrange(state, model);
	if (state->finding >= model->findings.count)
		state->finding = model->findings.count ? model->findings.count - 1 : 0;
	enum board_screen at = working(state);
	if ((at != BOARD_SITE && at != BOARD_WAIVE) || model->reading)
		return;
	state->site = site_of(model, state->site_at);
	if (state->site < model->fleet->count) {
		state->want = WANT_OPEN;
		return;
	}
	state->under = BOARD_FLEET;
	board_go(state, is_over(state->screen) ? state->screen : BOARD_FLEET);
	board_say(state, STYLE_WAIT, "the site that was shown is no longer in the folder");
}

/* --- events --- */

/* What holds on every screen, whatever else it does with keys. */
static bool common_event(struct board_state *state, const struct screen_event *event)
{
	switch (event_common(event)) {
	case COMMON_NOTHING: return false;
	case COMMON_TICK: break;
	case COMMON_STOP: state->want = WANT_LEAVE; break;
	case COMMON_SUSPEND: state->want = WANT_SUSPEND; break;
	case COMMON_LEAVE:
		if (state->screen != BOARD_LEAVE)
			board_over(state, BOARD_LEAVE);
		break;
	case COMMON_SIZE:
		state->rows = event->rows;
		state->columns = event->columns;
		break;
	case COMMON_HELP:
		if (!is_over(state->screen))
			board_over(state, BOARD_HELP);
		break;
	}
	return true;
}

/* In a window too small to show anything no key does anything unseen, but leave. */
static bool unseen(const struct board_state *state, const struct screen_event *event)
{
	enum screen_common common = event_common(event);
	return !board_fits(state) && state->screen != BOARD_LEAVE && (common == COMMON_NOTHING || common == COMMON_HELP);
}

void board_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	state->want = WANT_NOTHING;
	if (unseen(state, event) || common_event(state, event))
		return;
	state->message[0] = '\0';
	if (event->kind == EVENT_KEY && event->key == KEYS_ENTER && event->burst) {
		board_say(state, STYLE_WAIT, "these keys came all at once, as a paste does: press Enter by itself to accept");
		return;
	}
	board_screens[state->screen].event(state, model, event);
}

void board_done(struct board_state *state, const struct board_model *model)
{
	enum board_want did = state->want;
	state->want = WANT_NOTHING;
	switch (did) {
	case WANT_OPEN:
		/* opened anew, it stays where it is */
		if (working(state) == BOARD_SITE || working(state) == BOARD_WAIVE) {
			size_t count = board_need_count(model);
			if (state->need >= count)
				state->need = count ? count - 1 : 0;
		} else {
			board_go(state, BOARD_SITE);
		}
		break;
	case WANT_WAIVE:
		board_go(state, BOARD_WAIVE);
		board_say(state, STYLE_GOOD, "waiver saved, signed %s", state->by);
		break;
	case WANT_FORECAST:
	case WANT_NOTHING:
	case WANT_SUSPEND:
	case WANT_LEAVE:
		break;
	}
}

void board_failed(struct board_state *state, const struct pm_fault *fault)
{
	char line[PM_FAULT_TEXT * 3];
	struct pm_text text;
	enum board_want wanted = state->want;
	state->want = WANT_NOTHING;
	/* the cause before the path: two rows may be all there is to show it in */
	pm_text_fixed(&text, line, sizeof line);
	pm_text_add(&text, "%s%s%s", fault->message, fault->remedy[0] ? "; " : "", fault->remedy);
	if (fault->file[0]) {
		pm_text_str(&text, " (");
		pm_text_visible(&text, fault->file, strlen(fault->file));
		pm_text_char(&text, ')');
	}
	enum board_screen at = working(state);
	if (wanted == WANT_OPEN && (at == BOARD_SITE || at == BOARD_WAIVE)) {
		state->under = BOARD_FLEET;
		board_go(state, is_over(state->screen) ? state->screen : BOARD_FLEET);
	}
	board_say(state, STYLE_BAD, "%s: %s", wanted == WANT_WAIVE ? "NOT SAVED" : "NOT READ", line);
}
