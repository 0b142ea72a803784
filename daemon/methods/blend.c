/* blend.c: hot and cold water, and stock, to a temperature. */
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <math.h>
#include <string.h>

/* A quantity that is answered in the unit in which it was asked. */
static bool want_quantity(struct wet_call *c, const char *key, enum wet_quantity_kind kind, struct wet_quantity *ret)
{
	char text[48] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, true, text, sizeof text))
		return false;
	return wet_parse_quantity(text, kind, ret, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

static char *in_unit(int64_t value, enum wet_unit unit, char *buf, unsigned n)
{
	return wet_print_quantity_about((struct wet_quantity){ value, unit }, unit == WET_UNIT_ML ? 1 : 2, buf, n);
}

void serve_blend(struct wet_call *c)
{
	struct wet_blend_ask ask = { .step_ul = 1000 };
	struct wet_blend b;
	struct wet_quantity make, to;
	struct wet_fault fault = { 0 };
	char hot[48], cold[48], stock[48], total[48], at[48], h[48], k[48], text[400];
	if (!want_quantity(c, "to", WET_QUANTITY_TEMPERATURE, &to) ||
		!want_quantity(c, "make", WET_QUANTITY_VOLUME, &make) || !want_temperature(c, "hot", true, &ask.hot_mc) ||
		!want_temperature(c, "cold", true, &ask.cold_mc) || !want_volume(c, "stock", false, &ask.stock_ul) ||
		!want_volume(c, "step", false, &ask.step_ul))
		return;
	ask.target_mc = (int32_t)to.value;
	ask.total_ul = make.value;
	ask.stock_mc = ask.cold_mc;
	if (!want_temperature(c, "stock_at", false, &ask.stock_mc))
		return;
	if (wet_blend(&ask, &b, &fault) != 0) {
		call_fault(c, &fault);
		return;
	}
	wet_text_format(text, sizeof text, "%s of hot water (%s) and %s of cold (%s)",
					in_unit(b.hot_ul, make.unit, hot, sizeof hot), in_unit(ask.hot_mc, to.unit, h, sizeof h),
					in_unit(b.cold_ul, make.unit, cold, sizeof cold), in_unit(ask.cold_mc, to.unit, k, sizeof k));
	in_unit(b.stock_ul, make.unit, stock, sizeof stock);
	if (b.stock_ul > 0)
		wet_text_append(text, sizeof text, ", then %s of stock", stock);
	wet_text_append(text, sizeof text, ": %s at %s. Measure it before it is used.%s",
					in_unit(b.total_ul, make.unit, total, sizeof total),
					in_unit(b.temperature_mc, to.unit, at, sizeof at),
					ask.hot_mc > WET_SCALD_MC ? " Hot water scalds: no hands in it over 48 C (118 F)." : "");
	call_result(c, json_pack("{s:s, s:s, s:s, s:s, s:s, s:I, s:I, s:I, s:I, s:i, s:s}", "hot", hot, "cold", cold, "stock",
							 stock, "total", total, "temperature", at, "hot_ul", (json_int_t)b.hot_ul, "cold_ul",
							 (json_int_t)b.cold_ul, "stock_ul", (json_int_t)b.stock_ul, "total_ul",
							 (json_int_t)b.total_ul, "temperature_mc", (int)b.temperature_mc, "text", text));
}

/* Newton's constant of a bottle: told, or from one reading of it on its way. */
static bool want_constant(struct wet_call *c, int32_t from_mc, int32_t in_mc, int64_t *ret_tau_ns)
{
	int64_t after_ns = 0;
	int32_t reads_mc = INT32_MIN;
	struct wet_fault fault = { 0 };
	*ret_tau_ns = 0;
	if (!want_duration(c, "constant", ret_tau_ns) || !want_duration(c, "after", &after_ns) ||
		!want_temperature(c, "reads", false, &reads_mc))
		return false;
	if (*ret_tau_ns > 0)
		return true;
	double way = reads_mc == INT32_MIN ? 0 : (double)(in_mc - from_mc) / (double)(in_mc - reads_mc);
	double tau_ns = after_ns > 0 && way > 1.0 ? (double)after_ns / log(way) : 0; /* 0 too if it reads what the bath has */
	if (tau_ns >= 1 && tau_ns < 9e18) {
		*ret_tau_ns = (int64_t)tau_ns;
		return true;
	}
	if (after_ns > 0 && reads_mc != INT32_MIN)
		wet_fault_set(&fault, WET_ERR_RANGE, "reads", NULL, "a reading between the bottle's first one and the bath's");
	else
		wet_fault_set(&fault, WET_ERR_PARAMS, "constant", NULL,
					  "how fast your bottle follows: read it once on its way (after 5 min it reads 15 C), or its "
					  "constant, as in 12 min");
	call_fault(c, &fault);
	return false;
}

void serve_blend_time(struct wet_call *c)
{
	int32_t from_mc = 0, in_mc = 0, to_mc = 0;
	int64_t tau_ns, time_ns;
	struct wet_fault fault = { 0 };
	char t[32], tau[32], at[24], in[24], text[320];
	if (!want_temperature(c, "bottle", true, &from_mc) || !want_temperature(c, "in", true, &in_mc) ||
		!want_temperature(c, "to", true, &to_mc) || !want_constant(c, from_mc, in_mc, &tau_ns))
		return;
	if (wet_newton_time(from_mc, to_mc, in_mc, tau_ns, &time_ns, &fault) != 0) {
		call_fault(c, &fault);
		return;
	}
	wet_text_format(text, sizeof text,
					"In water of %s it has %s after %s (its constant is %s). Swirl it, keep the water at its "
					"temperature, and measure before it is used.%s",
					wet_print_temperature(in_mc, in, sizeof in), wet_print_temperature(to_mc, at, sizeof at),
					wet_print_duration(time_ns, t, sizeof t), wet_print_duration(tau_ns, tau, sizeof tau),
					in_mc > WET_SCALD_MC ? " Hot water scalds: no hands in it over 48 C (118 F)." : "");
	call_result(c, json_pack("{s:s, s:I, s:I, s:s}", "time", t, "time_us", (json_int_t)(time_ns / 1000), "constant_us",
							 (json_int_t)(tau_ns / 1000), "text", text));
}
