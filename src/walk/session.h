/* session.h - one sitting with one job: the documents, what they come to, and
 * everything that touches a file. The state machine and the views only look.
 *
 * Life cycle: session_open, any calls, session_close. `result` is always that
 * of the job as it is in memory, and the job in memory is always the one on
 * disk: an entry that could not be saved is taken back.
 */
#ifndef WALK_SESSION_H
#define WALK_SESSION_H

#include "capture/listing.h"
#include "capture/line.h"
#include "capture/source.h"
#include "portmuster/check.h"
#include "portmuster/seal.h"
#include "store/document.h"
#include "store/lock.h"
#include "store/map.h"
#include "store/zone_file.h"

#define SESSION_LOGS 9
#define SESSION_LINES 12

struct live;

/* An entry on its way into the job. */
struct session_entry {
	char of[200];
	char value[512];
	char note[512];
	char capture[80];
	enum pm_source source;
};

/* A console log that was read and waits for a yes. Its bytes are those that are
 * kept as evidence: secrets are out, and its digest is theirs. */
struct session_log {
	struct pm_arena arena;
	struct listing listing;
	enum source_kind kind;  /* what it was read as */
	char *bytes;
	size_t length;
	char sha256[65];
	size_t secrets;        /* places where something was taken out */
	char path[512];
	size_t fresh;          /* readings that are new */
	size_t differing;      /* that contradict what the job holds */
	const struct pm_word *serial;  /* the serial number to be taken, or null */
	size_t serials;        /* different ones, of which none can be told to be the router's */
	size_t strangers;      /* of interfaces the gear has not got */
	bool seen_before;      /* this very capture is in the job already */
};

struct session {
	struct store_job job;
	struct store_plan plan;
	struct store_gear gear;
	struct store_map map;
	bool has_map;
	struct store_zone zone;        /* of the site */
	char layout_digest[65];        /* of the sheet layout that the job recorded; empty: none */
	struct store_lock lock;
	bool read_only;
	char held_by[PM_FAULT_TEXT];   /* why it is read-only, or empty */
	char by[80];                   /* who is at the rack; empty: not said yet */
	struct pm_when now;
	struct pm_arena arena;         /* of `result` and `seal` */
	struct pm_result result;
	struct pm_seal seal;           /* of the facts as they stand */
	bool judged;                   /* both are of the job as it is; else memory ran out, and
	                                  neither may be looked at */
	struct session_log *log;       /* pending, or null */
	bool sheet_there;              /* a registration sheet lies beside the job */
	char sheet_note[240];          /* what else is to be said of the one just written, safe to show; or empty */
	int64_t saved_at;              /* second of the last save, 0: none yet */
	char logs[SESSION_LOGS][80];   /* names of console logs beside the job */
	size_t log_count;
	struct line_device lines[SESSION_LINES];   /* the serial lines there are */
	size_t line_count;
	struct live *live;             /* a console that is being read, or null: live.h */
	int player, player_alive;      /* of a practice site: the process that plays the console, or 0,
	                                  and a descriptor that keeps it: player.h */
};

/* Open the job at `path` with its plan and gear, take the lock (or fall back to
 * read-only, saying who holds it) and check it. */
bool session_open(struct session *session, const char *path, struct pm_when now, struct pm_fault *fault);
void session_close(struct session *session);

/* The case as it is checked. */
struct pm_case session_case(const struct session *session);

/* Check again as of `now`. Called every second for waits and windows. */
bool session_refresh(struct session *session, struct pm_when now);

/* Record one entry: append, save, check again. False with a fault when it could
 * not be saved; then nothing has changed. */
bool session_record(struct session *session, const struct session_entry *entry, struct pm_fault *fault);

/* Record a waiver of gate line `line` of the current result: who decided, how that
 * was said, and why. Who is at the rack is named as the one who typed it. */
struct session_waiver {
	char by[80], how[160];
	const char *reason;
};
bool session_waive(struct session *session, size_t line, const struct session_waiver *waiver, struct pm_fault *fault);

/* Read the job anew from disk, as after somebody else changed it. */
bool session_reload(struct session *session, struct pm_fault *fault);

/* Read a console log into `log`, to be taken or dropped. A path without a slash
 * is looked for beside the job file first. */
bool session_read_log(struct session *session, const char *path, struct pm_fault *fault);

/* The same for console text that was pasted. */
bool session_read_paste(struct session *session, const char *bytes, size_t length, struct pm_fault *fault);

/* List the console logs (*.log, *.txt) beside the job, by name. */
void session_list_logs(struct session *session);

/* Take the pending log: keep it as evidence and record its readings of known
 * interfaces in one save. `*taken` counts them. The log is dropped on success. */
bool session_take_log(struct session *session, size_t *taken, struct pm_fault *fault);
void session_drop_log(struct session *session);

/* What one capture brought. */
struct session_taken {
	size_t readings;       /* recorded, the serial number included */
	size_t ports;          /* known interfaces with an address */
	size_t differing, strangers, serials, problems, secrets;   /* as in a log */
	char sha256[65];
};

/* Keep console bytes as evidence and record their readings at once, as
 * session_take_log does with a log. Bytes that bring no reading leave nothing
 * behind, and that is no fault. */
bool session_take_bytes(struct session *session, const char *bytes, size_t length,
                        struct session_taken *taken, struct pm_fault *fault);

/* --- a console on a serial line --- */

/* Look which serial lines there are. */
void session_list_lines(struct session *session);

/* Open the line and begin to read the console into the job, with somebody at the
 * keyboard. A null device is the console that a practice site plays by itself.
 * One that is open already is closed first. */
bool session_connect(struct session *session, const char *device, struct pm_fault *fault);

/* Let it do what there is to do. False with a fault: see live_service; a job file
 * that somebody else changed is loaded anew, and then all is recorded again. */
bool session_listen(struct session *session, struct pm_fault *fault);

/* Adds ", 2 interfaces IN CONFLICT: port3, port11" when the readings of any differ. */
void session_say_conflicts(const struct session *session, struct pm_text *out);

/* End it; what was read is recorded. It is closed in any case. */
bool session_disconnect(struct session *session, struct pm_fault *fault);

/* Write the registration sheet beside the job: the desk's own workbook filled, where
 * the layout has one, else CSV. `path` receives its name. An earlier sheet of that
 * name is replaced, and stays as it was when that fails. */
bool session_write_sheet(struct session *session, char *path, size_t room, struct pm_fault *fault);

/* Look whether one lies there. */
void session_look_for_sheet(struct session *session);

/* The name of the next act of typing for a fact: "typed-1", "typed-2", ... */
void session_typed_capture(const struct session *session, const char *of, char out[static 80]);

#endif
