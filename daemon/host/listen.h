/* listen.h: the daemon's socket, made by hand. No event loop in here: the caller hands the descriptor over.
 *
 * libuv 1.44 cuts a long path silently and makes the socket open to all users; here the length is checked,
 * and the mode is set before the name exists. Order of calls: wet_listen_inherited; if it gave none,
 * wet_listen_open; at the end wet_listen_close. A lock file beside the socket (PATH.lock) is held as long as
 * the daemon lives and never removed: removing it would let two daemons hold two locks of the same name. */
#ifndef WET_LISTEN_H
#define WET_LISTEN_H

#include "wetside/errors.h"

#include <sys/types.h>

enum wet_listen_flags {
	WET_LISTEN_IS_SYSTEM_GROUP = 1 << 0, /* system service: folder 0750, socket 0660; else 0700 and 0600 */
};

/* Opens the socket. Both descriptors are close-on-exec; the socket does not block. WET_ERR_TOO_LONG (path),
 * WET_ERR_LOCKED (another daemon holds the lock or answers there), WET_ERR_PERMISSION, WET_ERR_EXISTS (what
 * is there is no socket of ours: it is never removed), WET_ERR_IO. */
int wet_listen_open(const char *path, unsigned flags, int *ret_fd, int *ret_lock_fd,
					struct wet_fault *reterr);
/* Removes the socket if it is still ours and closes both. A descriptor of -1 is skipped; path NULL (an
 * inherited socket): nothing is removed. */
void wet_listen_close(const char *path, int fd, int lock_fd);

/* Socket activation, the protocol of sd_listen_fds(3): *ret_fd is the one listening Unix stream socket handed
 * to this process, or -1 if none was. More than one, or another kind, is an error. Clears the variables. */
int wet_listen_inherited(int *ret_fd, struct wet_fault *reterr);

/* Who is at the other end, by the kernel (SO_PEERCRED): as of its connect. */
int wet_listen_peer(int fd, uid_t *ret_uid, gid_t *ret_gid, pid_t *ret_pid);

#endif
