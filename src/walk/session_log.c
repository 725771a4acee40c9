/* Console logs on their way into the job. */
#include <dirent.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "capture/redact.h"
#include "portmuster/text.h"
#include "store/save.h"
#include "walk/session.h"
#include "walk/session_edit.h"

#define MOST_LOG (64u << 20)

void session_drop_log(struct session *s)
{
	if (!s->log)
		return;
	struct pm_arena arena = s->log->arena;   /* the log lives in its own arena */
	s->log = NULL;
	pm_arena_free(&arena);
}

/* "first.log" beside "/fleet/site.yaml" is "/fleet/first.log". */
static bool beside(const char *job_path, const char *name, char *out, size_t room)
{
	const char *slash = strrchr(job_path, '/');
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	if (slash)
		pm_text_put(&text, job_path, (size_t)(slash - job_path) + 1);
	pm_text_str(&text, name);
	return !text.cut;
}

/* Of several serial numbers the one that alone has the gear's form is taken. When
 * several have, none can be told to be the router's; but when the job holds yet
 * another one, the console contradicts it whichever it is. */
static void choose_serial(const struct session *s, struct session_log *log)
{
	const struct listing *listing = &log->listing;
	struct pm_fact held = pm_fact_find(&s->job.job, "router/serial", PM_AS_TEXT);
	const struct pm_word *first = NULL;
	bool agrees = false;
	size_t fitting = 0;
	for (size_t i = 0; i < listing->serial_count; i++) {
		const struct pm_word *serial = &listing->serial[i];
		if (listing->serial_count > 1 && !pm_form_match(s->gear.gear.serial_form.text, serial->text, NULL))
			continue;
		first = first ? first : serial;
		fitting++;
		agrees = agrees || (held.first && pm_fact_same(held.first->value.text, serial->text, PM_AS_TEXT));
	}
	bool contradicts = held.first && !agrees && fitting;
	log->serial = fitting == 1 || contradicts ? first : NULL;
	log->serials = log->serial ? 0 : listing->serial_count;
	log->differing += contradicts;
}

static void compare_with_job(const struct session *s, struct session_log *log)
{
	const struct pm_job *job = &s->job.job;
	for (size_t i = 0; i < job->reading_count; i++)
		log->seen_before = log->seen_before || pm_same(job->readings[i].capture.text, log->sha256);
	for (size_t i = 0; i < log->listing.count; i++) {
		const struct listing_reading *reading = &log->listing.reading[i];
		if (reading->port == PM_NO_PORT) {
			log->strangers++;
			continue;
		}
		const struct pm_call *call = &s->result.roster.call[reading->port];
		if (call->valid && pm_eui48_compare(&call->address, &reading->address) != 0)
			log->differing++;
		else
			log->fresh++;
	}
	choose_serial(s, log);
}

/* Read what `log` holds, secrets taken out first: nothing is told of them, and
 * a log that holds them is the same capture as its evidence. */
static bool read_as(const struct session *s, struct session_log *log, struct pm_arena *arena, enum source_kind as)
{
	struct source *source = source_begin(&log->listing, &s->gear.gear, arena, as);
	if (!source)
		return false;
	bool fed = source_feed(source, log->bytes, log->length);
	return source_end(source, &log->kind) && fed;
}

static bool read_bytes(const struct session *s, struct session_log *log, struct pm_arena *arena, enum source_kind as,
                       struct pm_fault *fault)
{
	log->bytes = redact_all(log->bytes, log->length, arena, &log->length, &log->secrets);
	if (!log->bytes || !read_as(s, log, arena, as))
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	pm_sha256_hex(log->bytes, log->length, log->sha256);
	compare_with_job(s, log);
	return true;
}

/* Read what `log` holds and make it the pending one. The arena moves into it. */
static bool make_pending(struct session *s, struct session_log *log, struct pm_arena *arena,
                         const char *name, struct pm_fault *fault)
{
	struct pm_text text;
	pm_text_fixed(&text, log->path, sizeof log->path);
	pm_text_str(&text, name);
	if (!read_bytes(s, log, arena, SOURCE_AUTO, fault)) {
		pm_arena_free(arena);
		return false;
	}
	log->arena = *arena;
	s->log = log;
	return true;
}

bool session_read_log(struct session *s, const char *path, struct pm_fault *fault)
{
	struct pm_arena arena;
	char near[PATH_MAX];
	pm_arena_init(&arena);
	session_drop_log(s);
	struct session_log *log = pm_arena_alloc(&arena, sizeof *log);
	bool good = log && !strchr(path, '/') && beside(s->job.path, path, near, sizeof near) &&
	            store_read_file(near, MOST_LOG, &arena, &log->bytes, &log->length, fault);
	if (!good && (!log || !store_read_file(path, MOST_LOG, &arena, &log->bytes, &log->length, fault))) {
		pm_arena_free(&arena);
		return log ? false : pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ .file = path }, "out of memory");
	}
	return make_pending(s, log, &arena, path, fault);
}

bool session_read_paste(struct session *s, const char *bytes, size_t length, struct pm_fault *fault)
{
	struct pm_arena arena;
	pm_arena_init(&arena);
	session_drop_log(s);
	struct session_log *log = pm_arena_alloc(&arena, sizeof *log);
	char *copy = log ? pm_arena_copy(&arena, bytes, length) : NULL;
	if (!copy) {
		pm_arena_free(&arena);
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	}
	log->bytes = copy;
	log->length = length;
	return make_pending(s, log, &arena, "pasted text", fault);
}

static bool is_log(const char *name)
{
	const char *dot = strrchr(name, '.');
	return name[0] != '.' && dot && (strcmp(dot, ".log") == 0 || strcmp(dot, ".txt") == 0);
}

/* The first ones by name are kept, in order, whatever the folder gives first. */
static void keep_log(struct session *s, const char *name)
{
	size_t at = s->log_count;
	while (at > 0 && strcmp(name, s->logs[at - 1]) < 0)
		at--;
	if (at == SESSION_LOGS)
		return;
	if (s->log_count < SESSION_LOGS)
		s->log_count++;
	memmove(s->logs + at + 1, s->logs + at, (s->log_count - 1 - at) * sizeof s->logs[0]);
	memcpy(s->logs[at], name, strlen(name) + 1);
}

void session_list_logs(struct session *s)
{
	char folder[PATH_MAX];
	s->log_count = 0;
	if (!beside(s->job.path, "", folder, sizeof folder))
		return;
	DIR *dir = opendir(folder[0] ? folder : ".");
	struct dirent *entry;
	while (dir && (entry = readdir(dir)))
		if (is_log(entry->d_name) && strlen(entry->d_name) < sizeof s->logs[0])
			keep_log(s, entry->d_name);
	if (dir)
		closedir(dir);
}

static bool add_console(struct session *s, const struct session_log *log, const char *of, const char *value,
                        const char *at, uint32_t line, struct pm_fault *fault)
{
	struct session_entry entry = { .source = PM_SOURCE_CONSOLE };
	struct pm_text text;
	pm_text_fixed(&text, entry.of, sizeof entry.of);
	pm_text_str(&text, of);
	pm_text_fixed(&text, entry.value, sizeof entry.value);
	pm_text_str(&text, value);
	pm_text_fixed(&text, entry.note, sizeof entry.note);
	pm_text_add(&text, "line %u", (unsigned)line);
	memcpy(entry.capture, log->sha256, sizeof log->sha256);
	return edit_add(s, &entry, at, fault);
}

static bool add_listing(struct session *s, const struct session_log *log, size_t *taken, struct pm_fault *fault)
{
	const struct listing *listing = &log->listing;
	char at[PM_WHEN_TEXT], of[200], value[PM_EUI48_TEXT];
	struct pm_text text;
	pm_when_write(s->now, at);
	for (size_t i = 0; i < listing->count; i++) {
		const struct listing_reading *reading = &listing->reading[i];
		if (reading->port == PM_NO_PORT)
			continue;
		pm_text_fixed(&text, of, sizeof of);
		pm_text_add(&text, "port/%s", s->gear.gear.ports[reading->port].name.text);
		if (!add_console(s, log, of, pm_eui48_text(&reading->address, value), at, reading->line, fault))
			return false;
		(*taken)++;
	}
	return !log->serial || add_console(s, log, "router/serial", log->serial->text, at, log->serial->line, fault);
}

/* Keep the evidence, then record what it says in one save. */
static bool take(struct session *s, const struct session_log *log, size_t *taken, struct pm_fault *fault)
{
	struct edit_undo undo;
	char kept[65];
	*taken = 0;
	if (!edit_may(s, fault))
		return false;
	if (log->seen_before) {
		pm_fail(fault, PM_FAULT_VALUE, (struct pm_place){ 0 }, "this very capture is in the job already: it counts once");
		return pm_fail_remedy(fault, "list the interfaces again on the console and save a new log");
	}
	if (!store_keep_evidence(s->job.path, log->bytes, log->length, kept, fault) || !edit_keep(&undo, s, fault))
		return false;
	return edit_settle(&undo, s, add_listing(s, log, taken, fault), fault);
}

bool session_take_log(struct session *s, size_t *taken, struct pm_fault *fault)
{
	*taken = 0;
	if (!s->log || !take(s, s->log, taken, fault))
		return false;
	session_drop_log(s);
	return true;
}

bool session_take_bytes(struct session *s, const char *bytes, size_t length,
                        struct session_taken *taken, struct pm_fault *fault)
{
	struct pm_arena arena;
	struct session_log log = { .length = length };
	*taken = (struct session_taken){ .readings = 0 };
	pm_arena_init(&arena);
	log.bytes = pm_arena_copy(&arena, bytes, length);
	bool good = log.bytes ? read_bytes(s, &log, &arena, SOURCE_CONSOLE, fault)
	                      : pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	bool serial = good && log.serial;
	if (good) {
		*taken = (struct session_taken){
			.differing = log.differing, .strangers = log.strangers, .serials = log.serials,
			.problems = log.listing.problem_count, .secrets = log.secrets,
		};
		memcpy(taken->sha256, log.sha256, sizeof taken->sha256);
		if (serial || log.listing.count > log.strangers)
			good = take(s, &log, &taken->ports, fault);
	}
	taken->readings = good ? taken->ports + serial : 0;
	pm_arena_free(&arena);
	return good;
}
