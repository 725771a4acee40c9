/* gear.h - a gear profile: what one router model has and how it behaves. */
#ifndef PORTMUSTER_GEAR_H
#define PORTMUSTER_GEAR_H

#include "portmuster/word.h"

enum pm_allocation {
	PM_ALLOCATION_PATTERN,  /* addresses run from one base by one step, in groups */
	PM_ALLOCATION_FREE,     /* no rule: say nothing about patterns */
	PM_ALLOCATION_SHARED,   /* several interfaces may bear one address */
};

/* One interface of the roster. */
struct pm_port {
	struct pm_word name;      /* as the console calls it: "port1" */
	struct pm_word panel;     /* what is printed beside it: "1", "MGMT" */
	struct pm_words aliases;  /* other console names, matched like the name */
	struct pm_word role;      /* free text: "field network", "management" */
};

/* Console manners. Commands are the only ones a capture may ever send. */
struct pm_console {
	int64_t speed;            /* bits a second; 9600 when not given */
	struct pm_word framing;   /* "8N1" when not given */
	struct pm_word listing;   /* the read-only command that lists the interfaces */
	struct pm_word identity;  /* the read-only command that shows the serial number */
	struct pm_words pagers;   /* texts of pager prompts beyond the usual ones */
	struct pm_words serials;  /* words that stand before the serial number */
	struct pm_word prompt;    /* the prompt, from the start of its line to its end, as a POSIX
	                             extended regular expression (IEEE Std 1003.1); may be absent */
	/* Lines of the listing that the usual rules don't tell, as expressions of
	 * the same kind whose first group is what is wanted; each may be absent. */
	struct pm_word interface_line;   /* an interface begins; the group is its name */
	struct pm_word address_line;     /* the group is the address of the interface at hand */
	struct pm_word serial_line;      /* the group is the unit's serial number */
};

struct pm_gear {
	const char *file;         /* where it was read from */
	const char *digest;       /* SHA-256 of the file, 64 hex digits; null: not taken */
	int64_t format;
	struct pm_word id, title;
	bool training;            /* practice gear: documentation addresses are expected */
	struct pm_word serial_form;   /* see pm_form_match */
	enum pm_allocation allocation;
	struct pm_words prefixes; /* OUIs or longer prefixes the maker is known to use,
	                             hyphen form; empty: not known */
	int64_t boot_least, boot_most;   /* seconds of the first boot */
	struct pm_port *ports;
	size_t port_count;
	struct pm_console console;
	struct pm_stray_keys strays;
};

/* Does `text` fit `form`? In a form `9` stands for a digit, `A` for an upper
 * case letter, `H` for an upper case hex digit, `?` for a digit or upper case
 * letter, `\` takes the next character literally, all else stands for itself.
 * On failure `*column` (if given) is the 1-based first character that does not
 * fit (one past the end when the text is too short). An empty or null form
 * fits everything. */
bool pm_form_match(const char *form, const char *text, unsigned *column);

#endif
