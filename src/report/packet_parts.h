/* packet_parts.h - what the sheets of a packet hold, before either form of
 * writing. All text is as the files have it: the writers make it safe.
 * Private to this floor. */
#ifndef REPORT_PACKET_PARTS_H
#define REPORT_PACKET_PARTS_H

#include "report/packet.h"

/* The tables, in the order in which they are printed: the door's, then the file's. */
enum packet_part {
	PACKET_SITE, PACKET_PORTS, PACKET_ATTACHED, PACKET_SEAL,
	PACKET_DESK, PACKET_TAKEN, PACKET_FINDINGS, PACKET_EVIDENCE,
	PACKET_PARTS,
	PACKET_FILE = PACKET_DESK   /* the first one of the file's sheet */
};

#define PACKET_MOST_COLUMNS 6

struct packet_table {
	const char *title;
	const char *head[PACKET_MOST_COLUMNS];   /* head[0] null: a label and its value a row */
	size_t columns;
	const char *none;       /* said when there is no row; null: then left out */
	const char **cell;      /* rows * columns; a null cell is empty */
	size_t cells, room;
};

/* One port of the drawn front panel. */
struct packet_port {
	const char *panel, *name, *role;   /* role may be null */
	char tail[6];                      /* "53-1F", the last two octets; empty: no address to go by */
	char check;                        /* 0: none */
	enum pm_standing standing;
};

struct packet {
	const struct pm_job *job;
	const struct pm_zone *zone;   /* of the site, or null */
	struct pm_arena *arena;
	struct packet_port *port;
	size_t ports;
	struct packet_table table[PACKET_PARTS];
	const char *printed;    /* program, version, date */
	const char *caution;
	const char *facts;      /* the sealed text for the QR code; null: not complete */
};

/* How many ports stand side by side so that the rows of the panel come out even. */
size_t packet_panel_columns(size_t ports);

/* The words that head both sheets: site code and name, each made visible. */
void packet_title(const struct packet *packet, struct pm_text *out);

#endif
