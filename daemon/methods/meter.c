/* meter.c: from readings as people have them to the seconds that are counted at the camera. */
#include "methods/meter.h"

#include "base/text.h"
#include "darkroom/stock.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_BYTES 160
#define FILTERS 4 /* before one lens or pinhole */

static bool refuse(struct wet_call *c, int err, const char *key, const char *want)
{
	struct wet_fault fault = { 0 };
	wet_fault_set(&fault, err, key, NULL, "%s", want);
	call_fault(c, &fault);
	return false;
}

/* One parameter through one of the parsers that make a number of it; absent: untouched. */
bool meter_want_number(struct wet_call *c, const char *key, int (*parse)(const char *, double *, struct wet_fault *),
					   double *ret_value)
{
	char text[TEXT_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	return !text[0] || parse(text, ret_value, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

static bool want_plain(struct wet_call *c, const char *key, double low, double high, double *ret_value)
{
	char text[TEXT_BYTES] = "";
	const char *rest;
	struct wet_fault fault = { 0 };
	double v;
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	if (!text[0])
		return true;
	if (wet_read_number(text, &v, &rest, &fault) != 0)
		return call_fault_at(c, key, &fault);
	if (*rest || !(v >= low && v <= high)) {
		wet_fault_set(&fault, *rest ? WET_ERR_INVALID : WET_ERR_RANGE, key, text, "a number from %.6g to %.6g", low, high);
		call_fault(c, &fault);
		return false;
	}
	*ret_value = v;
	return true;
}

/* -- readings ------------------------------------------------------------------------------ */

static bool want_reading(struct wet_call *c, const char *key, const struct wet_meter *meter, struct wet_reading *ret,
						 bool *ret_is_told)
{
	char text[TEXT_BYTES] = "";
	struct wet_fault fault = { 0 };
	*ret_is_told = false;
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	if (text[0] && wet_parse_reading(text, meter, ret, &fault) != 0)
		return call_fault_at(c, key, &fault);
	*ret_is_told = text[0] != '\0';
	return true;
}

static bool want_readings(struct wet_call *c, struct metering *m)
{
	bool has_one, has_bright, has_shaded;
	if (!meter_want_number(c, "meter_index", wet_parse_index, &m->meter.index) ||
		!want_plain(c, "k", WET_METER_K_LOW, WET_METER_K_HIGH, &m->meter.k) ||
		!want_plain(c, "c", WET_METER_C_LOW, WET_METER_C_HIGH, &m->meter.c) ||
		!want_reading(c, "reading", &m->meter, &m->bright, &has_one) ||
		!want_reading(c, "bright", &m->meter, &m->bright, &has_bright) ||
		!want_reading(c, "shaded", &m->meter, &m->shaded, &has_shaded))
		return false;
	if (has_bright != has_shaded || (has_one && has_bright))
		return refuse(c, WET_ERR_PARAMS, has_one ? "reading" : has_bright ? "shaded" : "bright",
					  "one reading (reading), or both the bright and the shaded one (bright, shaded)");
	if (has_one)
		m->shaded = m->bright;
	if (m->shaded.ev100 > m->bright.ev100)
		return refuse(c, WET_ERR_INVALID, "shaded", "a shaded reading of less light than the bright one; are they exchanged?");
	m->has_reading = has_one || has_bright;
	m->has_two = has_bright;
	m->ask.bright_ev100 = m->bright.ev100;
	m->ask.shaded_ev100 = m->shaded.ev100;
	return true;
}

/* -- the camera ----------------------------------------------------------------------------- */

static bool want_best(struct wet_call *c, struct metering *m)
{
	char text[24] = "";
	if (!want_text(c, "best", false, text, sizeof text))
		return false;
	m->best = -1;
	for (int i = 0; i < WET_PINHOLE_N; i++)
		if (strcmp(text, wet_pinhole_name((enum wet_pinhole_formula)i)) == 0)
			m->best = i;
	return !text[0] || m->best >= 0 ? true
									: refuse(c, WET_ERR_NOT_FOUND, "best", "rayleigh, airy or petzval: each is a formula");
}

/* What the ledger has of it. */
static void take_camera(struct metering *m, const struct wet_stock *camera)
{
	wet_text_copy(m->camera, sizeof m->camera, camera->name);
	m->is_pinhole = strcmp(camera->what, "pinhole") == 0;
	m->diameter_um = camera->hole_um;
	m->distance_um = camera->distance_um;
	m->ask.f_number = (double)camera->f_number_milli / 1000;
	m->has_aperture = true;
	m->best = -1;
	m->wavelength_nm = WET_PAPER_NM;
}

static bool want_camera(struct wet_call *c, const struct wet_stock *camera, struct metering *m)
{
	static const char *const own[] = { "aperture", "pinhole", "distance", "best", "wavelength" };
	double typed = 0;
	if (camera) {
		for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
			if (json_object_get(c->params, own[i]))
				return refuse(c, WET_ERR_PARAMS, own[i], "either a camera of the shelf or its aperture, not both");
		take_camera(m, camera);
		return true;
	}
	m->wavelength_nm = WET_PAPER_NM;
	if (!meter_want_number(c, "aperture", wet_parse_f_number, &typed) || !want_length_um(c, "pinhole", &m->diameter_um) ||
		!want_length_um(c, "distance", &m->distance_um) || !want_best(c, m) ||
		!want_plain(c, "wavelength", 300, 800, &m->wavelength_nm))
		return false;
	if (typed > 0 && (m->diameter_um > 0 || m->distance_um > 0 || m->best >= 0))
		return refuse(c, WET_ERR_PARAMS, "aperture", "either an aperture number, or a pinhole and its distance to the paper");
	if (m->distance_um == 0 && (m->diameter_um > 0 || m->best >= 0))
		return refuse(c, WET_ERR_PARAMS, "distance", "how far the paper is from the pinhole, as in 72 mm");
	if (m->diameter_um > 0 && m->best >= 0)
		return refuse(c, WET_ERR_PARAMS, "best", "either your pinhole's diameter or the best one, not both");
	if (m->best >= 0)
		m->diameter_um = llround(wet_pinhole_best_um(wet_pinhole_constant((enum wet_pinhole_formula)m->best),
													 (double)m->distance_um, m->wavelength_nm));
	m->has_aperture = typed > 0 || m->diameter_um > 0;
	if (typed > 0)
		m->ask.f_number = wet_f_number_of_mark(typed);
	else if (m->diameter_um > 0)
		m->ask.f_number = wet_f_number((double)m->distance_um, (double)m->diameter_um);
	m->is_pinhole = m->diameter_um > 0;
	m->is_mark = typed > 0 && m->ask.f_number != typed;
	if (m->diameter_um > 0 && !(m->ask.f_number >= 0.5 && m->ask.f_number <= 10000))
		return refuse(c, WET_ERR_RANGE, "pinhole", "a hole and a distance of f/0.5 to f/10000; mind the units");
	return true;
}

/* A near subject, by its size in the picture or by how far the lens was drawn out. */
static bool want_bellows(struct wet_call *c, struct metering *m)
{
	int64_t drawn_um = 0, focal_um = 0;
	if (!want_plain(c, "magnification", 0, 20, &m->magnification) || !want_length_um(c, "bellows", &drawn_um) ||
		!want_length_um(c, "focal", &focal_um))
		return false;
	if ((drawn_um > 0) != (focal_um > 0) || (drawn_um > 0 && m->magnification > 0))
		return refuse(c, WET_ERR_PARAMS, "bellows",
					  "the lens's distance to the paper (bellows) and its focal length (focal), or the magnification");
	if (drawn_um > 0 && drawn_um < focal_um)
		return refuse(c, WET_ERR_RANGE, "bellows", "no less than the focal length: that is where the far is sharp");
	if (drawn_um > 0)
		m->magnification = (double)drawn_um / (double)focal_um - 1;
	if (m->magnification > 20)
		return refuse(c, WET_ERR_RANGE, "bellows", "at most 21 times the focal length");
	if (m->magnification > 0 && m->is_pinhole)
		return refuse(c, WET_ERR_PARAMS, "magnification", "none with a pinhole: its distance to the paper counts already");
	m->ask.bellows_stops = wet_stops_of_factor(wet_bellows_factor(m->magnification));
	return true;
}

/* -- the paper and the wish -------------------------------------------------------------------- */

static bool want_filters(struct wet_call *c, struct metering *m)
{
	json_t *list, *one;
	size_t i;
	struct wet_fault fault = { 0 };
	if (!want_list(c, "filters", FILTERS, &list))
		return false;
	json_array_foreach(list, i, one)
	{
		double stops = 0;
		if (wet_parse_filter(json_string_value(one), &stops, &fault) != 0)
			return call_fault_at(c, "filters", &fault);
		m->ask.filter_stops += stops;
	}
	return true;
}

bool meter_want_paper(struct wet_call *c, struct metering *m)
{
	bool is_direct = false, is_negative = false;
	char law[200] = "";
	struct wet_fault fault = { 0 };
	m->ask.holds_stops = 0;
	if (!meter_want_number(c, "paper_index", wet_parse_index, &m->ask.index) || !want_bool(c, "direct_positive", &is_direct) ||
		!want_bool(c, "negative", &is_negative) || !meter_want_number(c, "holds", wet_parse_stops, &m->ask.holds_stops) ||
		!want_text(c, "reciprocity", false, law, sizeof law))
		return false;
	if (is_direct && is_negative)
		return refuse(c, WET_ERR_PARAMS, "negative", "a direct positive or a negative, not both");
	if (law[0] && wet_parse_reciprocity(law, &m->ask.reciprocity, &fault) != 0)
		return call_fault_at(c, "reciprocity", &fault);
	m->has_reciprocity = law[0];
	m->has_index = m->ask.index > 0;
	m->has_holds = m->ask.holds_stops != 0;
	if (!m->has_holds)
		m->ask.holds_stops = WET_HOLDS_STOPS;
	m->ask.sense = is_direct ? WET_SENSE_DIRECT_POSITIVE : is_negative ? WET_SENSE_NEGATIVE : WET_SENSE_UNSAID;
	return true;
}

static bool want_wish(struct wet_call *c, struct metering *m)
{
	char place[48] = "";
	double more = 0, less = 0;
	int64_t count = 0, flash_ns = 0;
	struct wet_fault fault = { 0 };
	if (!want_text(c, "place", false, place, sizeof place) || !meter_want_number(c, "more", wet_parse_stops, &more) ||
		!meter_want_number(c, "less", wet_parse_stops, &less) || !meter_want_number(c, "bracket", wet_parse_stops, &m->bracket_stops) ||
		!want_int(c, "count", 1, WET_FLASH_STEPS, &count) ||
		!meter_want_number(c, "flash", wet_parse_stops, &m->ask.flash_under_stops) || !want_duration(c, "flash_test", &flash_ns))
		return false;
	if (place[0] && wet_parse_place(place, &m->ask.place, &m->ask.place_stops, &fault) != 0)
		return call_fault_at(c, "place", &fault);
	if (place[0] && !m->has_two)
		return refuse(c, WET_ERR_PARAMS, "place", "a bright and a shaded reading to place it between");
	m->ask.more_stops = more - less;
	m->flash_test_s = (double)flash_ns / WET_NS_PER_S;
	/* Thirds for what forgives least (fotografia-tajchman.eu, of reversal film); halves are enough for a negative and a
	 * test (common practice, no source). */
	if (m->bracket_stops == 0)
		m->bracket_stops = m->ask.sense == WET_SENSE_NEGATIVE || flash_ns > 0 ? 1 / 2.0 : 1 / 3.0;
	m->count = count > 0 ? (uint32_t)count : flash_ns > 0 ? 6 : 5;
	return true;
}

/* -- the answer ----------------------------------------------------------------------------------- */

static void answer_flash(struct wet_call *c, const struct metering *m)
{
	int32_t total_s[WET_FLASH_STEPS], add_s[WET_FLASH_STEPS];
	struct wet_fault fault = { 0 };
	if (m->ask.sense == WET_SENSE_UNSAID)
		(void)refuse(c, WET_ERR_PARAMS, "direct_positive", "which paper: the test of a direct positive is read by its black, "
														   "that of a negative by its white");
	else if (wet_flash_steps(m->flash_test_s, m->bracket_stops, m->count, total_s, add_s, &fault) != 0)
		call_fault(c, &fault);
	else
		call_result(c, meter_flash(m, total_s, add_s));
}

static void answer_exposure(struct wet_call *c, const struct metering *m)
{
	struct wet_exposed e;
	struct wet_bracket rows[WET_BRACKET];
	struct wet_fault fault = { 0 };
	if (!m->has_aperture)
		(void)refuse(c, WET_ERR_PARAMS, "aperture", "the camera's aperture number, as in f/240, or pinhole and distance");
	else if (!m->has_index)
		(void)refuse(c, WET_ERR_PARAMS, "paper_index", "the index your paper is exposed at, as in 3");
	else if (wet_expose(&m->ask, &e, &fault) != 0 ||
			 wet_bracket(&m->ask, &e, m->bracket_stops, m->count, rows, &fault) != 0)
		call_fault(c, &fault);
	else
		call_result(c, meter_exposure(m, &e, rows));
}

static void serve_with(struct wet_call *c, const struct wet_stock *camera)
{
	struct metering m = { .has_reading = false };
	if (!want_readings(c, &m) || !want_camera(c, camera, &m) || !want_bellows(c, &m) || !want_filters(c, &m) ||
		!meter_want_paper(c, &m) || !want_wish(c, &m))
		return;
	if (m.flash_test_s > 0)
		answer_flash(c, &m);
	else if (m.has_reading && (m.has_aperture || m.has_index))
		answer_exposure(c, &m);
	else if (m.has_reading)
		call_result(c, meter_light(&m));
	else if (m.distance_um > 0)
		call_result(c, meter_pinholes(&m));
	else
		(void)refuse(c, WET_ERR_PARAMS, "reading", "a reading, as in 1/60 at f/8 index 100, EV 14.3, 400 cd/m2 or 8000 lux; "
												   "or a pinhole's distance alone");
}

/* -- with a camera of the shelf ------------------------------------------------------------------------ */

static void found_camera(void *ctx, const struct wet_stock_answer *answer, const struct wet_fault *fault)
{
	struct wet_call *c = ctx; /* of its own: rpc is looked for again, params are ours */
	c->rpc = c->methods->find_client(c->methods->ctx, c->client_id);
	if (c->rpc && fault->err != WET_OK) {
		struct wet_fault f = *fault;
		if (strcmp(f.where, "name") == 0)
			wet_text_copy(f.where, sizeof f.where, "camera");
		call_fault(c, &f);
	}
	if (c->rpc && fault->err == WET_OK)
		serve_with(c, &answer->items[0]);
	json_decref(c->params);
	free(c);
}

void serve_meter(struct wet_call *c)
{
	/* The history begins with the item itself. */
	struct wet_stock_request request = { .op = WET_STOCK_OP_HISTORY, .item = { .kind = WET_STOCK_CAMERA }, .cursor = INT64_MAX };
	if (!want_name(c, "camera", request.item.name, sizeof request.item.name))
		return;
	if (!request.item.name[0]) {
		serve_with(c, NULL);
		return;
	}
	struct wet_call *later = malloc(sizeof *later);
	if (!later) {
		call_result(c, NULL);
		return;
	}
	*later = *c;
	json_incref(later->params);
	wet_darkroom_stock(c->methods->darkroom, &request, found_camera, later);
}
