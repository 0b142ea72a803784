#include "client/connection.h"

#include "base/text.h"
#include "wetside/limits.h"
#include "wire/rpc.h"

#include <errno.h>
#include <poll.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#define START_LINE "start it: wetsided"
#define DEPTH_MAX 32       /* of an answer: a page of a list of whole recipes is under 12 */
#define RETRY_CONNECT_MS 5 /* the daemon's queue is full: nothing to poll on for that */

struct wet_connection {
	int fd; /* -1: broken */
	int64_t last_id;
	size_t in_n;
	char in[WET_REPLY_BYTES];
	json_t *kept[WET_CONNECTION_KEPT]; /* oldest first */
	size_t kept_n;
};

/* -- time ----------------------------------------------------------------- */

static int64_t clock_ms(void)
{
	struct timespec now = { 0 };

	(void)clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static int64_t deadline_after(int timeout_ms)
{
	int bounded_ms = timeout_ms < 0                       ? 0
					 : timeout_ms > WET_CONNECTION_MS_MAX ? WET_CONNECTION_MS_MAX
														  : timeout_ms;

	return clock_ms() + bounded_ms;
}

/* 0 when the socket is ready; WET_ERR_NOT_FOUND at the deadline; WET_ERR_IO. */
static int wait_for(int fd, short events, int64_t deadline_ms)
{
	for (;;) {
		struct pollfd entry = { .fd = fd, .events = events };
		int64_t left_ms = deadline_ms - clock_ms();
		int n = poll(&entry, 1, left_ms > 0 ? (int)left_ms : 0);

		if (n > 0)
			return 0;
		if (n < 0 && errno != EINTR)
			return WET_ERR_IO;
		if (left_ms <= 0)
			return WET_ERR_NOT_FOUND;
	}
}

/* -- opening and closing -------------------------------------------------- */

static int fill_address(const char *path, struct sockaddr_un *ret_address, struct wet_fault *reterr)
{
	size_t n = strlen(path);

	if (n == 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "--socket", path, "a path");
	if (n >= sizeof ret_address->sun_path)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "--socket", path,
							 "a path of at most %zu bytes; this has %zu", sizeof ret_address->sun_path - 1,
							 n);
	*ret_address = (struct sockaddr_un){ .sun_family = AF_UNIX };
	memcpy(ret_address->sun_path, path, n + 1);
	return 0;
}

static int refuse_connect(int error, const char *path, struct wet_fault *reterr)
{
	switch (error) {
	case ENOENT:
	case ENOTDIR:
	case ECONNREFUSED: return wet_fault_set(reterr, WET_ERR_NO_DAEMON, path, NULL, START_LINE);
	case EAGAIN:
	case ETIMEDOUT:
		return wet_fault_set(reterr, WET_ERR_NO_DAEMON, path, "it takes no connection",
							 "a daemon that is not overloaded");
	case EACCES:
	case EPERM:
		return wet_fault_set(reterr, WET_ERR_PERMISSION, path, strerror(error),
							 "a socket of yours, or of your group");
	default:
		return wet_fault_set(reterr, WET_ERR_IO, path, strerror(error), "a socket that can be connected to");
	}
}

static int connect_until(int fd, const struct sockaddr_un *address, int64_t deadline_ms)
{
	for (;;) {
		if (connect(fd, (const struct sockaddr *)address, sizeof *address) == 0 || errno == EISCONN)
			return 0;
		if (errno != EAGAIN && errno != EINTR)
			return errno;
		if (clock_ms() >= deadline_ms)
			return ETIMEDOUT;
		(void)poll(NULL, 0, RETRY_CONNECT_MS);
	}
}

int wet_connection_open(const char *path, int timeout_ms, struct wet_connection **ret_connection,
						struct wet_fault *reterr)
{
	int64_t deadline_ms = deadline_after(timeout_ms);
	struct wet_connection *c;
	struct sockaddr_un address;
	int error, rc;

	if ((rc = fill_address(path, &address, reterr)) != 0)
		return rc;
	c = calloc(1, sizeof *c);
	if (!c)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory");
	c->fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	error = c->fd < 0 ? errno : connect_until(c->fd, &address, deadline_ms);
	if (error != 0) {
		wet_connection_close(c);
		return refuse_connect(error, path, reterr);
	}
	*ret_connection = c;
	return 0;
}

static void break_connection(struct wet_connection *c)
{
	if (c->fd >= 0)
		(void)close(c->fd);
	c->fd = -1;
	c->in_n = 0;
}

void wet_connection_close(struct wet_connection *c)
{
	if (!c)
		return;
	break_connection(c);
	for (size_t i = 0; i < c->kept_n; i++)
		json_decref(c->kept[i]);
	free(c);
}

int wet_connection_fd(const struct wet_connection *c)
{
	return c->fd;
}

/* -- lines ---------------------------------------------------------------- */

/* 0: the whole line is on its way, so the daemon may act on it. Else not: half a line is never acted on. */
static int send_line(struct wet_connection *c, const char *line, size_t n, int64_t deadline_ms)
{
	while (n > 0) {
		ssize_t sent = send(c->fd, line, n, MSG_NOSIGNAL);

		if (sent >= 0) {
			line += sent;
			n -= (size_t)sent;
		} else if (errno == EAGAIN || errno == EWOULDBLOCK) {
			if (wait_for(c->fd, POLLOUT, deadline_ms) != 0)
				return WET_ERR_IO;
		} else if (errno != EINTR) {
			return WET_ERR_IO;
		}
	}
	return 0;
}

/* Takes the first whole line out of the buffer. WET_ERR_NOT_FOUND: there is none; WET_ERR_PARSE: not the
 * protocol. */
static int take_line(struct wet_connection *c, json_t **ret_json)
{
	char *end = memchr(c->in, '\n', c->in_n);
	size_t n;
	int rc;

	if (!end)
		return c->in_n == sizeof c->in ? WET_ERR_TOO_LONG : WET_ERR_NOT_FOUND;
	n = (size_t)(end - c->in) + 1;
	rc = wet_json_parse(c->in, n - 1, DEPTH_MAX, ret_json, NULL);
	memmove(c->in, c->in + n, c->in_n - n);
	c->in_n -= n;
	return rc;
}

/* The next line of the daemon. WET_ERR_NOT_FOUND at the deadline; anything else: the connection is of no more
 * use. */
static int read_line(struct wet_connection *c, int64_t deadline_ms, json_t **ret_json)
{
	for (;;) {
		int rc = take_line(c, ret_json);
		ssize_t got;

		if (rc != WET_ERR_NOT_FOUND)
			return rc;
		if (c->fd < 0)
			return WET_ERR_IO;
		if ((rc = wait_for(c->fd, POLLIN, deadline_ms)) != 0)
			return rc;
		got = recv(c->fd, c->in + c->in_n, sizeof c->in - c->in_n, 0);
		if (got == 0)
			return WET_ERR_IO;
		if (got < 0 && errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR)
			return WET_ERR_IO;
		if (got > 0)
			c->in_n += (size_t)got;
	}
}

/* -- notifications -------------------------------------------------------- */

/* Takes `json`. What is neither a notification nor an answer that is waited for is dropped: a late answer. */
static void keep(struct wet_connection *c, json_t *json)
{
	if (!json_is_string(json_object_get(json, "method"))) {
		json_decref(json);
		return;
	}
	if (c->kept_n == WET_CONNECTION_KEPT) {
		json_decref(c->kept[0]);
		memmove(&c->kept[0], &c->kept[1], (WET_CONNECTION_KEPT - 1) * sizeof c->kept[0]);
		c->kept_n--;
	}
	c->kept[c->kept_n++] = json;
}

static json_t *take_kept(struct wet_connection *c)
{
	json_t *first = c->kept[0];

	c->kept_n--;
	memmove(&c->kept[0], &c->kept[1], c->kept_n * sizeof c->kept[0]);
	return first;
}

bool wet_connection_has_next(const struct wet_connection *c)
{
	return c->kept_n > 0 || memchr(c->in, '\n', c->in_n) != NULL;
}

int wet_connection_next(struct wet_connection *c, int timeout_ms, json_t **ret_notification,
						struct wet_fault *reterr)
{
	int64_t deadline_ms = deadline_after(timeout_ms);

	while (c->kept_n == 0) {
		json_t *json = NULL;
		int rc = read_line(c, deadline_ms, &json);

		if (rc == WET_ERR_NOT_FOUND)
			return wet_fault_set(reterr, rc, "", NULL, "a change of state");
		if (rc == WET_ERR_NOMEM)
			return wet_fault_set(reterr, rc, "", NULL, "more memory");
		if (rc != 0) {
			break_connection(c);
			return wet_fault_set(reterr, WET_ERR_NO_DAEMON, "", "the connection is closed", START_LINE);
		}
		keep(c, json);
	}
	*ret_notification = take_kept(c);
	return 0;
}

/* -- calls ---------------------------------------------------------------- */

/* The line of a request, with its end. Takes params. */
static int write_request(int64_t id, const char *method, json_t *params, char **ret_line, size_t *ret_n)
{
	json_t *request = json_pack("{s:s, s:I, s:s}", "jsonrpc", "2.0", "id", (json_int_t)id, "method", method);
	int rc = WET_ERR_NOMEM;

	if (!request) {
		json_decref(params);
		return WET_ERR_NOMEM;
	}
	if (!params || json_object_set_new(request, "params", params) == 0)
		rc = wet_json_text(request, ret_line, ret_n);
	json_decref(request);
	if (rc == 0)
		(*ret_line)[(*ret_n)++] = '\n'; /* over the NUL */
	return rc;
}

static int err_from_wire(json_int_t code)
{
	for (int err = 1; err < WET_ERR_N; err++)
		if (wet_err_wire(err) == code)
			return err;
	return WET_ERR_INTERNAL;
}

static const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : "";
}

static int fault_from_error(json_t *error, struct wet_fault *reterr)
{
	int err = err_from_wire(json_integer_value(json_object_get(error, "code")));
	const json_t *data = json_object_get(error, "data");
	const char *want = text_of(data, "want");

	if (want[0] == '\0' && strcmp(text_of(error, "message"), wet_err_text(err)) != 0)
		want = text_of(error, "message");
	return wet_fault_set(reterr, err, text_of(data, "where"), text_of(data, "found"), "%s", want);
}

/* Is it the answer to request `id`? An error with the id null is one too: only ours is under way. */
static bool is_answer(const json_t *json, int64_t id)
{
	const json_t *answer_id = json_object_get(json, "id");

	if (json_is_null(answer_id))
		return json_is_object(json_object_get(json, "error"));
	return json_is_integer(answer_id) && json_integer_value(answer_id) == id;
}

static int read_answer(json_t *answer, json_t **ret_result, json_t **ret_error, struct wet_fault *reterr)
{
	json_t *error = json_object_get(answer, "error"), *result = json_object_get(answer, "result");
	int rc = 0;

	if (json_is_object(error)) {
		rc = fault_from_error(error, reterr);
		if (ret_error)
			*ret_error = json_incref(error);
	} else if (result) {
		*ret_result = json_incref(result);
	} else {
		rc = wet_fault_set(reterr, WET_ERR_UNKNOWN, "", "an answer without a result",
						   "a daemon of this version");
	}
	json_decref(answer);
	return rc;
}

static int refuse_unknown(struct wet_fault *reterr, const char *found)
{
	return wet_fault_set(reterr, WET_ERR_UNKNOWN, "", found,
						 "look at the state, or ask again with the same token");
}

int wet_connection_call(struct wet_connection *c, const char *method, json_t *params, int timeout_ms,
						json_t **ret_result, json_t **ret_error, struct wet_fault *reterr)
{
	int64_t deadline_ms = deadline_after(timeout_ms), id = ++c->last_id;
	char *line = NULL;
	size_t n = 0;
	int rc = write_request(id, method, params, &line, &n);

	if (rc != 0)
		return wet_fault_set(reterr, rc, method, NULL, "more memory");
	if (n - 1 > WET_REQUEST_BYTES)
		rc = wet_fault_set(reterr, WET_ERR_TOO_LONG, method, NULL, "a request of at most %d bytes",
						   WET_REQUEST_BYTES);
	else if (c->fd < 0 || send_line(c, line, n, deadline_ms) != 0)
		rc = wet_fault_set(reterr, WET_ERR_NO_DAEMON, method, "the connection is closed", START_LINE);
	free(line);
	if (rc == WET_ERR_NO_DAEMON)
		break_connection(c); /* half a line may be on its way: nothing can follow it */
	while (rc == 0) {
		json_t *json = NULL;

		rc = read_line(c, deadline_ms, &json);
		if (rc == WET_ERR_NOT_FOUND)
			return refuse_unknown(reterr, "no answer in time");
		if (rc != 0) {
			break_connection(c);
			return refuse_unknown(reterr, rc == WET_ERR_NOMEM ? "no memory for the answer"
										  : rc == WET_ERR_IO  ? "the connection broke"
															  : "an answer that is not of this protocol");
		}
		if (is_answer(json, id))
			return read_answer(json, ret_result, ret_error, reterr);
		keep(c, json);
	}
	return rc;
}
