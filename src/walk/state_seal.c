/* The seal on the screen: what keys do, and how what was heard compares. */
#include <string.h>

#include "portmuster/seal.h"
#include "portmuster/text.h"
#include "walk/seal_screen.h"

#define CHARACTERS 9   /* of a seal, the check character included */

void seal_open(struct walk_state *state, const struct session *session)
{
	(void)session;
	state->page = SEAL_LARGE;
}

/* The character that a whole spelling word stands for, or 0. */
static char spelled(const char *word, size_t length)
{
	static const char all[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789*";
	for (const char *c = all; length > 1 && *c; c++) {
		const char *spell = pm_spell(*c);
		size_t i = 0;
		while (i < length && pm_upper((unsigned char)spell[i]) == pm_upper((unsigned char)word[i]))
			i++;
		if (i == length && spell[i] == '\0')
			return *c;
	}
	return '\0';
}

size_t seal_heard(const char *typed, char *out, size_t room)
{
	size_t count = 0;
	while (*typed && count + 1 < room) {
		size_t length = strcspn(typed, " ");
		char word = spelled(typed, length);
		if (word)
			out[count++] = word;
		for (size_t i = 0; !word && i < length && count + 1 < room; i++)
			if (typed[i] != '-')
				out[count++] = (char)pm_upper((unsigned char)typed[i]);
		typed += length + (typed[length] == ' ');
	}
	out[count] = '\0';
	return count;
}

bool seal_typed(const char *typed, char out[static CHARACTERS + 1])
{
	char heard[CHARACTERS + 2];
	size_t count = seal_heard(typed, heard, sizeof heard);
	for (size_t i = 0; i < count; i++)
		if (!pm_spell((unsigned char)heard[i]))
			return false;
	if (count != CHARACTERS)
		return false;
	memcpy(out, heard, count + 1);
	return true;
}

/* Say whether what was heard is the seal, and if not, where it differs and whether
 * it was misheard: a seal that was heard right checks out by itself. */
static void compare(struct walk_state *state, const struct session *session)
{
	char heard[CHARACTERS + 1], ours[CHARACTERS + 1];
	if (!seal_typed(state->field.text, heard)) {
		walk_say(state, STYLE_BAD, "a seal has eight characters and a check character");
		return;
	}
	seal_typed(session->seal.text, ours);
	if (strcmp(heard, ours) == 0) {
		state->read_back = true;
		walk_say(state, STYLE_GOOD, "SAME SEAL: both ends hold the same facts");
		return;
	}
	state->read_back = false;
	if (!pm_check_character_valid(heard, CHARACTERS)) {
		walk_say(state, STYLE_WAIT, "misheard or mistyped: its check character does not fit. Let it be read again");
		return;
	}
	walk_say(state, STYLE_BAD, "DIFFERENT SEAL: the other end holds other facts. Compare the addresses by their check "
	         "characters (a), then correct and send the sheet again");
}

static void typing(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	if (field_key(&state->field, event) || event->kind != EVENT_KEY)
		return;
	if (event->key == KEYS_ESCAPE) {
		state->typing = false;
		state->page = SEAL_LARGE;
		field_clear(&state->field);
	} else if (event->key == KEYS_ENTER && !event->burst) {
		if (state->field.length == 0) {
			walk_say(state, STYLE_WAIT, "type what the other end reads out");
			return;
		}
		compare(state, session);
		if (state->read_back) {
			state->typing = false;
			state->page = SEAL_LARGE;
		}
	}
}

void seal_event(struct walk_state *state, const struct session *session, const struct screen_event *event)
{
	const struct walk_screen_row *row = &walk_screens[WALK_SEAL];
	if (state->typing) {
		typing(state, session, event);
		return;
	}
	int request = keytable_request(row->keys, row->key_count, event);
	switch (request) {
	case ASK_ENTER:
		if (state->page == SEAL_CODE) {
			state->row++;   /* the view knows how many there are, and begins anew */
			break;
		}
		if (!session->seal.complete) {
			walk_say(state, STYLE_BAD, "the facts are not complete yet: there is no seal to compare");
			break;
		}
		state->page = SEAL_BACK;
		state->typing = true;
		state->read_back = false;
		field_clear(&state->field);
		break;
	case ASK_ROWS:
		state->page = state->page == SEAL_ROWS ? SEAL_LARGE : SEAL_ROWS;
		state->row = 0;
		break;
	case ASK_CODE:
		state->page = state->page == SEAL_CODE ? SEAL_LARGE : SEAL_CODE;
		state->row = 0;
		break;
	case ASK_BACK:
		if (state->page != SEAL_LARGE)
			state->page = SEAL_LARGE;
		else
			walk_show_step(state, session, state->phase, state->step);
		break;
	case ASK_HELP: walk_over(state, WALK_HELP); break;
	case ASK_MENU: walk_over(state, WALK_MENU); break;
	default: walk_move_row(&state->row, request, session->result.roster.count);
	}
}
