#include "report/pages.h"

#include "portmuster/finding.h"
#include "portmuster/gate.h"
#include "portmuster/range.h"
#include "portmuster/text.h"

static const char made[] = "<!-- made from the program's tables by `make docs`; edit the tables, not this page -->\n";

char *report_findings_page(struct pm_arena *arena)
{
	struct pm_text page;
	pm_text_grow(&page, arena);
	pm_text_add(&page, "# Findings\n\n%s\nA finding is something wrong or doubtful. `stop` keeps gates shut and makes "
	            "`portmuster check`\nexit 1; `warn` and `note` do not. The table is `src/core/finding.c`: a new code is a "
	            "new row there.\n", made);
	for (int i = 0; i < PM_CODES; i++) {
		const struct pm_code_row *row = pm_code_row((enum pm_code)i);
		pm_text_add(&page, "\n## %s\n\n%s", row->name, pm_severity_word(row->severity));
		if (row->practice != row->severity)
			pm_text_add(&page, " (with training gear: %s)", pm_severity_word(row->practice));
		pm_text_add(&page, ": %s.\n\n- Why it matters: %s\n- What to do: %s.\n- Source: %s.\n", row->title, row->why,
		            row->remedy, row->source);
	}
	return page.cut ? NULL : page.data;
}

char *report_conditions_page(struct pm_arena *arena)
{
	struct pm_text page;
	size_t count;
	const struct pm_condition *row = pm_condition_table(&count);
	pm_text_grow(&page, arena);
	pm_text_add(&page, "# Conditions\n\n%s\nA gate is a list of conditions; each is computed from the job, the plan, the "
	            "gear and the time. The table\nis `src/core/condition.c`: a new condition is a new row there.\n\n"
	            "| condition | met when | who can supply it | may be waived |\n| --- | --- | --- | --- |\n", made);
	for (size_t i = 0; i < count; i++)
		pm_text_add(&page, "| `%s%s%s` | %s | %s | %s |\n", row[i].name, row[i].argument ? " " : "",
		            row[i].argument ? row[i].argument : "", row[i].meaning, row[i].who,
		            row[i].never_waived ? "never" : "where the plan says so");
	return page.cut ? NULL : page.data;
}

char *report_ranges_page(struct pm_arena *arena)
{
	struct pm_text page;
	size_t count;
	const struct pm_range *row = pm_range_table(&count);
	pm_text_grow(&page, arena);
	pm_text_add(&page, "# Named address ranges\n\n%s\nThe most specific range that holds an address names it. The table "
	            "is `src/core/range.c`.\n\n| from | to | name | source |\n| --- | --- | --- | --- |\n", made);
	for (size_t i = 0; i < count; i++) {
		struct pm_eui48 first = pm_eui48_from(row[i].first), last = pm_eui48_from(row[i].last);
		char a[PM_EUI48_TEXT], b[PM_EUI48_TEXT];
		pm_text_add(&page, "| %s | %s | %s | %s |\n", pm_eui48_text(&first, a), pm_eui48_text(&last, b), row[i].name,
		            row[i].source);
	}
	return page.cut ? NULL : page.data;
}
