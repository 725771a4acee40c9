/* utf8_scan.h - is a text fit to be read as YAML, and where is character N? */
#ifndef STORE_UTF8_SCAN_H
#define STORE_UTF8_SCAN_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"

/* A byte offset for every 64th character, so that a place counted in
 * characters is found without going through the whole text. */
struct store_scan {
	const char *text;
	size_t length;
	size_t skipped;         /* a byte order mark in front: not part of `text` */
	uint32_t *every;        /* null when all characters are single bytes */
	size_t characters;
	bool plain;             /* printable ASCII, tabs and line feeds are all there is */
};

/* Go through `length` bytes. Faults with line and column: bytes that are not
 * UTF-8, control characters other than tab and line breaks, and the three
 * characters that YAML versions disagree on. */
bool store_scan_text(struct store_scan *scan, const char *bytes, size_t length, const char *file,
                     struct pm_arena *arena, struct pm_fault *fault);

/* The byte offset of a character, counted in the bytes given to store_scan_text. */
size_t store_scan_offset(const struct store_scan *scan, size_t character);

#endif
