/* regress.c: the MM-estimate that judgement.h tells of. */
#include "field/regress.h"

#include <math.h>
#include <string.h>

#define S_TUNING 1.54764 /* half of the points may be bad, and the scale is that of normal errors */
#define M_TUNING 4.685   /* 95 % efficient */
/* Of the bisquare weight w(z) with M_TUNING and z normal (checked against scipy.integrate): */
#define MEAN_WEIGHT 0.9151076240 /* E w */
#define KAPPA 0.8280730034       /* E w z^2 / E w */
#define COV_FACTOR 0.9632738701  /* E psi^2 / (E psi')^2 * E w */
#define SCALE_SHARE 0.7          /* the least share of the S-scale: few points never make the line look sure */
#define WIDENED 0.6              /* over n, from five points on */
#define STEPS 400 /* some lines settle slowly, by parts of a thousandth of a stop */
#define TINY 1e-9
#define TIE 1e-7 /* scales as near as that are one: judgements in thirds of a stop make many */

double field_median(double *values, uint32_t n)
{
	for (uint32_t i = 1; i < n; i++) {
		double v = values[i];
		uint32_t j = i;
		for (; j > 0 && values[j - 1] > v; j--)
			values[j] = values[j - 1];
		values[j] = v;
	}
	return n % 2 ? values[n / 2] : (values[n / 2 - 1] + values[n / 2]) / 2;
}

/* Tukey's bisquare loss, 1 far out. */
static double loss(double u)
{
	double q = u * u / (S_TUNING * S_TUNING);
	return q >= 1 ? 1 : 1 - (1 - q) * (1 - q) * (1 - q);
}

static double weight(double u)
{
	double q = u * u / (M_TUNING * M_TUNING);
	return q >= 1 ? 0 : (1 - q) * (1 - q);
}

struct points {
	const double *x, *y;
	uint32_t n, parameters;
};

static double residual(const struct points *p, uint32_t i, double level, double slope)
{
	return p->y[i] - level - slope * p->x[i];
}

static double sum_of_loss(const struct points *p, double level, double slope, double scale)
{
	double sum = 0;
	for (uint32_t i = 0; i < p->n; i++)
		sum += loss(residual(p, i, level, slope) / scale);
	return sum;
}

/* The largest scale at which the losses sum to half of the points that the parameters leave over. (With few points on one
 * line the sum may be just that on a whole range of scales.) */
static double s_scale(const struct points *p, double level, double slope)
{
	double half = 0.5 * (p->n - p->parameters), low = TINY, high = TINY;
	for (uint32_t i = 0; i < p->n; i++)
		high = fmax(high, 4 * fabs(residual(p, i, level, slope))); /* there the sum is less, from four points on */
	while (high / low > 1 + TIE / 100) {
		double mid = sqrt(low * high);
		if (sum_of_loss(p, level, slope, mid) >= half * (1 - 1e-12))
			low = mid;
		else
			high = mid;
	}
	return low;
}

/* Of two as good: the one that turns less, then the lower; so that the order of the points is no matter. */
static bool is_before(double level, double slope, double than_level, double than_slope)
{
	double turns = fabs(slope) - fabs(than_slope);
	return turns < -TIE || (turns < TIE && level < than_level);
}

/* The best of all lines through one point, or two. */
static double s_line(const struct points *p, double *ret_level, double *ret_slope)
{
	double best = INFINITY, half = 0.5 * (p->n - p->parameters);
	for (uint32_t i = 0; i < p->n; i++) {
		for (uint32_t j = 0; j < (p->parameters == 2 ? i : 1); j++) {
			double across = p->parameters == 2 ? p->x[i] - p->x[j] : 0;
			if (p->parameters == 2 && fabs(across) < TINY)
				continue;
			double slope = p->parameters == 2 ? (p->y[i] - p->y[j]) / across : 0, level = p->y[i] - slope * p->x[i];
			if (best < INFINITY && sum_of_loss(p, level, slope, best * (1 + TIE)) >= half)
				continue; /* its scale is more */
			double scale = s_scale(p, level, slope);
			if (scale < best * (1 - TIE) || (scale < best * (1 + TIE) && is_before(level, slope, *ret_level, *ret_slope))) {
				best = scale;
				*ret_level = level;
				*ret_slope = slope;
			}
		}
	}
	return best;
}

struct sums {
	double weights, middle, across; /* of x: weighted middle, and squares about it */
};

/* Weighted least squares. False where the weights leave nothing to lay a line through. */
static bool least_squares(const struct points *p, const double *w, double *level, double *slope, struct sums *ret)
{
	struct sums s = { 0, 0, 0 };
	double mean_y = 0, product = 0;
	for (uint32_t i = 0; i < p->n; i++) {
		s.weights += w[i];
		s.middle += w[i] * p->x[i];
		mean_y += w[i] * p->y[i];
	}
	if (s.weights < TINY)
		return false;
	s.middle /= s.weights;
	mean_y /= s.weights;
	for (uint32_t i = 0; i < p->n; i++) {
		double dx = p->x[i] - s.middle;
		s.across += w[i] * dx * dx;
		product += w[i] * dx * (p->y[i] - mean_y);
	}
	if (p->parameters == 2 && s.across < TINY)
		return false;
	*slope = p->parameters == 2 ? product / s.across : 0;
	*level = mean_y - *slope * s.middle;
	*ret = s;
	return true;
}

/* Two-sided 90 % quantile of Student's t. G. W. Hill, Algorithm 396, Comm. ACM 13 (1970) 619; between one and two degrees
 * of freedom, where it is poor, a line in the logarithm, which is on the wide side. */
static double student_90(double df)
{
	const double p = 0.1, z2 = 1.6448536269514722 * 1.6448536269514722;
	if (df <= 2)
		return exp(log(6.313751514675) + (fmax(df, 1) - 1) * log(2.919985580355516 / 6.313751514675));
	double a = 1 / (df - 0.5), b = 48 / (a * a), c = ((20700 * a / b - 98) * a - 16) * a + 96.36;
	double d = ((94.5 / (b + c) - 3) / b + 1) * sqrt(a * 1.5707963267948966) * df, x = d * p, y = pow(x, 2 / df);
	if (y > 0.05 + a) {
		x = -sqrt(z2);
		y = z2;
		if (df < 5)
			c += 0.3 * (df - 4.5) * (x + 0.6);
		c = (((0.05 * d * x - 5) * x - 7) * x - 2) * x + b + c;
		y = (((((0.4 * y + 6.3) * y + 36) * y + 94.5) / c - y - 3) / b + 1) * x;
		y = expm1(a * y * y);
	} else {
		y = ((1 / (((df + 6) / (df * y) - 0.089 * d - 0.822) * (df + 2) * 3) + 0.5 / (df + 4)) * y - 1) * (df + 1) / (df + 2) +
			1 / y;
	}
	return sqrt(df * y);
}

static void intervals(const struct points *p, const struct sums *s, struct field_line *line)
{
	double df = fmin(s->weights / MEAN_WEIGHT, p->n) - p->parameters;
	double error = line->scale * sqrt(COV_FACTOR) * student_90(df) * (p->n > 4 ? 1 + WIDENED / p->n : 1);
	bool has_slope = p->parameters == 2;
	line->middle = s->middle;
	line->middle_half = error / sqrt(s->weights);
	line->slope_half = has_slope ? error / sqrt(s->across) : 0;
	line->level_half = error * sqrt(1 / s->weights + (has_slope ? s->middle * s->middle / s->across : 0));
}

void field_fit(const double *x, const double *y, uint32_t n, bool has_slope, struct field_line *ret_line)
{
	struct points p = { x, y, n, has_slope ? 2 : 1 };
	struct field_line line = { .slope = 0 };
	struct sums sums = { 0, 0, 0 };
	double least = SCALE_SHARE * s_line(&p, &line.level, &line.slope);
	line.scale = fmax(least / SCALE_SHARE, WET_JUDGED_STOPS);
	for (int step = 0; step < STEPS; step++) {
		double level = line.level, slope = line.slope, scale = line.scale, squares = 0;
		for (uint32_t i = 0; i < n; i++)
			line.weights[i] = weight(residual(&p, i, level, slope) / scale);
		if (!least_squares(&p, line.weights, &line.level, &line.slope, &sums))
			break;
		for (uint32_t i = 0; i < n; i++) {
			double r = residual(&p, i, line.level, line.slope);
			squares += line.weights[i] * r * r;
		}
		line.scale = sqrt(squares / (KAPPA * sums.weights) * n / (n - p.parameters));
		line.scale = fmax(fmax(line.scale, least), WET_JUDGED_STOPS);
		if (fabs(line.level - level) + fabs(line.slope - slope) + fabs(line.scale - scale) < 1e-10)
			break;
	}
	intervals(&p, &sums, &line);
	*ret_line = line;
}
