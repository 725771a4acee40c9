/* mixed_log.h - random logs of everything that a console may write: every shape
 * of listing_shapes.h, the logs of tests/unit/logs, addresses in all notations
 * and slips in them, terminal sequences, wraps, prompts and plain talk. */
#ifndef TESTS_MIXED_LOG_H
#define TESTS_MIXED_LOG_H

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "listing_shapes.h"
#include "listing_text.h"

#define LOG_ROOM (256u << 10)

/* The practice gear, with a pager and a word for a serial number of its own. */
static struct pm_word pager = { "-- space for the rest --", 1, 1 }, serial = { "unit number", 1, 1 };

static inline struct pm_gear eg12(void)
{
	struct pm_gear gear = roster_gear();
	gear.console.pagers = (struct pm_words){ &pager, 1 };
	gear.console.serials = (struct pm_words){ &serial, 1 };
	return gear;
}

static uint32_t seed;

static inline uint32_t any(uint32_t below)
{
	seed ^= seed << 13, seed ^= seed >> 17, seed ^= seed << 5;
	return seed % below;
}

struct log {
	char bytes[LOG_ROOM];
	size_t length;
};

static inline void put(struct log *log, const char *bytes, size_t length)
{
	if (length > LOG_ROOM - log->length) length = LOG_ROOM - log->length;
	memcpy(log->bytes + log->length, bytes, length);
	log->length += length;
}

__attribute__((format(printf, 2, 3)))
static inline void say(struct log *log, const char *format, ...)
{
	char text[8192];
	va_list list;
	va_start(list, format);
	int length = vsnprintf(text, sizeof text, format, list);
	va_end(list);
	if (length < 0 || length >= (int)sizeof text) abort();
	put(log, text, (size_t)length);
}

/* An address of the documentation range (RFC 9542 2.1.4) in any notation and
 * with any of the marks that are borne, or a slip in one. */
static inline size_t some_address(char out[64])
{
	struct pm_eui48 address = pm_eui48_from(0x00005E005300u + any(256));
	char text[PM_EUI48_TEXT];
	size_t length = pm_eui48_write(&address, (enum pm_notation)any(PM_NOTATIONS), any(2), text), n = 0;
	uint32_t way = any(12);
	for (size_t i = 0; i < length; i++) {
		bool mark = text[i] == '-' || text[i] == ':' || text[i] == '.';
		if (mark && way == 0) n += (size_t)sprintf(out + n, "\xE2\x80%c", (char)(0x90 + any(6)));
		else if (mark && way == 1) n += (size_t)sprintf(out + n, " %c ", text[i]);
		else if (mark && way == 2) n += (size_t)sprintf(out + n, "%c ", text[i]);
		else if (mark && way == 3) n += (size_t)sprintf(out + n, " %c", text[i]);
		else out[n++] = text[i];
	}
	if (way == 4) out[any((uint32_t)n)] = "OoIlSZG#-:. "[any(12)];   /* a slip */
	if (way == 5) n -= 1 + any(4);
	if (way == 6) out[n++] = "0F-:/ "[any(6)];
	if (way == 7) n += (size_t)sprintf(out + n, "/48");
	return n;
}

static const char *const words[] = {
	"address", "hardware", "mac", "hw-addr", "ether", "station", "phys", "Physical", "bia", "burned-in", "eui48", "lladdr",
	"link/ether", "serial", "number", "S/N", "sn", "unit", "number", "is", "peer", "neighbor", "gateway", "via", "on", "learned",
	"port", "interface", "Name", "Address", "port1", "port2", "mgmt", "p3", "lan0/3", "PORT 7", "state", "up", "down", "none",
	"EG12-26-00417", "1500", "0x5f9c", "192.0.2.1", "198.51.100.7:443", "2001:db8::1", "fe80::200:5eff:fe00:5301", "12:30:05",
	"2026-02-03", "123456789012", "00005E", "00-00", "5e:00", "00:00:5e:0", "0:53:01", "a", "e", "0", "b1", "00", "the", "and",
	"returns", "variable", "this-name", "hybrid", "does-not", "rx_bytes", "module", "board", "version", "table:", "=", ":", "|",
	"(", ")", ",", "--More--", "-- space for the rest --", "more", "#", ">", "eg12>", "eg12#",
};

/* A line of words, numbers and addresses; sometimes just as wide as a terminal. */
static inline void some_words(struct log *log)
{
	char line[400], address[64];
	size_t n = 0, many = any(14);
	for (size_t i = any(6); i > 0; i--) line[n++] = ' ';
	for (size_t i = 0; i < many && n < 180; i++) {
		const char *text = address;
		size_t length;
		if (any(12) == 0) {
			length = some_address(address);
		} else {
			text = words[any(sizeof words / sizeof words[0])];
			length = strlen(text);
		}
		memcpy(line + n, text, length);
		n += length;
		for (size_t k = any(8) ? 1 : any(4); k > 0; k--) line[n++] = ' ';
	}
	static const size_t widths[] = { 80, 132, 100, 57 };
	size_t width = any(6) ? 0 : widths[any(4)];
	while (n < width) line[n++] = any(3) ? "0aF-: .,x"[any(9)] : ' ';
	if (width) n = width;
	put(log, line, n);
	say(log, any(6) ? "\n" : any(2) ? "\r\n" : "\r\r\n");
}

static inline void some_filler(struct log *log)
{
	if (any(400) == 0) {
		for (uint32_t i = 3000 + any(7000); i > 0; i--) put(log, any(9) ? "x" : "0", 1);
		say(log, "\n\neg12> on\n");
	}
	if (any(3000) == 0) {
		for (uint32_t i = any(9000); i > 0; i--) put(log, &"a\n\n"[any(2)], 1 + any(2));
		say(log, "\n\neg12> on\n");
	}
	switch (any(21)) {
	case 0: say(log, "2026-02-03 04:05:06.%03u gauge[%u]: level %u.%03u m, sample %08x\n", any(1000), any(300), any(9), any(1000), any(1u << 31)); break;
	case 1: say(log, "[  %u.%06u] port%u: carrier lost\n", any(9999), any(1000000), any(13)); break;
	case 2: say(log, "12:30:05 relay: 192.0.2.%u:%u, station 00-00-5E-00-53-%02X heard\r\n", any(254), any(65536), any(256)); break;
	case 3: say(log, "  192.0.2.%u:%-8u  198.51.100.%u:%-6u open\n", any(254), any(65536), any(254), any(65536)); break;
	case 4: say(log, "  port%-4u in %10u frames  %012u octets\n", any(13), any(1u << 31), any(1u << 31)); break;
	case 5: say(log, "\n"); break;
	case 6: say(log, "  %08x  %04x %04x %04x  %02x %02x %02x %02x %02x %02x\n", any(1u << 31), any(65536), any(65536), any(65536),
	            any(256), any(256), any(256), any(256), any(256), any(256)); break;
	case 7: say(log, "The station reports when the level rises by more than %u mm.\n", any(90)); break;
	case 8: say(log, "\x1b[1mport%u\x1b[0m  %u\n", any(13), any(9)); break;
	case 9: say(log, "column\tof\ttabs\t%u\n", any(9999)); break;
	case 10: say(log, "temp\xC3\xA9rature %u \xC2\xB0" "C \xE2\x86\x92 %u\n", any(40), any(40)); break;
	case 11: say(log, "reading %u%%\rreading %u%%   \n", any(50), 50 + any(50)); break;
	case 12: say(log, "%*s\n", (int)any(200), "x"); break;
	case 13: say(log, "--More--\r        \r"); break;
	case 14: say(log, "unit %u: %s%c\n", any(9), "noise", (char)any(256)); break;
	case 15: say(log, "  name %s state up\n", words[any(sizeof words / sizeof words[0])]); break;
	case 17: {   /* a log line at the edge takes the prompt behind it for its own */
		char line[] = "[   12.345678] store: segment 25635 written, 1626 blocks, sum 3c878dc5d9cc73a5xx";
		say(log, "port%u is up\n%.*s\ngauge> again\n  queue %u\n  hardware address 00-00-5E-00-53-%02X\n", any(13), (int)(79 + any(2)), line,
		    any(9), any(256));
		break;
	}
	case 16: say(log, "eg12> %s\n", any(2) ? "wait" : ""); break;
	default: some_words(log);
	}
}

/* Rows or stanzas of addresses broken at a width, as a terminal breaks them. */
static inline void some_wrapped(struct log *log)
{
	static const size_t widths[] = { 80, 132, 100, 57 };
	size_t width = widths[any(4)], column = 0, pad = any(60) + (width > 60 ? width - 60 : 0);
	for (size_t i = 0, many = 1 + any(4); i < many; i++) {
		char address[64], text[400];
		size_t length = some_address(address);
		address[length] = '\0';
		int n, wide = (int)pad;
		switch (any(3)) {
		case 0: n = snprintf(text, sizeof text, "port%zu %*s %s up\n", i + 1, wide, "up", address); break;
		case 1: n = snprintf(text, sizeof text, "port%zu\n  hardware address %*s %s\n", i + 1, wide, "up", address); break;
		default: n = snprintf(text, sizeof text, "%s %*s port%zu\n", address, wide, "up", i + 1);
		}
		for (int k = 0; k < n; k++) {
			bool begins = ((unsigned char)text[k] & 0xC0) != 0x80;
			if (text[k] != '\n' && begins && column == width) {
				static const char *const breaks[] = {
					"\n", "\n", "\n", "\r\n", "--More--\n", "\n--More--\n", "\n--More--\r        \r", "\n-- space for the rest --\n",
				};
				const char *way = breaks[any(sizeof breaks / sizeof breaks[0])];
				put(log, way, strlen(way));
				column = 0;
			}
			put(log, text + k, 1);
			column = text[k] == '\n' ? 0 : column + begins;
		}
	}
}

/* A table, some of whose addresses are no more than a piece of one. */
static inline void some_table(struct log *log)
{
	say(log, any(2) ? "Name    State   Address\n" : "Interface  Hardware address   Note\n");
	for (uint32_t rows = any(25); rows > 0; rows--) {
		char address[64];
		size_t length = some_address(address);
		if (any(3)) length = any(9);
		say(log, "port%-6u %-6s  %.*s\n", any(14), any(2) ? "up" : "", (int)length, address);
		if (any(12) == 0) some_filler(log);
	}
}

/* A line around the length from which on lines come in pieces. */
static inline void some_long_line(struct log *log)
{
	static const uint32_t lengths[] = { 4000, 4200, 7900, 8100 };
	size_t to = log->length + lengths[any(4)] + any(200);
	if (any(2)) say(log, "port%u ", any(13));
	while (log->length < to) {
		char address[64];
		size_t length = some_address(address);
		switch (any(12)) {
		case 0: say(log, "port%u ", any(14)); break;
		case 1: put(log, address, length); break;
		case 2: say(log, "\x01\xFF "); break;
		case 3: say(log, "serial number EG12-%u ", 1000 + any(9)); break;
		default: say(log, "dry %u, ", any(99));
		}
	}
	say(log, "\n");
}

static char *log_file[5];
static size_t log_size[5];

static inline bool log_files_open(void)
{
	static const char *const names[] = { "harbour", "orchard", "meadow", "narrow", "torn" };
	for (size_t i = 0; i < 5; i++) {
		char path[128];
		snprintf(path, sizeof path, "tests/unit/logs/%s.log", names[i]);
		FILE *file = fopen(path, "rb");
		if (!file || !(log_file[i] = malloc(1 << 16))) return false;
		log_size[i] = fread(log_file[i], 1, 1 << 16, file);
		fclose(file);
	}
	return true;
}

static inline void log_files_close(void)
{
	for (size_t i = 0; i < 5; i++) free(log_file[i]);
}

/* A part of the log that stands by itself; what comes before it does not count. */
static inline void some_part(struct log *log)
{
	say(log, "\n\neg12> show %u\n", any(99));
	for (uint32_t i = any(12); i > 0; i--) some_filler(log);
	size_t pick = any(5);
	switch (any(8)) {
	case 0: case 1: case 2: {
		const char *text = shapes[any(sizeof shapes / sizeof shapes[0])].log;
		put(log, text, strlen(text));
		break;
	}
	case 3: {
		size_t from = any((uint32_t)log_size[pick]), most = log_size[pick] - from;
		put(log, log_file[pick] + from, most < 900 ? most : 900);
		break;
	}
	case 4: case 5: some_wrapped(log); break;
	case 6: some_words(log); break;
	default: some_table(log);
	}
	if (any(16) == 0) some_long_line(log);
	for (uint32_t i = any(4); i > 0; i--) some_filler(log);
}

#endif
