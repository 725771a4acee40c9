/* decode.h - the bytes of a CSV sheet that came back, brought into the shape in which
 * it was written. Private to returned.c. */
#ifndef SHEET_DECODE_H
#define SHEET_DECODE_H

#include "sheet/returned.h"

struct decoded {
	const char *text;   /* UTF-8; every quote where RFC 4180 has one, CRLF or LF for line ends */
	size_t length;
};

/* Decode `text`, noting in `sheet` what had been done to it: another encoding, other
 * line ends, another separator than the comma. `width` is the number of fields that
 * records should have. A field with quotes inside, such as ="0417", is taken as it
 * stands. False when memory ran out. */
bool decode_sheet(struct decoded *text, uint32_t width, struct pm_arena *arena, struct returned *sheet);

#endif
