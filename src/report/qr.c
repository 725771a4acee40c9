#include "report/qr.h"

#include <errno.h>
#include <qrencode.h>
#include <string.h>

static bool copy(const QRcode *code, char level, struct pm_arena *arena, struct qr *out)
{
	size_t size = (size_t)code->width, count = size * size;
	uint8_t *bits = pm_arena_array(arena, count, 1);
	if (!bits)
		return false;
	/* the lowest bit of a module is its colour; the others tell what it is for */
	for (size_t i = 0; i < count; i++)
		bits[i] = code->data[i] & 1;
	*out = (struct qr){ .size = (unsigned)size, .version = (unsigned)code->version, .level = level, .bits = bits };
	return true;
}

bool qr_matrix(const char *text, struct pm_arena *arena, struct qr *out, struct pm_fault *fault)
{
	static const struct { QRecLevel level; char letter; } levels[] = { { QR_ECLEVEL_M, 'M' }, { QR_ECLEVEL_L, 'L' } };
	const struct pm_place nowhere = { 0 };
	if (!text || !*text)
		return pm_fail(fault, PM_FAULT_VALUE, nowhere, "an empty text has no QR code");
	for (size_t i = 0; i < sizeof levels / sizeof *levels; i++) {
		/* version 0 asks for the smallest one that holds the text */
		QRcode *code = QRcode_encodeString(text, 0, levels[i].level, QR_MODE_8, 1);
		if (!code && errno != ERANGE)
			return pm_fail(fault, PM_FAULT_MEMORY, nowhere, "out of memory");
		bool fits = code && code->version <= QR_MOST_VERSION;
		bool good = fits && copy(code, levels[i].letter, arena, out);
		QRcode_free(code);
		if (fits)
			return good ? true : pm_fail(fault, PM_FAULT_MEMORY, nowhere, "out of memory");
	}
	pm_fail(fault, PM_FAULT_LIMIT, nowhere, "a text of %zu bytes does not fit a QR code of version %d",
	        strlen(text), QR_MOST_VERSION);
	return pm_fail_remedy(fault, "read the text itself");
}
