/* newton_fit.c: Newton's law from readings, or a refusal.
 *
 * For a given tau the law is linear in what is left, so the sum of squares is a function of tau alone: it is
 * searched over four decades of tau, then all is polished by Gauss-Newton steps. Tables of normal equations
 * are 3 x 3. */
#include "wetside/tempering.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#define GRID 240  /* steps of log tau from window/200 to 200 windows */
#define POLISH 60 /* Gauss-Newton steps at most; a handful is enough */
#define TAU_SPAN 200.0

struct problem {
	const struct wet_newton_reading *readings;
	uint32_t count;
	double window_s;
	bool is_free;      /* the surrounding is to be found */
	double surround_c; /* else this */
};

/* T0, tau, surrounding: the last one moves only when it is free. */
struct guess {
	double p[3];
	double squares_c2;
};

static double since(const struct problem *q, uint32_t i)
{
	return q->readings[i].at_s - q->readings[0].at_s;
}

static double squares_of(const struct problem *q, const double p[3])
{
	double sum = 0;
	for (uint32_t i = 0; i < q->count; i++) {
		double off = q->readings[i].temperature_c - (p[2] + (p[0] - p[2]) * exp(-since(q, i) / p[1]));
		sum += off * off;
	}
	return sum;
}

/* Best T0 (and surrounding) for a tau: T = S + D e, linear in D and S. */
static struct guess best_for(const struct problem *q, double tau_s)
{
	double n = q->count, e1 = 0, e2 = 0, t1 = 0, te = 0, mid = q->readings[0].temperature_c;
	double surround = q->surround_c, d;
	for (uint32_t i = 0; i < q->count; i++) {
		double e = exp(-since(q, i) / tau_s), t = q->readings[i].temperature_c - mid;
		e1 += e;
		e2 += e * e;
		t1 += t;
		te += t * e;
	}
	if (q->is_free) {
		d = (n * te - e1 * t1) / (n * e2 - e1 * e1);
		surround = mid + (t1 - d * e1) / n;
	} else {
		d = (te - (surround - mid) * e1) / e2;
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

/* Normal equations in T0, log tau and the surrounding: J'J and J'(residuals). */
static void normal(const struct problem *q, const double p[3], double jj[3][3], double jr[3])
{
	memset(jj, 0, 9 * sizeof jj[0][0]);
	memset(jr, 0, 3 * sizeof jr[0]);
	for (uint32_t i = 0; i < q->count; i++) {
		double x = since(q, i) / p[1], e = exp(-x);
		double j[3] = { e, (p[0] - p[2]) * e * x, 1 - e };
		double off = q->readings[i].temperature_c - (p[2] + (p[0] - p[2]) * e);
		for (int r = 0; r < 3; r++) {
			jr[r] += j[r] * off;
			for (int c = 0; c < 3; c++)
				jj[r][c] += j[r] * j[c];
		}
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

/* Standard errors; false when they cannot be had. */
static bool errors_of(const struct problem *q, const struct guess *g, double resolution_c,
					  double ret_error[3])
{
	int unknowns = q->is_free ? 3 : 2;
	double variance = g->squares_c2 / (q->count - (uint32_t)unknowns);
	variance = fmax(variance, resolution_c * resolution_c / 12);
	ret_error[2] = 0;
	for (int k = 0; k < unknowns; k++) { /* a column of the inverse at a time */
		double jj[3][3], unit[3], unused[3] = { 0, 0, 0 };
		normal(q, g->p, jj, unused);
		for (int i = 0; i < 3; i++)
			unit[i] = i == k;
		if (!solve(jj, unit, unknowns) || !(unit[k] >= 0))
			return false;
		ret_error[k] = sqrt(variance * unit[k]);
	}
	ret_error[1] *= g->p[1]; /* was that of log tau */
	return true;
}

static int check_readings(const struct wet_newton_reading *readings, uint32_t count, const double *surround_c,
						  double resolution_c, struct wet_fault *reterr)
{
	uint32_t least = surround_c != NULL ? 3 : 4;
	if (count > WET_FIT_READINGS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "readings", NULL, "at most %d", WET_FIT_READINGS);
	if (!(resolution_c >= 0 && resolution_c <= 10))
		return wet_fault_set(reterr, WET_ERR_RANGE, "resolution", NULL, "0 C to 10 C");
	if (surround_c != NULL && !(*surround_c >= -50 && *surround_c <= 150))
		return wet_fault_set(reterr, WET_ERR_RANGE, "surrounding", NULL, "a temperature of -50 C to 150 C");
	for (uint32_t i = 0; i < count; i++) {
		if (!(readings[i].temperature_c >= -50 && readings[i].temperature_c <= 150))
			return wet_fault_set(reterr, WET_ERR_RANGE, "readings", NULL, "temperatures of -50 C to 150 C");
		if (!isfinite(readings[i].at_s) || (i > 0 && !(readings[i].at_s > readings[i - 1].at_s)))
			return wet_fault_set(reterr, WET_ERR_INVALID, "readings", NULL, "each later than the one before");
	}
	if (count < least)
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
static int judge(const struct problem *q, const struct guess *g, const double error[3],
				 struct wet_fault *reterr)
{
	const char *else_tell = q->is_free ? ", or the temperature of the surrounding" : "";
	if (q->is_free && q->window_s < WET_FIT_WINDOW_TAU_MIN * g->p[1])
		return wet_fault_set(
			reterr, WET_ERR_REFUSED, "readings", NULL,
			"readings over at least %.0f minutes, which is one time constant%s; these span %.0f",
			ceil(g->p[1] / 60), else_tell, floor(q->window_s / 60));
	if (!(error[1] <= WET_FIT_TAU_SHARE_MAX * g->p[1]))
		return wet_fault_set(
			reterr, WET_ERR_REFUSED, "readings", NULL,
			"more readings, over a longer time%s: the time constant is %.1f minutes give or take %.1f",
			else_tell, g->p[1] / 60, error[1] / 60);
	if (q->is_free && !(error[2] <= WET_FIT_SURROUND_C_MAX))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "readings", NULL,
							 "more readings, over a longer time%s, which is %.1f C give or take %.1f",
							 else_tell, g->p[2], error[2]);
	return WET_OK;
}

int wet_newton_fit(const struct wet_newton_reading *readings, uint32_t reading_count,
				   const double *surround_c, double resolution_c, struct wet_newton_fit *ret_fit,
				   struct wet_fault *reterr)
{
	double error[3];
	int rc = check_readings(readings, reading_count, surround_c, resolution_c, reterr);
	if (rc != 0)
		return rc;
	struct problem q = { .readings = readings,
						 .count = reading_count,
						 .window_s = readings[reading_count - 1].at_s - readings[0].at_s,
						 .is_free = surround_c == NULL,
						 .surround_c = surround_c != NULL ? *surround_c : 0 };
	struct guess g = search(&q);
	/* A best tau at an end of the search means that there is none within it. */
	if (!(g.p[1] > q.window_s / TAU_SPAN * 1.01 && g.p[1] < q.window_s * TAU_SPAN / 1.01 &&
		  g.p[1] <= WET_FIT_TAU_S_MAX) ||
		!errors_of(&q, &g, resolution_c, error))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "readings", NULL,
							 "readings that come nearer to the surrounding's temperature, ever more slowly%s",
							 q.is_free ? ", over a longer time" : "");
	rc = judge(&q, &g, error, reterr);
	if (rc != 0)
		return rc;
	*ret_fit = (struct wet_newton_fit){ .t0_c = g.p[0],
										.surround_c = g.p[2],
										.tau_s = g.p[1],
										.t0_error_c = error[0],
										.surround_error_c = error[2],
										.tau_error_s = error[1],
										.squares_c2 = g.squares_c2 };
	return WET_OK;
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
