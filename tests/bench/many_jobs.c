/* Make a fleet of job files: many_jobs FOLDER COUNT. What is there already is
 * left alone. */
#include <stdlib.h>
#include <sys/stat.h>

#include "../many_jobs.h"

int main(int argc, char **argv)
{
	static char text[MANY_JOBS_ROOM];
	char path[4096];
	int count = argc == 3 ? atoi(argv[2]) : 0;
	size_t total = 0;
	if (count < 1 || count > 1000000) {
		fprintf(stderr, "usage: many_jobs FOLDER COUNT\n");
		return 2;
	}
	mkdir(argv[1], 0777);
	for (int i = 0; i < count; i++) {
		struct stat about;
		size_t length = many_job((unsigned)i, text);
		if (snprintf(path, sizeof path, "%s/tb-%05d.yaml", argv[1], i) >= (int)sizeof path)
			return 2;
		total += length;
		if (stat(path, &about) == 0 && (size_t)about.st_size == length)
			continue;
		FILE *file = fopen(path, "wb");
		if (!file || fwrite(text, 1, length, file) != length || fclose(file) != 0) {
			perror(path);
			return 2;
		}
	}
	printf("%d job files, %zu bytes on average\n", count, total / (size_t)count);
	return 0;
}
