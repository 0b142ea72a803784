/* contents.c: a formula and a dilution -> the substances of the bath. */
#include "wetside/contents.h"

#include "wetside/incompatibility.h"
#include "wetside/molar_mass.h"

#include <assert.h>
#include <math.h>
#include <string.h>

double wet_form_pure_mg(const struct wet_form *form, int64_t amount, const struct wet_hazards *hazards)
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
		double mg = h && !in->is_pinch ? wet_form_pure_mg(form, in->amount, h) : 0;
		if (in->is_pinch)
			continue;
		if (!h || mg < 0)
			ret_contents->unknown[ret_contents->unknown_count++] = substance;
		else /* a milligram in a microlitre of a gram a millilitre */
			add(ret_contents, h, mg / (double)f->makes_ul * 1e6 * part);
	}
	fit(ret_contents);
}

/* -- pH --------------------------------------------------------------------------- */

#define KW 1e-14 /* of water at 25 C */
#define BIT WET_REACTION_BIT

/* Of these the pH hangs too, and how is not computed here. */
static const uint64_t others = BIT(ACID_SALT) | BIT(WEAK_ACID_SALT) | BIT(ALKALI) | BIT(STRONG_ALKALI) | BIT(WEAK_ALKALI) |
							   BIT(CARBONATE) | BIT(BORATE) | BIT(AMMONIA) | BIT(AMMONIUM_SALT) | BIT(SULFITE) |
							   BIT(THIOSULFATE) | BIT(SULFIDE) | BIT(SELENITE) | BIT(DEVELOPING_AGENT) | BIT(ALUM);

/* Protons that a mole of it has given at this concentration of them. */
static double protons_given(const struct wet_hazards *acid, double h)
{
	double weight = 1, all = 1, given = 0;
	for (int i = 0; i < acid->pka_count; i++) {
		weight *= pow(10, -acid->pka_milli[i] / 1000.0) / h;
		all += weight;
		given += (i + 1) * weight;
	}
	return given / all + ((acid->classes & BIT(STRONG_ACID)) != 0);
}

bool wet_contents_ph(const struct wet_contents *contents, int32_t *ret_ph_milli)
{
	double mol_per_l[WET_FORMULA_INGREDIENTS] = { 0 };
	bool has_acid = false;
	for (int i = 0; i < contents->component_count; i++) {
		const struct wet_hazards *s = contents->components[i].substance;
		double g_per_mol;
		bool is_acid = s->pka_count > 0 || (s->classes & BIT(STRONG_ACID));
		if (!is_acid && !(s->classes & others))
			continue;
		if (!is_acid || wet_molar_mass(s->formula, &g_per_mol, NULL) != 0)
			return false;
		mol_per_l[i] = contents->components[i].share_ppm / 1e3 / g_per_mol;
		has_acid = true;
	}
	if (!has_acid || contents->is_dry || contents->unknown_count > 0)
		return false;
	double low = -1, high = 7; /* the charges balance between them, once */
	for (int pass = 0; pass < 60; pass++) {
		double ph = (low + high) / 2, h = pow(10, -ph), charge = h - KW / h;
		for (int i = 0; i < contents->component_count; i++)
			if (mol_per_l[i] > 0)
				charge -= mol_per_l[i] * protons_given(contents->components[i].substance, h);
		if (charge > 0)
			low = ph;
		else
			high = ph;
	}
	*ret_ph_milli = (int32_t)lround(low < 0 ? 0 : low * 1000);
	return true;
}

int wet_contents_classify(const struct wet_contents *contents, struct wet_mixture *ret_mixture,
						  struct wet_classification *ret_classification, struct wet_fault *reterr)
{
	struct wet_mixture m = { .components = contents->components, .component_count = contents->component_count };
	m.has_ph = wet_contents_ph(contents, &m.ph_milli);
	*ret_mixture = m;
	return wet_mixture_classify(&m, ret_classification, reterr);
}

void wet_form_contents(const struct wet_hazard_table *hazards, const struct wet_substances *substances, int form,
					   struct wet_contents *ret_contents)
{
	const struct wet_form *f = &substances->forms[form];
	const struct wet_substance *substance = &substances->substances[f->substance];
	const struct wet_hazards *h = wet_hazards_find(hazards, substance->key);
	double mg = h ? wet_form_pure_mg(f, WET_PPM, h) : -1;
	if (mg > 0 && f->density_ug_per_ml > 0) /* of a million microlitres, and those weigh so much */
		mg = mg / f->density_ug_per_ml * 1e6;
	*ret_contents = (struct wet_contents){ .is_dry = !wet_form_is_liquid(f) };
	if (mg < 0)
		ret_contents->unknown[ret_contents->unknown_count++] = substance;
	else
		add(ret_contents, h, mg);
}

uint64_t wet_contents_classes(const struct wet_contents *c)
{
	uint64_t all = 0;
	for (int i = 0; i < c->component_count; i++)
		all |= c->components[i].share_ppm > 0 ? c->components[i].substance->classes : 0;
	return all;
}

const struct wet_hazards *wet_contents_refused(const struct wet_contents *c)
{
	for (int i = 0; i < c->component_count; i++)
		if (c->components[i].substance->is_refused)
			return c->components[i].substance;
	return NULL;
}
