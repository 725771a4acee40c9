#include "board/order.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"
#include "screen/canvas.h"

const char *order_sort_word(enum board_sort sort)
{
	switch (sort) {
	case SORT_SITE: return "site";
	case SORT_HOLDER: return "next move";
	case SORT_WORST: return "worst finding";
	case SORT_PHASE: return "phase";
	case SORT_SLACK: return "slack";
	case SORT_WINDOW: return "appointment";
	case SORTS: break;
	}
	return "unknown";
}

/* --- what is listed --- */

static bool holds(const char *text, const char *part)
{
	size_t length = strlen(part);
	for (; *text; text++) {
		size_t i = 0;
		while (i < length && pm_lower((unsigned char)text[i]) == pm_lower((unsigned char)part[i]))
			i++;
		if (i == length)
			return true;
	}
	return length == 0;
}

static bool bears(const struct board_model *model, size_t i, const char *part)
{
	const struct pm_site_summary *s = &model->fleet->site[i];
	struct board_worst worst = board_worst(model, i);
	const char *const in[] = { s->code, s->name, s->crew, s->waits_in, s->waits_why, board_file_name(s),
		worst.code ? worst.code : "", s->fault ? s->fault : "" };
	for (size_t k = 0; k < sizeof in / sizeof *in; k++)
		if (holds(in[k], part))
			return true;
	return false;
}

static const char *phase_of(const struct pm_site_summary *site)
{
	return site->fault || site->phase >= site->phase_count ? NULL : site->phases[site->phase].id;
}

static bool blocked_by(const struct board_model *model, size_t i, enum order_block block, const char *phase)
{
	const struct pm_site_summary *site = &model->fleet->site[i];
	bool open = !site->fault && !pm_site_done(site);
	switch (block) {
	case BLOCK_ANY: return true;
	case BLOCK_READY: return !site->practice && board_ready(model, i);
	case BLOCK_TECHNICIAN: return open && site->holder == PM_HOLDER_TECHNICIAN;
	case BLOCK_LEAD: return open && site->holder == PM_HOLDER_LEAD;
	case BLOCK_DESK: return open && site->holder == PM_HOLDER_DESK;
	case BLOCK_CENTRE: return open && site->holder == PM_HOLDER_CENTRE;
	case BLOCK_STOP: return board_stopped(model, i);
	case BLOCK_UNREAD: return site->fault != NULL;
	case BLOCK_PHASE: return pm_same(phase_of(site), phase);
	}
	return false;
}

static bool any_blocked(const struct board_model *model, enum order_block block)
{
	for (size_t i = 0; i < model->fleet->count; i++)
		if (blocked_by(model, i, block, NULL))
			return true;
	return false;
}

/* The phase to go to after `from`: in the order of how far it is, then of its id. */
static const char *next_phase(const struct pm_fleet *fleet, const char *from, size_t from_place, size_t *best_place)
{
	const char *best = NULL;
	for (size_t i = 0; i < fleet->count; i++) {
		const char *id = phase_of(&fleet->site[i]);
		size_t place = fleet->site[i].phase;
		if (!id || (from && (place < from_place || (place == from_place && strcmp(id, from) <= 0))))
			continue;
		if (!best || place < *best_place || (place == *best_place && strcmp(id, best) < 0)) {
			best = id;
			*best_place = place;
		}
	}
	return best;
}

void order_next_block(struct order_filter *filter, const struct board_model *model)
{
	const struct pm_fleet *fleet = model->fleet;
	const char *next;
	size_t place = 0;
	if (filter->block == BLOCK_PHASE) {
		next = next_phase(fleet, filter->phase, filter->place, &place);
	} else {
		for (int block = (int)filter->block + 1; block < BLOCK_PHASE; block++)
			if (any_blocked(model, (enum order_block)block)) {
				filter->block = (enum order_block)block;
				return;
			}
		next = next_phase(fleet, NULL, 0, &place);
	}
	filter->block = next ? BLOCK_PHASE : BLOCK_ANY;
	filter->place = place;
	struct pm_text text;
	pm_text_fixed(&text, filter->phase, sizeof filter->phase);
	pm_text_str(&text, next);
	/* an id too long to be kept would never be found again */
	if (text.cut)
		filter->block = BLOCK_ANY;
}

void order_block_say(const struct order_filter *filter, char out[static ORDER_TEXT + 16])
{
	struct pm_text text;
	pm_text_fixed(&text, out, ORDER_TEXT + 16);
	switch (filter->block) {
	case BLOCK_ANY: break;
	case BLOCK_READY: pm_text_str(&text, "ready"); break;
	case BLOCK_TECHNICIAN: pm_text_str(&text, pm_holder_word(PM_HOLDER_TECHNICIAN)); break;
	case BLOCK_LEAD: pm_text_str(&text, pm_holder_word(PM_HOLDER_LEAD)); break;
	case BLOCK_DESK: pm_text_str(&text, pm_holder_word(PM_HOLDER_DESK)); break;
	case BLOCK_CENTRE: pm_text_str(&text, pm_holder_word(PM_HOLDER_CENTRE)); break;
	case BLOCK_STOP: pm_text_str(&text, "a stop finding"); break;
	case BLOCK_UNREAD: pm_text_str(&text, "not read"); break;
	case BLOCK_PHASE: pm_text_add(&text, "in %s", filter->phase); break;
	}
}

/* --- in which order --- */

/* Sorted by number, then by text, then as they stand in the fleet. */
struct sorted {
	int64_t number;
	const char *text;
	uint32_t site;
};

/* Nobody's, none, done or not told: after all others. */
#define LAST INT64_MAX

static int64_t number_of(const struct board_model *model, size_t i, enum board_sort sort)
{
	const struct pm_site_summary *s = &model->fleet->site[i];
	struct board_worst worst;
	int64_t days;
	switch (sort) {
	case SORT_SITE:
	case SORTS:
		return 0;
	case SORT_HOLDER:
		return s->fault ? LAST - 1 : pm_site_done(s) ? LAST : (int64_t)s->holder;
	case SORT_WORST:
		worst = board_worst(model, i);
		return s->fault ? -PM_STOP - 1 : worst.code ? -(int64_t)worst.severity : 1;
	case SORT_PHASE:
		return s->fault ? LAST - 1 : pm_site_done(s) ? LAST : (int64_t)s->phase;
	case SORT_SLACK:
		return board_slack(model, i, &days) ? days : LAST;
	case SORT_WINDOW:
		return !s->fault && s->has_window && !pm_site_done(s) ? s->from.second : LAST;
	}
	return 0;
}

static int compare_text(const char *a, const char *b)
{
	for (; *a && pm_lower((unsigned char)*a) == pm_lower((unsigned char)*b); a++)
		b++;
	return pm_lower((unsigned char)*a) - pm_lower((unsigned char)*b);
}

static int compare(const void *left, const void *right)
{
	const struct sorted *a = left, *b = right;
	if (a->number != b->number)
		return a->number < b->number ? -1 : 1;
	int text = compare_text(a->text, b->text);
	return text ? text : a->site < b->site ? -1 : a->site > b->site;
}

static bool make_room(struct order *order, size_t count)
{
	if (count <= order->room)
		return true;
	uint32_t *wider = realloc(order->row, count * sizeof *wider);
	if (!wider)
		return false;
	order->row = wider;
	order->room = count;
	return true;
}

static void measure(struct order *order, const struct pm_site_summary *site)
{
	char window[32] = "";
	if (site->fault)
		return;
	int code = canvas_width(board_site_name(site));
	if (site->has_window)
		board_when(site->from, true, window);
	order->code_width = code > order->code_width ? code : order->code_width;
	order->window_width = canvas_width(window) > order->window_width ? canvas_width(window) : order->window_width;
	order->phases = site->phase_count > order->phases ? site->phase_count : order->phases;
}

bool order_make(struct order *order, const struct board_model *model, enum board_sort sort,
                const struct order_filter *filter)
{
	const struct pm_fleet *fleet = model->fleet;
	size_t count = fleet->count;
	order->count = order->phases = 0;
	order->code_width = order->window_width = 0;
	if (!count)
		return true;
	struct sorted *list = make_room(order, count) ? malloc(count * sizeof *list) : NULL;
	if (!list)
		return false;
	size_t listed = 0;
	for (size_t i = 0; i < count; i++) {
		const struct pm_site_summary *s = &fleet->site[i];
		if (!blocked_by(model, i, filter->block, filter->phase) || (filter->text[0] && !bears(model, i, filter->text)))
			continue;
		list[listed++] = (struct sorted){ number_of(model, i, sort), board_site_name(s), (uint32_t)i };
		measure(order, s);
	}
	qsort(list, listed, sizeof *list, compare);
	for (size_t i = 0; i < listed; i++)
		order->row[i] = list[i].site;
	order->count = listed;
	free(list);
	return true;
}

void order_free(struct order *order)
{
	free(order->row);
	*order = (struct order){ 0 };
}
