/* fault.h - why something could not be done, as a value.
 *
 * Invariant: a function that can fail returns false (or a null pointer) and
 * then has filled the pm_fault it was given; on success the fault is left as
 * it was. A pm_fault owns nothing: copy it freely, never release it.
 */
#ifndef PORTMUSTER_FAULT_H
#define PORTMUSTER_FAULT_H

#include <stdbool.h>
#include <stdint.h>

enum pm_fault_kind {
	PM_FAULT_NONE,
	PM_FAULT_USAGE,      /* the caller asked for something meaningless */
	PM_FAULT_MISSING,    /* no such file, folder or document */
	PM_FAULT_FORBIDDEN,  /* no permission */
	PM_FAULT_UNREADABLE, /* reading or writing failed for another cause */
	PM_FAULT_FULL,       /* no room left on the device or in the quota */
	PM_FAULT_SYNTAX,     /* not the file format it should be */
	PM_FAULT_VALUE,      /* well formed, but a value is not acceptable */
	PM_FAULT_LIMIT,      /* beyond a bound on size or depth */
	PM_FAULT_NEWER,      /* written by a newer version of the format */
	PM_FAULT_CHANGED,    /* changed on disk since it was read */
	PM_FAULT_LOCKED,     /* another session holds the file */
	PM_FAULT_MEMORY,     /* out of memory */
};

/* Where something stands in a text. Lines and columns count from 1, columns
 * in characters (not bytes); 0 means not known. `file` is borrowed. */
struct pm_place {
	const char *file;
	uint32_t line;
	uint32_t column;
};

#define PM_FAULT_TEXT 320

struct pm_fault {
	enum pm_fault_kind kind;
	char file[256];              /* cut with "..." in front when longer */
	uint32_t line;               /* 0 when the fault has no line */
	uint32_t column;
	char message[PM_FAULT_TEXT]; /* lower case, no full stop, safe to print */
	char remedy[PM_FAULT_TEXT];  /* what to do about it, or empty */
};

/* One word for a kind, as in "missing"; never null. */
const char *pm_fault_word(enum pm_fault_kind kind);

/* Fill `fault` (which may be null) and return false, so that a failing
 * function can end with `return pm_fail(...)`. `format` takes what
 * pm_text_add takes. The remedy is emptied. */
bool pm_fail(struct pm_fault *fault, enum pm_fault_kind kind,
             struct pm_place place, const char *format, ...)
	__attribute__((format(printf, 4, 5)));

/* Add a remedy to a fault already filled (null is allowed) and return false. */
bool pm_fail_remedy(struct pm_fault *fault, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

/* Write the one-line form "file:line:column: message; remedy" into `out`,
 * always terminated; returns the length that was written. */
unsigned long pm_fault_line(const struct pm_fault *fault, char *out, unsigned long room);

#endif
