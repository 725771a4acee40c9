/* review: a folder of job files at once: the lead's board, or a report of it. */
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "board/board.h"
#include "cmd/calendar.h"
#include "cmd/cmd.h"
#include "cmd/each.h"
#include "report/calendar.h"
#include "report/review.h"

#define SEED 1
#define QUIET 500     /* milliseconds without a word of how far the reading is, */
#define AGAIN 100     /* and between two of them */
#define BAR_LEAST 8
#define BAR_MOST 40

enum form { FORM_ANY, FORM_TEXT, FORM_JSON, FORM_CSV };

struct options {
	enum form form;
	const char *html, *calendar;           /* files to be written, or null */
	struct gather_options gather;
	struct board_options board;
};

static int out_of_memory(void)
{
	struct pm_fault fault;
	pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
	return cmd_fault(&fault);
}

/* --- reading ------------------------------------------------------------------ */

static long long milliseconds(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* How wide the terminal is now: it may be made another size meanwhile. */
static size_t terminal_columns(void)
{
	struct winsize size;
	return ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col ? size.ws_col : 80;
}

/* "reading [####......] 40 of 100", never as wide as the terminal: at its edge the line
 * would become two. Returns its width. */
static size_t show_progress(size_t done, size_t total)
{
	char line[BAR_MOST + 80], numbers[60];
	struct pm_text text, count;
	size_t room = terminal_columns() - 1;
	total = total > done ? total : done;
	pm_text_fixed(&count, numbers, sizeof numbers);
	pm_text_add(&count, "%zu of %zu", done, total);
	pm_text_fixed(&text, line, room < sizeof line ? room + 1 : sizeof line);
	size_t words = strlen("reading [] ") + count.length, bar = room > words ? room - words : 0;
	bar = bar > BAR_MOST ? BAR_MOST : bar;
	pm_text_str(&text, "reading ");
	if (bar >= BAR_LEAST && total) {
		pm_text_char(&text, '[');
		for (size_t i = 0; i < bar; i++)
			pm_text_char(&text, i < bar * done / total ? '#' : '.');
		pm_text_str(&text, "] ");
	}
	pm_text_str(&text, numbers);
	fprintf(stderr, "\r%s", line);
	return text.length;
}

/* Wait until all is read; on a terminal, show how far it is once that takes long. */
static void read_all(struct gather *gather)
{
	bool terminal = isatty(STDERR_FILENO);
	long long begun = milliseconds(), shown = begun + QUIET - AGAIN;
	size_t width = 0;
	while (!gather_poll(gather, AGAIN)) {
		if (!terminal || milliseconds() - shown < AGAIN)
			continue;
		width = show_progress(gather_fleet(gather)->count, gather_total(gather));
		shown = milliseconds();
	}
	if (width > 0)
		fprintf(stderr, "\r%*s\r", (int)width, "");
}

/* --- writing -------------------------------------------------------------------- */

static int write_form(void (*write)(const struct review *review, struct pm_text *out), const struct review *review,
                      const char *path, int status)
{
	struct pm_arena arena;
	struct pm_text text;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	write(review, &text);
	status = each_write(path, &text, status);
	pm_arena_free(&arena);
	return status;
}

/* What needs each job in full: they are opened one after another, and let go. */
static int visit_jobs(struct gather *gather, struct review_json *json, struct calendar *calendar, size_t count)
{
	int status = EXIT_CLEAR;
	for (size_t i = 0; i < count && status != EXIT_UNABLE; i++) {
		struct gather_detail detail;
		struct pm_fault fault;
		struct report_job job = { .file = gather_fleet(gather)->site[i].file };
		bool open = gather_open(gather, i, &detail, &fault);
		if (open) {
			job.the_case = &detail.the_case;
			job.result = &detail.result;
		} else {
			job.fault = &fault;
			status = EXIT_STOPPED;
		}
		if (json && !review_json_add(json, &job))
			status = EXIT_UNABLE;
		/* what cannot be an event was complained of; the others still are */
		if (calendar && open && calendar_visit(&detail.the_case, &detail.result, calendar) != EXIT_CLEAR)
			status = status == EXIT_CLEAR ? EXIT_STOPPED : status;
		if (calendar && !open)
			cmd_fault(&fault);
		if (open)
			gather_close(&detail);
	}
	return status;
}

static int write_calendar(const struct calendar *calendar, const char *path, int status)
{
	if (calendar->events || calendar->out->cut)
		return each_write(path, calendar->out, status);
	fprintf(stderr, "portmuster: no appointment stands: no calendar is written\n");
	return status == EXIT_CLEAR ? EXIT_STOPPED : status;
}

static int worse(int a, int b)
{
	return a > b ? a : b;
}

static int write_all(const struct options *o, struct gather *gather, const struct review *review)
{
	struct pm_arena arena;
	struct pm_text text;
	struct calendar calendar;
	struct review_json json;
	int status = review_stops(review) ? EXIT_STOPPED : EXIT_CLEAR, worst = status;
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	calendar_begin(&calendar, &text, review->now);
	if (o->form == FORM_JSON)
		review_json_begin(&json, review, stdout);
	if (o->form == FORM_JSON || o->calendar)
		worst = worse(worst, visit_jobs(gather, o->form == FORM_JSON ? &json : NULL, o->calendar ? &calendar : NULL,
		                                review->fleet->count));
	if (o->form == FORM_JSON && (worst == EXIT_UNABLE || !review_json_end(&json)))
		worst = EXIT_UNABLE;
	calendar_end(&calendar);
	if (o->form == FORM_TEXT || (o->form == FORM_ANY && !o->html && !o->calendar))
		worst = worse(worst, write_form(review_text, review, NULL, status));
	if (o->form == FORM_CSV)
		worst = worse(worst, write_form(review_csv, review, NULL, status));
	if (o->html)
		worst = worse(worst, write_form(review_html, review, o->html, status));
	if (o->calendar)
		worst = worse(worst, write_calendar(&calendar, o->calendar, status));
	pm_arena_free(&arena);
	return worst;
}

/* What lies there and is no job file, where no result has a place to say so. */
static void tell_left_out(const struct pm_fleet *fleet)
{
	char line[3000];
	struct pm_text text;
	pm_text_fixed(&text, line, sizeof line);
	review_put_left_out(&text, fleet);
	if (fleet->left_out_count)
		fprintf(stderr, "portmuster: " REVIEW_LEFT_OUT "%s\n", line);
}

static bool result_tells(const struct options *o)
{
	return o->form == FORM_TEXT || o->form == FORM_JSON || o->html || (o->form == FORM_ANY && !o->calendar);
}

/* Judge the fleet as it was read, and write what was asked for. */
static int report(const struct options *o, struct gather *gather)
{
	struct pm_arena arena;
	struct pm_fault fault;
	struct pm_fleet_findings findings;
	struct pm_forecast forecast;
	read_all(gather);
	const struct pm_fleet *fleet = gather_fleet(gather);
	struct review review = {
		.fleet = fleet, .findings = &findings, .forecast = &forecast, .seed = o->board.forecast.seed,
		.now = o->gather.now, .folder = o->gather.folder, .folder_count = o->gather.folder_count,
		.revision = o->gather.revision,
	};
	if (!fleet->count || !result_tells(o))
		tell_left_out(fleet);
	if (!fleet->count) {
		pm_fail(&fault, PM_FAULT_MISSING, (struct pm_place){ .file = o->gather.folder[0] }, "there is no job file");
		pm_fail_remedy(&fault, "name a folder with job files in it (*.yaml)");
		return cmd_fault(&fault);
	}
	pm_arena_init(&arena);
	int status;
	if (pm_fleet_check(fleet, review.now, &arena, &findings) &&
	    pm_forecast_make(fleet, review.now, &o->board.forecast, &arena, &forecast)) {
		review_count(&review);
		status = write_all(o, gather, &review);
	} else {
		status = out_of_memory();
	}
	pm_arena_free(&arena);
	return status;
}

/* --- the command ------------------------------------------------------------------ */

static bool board_wanted(const struct options *o)
{
	const char *term = getenv("TERM");
	return o->form == FORM_ANY && !o->html && !o->calendar && isatty(STDIN_FILENO) && isatty(STDOUT_FILENO) &&
	       term && *term && strcmp(term, "dumb") != 0;
}

/* The board; false when the terminal can't show it. */
static bool show_board(const struct options *o, struct gather *gather, int *status)
{
	struct pm_fault fault;
	int signal = 0;
	/* only the screen asks the locale, and only what characters it can show */
	setlocale(LC_CTYPE, "");
	if (!board_run(gather, &o->board, &signal, &fault)) {
		cmd_fault(&fault);
		return false;
	}
	*status = signal ? 128 + signal : EXIT_CLEAR;
	return true;
}

static int review(const struct options *o)
{
	struct pm_fault fault;
	int status;
	struct gather *gather = gather_begin(&o->gather, &fault);
	if (!gather)
		return cmd_fault(&fault);
	if (!board_wanted(o) || !show_board(o, gather, &status))
		status = report(o, gather);
	gather_free(gather);
	return status;
}

static bool read_deadline(const char *given, struct gather_options *options, struct pm_fault *fault)
{
	const char *why = "";
	char quoted[120];
	struct pm_text text;
	options->has_deadline = true;
	if (pm_day_read(given, &options->deadline_day, &why))
		return true;
	pm_text_fixed(&text, quoted, sizeof quoted);
	pm_text_quote(&text, given);
	pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ 0 }, "--deadline %s: %s", quoted, why);
	return pm_fail_remedy(fault, "write a full date, such as 2026-03-02");
}

/* Only one result can go to standard output. */
static bool too_many(const struct options *o)
{
	bool text = o->form != FORM_ANY, html = o->html && pm_same(o->html, "-"), calendar = o->calendar && pm_same(o->calendar, "-");
	return text + html + calendar > 1 || (o->html && o->calendar && pm_same(o->html, o->calendar));
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "text", false, 't' }, { "json", false, 'j' }, { "csv", false, 'c' }, { "html", true, 'w' },
		{ "calendar", true, 'k' }, { "revision", true, 'r' }, { "deadline", true, 'd' }, { "seed", true, 's' },
		{ "now", true, 'n' }, { "by", true, 'b' }, { "ascii", false, 'A' }, { "no-colour", false, 'C' }, { 0 },
	};
	static const struct { int letter; enum form form; } forms[] = {
		{ 't', FORM_TEXT }, { 'j', FORM_JSON }, { 'c', FORM_CSV },
	};
	const char *no_colour = getenv("NO_COLOR"), *now = NULL, *deadline = NULL;
	struct options o = { .board = { .colour = !(no_colour && *no_colour), .forecast.seed = SEED } };
	struct pm_fault fault;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		for (size_t i = 0; i < sizeof forms / sizeof *forms; i++)
			if (letter == forms[i].letter) {
				if (o.form != FORM_ANY && o.form != forms[i].form)
					return cmd_usage(cmd, "--text, --json and --csv exclude each other");
				o.form = forms[i].form;
			}
		switch (letter) {
		case 't': case 'j': case 'c': break;
		case 'w': o.html = value; break;
		case 'k': o.calendar = value; break;
		case 'r': o.gather.revision = value; break;
		case 'd': deadline = value; break;
		case 's':
			if (!pm_read_number(value, INT64_MAX, &o.board.forecast.seed))
				return cmd_usage(cmd, "--seed %s is no whole number", value);
			break;
		case 'n': now = value; break;
		case 'b': o.board.name = value; break;
		case 'A': o.board.ascii = true; break;
		case 'C': o.board.colour = false; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	if (cmd_operands() == argc)
		return cmd_usage(cmd, "no folder given");
	if (too_many(&o))
		return cmd_usage(cmd, "two results would go to the same place");
	if (!cmd_now(now, &o.gather.now, &fault) || (deadline && !read_deadline(deadline, &o.gather, &fault)))
		return cmd_fault(&fault);
	char *const *given = argv + cmd_operands();
	if (!each_may_write(o.html, given, argc - cmd_operands(), &fault) || !each_may_write(o.calendar, given, argc - cmd_operands(), &fault))
		return cmd_fault(&fault);
	o.gather.folder = (const char *const *)(argv + cmd_operands());
	o.gather.folder_count = (size_t)(argc - cmd_operands());
	o.board.clock_ahead = now ? o.gather.now.second - (int64_t)time(NULL) : 0;
	return review(&o);
}

const struct cmd cmd_review = {
	"review", "[--text|--json|--csv] [--html FILE] [--calendar FILE] [OPTION...] FOLDER...",
	"a folder of job files at once: who is ready, who is blocked and by what, what clashes",
	"On a terminal it opens the board; elsewhere, or with --text, it prints plain text.\n\n"
	"  --text           plain text: a row a site, what blocks, what clashes, the forecast\n"
	"  --json           the result as JSON\n"
	"  --csv            a row a site as comma-separated values\n"
	"  --html FILE      write it as HTML that stands alone (- is standard output)\n"
	"  --calendar FILE  write all appointments as an iCalendar\n"
	"  --revision REV   the files as they are at a git revision\n"
	"  --deadline DATE  for every site, instead of those in fleet.yaml\n"
	"  --seed N         of the forecast; the same files and seed give the same one\n"
	"  --now TIME       judge as of an RFC 3339 time instead of the clock\n"
	"  --by NAME        the lead's name, for waivers signed at the board\n"
	"  --ascii          draw the board with ASCII characters only\n"
	"  --no-colour      draw the board without colour (NO_COLOR does the same)\n",
	run,
};
