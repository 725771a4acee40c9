/* qr.h - a short text as a QR code (ISO/IEC 18004). */
#ifndef REPORT_QR_H
#define REPORT_QR_H

#include <stdbool.h>
#include <stdint.h>

#include "portmuster/arena.h"
#include "portmuster/fault.h"

#define QR_MOST_VERSION 25   /* larger ones are too fine for a printed page and a telephone */
#define QR_QUIET 4           /* modules of white around the code, ISO/IEC 18004 (from memory) */

struct qr {
	unsigned size;         /* modules a side, the quiet zone not included */
	unsigned version;      /* 1 to QR_MOST_VERSION; size is 17 + 4 * version */
	char level;            /* error correction: 'M', or 'L' where M would be too large */
	const uint8_t *bits;   /* size * size, row by row, 1 is dark; in the arena */
};

/* The code of `text`, UTF-8. Fault: it is empty, or too long for the largest
 * version, or memory ran out. */
bool qr_matrix(const char *text, struct pm_arena *arena, struct qr *out, struct pm_fault *fault);

static inline bool qr_dark(const struct qr *qr, unsigned x, unsigned y)
{
	return qr->bits[y * qr->size + x];
}

#endif
