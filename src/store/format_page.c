#include "store/fields.h"

#include "portmuster/text.h"

/* The documents, as the page presents them. */
static const struct {
	const char *title, *about;
	const struct store_table *table;
} documents[] = {
	{ "Job file", "Everything known of one site's swap. Written by `portmuster`, readable and editable by hand.",
	  &store_job_table },
	{ "Plan", "Phases, their steps and their gates.", &store_plan_table },
	{ "Gear profile", "One router model: its roster, its address habits and its console manners.", &store_gear_table },
	{ "Sheet layout", "Whose cells of a desk's registration sheet hold what; see [sheet.md](sheet.md).",
	  &store_layout_table },
	{ "Fleet", "What holds for all the jobs of one folder, in its `fleet.yaml`; see [fleet.md](fleet.md). It may be absent.",
	  &store_fleet_table },
};

static const char *const preface =
	"# Format of the files\n\n"
	"Generated from the field tables in `src/store/`; do not edit.\n\n"
	"Files are YAML in UTF-8, one document each. Every scalar is text whatever its quoting, so `NO`, `0123456` and\n"
	"`12:30` mean what they look like; `portmuster` itself always writes them between double quotes, but for the number of the format. Keys that are not\n"
	"listed here, and comments, survive a save; such a key is warned of (`key-unknown`) unless it begins with `x-`, and in\n"
	"`fleet.yaml` it is refused. Refused, with line and column: a key that stands twice, anchors,\n"
	"aliases, tags, a second document, control characters, more than 16 levels, more than 4 MiB.\n\n"
	"In a form `9` stands for a digit, `A` for an upper case letter, `H` for an upper case hex digit, `?` for a digit\n"
	"or upper case letter; `\\` takes the next character literally, all else stands for itself.\n";

static const char *kind_text(const struct store_field *field)
{
	switch (field->holds) {
	case STORE_TEXT: return "text";
	case STORE_TIME: return "time";
	case STORE_FLAG: return "yes or no";
	case STORE_WHOLE: return "whole number";
	case STORE_DECIMAL: return "decimal number";
	case STORE_CHOICE: return "one of a list";
	case STORE_TEXTS: return "list of texts";
	case STORE_MAPPING: return "mapping";
	case STORE_MAPPINGS: return "list of mappings";
	}
	return "";
}

static const char *need_text(enum store_need need)
{
	switch (need) {
	case STORE_OPTIONAL: return "no";
	case STORE_REQUIRED: return "yes";
	case STORE_PRESENT: return "yes, may be empty";
	}
	return "";
}

static void put_accepts(struct pm_text *out, const struct store_field *field)
{
	switch (field->holds) {
	case STORE_TIME:
		pm_text_str(out, "RFC 3339 date-time with offset");
		break;
	case STORE_FLAG:
		pm_text_str(out, "`yes`, `no`");
		break;
	case STORE_WHOLE:
		pm_text_add(out, "%lld to %lld", (long long)field->least, (long long)field->most);
		break;
	case STORE_DECIMAL:
		pm_text_str(out, "such as `-3.25`; at most 9 digits before the point and 6 after");
		break;
	case STORE_CHOICE:
		for (unsigned i = 0; i < field->choice->count; i++)
			pm_text_add(out, "%s`%s`", i ? ", " : "", field->choice->word(i));
		break;
	case STORE_MAPPING:
	case STORE_MAPPINGS:
		pm_text_str(out, "see below");
		break;
	case STORE_TEXT:
	case STORE_TEXTS:
		pm_text_str(out, field->accepts ? field->accepts : "any text");
		break;
	}
}

/* A table, then the tables of the mappings in it. The tables nest four deep at
 * most; `path` is what leads here, such as "phases[].steps[]". */
static void put_table(struct pm_text *out, const struct store_table *table, const char *path, struct pm_arena *arena)
{
	pm_text_str(out, "\n| key | kind | required | accepts | meaning |\n| --- | --- | --- | --- | --- |\n");
	for (size_t i = 0; i < table->count; i++) {
		const struct store_field *field = &table->fields[i];
		pm_text_add(out, "| `%s` | %s | %s | ", field->key, kind_text(field), need_text(field->need));
		put_accepts(out, field);
		pm_text_add(out, " | %s |\n", field->meaning);
	}
	for (size_t i = 0; i < table->count; i++) {
		const struct store_field *field = &table->fields[i];
		if (!field->table)
			continue;
		const char *below = pm_say(arena, "%s%s%s%s", path, *path ? "." : "", field->key,
		                           field->holds == STORE_MAPPINGS ? "[]" : "");
		if (!below)
			return;
		pm_text_add(out, "\n### `%s`\n", below);
		put_table(out, field->table, below, arena);
	}
}

char *store_format_page(struct pm_arena *arena)
{
	struct pm_text out;
	pm_text_grow(&out, arena);
	pm_text_str(&out, preface);
	for (size_t i = 0; i < sizeof documents / sizeof *documents; i++) {
		pm_text_add(&out, "\n## %s\n\n%s\n", documents[i].title, documents[i].about);
		put_table(&out, documents[i].table, "", arena);
	}
	return arena->failed ? NULL : out.data;
}
