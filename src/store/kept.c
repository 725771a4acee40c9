#include "store/kept.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "portmuster/text.h"
#include "portmuster/word.h"
#include "store/path.h"
#include "store/save.h"

#define MOST_BYTES (16u << 20)
#define SETTLED_AFTER 100000000   /* nanoseconds a file must have rested; clock ticks are shorter */

struct header {
	char magic[8];
	uint64_t shape;            /* of the tables and structs of the program that wrote it */
	struct kept_key key;
	uint64_t length;           /* of what follows, a multiple of 8 */
	uint64_t check;            /* over all the above but this, and what follows */
	char digest[72];
};

static const char magic[8] = "PMKEPT1";

static struct kept_key key_of(const struct stat *about)
{
	return (struct kept_key){
		.device = (uint64_t)about->st_dev, .inode = (uint64_t)about->st_ino, .size = (uint64_t)about->st_size,
		.changed = { about->st_mtim.tv_sec, about->st_mtim.tv_nsec, about->st_ctim.tv_sec, about->st_ctim.tv_nsec },
	};
}

bool kept_key(const char *path, struct kept_key *key)
{
	struct stat about;
	const char *wanted = getenv("PORTMUSTER_CACHE");
	if ((wanted && strcmp(wanted, "no") == 0) || stat(path, &about) != 0 || !S_ISREG(about.st_mode))
		return false;
	*key = key_of(&about);
	return true;
}

void kept_look(const char *path, struct kept_key *key)
{
	struct stat about;
	*key = stat(path, &about) == 0 ? key_of(&about) : (struct kept_key){ 0 };
}

bool kept_same(const struct kept_key *a, const struct kept_key *b)
{
	return memcmp(a, b, sizeof *a) == 0;
}

/* A file changed a moment ago could change again within one tick of its clock. */
static bool settled(const struct kept_key *key)
{
	struct timespec now;
	clock_gettime(CLOCK_REALTIME, &now);
	for (int i = 0; i < 4; i += 2) {
		int64_t seconds = now.tv_sec - key->changed[i];
		if (seconds < 0 || (seconds < 2 && seconds * 1000000000 + now.tv_nsec - key->changed[i + 1] < SETTLED_AFTER))
			return false;
	}
	return true;
}

static bool folder(char *out, size_t room)
{
	const char *given = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
	if (given && given[0] == '/')
		return store_path_join(given, "portmuster", out, room);
	return home && home[0] == '/' && store_path_join(home, ".cache/portmuster", out, room);
}

static bool file_of(const struct kept_key *key, const struct store_table *table, char *out, size_t room)
{
	char where[STORE_PATH_ROOM], name[80];
	struct pm_text text;
	pm_text_fixed(&text, name, sizeof name);
	pm_text_add(&text, "%s-%llx-%llx.kept", table->name, (unsigned long long)key->device, (unsigned long long)key->inode);
	return !text.cut && folder(where, sizeof where) && store_path_join(where, name, out, room);
}

/* --- the shape of the structs: a form kept by another program version differs --- */

static void mix(uint64_t *hash, const void *bytes, size_t length)
{
	const unsigned char *at = bytes;
	while (length--)
		*hash = (*hash ^ *at++) * 1099511628211u;
}

static void mix_table(uint64_t *hash, const struct store_table *table)
{
	mix(hash, &table->size, sizeof table->size);
	for (size_t i = 0; i < table->count; i++) {
		const struct store_field *field = &table->fields[i];
		mix(hash, field->key, strlen(field->key));
		mix(hash, &field->holds, sizeof field->holds);
		mix(hash, &field->offset, sizeof field->offset);
		mix(hash, &field->also, sizeof field->also);
		if (field->table)
			mix_table(hash, field->table);
	}
}

static uint64_t shape_of(const struct store_table *table, size_t size)
{
	uint64_t hash = 14695981039346656037u;
	mix(&hash, PM_VERSION, sizeof PM_VERSION);
	mix(&hash, &size, sizeof size);
	mix_table(&hash, table);
	return hash;
}

/* Against damage on the disk, eight bytes at a time. */
static uint64_t check_of(struct header header, const char *bytes)
{
	uint64_t hash = 14695981039346656037u, word;
	header.check = 0;
	for (size_t i = 0; i < sizeof header / 8; i++) {
		memcpy(&word, (const char *)&header + 8 * i, 8);
		hash = (hash ^ word) * 1099511628211u;
	}
	for (size_t i = 0; i < header.length / 8; i++) {
		memcpy(&word, bytes + 8 * i, 8);
		hash = (hash ^ word) * 1099511628211u;
		hash ^= hash >> 29;
	}
	return hash;
}

/* --- every pointer of a struct, found through its table --- */

enum pointer { TO_TEXT, TO_WORDS, TO_STRUCTS };

/* What is done with one pointer at `at`: `count` things behind it. */
struct visitor {
	bool (*pointer)(struct visitor *visitor, size_t at, enum pointer kind, size_t count, const struct store_table *table);
	char *base;          /* reading: the bytes */
	size_t length;
	struct pm_text out;  /* writing: the bytes so far */
};

static char *bytes_at(struct visitor *v, size_t at)
{
	return (v->base ? v->base : v->out.data) + at;
}

static bool visit(struct visitor *v, const struct store_table *table, size_t at)
{
	for (size_t i = 0; i < table->count; i++) {
		const struct store_field *field = &table->fields[i];
		size_t member = at + field->offset, count = 0;
		bool good = true;
		switch (field->holds) {
		case STORE_TEXT:
		case STORE_TIME:
			good = v->pointer(v, member + offsetof(struct pm_word, text), TO_TEXT, 1, NULL);
			break;
		case STORE_DECIMAL:
			good = v->pointer(v, member + offsetof(struct pm_number, word.text), TO_TEXT, 1, NULL);
			break;
		case STORE_CHOICE:
			if (!field->choice->set)
				good = v->pointer(v, member + offsetof(struct pm_word, text), TO_TEXT, 1, NULL);
			break;
		case STORE_TEXTS:
			memcpy(&count, bytes_at(v, member + offsetof(struct pm_words, count)), sizeof count);
			good = v->pointer(v, member + offsetof(struct pm_words, item), TO_WORDS, count, NULL);
			break;
		case STORE_MAPPING:
			good = visit(v, field->table, member);
			break;
		case STORE_MAPPINGS:
			memcpy(&count, bytes_at(v, at + field->also), sizeof count);
			good = v->pointer(v, member, TO_STRUCTS, count, field->table);
			break;
		case STORE_FLAG:
		case STORE_WHOLE:
			break;
		}
		if (!good)
			return false;
	}
	return true;
}

static size_t size_of(enum pointer kind, const struct store_table *table)
{
	return kind == TO_STRUCTS ? table->size : kind == TO_WORDS ? sizeof(struct pm_word) : 1;
}

/* Go on into what a pointer leads to. */
static bool descend(struct visitor *v, size_t at, enum pointer kind, size_t count, const struct store_table *table)
{
	for (size_t i = 0; kind != TO_TEXT && i < count; i++) {
		size_t item = at + i * size_of(kind, table);
		if (kind == TO_STRUCTS ? !visit(v, table, item)
		                       : !v->pointer(v, item + offsetof(struct pm_word, text), TO_TEXT, 1, NULL))
			return false;
	}
	return true;
}

/* --- writing: each pointer becomes the place of what it led to, 0 for null --- */

static size_t append(struct visitor *v, const void *bytes, size_t length)
{
	static const char zeros[8];
	size_t at = v->out.length;
	pm_text_put(&v->out, bytes, length);
	pm_text_put(&v->out, zeros, (8 - v->out.length % 8) % 8);
	return at;
}

static bool write_pointer(struct visitor *v, size_t at, enum pointer kind, size_t count, const struct store_table *table)
{
	const void *target;
	memcpy(&target, v->out.data + at, sizeof target);
	uintptr_t place = 0;
	if (target) {
		size_t length = kind == TO_TEXT ? strlen(target) + 1 : count * size_of(kind, table);
		place = append(v, target, length);
	}
	if (v->out.cut)
		return false;
	memcpy(v->out.data + at, &place, sizeof place);
	return !target || descend(v, (size_t)place, kind, count, table);
}

void kept_save(const struct kept_key *key, const struct store_table *table, const void *base, size_t size,
               const char *digest)
{
	char path[STORE_PATH_ROOM], where[STORE_PATH_ROOM];
	struct pm_arena arena;
	struct visitor v = { .pointer = write_pointer };
	struct pm_fault ignored;
	if (!settled(key) || !digest || !file_of(key, table, path, sizeof path) || !store_path_folder(path, where, sizeof where))
		return;
	pm_arena_init(&arena);
	pm_text_grow(&v.out, &arena);
	append(&v, base, size);
	if (!v.out.cut && visit(&v, table, 0)) {
		struct header header = { .shape = shape_of(table, size), .key = *key, .length = v.out.length };
		struct pm_text whole;
		memcpy(header.magic, magic, sizeof magic);
		memcpy(header.digest, digest, 65);
		header.check = check_of(header, v.out.data);
		pm_text_grow(&whole, &arena);
		pm_text_put(&whole, (const char *)&header, sizeof header);
		pm_text_put(&whole, v.out.data, v.out.length);
		char above[STORE_PATH_ROOM];
		if (store_path_above(where, above, sizeof above))
			mkdir(above, 0700);
		mkdir(where, 0700);
		if (!whole.cut)
			store_write_file(path, whole.data, whole.length, &ignored);
	}
	pm_arena_free(&arena);
}

/* --- reading: each place becomes a pointer again, and must lie inside --- */

static bool read_pointer(struct visitor *v, size_t at, enum pointer kind, size_t count, const struct store_table *table)
{
	uintptr_t place;
	memcpy(&place, v->base + at, sizeof place);
	if (place == 0)
		return kind == TO_TEXT || count == 0;
	/* the last byte is zero, so a text that begins inside also ends inside; what
	 * leads backwards could lead in a circle */
	size_t item = size_of(kind, table);
	if (place >= v->length || place <= at || count > (v->length - place) / item || (kind != TO_TEXT && place % 8 != 0))
		return false;
	const char *target = v->base + place;
	memcpy(v->base + at, &target, sizeof target);
	return descend(v, (size_t)place, kind, count, table);
}

/* The whole file into the arena; null when it can't be had. */
static char *slurp(const char *path, struct pm_arena *arena, size_t *length)
{
	struct stat about;
	char *bytes = NULL;
	int file = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NOFOLLOW | O_NONBLOCK);
	if (file < 0)
		return NULL;
	if (fstat(file, &about) == 0 && S_ISREG(about.st_mode) && about.st_size > (off_t)sizeof(struct header) &&
	    about.st_size < (off_t)MOST_BYTES && about.st_uid == geteuid()) {
		*length = (size_t)about.st_size;
		bytes = pm_arena_alloc(arena, *length);
		if (bytes && read(file, bytes, *length) != (ssize_t)*length)
			bytes = NULL;
	}
	close(file);
	return bytes;
}

bool kept_load(const struct kept_key *key, const struct store_table *table, void *base, size_t size,
               struct pm_arena *arena, char digest[static 65])
{
	char path[STORE_PATH_ROOM];
	struct header header;
	size_t length = 0;
	char *bytes = file_of(key, table, path, sizeof path) ? slurp(path, arena, &length) : NULL;
	if (!bytes)
		return false;
	memcpy(&header, bytes, sizeof header);
	struct visitor v = { .pointer = read_pointer, .base = bytes + sizeof header, .length = length - sizeof header };
	if (memcmp(header.magic, magic, sizeof magic) != 0 || header.shape != shape_of(table, size) ||
	    !kept_same(&header.key, key) || header.length != v.length || v.length < size ||
	    v.length % 8 != 0 || header.check != check_of(header, v.base) ||
	    v.base[v.length - 1] != '\0' || header.digest[64] != '\0' || !visit(&v, table, 0))
		return false;
	memcpy(base, v.base, size);
	memcpy(digest, header.digest, 65);
	return true;
}
