/* The USB file system's nodes for hidshim.c: /dev/bus/usb/BBB/DDD as sockets, with libusb itself above them.
 *
 * A node is a SOCK_SEQPACKET socket served by the test (fakeusb.py). Packets to it: 'O' and an output report, 'C' and a
 * control request (8 bytes of setup, then data), 'X' for a transfer that was taken back. From it: 'I' and an input report,
 * 'O' and 'X' when such a transfer is done (an 'O' with an i32 that is negative: refused), 'C' and an i32 result with the data that came. So every end of a transfer is a
 * packet that waits to be read, and poll() tells of it: libusb polls for POLLOUT, as the kernel has it for its nodes.
 * All other requests (claiming, drivers, reset) travel as those of hidraw do, over DDD.ctl.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <linux/usbdevice_fs.h>
#include <poll.h>
#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#define MAX_FD 4096
#define MAX_URBS 64
#define MAX_PACKET 8192

struct node {
	int requests;
	int count;
	struct usbdevfs_urb *urbs[MAX_URBS];
	int taken_back[MAX_URBS];
	pthread_mutex_t lock;
};
static struct node *node_of[MAX_FD];

int shim_request(int requests, unsigned long number, void *argument, size_t in, size_t out);

int usb_is(int fd) { return fd >= 0 && fd < MAX_FD && node_of[fd]; }

void usb_opened(int fd, int requests)
{
	struct node *node = calloc(1, sizeof *node);
	node->requests = requests;
	pthread_mutex_init(&node->lock, NULL);
	node_of[fd] = node;
}

int usb_closed(int fd) /* the handle of its requests, to be closed too */
{
	struct node *node = node_of[fd];
	int requests = node->requests;
	node_of[fd] = NULL;
	free(node);
	return requests;
}

static char kind_of(const struct usbdevfs_urb *urb)
{
	if (urb->type == USBDEVFS_URB_TYPE_CONTROL) return 'C';
	return urb->endpoint & 0x80 ? 'I' : 'O';
}

static int submit(int fd, struct node *node, struct usbdevfs_urb *urb)
{
	char packet[MAX_PACKET], kind = kind_of(urb);
	if (node->count == MAX_URBS || urb->buffer_length > MAX_PACKET - 1) { errno = ENOMEM; return -1; }
	node->urbs[node->count] = urb;
	node->taken_back[node->count++] = 0;
	if (kind == 'I') return 0;
	packet[0] = kind;
	memcpy(packet + 1, urb->buffer, urb->buffer_length);
	if (send(fd, packet, urb->buffer_length + 1, MSG_NOSIGNAL) >= 0) return 0;
	node->count--;
	errno = ENODEV;
	return -1;
}

static struct usbdevfs_urb *first(struct node *node, char kind)
{
	for (int i = 0; i < node->count; i++)
		if ((kind == 'X') == node->taken_back[i] && (kind == 'X' || kind_of(node->urbs[i]) == kind)) {
			struct usbdevfs_urb *urb = node->urbs[i];
			node->count--;
			memmove(node->urbs + i, node->urbs + i + 1, (node->count - i) * sizeof *node->urbs);
			memmove(node->taken_back + i, node->taken_back + i + 1, (node->count - i) * sizeof *node->taken_back);
			return urb;
		}
	return NULL;
}

static int reap(int fd, struct node *node, void **out)
{
	char packet[MAX_PACKET], kind;
	ssize_t n = recv(fd, &kind, 1, MSG_PEEK | MSG_DONTWAIT);
	if (n == 0 || (n < 0 && errno != EAGAIN)) { errno = ENODEV; return -1; }
	if (n < 0) return -1;
	struct usbdevfs_urb *urb = first(node, kind);
	if (!urb && kind == 'I') { errno = EAGAIN; return -1; } /* the next transfer will take it */
	n = recv(fd, packet, sizeof packet, MSG_DONTWAIT);
	if (n <= 0 || !urb) { errno = EAGAIN; return -1; }
	urb->status = 0;
	urb->actual_length = kind == 'O' ? urb->buffer_length : 0;
	if (kind == 'X') urb->status = -ENOENT;
	if (kind == 'O' && n >= 5) {
		int32_t result;
		memcpy(&result, packet + 1, 4);
		if (result < 0) { urb->status = result; urb->actual_length = 0; }
	}
	if (kind == 'I') {
		urb->actual_length = n - 1 < urb->buffer_length ? n - 1 : urb->buffer_length;
		memcpy(urb->buffer, packet + 1, urb->actual_length);
	}
	if (kind == 'C') {
		int32_t result;
		memcpy(&result, packet + 1, 4);
		int room = urb->buffer_length - 8;
		if (result < 0) urb->status = result;
		else {
			urb->actual_length = n - 5 < room ? n - 5 : room;
			memcpy((char *)urb->buffer + 8, packet + 5, urb->actual_length);
		}
	}
	*out = urb;
	return 0;
}

static int discard(int fd, struct node *node, struct usbdevfs_urb *urb)
{
	for (int i = 0; i < node->count; i++)
		if (node->urbs[i] == urb && !node->taken_back[i]) {
			node->taken_back[i] = 1;
			if (send(fd, "X", 1, MSG_NOSIGNAL) < 0) { errno = ENODEV; return -1; }
			return 0;
		}
	errno = EINVAL;
	return -1;
}

int usb_ioctl(int fd, unsigned long number, void *argument)
{
	struct node *node = node_of[fd];
	int result;
	if (number == USBDEVFS_GET_CAPABILITIES) { errno = ENOTTY; return -1; }
	pthread_mutex_lock(&node->lock);
	switch (number) {
	case USBDEVFS_SUBMITURB: result = submit(fd, node, argument); break;
	case USBDEVFS_REAPURB:
	case USBDEVFS_REAPURBNDELAY: result = reap(fd, node, argument); break;
	case USBDEVFS_DISCARDURB: result = discard(fd, node, argument); break;
	case USBDEVFS_GETDRIVER: result = shim_request(node->requests, number, argument, 4, _IOC_SIZE(number)); break;
	default: result = shim_request(node->requests, number, argument, _IOC_SIZE(number), 0);
	}
	int e = errno;
	pthread_mutex_unlock(&node->lock);
	errno = e;
	return result;
}

static int polled(struct pollfd *fds, nfds_t n, int timeout)
{
	static int (*real)(struct pollfd *, nfds_t, int);
	short wanted[n + 1];
	if (!real) real = dlsym(RTLD_NEXT, "poll");
	for (nfds_t i = 0; i < n; i++) {
		wanted[i] = fds[i].events;
		if (usb_is(fds[i].fd)) fds[i].events = POLLIN;
	}
	int ready = real(fds, n, timeout);
	for (nfds_t i = 0; i < n; i++) {
		fds[i].events = wanted[i];
		if (!usb_is(fds[i].fd) || ready <= 0 || !fds[i].revents) continue;
		fds[i].revents = fds[i].revents & (POLLHUP | POLLERR) ? POLLERR : POLLOUT;
	}
	return ready;
}

int poll(struct pollfd *fds, nfds_t n, int timeout) { return polled(fds, n, timeout); }
