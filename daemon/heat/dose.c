/* dose.c: the integral of the rate over a track, and its inverse.
 *
 * A track is walked in stretches: level, linear in time, or Newton's tail. Where T is linear, the stretch is
 * cut at the temperatures where the law bends; in each cut log r is linear in time, so with
 * d = log r_b - log r_a the integral is closed, r_a (e^d - 1)/d a unit of time, and so is its inverse.
 * On Newton's tail T(t) is smooth and monotone: 15-point Gauss-Legendre on panels of at most tau/4, cut at
 * the same bends. In a panel log r changes by at most 0.23 k |T - room|, k being its slope; the relative
 * error is under 1e-14 while that is under 5 (with a factor of 2 per 10 C: up to 300 C from the room). Its
 * inverse is a bracketed Newton-Raphson in the one panel where the target lies, to a hundredth of a
 * nanosecond. */
#include "heat/pieces.h"

#include <math.h>

#define PANELS_PER_TAU 4
#define TAUS_MAX 40 /* past 40 tau the room's temperature is reached to the last bit */
#define PANEL_STEPS 60

/* A dose to be used up, and how far in time it carried. A walk with no end of dose integrates. */
struct walk {
	double left_s; /* of the target; INFINITY: none */
	double sum_s;  /* dose so far */
	double for_s;  /* time into the stretch where the target was reached */
	bool is_done;
};

/* (e^d - 1)/d */
static double growth(double d)
{
	return fabs(d) < 1e-9 ? 1.0 + d / 2 : expm1(d) / d;
}

/* Takes a part's dose. True when the target lies in it. */
static bool takes(struct walk *w, double dose_s)
{
	if (dose_s >= w->left_s)
		return true;
	w->left_s -= dose_s;
	w->sum_s += dose_s;
	return false;
}

/* `for_s` seconds in which log r goes linearly from a to b, beginning at_s into the stretch. */
static void walk_log_linear(struct walk *w, double a, double b, double at_s, double for_s)
{
	if (!takes(w, for_s * exp(a) * growth(b - a)))
		return;
	double level_s = w->left_s * exp(-a); /* at the first rate all along */
	double y = level_s * (b - a) / for_s;
	double t = fabs(y) < 1e-9 ? level_s * (1.0 - y / 2) : log1p(y) / (b - a) * for_s;
	w->for_s = at_s + (t < for_s ? t : for_s);
	w->is_done = true;
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

static void walk_linear(struct walk *w, const struct pieces *p, double c0, double c1, double for_s)
{
	double bends[WET_LAW_ROWS + 2], c = c0, at_s = 0;
	if (for_s <= 0)
		return;
	int n = c0 == c1 ? 0 : bends_between(p, c0, c1, bends);
	for (int i = 0; i <= n && !w->is_done; i++) {
		double next = i < n ? bends[i] : c1;
		double part_s = i < n ? for_s * (next - c) / (c1 - c0) : for_s - at_s;
		walk_log_linear(w, pieces_log_rate(p, c), pieces_log_rate(p, next), at_s, part_s);
		at_s += part_s;
		c = next;
	}
}

/* 15-point Gauss-Legendre: the roots x of the Legendre polynomial P15, and 2/((1 - x^2) P15'(x)^2).
 * Abramowitz & Stegun, Handbook of Mathematical Functions, 25.4.29 (number from memory; the values were
 * recomputed). */
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

/* The time in a panel at which its dose is reached: the dose rises and its slope is the rate. */
static double newton_panel_root(const struct pieces *p, const struct newton *n, double from_s, double to_s,
								double dose_s)
{
	double low = from_s, high = to_s, low_dose = 0;
	for (int i = 0; i < PANEL_STEPS && high - low > 1e-11; i++) {
		double rate = exp(pieces_log_rate(p, wet_newton_c(n->t0_c, n->room_c, n->tau_s, low)));
		double guess = low + (dose_s - low_dose) / rate;
		bool is_inside = guess > low && guess < high;
		if (!is_inside || i % 3 == 2)
			guess = low + (high - low) / 2;
		double dose = low_dose + newton_panel(p, n, low, guess);
		if (fabs(dose - dose_s) < 1e-11 * rate) /* a hundredth of a nanosecond */
			return guess;
		if (dose < dose_s) {
			low = guess;
			low_dose = dose;
		} else {
			high = guess;
		}
	}
	return low + (high - low) / 2;
}

static void walk_newton(struct walk *w, const struct pieces *p, const struct newton *n, double from_s,
						double to_s)
{
	if (to_s <= from_s)
		return;
	double c0 = wet_newton_c(n->t0_c, n->room_c, n->tau_s, from_s);
	double c1 = wet_newton_c(n->t0_c, n->room_c, n->tau_s, to_s);
	double bends[WET_LAW_ROWS + 2], s = from_s, flat_s = TAUS_MAX * n->tau_s;
	int m = c0 == c1 ? 0 : bends_between(p, c0, c1, bends);
	for (int i = 0; i <= m; i++) {
		double end = to_s;
		if (i < m) {
			end = -n->tau_s * log((bends[i] - n->room_c) / (n->t0_c - n->room_c));
			end = end < s ? s : end > to_s ? to_s : end;
		}
		while (s < end && s < flat_s) {
			double to = s + n->tau_s / PANELS_PER_TAU;
			to = to < end ? to : end;
			if (takes(w, newton_panel(p, n, s, to))) {
				w->for_s = newton_panel_root(p, n, s, to, w->left_s) - from_s;
				w->is_done = true;
				return;
			}
			s = to;
		}
		if (s < end) {
			double log_rate = pieces_log_rate(p, n->room_c);
			walk_log_linear(w, log_rate, log_rate, s - from_s, end - s);
			if (w->is_done)
				return;
			s = end;
		}
	}
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

static double course_c(const struct wet_track *t, uint32_t last)
{
	return (t->points[last].temperature_mc + t->forecast.over_mc) / 1000.0;
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
			return wet_newton_c(course_c(t, last), t->forecast.room_mc / 1000.0, seconds(t->forecast.tau_ns),
								seconds(at_ns - t->points[last].at_ns));
		return point_c(t, last);
	}
	uint32_t i = last;
	while (t->points[i].at_ns > at_ns)
		i--;
	double f = (double)(at_ns - t->points[i].at_ns) / (double)(t->points[i + 1].at_ns - t->points[i].at_ns);
	return point_c(t, i) + f * (point_c(t, i + 1) - point_c(t, i));
}

/* Walks the stretch that begins at from_ns; gives its end, at most to_ns. */
static int64_t walk_stretch(struct walk *w, const struct pieces *p, const struct wet_track *t,
							int64_t from_ns, int64_t to_ns)
{
	uint32_t n = t->point_count, i = 0;
	while (i < n && t->points[i].at_ns <= from_ns)
		i++;
	if (i == 0 && n > 0 && t->points[0].at_ns < to_ns)
		to_ns = t->points[0].at_ns; /* constant before the first */
	if (i == n && n > 0 && t->forecast.kind == WET_FORECAST_NEWTON && t->forecast.tau_ns > 0) {
		struct newton tail = { course_c(t, n - 1), t->forecast.room_mc / 1000.0, seconds(t->forecast.tau_ns) };
		int64_t origin_ns = t->points[n - 1].at_ns;
		walk_newton(w, p, &tail, seconds(from_ns - origin_ns), seconds(to_ns - origin_ns));
		return to_ns;
	}
	if (i == 0 || i == n) {
		double log_rate = pieces_log_rate(p, wet_track_c(t, from_ns));
		walk_log_linear(w, log_rate, log_rate, 0, seconds(to_ns - from_ns));
		return to_ns;
	}
	int64_t a_ns = t->points[i - 1].at_ns, b_ns = t->points[i].at_ns;
	if (to_ns > b_ns)
		to_ns = b_ns;
	double slope = (point_c(t, i) - point_c(t, i - 1)) / (double)(b_ns - a_ns);
	double c0 = point_c(t, i - 1) + slope * (double)(from_ns - a_ns);
	double c1 = to_ns == b_ns ? point_c(t, i) : point_c(t, i - 1) + slope * (double)(to_ns - a_ns);
	walk_linear(w, p, c0, c1, seconds(to_ns - from_ns));
	return to_ns;
}

double wet_dose_s(const struct wet_law *law, const struct wet_track *track, int64_t from_ns, int64_t to_ns)
{
	struct walk w = { .left_s = INFINITY };
	struct pieces p;
	pieces_of(law, &p);
	while (from_ns < to_ns)
		from_ns = walk_stretch(&w, &p, track, from_ns, to_ns);
	return w.sum_s;
}

int64_t wet_dose_root_ns(const struct wet_law *law, const struct wet_track *track, int64_t from_ns,
						 double target_s)
{
	struct walk w = { .left_s = target_s };
	struct pieces p;
	if (!(target_s > 0))
		return from_ns;
	int64_t cap_ns = from_ns > INT64_MAX - WET_STAGE_NS_MAX ? INT64_MAX : from_ns + WET_STAGE_NS_MAX;
	pieces_of(law, &p);
	while (from_ns < cap_ns) {
		int64_t end_ns = walk_stretch(&w, &p, track, from_ns, cap_ns);
		if (w.is_done) {
			int64_t at_ns = from_ns + llround(w.for_s * 1e9);
			return at_ns < end_ns ? at_ns : end_ns;
		}
		from_ns = end_ns;
	}
	return cap_ns;
}
