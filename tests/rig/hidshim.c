/* Shows a program a made-up /sys and made-up /dev/hidrawN nodes (LD_PRELOAD, Linux only).
 *
 *   gcc -O2 -Wall -Wextra -shared -fPIC -o hidshim.so hidshim.c usbshim.c -ldl
 *   HIDRIG_ROOT=/tmp/x LD_PRELOAD=.../hidshim.so program
 *
 * Paths under /sys and /dev/hidraw* are looked up under $HIDRIG_ROOT. There, dev/hidrawN is a
 * SOCK_SEQPACKET socket served by the test (fakehid.py): one packet is one report, so read()
 * returns whole reports, poll() is the kernel's own, a device that went away gives POLLHUP, and
 * read() then gives -1/EIO as hidraw does. HIDIOC* requests travel over a second connection
 * (dev/hidrawN.ctl): u32 request and argument there, i32 result (or -errno) and bytes back.
 * A file dev/hidrawN.errno with a number in it makes open() fail with that error, also for root.
 * Nodes of the USB file system (/dev/bus/usb/BBB/DDD) are sockets too: usbshim.c.
 */
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/un.h>
#include <unistd.h>

#define MAX_FD 4096
#define MAJOR_NUMBER 240
#define REAL(ret, name, ...) \
	static ret (*real)(__VA_ARGS__); \
	if (!real) real = dlsym(RTLD_NEXT, name)

static int ctl_of[MAX_FD];    /* fd of reports -> fd of requests + 1; 0: not ours */
static short minor_of[MAX_FD]; /* fd of reports -> N of hidrawN */
static pthread_mutex_t one_request = PTHREAD_MUTEX_INITIALIZER;

static const char *root(void) { return getenv("HIDRIG_ROOT"); }
static int is_node(const char *path) { return path && root() && !strncmp(path, "/dev/hidraw", 11); }
static int is_usb(const char *path) { return path && root() && !strncmp(path, "/dev/bus/usb", 12); }
static int is_usb_node(const char *path) { return is_usb(path) && strlen(path) == 20; }
int usb_is(int fd);
void usb_opened(int fd, int requests);
int usb_closed(int fd);
int usb_ioctl(int fd, unsigned long number, void *argument);
static int is_ours(int fd) { return fd >= 0 && fd < MAX_FD && ctl_of[fd]; }

/* --- paths -------------------------------------------------------------------------------- */

static const char *mapped(const char *path, char *buffer)
{
	int sys = path && root() && (!strcmp(path, "/sys") || !strncmp(path, "/sys/", 5));
	if (!sys && !is_node(path) && !is_usb(path)) return path;
	if ((size_t)snprintf(buffer, PATH_MAX, "%s%s", root(), path) >= PATH_MAX) return path;
	return buffer;
}

FILE *fopen(const char *path, const char *mode)
{
	char b[PATH_MAX];
	REAL(FILE *, "fopen", const char *, const char *);
	return real(mapped(path, b), mode);
}

FILE *fopen64(const char *path, const char *mode)
{
	char b[PATH_MAX];
	REAL(FILE *, "fopen64", const char *, const char *);
	return real(mapped(path, b), mode);
}

DIR *opendir(const char *path)
{
	char b[PATH_MAX];
	REAL(DIR *, "opendir", const char *);
	return real(mapped(path, b));
}

static int refused(const char *node);

int access(const char *path, int mode)
{
	char b[PATH_MAX];
	REAL(int, "access", const char *, int);
	int e = is_usb_node(path) ? refused(mapped(path, b)) : 0;
	if (e) { errno = e; return -1; }
	return real(mapped(path, b), mode);
}

ssize_t readlink(const char *path, char *out, size_t size)
{
	char b[PATH_MAX];
	REAL(ssize_t, "readlink", const char *, char *, size_t);
	return real(mapped(path, b), out, size);
}

/* --- a node looks like a character device: hidapi finds its sysfs entry by the device number -- */

static int as_device(int result, struct stat *status, int number)
{
	if (!result && number >= 0) {
		status->st_mode = S_IFCHR | (status->st_mode & 0777);
		status->st_rdev = makedev(MAJOR_NUMBER, number);
	}
	return result;
}
static int number_in(const char *path) { return is_node(path) ? atoi(path + 11) : -1; }
static int number_of(int fd) { return is_ours(fd) ? minor_of[fd] : -1; }

/* struct stat64 is struct stat on 64-bit Linux; CPython calls the 64 names, hidapi the plain ones */
#define STAT(name, type) \
int name(const char *path, struct type *s) \
{ \
	char b[PATH_MAX]; \
	REAL(int, #name, const char *, struct type *); \
	return as_device(real(mapped(path, b), s), (struct stat *)s, number_in(path)); \
}
STAT(stat, stat)
STAT(stat64, stat64)
STAT(lstat, stat)
STAT(lstat64, stat64)

#define FSTAT(name, type) \
int name(int fd, struct type *s) \
{ \
	REAL(int, #name, int, struct type *); \
	return as_device(real(fd, s), (struct stat *)s, number_of(fd)); \
}
FSTAT(fstat, stat)
FSTAT(fstat64, stat64)

/* what programs built against a C library before 2.33 call instead */
int __xstat(int v, const char *path, struct stat *s)
{
	char b[PATH_MAX];
	REAL(int, "__xstat", int, const char *, struct stat *);
	return as_device(real(v, mapped(path, b), s), s, number_in(path));
}

int __lxstat(int v, const char *path, struct stat *s)
{
	char b[PATH_MAX];
	REAL(int, "__lxstat", int, const char *, struct stat *);
	return as_device(real(v, mapped(path, b), s), s, number_in(path));
}

int __fxstat(int v, int fd, struct stat *s)
{
	REAL(int, "__fxstat", int, int, struct stat *);
	return as_device(real(v, fd, s), s, number_of(fd));
}

/* --- opening ------------------------------------------------------------------------------ */

static int dial(const char *path)
{
	struct sockaddr_un address = { .sun_family = AF_UNIX };
	if (strlen(path) >= sizeof address.sun_path) { errno = ENAMETOOLONG; return -1; }
	strcpy(address.sun_path, path);
	int fd = socket(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0);
	if (fd < 0) return -1;
	if (connect(fd, (struct sockaddr *)&address, sizeof address)) {
		int e = errno;
		close(fd);
		errno = e == ECONNREFUSED ? ENODEV : e;
		return -1;
	}
	return fd;
}

static int refused(const char *node)
{
	char path[PATH_MAX + 8];
	int number = 0;
	REAL(FILE *, "fopen", const char *, const char *);
	snprintf(path, sizeof path, "%s.errno", node);
	FILE *file = real(path, "r");
	if (!file) return 0;
	if (fscanf(file, "%d", &number) != 1) number = EIO;
	fclose(file);
	return number;
}

static int open_node(const char *path, int flags)
{
	char b[PATH_MAX], control[PATH_MAX + 8];
	const char *node = mapped(path, b);
	int e = refused(node);
	if (e) { errno = e; return -1; }
	int fd = dial(node);
	if (fd < 0) return -1;
	if (fd >= MAX_FD) { close(fd); errno = EMFILE; return -1; }
	snprintf(control, sizeof control, "%s.ctl", node);
	int requests = dial(control);
	if (requests < 0) { e = errno; close(fd); errno = e; return -1; }
	if (is_usb_node(path)) {
		usb_opened(fd, requests);
		return fd;
	}
	if (flags & O_NONBLOCK) fcntl(fd, F_SETFL, O_NONBLOCK);
	minor_of[fd] = (short)atoi(path + 11);
	ctl_of[fd] = requests + 1;
	return fd;
}

#define OPEN(name) \
int name(const char *path, int flags, ...) \
{ \
	char b[PATH_MAX]; \
	mode_t mode = 0; \
	if (flags & (O_CREAT | O_TMPFILE)) { va_list v; va_start(v, flags); mode = va_arg(v, mode_t); va_end(v); } \
	REAL(int, #name, const char *, int, ...); \
	return is_node(path) || is_usb_node(path) ? open_node(path, flags) : real(mapped(path, b), flags, mode); \
}
OPEN(open)
OPEN(open64)

/* what programs built with checks call for flags that make no file */
int __open_2(const char *path, int flags) { return open(path, flags); }

int close(int fd)
{
	REAL(int, "close", int);
	if (usb_is(fd)) real(usb_closed(fd));
	if (is_ours(fd)) { int requests = ctl_of[fd] - 1; ctl_of[fd] = 0; real(requests); }
	return real(fd);
}

/* --- reports and requests ----------------------------------------------------------------- */

ssize_t read(int fd, void *out, size_t size)
{
	REAL(ssize_t, "read", int, void *, size_t);
	ssize_t n = real(fd, out, size);
	if (is_ours(fd) && (n == 0 || (n < 0 && errno == ECONNRESET))) { errno = EIO; return -1; }
	return n;
}

ssize_t write(int fd, const void *data, size_t size)
{
	REAL(ssize_t, "write", int, const void *, size_t);
	if (!is_ours(fd)) return real(fd, data, size);
	ssize_t n = send(fd, data, size, MSG_NOSIGNAL);
	if (n < 0 && (errno == EPIPE || errno == ECONNRESET)) errno = ENODEV;
	return n;
}

int shim_request(int requests, unsigned long number, void *argument, size_t in, size_t out)
{
	static char buffer[70000]; /* guarded by one_request */
	uint32_t code = (uint32_t)number;
	int32_t result;
	pthread_mutex_lock(&one_request);
	memcpy(buffer, &code, 4);
	memset(buffer + 4, 0, out > in ? out : in);
	if (argument) memcpy(buffer + 4, argument, in);
	ssize_t n = -1;
	if (send(requests, buffer, 4 + (out > in ? out : in), MSG_NOSIGNAL) >= 0) n = recv(requests, buffer, sizeof buffer, 0);
	result = -ENODEV;
	if (n >= 4) memcpy(&result, buffer, 4);
	if (result >= 0 && (size_t)n - 4 <= out) memcpy(argument, buffer + 4, n - 4);
	pthread_mutex_unlock(&one_request);
	if (result < 0) { errno = -result; return -1; }
	return result;
}

static int request(int requests, unsigned long number, void *argument)
{
	size_t size = _IOC_SIZE(number);
	int takes = (_IOC_DIR(number) & _IOC_WRITE) || _IOC_NR(number) == 2;
	return shim_request(requests, number, argument, takes ? size : 0, size);
}

int ioctl(int fd, unsigned long number, ...)
{
	va_list v;
	va_start(v, number);
	void *argument = va_arg(v, void *);
	va_end(v);
	REAL(int, "ioctl", int, unsigned long, ...);
	if (usb_is(fd) && _IOC_TYPE(number) == 'U') return usb_ioctl(fd, number, argument);
	if (!is_ours(fd) || _IOC_TYPE(number) != 'H') return real(fd, number, argument);
	return request(ctl_of[fd] - 1, number, argument);
}
