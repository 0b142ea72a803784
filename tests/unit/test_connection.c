/* The client's side of the wire against a daemon of paper: what it will say is written before it is asked
 * (the ids of a client are 1, 2, 3 ...), so nothing here waits for anything. */
#include "client/connection.h"
#include "wetside/limits.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

static char dir[64], path[96];

static void make_temporary(void)
{
	snprintf(dir, sizeof dir, "/tmp/wet_connection_XXXXXX");
	if (!mkdtemp(dir))
		abort();
	snprintf(path, sizeof path, "%s/socket", dir);
}

static void remove_temporary(void)
{
	(void)unlink(path);
	(void)rmdir(dir);
}

TestSuite(connection, .init = make_temporary, .fini = remove_temporary);

static int listen_here(int backlog)
{
	struct sockaddr_un address = { .sun_family = AF_UNIX };
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	cr_assert_geq(fd, 0);
	snprintf(address.sun_path, sizeof address.sun_path, "%s", path);
	cr_assert_eq(bind(fd, (const struct sockaddr *)&address, sizeof address), 0);
	cr_assert_eq(listen(fd, backlog), 0);
	return fd;
}

/* Both ends. */
struct pair {
	struct wet_connection *client;
	int daemon;
};

static struct pair open_pair(void)
{
	int listening = listen_here(5);
	struct wet_fault fault = { 0 };
	struct pair p = { 0 };

	cr_assert_eq(wet_connection_open(path, 0, &p.client, &fault), 0, "%s: %s", fault.where, fault.want);
	p.daemon = accept(listening, NULL, NULL);
	cr_assert_geq(p.daemon, 0);
	cr_assert_eq(fcntl(p.daemon, F_SETFL, O_NONBLOCK), 0);
	close(listening);
	return p;
}

static void close_pair(struct pair *p)
{
	wet_connection_close(p->client);
	close(p->daemon);
}

static void say(const struct pair *p, const char *text)
{
	cr_assert_eq(send(p->daemon, text, strlen(text), MSG_NOSIGNAL), (ssize_t)strlen(text));
}

static void expect_heard(const struct pair *p, const char *want)
{
	char text[4096];
	ssize_t n = recv(p->daemon, text, sizeof text - 1, 0);

	text[n > 0 ? n : 0] = '\0';
	cr_expect_str_eq(text, want);
}

static int call(const struct pair *p, json_t **ret_result, json_t **ret_error, struct wet_fault *fault)
{
	return wet_connection_call(p->client, "run.go", json_pack("{s:s}", "token", "a"), 0, ret_result,
							   ret_error, fault);
}

static void expect_unknown(struct pair *p, const char *found)
{
	json_t *result = NULL, *error = NULL;
	struct wet_fault fault = { 0 };

	cr_expect_eq(call(p, &result, &error, &fault), WET_ERR_UNKNOWN);
	cr_expect_str_eq(fault.found, found);
	cr_expect(strstr(fault.want, "token"), "%s", fault.want);
	cr_expect_null(result);
	cr_expect_null(error);
}

/* -- opening -------------------------------------------------------------------- */

Test(connection, without_a_daemon_the_line_that_starts_it_is_named)
{
	struct wet_connection *c = NULL;
	struct wet_fault fault = { 0 };

	cr_expect_eq(wet_connection_open(path, 0, &c, &fault), WET_ERR_NO_DAEMON, "no socket");
	cr_expect_str_eq(fault.where, path);
	cr_expect(strstr(fault.want, "wetsided"), "%s", fault.want);
	close(listen_here(5));
	cr_expect_eq(wet_connection_open(path, 0, &c, &fault), WET_ERR_NO_DAEMON, "a stale one");
	cr_expect_eq(wet_connection_open("/dev/null/socket", 0, &c, &fault), WET_ERR_NO_DAEMON, "no folder");
	cr_expect_null(c);
	wet_connection_close(NULL);
}

Test(connection, a_path_is_never_cut)
{
	char longest[WET_SOCKET_PATH_BYTES + 1];
	struct wet_connection *c = NULL;
	struct wet_fault fault = { 0 };

	memset(longest, 'p', sizeof longest);
	longest[0] = '/';
	longest[WET_SOCKET_PATH_BYTES - 1] = '\0';
	cr_expect_eq(wet_connection_open(longest, 0, &c, &fault), WET_ERR_NO_DAEMON);
	longest[WET_SOCKET_PATH_BYTES - 1] = 'p';
	longest[WET_SOCKET_PATH_BYTES] = '\0';
	cr_expect_eq(wet_connection_open(longest, 0, &c, &fault), WET_ERR_TOO_LONG);
	cr_expect(strstr(fault.want, "107"), "%s", fault.want);
	cr_expect_eq(wet_connection_open("", 0, &c, &fault), WET_ERR_INVALID);
	cr_expect_null(c);
}

Test(connection, what_is_no_socket_of_a_daemon_is_an_error)
{
	struct wet_connection *c = NULL;
	FILE *file = fopen(path, "w");

	cr_assert(file);
	fclose(file);
	cr_expect_eq(wet_connection_open(path, 0, &c, NULL), WET_ERR_NO_DAEMON, "a file refuses connections");
	cr_expect_null(c);
}

Test(connection, a_daemon_that_takes_nobody_in_is_not_waited_for_for_ever)
{
	struct wet_connection *c[64] = { NULL };
	int listening = listen_here(0), n = 0, rc = 0;
	struct wet_fault fault = { 0 };

	while (n < 64 && (rc = wet_connection_open(path, 0, &c[n], &fault)) == 0)
		n++;
	cr_assert_lt(n, 64);
	cr_expect_eq(rc, WET_ERR_NO_DAEMON);
	cr_expect_str_eq(fault.found, "it takes no connection");
	while (n > 0)
		wet_connection_close(c[--n]);
	close(listening);
}

/* -- calls ------------------------------------------------------------------------ */

Test(connection, a_call_is_one_line_and_so_is_its_answer)
{
	struct pair p = open_pair();
	json_t *result = NULL, *error = NULL;

	say(&p, "{\"jsonrpc\":\"2.0\",\"result\":{\"stage\":\"developer\"},\"id\":1}\n");
	cr_assert_eq(call(&p, &result, &error, NULL), 0);
	cr_expect_str_eq(json_string_value(json_object_get(result, "stage")), "developer");
	cr_expect_null(error);
	json_decref(result);
	expect_heard(&p, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"run.go\",\"params\":{\"token\":\"a\"}}\n");
	say(&p, "{\"jsonrpc\":\"2.0\",\"result\":null,\"id\":2}\n");
	cr_assert_eq(wet_connection_call(p.client, "status", NULL, 0, &result, NULL, NULL), 0);
	cr_expect(json_is_null(result));
	json_decref(result);
	expect_heard(&p, "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"status\"}\n");
	close_pair(&p);
}

Test(connection, an_error_of_the_daemon_comes_back_as_it_was_said)
{
	struct pair p = open_pair();
	json_t *result = NULL, *error = NULL;
	struct wet_fault fault = { 0 };

	say(&p, "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":1003,\"message\":\"out of range\","
			"\"data\":{\"name\":\"RANGE\","
			"\"where\":\"--rate\",\"found\":\"2000\",\"want\":\"at most 1000\"}},\"id\":1}\n");
	cr_expect_eq(call(&p, &result, &error, &fault), WET_ERR_RANGE);
	cr_expect_eq(fault.err, WET_ERR_RANGE);
	cr_expect_str_eq(fault.where, "--rate");
	cr_expect_str_eq(fault.found, "2000");
	cr_expect_str_eq(fault.want, "at most 1000");
	cr_expect_eq(json_integer_value(json_object_get(error, "code")), 1003);
	cr_expect_null(result);
	json_decref(error);
	say(&p, "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":424242,\"message\":\"something new\"},\"id\":2}\n");
	cr_expect_eq(call(&p, &result, NULL, &fault), WET_ERR_INTERNAL, "a code of a later version");
	cr_expect_str_eq(fault.want, "something new");
	say(&p, "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":-32700,\"message\":\"Parse error\"},\"id\":null}\n");
	cr_expect_eq(call(&p, &result, NULL, &fault), WET_ERR_PARSE,
				 "an error without an id is ours: nobody else asks");
	close_pair(&p);
}

Test(connection, every_error_of_the_table_finds_its_way_back)
{
	struct pair p = open_pair();

	for (int err = 1; err < WET_ERR_N; err++) {
		char line[256];
		json_t *result = NULL;
		struct wet_fault fault = { 0 };

		snprintf(line, sizeof line,
				 "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":%d,\"message\":\"%s\"},\"id\":%d}\n",
				 wet_err_wire(err), wet_err_text(err), err);
		say(&p, line);
		cr_expect_eq(call(&p, &result, NULL, &fault), err, "%s", wet_err_name(err));
		cr_expect_str_eq(fault.want, "", "the text is not said twice");
	}
	close_pair(&p);
}

Test(connection, an_answer_may_come_in_pieces_and_after_others)
{
	struct pair p = open_pair();
	json_t *result = NULL, *note = NULL;

	say(&p, "{\"jsonrpc\":\"2.0\",\"method\":\"changes.run\",\"params\":{\"seq\":1}}\n"
			"{\"jsonrpc\":\"2.0\",\"result\":\"of another\",\"id\":77}\n{\"jsonrpc\":\"2.0\",\"resu");
	cr_expect_not(wet_connection_has_next(p.client));
	expect_unknown(&p, "no answer in time");
	cr_expect(wet_connection_has_next(p.client));
	say(&p,
		"lt\":\"late\",\"id\":1}\n{\"jsonrpc\":\"2.0\",\"method\":\"changes.run\",\"params\":{\"seq\":2}}\n"
		"{\"jsonrpc\":\"2.0\",\"result\":\"in time\",\"id\":2}\n");
	cr_assert_eq(call(&p, &result, NULL, NULL), 0, "a late answer is not taken for the next one");
	cr_expect_str_eq(json_string_value(result), "in time");
	json_decref(result);
	for (int seq = 1; seq <= 2; seq++) {
		cr_assert_eq(wet_connection_next(p.client, 0, &note, NULL), 0);
		cr_expect_eq(json_integer_value(json_object_get(json_object_get(note, "params"), "seq")), seq);
		json_decref(note);
	}
	note = NULL;
	cr_expect_eq(wet_connection_next(p.client, 0, &note, NULL), WET_ERR_NOT_FOUND);
	cr_expect_null(note);
	close_pair(&p);
}

Test(connection, broken_after_sending_means_unknown)
{
	struct pair p = open_pair();
	json_t *result = NULL;

	shutdown(p.daemon, SHUT_WR); /* it still reads: the request arrives whole */
	expect_unknown(&p, "the connection broke");
	expect_heard(&p, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"run.go\",\"params\":{\"token\":\"a\"}}\n");
	cr_expect_eq(wet_connection_fd(p.client), -1);
	cr_expect_eq(call(&p, &result, NULL, NULL), WET_ERR_NO_DAEMON, "afterwards nothing is sent");
	close_pair(&p);
}

Test(connection, broken_before_sending_means_nothing_was_done)
{
	struct pair p = open_pair();
	json_t *result = NULL;
	struct wet_fault fault = { 0 };

	close(p.daemon);
	cr_expect_eq(call(&p, &result, NULL, &fault), WET_ERR_NO_DAEMON);
	cr_expect(strstr(fault.want, "wetsided"));
	cr_expect_null(result);
	wet_connection_close(p.client);
}

Test(connection, half_an_answer_is_none)
{
	struct pair p = open_pair();

	say(&p, "{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":1}");
	shutdown(p.daemon, SHUT_WR);
	expect_unknown(&p, "the connection broke");
	close_pair(&p);
}

Test(connection, what_is_not_the_protocol_ends_the_connection)
{
	static const char *const lines[] = { "hello\n",    "\n",          "{\"a\":1,\"a\":2}\n",
										 "\"text\"\n", "{\"id\":1\n", "\xFF\n" };

	for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
		struct pair p = open_pair();

		say(&p, lines[i]);
		expect_unknown(&p, "an answer that is not of this protocol");
		cr_expect_eq(wet_connection_fd(p.client), -1);
		close_pair(&p);
		cr_assert_eq(unlink(path), 0);
	}
}

Test(connection, an_answer_without_end_is_not_kept)
{
	struct pair p = open_pair();
	char *text = malloc(WET_REPLY_BYTES + 1);
	size_t sent = 0;

	cr_assert(text);
	memset(text, ' ', WET_REPLY_BYTES + 1);
	while (sent < WET_REPLY_BYTES + 1) {
		ssize_t n = send(p.daemon, text + sent, WET_REPLY_BYTES + 1 - sent, MSG_NOSIGNAL);

		cr_assert_gt(n, 0, "it fits the buffer of a socket");
		sent += (size_t)n;
	}
	expect_unknown(&p, "an answer that is not of this protocol");
	close_pair(&p);
	free(text);
}

Test(connection, a_request_longer_than_the_limit_is_not_sent)
{
	struct pair p = open_pair();
	char *text = malloc(WET_REQUEST_BYTES);
	json_t *result = NULL;

	cr_assert(text);
	memset(text, 'r', WET_REQUEST_BYTES);
	cr_expect_eq(wet_connection_call(p.client, "note", json_pack("[s%]", text, (size_t)WET_REQUEST_BYTES), 0,
									 &result, NULL, NULL),
				 WET_ERR_TOO_LONG);
	expect_heard(&p, "");
	say(&p, "{\"jsonrpc\":\"2.0\",\"result\":2,\"id\":2}\n");
	cr_expect_eq(call(&p, &result, NULL, NULL), 0, "the connection is as good as before");
	json_decref(result);
	close_pair(&p);
	free(text);
}

Test(connection, a_daemon_that_does_not_read_is_not_waited_for_for_ever)
{
	struct pair p = open_pair();
	char *text = malloc(60000);
	json_t *result = NULL;
	int rc = WET_ERR_UNKNOWN, n = 0;

	cr_assert(text);
	memset(text, 'r', 60000);
	for (; n < 100 && rc == WET_ERR_UNKNOWN; n++)
		rc = wet_connection_call(p.client, "note", json_pack("[s%]", text, (size_t)60000), 0, &result, NULL,
								 NULL);
	cr_expect_eq(rc, WET_ERR_NO_DAEMON, "not sent whole, so not done");
	cr_expect_gt(n, 1);
	cr_expect_eq(wet_connection_fd(p.client), -1, "nothing can follow half a line");
	close_pair(&p);
	free(text);
}

/* -- notifications ------------------------------------------------------------------ */

Test(connection, the_newest_notifications_are_kept)
{
	struct pair p = open_pair();
	json_t *result = NULL, *note = NULL;

	for (int seq = 1; seq <= WET_CONNECTION_KEPT + 10; seq++) {
		char line[128];

		snprintf(line, sizeof line,
				 "{\"jsonrpc\":\"2.0\",\"method\":\"changes.run\",\"params\":{\"seq\":%d}}\n", seq);
		say(&p, line);
	}
	say(&p, "{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":1}\n");
	cr_assert_eq(call(&p, &result, NULL, NULL), 0);
	json_decref(result);
	for (int seq = 11; seq <= WET_CONNECTION_KEPT + 10; seq++) {
		cr_assert_eq(wet_connection_next(p.client, 0, &note, NULL), 0);
		cr_expect_eq(json_integer_value(json_object_get(json_object_get(note, "params"), "seq")), seq);
		json_decref(note);
	}
	cr_expect_not(wet_connection_has_next(p.client));
	close_pair(&p);
}

Test(connection, what_was_said_before_the_end_is_still_heard)
{
	struct pair p = open_pair();
	struct pollfd entry = { .fd = wet_connection_fd(p.client), .events = POLLIN };
	json_t *note = NULL;
	struct wet_fault fault = { 0 };

	cr_expect_eq(poll(&entry, 1, 0), 0, "nothing yet");
	say(&p, "{\"jsonrpc\":\"2.0\",\"method\":\"a\",\"params\":{}}\n"
			"{\"jsonrpc\":\"2.0\",\"method\":\"b\",\"params\":{}}\n");
	close(p.daemon);
	cr_expect_eq(poll(&entry, 1, 0), 1);
	cr_assert_eq(wet_connection_next(p.client, 0, &note, &fault), 0);
	cr_expect_str_eq(json_string_value(json_object_get(note, "method")), "a");
	json_decref(note);
	cr_expect(wet_connection_has_next(p.client), "read already: poll would not show it");
	cr_assert_eq(wet_connection_next(p.client, 0, &note, &fault), 0);
	cr_expect_str_eq(json_string_value(json_object_get(note, "method")), "b");
	json_decref(note);
	cr_expect_eq(wet_connection_next(p.client, 0, &note, &fault), WET_ERR_NO_DAEMON);
	cr_expect(strstr(fault.want, "wetsided"));
	cr_expect_eq(wet_connection_fd(p.client), -1);
	wet_connection_close(p.client);
}

Test(connection, notifications_nobody_took_are_freed)
{
	struct pair p = open_pair();
	json_t *result = NULL;

	say(&p, "{\"jsonrpc\":\"2.0\",\"method\":\"a\",\"params\":{}}\n"
			"{\"jsonrpc\":\"2.0\",\"result\":{},\"id\":1}\n");
	cr_assert_eq(call(&p, &result, NULL, NULL), 0);
	json_decref(result);
	close_pair(&p); /* the leak check is the sanitizer's */
}
