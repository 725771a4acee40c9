/* seal.h - a short code over the registered facts, and characters that guard
 * a spoken value.
 *
 * Canonical text (version 1), UTF-8, one fact a line, LF after each line:
 *     portmuster-seal 1
 *     site=CODE
 *     unit=CODE
 *     parent=CODE
 *     serial=SERIAL
 *     port NAME=00-00-5E-00-53-01        one a roster entry, in roster order
 *     attached=NAME                      four lines a device, in the job's order
 *      kind=KIND
 *      serial=SERIAL
 *      address=00-00-5E-00-53-01
 * A fact without a value has an empty one. Its SHA-256 (FIPS 180-4) is the
 * digest; the seal is the digest's first 64 bits modulo 26^8, written as 8
 * characters of
 *     ACDEFHJKLMNPRTVWXY23456789
 * (one of each look-alike set 0/O/D/Q, 1/I/L, 2/Z, 5/S, 6/G, 8/B, U/V), and one
 * ISO/IEC 7064 MOD 37-2 check character over them (0..9 A..Z *). MOD 37-2 is
 * chosen because it misses no swap of neighbours; docs/seal.md has the table.
 */
#ifndef PORTMUSTER_SEAL_H
#define PORTMUSTER_SEAL_H

#include "portmuster/arena.h"
#include "portmuster/eui48.h"
#include "portmuster/gear.h"
#include "portmuster/job.h"
#include "portmuster/roster.h"

#define PM_SEAL_TEXT 12     /* "7K3M-Q9TX-4" and its terminator */

struct pm_seal {
	char text[PM_SEAL_TEXT];           /* 8 characters in two groups, then the check character */
	char sha256[65];                  /* lower case hex */
	const char *canonical;            /* the text that was hashed */
	bool complete;                    /* every fact had a value */
};

/* The value of a fact for the sheet and the seal: the first standing reading
 * in canonical form, or the job head's value for site facts; null when there
 * is none or it is in conflict. In `arena` or borrowed from the job. */
const char *pm_fact_value(const struct pm_job *job, const char *of, struct pm_arena *arena);

/* Compute the seal of a job. False when memory ran out. */
bool pm_seal_job(const struct pm_job *job, const struct pm_gear *gear,
                 struct pm_arena *arena, struct pm_seal *seal);

/* The facts that a seal is made of, wherever they come from; any may be null. */
struct pm_seal_port {
	const char *name, *address;
};
struct pm_seal_facts {
	const char *site, *unit, *parent, *serial;
	const struct pm_seal_port *ports;
	size_t port_count;
	const struct pm_attached *attached;
	size_t attached_count;
};

/* The seal of facts, as of a returned sheet. Blanks at the ends of values do not
 * count, and a port's address that reads as one is taken in canonical form. */
bool pm_seal_facts(const struct pm_seal_facts *facts, struct pm_arena *arena, struct pm_seal *seal);

/* The seal of a canonical text. */
void pm_seal_text(const char *canonical, struct pm_seal *seal);

/* SHA-256 of `length` bytes as 64 lower case hex digits, terminated. */
void pm_sha256_hex(const void *bytes, size_t length, char out[static 65]);

/* ISO/IEC 7064 MOD 37-2 check character over `length` characters of 0-9 A-Z
 * (lower case counts as upper); '*' is the 37th. 0 when a character is none of these. */
char pm_check_character(const char *text, size_t length);

/* True when `text`, check character last, checks out. */
bool pm_check_character_valid(const char *text, size_t length);

/* The check character of an address: over its twelve upper case hex digits. */
char pm_eui48_check(const struct pm_eui48 *address);

/* The spelling word for a letter, digit or '*' (either case), as in "Kilo" or
 * "seven"; null for anything else. ICAO Annex 10 volume II. */
const char *pm_spell(int character);

/* The spoken form of a digit, "SEV-en"; null for anything else. */
const char *pm_spell_digit_sound(int character);

#endif
