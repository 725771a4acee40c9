#include "capture/stanza.h"

#include <string.h>

#include "portmuster/text.h"

void row_place(const struct row *row, size_t at, uint32_t *line, uint32_t *column)
{
	size_t from = 0;
	*line = row->line;
	for (size_t i = 0; i < row->seams && row->seam[i] <= at; i++) {
		from = row->seam[i];
		*line = row->seam_line[i];
	}
	*column = token_columns(row->text + from, at - from) + 1 + (uint32_t)row->offset;
}

void stanza_begin(struct stanza *stanza, const char *text, const struct name *name, size_t indent)
{
	*stanza = (struct stanza){ .active = true, .indent = indent, .port = name->port };
	stanza->name_length = name->length < STANZA_MOST_NAME ? name->length : STANZA_MOST_NAME;
	memcpy(stanza->name, text + name->start, stanza->name_length);
}

bool stanza_is(const struct stanza *stanza, const char *text, const struct name *name)
{
	if (stanza->port != PM_NO_PORT || name->port != PM_NO_PORT) return stanza->port == name->port;
	if (stanza->name_length != name->length) return false;
	for (size_t i = 0; i < name->length; i++)
		if (pm_lower((unsigned char)stanza->name[i]) != pm_lower((unsigned char)text[name->start + i]))
			return false;
	return true;
}

void stanza_keep(struct stanza *stanza, const struct row *row, const struct candidate *candidate)
{
	if (candidate->rank == RANK_NONE) return;
	struct kept_address kept = { .address = candidate->address, .rank = candidate->rank };
	row_place(row, candidate->start, &kept.line, &kept.column);
	for (size_t i = 0; i < stanza->addresses; i++) {
		struct kept_address *known = &stanza->address[i];
		if (pm_eui48_compare(&known->address, &kept.address) != 0) continue;
		if (kept.rank > known->rank) *known = kept;
		return;
	}
	if (stanza->addresses < CANDIDATES_MOST) stanza->address[stanza->addresses++] = kept;
}

void stanza_slip(struct stanza *stanza, const struct row *row, const struct malformed *malformed)
{
	if (stanza->slips == STANZA_MOST_SLIPS) return;
	struct kept_slip *slip = &stanza->slip[stanza->slips++];
	*slip = (struct kept_slip){ .reason = malformed->reason };
	row_place(row, malformed->start, &slip->line, &slip->column);
	slip->column += malformed->column;
	slip->length = malformed->length < sizeof slip->text ? malformed->length : sizeof slip->text;
	memcpy(slip->text, row->text + malformed->start, slip->length);
}

void stanza_finish(struct stanza *stanza, struct collect *collect)
{
	if (!stanza->active) return;
	stanza->active = false;
	enum rank best = RANK_NONE;
	size_t count = 0;
	for (size_t i = 0; i < stanza->addresses; i++) {
		if (stanza->address[i].rank > best) best = stanza->address[i].rank, count = 0;
		count += stanza->address[i].rank == best;
	}
	for (size_t i = 0; i < stanza->addresses; i++) {
		const struct kept_address *kept = &stanza->address[i];
		char text[PM_EUI48_TEXT];
		if (kept->rank != best) continue;
		if (stanza->unsure) {
			collect_problem(collect, kept->line, kept->column,
			                "a line wrap leaves open which interface has this address",
			                pm_eui48_text(&kept->address, text), PM_EUI48_TEXT - 1);
			continue;
		}
		collect_reading(collect, stanza->name, stanza->name_length, stanza->port,
		                &kept->address, kept->line, kept->column);
	}
	for (size_t i = 0; count == 0 && i < stanza->slips; i++)
		collect_problem(collect, stanza->slip[i].line, stanza->slip[i].column,
		                pm_eui48_reason_text(stanza->slip[i].reason), stanza->slip[i].text,
		                stanza->slip[i].length);
}
