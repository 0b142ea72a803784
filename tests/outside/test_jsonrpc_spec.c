/* The wire against the JSON-RPC 2.0 Specification.
 *
 * Source: "JSON-RPC 2.0 Specification", JSON-RPC Working Group, 2010-03-26 (updated 2013-01-04), jsonrpc.org.
 * The first table holds the request and reply pairs of its section 7, "Examples"; the others check sentences
 * of sections 4 to 6, quoted beside them. */
#include "wire/rpc.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The server of the examples. Wrapping arithmetic is none of the specification's business: small numbers
 * only. */
static void serve_example(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method,
						  json_t *params)
{
	json_int_t a = 0, b = 0, sum = 0;
	size_t i;
	json_t *item;

	++*(unsigned *)ctx;
	if (strcmp(method, "subtract") == 0) {
		if (json_is_array(params)) {
			a = json_integer_value(json_array_get(params, 0));
			b = json_integer_value(json_array_get(params, 1));
		} else {
			a = json_integer_value(json_object_get(params, "minuend"));
			b = json_integer_value(json_object_get(params, "subtrahend"));
		}
		wet_rpc_result(rpc, ticket, json_integer(a - b));
	} else if (strcmp(method, "sum") == 0) {
		json_array_foreach(params, i, item) sum += json_integer_value(item);
		wet_rpc_result(rpc, ticket, json_integer(sum));
	} else if (strcmp(method, "get_data") == 0) {
		wet_rpc_result(rpc, ticket, json_pack("[s,i]", "hello", 5));
	} else if (strcmp(method, "update") == 0 || strcmp(method, "notify_hello") == 0 ||
			   strcmp(method, "notify_sum") == 0) {
		wet_rpc_result(rpc, ticket, json_null());
	} else {
		wet_rpc_error(rpc, ticket, -32601, "Method not found", NULL);
	}
}

static int64_t no_time(void *ctx)
{
	(void)ctx;
	return 0;
}

/* One line through a fresh connection: the bytes that come back, the caller's. */
static char *ask(const char *line, unsigned *ret_served)
{
	struct wet_rpc_dispatch dispatch = { .request = serve_example, .now_ns = no_time, .ctx = ret_served };
	struct wet_rpc *rpc = NULL;
	const char *bytes = NULL;
	char *text;
	size_t n;

	*ret_served = 0;
	cr_assert_eq(wet_rpc_new(&rpc, &dispatch, NULL), 0);
	cr_assert_eq(wet_rpc_feed(rpc, line, strlen(line)), 0);
	cr_assert_eq(wet_rpc_feed(rpc, "\n", 1), 0);
	while (wet_rpc_serve(rpc, NULL, NULL))
		;
	n = wet_rpc_pending(rpc, &bytes);
	text = malloc(n + 1);
	cr_assert(text);
	memcpy(text, bytes, n);
	text[n] = '\0';
	wet_rpc_free(rpc);
	return text;
}

/* "data": "This may be omitted. The value of this member is defined by the Server" (section 5.1): the
 * examples have none, ours explains a parse error with it. */
static void drop_data(json_t *reply)
{
	size_t i;
	json_t *one;

	if (json_is_array(reply))
		json_array_foreach(reply, i, one) drop_data(one);
	else
		(void)json_object_del(json_object_get(reply, "error"), "data");
}

static void expect_reply(const char *line, const char *want_text)
{
	unsigned served;
	char *got = ask(line, &served);
	json_error_t error;
	json_t *reply, *want;

	if (!want_text) {
		cr_expect_str_eq(got, "", "%s is answered", line);
		free(got);
		return;
	}
	cr_expect(strchr(got, '\n') == got + strlen(got) - 1, "one line: %s", got);
	reply = json_loads(got, JSON_REJECT_DUPLICATES, &error);
	want = json_loads(want_text, 0, &error);
	cr_assert(want);
	drop_data(reply);
	cr_expect(json_equal(reply, want), "%s\ngave     %s\ninstead of %s", line, got, want_text);
	json_decref(reply);
	json_decref(want);
	free(got);
}

#define INVALID(id) \
	"{\"jsonrpc\": \"2.0\", \"error\": {\"code\": -32600, \"message\": \"Invalid Request\"}, \"id\": " id "}"
#define PARSE \
	"{\"jsonrpc\": \"2.0\", \"error\": {\"code\": -32700, \"message\": \"Parse error\"}, \"id\": null}"
#define NO_METHOD(id) \
	"{\"jsonrpc\": \"2.0\", \"error\": {\"code\": -32601, \"message\": \"Method not found\"}, \"id\": " id "}"

Test(jsonrpc_spec, the_examples_of_section_7)
{
	/* clang-format off */
	static const char *const pairs[][2] = {
		/* rpc call with positional parameters */
		{"{\"jsonrpc\": \"2.0\", \"method\": \"subtract\", \"params\": [42, 23], \"id\": 1}",
		 "{\"jsonrpc\": \"2.0\", \"result\": 19, \"id\": 1}"},
		{"{\"jsonrpc\": \"2.0\", \"method\": \"subtract\", \"params\": [23, 42], \"id\": 2}",
		 "{\"jsonrpc\": \"2.0\", \"result\": -19, \"id\": 2}"},
		/* rpc call with named parameters */
		{"{\"jsonrpc\": \"2.0\", \"method\": \"subtract\", \"params\": {\"subtrahend\": 23, "
		 "\"minuend\": 42}, \"id\": 3}",
		 "{\"jsonrpc\": \"2.0\", \"result\": 19, \"id\": 3}"},
		{"{\"jsonrpc\": \"2.0\", \"method\": \"subtract\", \"params\": {\"minuend\": 42, "
		 "\"subtrahend\": 23}, \"id\": 4}",
		 "{\"jsonrpc\": \"2.0\", \"result\": 19, \"id\": 4}"},
		/* a Notification */
		{"{\"jsonrpc\": \"2.0\", \"method\": \"update\", \"params\": [1,2,3,4,5]}", NULL},
		{"{\"jsonrpc\": \"2.0\", \"method\": \"foobar\"}", NULL},
		/* rpc call of non-existent method */
		{"{\"jsonrpc\": \"2.0\", \"method\": \"foobar\", \"id\": \"1\"}", NO_METHOD("\"1\"")},
		/* rpc call with invalid JSON */
		{"{\"jsonrpc\": \"2.0\", \"method\": \"foobar, \"params\": \"bar\", \"baz]", PARSE},
		/* rpc call with invalid Request object */
		{"{\"jsonrpc\": \"2.0\", \"method\": 1, \"params\": \"bar\"}", INVALID("null")},
		/* rpc call Batch, invalid JSON (two lines there, one here: a line is a text) */
		{"[ {\"jsonrpc\": \"2.0\", \"method\": \"sum\", \"params\": [1,2,4], \"id\": \"1\"}, "
		 "{\"jsonrpc\": \"2.0\", \"method\" ]",
		 PARSE},
		/* rpc call with an empty Array */
		{"[]", INVALID("null")},
		/* rpc call with an invalid Batch (but not empty) */
		{"[1]", "[" INVALID("null") "]"},
		/* rpc call with invalid Batch */
		{"[1,2,3]", "[" INVALID("null") "," INVALID("null") "," INVALID("null") "]"},
		/* rpc call Batch */
		{"[ {\"jsonrpc\": \"2.0\", \"method\": \"sum\", \"params\": [1,2,4], \"id\": \"1\"}, "
		 "{\"jsonrpc\": \"2.0\", \"method\": \"notify_hello\", \"params\": [7]}, "
		 "{\"jsonrpc\": \"2.0\", \"method\": \"subtract\", \"params\": [42,23], \"id\": \"2\"}, "
		 "{\"foo\": \"boo\"}, "
		 "{\"jsonrpc\": \"2.0\", \"method\": \"foo.get\", \"params\": {\"name\": \"myself\"}, \"id\": \"5\"}, "
		 "{\"jsonrpc\": \"2.0\", \"method\": \"get_data\", \"id\": \"9\"} ]",
		 "[ {\"jsonrpc\": \"2.0\", \"result\": 7, \"id\": \"1\"}, "
		 "{\"jsonrpc\": \"2.0\", \"result\": 19, \"id\": \"2\"}, "
		 INVALID("null") ", " NO_METHOD("\"5\"") ", "
		 "{\"jsonrpc\": \"2.0\", \"result\": [\"hello\", 5], \"id\": \"9\"} ]"},
		/* rpc call Batch (all notifications) */
		{"[ {\"jsonrpc\": \"2.0\", \"method\": \"notify_sum\", \"params\": [1,2,4]}, "
		 "{\"jsonrpc\": \"2.0\", \"method\": \"notify_hello\", \"params\": [7]} ]",
		 NULL},
	};
	/* clang-format on */

	cr_assert_eq(sizeof pairs / sizeof pairs[0], 15);
	for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
		expect_reply(pairs[i][0], pairs[i][1]);
}

/* "MUST be exactly "2.0""; "A String containing the name of the method"; "If present, parameters for the rpc
 * call MUST be provided as a Structured value" (4, 4.2) */
Test(jsonrpc_spec, section_4_what_a_request_object_must_be)
{
	static const char *const bad[] = {
		"{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":null,\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":1,\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":\"1\",\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":true,\"id\":1}",
		"{\"jsonrpc\":2,\"method\":\"sum\",\"id\":1}",
		"{\"jsonrpc\":\"2\",\"method\":\"sum\",\"id\":1}",
		"{\"jsonrpc\":\"2.0 \",\"method\":\"sum\",\"id\":1}",
		"{\"method\":\"sum\",\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"method\":{},\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"id\":1}",
		"{\"Jsonrpc\":\"2.0\",\"Method\":\"sum\",\"id\":1}", /* "member names ... case-sensitive" (3) */
	};

	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		expect_reply(bad[i], INVALID("1"));
	expect_reply("{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[],\"id\":1}",
				 "{\"jsonrpc\":\"2.0\",\"result\":0,\"id\":1}");
	expect_reply("{\"id\":1,\"params\":{},\"method\":\"sum\",\"jsonrpc\":\"2.0\"}",
				 "{\"jsonrpc\":\"2.0\",\"result\":0,\"id\":1}");
}

/* "MUST contain a String, Number, or NULL value if included. If it is not included it is assumed to be a
 * notification." "Numbers SHOULD NOT contain fractional parts": should not, so they may. (4); "It MUST be the
 * same" (5) */
Test(jsonrpc_spec, section_4_and_5_ids)
{
	static const char *const good[] = { "1",
										"0",
										"-1",
										"1.5",
										"1e2",
										"null",
										"\"\"",
										"\"1\"",
										"\"\xC3\xA9\"",
										"9007199254740993",
										"9223372036854775807",
										"\"null\"" };
	static const char *const bad[] = { "true", "false", "[]", "{}", "[1]", "{\"id\":1}" };
	char line[256], want[256];

	for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
		snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[2,3],\"id\":%s}",
				 good[i]);
		snprintf(want, sizeof want, "{\"jsonrpc\":\"2.0\",\"result\":5,\"id\":%s}", good[i]);
		expect_reply(line, want);
	}
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		snprintf(line, sizeof line, "{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[2,3],\"id\":%s}",
				 bad[i]);
		expect_reply(line, INVALID("null"));
	}
}

/* "Either the result member or error member MUST be included, but both members MUST NOT be included." "code
 * ... This MUST be an integer"; "message: A String" (5, 5.1) */
Test(jsonrpc_spec, section_5_what_a_response_object_is)
{
	static const char *const lines[] = {
		"{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"method\":\"no\",\"id\":1}",
		"{\"jsonrpc\":\"2.0\",\"method\":\"update\",\"id\":1}",
		"7",
		"[]",
		"{}",
		"{",
		"\"text\"",
	};

	for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
		unsigned served;
		char *got = ask(lines[i], &served);
		json_error_t error;
		json_t *reply = json_loads(got, JSON_REJECT_DUPLICATES, &error),
			   *failure = json_object_get(reply, "error");

		cr_assert(json_is_object(reply), "%s: %s", lines[i], got);
		cr_expect_eq(json_object_size(reply), 3);
		cr_expect_str_eq(json_string_value(json_object_get(reply, "jsonrpc")), "2.0");
		cr_expect(json_object_get(reply, "id"));
		cr_expect_neq(json_object_get(reply, "result") != NULL, failure != NULL);
		if (failure) {
			cr_expect(json_is_integer(json_object_get(failure, "code")));
			cr_expect(json_is_string(json_object_get(failure, "message")));
		}
		json_decref(reply);
		free(got);
	}
}

/* "To send several Request objects at the same time"; "A Response object SHOULD exist for each Request
 * object, except that there SHOULD NOT be any Response objects for notifications"; "MUST NOT return an empty
 * Array" (6) */
Test(jsonrpc_spec, section_6_batches)
{
	unsigned served;
	char *got;

	expect_reply("[{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[1],\"id\":1},"
				 "{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[2],\"id\":1}]",
				 "[{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":1},{\"jsonrpc\":\"2.0\",\"result\":2,\"id\":1}]");
	expect_reply("[{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[1],\"id\":1}]",
				 "[{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":1}]");
	expect_reply("[{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"params\":[1],\"id\":null}]",
				 "[{\"jsonrpc\":\"2.0\",\"result\":1,\"id\":null}]");
	expect_reply("[[{\"jsonrpc\":\"2.0\",\"method\":\"sum\",\"id\":1}]]", "[" INVALID("null") "]");
	expect_reply("[[]]", "[" INVALID("null") "]");
	expect_reply("[{}]", "[" INVALID("null") "]");
	expect_reply("[null,{\"jsonrpc\":\"2.0\",\"method\":\"update\"}]", "[" INVALID("null") "]");
	expect_reply("[{\"jsonrpc\":\"2.0\",\"method\":\"no\"}]", NULL);
	got =
		ask("[{\"jsonrpc\":\"2.0\",\"method\":\"update\"},{\"jsonrpc\":\"2.0\",\"method\":\"no\"}]", &served);
	cr_expect_eq(served, 2, "a notification is served all the same");
	free(got);
}

/* "The error codes from and including -32768 to -32000 are reserved for pre-defined errors." "The remainder
 * of the space is available for application defined errors." (5.1) */
Test(jsonrpc_spec, section_5_1_codes)
{
	cr_expect_eq(wet_err_wire(WET_ERR_PARSE), -32700);
	cr_expect_eq(wet_err_wire(WET_ERR_REQUEST), -32600);
	cr_expect_eq(wet_err_wire(WET_ERR_METHOD), -32601);
	cr_expect_eq(wet_err_wire(WET_ERR_PARAMS), -32602);
	cr_expect_eq(wet_err_wire(WET_ERR_INTERNAL), -32603);
	for (int err = 1; err < WET_ERR_N; err++) {
		int code = wet_err_wire(err);

		if (err > WET_ERR_INTERNAL)
			cr_expect(code < -32768 || code > -32000, "%s has the reserved code %d", wet_err_name(err), code);
		for (int other = err + 1; other < WET_ERR_N; other++)
			cr_expect_neq(code, wet_err_wire(other), "%s and %s", wet_err_name(err), wet_err_name(other));
	}
}
