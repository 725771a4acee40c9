/* answers.h - the answers for an unattended walk, as a document. */
#ifndef WALK_ANSWERS_H
#define WALK_ANSWERS_H

#include "portmuster/arena.h"
#include "portmuster/fault.h"
#include "portmuster/when.h"
#include "portmuster/word.h"

struct answer {
	struct pm_word step;      /* id of the step */
	struct pm_word say;       /* the answer; for a kit, lines of item=count */
	struct pm_word second;    /* the second reading, when it is not the same as the first */
	struct pm_word note;      /* reference, reason or note */
	struct pm_word file;      /* addresses: a console log beside the job */
	bool sheet;               /* the registration sheet is written first */
	struct pm_word console;   /* addresses: a serial line to read, or "practice" for the
	                             console that a practice site plays */
};

struct answers {
	struct pm_arena arena;
	int64_t format;
	struct pm_word start_text;
	struct pm_when start;     /* the walk's clock begins here */
	int64_t pace;             /* seconds that each answer takes */
	struct answer *item;
	size_t count;
};

/* Load; free with answers_free. A failed load leaves nothing to free. */
bool answers_load(const char *path, struct answers *answers, struct pm_fault *fault);
void answers_free(struct answers *answers);

#endif
