/* Lines cut in every way, and clients that send or read badly: framing and the rules of the line, on virtual
 * time. */
#include "wire/rpc.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S(n) ((n)*1000000000LL)
#define ECHO "{\"jsonrpc\":\"2.0\",\"method\":\"echo\",\"id\":1}"
#define ECHOED "{\"jsonrpc\":\"2.0\",\"result\":\"echo\",\"id\":1}\n"

struct line {
	struct wet_rpc *rpc;
	int64_t now_ns;
	unsigned served;
	wet_rpc_ticket held;
};

static int64_t line_now(void *ctx)
{
	return ((struct line *)ctx)->now_ns;
}

static void line_request(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method,
						 json_t *params)
{
	struct line *l = ctx;

	(void)params;
	l->served++;
	if (strcmp(method, "hold") == 0)
		l->held = ticket;
	else
		wet_rpc_result(rpc, ticket, json_string(method));
}

static void open_line(struct line *l)
{
	struct wet_rpc_dispatch dispatch = { .request = line_request, .now_ns = line_now, .ctx = l };

	*l = (struct line){ .now_ns = S(50) };
	cr_assert_eq(wet_rpc_new(&l->rpc, &dispatch, l), 0);
}

static void serve_all(struct line *l)
{
	for (int i = 0; wet_rpc_serve(l->rpc, NULL, NULL); i++)
		cr_assert_lt(i, 100000);
}

static int feed(struct line *l, const char *text)
{
	return wet_rpc_feed(l->rpc, text, strlen(text));
}

static size_t pending(const struct line *l)
{
	const char *bytes;

	return wet_rpc_pending(l->rpc, &bytes);
}

static char *take(struct line *l)
{
	const char *bytes = NULL;
	size_t n = wet_rpc_pending(l->rpc, &bytes);
	char *text = malloc(n + 1);

	cr_assert(text);
	memcpy(text, bytes, n);
	text[n] = '\0';
	wet_rpc_sent(l->rpc, n);
	return text;
}

static void expect_taken(struct line *l, const char *what)
{
	char *got;

	serve_all(l);
	got = take(l);
	cr_expect_str_eq(got, what);
	free(got);
}

static int taken_code(struct line *l)
{
	char *got = take(l);
	json_t *json = NULL;
	int code = 0;

	if (wet_json_parse(got, strlen(got), 16, &json, NULL) == 0)
		code = (int)json_integer_value(json_object_get(json_object_get(json, "error"), "code"));
	json_decref(json);
	free(got);
	return code;
}

/* A notification so long that it fills n bytes of output. */
static void fill_out(struct line *l, size_t n)
{
	size_t text_n = n - strlen("{\"jsonrpc\":\"2.0\",\"method\":\"m\",\"params\":[\"\"]}\n");
	char *text = malloc(text_n);
	size_t before = pending(l);

	cr_assert(text);
	memset(text, 'y', text_n);
	cr_assert_eq(wet_rpc_notify(l->rpc, "m", json_pack("[s%]", text, text_n)), 0);
	cr_assert_eq(pending(l), before + n);
	free(text);
}

/* -- framing ---------------------------------------------------------------- */

Test(frame, a_line_may_be_cut_anywhere)
{
	static const char text[] = "\n  \r\n" ECHO "\r\n" ECHO "\n\n\t\n" ECHO "\n";
	struct line l;

	for (size_t cut = 0; cut < sizeof text; cut++) {
		open_line(&l);
		cr_assert_eq(wet_rpc_feed(l.rpc, text, cut), 0);
		if (cut % 2)
			serve_all(&l);
		cr_assert_eq(wet_rpc_feed(l.rpc, text + cut, sizeof text - 1 - cut), 0);
		expect_taken(&l, ECHOED ECHOED ECHOED);
		wet_rpc_free(l.rpc);
	}
	open_line(&l);
	for (size_t i = 0; i < sizeof text - 1; i++) {
		cr_assert_eq(wet_rpc_feed(l.rpc, text + i, 1), 0);
		serve_all(&l);
	}
	expect_taken(&l, ECHOED ECHOED ECHOED);
	wet_rpc_free(l.rpc);
}

Test(frame, the_end_of_a_line_is_no_part_of_what_was_wrong_in_it)
{
	static const char *const ends[] = { "\n", "\r\n" };
	struct line l;

	open_line(&l);
	for (size_t i = 0; i < 2; i++) {
		char *got;

		cr_assert_eq(feed(&l, "[1x"), 0);
		cr_assert_eq(feed(&l, ends[i]), 0);
		serve_all(&l);
		got = take(&l);
		cr_expect(strstr(got, "\"found\":\"x\""), "%s", got);
		free(got);
	}
	wet_rpc_free(l.rpc);
}

Test(frame, blank_lines_are_no_requests_however_many)
{
	struct line l;
	char *blanks = malloc(1 << 20);

	cr_assert(blanks);
	memset(blanks, '\n', 1 << 20);
	open_line(&l);
	cr_expect_eq(wet_rpc_feed(l.rpc, blanks, 1 << 20), 0);
	cr_expect_not(wet_rpc_has_work(l.rpc));
	cr_expect_eq(feed(&l, ECHO "\n"), 0);
	expect_taken(&l, ECHOED);
	wet_rpc_free(l.rpc);
	free(blanks);
}

Test(frame, a_line_begun_is_not_served)
{
	struct line l;

	open_line(&l);
	cr_assert_eq(feed(&l, ECHO), 0);
	cr_expect_not(wet_rpc_has_work(l.rpc));
	expect_taken(&l, "");
	cr_assert_eq(feed(&l, "\n"), 0);
	expect_taken(&l, ECHOED);
	wet_rpc_free(l.rpc);
}

/* A request padded with blanks to n bytes, then `end`. */
static char *padded(size_t n, const char *end)
{
	char *text = malloc(n + strlen(end) + 1);

	cr_assert(text);
	memset(text, ' ', n);
	memcpy(text, ECHO, strlen(ECHO));
	memcpy(text + n, end, strlen(end) + 1);
	return text;
}

Test(frame, a_line_of_exactly_the_limit_is_served_with_either_end)
{
	static const char *const ends[] = { "\n", "\r\n" };

	for (size_t i = 0; i < 2; i++) {
		for (size_t step = 1; step < 100000; step = step * 40 + 1) {
			char *text = padded(WET_REQUEST_BYTES, ends[i]);
			size_t n = strlen(text);
			struct line l;

			open_line(&l);
			for (size_t at = 0; at < n; at += step)
				cr_assert_eq(wet_rpc_feed(l.rpc, text + at, n - at < step ? n - at : step), 0);
			expect_taken(&l, ECHOED);
			wet_rpc_free(l.rpc);
			free(text);
		}
	}
}

Test(frame, an_overlong_line_is_answered_once_and_ends_the_connection)
{
	static const char *const ends[] = { "\n", "\r\n", "", "\r" };

	for (size_t i = 0; i < 4; i++) {
		for (size_t step = 1; step < 200000; step = step * 40 + 1) {
			char *text = padded(WET_REQUEST_BYTES + 1, ends[i]);
			size_t n = strlen(text), at = 0;
			struct line l;
			int rc = 0;

			open_line(&l);
			cr_assert_eq(feed(&l, ECHO "\n"), 0);
			for (; at < n && rc == 0; at += step)
				rc = wet_rpc_feed(l.rpc, text + at, n - at < step ? n - at : step);
			cr_assert_eq(rc, WET_ERR_TOO_LONG);
			cr_expect_eq(feed(&l, ECHO "\n"), WET_ERR_TOO_LONG, "nothing is taken after it");
			cr_expect_eq(taken_code(&l), wet_err_wire(WET_ERR_TOO_LONG));
			cr_expect(wet_rpc_is_fit(l.rpc, l.now_ns, 0), "the line before it is still served");
			cr_expect_not(wet_rpc_wants_input(l.rpc));
			serve_all(&l);
			cr_expect_eq(l.served, 1);
			cr_expect(wet_rpc_is_fit(l.rpc, l.now_ns, 0), "its answer is not out");
			free(take(&l));
			cr_expect(wet_rpc_is_fit(l.rpc, l.now_ns, 10), "the transport still holds bytes");
			cr_expect_not(wet_rpc_is_fit(l.rpc, l.now_ns, 0));
			wet_rpc_free(l.rpc);
			free(text);
		}
	}
}

Test(frame, the_goodbye_after_an_overlong_line_is_bounded)
{
	char *text = padded(WET_REQUEST_BYTES + 1, "\n");
	struct line l;

	open_line(&l);
	cr_assert_eq(feed(&l, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}\n"), 0);
	serve_all(&l);
	cr_assert_eq(feed(&l, text), WET_ERR_TOO_LONG);
	free(take(&l));
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), l.now_ns + WET_GOODBYE_NS);
	cr_expect(wet_rpc_is_fit(l.rpc, l.now_ns + WET_GOODBYE_NS - 1, 0), "an answer is owed");
	cr_expect_not(wet_rpc_is_fit(l.rpc, l.now_ns + WET_GOODBYE_NS, 0));
	wet_rpc_result(l.rpc, l.held, json_true());
	free(take(&l));
	cr_expect_not(wet_rpc_is_fit(l.rpc, l.now_ns, 0), "all said");
	wet_rpc_free(l.rpc);
	free(text);
}

Test(frame, a_flood_of_unserved_lines_is_bounded)
{
	struct line l;
	int rc = 0;
	size_t lines = 0;

	open_line(&l);
	while (rc == 0 && lines < 1000000) {
		rc = feed(&l, ECHO "\n");
		lines++;
	}
	cr_expect_eq(rc, WET_ERR_TOO_LONG);
	cr_expect_lt(lines * strlen(ECHO "\n"), WET_RPC_IN_BYTES + 100);
	cr_expect_eq(taken_code(&l), wet_err_wire(WET_ERR_TOO_MANY));
	wet_rpc_free(l.rpc);
}

/* -- slow readers ------------------------------------------------------------ */

Test(frame, the_soft_limit_may_be_passed_for_five_seconds)
{
	struct line l;
	int64_t crossed;

	open_line(&l);
	fill_out(&l, WET_OUT_SOFT_BYTES);
	cr_expect(wet_rpc_wants_more(l.rpc), "exactly the limit is not past it");
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), INT64_MAX);
	l.now_ns += S(1);
	crossed = l.now_ns;
	fill_out(&l, 100);
	cr_expect_not(wet_rpc_wants_more(l.rpc));
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), crossed + WET_OUT_SOFT_NS);
	l.now_ns += S(3);
	wet_rpc_sent(l.rpc, 99);
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), crossed + WET_OUT_SOFT_NS,
				 "a trickle does not restart the time");
	cr_expect(wet_rpc_is_fit(l.rpc, crossed + WET_OUT_SOFT_NS - 1, 0));
	cr_expect_not(wet_rpc_is_fit(l.rpc, crossed + WET_OUT_SOFT_NS, 0));
	wet_rpc_sent(l.rpc, 1);
	cr_expect(wet_rpc_wants_more(l.rpc));
	cr_expect(wet_rpc_is_fit(l.rpc, crossed + WET_OUT_SOFT_NS, 0), "it caught up");
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), INT64_MAX);
	wet_rpc_free(l.rpc);
}

Test(frame, bytes_the_transport_holds_count_for_the_soft_limit)
{
	struct line l;
	int64_t start;

	open_line(&l);
	start = l.now_ns;
	fill_out(&l, 200);
	cr_expect(wet_rpc_is_fit(l.rpc, start, WET_OUT_SOFT_BYTES));
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), start + WET_OUT_SOFT_NS);
	wet_rpc_sent(l.rpc, 200); /* handed over, not read: no new start */
	cr_expect(wet_rpc_is_fit(l.rpc, start + S(2), WET_OUT_SOFT_BYTES + 200));
	cr_expect_not(wet_rpc_is_fit(l.rpc, start + WET_OUT_SOFT_NS, WET_OUT_SOFT_BYTES + 200));
	cr_expect(wet_rpc_is_fit(l.rpc, start + WET_OUT_SOFT_NS, WET_OUT_SOFT_BYTES));
	wet_rpc_free(l.rpc);
}

Test(frame, the_hard_limit_is_the_end_at_once_and_for_good)
{
	struct line l;

	open_line(&l);
	fill_out(&l, 50000);
	cr_expect(wet_rpc_is_fit(l.rpc, l.now_ns, WET_OUT_HARD_BYTES - 50000));
	cr_expect_not(wet_rpc_is_fit(l.rpc, l.now_ns, WET_OUT_HARD_BYTES - 49999));
	cr_expect_not(wet_rpc_is_fit(l.rpc, l.now_ns, 0));
	cr_expect_neq(feed(&l, ECHO "\n"), 0);
	cr_expect_not(wet_rpc_has_work(l.rpc));
	cr_expect_not(wet_rpc_wants_input(l.rpc));
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), INT64_MAX);
	wet_rpc_free(l.rpc);
}

/* Late answers come whether or not the client reads: only they can cross the hard limit from inside. */
Test(frame, answers_nobody_reads_stop_at_the_hard_limit)
{
	struct line l;
	char *text = malloc(90000);
	wet_rpc_ticket held[4];

	cr_assert(text);
	memset(text, 'z', 90000);
	open_line(&l);
	for (int i = 0; i < 4; i++) {
		cr_assert_eq(feed(&l, "{\"jsonrpc\":\"2.0\",\"method\":\"hold\",\"id\":1}\n"), 0);
		serve_all(&l);
		held[i] = l.held;
	}
	for (int i = 0; i < 4; i++) {
		cr_expect_eq(wet_rpc_is_fit(l.rpc, l.now_ns, 0), i < 3, "after %d", i);
		wet_rpc_result(l.rpc, held[i], json_stringn(text, 90000));
		cr_expect_leq(pending(&l), WET_OUT_HARD_BYTES);
	}
	cr_expect_not(wet_rpc_is_fit(l.rpc, l.now_ns, 0));
	wet_rpc_free(l.rpc);
	free(text);
}

/* -- slow writers -------------------------------------------------------------- */

Test(frame, a_line_once_begun_is_complete_within_ten_seconds)
{
	struct line l;
	int64_t start;

	open_line(&l);
	cr_expect(wet_rpc_is_fit(l.rpc, l.now_ns + S(1000000), 0), "silence is no fault");
	l.now_ns += S(1000000);
	start = l.now_ns;
	cr_assert_eq(feed(&l, "{"), 0);
	for (int i = 1; i < 10; i++) {
		l.now_ns += S(1);
		cr_assert_eq(feed(&l, " "), 0);
		cr_expect_eq(wet_rpc_deadline_ns(l.rpc), start + WET_DRIP_NS, "each drip does not restart the time");
	}
	cr_expect(wet_rpc_is_fit(l.rpc, start + WET_DRIP_NS - 1, 0));
	cr_expect_not(wet_rpc_is_fit(l.rpc, start + WET_DRIP_NS, 0));
	cr_assert_eq(feed(&l, "}\n{"), 0);
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), INT64_MAX, "not while a line waits to be served");
	serve_all(&l);
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), l.now_ns + WET_DRIP_NS, "the next line is another line");
	wet_rpc_free(l.rpc);
}

Test(frame, time_in_which_we_do_not_read_is_not_held_against_the_writer)
{
	struct line l;

	open_line(&l);
	fill_out(&l, 40000);
	fill_out(&l, 40000);
	cr_assert_eq(feed(&l, "{\"half\":"), 0);
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), l.now_ns + WET_OUT_SOFT_NS, "only the soft limit counts");
	l.now_ns += S(4);
	free(take(&l));
	cr_expect_eq(wet_rpc_deadline_ns(l.rpc), l.now_ns + WET_DRIP_NS);
	wet_rpc_free(l.rpc);
}
