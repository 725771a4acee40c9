#include "capture/line.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#ifdef __linux__
#include <sys/sysmacros.h>
#endif
#include <unistd.h>

#include "capture/line_parts.h"
#include "portmuster/text.h"

static const struct {
	int64_t bits;
	speed_t speed;
} speeds[] = {
	{ 50, B50 }, { 75, B75 }, { 110, B110 }, { 134, B134 }, { 150, B150 }, { 200, B200 },
	{ 300, B300 }, { 600, B600 }, { 1200, B1200 }, { 1800, B1800 }, { 2400, B2400 }, { 4800, B4800 },
	{ 9600, B9600 }, { 19200, B19200 }, { 38400, B38400 },
#ifdef B57600
	{ 57600, B57600 },
#endif
#ifdef B115200
	{ 115200, B115200 },
#endif
#ifdef B230400
	{ 230400, B230400 },
#endif
#ifdef B460800
	{ 460800, B460800 },
#endif
#ifdef B500000
	{ 500000, B500000 },
#endif
#ifdef B576000
	{ 576000, B576000 },
#endif
#ifdef B921600
	{ 921600, B921600 },
#endif
#ifdef B1000000
	{ 1000000, B1000000 },
#endif
#ifdef B1152000
	{ 1152000, B1152000 },
#endif
#ifdef B1500000
	{ 1500000, B1500000 },
#endif
#ifdef B2000000
	{ 2000000, B2000000 },
#endif
#ifdef B2500000
	{ 2500000, B2500000 },
#endif
#ifdef B3000000
	{ 3000000, B3000000 },
#endif
#ifdef B3500000
	{ 3500000, B3500000 },
#endif
#ifdef B4000000
	{ 4000000, B4000000 },
#endif
};

static struct pm_place of(const char *device)
{
	return (struct pm_place){ .file = device };
}

static bool speed_find(const char *device, int64_t bits, speed_t *speed, struct pm_fault *fault)
{
	for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++)
		if (speeds[i].bits == bits) {
			*speed = speeds[i].speed;
			return true;
		}
	pm_fail(fault, PM_FAULT_VALUE, of(device), "no serial line runs at %lld bits a second", (long long)bits);
	return pm_fail_remedy(fault, "take one of 300, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200 and the like");
}

/* The flags of a framing such as "8N1". */
static bool framing_read(const char *device, const char *framing, tcflag_t *flags, struct pm_fault *fault)
{
	static const tcflag_t sizes[] = { CS5, CS6, CS7, CS8 };
	static const char parities[] = "NEO";
	static const tcflag_t parity[] = { 0, PARENB, PARENB | PARODD };
	const char *found = strlen(framing) == 3 ? strchr(parities, pm_upper((unsigned char)framing[1])) : NULL;
	if (!found || framing[0] < '5' || framing[0] > '8' || (framing[2] != '1' && framing[2] != '2')) {
		char quoted[80];
		struct pm_text text;
		pm_text_fixed(&text, quoted, sizeof quoted);
		pm_text_quote(&text, framing);
		pm_fail(fault, PM_FAULT_VALUE, of(device), "%s is no framing", quoted);
		return pm_fail_remedy(fault, "write data bits 5 to 8, parity N, E or O, and stop bits 1 or 2, as in 8N1");
	}
	*flags = sizes[framing[0] - '5'] | parity[found - parities] | (framing[2] == '2' ? CSTOPB : 0);
	return true;
}

/* Someone else's terminal program answers neither to us nor to the router. */
static bool busy(const char *device, struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_LOCKED, of(device), "another program uses this line");
	return pm_fail_remedy(fault, "leave the other terminal program, then try again");
}

static bool not_serial(const char *device, struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_VALUE, of(device), "this is not a serial line");
	return pm_fail_remedy(fault, "name the device of the console lead, such as /dev/ttyUSB0 or /dev/ttyS0");
}

static bool missing(const char *device, struct pm_fault *fault)
{
	struct line_device found[8];
	char list[200];
	struct pm_text text;
	size_t count = line_list("/dev", found, sizeof found / sizeof *found);
	pm_fail(fault, PM_FAULT_MISSING, of(device), "there is no such device");
	if (count == 0)
		return pm_fail_remedy(fault, "plug the console lead's adapter in; no serial device is there now");
	pm_text_fixed(&text, list, sizeof list);
	for (size_t i = 0; i < count; i++)
		pm_text_add(&text, "%s%s", i ? ", " : "", found[i].path);
	return pm_fail_remedy(fault, "what is there now: %s", list);
}

static bool refused(const char *device, int error, struct pm_fault *fault)
{
	switch (error) {
	case ENOENT:
	case ENOTDIR: return missing(device, fault);
	case EACCES:
	case EPERM: return line_forbidden(device, fault);
	case EBUSY: return busy(device, fault);
	case ENXIO:
	case ENODEV:
	case EIO:
		pm_fail(fault, PM_FAULT_MISSING, of(device), "no hardware answers behind this device");
		return pm_fail_remedy(fault, "take the device of the console lead");
	case EISDIR:
	case ENOTTY:
	case EINVAL: return not_serial(device, fault);
	}
	return pm_fail(fault, PM_FAULT_UNREADABLE, of(device), "it cannot be opened: %s", strerror(error));
}

/* The terminal that the person sits at would be typed to by the program itself. */
static bool own_terminal(const struct stat *about)
{
	struct stat mine;
	for (int fd = 0; fd <= 2; fd++)
		if (isatty(fd) && fstat(fd, &mine) == 0 && mine.st_rdev == about->st_rdev)
			return true;
	return stat("/dev/tty", &mine) == 0 && mine.st_rdev == about->st_rdev;
}

/* Only a character device is opened at all: opening others may do something. */
static bool may_be_line(const char *device, struct pm_fault *fault)
{
	struct stat about;
	if (stat(device, &about) != 0)
		return refused(device, errno, fault);
	if (!S_ISCHR(about.st_mode))
		return not_serial(device, fault);
	if (own_terminal(&about)) {
		pm_fail(fault, PM_FAULT_USAGE, of(device), "this is the terminal that you sit at");
		return pm_fail_remedy(fault, "name the device of the console lead");
	}
	return true;
}

/* Both locks, as programs look for the one or the other. */
static bool take_alone(struct line *line, struct pm_fault *fault)
{
	if (flock(line->fd, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK)
		return busy(line->device, fault);
#ifdef TIOCGEXCL
	/* the superuser may open what others hold for themselves */
	int taken = 0;
	if (ioctl(line->fd, TIOCGEXCL, &taken) == 0 && taken)
		return busy(line->device, fault);
#endif
	if (ioctl(line->fd, TIOCEXCL) != 0)
		return refused(line->device, errno, fault);
	line->alone = true;
	return true;
}

static struct termios wanted(const struct termios *found, speed_t speed, tcflag_t framing)
{
	struct termios raw = *found;
	/* a byte that came broken is read as NUL, which the reader reports: left out
	 * in silence it would make another address of what is around it */
	raw.c_iflag = IGNBRK | (framing & PARENB ? INPCK : 0);
	raw.c_oflag = 0;
	raw.c_lflag = 0;
	/* hanging up at the end would drop the modem lines, and some routers start
	 * again when they fall; whatever was set before is put back at closing */
	raw.c_cflag &= ~(tcflag_t)(CSIZE | CSTOPB | PARENB | PARODD | HUPCL);
#ifdef CRTSCTS
	raw.c_cflag &= ~(tcflag_t)CRTSCTS;
#endif
	raw.c_cflag |= CREAD | CLOCAL | framing;
	/* at least one byte, so that a read of none means the end of the line */
	raw.c_cc[VMIN] = 1;
	raw.c_cc[VTIME] = 0;
	cfsetispeed(&raw, speed);
	cfsetospeed(&raw, speed);
	return raw;
}

/* Is it the line's side of a pseudo-terminal? */
static bool pseudo(int fd)
{
	struct stat about;
#ifdef __linux__
	/* the kernel's list of devices, admin-guide/devices.txt: 136-143 char */
	return fstat(fd, &about) == 0 && major(about.st_rdev) >= 136 && major(about.st_rdev) <= 143;
#else
	(void)fd, (void)about;
	return false;
#endif
}

/* tcsetattr is content when anything at all could be set: look what it was. */
static bool set(struct line *line, const struct termios *raw, const char *framing, int64_t bits, struct pm_fault *fault)
{
	const tcflag_t frame = CSIZE | CSTOPB | PARENB | PARODD;
	struct termios now;
	if (tcsetattr(line->fd, TCSANOW, raw) != 0 || tcgetattr(line->fd, &now) != 0)
		return refused(line->device, errno, fault);
	if (cfgetospeed(&now) == cfgetospeed(raw) && (now.c_cflag & frame) == (raw->c_cflag & frame))
		return true;
	return pm_fail(fault, PM_FAULT_VALUE, of(line->device), "this adapter does not do %lld bits a second with %s",
	               (long long)bits, framing);
}

bool line_open(struct line *line, const char *device, int64_t speed, const char *framing, struct pm_fault *fault)
{
	speed_t code = B9600;
	tcflag_t frame = CS8;
	struct pm_text text;
	*line = (struct line){ .fd = -1 };
	pm_text_fixed(&text, line->device, sizeof line->device);
	pm_text_str(&text, device);
	if (text.cut)
		return pm_fail(fault, PM_FAULT_LIMIT, of(device), "the name of the device is too long");
	if (!speed_find(device, speed, &code, fault) || !framing_read(device, framing, &frame, fault) ||
	    !may_be_line(device, fault))
		return false;
	line->fd = open(device, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (line->fd < 0)
		return refused(device, errno, fault);
	bool good = (tcgetattr(line->fd, &line->found) == 0 || refused(device, errno, fault)) && take_alone(line, fault);
	/* whatever it is told, its bytes have eight bits and no parity */
	if (good && pseudo(line->fd))
		frame = (frame & CSTOPB) | CS8;
	if (good) {
		struct termios raw = wanted(&line->found, code, frame);
		line->restore = true;
		good = set(line, &raw, framing, speed, fault);
	}
	if (!good) {
		line_close(line);
		return false;
	}
	/* ready, on the lines that tell a router that somebody listens; a line
	 * without them says no, and does without */
	int ready = TIOCM_DTR | TIOCM_RTS;
	ioctl(line->fd, TIOCMBIS, &ready);
	return true;
}

void line_rescue(const struct line *line)
{
	int saved = errno;
	if (line->fd >= 0 && line->restore)
		tcsetattr(line->fd, TCSANOW, &line->found);
	/* the mark stays for as long as anybody has the line open */
	if (line->fd >= 0 && line->alone)
		ioctl(line->fd, TIOCNXCL);
	errno = saved;
}

void line_close(struct line *line)
{
	int fd = line->fd;
	if (fd < 0)
		return;
	line_rescue(line);
	line->restore = line->alone = false;
	line->fd = -1;
	close(fd);
}

static long gone(const struct line *line, const char *how, struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_UNREADABLE, of(line->device), "the line is gone: %s", how);
	pm_fail_remedy(fault, "see that the console lead and its adapter sit well, then go on");
	return -1;
}

static long closed(struct pm_fault *fault)
{
	pm_fail(fault, PM_FAULT_USAGE, of(NULL), "the line is not open");
	return -1;
}

/* Nothing now, or nothing any more? */
static long stopped(const struct line *line, int error, struct pm_fault *fault)
{
	switch (error) {
	case EAGAIN:
	case EINTR: return 0;
	case EIO:
	case ENXIO:
	case ENODEV:
	case EBADF: return gone(line, "unplugged or hung up", fault);
	}
	return gone(line, strerror(error), fault);
}

long line_read(struct line *line, void *bytes, size_t room, struct pm_fault *fault)
{
	if (line->fd < 0)
		return closed(fault);
	if (room == 0)
		return 0;
	ssize_t length = read(line->fd, bytes, room);
	if (length > 0)
		return (long)length;
	return length == 0 ? gone(line, "hung up", fault) : stopped(line, errno, fault);
}

long line_write(struct line *line, const void *bytes, size_t length, struct pm_fault *fault)
{
	if (line->fd < 0)
		return closed(fault);
	if (length == 0)
		return 0;
	ssize_t taken = write(line->fd, bytes, length);
	return taken >= 0 ? (long)taken : stopped(line, errno, fault);
}
