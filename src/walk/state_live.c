/* Choosing the serial line, and the console while it is read: what keys do. */
#include <string.h>

#include "portmuster/text.h"
#include "walk/live.h"
#include "walk/live_screen.h"

/* --- the lines --- */

size_t lines_count(const struct session *session)
{
	return session->line_count + 1 + session->job.job.practice;
}

struct lines_row lines_at(const struct session *session, size_t row)
{
	if (session->job.job.practice && row-- == 0)
		return (struct lines_row){ LINES_PRACTICE, NULL };
	if (row < session->line_count)
		return (struct lines_row){ LINES_DEVICE, &session->lines[row] };
	return (struct lines_row){ LINES_OTHER, NULL };
}

void lines_open(struct walk_state *state, const struct session *session)
{
	(void)session;
	state->want = WANT_LIST_LINES;
}

static void connect_to(struct walk_state *state, const char *device)
{
	struct pm_text text;
	pm_text_fixed(&text, state->device, sizeof state->device);
	pm_text_str(&text, device);
	state->want = WANT_CONNECT;
}

static void path_event(struct walk_state *state, const struct screen_event *event)
{
	if (field_key(&state->field, event) || event->kind != EVENT_KEY)
		return;
	if (event->key == KEYS_ESCAPE)
		state->typing = false;
	else if (event->key == KEYS_ENTER && !event->burst && state->field.length)
		connect_to(state, state->field.text);
}

void lines_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[WALK_LINES];
	if (state->typing) {
		path_event(state, event);
		return;
	}
	int request = keytable_request(row->keys, row->key_count, event);
	if (walk_move_row(&state->row, request, lines_count(session)))
		return;
	struct lines_row at = lines_at(session, state->row);
	switch (request) {
	case ASK_ENTER:
		if (at.kind == LINES_OTHER)
			state->typing = true;
		else
			connect_to(state, at.device ? at.device->path : "");
		break;
	case ASK_BACK: walk_go(state, session, WALK_PORTS); break;
	case ASK_RELOAD: state->want = WANT_LIST_LINES; break;
	case ASK_HELP: walk_over(state, WALK_HELP); break;
	}
}

/* --- the console --- */

static bool listening(const struct session *session)
{
	return session->live && !live_over(session->live);
}

bool live_takes(const struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	return state->screen == WALK_LIVE && state->hands && listening(session) &&
	       (event->kind == EVENT_INTERRUPT || event->kind == EVENT_KEY);
}

void live_keys_now(const struct walk_state *state, const struct session *session,
                   const struct keytable_row **keys, size_t *count)
{
	if (!listening(session)) {
		*keys = walk_heard_keys;
		*count = walk_heard_key_count;
	} else if (state->hands) {
		*keys = walk_hands_keys;
		*count = walk_hands_key_count;
	}
}

void live_screen_open(struct walk_state *state, const struct session *session)
{
	state->told = state->offered = false;
	state->hands = session->live && live_by_hand(session->live);
}

/* What a terminal sends for a key (ECMA-48 cursor keys); nothing for a paste
 * with line ends, which would be several commands at once. */
static void encode(struct walk_state *state, const struct screen_event *event)
{
	static const struct { enum screen_key key; const char *bytes; } keys[] = {
		{ KEYS_ENTER, "\r" }, { KEYS_TAB, "\t" }, { KEYS_ERASE, "\x7F" }, { KEYS_DELETE, "\033[3~" },
		{ KEYS_UP, "\033[A" }, { KEYS_DOWN, "\033[B" }, { KEYS_RIGHT, "\033[C" }, { KEYS_LEFT, "\033[D" },
		{ KEYS_HOME, "\033[H" }, { KEYS_END, "\033[F" },
	};
	struct pm_text text;
	pm_text_fixed(&text, state->keys, sizeof state->keys);
	switch (event->kind) {
	case EVENT_CHARACTER:
		if (event->point < 0x80)
			pm_text_char(&text, (char)event->point);
		break;
	case EVENT_INTERRUPT: pm_text_char(&text, 3); break;
	case EVENT_KEY:
		if (event->key == KEYS_CTRL && event->point >= 'a' && event->point <= 'z')
			pm_text_char(&text, (char)(event->point - 'a' + 1));
		for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
			if (keys[i].key == event->key)
				pm_text_str(&text, keys[i].bytes);
		break;
	case EVENT_PASTE:
		if (event->length >= sizeof state->keys || strcspn(event->text, "\r\n") < event->length) {
			walk_say(state, STYLE_BAD, "not sent: a paste of several lines would be several commands at once");
			return;
		}
		pm_text_put(&text, event->text, event->length);
		break;
	case EVENT_RESIZE:
	case EVENT_TICK:
	case EVENT_STOP: break;
	}
	state->key_count = text.length;
	if (text.length)
		state->want = WANT_TYPE;
}

static void end_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	switch (keytable_request(walk_heard_keys, walk_heard_key_count, event)) {
	case ASK_ENTER:
	case ASK_BACK: state->want = WANT_DISCONNECT; break;
	case ASK_CONSOLE: walk_go(state, session, WALK_LINES); break;
	case ASK_HELP: walk_over(state, WALK_HELP); break;
	}
}

void live_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[WALK_LIVE];
	if (!listening(session)) {
		end_event(state, session, event);
		return;
	}
	if (state->hands) {
		if (event->kind == EVENT_KEY && event->key == KEYS_ESCAPE) {
			state->hands = false;
			walk_say(state, STYLE_WAIT, "it only reads along now: a lets the tool list by itself, k takes the keyboard again");
		} else {
			encode(state, event);
		}
		return;
	}
	switch (keytable_request(row->keys, row->key_count, event)) {
	case ASK_BACK: state->want = WANT_DISCONNECT; break;
	case ASK_HANDS:
		state->hands = true;
		state->want = WANT_HANDS;
		break;
	case ASK_BY_ITSELF:
		if (pm_given(session->gear.gear.console.listing))
			state->want = WANT_HANDS;
		else
			walk_say(state, STYLE_BAD, "the gear profile names no command that lists the interfaces");
		break;
	case ASK_HELP: walk_over(state, WALK_HELP); break;
	}
}

void walk_heard(struct walk_state *state, const struct session *session)
{
	const struct pm_roster *roster = &session->result.roster;
	if (listening(session) && !state->offered && talk_wants_login(live_talk(session->live))) {
		state->offered = state->hands = true;
		walk_say(state, STYLE_WAIT, "the console asks for a login: type it here, it is not kept. Then Esc, and a");
	}
	if (!session->live || !live_over(session->live) || state->told)
		return;
	state->told = true;
	state->hands = false;
	const struct live_sum *sum = live_sum(session->live);
	bool all = roster->confirmed == roster->count;
	size_t passes = sum->complete + sum->cut;
	char lacking[60] = "", told[120] = "";
	struct pm_text text;
	pm_text_fixed(&text, lacking, sizeof lacking);
	if (sum->lacking)
		pm_text_add(&text, ", %zu of them with interfaces missing", sum->lacking);
	pm_text_fixed(&text, told, sizeof told);
	session_say_conflicts(session, &text);
	walk_say(state, sum->differing || sum->serials || told[0] ? STYLE_BAD : all ? STYLE_GOOD : STYLE_WAIT,
	         "saved: %zu readings in %zu pass%s%s; %zu of %zu interfaces confirmed%s%s%s", sum->readings,
	         passes, passes == 1 ? "" : "es", lacking, roster->confirmed, roster->count, told,
	         told[0] ? "" : sum->differing ? ", some DIFFER from what was held" :
	         sum->serials ? ", several serial numbers, none taken" : "", all ? "" : "; list once more, or look at the port map");
}
