/* event.h - what can happen to a screen. */
#ifndef SCREEN_EVENT_H
#define SCREEN_EVENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum screen_key {
	KEYS_NONE,
	KEYS_ENTER, KEYS_ESCAPE, KEYS_TAB, KEYS_BACK_TAB,
	KEYS_UP, KEYS_DOWN, KEYS_LEFT, KEYS_RIGHT,
	KEYS_HOME, KEYS_END, KEYS_PAGE_UP, KEYS_PAGE_DOWN,
	KEYS_ERASE,        /* backspace */
	KEYS_DELETE,
	KEYS_CTRL,         /* with `point` the letter, 'a' .. 'z' */
};

enum screen_event_kind {
	EVENT_KEY,         /* `key` */
	EVENT_CHARACTER,   /* `point`, printable */
	EVENT_PASTE,       /* `text`: inserts into a field, never acts as keys */
	EVENT_RESIZE,      /* `rows`, `columns` */
	EVENT_TICK,        /* time has passed: `now` */
	EVENT_STOP,        /* SIGTERM or SIGHUP or end of input: save and leave; `signal` */
	EVENT_INTERRUPT,   /* Ctrl-C: ask */
};

struct screen_event {
	enum screen_event_kind kind;
	enum screen_key key;
	uint32_t point;
	bool burst;        /* came in one read together with others, unbracketed:
	                      inserts text, but must not confirm anything */
	const char *text;  /* borrowed for the call */
	size_t length;
	int rows, columns, signal;
	int64_t now;       /* seconds since 1970, filled for every event */
};

/* What an event asks for on every screen of every program here, whatever the
 * screen does with its own keys. */
enum screen_common {
	COMMON_NOTHING,    /* it is the screen's own */
	COMMON_STOP,       /* save and leave */
	COMMON_LEAVE,      /* ask whether to leave */
	COMMON_SIZE,       /* take over `rows` and `columns` */
	COMMON_TICK,       /* nothing but time has passed */
	COMMON_SUSPEND,
	COMMON_HELP,       /* also while a field is open, where a question mark is text */
};

static inline enum screen_common event_common(const struct screen_event *event)
{
	switch (event->kind) {
	case EVENT_STOP: return COMMON_STOP;
	case EVENT_INTERRUPT: return COMMON_LEAVE;
	case EVENT_RESIZE: return COMMON_SIZE;
	case EVENT_TICK: return COMMON_TICK;
	case EVENT_KEY:
		if (event->key == KEYS_CTRL && event->point == 'z')
			return COMMON_SUSPEND;
		return event->key == KEYS_CTRL && event->point == 'g' && !event->burst ? COMMON_HELP : COMMON_NOTHING;
	case EVENT_CHARACTER:
	case EVENT_PASTE: break;
	}
	return COMMON_NOTHING;
}

#endif
