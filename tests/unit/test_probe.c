/* test_probe.c: what a probe's file says, and whether it is believed. The form of the files is that of the Linux kernel,
 * Documentation/hwmon/sysfs-interface.rst and Documentation/w1/slaves/w1_therm.rst; the check sums of the two-line examples are
 * right (the one-wire polynomial x^8 + x^5 + x^4 + 1), and their first two bytes are sixteenths of a degree. */
#include "wetside/probe.h"

#include "base/random.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#define S 1000000000LL
#define MIN (60 * S)

static enum wet_probe_fault parse(const char *text, int32_t *ret_mc)
{
	return wet_probe_parse(text, strlen(text), ret_mc);
}

Test(probe, one_line)
{
	static const struct {
		const char *text;
		int32_t mc;
	} rows[] = {
		{ "19437\n", 19437 },	  { "20000", 20000 },	   { "-1250\n", -1250 }, { "0\n", 0 },	   { "-0\n", 0 },
		{ "+20500\r\n", 20500 }, { "  20500 \t\r\n\n", 20500 }, { "000020000\n", 0 }, { "85000\n", 85000 }, { "9999999\n", 9999999 },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int32_t mc = 77;
		bool is_long = strspn(rows[i].text, "0123456789") > 7;
		cr_expect_eq(parse(rows[i].text, &mc), is_long ? WET_PROBE_GARBAGE : WET_PROBE_NONE, "%s", rows[i].text);
		cr_expect_eq(mc, is_long ? 77 : rows[i].mc, "%s", rows[i].text);
	}
}

Test(probe, two_lines)
{
	int32_t mc = 77;
	cr_expect_eq(parse("b9 01 4b 46 7f ff 0c 10 f2 : crc=f2 YES\nb9 01 4b 46 7f ff 0c 10 f2 t=27562\n", &mc), WET_PROBE_NONE);
	cr_expect_eq(mc, 27562);
	cr_expect_eq(parse("b9 01 4b 46 7f ff 0c 10 f2 : crc=f2 YES\r\nb9 01 4b 46 7f ff 0c 10 f2 t=27562\r\n", &mc), WET_PROBE_NONE);
	cr_expect_eq(parse("58 ff 4b 46 7f ff 08 10 c2 : crc=c2 YES\n58 ff 4b 46 7f ff 08 10 c2 t=-10500\n", &mc), WET_PROBE_NONE);
	cr_expect_eq(mc, -10500);
	mc = 77;
	cr_expect_eq(parse("ff ff ff ff ff ff ff ff ff : crc=c9 NO\nb9 01 4b 46 7f ff 0c 10 f2 t=27562\n", &mc), WET_PROBE_CHECKSUM);
	cr_expect_eq(mc, 77);
}

Test(probe, garbage)
{
	static const char *const rows[] = {
		"", "\n", "   ", "-", "+", "--5", "20.5", "20,5", "0x4b00", "1e4", "20 C", "20000 20000", "20000\n20000\n", "nan", "99999999",
		"-99999999", "9223372036854775808", "t=20000", "YES\nt=20000", "a : YES\nt=", "a : YES\nt=2x", "a : MAYBE\nt=20000",
		"a : YES\n20000", "a : YES\nt=20000\nt=20000", "a YES\nt=20000", "a : YES", "20000;", "\xef\xbb\xbf" "20000",
		"-\n", "<html>",
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int32_t mc = 77;
		cr_expect_eq(parse(rows[i], &mc), WET_PROBE_GARBAGE, "%s", rows[i]);
		cr_expect_eq(mc, 77);
	}
	char zeros[WET_PROBE_FILE_BYTES + 1] = { 0 };
	int32_t mc;
	cr_expect_eq(wet_probe_parse(zeros, sizeof zeros, &mc), WET_PROBE_GARBAGE);
	memset(zeros, ' ', sizeof zeros);
	memcpy(zeros, "20000", 5);
	cr_expect_eq(wet_probe_parse(zeros, WET_PROBE_FILE_BYTES, &mc), WET_PROBE_NONE);
	cr_expect_eq(wet_probe_parse(zeros, sizeof zeros, &mc), WET_PROBE_GARBAGE, "longer than any");
	cr_expect_eq(wet_probe_parse("20000\0", 6, &mc), WET_PROBE_GARBAGE, "a NUL");
}

/* -- belief ------------------------------------------------------------------------ */

static struct wet_probe p;
static int64_t now = 1000 * S;

static bool take(int32_t mc, int64_t after_ns)
{
	now += after_ns;
	return wet_probe_take(&p, mc, now);
}

static void believed(int32_t mc)
{
	wet_probe_init(&p, false);
	(void)take(mc, 10 * S);
	cr_assert(take(mc, 10 * S));
}

Test(probe, the_first_value_is_repeated)
{
	wet_probe_init(&p, false);
	cr_expect_not(take(19500, 10 * S));
	cr_expect_not(p.has_value);
	cr_expect_not(p.is_telling);
	cr_expect(wet_probe_is_doubted(&p));
	cr_expect(take(19600, 5 * S));
	cr_expect_eq(p.value_mc, 19600);
	cr_expect_eq(p.fault, WET_PROBE_NONE);
	cr_expect_not(wet_probe_is_doubted(&p));
	/* Two that differ are not a repetition. */
	wet_probe_init(&p, false);
	cr_expect_not(take(15000, 10 * S));
	cr_expect_not(take(19600, 5 * S));
	cr_expect(take(19600, 5 * S));
}

Test(probe, range)
{
	believed(20000);
	for (int i = 0; i < WET_PROBE_FAIL_READS; i++) {
		cr_expect_not(p.is_telling);
		cr_expect_not(take(85000, 10 * S)); /* what some sensors show before they have measured */
		cr_expect_eq(p.fault, WET_PROBE_RANGE);
	}
	cr_expect(p.is_telling);
	cr_expect_eq(p.value_mc, 20000);
	cr_expect_not(take(-1, 10 * S));
	cr_expect(take(20100, 10 * S));
	wet_probe_init(&p, true);
	cr_expect_not(take(-5000, 10 * S));
	cr_expect(take(-5000, 10 * S), "a cold room is one");
}

Test(probe, a_jump_is_believed_when_it_holds)
{
	believed(20000);
	cr_expect(take(20900, 10 * S), "so fast a bath can be");
	cr_expect_not(take(24000, 10 * S));
	cr_expect_eq(p.fault, WET_PROBE_JUMP);
	cr_expect(p.is_telling);
	cr_expect_eq(p.value_mc, 20900);
	cr_expect_not(take(24100, 10 * S));
	cr_expect(take(24050, 10 * S));
	cr_expect_eq(p.value_mc, 24050);
	/* Its coming back is not told before it has been quiet. */
	cr_expect(p.is_telling);
	cr_expect(take(24000, 10 * S));
	cr_expect(take(24000, 10 * S));
	cr_expect_not(p.is_telling);
	cr_expect_eq(p.fault, WET_PROBE_NONE);
}

/* One that goes to and fro is told once, not at each turn. */
Test(probe, jumping_to_and_fro)
{
	int turns = 0;
	believed(20000);
	for (int i = 0; i < 100; i++) {
		bool was = p.is_telling;
		(void)take(i % 2 ? 20000 : 28000, 10 * S);
		turns += p.is_telling != was;
	}
	cr_expect_eq(turns, 1);
	cr_expect_eq(p.value_mc, 20000);
}

Test(probe, a_slow_drift_is_no_jump)
{
	believed(20000);
	for (int32_t mc = 20000; mc > 12000; mc -= 60)
		cr_assert(take(mc, 10 * S));
	/* After an hour in which it was not read, any bath is possible. */
	cr_expect(take(30000, 61 * MIN));
}

Test(probe, failures_are_told_when_they_repeat)
{
	believed(20000);
	wet_probe_fail(&p, WET_PROBE_CHECKSUM);
	cr_expect(wet_probe_is_doubted(&p));
	cr_expect_not(p.is_telling);
	cr_expect(take(20000, 10 * S));
	cr_expect_eq(p.fault, WET_PROBE_NONE);
	for (int i = 0; i < WET_PROBE_FAIL_READS; i++)
		wet_probe_fail(&p, WET_PROBE_ABSENT);
	cr_expect(p.is_telling);
	cr_expect_not(wet_probe_is_doubted(&p), "no more hurry");
	for (int i = 0; i < WET_PROBE_BACK_READS; i++) {
		cr_expect(p.is_telling);
		cr_expect(take(20000, 10 * S));
	}
	cr_expect_not(p.is_telling);
}

Test(probe, stuck)
{
	believed(20125);
	int64_t begin = now;
	while (now + 10 * S - begin < WET_PROBE_STUCK_NS)
		cr_assert(take(20125, 10 * S));
	cr_expect_eq(p.fault, WET_PROBE_NONE);
	cr_expect_not(take(20125, 10 * S));
	cr_expect_eq(p.fault, WET_PROBE_STUCK);
	cr_expect(p.is_telling);
	cr_expect(take(20187, 10 * S), "it lives");
	/* One that shows whole degrees stands still for long, and so does one that was not read. */
	believed(20000);
	for (int i = 0; i < 60; i++)
		cr_assert(take(20000, MIN));
	believed(20125);
	cr_expect(take(20125, 40 * MIN));
}

/* Whatever it shows: what is believed is within the range, and two values that are both believed one after the other are either
 * near each other or the second was repeated. */
Test(probe, laws_of_any_values)
{
	struct wet_random random;
	wet_random_seed(&random, 11);
	int count = 0;
	for (int run = 0; run < 200; run++) {
		int32_t before = 0, last = INT32_MIN;
		wet_probe_init(&p, false);
		for (int i = 0; i < 200; i++) {
			int32_t mc = (int32_t)wet_random_below(&random, 2) ? 20000 + (int32_t)wet_random_below(&random, 800)
															  : (int32_t)wet_random_below(&random, 140000) - 55000;
			if (wet_random_below(&random, 10) == 0)
				wet_probe_fail(&p, WET_PROBE_CHECKSUM);
			else if (take(mc, 10 * S)) {
				cr_assert(mc >= WET_PROBE_BATH_MC_MIN && mc <= WET_PROBE_BATH_MC_MAX);
				cr_assert_eq(p.value_mc, mc);
				if (last != INT32_MIN && abs(mc - last) > WET_PROBE_NOISE_MC + 30 * WET_PROBE_RATE_MC_PER_MIN)
					cr_assert_leq(abs(mc - before), 3000);
				last = mc;
				count++;
			}
			before = mc;
		}
	}
	cr_expect_gt(count, 5000);
}
