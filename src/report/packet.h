/* packet.h - the hand-over packet of one site: a sheet for the cabinet door and
 * a sheet for the file, as plain text and as HTML that stands alone.
 *
 * Make a packet from a judged case, then write it in either form, as often as
 * wanted; several packets may follow each other. Text from files is made safe
 * by the writers. A writer that runs out of memory leaves `out->cut` set.
 */
#ifndef REPORT_PACKET_H
#define REPORT_PACKET_H

#include "portmuster/check.h"
#include "portmuster/text.h"

#define PACKET_COLUMNS 80
#define PACKET_LINES 60    /* of a text sheet: fits Letter and A4 at six lines an inch */

struct packet;

/* All that the sheets say, in `arena`, borrowing from the case and its result.
 * The date of printing is the case's `now`. Null when memory ran out. */
struct packet *packet_make(const struct pm_case *the_case, const struct pm_result *result, struct pm_arena *arena);

/* As plain text: no line beyond PACKET_COLUMNS, no control character but the
 * line feed. When `out` holds earlier sheets, the last of them is first filled
 * up to PACKET_LINES, so that every sheet begins on a page of its own. */
void packet_text(const struct packet *packet, struct pm_text *out);

/* As HTML: begin a document, write packets, end it. One file, nothing in it is
 * fetched from anywhere. */
void packet_html_begin(struct pm_text *out);
void packet_html(const struct packet *packet, struct pm_text *out);
void packet_html_end(struct pm_text *out);

#endif
