/* The packet as HTML that stands alone: no script, nothing fetched. */
#include <string.h>

#include "report/html.h"
#include "report/packet_parts.h"
#include "report/qr.h"

/* The drawn panel, in units of its own. */
#define BOX_WIDE 112
#define BOX_HIGH 70
#define ROLE_LINE 18    /* characters of the role in a line of its box */
#define ROLE_LINES 2

static const char head[] =
	"<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
	"<meta name=\"viewport\" content=\"width=device-width\">\n<title>Hand-over packet</title>\n<style>\n"
	"@page { margin: 12mm }\n"
	"body { font: 10pt/1.3 sans-serif; color: #000; background: #fff; max-width: 186mm; margin: 4mm auto }\n"
	"section { break-after: page }\n"
	"section:last-of-type { break-after: auto }\n"
	"header { border-bottom: 1mm solid #000; margin-bottom: 3mm }\n"
	"header p { margin: 0 }\n"
	"h1 { font-size: 16pt; margin: 0 }\n"
	"h2 { font-size: 11pt; margin: 4mm 0 1mm; break-after: avoid }\n"
	"table { border-collapse: collapse; width: 100% }\n"
	"table.facts { width: auto }\n"
	"th, td { border: 0.2mm solid #777; padding: 0.3mm 1.5mm; text-align: left; vertical-align: top; "
	"overflow-wrap: anywhere }\n"
	"tr { break-inside: avoid }\n"
	"table.ports td, table.attached td, table.evidence td { font-family: monospace }\n"
	"svg { break-inside: avoid; color: #000 }\n"
	"svg.panel { width: 100% }\n"
	"figure { float: right; margin: 0 0 2mm 4mm; text-align: center; font-size: 8pt }\n"
	"svg.code { width: 52mm; height: 52mm; display: block }\n"
	".caution { border: 0.8mm solid #000; padding: 2mm; margin: 4mm 0 0; break-inside: avoid; clear: both }\n"
	"</style>\n</head>\n<body>\n";

static void put_table(struct pm_text *out, const struct packet_table *table, const char *class)
{
	if (!table->cells && !table->none)
		return;
	pm_text_add(out, "<h2>%s</h2>\n", table->title);
	if (!table->cells) {
		pm_text_add(out, "<p>%s</p>\n", table->none);
		return;
	}
	pm_text_add(out, "<table class=\"%s\">\n", class);
	if (table->head[0]) {
		pm_text_str(out, "<thead><tr>");
		for (size_t c = 0; c < table->columns; c++)
			pm_text_add(out, "<th scope=\"col\">%s</th>", table->head[c]);
		pm_text_str(out, "</tr></thead>\n");
	}
	pm_text_str(out, "<tbody>\n");
	for (size_t i = 0; i < table->cells; i++) {
		bool label = !table->head[0] && i % table->columns == 0;
		if (i % table->columns == 0)
			pm_text_str(out, "<tr>");
		pm_text_str(out, label ? "<th scope=\"row\">" : "<td>");
		html_put(out, table->cell[i]);
		pm_text_str(out, label ? "</th>" : "</td>");
		if ((i + 1) % table->columns == 0)
			pm_text_str(out, "</tr>\n");
	}
	pm_text_str(out, "</tbody></table>\n");
}

/* A text in the drawing; `most` characters of it, then "...": the table has it all. */
static void put_drawn(struct pm_text *out, unsigned x, unsigned y, unsigned size, const char *string, size_t bytes,
                      size_t most)
{
	char part[128];
	struct pm_text cut;
	size_t used = 0, count = 0;
	uint32_t point;
	while (used < bytes && count < most && used < sizeof part - 8) {
		used += pm_utf8_next(string + used, bytes - used, &point);
		count++;
	}
	pm_text_fixed(&cut, part, sizeof part);
	pm_text_put(&cut, string, used);
	if (used < bytes)
		pm_text_str(&cut, "...");
	pm_text_add(out, "<text x=\"%u\" y=\"%u\" font-size=\"%u\">", x, y, size);
	html_put(out, part);
	pm_text_str(out, "</text>\n");
}

/* The role below its port, in lines broken at blanks. */
static void put_role(struct pm_text *out, unsigned x, unsigned y, const char *role)
{
	for (unsigned line = 0; role && *role && line < ROLE_LINES; line++, y += 11) {
		size_t bytes = strlen(role);
		if (bytes > ROLE_LINE && line + 1 < ROLE_LINES) {
			for (bytes = ROLE_LINE; bytes && role[bytes] != ' ';)
				bytes--;
			if (!bytes)
				bytes = strcspn(role, " ");
		}
		put_drawn(out, x, y, 10, role, bytes, ROLE_LINE);
		role += bytes;
		while (*role == ' ')
			role++;
	}
}

static void put_panel(struct pm_text *out, const struct packet *packet)
{
	unsigned across = (unsigned)packet_panel_columns(packet->ports);
	if (!across)
		return;
	unsigned down = ((unsigned)packet->ports + across - 1) / across;
	pm_text_add(out, "<h2>Front panel</h2>\n<svg class=\"panel\" role=\"img\" aria-label=\"front panel, %zu interfaces\" "
	            "viewBox=\"0 0 %u %u\" font-family=\"sans-serif\" fill=\"#000\">\n", packet->ports, across * BOX_WIDE + 2,
	            down * BOX_HIGH + 2);
	for (unsigned i = 0; i < packet->ports; i++) {
		const struct packet_port *port = &packet->port[i];
		unsigned x = 1 + i % across * BOX_WIDE, y = 1 + i / across * BOX_HIGH;
		char under[24];
		struct pm_text text;
		pm_text_fixed(&text, under, sizeof under);
		pm_text_str(&text, port->tail[0] ? port->tail : pm_standing_word(port->standing));
		if (port->check)
			pm_text_add(&text, " %c", port->check);
		pm_text_str(out, "<g><title>");
		html_put(out, port->name);
		pm_text_add(out, "</title><rect x=\"%u\" y=\"%u\" width=\"%d\" height=\"%d\" fill=\"none\" stroke=\"#000\"%s/>\n",
		            x, y, BOX_WIDE, BOX_HIGH, port->standing == PM_CONFIRMED ? "" : " stroke-dasharray=\"4 3\"");
		put_drawn(out, x + 5, y + 17, 15, port->panel, strlen(port->panel), 12);
		put_drawn(out, x + 5, y + 36, 15, under, strlen(under), 20);
		put_role(out, x + 5, y + 51, port->role);
		pm_text_str(out, "</g>\n");
	}
	pm_text_str(out, "</svg>\n<p>Last two octets and check character. A dashed box is an address that is not confirmed."
	            "</p>\n");
}

/* Each run of dark modules in a row is one rectangle of the path. */
static void put_code(struct pm_text *out, const struct packet *packet)
{
	struct pm_arena arena;
	struct pm_fault fault;
	struct qr qr;
	if (!packet->facts)
		return;
	pm_arena_init(&arena);
	if (qr_matrix(packet->facts, &arena, &qr, &fault)) {
		unsigned side = qr.size + 2 * QR_QUIET;
		pm_text_add(out, "<figure><svg class=\"code\" role=\"img\" aria-label=\"QR code of the sealed facts\" "
		            "viewBox=\"0 0 %u %u\" shape-rendering=\"crispEdges\"><rect width=\"%u\" height=\"%u\" fill=\"#fff\"/>"
		            "<path fill=\"#000\" d=\"", side, side, side, side);
		for (unsigned y = 0; y < qr.size; y++)
			for (unsigned x = 0, run; x < qr.size; x += run) {
				run = 1;
				if (!qr_dark(&qr, x, y))
					continue;
				while (x + run < qr.size && qr_dark(&qr, x + run, y))
					run++;
				pm_text_add(out, "M%u %uh%uv1h-%uz", x + QR_QUIET, y + QR_QUIET, run, run);
			}
		pm_text_str(out, "\"/></svg><figcaption>the sealed facts as text</figcaption></figure>\n");
	} else {
		pm_text_str(out, "<p>No QR code: ");
		html_put(out, fault.message);
		pm_text_str(out, ".</p>\n");
	}
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}

static void put_header(struct pm_text *out, const struct packet *packet, const char *sheet)
{
	struct pm_text title;
	struct pm_arena arena;
	pm_arena_init(&arena);
	pm_text_grow(&title, &arena);
	packet_title(packet, &title);
	pm_text_str(out, "<section>\n<header><h1>");
	html_put(out, title.data);
	pm_text_str(out, "</h1><p>");
	html_put(out, sheet);
	pm_text_str(out, "; ");
	html_put(out, packet->printed);
	pm_text_str(out, "</p></header>\n");
	out->cut = out->cut || arena.failed;
	pm_arena_free(&arena);
}

void packet_html_begin(struct pm_text *out)
{
	pm_text_str(out, head);
}

void packet_html(const struct packet *packet, struct pm_text *out)
{
	static const char *const classes[PACKET_PARTS] = {
		[PACKET_SITE] = "facts", [PACKET_PORTS] = "ports", [PACKET_ATTACHED] = "attached", [PACKET_SEAL] = "facts",
		[PACKET_DESK] = "desk", [PACKET_TAKEN] = "taken", [PACKET_FINDINGS] = "findings", [PACKET_EVIDENCE] = "evidence",
	};
	for (int i = 0; i < PACKET_PARTS; i++) {
		if (i == PACKET_SITE) {
			put_header(out, packet, "for the door");
			put_code(out, packet);
		} else if (i == PACKET_PORTS) {
			put_panel(out, packet);
		} else if (i == PACKET_FILE) {
			pm_text_str(out, "<p class=\"caution\">");
			html_put(out, packet->caution);
			pm_text_str(out, "</p>\n</section>\n");
			put_header(out, packet, "for the file");
		}
		put_table(out, &packet->table[i], classes[i]);
	}
	pm_text_str(out, "</section>\n");
}

void packet_html_end(struct pm_text *out)
{
	pm_text_str(out, "</body>\n</html>\n");
}
