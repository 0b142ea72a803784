/* test_tempering.c: what tempering refuses and says, and its edges; its values are judged in
 * tests/outside/. */
#include "wetside/tempering.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define MINUTE 60000000000LL
#define ML 1000LL

/* 600 mL at 20 C from a tap of 12 C and a kettle's mixture of 45 C. */
static struct wet_blend_ask creek(void)
{
	return (struct wet_blend_ask){
		.total_ul = 600 * ML, .target_mc = 20000, .hot_mc = 45000, .cold_mc = 12000, .step_ul = 1
	};
}

static void expect_fault(const struct wet_blend_ask *ask, int err, const char *where, const char *want)
{
	struct wet_blend b = { .hot_ul = -1 };
	struct wet_fault fault = { 0 };
	int rc = wet_blend(ask, &b, &fault);
	cr_expect_eq(rc, err, "%s: %s", where, wet_err_name(rc));
	cr_expect_str_eq(fault.where, where, "%s", fault.where);
	cr_expect_not_null(strstr(fault.want, want), "%s: %s", where, fault.want);
	cr_expect_eq(b.hot_ul, -1);
	cr_expect_eq(wet_blend(ask, &b, NULL), err);
}

Test(blend, each_wrong_value_is_named)
{
	struct wet_blend_ask a;
#define WRONG(change, err, where, want)     \
	do {                                    \
		a = creek();                        \
		change;                             \
		expect_fault(&a, err, where, want); \
	} while (0)
	WRONG(a.total_ul = 0, WET_ERR_RANGE, "total", "over nothing");
	WRONG(a.total_ul = WET_BLEND_UL_MAX + 1, WET_ERR_RANGE, "total", "over nothing");
	WRONG(a.step_ul = 0, WET_ERR_RANGE, "step", "graduate");
	WRONG(a.target_mc = 100001, WET_ERR_RANGE, "target", "0 C to 100 C");
	WRONG(a.hot_mc = 100001, WET_ERR_RANGE, "hot water", "0 C to 100 C");
	WRONG(a.cold_mc = -1, WET_ERR_RANGE, "cold water", "0 C to 100 C");
	WRONG(a.hot_mc = 11999, WET_ERR_INVALID, "hot water", "the cooler as cold");
	WRONG(a.stock_ul = -1, WET_ERR_RANGE, "stock", "or none");
	WRONG(a.stock_ul = 600 * ML, WET_ERR_RANGE, "stock", "less stock than the total of 600 mL");
	WRONG((a.stock_ul = 1, a.stock_g_per_l = 1100), WET_ERR_INVALID, "stock", "together");
	WRONG((a.stock_ul = 1, a.stock_percent_milli = 20000), WET_ERR_INVALID, "stock", "together");
	WRONG((a.stock_ul = 1, a.stock_percent_milli = 20000, a.stock_g_per_l = 11), WET_ERR_RANGE,
		  "stock density", "g/mL");
	WRONG((a.stock_ul = 1, a.stock_percent_milli = 100001, a.stock_g_per_l = 1100), WET_ERR_RANGE,
		  "stock strength", "100 % by mass");
	WRONG((a.stock_ul = 1, a.stock_solute_j_per_kg_k = 5001), WET_ERR_RANGE, "stock heat capacity", "5000");
	WRONG((a.stock_ul = 1, a.stock_mc = -1), WET_ERR_RANGE, "stock temperature", "0 C to 100 C");
	WRONG(a.vessel_j_per_k = -1, WET_ERR_RANGE, "vessel", "J/K");
	WRONG((a.vessel_j_per_k = 1, a.vessel_mc = -1), WET_ERR_RANGE, "vessel", "0 C to 100 C");
#undef WRONG
	/* What isn't there isn't read. */
	struct wet_blend b;
	a = creek();
	a.stock_mc = a.vessel_mc = INT32_MIN;
	a.stock_g_per_l = 11;
	cr_expect_eq(wet_blend(&a, &b, NULL), 0);
	cr_expect_eq(wet_blend_temperature(&a, 601 * ML, &a.target_mc, NULL), WET_ERR_RANGE);
}

Test(blend, a_cold_vessel_takes_its_share)
{
	struct wet_blend_ask a = creek();
	struct wet_blend without, with, warm;
	cr_assert_eq(wet_blend(&a, &without, NULL), 0);
	a.vessel_j_per_k = 250;
	a.vessel_mc = 12000;
	cr_assert_eq(wet_blend(&a, &with, NULL), 0);
	/* 250 J/K raised by 8 K are 2 kJ; a millilitre of hot for cold brings 4.1 J/K by 33 K. From memory. */
	cr_assert_float_eq((double)(with.hot_ul - without.hot_ul), 2000 / (4.14 * 33) * 1000, 200, "%ld",
					   (long)(with.hot_ul - without.hot_ul));
	a.vessel_mc = 20000;
	cr_assert_eq(wet_blend(&a, &warm, NULL), 0);
	cr_assert_eq(warm.hot_ul, without.hot_ul, "a vessel at the target changes nothing");
}

Test(blend, a_dense_stock_holds_about_the_heat_of_its_volume_of_water)
{
	/* 20 % of thiosulfate by mass has 1.174 g/mL at 20 C (engineeringtoolbox.com d_1957, after the CRC
	 * tables). */
	struct wet_blend_ask a = creek();
	struct wet_blend as_water, as_stock;
	a.stock_ul = 150 * ML;
	a.stock_mc = 18000;
	cr_assert_eq(wet_blend(&a, &as_water, NULL), 0);
	a.stock_g_per_l = 1174;
	a.stock_percent_milli = 20000;
	cr_assert_eq(wet_blend(&a, &as_stock, NULL), 0);
	cr_assert_neq(as_stock.hot_ul, as_water.hot_ul);
	cr_assert_float_eq((double)as_stock.hot_ul, (double)as_water.hot_ul, 0.01 * (double)as_water.hot_ul);
	a.stock_solute_j_per_kg_k = 4000;
	struct wet_blend heavier;
	cr_assert_eq(wet_blend(&a, &heavier, NULL), 0);
	cr_assert_gt(heavier.hot_ul, as_stock.hot_ul, "what holds more heat needs more hot water");
}

Test(blend, volumes_are_rounded_to_the_graduate)
{
	struct wet_blend_ask a = creek();
	struct wet_blend exact, rounded;
	int32_t less, more;
	a.stock_ul = 37 * ML;
	a.stock_mc = 18000;
	cr_assert_eq(wet_blend(&a, &exact, NULL), 0);
	cr_assert_eq(exact.temperature_mc, 20000);
	a.step_ul = 10 * ML;
	cr_assert_eq(wet_blend(&a, &rounded, NULL), 0);
	cr_assert_eq(rounded.hot_ul % (10 * ML), 0);
	cr_assert_eq(rounded.hot_ul + rounded.cold_ul + rounded.stock_ul, 600 * ML);
	cr_assert_neq(rounded.temperature_mc, 20000);
	cr_assert_eq(wet_blend_temperature(&a, rounded.hot_ul - 10 * ML, &less, NULL), 0);
	cr_assert_eq(wet_blend_temperature(&a, rounded.hot_ul + 10 * ML, &more, NULL), 0);
	cr_assert_leq(abs(rounded.temperature_mc - 20000), abs(less - 20000));
	cr_assert_leq(abs(rounded.temperature_mc - 20000), abs(more - 20000));
	/* A graduate larger than all: nothing hot or all hot, whichever is nearer. */
	a.step_ul = 1000 * ML;
	cr_assert_eq(wet_blend(&a, &rounded, NULL), 0);
	cr_assert_eq(rounded.hot_ul, 0);
	a.target_mc = 40000;
	cr_assert_eq(wet_blend(&a, &rounded, NULL), 0);
	cr_assert_eq(rounded.cold_ul, 0);
}

Test(blend, out_of_reach_is_told_with_what_would_help)
{
	struct wet_blend_ask a = creek();
	struct wet_blend_range r;
	a.total_ul = 1000 * ML;
	a.stock_ul = 600 * ML;
	a.stock_mc = 15000;
	a.target_mc = 30000;
	expect_fault(&a, WET_ERR_REFUSED, "target",
				 "(all cold) to 26.9 C (all hot), nearest is 26.9 C; needs hot water at 52.8 C or over, or "
				 "stock at 20.1 C or over");
	a.target_mc = 8000;
	expect_fault(&a, WET_ERR_REFUSED, "target", "nearest is 13.8 C; needs stock at 5.3 C or under");
	cr_assert_eq(wet_blend_range(&a, &r, NULL), 0);
	cr_assert_eq(r.reach, WET_BLEND_TOO_COOL);
	cr_assert_eq(r.nearest_mc, r.all_cold_mc);
	cr_assert_eq(r.cold_needed_mc, WET_NO_HELP, "melting ice would not do: %d", r.cold_needed_mc);
	cr_assert_eq(r.vessel_needed_mc, WET_NO_HELP);
	/* A little warm stock: only the water is to blame. */
	a.stock_ul = 10 * ML;
	a.vessel_j_per_k = 1;
	a.vessel_mc = 20000;
	a.cold_mc = a.hot_mc = 90000;
	a.target_mc = 10000;
	expect_fault(&a, WET_ERR_REFUSED, "target", "nearest is 89.3 C; needs cold water at 9.9 C or under");
	/* Half of all is stock, and all is hot. */
	a.stock_ul = 500 * ML;
	a.stock_mc = 90000;
	expect_fault(&a, WET_ERR_REFUSED, "target", "no single change of water, stock or vessel is enough");
}

/* -- dissolving ------------------------------------------------------------------- */

Test(dissolve, each_wrong_value_is_named)
{
	const struct wet_dissolving good = { .water_ul = 1000 * ML,
										 .water_mc = 20000,
										 .solid_mg = 100000,
										 .solid_mc = 20000,
										 .j_per_mol = 64870,
										 .g_per_mol = 286.14 };
	struct wet_dissolving a;
	struct wet_dissolved d = { .temperature_mc = -7 };
	struct wet_fault fault;
#define WRONG(change, err, place)                                \
	do {                                                         \
		a = good;                                                \
		change;                                                  \
		cr_expect_eq(wet_dissolve(&a, &d, &fault), err);         \
		cr_expect_str_eq(fault.where, place, "%s", fault.where); \
		cr_expect_eq(d.temperature_mc, -7);                      \
	} while (0)
	WRONG(a.water_ul = 0, WET_ERR_RANGE, "water");
	WRONG(a.water_mc = 100001, WET_ERR_RANGE, "water");
	WRONG(a.solid_mg = -1, WET_ERR_RANGE, "solid");
	WRONG(a.solid_mc = -50001, WET_ERR_RANGE, "solid");
	WRONG(a.j_per_mol = NAN, WET_ERR_RANGE, "heat of solution");
	WRONG(a.g_per_mol = 0, WET_ERR_RANGE, "molar mass");
	WRONG(a.g_per_mol = NAN, WET_ERR_RANGE, "molar mass");
	WRONG((a.solid_mg = 300000, a.water_mc = 5000), WET_ERR_REFUSED, "dissolving");
	cr_expect_not_null(strstr(fault.want, "freeze"), "%s", fault.want);
	WRONG(a.j_per_mol = -1e6, WET_ERR_REFUSED, "dissolving");
	cr_expect_not_null(strstr(fault.want, "boil"), "%s", fault.want);
#undef WRONG
	a = good;
	a.solid_mg = 0;
	cr_assert_eq(wet_dissolve(&a, &d, NULL), 0);
	cr_assert_eq(d.temperature_mc, 20000);
	cr_assert_eq(d.change_mc, 0);
}

Test(dissolve, unknown_is_said_and_not_guessed)
{
	struct wet_solution_heat heat;
	struct wet_fault fault;
	cr_assert_eq(wet_solution_heat("Na2S2O3.5H2O", &heat, &fault), WET_ERR_NOT_FOUND);
	cr_assert_not_null(strstr(fault.want, "not known"), "%s", fault.want);
	cr_assert_str_eq(fault.found, "Na2S2O3.5H2O");
	cr_assert_eq(wet_solution_heat("", &heat, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_solution_heat("Na2CO3", &heat, NULL), 0);
	cr_assert_gt(strlen(heat.source), 20);
}

/* -- the bath --------------------------------------------------------------------- */

static void expect_never(int32_t from, int32_t to, int32_t bath, const char *want)
{
	int64_t ns = -1;
	struct wet_fault fault = { 0 };
	cr_expect_eq(wet_newton_time(from, to, bath, 15 * MINUTE, &ns, &fault), WET_ERR_REFUSED);
	cr_expect_not_null(strstr(fault.want, want), "%s", fault.want);
	cr_expect_eq(ns, -1);
}

Test(newton, what_is_never_reached_is_told)
{
	int64_t ns;
	expect_never(26000, 18000, 20000,
				 "between 26 C and the bath's 20 C; this is never reached without a cooler bath");
	expect_never(26000, 27000, 20000,
				 "between 26 C and the bath's 20 C; this is never reached without a warmer bath");
	expect_never(12000, 22000, 20000, "without a warmer bath");
	expect_never(26000, 20000, 20000, "short of the bath's, which is only come near to, or a cooler bath");
	expect_never(12000, 20000, 20000, "or a warmer bath");
	expect_never(20000, 21000, 20000, "at 20 C as it is, nothing changes");
	cr_expect_eq(wet_newton_time(20000, 20000, 20000, 1, &ns, NULL), 0);
	cr_expect_eq(ns, 0);
	cr_expect_eq(wet_newton_time(26000, 26000, 20000, 1, &ns, NULL), 0);
	cr_expect_eq(ns, 0);
	cr_expect_eq(wet_newton_time(26000, 21000, 20000, 0, &ns, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_newton_time(26000, 21000, 20000, WET_TAU_NS_MAX + 1, &ns, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_newton_time(150001, 21000, 20000, 1, &ns, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_newton_time(26000, 150001, 20000, 1, &ns, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_newton_time(26000, 21000, -50001, 1, &ns, NULL), WET_ERR_RANGE);
	int32_t mc;
	cr_expect_eq(wet_newton_after(26000, 20000, MINUTE, -1, &mc, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_newton_after(26000, 20000, 0, 1, &mc, NULL), WET_ERR_RANGE);
}

Test(newton, time_and_temperature_are_inverse)
{
	for (int32_t to = 20001; to <= 26000; to += 7) {
		int64_t ns;
		int32_t mc;
		cr_assert_eq(wet_newton_time(26000, to, 20000, 900000000000LL, &ns, NULL), 0);
		cr_assert_eq(wet_newton_after(26000, 20000, 900000000000LL, ns, &mc, NULL), 0);
		cr_assert_eq(mc, to);
	}
}

static const struct wet_two_body tub = { .tank_j_per_k = 4186,
										 .bath_j_per_k = 41860,
										 .tank_bath_w_per_k = 14,
										 .bath_room_w_per_k = 8,
										 .tank_mc = 26000,
										 .bath_mc = 20000,
										 .room_mc = 17000 };

Test(two_body, each_wrong_value_is_named)
{
	struct wet_two_body w;
	struct wet_fault fault;
	double tank = -7, bath = -7;
	int64_t ns;
#define WRONG(change, place)                                                          \
	do {                                                                              \
		w = tub;                                                                      \
		change;                                                                       \
		cr_expect_eq(wet_two_body_after(&w, 1, &tank, &bath, &fault), WET_ERR_RANGE); \
		cr_expect_str_eq(fault.where, place);                                         \
		cr_expect_eq(wet_two_body_time(&w, 21000, MINUTE, &ns, NULL), WET_ERR_RANGE); \
	} while (0)
	WRONG(w.tank_j_per_k = 0, "heat capacity");
	WRONG(w.bath_j_per_k = INFINITY, "heat capacity");
	WRONG(w.tank_bath_w_per_k = -1, "coupling");
	WRONG(w.bath_room_w_per_k = NAN, "coupling");
	WRONG(w.tank_mc = 150001, "tank");
	WRONG(w.bath_mc = -50001, "bath");
	WRONG(w.room_mc = -50001, "room");
#undef WRONG
	cr_expect_eq(wet_two_body_after(&tub, -1, &tank, &bath, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_two_body_after(&tub, NAN, &tank, &bath, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_two_body_time(&tub, 150001, MINUTE, &ns, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_two_body_time(&tub, 21000, 0, &ns, NULL), WET_ERR_RANGE);
	cr_expect_eq(tank, -7);
	cr_expect_eq(bath, -7);
}

Test(two_body, without_a_room_heat_is_kept_and_without_a_bath_nothing_changes)
{
	struct wet_two_body w = tub;
	double tank, bath;
	w.bath_room_w_per_k = 0;
	for (double t = 0; t < 1e7; t = 2 * t + 1) {
		cr_assert_eq(wet_two_body_after(&w, t, &tank, &bath, NULL), 0);
		cr_assert_float_eq(4186 * tank + 41860 * bath, 4186 * 26.0 + 41860 * 20.0, 1e-6);
	}
	cr_assert_float_eq(tank, bath, 1e-9);
	w.tank_bath_w_per_k = 0;
	cr_assert_eq(wet_two_body_after(&w, 1e6, &tank, &bath, NULL), 0);
	cr_assert_eq(tank, 26);
	cr_assert_eq(bath, 20);
	/* Equal rates, where the two eigenvalues are nearest. */
	w = tub;
	w.bath_j_per_k = 1e12;
	w.bath_room_w_per_k = 14.0 / 4186 * 1e12;
	cr_assert_eq(wet_two_body_after(&w, 299, &tank, &bath, NULL), 0);
	cr_assert_float_eq(tank, 17 + (9 + 3 * 299 * 14.0 / 4186) * exp(-299 * 14.0 / 4186), 1e-6, "%.9f", tank);
	cr_assert_float_eq(bath, 17 + 3 * exp(-299 * 14.0 / 4186), 1e-6, "%.9f", bath);
}

Test(two_body, the_first_time_at_a_temperature)
{
	struct wet_two_body w = tub;
	struct wet_fault fault;
	double tank, bath;
	int64_t ns = -1, later;
	cr_assert_eq(wet_two_body_time(&w, 20396, 3600 * 1000000000LL, &ns, NULL), 0);
	cr_assert_eq(wet_two_body_after(&w, (double)ns / 1e9, &tank, &bath, NULL), 0);
	cr_assert_float_eq(tank, 20.396, 1e-9);
	cr_assert_eq(wet_two_body_time(&w, 26000, MINUTE, &ns, NULL), 0,
				 "it has that already, and falls from it");
	cr_assert_eq(ns, 0);
	/* Cool in a warm bath in a cold room: it rises, turns, and falls. */
	w.tank_mc = 15000;
	w.bath_mc = 24000;
	w.room_mc = 10000;
	w.bath_j_per_k = 8372;
	cr_assert_eq(wet_two_body_time(&w, 18000, 100 * MINUTE, &ns, NULL), 0);
	cr_assert_eq(wet_two_body_after(&w, (double)ns / 1e9, &tank, &bath, NULL), 0);
	cr_assert_float_eq(tank, 18, 1e-9);
	cr_assert_gt(bath, tank, "the first time is on the way up");
	cr_assert_eq(wet_two_body_time(&w, 12000, 1000 * MINUTE, &later, NULL), 0);
	cr_assert_eq(wet_two_body_after(&w, (double)later / 1e9, &tank, &bath, NULL), 0);
	cr_assert_float_eq(tank, 12, 1e-9);
	cr_assert_lt(bath, tank, "this one only after the turn");
	cr_assert_eq(wet_two_body_time(&w, 15000, MINUTE, &ns, NULL), 0);
	cr_assert_eq(ns, 0);
	/* The highest it reaches is told, and is where bath and tank meet. */
	ns = -1;
	cr_assert_eq(wet_two_body_time(&w, 22000, 86400 * 1000000000LL, &ns, &fault), WET_ERR_REFUSED);
	cr_assert_eq(ns, -1);
	cr_assert_not_null(strstr(fault.want, "a warmer bath: the tank comes no nearer than"), "%s", fault.want);
	double highest = 0;
	for (int t = 0; t < 7200; t++) {
		cr_assert_eq(wet_two_body_after(&w, t, &tank, &bath, NULL), 0);
		highest = fmax(highest, tank);
	}
	int32_t peak_mc = (int32_t)floor(highest * 1000);
	cr_assert_eq(wet_two_body_time(&w, peak_mc, 86400 * 1000000000LL, &ns, NULL), 0);
	cr_assert_eq(wet_two_body_time(&w, peak_mc + 2, 86400 * 1000000000LL, &ns, NULL), WET_ERR_REFUSED);
}

/* -- the fit ---------------------------------------------------------------------- */

static void expect_refusal(const struct wet_newton_reading *readings, uint32_t n, const double *surround,
						   int err, const char *want)
{
	struct wet_newton_fit fit = { .tau_s = -7 };
	struct wet_fault fault = { 0 };
	int rc = wet_newton_fit(readings, n, surround, 0.1, &fit, &fault);
	cr_expect_eq(rc, err, "%s, not %s", wet_err_name(rc), want);
	cr_expect_not_null(strstr(fault.want, want), "%s, not %s", fault.want, want);
	cr_expect_eq(fit.tau_s, -7);
}

Test(newton_fit, what_readings_cannot_tell_is_refused)
{
	struct wet_newton_reading r[] = {
		{ 0, 28 }, { 300, 26.2 }, { 600, 24.7 }, { 900, 23.5 }, { 1200, 22.5 }
	};
	struct wet_newton_reading level[] = { { 0, 20 }, { 300, 20 }, { 600, 20 }, { 900, 20 } };
	struct wet_newton_reading away[] = { { 0, 20 }, { 300, 21 }, { 600, 23 }, { 900, 27 } };
	struct wet_newton_reading slight[] = { { 0, 20.2 }, { 300, 20.1 }, { 600, 20.1 }, { 900, 20 } };
	double surround = 18, wrong = 151;
	struct wet_newton_reading whole[9];
	struct wet_newton_fit fit;
	struct wet_fault fault;
	cr_assert_eq(wet_newton_fit(r, 5, &surround, 0.1, &fit, NULL), 0);
	expect_refusal(r, 2, &surround, WET_ERR_REFUSED, "at least 3 readings");
	expect_refusal(r, 0, &surround, WET_ERR_REFUSED, "at least 3 readings");
	expect_refusal(r, 3, NULL, WET_ERR_REFUSED, "at least 4 readings, or 3 and");
	expect_refusal(r, 5, NULL, WET_ERR_REFUSED, "which is one time constant");
	expect_refusal(level, 4, &surround, WET_ERR_REFUSED, "ever more slowly");
	expect_refusal(level, 4, NULL, WET_ERR_REFUSED, "ever more slowly");
	expect_refusal(away, 4, &surround, WET_ERR_REFUSED, "ever more slowly");
	expect_refusal(away, 4, NULL, WET_ERR_REFUSED, "ever more slowly");
	expect_refusal(slight, 4, &surround, WET_ERR_REFUSED, "give or take");
	/* From 80 C, with a thermometer of whole degrees: tau is known to a fifth, the surrounding not to half a
	 * degree. */
	for (int k = 0; k < 9; k++) {
		whole[k] = (struct wet_newton_reading){ 250.0 * k, 20 + 60 * exp(-250.0 * k / 1500) };
	}
	cr_assert_eq(wet_newton_fit(whole, 9, NULL, 0, &fit, NULL), 0);
	cr_assert_eq(wet_newton_fit(whole, 9, NULL, 1, &fit, &fault), WET_ERR_REFUSED);
	cr_assert_not_null(strstr(fault.want, "surrounding, which is"), "%s", fault.want);
	expect_refusal(r, 5, &wrong, WET_ERR_RANGE, "150 C");
	expect_refusal(r, WET_FIT_READINGS + 1, &surround, WET_ERR_TOO_MANY, "256");
	r[2].at_s = 300;
	expect_refusal(r, 5, &surround, WET_ERR_INVALID, "later than the one before");
	r[2].at_s = NAN;
	expect_refusal(r, 5, &surround, WET_ERR_INVALID, "later than the one before");
	r[2] = (struct wet_newton_reading){ 600, NAN };
	expect_refusal(r, 5, &surround, WET_ERR_RANGE, "150 C");
	cr_expect_eq(wet_newton_fit(level, 4, &surround, NAN, &fit, NULL), WET_ERR_RANGE);
}

Test(newton_fit, the_thermometers_division_widens_the_errors)
{
	const struct wet_newton_reading r[] = { { 100, 28 },         { 400, 26.187308 }, { 700, 24.7032 },
											{ 1000, 23.488116 }, { 1300, 22.49329 }, { 1900, 21.011942 } };
	double surround = 18;
	struct wet_newton_fit exact, coarse;
	cr_assert_eq(wet_newton_fit(r, 6, &surround, 0, &exact, NULL), 0);
	cr_assert_eq(wet_newton_fit(r, 6, &surround, 0.1, &coarse, NULL), 0);
	cr_assert_eq(exact.tau_s, coarse.tau_s);
	cr_assert_float_eq(exact.t0_c, 28, 1e-5, "the first reading need not be at zero: %f", exact.t0_c);
	cr_assert_lt(exact.tau_error_s, 0.01);
	cr_assert_gt(coarse.tau_error_s, 5);
}

Test(newton_three, no_law_passes_through_these)
{
	double s = -7, tau = -7;
	cr_expect_eq(wet_newton_three(24, 23, 22, 60, &s, &tau, NULL), WET_ERR_REFUSED);
	cr_expect_eq(wet_newton_three(24, 23, 20, 60, &s, &tau, NULL), WET_ERR_REFUSED);
	cr_expect_eq(wet_newton_three(24, 23, 24, 60, &s, &tau, NULL), WET_ERR_REFUSED);
	cr_expect_eq(wet_newton_three(24, 24, 24, 60, &s, &tau, NULL), WET_ERR_REFUSED);
	cr_expect_eq(wet_newton_three(24, 22, 21, 0, &s, &tau, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_newton_three(24, NAN, 21, 60, &s, &tau, NULL), WET_ERR_RANGE);
	cr_expect(s == -7 && tau == -7);
}

/* Plain arithmetic on the specific heats of the header. */
Test(tempering, a_vessel_by_its_mass_and_what_it_is_made_of)
{
	static const struct {
		const char *text;
		int32_t j_per_k;
	} good[] = { { "400 g glass", 336 }, { "400g-glass", 336 }, { "1.2 kg steel", 600 }, { "1 oz av plastic", 51 }, { "1 mg glass", 1 } };
	static const char *const bad[] = { "", "glass", "400 g", "400 g gold", "0 g glass", "-4 g glass", "400 mL glass", "400gglass",
									   "400000 kg steel", "400 oz glass", " glass", "-glass" };
	int32_t j_per_k = -7;
	struct wet_fault f;
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		memset(&f, 0, sizeof f);
		cr_assert(wet_parse_vessel_heat(bad[i], &j_per_k, &f) != 0 && f.want[0] && j_per_k == -7, "%s", bad[i]);
	}
	for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
		cr_assert_eq(wet_parse_vessel_heat(good[i].text, &j_per_k, &f), 0, "%s: %s", good[i].text, f.want);
		cr_assert_eq(j_per_k, good[i].j_per_k, "%s: %d", good[i].text, j_per_k);
	}
}
