/* drive.h - what the board's driver and its tests share. */
#ifndef BOARD_DRIVE_H
#define BOARD_DRIVE_H

#include "board/state.h"

/* Do what the state wants; true when the board is to be left. */
bool board_carry_out(struct board_state *state, struct board_model *model);

/* Sign a waiver of a condition of the opened site: under the file's lock, and of the
 * file as it then stands. Nothing else of it changes. A fault when somebody else
 * holds the file, when the condition has been met meanwhile or may not be
 * waived, or when the file could not be saved. */
bool board_waive(const struct board_model *model, const struct board_picked *picked, const char *by,
                 const char *reason, struct pm_fault *fault);

#endif
