/* source.h - text that lists interfaces, of whatever kind: console text, or one
 * of the open listings, recognised by how it begins.
 *
 * Console text, walks and `ip link` may have been joined: each line goes to the
 * reader whose it is, and what they read is united.
 *
 * The open listings: interfaces of RFC 8343 in JSON (RFC 7951) and in XML; the
 * text of a walk of the IF-MIB (RFC 2863); `ip link` as text and as JSON.
 */
#ifndef CAPTURE_SOURCE_H
#define CAPTURE_SOURCE_H

#include "capture/listing.h"
#include "portmuster/fault.h"

enum source_kind {
	SOURCE_CONSOLE,       /* a router's console: listing.h */
	SOURCE_YANG_JSON,     /* ietf-interfaces in JSON */
	SOURCE_YANG_XML,      /* ietf-interfaces in XML */
	SOURCE_IFMIB,         /* a walk of the IF-MIB as text */
	SOURCE_IP_LINK,       /* `ip link` */
	SOURCE_IP_LINK_JSON,  /* `ip -j link` */
	SOURCE_KINDS,
	SOURCE_AUTO = SOURCE_KINDS
};

/* "console", "yang-json" ...: the names that --as takes; never null. */
const char *source_word(enum source_kind kind);
bool source_find(const char *word, enum source_kind *kind);
/* What it is, for people: "interfaces in JSON (RFC 8343, RFC 7951)". */
const char *source_title(enum source_kind kind);

/* What a text was read as: the kinds in the order in which they first came, and
 * the line where each did. */
struct source_parts {
	enum source_kind kind[SOURCE_KINDS];
	uint32_t line[SOURCE_KINDS];
	size_t count;               /* at least one */
};

struct source;

/* Begin reading into `*listing`, whose parts live in `arena`, as `as`, or as what
 * the first bytes show (SOURCE_AUTO). `gear` may be null, as in listing.h. Null
 * when memory ran out. */
struct source *source_begin(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena,
                            enum source_kind as);
/* Feed bytes, in pieces of any size. False when memory ran out. */
bool source_feed(struct source *source, const void *bytes, size_t length);
/* No more bytes: complete the listing and free the source. What could not be read
 * is a problem in the listing; false only when memory ran out. */
bool source_end_parts(struct source *source, struct source_parts *parts);
/* The same; `*kind` (may be null) is the first of the parts. */
bool source_end(struct source *source, enum source_kind *kind);

#endif
