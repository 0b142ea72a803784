/* light.c: the laws of exposure, the marks of dials, pinholes. */
#include "wetside/exposure.h"

#include <math.h>
#include <stddef.h>

double wet_av(double f_number)
{
	return 2 * log2(f_number);
}

double wet_tv(double time_s)
{
	return -log2(time_s);
}

double wet_ev(double f_number, double time_s)
{
	return wet_av(f_number) + wet_tv(time_s);
}

double wet_ev_time_s(double ev, double f_number)
{
	return f_number * f_number / exp2(ev);
}

double wet_ev_for_index(double ev, double from_index, double to_index)
{
	return ev + log2(to_index / from_index);
}

double wet_luminance_cd_m2(double ev, double index, double k)
{
	return k * exp2(ev) / index;
}

double wet_illuminance_lx(double ev, double index, double c)
{
	return c * exp2(ev) / index;
}

double wet_ev_of_luminance(double luminance_cd_m2, double index, double k)
{
	return log2(luminance_cd_m2 * index / k);
}

double wet_ev_of_illuminance(double illuminance_lx, double index, double c)
{
	return log2(illuminance_lx * index / c);
}

double wet_index_degrees(double index)
{
	return 10 * log10(index) + 1;
}

double wet_index_of_degrees(double degrees)
{
	return pow(10, (degrees - 1) / 10);
}

double wet_stops_of_factor(double factor)
{
	return log2(factor);
}

double wet_factor_of_stops(double stops)
{
	return exp2(stops);
}

double wet_stops_of_density(double density)
{
	return density / log10(2);
}

double wet_bellows_factor(double magnification)
{
	return (1 + magnification) * (1 + magnification);
}

/* -- marks ------------------------------------------------------------------------- */

struct mark {
	double engraved;
	int part; /* of twelfths of a stop from f/1 for apertures; of thirds from 32 s down for times */
};

static const struct mark f_marks[] = {
	/* clang-format off */
	{ 1.1, 4 },  { 1.2, 6 },  { 1.4, 12 }, { 1.6, 16 }, { 1.7, 18 }, { 1.8, 20 }, { 2.2, 28 }, { 2.4, 30 }, { 2.5, 32 },
	{ 2.8, 36 }, { 3.2, 40 }, { 3.3, 42 }, { 3.5, 44 }, { 4.5, 52 }, { 4.8, 54 }, { 5, 56 },   { 5.6, 60 }, { 6.3, 64 },
	{ 6.7, 66 }, { 7.1, 68 }, { 9, 76 },   { 9.5, 78 }, { 10, 80 },  { 11, 84 },  { 13, 88 },  { 14, 92 },  { 18, 100 },
	{ 19, 102 }, { 20, 104 }, { 22, 108 }, { 25, 112 }, { 27, 114 }, { 29, 116 }, { 36, 124 }, { 38, 126 }, { 40, 128 },
	{ 45, 132 }, { 51, 136 }, { 54, 138 }, { 57, 140 }, { 72, 148 }, { 76, 150 }, { 80, 152 }, { 90, 156 },
	/* clang-format on */
};

/* One over the time; 1/2, 1/4 and 1/8 are exact. */
static const struct mark time_marks[] = {
	/* clang-format off */
	{ 3, 20 },  { 5, 22 },  { 6, 23 },   { 10, 25 },  { 13, 26 },  { 15, 27 },  { 20, 28 },  { 25, 29 },  { 30, 30 },
	{ 40, 31 }, { 50, 32 }, { 60, 33 },  { 80, 34 },  { 100, 35 }, { 125, 36 }, { 160, 37 }, { 200, 38 }, { 250, 39 },
	{ 320, 40 }, { 400, 41 }, { 500, 42 },
	/* clang-format on */
};

/* Written in decimals: a third of a second is 0.3 there, and so on. */
static const struct mark decimal_marks[] = { { 0.8, 16 }, { 0.6, 17 }, { 0.4, 19 }, { 0.3, 20 } };

static const struct mark *find_mark(const struct mark *marks, size_t count, double engraved)
{
	for (size_t i = 0; i < count; i++)
		if (fabs(engraved / marks[i].engraved - 1) < 1e-6)
			return &marks[i];
	return NULL;
}

double wet_f_number_of_mark(double f_number)
{
	const struct mark *m = find_mark(f_marks, sizeof f_marks / sizeof f_marks[0], f_number);
	return m ? exp2(m->part / 24.0) : f_number;
}

double wet_time_of_mark_s(double time_s)
{
	const struct mark *m = find_mark(time_marks, sizeof time_marks / sizeof time_marks[0], 1 / time_s);
	if (!m)
		m = find_mark(decimal_marks, sizeof decimal_marks / sizeof decimal_marks[0], time_s);
	return m ? exp2(5 - m->part / 3.0) : time_s;
}

/* -- pinholes ---------------------------------------------------------------------- */

static const struct {
	double constant;
	const char *text, *source;
} formulas[WET_PINHOLE_N] = {
#define FORMULA_ROW(id, constant, text, source) [WET_PINHOLE_##id] = { constant, text, source },
	WET_PINHOLES(FORMULA_ROW)
#undef FORMULA_ROW
};

const char *wet_pinhole_name(enum wet_pinhole_formula formula)
{
	static const char *const names[WET_PINHOLE_N] = { "rayleigh", "airy", "petzval" };
	return names[formula];
}

const char *wet_pinhole_text(enum wet_pinhole_formula formula)
{
	return formulas[formula].text;
}

const char *wet_pinhole_source(enum wet_pinhole_formula formula)
{
	return formulas[formula].source;
}

double wet_pinhole_constant(enum wet_pinhole_formula formula)
{
	return formulas[formula].constant;
}

double wet_pinhole_best_um(double constant, double distance_um, double wavelength_nm)
{
	return constant * sqrt(distance_um * wavelength_nm / 1000);
}

double wet_f_number(double distance_um, double diameter_um)
{
	return distance_um / diameter_um;
}
