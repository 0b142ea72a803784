/* blend.c: hot and cold water, and stock, to a temperature. */
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

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
					ask.hot_mc > 48000 ? " Hot water scalds: no hands in it over 48 C (118 F)." : "");
	call_result(c, json_pack("{s:s, s:s, s:s, s:s, s:s, s:I, s:I, s:I, s:I, s:i, s:s}", "hot", hot, "cold", cold, "stock",
							 stock, "total", total, "temperature", at, "hot_ul", (json_int_t)b.hot_ul, "cold_ul",
							 (json_int_t)b.cold_ul, "stock_ul", (json_int_t)b.stock_ul, "total_ul",
							 (json_int_t)b.total_ul, "temperature_mc", (int)b.temperature_mc, "text", text));
}
