#include "portmuster/fault.h"

#include <string.h>

#include "portmuster/text.h"

const char *pm_fault_word(enum pm_fault_kind kind)
{
	switch (kind) {
	case PM_FAULT_NONE: return "none";
	case PM_FAULT_USAGE: return "usage";
	case PM_FAULT_MISSING: return "missing";
	case PM_FAULT_FORBIDDEN: return "forbidden";
	case PM_FAULT_UNREADABLE: return "unreadable";
	case PM_FAULT_FULL: return "full";
	case PM_FAULT_SYNTAX: return "syntax";
	case PM_FAULT_VALUE: return "value";
	case PM_FAULT_LIMIT: return "limit";
	case PM_FAULT_NEWER: return "newer";
	case PM_FAULT_CHANGED: return "changed";
	case PM_FAULT_LOCKED: return "locked";
	case PM_FAULT_MEMORY: return "memory";
	}
	return "unknown";
}

/* A path keeps its end, where the name is. */
static void put_file(struct pm_fault *fault, const char *file)
{
	struct pm_text text;
	pm_text_fixed(&text, fault->file, sizeof fault->file);
	if (!file)
		return;
	size_t length = strlen(file), room = sizeof fault->file / 4 * 3;
	if (length > room) {
		pm_text_str(&text, "...");
		file += length - room;
		while (((unsigned char)*file & 0xC0) == 0x80)
			file++;
	}
	pm_text_visible(&text, file, strlen(file));
}

/* Whatever a caller puts into a message, what comes out can be printed. */
static void put_safe(char out[static PM_FAULT_TEXT], const char *format, va_list args)
{
	char raw[PM_FAULT_TEXT];
	struct pm_text text;
	pm_text_fixed(&text, raw, sizeof raw);
	pm_text_addv(&text, format, args);
	size_t length = text.length;
	pm_text_fixed(&text, out, PM_FAULT_TEXT);
	pm_text_visible(&text, raw, length);
}

bool pm_fail(struct pm_fault *fault, enum pm_fault_kind kind,
             struct pm_place place, const char *format, ...)
{
	if (!fault)
		return false;
	fault->kind = kind;
	fault->line = place.line;
	fault->column = place.column;
	fault->remedy[0] = '\0';
	put_file(fault, place.file);
	va_list args;
	va_start(args, format);
	put_safe(fault->message, format, args);
	va_end(args);
	return false;
}

bool pm_fail_remedy(struct pm_fault *fault, const char *format, ...)
{
	if (!fault)
		return false;
	va_list args;
	va_start(args, format);
	put_safe(fault->remedy, format, args);
	va_end(args);
	return false;
}

unsigned long pm_fault_line(const struct pm_fault *fault, char *out, unsigned long room)
{
	struct pm_text text;
	pm_text_fixed(&text, out, room);
	if (fault->file[0]) {
		pm_text_str(&text, fault->file);
		if (fault->line)
			pm_text_add(&text, ":%u", fault->line);
		if (fault->line && fault->column)
			pm_text_add(&text, ":%u", fault->column);
		pm_text_str(&text, ": ");
	}
	pm_text_str(&text, fault->message);
	if (fault->remedy[0])
		pm_text_add(&text, "; %s", fault->remedy);
	return text.length;
}
