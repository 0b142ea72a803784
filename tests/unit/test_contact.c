/* test_contact.c: presses out of the edges of a foot switch: bounces are part of a press, taps are presses, chatter is told
 * once and is deaf until it is quiet. */
#include "host/contact.h"

#include "base/random.h"

#include <criterion/criterion.h>

#define MS 1000000LL
#define T0 1000000000000LL

static struct contact c;

static enum contact_verdict down(int64_t at_ms)
{
	return contact_edge(&c, true, T0 + at_ms * MS);
}

static enum contact_verdict up(int64_t at_ms)
{
	return contact_edge(&c, false, T0 + at_ms * MS);
}

Test(contact, a_press_that_bounces_is_one)
{
	cr_expect_eq(down(0), CONTACT_PRESS);
	for (int ms = 1; ms < 9; ms++) {
		cr_expect_eq(up(ms), CONTACT_NOTHING);
		cr_expect_eq(down(ms), CONTACT_NOTHING);
	}
	cr_expect_eq(up(1500), CONTACT_NOTHING);
	/* It bounces when it is let go, too. */
	cr_expect_eq(down(1502), CONTACT_NOTHING);
	cr_expect_eq(up(1504), CONTACT_NOTHING);
	cr_expect_eq(down(1600), CONTACT_PRESS);
}

Test(contact, three_taps_are_three)
{
	for (int i = 0; i < 3; i++) {
		cr_expect_eq(down(i * 180), CONTACT_PRESS);
		cr_expect_eq(up(i * 180 + 80), CONTACT_NOTHING);
	}
}

Test(contact, a_thousand_in_a_burst_are_one)
{
	int presses = 0;
	for (int i = 0; i < 1000; i++)
		presses += contact_edge(&c, i % 2 == 0, T0 + i * 1000LL) == CONTACT_PRESS;
	cr_expect_eq(presses, 1);
}

Test(contact, chatter_is_told_once_and_deaf_until_quiet)
{
	int presses = 0, told = 0, at = 0;
	for (int i = 0; i < 200; i++, at += 50) {
		enum contact_verdict v = down(at);
		presses += v == CONTACT_PRESS;
		told += v == CONTACT_CHATTER;
		(void)up(at + 2);
	}
	cr_expect_eq(presses, WET_CHATTER_PRESSES);
	cr_expect_eq(told, 1);
	cr_expect_eq(down(at + 1900), CONTACT_NOTHING, "not quiet for long enough");
	cr_expect_eq(down(at + 4000), CONTACT_PRESS);
	cr_expect_eq(down(at + 4200), CONTACT_PRESS);
}

/* Whatever comes: never two presses within the bounce, never more than a foot can do. */
Test(contact, laws_of_any_edges)
{
	struct wet_random random;
	static int64_t presses[100000];
	int count = 0;
	int64_t now = T0;
	wet_random_seed(&random, 7);
	for (int i = 0; i < 100000; i++) {
		now += (int64_t)wet_random_below(&random, wet_random_below(&random, 3) ? 60 * MS : 3000 * MS);
		if (contact_edge(&c, wet_random_below(&random, 2) == 0, now) == CONTACT_PRESS)
			presses[count++] = now;
	}
	cr_assert_gt(count, 1000);
	for (int i = 1; i < count; i++)
		cr_assert_geq(presses[i] - presses[i - 1], WET_BOUNCE_NS);
	for (int i = WET_CHATTER_PRESSES; i < count; i++)
		cr_assert_geq(presses[i] - presses[i - WET_CHATTER_PRESSES], WET_CHATTER_NS);
}
