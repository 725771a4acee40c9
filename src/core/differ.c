#include "portmuster/differ.h"

#include <string.h>

#include "portmuster/eui48.h"
#include "portmuster/slip.h"

/* The captures met so far; further ones are not counted. */
struct met {
	const struct pm_reading *capture[PM_MOST_APART];
	size_t count;
	uint32_t of_value[PM_MOST_VALUES];   /* a bit for every capture that has the value */
};

static void count_in(struct pm_value *value, uint32_t *of_value, struct met *met, const struct pm_reading *reading)
{
	size_t i = 0;
	value->readings++;
	while (i < met->count && pm_fact_separate(met->capture[i], reading))
		i++;
	if (i == PM_MOST_APART || *of_value & (uint32_t)1 << i)
		return;
	if (i == met->count)
		met->capture[met->count++] = reading;
	*of_value |= (uint32_t)1 << i;
	value->apart++;
}

static bool is_address(const struct pm_value *value, const struct pm_eui48 *address)
{
	struct pm_eui48 read;
	return pm_eui48_parse(value->first->value.text, &read) && pm_eui48_compare(&read, address) == 0;
}

static void weigh(struct pm_differ *differ, const struct pm_eui48 *expect)
{
	const struct pm_value *most = NULL, *numbered = NULL;
	for (size_t i = 0; i < differ->count; i++) {
		const struct pm_value *value = &differ->value[i];
		if (value->apart > 1 && value->apart > value->against && !differ->more)
			most = value;
		if (expect && is_address(value, expect))
			numbered = value;
	}
	if (most && numbered && most != numbered)
		return;
	differ->favoured = most ? most : numbered;
	differ->by_captures = most != NULL;
	differ->by_numbering = numbered != NULL;
}

void pm_differ_find(const struct pm_job *job, const char *of, enum pm_compare compare,
                    const struct pm_eui48 *expect, struct pm_differ *out)
{
	struct met met = { 0 };
	const struct pm_reading *next;
	size_t at = 0;
	*out = (struct pm_differ){ 0 };
	while ((next = pm_fact_next(job, of, &at))) {
		size_t i = 0;
		if (next->source == PM_SOURCE_SKIPPED)
			continue;
		while (i < out->count && !pm_fact_same(out->value[i].first->value.text, next->value.text, compare))
			i++;
		if (i == PM_MOST_VALUES) {
			out->more = true;
			continue;
		}
		if (i == out->count)
			out->value[out->count++] = (struct pm_value){ .first = next };
		count_in(&out->value[i], &met.of_value[i], &met, next);
	}
	for (size_t i = 0; i < out->count; i++) {
		uint32_t others = 0;
		for (size_t k = 0; k < out->count; k++)
			others |= k == i ? 0 : met.of_value[k];
		for (; others; others &= others - 1)
			out->value[i].against++;
	}
	if (out->count > 1)
		weigh(out, expect);
}

void pm_differ_say(const char *first, const char *second, enum pm_compare compare, struct pm_text *out)
{
	char said[120], p[PM_EUI48_TEXT], q[PM_EUI48_TEXT];
	struct pm_eui48 x, y;
	if (compare == PM_AS_ADDRESS) {
		if (!pm_eui48_parse(first, &x) || !pm_eui48_parse(second, &y))
			return;
		pm_eui48_write(&x, PM_BARE, false, p);
		pm_eui48_write(&y, PM_BARE, false, q);
		first = p;
		second = q;
	}
	pm_text_str(out, pm_slip_differ(pm_slip_between(first ? first : "", second ? second : ""),
	                                compare == PM_AS_ADDRESS ? "digit" : "character", said, sizeof said));
}

void pm_differ_say_favoured(const struct pm_differ *differ, struct pm_text *out)
{
	const struct pm_value *value = differ->favoured;
	struct pm_eui48 address;
	char canonical[PM_EUI48_TEXT];
	if (!value)
		return;
	const char *text = value->first->value.text;
	bool port = pm_eui48_parse(text, &address);
	if (differ->by_captures)
		pm_text_add(out, "%zu separate readings against %zu say ", value->apart, value->against);
	else
		pm_text_str(out, "the numbering of the others gives ");
	if (port)
		pm_text_str(out, pm_eui48_text(&address, canonical));
	else
		pm_text_quote(out, text);
	if (differ->by_captures && differ->by_numbering)
		pm_text_str(out, ", and the numbering of the others gives it too");
}
