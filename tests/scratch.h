/* scratch.h - a folder of its own for a test that needs files. */
#ifndef TESTS_SCRATCH_H
#define TESTS_SCRATCH_H

#include <dirent.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A new folder below $TMPDIR or /tmp; its path goes into `out`. */
static inline bool scratch_make(char *out, size_t room)
{
	const char *base = getenv("TMPDIR");
	snprintf(out, room, "%s/pm-test-XXXXXX", base && *base ? base : "/tmp");
	return mkdtemp(out) != NULL;
}

/* Remove a folder and all that is in it. */
static inline void scratch_remove(const char *folder)
{
	DIR *listing = opendir(folder);
	if (!listing)
		return;
	for (const struct dirent *entry; (entry = readdir(listing));) {
		struct stat about;
		size_t room = strlen(folder) + strlen(entry->d_name) + 2;
		char *path = malloc(room);
		if (!path || !strcmp(entry->d_name, ".") || !strcmp(entry->d_name, "..")) {
			free(path);
			continue;
		}
		strcat(strcat(strcpy(path, folder), "/"), entry->d_name);
		if (lstat(path, &about) == 0 && S_ISDIR(about.st_mode))
			scratch_remove(path);
		else
			unlink(path);
		free(path);
	}
	closedir(listing);
	rmdir(folder);
}

/* Write a file plainly; false when it can't be done. */
static inline bool scratch_write(const char *path, const char *bytes, size_t length)
{
	FILE *file = fopen(path, "wb");
	if (!file)
		return false;
	bool good = fwrite(bytes, 1, length, file) == length;
	return fclose(file) == 0 && good;
}

/* A file's bytes, terminated, to be freed; null when it can't be read. */
static inline char *scratch_read(const char *path, size_t *length)
{
	FILE *file = fopen(path, "rb");
	if (!file)
		return NULL;
	size_t room = 1 << 16, used = 0;
	char *bytes = malloc(room + 1);
	for (size_t got; bytes && (got = fread(bytes + used, 1, room - used, file)) > 0;) {
		used += got;
		if (used == room) {
			room *= 2;
			char *wider = realloc(bytes, room + 1);
			if (!wider)
				free(bytes);
			bytes = wider;
		}
	}
	fclose(file);
	if (bytes)
		bytes[used] = '\0';
	if (length)
		*length = used;
	return bytes;
}

/* How many entries a folder has, "." and ".." left out; -1 when it can't be read. */
static inline int scratch_count(const char *folder)
{
	int count = 0;
	DIR *listing = opendir(folder);
	if (!listing)
		return -1;
	for (const struct dirent *entry; (entry = readdir(listing));)
		if (strcmp(entry->d_name, ".") && strcmp(entry->d_name, ".."))
			count++;
	closedir(listing);
	return count;
}

#endif
