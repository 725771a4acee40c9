#include "board/model.h"

/* A poll may have moved the sites. */
static void look_at_fleet(struct board_model *model)
{
	model->own = *gather_fleet(model->gather);
	model->fleet = &model->own;
	model->total = gather_total(model->gather);
}

void board_model_begin(struct board_model *model, struct gather *gather, const struct board_options *options,
                       struct pm_when now)
{
	*model = (struct board_model){ .gather = gather, .options = *options, .now = now, .reading = true };
	pm_arena_init(&model->arena);
	pm_arena_init(&model->forecast_arena);
	look_at_fleet(model);
}

/* What was concluded from the whole fleet does not hold for another one. */
static void forget(struct board_model *model)
{
	model->held_together = model->foreseen = false;
	model->findings = (struct pm_fleet_findings){ 0 };
	pm_arena_free(&model->arena);
	if (model->foreseeing)
		foresee_drop(&model->foresee);
	model->foreseeing = false;
	model->forecast = (struct pm_forecast){ 0 };
	pm_arena_free(&model->forecast_arena);
}

void board_model_end(struct board_model *model)
{
	board_model_close(model);
	forget(model);
}

bool board_model_take_in(struct board_model *model, int milliseconds)
{
	if (!model->reading)
		return true;
	model->reading = !gather_poll(model->gather, milliseconds);
	look_at_fleet(model);
	pm_fleet_count(model->fleet, NULL, &model->counts);
	return board_model_hold_together(model);
}

bool board_model_hold_together(struct board_model *model)
{
	if (model->reading)
		return true;
	model->held_together = false;
	model->findings = (struct pm_fleet_findings){ 0 };
	pm_arena_free(&model->arena);
	if (!pm_fleet_check(model->fleet, model->now, &model->arena, &model->findings))
		return false;
	pm_fleet_count(model->fleet, &model->findings, &model->counts);
	model->held_together = true;
	model->held_at = model->now.second;
	return true;
}

bool board_model_foresee(struct board_model *model, bool wait)
{
	if (model->reading || model->foreseen)
		return true;
	if (!model->foreseeing)
		foresee_begin(&model->foresee, model->fleet, model->now, &model->options.forecast);
	model->foreseeing = true;
	if (!wait && !foresee_ended(&model->foresee))
		return true;
	model->foreseeing = false;
	model->foreseen = foresee_take(&model->foresee, &model->forecast_arena, &model->forecast);
	return model->foreseen;
}

bool board_model_look_again(struct board_model *model, bool due)
{
	/* while the forecast is made the fleet stays as it is */
	if (model->reading || model->foreseeing || !(due || gather_changed(model->gather)) || !gather_again(model->gather, model->now))
		return false;
	forget(model);
	model->reading = true;
	model->waited = 0;
	look_at_fleet(model);
	return true;
}

bool board_model_open(struct board_model *model, size_t site, struct pm_fault *fault)
{
	board_model_close(model);
	if (model->reading)
		return pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ 0 }, "the files are still being read");
	model->opened = gather_open(model->gather, site, &model->detail, fault);
	model->site = site;
	return model->opened;
}

void board_model_close(struct board_model *model)
{
	if (model->opened)
		gather_close(&model->detail);
	model->opened = false;
}
