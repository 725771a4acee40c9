/* Choosing the serial line, and the console while it is read. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/frame.h"
#include "walk/live.h"
#include "walk/live_screen.h"

#define CELL 15        /* columns of one port: name, mark, last octets */

void lines_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int row = area.row, end = area.row + area.rows, width = area.columns - 4;
	size_t count = lines_count(session);
	canvas_put(canvas, row++, 2, width, STYLE_STRONG, "Which line leads to the router's console?");
	if (!area.low)
		row += canvas_wrap(canvas, row, 2, 3, width, STYLE_PLAIN,
		                   session->line_count ? "The tool sets speed and framing from the gear profile and sends read-only commands."
		                   : "No serial line is there: plug the console lead's adapter into the laptop, then r looks again.", 0) + 1;
	size_t room = end - row > 2 ? (size_t)(end - row - 2) : 1, first = frame_first(state->row, count, room);
	for (size_t i = first; i < count && i < first + room; i++, row++) {
		struct lines_row at = lines_at(session, i);
		enum canvas_style style = i == state->row ? STYLE_CHOSEN : STYLE_PLAIN;
		switch (at.kind) {
		case LINES_PRACTICE:
			canvas_put(canvas, row, 2, width, style, "practice console: this program plays the router");
			break;
		case LINES_DEVICE:
			canvas_print(canvas, row, 2, width, style, "%s  %s%s", at.device->path, at.device->hint,
			             at.device->usable ? "" : "  (no permission to open it)");
			break;
		case LINES_OTHER:
			canvas_put(canvas, row, 2, width, style, "another device: type its path");
			break;
		}
		if (i == state->row)
			frame_choose(canvas, row, 1);
	}
	if (state->typing) {
		int used = canvas_put(canvas, end - 1, 2, 20, STYLE_STRONG, "device: ");
		field_draw(&state->field, canvas, end - 1, 2 + used, width - used, true);
	}
}

/* --- the console --- */

struct look {
	char mark;
	enum canvas_style style;
};

/* What the running pass says of the port, or null. */
static const struct listing_reading *running(const struct listing *listing, size_t port)
{
	for (size_t i = listing->count; i-- > 0;)
		if (listing->reading[i].port == port)
			return &listing->reading[i];
	return NULL;
}

static struct look look_of(const struct pm_call *call, const struct listing_reading *now)
{
	if (call->fact.standing == PM_CONFLICT ||
	    (now && call->valid && pm_eui48_compare(&now->address, &call->address) != 0))
		return (struct look){ '!', STYLE_BAD };
	if (call->fact.standing == PM_CONFIRMED)
		return (struct look){ '=', STYLE_GOOD };
	if (now)
		return (struct look){ '~', STYLE_WAIT };
	if (call->fact.standing == PM_HELD)
		return (struct look){ '-', STYLE_WAIT };
	return (struct look){ '.', STYLE_DIM };
}

static void draw_port(const struct session *session, const struct listing *listing, size_t i, struct canvas *canvas,
                      int row, int column)
{
	const struct pm_call *call = &session->result.roster.call[i];
	const struct listing_reading *now = running(listing, i);
	struct look look = look_of(call, now);
	char address[PM_EUI48_TEXT] = "";
	if (now)
		pm_eui48_text(&now->address, address);
	else if (call->valid)
		pm_eui48_text(&call->address, address);
	canvas_print(canvas, row, column, CELL - 1, look.style, "%-6.6s %c %s", call->port->name.text, look.mark,
	             address[0] ? address + strlen(address) - 5 : "");
}

/* Returns the row below the map. */
static int draw_map(const struct session *session, struct canvas *canvas, int row, int end)
{
	const struct listing *listing = talk_running(live_talk(session->live));
	size_t count = session->result.roster.count;
	size_t across = (size_t)(canvas->columns - 2) / CELL;
	if (across == 0)
		across = 1;
	for (size_t i = 0; i < count; i++) {
		int at = row + (int)(i / across);
		if (at < end)
			draw_port(session, listing, i, canvas, at, 1 + (int)(i % across) * CELL);
	}
	return row + (int)((count + across - 1) / across);
}

/* The console's latest lines, the one at the cursor last. */
static void draw_pane(const struct walk_state *state, const struct session *session, struct canvas *canvas, int row, int end)
{
	char cursor[400];
	size_t lines = live_lines(session->live);
	int rows = end - row, width = canvas->columns;   /* a console line may take it all */
	if (rows < 1)
		return;
	live_cursor_line(session->live, cursor, sizeof cursor);
	size_t first = lines + 1 > (size_t)rows ? lines + 1 - (size_t)rows : 0;
	for (size_t i = first; i < lines; i++, row++)
		canvas_put(canvas, row, 0, width, STYLE_PLAIN, live_line(session->live, i));
	int used = canvas_put(canvas, row, 0, width, STYLE_STRONG, cursor);
	canvas->cursor_row = row;
	canvas->cursor_column = used < canvas->columns ? used : canvas->columns - 1;
	canvas->cursor_shown = state->hands;
}

void live_draw(const struct walk_state *state, const struct session *session, struct canvas *canvas)
{
	struct frame area = frame_area(state, canvas->rows, canvas->columns);
	int row = area.row, end = area.row + area.rows, width = area.columns - 2;
	if (!session->live) {
		canvas_put(canvas, row, 1, width, STYLE_DIM, "no console is open");
		return;
	}
	if (!area.low)
		canvas_print(canvas, row++, 1, width, STYLE_STRONG, "%s%s", live_where(session->live),
		             state->hands ? "   YOUR KEYS GO TO THE CONSOLE" : "");
	row += canvas_wrap(canvas, row, 1, 2, width, live_over(session->live) ? STYLE_STRONG : STYLE_WAIT,
	                   live_saying(session->live), 0);
	/* in a low window whoever types needs the console more than the map */
	if (!area.low || !state->hands)
		row = draw_map(session, canvas, row, end - 2);
	if (row < end)
		canvas_rule(canvas, row++, 1, width);
	draw_pane(state, session, canvas, row, end);
}
