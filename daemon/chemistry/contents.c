/* contents.c: a formula and a dilution -> the substances of the bath. */
#include "wetside/contents.h"

#include "wetside/molar_mass.h"

#include <assert.h>
#include <string.h>

/* Milligrams of what is dissolved, as the hazard table counts it, in so much of a form; below 0: it can't be said. */
static double pure_mg(const struct wet_form *form, int64_t amount, const struct wet_hazards *hazards)
{
	double mg = (double)amount, factor = 1;
	if (wet_form_is_liquid(form)) { /* uL */
		if (form->is_by_volume)
			mg = mg * form->percent_milli / 100000.0; /* grams in 100 mL */
		else
			mg = mg * form->density_ug_per_ml / 1e6 * (form->percent_milli > 0 ? form->percent_milli / 100000.0 : 1);
	} else if (form->percent_milli > 0) {
		mg = mg * form->percent_milli / 100000.0;
	}
	if (hazards->formula[0] && strcmp(form->formula, hazards->formula) != 0 &&
		wet_hydrate_factor(form->formula, hazards->formula, &factor, NULL) != 0)
		return -1;
	return mg * factor;
}

static void add(struct wet_contents *c, const struct wet_hazards *substance, double ppm)
{
	int32_t share = ppm >= WET_PPM ? WET_PPM : (int32_t)(ppm + 0.5);
	int i = 0;
	while (i < c->component_count && c->components[i].substance != substance)
		i++;
	if (i == c->component_count)
		c->components[c->component_count++] = (struct wet_component){ substance, 0 };
	share += c->components[i].share_ppm;
	c->components[i].share_ppm = share > WET_PPM ? WET_PPM : share;
}

/* More than the whole, as a concentrate is denser than water: scaled down to it. */
static void fit(struct wet_contents *c)
{
	int64_t sum = 0;
	for (int i = 0; i < c->component_count; i++)
		sum += c->components[i].share_ppm;
	for (int i = 0; i < c->component_count && sum > WET_PPM; i++)
		c->components[i].share_ppm = (int32_t)((int64_t)c->components[i].share_ppm * WET_PPM / sum);
}

void wet_formula_contents(const struct wet_hazard_table *hazards, const struct wet_substances *substances,
						  const struct wet_formula *f, int64_t stock, int64_t water, struct wet_contents *ret_contents)
{
	assert(stock > 0 && water >= 0);
	double part = (double)stock / ((double)stock + (double)water);
	memset(ret_contents, 0, sizeof *ret_contents);
	for (int i = 0; i < f->ingredient_count; i++) {
		const struct wet_ingredient *in = &f->ingredients[i];
		const struct wet_form *form = &substances->forms[in->form];
		const struct wet_substance *substance = &substances->substances[form->substance];
		const struct wet_hazards *h = wet_hazards_find(hazards, substance->key);
		double mg = h && !in->is_pinch ? pure_mg(form, in->amount, h) : 0;
		if (in->is_pinch)
			continue;
		if (!h || mg < 0)
			ret_contents->unknown[ret_contents->unknown_count++] = substance;
		else /* a milligram in a microlitre of a gram a millilitre */
			add(ret_contents, h, mg / (double)f->makes_ul * 1e6 * part);
	}
	fit(ret_contents);
}
