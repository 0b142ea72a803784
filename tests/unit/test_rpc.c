/* The wire without a socket: bytes in, bytes out, on virtual time. */
#include "wire/rpc.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S(n) ((n)*1000000000LL)
#define HELD 128

/* A dispatcher with methods to try everything: what comes in is written down, what goes out is chosen by the
 * method. */
struct desk {
	struct wet_rpc *rpc;
	int64_t now_ns;
	unsigned served, notified, between;
	char last_method[WET_NAME_BYTES];
	json_t *last_params; /* ours */
	wet_rpc_ticket held[HELD];
	size_t held_n;
};

static int64_t desk_now(void *ctx)
{
	return ((struct desk *)ctx)->now_ns;
}

static void desk_between(void *ctx)
{
	((struct desk *)ctx)->between++;
}

static json_t *filler(size_t n)
{
	char *text = malloc(n + 1);
	json_t *json;

	cr_assert(text);
	memset(text, 'x', n);
	text[n] = '\0';
	json = json_string(text);
	free(text);
	return json;
}

static void desk_request(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method,
						 json_t *params)
{
	struct desk *d = ctx;

	d->served++;
	d->notified += ticket == 0;
	snprintf(d->last_method, sizeof d->last_method, "%s", method);
	json_decref(d->last_params);
	d->last_params = json_incref(params);
	if (strcmp(method, "echo") == 0)
		wet_rpc_result(rpc, ticket, params ? json_incref(params) : json_null());
	else if (strcmp(method, "big") == 0)
		wet_rpc_result(rpc, ticket, filler((size_t)json_integer_value(json_array_get(params, 0))));
	else if (strcmp(method, "hold") == 0 && ticket != 0)
		d->held[d->held_n++ % HELD] = ticket;
	else if (strcmp(method, "twice") == 0) {
		wet_rpc_result(rpc, ticket, json_integer(1));
		wet_rpc_result(rpc, ticket, json_integer(2));
		wet_rpc_error(rpc, ticket, 1, "three", NULL);
	} else if (strcmp(method, "nothing") == 0)
		wet_rpc_result(rpc, ticket, NULL);
	else if (strcmp(method, "refuse") == 0)
		wet_rpc_error(rpc, ticket, 1011, "refused", json_pack("{s:s}", "why", "no"));
	else
		wet_rpc_error(rpc, ticket, -32601, "Method not found", NULL);
}

static struct desk *open_desk(void)
{
	struct desk *d = calloc(1, sizeof *d);
	struct wet_rpc_dispatch dispatch = { .request = desk_request, .now_ns = desk_now, .ctx = d };

	cr_assert(d);
	d->now_ns = S(1000);
	cr_assert_eq(wet_rpc_new(&d->rpc, &dispatch, d), 0);
	cr_assert_eq(wet_rpc_owner(d->rpc), d);
	return d;
}

static void close_desk(struct desk *d)
{
	wet_rpc_free(d->rpc);
	json_decref(d->last_params);
	free(d);
}

static int feed(struct desk *d, const char *text)
{
	return wet_rpc_feed(d->rpc, text, strlen(text));
}

static void serve_all(struct desk *d)
{
	for (int i = 0; wet_rpc_serve(d->rpc, NULL, NULL); i++)
		cr_assert_lt(i, 10000, "serving never ends");
}

/* Everything waiting, taken; the caller's. */
static char *take(struct desk *d)
{
	const char *bytes = NULL;
	size_t n = wet_rpc_pending(d->rpc, &bytes);
	char *text = malloc(n + 1);

	cr_assert(text);
	memcpy(text, bytes, n);
	text[n] = '\0';
	wet_rpc_sent(d->rpc, n);
	cr_assert_eq(wet_rpc_pending(d->rpc, &bytes), 0);
	return text;
}

/* Sends one line and compares the answer, byte for byte. */
static void expect(struct desk *d, const char *line, const char *answer)
{
	char *got;

	cr_assert_eq(feed(d, line), 0);
	cr_assert_eq(feed(d, "\n"), 0);
	serve_all(d);
	got = take(d);
	cr_expect_str_eq(got, answer, "%s\ngave     %s\ninstead of %s", line, got, answer);
	free(got);
}

/* The code of the one error waiting; 0 if it is none. */
static int take_code(struct desk *d, const char *id)
{
	char *got = take(d);
	json_t *json = NULL;
	int code = 0;

	if (strlen(got) > 0 && wet_json_parse(got, strlen(got), 16, &json, NULL) == 0) {
		code = (int)json_integer_value(json_object_get(json_object_get(json, "error"), "code"));
		if (id)
			cr_expect_str_eq(json_string_value(json_object_get(json, "id")), id);
		else
			cr_expect(json_is_null(json_object_get(json, "id")));
	}
	json_decref(json);
	free(got);
	return code;
}

static char *repeat(const char *piece, size_t n)
{
	size_t bytes = strlen(piece);
	char *text = malloc(n * bytes + 1);

	cr_assert(text);
	for (size_t i = 0; i < n; i++)
		memcpy(text + i * bytes, piece, bytes);
	text[n * bytes] = '\0';
	return text;
}

/* -- requests --------------------------------------------------------------- */

Test(rpc, every_kind_of_id_comes_back_as_it_was)
{
	static const char *const ids[][2] = {
		{ "1", "1" },
		{ "0", "0" },
		{ "-7", "-7" },
		{ "null", "null" },
		{ "\"\"", "\"\"" },
		{ "\"a\"", "\"a\"" },
		{ "1.5", "1.5" },
		{ "0.1", "0.1" },
		{ "-0.0", "-0.0" },
		{ "2.0", "2.0" },
		{ "1e3", "1000.0" },
		{ "1e300", "1e+300" },
		{ "123456789.123456789", "123456789.12345679" },
		{ "9223372036854775807", "9223372036854775807" },
		{ "-9223372036854775808", "-9223372036854775808" },
		{ "\"\\u0001\\n\\\\\\\"/\"", "\"\\u0001\\n\\\\\\\"/\"" },
		{ "\"\xC3\xA9\xE2\x82\xAC\"", "\"\\u00e9\\u20ac\"" },
		{ "\"\xF0\x9F\x8C\x8A\"", "\"\\ud83c\\udf0a\"" },
		{ "\"\\ud83c\\udf0a\"", "\"\\ud83c\\udf0a\"" },
	};
	struct desk *d = open_desk();

	for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
		char line[256], answer[256];

		snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":[],\"id\":%s}",
				 ids[i][0]);
		snprintf(answer, sizeof answer, "{\"jsonrpc\":\"2.0\",\"result\":[],\"id\":%s}\n", ids[i][1]);
		expect(d, line, answer);
	}
	close_desk(d);
}

Test(rpc, an_id_of_another_kind_is_no_valid_request)
{
	static const char *const ids[] = { "[]", "{}", "[1]", "true", "false" };
	struct desk *d = open_desk();
	char *too_long = repeat("x", WET_ID_BYTES + 1), *longest = repeat("x", WET_ID_BYTES), line[1024],
		 answer[1024];

	for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
		snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":%s}", ids[i]);
		expect(d, line,
			   "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":-32600,\"message\":\"Invalid "
			   "Request\"},\"id\":null}\n");
	}
	snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":\"%s\"}", too_long);
	expect(d, line,
		   "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":-32600,\"message\":\"Invalid Request\"},\"id\":null}\n");
	cr_expect_eq(d->served, 0);
	snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":\"%s\"}", longest);
	snprintf(answer, sizeof answer, "{\"jsonrpc\":\"2.0\",\"result\":null,\"id\":\"%s\"}\n", longest);
	expect(d, line, answer);
	free(too_long);
	free(longest);
	close_desk(d);
}

Test(rpc, what_is_no_request_is_answered_and_never_served)
{
	static const char *const lines[][2] = {
		{ "{}", "null" },
		{ "{\"jsonrpc\":\"2.0\",\"id\":5}", "5" },
		{ "{\"jsonrpc\":\"1.0\",\"method\":\"echo\",\"id\":5}", "5" },
		{ "{\"jsonrpc\":2.0,\"method\":\"echo\",\"id\":5}", "5" },
		{ "{\"method\":\"echo\",\"id\":5}", "5" },
		{ "{\"method\":\"echo\"}", "null" },
		{ "{\"jsonrpc\":\"2.0\",\"method\":null,\"id\":5}", "5" },
		{ "{\"jsonrpc\":\"2.0\",\"method\":[\"echo\"],\"id\":5}", "5" },
		{ "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":null,\"id\":5}", "5" },
		{ "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":\"x\",\"id\":\"5\"}", "\"5\"" },
		{ "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":1}", "null" },
		{ "{\"JSONRPC\":\"2.0\",\"METHOD\":\"echo\",\"id\":5}", "5" },
		{ "{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":5}", "5" },
	};
	struct desk *d = open_desk();

	for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
		char answer[256];

		snprintf(
			answer, sizeof answer,
			"{\"jsonrpc\":\"2.0\",\"error\":{\"code\":-32600,\"message\":\"Invalid Request\"},\"id\":%s}\n",
			lines[i][1]);
		expect(d, lines[i][0], answer);
	}
	cr_expect_eq(d->served, 0);
	close_desk(d);
}

Test(rpc, a_notification_is_served_and_never_answered)
{
	struct desk *d = open_desk();

	expect(d, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":{\"a\":1}}", "");
	cr_expect_str_eq(d->last_method, "echo");
	cr_expect_eq(json_integer_value(json_object_get(d->last_params, "a")), 1);
	expect(d, "{\"jsonrpc\":\"2.0\",\"method\":\"nobody\"}", "");
	cr_expect_null(d->last_params, "params left out are NULL");
	expect(d, "[{\"jsonrpc\":\"2.0\",\"method\":\"refuse\"},{\"jsonrpc\":\"2.0\",\"method\":\"echo\"}]", "");
	cr_expect_eq(d->served, 4);
	cr_expect_eq(d->notified, 4);
	close_desk(d);
}

Test(rpc, members_it_does_not_know_are_ignored_and_a_double_name_is_not)
{
	struct desk *d = open_desk();

	expect(d, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":1,\"extra\":[{}]}",
		   "{\"jsonrpc\":\"2.0\",\"result\":null,\"id\":1}\n");
	cr_assert_eq(feed(d, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":1,\"id\":2}\n"), 0);
	serve_all(d);
	cr_expect_eq(take_code(d, NULL), -32700);
	cr_assert_eq(feed(d, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":{\"a\":{\"b\":1,\"\\u0062\":2}}"
						 ",\"id\":1}\n"),
				 0);
	serve_all(d);
	cr_expect_eq(take_code(d, NULL), -32700);
	cr_expect_eq(d->served, 1);
	close_desk(d);
}

Test(rpc, a_parse_error_says_where)
{
	struct desk *d = open_desk();
	char *got;

	cr_assert_eq(feed(d, "{\"jsonrpc\":\"2.0\",\"method\":echo}\n"), 0);
	serve_all(d);
	got = take(d);
	cr_expect_str_eq(got,
					 "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":-32700,\"message\":\"Parse error\",\"data\":{"
					 "\"name\":\"PARSE\",\"where\":\"byte 27\",\"found\":\"echo}\",\"want\":\"a value\"}},"
					 "\"id\":null}\n");
	free(got);
	close_desk(d);
}

Test(rpc, text_that_is_not_utf8_or_holds_nul_is_a_parse_error)
{
	static const char *const bad[] = { "\xFF",     "\xC0\x80", "\xED\xA0\x80", "\xF5\x80\x80\x80",
									   "\xE2\x82", "\x80" };
	static const char nul[] = "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":1}\0\n";
	struct desk *d = open_desk();

	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		char line[128];

		snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"%s\",\"id\":1}\n", bad[i]);
		cr_assert_eq(feed(d, line), 0);
		serve_all(d);
		cr_expect_eq(take_code(d, NULL), -32700, "case %zu", i);
	}
	cr_assert_eq(wet_rpc_feed(d->rpc, nul, sizeof nul - 1), 0);
	serve_all(d);
	cr_expect_eq(take_code(d, NULL), -32700);
	cr_expect_eq(d->served, 0);
	close_desk(d);
}

Test(rpc, nesting_is_counted_before_it_costs_anything)
{
	struct desk *d = open_desk();
	char line[512], *open, *close;

	/* The request itself is the first level. */
	open = repeat("[", WET_JSON_DEPTH - 1);
	close = repeat("]", WET_JSON_DEPTH - 1);
	snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"params\":%s%s,\"id\":1}\n", open,
			 close);
	cr_assert_eq(feed(d, line), 0);
	serve_all(d);
	cr_expect_eq(d->served, 1);
	snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"params\":[%s%s],\"id\":1}\n",
			 open, close);
	cr_assert_eq(feed(d, line), 0);
	serve_all(d);
	cr_expect_eq(take_code(d, NULL), wet_err_wire(WET_ERR_TOO_MANY));
	cr_expect_eq(d->served, 1);
	free(open);
	free(close);

	open = repeat("[{\"a\":", 10000);
	cr_assert_eq(feed(d, open), 0);
	cr_assert_eq(feed(d, "\n"), 0);
	serve_all(d);
	cr_expect_eq(take_code(d, NULL), wet_err_wire(WET_ERR_TOO_MANY));
	free(open);
	expect(d, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":[\"[[[[[[[[[[[[[[[[[[[[[[[[\"],\"id\":2}",
		   "{\"jsonrpc\":\"2.0\",\"result\":[\"[[[[[[[[[[[[[[[[[[[[[[[[\"],\"id\":2}\n");
	close_desk(d);
}

/* -- batches ------------------------------------------------------------------ */

Test(rpc, a_batch_is_one_line_and_waits_for_its_last_answer)
{
	struct desk *d = open_desk();
	const char *bytes;
	char *got;

	cr_assert_eq(
		feed(d,
			 "[{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1},{\"jsonrpc\":\"2.0\",\"method\":\"echo\"},"
			 "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":2},7,"
			 "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":2}]\n"),
		0);
	serve_all(d);
	cr_expect_eq(d->served, 4);
	cr_assert_eq(d->held_n, 2);
	cr_expect_eq(wet_rpc_pending(d->rpc, &bytes), 0);
	wet_rpc_result(d->rpc, d->held[1], json_string("late"));
	cr_expect_eq(wet_rpc_pending(d->rpc, &bytes), 0);
	expect(d, "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":3}",
		   "{\"jsonrpc\":\"2.0\",\"result\":null,\"id\":3}\n");
	wet_rpc_error(d->rpc, d->held[0], 1011, "refused", NULL);
	got = take(d);
	cr_expect_str_eq(
		got, "[{\"jsonrpc\":\"2.0\",\"error\":{\"code\":1011,\"message\":\"refused\"},\"id\":1},"
			 "{\"jsonrpc\":\"2.0\",\"result\":null,\"id\":2},"
			 "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":-32600,\"message\":\"Invalid Request\"},\"id\":null},"
			 "{\"jsonrpc\":\"2.0\",\"result\":\"late\",\"id\":2}]\n");
	free(got);
	close_desk(d);
}

Test(rpc, a_batch_of_eight_is_served_and_one_of_nine_is_not)
{
	struct desk *d = open_desk();
	char line[1024] = "[";

	for (int i = 0; i < WET_BATCH; i++)
		strncat(line,
				i > 0 ? ",{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}"
					  : "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}",
				sizeof line - strlen(line) - 1);
	cr_assert_eq(feed(d, line), 0);
	cr_assert_eq(feed(d, "]\n"), 0);
	serve_all(d);
	cr_expect_eq(d->served, WET_BATCH);
	cr_assert_eq(feed(d, line), 0);
	cr_assert_eq(feed(d, ",0]\n"), 0);
	serve_all(d);
	cr_expect_eq(d->served, WET_BATCH);
	cr_expect_eq(take_code(d, NULL), wet_err_wire(WET_ERR_TOO_MANY));
	close_desk(d);
}

Test(rpc, a_batch_never_grows_past_one_reply)
{
	struct desk *d = open_desk();
	json_t *json = NULL, *one;
	size_t i, whole = 0;
	char *got;

	/* 40 KB four times: two fit beside the errors for the others. */
	cr_assert_eq(feed(d, "[{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[40000],\"id\":0},"
						 "{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[40000],\"id\":1},"
						 "{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[40000],\"id\":2},"
						 "{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[40000],\"id\":3}]\n"),
				 0);
	serve_all(d);
	got = take(d);
	cr_expect_leq(strlen(got), WET_REPLY_BYTES);
	cr_assert_eq(wet_json_parse(got, strlen(got), 16, &json, NULL), 0);
	cr_assert_eq(json_array_size(json), 4);
	json_array_foreach(json, i, one)
	{
		cr_expect_eq(json_integer_value(json_object_get(one, "id")), (json_int_t)i);
		whole += json_object_get(one, "result") != NULL;
		if (!json_object_get(one, "result"))
			cr_expect_eq(json_integer_value(json_object_get(json_object_get(one, "error"), "code")),
						 wet_err_wire(WET_ERR_TOO_LONG));
	}
	cr_expect_eq(whole, 2);
	json_decref(json);
	free(got);
	close_desk(d);
}

/* -- answers ------------------------------------------------------------------ */

Test(rpc, a_reply_of_exactly_the_limit_is_sent_and_a_longer_one_is_an_error)
{
	struct desk *d = open_desk();
	size_t frame = strlen("{\"jsonrpc\":\"2.0\",\"result\":\"\",\"id\":1}\n");
	char line[128], *got;

	snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[%zu],\"id\":1}\n",
			 WET_REPLY_BYTES - frame);
	cr_assert_eq(feed(d, line), 0);
	serve_all(d);
	got = take(d);
	cr_expect_eq(strlen(got), WET_REPLY_BYTES);
	free(got);
	snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[%zu],\"id\":\"a\"}\n",
			 WET_REPLY_BYTES - frame);
	cr_assert_eq(feed(d, line), 0);
	serve_all(d);
	cr_expect_eq(take_code(d, "a"), wet_err_wire(WET_ERR_TOO_LONG));
	close_desk(d);
}

Test(rpc, a_ticket_is_good_once)
{
	struct desk *d = open_desk();
	const char *bytes;
	char *got;

	expect(d, "{\"jsonrpc\":\"2.0\",\"method\":\"twice\",\"id\":1}",
		   "{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":1}\n");
	cr_assert_eq(feed(d, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":\"late\"}\n"), 0);
	serve_all(d);
	d->now_ns += S(3600);
	wet_rpc_result(d->rpc, 0, json_integer(0));
	wet_rpc_result(d->rpc, d->held[0] + 1, json_integer(0));
	wet_rpc_error(d->rpc, UINT64_MAX, 1, "x", json_object());
	cr_expect_eq(wet_rpc_pending(d->rpc, &bytes), 0);
	wet_rpc_result(d->rpc, d->held[0], json_true());
	wet_rpc_result(d->rpc, d->held[0], json_false());
	got = take(d);
	cr_expect_str_eq(got, "{\"jsonrpc\":\"2.0\",\"result\":true,\"id\":\"late\"}\n");
	free(got);
	close_desk(d);
}

Test(rpc, a_ticket_of_one_client_is_nothing_to_another)
{
	struct desk *a = open_desk(), *b = open_desk();
	const char *bytes;

	cr_assert_eq(feed(a, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}\n"), 0);
	cr_assert_eq(feed(b, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}\n"), 0);
	serve_all(a);
	serve_all(b);
	cr_expect_neq(a->held[0], b->held[0]);
	wet_rpc_result(b->rpc, a->held[0], json_integer(1));
	cr_expect_eq(wet_rpc_pending(b->rpc, &bytes), 0);
	close_desk(a);
	close_desk(b);
}

Test(rpc, a_result_that_could_not_be_built_says_that_the_outcome_is_unknown)
{
	struct desk *d = open_desk();

	cr_assert_eq(feed(d, "{\"jsonrpc\":\"2.0\",\"method\":\"nothing\",\"id\":\"n\"}\n"), 0);
	serve_all(d);
	cr_expect_eq(take_code(d, "n"), wet_err_wire(WET_ERR_UNKNOWN));
	close_desk(d);
}

Test(rpc, a_fault_carries_all_it_knows)
{
	struct desk *d = open_desk();
	struct wet_fault fault = {
		.err = WET_ERR_UNIT_MISSING, .where = "--make", .found = "600", .want = "600 mL or 600 L"
	};
	char *got;

	cr_assert_eq(feed(d, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}\n"), 0);
	serve_all(d);
	wet_rpc_fault(d->rpc, d->held[0], &fault);
	got = take(d);
	cr_expect_str_eq(
		got, "{\"jsonrpc\":\"2.0\",\"error\":{\"code\":1004,\"message\":\"the unit is missing\",\"data\":{"
			 "\"name\":\"UNIT_MISSING\",\"where\":\"--make\",\"found\":\"600\","
			 "\"want\":\"600 mL or 600 L\"}},\"id\":1}\n");
	free(got);
	close_desk(d);
}

Test(rpc, a_notification_to_the_client_has_no_id)
{
	struct desk *d = open_desk();
	char *got;

	cr_assert_eq(wet_rpc_notify(d->rpc, "changes.run", json_pack("{s:i}", "seq", 4)), 0);
	cr_expect_eq(wet_rpc_notify(d->rpc, "changes.run", filler(WET_REPLY_BYTES)), WET_ERR_TOO_LONG);
	cr_expect_eq(wet_rpc_notify(d->rpc, "changes.run", NULL), WET_ERR_NOMEM);
	got = take(d);
	cr_expect_str_eq(got, "{\"jsonrpc\":\"2.0\",\"method\":\"changes.run\",\"params\":{\"seq\":4}}\n");
	free(got);
	close_desk(d);
}

/* -- turns -------------------------------------------------------------------- */

Test(rpc, a_turn_serves_four_and_looks_at_the_clock_between)
{
	struct desk *d = open_desk();
	char *ten = repeat("{\"jsonrpc\":\"2.0\",\"method\":\"echo\"}\n", 10);

	cr_assert_eq(feed(d, ten), 0);
	cr_expect_eq(d->served, 0, "feeding serves nothing");
	cr_expect(wet_rpc_has_work(d->rpc));
	cr_expect_not(wet_rpc_wants_input(d->rpc));
	cr_expect(wet_rpc_serve(d->rpc, desk_between, d));
	cr_expect_eq(d->served, WET_TURN_REQUESTS);
	cr_expect_eq(d->between, WET_TURN_REQUESTS - 1);
	cr_expect(wet_rpc_serve(d->rpc, desk_between, d));
	cr_expect_not(wet_rpc_serve(d->rpc, desk_between, d));
	cr_expect_eq(d->served, 10);
	cr_expect(wet_rpc_wants_input(d->rpc));
	free(ten);
	close_desk(d);
}

Test(rpc, too_many_open_requests_wait_in_the_line)
{
	struct desk *d = open_desk();
	char *lines = repeat("{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}\n", WET_RPC_OPEN + 5);

	cr_assert_eq(feed(d, lines), 0);
	serve_all(d);
	cr_expect_eq(d->served, WET_RPC_OPEN);
	cr_expect_not(wet_rpc_has_work(d->rpc));
	cr_expect_not(wet_rpc_wants_input(d->rpc));
	cr_expect(wet_rpc_is_fit(d->rpc, d->now_ns + S(100), 0), "waiting is no fault of the client");
	wet_rpc_result(d->rpc, d->held[7], json_null());
	cr_expect(wet_rpc_has_work(d->rpc));
	serve_all(d);
	cr_expect_eq(d->served, WET_RPC_OPEN + 1);
	free(lines);
	close_desk(d); /* with open tickets */
}

Test(rpc, a_client_that_reads_nothing_is_served_no_further)
{
	struct desk *d = open_desk();
	char *lines = repeat("{\"jsonrpc\":\"2.0\",\"method\":\"big\",\"params\":[30000],\"id\":1}\n", 20);
	const char *bytes;
	size_t n;

	cr_assert_eq(feed(d, lines), 0);
	serve_all(d);
	n = wet_rpc_pending(d->rpc, &bytes);
	cr_expect_gt(n, WET_OUT_SOFT_BYTES);
	cr_expect_lt(n, WET_OUT_SOFT_BYTES + WET_REPLY_BYTES);
	cr_expect_eq(d->served, 3);
	cr_expect_not(wet_rpc_wants_more(d->rpc));
	cr_expect_not(wet_rpc_wants_input(d->rpc));
	cr_expect_eq(wet_rpc_notify(d->rpc, "changes", json_object()), WET_ERR_REFUSED);
	wet_rpc_sent(d->rpc, n);
	cr_expect(wet_rpc_has_work(d->rpc));
	for (unsigned i = 0; i < 20 && wet_rpc_has_work(d->rpc); i++) {
		serve_all(d);
		wet_rpc_sent(d->rpc, wet_rpc_pending(d->rpc, &bytes));
	}
	cr_expect_eq(d->served, 20, "all are served once it reads");
	free(lines);
	close_desk(d);
}
