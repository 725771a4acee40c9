/* open_parts.h - what the readers of open listings (see source.h) share.
 *
 * Each reader is fed pieces of any size and keeps no more than one interface at
 * a time, but for the walk, whose columns must be joined.
 */
#ifndef CAPTURE_OPEN_PARTS_H
#define CAPTURE_OPEN_PARTS_H

#include "capture/collect.h"
#include "capture/listing.h"

struct source_reader {
	/* Does text that begins with these lines look like it? `text` begins with a
	 * line that says something and goes on to the end of what has been seen. */
	bool (*recognise)(const char *text, size_t length);
	/* As listing_begin, listing_feed and listing_end. */
	void *(*begin)(struct listing *listing, const struct pm_gear *gear, struct pm_arena *arena);
	bool (*feed)(void *state, const void *bytes, size_t length);
	bool (*end)(void *state);
	/* Does this line go on with what was fed? Null: whatever comes does. `text` is
	 * raw and without its line feed, and only the beginning of a long line. */
	bool (*owns)(void *state, const char *text, size_t length);
};

extern const struct source_reader open_yang_json, open_yang_xml, open_ifmib, open_ip_link, open_ip_link_json;

/* --- places ------------------------------------------------------------------- */

struct open_place {
	uint32_t line, column;   /* both from 1; columns in characters */
};

/* Past one byte. */
void open_advance(struct open_place *place, char byte);

/* Lines of a text that ended at `place`. */
uint32_t open_lines(const struct open_place *place);

/* --- one address and whose it is ------------------------------------------------ */

struct open_text {
	const char *at;
	size_t length;
};

/* The interface is the first of `names` that the roster has, or else the first
 * that is not empty. An empty address is none; a malformed one is a problem at
 * `place`, which is where `address` begins. `dropped` says that leading zeros
 * of octets may be left out. */
void open_take(struct collect *collect, const struct open_text *names, size_t count,
               struct open_text address, struct open_place place, bool dropped);

struct open_text open_trim(struct open_text text);
bool open_is(struct open_text text, const char *word);
bool open_begins(struct open_text text, const char *head);

/* Does the text hold `part` anywhere? */
bool open_holds(struct open_text text, const char *part);

/* Does the text hold an address with marks, or a word for a serial number? Then
 * it is not passed over in silence. */
bool open_tells(struct open_text text);

/* Is an interface of this type one without an EUI-48? `type` is a name or a
 * number of the IANAifType-MIB, also "name(number)" and "prefix:name". */
bool open_type_without(struct open_text type);

/* --- what stands around documents -------------------------------------------------- */

/* A prompt, a comment, or a mark between messages: nobody misses such a line. */
bool open_line_idle(struct open_text line);

enum open_gap_step {
	GAP_ON,
	GAP_OPENS,       /* this byte begins a document */
	GAP_OPENED,      /* the byte before, a "[", began one, and this is its second */
};

/* The text before, between and after documents that begin with `opener`. */
struct open_gap {
	char opener;
	bool seen;                /* a document was */
	bool held, complained, over;
	size_t lines;             /* with something on them, so far */
	char line[256];
	size_t length;
	struct open_place at;     /* where the line's text begins */
	struct open_place opened; /* where the document began */
};

/* `place` is that of the byte. Text that belongs nowhere is a problem, once. */
enum open_gap_step open_gap_byte(struct open_gap *gap, struct collect *collect, struct open_place place, char byte);

/* A document is over: text may follow. */
void open_gap_begin(struct open_gap *gap);

/* The text ends here; without any document that is a problem. */
void open_gap_end(struct open_gap *gap, struct collect *collect, const char *none);

#endif
