/* The review as JSON, one object at a time; keys may be added, never renamed. */
#include "report/json_parts.h"
#include "report/review_parts.h"

static json_t *number(size_t value)
{
	return json_integer((json_int_t)value);
}

static json_t *time_text(int64_t second)
{
	char text[PM_WHEN_TEXT];
	return json_string(pm_when_write(pm_when_utc(second), text));
}

static json_t *finding_json(const struct review *review, const struct pm_fleet_finding *finding)
{
	json_t *item = json_object(), *files = json_array(), *sites = json_array();
	for (size_t i = 0; i < finding->count; i++) {
		const struct pm_site_summary *site = &review->fleet->site[finding->site[i]];
		json_array_append_new(files, json_text(site->file));
		json_array_append_new(sites, json_text(site->code));
	}
	json_object_set_new(item, "code", json_string(pm_code_row(finding->code)->name));
	json_object_set_new(item, "severity", json_string(pm_severity_word(finding->severity)));
	json_object_set_new(item, "files", files);
	json_object_set_new(item, "sites", sites);
	json_object_set_new(item, "message", json_text(finding->message));
	json_object_set_new(item, "remedy", json_text(finding->remedy));
	if (finding->count)
		return item;
	/* about no site: about what stands there */
	json_object_set_new(item, "file", json_text(finding->place.file));
	json_object_set_new(item, "line", number(finding->place.line));
	json_object_set_new(item, "column", number(finding->place.column));
	return item;
}

static json_t *counts_json(const struct pm_fleet_counts *counts)
{
	const struct { const char *key; size_t value; } rows[] = {
		{ "sites", counts->sites }, { "practice", counts->practice }, { "unread", counts->unread },
		{ "done", counts->done }, { "ready", counts->ready }, { "stopped", counts->stopped },
	};
	json_t *item = json_object(), *holds = json_object();
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		json_object_set_new(item, rows[i].key, number(rows[i].value));
	for (int i = 0; i < PM_HOLDERS; i++)
		json_object_set_new(holds, pm_holder_word((enum pm_holder)i), number(counts->holds[i]));
	json_object_set_new(item, "next", holds);
	return item;
}

static json_t *site_forecast_json(const struct review *review, const struct pm_site_forecast *forecast)
{
	const struct pm_site_summary *site = &review->fleet->site[forecast->site];
	json_t *item = json_object();
	char text[PM_WHEN_TEXT];
	int64_t due, until, days;
	json_object_set_new(item, "file", json_text(site->file));
	json_object_set_new(item, "site", json_text(site->code));
	json_object_set_new(item, "median", time_text(forecast->median));
	json_object_set_new(item, "late", time_text(forecast->late));
	json_object_set_new(item, "least", json_boolean(forecast->least));
	json_object_set_new(item, "due", review_due(review, forecast->site, &due) ? json_string(pm_day_write(due, text))
	                                                                           : json_null());
	json_object_set_new(item, "hits", forecast->has_due ? number(forecast->due_hits) : json_null());
	json_object_set_new(item, "slack", review_slack(review, forecast->site, &days) ? json_integer(days) : json_null());
	json_object_set_new(item, "slack_to", pm_fleet_until(review->fleet, forecast->site, &until, NULL)
	                                      ? json_string(pm_day_write(until, text)) : json_null());
	return item;
}

static json_t *phase_json(const struct pm_phase_basis *phase)
{
	json_t *item = json_object();
	json_object_set_new(item, "plan", json_text(phase->plan));
	json_object_set_new(item, "phase", json_text(phase->phase));
	json_object_set_new(item, "observed", number(phase->observed));
	json_object_set_new(item, "basis", json_string(pm_basis_word(phase->basis)));
	json_object_set_new(item, "waits", phase->by_window ? number(phase->waits_observed) : json_null());
	return item;
}

static json_t *deadline_json(const struct review *review, const struct pm_deadline_forecast *one)
{
	const struct pm_fleet_options *o = pm_fleet_options_at(review->fleet, one->folder);
	char text[PM_WHEN_TEXT];
	json_t *item = json_object();
	json_object_set_new(item, "file", o->file ? json_text(o->file) : json_null());
	json_object_set_new(item, "deadline", json_string(pm_day_write(o->deadline_day, text)));
	json_object_set_new(item, "open", number(one->open));
	json_object_set_new(item, "hits", number(one->hits));
	return item;
}

static json_t *left_out_json(const struct pm_fleet *fleet)
{
	json_t *files = json_array();
	for (size_t i = 0; i < fleet->left_out_count; i++)
		json_array_append_new(files, json_text(fleet->left_out[i]));
	return files;
}

/* Members of the forecast that are no lists, each with a comma behind it. */
static bool put_forecast_head(const struct review *review, FILE *out)
{
	const struct pm_forecast *f = review->forecast;
	char text[PM_WHEN_TEXT];
	int64_t first, last;
	bool deadline = f->has_deadline && pm_fleet_deadlines(review->fleet, &first, &last);
	const struct { const char *key; json_t *value; } rows[] = {
		{ "seed", json_integer((json_int_t)review->seed) },
		{ "runs", number(f->runs) },
		{ "open", number(f->count) },
		{ "unread", number(f->unread) },
		{ "median", f->count ? time_text(f->median) : json_null() },
		{ "late", f->count ? time_text(f->late) : json_null() },
		{ "deadline", deadline ? json_string(pm_day_write(first, text)) : json_null() },
		{ "hits", deadline ? number(f->hits) : json_null() },
		{ "most", json_boolean(f->at_most) },
	};
	bool good = true;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		fprintf(out, "\"%s\": ", rows[i].key);
		good = json_put(out, rows[i].value, 0) && good;
		fputs(", ", out);
	}
	return good;
}

void review_json_begin(struct review_json *json, const struct review *review, FILE *out)
{
	*json = (struct review_json){ .review = review, .out = out };
	fputs("{\"jobs\": [", out);
}

/* The comma before all but the first item of a list. */
static void put_comma(FILE *out, size_t before)
{
	fputs(before ? ",\n" : "\n", out);
}

bool review_json_add(struct review_json *json, const struct report_job *job)
{
	put_comma(json->out, json->jobs++);
	return json_put(json->out, json_job(job, true), 2);
}

bool review_json_end(struct review_json *json)
{
	const struct review *review = json->review;
	const struct pm_forecast *forecast = review->forecast;
	FILE *out = json->out;
	bool good = true;
	fputs("\n], \"fleet\": {\"findings\": [", out);
	for (size_t i = 0; good && i < review->findings->count; i++) {
		put_comma(out, i);
		good = json_put(out, finding_json(review, &review->findings->item[i]), 2);
	}
	fputs("\n], \"counts\": ", out);
	good = good && json_put(out, counts_json(&review->counts), 2);
	fputs(", \"forecast\": {", out);
	good = good && put_forecast_head(review, out);
	fputs("\"sites\": [", out);
	for (size_t i = 0; good && i < forecast->count; i++) {
		put_comma(out, i);
		good = json_put(out, site_forecast_json(review, &forecast->site[i]), 2);
	}
	fputs("\n], \"deadlines\": [", out);
	for (size_t i = 0; good && i < forecast->deadline_count; i++) {
		put_comma(out, i);
		good = json_put(out, deadline_json(review, &forecast->deadline[i]), 2);
	}
	fputs("\n], \"phases\": [", out);
	for (size_t i = 0; good && i < forecast->phase_count; i++) {
		put_comma(out, i);
		good = json_put(out, phase_json(&forecast->phase[i]), 2);
	}
	fputs("\n]}, \"left_out\": ", out);
	good = good && json_put(out, left_out_json(review->fleet), 2);
	fputs("}}\n", out);
	return good && !ferror(out);
}
