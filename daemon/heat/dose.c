/* dose.c: the integral of the rate over a track, and its inverse.
 *
 * A stretch where T is linear in time is cut at the temperatures where the law bends; in each cut log r is linear in
 * time, so the integral is closed: r_a (e^d - 1)/d per unit of time with d = log r_b - log r_a. On Newton's tail
 * T(t) is smooth and monotone: 15-point Gauss-Legendre on panels of at most tau/4, cut at the same bends; there the
 * relative error of a panel is under 1e-14 for every rate within a factor of 8 a panel. */
#include "heat/pieces.h"

#include <math.h>

#define PANELS_PER_TAU 4
#define ROOT_STEPS 200

static double growth(double d)
{
	return fabs(d) < 1e-9 ? 1.0 + d / 2 : expm1(d) / d;
}

/* Temperatures between a and b at which log r bends, sorted from a towards b. */
static int bends_between(const struct pieces *p, double a, double b, double *ret_c)
{
	double lo = a < b ? a : b, hi = a < b ? b : a;
	double all[WET_LAW_ROWS + 2];
	int n = 0;
	for (int i = 0; i < p->count; i++)
		all[n++] = p->c[i];
	all[n++] = p->min_c;
	all[n++] = p->max_c;
	int m = 0;
	for (int i = 0; i < n; i++) {
		if (!(all[i] > lo && all[i] < hi))
			continue;
		int j = m++;
		while (j > 0 && (a < b ? ret_c[j - 1] > all[i] : ret_c[j - 1] < all[i])) {
			ret_c[j] = ret_c[j - 1];
			j--;
		}
		ret_c[j] = all[i];
	}
	return m;
}

static double linear_dose(const struct pieces *p, double c0, double c1, double for_s)
{
	double bends[WET_LAW_ROWS + 2], sum = 0, c = c0;
	if (for_s <= 0)
		return 0;
	if (c0 == c1)
		return exp(pieces_log_rate(p, c0)) * for_s;
	int n = bends_between(p, c0, c1, bends);
	for (int i = 0; i <= n; i++) {
		double next = i < n ? bends[i] : c1;
		double part_s = for_s * (next - c) / (c1 - c0);
		double a = pieces_log_rate(p, c), b = pieces_log_rate(p, next);
		sum += part_s * exp(a) * growth(b - a);
		c = next;
	}
	return sum;
}

/* Abscissas and weights of 15-point Gauss-Legendre: Abramowitz & Stegun, Handbook of Mathematical Functions, 25.4. */
static const double gauss_x[8] = { 0.0,
								   0.201194093997434522301,
								   0.394151347077563369897,
								   0.570972172608538847537,
								   0.724417731360170047416,
								   0.848206583410427216201,
								   0.937273392400705904308,
								   0.987992518020485428490 };
static const double gauss_w[8] = { 0.202578241925561272881, 0.198431485327111576456, 0.186161000015562211027,
								   0.166269205816993933553, 0.139570677926154314448, 0.107159220467171935012,
								   0.070366047488108124709, 0.030753241996117268355 };

struct newton {
	double t0_c, room_c, tau_s;
};

static double newton_panel(const struct pieces *p, const struct newton *n, double from_s, double to_s)
{
	double mid = (from_s + to_s) / 2, half = (to_s - from_s) / 2;
	double sum = gauss_w[0] * exp(pieces_log_rate(p, wet_newton_c(n->t0_c, n->room_c, n->tau_s, mid)));
	for (int i = 1; i < 8; i++) {
		double d = half * gauss_x[i];
		sum += gauss_w[i] * (exp(pieces_log_rate(p, wet_newton_c(n->t0_c, n->room_c, n->tau_s, mid - d))) +
							 exp(pieces_log_rate(p, wet_newton_c(n->t0_c, n->room_c, n->tau_s, mid + d))));
	}
	return sum * half;
}

static double newton_dose(const struct pieces *p, const struct newton *n, double from_s, double to_s)
{
	if (to_s <= from_s)
		return 0;
	double c0 = wet_newton_c(n->t0_c, n->room_c, n->tau_s, from_s);
	double c1 = wet_newton_c(n->t0_c, n->room_c, n->tau_s, to_s);
	double bends[WET_LAW_ROWS + 2], sum = 0, s = from_s;
	int m = c0 == c1 ? 0 : bends_between(p, c0, c1, bends);
	for (int i = 0; i <= m; i++) {
		double end = to_s;
		if (i < m) {
			end = -n->tau_s * log((bends[i] - n->room_c) / (n->t0_c - n->room_c));
			end = end < s ? s : end > to_s ? to_s : end;
		}
		double step = n->tau_s / PANELS_PER_TAU;
		/* Past 40 tau the room's temperature is reached to the last bit. */
		double flat = 40 * n->tau_s > s ? 40 * n->tau_s : s;
		while (s < end && s < flat) {
			double to = s + step < end ? s + step : end;
			sum += newton_panel(p, n, s, to);
			s = to;
		}
		if (s < end) {
			sum += exp(pieces_log_rate(p, n->room_c)) * (end - s);
			s = end;
		}
	}
	return sum;
}

/* -- the track as stretches ------------------------------------------------------ */

static double seconds(int64_t ns)
{
	return (double)ns / 1e9;
}

static double point_c(const struct wet_track *t, uint32_t i)
{
	return t->points[i].temperature_mc / 1000.0;
}

double wet_track_c(const struct wet_track *t, int64_t at_ns)
{
	if (t->point_count == 0)
		return t->default_mc / 1000.0;
	if (at_ns < t->points[0].at_ns)
		return point_c(t, 0);
	uint32_t last = t->point_count - 1;
	if (at_ns >= t->points[last].at_ns) {
		if (t->forecast.kind == WET_FORECAST_NEWTON && t->forecast.tau_ns > 0)
			return wet_newton_c(point_c(t, last), t->forecast.room_mc / 1000.0, seconds(t->forecast.tau_ns),
								seconds(at_ns - t->points[last].at_ns));
		return point_c(t, last);
	}
	uint32_t i = last;
	while (t->points[i].at_ns > at_ns)
		i--;
	double f = (double)(at_ns - t->points[i].at_ns) / (double)(t->points[i + 1].at_ns - t->points[i].at_ns);
	return point_c(t, i) + f * (point_c(t, i + 1) - point_c(t, i));
}

static double pieces_dose(const struct pieces *p, const struct wet_track *t, int64_t from_ns, int64_t to_ns)
{
	double sum = 0;
	if (to_ns <= from_ns)
		return 0;
	if (t->point_count == 0)
		return exp(pieces_log_rate(p, t->default_mc / 1000.0)) * seconds(to_ns - from_ns);
	int64_t first_ns = t->points[0].at_ns;
	if (from_ns < first_ns) {
		int64_t end = to_ns < first_ns ? to_ns : first_ns;
		sum += exp(pieces_log_rate(p, point_c(t, 0))) * seconds(end - from_ns);
		from_ns = end;
	}
	for (uint32_t i = 0; i + 1 < t->point_count && from_ns < to_ns; i++) {
		int64_t a = t->points[i].at_ns, b = t->points[i + 1].at_ns;
		if (b <= from_ns || b <= a)
			continue;
		int64_t end = to_ns < b ? to_ns : b;
		double slope = (point_c(t, i + 1) - point_c(t, i)) / (double)(b - a);
		double c0 = point_c(t, i) + slope * (double)(from_ns - a);
		double c1 = end == b ? point_c(t, i + 1) : point_c(t, i) + slope * (double)(end - a);
		sum += linear_dose(p, c0, c1, seconds(end - from_ns));
		from_ns = end;
	}
	if (from_ns >= to_ns)
		return sum;
	uint32_t last = t->point_count - 1;
	if (t->forecast.kind != WET_FORECAST_NEWTON || t->forecast.tau_ns <= 0)
		return sum + exp(pieces_log_rate(p, point_c(t, last))) * seconds(to_ns - from_ns);
	struct newton n = { point_c(t, last), t->forecast.room_mc / 1000.0, seconds(t->forecast.tau_ns) };
	int64_t origin = t->points[last].at_ns;
	return sum + newton_dose(p, &n, seconds(from_ns - origin), seconds(to_ns - origin));
}

double wet_dose_s(const struct wet_law *law, const struct wet_track *track, int64_t from_ns, int64_t to_ns)
{
	struct pieces p;
	pieces_of(law, &p);
	return pieces_dose(&p, track, from_ns, to_ns);
}

/* Bracketed Newton-Raphson: the dose rises, its slope is the rate. Bisection where a step leaves the bracket. */
int64_t wet_dose_root_ns(const struct wet_law *law, const struct wet_track *track, int64_t from_ns,
						 double target_s)
{
	struct pieces p;
	pieces_of(law, &p);
	if (!(target_s > 0))
		return from_ns;
	int64_t low = from_ns, high = from_ns + WET_STAGE_NS_MAX;
	double low_dose = 0;
	if (pieces_dose(&p, track, from_ns, high) < target_s)
		return high;
	for (int i = 0; i < ROOT_STEPS && high - low > 1; i++) {
		double rate = exp(pieces_log_rate(&p, wet_track_c(track, low)));
		double step = (target_s - low_dose) / rate * 1e9;
		int64_t guess =
			step > 0 && step < (double)(high - low) ? low + (int64_t)llround(step) : low + (high - low) / 2;
		if (i % 4 == 3)
			guess = low + (high - low) / 2; /* a bracket that only one side closes is halved */
		if (guess <= low)
			guess = low + 1;
		if (guess >= high)
			guess = high - 1;
		double dose = low_dose + pieces_dose(&p, track, low, guess);
		if (dose < target_s) {
			low = guess;
			low_dose = dose;
		} else {
			high = guess;
		}
	}
	double high_dose = low_dose + pieces_dose(&p, track, low, high);
	return target_s - low_dose < high_dose - target_s ? low : high;
}
