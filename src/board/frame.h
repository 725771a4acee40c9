/* frame.h - what every screen of the board has around its middle, and the words
 * and marks that several of them show. */
#ifndef BOARD_FRAME_H
#define BOARD_FRAME_H

#include "board/page.h"
#include "board/state.h"
#include "screen/list.h"

#define FRAME_ROWS 12      /* a smaller window only says so */
#define FRAME_COLUMNS 40

/* The middle, between the two top rows and the message. */
struct frame {
	int row, rows, columns;
	bool low, narrow;
};

/* Is the window large enough to show anything? In a smaller one no key does
 * anything but leave. */
bool board_fits(const struct board_state *state);

struct frame board_area(const struct board_state *state);

/* Rows that the list of sites, and that of findings, has on this screen. */
size_t frame_list_rows(const struct board_state *state);
size_t frame_finding_rows(const struct board_state *state);

/* Title bar, counts, message and key bar. */
void board_frame_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas);

/* Lines that a scrolled screen takes in all. */
int site_lines(const struct board_state *state, const struct board_model *model);
int forecast_lines(const struct board_state *state, const struct board_model *model);
int help_page_lines(const struct board_state *state);

/* Below a page that goes on, when there is no message. */
void frame_more(const struct board_state *state, struct canvas *canvas, const struct page *page);

/* Where the hardware cursor rests, unless a field has it. */
void frame_cursor(struct canvas *canvas, int row, int column);

enum canvas_style frame_severity(enum pm_severity severity);

/* The mark of a phase's state; the same as in the wizard. */
const char *frame_phase_mark(enum pm_phase_state state, enum canvas_style *style);

/* "2026-11-02": the UTC day of a second. */
void frame_day(int64_t second, char out[static PM_WHEN_TEXT]);

/* "43 %" of `runs`; "<1 %" and ">99 %" where rounding would say never or always. */
void frame_chance(size_t hits, size_t runs, char out[static 16]);

/* The table of the sites, as much of it as fits. */
void table_draw(const struct board_state *state, const struct board_model *model, struct canvas *canvas,
                int row, int rows);

#endif
