/* read: the addresses and serial numbers in console logs and other listings. */
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include <jansson.h>

#include "capture/source.h"
#include "cmd/cmd.h"
#include "cmd/json_out.h"
#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "store/document.h"
#include "store/find.h"

#define PIECE (64u << 10)
#define NAME_MOST 512     /* bytes of a file's name that are shown */
#define STANDARD_INPUT "standard input"

struct reading_run {
	const struct pm_gear *gear;
	enum source_kind as;      /* SOURCE_AUTO: as recognised */
	bool json;
	size_t files;             /* that could be read */
	size_t readings, problems;
	bool several, failed;     /* more than one log; memory ran out */
	json_t *json_readings, *json_serials, *json_problems, *json_as;
};

/* --- one log ------------------------------------------------------------------ */

static bool feed_file(int file, const char *name, struct source *source, struct pm_fault *fault)
{
	char piece[PIECE];
	for (;;) {
		ssize_t got = read(file, piece, sizeof piece);
		if (got == 0)
			return true;
		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0)
			return pm_fail(fault, PM_FAULT_UNREADABLE, (struct pm_place){ name, 0, 0 },
			               "not readable: %s", strerror(errno));
		if (!source_feed(source, piece, (size_t)got))
			return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ name, 0, 0 }, "out of memory");
	}
}

/* `*parts` becomes what it was read as. */
static bool read_log(const char *path, const struct reading_run *run, struct pm_arena *arena,
                     struct listing *listing, struct source_parts *parts, struct pm_fault *fault)
{
	bool standard = strcmp(path, "-") == 0;
	struct pm_place place = { standard ? STANDARD_INPUT : path, 0, 0 };
	int file = standard ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
	if (file < 0)
		return pm_fail(fault, errno == ENOENT ? PM_FAULT_MISSING : errno == EACCES ? PM_FAULT_FORBIDDEN
		               : PM_FAULT_UNREADABLE, place, "not readable: %s", strerror(errno));
	struct source *source = source_begin(listing, run->gear, arena, run->as);
	bool good = source != NULL;
	if (!source)
		pm_fail(fault, PM_FAULT_MEMORY, place, "out of memory");
	else
		good = feed_file(file, place.file, source, fault);
	if (!standard)
		close(file);
	if (source && !source_end_parts(source, parts) && good)
		good = pm_fail(fault, PM_FAULT_MEMORY, place, "out of memory");
	return good;
}

/* --- plain text ----------------------------------------------------------------- */

static const char *name_of(const char *path, char out[static NAME_MOST])
{
	struct pm_text text;
	pm_text_fixed(&text, out, NAME_MOST);
	if (strcmp(path, "-") == 0)
		pm_text_str(&text, STANDARD_INPUT);
	else
		pm_text_visible(&text, path, strlen(path));
	return out;
}

static int columns_of(const char *text)
{
	int columns = 0;
	for (; *text; text++)
		columns += ((unsigned char)*text & 0xC0) != 0x80;
	return columns;
}

static void put_padded(const char *text, int width)
{
	printf("%s%*s", text, width > columns_of(text) ? width - columns_of(text) : 0, "");
}

/* "read as ip link as text (iproute2), from line 9 on also as console text" */
static void put_parts(const char *name, const struct source_parts *parts)
{
	fprintf(stderr, "portmuster: %s: read as ", name);
	for (size_t i = 0; i < parts->count; i++) {
		if (i)
			fprintf(stderr, ", from line %lu on also as ", (unsigned long)parts->line[i]);
		fputs(source_title(parts->kind[i]), stderr);
	}
	fputc('\n', stderr);
}

static void put_text(const struct reading_run *run, const char *path, const struct listing *listing,
                     const struct source_parts *parts)
{
	char name[NAME_MOST], address[PM_EUI48_TEXT];
	int width = columns_of("interface");
	name_of(path, name);
	if (run->several)
		printf("%s%s\n", run->files > 1 ? "\n" : "", name);
	for (size_t i = 0; i < listing->count; i++)
		if (columns_of(listing->reading[i].interface) > width)
			width = columns_of(listing->reading[i].interface);
	if (listing->count) {
		put_padded("interface", width);
		printf("  address            check  line\n");
	}
	for (size_t i = 0; i < listing->count; i++) {
		const struct listing_reading *reading = &listing->reading[i];
		put_padded(reading->interface, width);
		printf("  %s  %-5c  %lu\n", pm_eui48_text(&reading->address, address),
		       pm_eui48_check(&reading->address), (unsigned long)reading->line);
	}
	for (size_t i = 0; i < listing->serial_count; i++)
		printf("serial number %s, line %lu\n", listing->serial[i].text,
		       (unsigned long)listing->serial[i].line);
	fflush(stdout);
	if (parts->count > 1 || parts->kind[0] != SOURCE_CONSOLE || run->several)
		put_parts(name, parts);
	for (size_t i = 0; i < listing->problem_count; i++) {
		const struct listing_problem *problem = &listing->problem[i];
		fprintf(stderr, "portmuster: %s:%lu:%lu: %s", name, (unsigned long)problem->line,
		        (unsigned long)problem->column, problem->reason);
		fprintf(stderr, problem->text[0] ? ": \"%s\"\n" : "%s\n", problem->text);
	}
}

/* --- JSON ----------------------------------------------------------------------- */

/* Add to a list; the file is named only when there are several. */
static void add(struct reading_run *run, json_t *list, json_t *item, const char *path)
{
	if (item && run->several
	    && json_object_set_new(item, "file", cmd_json_text(path, strlen(path))) != 0)
		run->failed = true;
	if (!item || json_array_append_new(list, item) != 0)
		run->failed = true;
}

static void add_json(struct reading_run *run, const char *path, const struct listing *listing,
                     const struct source_parts *parts)
{
	char address[PM_EUI48_TEXT];
	for (size_t i = 0; i < parts->count; i++) {
		json_t *as = json_pack("{s:s, s:s}", "kind", source_word(parts->kind[i]), "title", source_title(parts->kind[i]));
		if (as && parts->count > 1 && json_object_set_new(as, "line", json_integer((json_int_t)parts->line[i])) != 0)
			run->failed = true;
		add(run, run->json_as, as, path);
	}
	for (size_t i = 0; i < listing->count; i++) {
		const struct listing_reading *reading = &listing->reading[i];
		char check[2] = { pm_eui48_check(&reading->address), '\0' };
		add(run, run->json_readings,
		    json_pack("{s:s, s:s, s:I, s:s}", "interface", reading->interface,
		              "address", pm_eui48_text(&reading->address, address),
		              "line", (json_int_t)reading->line, "check", check), path);
	}
	for (size_t i = 0; i < listing->serial_count; i++)
		add(run, run->json_serials,
		    json_pack("{s:s, s:I}", "value", listing->serial[i].text,
		              "line", (json_int_t)listing->serial[i].line), path);
	for (size_t i = 0; i < listing->problem_count; i++) {
		const struct listing_problem *problem = &listing->problem[i];
		add(run, run->json_problems,
		    json_pack("{s:I, s:I, s:s, s:s}", "line", (json_int_t)problem->line,
		              "column", (json_int_t)problem->column, "reason", problem->reason,
		              "text", problem->text), path);
	}
}

/* --- the command ----------------------------------------------------------------- */

static int read_one(struct reading_run *run, const char *path)
{
	struct pm_arena arena;
	struct listing listing;
	struct pm_fault fault = { 0 };
	struct source_parts parts;
	int status = EXIT_CLEAR;
	pm_arena_init(&arena);
	if (!read_log(path, run, &arena, &listing, &parts, &fault)) {
		status = cmd_fault(&fault);
	} else {
		run->files++;
		run->readings += listing.count;
		run->problems += listing.problem_count;
		if (run->json)
			add_json(run, path, &listing, &parts);
		else
			put_text(run, path, &listing, &parts);
		if (listing.count == 0) {
			char name[NAME_MOST];
			fprintf(stderr, "portmuster: %s: no interface with an address; capture the listing of all interfaces%s\n",
			        name_of(path, name), run->gear ? "" : ", or name the gear with --gear");
		}
		if (listing.count == 0 || listing.problem_count)
			status = EXIT_STOPPED;
	}
	pm_arena_free(&arena);
	return status;
}

/* A name is looked for among the profiles; anything with a slash or a dot is a file. */
static bool load_gear(const char *given, struct store_gear *gear, struct pm_fault *fault)
{
	char path[4096];
	if (strchr(given, '/') || strchr(given, '.'))
		return store_gear_load(given, gear, fault);
	return store_find(STORE_GEAR, given, NULL, path, sizeof path, fault)
		&& store_gear_load(path, gear, fault);
}

static int put_json(struct reading_run *run)
{
	struct pm_fault fault = { 0 };
	json_t *all = run->failed ? NULL
		: json_pack("{s:O, s:O, s:O, s:O}", "readings", run->json_readings, "serials", run->json_serials,
		            "problems", run->json_problems, "as", run->json_as);
	bool good = all && cmd_put_json(all, 2);
	if (good)
		putchar('\n');
	else
		pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	return good ? EXIT_CLEAR : cmd_fault(&fault);
}

static int unknown_kind(const struct cmd *cmd, const char *word)
{
	char shown[200];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_quote(&text, word);
	pm_text_str(&text, "; there are");
	for (size_t i = 0; i < SOURCE_KINDS; i++) {
		pm_text_str(&text, i ? ", " : " ");
		pm_text_str(&text, source_word((enum source_kind)i));
	}
	return cmd_usage(cmd, "unknown kind of listing %s", shown);
}

static int run_read(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "json", false, 'j' }, { "gear", true, 'g' }, { "as", true, 'a' }, { NULL, false, 0 },
	};
	struct reading_run run = { .as = SOURCE_AUTO };
	struct store_gear gear;
	struct pm_fault fault = { 0 };
	char *value, *gear_name = NULL;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1)
		switch (letter) {
		case 'j': run.json = true; break;
		case 'g': gear_name = value; break;
		case 'a':
			if (!source_find(value, &run.as))
				return unknown_kind(cmd, value);
			break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	int first = cmd_operands();
	if (first >= argc)
		return cmd_usage(cmd, "no log given");
	if (gear_name && !load_gear(gear_name, &gear, &fault))
		return cmd_fault(&fault);

	int status = EXIT_CLEAR;
	run.gear = gear_name ? &gear.gear : NULL;
	run.several = argc - first > 1;
	if (run.json) {
		run.json_readings = json_array();
		run.json_serials = json_array();
		run.json_problems = json_array();
		run.json_as = json_array();
	}
	for (int i = first; i < argc; i++) {
		int one = read_one(&run, argv[i]);
		if (one > status)
			status = one;
	}
	if (run.json && run.files && put_json(&run) != EXIT_CLEAR)
		status = EXIT_UNABLE;
	json_decref(run.json_readings);
	json_decref(run.json_serials);
	json_decref(run.json_problems);
	json_decref(run.json_as);
	if (gear_name)
		store_gear_free(&gear);
	return status;
}

const struct cmd cmd_read = {
	.name = "read",
	.usage = "[--json] [--gear NAME|FILE] [--as KIND] [--] LOG...",
	.summary = "the addresses and serial numbers in a console log",
	.help = "  LOG                a file of console text or an open listing; \"-\" is standard input\n"
	        "  --gear NAME|FILE   match interface names to this gear profile's roster\n"
	        "  --as KIND          don't recognise the listing, read it as console, yang-json,\n"
	        "                     yang-xml, ifmib, ip-link or ip-link-json\n"
	        "  --json             one JSON object instead of text\n",
	.run = run_read,
};
