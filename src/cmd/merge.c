/* merge: two edited copies of one job file joined; a merge driver for git, which
 * is handed whatever else lies beside the jobs as well. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "board/gather_child.h"
#include "cmd/cmd.h"
#include "cmd/json_out.h"
#include "portmuster/job.h"
#include "portmuster/text.h"
#include "store/document.h"
#include "store/lock.h"
#include "store/merge.h"
#include "store/path.h"
#include "store/save.h"

enum { BASE, MINE, THEIRS, SIDES };

static const char *const side_words[SIDES] = { "BASE", "MINE", "THEIRS" };

struct options {
	bool json;
	const char *out;       /* null: MINE's own path */
	const char *name;      /* what the job is called in messages, or null */
};

/* --- what comes in and goes out --- */

/* Fault places name the side: git hands over files with made-up names. */
static bool read_side(const struct options *o, const char *path, int side, struct pm_arena *arena,
                      struct store_merge_input *input, struct pm_fault *fault)
{
	char *text;
	if (!store_read_file(path, STORE_MOST_BYTES, arena, &text, &input->length, fault))
		return false;
	input->text = text;
	input->name = o->name ? pm_say(arena, "%s (%s)", o->name, side_words[side]) : path;
	return input->name || pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ path, 0, 0 }, "out of memory");
}

static bool read_all(const struct options *o, char *const *paths, struct pm_arena *arena,
                     struct store_merge_input input[SIDES], struct pm_fault *fault)
{
	for (int side = BASE; side < SIDES; side++)
		if (!read_side(o, paths[side], side, arena, &input[side], fault))
			return false;
	return true;
}

static bool to_stdout(const struct options *o)
{
	return o->out && strcmp(o->out, "-") == 0;
}

static bool write_result(const struct options *o, const char *path, const char *text, size_t length,
                         struct pm_fault *fault)
{
	if (!to_stdout(o))
		return store_write_file(path, text, length, fault);
	fwrite(text, 1, length, stdout);
	return true;   /* cmd_finish says when it did not get through */
}

/* --- as text --- */

static void put_said(struct pm_text *line, const struct store_merge_said *said, const char *side)
{
	if (pm_same(said->source, pm_source_word(PM_SOURCE_SKIPPED)) ||
	    pm_same(said->source, pm_source_word(PM_SOURCE_WITHDRAWN)))
		pm_text_str(line, said->source);
	else
		pm_text_quote(line, said->value);
	pm_text_add(line, " in %s", side);
	if (said->by) {
		pm_text_str(line, " by ");
		pm_text_visible(line, said->by, strlen(said->by));
	}
	pm_text_add(line, " at line %u", said->line);
}

static const char *outcome(enum store_merge_clash clash)
{
	switch (clash) {
	case STORE_CLASH_HEAD: return "MINE's stays";
	case STORE_CLASH_READING: return "both stay";
	case STORE_CLASH_LAST: return "both stay, the later one counts";
	case STORE_CLASH_WITHDRAWN: return "the reading stands";
	case STORE_CLASH_DEVICE: return "both stay";
	}
	return "";
}

static void put_conflict(struct pm_text *line, const struct store_merge_conflict *conflict)
{
	pm_text_visible(line, conflict->key, strlen(conflict->key));
	pm_text_str(line, ": in conflict: ");
	put_said(line, &conflict->mine, side_words[MINE]);
	pm_text_str(line, "; ");
	put_said(line, &conflict->theirs, side_words[THEIRS]);
	pm_text_add(line, "; %s", outcome(conflict->clash));
}

static void put_note(struct pm_text *line, const struct store_merge_note *note)
{
	const char *here = side_words[note->theirs ? THEIRS : MINE];
	const char *other = side_words[note->theirs ? MINE : THEIRS];
	if (note->remark == STORE_REMARK_COMMENT)
		pm_text_add(line, "line %u of %s: comment left out: ", note->line, here);
	pm_text_visible(line, note->key, strlen(note->key));
	switch (note->remark) {
	case STORE_REMARK_KEPT:
		pm_text_add(line, ": gone from %s, kept from line %u of %s", other, note->line, here);
		break;
	case STORE_REMARK_MOVED:
		pm_text_add(line, ": the withdrawal in line %u of %s now stands before what %s had not seen",
		            note->line, here, here);
		break;
	case STORE_REMARK_COMMENT:
		break;
	}
}

static void put_line(FILE *to, const struct options *o, const struct pm_text *line)
{
	char name[400];
	struct pm_text shown;
	pm_text_fixed(&shown, name, sizeof name);
	if (o->name)
		pm_text_visible(&shown, o->name, strlen(o->name));
	fprintf(to, "%s%s%s\n", name, o->name ? ": " : "", line->data);
}

static void put_text(FILE *to, const struct options *o, const struct store_merged *merged,
                     struct pm_arena *arena)
{
	struct pm_text line;
	for (size_t i = 0; i < merged->conflicts; i++) {
		pm_text_grow(&line, arena);
		put_conflict(&line, &merged->conflict[i]);
		put_line(to, o, &line);
	}
	for (size_t i = 0; i < merged->notes; i++) {
		pm_text_grow(&line, arena);
		put_note(&line, &merged->note[i]);
		put_line(to, o, &line);
	}
	pm_text_grow(&line, arena);
	pm_text_add(&line, "%zu taken from THEIRS, %zu in conflict", merged->taken, merged->conflicts);
	put_line(to, o, &line);
}

/* --- as JSON --- */

static json_t *json_text(const char *text)
{
	return text ? cmd_json_text(text, strlen(text)) : json_null();
}

static json_t *json_conflict(const struct store_merge_conflict *conflict)
{
	const struct store_merge_said *mine = &conflict->mine, *theirs = &conflict->theirs;
	return json_pack("{s:o, s:s, s:o, s:o, s:i, s:i, s:o, s:o, s:o, s:o}", "key", json_text(conflict->key),
	                 "kind", store_clash_word(conflict->clash),
	                 "mine", json_text(mine->value), "theirs", json_text(theirs->value),
	                 "mine-line", (int)mine->line, "theirs-line", (int)theirs->line,
	                 "mine-by", json_text(mine->by), "theirs-by", json_text(theirs->by),
	                 "mine-source", json_text(mine->source), "theirs-source", json_text(theirs->source));
}

static json_t *json_note(const struct store_merge_note *note)
{
	return json_pack("{s:s, s:o, s:s, s:i}", "kind", store_remark_word(note->remark), "key", json_text(note->key),
	                 "side", side_words[note->theirs ? THEIRS : MINE], "line", (int)note->line);
}

static bool put_report(const struct options *o, const char *as, size_t taken, json_t *conflicts, json_t *notes)
{
	bool good = cmd_put_json(json_pack("{s:o, s:s, s:I, s:o, s:o}", "name", json_text(o->name), "as", as,
	                                   "merged", (json_int_t)taken, "conflicts", conflicts, "notes", notes), 2);
	putchar('\n');
	return good;
}

static bool put_json(const struct options *o, const struct store_merged *merged)
{
	json_t *conflicts = json_array(), *notes = json_array();
	for (size_t i = 0; i < merged->conflicts; i++)
		json_array_append_new(conflicts, json_conflict(&merged->conflict[i]));
	for (size_t i = 0; i < merged->notes; i++)
		json_array_append_new(notes, json_note(&merged->note[i]));
	return put_report(o, "job", merged->taken, conflicts, notes);
}

/* Written it is, whatever becomes of the report. */
static int report_failed(void)
{
	struct pm_fault fault;
	pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "written, but out of memory for the report");
	return cmd_fault(&fault);
}

/* --- what is no job --- */

static bool key_at(const char *line, const char *end, const char *key)
{
	size_t length = strlen(key);
	char quote = line < end && (*line == '"' || *line == '\'') ? *line : '\0';
	line += quote != '\0';
	if ((size_t)(end - line) < length || memcmp(line, key, length))
		return false;
	line += length;
	line += quote && line < end && *line == quote;
	while (line < end && pm_is_blank(*line))
		line++;
	return line < end && *line == ':';
}

/* Does it look like a job? Of text that can't be read the first column must tell:
 * a job with a slip in it is never to be merged as text. */
static bool like_job(const struct store_merge_input *input, struct pm_arena *arena)
{
	const char *at = input->text, *end = at + input->length;
	if (store_no_job(input->text, input->length, input->name, arena, NULL))
		return false;
	while (at < end && (pm_is_blank(*at) || *at == '\n' || *at == '\r'))
		at++;
	if (at < end && *at == '{')
		return true;
	for (at = input->text; at < end; at++) {
		bool begins = at == input->text || at[-1] == '\n' || at[-1] == '\r';
		if (begins && (key_at(at, end, "site") || key_at(at, end, "readings")))
			return true;
	}
	return false;
}

static bool no_jobs(const struct store_merge_input input[SIDES], struct pm_arena *arena)
{
	for (int side = BASE; side < SIDES; side++)
		if (like_job(&input[side], arena))
			return false;
	return true;
}

/* What came from standard input, as a file that git can read. */
static bool keep_input(const struct store_merge_input *input, char *path, size_t room, struct pm_fault *fault)
{
	const char *folder = getenv("TMPDIR");
	if (!store_path_join(folder && *folder ? folder : "/tmp", "portmuster-XXXXXX", path, room))
		return store_fail_system(fault, folder, ENAMETOOLONG, "write");
	int file = mkstemp(path);
	if (file < 0)
		return store_fail_system(fault, path, errno, "write");
	close(file);
	if (store_write_file(path, input->text, input->length, fault))
		return true;
	unlink(path);
	return false;
}

static bool ask_git(const struct options *o, char *const *paths, struct pm_text *out, int *status,
                    struct pm_fault *fault)
{
	struct pm_place place = { o->name ? o->name : paths[MINE], 0, 0 };
	const char *const words[] = { "merge-file", "-p", "-LMINE", "-LBASE", "-LTHEIRS", "--",
	                              paths[MINE], paths[BASE], paths[THEIRS], NULL };
	struct gather_child child;
	if (!gather_child_begin(&child, ".", words, false, fault)) {
		if (fault->kind != PM_FAULT_MISSING)
			return false;
		pm_fail(fault, PM_FAULT_MISSING, place, "no job file, and git can't be run to merge it as text");
		return pm_fail_remedy(fault, "install git, or merge the file by hand");
	}
	gather_child_told(&child);
	bool whole = gather_child_all(&child, out, SIZE_MAX);
	*status = gather_child_end(&child);
	/* the number of conflicts; it stops counting at 127 */
	if (whole && *status >= 0 && *status <= 127)
		return true;
	pm_fail(fault, PM_FAULT_UNREADABLE, place, "no job file, and git does not merge it as text");
	return pm_fail_remedy(fault, "see what \"git merge-file\" says of the three files");
}

/* Lines in conflict, by the marks in the result. */
static json_t *tell_lines(const struct options *o, const struct pm_text *out, struct pm_arena *arena)
{
	static const char mark[] = "<<<<<<< MINE";
	json_t *conflicts = json_array();
	uint32_t number = 1;
	for (const char *at = out->data; at; number++) {
		struct pm_text line;
		if (!strncmp(at, mark, sizeof mark - 1) && o->json) {
			json_array_append_new(conflicts, json_pack("{s:n, s:s, s:i}", "key", "kind", "text", "line", (int)number));
		} else if (!strncmp(at, mark, sizeof mark - 1)) {
			pm_text_grow(&line, arena);
			pm_text_add(&line, "line %u of the result: in conflict: both stay, between marks", number);
			put_line(to_stdout(o) ? stderr : stdout, o, &line);
		}
		at = strchr(at, '\n');
		at += at != NULL;
	}
	return conflicts;
}

static int merge_text(const struct options *o, char *const *paths, const char *out, struct pm_arena *arena)
{
	struct pm_text text, line;
	struct pm_fault fault = { 0 };
	int status = 0;
	pm_text_grow(&text, arena);
	if (!ask_git(o, paths, &text, &status, &fault) || !write_result(o, out, text.data, text.length, &fault))
		return cmd_fault(&fault);
	json_t *conflicts = status ? tell_lines(o, &text, arena) : json_array();
	if (o->json)
		return !put_report(o, "text", 0, conflicts, json_array()) ? report_failed() : status ? EXIT_STOPPED : EXIT_CLEAR;
	json_decref(conflicts);
	pm_text_grow(&line, arena);
	pm_text_add(&line, "no job file: merged as text, %d in conflict", status);
	put_line(to_stdout(o) ? stderr : stdout, o, &line);
	return status ? EXIT_STOPPED : EXIT_CLEAR;
}

static int merge_others(const struct options *o, char *const *paths, const struct store_merge_input input[SIDES],
                        const char *out, struct pm_arena *arena)
{
	char kept[STORE_PATH_ROOM], *given[SIDES];
	struct pm_fault fault;
	bool keeps = false;
	for (int side = BASE; side < SIDES; side++) {
		given[side] = paths[side];
		if (strcmp(paths[side], "-"))
			continue;
		if (!keep_input(&input[side], kept, sizeof kept, &fault))
			return cmd_fault(&fault);
		given[side] = kept;
		keeps = true;
	}
	int status = merge_text(o, given, out, arena);
	if (keeps)
		unlink(kept);
	return status;
}

/* --- the command --- */

static int merge(const struct options *o, char *const *paths, const char *out, struct pm_arena *arena)
{
	struct store_merge_input input[SIDES];
	struct store_merged merged;
	struct pm_fault fault = { 0 };
	int status = EXIT_UNABLE;
	if (!read_all(o, paths, arena, input, &fault))
		return cmd_fault(&fault);
	if (!store_merge(&input[BASE], &input[MINE], &input[THEIRS], &merged, &fault)) {
		if (fault.kind != PM_FAULT_MEMORY && no_jobs(input, arena))
			return merge_others(o, paths, input, out, arena);
		return cmd_fault(&fault);
	}
	if (!write_result(o, out, merged.text, merged.length, &fault)) {
		cmd_fault(&fault);
	} else if (o->json && !put_json(o, &merged)) {
		report_failed();
	} else {
		if (!o->json)
			put_text(to_stdout(o) ? stderr : stdout, o, &merged, arena);
		status = merged.conflicts ? EXIT_STOPPED : EXIT_CLEAR;
	}
	store_merged_free(&merged);
	return status;
}

static int run_merge(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "json", false, 'j' }, { "out", true, 'o' }, { "name", true, 'n' }, { NULL, false, 0 },
	};
	struct options o = { 0 };
	char *value;
	int letter, from_stdin = 0;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1)
		switch (letter) {
		case 'j': o.json = true; break;
		case 'o': o.out = value; break;
		case 'n': o.name = value; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	char *const *paths = argv + cmd_operands();
	if (argc - cmd_operands() != SIDES)
		return cmd_usage(cmd, "three job files are needed: BASE MINE THEIRS");
	for (int side = BASE; side < SIDES; side++)
		from_stdin += strcmp(paths[side], "-") == 0;
	if (from_stdin > 1)
		return cmd_usage(cmd, "only one file can come from standard input");
	if (!o.out && strcmp(paths[MINE], "-") == 0)
		return cmd_usage(cmd, "MINE from standard input needs --out");
	if (to_stdout(&o) && o.json)
		return cmd_usage(cmd, "--json and --out - both want standard output");

	const char *out = o.out ? o.out : paths[MINE];
	struct store_lock lock = { .fd = -1 };
	struct pm_fault fault = { 0 };
	struct pm_arena arena;
	/* from the reading on, so that nobody else's entry is written over */
	if (!to_stdout(&o) && !store_lock_take(&lock, out, &fault))
		return cmd_fault(&fault);
	pm_arena_init(&arena);
	int status = merge(&o, paths, out, &arena);
	pm_arena_free(&arena);
	store_lock_drop(&lock);
	return status;
}

const struct cmd cmd_merge = {
	.name = "merge",
	.usage = "[--json] [--out FILE] [--name NAME] BASE MINE THEIRS",
	.summary = "two edited copies of one job file joined, as a merge driver for git",
	.help = "  BASE          the copy both come from; an empty file when there is none\n"
	        "  MINE          receives the result, unless --out says otherwise\n"
	        "  --out FILE    write the result there; \"-\" is standard output\n"
	        "  --name NAME   what messages call the job (git: %P)\n"
	        "  --json        the report as JSON\n"
	        "\nReadings are united and none is lost; a conflict is named, both values stay, and the\n"
	        "exit status is 1. With exit status 2 nothing was written. Plans, gear profiles and what\n"
	        "else is no job file are merged as text, by git merge-file.\n",
	.run = run_merge,
};
