#include "portmuster/job.h"

#include "portmuster/text.h"

static const char *const source_words[PM_SOURCES] = {
	[PM_SOURCE_CONSOLE] = "console",   [PM_SOURCE_TYPED] = "typed",
	[PM_SOURCE_LABEL] = "label",       [PM_SOURCE_MEASURED] = "measured",
	[PM_SOURCE_STATED] = "stated",     [PM_SOURCE_DESK] = "desk",
	[PM_SOURCE_SKIPPED] = "skipped",   [PM_SOURCE_WITHDRAWN] = "withdrawn",
};

const char *pm_source_word(enum pm_source source)
{
	return source < PM_SOURCES ? source_words[source] : "unknown";
}

bool pm_source_find(const char *word, enum pm_source *source)
{
	for (int i = 0; i < PM_SOURCES; i++)
		if (pm_same(word, source_words[i])) {
			*source = (enum pm_source)i;
			return true;
		}
	return false;
}
