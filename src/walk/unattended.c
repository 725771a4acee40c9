/* The wizard without a terminal: answers from a file become the keys that a
 * technician would press, and the state machine does the rest. */
#include <poll.h>
#include <string.h>

#include "portmuster/text.h"
#include "walk/answers.h"
#include "walk/drive.h"
#include "walk/live.h"
#include "walk/live_screen.h"
#include "walk/state.h"
#include "walk/step.h"

#define ROWS 24
#define COLUMNS 80

struct walk {
	struct walk_state state;
	struct session *session;
	const char *file;
	struct pm_fault *fault;
};

static void send(struct walk *walk, struct screen_event event)
{
	if (!walk->session->judged)
		return;
	event.now = walk->session->now.second;
	walk_event(&walk->state, walk->session, &event);
	drive_carry_out(&walk->state, walk->session);
}

static void press(struct walk *walk, enum screen_key key)
{
	send(walk, (struct screen_event){ .kind = EVENT_KEY, .key = key });
}

static void type(struct walk *walk, const char *text, size_t length)
{
	while (length) {
		uint32_t point;
		size_t used = pm_utf8_next(text, length, &point);
		send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = point });
		text += used;
		length -= used;
	}
}

static void type_word(struct walk *walk, struct pm_word word)
{
	if (word.text)
		type(walk, word.text, strlen(word.text));
}

/* Press Enter; false, with what the screen said, when nothing was recorded. */
static bool accept(struct walk *walk, const struct answer *answer)
{
	size_t before = walk->session->job.job.reading_count;
	press(walk, KEYS_ENTER);
	if (walk->session->job.job.reading_count > before)
		return true;
	char step[160];
	struct pm_text text;
	pm_text_fixed(&text, step, sizeof step);
	pm_text_quote(&text, answer->step.text);
	pm_fail(walk->fault, PM_FAULT_VALUE, (struct pm_place){ walk->file, answer->step.line, answer->step.column },
	        "step %s took no answer: %s", step, walk->state.message[0] ? walk->state.message : "nothing was recorded");
	return pm_fail_remedy(walk->fault, "correct the answer, or answer it in the wizard");
}

static bool refuse(struct walk *walk, const struct answer *answer, const char *reason)
{
	return pm_fail(walk->fault, PM_FAULT_VALUE,
	               (struct pm_place){ walk->file, answer->step.line, answer->step.column }, "%s", reason);
}

/* Scroll the step's words to their end: before that no answer is taken. */
static void read_on(struct walk *walk)
{
	for (int i = 0; i < 1000 && !step_read(&walk->state); i++)
		press(walk, KEYS_PAGE_DOWN);
}

static bool write_sheet(struct walk *walk, const struct answer *answer)
{
	press(walk, KEYS_ESCAPE);
	send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = 'x' });
	return walk->state.message_style == STYLE_GOOD || refuse(walk, answer, walk->state.message);
}

static bool choose(struct walk *walk, const struct answer *answer, const struct pm_step *step)
{
	if (answer->sheet && !write_sheet(walk, answer))
		return false;
	for (size_t i = 0; i < step_choices(step); i++) {
		bool halts;
		bool wait = step->ask == PM_ASK_WAIT && pm_same(answer->say.text, "begun");
		if (!wait && !pm_same(step_choice_text(step, i, &halts), answer->say.text))
			continue;
		send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = 'a' + (uint32_t)i });
		if (step->ask == PM_ASK_DECISION)
			press(walk, KEYS_ENTER);
		else if (pm_given(answer->note))
			send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = '+' });
		type_word(walk, answer->note);
		return accept(walk, answer);
	}
	return refuse(walk, answer, "the step has no such answer");
}

/* Lines of item=count, in any order. */
static bool count_kit(struct walk *walk, const struct answer *answer)
{
	const struct pm_plan *plan = &walk->session->plan.plan;
	const char *at = answer->say.text ? answer->say.text : "";
	size_t phase = walk->state.phase, step = walk->state.step;
	while (*at) {
		size_t length = strcspn(at, "\n");
		const char *equals = memchr(at, '=', length);
		if (length && !equals)
			return refuse(walk, answer, "a kit answer is lines of item=count");
		for (size_t i = 0; equals && i < plan->kit_count; i++) {
			const char *id = plan->kit[i].id.text;
			if (strlen(id) != (size_t)(equals - at) || memcmp(id, at, strlen(id)) != 0)
				continue;
			walk_show_step(&walk->state, walk->session, phase, step);
			walk->state.row = i;
			type(walk, equals + 1, length - (size_t)(equals - at) - 1);
			if (!accept(walk, answer))
				return false;
		}
		at += length + (at[length] == '\n');
	}
	return true;
}

static bool read_twice(struct walk *walk, const struct answer *answer)
{
	size_t phase = walk->state.phase, step = walk->state.step;
	type_word(walk, answer->say);
	if (!accept(walk, answer))
		return false;
	if (!pm_given(answer->second))
		return true;
	/* the site list may have confirmed the first one already */
	walk_show_step(&walk->state, walk->session, phase, step);
	type_word(walk, answer->second);
	return accept(walk, answer);
}

static bool read_log(struct walk *walk, const struct answer *answer)
{
	walk_go(&walk->state, walk->session, WALK_PORTS);
	send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = 'r' });
	type_word(walk, answer->file);
	press(walk, KEYS_ENTER);
	if (walk->state.screen != WALK_LOG)
		return refuse(walk, answer, walk->state.message);
	size_t before = walk->session->job.job.reading_count;
	send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = 'y' });
	return walk->session->job.job.reading_count > before || refuse(walk, answer, walk->state.message);
}

/* Listen until all is read. The walk's own clock stands still meanwhile; the
 * line's does not. */
static bool listen(struct walk *walk, const struct answer *answer)
{
	struct session *session = walk->session;
	size_t before = session->job.job.reading_count;
	walk_go(&walk->state, session, WALK_PORTS);
	send(walk, (struct screen_event){ .kind = EVENT_CHARACTER, .point = 'c' });
	if (!pm_same(answer->console.text, "practice")) {
		walk->state.row = lines_count(session) - 1;
		press(walk, KEYS_ENTER);
		type_word(walk, answer->console);
	} else if (lines_at(session, 0).kind != LINES_PRACTICE) {
		return refuse(walk, answer, "only a practice site plays its own console");
	}
	press(walk, KEYS_ENTER);
	if (!session->live)
		return refuse(walk, answer, walk->state.message);
	while (!live_over(session->live)) {
		struct pollfd line = { .fd = live_fd(session->live), .events = POLLIN };
		int wait = live_wait(session->live, live_clock());
		if (live_sending(session->live))
			line.events |= POLLOUT;
		poll(&line, 1, wait < 0 || wait > 1000 ? 1000 : wait);
		drive_listen(&walk->state, session);
	}
	char message[sizeof walk->state.message];
	memcpy(message, walk->state.message, sizeof message);
	press(walk, KEYS_ENTER);
	return session->job.job.reading_count > before || refuse(walk, answer, message);
}

static bool give(struct walk *walk, const struct answer *answer, const struct pm_step *step)
{
	switch (step->ask) {
	case PM_ASK_ANSWER:
	case PM_ASK_DECISION:
	case PM_ASK_WAIT: return choose(walk, answer, step);
	case PM_ASK_KIT: return count_kit(walk, answer);
	case PM_ASK_SERIAL:
	case PM_ASK_CODE: return read_twice(walk, answer);
	case PM_ASK_ADDRESSES: return pm_given(answer->console) ? listen(walk, answer) : read_log(walk, answer);
	case PM_ASK_TEXT:
	case PM_ASK_NUMBER:
	case PM_ASK_SENT:
	case PM_ASK_APPOINTMENT:
		type_word(walk, answer->say);
		return accept(walk, answer);
	case PM_ASKS: break;
	}
	return false;
}

static void report(const struct walk *walk, const struct answer *answer, const struct pm_step *step, size_t phase,
                   void (*said)(void *context, const char *line), void *context)
{
	char line[400], at[PM_WHEN_TEXT];
	struct pm_text text;
	const char *what = pm_given(answer->file) ? answer->file.text
	                 : pm_given(answer->console) ? answer->console.text : answer->say.text;
	pm_text_fixed(&text, line, sizeof line);
	const char *id = walk->session->plan.plan.phases[phase].id.text;
	pm_text_add(&text, "%s  ", pm_when_write(walk->session->now, at));
	pm_text_visible(&text, id, strlen(id));
	pm_text_str(&text, "  ");
	pm_text_visible(&text, step->title.text, strlen(step->title.text));
	pm_text_str(&text, ": ");
	if (step->ask == PM_ASK_KIT)
		pm_text_add(&text, "%zu items counted", walk->session->plan.plan.kit_count);
	else
		pm_text_visible(&text, what ? what : "", what ? strlen(what) : 0);
	struct pm_when from, until;
	const struct pm_reading *booked = step->ask == PM_ASK_APPOINTMENT ? pm_fact_last(&walk->session->job.job, "desk/appointment") : NULL;
	if (booked && pm_window_read(booked->value.text, &from, &until, NULL)) {
		pm_text_str(&text, ": ");
		pm_zone_say_window(&text, walk->session->zone.look.zone, from, until);
	}
	if (step->ask == PM_ASK_ADDRESSES)
		pm_text_add(&text, ": %zu of %zu confirmed", walk->session->result.roster.confirmed,
		            walk->session->result.roster.count);
	said(context, line);
}

static bool refresh(const struct walk *walk, struct pm_when now)
{
	return session_refresh(walk->session, now) ||
	       pm_fail(walk->fault, PM_FAULT_MEMORY, (struct pm_place){ .file = walk->file }, "out of memory");
}

bool drive_unattended(struct session *session, const char *path,
                      void (*said)(void *context, const char *line), void *context, struct pm_fault *fault)
{
	struct answers answers;
	struct walk walk = { .session = session, .file = path, .fault = fault };
	if (!answers_load(path, &answers, fault))
		return false;
	if (!refresh(&walk, answers.start)) {
		answers_free(&answers);
		return false;
	}
	walk_begin(&walk.state, session, "unattended");
	send(&walk, (struct screen_event){ .kind = EVENT_RESIZE, .rows = ROWS, .columns = COLUMNS });
	press(&walk, KEYS_ENTER);
	bool good = true;
	for (size_t i = 0; good && i < answers.count; i++) {
		const struct answer *answer = &answers.item[i];
		size_t phase;
		const struct pm_step *step = pm_plan_step(&session->plan.plan, answer->step.text, &phase);
		struct pm_when now = answers.start;
		now.second += answers.pace * (int64_t)(i + 1);
		if (!refresh(&walk, now)) {
			good = false;
			break;
		}
		if (!step) {
			good = refuse(&walk, answer, "the plan has no such step");
			break;
		}
		walk_show_step(&walk.state, session, phase, (size_t)(step - session->plan.plan.phases[phase].steps));
		read_on(&walk);
		good = give(&walk, answer, step) && (session->judged || refresh(&walk, now));
		if (good)
			report(&walk, answer, step, phase, said, context);
	}
	answers_free(&answers);
	return good;
}
