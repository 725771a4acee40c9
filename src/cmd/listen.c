/* listen: from a serial console into the job, without a screen. */
#include <poll.h>
#include <pwd.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "capture/line.h"
#include "cmd/cmd.h"
#include "cmd/stop.h"
#include "portmuster/text.h"
#include "report/report.h"
#include "walk/held.h"
#include "walk/live.h"

#define MOST_PASSES 9
#define MOST_SECONDS 86400

struct options {
	const char *line, *by, *now;
	struct live_options live;
	int64_t seconds;           /* 0: no limit */
	bool json;
};

struct listen {
	struct session session;
	struct live *live;
	int stop;                  /* readable when a signal came */
	int signal;                /* the one that ended it, or 0 */
	int64_t clock_ahead;       /* seconds that its clock is ahead of the system's */
	int64_t until;             /* milliseconds; 0: no limit */
	size_t pass, printed;      /* readings told so far, of which pass */
	char said[PM_FAULT_TEXT];  /* last, digits left out */
};

/* --- what is told meanwhile, on standard error --- */

static void put_visible(const char *string)
{
	char shown[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, shown, sizeof shown);
	pm_text_visible(&text, string, strlen(string));
	fputs(shown, stderr);
}

/* Numbers run; only other words are news. */
static void tell_saying(struct listen *l)
{
	char words[sizeof l->said];
	struct pm_text text;
	const char *saying = live_saying(l->live);
	pm_text_fixed(&text, words, sizeof words);
	for (const char *c = saying; *c; c++)
		if (!pm_is_digit((unsigned char)*c))
			pm_text_char(&text, *c);
	if (strcmp(words, l->said) == 0)
		return;
	/* what it begins with was told, as long as it goes on beginning with it */
	size_t head = strcspn(words, ";");
	const char *rest = strchr(saying, ';');
	bool told = rest && words[head] && strncmp(words, l->said, head + 1) == 0;
	memcpy(l->said, words, sizeof words);
	put_visible(told ? rest + 1 + strspn(rest + 1, " ") : saying);
	fputc('\n', stderr);
}

static void tell_reading(const struct listen *l, const struct listing_reading *reading)
{
	char address[PM_EUI48_TEXT];
	fprintf(stderr, "  pass %zu  ", l->pass + 1);
	put_visible(reading->interface);
	fprintf(stderr, "  %s", pm_eui48_text(&reading->address, address));
	if (reading->port == PM_NO_PORT) {
		fputs("  no such interface on this gear: left out", stderr);
	} else {
		const struct pm_call *call = &l->session.result.roster.call[reading->port];
		if (call->valid && pm_eui48_compare(&call->address, &reading->address) != 0)
			fprintf(stderr, "  DIFFERS from the job: %s", pm_eui48_text(&call->address, address));
	}
	fputc('\n', stderr);
}

/* Every reading once, pass by pass, also when several come at the same time. */
static void tell_readings(struct listen *l)
{
	const struct talk *talk = live_talk(l->live);
	for (;;) {
		bool done = l->pass < talk_passes(talk);
		const struct listing *listing = done ? &talk_pass(talk, l->pass)->listing : talk_running(talk);
		if (l->printed > listing->count)
			l->printed = 0;   /* it began anew */
		while (l->printed < listing->count)
			tell_reading(l, &listing->reading[l->printed++]);
		if (!done)
			return;
		l->pass++;
		l->printed = 0;
	}
}

static void tell_sum(const struct listen *l)
{
	const struct live_sum *sum = live_sum(l->live);
	char told[120];
	struct pm_text text;
	size_t whole = sum->complete - sum->lacking;
	fprintf(stderr, "recorded: %zu %s complete, ", whole, whole == 1 ? "pass" : "passes");
	if (sum->lacking)
		fprintf(stderr, "%zu with interfaces missing, ", sum->lacking);
	fprintf(stderr, "%zu cut short, %zu readings", sum->cut, sum->readings);
	pm_text_fixed(&text, told, sizeof told);
	session_say_conflicts(&l->session, &text);
	put_visible(told);
	if (sum->differing)
		fprintf(stderr, ", %zu DIFFER from what the job held", sum->differing);
	if (sum->serials)
		fprintf(stderr, ", %zu DIFFERENT serial numbers and none taken: look at the router's label", sum->serials);
	if (sum->strangers)
		fprintf(stderr, ", %zu of unknown interfaces left out", sum->strangers);
	if (sum->problems)
		fprintf(stderr, ", %zu lines not readable", sum->problems);
	if (sum->secrets)
		fprintf(stderr, "; %zu secrets are not kept", sum->secrets);
	fputc('\n', stderr);
}

/* --- listening --- */

static void wait_for_more(const struct listen *l)
{
	struct pollfd watched[2] = {
		{ .fd = live_fd(l->live), .events = (short)(POLLIN | (live_sending(l->live) ? POLLOUT : 0)) },
		{ .fd = l->stop, .events = POLLIN },
	};
	int64_t now = live_clock();
	int wait = live_wait(l->live, now);
	if (wait < 0 || wait > 1000)
		wait = 1000;
	if (l->until && l->until - now < wait)
		wait = l->until > now ? (int)(l->until - now) : 0;
	poll(watched, 2, wait);
}

/* Somebody else wrote the job meanwhile: what was read goes into the new one. */
static bool mended(struct listen *l, struct pm_fault *fault)
{
	if (fault->kind != PM_FAULT_CHANGED)
		return false;
	fputs("the job file was changed by somebody else: loads it again\n", stderr);
	return session_reload(&l->session, fault);
}

/* The signal that is to end it, or 0. At Ctrl-Z it stops, and gives the line up
 * meanwhile. */
static int heed_signals(const struct listen *l)
{
	int came = stop_came(l->stop);
	if (came != SIGTSTP)
		return came;
	bool reading = !live_over(l->live);
	live_pause(l->live);
	stop_suspend();
	do   /* pressed twice is pressed once */
		came = stop_came(l->stop);
	while (came == SIGTSTP);
	if (reading && !came)
		fputs("takes the line again; the pass that ran begins anew\n", stderr);
	return came;
}

/* Until all is read, the line is gone, the time is up or a signal came. False
 * with a fault in the second case, and when something could not be recorded. */
static bool listen_on(struct listen *l, struct pm_fault *fault)
{
	bool good = true;
	while (good && !live_over(l->live)) {
		tell_saying(l);
		wait_for_more(l);
		if (!session_refresh(&l->session, pm_when_utc((int64_t)time(NULL) + l->clock_ahead)))
			return pm_fail(fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
		good = live_service(l->live, live_clock(), fault) || mended(l, fault);
		tell_readings(l);
		l->signal = heed_signals(l);
		if (l->signal || (l->until && live_clock() >= l->until))
			break;
	}
	if (good && !live_over(l->live)) {
		fputs(l->signal ? "stopped: keeps what was read\n" : "the time is up: keeps what was read\n", stderr);
		good = live_cut(l->live, fault) || (mended(l, fault) && live_cut(l->live, fault));
		tell_readings(l);
	}
	tell_saying(l);
	return good;
}

/* The device to listen to: the one named, or the only one there is. */
static bool choose(const struct options *o, char out[static 256], struct pm_fault *fault)
{
	struct line_device device[16];
	struct pm_text text;
	pm_text_fixed(&text, out, 256);
	if (o->line) {
		pm_text_str(&text, o->line);
		return true;
	}
	size_t count = line_list("/dev", device, sizeof device / sizeof *device), usable = 0, pick = 0;
	for (size_t i = 0; i < count; i++)
		if (device[i].usable) {
			usable++;
			pick = i;
		}
	if (usable != 1)
		return line_none_named(device, count, fault);
	pm_text_str(&text, device[pick].path);
	fputs("takes the only serial device there is: ", stderr);
	put_visible(device[pick].path);
	fprintf(stderr, " (%s)\n", device[pick].hint);
	return true;
}

/* Whoever is named, else the account: an entry without a name is worth nothing. */
static void sign(struct session *session, const char *by)
{
	const struct passwd *user = by ? NULL : getpwuid(getuid());
	struct pm_text text;
	pm_text_fixed(&text, session->by, sizeof session->by);
	pm_text_str(&text, by ? by : user ? user->pw_name : "not named");
}

static int report(const struct listen *l, const struct options *o, const char *path)
{
	struct pm_case c = session_case(&l->session);
	const struct pm_result *result = &l->session.result;
	struct report_job job = { .file = path, .the_case = &c, .result = result };
	struct report *out = o->json ? report_json(stdout) : report_text(stdout, false);
	if (!out || !report_add(out, &job) || !report_end(out))
		return EXIT_UNABLE;
	bool all = result->roster.confirmed == result->roster.count;
	return all && !pm_findings_count(&result->findings, PM_STOP) ? EXIT_CLEAR : EXIT_STOPPED;
}

/* With the session open and the phase too. */
static int listen_into(struct listen *l, const struct options *o, const char *path)
{
	char device[256];
	struct pm_fault fault;
	if (!choose(o, device, &fault))
		return cmd_fault(&fault);
	l->stop = stop_watch();
	stop_heed_suspend();
	l->live = live_open(&l->session, device, &o->live, live_clock(), &fault);
	if (!l->live)
		return cmd_fault(&fault);
	l->until = o->seconds ? live_clock() + o->seconds * 1000 : 0;
	fprintf(stderr, "listens to %s\n", live_where(l->live));
	bool good = listen_on(l, &fault);
	if (!good)
		cmd_fault(&fault);
	tell_sum(l);
	/* a line that went has left what was read; a job that takes nothing has not */
	bool unable = (!good && !live_over(l->live)) || live_sum(l->live)->readings == 0;
	bool unclear = live_sum(l->live)->serials > 0;
	live_close(l->live);
	int status = report(l, o, path);
	if (status == EXIT_CLEAR && unclear)
		status = EXIT_STOPPED;
	return l->signal ? 128 + l->signal : unable ? EXIT_UNABLE : status;
}

/* A phase that is shut takes nothing, here as in the wizard. */
static int held(const struct session *session, const char *path)
{
	char why[400];
	struct pm_text text;
	struct pm_fault fault;
	pm_text_fixed(&text, why, sizeof why);
	if (!held_from_mustering(session, &text))
		return EXIT_CLEAR;
	pm_fail(&fault, session->read_only ? PM_FAULT_LOCKED : PM_FAULT_VALUE, (struct pm_place){ .file = path }, "%s", why);
	if (!session->read_only)
		pm_fail_remedy(&fault, "go on with: portmuster walk");
	cmd_fault(&fault);
	return session->read_only ? EXIT_UNABLE : EXIT_STOPPED;
}

static bool number(const char *value, uint64_t most, uint64_t *out)
{
	return pm_read_number(value, most, out) && *out > 0;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "line", true, 'l' }, { "passes", true, 'p' }, { "watch", false, 'w' }, { "by", true, 'b' },
		{ "seconds", true, 's' }, { "now", true, 'n' }, { "json", false, 'j' }, { 0 },
	};
	struct options o = { 0 };
	struct listen l = { .stop = -1 };
	struct pm_fault fault;
	struct pm_when now;
	uint64_t count;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'l': o.line = value; break;
		case 'w': o.live.watch = true; break;
		case 'b': o.by = value; break;
		case 'n': o.now = value; break;
		case 'j': o.json = true; break;
		case 'p':
			if (!number(value, MOST_PASSES, &count))
				return cmd_usage(cmd, "--passes takes a number from 1 to %d", MOST_PASSES);
			o.live.passes = (unsigned)count;
			break;
		case 's':
			if (!number(value, MOST_SECONDS, &count))
				return cmd_usage(cmd, "--seconds takes a number from 1 to %d", MOST_SECONDS);
			o.seconds = (int64_t)count;
			break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	if (argc - cmd_operands() != 1)
		return cmd_usage(cmd, "one job file is needed");
	const char *path = argv[cmd_operands()];
	if (!cmd_now(o.now, &now, &fault) || !session_open(&l.session, path, now, &fault))
		return cmd_fault(&fault);
	l.clock_ahead = o.now ? now.second - (int64_t)time(NULL) : 0;
	sign(&l.session, o.by);
	int status = held(&l.session, path);
	if (status == EXIT_CLEAR)
		status = listen_into(&l, &o, path);
	session_close(&l.session);
	return status;
}

const struct cmd cmd_listen = {
	"listen", "[--line DEVICE] [--passes N] [--watch] [--by NAME] [--seconds N] [--now TIME] [--json] JOB",
	"capture from a serial console into the job",
	"  --line DEVICE  the serial line, such as /dev/ttyUSB0; the only one there is otherwise\n"
	"  --passes N     how often the interfaces are listed, each time a capture of its own; 2 otherwise\n"
	"  --watch        send nothing: read along while somebody else types\n"
	"  --by NAME      who is at the rack; the account's name otherwise\n"
	"  --seconds N    stop after so long, and keep what was read\n"
	"  --now TIME     start the session's clock at an RFC 3339 time, for practice\n"
	"  --json         the result as JSON\n",
	run,
};
