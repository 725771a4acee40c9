/* The bytes that are not yet handed on lie in one buffer, whole lines first:
 *
 *   done: handed on or passed over up to here     seen: judged up to here
 *      |--- kept: they may count for what comes ---|--- an unfinished line ---|
 */
#include "capture/skim.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "capture/names.h"
#include "capture/skim_line.h"

#define LINE_MOST (8u << 10)   /* a longer one is handed on without being judged */
#define ROOM (SKIM_MOST_CONTEXT + 2 * LINE_MOST + SKIM_MOST_SLICE)
#define BEHIND 6               /* lines behind one that matters; a row takes up to five */
#define MERGE 512              /* what matters so near to each other is one stretch */
#define STRETCHES_MOST (ROOM / MERGE + 2)
#define RECORDS_MOST 128
#define FEEDS_MOST 4096

struct stretch {
	size_t from, to;           /* whole lines */
};

/* A line longer than all before it. */
struct record {
	size_t at, columns;
};

struct skim {
	struct skim_reader reader;
	struct skim_sizes sizes;
	size_t end, done, seen;
	size_t lines;              /* from `done` to `seen` */
	size_t behind;             /* lines that are still to be handed on */
	size_t since;              /* bytes handed on since something mattered */
	size_t longest, longest_done;   /* of the lines up to `seen`, up to `done` */
	struct record record[RECORDS_MOST];
	size_t records;
	struct stretch stretch[STRETCHES_MOST];
	size_t stretches;
	bool seam;                 /* the line before reached the edge */
	bool failed;
	struct skim_line line;
	unsigned char odd[ROOM / SIEVE_UNIT + 2];
	uint32_t feed[FEEDS_MOST];
	char bytes[SIEVE_MARGIN + ROOM + 3 * SIEVE_MARGIN];
};

static char *text_of(struct skim *s)
{
	return s->bytes + SIEVE_MARGIN;
}

const struct skim_sizes skim_usual = { 32u << 10, SKIM_MOST_CONTEXT, SKIM_MOST_SLICE };

struct skim *skim_new(const struct pm_gear *gear, const struct skim_sizes *sizes, const struct skim_reader *reader)
{
	struct skim *s = malloc(sizeof *s);
	if (!s) return NULL;
	s->reader = *reader;
	s->sizes = *sizes;
	s->end = 0;
	s->failed = false;
	memset(s->bytes, '\n', SIEVE_MARGIN);
	if (!skim_line_init(&s->line, gear)) {
		skim_free(s);
		return NULL;
	}
	return s;
}

void skim_free(struct skim *s)
{
	if (!s) return;
	skim_line_free(&s->line);
	free(s);
}

/* --- handing on, passing over ---------------------------------------------------------- */

static void move_to(struct skim *s, size_t to)
{
	size_t left = 0;
	for (size_t i = 0; i < s->records; i++) {
		if (s->record[i].at < to) s->longest_done = s->record[i].columns;
		else s->record[left++] = s->record[i];
	}
	s->records = left;
	s->done = to;
}

static void hand_on(struct skim *s, size_t to)
{
	if (to <= s->done) return;
	if (!s->reader.feed(s->reader.context, text_of(s) + s->done, to - s->done)) s->failed = true;
	if (to <= s->seen) s->lines -= sieve_count(text_of(s) + s->done, to - s->done);
	move_to(s, to);
}

static void pass_over(struct skim *s, size_t to)
{
	if (to <= s->done) return;
	size_t left = sieve_count(text_of(s) + to, s->seen - to);
	move_to(s, to);
	s->reader.pass(s->reader.context, s->lines - left, s->longest_done);
	s->lines = left;
}

/* --- where to begin ------------------------------------------------------------------------ */

static size_t trimmed(const char *text, size_t length)
{
	while (length && text[length - 1] == '\r') length--;
	return length;
}

static bool is_plain(const char *text, size_t length)
{
	for (size_t i = 0; i < length; i++)
		if (text[i] < 0x20 || text[i] > 0x7E) return false;
	return true;
}

/* The line does not reach the edge, so what comes after it begins a row. */
static bool is_calm(const struct skim *s, const char *text, size_t length)
{
	length = trimmed(text, length);
	return length != 80 && length != 132 && (length < 40 || length < s->longest_done) && is_plain(text, length)
		&& !skim_line_may_reach(&s->line, text, length);
}

/* A prompt and no log line that looks like one. */
static bool is_prompt(const struct skim *s, const char *text, size_t length)
{
	length = trimmed(text, length);
	return line_is_prompt(text, length) && !line_is_log(text, length) && is_plain(text, length) && !skim_line_has_prompt(&s->line, text, length);
}

/* For what stands at `at`, the start of a line: the last prompt, or far enough back. */
static size_t begin_for(struct skim *s, size_t at)
{
	const char *text = text_of(s);
	size_t next = at;          /* the start of the line behind the one looked at */
	bool good = false;         /* to begin there */
	while (next > s->done) {
		size_t line = next - 1;
		while (line > s->done && text[line - 1] != '\n') line--;
		if (good && is_calm(s, text + line, next - 1 - line)) return next;
		good = at - line > s->sizes.context || is_prompt(s, text + line, next - 1 - line);
		next = line;
	}
	return s->done;
}

/* --- judging lines --------------------------------------------------------------------------- */

static void add(struct skim *s, size_t from, size_t to)
{
	struct stretch *last = s->stretches ? &s->stretch[s->stretches - 1] : NULL;
	if (last && from < last->to + MERGE) last->to = to;
	else s->stretch[s->stretches++] = (struct stretch){ from, to };
}

struct run {
	struct skim *skim;
	size_t from, to, judged;
};

/* The sieve has caught something: what does its line say? */
static void judge_caught(void *context, size_t at)
{
	struct run *run = context;
	const char *text = text_of(run->skim);
	size_t line = run->from + at;
	if (line < run->judged || line >= run->to) return;
	const char *feed = memchr(text + line, '\n', run->to - line);
	size_t end = feed ? (size_t)(feed - text) : run->to;
	while (line > run->judged && text[line - 1] != '\n') line--;
	run->judged = end + 1;
	/* So near to one that matters it goes along all the same. */
	const struct stretch *last = run->skim->stretches ? &run->skim->stretch[run->skim->stretches - 1] : NULL;
	if ((last && line < last->to + MERGE) || skim_line_matters(&run->skim->line, text + line, trimmed(text + line, end - line)))
		add(run->skim, line, end + 1);
}

/* Plain lines that are no log lines. */
static void judge_run(struct skim *s, size_t from, size_t to)
{
	struct run run = { s, from, to, from };
	sieve_run(&s->line.sieve, text_of(s) + from, (to - from + SIEVE_UNIT - 1) / SIEVE_UNIT, judge_caught, &run);
}

/* One that is not plain, or may reach the edge, or comes after one that does. */
static void judge_line(struct skim *s, size_t from, size_t to)
{
	struct skim_line *l = &s->line;
	if (!skim_line_clean(l, text_of(s) + from, to - from)) s->failed = true;
	if (l->vanished) return;
	const struct clean_line *c = &l->cleaned;
	if (c->noise) s->reader.noise(s->reader.context, s->lines, c->unreadable);
	if (c->columns > s->longest) {
		s->longest = c->columns;
		s->record[s->records++] = (struct record){ from, c->columns };
	}
	bool matters = c->cut || (s->seam && skim_line_seam_matters(l));
	bool dead = line_is_log(c->text, c->length) || line_is_prompt(c->text, c->length);
	if (!matters && !dead) matters = skim_line_cleaned_matters(l);
	s->seam = !dead && !c->cut && (c->columns == 80 || c->columns == 132 || (c->columns >= 40 && c->columns >= s->longest));
	if (s->seam) skim_line_keep_seam(l);
	if (matters) add(s, from, to);
}

/* Judge whole lines as far as there is room to note what is found. */
static void judge(struct skim *s)
{
	size_t at = s->seen, base = at, run = SIZE_MAX;
	const char *text = text_of(s);
	struct sieve_index index = { .odd = s->odd, .feed = s->feed, .room = FEEDS_MOST };
	sieve_lines(text + base, (s->end - base) / SIEVE_UNIT + 1, &index);
	for (size_t i = 0; i < index.feeds && s->records < RECORDS_MOST; i++) {
		size_t feed = base + s->feed[i], next = feed + 1;
		if (feed >= s->end) break;
		const char *line = text + at;
		size_t length = trimmed(line, feed - at);
		bool odd = false;
		for (size_t u = (at - base) / SIEVE_UNIT; index.any_odd && u <= (feed - base) / SIEVE_UNIT; u++) odd |= s->odd[u];
		bool special = s->seam || length > s->longest || length > CLEAN_MOST_COLUMNS || (odd && !is_plain(line, length));
		bool dead = !special && skim_line_dead(&s->line, line, length);
		if (!special && !dead)
			special = (length >= 40 && (length == 80 || length == 132 || length == s->longest))
				|| skim_line_may_reach(&s->line, line, length);
		if ((special || dead) && run != SIZE_MAX) {
			judge_run(s, run, at);
			run = SIZE_MAX;
		}
		if (special) judge_line(s, at, next);
		else if (!dead && run == SIZE_MAX) run = at;
		at = next;
		s->lines++;
	}
	if (run != SIZE_MAX) judge_run(s, run, at);
	s->seen = at;
}

/* --- and what comes of it ---------------------------------------------------------------------- */

/* What comes behind a stretch, up to `limit`. */
static void hand_on_behind(struct skim *s, size_t limit)
{
	const char *text = text_of(s);
	while (s->done < limit
	       && (s->behind || (s->since < s->sizes.context && s->reader.in_table(s->reader.context)))) {
		size_t to = s->done;
		for (size_t lines = 0; lines < BEHIND && to < limit; lines++) {
			const char *feed = memchr(text + to, '\n', limit - to);
			to = feed ? (size_t)(feed - text) + 1 : limit;
			if (s->behind) s->behind--;
		}
		s->since += to - s->done;
		hand_on(s, to);
	}
}

static void serve(struct skim *s)
{
	for (size_t i = 0; i < s->stretches; i++) {
		struct stretch stretch = s->stretch[i];
		hand_on_behind(s, stretch.from);
		pass_over(s, begin_for(s, stretch.from));
		hand_on(s, stretch.to);
		s->behind = BEHIND;
		s->since = 0;
	}
	s->stretches = 0;
	hand_on_behind(s, s->seen);
	if (s->records == RECORDS_MOST) hand_on(s, s->seen);
}

/* Forget what is too far back to count for anything. */
static void compact(struct skim *s)
{
	char *text = text_of(s);
	size_t from = s->done;
	if (s->seen > s->done + s->sizes.context) {
		size_t line = s->seen - s->sizes.context;
		/* Behind a line that is calm, however far back. */
		for (from = 0; line > s->done && from == 0; line--) {
			if (text[line - 1] != '\n') continue;
			size_t before = line - 1;
			while (before > s->done && text[before - 1] != '\n') before--;
			if (is_calm(s, text + before, line - 1 - before)) from = line;
		}
		if (from == 0) from = s->done;
	}
	pass_over(s, from);
	memmove(text, text + from, s->end - from);
	s->end -= from, s->seen -= from, s->done -= from;
	for (size_t i = 0; i < s->records; i++) s->record[i].at -= from;
}

static void start(struct skim *s)
{
	s->end = s->done = s->seen = s->lines = s->records = s->stretches = s->since = 0;
	s->behind = BEHIND;   /* the reader may be within a row */
	s->seam = false;
	s->longest = s->longest_done = s->reader.longest(s->reader.context);
}

bool skim_flush(struct skim *s)
{
	if (s->end == 0) return !s->failed;
	hand_on_behind(s, s->seen);
	pass_over(s, begin_for(s, s->seen));
	hand_on(s, s->end);
	s->end = 0;
	return !s->failed;
}

/* Up to the next line end, when the reader is within a line. */
static size_t to_line_end(struct skim *s, const char *bytes, size_t length)
{
	size_t used = 0;
	while (used < length && !s->reader.rests(s->reader.context)) {
		const char *feed = memchr(bytes + used, '\n', length - used);
		size_t take = feed ? (size_t)(feed - bytes) + 1 - used : length - used;
		if (!s->reader.feed(s->reader.context, bytes + used, take)) s->failed = true;
		used += take;
	}
	return used;
}

bool skim_feed(struct skim *s, const void *bytes, size_t length)
{
	const char *at = bytes;
	if (length < s->sizes.least)
		return skim_flush(s) && s->reader.feed(s->reader.context, bytes, length);
	while (length && !s->failed) {
		if (s->end == 0) {
			size_t used = to_line_end(s, at, length);
			at += used, length -= used;
			start(s);
		} else {
			compact(s);
		}
		size_t room = ROOM - s->end, take = length < s->sizes.slice ? length : s->sizes.slice;
		if (take > room) take = room;
		memcpy(text_of(s) + s->end, at, take);
		s->end += take;
		at += take, length -= take;
		memset(text_of(s) + s->end, '\n', 3 * SIEVE_MARGIN);
		size_t before;
		do {
			before = s->seen;
			judge(s);
			serve(s);
		} while (s->seen > before);
		if (s->end - s->seen > LINE_MOST || s->end == ROOM) skim_flush(s);
	}
	return !s->failed;
}
