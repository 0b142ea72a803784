/* test_agitation.c: agitation as people say it. */
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <criterion/criterion.h>
#include <string.h>

#define S WET_NS_PER_S

Test(agitation, is_read_as_people_say_it)
{
	const struct {
		const char *text;
		bool is_continuous;
		int64_t opening_s, burst_s, every_s;
	} rows[] = {
		{ "30 s, then 10 s each minute", false, 30, 10, 60 },
		{ "30s,then 10s each minute", false, 30, 10, 60 },
		{ "30 s then 10 s every minute", false, 30, 10, 60 },
		{ "  1:00, then 0:05 each 30 s ", false, 60, 5, 30 },
		{ "1 min 30 s, then 10 s each 2 min", false, 90, 10, 120 },
		{ "10 s each minute", false, 0, 10, 60 },
		{ "5 s every 15 s", false, 0, 5, 15 },
		{ "30 s", false, 30, 0, 0 },
		{ "continuous", true, 0, 0, 0 },
		{ "none", false, 0, 0, 0 },
		{ "30 s, then 60 s each minute", false, 30, 60, 60 },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_agitation a;
		struct wet_fault fault = { 0 };
		cr_assert_eq(wet_parse_agitation(rows[i].text, &a, &fault), WET_OK, "%s: %s", rows[i].text,
					 fault.want);
		cr_expect_eq(a.is_continuous, rows[i].is_continuous, "%s", rows[i].text);
		cr_expect_eq(a.opening_ns, rows[i].opening_s * S, "%s", rows[i].text);
		cr_expect_eq(a.burst_ns, rows[i].burst_s * S, "%s", rows[i].text);
		cr_expect_eq(a.every_ns, rows[i].every_s * S, "%s", rows[i].text);
		cr_expect_str_empty(a.how);
	}
}

Test(agitation, what_is_wrong_is_refused_and_changes_nothing)
{
	const struct {
		const char *text;
		int err;
	} rows[] = {
		{ "", WET_ERR_INVALID },
		{ "gently", WET_ERR_INVALID },
		{ "30", WET_ERR_UNIT_MISSING },
		{ "30, then 10 each minute", WET_ERR_UNIT_MISSING },
		{ "30 s, then", WET_ERR_INVALID },
		{ "30 s, then 10 s", WET_ERR_INVALID },
		{ "then 10 s each minute", WET_ERR_INVALID },
		{ "30 s, then each minute", WET_ERR_INVALID },
		{ "10 s each", WET_ERR_INVALID },
		{ "10 s each hour", WET_ERR_INVALID },
		{ "10 s each minute each minute", WET_ERR_INVALID },
		{ "0 s", WET_ERR_RANGE },
		{ "30 s, then 0 s each minute", WET_ERR_RANGE },
		{ "10 s each 0 s", WET_ERR_RANGE },
		{ "61 s each minute", WET_ERR_RANGE },
		{ "2 h", WET_ERR_RANGE },
		{ "Continuous", WET_ERR_INVALID },
		{ "continuous, then 10 s each minute", WET_ERR_INVALID },
		{ "30 s, then 10 s each minute and then a very long tale about how the tank was turned by hand all "
		  "day",
		  WET_ERR_TOO_LONG },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_agitation a, before;
		struct wet_fault fault = { 0 };
		memset(&a, 0x5a, sizeof a);
		before = a;
		cr_expect_eq(wet_parse_agitation(rows[i].text, &a, &fault), rows[i].err, "%s: %s", rows[i].text,
					 wet_err_name(fault.err));
		cr_expect_eq(memcmp(&a, &before, sizeof a), 0, "%s", rows[i].text);
		cr_expect_str_not_empty(fault.want, "%s", rows[i].text);
		/* A caller without a fault gets the same answer. */
		cr_expect_eq(wet_parse_agitation(rows[i].text, &a, NULL), rows[i].err, "%s", rows[i].text);
	}
	struct wet_agitation a;
	cr_expect_eq(wet_parse_agitation(NULL, &a, NULL), WET_ERR_INVALID);
}

Test(agitation, what_is_printed_reads_back)
{
	const int64_t parts[] = { 0, 1, 5, 10, 30, 59, 60, 61, 90, 119, 120, 121, 600, 3599, 3600 };
	const size_t n = sizeof parts / sizeof parts[0];
	char text[64];
	int count = 0;
	for (size_t i = 0; i < n; i++) {
		for (size_t j = 0; j < n; j++) {
			for (size_t k = j; k < n; k++) {
				struct wet_agitation a = { 0 }, b;
				a.opening_ns = parts[i] * S;
				a.burst_ns = parts[j] * S;
				a.every_ns = parts[j] > 0 ? parts[k] * S : 0;
				wet_print_agitation(&a, text, sizeof text);
				cr_assert_eq(wet_parse_agitation(text, &b, NULL), WET_OK, "%s", text);
				cr_assert_eq(memcmp(&a, &b, sizeof a), 0, "%s", text);
				count++;
			}
		}
	}
	cr_expect_eq(count, 15 * 120);
	struct wet_agitation a = { .is_continuous = true };
	cr_expect_str_eq(wet_print_agitation(&a, text, sizeof text), "continuous");
	struct wet_agitation half = { .opening_ns = 1500 * WET_NS_PER_MS }, back;
	cr_assert_eq(wet_parse_agitation(wet_print_agitation(&half, text, sizeof text), &back, NULL), WET_OK,
				 "%s", text);
	cr_expect_eq(back.opening_ns, half.opening_ns);
	struct wet_agitation creek = { .opening_ns = 30 * S, .burst_ns = 10 * S, .every_ns = 60 * S };
	cr_expect_str_eq(wet_print_agitation(&creek, text, sizeof text), "30 s, then 10 s each minute");
	/* A buffer that is too short is cut, never overrun. */
	char small[8];
	wet_print_agitation(&creek, small, sizeof small);
	cr_expect_eq(strlen(small), 7);
}
