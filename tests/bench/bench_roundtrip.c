/* bench_roundtrip.c: one client's request and reply through the real daemon, against an echo on a bare libuv loop.
 *
 *   bench_roundtrip [--repetitions N] [--count N]
 *
 * The daemon is the program as built, without sound and without runs; the echo a process of its own that gives each line
 * back. Both listen on a Unix socket; the client blocks on one connection to each and takes turns: COUNT round trips of
 * the echo, of changes.follow (the smallest answer), status.get and rpc.discover (the table, 2 KB), and again. Prints the
 * medians of the repetitions' medians and the ratio to the echo with its range. Fails only if an answer is not one. */
#include "samples.h"

#include <signal.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>
#include <uv.h>

#define REPETITIONS_MAX 50
#define WARM_UP 200

extern char **environ;

static const struct way {
	const char *name, *request, *answer; /* the answer has this in it */
} ways[] = {
	{ "echo", "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status.get\",\"params\":{}}\n", "status.get" },
	{ "changes.follow", "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"changes.follow\",\"params\":{}}\n", "\"following\"" },
	{ "status.get", "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status.get\",\"params\":{}}\n", "\"live_count\"" },
	{ "rpc.discover", "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"rpc.discover\",\"params\":{}}\n", "\"methods\"" },
};
#define WAYS (sizeof ways / sizeof ways[0])

/* -- the echo ----------------------------------------------------------------- */

static char echo_bytes[16384];
static uv_write_t echo_write; /* one client, one line at a time */

static void echo_alloc(uv_handle_t *handle, size_t wanted, uv_buf_t *buf)
{
	(void)handle;
	(void)wanted;
	*buf = uv_buf_init(echo_bytes, sizeof echo_bytes);
}

static void echo_read(uv_stream_t *stream, ssize_t n, const uv_buf_t *buf)
{
	uv_buf_t back = uv_buf_init(buf->base, n > 0 ? (unsigned)n : 0);

	if (n < 0) uv_close((uv_handle_t *)stream, NULL);
	if (n > 0) uv_write(&echo_write, stream, &back, 1, NULL);
}

static void echo_accept(uv_stream_t *server, int status)
{
	static uv_pipe_t pipe;

	if (status < 0) return;
	uv_pipe_init(server->loop, &pipe, 0);
	if (uv_accept(server, (uv_stream_t *)&pipe) == 0) uv_read_start((uv_stream_t *)&pipe, echo_alloc, echo_read);
}

static pid_t start_echo(const char *path)
{
	pid_t pid = fork();
	uv_loop_t loop;
	uv_pipe_t server;

	if (pid != 0) return pid;
	uv_loop_init(&loop);
	uv_pipe_init(&loop, &server, 0);
	if (uv_pipe_bind(&server, path) != 0 || uv_listen((uv_stream_t *)&server, 16, echo_accept) != 0) _exit(1);
	uv_run(&loop, UV_RUN_DEFAULT);
	_exit(0);
}

static pid_t start_daemon(const char *path, const char *ledger_path)
{
	char *argv[] = { WET_BUILD_DIR "/daemon/wetsided", "--socket", (char *)(uintptr_t)path, "--ledger",
		(char *)(uintptr_t)ledger_path, "--recipes", WET_SOURCE_DIR "/recipes", "--safety", WET_SOURCE_DIR "/safety",
		"--sound", "none", NULL };
	pid_t pid;

	return posix_spawn(&pid, argv[0], NULL, NULL, argv, environ) == 0 ? pid : -1;
}

/* -- the client --------------------------------------------------------------- */

static int connect_to(const char *path)
{
	struct sockaddr_un to = { .sun_family = AF_UNIX };
	int64_t until_ns = samples_clock(CLOCK_MONOTONIC) + INT64_C(20000000000);
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	snprintf(to.sun_path, sizeof to.sun_path, "%s", path);
	while (connect(fd, (struct sockaddr *)&to, sizeof to) != 0) {
		if (samples_clock(CLOCK_MONOTONIC) > until_ns) return -1;
		nanosleep(&(struct timespec){ .tv_nsec = 2000000 }, NULL);
	}
	return fd;
}

static bool round_trip(int fd, const struct way *way)
{
	static char answer[65536];
	size_t length = strlen(way->request), got = 0;

	if (write(fd, way->request, length) != (ssize_t)length) return false;
	do {
		ssize_t n = read(fd, answer + got, sizeof answer - 1 - got);

		if (n <= 0) return false;
		got += (size_t)n;
	} while (answer[got - 1] != '\n' && got < sizeof answer - 1);
	answer[got] = '\0';
	return strstr(answer, way->answer) != NULL;
}

/* COUNT of them; the median, or -1. */
static int64_t measure(int fd, const struct way *way, int count)
{
	struct samples samples = { 0 };
	int64_t median_ns = -1;
	bool is_good = true;

	for (int i = 0; i < count && is_good; i++) {
		int64_t before_ns = samples_clock(CLOCK_MONOTONIC);

		is_good = round_trip(fd, way);
		samples_add(&samples, samples_clock(CLOCK_MONOTONIC) - before_ns);
	}
	if (is_good) median_ns = samples_quantile(&samples, 0.5);
	else printf("FAILED: no answer to %s\n", way->name);
	samples_free(&samples);
	return median_ns;
}

static int compare_all(int echo_fd, int daemon_fd, int repetitions, int count)
{
	struct samples medians[WAYS] = { { 0 } }, ratios[WAYS] = { { 0 } };

	for (int i = 0; i < repetitions; i++) {
		int64_t echo_ns = 1;

		for (size_t w = 0; w < WAYS; w++) {
			int fd = w == 0 ? echo_fd : daemon_fd;
			int64_t ns = measure(fd, &ways[w], i == 0 ? count + WARM_UP : count);

			if (ns < 0) return 1;
			if (w == 0) echo_ns = ns;
			samples_add(&medians[w], ns);
			samples_add(&ratios[w], ns * 1000 / echo_ns); /* in thousandths */
		}
	}
	for (size_t w = 0; w < WAYS; w++) {
		printf("  %-16s p50 %7.1f us   / echo %.2f (%.2f to %.2f)\n", ways[w].name,
		       (double)samples_quantile(&medians[w], 0.5) / 1e3, (double)samples_quantile(&ratios[w], 0.5) / 1e3,
		       (double)samples_quantile(&ratios[w], 0) / 1e3, (double)samples_quantile(&ratios[w], 1) / 1e3);
		samples_free(&medians[w]);
		samples_free(&ratios[w]);
	}
	return 0;
}

static void end(pid_t pid)
{
	if (pid <= 0) return;
	kill(pid, SIGTERM);
	waitpid(pid, NULL, 0);
}

int main(int argc, char **argv)
{
	char folder[] = "/tmp/wet-bench-XXXXXX", echo_path[64], socket_path[64], ledger_path[64], command[64];
	int repetitions = 9, count = 2000, failed = 1;

	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--repetitions") == 0) repetitions = atoi(argv[i + 1]);
		else if (strcmp(argv[i], "--count") == 0) count = atoi(argv[i + 1]);
		else return 2;
	}
	if (repetitions < 1 || repetitions > REPETITIONS_MAX || count < 1 || !mkdtemp(folder)) return 2;
	snprintf(echo_path, sizeof echo_path, "%s/echo", folder);
	snprintf(socket_path, sizeof socket_path, "%s/socket", folder);
	snprintf(ledger_path, sizeof ledger_path, "%s/ledger.sqlite", folder);
	pid_t echo = start_echo(echo_path), program = start_daemon(socket_path, ledger_path);
	int echo_fd = echo > 0 ? connect_to(echo_path) : -1, daemon_fd = program > 0 ? connect_to(socket_path) : -1;

	printf("%d repetitions of %d round trips each, in turn\n", repetitions, count);
	if (echo_fd < 0 || daemon_fd < 0) printf("FAILED: nobody listens\n");
	else failed = compare_all(echo_fd, daemon_fd, repetitions, count);
	end(echo);
	end(program);
	snprintf(command, sizeof command, "rm -rf %s", folder);
	return failed | (system(command) != 0);
}
