#include "store/fields.h"

#include "portmuster/gear.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define A_GROUP "a POSIX extended regular expression with a group"
#define IN(type, member) .offset = offsetof(struct type, member), .also = STORE_NOWHERE

static const char *allocation_word(unsigned at)
{
	switch ((enum pm_allocation)at) {
	case PM_ALLOCATION_PATTERN: return "pattern";
	case PM_ALLOCATION_FREE: return "free";
	case PM_ALLOCATION_SHARED: return "shared";
	}
	return "unknown";
}

static void set_allocation(void *member, unsigned at)
{
	*(enum pm_allocation *)member = (enum pm_allocation)at;
}

static unsigned get_allocation(const void *member)
{
	return *(const enum pm_allocation *)member;
}

static const struct store_choice allocations = {
	PM_ALLOCATION_SHARED + 1, allocation_word, set_allocation, get_allocation
};

static const struct store_field boot_fields[] = {
	{ "least", STORE_WHOLE, STORE_REQUIRED, IN(pm_gear, boot_least), .least = 0, .most = 86400,
	  .meaning = "seconds the first boot takes at least" },
	{ "most", STORE_WHOLE, STORE_REQUIRED, IN(pm_gear, boot_most), .least = 0, .most = 86400,
	  .meaning = "seconds after which something is wrong" },
};

static const struct store_table boot_table = { "boot", boot_fields, COUNT(boot_fields), 0 };

static const struct store_field port_fields[] = {
	{ "name", STORE_TEXT, STORE_REQUIRED, IN(pm_port, name), .meaning = "as the console calls it" },
	{ "panel", STORE_TEXT, STORE_OPTIONAL, IN(pm_port, panel), .meaning = "what is printed beside it" },
	{ "aliases", STORE_TEXTS, STORE_OPTIONAL, IN(pm_port, aliases), .meaning = "other console names" },
	{ "role", STORE_TEXT, STORE_OPTIONAL, IN(pm_port, role), .meaning = "what it is used for" },
};

static const struct store_table port_table = { "port", port_fields, COUNT(port_fields), sizeof(struct pm_port) };

static const struct store_field console_fields[] = {
	{ "speed", STORE_WHOLE, STORE_OPTIONAL, IN(pm_console, speed), .least = 50, .most = 4000000,
	  .meaning = "bits a second; 9600 when not given" },
	{ "framing", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, framing), .accepts = "such as `8N1`",
	  .meaning = "data bits, parity and stop bits; 8N1 when not given" },
	{ "listing", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, listing),
	  .meaning = "the read-only command that lists the interfaces" },
	{ "identity", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, identity),
	  .meaning = "the read-only command that shows the serial number" },
	{ "pagers", STORE_TEXTS, STORE_OPTIONAL, IN(pm_console, pagers),
	  .meaning = "texts of pager prompts beyond the usual ones" },
	{ "serials", STORE_TEXTS, STORE_OPTIONAL, IN(pm_console, serials),
	  .meaning = "words that stand before the serial number" },
	{ "prompt", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, prompt), .accepts = "a POSIX extended regular expression",
	  .meaning = "the prompt, from the start of its line to its end" },
	{ "interface-line", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, interface_line), .accepts = A_GROUP,
	  .meaning = "a line with which an interface begins; the group is its name" },
	{ "address-line", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, address_line), .accepts = A_GROUP,
	  .meaning = "a line that bears an interface's address; the group is the address" },
	{ "serial-line", STORE_TEXT, STORE_OPTIONAL, IN(pm_console, serial_line), .accepts = A_GROUP,
	  .meaning = "a line that bears the unit's serial number; the group is the number" },
};

static const struct store_table console_table = { "console", console_fields, COUNT(console_fields), 0 };

static const struct store_field gear_fields[] = {
	{ "format", STORE_WHOLE, STORE_REQUIRED, IN(pm_gear, format), .least = 1, .most = STORE_FORMAT,
	  .meaning = "number of this format; a newer one is refused" },
	{ "gear", STORE_TEXT, STORE_REQUIRED, IN(pm_gear, id), .meaning = "its id, the file's name without `.yaml`" },
	{ "title", STORE_TEXT, STORE_REQUIRED, IN(pm_gear, title), .meaning = "its name for people" },
	{ "training", STORE_FLAG, STORE_OPTIONAL, IN(pm_gear, training),
	  .meaning = "practice gear: documentation addresses are expected" },
	{ "serial-form", STORE_TEXT, STORE_OPTIONAL, IN(pm_gear, serial_form), .accepts = "a form, see below",
	  .meaning = "what a serial number must look like" },
	{ "allocation", STORE_CHOICE, STORE_OPTIONAL, IN(pm_gear, allocation), .choice = &allocations,
	  .meaning = "how the maker numbers the interfaces: from one base, without a rule, or one address "
	             "for several; `pattern` when not given" },
	{ "prefixes", STORE_TEXTS, STORE_OPTIONAL, IN(pm_gear, prefixes), .accepts = "leading octets in hyphen form",
	  .meaning = "prefixes the maker is known to use; none when not known" },
	{ "boot", STORE_MAPPING, STORE_OPTIONAL, .offset = 0, .also = STORE_NOWHERE, .table = &boot_table,
	  .meaning = "how long the first boot takes" },
	{ "ports", STORE_MAPPINGS, STORE_REQUIRED, .offset = offsetof(struct pm_gear, ports),
	  .also = offsetof(struct pm_gear, port_count), .table = &port_table,
	  .meaning = "the roster: every interface that must be accounted for, in order" },
	{ "console", STORE_MAPPING, STORE_OPTIONAL, .offset = offsetof(struct pm_gear, console),
	  .also = STORE_NOWHERE, .table = &console_table, .meaning = "how its console behaves" },
};

const struct store_table store_gear_table = { "gear profile", gear_fields, COUNT(gear_fields), sizeof(struct pm_gear) };
