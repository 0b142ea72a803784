/* words_warmth.c: the sentences about temperature: as it was typed, how it goes on, and baths that are too far apart. */
#include "inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

/* "Keep all solutions at equal temperature", against reticulation: SMPE Transactions, Nov 1924, p. 46. How far apart is still
 * equal: 3 C, common practice, no source. */
#define APART_MC 3000
/* Between fixer and wash: "more than 15 F ... possible reticulation", US Air Force T.O. 33B-1-1, 6.7.10.1. */
#define APART_WASH_MC 8333

char *print_degrees(int32_t temperature_mc, bool is_fahrenheit, char *buf, unsigned buf_bytes)
{
	if (!is_fahrenheit)
		return wet_print_temperature(temperature_mc, buf, buf_bytes);
	int32_t tenths = wet_fahrenheit_mf(temperature_mc) / 100;
	const char *sign = tenths < 0 ? "-" : "";
	if (tenths % 10 == 0)
		return wet_text_format(buf, buf_bytes, "%s%d F", sign, abs(tenths / 10));
	return wet_text_format(buf, buf_bytes, "%s%d.%d F", sign, abs(tenths / 10), abs(tenths % 10));
}

/* A difference, rounded to a tenth. */
static char *print_difference(int32_t mc, bool is_fahrenheit, char *buf, unsigned buf_bytes)
{
	int64_t size = abs(mc);
	int tenths = (int)(((is_fahrenheit ? size * 9 / 5 : size) + 50) / 100);
	if (tenths % 10 == 0)
		return wet_text_format(buf, buf_bytes, "%d %s", tenths / 10, is_fahrenheit ? "F" : "C");
	return wet_text_format(buf, buf_bytes, "%d.%d %s", tenths / 10, tenths % 10, is_fahrenheit ? "F" : "C");
}

/* "Cooling 0.4 C a minute", "Warming 0.3 C in ten minutes", "Steady" */
void say_motion(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes)
{
	char by[24];
	int32_t rate = view->rate_mc_per_min;
	const char *way = rate < 0 ? "Cooling" : "Warming";
	if (abs(rate) >= 95)
		wet_text_format(buf, buf_bytes, "%s %s a minute", way, print_difference(rate, run->is_fahrenheit, by, sizeof by));
	else if (abs(rate) >= 10)
		wet_text_format(buf, buf_bytes, "%s %s in ten minutes", way,
						print_difference(rate * 10, run->is_fahrenheit, by, sizeof by));
	else
		wet_text_copy(buf, buf_bytes, "Steady");
}

/* "12 s", "1:45" */
static char *print_short(int64_t ns, char *buf, unsigned buf_bytes)
{
	int64_t s = (llabs(ns) + NS_PER_S / 2) / NS_PER_S;
	if (s < 100)
		return wet_text_format(buf, buf_bytes, "%d s", (int)s);
	return wet_print_duration(s * NS_PER_S, buf, buf_bytes);
}

/* "12 s later than at 20 C", or "as at 20 C". */
static void say_than(const struct wet_run *run, const struct wet_view *view, bool is_spoken, char *buf, unsigned buf_bytes)
{
	char by[48], at[24];
	print_degrees(view->reference_mc, run->is_fahrenheit, at, sizeof at);
	if (llabs(view->later_ns) < NS_PER_S / 2) {
		wet_text_format(buf, buf_bytes, "as at %s", at);
		return;
	}
	if (is_spoken)
		wet_print_seconds(llabs(view->later_ns), by, sizeof by);
	else
		print_short(view->later_ns, by, sizeof by);
	wet_text_format(buf, buf_bytes, "%s %s than at %s", by, view->later_ns > 0 ? "later" : "sooner", at);
}

void say_later(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes)
{
	char than[96];
	buf[0] = '\0';
	if (!view->is_compensated || llabs(view->later_ns) < NS_PER_S / 2)
		return;
	say_than(run, view, true, than, sizeof than);
	wet_text_format(buf, buf_bytes, ", %s", than);
}

void say_warmth(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes)
{
	char motion[64], than[96] = "", ends[112] = "";
	buf[0] = '\0';
	if (view->course == WET_COURSE_NONE)
		return;
	say_motion(run, view, motion, sizeof motion);
	if (view->is_compensated) {
		say_than(run, view, false, than, sizeof than);
		wet_text_format(ends, sizeof ends, "; ends %s", than);
	}
	switch (view->course) {
	case WET_COURSE_FITTED:
		wet_text_format(buf, buf_bytes, "%s%s; fitted from %u readings.", motion, ends, view->fit_readings);
		break;
	case WET_COURSE_VESSEL:
		wet_text_format(buf, buf_bytes, "%s%s; %s.", motion, ends,
						stage_vessel(run, run->pos.stage)->tau_error_ns > 0 ? "as this vessel was before" : "by the constant you told");
		break;
	default:
		wet_text_format(buf, buf_bytes, "Taken as constant%s; how it cools or warms is not known.", ends);
		break;
	}
}

void say_end(const struct wet_view *view, char *buf, unsigned buf_bytes)
{
	char end[32], band[32];
	wet_print_duration(view->aim_ns - view->begin_ns, end, sizeof end);
	wet_text_copy(buf, buf_bytes, end);
	if (view->band_ns > 0) {
		int64_t whole_ns = (view->band_ns + NS_PER_S - 1) / NS_PER_S * NS_PER_S;
		wet_text_append(buf, buf_bytes, " +/- %s", print_short(whole_ns, band, sizeof band));
	}
}

/* -- baths too far apart ---------------------------------------------------------------- */

static bool is_still_used(const struct wet_run *run, int bath, bool *ret_in_washer)
{
	const struct wet_recipe *r = run->setup.recipe;
	*ret_in_washer = true;
	bool is_used = false;
	for (int i = 0; i < r->stage_count; i++) {
		bool is_over = run->pos.base == WET_PHASE_ENDED || i < run->pos.stage;
		if (r->stages[i].bath != bath || is_over)
			continue;
		is_used = true;
		*ret_in_washer = *ret_in_washer && r->stages[i].in_washer;
	}
	return is_used;
}

/* How far bath a is from bath b beyond what is allowed; 0: not too far, or one of them isn't known or used any more. */
static int32_t apart_mc(const struct wet_run *run, int a, int b)
{
	bool washed_a, washed_b;
	if (run->before_mc[a] == INT32_MIN || run->before_mc[b] == INT32_MIN || !is_still_used(run, a, &washed_a) ||
		!is_still_used(run, b, &washed_b))
		return 0;
	int32_t most = washed_a || washed_b ? APART_WASH_MC : APART_MC, by = run->before_mc[a] - run->before_mc[b];
	return abs(by) > most ? by : 0;
}

static void say_pair(const struct wet_run *run, int a, int b, char *buf, unsigned buf_bytes)
{
	const struct wet_recipe *r = run->setup.recipe;
	char by[24], most[24], other[WET_NAME_BYTES];
	int32_t mc = apart_mc(run, a, b);
	bool washed_a, washed_b;
	(void)is_still_used(run, a, &washed_a);
	(void)is_still_used(run, b, &washed_b);
	wet_text_format(buf, buf_bytes, "%s is %s %s than %s: bring them within %s of each other, or the emulsion may wrinkle.",
					r->baths[a].name, print_difference(mc, run->is_fahrenheit, by, sizeof by), mc < 0 ? "colder" : "warmer",
					lower_first(r->baths[b].name, other, sizeof other),
					print_difference(washed_a || washed_b ? APART_WASH_MC : APART_MC, run->is_fahrenheit, most, sizeof most));
}

void say_apart(const struct wet_run *run, int bath, char *buf, unsigned buf_bytes)
{
	const struct wet_recipe *r = run->setup.recipe;
	int worst_a = -1, worst_b = -1;
	int32_t worst = 0;
	buf[0] = '\0';
	if (wet_recipe_is_mix(r) || run->setup.is_rehearsal)
		return;
	for (int a = 0; a < r->bath_count; a++)
		for (int b = 0; b < r->bath_count; b++) {
			/* Named first is the one just read; or else the later one, which is to come to the temperature of the earlier. */
			if (a == b || (bath >= 0 ? a != bath : a < b) || abs(apart_mc(run, a, b)) <= worst)
				continue;
			worst = abs(apart_mc(run, a, b));
			worst_a = a;
			worst_b = b;
		}
	if (worst > 0)
		say_pair(run, worst_a, worst_b, buf, buf_bytes);
}
