/* What follows for one site from the fleet as it stands. */
#include "board/model.h"

#include <string.h>

#include "portmuster/text.h"

struct board_worst board_worst(const struct board_model *model, size_t site)
{
	const struct pm_site_summary *s = &model->fleet->site[site];
	const struct pm_fleet_finding *across = model->held_together ? pm_fleet_worst(&model->findings, site) : NULL;
	if (across && (!s->has_worst || across->severity > s->worst_severity))
		return (struct board_worst){ pm_code_row(across->code)->name, across->message, across->severity };
	if (s->has_worst)
		return (struct board_worst){ pm_code_row(s->worst)->name, s->worst_message, s->worst_severity };
	return (struct board_worst){ 0 };
}

bool board_slack(const struct board_model *model, size_t site, int64_t *days)
{
	return pm_fleet_slack(model->fleet, site, model->now, days);
}

bool board_stopped(const struct board_model *model, size_t site)
{
	return pm_fleet_stopped(model->fleet, model->held_together ? &model->findings : NULL, site);
}

bool board_ready(const struct board_model *model, size_t site)
{
	return pm_fleet_ready(model->fleet, model->held_together ? &model->findings : NULL, site);
}

size_t board_across(const struct board_model *model, enum pm_severity severity)
{
	size_t count = 0;
	for (size_t i = 0; i < model->findings.count; i++)
		count += model->findings.item[i].severity == severity;
	return count;
}

/* FNV-1a, 64 bits (Fowler, Noll, Vo). */
uint64_t board_key(const struct pm_site_summary *site)
{
	uint64_t hash = 14695981039346656037u;
	for (const char *at = site->file; *at; at++)
		hash = (hash ^ (unsigned char)*at) * 1099511628211u;
	return hash ? hash : 1;
}

const char *board_file_name(const struct pm_site_summary *site)
{
	const char *slash = strrchr(site->file, '/');
	return slash && slash[1] ? slash + 1 : site->file;
}

const char *board_site_name(const struct pm_site_summary *site)
{
	return site->code[0] ? site->code : board_file_name(site);
}

void board_when(struct pm_when when, bool brief, char out[static 32])
{
	char full[PM_WHEN_TEXT];
	struct pm_text text;
	pm_when_write(when, full);
	pm_text_fixed(&text, out, 32);
	size_t length = strlen(full);
	if (length < 20)
		return;
	pm_text_put(&text, full + (brief ? 5 : 0), brief ? 5 : 10);
	pm_text_char(&text, ' ');
	pm_text_put(&text, full + 11, 5);
	bool whole = brief && length == 25 && strcmp(full + 22, ":00") == 0;
	pm_text_put(&text, full + 19, whole ? 3 : length - 19);
}
