/* constant.c: how a vessel cools, from one use to the next. */
#include "wetside/tempering.h"

#include <math.h>

int wet_cooling_from_two(int32_t from_mc, int32_t to_mc, int32_t room_mc, int64_t for_ns, struct wet_cooling_seen *ret_seen,
						 struct wet_fault *reterr)
{
	double from = from_mc - room_mc, to = to_mc - room_mc, for_s = (double)for_ns / 1e9, one = WET_READING_ERROR_MC;
	if (!(for_s > 0) || !(from * to > 0) || fabs(to) > fabs(from))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "reading", NULL, "a bath that came nearer to the room's temperature");
	struct wet_cooling_seen seen = { .rate_per_s = log(from / to) / for_s,
									 .error_per_s = sqrt(one * one / (from * from) + one * one / (to * to)) / for_s };
	if (!(seen.error_per_s <= WET_SEEN_SHARE_MAX * seen.rate_per_s))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "reading", NULL, "a larger change: a longer bath, or one farther from the room");
	*ret_seen = seen;
	return WET_OK;
}

void wet_constant_learn(struct wet_constant *c, const struct wet_cooling_seen *seen)
{
	double spread = WET_CONSTANT_SPREAD * seen->rate_per_s;
	double weight = 1 / (seen->error_per_s * seen->error_per_s + spread * spread), rate = seen->rate_per_s;
	if (c->tau_ns > 0) {
		double tau_s = (double)c->tau_ns / 1e9;
		double error_s = c->error_ns > 0 ? (double)c->error_ns / 1e9 : WET_CONSTANT_TOLD_SHARE * tau_s;
		double error = error_s / (tau_s * tau_s), known = 1 / (error * error);
		rate = (weight * rate + known / tau_s) / (weight + known);
		weight += known;
	}
	/* 1/tau and its error; held within what a bath can be. */
	double tau_s = fmin(fmax(1 / rate, 1), WET_FIT_TAU_S_MAX), error_s = tau_s * tau_s / sqrt(weight);
	c->tau_ns = llround(tau_s * 1e9);
	c->error_ns = llround(fmin(fmax(error_s, 1e-3), WET_FIT_TAU_S_MAX) * 1e9);
	c->count++;
}
