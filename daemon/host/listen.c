#include "host/listen.h"

#include "base/text.h"
#include "wetside/limits.h"
#include "wire/place.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#define BACKLOG 128          /* connections waiting for accept */
#define FIRST_INHERITED_FD 3 /* SD_LISTEN_FDS_START */

static_assert(sizeof((struct sockaddr_un *)NULL)->sun_path == WET_SOCKET_PATH_BYTES,
			  "the limit is that of the system");

static int refuse_errno(struct wet_fault *reterr, const char *path, const char *want)
{
	int err = errno == EACCES || errno == EPERM ? WET_ERR_PERMISSION
			  : errno == EROFS                  ? WET_ERR_READONLY
			  : errno == ENOSPC                 ? WET_ERR_FULL
			  : errno == ENOMEM                 ? WET_ERR_NOMEM
												: WET_ERR_IO;

	return wet_fault_set(reterr, err, path, strerror(errno), "%s", want);
}

static int fill_address(const char *path, struct sockaddr_un *ret_address, struct wet_fault *reterr)
{
	size_t n = strlen(path);

	if (n == 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "socket", path, "a path");
	if (n >= sizeof ret_address->sun_path)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "socket", path,
							 "a path of at most %zu bytes; this has %zu", sizeof ret_address->sun_path - 1,
							 n);
	*ret_address = (struct sockaddr_un){ .sun_family = AF_UNIX };
	memcpy(ret_address->sun_path, path, n + 1);
	return 0;
}

/* The folder of the socket is private to us, so nobody else can put anything in it from here on. */
static int check_folder(const char *path, unsigned mode, struct wet_fault *reterr)
{
	char folder[WET_SOCKET_PATH_BYTES];
	char *slash;

	(void)wet_text_copy(folder, sizeof folder, path);
	slash = strrchr(folder, '/');
	if (!slash)
		return wet_place_check_dir(".", mode, reterr);
	if (slash == folder)
		return wet_fault_set(reterr, WET_ERR_PERMISSION, "socket", path, "a path in a folder of its own");
	*slash = '\0';
	return wet_place_make_dir(folder, mode, reterr);
}

static int take_lock(const char *path, int *ret_lock_fd, struct wet_fault *reterr)
{
	char name[WET_SOCKET_PATH_BYTES + sizeof ".lock"];
	int fd, rc;

	(void)wet_text_format(name, sizeof name, "%s.lock", path);
	fd = open(name, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0600);
	if (fd < 0)
		return refuse_errno(reterr, name, "a lock file that can be opened");
	if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
		rc = errno == EWOULDBLOCK
				 ? wet_fault_set(reterr, WET_ERR_LOCKED, name, NULL, "one daemon only: another one runs here")
				 : refuse_errno(reterr, name, "a lock");
		(void)close(fd);
		return rc;
	}
	*ret_lock_fd = fd;
	return 0;
}

static bool is_own_socket(const char *path)
{
	struct stat status;

	return lstat(path, &status) == 0 && S_ISSOCK(status.st_mode) && status.st_uid == geteuid();
}

/* Under the lock. A daemon that took no lock (an inherited socket, an older one) still answers: ask before
 * removing. */
static int clear_stale(const char *path, const struct sockaddr_un *address, struct wet_fault *reterr)
{
	struct stat status;
	bool is_alive;
	int fd;

	if (lstat(path, &status) != 0)
		return errno == ENOENT ? 0 : refuse_errno(reterr, path, "a place for the socket");
	if (!is_own_socket(path))
		return wet_fault_set(reterr, WET_ERR_EXISTS, path, S_ISLNK(status.st_mode) ? "a symbolic link" : NULL,
							 "nothing there, or an old socket of ours");
	fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (fd < 0)
		return refuse_errno(reterr, path, "a socket");
	/* Only "nobody listens" proves it stale; a full queue (EAGAIN) is a live daemon too. */
	is_alive = connect(fd, (const struct sockaddr *)address, sizeof *address) == 0 || errno != ECONNREFUSED;
	(void)close(fd);
	if (is_alive)
		return wet_fault_set(reterr, WET_ERR_LOCKED, path, NULL,
							 "one daemon only: another daemon answers there");
	if (unlink(path) != 0 && errno != ENOENT)
		return refuse_errno(reterr, path, "an old socket that can be removed");
	return 0;
}

static int bind_socket(const char *path, const struct sockaddr_un *address, mode_t mode, int *ret_fd,
					   struct wet_fault *reterr)
{
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0), rc;

	if (fd < 0)
		return refuse_errno(reterr, path, "a socket");
	/* On Linux the mode of an unbound socket becomes, less the umask, that of its name: never wider, not for
	 * an instant. What the umask took away is given back when the name is there. */
	if (fchmod(fd, mode) != 0 || bind(fd, (const struct sockaddr *)address, sizeof *address) != 0) {
		rc = refuse_errno(reterr, path, "a place for the socket");
		(void)close(fd);
		return rc;
	}
	if (chmod(path, mode) != 0 || listen(fd, BACKLOG) != 0) {
		rc = refuse_errno(reterr, path, "a socket that listens");
		(void)unlink(path);
		(void)close(fd);
		return rc;
	}
	*ret_fd = fd;
	return 0;
}

int wet_listen_open(const char *path, unsigned flags, int *ret_fd, int *ret_lock_fd, struct wet_fault *reterr)
{
	bool is_group = (flags & WET_LISTEN_IS_SYSTEM_GROUP) != 0;
	struct sockaddr_un address;
	int lock_fd = -1, fd = -1, rc;

	if ((rc = fill_address(path, &address, reterr)) != 0)
		return rc;
	if ((rc = check_folder(path, is_group ? 0750 : 0700, reterr)) != 0)
		return rc;
	if ((rc = take_lock(path, &lock_fd, reterr)) != 0)
		return rc;
	if ((rc = clear_stale(path, &address, reterr)) != 0)
		goto out;
	rc = bind_socket(path, &address, is_group ? 0660 : 0600, &fd, reterr);
out:
	if (rc != 0) {
		(void)close(lock_fd);
		return rc;
	}
	*ret_fd = fd;
	*ret_lock_fd = lock_fd;
	return 0;
}

void wet_listen_close(const char *path, int fd, int lock_fd)
{
	/* Remove first, close then, unlock last: the next daemon finds either us or nothing. Without the lock the socket is
	 * another daemon's, or the service manager's. */
	if (lock_fd >= 0 && path && is_own_socket(path))
		(void)unlink(path);
	if (fd >= 0)
		(void)close(fd);
	if (lock_fd >= 0)
		(void)close(lock_fd);
}

int wet_listen_peer(int fd, uid_t *ret_uid, gid_t *ret_gid, pid_t *ret_pid)
{
	struct ucred peer;
	socklen_t bytes = sizeof peer;

	if (getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &peer, &bytes) != 0 || bytes != sizeof peer)
		return WET_ERR_IO;
	*ret_uid = peer.uid;
	*ret_gid = peer.gid;
	*ret_pid = peer.pid;
	return 0;
}

/* -- socket activation ---------------------------------------------------- */

/* A whole decimal number of a variable; -1 if it is unset or anything else. */
static long long env_number(const char *name)
{
	const char *text = getenv(name);
	char *end = NULL;
	long long value;

	if (!text || text[0] < '0' || text[0] > '9')
		return -1;
	errno = 0;
	value = strtoll(text, &end, 10);
	return errno == 0 && *end == '\0' ? value : -1;
}

static bool is_listening_stream(int fd)
{
	struct sockaddr_storage address = { 0 };
	socklen_t address_bytes = sizeof address, option_bytes = sizeof(int);
	int type = 0, accepts = 0;

	if (getsockopt(fd, SOL_SOCKET, SO_TYPE, &type, &option_bytes) != 0 || type != SOCK_STREAM)
		return false;
	option_bytes = sizeof accepts;
	if (getsockopt(fd, SOL_SOCKET, SO_ACCEPTCONN, &accepts, &option_bytes) != 0 || !accepts)
		return false;
	return getsockname(fd, (struct sockaddr *)&address, &address_bytes) == 0 && address.ss_family == AF_UNIX;
}

int wet_listen_inherited(int *ret_fd, struct wet_fault *reterr)
{
	long long pid = env_number("LISTEN_PID"), n = env_number("LISTEN_FDS");
	int status, fd_flags;

	(void)unsetenv("LISTEN_PID");
	(void)unsetenv("LISTEN_FDS");
	(void)unsetenv("LISTEN_FDNAMES");
	if (pid != getpid() || n <= 0) {
		*ret_fd = -1;
		return 0;
	}
	if (n != 1)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "LISTEN_FDS", NULL, "one socket, not %lld", n);
	if (!is_listening_stream(FIRST_INHERITED_FD))
		return wet_fault_set(reterr, WET_ERR_INVALID, "LISTEN_FDS", NULL, "a listening Unix stream socket");
	fd_flags = fcntl(FIRST_INHERITED_FD, F_GETFD);
	status = fcntl(FIRST_INHERITED_FD, F_GETFL);
	if (fd_flags < 0 || status < 0 || fcntl(FIRST_INHERITED_FD, F_SETFD, fd_flags | FD_CLOEXEC) != 0 ||
		fcntl(FIRST_INHERITED_FD, F_SETFL, status | O_NONBLOCK) != 0)
		return refuse_errno(reterr, "LISTEN_FDS", "a socket that can be prepared");
	*ret_fd = FIRST_INHERITED_FD;
	return 0;
}
