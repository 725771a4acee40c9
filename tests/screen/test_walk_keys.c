/* 200,000 random events on practice sites in every stage: nothing crashes, what
 * was saved stays, and the screen holds nothing but printable ASCII. */
#include <inttypes.h>

#include "walk_course.h"

#define ROUNDS 10
#define EVENTS 20000   /* a round */
#define ENOUGH 120     /* entries: then a new site is begun */

static struct walk_fixture f;
static uint32_t seed;

static uint32_t next_random(uint32_t below)
{
	seed = seed * 1664525u + 1013904223u;
	return (uint32_t)(((uint64_t)(seed >> 8) * below) >> 24);
}

/* Further and further into the job. */
static void begin_round(int round)
{
	void (*const stages[])(struct walk_fixture *) = {
		course_prepare, course_fit, course_muster, course_register, course_book, course_cutover, course_close,
	};
	walk_start(&f);
	walk_key(&f, KEYS_ENTER);
	for (int i = 0; i < round && i < (int)(sizeof stages / sizeof *stages); i++)
		stages[i](&f);
}

static struct screen_event random_paste(void)
{
	static char bytes[4096];
	static const char listing[] = "interface address\nport1 00-00-5E-00-53-11\nport2 00-00-5E-00-53-42\nport99 00-00-5E-00-53-99\n";
	struct screen_event event = { .kind = EVENT_PASTE, .text = listing, .length = sizeof listing - 1 };
	uint32_t kind = next_random(4);
	if (kind == 0) {
		event.length = next_random(sizeof bytes);
		event.text = bytes;
		for (size_t i = 0; i < event.length; i++)
			bytes[i] = (char)next_random(256);
	} else if (kind == 1) {
		event.text = "1\x1b[2J\n00-00-5E-00-53-10\x07";
		event.length = strlen(event.text);
	} else if (kind == 2) {
		event.length = next_random(sizeof listing);
	}
	return event;
}

static struct screen_event random_event(void)
{
	static const char common[] = "aabcdey1nqmrtfw+lsoph?0123456789-:";
	struct screen_event event = { .kind = EVENT_KEY };
	switch (next_random(16)) {
	case 0: case 1: case 2: event.key = KEYS_ENTER; break;
	case 3: event.key = KEYS_ESCAPE; break;
	case 4: event.key = (enum screen_key)next_random(KEYS_CTRL); break;
	case 5: event.key = KEYS_CTRL; event.point = 'a' + next_random(26); break;
	case 6: event.key = next_random(2) ? KEYS_DOWN : KEYS_TAB; break;
	case 7:
		event.kind = EVENT_CHARACTER;
		event.point = next_random(4) ? 32 + next_random(95) : next_random(0x110000);
		break;
	case 8:
		if (next_random(8) == 0)
			event = random_paste();
		else
			event.kind = next_random(6) ? EVENT_TICK : EVENT_INTERRUPT;
		break;
	default:
		event.kind = EVENT_CHARACTER;
		event.point = (unsigned char)common[next_random(sizeof common - 1)];
	}
	event.burst = next_random(12) == 0;
	return event;
}

/* Now and then something whole is typed, so that it gets anywhere. */
static void random_words(void)
{
	static const char *const words[] = {
		"00-00-5E-00-53-1", "EG12-26-00417", "GU-0417-K", "some words", "253", "2026-09-14 09:00 Z to 11:00", "1",
	};
	walk_type(&f, words[next_random(sizeof words / sizeof *words)]);
	if (next_random(2))
		walk_type(&f, (char[]){ "0123456789ABCDEF"[next_random(16)], '\0' });
}

static void assert_printable(void)
{
	const struct canvas *canvas = &f.canvas;
	for (int c = 0; c < canvas->rows * canvas->columns; c++) {
		const struct canvas_cell *cell = &canvas->cell[c];
		if ((cell->point && (cell->point < 32 || cell->point > 126)) || cell->mark[0] || cell->mark[1])
			fail_msg("cell %d holds U+%04" PRIX32, c, cell->point);
	}
	assert_in_range(canvas->cursor_row, 0, (uintmax_t)canvas->rows - 1);
	assert_in_range(canvas->cursor_column, 0, (uintmax_t)canvas->columns - 1);
}

static size_t on_disk(void)
{
	struct store_job job;
	struct pm_fault fault;
	if (!store_job_load(f.job, &job, &fault))
		fail_msg("the job file does not load: %s", fault.message);
	size_t readings = job.job.reading_count;
	store_job_free(&job);
	return readings;
}

static void random_keys(void **state)
{
	(void)state;
	size_t saves = 0, sittings = 0, screens[WALK_SCREENS] = { 0 };
	for (int round = 0; round < ROUNDS; round++) {
		seed = 1000u + (uint32_t)round;
		begin_round(round);
		size_t readings = walk_readings(&f), begun = readings, waivers = 0;
		for (int i = 0; i < EVENTS; i++) {
			if (next_random(300) == 0)
				walk_size(&f, 1 + (int)next_random(60), 1 + (int)next_random(200));
			if (next_random(60) == 0)
				random_words();
			f.now += next_random(40) == 0 ? next_random(60) : 0;
			walk_send(&f, random_event());
			assert_printable();
			screens[f.state.screen]++;
			if (walk_readings(&f) != readings || f.session.job.job.waiver_count != waivers) {
				assert_true(walk_readings(&f) >= readings);
				assert_true(f.session.job.job.waiver_count >= waivers);
				readings = walk_readings(&f);
				waivers = f.session.job.job.waiver_count;
				assert_int_equal(on_disk(), readings);
				saves++;
			}
			if (readings > begun + ENOUGH) {
				walk_end(&f);
				begin_round(round);
				readings = begun = walk_readings(&f);
				waivers = 0;
				continue;
			}
			if (f.left || next_random(4000) == 0) {
				walk_reopen(&f);
				assert_int_equal(walk_readings(&f), readings);
				sittings++;
			}
		}
		assert_int_equal(on_disk(), readings);
		walk_end(&f);
	}
	/* it got about: every screen was there, and much was saved */
	for (size_t i = 0; i < WALK_SCREENS; i++)
		if (screens[i] < 20)
			fail_msg("%s was on the screen %zu times only", walk_screens[i].title, screens[i]);
	assert_true(saves > 100);
	printf("# figure %d random events, %zu saves, %zu sittings\n", ROUNDS * EVENTS, saves, sittings);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(random_keys) };
	return cmocka_run_group_tests(tests, NULL, NULL);
}
