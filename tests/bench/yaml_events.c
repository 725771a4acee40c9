/* The yardstick: read every file named on standard input and go through its
 * events with libyaml alone, on one thread; prints the milliseconds. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <yaml.h>

static unsigned char bytes[4 << 20];

static size_t events_of(size_t length)
{
	yaml_parser_t parser;
	size_t count = 0;
	if (!yaml_parser_initialize(&parser))
		exit(2);
	yaml_parser_set_input_string(&parser, bytes, length);
	for (int ended = 0; !ended; count++) {
		yaml_event_t event;
		if (!yaml_parser_parse(&parser, &event))
			exit(2);
		ended = event.type == YAML_STREAM_END_EVENT;
		yaml_event_delete(&event);
	}
	yaml_parser_delete(&parser);
	return count;
}

int main(void)
{
	char path[4096];
	struct timespec a, b;
	size_t count = 0;
	clock_gettime(CLOCK_MONOTONIC, &a);
	while (fgets(path, sizeof path, stdin)) {
		path[strcspn(path, "\n")] = '\0';
		FILE *file = fopen(path, "rb");
		if (!file) {
			perror(path);
			return 2;
		}
		setvbuf(file, NULL, _IONBF, 0);
		count += events_of(fread(bytes, 1, sizeof bytes, file));
		fclose(file);
	}
	clock_gettime(CLOCK_MONOTONIC, &b);
	if (!count)
		return 2;
	printf("%.3f\n", (double)(b.tv_sec - a.tv_sec) * 1e3 + (double)(b.tv_nsec - a.tv_nsec) / 1e6);
	return 0;
}
