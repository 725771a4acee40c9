/* packet: the hand-over sheets of sites, for the cabinet door and for the file. */
#include "cmd/cmd.h"
#include "cmd/each.h"
#include "report/packet.h"

struct sheets {
	struct pm_text *text, *html;   /* null: that form is not wanted */
};

static int add(const struct pm_case *c, const struct pm_result *result, void *context)
{
	const struct sheets *sheets = context;
	struct pm_arena arena;
	pm_arena_init(&arena);
	const struct packet *packet = packet_make(c, result, &arena);
	struct pm_fault fault;
	int status = pm_findings_count(&result->findings, PM_STOP) ? EXIT_STOPPED : EXIT_CLEAR;
	if (packet && sheets->text)
		packet_text(packet, sheets->text);
	if (packet && sheets->html)
		packet_html(packet, sheets->html);
	if (!packet) {
		pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ .file = c->job->file }, "out of memory");
		status = cmd_fault(&fault);
	}
	pm_arena_free(&arena);
	return status;
}

static int make(const char *out, const char *html_out, struct pm_when now, char *const *paths, int count)
{
	struct pm_arena arena;
	struct pm_text text, html;
	struct sheets sheets = { .text = out || !html_out ? &text : NULL, .html = html_out ? &html : NULL };
	pm_arena_init(&arena);
	pm_text_grow(&text, &arena);
	pm_text_grow(&html, &arena);
	packet_html_begin(&html);
	int status = each_job(paths, count, now, add, &sheets), worst = status;
	packet_html_end(&html);
	if (sheets.text)
		worst = each_write(out, &text, status);
	if (sheets.html) {
		int second = each_write(html_out, &html, status);
		worst = second > worst ? second : worst;
	}
	pm_arena_free(&arena);
	return worst;
}

static int run(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = { { "html", true, 'w' }, { "out", true, 'o' }, { "now", true, 'n' }, { 0 } };
	const char *html = NULL, *out = NULL, *given = NULL;
	struct pm_fault fault;
	struct pm_when now;
	char *value;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1) {
		switch (letter) {
		case 'w': html = value; break;
		case 'o': out = value; break;
		case 'n': given = value; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	}
	argc = each_jobs(argc, argv);
	if (cmd_operands() == argc)
		return cmd_usage(cmd, "no job file given");
	if (html && out && pm_same(html, out))
		return cmd_usage(cmd, "--html and --out name the same file");
	if (!cmd_now(given, &now, &fault))
		return cmd_fault(&fault);
	char *const *paths = argv + cmd_operands();
	if (!each_may_write(out, paths, argc - cmd_operands(), &fault) || !each_may_write(html, paths, argc - cmd_operands(), &fault))
		return cmd_fault(&fault);
	return make(out, html, now, argv + cmd_operands(), argc - cmd_operands());
}

const struct cmd cmd_packet = {
	"packet", "[--html FILE] [--out FILE] [--now TIME] JOB...",
	"the sheets of a site for the cabinet door and for the file",
	"  --html FILE   write them as HTML that stands alone, a page a sheet\n"
	"  --out FILE    write them as plain text; without either they go to standard output\n"
	"  --now TIME    judge and date them as of an RFC 3339 time instead of the clock\n",
	run,
};
