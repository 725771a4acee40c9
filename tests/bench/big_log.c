/* A console log of a given size, the same every time: big_log MIB [--bare] > FILE.
 *
 * What a gauge station's router writes in months (all of it invented): log
 * lines with times, counters, network addresses and hex words; now and then
 * somebody asks it for counters, memory or connections, and once a MiB for the
 * listing of its interfaces and its serial number. With --bare there are no log
 * lines, only what was asked for. Lines end as a serial line ends them.
 */
#include <inttypes.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define UNITS 19              /* each with thirteen of the 256 documentation addresses, RFC 9542 2.1.4 */
#define LISTING_EVERY (1u << 20)
#define LINE_MOST 256

static uint64_t state = 0x9E3779B97F4A7C15u;
static uint64_t written;
static uint32_t clock_now = 4 * 3600;

static uint32_t any(uint32_t below)
{
	state ^= state << 13, state ^= state >> 7, state ^= state << 17;
	return (uint32_t)((state >> 32) % below);
}

__attribute__((format(printf, 1, 2)))
static void line(const char *format, ...)
{
	char text[LINE_MOST];
	va_list list;
	va_start(list, format);
	int length = vsnprintf(text, sizeof text, format, list);
	va_end(list);
	if (length < 0 || length >= (int)sizeof text || fputs(text, stdout) < 0 || fputs("\r\n", stdout) < 0)
		exit(2);
	written += (uint64_t)length + 2;
}

/* --- log lines ------------------------------------------------------------------ */

static void log_line(void)
{
	uint32_t day = 1 + clock_now / 86400 % 28, h = clock_now / 3600 % 24, m = clock_now / 60 % 60, s = clock_now % 60;
	clock_now += any(4);
	switch (any(8)) {
	case 0:
		line("2026-02-%02u %02u:%02u:%02u.%03u gauge[%u]: level %u.%03u m, rate 0.%02u m/h, battery 12.%u V, sample %08x", day, h, m, s,
		     any(1000), 200 + any(99), any(9), any(1000), any(100), any(9), any(UINT32_MAX));
		break;
	case 1:
		line("2026-02-%02uT%02u:%02u:%02uZ relay: 192.0.2.%u:%u to 198.51.100.%u:443 open, %u octets, window %u", day, h, m, s,
		     any(254), 1024 + any(60000), any(254), any(1u << 24), any(65536));
		break;
	case 2:
		line("[%7u.%06u] port%u: carrier %s, %u of 4096 descriptors free", clock_now, any(1000000), 1 + any(12),
		     any(2) ? "found" : "lost", any(4096));
		break;
	case 3:
		line("%02u:%02u:%02u satellite: signal %u.%u dB, frame errors %u, slot 0x%04x, beam %u", h, m, s, any(14), any(10), any(300),
		     any(65536), any(40));
		break;
	case 4:
		line("2026-02-%02u %02u:%02u:%02u.%03u time: offset %d us, source 203.0.113.%u, reach %03o", day, h, m, s, any(1000),
		     (int)any(400) - 200, any(254), any(256));
		break;
	case 5:
		line("[%7u.%06u] store: segment %u written, %u blocks, sum %08x%08x", clock_now, any(1000000), any(100000), any(4096),
		     any(UINT32_MAX), any(UINT32_MAX));
		break;
	case 6:
		line("%02u:%02u:%02u rain: tipping bucket %u, total %u.%u mm since 06:00", h, m, s, any(50000), any(90), any(10));
		break;
	default:
		line("2026-02-%02uT%02u:%02u:%02uZ camera: picture %08u.jpg kept, %u KiB, exposure 1/%u", day, h, m, s, any(100000000),
		     any(3000), 30 + any(2000));
	}
}

/* --- what was asked for ------------------------------------------------------------ */

static void counters(void)
{
	line("eg-12> tally");
	for (unsigned i = 1; i <= 12; i++)
		line("  port%-4u in %10u frames  %12" PRIu64 " octets   out %10u frames   lost %u", i, any(UINT32_MAX),
		     (uint64_t)any(UINT32_MAX) * 7, any(UINT32_MAX), any(20));
	line("  queue depth %u, oldest %u ms, dropped %u", any(128), any(5000), any(10));
}

static void memory(void)
{
	line("eg-12> words");
	for (uint32_t at = any(65536) * 16, i = 0; i < 24; i++, at += 16)
		line("  %08x  %04x %04x %04x %04x  %04x %04x %04x %04x", at, any(65536), any(65536), any(65536), any(65536),
		     any(65536), any(65536), any(65536), any(65536));
}

static void connections(void)
{
	line("eg-12> paths");
	line("  near                   far                    state     since");
	for (unsigned i = 0; i < 16; i++)
		line("  192.0.2.%u:%-8u    198.51.100.%u:%-6u   %-8s  %02u:%02u", any(254), 1024 + any(60000), any(254), any(1024),
		     any(3) ? "open" : "closing", any(24), any(60));
	line("%s", "");
}

static void settings(void)
{
	line("eg-12> settings");
	line("gauge line 0");
	line("    range 0.000 to 9.999 m, every %u s, average of %u", 10 + any(50), 1 + any(9));
	line("    report to 203.0.113.%u, retry after %u s, at most %u times", any(254), any(60), any(9));
	line("gauge line 1");
	line("    not fitted");
	line("%s", "");
	line("The station reports when the level rises by more than 50 mm within a quarter of an hour, and");
	line("in any case once an hour. A report that was not answered is kept and sent again later.");
}

static void listing(unsigned unit)
{
	line("eg-12> roll");
	for (unsigned i = 0; i < 13; i++) {
		unsigned last = unit * 13 + i;
		if (i) line("port%u is %s, used by the field side", i, any(3) ? "up" : "down");
		else line("mgmt is up, for service");
		switch (unit % 3) {
		case 0: line("    hardware address 00-00-5E-00-53-%02X", last); break;
		case 1: line("    hardware address 00:00:5e:00:53:%02x", last); break;
		case 2: line("    hardware address 0000.5e00.53%02x", last); break;
		}
		line("    frames in %u, out %u, late %u", any(UINT32_MAX), any(UINT32_MAX), any(9));
	}
	line("eg-12> badge");
	line("  serial number EG12-26-%05u", 417 + unit);
	line("eg-12> ");
}

int main(int argc, char **argv)
{
	unsigned long mib = argc > 1 ? strtoul(argv[1], NULL, 10) : 0;
	bool bare = argc == 3 && strcmp(argv[2], "--bare") == 0;
	if (mib < 1 || mib > 4096 || argc != 2 + bare) {
		fprintf(stderr, "usage: big_log MIB [--bare]\n");
		return 2;
	}
	uint64_t most = (uint64_t)mib << 20, next_listing = 8192;
	for (unsigned listings = 0; written < most;) {
		for (unsigned i = 0; i < 60 && !bare; i++) log_line();
		switch (any(5)) {
		case 0: counters(); break;
		case 1: memory(); break;
		case 2: connections(); break;
		case 3: settings(); break;
		}
		if (written >= next_listing) {
			listing(listings++ % UNITS);
			next_listing += LISTING_EVERY;
		}
	}
	return fflush(stdout) == 0 ? 0 : 2;
}
