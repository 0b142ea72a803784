/* fuzz_rpc.c: any bytes to the wire, in any pieces, with a client that reads when it likes.
 *
 * The input is what a client sends. How it is cut and when the output is read follows from the bytes
 * themselves, so a file is a whole case. Demanded: every line that comes out is JSON-RPC; nothing passes its
 * limit; what is parsed is written and parsed again to the same value; all is served in the end. */
#include "wire/rpc.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

#define HELD 256

struct client {
	int64_t now_ns;
	wet_rpc_ticket held[HELD];
	size_t held_n;
};

/* Not assert: that can be compiled out. */
static void demand(int claim, const char *what)
{
	if (!claim) {
		fprintf(stderr, "not true: %s\n", what);
		abort();
	}
}

static int64_t client_now(void *ctx)
{
	return ((struct client *)ctx)->now_ns;
}

static void client_request(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method,
						   json_t *params)
{
	struct client *c = ctx;
	struct wet_fault fault = { .err = WET_ERR_INVALID, .where = "method", .want = "a short one" };

	demand(!params || json_is_object(params) || json_is_array(params), "params are structured");
	snprintf(fault.found, sizeof fault.found, "%s", method); /* may be cut inside a character */
	switch (strlen(method) % 4) {
	case 0: wet_rpc_result(rpc, ticket, params ? json_incref(params) : json_null()); break;
	case 1: wet_rpc_fault(rpc, ticket, &fault); break;
	case 2:
		if (c->held_n < HELD && ticket != 0) {
			c->held[c->held_n++] = ticket;
			break;
		}
		wet_rpc_error(rpc, ticket, 1, method, NULL);
		break;
	default: wet_rpc_error(rpc, ticket, 1, method, json_string(method));
	}
}

static void check_reply(const json_t *reply)
{
	const json_t *error = json_object_get(reply, "error");

	demand(json_is_object(reply), "a reply is an object");
	demand(json_is_string(json_object_get(reply, "jsonrpc")), "a reply says jsonrpc");
	demand(json_object_get(reply, "id") != NULL, "a reply has an id");
	demand((error != NULL) != (json_object_get(reply, "result") != NULL), "a result or an error");
	demand(!error || json_is_integer(json_object_get(error, "code")), "an error has a code");
	demand(!error || json_is_string(json_object_get(error, "message")), "an error has a message");
}

/* A batch around a reply around params: deeper than a request. */
static void check_line(const char *line, size_t n)
{
	json_t *json = NULL, *reply;
	size_t i;

	demand(n + 1 <= WET_REPLY_BYTES, "a line fits");
	demand(wet_json_parse(line, n, WET_JSON_DEPTH + 2, &json, NULL) == 0, "a line is JSON");
	if (json_is_array(json)) {
		demand(json_array_size(json) > 0, "no empty batch");
		json_array_foreach(json, i, reply) check_reply(reply);
	} else {
		check_reply(json);
	}
	json_decref(json);
}

/* Whole lines only: answers are written at once. */
static void read_all(struct wet_rpc *rpc)
{
	const char *bytes = NULL;
	size_t n = wet_rpc_pending(rpc, &bytes), at = 0;

	demand(n <= WET_OUT_HARD_BYTES, "the output is bounded");
	while (at < n) {
		const char *end = memchr(bytes + at, '\n', n - at);

		demand(end != NULL, "output ends with a line");
		check_line(bytes + at, (size_t)(end - bytes) - at);
		at = (size_t)(end - bytes) + 1;
	}
	wet_rpc_sent(rpc, n);
}

static void answer_held(struct client *c, struct wet_rpc *rpc)
{
	while (c->held_n > 0) {
		c->held_n--;
		wet_rpc_result(rpc, c->held[c->held_n], json_integer((json_int_t)c->held_n));
	}
}

static void check_json(const uint8_t *bytes, size_t n)
{
	json_t *json = NULL, *back = NULL;
	struct wet_fault fault = { 0 };
	char *text = NULL;
	size_t text_n = 0;
	int rc = wet_json_parse((const char *)bytes, n, WET_JSON_DEPTH, &json, &fault);

	if (rc != 0) {
		demand(json == NULL && fault.err == rc && fault.want[0] != '\0', "a refusal says why");
		return;
	}
	demand(wet_json_text(json, &text, &text_n) == 0, "what was parsed can be written");
	/* Escapes can make it longer than what is accepted; then only that it was written counts. */
	if (text_n <= WET_REPLY_BYTES) {
		demand(wet_json_parse(text, text_n, WET_JSON_DEPTH, &back, NULL) == 0, "and read back");
		demand(json_equal(json, back), "to the same value");
	}
	free(text);
	json_decref(json);
	json_decref(back);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
	struct client c = { .now_ns = 1 };
	struct wet_rpc_dispatch dispatch = { .request = client_request, .now_ns = client_now, .ctx = &c };
	struct wet_rpc *rpc = NULL;
	size_t at = 0;
	int rc = 0;

	check_json(bytes, n);
	demand(wet_rpc_new(&rpc, &dispatch, NULL) == 0, "a connection");
	while (at < n && rc == 0) {
		size_t piece = 1 + bytes[at] * (size_t)7 % 400;

		piece = piece < n - at ? piece : n - at;
		rc = wet_rpc_feed(rpc, (const char *)bytes + at, piece);
		at += piece;
		c.now_ns += 1000;
		(void)wet_rpc_serve(rpc, NULL, NULL);
		if (piece % 3 == 0)
			read_all(rpc);
		if (piece % 5 == 0)
			answer_held(&c, rpc);
		(void)wet_rpc_is_fit(rpc, c.now_ns, 0);
	}
	demand(rc == 0 || rc == WET_ERR_TOO_LONG, "feeding fails only for too long a line");
	read_all(rpc); /* past the soft limit nothing is served */
	for (int turns = 0; wet_rpc_has_work(rpc) || c.held_n > 0; turns++) {
		demand(turns < 100000, "serving ends");
		(void)wet_rpc_serve(rpc, NULL, NULL);
		answer_held(&c, rpc);
		read_all(rpc);
	}
	read_all(rpc);
	demand(rc != 0 || wet_rpc_wants_input(rpc), "all is served");
	wet_rpc_free(rpc);
	return 0;
}
