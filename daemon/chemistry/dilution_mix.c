/* dilution_mix.c: two strengths mixed to a third, and dilution in several steps. */
#include "chemistry/dilution_inside.h"

#include <stdbool.h>
#include <stddef.h>

static int64_t greatest_divisor(int64_t a, int64_t b)
{
	while (b != 0) {
		int64_t rest = a % b;
		a = b;
		b = rest;
	}
	return a;
}

int wet_criss_cross(int32_t high_milli, int32_t low_milli, int32_t want_milli, int32_t *ret_parts_high,
					int32_t *ret_parts_low, struct wet_fault *reterr)
{
	char high[24], low[24], want[24];
	if (low_milli < 0 || high_milli <= low_milli || high_milli > 200000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock", NULL,
							 "two different strengths, the stronger first");
	if (want_milli < low_milli || want_milli > high_milli || want_milli <= 0) {
		wet_print_percent(high_milli, high, sizeof high);
		wet_print_percent(low_milli, low, sizeof low);
		wet_print_percent(want_milli, want, sizeof want);
		return wet_fault_set(reterr, WET_ERR_REFUSED, "to", want,
							 "a strength from %s to %s: no mix of the two is %s", low, high, want);
	}
	int32_t parts_high = want_milli - low_milli, parts_low = high_milli - want_milli;
	int32_t divisor = (int32_t)greatest_divisor(parts_high, parts_low);
	*ret_parts_high = parts_high / divisor;
	*ret_parts_low = parts_low / divisor;
	return WET_OK;
}

int wet_mix_make(int32_t high_milli, int32_t low_milli, int32_t want_milli, int64_t total_ul,
				 struct wet_mix *ret_mix, struct wet_fault *reterr)
{
	int32_t a, b;
	int rc = wet_criss_cross(high_milli, low_milli, want_milli, &a, &b, reterr);
	if (rc == 0)
		rc = check_volume(total_ul, "make", reterr);
	if (rc != 0)
		return rc;
	int64_t high_ul = scale_volume(total_ul, a, a + b);
	if ((a > 0 && high_ul == 0) || (b > 0 && high_ul == total_ul))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "make", NULL,
							 "more: one of the two cannot be measured for so little");
	*ret_mix = (struct wet_mix){ high_ul, total_ul - high_ul, total_ul };
	return WET_OK;
}

int wet_mix_most(int32_t high_milli, int32_t low_milli, int32_t want_milli, int64_t have_high_ul,
				 int64_t have_low_ul, struct wet_mix *ret_mix, struct wet_fault *reterr)
{
	int32_t a, b;
	int64_t volumes[WET_PARTS];
	int rc = wet_criss_cross(high_milli, low_milli, want_milli, &a, &b, reterr);
	if (rc != 0)
		return rc;
	struct wet_parts parts = { 2, { a, b } };
	const int64_t have[WET_PARTS] = { have_high_ul, have_low_ul };
	if ((rc = wet_dilute_parts_most(&parts, have, volumes, reterr)) != 0)
		return rc;
	*ret_mix = (struct wet_mix){ volumes[0], volumes[1], volumes[0] + volumes[1] };
	return WET_OK;
}

int wet_mix_strength(const int32_t *strengths_milli, const int64_t *volumes_ul, uint32_t count,
					 int32_t *ret_strength_milli)
{
	wide solute = 0, volume = 0;
	if (count == 0 || count > 64)
		return WET_ERR_RANGE;
	for (uint32_t i = 0; i < count; i++) {
		if (strengths_milli[i] < 0 || volumes_ul[i] < 0 || volumes_ul[i] > VOLUME_UL_MAX)
			return WET_ERR_RANGE;
		solute += (wide)strengths_milli[i] * volumes_ul[i];
		volume += volumes_ul[i];
	}
	if (volume == 0)
		return WET_ERR_RANGE;
	*ret_strength_milli = (int32_t)((solute * 2 + volume) / (volume * 2));
	return WET_OK;
}

/* -- in several steps -------------------------------------------------------------- */

static struct wet_parts in_lowest_terms(int64_t a, int64_t b)
{
	/* In thousandths, so whole parts stay whole parts. */
	int64_t divisor = greatest_divisor(a, b);
	if (a % 1000 == 0 && b % 1000 == 0)
		return (struct wet_parts){ 2, { a / divisor * 1000, b / divisor * 1000 } };
	return (struct wet_parts){ 2, { a, b } };
}

int wet_series_chain(const struct wet_parts *ratios, uint32_t count, int64_t total_ul,
					 struct wet_series *ret_series, struct wet_fault *reterr)
{
	struct wet_series series = { .count = count };
	int64_t need_ul = total_ul;
	if (count == 0 || count > WET_SERIES)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "then", NULL, "at most %d steps", WET_SERIES);
	for (uint32_t i = count; i-- > 0;) {
		struct wet_dilution d;
		if (ratios[i].count != 2)
			return wet_fault_set(reterr, WET_ERR_INVALID, "then", NULL,
								 "steps of two parts, as in 1+3 and then 1+9");
		int rc = wet_dilute_make(ratios[i].milli[0], ratios[i].milli[1], need_ul, &d, reterr);
		if (rc != 0)
			return rc;
		series.steps[i] = (struct wet_series_step){ ratios[i], d.stock_ul, d.water_ul, d.total_ul, 0 };
		need_ul = d.stock_ul;
	}
	*ret_series = series;
	return WET_OK;
}

/* Adds a step in front. False: there are too many. */
static bool put_in_front(struct wet_series *series, struct wet_series_step step)
{
	if (series->count == WET_SERIES)
		return false;
	for (uint32_t i = series->count; i > 0; i--)
		series->steps[i] = series->steps[i - 1];
	series->steps[0] = step;
	series->count++;
	return true;
}

/* Backwards from the working solution. A draw that is too small is made larger by drawing from something
 * thinner: 1 in `parts`, the smallest whole number of parts that makes the draw large enough. The solution in
 * between is made in the least volume whose own draw can be measured, so the least is left over. */
int wet_series_measurable(int64_t a_milli, int64_t b_milli, int64_t total_ul, int64_t least_ul,
						  int64_t most_ul, struct wet_series *ret_series, struct wet_fault *reterr)
{
	struct wet_series series = { 0 };
	struct wet_dilution d;
	int rc = wet_dilute_make(a_milli, b_milli, total_ul, &d, NULL);
	if (rc != WET_ERR_REFUSED && rc != 0)
		return wet_dilute_make(a_milli, b_milli, total_ul, &d, reterr);
	if (least_ul <= 0 || most_ul < least_ul || total_ul < least_ul)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "make", NULL,
							 "a total that can be measured: the least is %lld.%03lld mL",
							 (long long)(least_ul / 1000), (long long)(least_ul % 1000));
	int64_t a = a_milli, whole = a_milli + b_milli, volume = total_ul, left = 0;
	while ((wide)volume * a < (wide)least_ul * whole) {
		wide thin = ((wide)least_ul * whole + (wide)volume * a - 1) / ((wide)volume * a);
		if (thin * a >= whole)
			break;
		int64_t parts = (int64_t)thin;
		int64_t draw = scale_volume(volume, parts * a, whole);
		struct wet_series_step step = { in_lowest_terms(parts * a, whole - parts * a), draw, volume - draw,
										volume, left };
		if (!put_in_front(&series, step))
			break;
		wide fit = (wide)least_ul * parts;
		volume = fit > most_ul ? most_ul : (int64_t)fit;
		if (volume < draw)
			break;
		left = volume - draw;
		a = 1000;
		whole = parts * 1000;
	}
	int64_t draw = scale_volume(volume, a, whole);
	struct wet_series_step first = { in_lowest_terms(a, whole - a), draw, volume - draw, volume, left };
	if ((wide)volume * a < (wide)least_ul * whole || !put_in_front(&series, first))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "make", NULL,
							 "a larger total or a finer graduate: no series of %d steps measures this",
							 WET_SERIES);
	*ret_series = series;
	return WET_OK;
}

int wet_series_ratio(const struct wet_series *series, struct wet_parts *ret_parts)
{
	wide a = 1, whole = 1;
	for (uint32_t i = 0; i < series->count; i++) {
		const int64_t *milli = series->steps[i].parts.milli;
		int64_t part = milli[0], all = milli[0] + milli[1], divisor = greatest_divisor(part, all);
		a *= part / divisor;
		whole *= all / divisor;
		if (a > INT64_MAX / 1000 || whole > INT64_MAX / 1000)
			return WET_ERR_RANGE;
		divisor = greatest_divisor((int64_t)a, (int64_t)whole);
		a /= divisor;
		whole /= divisor;
	}
	if (a * 1000 > 100000000 || (whole - a) * 1000 > 100000000)
		return WET_ERR_RANGE;
	*ret_parts = (struct wet_parts){ 2, { (int64_t)a * 1000, (int64_t)(whole - a) * 1000 } };
	return WET_OK;
}
