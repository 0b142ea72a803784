/* law.c: the rate at a temperature, as pieces that are log-linear in T. */
#include "heat/pieces.h"

#include <math.h>
#include <string.h>

static void add_knot(struct pieces *p, double c, double log_rate)
{
	if (p->count > 0 && c <= p->c[p->count - 1])
		return;
	p->c[p->count] = c;
	p->log_rate[p->count] = log_rate;
	p->count++;
}

static double table_log_time(const struct wet_law *law, double c)
{
	int n = law->row_count;
	if (c <= law->rows[0].temperature_mc / 1000.0)
		return log((double)law->rows[0].time_ns);
	for (int i = 1; i < n; i++) {
		double a = law->rows[i - 1].temperature_mc / 1000.0, b = law->rows[i].temperature_mc / 1000.0;
		if (c <= b) {
			double la = log((double)law->rows[i - 1].time_ns), lb = log((double)law->rows[i].time_ns);
			return la + (lb - la) * (c - a) / (b - a);
		}
	}
	return log((double)law->rows[n - 1].time_ns);
}

/* log r(T) as a polyline, flat beyond its ends; FACTOR without limits is a straight line (count 0). */
void pieces_of(const struct wet_law *law, struct pieces *ret_pieces)
{
	struct pieces p = { .count = 0, .slope = 0, .zero_c = 0 };
	double lo = law->min_mc == INT32_MIN ? -INFINITY : law->min_mc / 1000.0;
	double hi = law->max_mc == INT32_MAX ? INFINITY : law->max_mc / 1000.0;
	switch (law->kind) {
	case WET_LAW_FACTOR:
		p.slope = log(law->factor_per_10c) / 10.0;
		p.zero_c = law->tref_mc / 1000.0;
		break;
	case WET_LAW_TABLE: {
		double at_ref = table_log_time(law, law->tref_mc / 1000.0);
		for (int i = 0; i < law->row_count; i++)
			add_knot(&p, law->rows[i].temperature_mc / 1000.0, at_ref - log((double)law->rows[i].time_ns));
		break;
	}
	case WET_LAW_FIXING: /* min(1, 2^((T-20)/10)): far below, the line goes on (no bath is under -50 C) */
		add_knot(&p, -80.0, -10.0 * log(2.0));
		add_knot(&p, 20.0, 0.0);
		break;
	case WET_LAW_WASHING:
		add_knot(&p, 1.7, -log(4.0));
		add_knot(&p, 10.0, -log(2.0));
		add_knot(&p, 18.3, 0.0);
		break;
	default: add_knot(&p, 0.0, 0.0); break;
	}
	p.min_c = lo;
	p.max_c = hi;
	*ret_pieces = p;
}

double pieces_log_rate(const struct pieces *p, double c)
{
	if (c < p->min_c)
		c = p->min_c;
	if (c > p->max_c)
		c = p->max_c;
	if (p->count == 0)
		return p->slope * (c - p->zero_c);
	if (c <= p->c[0])
		return p->log_rate[0];
	for (int i = 1; i < p->count; i++) {
		if (c <= p->c[i]) {
			double f = (c - p->c[i - 1]) / (p->c[i] - p->c[i - 1]);
			return p->log_rate[i - 1] + f * (p->log_rate[i] - p->log_rate[i - 1]);
		}
	}
	return p->log_rate[p->count - 1];
}

double wet_law_rate(const struct wet_law *law, double temperature_c)
{
	struct pieces p;
	pieces_of(law, &p);
	return exp(pieces_log_rate(&p, temperature_c));
}

bool wet_law_covers(const struct wet_law *law, double temperature_c)
{
	double mc = temperature_c * 1000.0;
	if (mc < law->min_mc || mc > law->max_mc)
		return false;
	if (law->kind == WET_LAW_TABLE && law->row_count > 0)
		return mc >= law->rows[0].temperature_mc && mc <= law->rows[law->row_count - 1].temperature_mc;
	return true;
}

double wet_newton_c(double t0_c, double room_c, double tau_s, double for_s)
{
	return room_c + (t0_c - room_c) * exp(-for_s / tau_s);
}

double wet_factor_from_per_7c(double factor_per_7c)
{
	return pow(factor_per_7c, 10.0 / 7.0);
}
