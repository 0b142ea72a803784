/* The daemon's socket: its mode from the first instant, what is never removed, and that there is one daemon.
 */
#include "host/listen.h"
#include "wetside/limits.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

static char dir[64], path[128];
static unsigned mode_at_bind; /* of the socket in the instant after bind */

/* Stands in for the C library's: the same system call, and a look at once. This is the first instant at which
 * anybody can see the socket; a mode that is mended later would show here. */
int bind(int fd, __CONST_SOCKADDR_ARG address, socklen_t bytes)
{
	int rc = (int)syscall(SYS_bind, fd, address.__sockaddr__, bytes);
	struct stat status;

	if (rc == 0 && lstat(path, &status) == 0)
		mode_at_bind = (unsigned)status.st_mode & 07777u;
	return rc;
}

static int remove_one(const char *name, const struct stat *status, int type, struct FTW *at)
{
	(void)status;
	(void)type;
	(void)at;
	return remove(name);
}

static void make_temporary(void)
{
	snprintf(dir, sizeof dir, "/tmp/wet_listen_XXXXXX");
	if (!mkdtemp(dir))
		abort();
	snprintf(path, sizeof path, "%s/run/socket", dir);
	umask(022);
	mode_at_bind = 0;
}

static void remove_temporary(void)
{
	(void)nftw(dir, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

TestSuite(listen, .init = make_temporary, .fini = remove_temporary);

static unsigned mode_of(const char *name)
{
	struct stat status;

	cr_assert_eq(lstat(name, &status), 0, "%s: %s", name, strerror(errno));
	return (unsigned)status.st_mode & 07777u;
}

static char *run_dir(void)
{
	static char name[80];

	snprintf(name, sizeof name, "%s/run", dir);
	return name;
}

static struct sockaddr_un address_of(const char *name)
{
	struct sockaddr_un address = { .sun_family = AF_UNIX };

	snprintf(address.sun_path, sizeof address.sun_path, "%s", name);
	return address;
}

static int dial(void)
{
	struct sockaddr_un address = address_of(path);
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);

	cr_assert_geq(fd, 0);
	if (connect(fd, (const struct sockaddr *)&address, sizeof address) == 0)
		return fd;
	close(fd);
	return -1;
}

/* A socket by hand, without a lock: what an older daemon, or another program, leaves there. */
static int plain_socket(int backlog)
{
	struct sockaddr_un address = address_of(path);
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);

	(void)mkdir(run_dir(), 0700);
	cr_assert_geq(fd, 0);
	cr_assert_eq(bind(fd, (const struct sockaddr *)&address, sizeof address), 0);
	if (backlog >= 0)
		cr_assert_eq(listen(fd, backlog), 0);
	return fd;
}

static void expect_refused(int err)
{
	int fd = -7, lock_fd = -7;
	struct wet_fault fault = { 0 };

	cr_expect_eq(wet_listen_open(path, 0, &fd, &lock_fd, &fault), err, "%s: %s: %s", fault.where, fault.found,
				 fault.want);
	cr_expect_eq(fault.err, err);
	cr_expect_gt(strlen(fault.want), 0);
	cr_expect_eq(fd, -7, "untouched on failure");
	cr_expect_eq(lock_fd, -7);
}

static void expect_opens(unsigned flags, int *fd, int *lock_fd)
{
	struct wet_fault fault = { 0 };

	cr_assert_eq(wet_listen_open(path, flags, fd, lock_fd, &fault), 0, "%s: %s: %s", fault.where, fault.found,
				 fault.want);
}

Test(listen, the_socket_is_closed_to_others_from_the_first_instant)
{
	static const mode_t umasks[] = { 0, 022, 027, 077, 0177, 0777 };

	for (size_t i = 0; i < sizeof umasks / sizeof umasks[0]; i++) {
		int fd, lock_fd;

		umask(umasks[i]);
		expect_opens(0, &fd, &lock_fd);
		umask(022);
		cr_expect_eq(mode_at_bind & ~0600u, 0, "umask %o: %o after bind", (unsigned)umasks[i], mode_at_bind);
		cr_expect_eq(mode_of(path), 0600);
		cr_expect_eq(mode_of(run_dir()), 0700);
		cr_expect_eq(fcntl(fd, F_GETFD) & FD_CLOEXEC, FD_CLOEXEC);
		cr_expect_eq(fcntl(lock_fd, F_GETFD) & FD_CLOEXEC, FD_CLOEXEC);
		cr_expect_eq(fcntl(fd, F_GETFL) & O_NONBLOCK, O_NONBLOCK);
		wet_listen_close(path, fd, lock_fd);
		cr_expect_eq(access(path, F_OK), -1, "removed at the end");
	}
}

Test(listen, a_system_service_lets_its_group_in_and_nobody_else)
{
	static const mode_t umasks[] = { 0, 022, 077 };

	for (size_t i = 0; i < 3; i++) {
		int fd, lock_fd;

		umask(umasks[i]);
		expect_opens(WET_LISTEN_IS_SYSTEM_GROUP, &fd, &lock_fd);
		umask(022);
		cr_expect_eq(mode_at_bind & ~0660u, 0);
		cr_expect_eq(mode_of(path), 0660);
		cr_expect_eq(mode_of(run_dir()), 0750);
		wet_listen_close(path, fd, lock_fd);
	}
	expect_refused(WET_ERR_PERMISSION); /* that folder is too open for a daemon of one user */
}

Test(listen, the_peer_is_known_by_the_kernel)
{
	int fd, lock_fd, client, served;
	uid_t uid = 12345;
	gid_t gid = 12345;
	pid_t pid = -1;

	expect_opens(0, &fd, &lock_fd);
	client = dial();
	cr_assert_geq(client, 0);
	served = accept(fd, NULL, NULL);
	cr_assert_geq(served, 0);
	cr_expect_eq(wet_listen_peer(served, &uid, &gid, &pid), 0);
	cr_expect_eq(uid, geteuid());
	cr_expect_eq(gid, getegid());
	cr_expect_eq(pid, getpid());
	cr_expect_eq(wet_listen_peer(lock_fd, &uid, &gid, &pid), WET_ERR_IO, "a file has no peer");
	close(client);
	close(served);
	wet_listen_close(path, fd, lock_fd);
}

Test(listen, there_is_one_daemon)
{
	int fd, lock_fd, again, lock_again, client;

	expect_opens(0, &fd, &lock_fd);
	expect_refused(WET_ERR_LOCKED);
	client = dial();
	cr_expect_geq(client, 0, "the first one still answers");
	close(client);
	wet_listen_close(path, fd, lock_fd);
	expect_opens(0, &again, &lock_again);
	wet_listen_close(path, again, lock_again);
}

Test(listen, two_that_start_at_once_are_kept_apart_by_the_lock)
{
	int fd, lock_fd, first, first_lock;

	/* The other holds the lock and has not made its socket yet. */
	expect_opens(0, &first, &first_lock);
	cr_assert_eq(unlink(path), 0);
	expect_refused(WET_ERR_LOCKED);
	cr_expect_eq(access(path, F_OK), -1);
	wet_listen_close(path, first, first_lock);
	expect_opens(0, &fd, &lock_fd);
	wet_listen_close(path, fd, lock_fd);
}

Test(listen, a_stale_socket_is_replaced)
{
	int fd, lock_fd, client;

	close(plain_socket(5)); /* killed: the name stays, nobody listens */
	cr_assert_eq(access(path, F_OK), 0);
	expect_opens(0, &fd, &lock_fd);
	client = dial();
	cr_expect_geq(client, 0);
	close(client);
	wet_listen_close(path, fd, lock_fd);
}

Test(listen, a_daemon_without_the_lock_is_asked_before_it_is_removed)
{
	int alive = plain_socket(5);

	expect_refused(WET_ERR_LOCKED);
	cr_expect_eq(access(path, F_OK), 0);
	close(alive);
}

Test(listen, a_daemon_too_busy_to_answer_is_alive)
{
	int alive = plain_socket(0), client[64], n = 0;

	while (n < 64 && (client[n] = dial()) >= 0)
		n++;
	cr_assert_lt(n, 64, "its queue is full");
	expect_refused(WET_ERR_LOCKED);
	cr_expect_eq(access(path, F_OK), 0);
	while (n > 0)
		close(client[--n]);
	close(alive);
}

Test(listen, what_is_no_socket_of_ours_is_never_removed)
{
	char target[128];
	FILE *file;

	cr_assert_eq(mkdir(run_dir(), 0700), 0);
	file = fopen(path, "w");
	cr_assert(file);
	fclose(file);
	expect_refused(WET_ERR_EXISTS);
	cr_expect_eq(access(path, F_OK), 0);
	cr_assert_eq(unlink(path), 0);

	cr_assert_eq(mkdir(path, 0700), 0);
	expect_refused(WET_ERR_EXISTS);
	cr_assert_eq(rmdir(path), 0);

	/* A link to a stale socket elsewhere: neither is touched. */
	snprintf(target, sizeof target, "%s/elsewhere", dir);
	{
		struct sockaddr_un address = address_of(target);
		int fd = socket(AF_UNIX, SOCK_STREAM, 0);

		cr_assert_eq(bind(fd, (const struct sockaddr *)&address, sizeof address), 0);
		close(fd);
	}
	cr_assert_eq(symlink(target, path), 0);
	expect_refused(WET_ERR_EXISTS);
	cr_expect_eq(access(target, F_OK), 0);
	cr_assert_eq(unlink(path), 0);
	cr_assert_eq(symlink("/nowhere/at/all", path), 0);
	expect_refused(WET_ERR_EXISTS);
	cr_assert_eq(unlink(path), 0);
	if (geteuid() == 0) {
		close(plain_socket(5));
		cr_assert_eq(lchown(path, 65534, 65534), 0);
		expect_refused(WET_ERR_EXISTS); /* stale, but somebody else's */
		cr_expect_eq(access(path, F_OK), 0);
	}
}

Test(listen, the_lock_is_no_link_to_a_file_of_somebody)
{
	char lock[160], target[128];

	cr_assert_eq(mkdir(run_dir(), 0700), 0);
	snprintf(lock, sizeof lock, "%s.lock", path);
	snprintf(target, sizeof target, "%s/made-by-link", dir);
	cr_assert_eq(symlink(target, lock), 0);
	expect_refused(WET_ERR_IO);
	cr_expect_eq(access(target, F_OK), -1);
}

Test(listen, a_folder_that_is_open_foreign_or_a_link_is_refused)
{
	char real[80];

	cr_assert_eq(mkdir(run_dir(), 0700), 0);
	cr_assert_eq(chmod(run_dir(), 0755), 0);
	expect_refused(WET_ERR_PERMISSION);
	cr_assert_eq(chmod(run_dir(), 0700), 0);
	if (geteuid() == 0) {
		cr_assert_eq(chown(run_dir(), 65534, 65534), 0);
		expect_refused(WET_ERR_PERMISSION);
	}
	cr_assert_eq(rmdir(run_dir()), 0);
	snprintf(real, sizeof real, "%s/real", dir);
	cr_assert_eq(mkdir(real, 0700), 0);
	cr_assert_eq(symlink(real, run_dir()), 0);
	expect_refused(WET_ERR_INVALID);
	snprintf(path, sizeof path, "/tmp/wet-socket-of-a-test");
	expect_refused(WET_ERR_PERMISSION); /* the temporary folder itself is everybody's */
	snprintf(path, sizeof path, "/wet-socket-of-a-test");
	expect_refused(WET_ERR_PERMISSION);
}

Test(listen, a_path_is_never_cut)
{
	int fd, lock_fd;
	size_t n = strlen(dir);

	snprintf(path, sizeof path, "%s/", dir);
	memset(path + n + 1, 's', sizeof path - n - 1);
	path[WET_SOCKET_PATH_BYTES - 1] = '\0';
	expect_opens(0, &fd, &lock_fd);
	cr_expect_eq(mode_of(path), 0600);
	wet_listen_close(path, fd, lock_fd);
	path[WET_SOCKET_PATH_BYTES - 1] = 's';
	path[WET_SOCKET_PATH_BYTES] = '\0';
	expect_refused(WET_ERR_TOO_LONG);
	path[0] = '\0';
	expect_refused(WET_ERR_INVALID);
}

Test(listen, closing_leaves_what_another_made)
{
	int fd, lock_fd;
	FILE *file;

	expect_opens(0, &fd, &lock_fd);
	cr_assert_eq(unlink(path), 0);
	file = fopen(path, "w");
	cr_assert(file);
	fclose(file);
	wet_listen_close(path, fd, lock_fd);
	cr_expect_eq(access(path, F_OK), 0);
	wet_listen_close(path, -1, -1);
	wet_listen_close(NULL, -1, -1);
}

/* -- socket activation ------------------------------------------------------------ */

/* In a process of its own, for descriptor 3 is taken here. `given` becomes 3. The exit status: 100 + error, 0
 * none inherited, 3 the descriptor; or 1 if a claim failed. */
static int inherit(int given, const char *pid, const char *n)
{
	pid_t child = fork();
	int status = 0;

	cr_assert_geq(child, 0);
	if (child == 0) {
		char self[16];
		int fd = -7, rc;

		if (given == 3)
			(void)fcntl(3, F_SETFD, 0);
		else if (given >= 0)
			(void)dup2(given, 3);
		else
			(void)close(3);
		snprintf(self, sizeof self, "%ld", (long)getpid());
		setenv("LISTEN_PID", pid ? pid : self, 1);
		setenv("LISTEN_FDS", n, 1);
		setenv("LISTEN_FDNAMES", "wetside.socket", 1);
		rc = wet_listen_inherited(&fd, NULL);
		if (getenv("LISTEN_PID") || getenv("LISTEN_FDS") || getenv("LISTEN_FDNAMES"))
			_exit(1);
		if (rc != 0)
			_exit(fd == -7 ? 100 + rc : 1);
		if (fd == 3 && (!(fcntl(3, F_GETFD) & FD_CLOEXEC) || !(fcntl(3, F_GETFL) & O_NONBLOCK)))
			_exit(1);
		_exit(fd == -1 ? 0 : fd);
	}
	cr_assert_eq(waitpid(child, &status, 0), child);
	cr_assert(WIFEXITED(status));
	return WEXITSTATUS(status);
}

Test(listen, a_socket_handed_over_is_used)
{
	int listening = plain_socket(5), datagram = socket(AF_UNIX, SOCK_DGRAM, 0), deaf, network, pair[2];

	cr_expect_eq(inherit(listening, NULL, "1"), 3);
	cr_expect_eq(inherit(listening, "1", "1"), 0, "for another process");
	cr_expect_eq(inherit(listening, "", "1"), 0);
	cr_expect_eq(inherit(listening, "12x", "1"), 0);
	cr_expect_eq(inherit(listening, NULL, "0"), 0);
	cr_expect_eq(inherit(listening, NULL, "-1"), 0);
	cr_expect_eq(inherit(listening, NULL, "x"), 0);
	cr_expect_eq(inherit(listening, NULL, "99999999999999999999"), 0);
	cr_expect_eq(inherit(listening, NULL, "2"), 100 + WET_ERR_TOO_MANY);
	cr_expect_eq(inherit(datagram, NULL, "1"), 100 + WET_ERR_INVALID);
	cr_expect_eq(inherit(-1, NULL, "1"), 100 + WET_ERR_INVALID, "nothing there");
	deaf = socket(AF_UNIX, SOCK_STREAM, 0);
	cr_expect_eq(inherit(deaf, NULL, "1"), 100 + WET_ERR_INVALID, "it does not listen");
	cr_assert_eq(socketpair(AF_UNIX, SOCK_STREAM, 0, pair), 0);
	cr_expect_eq(inherit(pair[0], NULL, "1"), 100 + WET_ERR_INVALID, "a connection");
	network = socket(AF_INET, SOCK_STREAM, 0);
	if (network >= 0 && listen(network, 1) == 0)
		cr_expect_eq(inherit(network, NULL, "1"), 100 + WET_ERR_INVALID, "a network socket");
	close(network);
	close(pair[0]);
	close(pair[1]);
	close(deaf);
	close(datagram);
	close(listening);
}

Test(listen, nothing_is_inherited_without_the_variables)
{
	int fd = -7;

	unsetenv("LISTEN_PID");
	unsetenv("LISTEN_FDS");
	cr_expect_eq(wet_listen_inherited(&fd, NULL), 0);
	cr_expect_eq(fd, -1);
}
