#include "walk/session.h"

#include <limits.h>
#include <string.h>

#include "portmuster/text.h"
#include "store/find.h"
#include "store/save.h"
#include "walk/session_edit.h"

static bool load_documents(struct session *s, const char *path, struct pm_fault *fault)
{
	char found[PATH_MAX];
	if (!store_job_load(path, &s->job, fault))
		return false;
	if (!store_find(STORE_PLAN, s->job.job.plan.text, path, found, sizeof found, fault) ||
	    !store_plan_load(found, &s->plan, fault))
		goto no_plan;
	if (!store_find(STORE_GEAR, s->job.job.gear.text, path, found, sizeof found, fault) ||
	    !store_gear_load(found, &s->gear, fault))
		goto no_gear;
	store_plan_digest(&s->plan);
	store_gear_digest(&s->gear);
	store_layout_now(&s->job.job, s->layout_digest);
	struct pm_fault none;
	s->has_map = store_map_open(&s->map, NULL, &none);
	store_zone_open_for(&s->zone, &s->job.job, true);
	return true;
no_gear:
	store_plan_free(&s->plan);
no_plan:
	store_job_free(&s->job);
	return false;
}

bool session_open(struct session *s, const char *path, struct pm_when now, struct pm_fault *fault)
{
	struct pm_fault locked;
	memset(s, 0, sizeof *s);
	s->lock.fd = -1;
	pm_arena_init(&s->arena);
	if (strcmp(path, "-") == 0) {
		pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ 0 }, "the wizard needs a file, not standard input");
		return pm_fail_remedy(fault, "make one with portmuster new");
	}
	/* the lock comes first: what is read under it cannot be half of two writers' work */
	if (!store_lock_take(&s->lock, path, &locked)) {
		s->read_only = true;
		memcpy(s->held_by, locked.message, sizeof s->held_by);
	}
	if (!load_documents(s, path, fault)) {
		store_lock_drop(&s->lock);
		return false;
	}
	if (!session_refresh(s, now)) {
		session_close(s);
		return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ .file = path }, "out of memory");
	}
	return true;
}

void session_close(struct session *s)
{
	struct pm_fault none;
	if (s->live)
		session_disconnect(s, &none);
	session_drop_log(s);
	pm_arena_free(&s->arena);
	store_zone_close(&s->zone);
	if (s->has_map)
		store_map_close(&s->map);
	store_gear_free(&s->gear);
	store_plan_free(&s->plan);
	store_job_free(&s->job);
	store_lock_drop(&s->lock);
}

struct pm_case session_case(const struct session *s)
{
	return (struct pm_case){
		.job = &s->job.job, .plan = &s->plan.plan, .gear = &s->gear.gear,
		.registry = s->has_map ? &s->map.registry : NULL, .now = s->now,
		.layout_digest = s->layout_digest[0] ? s->layout_digest : NULL, .zone = &s->zone.look,
	};
}

bool session_refresh(struct session *s, struct pm_when now)
{
	pm_arena_free(&s->arena);
	s->now = now;
	struct pm_case c = session_case(s);
	session_look_for_sheet(s);
	s->judged = pm_check(&c, &s->arena, &s->result) && pm_seal_job(c.job, c.gear, &s->arena, &s->seal);
	return s->judged;
}

bool edit_keep(struct edit_undo *undo, const struct session *s, struct pm_fault *fault)
{
	pm_arena_init(&undo->arena);
	undo->length = s->job.length;
	undo->text = pm_arena_copy(&undo->arena, s->job.text, s->job.length);
	return undo->text || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}

/* A save that failed at its very end, when the device would not confirm it, may
 * stand on disk all the same. That text is no stranger's: the next save may
 * replace it. */
static void own_what_stands(const struct store_job *failed, struct store_job *before)
{
	struct pm_arena arena;
	struct pm_fault none;
	char *text, tried[65], there[65];
	size_t length;
	pm_arena_init(&arena);
	pm_sha256_hex(failed->text, failed->length, tried);
	if (store_read_file(failed->path, STORE_MOST_BYTES, &arena, &text, &length, &none)) {
		pm_sha256_hex(text, length, there);
		if (memcmp(tried, there, sizeof tried) == 0)
			memcpy(before->disk_digest, there, sizeof there);
	}
	pm_arena_free(&arena);
}

bool edit_settle(struct edit_undo *undo, struct session *s, bool edited, struct pm_fault *fault)
{
	bool good = edited && store_job_save(&s->job, fault);
	if (!good) {
		struct store_job before;
		struct pm_fault ignored;
		if (store_job_parse(undo->text, undo->length, s->job.path, &before, &ignored)) {
			store_job_digest(&s->job, before.disk_digest);
			before.from_disk = s->job.from_disk;
			own_what_stands(&s->job, &before);
			store_job_free(&s->job);
			s->job = before;
		}
	}
	pm_arena_free(&undo->arena);
	if (good)
		s->saved_at = s->now.second;
	bool judged = session_refresh(s, s->now);
	if (good && !judged)
		pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "saved, but memory ran out before it was judged");
	return good && judged;
}

bool edit_may(const struct session *s, struct pm_fault *fault)
{
	if (!s->read_only)
		return true;
	pm_fail(fault, PM_FAULT_LOCKED, (struct pm_place){ 0 }, "the job is open to read only: %s", s->held_by);
	return pm_fail_remedy(fault, "leave the other session first");
}

static struct pm_word word(const char *text)
{
	return (struct pm_word){ .text = text && *text ? text : NULL };
}

bool edit_add(struct session *s, const struct session_entry *entry, const char *at, struct pm_fault *fault)
{
	struct pm_reading reading = {
		.of = word(entry->of), .value = { .text = entry->value }, .source = entry->source,
		.by = word(s->by), .at = word(at), .when = s->now,
		.capture = word(entry->capture), .note = word(entry->note),
	};
	return store_job_add_reading(&s->job, &reading, fault);
}

bool session_record(struct session *s, const struct session_entry *entry, struct pm_fault *fault)
{
	struct edit_undo undo;
	char at[PM_WHEN_TEXT];
	if (!edit_may(s, fault) || !edit_keep(&undo, s, fault))
		return false;
	bool edited = edit_add(s, entry, pm_when_write(s->now, at), fault);
	return edit_settle(&undo, s, edited, fault);
}

bool session_waive(struct session *s, size_t line, const struct session_waiver *given, struct pm_fault *fault)
{
	struct edit_undo undo;
	char at[PM_WHEN_TEXT], note[400];
	struct pm_text text;
	if (!edit_may(s, fault))
		return false;
	pm_text_fixed(&text, note, sizeof note);
	pm_text_add(&text, "%s; typed by %s", given->how, s->by);
	const struct pm_gate_line *gate = &s->result.gates.line[line];
	struct pm_waiver waiver = {
		.phase = word(s->plan.plan.phases[gate->phase].id.text),
		.gate = word(gate->closing ? "close" : "open"),
		.condition = word(gate->need->condition.text),
		.by = word(given->by), .reason = word(given->reason), .at = word(pm_when_write(s->now, at)), .when = s->now,
		.note = word(note),
	};
	if (!edit_keep(&undo, s, fault))
		return false;
	return edit_settle(&undo, s, store_job_add_waiver(&s->job, &waiver, fault), fault);
}

bool session_reload(struct session *s, struct pm_fault *fault)
{
	struct store_job fresh;
	if (!store_job_load(s->job.path, &fresh, fault))
		return false;
	if (!pm_same(fresh.job.plan.text, s->job.job.plan.text) || !pm_same(fresh.job.gear.text, s->job.job.gear.text)) {
		store_job_free(&fresh);
		pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ .file = s->job.path }, "the file now names another plan or gear");
		return pm_fail_remedy(fault, "leave and open it again");
	}
	if (!pm_same(fresh.job.code.text, s->job.job.code.text)) {
		store_job_free(&fresh);
		pm_fail(fault, PM_FAULT_CHANGED, (struct pm_place){ .file = s->job.path }, "the file is now another site's");
		return pm_fail_remedy(fault, "put this site's file back, or leave and open that one: nothing was recorded there");
	}
	store_job_free(&s->job);
	s->job = fresh;
	store_zone_close(&s->zone);
	store_zone_open_for(&s->zone, &s->job.job, true);
	return session_refresh(s, s->now) || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
}

void session_typed_capture(const struct session *s, const char *of, char out[static 80])
{
	unsigned typed = 1;
	struct pm_text text;
	for (size_t i = 0; i < s->job.job.reading_count; i++) {
		const struct pm_reading *reading = &s->job.job.readings[i];
		typed += pm_same(reading->of.text, of) && reading->source != PM_SOURCE_CONSOLE &&
		         reading->source != PM_SOURCE_WITHDRAWN;
	}
	pm_text_fixed(&text, out, 80);
	pm_text_add(&text, "typed-%u", typed);
}
