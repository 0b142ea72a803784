/* place.c: from readings to an exposure, its bracket, and what a person can count. */
#include "wetside/exposure.h"

#include "wetside/quantity.h"

#include <math.h>
#include <stddef.h>

#define TIME_S_MOST 3.6e6 /* 1000 h, as everywhere */

const char *wet_sense_name(enum wet_sense sense)
{
	static const char *const names[] = { "unsaid", "negative", "direct positive" };
	return names[sense];
}

/* -- placement --------------------------------------------------------------------------- */

static double placed_ev(const struct wet_exposure_ask *a, bool *ret_is_held_back)
{
	double middle = (a->bright_ev100 + a->shaded_ev100) / 2, limit;
	*ret_is_held_back = false;
	switch (a->place) {
	case WET_PLACE_MIDDLE: return middle;
	case WET_PLACE_BRIGHT: return a->bright_ev100 - a->place_stops;
	case WET_PLACE_SHADED: return a->shaded_ev100 + a->place_stops;
	case WET_PLACE_GOVERNED: break;
	}
	if (a->sense == WET_SENSE_DIRECT_POSITIVE) {
		limit = a->bright_ev100 - a->holds_stops;
		*ret_is_held_back = limit > middle;
		return fmax(middle, limit);
	}
	limit = a->shaded_ev100 + a->holds_stops;
	*ret_is_held_back = limit < middle && a->sense == WET_SENSE_NEGATIVE;
	return a->sense == WET_SENSE_NEGATIVE ? fmin(middle, limit) : middle;
}

/* What light of `stops` over the middle comes to when a flash fills up what the camera leaves out: the middle stays. */
static double flashed(double stops, double flash)
{
	return log2(exp2(stops) * (1 - flash) + flash);
}

static void fall(const struct wet_exposure_ask *a, struct wet_exposed *e)
{
	e->range_stops = a->bright_ev100 - a->shaded_ev100;
	e->bright_stops = a->bright_ev100 - e->ev100 + a->more_stops;
	e->shaded_stops = a->shaded_ev100 - e->ev100 + a->more_stops;
	if (a->flash_under_stops > 0) {
		double flash = exp2(-a->flash_under_stops);
		e->flash_less_stops = -log2(1 - flash);
		e->bright_stops = flashed(e->bright_stops, flash);
		e->shaded_stops = flashed(e->shaded_stops, flash);
	}
	e->flash_range_stops = e->bright_stops - e->shaded_stops;
	/* To the tenth that people judge by: just at the limit is within. */
	e->loses_bright = e->bright_stops > a->holds_stops + 0.05;
	e->loses_shaded = e->shaded_stops < -a->holds_stops - 0.05;
}

static int refuse(struct wet_fault *reterr, const char *where, const char *want)
{
	return wet_fault_set(reterr, WET_ERR_RANGE, where, NULL, "%s", want);
}

static int check(const struct wet_exposure_ask *a, struct wet_fault *reterr)
{
	if (!(a->f_number >= 0.5 && a->f_number <= 10000))
		return refuse(reterr, "aperture", "an aperture number from f/0.5 to f/10000");
	if (!(a->index >= 0.001 && a->index <= 1e6))
		return refuse(reterr, "paper_index", "an index from 0.001 to 1000000");
	if (!(fabs(a->bright_ev100) <= 30 && fabs(a->shaded_ev100) <= 30))
		return refuse(reterr, "reading", "light from EV -30 to 30 at ISO 100");
	if (a->shaded_ev100 > a->bright_ev100)
		return refuse(reterr, "shaded", "a shaded reading of less light than the bright one");
	if (a->place == WET_PLACE_GOVERNED && a->sense == WET_SENSE_UNSAID && a->shaded_ev100 < a->bright_ev100)
		return refuse(reterr, "sense", "which paper: for a direct positive the bright reading governs, for a negative the "
									   "shaded one");
	if (!(a->holds_stops > 0 && a->holds_stops <= 10))
		return refuse(reterr, "holds", "over 0 to 10 stops on each side of the middle");
	if (!(fabs(a->more_stops) <= 20 && fabs(a->place_stops) <= 20))
		return refuse(reterr, "more", "within 20 stops");
	if (!(a->filter_stops >= 0 && a->filter_stops <= 20 && a->bellows_stops >= 0 && a->bellows_stops <= 20))
		return refuse(reterr, "filter", "from 0 to 20 stops");
	if (a->flash_under_stops != 0 && !(a->flash_under_stops >= 1 && a->flash_under_stops <= 10))
		return refuse(reterr, "flash", "from 1 to 10 stops under the middle; a stronger one is half of the picture");
	return WET_OK;
}

int wet_expose(const struct wet_exposure_ask *ask, struct wet_exposed *ret_exposure, struct wet_fault *reterr)
{
	struct wet_exposed e = { .is_held_back = false };
	int rc = check(ask, reterr);
	if (rc != 0)
		return rc;
	e.ev100 = placed_ev(ask, &e.is_held_back);
	fall(ask, &e);
	double stops = ask->more_stops + ask->filter_stops + ask->bellows_stops - e.flash_less_stops;
	e.metered_s = wet_ev_time_s(wet_ev_for_index(e.ev100, 100, ask->index), ask->f_number) * exp2(stops);
	if (!(e.metered_s > 0 && e.metered_s <= TIME_S_MOST))
		return refuse(reterr, "time", "at most 1000 h: more light, a wider aperture or a faster paper");
	e.given = wet_reciprocity_give(&ask->reciprocity, e.metered_s);
	if (!(e.given.time_s <= TIME_S_MOST))
		return refuse(reterr, "reciprocity", "at most 1000 h after it: more light, a wider aperture or a faster paper");
	*ret_exposure = e;
	return WET_OK;
}

/* -- counting ------------------------------------------------------------------------------ */

int64_t wet_count_ns(double time_s)
{
	static const int32_t steps_s[] = { 60, 30, 15, 10, 5, 1 };
	int32_t step = 1;
	for (size_t i = 0; i < sizeof steps_s / sizeof steps_s[0]; i++)
		if (steps_s[i] <= time_s / 20) {
			step = steps_s[i];
			break;
		}
	if (!(time_s >= 0.5 && time_s <= TIME_S_MOST))
		return 0;
	double below = floor(time_s / step) * step;
	/* Nearest in stops: between 1 and 2 s the border is 1.41 s. */
	double counted = below > 0 && time_s * time_s < below * (below + step) ? below : below + step;
	return (int64_t)counted * WET_NS_PER_S;
}

int wet_bracket(const struct wet_exposure_ask *ask, const struct wet_exposed *middle, double step_stops, uint32_t count,
				struct wet_bracket ret_rows[WET_BRACKET], struct wet_fault *reterr)
{
	if (count < 1 || count > WET_BRACKET || count % 2 == 0)
		return refuse(reterr, "count", "an odd number of pieces from 1 to 11: one in the middle");
	if (!(step_stops > 0 && step_stops <= 3))
		return refuse(reterr, "bracket", "steps of over 0 to 3 stops");
	for (uint32_t i = 0; i < count; i++) {
		struct wet_bracket *r = &ret_rows[i];
		r->stops = ((double)i - (double)(count / 2)) * step_stops;
		double metered_s = middle->metered_s * exp2(r->stops);
		r->given = wet_reciprocity_give(&ask->reciprocity, metered_s);
		if (!(r->given.time_s <= TIME_S_MOST))
			return refuse(reterr, "bracket", "times up to 1000 h: fewer pieces, or smaller steps");
		r->counted_ns = wet_count_ns(r->given.time_s);
		r->off_stops = 0;
		if (r->counted_ns > 0) {
			double counted_s = (double)r->counted_ns / WET_NS_PER_S;
			r->off_stops = log2(wet_reciprocity_metered_s(&ask->reciprocity, counted_s) / metered_s);
		}
	}
	return WET_OK;
}

/* -- pre-flash ------------------------------------------------------------------------------- */

int wet_flash_steps(double first_s, double step_stops, uint32_t count, int32_t ret_total_s[WET_FLASH_STEPS],
					int32_t ret_add_s[WET_FLASH_STEPS], struct wet_fault *reterr)
{
	if (!(first_s >= 1 && first_s <= 600))
		return refuse(reterr, "flash_test", "a first step from 1 s to 10 min: dim or move the lamp");
	if (!(step_stops > 0 && step_stops <= 2))
		return refuse(reterr, "bracket", "steps of over 0 to 2 stops");
	if (count < 2 || count > WET_FLASH_STEPS)
		return refuse(reterr, "count", "from 2 to 12 strips");
	for (uint32_t i = 0; i < count; i++) {
		double total_s = first_s * exp2(i * step_stops);
		if (!(total_s <= TIME_S_MOST))
			return refuse(reterr, "flash_test", "flashes up to 1000 h: a shorter first one, fewer strips or smaller steps");
		int32_t before = i > 0 ? ret_total_s[i - 1] : 0, total = (int32_t)lround(total_s);
		ret_total_s[i] = total > before ? total : before + 1;
		ret_add_s[i] = ret_total_s[i] - before;
	}
	return WET_OK;
}
