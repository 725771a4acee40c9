/* session_edit.h - how a session changes its job and takes back what it could
 * not save. Private to the session's files. */
#ifndef WALK_SESSION_EDIT_H
#define WALK_SESSION_EDIT_H

#include "walk/session.h"

/* A copy of the job's text from before an edit. */
struct edit_undo {
	struct pm_arena arena;
	char *text;
	size_t length;
};

/* Keep a copy; settle it by saving when `edited`, and by going back to it when
 * the edit or the save failed. Either way the job is checked again. */
bool edit_keep(struct edit_undo *undo, const struct session *session, struct pm_fault *fault);
bool edit_settle(struct edit_undo *undo, struct session *session, bool edited, struct pm_fault *fault);

/* Add one entry to the job in memory, at time `at`. */
bool edit_add(struct session *session, const struct session_entry *entry, const char *at, struct pm_fault *fault);

/* May the job be written? Else the fault says who may. */
bool edit_may(const struct session *session, struct pm_fault *fault);

#endif
