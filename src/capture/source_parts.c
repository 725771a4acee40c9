#include "capture/source_parts.h"

#include <stdlib.h>
#include <string.h>

#include "portmuster/text.h"

#define NOISE_MUCH 4096   /* bytes that are no text: more is said even if something was read */

void parts_init(struct parts *parts, struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena)
{
	memset(parts, 0, sizeof *parts);
	*listing = (struct listing){ .reading = NULL };
	parts->listing = listing, parts->gear = gear, parts->arena = arena;
}

bool parts_begun(const struct parts *parts, enum source_kind kind)
{
	return parts->part[kind].state;
}

static bool begin(struct parts *parts, enum source_kind kind, uint32_t line)
{
	struct part *part = &parts->part[kind];
	part->listing = parts->order.count ? &part->own : parts->listing;
	part->line = 1;
	part->state = source_reader_of(kind)->begin(part->listing, parts->gear, parts->arena);
	parts->order.kind[parts->order.count] = kind;
	parts->order.line[parts->order.count++] = line;
	return part->state;
}

/* Empty lines for those of others. */
static bool catch_up(struct part *part, const struct source_reader *reader, uint32_t line)
{
	char empty[1024];
	memset(empty, '\n', sizeof empty);
	for (uint32_t some; part->line < line; part->line += some) {
		some = line - part->line < sizeof empty ? line - part->line : (uint32_t)sizeof empty;
		if (!reader->feed(part->state, empty, some)) return false;
	}
	return true;
}

bool parts_feed(struct parts *parts, enum source_kind kind, const void *bytes, size_t length, uint32_t line, uint32_t to)
{
	struct part *part = &parts->part[kind];
	const struct source_reader *reader = source_reader_of(kind);
	if (!part->state && !begin(parts, kind, line)) return false;
	if (!catch_up(part, reader, line)) return false;
	part->line = to;
	return length == 0 || reader->feed(part->state, bytes, length);
}

bool parts_line(struct parts *parts, uint32_t *line)
{
	struct part *part = &parts->part[SOURCE_CONSOLE];
	if (!listing_line(part->state, line)) return false;
	part->line = *line;
	return true;
}

bool parts_own(struct parts *parts, enum source_kind kind, const char *text, size_t length)
{
	const struct source_reader *reader = source_reader_of(kind);
	return !reader->owns || (parts->part[kind].state && reader->owns(parts->part[kind].state, text, length));
}

bool parts_problem(struct parts *parts, uint32_t line, const char *reason, const char *text, size_t length)
{
	struct collect collect;
	collect_init(&collect, parts->listing, parts->gear, parts->arena);
	collect_problem(&collect, line, 1, reason, text, length);
	collect_free(&collect);
	return !collect.failed;
}

/* --- what they have read, united ------------------------------------------------------ */

static int by_line(const void *left, const void *right)
{
	const struct listing_reading *const *a = left, *const *b = right;
	return (*a)->line < (*b)->line ? -1 : (*a)->line > (*b)->line;
}

static bool is_said(const struct listing *listing, const struct listing_problem *problem)
{
	for (size_t i = 0; i + 1 < listing->problem_count; i++)
		if (listing->problem[i].line == problem->line && strcmp(listing->problem[i].reason, problem->reason) == 0) return true;
	return false;
}

/* Two readers' addresses for one interface are held against each other; of what
 * one of them has said already nothing is said again. */
static void unite_readings(struct collect *collect, const struct listing_reading **reading, size_t count)
{
	struct listing *listing = collect->listing;
	qsort(reading, count, sizeof reading[0], by_line);
	for (size_t i = 0; i < count; i++) {
		size_t before = listing->problem_count;
		collect_reading(collect, reading[i]->interface, strlen(reading[i]->interface), reading[i]->port, &reading[i]->address, reading[i]->line, 1);
		if (listing->problem_count > before && is_said(listing, &listing->problem[before])) listing->problem_count = before;
	}
}

static void unite_rest(struct collect *collect, const struct listing *one)
{
	struct listing *listing = collect->listing;
	for (size_t i = 0; i < one->serial_count; i++)
		collect_serial(collect, one->serial[i].text, strlen(one->serial[i].text), one->serial[i].line, one->serial[i].column);
	for (size_t i = 0; i < one->problem_count; i++)
		collect_problem(collect, one->problem[i].line, one->problem[i].column, one->problem[i].reason,
		                one->problem[i].text, strlen(one->problem[i].text));
	if (one->lines > listing->lines) listing->lines = one->lines;
	listing->noise += one->noise;
	if (one->noise && !listing->noise_line) listing->noise_line = one->noise_line;
}

static bool unite(struct parts *parts)
{
	struct listing first = *parts->listing;
	struct collect collect;
	const struct listing *one[SOURCE_KINDS];
	size_t count = 0, at = 0;
	*parts->listing = (struct listing){ .reading = NULL };
	for (size_t i = 0; i < parts->order.count; i++) {
		one[i] = i ? &parts->part[parts->order.kind[i]].own : &first;
		count += one[i]->count;
	}
	const struct listing_reading **reading = malloc((count ? count : 1) * sizeof *reading);
	if (!reading) return false;
	collect_init(&collect, parts->listing, parts->gear, parts->arena);
	for (size_t i = 0; i < parts->order.count; i++) {
		unite_rest(&collect, one[i]);
		for (size_t k = 0; k < one[i]->count; k++) reading[at++] = &one[i]->reading[k];
	}
	unite_readings(&collect, reading, count);
	free(reading);
	collect_free(&collect);
	return !collect.failed;
}

bool parts_end(struct parts *parts)
{
	bool good = true;
	for (size_t i = 0; i < parts->order.count; i++) {
		enum source_kind kind = parts->order.kind[i];
		if (parts->part[kind].state && !source_reader_of(kind)->end(parts->part[kind].state)) good = false;
		good = good && parts->part[kind].state;
	}
	struct listing *listing = parts->listing;
	if (good && parts->order.count > 1) good = unite(parts);
	if (!good || listing->noise == 0 || (listing->count && listing->noise < NOISE_MUCH)) return good;
	const char *reason = pm_say(parts->arena, "bytes that are no text, %zu in all", listing->noise);
	return reason && parts_problem(parts, listing->noise_line, reason, "", 0);
}
