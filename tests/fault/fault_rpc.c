/* fault_rpc.c: every allocation of a scripted conversation fails, once and for ever.
 *
 * The wire and jansson share one allocator, so one counter reaches both. For N = 1, 2, ... the Nth allocation
 * fails; the loop ends at the first N that is never reached. Demanded each time:
 *   - each line that comes out is whole, and is either byte for byte that of the faultless run or an error
 * that says so (out of memory, or outcome unknown); nothing is altered silently;
 *   - each request has its answer, unless the connection says that it must be closed;
 *   - a request refused for lack of memory was not served;
 *   - the next request works, on this connection if it is fit and on a new one always;
 *   - nothing leaks. */
#include "wire/rpc.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define N_MAX 5000
#define OUT_BYTES (512 * 1024)
#define HELD 8
#define STEPS 10         /* lines of the script */
#define LATE STEPS       /* the step in which held requests are answered */
#define NEWS (STEPS + 1) /* the step of the notification */

/* -- the allocator ------------------------------------------------------------ */

static long allocation_n, fail_at, failed_n, live_n;
static bool is_persistent;

static void *take_block(size_t bytes)
{
	void *block;

	allocation_n++;
	if (fail_at > 0 && (allocation_n == fail_at || (is_persistent && allocation_n > fail_at))) {
		failed_n++;
		return NULL;
	}
	block = malloc(bytes > 0 ? bytes : 1);
	live_n += block != NULL;
	return block;
}

static void give_block(void *block)
{
	live_n -= block != NULL;
	free(block);
}

static void arm(long n, bool persistent)
{
	allocation_n = failed_n = 0;
	fail_at = n;
	is_persistent = persistent;
}

static void disarm(void)
{
	fail_at = 0;
}

/* -- the conversation ----------------------------------------------------------- */

struct talk {
	struct wet_rpc *rpc;
	int64_t now_ns;
	wet_rpc_ticket held[HELD];
	size_t held_n;
	unsigned served[8]; /* times the request with this number was served */
	char out[OUT_BYTES];
	size_t out_n;
	size_t from[NEWS + 2]; /* where the output of each step begins; the last is the end */
};

static const char *const script[STEPS] = {
	"{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":{\"volume_ul\":12345678901234567,\"name\":"
	"\"a name well over "
	"sixteen bytes\",\"rate\":0.12345678901234567},\"id\":0}\n",
	"\r\n{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":[1,[2,{\"three\":"
	"[true,false,null,\"\\u00e9\"]}]],\"id\":\"1\"}\r\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"note\",\"params\":[1]}\n",
	"[{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":2},{\"jsonrpc\":\"2.0\",\"method\":\"note\"},"
	"{\"jsonrpc\":\"2.0\",\"method\":\"fault\",\"id\":3},17,"
	"{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":2.5}]\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":7,\"id\":4}\n",
	"[]\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":{\"a\":1,\"a\":2},\"id\":5}\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"large\",\"params\":[18],\"id\":6}\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"unknown\",\"id\":7}\n",
};

static int64_t talk_now(void *ctx)
{
	return ((struct talk *)ctx)->now_ns;
}

static void talk_request(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method,
						 json_t *params)
{
	static const struct wet_fault fault = {
		.err = WET_ERR_RANGE, .where = "aim", .found = "99 C", .want = "from 5 C to 40 C"
	};
	struct talk *t = ctx;

	if (strcmp(method, "echo") == 0) {
		t->served[json_is_array(params) ? 1 : 0]++;
		wet_rpc_result(rpc, ticket, params ? json_incref(params) : json_null());
	} else if (strcmp(method, "hold") == 0) {
		t->held[t->held_n++] = ticket;
	} else if (strcmp(method, "fault") == 0) {
		wet_rpc_fault(rpc, ticket, &fault);
	} else if (strcmp(method, "large") == 0) {
		json_t *list = json_array();
		char text[1000];

		memset(text, 'l', sizeof text);
		for (json_int_t i = 0; list && i < json_integer_value(json_array_get(params, 0)); i++)
			if (json_array_append_new(list, json_stringn(text, sizeof text)) != 0) {
				json_decref(list);
				list = NULL;
			}
		wet_rpc_result(rpc, ticket, list);
	} else if (strcmp(method, "note") != 0) {
		wet_rpc_error(rpc, ticket, -32601, "Method not found", json_pack("{s:s}", "method", method));
	}
}

static void collect(struct talk *t)
{
	const char *bytes = NULL;
	size_t n = wet_rpc_pending(t->rpc, &bytes);

	if (n > OUT_BYTES - t->out_n)
		n = OUT_BYTES - t->out_n;
	memcpy(t->out + t->out_n, bytes, n);
	t->out_n += n;
	wet_rpc_sent(t->rpc, n);
}

static int open_talk(struct talk *t)
{
	struct wet_rpc_dispatch dispatch = { .request = talk_request, .now_ns = talk_now, .ctx = t };

	memset(t, 0, sizeof *t);
	return wet_rpc_new(&t->rpc, &dispatch, t);
}

/* In pieces of 100 bytes. True if the connection is still good. */
static bool send_line(struct talk *t, const char *line)
{
	size_t n = strlen(line);

	for (size_t at = 0; at < n; at += 100)
		if (wet_rpc_feed(t->rpc, line + at, n - at < 100 ? n - at : 100) != 0)
			return false;
	while (wet_rpc_serve(t->rpc, NULL, NULL))
		;
	collect(t);
	return wet_rpc_is_fit(t->rpc, t->now_ns, 0);
}

static bool hold_talk(struct talk *t)
{
	bool is_fit = true;

	for (size_t i = 0; i < STEPS; i++) {
		t->from[i] = t->out_n;
		is_fit = is_fit && send_line(t, script[i]);
	}
	t->from[LATE] = t->out_n;
	for (size_t i = 0; i < t->held_n; i++)
		wet_rpc_result(t->rpc, t->held[i], json_pack("{s:i}", "stored", (int)i));
	collect(t);
	t->from[NEWS] = t->out_n;
	(void)wet_rpc_notify(t->rpc, "changes.run", json_pack("{s:i,s:[i,i]}", "seq", 9, "stages", 1, 2));
	collect(t);
	t->from[NEWS + 1] = t->out_n;
	return is_fit && wet_rpc_is_fit(t->rpc, t->now_ns, 0);
}

/* -- the judgement --------------------------------------------------------------- */

static long failures;

#define DEMAND(claim, ...)                    \
	do {                                      \
		if (!(claim)) {                       \
			failures++;                       \
			printf("not true: %s: ", #claim); \
			printf(__VA_ARGS__);              \
			printf("\n");                     \
		}                                     \
	} while (0)

static bool is_honest_error(const json_t *reply)
{
	json_int_t code = json_integer_value(json_object_get(json_object_get(reply, "error"), "code"));

	return code == wet_err_wire(WET_ERR_NOMEM) || code == wet_err_wire(WET_ERR_UNKNOWN);
}

/* Without its data, which memory may have cost. */
static bool is_same_but_for_data(const json_t *reply, const json_t *good)
{
	const json_t *error = json_object_get(reply, "error"), *good_error = json_object_get(good, "error");

	return error && json_equal(json_object_get(reply, "id"), json_object_get(good, "id")) &&
		   json_equal(json_object_get(error, "code"), json_object_get(good_error, "code")) &&
		   !json_object_get(error, "data");
}

static void judge_reply(const json_t *reply, const json_t *good, const char *line)
{
	if (json_equal(reply, good) || is_same_but_for_data(reply, good))
		return;
	DEMAND(is_honest_error(reply), "%s", line);
	DEMAND(json_is_null(json_object_get(reply, "id")) ||
			   json_equal(json_object_get(reply, "id"), json_object_get(good, "id")),
		   "another id: %s", line);
}

/* What came out in one step: nothing, or one line, parsed; ours. */
static json_t *step_output(const struct talk *t, size_t step, const char **ret_text, size_t *ret_n)
{
	const char *text = t->out + t->from[step];
	size_t n = t->from[step + 1] - t->from[step];
	json_t *json = NULL;

	*ret_text = text;
	*ret_n = n;
	if (n == 0)
		return NULL;
	DEMAND(memchr(text, '\n', n) == text + n - 1, "step %zu is not one whole line: %.*s", step, (int)n, text);
	DEMAND(wet_json_parse(text, n, 16, &json, NULL) == 0, "step %zu is malformed: %.*s", step, (int)n, text);
	return json;
}

/* One step of a run with faults against that of the good run. True if it was refused as a whole. */
static bool judge_step(const struct talk *t, const struct talk *good, size_t step, bool is_fit,
					   bool may_be_nothing)
{
	const char *text, *good_text;
	size_t n, good_n, i;
	json_t *got = step_output(t, step, &text, &n), *want = step_output(good, step, &good_text, &good_n), *one;
	bool is_refused = got && json_is_object(got) && is_honest_error(got);

	if (n == good_n && memcmp(text, good_text, n) == 0) {
		/* as it should be */
	} else if (!got) {
		DEMAND(!is_fit || may_be_nothing, "step %zu: no answer", step);
	} else if (!want || (is_refused && json_is_array(want))) {
		/* Refused unread: nobody could know that it was a notification, or a batch. */
		DEMAND(is_refused && json_is_null(json_object_get(got, "id")), "step %zu: %.*s", step, (int)n, text);
	} else if (json_is_array(got) && json_is_array(want)) {
		DEMAND(json_array_size(got) == json_array_size(want), "step %zu: %.*s", step, (int)n, text);
		json_array_foreach(got, i, one) judge_reply(one, json_array_get(want, i), text);
	} else {
		judge_reply(got, want, text);
	}
	json_decref(got);
	json_decref(want);
	return is_refused;
}

static void judge_lines(const struct talk *t, const struct talk *good, bool is_fit)
{
	bool is_batch_refused = false;

	for (size_t step = 0; step < STEPS; step++) {
		bool is_refused = judge_step(t, good, step, is_fit, false);

		if (strstr(script[step], "hold"))
			is_batch_refused = is_refused;
	}
	if (is_batch_refused)
		DEMAND(t->held_n == 0 && t->from[LATE] == t->from[NEWS], "a batch was refused and served");
	(void)judge_step(t, good, LATE, is_fit, is_batch_refused);
	(void)judge_step(t, good, NEWS, is_fit, true); /* the newest state is sent again */
}

static void demand_next_works(struct talk *t, const char *which)
{
	static const char line[] = "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"params\":[5],\"id\":99}\n";
	static const char answer[] = "{\"jsonrpc\":\"2.0\",\"result\":[5],\"id\":99}\n";

	t->out_n = 0;
	DEMAND(send_line(t, line), "%s is not fit", which);
	DEMAND(t->out_n == sizeof answer - 1 && memcmp(t->out, answer, t->out_n) == 0, "%s answers %.*s", which,
		   (int)t->out_n, t->out);
}

/* Refused before it was served, or served once: never both, never twice. */
static void judge_served(const struct talk *t)
{
	for (size_t i = 0; i < 2; i++) {
		const char *text;
		size_t n;
		json_t *got = step_output(t, i, &text, &n);
		bool is_refused = json_integer_value(json_object_get(json_object_get(got, "error"), "code")) ==
						  wet_err_wire(WET_ERR_NOMEM);

		DEMAND(t->served[i] + (is_refused ? 1u : 0u) <= 1, "request %zu was served %u times", i,
			   t->served[i]);
		json_decref(got);
	}
}

static long fail_each(bool persistent, const struct talk *good, struct talk *t, struct talk *fresh)
{
	long n, dead_n = 0, before = live_n;

	for (n = 1; n < N_MAX; n++) {
		bool is_fit = false;
		long failures_before = failures;

		arm(n, persistent);
		if (open_talk(t) == 0)
			is_fit = hold_talk(t);
		disarm();
		if (failed_n == 0) {
			DEMAND(is_fit && t->out_n == good->out_n && memcmp(t->out, good->out, t->out_n) == 0,
				   "a clean run");
			wet_rpc_free(t->rpc);
			break;
		}
		if (t->rpc) {
			judge_lines(t, good, is_fit);
			judge_served(t);
			if (is_fit)
				demand_next_works(t, "this connection");
			dead_n += !is_fit;
		}
		wet_rpc_free(t->rpc);
		DEMAND(live_n == before, "%ld blocks leaked", live_n - before);
		DEMAND(open_talk(fresh) == 0, "no new connection");
		demand_next_works(fresh, "a new connection");
		wet_rpc_free(fresh->rpc);
		if (failures > failures_before)
			printf("... with allocation %ld failing %s\n", n, persistent ? "for ever" : "once");
		if (failures > 20)
			break;
	}
	DEMAND(n < N_MAX, "no end after %d allocations", N_MAX);
	printf("%s: %ld allocations, each failed; %ld connections had to be closed\n",
		   persistent ? "for ever" : "once", n - 1, dead_n);
	if (!persistent)
		DEMAND(dead_n < n / 4, "one failed allocation closes too many connections");
	return n - 1;
}

int main(void)
{
	struct talk *good = malloc(sizeof *good), *t = malloc(sizeof *t), *fresh = malloc(sizeof *fresh);
	long once, always;

	if (!good || !t || !fresh)
		return 1;
	json_set_alloc_funcs(take_block, give_block);
	json_object_seed(1); /* jansson's own first allocation is none of the conversation's */
	if (open_talk(good) != 0 || !hold_talk(good))
		return 1;
	wet_rpc_free(good->rpc);
	once = fail_each(false, good, t, fresh);
	always = fail_each(true, good, t, fresh);
	DEMAND(once > 100 && always == once, "%ld and %ld points: the script is not what it was", once, always);
	DEMAND(live_n == 0, "%ld blocks leaked", live_n);
	free(good);
	free(t);
	free(fresh);
	return failures > 0;
}
