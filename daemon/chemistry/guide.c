/* guide.c: a weigh-out list as steps that a person is led through, each with the line that is said. */
#include "chemistry/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <string.h>

#define STRONG_ACID_MILLI 28500 /* as the rules of what must not meet have it for acetic acid into sulfite */

struct guiding {
	const struct wet_substances *table;
	const struct wet_formula *formula;
	const struct wet_weigh_out *list;
	struct wet_mix_guide *guide;
};

static struct wet_mix_step *add_step(struct guiding *g, enum wet_mix_kind kind, const char *name)
{
	struct wet_mix_step *s = &g->guide->steps[g->guide->step_count++];
	*s = (struct wet_mix_step){ .kind = kind };
	wet_text_copy(s->name, sizeof s->name, name);
	if (s->name[0] >= 'a' && s->name[0] <= 'z')
		s->name[0] = (char)(s->name[0] - 'a' + 'A');
	return s;
}

static void say(struct guiding *g, const char *name, const char *line)
{
	struct wet_mix_step *s = add_step(g, WET_MIX_HANDLE, name);
	wet_text_copy(s->say, sizeof s->say, line);
}

/* A sentence more, where there is room for all of it: what is said is never cut. */
static void add_sentence(struct wet_mix_step *s, const char *sentence)
{
	if (strlen(s->say) + 1 + strlen(sentence) < sizeof s->say)
		wet_text_append(s->say, sizeof s->say, " %s", sentence);
}

static void print_below(int32_t mc, char *buf, unsigned n)
{
	char c[24];
	wet_text_format(buf, n, "%s (%d F)", wet_print_temperature(mc, c, sizeof c),
					(int)((wet_fahrenheit_mf(mc) + 500) / 1000));
}

/* The room before the first powder. McCann, Photographic Processing Hazards, and Oregon Metro, Photographic Chemicals;
 * that an adult mixes: common practice, no source. */
static void say_room(struct guiding *g)
{
	say(g, "The room",
		"White light, extraction on. No food, no drink, no flame. In a school an adult mixes, pupils stand back.");
	say(g, "Wear",
		"Goggles, gloves, apron, closed shoes on; a dust mask for powders. Find the tap to rinse an eye. Press when all "
		"is on.");
	say(g, "Lay out",
		"Scale, graduate, thermometer, stirring rod, a clean bottle with a blank label; then what goes in, in its order.");
}

/* What is too little to weigh is made as a percent solution first, before the water gets cold. */
static void say_percent_solution(struct guiding *g, const struct wet_weigh_step *s)
{
	char percent[24], mass[64], volume[32];
	const struct wet_form *form = &g->table->forms[s->form];
	bool is_alcohol = g->table->substances[form->substance].stock == WET_SOLVENT_ALCOHOL;
	struct wet_mix_step *step = add_step(g, WET_MIX_HANDLE, "Percent solution");
	wet_text_format(step->say, sizeof step->say, "First a %s solution of %s: %s, and %s to make %s.",
					wet_print_percent(s->stock_percent_milli, percent, sizeof percent), form->name,
					print_weighed(&g->list->scale, s->stock_mg, mass, sizeof mass), is_alcohol ? "alcohol" : "water",
					wet_print_volume(s->stock_ul, volume, sizeof volume));
	add_sentence(step, is_alcohol ? "Alcohol burns: no flame and no spark near it." : "Stir until it is clear.");
}

static void say_water(struct guiding *g, const struct wet_weigh_step *s)
{
	char volume[32], warm[48];
	struct wet_mix_step *step = add_step(g, WET_MIX_HANDLE, g->formula->is_distilled ? "Distilled water" : "Water");
	print_below(s->temperature_mc, warm, sizeof warm);
	wet_text_format(step->say, sizeof step->say, "%s, %s at %s, into the mixing vessel.", step->name,
					wet_print_volume(s->shown, volume, sizeof volume), warm);
	if (s->temperature_mc > WET_SCALD_MC)
		add_sentence(step, "So hot it scalds: no hands in it.");
	add_sentence(step, "Press when it is in; so at each step.");
}

static void say_cool(struct guiding *g, const struct wet_ingredient *in)
{
	char warm[48];
	bool is_timed = in->cool.aim_ns > 0;
	struct wet_mix_step *step = add_step(g, is_timed ? WET_MIX_COOL : WET_MIX_HANDLE, "Cool");
	print_below(in->below_mc, warm, sizeof warm);
	wet_text_format(step->how, sizeof step->how, "until it is below %s", warm);
	if (is_timed)
		wet_text_format(step->say, sizeof step->say,
						"Let it cool %s: the vessel in cold water, the thermometer in it. Press as it begins to cool.",
						step->how);
	else
		wet_text_format(step->say, sizeof step->say, "Read the thermometer: wait %s. Press when it is.", step->how);
	step->time = in->cool;
}

/* The caution that belongs to the hand that pours; NULL: none of its own. */
static const char *caution_of(int chemical_class, const struct wet_form *form, bool is_liquid)
{
	bool is_strong = form->percent_milli == 0 || form->percent_milli > STRONG_ACID_MILLI;
	if (chemical_class == WET_CLASS_ACID && is_liquid && is_strong)
		return "First into three times as much cold water; that into the solution, slowly";
	if (chemical_class == WET_CLASS_ACID && is_liquid)
		return "Acid into the solution, slowly, never the other way round";
	if (chemical_class == WET_CLASS_CAUSTIC)
		return "It heats the water and burns skin and eyes; a little at a time";
	if (chemical_class == WET_CLASS_SULFIDE)
		return "Outdoors or under extraction, no acid near, it makes a poison gas";
	return NULL;
}

static void say_pinch(struct guiding *g, const struct wet_weigh_step *s)
{
	struct wet_mix_step *step = add_step(g, WET_MIX_HANDLE, g->table->forms[s->form].name);
	wet_text_format(step->say, sizeof step->say,
					"A pinch of the %s, as much as goes between two gloved fingers: stir until it is dissolved.",
					g->table->forms[s->form].name);
}

static void say_line(struct guiding *g, const struct wet_weigh_step *s)
{
	char amount[96], other[32];
	const struct wet_ingredient *in = &g->formula->ingredients[s->ingredient];
	const struct wet_form *form = &g->table->forms[s->form];
	bool is_liquid = s->kind != WET_WEIGH_MASS, is_timed = in->stir.aim_ns > 0;
	struct wet_mix_step *step = add_step(g, is_timed ? WET_MIX_STIR : WET_MIX_HANDLE, form->name);
	if (is_liquid)
		wet_print_volume(s->shown, amount, sizeof amount);
	else
		print_weighed(&g->list->scale, s->shown, amount, sizeof amount);
	if (s->kind == WET_WEIGH_STOCK)
		wet_text_append(amount, sizeof amount, " of its %s solution",
						wet_print_percent(s->stock_percent_milli, other, sizeof other));
	wet_text_format(step->how, sizeof step->how, "stir until all is %s", is_liquid ? "mixed" : "dissolved");
	const char *caution = caution_of(class_of(g->table, in), form, is_liquid);
	wet_text_format(step->say, sizeof step->say, "%s, %s%s%s: ", step->name, amount, caution != NULL ? ". " : "",
					caution != NULL ? caution : "");
	wet_text_append(step->say, sizeof step->say, is_timed ? "press as it goes in; %s." : "%s.", step->how);
	if (s->is_coarse) {
		char little[96];
		wet_text_format(little, sizeof little, "Little for this %s: better make %s or more.",
						is_liquid ? "graduate" : "scale", wet_print_volume(s->least_make_ul, other, sizeof other));
		add_sentence(step, little);
	}
	step->time = in->stir;
}

/* Up to the end of the first sentence, or of the part before a semicolon. */
static void first_of(const char *text, char *buf, unsigned n)
{
	wet_text_copy(buf, n, text);
	for (char *p = buf; *p != '\0'; p++) {
		if ((*p == '.' || *p == ';') && (p[1] == ' ' || p[1] == '\0')) {
			*p = '\0';
			return;
		}
	}
}

/* What it is, how strong, since when: Massachusetts Department of Environmental Protection, Photography Chemicals. */
static void say_label(struct guiding *g, const char *called)
{
	char use[WET_LINE_BYTES], volume[32], name[WET_NAME_BYTES + 32];
	const struct wet_weigh_step *last = &g->list->steps[g->list->step_count - 1];
	wet_print_volume(last->shown, volume, sizeof volume);
	struct wet_mix_step *step = add_step(g, WET_MIX_HANDLE, "Water to the mark");
	wet_text_format(step->say, sizeof step->say, "Cold %s to make %s. Stir once more.",
					g->formula->is_distilled ? "distilled water" : "water", volume);
	say(g, "Bottle", "Into its bottle, to the neck, and closed: none that ever held food or drink. Wipe up, rinse what was used.");
	step = add_step(g, WET_MIX_HANDLE, "Label");
	bool is_long = strlen(g->formula->title) + WET_NAME_BYTES > sizeof step->say;
	wet_text_format(step->say, sizeof step->say, "Write on it what it is: %s.", is_long ? g->formula->name : g->formula->title);
	wet_text_format(name, sizeof name, "On the shelf it will be %s.", called);
	add_sentence(step, name);
	first_of(g->formula->use, use, sizeof use);
	step = add_step(g, WET_MIX_HANDLE, "Label");
	wet_text_format(step->say, sizeof step->say, "Write today's day on it too.");
	char strong[WET_LINE_BYTES + 32];
	wet_text_format(strong, sizeof strong, "How strong: %s.", use);
	add_sentence(step, strong);
	add_sentence(step, "Out of reach of children.");
}

int wet_formula_guide(const struct wet_substances *table, const struct wet_formula *formula,
					  const struct wet_weigh_out *list, const char *called, struct wet_mix_guide *ret_guide)
{
	struct guiding g = { table, formula, list, ret_guide };
	ret_guide->step_count = 0;
	if (list->step_count < 2 || list->step_count > WET_WEIGH_STEPS)
		return WET_ERR_INVALID;
	say_room(&g);
	for (int i = 0; i < list->step_count; i++) {
		if (list->steps[i].kind == WET_WEIGH_STOCK)
			say_percent_solution(&g, &list->steps[i]);
	}
	for (int i = 0; i < list->step_count; i++) {
		const struct wet_weigh_step *s = &list->steps[i];
		if (s->has_below)
			say_cool(&g, &formula->ingredients[s->ingredient]);
		if (s->kind == WET_WEIGH_WATER)
			say_water(&g, s);
		else if (s->kind == WET_WEIGH_PINCH)
			say_pinch(&g, s);
		else if (s->kind == WET_WEIGH_FILL_UP)
			say_label(&g, called);
		else
			say_line(&g, s);
	}
	if (formula->stand.aim_ns > 0) {
		struct wet_mix_step *step = add_step(&g, WET_MIX_STAND, "Stand");
		wet_text_copy(step->how, sizeof step->how, "closed and labelled");
		wet_text_copy(step->say, sizeof step->say,
					  "Let the bottle stand, closed, until it is as warm as the room. Press as it begins.");
		step->time = formula->stand;
	}
	return WET_OK;
}
