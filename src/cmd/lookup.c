/* lookup: everything known of an address. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "cmd/cmd.h"
#include "cmd/json_out.h"
#include "portmuster/eui48.h"
#include "portmuster/range.h"
#include "portmuster/registry.h"
#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "store/find.h"
#include "store/map.h"

#define MOST_NEAR 6
#define SHOWN_MOST 256   /* bytes of one value of plain text */

/* All that is known of one input; the two forms of output only show it. */
struct known {
	const char *input;
	size_t length;
	bool valid;
	struct pm_eui48_fault fault;
	char reason[160];
	struct pm_eui48 near[MOST_NEAR];
	size_t nears;
	struct pm_eui48 address;
	enum pm_notation notation;
	const struct pm_range *range;
	bool checked;                     /* against a registry */
	enum pm_assignment assignment;
	struct pm_block block;
	char last_octet[24];              /* "VRID 1", or empty */
};

struct lookup {
	bool json;
	bool registry;
	struct store_map map;
	size_t count, faulty;
	bool failed;
};

static const char *const notation_names[PM_NOTATIONS] = {
	[PM_HYPHEN] = "hyphen", [PM_COLON] = "colon", [PM_COLON_SHORT] = "colon, leading zeros dropped",
	[PM_DOT_FOUR] = "dotted by four", [PM_DOT_TWO] = "dotted by two", [PM_BARE] = "bare",
	[PM_SPACED] = "spaced",
};

static const char *assignment_word(const struct known *known)
{
	if (!known->checked)
		return "not-checked";
	switch (known->assignment) {
	case PM_ASSIGNED: return "assigned";
	case PM_BLOCK_UNLISTED: return "block-unlisted";
	case PM_UNASSIGNED: return "unassigned";
	case PM_NOT_APPLICABLE: return "not-applicable";
	}
	return "not-checked";
}

/* The reason, with the character where it is one that is wrong. */
static void say_reason(struct known *known)
{
	struct pm_text text;
	pm_text_fixed(&text, known->reason, sizeof known->reason);
	pm_text_str(&text, pm_eui48_reason_text(known->fault.reason));
	if (known->fault.reason != PM_EUI48_NOT_HEX && known->fault.reason != PM_EUI48_LOOK_ALIKE)
		return;
	const char *at = known->input, *end = at + known->length;
	uint32_t point;
	for (unsigned column = 1; at < end; column++) {
		size_t used = pm_utf8_next(at, (size_t)(end - at), &point);
		if (column == known->fault.column) {
			pm_text_str(&text, ": \"");
			pm_text_visible(&text, at, used);
			pm_text_char(&text, '"');
			return;
		}
		at += used;
	}
}

static void find_out(const struct lookup *lookup, const char *input, size_t length, struct known *known)
{
	*known = (struct known){ .input = input, .length = length, .block.holder = "" };
	known->valid = pm_eui48_read(input, length, &known->address, &known->notation, &known->fault);
	if (!known->valid) {
		say_reason(known);
		known->nears = pm_eui48_near(input, length, known->near, MOST_NEAR);
		return;
	}
	known->range = pm_range_find(&known->address);
	if (known->range && known->range->last_octet) {
		struct pm_text text;
		pm_text_fixed(&text, known->last_octet, sizeof known->last_octet);
		pm_text_add(&text, "%s %u", known->range->last_octet, (unsigned)known->address.octet[5]);
	}
	known->checked = lookup->registry;
	if (known->checked)
		known->assignment = pm_registry_find(&lookup->map.registry, &known->address, &known->block);
}

static const char *eui64_text(const struct pm_eui48 *address, char out[static 24])
{
	uint8_t octet[8];
	struct pm_text text;
	pm_eui48_modified_eui64(address, octet);
	pm_text_fixed(&text, out, 24);
	for (size_t i = 0; i < sizeof octet; i++)
		pm_text_add(&text, i ? "-%02X" : "%02X", (unsigned)octet[i]);
	return out;
}

/* --- JSON -------------------------------------------------------------------- */

static json_t *json_or_null(const char *string)
{
	return string ? json_string(string) : json_null();
}

static json_t *json_range(const struct known *known)
{
	if (!known->range)
		return json_null();
	json_t *range = json_pack("{s:s, s:s}", "name", known->range->name, "source", known->range->source);
	if (known->last_octet[0])
		json_object_set_new(range, "last-octet", json_string(known->last_octet));
	return range;
}

static json_t *json_block(const struct known *known)
{
	char prefix[10];
	if (known->block.bits == 0)
		return json_null();
	return json_pack("{s:i, s:s, s:o, s:i}", "bits", (int)known->block.bits,
	                 "prefix", pm_block_prefix(&known->block, prefix),
	                 "holder", cmd_json_text(known->block.holder, strlen(known->block.holder)),
	                 "holders", (int)known->block.holders);
}

static json_t *json_near(const struct known *known)
{
	json_t *near = json_array();
	char text[PM_EUI48_TEXT];
	for (size_t i = 0; i < known->nears; i++)
		json_array_append_new(near, json_string(pm_eui48_text(&known->near[i], text)));
	return near;
}

static json_t *json_known(const struct known *known)
{
	char address[PM_EUI48_TEXT], eui64[24];
	json_t *input = cmd_json_text(known->input, known->length);
	if (!known->valid)
		return json_pack("{s:o, s:b, s:{s:i, s:s}, s:n, s:n, s:n, s:n, s:n, s:n, s:o}", "input", input,
		                 "valid", 0, "error", "column", (int)known->fault.column, "reason", known->reason,
		                 "address", "group", "local", "range", "block", "assignment",
		                 "near", json_near(known));
	char check[2] = { pm_eui48_check(&known->address), '\0' };
	return json_pack("{s:o, s:b, s:n, s:s, s:s, s:b, s:b, s:o, s:o, s:o, s:o, s:s, s:s, s:o, s:[]}",
	                 "input", input, "valid", 1, "error",
	                 "address", pm_eui48_text(&known->address, address),
	                 "notation", notation_names[known->notation],
	                 "group", pm_eui48_is_group(&known->address),
	                 "local", pm_eui48_is_local(&known->address),
	                 "quadrant", json_or_null(pm_eui48_quadrant(&known->address)),
	                 "range", json_range(known), "block", json_block(known),
	                 "register", json_or_null(known->block.bits ? pm_register_name(known->block.from) : NULL),
	                 "assignment", assignment_word(known), "check", check,
	                 "modified-eui64",
	                 json_or_null(pm_eui48_is_group(&known->address) ? NULL : eui64_text(&known->address, eui64)),
	                 "near");
}

/* --- plain text -------------------------------------------------------------- */

static void put_line(const char *label, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void put_line(const char *label, const char *format, ...)
{
	char line[3 * SHOWN_MOST];
	struct pm_text text;
	va_list args;
	pm_text_fixed(&text, line, sizeof line);
	va_start(args, format);
	pm_text_addv(&text, format, args);
	va_end(args);
	printf("  %-11s %s\n", label, line);
}

/* Text from outside, without blanks around it, made visible. */
static const char *shown(const char *bytes, size_t length, char out[static SHOWN_MOST])
{
	struct pm_text text;
	while (length && pm_is_blank(bytes[length - 1]))
		length--;
	for (; length && pm_is_blank(*bytes); length--)
		bytes++;
	pm_text_fixed(&text, out, SHOWN_MOST - 3);
	pm_text_visible(&text, bytes, length);
	if (text.cut)
		memcpy(out + text.length, "...", sizeof "...");
	return out;
}

static void put_faulty(const struct known *known)
{
	char text[SHOWN_MOST], near[PM_EUI48_TEXT];
	printf("\"%s\"\n", shown(known->input, known->length, text));
	put_line("not valid", "column %u: %s", known->fault.column, known->reason);
	for (size_t i = 0; i < known->nears; i++)
		put_line(i ? "" : "perhaps", "%s", pm_eui48_text(&known->near[i], near));
}

static void put_assignment(const struct known *known)
{
	char prefix[10], holder[SHOWN_MOST];
	const struct pm_block *block = &known->block;
	pm_block_prefix(block, prefix);
	shown(block->holder, strlen(block->holder), holder);
	if (!known->checked) {
		put_line("assignment", "not checked: no registry index");
		return;
	}
	switch (known->assignment) {
	case PM_ASSIGNED:
		put_line("assignment", "%s %s (%u bits): %s", pm_register_name(block->from), prefix,
		         block->bits, holder);
		if (block->holders > 1)
			put_line("", "the registry lists %u holders of this prefix; this is the first", block->holders);
		break;
	case PM_BLOCK_UNLISTED:
		put_line("assignment", "none: in a prefix that is split into smaller blocks, this block is not listed");
		if (block->bits)
			put_line("", "%s %s (%u bits): %s", pm_register_name(block->from), prefix, block->bits, holder);
		break;
	case PM_UNASSIGNED:
		put_line("assignment", "none: no register lists a prefix of it");
		break;
	case PM_NOT_APPLICABLE:
		put_line("assignment", "not applicable: the registry is for individual universal addresses");
		break;
	}
}

static void put_valid(const struct known *known)
{
	char address[PM_EUI48_TEXT], input[SHOWN_MOST], eui64[24];
	const char *quadrant = pm_eui48_quadrant(&known->address);
	pm_eui48_text(&known->address, address);
	printf("%s\n", address);
	if (known->length != strlen(address) || memcmp(known->input, address, known->length) != 0)
		put_line("read from", "\"%s\" (%s)", shown(known->input, known->length, input),
		         notation_names[known->notation]);
	if (known->range)
		put_line("range", "%s%s%s (%s)", known->range->name, known->last_octet[0] ? ", " : "",
		         known->last_octet, known->range->source);
	put_line("bits", "%s, %s%s%s", pm_eui48_is_group(&known->address) ? "group" : "individual",
	         pm_eui48_is_local(&known->address) ? "local" : "universal",
	         quadrant ? ", quadrant " : "", quadrant ? quadrant : "");
	put_assignment(known);
	put_line("check", "%c", pm_eui48_check(&known->address));
	if (!pm_eui48_is_group(&known->address))
		put_line("EUI-64", "%s (modified)", eui64_text(&known->address, eui64));
}

/* --- the command ------------------------------------------------------------- */

static void look_up(struct lookup *lookup, const char *input, size_t length)
{
	struct known known;
	find_out(lookup, input, length, &known);
	lookup->count++;
	lookup->faulty += !known.valid;
	if (lookup->json) {
		fputs(lookup->count == 1 ? "[\n" : ",\n", stdout);
		lookup->failed |= !cmd_put_json(json_known(&known), 0);
		return;
	}
	if (lookup->count > 1)
		putchar('\n');
	if (known.valid)
		put_valid(&known);
	else
		put_faulty(&known);
}

/* Addresses one a line; blank lines are passed over. */
static bool look_up_lines(struct lookup *lookup, struct pm_fault *fault)
{
	char *line = NULL;
	size_t room = 0;
	ssize_t got;
	errno = 0;
	while ((got = getline(&line, &room, stdin)) >= 0) {
		size_t length = (size_t)got;
		if (length && line[length - 1] == '\n')
			length--;
		if (length && line[length - 1] == '\r')
			length--;
		size_t blank = 0;
		while (blank < length && pm_is_blank(line[blank]))
			blank++;
		if (blank < length)
			look_up(lookup, line, length);
	}
	int cause = feof(stdin) ? 0 : errno;
	free(line);
	if (cause)
		return pm_fail(fault, PM_FAULT_UNREADABLE, (struct pm_place){ "standard input", 0, 0 },
		               "not readable: %s", strerror(cause));
	return true;
}

/* Without `path` an index need not be there; one that is there must be sound. */
static bool open_registry(struct lookup *lookup, const char *path, struct pm_fault *fault)
{
	char found[4096];
	if (!path && !store_find_registry(found, sizeof found))
		return true;
	lookup->registry = store_map_open(&lookup->map, path ? path : found, fault);
	return lookup->registry;
}

static int run_lookup(const struct cmd *cmd, int argc, char **argv)
{
	static const struct cmd_option options[] = {
		{ "json", false, 'j' }, { "registry", true, 'r' }, { NULL, false, 0 },
	};
	struct lookup lookup = { 0 };
	struct pm_fault fault = { 0 };
	char *value, *path = NULL;
	int letter;
	while ((letter = cmd_option_next(cmd, argc, argv, options, &value)) != -1)
		switch (letter) {
		case 'j': lookup.json = true; break;
		case 'r': path = value; break;
		case -2: return EXIT_CLEAR;
		default: return EXIT_UNABLE;
		}
	int first = cmd_operands();
	if (first >= argc)
		return cmd_usage(cmd, "no address given");

	int status = EXIT_CLEAR;
	if (!open_registry(&lookup, path, &fault)) {
		status = cmd_fault(&fault);
		if (path)
			return status;   /* the index asked for: nothing else will do */
	}
	for (int i = first; i < argc; i++) {
		if (strcmp(argv[i], "-") != 0)
			look_up(&lookup, argv[i], strlen(argv[i]));
		else if (!look_up_lines(&lookup, &fault))
			status = cmd_fault(&fault);
	}
	if (lookup.json)
		puts(lookup.count ? "\n]" : "[]");
	if (lookup.failed) {
		pm_fail(&fault, PM_FAULT_MEMORY, (struct pm_place){ 0 }, "out of memory");
		status = cmd_fault(&fault);
	}
	store_map_close(&lookup.map);
	if (status == EXIT_CLEAR && lookup.faulty)
		status = EXIT_STOPPED;
	return status;
}

const struct cmd cmd_lookup = {
	.name = "lookup",
	.usage = "[--json] [--registry FILE] [--] ADDRESS...",
	.summary = "everything known of an address",
	.help = "  ADDRESS            in any notation; \"-\" reads addresses from standard input, one a line\n"
	        "  --json             one JSON array instead of text\n"
	        "  --registry FILE    look prefixes up in this index\n",
	.run = run_lookup,
};
