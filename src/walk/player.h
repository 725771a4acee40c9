/* player.h - the console of a practice site: the stand-in, played by a process
 * of its own on a pseudo-terminal, so that practice goes the way the real work
 * goes. */
#ifndef WALK_PLAYER_H
#define WALK_PLAYER_H

#include "walk/session.h"

/* Start it; `device` receives the name of the line to open. It ends by itself
 * when this program ends. Its serial number is the one that the job holds from
 * the label, if there is one. False with a fault. */
bool player_start(struct session *session, char *device, size_t room, struct pm_fault *fault);

/* End it and wait for it. Nothing when none runs. */
void player_stop(struct session *session);

#endif
