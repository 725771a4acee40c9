/* html.h - what the HTML writers share. Private to this floor. */
#ifndef REPORT_HTML_H
#define REPORT_HTML_H

#include "portmuster/text.h"

/* Add text from outside, for an element or a double-quoted attribute: made safe
 * to show, and nothing of it is markup. Null adds nothing. */
void html_put(struct pm_text *out, const char *string);

#endif
