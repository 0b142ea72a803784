/* blend.c: hot and cold water, and stock, to a temperature; a bottle in a water bath. */
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SCALD " Hot water scalds: no hands in it over 48 C (118 F)."
#define STEP_UL 1000     /* what a graduate shows, where --step doesn't say: 1 mL */
#define STEP_OZ_TENTHS 1 /* ... or a tenth of a fluid ounce */

/* A quantity that is answered in the unit in which it was asked. */
static bool want_quantity(struct wet_call *c, const char *key, enum wet_quantity_kind kind, struct wet_quantity *ret)
{
	char text[48] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, true, text, sizeof text))
		return false;
	return wet_parse_quantity(text, kind, ret, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

/* As a thermometer shows it, in the unit in which it was asked. */
static char *print_asked_temperature(int32_t mc, enum wet_unit unit, char *buf, unsigned n)
{
	return wet_print_quantity_about((struct wet_quantity){ mc, unit }, 1, buf, n);
}

/* -- blend --------------------------------------------------------------------------- */

struct blending {
	struct wet_blend_ask ask;
	struct wet_quantity make, to;
	char vessel[48];
	bool is_stock_told;
};

/* What the vessel takes up: it is as warm as the cold water, if nothing else is told. */
static bool want_vessel(struct wet_call *c, struct blending *b)
{
	struct wet_fault fault = { 0 };
	int32_t at_mc = INT32_MIN;
	if (!want_text(c, "vessel", false, b->vessel, sizeof b->vessel) || !want_temperature(c, "vessel_at", false, &at_mc))
		return false;
	if (!b->vessel[0] && at_mc != INT32_MIN) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "vessel", NULL,
					  "the vessel too: its mass and what it is made of, as in 400 g glass");
		call_fault(c, &fault);
		return false;
	}
	b->ask.vessel_mc = at_mc == INT32_MIN ? b->ask.cold_mc : at_mc;
	if (b->vessel[0] && wet_parse_vessel_heat(b->vessel, &b->ask.vessel_j_per_k, &fault) != 0)
		return call_fault_at(c, "vessel", &fault);
	return true;
}

static bool want_blending(struct wet_call *c, struct blending *b)
{
	struct wet_blend_ask *ask = &b->ask;
	int32_t stock_mc = INT32_MIN;
	int64_t step_ul = 0;
	if (!want_quantity(c, "to", WET_QUANTITY_TEMPERATURE, &b->to) ||
		!want_quantity(c, "make", WET_QUANTITY_VOLUME, &b->make) || !want_temperature(c, "hot", true, &ask->hot_mc) ||
		!want_temperature(c, "cold", true, &ask->cold_mc) || !want_volume(c, "stock", false, &ask->stock_ul) ||
		!want_temperature(c, "stock_at", false, &stock_mc) || !want_volume(c, "step", false, &step_ul) ||
		!want_vessel(c, b))
		return false;
	bool is_metric = b->make.unit == WET_UNIT_ML || b->make.unit == WET_UNIT_L;
	int64_t ounce_ul = 0;
	(void)wet_parse_volume("1 US fl oz", &ounce_ul, NULL); /* an imperial one is 4 % less: near enough for a step */
	ask->step_ul = step_ul > 0 ? step_ul : is_metric ? STEP_UL : ounce_ul * STEP_OZ_TENTHS / 10;
	ask->target_mc = (int32_t)b->to.value;
	ask->total_ul = b->make.value;
	b->is_stock_told = stock_mc != INT32_MIN;
	ask->stock_mc = b->is_stock_told ? stock_mc : ask->cold_mc;
	return true;
}

static void answer_blend(struct wet_call *c, const struct blending *a, const struct wet_blend *b)
{
	enum wet_unit unit = a->make.unit, degrees = a->to.unit;
	char hot[48], cold[48], stock[48], total[48], at[48], h[48], k[48], text[640];
	wet_text_format(text, sizeof text, "%s of hot water (%s) and %s of cold (%s)",
					print_asked_volume(b->hot_ul, unit, hot, sizeof hot),
					print_asked_temperature(a->ask.hot_mc, degrees, h, sizeof h),
					print_asked_volume(b->cold_ul, unit, cold, sizeof cold),
					print_asked_temperature(a->ask.cold_mc, degrees, k, sizeof k));
	print_asked_volume(b->stock_ul, unit, stock, sizeof stock);
	if (b->stock_ul > 0)
		wet_text_append(text, sizeof text, ", then %s of stock (%s%s)", stock,
						print_asked_temperature(a->ask.stock_mc, degrees, h, sizeof h),
						a->is_stock_told ? "" : ", taken to be as cold as the cold water");
	if (a->ask.vessel_j_per_k > 0)
		wet_text_append(text, sizeof text, ", in %s at %s", a->vessel,
						print_asked_temperature(a->ask.vessel_mc, degrees, h, sizeof h));
	wet_text_append(text, sizeof text, ": %s at %s. Measure it before it is used.%s",
					print_asked_volume(b->total_ul, unit, total, sizeof total),
					print_asked_temperature(b->temperature_mc, degrees, at, sizeof at),
					a->ask.hot_mc > WET_SCALD_MC ? SCALD : "");
	call_result(c, json_pack("{s:s, s:s, s:s, s:s, s:s, s:I, s:I, s:I, s:I, s:i, s:i, s:s}", "hot", hot, "cold", cold,
							 "stock", stock, "total", total, "temperature", at, "hot_ul", (json_int_t)b->hot_ul, "cold_ul",
							 (json_int_t)b->cold_ul, "stock_ul", (json_int_t)b->stock_ul, "total_ul",
							 (json_int_t)b->total_ul, "temperature_mc", (int)b->temperature_mc, "vessel_j_per_k",
							 (int)a->ask.vessel_j_per_k, "text", text));
}

void serve_blend(struct wet_call *c)
{
	struct blending a = { .is_stock_told = false };
	struct wet_blend b;
	struct wet_fault fault = { 0 };
	if (!want_blending(c, &a))
		return;
	if (wet_blend(&a.ask, &b, &fault) != 0)
		call_fault(c, &fault);
	else
		answer_blend(c, &a, &b);
}

/* -- a bottle in a bath --------------------------------------------------------------- */

/* Two readings to 0.1 C may be off by half of that each, against each other. */
#define READ_OFF_MC 50
#define STAND_NS_MOST (86400 * WET_NS_PER_S) /* a small bath: a day */

/* Newton's constant, and between which it lies: the same three times where it was told. */
struct constant {
	int64_t tau_ns, least_ns, most_ns;
};

/* By one reading on the way; over_mc is taken off the change that was seen. 0: none. */
static int64_t tau_of(int32_t from_mc, int32_t in_mc, int32_t reads_mc, int64_t after_ns, int32_t over_mc)
{
	int32_t all = in_mc - from_mc, left = in_mc - reads_mc, sign = all < 0 ? -1 : 1;
	double way = (double)(sign * all) / (double)(sign * left + over_mc);
	double tau_ns = sign * left + over_mc > 0 && way > 1.0 ? (double)after_ns / log(way) : 0;
	return tau_ns >= 1 && tau_ns < 9e18 ? (int64_t)tau_ns : 0;
}

/* A window so short that the thermometer's own steps are most of what was seen tells nothing (the rule of
 * WET_FIT_TAU_SHARE_MAX). */
static bool read_constant(struct wet_call *c, const char *key, int32_t from_mc, int32_t in_mc, int32_t reads_mc,
						  int64_t after_ns, struct constant *ret)
{
	struct wet_fault fault = { 0 };
	*ret = (struct constant){ tau_of(from_mc, in_mc, reads_mc, after_ns, 0),
							  tau_of(from_mc, in_mc, reads_mc, after_ns, -2 * READ_OFF_MC),
							  tau_of(from_mc, in_mc, reads_mc, after_ns, 2 * READ_OFF_MC) };
	double band = (double)ret->most_ns - (double)ret->least_ns;
	if (ret->tau_ns > 0 && ret->least_ns > 0 && ret->most_ns > 0 &&
		band <= 2 * WET_FIT_TAU_SHARE_MAX * (double)ret->tau_ns)
		return true;
	if (ret->tau_ns == 0)
		wet_fault_set(&fault, WET_ERR_RANGE, key, NULL, "a reading between the first one and the %s",
					  strcmp(key, "reads") == 0 ? "bath's" : "room's");
	else
		wet_fault_set(&fault, WET_ERR_REFUSED, key, NULL,
					  "half a degree or more from the first reading, and from where it ends: read to 0.1 C, so small a "
					  "difference tells no time; wait %s",
					  abs(reads_mc - from_mc) < abs(in_mc - reads_mc) ? "longer" : "less");
	call_fault(c, &fault);
	return false;
}

/* How fast it follows: told, or from one reading on its way. False where neither is there: `want` says what would be right. */
static bool want_constant(struct wet_call *c, const char *const keys[3], int32_t from_mc, int32_t in_mc, const char *want,
						  struct constant *ret)
{
	int64_t after_ns = 0;
	int32_t reads_mc = INT32_MIN;
	struct wet_fault fault = { 0 };
	*ret = (struct constant){ 0, 0, 0 };
	if (!want_duration(c, keys[0], &ret->tau_ns) || !want_duration(c, keys[1], &after_ns) ||
		!want_temperature(c, keys[2], false, &reads_mc))
		return false;
	ret->least_ns = ret->most_ns = ret->tau_ns;
	if (ret->tau_ns > 0)
		return true;
	if (after_ns > 0 && reads_mc != INT32_MIN)
		return read_constant(c, keys[2], from_mc, in_mc, reads_mc, after_ns, ret);
	wet_fault_set(&fault, WET_ERR_PARAMS, keys[0], NULL, "%s", want);
	call_fault(c, &fault);
	return false;
}

struct standing {
	int32_t from_mc, in_mc, to_mc, room_mc;
	struct constant bottle, bath;
	int64_t holds_ul, bath_ul; /* 0, 0: a bath so large that it keeps its temperature */
};

/* A bath that is not large beside the bottle: both volumes; and the room with what it takes from the bath. */
static bool want_bath(struct wet_call *c, struct standing *s)
{
	static const char *const keys[] = { "bath_constant", "bath_after", "bath_reads" };
	struct wet_fault fault = { 0 };
	if (!want_volume(c, "holds", false, &s->holds_ul) || !want_volume(c, "bath", false, &s->bath_ul) ||
		!want_temperature(c, "room", false, &s->room_mc))
		return false;
	bool has_loss = false;
	for (int i = 0; i < 3; i++)
		has_loss = has_loss || json_is_string(json_object_get(c->params, keys[i]));
	if ((s->holds_ul > 0) != (s->bath_ul > 0))
		wet_fault_set(&fault, WET_ERR_PARAMS, s->bath_ul > 0 ? "holds" : "bath", NULL,
					  "both what the bottle holds and the water of the bath, as in holds 1 L and bath 5 L");
	else if ((s->room_mc != INT32_MIN || has_loss) && s->bath_ul == 0)
		wet_fault_set(&fault, WET_ERR_PARAMS, "bath", NULL,
					  "how much water the bath has, and what the bottle holds, so that the room can be counted");
	else if (has_loss && s->room_mc == INT32_MIN)
		wet_fault_set(&fault, WET_ERR_PARAMS, "room", NULL, "the room's temperature, to which the bath cools");
	if (fault.err != WET_OK) {
		call_fault(c, &fault);
		return false;
	}
	return s->room_mc == INT32_MIN ||
		   want_constant(c, keys, s->in_mc, s->room_mc,
						 "how fast the bath cools by itself: read it once later (after 30 min it reads 31 C), or its constant, "
						 "as in 3 h",
						 &s->bath);
}

static double water_j_per_k(int64_t volume_ul, int32_t mc)
{
	double c = mc / 1000.0;
	return (double)volume_ul / 1e9 * wet_water_density(c) * wet_water_heat_capacity(c);
}

/* The time for one constant of the bottle, and what the bath has then. */
static int stand(const struct standing *s, int64_t tau_ns, int64_t *ret_time_ns, double *ret_bath_c, struct wet_fault *f)
{
	double tank_c;
	*ret_bath_c = s->in_mc / 1000.0;
	if (s->bath_ul == 0)
		return wet_newton_time(s->from_mc, s->to_mc, s->in_mc, tau_ns, ret_time_ns, f);
	/* Water of 0 to 100 C: what is typed beyond is refused there. */
	if (s->from_mc < 0 || s->from_mc > 100000 || s->in_mc < 0 || s->in_mc > 100000)
		return wet_fault_set(f, WET_ERR_RANGE, s->in_mc < 0 || s->in_mc > 100000 ? "in" : "bottle", NULL,
							 "liquid water, 0 C to 100 C");
	struct wet_two_body two = { .tank_j_per_k = water_j_per_k(s->holds_ul, s->from_mc),
								.bath_j_per_k = water_j_per_k(s->bath_ul, s->in_mc),
								.tank_mc = s->from_mc,
								.bath_mc = s->in_mc,
								.room_mc = s->room_mc == INT32_MIN ? s->in_mc : s->room_mc };
	two.tank_bath_w_per_k = two.tank_j_per_k / ((double)tau_ns / 1e9);
	if (s->room_mc != INT32_MIN)
		two.bath_room_w_per_k = two.bath_j_per_k / ((double)s->bath.tau_ns / 1e9);
	int rc = wet_two_body_time(&two, s->to_mc, STAND_NS_MOST, ret_time_ns, f);
	return rc != 0 ? rc : wet_two_body_after(&two, (double)*ret_time_ns / 1e9, &tank_c, ret_bath_c, f);
}

static void say_stand(const struct standing *s, int64_t time_ns, double bath_c, char *text, unsigned n)
{
	char t[32], tau[32], at[24], in[24], v[32], room[24];
	struct wet_fault fault = { 0 };
	int64_t least_ns = time_ns, most_ns = time_ns;
	double c;
	wet_print_temperature(s->in_mc, in, sizeof in);
	if (s->bath_ul > 0)
		wet_text_format(text, n, "In %s of water that begins at %s", wet_print_volume(s->bath_ul, v, sizeof v), in);
	else
		wet_text_format(text, n, "In water of %s", in);
	if (s->room_mc != INT32_MIN)
		wet_text_append(text, n, ", in a room of %s,", wet_print_temperature(s->room_mc, room, sizeof room));
	wet_text_append(text, n, " it has %s after %s (its constant is %s", wet_print_temperature(s->to_mc, at, sizeof at),
					wet_print_duration(time_ns, t, sizeof t), wet_print_duration(s->bottle.tau_ns, tau, sizeof tau));
	if (s->bottle.least_ns != s->bottle.most_ns && stand(s, s->bottle.least_ns, &least_ns, &c, &fault) == 0 &&
		stand(s, s->bottle.most_ns, &most_ns, &c, &fault) == 0)
		wet_text_append(text, n, "; read to 0.1 C, it is between %s and %s", wet_print_duration(least_ns, t, sizeof t),
						wet_print_duration(most_ns, tau, sizeof tau));
	wet_text_append(text, n, ").");
	if (s->bath_ul > 0)
		wet_text_append(text, n, " The bath has %s then.",
						wet_print_temperature((int32_t)lround(bath_c * 10) * 100, v, sizeof v));
	wet_text_append(text, n, " Swirl it%s, and measure before it is used.%s",
					s->bath_ul > 0 ? "" : ", keep the water at its temperature", s->in_mc > WET_SCALD_MC ? SCALD : "");
}

void serve_blend_time(struct wet_call *c)
{
	static const char *const keys[] = { "constant", "after", "reads" };
	struct standing s = { .room_mc = INT32_MIN };
	int64_t time_ns;
	double bath_c;
	struct wet_fault fault = { 0 };
	char t[32], text[512];
	if (!want_temperature(c, "bottle", true, &s.from_mc) || !want_temperature(c, "in", true, &s.in_mc) ||
		!want_temperature(c, "to", true, &s.to_mc) ||
		!want_constant(c, keys, s.from_mc, s.in_mc,
					   "how fast your bottle follows: read it once on its way (after 5 min it reads 15 C), or its constant, "
					   "as in 12 min",
					   &s.bottle) ||
		!want_bath(c, &s))
		return;
	if (stand(&s, s.bottle.tau_ns, &time_ns, &bath_c, &fault) != 0) {
		call_fault(c, &fault);
		return;
	}
	say_stand(&s, time_ns, bath_c, text, sizeof text);
	call_result(c, json_pack("{s:s, s:I, s:I, s:i, s:s}", "time", wet_print_duration(time_ns, t, sizeof t), "time_us",
							 (json_int_t)(time_ns / 1000), "constant_us", (json_int_t)(s.bottle.tau_ns / 1000), "bath_mc",
							 (int)lround(bath_c * 1000), "text", text));
}
