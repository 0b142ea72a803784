/* newton_fit.c: Newton's law from readings, or a refusal.
 *
 * For a given tau the law is linear in what is left, so the sum of squares is a function of tau alone: it is
 * searched over four decades of tau, then all is polished by Gauss-Newton steps. Tables of normal equations
 * are 3 x 3. All is done on bins, of which a single reading is the smallest. */
#include "wetside/tempering.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#define GRID 48   /* steps of log tau from window/200 to 200 windows: by a fifth each, below the width of a least sum */
#define POLISH 60 /* Gauss-Newton steps at most; a handful is enough */
#define TAU_SPAN 200.0

struct problem {
	const struct wet_newton_bin *bins;
	uint32_t count;    /* bins */
	uint32_t readings; /* in them */
	double window_s;
	double noise_c2;   /* within the bins: no law changes it */
	bool is_free;      /* the surrounding is to be found */
	double surround_c; /* else this */
};

/* T0, tau, surrounding: the last one moves only when it is free. */
struct guess {
	double p[3];
	double squares_c2;
};

/* What a bin tells: the mean of its readings, and their slope where they are more than one. Of exp(-t/tau) over readings
 * spread evenly about the bin's mean time, to half a width w: its mean, its slope, and how both change with log tau. */
struct bend {
	double mean, mean_by_tau;
	double slope, slope_by_tau;
};

static double half_width(const struct wet_newton_bin *b)
{
	return sqrt(3.0 * (double)b->tt / b->count);
}

static struct bend bend_of(const struct problem *q, uint32_t i, double tau_s)
{
	const struct wet_newton_bin *b = &q->bins[i];
	double x = (b->at_s - q->bins[0].at_s) / tau_s, h = b->count > 1 ? half_width(b) / tau_s : 0;
	double e = exp(-x), f = 1, f_by_h = 0, g = 1, g_by_h = 0; /* f = sinh h/h; g = 3 (h cosh h - sinh h)/h^3 */
	if (h >= 0.05) {
		f = sinh(h) / h;
		f_by_h = (cosh(h) - f) / h;
		g = 3 * f_by_h / h;
		g_by_h = 3 * f / h - 3 * g / h;
	} else if (h > 0) {
		f = 1 + h * h / 6 + h * h * h * h / 120;
		f_by_h = h / 3 + h * h * h / 30;
		g = 1 + h * h / 10 + h * h * h * h / 280;
		g_by_h = h / 5 + h * h * h / 70;
	}
	return (struct bend){ .mean = e * f,
						  .mean_by_tau = e * (x * f - h * f_by_h),
						  .slope = -e * g / tau_s,
						  .slope_by_tau = -e * ((x - 1) * g - h * g_by_h) / tau_s };
}

static double slope_of(const struct wet_newton_bin *b)
{
	return b->tt > 0 ? (double)b->tc / (double)b->tt : 0;
}

static double squares_of(const struct problem *q, const double p[3])
{
	double sum = q->noise_c2;
	for (uint32_t i = 0; i < q->count; i++) {
		const struct wet_newton_bin *b = &q->bins[i];
		struct bend y = bend_of(q, i, p[1]);
		double off = b->temperature_c - (p[2] + (p[0] - p[2]) * y.mean), tilt = slope_of(b) - (p[0] - p[2]) * y.slope;
		sum += b->count * off * off + (double)b->tt * tilt * tilt;
	}
	return sum;
}

/* Best T0 (and surrounding) for a tau: T = S + D e, linear in D and S. */
static struct guess best_for(const struct problem *q, double tau_s)
{
	double n = 0, e1 = 0, e2 = 0, t1 = 0, te = 0, mid = q->bins[0].temperature_c;
	double surround = q->surround_c, d;
	for (uint32_t i = 0; i < q->count; i++) {
		const struct wet_newton_bin *b = &q->bins[i];
		struct bend y = bend_of(q, i, tau_s);
		double t = b->temperature_c - mid, above = q->is_free ? 0 : surround - mid;
		n += b->count;
		e1 += b->count * y.mean;
		e2 += b->count * y.mean * y.mean + (double)b->tt * y.slope * y.slope;
		t1 += b->count * t;
		te += b->count * (t - above) * y.mean + (double)b->tc * y.slope;
	}
	if (q->is_free) {
		d = (n * te - e1 * t1) / (n * e2 - e1 * e1);
		surround = mid + (t1 - d * e1) / n;
	} else {
		d = te / e2;
	}
	struct guess g = { .p = { surround + d, tau_s, surround } };
	g.squares_c2 = squares_of(q, g.p);
	return g;
}

/* Solves m x = v for the leading n of 3 by elimination with pivots; false if m is singular. */
static bool solve(double m[3][3], double v[3], int n)
{
	for (int i = 0; i < n; i++) {
		int best = i;
		for (int r = i + 1; r < n; r++)
			if (fabs(m[r][i]) > fabs(m[best][i]))
				best = r;
		if (!(fabs(m[best][i]) > 1e-14))
			return false;
		for (int c = 0; c < n; c++) {
			double x = m[i][c];
			m[i][c] = m[best][c];
			m[best][c] = x;
		}
		double y = v[i];
		v[i] = v[best];
		v[best] = y;
		for (int r = 0; r < n; r++) {
			if (r == i)
				continue;
			double f = m[r][i] / m[i][i];
			for (int c = i; c < n; c++)
				m[r][c] -= f * m[i][c];
			v[r] -= f * v[i];
		}
	}
	for (int i = 0; i < n; i++)
		v[i] /= m[i][i];
	return true;
}

static void add_row(double jj[3][3], double jr[3], const double j[3], double weight, double off)
{
	for (int r = 0; r < 3; r++) {
		jr[r] += weight * j[r] * off;
		for (int c = 0; c < 3; c++)
			jj[r][c] += weight * j[r] * j[c];
	}
}

/* Normal equations in T0, log tau and the surrounding: J'J and J'(residuals). */
static void normal(const struct problem *q, const double p[3], double jj[3][3], double jr[3])
{
	double d = p[0] - p[2];
	memset(jj, 0, 9 * sizeof jj[0][0]);
	memset(jr, 0, 3 * sizeof jr[0]);
	for (uint32_t i = 0; i < q->count; i++) {
		const struct wet_newton_bin *b = &q->bins[i];
		struct bend y = bend_of(q, i, p[1]);
		double mean[3] = { y.mean, d * y.mean_by_tau, 1 - y.mean };
		add_row(jj, jr, mean, b->count, b->temperature_c - (p[2] + d * y.mean));
		double slope[3] = { y.slope, d * y.slope_by_tau, -y.slope };
		add_row(jj, jr, slope, (double)b->tt, slope_of(b) - d * y.slope);
	}
}

static void polish(const struct problem *q, struct guess *g)
{
	int unknowns = q->is_free ? 3 : 2;
	for (int i = 0; i < POLISH; i++) {
		double jj[3][3], step[3], share = 1;
		normal(q, g->p, jj, step);
		if (!solve(jj, step, unknowns))
			return;
		struct guess next = *g;
		for (; share > 1e-6; share /= 2) { /* a step too far is halved */
			next.p[0] = g->p[0] + share * step[0];
			next.p[1] = g->p[1] * exp(share * step[1]);
			next.p[2] = q->is_free ? g->p[2] + share * step[2] : g->p[2];
			next.squares_c2 = squares_of(q, next.p);
			if (next.squares_c2 <= g->squares_c2)
				break;
		}
		if (!(next.squares_c2 <= g->squares_c2))
			return;
		*g = next;
		if (fabs(step[1]) < 1e-13)
			return;
	}
}

/* Variances and covariances, and standard errors of them; false when they cannot be had. */
static bool errors_of(const struct problem *q, const struct guess *g, double resolution_c, struct wet_newton_fit *fit)
{
	int unknowns = q->is_free ? 3 : 2;
	double error[3] = { 0, 0, 0 };
	double variance = g->squares_c2 / (q->readings - (uint32_t)unknowns);
	variance = fmax(variance, resolution_c * resolution_c / 12);
	memset(fit->covariance, 0, sizeof fit->covariance);
	for (int k = 0; k < unknowns; k++) { /* a column of the inverse at a time */
		double jj[3][3], unit[3], unused[3] = { 0, 0, 0 };
		normal(q, g->p, jj, unused);
		for (int i = 0; i < 3; i++)
			unit[i] = i == k;
		if (!solve(jj, unit, unknowns) || !(unit[k] >= 0))
			return false;
		for (int i = 0; i < unknowns; i++)
			fit->covariance[i][k] = variance * unit[i];
		error[k] = sqrt(variance * unit[k]);
	}
	fit->t0_error_c = error[0];
	fit->tau_error_s = error[1] * g->p[1]; /* was that of log tau */
	fit->surround_error_c = error[2];
	return true;
}

static int check_ask(uint32_t count, const double *surround_c, double resolution_c, struct wet_fault *reterr)
{
	if (count > WET_FIT_READINGS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "readings", NULL, "at most %d", WET_FIT_READINGS);
	if (!(resolution_c >= 0 && resolution_c <= 10))
		return wet_fault_set(reterr, WET_ERR_RANGE, "resolution", NULL, "0 C to 10 C");
	if (surround_c != NULL && !(*surround_c >= -50 && *surround_c <= 150))
		return wet_fault_set(reterr, WET_ERR_RANGE, "surrounding", NULL, "a temperature of -50 C to 150 C");
	return WET_OK;
}

static int check_bins(const struct wet_newton_bin *bins, uint32_t count, const double *surround_c, double resolution_c,
					  struct wet_fault *reterr)
{
	uint32_t least = surround_c != NULL ? 3 : 4, readings = 0;
	int rc = check_ask(count, surround_c, resolution_c, reterr);
	if (rc != 0)
		return rc;
	for (uint32_t i = 0; i < count; i++) {
		readings += bins[i].count;
		if (!(bins[i].temperature_c >= -50 && bins[i].temperature_c <= 150))
			return wet_fault_set(reterr, WET_ERR_RANGE, "readings", NULL, "temperatures of -50 C to 150 C");
		if (!isfinite(bins[i].at_s) || (i > 0 && !(bins[i].at_s > bins[i - 1].at_s)))
			return wet_fault_set(reterr, WET_ERR_INVALID, "readings", NULL, "each later than the one before");
	}
	if (readings < least)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "readings", NULL, "at least %u readings%s", least,
							 surround_c != NULL ? "" : ", or 3 and the temperature of the surrounding");
	return WET_OK;
}

static struct guess search(const struct problem *q)
{
	double low = log(q->window_s / TAU_SPAN), step = 2 * log(TAU_SPAN) / GRID;
	struct guess best = { .squares_c2 = INFINITY };
	for (int i = 0; i <= GRID; i++) {
		struct guess g = best_for(q, exp(low + i * step));
		if (g.squares_c2 < best.squares_c2)
			best = g;
	}
	polish(q, &best);
	return best;
}

/* Is what was found worth telling? */
static int judge(const struct problem *q, const struct wet_newton_fit *f, struct wet_fault *reterr)
{
	const char *else_tell = q->is_free ? ", or the temperature of the surrounding" : "";
	if (q->is_free && q->window_s < WET_FIT_WINDOW_TAU_MIN * f->tau_s)
		return wet_fault_set(
			reterr, WET_ERR_REFUSED, "readings", NULL,
			"readings over at least %.0f minutes, which is one time constant%s; these span %.0f",
			ceil(f->tau_s / 60), else_tell, floor(q->window_s / 60));
	if (!(f->tau_error_s <= WET_FIT_TAU_SHARE_MAX * f->tau_s))
		return wet_fault_set(
			reterr, WET_ERR_REFUSED, "readings", NULL,
			"more readings, over a longer time%s: the time constant is %.1f minutes give or take %.1f",
			else_tell, f->tau_s / 60, f->tau_error_s / 60);
	if (q->is_free && !(f->surround_error_c <= WET_FIT_SURROUND_C_MAX))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "readings", NULL,
							 "more readings, over a longer time%s, which is %.1f C give or take %.1f",
							 else_tell, f->surround_c, f->surround_error_c);
	return WET_OK;
}

static struct problem problem_of(const struct wet_newton_bin *bins, uint32_t count, const double *surround_c)
{
	const struct wet_newton_bin *last = &bins[count - 1];
	struct problem q = { .bins = bins,
						 .count = count,
						 .window_s = last->at_s + half_width(last) - (bins[0].at_s - half_width(&bins[0])),
						 .is_free = surround_c == NULL,
						 .surround_c = surround_c != NULL ? *surround_c : 0 };
	for (uint32_t i = 0; i < count; i++) {
		q.readings += bins[i].count;
		q.noise_c2 += fmax(0, (double)bins[i].cc - (double)bins[i].tc * slope_of(&bins[i]));
	}
	return q;
}

int wet_newton_fit_bins(const struct wet_newton_bin *bins, uint32_t bin_count, const double *surround_c,
						double resolution_c, struct wet_newton_fit *ret_fit, struct wet_fault *reterr)
{
	struct wet_newton_fit fit;
	int rc = check_bins(bins, bin_count, surround_c, resolution_c, reterr);
	if (rc != 0)
		return rc;
	struct problem q = problem_of(bins, bin_count, surround_c);
	struct guess g = search(&q);
	fit.t0_c = g.p[0];
	fit.tau_s = g.p[1];
	fit.surround_c = g.p[2];
	fit.squares_c2 = g.squares_c2;
	/* A best tau at an end of the search means that there is none within it. */
	if (!(g.p[1] > q.window_s / TAU_SPAN * 1.01 && g.p[1] < q.window_s * TAU_SPAN / 1.01 &&
		  g.p[1] <= WET_FIT_TAU_S_MAX) ||
		!errors_of(&q, &g, resolution_c, &fit))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "readings", NULL,
							 "readings that come nearer to the surrounding's temperature, ever more slowly%s",
							 q.is_free ? ", over a longer time" : "");
	rc = judge(&q, &fit, reterr);
	if (rc != 0)
		return rc;
	*ret_fit = fit;
	return WET_OK;
}

int wet_newton_fit(const struct wet_newton_reading *readings, uint32_t reading_count,
				   const double *surround_c, double resolution_c, struct wet_newton_fit *ret_fit,
				   struct wet_fault *reterr)
{
	struct wet_newton_bin bins[WET_FIT_READINGS];
	int rc = check_ask(reading_count, surround_c, resolution_c, reterr);
	if (rc != 0)
		return rc;
	for (uint32_t i = 0; i < reading_count; i++)
		bins[i] = (struct wet_newton_bin){ .at_s = readings[i].at_s, .temperature_c = readings[i].temperature_c, .count = 1 };
	return wet_newton_fit_bins(bins, reading_count, surround_c, resolution_c, ret_fit, reterr);
}

/* -- thinning ----------------------------------------------------------------------- */

/* b becomes part of a. */
static void merge(struct wet_newton_bin *a, const struct wet_newton_bin *b)
{
	double na = a->count, nb = b->count, n = na + nb, share = na * nb / n;
	double dt = b->at_s - a->at_s, dc = b->temperature_c - a->temperature_c;
	a->tt = (float)((double)a->tt + (double)b->tt + share * dt * dt);
	a->tc = (float)((double)a->tc + (double)b->tc + share * dt * dc);
	a->cc = (float)((double)a->cc + (double)b->cc + share * dc * dc);
	a->at_s += dt * nb / n;
	a->temperature_c += dc * nb / n;
	a->count += b->count;
}

void wet_newton_bins_add(struct wet_newton_bin *bins, uint32_t *io_count, uint32_t room, double at_s, double temperature_c)
{
	struct wet_newton_bin one = { .at_s = at_s, .temperature_c = temperature_c, .count = 1 };
	uint32_t n = *io_count;
	if (n > 0 && !(at_s > bins[n - 1].at_s)) { /* twice at one time */
		merge(&bins[n - 1], &one);
		return;
	}
	if (n == room) {
		uint32_t best = 0;
		double gap_s = INFINITY;
		for (uint32_t i = 0; i + 1 < n; i++)
			if (bins[i + 1].at_s - bins[i].at_s < gap_s) {
				gap_s = bins[i + 1].at_s - bins[i].at_s;
				best = i;
			}
		merge(&bins[best], &bins[best + 1]);
		memmove(&bins[best + 1], &bins[best + 2], sizeof bins[0] * (n - best - 2));
		n--;
	}
	bins[n] = one;
	*io_count = n + 1;
}

int wet_newton_three(double t1_c, double t2_c, double t3_c, double step_s, double *ret_surround_c,
					 double *ret_tau_s, struct wet_fault *reterr)
{
	double first = t1_c - t2_c, second = t2_c - t3_c;
	if (!(step_s > 0) || !isfinite(step_s) || !isfinite(first) || !isfinite(second))
		return wet_fault_set(reterr, WET_ERR_RANGE, "readings", NULL, "three readings, one time step apart");
	if (!(first * second > 0 && fabs(second) < fabs(first)))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "readings", NULL,
							 "a second change in the direction of the first, and smaller");
	*ret_surround_c = t2_c - first * second / (first - second);
	*ret_tau_s = step_s / log(first / second);
	return WET_OK;
}
