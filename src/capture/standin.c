#include "capture/standin.h"

#include <stdlib.h>
#include <string.h>

#include "capture/standin_parts.h"

#define REBOOT_PAUSE 400       /* milliseconds of darkness before it starts again */
#define REBOOT_LEAST 2000      /* that it then takes at least */
#define MESSAGE_EVERY 1500     /* between messages of the start, about */
#define DOCUMENTED 0x100       /* documentation addresses: RFC 9542 2.1.4, ...-53-00 to -FF */

/* --- saying things ----------------------------------------------------------------- */

static int64_t byte_us(const struct standin *s)
{
	return s->options.speed > 0 ? 10000000 / s->options.speed : 0;   /* 8N1: ten bits a byte */
}

static void put_byte(struct standin *s, char byte)
{
	char noisy[2];
	size_t count = chance_noise(&s->noise, &s->options, byte, noisy);
	if (s->out_at == s->out_length) {
		s->out_at = s->out_length = 0;
		if (s->typed < s->now * 1000) s->typed = s->now * 1000;
	}
	if (count == 0) return;
	if (s->out_room - s->out_length < count) {
		size_t room = s->out_room ? s->out_room * 2 : 4096;
		char *more = realloc(s->out, room);
		if (!more) return;   /* as if the line had lost it */
		s->out = more;
		s->out_room = room;
	}
	memcpy(s->out + s->out_length, noisy, count);
	s->out_length += count;
}

static void put(struct standin *s, const char *text)
{
	for (; *text; text++) {
		bool printable = (unsigned char)*text >= 0x20;
		if (printable && s->options.columns && s->column == s->options.columns) {
			put_byte(s, '\r');
			put_byte(s, '\n');
			s->column = 0;
		}
		put_byte(s, *text);
		if (*text == '\r' || *text == '\n') s->column = 0;
		else if (*text == '\b') s->column -= s->column > 0;
		else s->column++;
	}
}

static void put_line(struct standin *s, const char *text)
{
	put(s, text);
	put(s, "\r\n");
}

static void put_prompt(struct standin *s)
{
	s->state = STANDIN_READY;
	s->in_length = 0;
	put(s, s->prompt);
}

/* --- starting ------------------------------------------------------------------------ */

static void start(struct standin *s, int64_t at)
{
	s->state = STANDIN_STARTING;
	s->started = at;
	s->message = 0;
	s->messages = (unsigned)(s->options.boot / MESSAGE_EVERY) + 4;
	if (s->messages > 40) s->messages = 40;
	s->in_length = 0;
}

/* When the next message of the start is due; the last is the banner. */
static int64_t message_at(const struct standin *s)
{
	return s->started + s->options.boot * s->message / s->messages;
}

static void advance(struct standin *s, int64_t now)
{
	char line[STANDIN_LINE];
	struct pm_text text;
	if (now > s->now) s->now = now;
	while (s->state == STANDIN_STARTING && message_at(s) <= s->now) {
		pm_text_fixed(&text, line, sizeof line);
		if (s->message == s->messages) {
			put(s, "\r\n");
			standin_banner(s, &text);
			put_line(s, line);
			put_prompt(s);
			return;
		}
		standin_message(s, &text);
		put_line(s, line);
		s->message++;
	}
}

/* In the middle of line `text` all stops, and it starts again. */
static void reboot(struct standin *s, char *text)
{
	text[strlen(text) / 2] = '\0';
	put(s, text);
	s->rebooted = true;
	s->column = 0;
	if (s->options.boot < REBOOT_LEAST) s->options.boot = REBOOT_LEAST;
	int64_t sent = s->typed + (int64_t)(s->out_length - s->out_at) * byte_us(s);
	start(s, sent / 1000 + REBOOT_PAUSE);
	put(s, "\r\n");
}

/* --- the listing, page by page ----------------------------------------------------------- */

static const char *pager_text(const struct standin *s)
{
	const struct pm_words *pagers = &s->options.gear->console.pagers;
	return pagers->count && pagers->item[0].text ? pagers->item[0].text : "--more--";
}

static void go_on(struct standin *s)
{
	char line[STANDIN_LINE];
	struct pm_text text;
	s->state = STANDIN_READY;
	while (s->line < s->lines) {
		if (s->options.rows && s->on_page >= s->options.rows) {
			put(s, pager_text(s));
			s->state = STANDIN_PAGING;
			return;
		}
		if (chance_one_in(&s->chance, s->options.chatter)) {
			pm_text_fixed(&text, line, sizeof line);
			standin_chatter(s, &text);
			put_line(s, line);
			s->on_page++;
		}
		pm_text_fixed(&text, line, sizeof line);
		standin_line(s, s->line, &text);
		if (s->options.reboot && !s->rebooted && s->listings == s->reboot_listing && s->line == s->reboot_line) {
			reboot(s, line);
			return;
		}
		put_line(s, line);
		s->line++;
		s->on_page++;
	}
	put_prompt(s);
}

static void begin_listing(struct standin *s)
{
	s->listings++;
	s->line = 0;
	s->on_page = 0;
	s->lines = standin_lines(s);
	go_on(s);
}

static void erase_pager(struct standin *s)
{
	put(s, "\r");
	for (size_t i = strlen(pager_text(s)); i; i--) put(s, " ");
	put(s, "\r");
}

/* --- what is typed to it --------------------------------------------------------------------- */

static bool is_command(const struct standin *s, struct pm_word command)
{
	return pm_given(command) && strcmp(s->in, command.text) == 0;
}

static void obey(struct standin *s)
{
	const struct pm_console *console = &s->options.gear->console;
	char line[STANDIN_LINE];
	struct pm_text text;
	while (s->in_length && s->in[s->in_length - 1] == ' ') s->in_length--;
	s->in[s->in_length] = '\0';
	size_t skip = strspn(s->in, " ");
	memmove(s->in, s->in + skip, s->in_length - skip + 1);
	if (is_command(s, console->listing)) {
		begin_listing(s);
		return;
	}
	if (is_command(s, console->identity)) {
		for (size_t i = 0; i < STANDIN_IDENTITY_LINES; i++) {
			pm_text_fixed(&text, line, sizeof line);
			standin_identity(s, i, &text);
			put_line(s, line);
		}
	} else if (s->in[0]) {
		pm_text_fixed(&text, line, sizeof line);
		pm_text_str(&text, "no such word: ");
		pm_text_visible(&text, s->in, strlen(s->in));
		put_line(s, line);
	}
	put_prompt(s);
}

static void typed_at_pager(struct standin *s, char byte)
{
	if (byte == ' ' || byte == '\r') {
		erase_pager(s);
		s->on_page = byte == ' ' || s->options.rows == 0 ? 0 : s->options.rows - 1;
		go_on(s);
	} else if (byte == 'q') {
		erase_pager(s);
		put_prompt(s);
	}
}

static void typed(struct standin *s, char byte)
{
	bool same_enter = byte == '\n' && s->after_return;
	s->after_return = byte == '\r';
	if (s->state == STANDIN_STARTING || same_enter) return;   /* nobody is there to hear it */
	if (byte == '\n') byte = '\r';
	if (s->state == STANDIN_PAGING) {
		typed_at_pager(s, byte);
	} else if (byte == '\r') {
		put(s, "\r\n");
		obey(s);
	} else if ((byte == '\b' || byte == 0x7F) && s->in_length) {
		s->in_length--;
		put(s, "\b \b");
	} else if ((unsigned char)byte >= 0x20 && byte != 0x7F && s->in_length + 1 < sizeof s->in) {
		char echo[2] = { byte, '\0' };
		s->in[s->in_length++] = byte;
		put(s, echo);
	}
}

/* --- life --------------------------------------------------------------------------------------- */

struct standin_options standin_defaults(const struct pm_gear *gear, uint64_t seed)
{
	uint64_t chance = seed;
	unsigned ports = (unsigned)gear->port_count, room = ports < DOCUMENTED ? DOCUMENTED - ports : 1;
	return (struct standin_options){
		.gear = gear, .seed = seed, .base = pm_eui48_from(0x00005E005300u + chance_below(&chance, room)),
		.style = STANDIN_STANZA, .notation = PM_COLON, .lower = true,
		.boot = 20000, .speed = gear->console.speed ? gear->console.speed : 9600, .rows = 22, .columns = 80,
	};
}

struct standin *standin_begin(const struct standin_options *options, int64_t now)
{
	struct standin *s = calloc(1, sizeof *s);
	if (!s) return NULL;
	s->options = *options;
	s->chance = options->seed;
	s->noise = chance_next(&s->chance);
	s->now = now;
	s->typed = now * 1000;
	standin_make_serial(s);
	standin_make_prompt(s);
	s->lines = standin_lines(s);
	s->reboot_listing = 1 + chance_below(&s->chance, 2);
	s->reboot_line = s->lines / 4 + chance_below(&s->chance, (unsigned)(s->lines / 2) + 1);
	if (options->wrong_port && options->wrong_port <= options->gear->port_count) {
		/* One of the last two digits is another one: still a documentation address. */
		uint64_t number = pm_eui48_number(&options->base) + options->wrong_port - 1;
		unsigned shift = 4 * chance_below(&s->chance, 2), change = 1 + chance_below(&s->chance, 15);
		s->wrong = pm_eui48_from(number ^ (uint64_t)change << shift);
	}
	start(s, now);
	/* One that starts at once has been up for long, its prompt is history. */
	if (options->boot <= 0) s->state = STANDIN_READY;
	return s;
}

void standin_free(struct standin *standin)
{
	if (!standin) return;
	free(standin->out);
	free(standin);
}

void standin_feed(struct standin *standin, const void *bytes, size_t length, int64_t now)
{
	const char *at = bytes;
	advance(standin, now);
	for (size_t i = 0; i < length; i++) typed(standin, at[i]);
}

size_t standin_take(struct standin *standin, void *bytes, size_t room, int64_t now)
{
	advance(standin, now);
	size_t count = standin->out_length - standin->out_at;
	int64_t each = byte_us(standin);
	if (each) {
		int64_t can = (now * 1000 - standin->typed) / each;
		if (can <= 0) return 0;
		if ((uint64_t)can < count) count = (size_t)can;
	}
	if (count > room) count = room;
	if (count) memcpy(bytes, standin->out + standin->out_at, count);
	standin->out_at += count;
	standin->typed += (int64_t)count * each;
	return count;
}

int standin_wait(const struct standin *standin, int64_t now)
{
	int64_t until = -1;
	if (standin->out_at < standin->out_length) {
		int64_t at = standin->typed + byte_us(standin);
		until = (at - now * 1000 + 999) / 1000;
	} else if (standin->state == STANDIN_STARTING) {
		until = message_at(standin) - now;
	} else {
		return -1;
	}
	return until < 0 ? 0 : until > 3600000 ? 3600000 : (int)until;
}

struct pm_eui48 standin_address(const struct standin *standin, size_t port)
{
	return pm_eui48_from(pm_eui48_number(&standin->options.base) + port);
}
