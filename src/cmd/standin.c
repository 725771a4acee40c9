/* stand-in: a practice console on a pseudo-terminal. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "capture/standin.h"
#include "cmd/cmd.h"
#include "cmd/stop.h"
#include "portmuster/roster.h"
#include "portmuster/text.h"
#include "store/document.h"
#include "store/find.h"

#define GEAR "eg-12"
#define MOST_SECONDS 86400

/* --- the options ---------------------------------------------------------------- */

struct asked {
	const char *gear, *style, *wrong, *link, *serial;
	uint64_t seed, noise, boot, speed, seconds;
	bool has_seed, has_boot, has_speed, reboot;
};

static bool number(const struct cmd *cmd, const char *name, const char *text, uint64_t most, uint64_t *value)
{
	if (pm_read_number(text, most, value)) return true;
	cmd_usage(cmd, "--%s takes a whole number up to %llu, not \"%s\"", name, (unsigned long long)most, text);
	return false;
}

static bool set_style(const struct cmd *cmd, const char *text, enum standin_style *style)
{
	static const char *const names[STANDIN_STYLES] = { "stanza", "rows", "table" };
	for (int i = 0; i < STANDIN_STYLES; i++)
		if (strcmp(text, names[i]) == 0) {
			*style = (enum standin_style)i;
			return true;
		}
	cmd_usage(cmd, "--style is stanza, rows or table, not \"%s\"", text);
	return false;
}

static bool set_up(const struct cmd *cmd, const struct asked *asked, const struct pm_gear *gear,
                   struct standin_options *options)
{
	if (asked->style && !set_style(cmd, asked->style, &options->style)) return false;
	if (asked->wrong) {
		size_t port = pm_roster_find(gear, asked->wrong, strlen(asked->wrong));
		if (port == PM_NO_PORT) {
			cmd_usage(cmd, "--wrong: no interface \"%s\" in gear %s", asked->wrong, pm_given(gear->id) ? gear->id.text : "profile");
			return false;
		}
		options->wrong_port = (unsigned)port + 1;
	}
	if (asked->has_boot) options->boot = (int64_t)asked->boot * 1000;
	if (asked->has_speed) options->speed = (int64_t)asked->speed;
	/* One in so many, all three kinds together. */
	options->drop = options->doubled = options->flip = (unsigned)asked->noise * 3;
	options->reboot = asked->reboot;
	options->serial = asked->serial;
	options->chatter = 12;
	return true;
}

static bool load_gear(const char *given, struct store_gear *gear, struct pm_fault *fault)
{
	char path[4096];
	if (strchr(given, '/') || strchr(given, '.')) return store_gear_load(given, gear, fault);
	return store_find(STORE_GEAR, given, NULL, path, sizeof path, fault) && store_gear_load(path, gear, fault);
}

/* --- the link ------------------------------------------------------------------------- */

/* A link of ours that a killed run left behind is replaced; nothing else is. */
static bool make_link(const char *device, const char *link, struct pm_fault *fault)
{
	struct pm_place place = { link, 0, 0 };
	struct stat about;
	if (lstat(link, &about) == 0 && S_ISLNK(about.st_mode) && stat(link, &about) != 0) unlink(link);
	if (symlink(device, link) == 0) return true;
	return pm_fail(fault, errno == EACCES ? PM_FAULT_FORBIDDEN : PM_FAULT_UNREADABLE, place, "no link made: %s", strerror(errno));
}

/* Only while it still is ours. */
static void remove_link(const char *device, const char *link)
{
	char target[256];
	ssize_t length = readlink(link, target, sizeof target - 1);
	if (length < 0) return;
	target[length] = '\0';
	if (strcmp(target, device) == 0) unlink(link);
}

/* --- the command ------------------------------------------------------------------------- */

static int perform(const struct asked *asked, const struct standin_options *options)
{
	struct pm_fault fault = { 0 };
	char device[128];
	int fd = standin_open(device, sizeof device, &fault);
	if (fd < 0) return cmd_fault(&fault);
	int stop = stop_watch();
	if (stop < 0) pm_fail(&fault, PM_FAULT_UNREADABLE, (struct pm_place){ 0 }, "signals cannot be waited for: %s", strerror(errno));
	if (stop < 0 || (asked->link && !make_link(device, asked->link, &fault))) {
		close(fd);
		return cmd_fault(&fault);
	}
	printf("%s\n", asked->link ? asked->link : device);
	int status = cmd_finish(EXIT_CLEAR);   /* whoever waits for the name has it now */
	if (status == EXIT_CLEAR && !standin_play(options, fd, stop, (int64_t)asked->seconds, &fault))
		status = cmd_fault(&fault);
	if (asked->link) remove_link(device, asked->link);
	close(fd);
	return status;
}

static int run_standin(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "gear", true, 'g' }, { "seed", true, 's' }, { "style", true, 't' }, { "noise", true, 'n' },
		{ "boot", true, 'b' }, { "speed", true, 'p' }, { "reboot", false, 'r' }, { "wrong", true, 'w' },
		{ "link", true, 'l' }, { "serial", true, 'i' }, { "seconds", true, 'e' }, { NULL, false, 0 },
	};
	struct asked asked = { .gear = GEAR };
	struct store_gear gear;
	struct pm_fault fault = { 0 };
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		bool good = true;
		switch (letter) {
		case 'g': asked.gear = value; break;
		case 's': good = asked.has_seed = number(cmd, "seed", value, UINT64_MAX, &asked.seed); break;
		case 't': asked.style = value; break;
		case 'n': good = number(cmd, "noise", value, 1000000000, &asked.noise); break;
		case 'b': good = asked.has_boot = number(cmd, "boot", value, MOST_SECONDS, &asked.boot); break;
		case 'p': good = asked.has_speed = number(cmd, "speed", value, 4000000, &asked.speed); break;
		case 'r': asked.reboot = true; break;
		case 'w': asked.wrong = value; break;
		case 'l': asked.link = value; break;
		case 'i': asked.serial = value; break;
		case 'e': good = number(cmd, "seconds", value, MOST_SECONDS, &asked.seconds); break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
		if (!good) return EXIT_UNABLE;
	}
	if (cmd_operands() < argc) return cmd_usage(cmd, "unexpected \"%s\"", argv[cmd_operands()]);
	if (!load_gear(asked.gear, &gear, &fault)) return cmd_fault(&fault);
	if (!asked.has_seed) asked.seed = (uint64_t)time(NULL) ^ (uint64_t)getpid() << 32;
	struct standin_options play = standin_defaults(&gear.gear, asked.seed);
	int status = set_up(cmd, &asked, &gear.gear, &play) ? perform(&asked, &play) : EXIT_UNABLE;
	store_gear_free(&gear);
	return status;
}

const struct cmd cmd_standin = {
	.name = "stand-in",
	.usage = "[--gear NAME|FILE] [--seed N] [--style stanza|rows|table] [--noise N] [--boot SECONDS] [--speed BITS]"
	         " [--reboot] [--wrong PORT] [--serial NUMBER] [--link PATH] [--seconds N]",
	.summary = "a console to practise on, played on a pseudo-terminal",
	.help = "It prints the device to connect to, and plays until it is interrupted.\n\n"
	        "  --gear NAME|FILE   the gear profile that it plays; eg-12 when not given\n"
	        "  --seed N           the same number plays the same again\n"
	        "  --style STYLE      how it lists: stanza, rows or table\n"
	        "  --noise N          one character in N is lost, doubled or changed\n"
	        "  --boot SECONDS     how long it starts; 20 when not given, 0: it is up\n"
	        "  --speed BITS       bits a second that it types at; 0: at once\n"
	        "  --reboot           it starts again once, in the middle of a listing\n"
	        "  --wrong PORT       this interface lists a wrong digit\n"
	        "  --serial NUMBER    the serial number that it reports; one of the gear's form otherwise\n"
	        "  --link PATH        a name for the device, removed at the end\n"
	        "  --seconds N        it ends by itself after so long\n",
	.run = run_standin,
};
