/* Which serial devices there are, and what to say when there is none to take. */
#include <dirent.h>
#include <fcntl.h>
#include <grp.h>
#include <limits.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

#ifdef __linux__
#include <linux/serial.h>
#endif

#include "capture/line_parts.h"
#include "portmuster/text.h"

#define MOST_SEEN 64

/* Names by which serial ports go, likeliest first. */
static const struct {
	const char *prefix, *hint;
	bool ask_hardware;     /* such names also stand for ports that nobody built in */
} kinds[] = {
	{ "ttyUSB", "USB serial adapter", false },
	{ "ttyACM", "USB serial port", false },
	{ "ttyS", "on-board port", true },
};

struct list {
	struct line_device *device;
	size_t count, room;
	dev_t seen[MOST_SEEN];     /* the devices behind the names so far */
	size_t seen_count;
};

static bool join(char out[static PATH_MAX], const char *folder, const char *name)
{
	struct pm_text text;
	pm_text_fixed(&text, out, PATH_MAX);
	pm_text_add(&text, "%s/%s", folder, name);
	return !text.cut;
}

static bool seen(const struct list *list, dev_t device)
{
	for (size_t i = 0; i < list->seen_count; i++)
		if (list->seen[i] == device)
			return true;
	return false;
}

/* Take the device at `path` unless it is there already under another name. */
static void take(struct list *list, const char *path, const char *hint)
{
	struct stat about;
	struct pm_text text;
	if (list->count == list->room || stat(path, &about) != 0 || !S_ISCHR(about.st_mode) || seen(list, about.st_rdev))
		return;
	struct line_device *device = &list->device[list->count];
	*device = (struct line_device){ .usable = access(path, R_OK | W_OK) == 0 };
	pm_text_fixed(&text, device->path, sizeof device->path);
	pm_text_str(&text, path);
	if (text.cut)
		return;
	pm_text_fixed(&text, device->hint, sizeof device->hint);
	pm_text_str(&text, hint);
	list->count++;
	if (list->seen_count < MOST_SEEN)
		list->seen[list->seen_count++] = about.st_rdev;
}

/* "ttyUSB10" comes after "ttyUSB2". */
static int by_number(const void *a, const void *b)
{
	const char *x = a, *y = b;
	size_t x_length = strlen(x), y_length = strlen(y);
	if (x_length != y_length)
		return x_length < y_length ? -1 : 1;
	return strcmp(x, y);
}

static int by_name(const void *a, const void *b)
{
	return strcmp(a, b);
}

/* The names in `folder` that begin with `prefix` and go on with digits only;
 * with a null prefix, all of them. */
static size_t names_in(const char *folder, const char *prefix, char (*name)[NAME_MAX + 1], size_t room)
{
	size_t count = 0, length = prefix ? strlen(prefix) : 0;
	DIR *dir = opendir(folder);
	struct dirent *entry;
	while (dir && count < room && (entry = readdir(dir))) {
		const char *rest = entry->d_name + length;
		if (entry->d_name[0] == '.' || (prefix && strncmp(entry->d_name, prefix, length) != 0))
			continue;
		if (prefix && (!*rest || rest[strspn(rest, "0123456789")]))
			continue;
		memcpy(name[count++], entry->d_name, strlen(entry->d_name) + 1);
	}
	if (dir)
		closedir(dir);
	qsort(name, count, sizeof *name, prefix ? by_number : by_name);
	return count;
}

/* Is the port more than a name? The system's list says which chip it has, 0
 * being none; where there is no such list, the port itself is asked. */
static bool in_hardware(const char *root, const char *name)
{
	char path[PATH_MAX];
	struct pm_text text;
	pm_text_fixed(&text, path, sizeof path);
	pm_text_add(&text, "%s/../sys/class/tty/%s/type", root, name);
	int file = text.cut ? -1 : open(path, O_RDONLY | O_CLOEXEC);
	if (file >= 0) {
		char chip[16];
		ssize_t length = read(file, chip, sizeof chip);
		close(file);
		return length > 0 && pm_is_digit((unsigned char)chip[0]) && chip[0] != '0';
	}
	bool found = false;
#ifdef TIOCGSERIAL
	struct serial_struct port;
	file = join(path, root, name) ? open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC) : -1;
	memset(&port, 0, sizeof port);
	found = file >= 0 && ioctl(file, TIOCGSERIAL, &port) == 0 && port.type != PORT_UNKNOWN;
	if (file >= 0)
		close(file);
#endif
	return found;
}

/* Adapters by the names that stay the same wherever they are plugged in. */
static void list_stable(struct list *list, const char *root, char (*name)[NAME_MAX + 1])
{
	char folder[PATH_MAX], path[PATH_MAX], target[PATH_MAX], hint[120];
	if (!join(folder, root, "serial/by-id"))
		return;
	size_t count = names_in(folder, NULL, name, MOST_SEEN);
	for (size_t i = 0; i < count; i++) {
		struct pm_text text;
		pm_text_fixed(&text, hint, sizeof hint);
		pm_text_str(&text, "USB serial adapter");
		if (!join(path, folder, name[i]))
			continue;
		if (realpath(path, target)) {
			const char *base = strrchr(target, '/');
			pm_text_str(&text, ", now ");
			pm_text_visible(&text, base + 1, strlen(base + 1));
		}
		take(list, path, hint);
	}
}

size_t line_list(const char *root, struct line_device *devices, size_t room)
{
	struct list list = { .device = devices, .room = room };
	char path[PATH_MAX];
	char (*name)[NAME_MAX + 1] = malloc(MOST_SEEN * sizeof *name);
	if (!name)
		return 0;
	list_stable(&list, root, name);
	for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
		size_t count = names_in(root, kinds[k].prefix, name, MOST_SEEN);
		for (size_t i = 0; i < count; i++)
			if (join(path, root, name[i]) && (!kinds[k].ask_hardware || in_hardware(root, name[i])))
				take(&list, path, kinds[k].hint);
	}
	free(name);
	return list.count;
}

/* Is the person behind this program a member of the group, by the book? */
static bool is_member(const struct group *group)
{
	const struct passwd *user = getpwuid(geteuid());
	for (char **member = group->gr_mem; user && *member; member++)
		if (strcmp(*member, user->pw_name) == 0)
			return true;
	return false;
}

bool line_forbidden(const char *device, struct pm_fault *fault)
{
	struct stat about;
	bool known = stat(device, &about) == 0;
	const mode_t both = S_IRGRP | S_IWGRP;
	pm_fail(fault, PM_FAULT_FORBIDDEN, (struct pm_place){ .file = device }, "no permission to use this device");
	const struct group *group = known && (about.st_mode & both) == both ? getgrgid(about.st_gid) : NULL;
	if (!group)
		return pm_fail_remedy(fault, "have whoever looks after this computer let you use the device");
	if (is_member(group))
		return pm_fail_remedy(fault, "you were added to its group %s, but this login is older: log in again", group->gr_name);
	return pm_fail_remedy(fault, "it belongs to the group %s: add yourself to that group and log in again", group->gr_name);
}

bool line_none_named(const struct line_device *devices, size_t count, struct pm_fault *fault)
{
	char list[PM_FAULT_TEXT - 40];
	struct pm_text text;
	size_t usable = 0;
	for (size_t i = 0; i < count; i++)
		usable += devices[i].usable;
	if (count == 0) {
		pm_fail(fault, PM_FAULT_MISSING, (struct pm_place){ 0 }, "no serial device is there");
		return pm_fail_remedy(fault, "plug the console lead's adapter in, or name the device with --line");
	}
	if (usable == 0)
		return line_forbidden(devices[0].path, fault);
	pm_text_fixed(&text, list, sizeof list);
	for (size_t i = 0; i < count; i++)
		if (devices[i].usable)
			pm_text_add(&text, "%s%s (%s)", text.length ? ", " : "", devices[i].path, devices[i].hint);
	pm_fail(fault, PM_FAULT_USAGE, (struct pm_place){ 0 }, "no device was named, and %zu could be meant", usable);
	return pm_fail_remedy(fault, "name one with --line: %s", list);
}
