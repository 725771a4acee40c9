/* Findings across the fleet, the forecast, the help and the question about leaving. */
#include "board/frame.h"
#include "board/state.h"

static bool back_or_help(struct board_state *state, int request)
{
	switch (request) {
	case ASK_BACK: board_go(state, BOARD_FLEET); return true;
	case ASK_HELP: board_over(state, BOARD_HELP); return true;
	}
	return false;
}

/* The focus of the board goes to the site as well, for the way back. */
static void follow(struct board_state *state, const struct board_model *model, size_t site)
{
	state->moved = true;
	state->at = board_key(&model->fleet->site[site]);
	board_arrange(state, model);
	board_look_at(state, model, site, BOARD_FINDINGS);
}

void board_findings_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	int request = board_request_of(state, event);
	if (board_move(&state->finding, request, model->findings.count, frame_finding_rows(state)) ||
	    back_or_help(state, request))
		return;
	if (request != ASK_ENTER || state->finding >= model->findings.count)
		return;
	const struct pm_fleet_finding *finding = &model->findings.item[state->finding];
	if (finding->count)
		follow(state, model, finding->site[0]);
	else
		board_say(state, STYLE_PLAIN, "that finding is about no site");
}

void board_forecast_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	int request = board_request_of(state, event);
	struct frame area = board_area(state);
	int most = page_most(forecast_lines(state, model), area.rows);
	if (!board_scroll(&state->line, request, most, area.rows))
		back_or_help(state, request);
}

void board_help_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	int request = board_request_of(state, event);
	struct frame area = board_area(state);
	(void)model;
	if (request == ASK_BACK || request == ASK_ENTER)
		state->screen = state->under;
	else
		board_scroll(&state->over, request, page_most(help_page_lines(state), area.rows - 1), area.rows - 1);
}

void board_leave_event(struct board_state *state, const struct board_model *model, const struct screen_event *event)
{
	int request = board_request_of(state, event);
	(void)model;
	if (event->burst)
		return;
	if (request == ASK_YES)
		state->want = WANT_LEAVE;
	else if (request == ASK_NO || request == ASK_BACK)
		state->screen = state->under;
}
