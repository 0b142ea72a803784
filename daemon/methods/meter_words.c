/* meter_words.c: the answer to a question about an exposure: numbers, and a text that says what was assumed. */
#include "methods/meter.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

static json_int_t milli(double value)
{
	return (json_int_t)llround(value * 1000);
}

static json_int_t micro(double seconds)
{
	return (json_int_t)llround(seconds * 1e6);
}

/* Three figures, and never a power of ten written out. */
static char *print_light(double value, char *buf, size_t bytes)
{
	double grain = pow(10, floor(log10(value)) - 2);
	return grain >= 1 ? wet_text_format(buf, bytes, "%.0f", round(value / grain) * grain)
					  : wet_text_format(buf, bytes, "%.3g", value);
}

static const char *more_is(const struct metering *m)
{
	return m->ask.sense == WET_SENSE_DIRECT_POSITIVE ? "lighter" : "darker";
}

/* -- pinholes -------------------------------------------------------------------------------- */

static void say_best(const struct metering *m, char *text, size_t bytes, json_t *list)
{
	char f[24];
	for (int i = 0; i < WET_PINHOLE_N; i++) {
		enum wet_pinhole_formula formula = (enum wet_pinhole_formula)i;
		double um = wet_pinhole_best_um(wet_pinhole_constant(formula), (double)m->distance_um, m->wavelength_nm);
		double f_number = wet_f_number((double)m->distance_um, um);
		wet_text_append(text, bytes, "\n  %.3f mm, %-6s %-9s %s (%s)", um / 1000,
						wet_print_f_number(f_number, f, sizeof f), wet_pinhole_name(formula), wet_pinhole_text(formula),
						wet_pinhole_source(formula));
		(void)json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:I, s:I}", "formula", wet_pinhole_name(formula),
													"text", wet_pinhole_text(formula), "source",
													wet_pinhole_source(formula), "diameter_um", (json_int_t)llround(um),
													"f_number_milli", milli(f_number)));
	}
}

json_t *meter_pinholes(const struct metering *m)
{
	char text[800] = "", d[24], f[24], l[24];
	json_t *list = json_array(), *o = json_object();
	wet_print_length(m->distance_um, l, sizeof l);
	if (m->has_aperture)
		wet_text_format(text, sizeof text, "A pinhole of %s at %s is %s.\n", wet_print_length(m->diameter_um, d, sizeof d),
						l, wet_print_f_number(m->ask.f_number, f, sizeof f));
	wet_text_append(text, sizeof text, "The sharpest pinhole for %s, by three formulas, for light of %.0f nm%s:", l,
					m->wavelength_nm, m->wavelength_nm == WET_PAPER_NM ? " (paper that sees blue; assumed)" : "");
	say_best(m, text, sizeof text, list);
	if (m->has_aperture)
		(void)json_object_set_new(o, "f_number_milli", json_integer(milli(m->ask.f_number)));
	(void)json_object_set_new(o, "best", list);
	(void)json_object_set_new(o, "text", json_string(text));
	return o;
}

/* -- light alone ------------------------------------------------------------------------------- */

json_t *meter_light(const struct metering *m)
{
	char text[400] = "", seen[24], falling[24];
	double ev = m->bright.ev100, k = m->meter.k > 0 ? m->meter.k : WET_METER_K, c = m->meter.c > 0 ? m->meter.c : WET_METER_C;
	json_t *o = json_object();
	wet_text_format(text, sizeof text, "EV %.1f at ISO 100", ev);
	if (m->has_two)
		wet_text_append(text, sizeof text, " (bright), EV %.1f (shaded): %.1f stops apart, the middle is EV %.1f",
						m->shaded.ev100, ev - m->shaded.ev100, (ev + m->shaded.ev100) / 2);
	else
		wet_text_append(text, sizeof text, ": %s cd/m2 seen (K %.4g), or %s lux falling on it (C %.4g)",
						print_light(wet_luminance_cd_m2(ev, 100, k), seen, sizeof seen), k,
						print_light(wet_illuminance_lx(ev, 100, c), falling, sizeof falling), c);
	wet_text_append(text, sizeof text, ". For a time: --aperture or --pinhole and --distance, and --paper-index.");
	(void)json_object_set_new(o, "bright_ev100_milli", json_integer(milli(ev)));
	(void)json_object_set_new(o, "shaded_ev100_milli", json_integer(milli(m->shaded.ev100)));
	(void)json_object_set_new(o, "text", json_string(text));
	return o;
}

/* -- an exposure ----------------------------------------------------------------------------------- */

static void say_reading(const char *name, const struct wet_reading *r, char *text, size_t bytes)
{
	char t[24], f[24];
	wet_text_append(text, bytes, "%s: ", name);
	switch (r->kind) {
	case WET_READING_TIME:
		wet_text_append(text, bytes, "%s at %s, index %.4g: ", wet_print_exposure(r->time_s, t, sizeof t),
						wet_print_f_number(r->f_number, f, sizeof f), r->index);
		break;
	case WET_READING_EV:
		if (!r->is_iso_100 && r->index != 100)
			wet_text_append(text, bytes, "EV %.1f at index %.4g: ", r->value, r->index);
		break;
	case WET_READING_LUMINANCE: wet_text_append(text, bytes, "%.4g cd/m2: ", r->value); break;
	case WET_READING_ILLUMINANCE: wet_text_append(text, bytes, "%.4g lux: ", r->value); break;
	}
	wet_text_append(text, bytes, "EV %.1f at ISO 100", r->ev100);
}

static void say_camera(const struct metering *m, char *text, size_t bytes)
{
	char f[24], d[24], l[24];
	wet_text_append(text, bytes, "Camera: %s%s%s", m->camera, m->camera[0] ? ", " : "", wet_print_f_number(m->ask.f_number, f, sizeof f));
	if (m->diameter_um > 0)
		wet_text_append(text, bytes, " (%s%s at %s)", m->best >= 0 ? "the best pinhole, " : "",
						wet_print_length(m->diameter_um, d, sizeof d), wet_print_length(m->distance_um, l, sizeof l));
	wet_text_append(text, bytes, ". Paper: index %.4g%s%s.", m->ask.index, m->ask.sense == WET_SENSE_UNSAID ? "" : ", ",
					m->ask.sense == WET_SENSE_UNSAID ? "" : wet_sense_name(m->ask.sense));
}

/* Where the two readings fall, and why it was exposed for that. */
static void say_place(const struct metering *m, const struct wet_exposed *e, char *text, size_t bytes)
{
	bool is_direct = m->ask.sense == WET_SENSE_DIRECT_POSITIVE;
	char a[32], b[32];
	wet_text_append(text, bytes, "\n%.1f stops between them; exposed for EV %.1f: ", e->range_stops, e->ev100);
	if (m->ask.place != WET_PLACE_GOVERNED)
		wet_text_append(text, bytes, "as you chose");
	else if (e->is_held_back)
		wet_text_append(text, bytes, "the %s reading governs (%s)", is_direct ? "bright" : "shaded",
						is_direct ? "highlights that were lost do not come back" : "shadows without light print as nothing");
	else
		wet_text_append(text, bytes, "the middle, which the %s reading, that governs, allows", is_direct ? "bright" : "shaded");
	/* A reading may fall on either side. */
	wet_text_append(text, bytes, ". The bright reading falls %s %s the middle, the shaded one %s %s it.",
					wet_print_stops(fabs(e->bright_stops), false, a, sizeof a), e->bright_stops < 0 ? "under" : "over",
					wet_print_stops(fabs(e->shaded_stops), false, b, sizeof b), e->shaded_stops > 0 ? "over" : "under");
	wet_print_stops(m->ask.holds_stops, false, a, sizeof a);
	if (e->loses_bright)
		wet_text_append(text, bytes, "\nThe paper holds %s over the middle: what is bright %s.", a,
						is_direct ? "becomes white without drawing, and does not come back"
								  : "becomes too dense to print");
	if (e->loses_shaded)
		wet_text_append(text, bytes, "\nThe paper holds %s under the middle: what is in shade %s.", a,
						is_direct ? "becomes plain black" : "stays without drawing");
}

static void say_flash(const struct metering *m, const struct wet_exposed *e, char *text, size_t bytes)
{
	char a[32];
	if (m->ask.flash_under_stops <= 0)
		return;
	wet_print_stops(m->ask.flash_under_stops, false, a, sizeof a);
	wet_text_append(text, bytes, "\nPre-flash %s under the middle: the camera gives %.1f stops less%s", a,
					e->flash_less_stops, m->has_two ? "" : ".");
	if (m->has_two)
		wet_text_append(text, bytes, ", and %.1f stops between the readings become %.1f on the paper.", e->range_stops,
						e->flash_range_stops);
	wet_text_append(text, bytes, " No longer a flash than its test (--flash-test) showed: %s.",
					m->ask.sense == WET_SENSE_DIRECT_POSITIVE ? "the black must stay full" : "the white must stay white");
}

static void say_assumed(const struct metering *m, const struct wet_exposed *e, char *text, size_t bytes)
{
	char a[32], law[96];
	const struct wet_reading *both[] = { &m->bright, &m->shaded };
	bool has_mark = m->is_mark, has_lum = false, has_lux = false, has_iso = false;
	for (int i = 0; i < (m->has_two ? 2 : 1); i++) {
		has_mark = has_mark || both[i]->is_mark;
		has_lum = has_lum || both[i]->kind == WET_READING_LUMINANCE;
		has_lux = has_lux || both[i]->kind == WET_READING_ILLUMINANCE;
		has_iso = has_iso || both[i]->is_iso_100;
	}
	wet_text_append(text, bytes, "\nAssumed: reciprocity %s%s",
					wet_print_reciprocity(&m->ask.reciprocity, law, sizeof law),
					!m->has_reciprocity && e->given.time_s > 1 ? " (no law told: long times may come out under-exposed)" : "");
	if (has_mark)
		wet_text_append(text, bytes, "; engraved marks as the exact stops they stand for");
	if (has_iso)
		wet_text_append(text, bytes, "; EV at ISO 100");
	if (has_lum)
		wet_text_append(text, bytes, "; K %.4g (ISO 2720)", m->meter.k > 0 ? m->meter.k : WET_METER_K);
	if (has_lux)
		wet_text_append(text, bytes, "; C %.4g (ISO 2720), a subject of middling tone", m->meter.c > 0 ? m->meter.c : WET_METER_C);
	if (m->has_two && !m->has_holds)
		wet_text_append(text, bytes, "; the paper holds %s on each side of the middle",
						wet_print_stops(m->ask.holds_stops, false, a, sizeof a));
	if (e->given.is_beyond)
		wet_text_append(text, bytes, "; beyond the reciprocity table, whose end was carried on: test it");
	wet_text_append(text, bytes, ".");
}

static void say_rows(const struct metering *m, const struct wet_bracket *rows, char *text, size_t bytes, json_t *list)
{
	char stops[32], given[24], counted[24];
	wet_text_append(text, bytes, "\n\n  %-12s  %-9s  %-8s  %s", "exposure", "time", "count", "counting is off by");
	for (uint32_t i = 0; i < m->count; i++) {
		const struct wet_bracket *r = &rows[i];
		bool is_middle = i == m->count / 2;
		wet_print_stops(r->stops, true, stops, sizeof stops);
		wet_text_append(text, bytes, "\n%s %-12s  %-9s  ", is_middle ? ">" : " ", is_middle ? "this" : stops,
						wet_print_exposure(r->given.time_s, given, sizeof given));
		if (r->counted_ns > 0)
			wet_text_append(text, bytes, "%-8s  %+.2f stop",
							wet_print_exposure((double)r->counted_ns / WET_NS_PER_S, counted, sizeof counted), r->off_stops);
		else
			wet_text_append(text, bytes, "%-8s  too short for a hand", "-");
		(void)json_array_append_new(
			list, json_pack("{s:I, s:s, s:I, s:I, s:I, s:b, s:b}", "millistops", milli(r->stops), "time", given, "time_us",
							micro(r->given.time_s), "counted_us", (json_int_t)(r->counted_ns / 1000), "off_millistops",
							milli(r->off_stops), "is_clamped", r->given.is_clamped, "is_beyond", r->given.is_beyond));
	}
	if (m->ask.sense != WET_SENSE_UNSAID && m->count > 1)
		wet_text_append(text, bytes, "\n\nMore exposure makes %s %s.",
						m->ask.sense == WET_SENSE_DIRECT_POSITIVE ? "a direct positive" : "a negative", more_is(m));
}

/* What came on top of the reading, in stops. */
static void say_added(const struct metering *m, char *text, size_t bytes)
{
	char a[32];
	if (m->ask.filter_stops > 0)
		wet_text_append(text, bytes, "\nFilter: %s more.", wet_print_stops(m->ask.filter_stops, false, a, sizeof a));
	if (m->ask.bellows_stops > 0)
		wet_text_append(text, bytes, "\nBellows, at %.3g times life size: %s more.", m->magnification,
						wet_print_stops(m->ask.bellows_stops, false, a, sizeof a));
	if (m->ask.more_stops != 0)
		wet_text_append(text, bytes, "\nWanted: %s%s.", wet_print_stops(m->ask.more_stops, true, a, sizeof a),
						m->ask.sense == WET_SENSE_UNSAID ? "" : (m->ask.more_stops > 0) == (m->ask.sense == WET_SENSE_DIRECT_POSITIVE)
																	  ? ", lighter"
																	  : ", darker");
}

json_t *meter_exposure(const struct metering *m, const struct wet_exposed *e, const struct wet_bracket *rows)
{
	char text[3072] = "", t[24], g[24];
	json_t *list = json_array();
	say_reading(m->has_two ? "Bright" : "Reading", &m->bright, text, sizeof text);
	if (m->has_two)
		say_reading(". Shaded", &m->shaded, text, sizeof text);
	wet_text_append(text, sizeof text, ".\n");
	say_camera(m, text, sizeof text);
	if (m->has_two)
		say_place(m, e, text, sizeof text);
	say_added(m, text, sizeof text);
	say_flash(m, e, text, sizeof text);
	if (e->given.time_s > e->metered_s * 1.001)
		wet_text_append(text, sizeof text, "\nReciprocity makes %s of the metered %s.",
						wet_print_exposure(e->given.time_s, g, sizeof g), wet_print_exposure(e->metered_s, t, sizeof t));
	else if (e->given.is_clamped)
		wet_text_append(text, sizeof text, "\nThe law of reciprocity would shorten so short a time: left as metered.");
	say_assumed(m, e, text, sizeof text);
	say_rows(m, rows, text, sizeof text, list);
	return json_pack(
		"{s:I, s:I, s:I, s:I, s:s, s:I, s:I, s:I, s:I, s:I, s:I, s:I, s:b, s:b, s:b, s:b, s:o, s:s}", "f_number_milli",
		milli(m->ask.f_number), "paper_index_milli", milli(m->ask.index), "bright_ev100_milli", milli(m->bright.ev100),
		"shaded_ev100_milli", milli(m->shaded.ev100), "sense", wet_sense_name(m->ask.sense), "ev100_milli", milli(e->ev100),
		"metered_us", micro(e->metered_s), "time_us", micro(e->given.time_s), "bright_millistops", milli(e->bright_stops),
		"shaded_millistops", milli(e->shaded_stops), "range_millistops", milli(e->range_stops), "flash_range_millistops",
		milli(e->flash_range_stops), "is_held_back", e->is_held_back, "loses_bright", e->loses_bright, "loses_shaded",
		e->loses_shaded, "is_clamped", e->given.is_clamped, "bracket", list, "text", text);
}

/* -- the flash test ------------------------------------------------------------------------------------ */

json_t *meter_flash(const struct metering *m, const int32_t *total_s, const int32_t *add_s)
{
	bool is_direct = m->ask.sense == WET_SENSE_DIRECT_POSITIVE;
	char text[1600] = "", t[24];
	json_t *list = json_array();
	wet_text_format(text, sizeof text,
					"Flash test, in the dark: an even, dim light on a piece cut into %d strips by a card, the last strip "
					"covered all the time.\nOpen all but that one, then cover one more after each flash:\n",
					(int)m->count + 1);
	/* The first flash is had by all strips, so the strip covered first has the least. */
	for (uint32_t i = 0; i < m->count; i++) {
		wet_text_append(text, sizeof text, "\n  flash %-6s then cover strip %d: it has had ",
						wet_print_exposure(add_s[i], t, sizeof t), (int)i + 1);
		wet_text_append(text, sizeof text, "%s", wet_print_exposure(total_s[i], t, sizeof t));
		(void)json_array_append_new(list, json_pack("{s:i, s:i}", "total_s", (int)total_s[i], "add_s", (int)add_s[i]));
	}
	wet_text_append(text, sizeof text,
					"\n\nDevelop and fix it as always, and judge it dry beside the covered strip. The flash to use is the "
					"longest that still gives %s. Too long a flash %s. It holds for this lamp, at this distance, and this "
					"paper.",
					is_direct ? "full black" : "paper white", is_direct ? "greys the blacks" : "fogs the whites");
	return json_pack("{s:o, s:s}", "strips", list, "text", text);
}
