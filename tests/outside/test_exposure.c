/* test_exposure.c: the laws of exposure against the rows of tests/data/exposure.json, each of which names its source;
 * and facts of the trade, marked as such. */
#include "wetside/exposure.h"

#include "rows.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

struct row {
	const json_t *in, *expected;
	double tolerance;
	const char *id;
};

static double in(const struct row *r, const char *key)
{
	return test_number(r->in, key);
}

/* As the rows were made: relative to what is large, absolute to what is small. */
static void same(const struct row *r, double got, const char *key)
{
	double want = test_number(r->expected, key);
	/* Rows give so many decimals and no more: what they left out is no error of ours. */
	double slack = r->tolerance * fmax(1, fabs(want)) + 1e-12;
	cr_assert_float_eq(got, want, slack, "%s, %s: %.12g instead of %.12g", r->id, key, got, want);
}

static struct wet_reciprocity law_of(const char *text)
{
	struct wet_reciprocity law;
	cr_assert_eq(wet_parse_reciprocity(text, &law, NULL), 0, "%s", text);
	return law;
}

static void ev(const struct row *r)
{
	double n = in(r, "N"), t = in(r, "t_s"), got = wet_ev(n, t);
	same(r, got, "EV");
	if (json_object_get(r->expected, "nominal")) { /* as the marks it is written in, it is the whole number */
		cr_assert_float_eq(wet_ev(wet_f_number_of_mark(n), wet_time_of_mark_s(t)), test_number(r->expected, "nominal"), 1e-9);
		return;
	}
	same(r, wet_av(n), "Av");
	same(r, wet_tv(t), "Tv");
	cr_assert_float_eq(wet_ev_time_s(got, n), t, 1e-12 * t);
}

static void ev_of_marks(const struct row *r)
{
	double n = in(r, "N"), t = in(r, "t_s");
	cr_assert_float_eq(wet_ev(n, t), test_number(r->expected, "EV_exact"), 5e-5, "%s", r->id);
	cr_assert_float_eq(wet_ev(wet_f_number_of_mark(n), wet_time_of_mark_s(t)), test_number(r->expected, "EV_rounded"), 1e-9);
}

static void luminance(const struct row *r)
{
	double ev_ = in(r, "EV"), index = in(r, "ISO"), k = in(r, "K"), got = wet_luminance_cd_m2(ev_, index, k);
	same(r, got, "L_cd_m2");
	cr_assert_float_eq(wet_ev_of_luminance(got, index, k), ev_, 1e-12);
}

static void illuminance(const struct row *r)
{
	double ev_ = in(r, "EV"), index = in(r, "ISO"), c = in(r, "C"), got = wet_illuminance_lx(ev_, index, c);
	same(r, got, "E_lux");
	cr_assert_float_eq(wet_ev_of_illuminance(got, index, c), ev_, 1e-12);
}

static void time_from_luminance(const struct row *r)
{
	double ev100 = wet_ev_of_luminance(in(r, "L_cd_m2"), 100, in(r, "K"));
	double wanted = test_number(r->expected, "EV100"), t = test_number(r->expected, "t_s");
	cr_assert_float_eq(ev100, wanted, 5e-7, "%s", r->id); /* six decimals */
	same(r, wet_ev_time_s(wet_ev_for_index(ev100, 100, in(r, "ISO")), in(r, "N")), "t_s");
	/* The whole way that a person takes, through the text. */
	struct wet_meter meter = { .k = in(r, "K") };
	struct wet_exposure_ask ask = { .f_number = in(r, "N"), .index = in(r, "ISO"), .holds_stops = 1 };
	struct wet_exposed e;
	struct wet_reading reading;
	char text[48];
	snprintf(text, sizeof text, "%.10g cd/m2", in(r, "L_cd_m2"));
	cr_assert_eq(wet_parse_reading(text, &meter, &reading, NULL), 0);
	ask.bright_ev100 = ask.shaded_ev100 = reading.ev100;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert_float_eq(e.given.time_s, t, 1e-6 * t, "%s", r->id);
}

static void index_degrees(const struct row *r)
{
	double got = wet_index_degrees(in(r, "S"));
	cr_assert_float_eq(got, test_number(r->expected, "exact"), 6e-5, "%s", r->id); /* four decimals */
	cr_assert_eq(lround(got), lround(test_number(r->expected, "S_degree")));
	cr_assert_float_eq(wet_index_of_degrees(got), in(r, "S"), 1e-9 * in(r, "S"));
}

/* What is engraved comes to what it stands for; where thirds and halves share a mark, to the nearer. */
static void f_mark(const struct row *r, double nominal_rel, double stops)
{
	double exact = test_number(r->expected, "exact"), nominal = test_number(r->expected, "nominal");
	cr_assert_float_eq(exp2(stops / 2), exact, 1e-6 * exact, "%s", r->id);
	cr_assert_leq(fabs(nominal / exact - 1), nominal_rel, "%s", r->id);
	double got = wet_f_number_of_mark(nominal);
	if (nominal == 1.2)
		cr_assert_float_eq(got, 1.189207, 1e-6);
	else if (nominal <= 90)
		cr_assert_float_eq(got, exact, 1e-6 * exact, "%s: %.9g", r->id, got);
	else
		cr_assert_eq(got, nominal, "%s", r->id); /* beyond f/90 a number is a pinhole's */
	cr_assert_float_eq(wet_av(exact), stops, 2e-6);
}

static void f_third(const struct row *r)
{
	f_mark(r, r->tolerance, in(r, "index_thirds") / 3);
}

static void f_half(const struct row *r)
{
	f_mark(r, r->tolerance, in(r, "index_halves") / 2);
}

static void shutter(const struct row *r)
{
	double exact = test_number(r->expected, "exact_s"), nominal = test_number(r->expected, "nominal_s");
	cr_assert_float_eq(exp2(5 - in(r, "index_thirds") / 3), exact, 1e-5 * exact, "%s", r->id);
	cr_assert_leq(fabs(nominal / exact - 1), r->tolerance, "%s", r->id);
	/* As typed: "1/60". Whole seconds are what was counted. */
	struct wet_meter meter = { .index = 100 };
	struct wet_reading reading;
	char text[64];
	snprintf(text, sizeof text, "%s at f/8", test_string(r->expected, "nominal"));
	cr_assert_eq(wet_parse_reading(text, &meter, &reading, NULL), 0, "%s", text);
	cr_assert_float_eq(reading.time_s, nominal < 1 ? exact : nominal, 1e-5 * exact, "%s: %.9g", r->id, reading.time_s);
}

static void pinhole(const struct row *r)
{
	static const struct {
		enum wet_pinhole_formula formula;
		const char *key, *n_key;
	} rows[] = { { WET_PINHOLE_PETZVAL, "d_petzval", "N_petzval" },
				 { WET_PINHOLE_AIRY, "d_airy", NULL },
				 { WET_PINHOLE_RAYLEIGH, "d_rayleigh_1_9", "N_rayleigh" } };
	double f_um = in(r, "f_mm") * 1000, nm = in(r, "lambda_nm");
	for (size_t i = 0; i < 3; i++) {
		double um = wet_pinhole_best_um(wet_pinhole_constant(rows[i].formula), f_um, nm);
		same(r, um / 1000, rows[i].key);
		if (rows[i].n_key)
			cr_assert_float_eq(wet_f_number(f_um, um), test_number(r->expected, rows[i].n_key), 1e-4);
	}
	same(r, wet_pinhole_best_um(1.562, f_um, nm) / 1000, "d_1_562");
}

static void schwarzschild(const struct row *r)
{
	char text[48];
	snprintf(text, sizeof text, "power %.10g", in(r, "p"));
	struct wet_reciprocity law = law_of(text);
	same(r, wet_reciprocity_give(&law, in(r, "t_metered_s")).time_s, "t_corrected_s");
}

static void exponent(const struct row *r)
{
	char text[48];
	snprintf(text, sizeof text, "power %.10g", in(r, "P"));
	struct wet_reciprocity law = law_of(text);
	struct wet_given g = wet_reciprocity_give(&law, in(r, "t_metered_s"));
	same(r, g.time_s, "t_corrected_s");
	cr_assert_eq(g.is_clamped, in(r, "t_metered_s") < 1);
}

static void added(const struct row *r)
{
	char text[48];
	snprintf(text, sizeof text, "added %.10g %.10g", in(r, "a"), in(r, "exponent"));
	struct wet_reciprocity law = law_of(text);
	same(r, wet_reciprocity_give(&law, in(r, "t_metered_s")).time_s, "t_corrected_s");
}

static void middle_of(const struct row *r, double shaded, double bright, const char *mid, const char *span)
{
	struct wet_exposure_ask ask = { .f_number = 8,
									.index = 100,
									.holds_stops = 1,
									.place = WET_PLACE_MIDDLE,
									.bright_ev100 = bright,
									.shaded_ev100 = shaded };
	struct wet_exposed e;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	same(r, e.ev100, mid);
	same(r, e.range_stops, span);
}

static void geometric_mean(const struct row *r)
{
	double k = in(r, "K"), low = in(r, "L_shadow"), high = in(r, "L_highlight");
	double shaded = wet_ev_of_luminance(low, 100, k), bright = wet_ev_of_luminance(high, 100, k);
	middle_of(r, shaded, bright, "EV_mid", "range_stops");
	same(r, wet_luminance_cd_m2((shaded + bright) / 2, 100, k), "L_mid");
	same(r, wet_ev_of_luminance((low + high) / 2, 100, k) - (shaded + bright) / 2, "arithmetic_mean_error_stops");
}

static void ev_mean(const struct row *r)
{
	middle_of(r, in(r, "EV_low"), in(r, "EV_high"), "EV_mid", "span");
}

static void bellows(const struct row *r)
{
	double factor = wet_bellows_factor(in(r, "magnification"));
	same(r, factor, "factor");
	same(r, wet_stops_of_factor(factor), "stops");
}

static void time_factor(const struct row *r)
{
	same(r, wet_factor_of_stops(in(r, "stops")), "factor");
}

static void density(const struct row *r)
{
	double stops = wet_stops_of_density(in(r, "D"));
	same(r, stops, "stops");
	same(r, wet_factor_of_stops(stops), "factor");
}

static const struct {
	const char *kind;
	void (*check)(const struct row *row);
	int rows;
} kinds[] = {
	{ "EV", ev, 9 },
	{ "EV_nominal_integer", ev_of_marks, 5 },
	{ "luminance_from_EV", luminance, 7 },
	{ "illuminance_from_EV", illuminance, 10 },
	{ "time_from_luminance", time_from_luminance, 4 },
	{ "ISO_log", index_degrees, 7 },
	{ "f_number_third_stop", f_third, 28 },
	{ "f_number_half_stop", f_half, 17 },
	{ "shutter_third_stop", shutter, 29 },
	{ "pinhole", pinhole, 11 },
	{ "reciprocity_schwarzschild_Itp", schwarzschild, 3 },
	{ "reciprocity_exponent", exponent, 4 },
	{ "reciprocity_additive", added, 1 },
	{ "geometric_mean", geometric_mean, 2 },
	{ "ev_mean", ev_mean, 2 },
	{ "bellows_factor", bellows, 4 },
	{ "time_factor", time_factor, 8 },
	{ "density_to_stops", density, 3 },
};

static double tolerance_of(const json_t *row)
{
	const json_t *t = json_object_get(row, "tolerance"), *rel = json_object_get(t, "nominal_rel");
	return json_number_value(json_is_object(t) ? (rel ? rel : json_object_get(t, "rel")) : t);
}

Test(exposure, every_row_of_the_table)
{
	json_t *doc = test_rows_load(WET_TEST_DATA "/exposure.json"), *one;
	size_t i;
	int seen[sizeof kinds / sizeof kinds[0]] = { 0 };
	json_array_foreach(test_rows(doc, "rows", 154), i, one)
	{
		struct row r = { json_object_get(one, "inputs"), json_object_get(one, "expected"), tolerance_of(one),
						 test_string(one, "id") };
		size_t k = 0;
		while (k < sizeof kinds / sizeof kinds[0] && strcmp(kinds[k].kind, test_string(one, "kind")) != 0)
			k++;
		cr_assert_lt(k, sizeof kinds / sizeof kinds[0], "%s: nothing checks it", r.id);
		kinds[k].check(&r);
		seen[k]++;
	}
	for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
		cr_assert_eq(seen[k], kinds[k].rows, "%s", kinds[k].kind);
	json_decref(doc);
}

/* A published example, its source not noted down: 100 mm and 550 nm make 0.366 mm with sqrt(2.44 f l). */
Test(exposure, published_pinhole)
{
	double um = wet_pinhole_best_um(wet_pinhole_constant(WET_PINHOLE_AIRY), 100000, 550);
	cr_assert_float_eq(um, 366, 0.5);
}

/* Common practice, no source: metered at exposure index 10 and f/128, 8 s is ordinary bright daylight, EV at ISO 100 of
 * about 14.3; the middle in stops between 8 s and 60 s is about 22 s. */
Test(exposure, daylight_as_people_meter_it)
{
	struct wet_meter meter = { 0 };
	struct wet_reading bright, shaded;
	cr_assert_eq(wet_parse_reading("8 s at f/128 index 10", &meter, &bright, NULL), 0);
	cr_assert_eq(wet_parse_reading("60 s at f/128 index 10", &meter, &shaded, NULL), 0);
	cr_assert_float_eq(bright.ev100, 14.3, 0.05);
	struct wet_exposure_ask ask = { .f_number = 128, .index = 10, .holds_stops = WET_HOLDS_STOPS, .place = WET_PLACE_MIDDLE,
									.bright_ev100 = bright.ev100, .shaded_ev100 = shaded.ev100 };
	struct wet_exposed e;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert_float_eq(e.given.time_s, 22, 0.5);
	cr_assert_eq(wet_count_ns(e.given.time_s), 22 * WET_NS_PER_S);
	/* The paper holds both: the bright reading, which governs, leaves the middle as it is. */
	ask.place = WET_PLACE_GOVERNED;
	ask.sense = WET_SENSE_DIRECT_POSITIVE;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert_float_eq(e.given.time_s, 22, 0.5);
	cr_assert(!e.is_held_back && !e.loses_bright && !e.loses_shaded);
}
