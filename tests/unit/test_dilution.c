/* Dilution in exact integers. */
#include "base/random.h"
#include "wetside/dilution.h"

#include <criterion/criterion.h>
#include <string.h>

__extension__ typedef __int128 wide;

static const struct wet_dilution untouched = { -1, -2, -3 };

static bool is_untouched(const struct wet_dilution *d)
{
	return d->stock_ul == -1 && d->water_ul == -2 && d->total_ul == -3;
}

Test(dilution, parts_always_sum_to_the_whole)
{
	struct wet_random r;
	wet_random_seed(&r, 1);
	for (int i = 0; i < 200000; i++) {
		int64_t a = wet_random_between(&r, 1, i % 2 ? 100000 : 100000000);
		int64_t b = wet_random_between(&r, 0, i % 3 ? 100000 : 100000000);
		int64_t total = wet_random_between(&r, 1, i % 5 ? 10000000 : 1000000000000000);
		struct wet_dilution d = untouched;
		int rc = wet_dilute_make(a, b, total, &d, NULL);
		if (rc != 0) {
			cr_assert_eq(rc, WET_ERR_REFUSED);
			cr_assert(is_untouched(&d));
			/* Refused only when the stock is under half a microlitre: total a / (a + b) < 1/2. */
			cr_assert((wide)total * a * 2 < (wide)a + b);
			continue;
		}
		cr_assert_eq(d.stock_ul + d.water_ul, total);
		cr_assert_eq(d.total_ul, total);
		cr_assert(d.stock_ul > 0 && d.water_ul >= 0);
		/* Rounded to the nearest: |stock (a + b) - total a| is at most half of (a + b). */
		wide off = (wide)d.stock_ul * (a + b) - (wide)total * a;
		cr_assert(2 * (off < 0 ? -off : off) <= (wide)a + b);
	}
}

Test(dilution, what_one_has_is_all_used)
{
	struct wet_random r;
	wet_random_seed(&r, 2);
	for (int i = 0; i < 100000; i++) {
		int64_t a = wet_random_between(&r, 1, 100000), b = wet_random_between(&r, 0, 1000000);
		int64_t stock = wet_random_between(&r, 1, 100000000);
		struct wet_dilution d = untouched;
		cr_assert_eq(wet_dilute_have(a, b, stock, &d, NULL), 0);
		cr_assert(d.stock_ul == stock && d.stock_ul + d.water_ul == d.total_ul);
		wide off = (wide)d.water_ul * a - (wide)stock * b;
		cr_assert(2 * (off < 0 ? -off : off) <= a);
	}
}

Test(dilution, making_what_one_has_gives_it_back)
{
	struct wet_random r;
	wet_random_seed(&r, 3);
	for (int i = 0; i < 50000; i++) {
		int64_t b = wet_random_between(&r, 0, 99) * 1000, stock = wet_random_between(&r, 1, 10000000);
		struct wet_dilution have, make;
		cr_assert_eq(wet_dilute_have(1000, b, stock, &have, NULL), 0);
		cr_assert_eq(wet_dilute_make(1000, b, have.total_ul, &make, NULL), 0);
		cr_assert(make.stock_ul == stock && make.water_ul == have.water_ul);
	}
}

Test(dilution, percent_is_parts_of_the_difference)
{
	for (int32_t stock = 500; stock <= 100000; stock += 4975)
		for (int32_t target = 100; target <= stock; target += 331) {
			struct wet_dilution p, q;
			cr_assert_eq(wet_dilute_percent_make(stock, target, 1200000, &p, NULL), 0);
			cr_assert_eq(wet_dilute_make(target, stock - target, 1200000, &q, NULL), 0);
			cr_assert_eq(memcmp(&p, &q, sizeof p), 0);
			/* C1 V1 = C2 V2 to half a microlitre of stock. */
			int64_t off = p.stock_ul * stock - 1200000LL * target;
			cr_assert_leq(2 * (off < 0 ? -off : off), stock);
			cr_assert_eq(wet_dilute_percent_have(stock, target, 250000, &p, NULL), 0);
			off = 250000LL * stock - p.total_ul * target;
			cr_assert_leq(2 * (off < 0 ? -off : off), target);
		}
	struct wet_dilution d;
	cr_assert_eq(wet_dilute_percent_make(28000, 28000, 500000, &d, NULL), 0);
	cr_assert(d.stock_ul == 500000 && d.water_ul == 0, "the same strength is the stock itself");
}

Test(dilution, what_cannot_be_is_refused_and_explained)
{
	struct wet_dilution d = untouched;
	struct wet_fault f;
	static const int64_t parts[][2] = {
		{ 0, 9000 }, { -1000, 9000 }, { 1000, -1 }, { 100000001, 1 }, { 1, 100000001 }
	};
	for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
		memset(&f, 0, sizeof f);
		cr_assert_eq(wet_dilute_make(parts[i][0], parts[i][1], 600000, &d, &f), WET_ERR_RANGE);
		cr_assert(f.err == WET_ERR_RANGE && f.want[0]);
		cr_assert_eq(wet_dilute_have(parts[i][0], parts[i][1], 600000, &d, &f), WET_ERR_RANGE);
	}
	static const int64_t volumes[] = { 0, -1, INT64_MIN, INT64_MAX, 1000000000000001 };
	for (size_t i = 0; i < sizeof volumes / sizeof volumes[0]; i++) {
		memset(&f, 0, sizeof f);
		cr_assert_eq(wet_dilute_make(1000, 9000, volumes[i], &d, &f), WET_ERR_RANGE);
		cr_assert(f.err == WET_ERR_RANGE && f.want[0]);
		cr_assert_eq(wet_dilute_have(1000, 9000, volumes[i], &d, &f), WET_ERR_RANGE);
	}
	cr_assert_eq(wet_dilute_have(1, 100000000, 1000000000000000, &d, &f), WET_ERR_RANGE,
				 "the whole is too much");
	cr_assert_eq(wet_dilute_have(1000, 1001, 1000000000000000, &d, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_dilute_make(1, 100000000, 1000, &d, &f), WET_ERR_REFUSED, "too little to measure");
	static const int32_t strengths[][2] = {
		{ 0, 1000 }, { -5, 1000 }, { 100001, 1000 }, { 28000, 0 }, { 28000, -1 }
	};
	for (size_t i = 0; i < sizeof strengths / sizeof strengths[0]; i++) {
		cr_assert_eq(wet_dilute_percent_make(strengths[i][0], strengths[i][1], 1000, &d, &f), WET_ERR_RANGE);
		cr_assert_eq(wet_dilute_percent_have(strengths[i][0], strengths[i][1], 1000, &d, &f), WET_ERR_RANGE);
	}
	cr_assert_eq(wet_dilute_percent_make(2000, 28000, 1000, &d, &f), WET_ERR_REFUSED);
	cr_assert(strstr(f.found, "28 %") && strstr(f.want, "2 %"), "both strengths: %s; %s", f.found, f.want);
	cr_assert_eq(wet_dilute_percent_have(2000, 2001, 1000, &d, &f), WET_ERR_REFUSED);
	cr_assert(is_untouched(&d));
}

Test(dilution, parts_of_more_than_two)
{
	struct wet_parts p = { 3, { 1000, 1000, 10000 } }, one = { 1, { 1000 } }, bare = { 3, { 1000, 1000, 0 } };
	int64_t v[WET_PARTS] = { -1, -1, -1 }, have[WET_PARTS] = { 45000, 60000, -1 };
	struct wet_fault f;
	cr_assert_eq(wet_dilute_parts_make(&one, 600000, v, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_dilute_parts_make(&p, 0, v, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_dilute_parts_make(&p, 1, v, &f), WET_ERR_REFUSED, "two of three parts would be nothing");
	cr_assert_eq(v[0], -1);
	cr_assert_eq(wet_dilute_parts_make(&p, 600000, v, &f), 0);
	cr_assert(v[0] == 50000 && v[1] == 50000 && v[2] == 500000);
	cr_assert_eq(wet_dilute_parts_make(&bare, 2, v, &f), 0, "no water is no fault");
	cr_assert(v[0] == 1 && v[1] == 1 && v[2] == 0);
	/* The one that runs out first decides. */
	cr_assert_eq(wet_dilute_parts_most(&p, have, v, &f), 0);
	cr_assert(v[0] == 45000 && v[1] == 45000 && v[2] == 450000);
	have[1] = 30000;
	cr_assert_eq(wet_dilute_parts_most(&p, have, v, &f), 0);
	cr_assert(v[0] == 30000 && v[1] == 30000 && v[2] == 300000);
	have[0] = have[1] = -1;
	cr_assert_eq(wet_dilute_parts_most(&p, have, v, &f), WET_ERR_RANGE, "nothing bounds it");
	have[0] = 0;
	cr_assert_eq(wet_dilute_parts_most(&p, have, v, &f), WET_ERR_RANGE);
	have[0] = 1000000000000000;
	cr_assert_eq(wet_dilute_parts_most(&p, have, v, &f), WET_ERR_RANGE, "the whole is too much");
	cr_assert_eq(v[0], 30000);
}
