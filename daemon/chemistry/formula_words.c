/* formula_words.c: a step of the weigh-out list in words. */
#include "chemistry/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

#define PPM_TOLD 5000 /* a difference of half a percent is told */

static void append_temperature(int32_t mc, char *buf, unsigned n)
{
	char c[24];
	wet_text_append(buf, n, "%s (%d F)", wet_print_temperature(mc, c, sizeof c),
					(int)((wet_fahrenheit_mf(mc) + 500) / 1000));
}

static const char *print_amount(bool is_liquid, int64_t amount, char *buf, unsigned n)
{
	return is_liquid ? wet_print_volume(amount, buf, n) : wet_print_mass(amount, buf, n);
}

char *print_weighed(const struct wet_scale *scale, int64_t mg, char *buf, unsigned n)
{
	char grams[32];
	if (!scale->unit[0])
		return wet_print_mass(mg, buf, n);
	double shown = round((double)mg / scale->step_mg) * scale->step_mg / scale->unit_mg;
	return wet_text_format(buf, n, "%.6g %s (%s)", shown, scale->unit, wet_print_mass(mg, grams, sizeof grams));
}

/* How far the scale's step takes it off. */
static void append_rounding(const struct wet_weigh_step *s, bool is_liquid, char *buf, unsigned n)
{
	char amount[32], tenths[16];
	double ppm = s->exact > 0 ? 1e6 * (double)(s->shown - s->exact) / (double)s->exact : 0;
	if (s->kind == WET_WEIGH_STOCK || fabs(ppm) < PPM_TOLD)
		return;
	long t = lround(fabs(ppm) / 1000);
	wet_text_format(tenths, sizeof tenths, "%ld.%ld", t / 10, t % 10);
	wet_text_append(buf, n, " (%s %% %s than the exact %s)", tenths, ppm > 0 ? "more" : "less",
					print_amount(is_liquid, s->exact, amount, sizeof amount));
}

static void append_stock(const struct wet_substances *t, const struct wet_weigh_step *s, const struct wet_scale *scale,
						 char *buf, unsigned n)
{
	char use[32], percent[24], mass[64], volume[32], exact[32];
	const struct wet_form *form = &t->forms[s->form];
	bool is_alcohol = t->substances[form->substance].stock == WET_SOLVENT_ALCOHOL;
	const char *liquid = is_alcohol ? "alcohol" : "water";
	wet_text_append(
		buf, n,
		"%s of a %s solution of %s in %s; %s is too little to weigh. For the solution: %s, and %s to "
		"make %s.",
		wet_print_volume(s->shown, use, sizeof use),
		wet_print_percent(s->stock_percent_milli, percent, sizeof percent), form->name, liquid,
		wet_print_mass(s->exact, exact, sizeof exact), print_weighed(scale, s->stock_mg, mass, sizeof mass), liquid,
		wet_print_volume(s->stock_ul, volume, sizeof volume));
	if (is_alcohol)
		wet_text_append(buf, n, " Alcohol burns: no flame and no spark near it.");
}

/* The caution that belongs to the hand that pours. */
static void append_caution(int chemical_class, bool is_liquid, char *buf, unsigned n)
{
	if (chemical_class == WET_CLASS_ACID && is_liquid)
		wet_text_append(buf, n,
						" Slowly, while stirring: acid into the solution, never the other way round.");
	else if (chemical_class == WET_CLASS_CAUSTIC)
		wet_text_append(
			buf, n,
			" A little at a time, goggles and gloves on: it heats the water and burns skin and eyes.");
	else if (chemical_class == WET_CLASS_SULFIDE)
		wet_text_append(buf, n, " Outdoors or under extraction, and no acid anywhere near: a poison gas.");
}

static void append_line(const struct wet_substances *t, const struct wet_formula *f,
						const struct wet_weigh_step *s, const struct wet_weigh_out *list, char *buf,
						unsigned n)
{
	char amount[64], other[32];
	const struct wet_form *form = &t->forms[s->form];
	const struct wet_ingredient *in = &f->ingredients[s->ingredient];
	bool is_liquid = wet_form_is_liquid(form), was_liquid = wet_form_is_liquid(&t->forms[in->form]);
	if (s->has_below) {
		wet_text_append(buf, n, "When the solution is below ");
		append_temperature(s->temperature_mc, buf, n);
		wet_text_append(buf, n, ": ");
	}
	if (s->kind == WET_WEIGH_STOCK) {
		append_stock(t, s, &list->scale, buf, n);
	} else {
		wet_text_append(buf, n, "%s of %s",
						is_liquid ? wet_print_volume(s->shown, amount, sizeof amount)
								  : print_weighed(&list->scale, s->shown, amount, sizeof amount),
						form->name);
		if (s->is_replaced) {
			const struct wet_weigh_step *last = &list->steps[list->step_count - 1];
			int64_t was = llround((double)in->amount * (double)last->exact / (double)f->makes_ul);
			wet_text_append(buf, n, ", in place of %s of %s",
							print_amount(was_liquid, was, other, sizeof other), t->forms[in->form].name);
		}
		append_rounding(s, is_liquid, buf, n);
		wet_text_append(buf, n, ".");
	}
	if (s->is_coarse)
		wet_text_append(buf, n, " That is little for this %s: better make %s or more, or use a finer one.",
						is_liquid ? "graduate" : "scale",
						wet_print_volume(s->least_make_ul, other, sizeof other));
	append_caution(class_of(t, in), is_liquid, buf, n);
}

char *wet_weigh_step_text(const struct wet_substances *table, const struct wet_formula *formula,
						  const struct wet_weigh_out *list, int step, char *buf, unsigned buf_bytes)
{
	char volume[32];
	const char *distilled = formula->is_distilled ? "distilled water" : "water";
	wet_text_copy(buf, buf_bytes, "");
	if (step < 0 || step >= list->step_count)
		return buf;
	const struct wet_weigh_step *s = &list->steps[step];
	switch (s->kind) {
	case WET_WEIGH_WATER:
		wet_text_append(buf, buf_bytes, "%s of %s at ", wet_print_volume(s->shown, volume, sizeof volume),
						distilled);
		append_temperature(s->temperature_mc, buf, buf_bytes);
		wet_text_append(buf, buf_bytes, ".");
		break;
	case WET_WEIGH_PINCH:
		wet_text_append(buf, buf_bytes,
						"A pinch of the %s that comes after the next; stir until it is dissolved.",
						table->forms[s->form].name);
		break;
	case WET_WEIGH_FILL_UP:
		wet_text_append(buf, buf_bytes, "Cold %s to make %s.", distilled,
						wet_print_volume(s->shown, volume, sizeof volume));
		break;
	default: append_line(table, formula, s, list, buf, buf_bytes); break;
	}
	return buf;
}
