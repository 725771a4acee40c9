/* The session's console on a serial line. */
#include "portmuster/text.h"
#include "walk/session.h"

#include "walk/live.h"
#include "walk/player.h"

void session_list_lines(struct session *s)
{
	s->line_count = line_list("/dev", s->lines, SESSION_LINES);
}

bool session_connect(struct session *s, const char *device, struct pm_fault *fault)
{
	char played[128];
	struct live_options options = { .attended = true };
	if (s->live && !session_disconnect(s, fault))
		return false;
	if (!device && !player_start(s, played, sizeof played, fault))
		return false;
	/* a profile that names no command can only be read along */
	options.watch = !pm_given(s->gear.gear.console.listing);
	s->live = live_open(s, device ? device : played, &options, live_clock(), fault);
	if (!s->live)
		player_stop(s);
	return s->live != NULL;
}

/* Somebody else wrote the job meanwhile: what was read goes into the new one. */
static bool mended(struct session *s, struct pm_fault *fault)
{
	return fault->kind == PM_FAULT_CHANGED && session_reload(s, fault);
}

bool session_listen(struct session *s, struct pm_fault *fault)
{
	return !s->live || live_service(s->live, live_clock(), fault) || mended(s, fault);
}

#define NAMED_MOST 4   /* interfaces in conflict, by name */

void session_say_conflicts(const struct session *s, struct pm_text *out)
{
	const struct pm_roster *roster = &s->result.roster;
	size_t count = 0, named = 0;
	for (size_t i = 0; i < roster->count; i++)
		count += roster->call[i].fact.standing == PM_CONFLICT;
	if (count)
		pm_text_add(out, ", %zu interface%s IN CONFLICT:", count, count == 1 ? "" : "s");
	for (size_t i = 0; i < roster->count && named < NAMED_MOST; i++)
		if (roster->call[i].fact.standing == PM_CONFLICT)
			pm_text_add(out, "%s %s", named++ ? "," : "", roster->call[i].port->name.text);
	if (count > named)
		pm_text_add(out, " and %zu more", count - named);
}

bool session_disconnect(struct session *s, struct pm_fault *fault)
{
	bool good = !s->live || live_cut(s->live, fault) || (mended(s, fault) && live_cut(s->live, fault));
	live_close(s->live);
	s->live = NULL;
	player_stop(s);
	return good;
}
