/* formula.c: a formula checked, and scaled to a volume, a scale and what one owns. */
#include "chemistry/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

__extension__ typedef __int128 wide;

#define AMOUNT_MOST 1000000000000LL /* a tonne, a million litres */
#define STOCKS_MOST 10              /* a percent solution of more than a litre is no way out */

/* -- check ----------------------------------------------------------------------- */

static int fail_line(struct wet_fault *fault, int err, int line, const char *member, const char *found,
					 const char *want)
{
	char where[48];
	wet_text_format(where, sizeof where, "/ingredients/%d/%s", line, member);
	return wet_fault_set(fault, err, where, found, "%s", want);
}

static int check_time(const struct wet_mix_time *t, const char *where, struct wet_fault *fault)
{
	bool is_none = t->least_ns == 0 && t->aim_ns == 0 && t->most_ns == 0;
	if (is_none || (t->least_ns > 0 && t->least_ns <= t->aim_ns && t->aim_ns <= t->most_ns &&
					t->aim_ns >= WET_MIX_AIM_NS_LEAST && t->most_ns <= WET_STAGE_NS_MAX))
		return WET_OK;
	return wet_fault_set(fault, WET_ERR_RANGE, where, NULL,
						 "least no longer than aim, aim no longer than most; aim from 20 s, most up to a day");
}

static int check_line(const struct wet_substances *t, const struct wet_formula *f, int line,
					  struct wet_fault *fault)
{
	const struct wet_ingredient *in = &f->ingredients[line];
	if (in->form >= t->form_count)
		return fail_line(fault, WET_ERR_NOT_FOUND, line, "substance", NULL,
						 "a form of the table of substances");
	if (in->has_below && (in->below_mc < 5000 || in->below_mc > 60000))
		return fail_line(fault, WET_ERR_RANGE, line, "below", NULL, "5 to 60 C");
	const struct {
		const char *member;
		const struct wet_mix_time *time;
	} times[] = { { "cool", &in->cool }, { "stir", &in->stir } };
	for (size_t i = 0; i < sizeof times / sizeof times[0]; i++) {
		char where[48];
		wet_text_format(where, sizeof where, "/ingredients/%d/%s", line, times[i].member);
		if (check_time(times[i].time, where, fault) != 0)
			return WET_ERR_RANGE;
	}
	if (in->is_pinch)
		return WET_OK;
	if (in->amount <= 0 || in->amount > AMOUNT_MOST)
		return fail_line(fault, WET_ERR_RANGE, line, "amount", NULL, "more than nothing");
	for (int i = 0; i < line; i++) {
		const struct wet_ingredient *other = &f->ingredients[i];
		if (!other->is_pinch && t->forms[other->form].substance == t->forms[in->form].substance)
			return fail_line(fault, WET_ERR_EXISTS, line, "substance", t->forms[in->form].key,
							 "each substance once");
	}
	return WET_OK;
}

int wet_formula_check(const struct wet_substances *table, const struct wet_formula *formula,
					  struct wet_fault *reterr)
{
	int64_t filled_ul = formula->start_ul;
	if (formula->makes_ul < WET_MAKE_UL_LEAST || formula->makes_ul > WET_MAKE_UL_MOST)
		return wet_fault_set(reterr, WET_ERR_RANGE, "/makes", NULL, "10 mL to 1000 L");
	if (formula->start_mc < 5000 || formula->start_mc > 60000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "/start/temperature", NULL, "5 to 60 C");
	if (formula->ingredient_count < 1 || formula->ingredient_count > WET_FORMULA_INGREDIENTS)
		return wet_fault_set(reterr, WET_ERR_RANGE, "/ingredients", NULL, "1 to %d ingredients",
							 WET_FORMULA_INGREDIENTS);
	for (int i = 0; i < formula->ingredient_count; i++) {
		int rc = check_line(table, formula, i, reterr);
		if (rc != 0)
			return rc;
		if (wet_form_is_liquid(&table->forms[formula->ingredients[i].form]))
			filled_ul += formula->ingredients[i].amount;
	}
	if (check_time(&formula->stand, "/stand", reterr) != 0)
		return WET_ERR_RANGE;
	if (formula->start_ul <= 0 || filled_ul > formula->makes_ul)
		return wet_fault_set(reterr, WET_ERR_RANGE, "/start/water", NULL,
							 "water, and with the liquids no more of it than the formula makes");
	int rc = check_order(table, formula, reterr);
	for (int i = 0; rc == 0 && i < formula->ingredient_count; i++) {
		if (formula->ingredients[i].cool.aim_ns != 0 && !formula->ingredients[i].has_below)
			rc = fail_line(reterr, WET_ERR_INVALID, i, "cool", NULL, "only with the temperature to come below");
	}
	return rc;
}

/* -- what one owns ------------------------------------------------------------------ */

static int line_of(const struct wet_substances *t, const struct wet_formula *f, int substance)
{
	for (int i = 0; i < f->ingredient_count; i++) {
		if (!f->ingredients[i].is_pinch && t->forms[f->ingredients[i].form].substance == substance)
			return i;
	}
	return -1;
}

/* The substance of the formula whose key a name begins with, or else ends as ("potassium-carbonate" for the
 * carbonate); -1. */
static int meant_by(const struct wet_substances *t, const struct wet_formula *f, const char *name)
{
	const char *tail = strchr(name, '-');
	int found = -1;
	for (int i = 0; i < f->ingredient_count; i++) {
		int substance = t->forms[f->ingredients[i].form].substance;
		const char *key = t->substances[substance].key, *dash = strchr(key, '-');
		if (strncmp(name, key, strlen(key)) == 0)
			return substance;
		if (tail != NULL && dash != NULL && strncmp(tail, dash, strlen(dash)) == 0)
			found = substance;
	}
	return found;
}

static int fail_owned(const struct wet_substances *t, const struct wet_formula *f, const char *name, int err,
					  struct wet_fault *fault)
{
	char list[200] = "";
	int substance = meant_by(t, f, name);
	if (substance < 0) {
		for (int i = 0; i < f->ingredient_count; i++) {
			if (!f->ingredients[i].is_pinch)
				wet_text_append(list, sizeof list, "%s%s", list[0] ? ", " : "",
								t->substances[t->forms[f->ingredients[i].form].substance].key);
		}
		/* A name that is none of ours may hold anything: it is told as found only. */
		return wet_fault_set(fault, err, "own", name, "%s%sneeded: %s", err == WET_ERR_REFUSED ? name : "",
							 err == WET_ERR_REFUSED ? " is not in this formula; " : "a form of what is ",
							 list);
	}
	for (int i = 0; i < t->form_count; i++) {
		if (t->forms[i].substance == substance)
			wet_text_append(list, sizeof list, "%s%s", list[0] ? ", " : "", t->forms[i].key);
	}
	if (err == WET_ERR_REFUSED)
		return wet_fault_set(fault, err, "own", name, "%s is another substance; this needs a form of %s: %s",
							 name, t->substances[substance].name, list);
	return wet_fault_set(fault, err, "own", name, "a form of %s: %s", t->substances[substance].name, list);
}

int wet_formula_own(const struct wet_substances *table, const struct wet_formula *formula, const char *name,
					struct wet_formula_want *want, struct wet_fault *reterr)
{
	int form = wet_form_find(table, name);
	if (form < 0)
		return fail_owned(table, formula, name, WET_ERR_NOT_FOUND, reterr);
	if (line_of(table, formula, table->forms[form].substance) < 0)
		return fail_owned(table, formula, name, WET_ERR_REFUSED, reterr);
	for (int i = 0; i < want->owned_count; i++) {
		const struct wet_form *other = &table->forms[want->owned[i]];
		if (other->substance == table->forms[form].substance)
			return wet_fault_set(reterr, WET_ERR_EXISTS, "own", name,
								 "one form of each substance, not %s too", other->key);
	}
	if (want->owned_count == WET_FORMULA_OWNED)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "own", name, "at most %d owned forms",
							 WET_FORMULA_OWNED);
	want->owned[want->owned_count++] = (uint8_t)form;
	return WET_OK;
}

/* -- compute ------------------------------------------------------------------------- */

struct mix {
	const struct wet_substances *table;
	const struct wet_formula *formula;
	const struct wet_formula_want *want;
	struct wet_weigh_out *list;
	struct wet_fault *fault;
	int64_t liquids_ul, water_ul;
};

/* n * a / d, rounded half up; all positive. */
static int64_t scale(int64_t n, int64_t a, int64_t d)
{
	return (int64_t)(((wide)n * a * 2 + d) / ((wide)d * 2));
}

static int64_t ceiling(int64_t n, int64_t d)
{
	return (n + d - 1) / d;
}

static int64_t to_step(int64_t n, int64_t step)
{
	return (n + step / 2) / step * step;
}

/* The volume of which ours is a share of have/needed, rounded up to two digits. */
static int64_t volume_for(const struct mix *m, int64_t have, int64_t needed)
{
	double ul = ceil((double)m->want->make_ul * (double)needed / (double)(have > 0 ? have : 1));
	int64_t all_ul = ul < (double)AMOUNT_MOST ? (int64_t)ul : AMOUNT_MOST, digit = 1;
	while (all_ul / digit >= 100)
		digit *= 10;
	return ceiling(all_ul, digit) * digit;
}

/* To the nearest that the scale shows. */
static int64_t to_scale(const struct mix *m, int64_t exact_mg)
{
	double step_mg = m->want->scale.step_mg;
	return step_mg > 0 ? llround(round((double)exact_mg / step_mg) * step_mg) : to_step(exact_mg, m->want->scale_step_mg);
}

/* The strongest that dissolves of this form, w/v; the most there is where that is not known. */
static double strongest_milli(const struct mix *m, int form)
{
	const struct wet_substances *t = m->table;
	int substance = t->forms[form].substance, first = form;
	double milli = t->substances[substance].soluble_milli;
	while (first > 0 && t->forms[first - 1].substance == substance)
		first--;
	if (milli <= 0 || wet_form_convert(t, first, form, milli, &milli, NULL) != 0)
		return 100000;
	return milli;
}

/* The strongest percent solution that dissolves, is measured well and made in no more than a litre. False: there is none;
 * where one is for a larger volume, that is told in least_make_ul. */
static bool find_stock(const struct mix *m, int kind, struct wet_weigh_step *s)
{
	static const int32_t percents_milli[] = { 10000, 1000, 100 };
	int64_t well_ul = WET_STOCK_STEPS_LEAST * m->want->measure_step_ul;
	double strongest = strongest_milli(m, s->form);
	if (kind == WET_SOLVENT_NONE)
		return false;
	if (well_ul < WET_STOCK_USE_UL)
		well_ul = WET_STOCK_USE_UL;
	for (size_t i = 0; i < sizeof percents_milli / sizeof percents_milli[0]; i++) {
		int64_t one_mg = percents_milli[i] * WET_STOCK_VOLUME_UL / 100000; /* 1 % is 10 mg in a millilitre */
		int64_t times = ceiling(WET_SCALE_STEPS_LEAST * m->want->scale_step_mg, one_mg);
		int64_t use_ul = scale(s->exact, WET_STOCK_VOLUME_UL, one_mg);
		if (percents_milli[i] > strongest || times > STOCKS_MOST || use_ul > m->want->make_ul / 4)
			continue;
		if (use_ul < well_ul) {
			int64_t least_ul = volume_for(m, use_ul, well_ul);
			if (s->least_make_ul == 0 || least_ul < s->least_make_ul)
				s->least_make_ul = least_ul;
			continue;
		}
		s->least_make_ul = 0;
		s->kind = WET_WEIGH_STOCK;
		s->shown = to_step(use_ul, m->want->measure_step_ul);
		s->stock_percent_milli = percents_milli[i];
		s->stock_mg = times * one_mg;
		s->stock_ul = times * WET_STOCK_VOLUME_UL;
		return true;
	}
	return false;
}

static int show(struct mix *m, struct wet_weigh_step *s)
{
	const struct wet_form *form = &m->table->forms[s->form];
	bool is_liquid = wet_form_is_liquid(form);
	int64_t step = is_liquid ? m->want->measure_step_ul : m->want->scale_step_mg;
	char text[32], least[32];
	s->kind = is_liquid ? WET_WEIGH_VOLUME : WET_WEIGH_MASS;
	s->shown = is_liquid ? to_step(s->exact, step) : to_scale(m, s->exact);
	if (s->exact >= WET_SCALE_STEPS_LEAST * step)
		return WET_OK;
	if (!is_liquid && find_stock(m, m->table->substances[form->substance].stock, s))
		return WET_OK;
	s->is_coarse = true;
	int64_t least_ul = volume_for(m, s->exact, WET_SCALE_STEPS_LEAST * step);
	if (s->least_make_ul == 0 || least_ul < s->least_make_ul)
		s->least_make_ul = least_ul;
	if (s->shown > 0)
		return WET_OK;
	if (is_liquid)
		wet_print_volume(s->exact, text, sizeof text);
	else
		wet_print_mass(s->exact, text, sizeof text);
	return wet_fault_set(m->fault, WET_ERR_RANGE, is_liquid ? "measure" : "scale", form->name,
						 "%s can't be %s with it: make %s or more, or use a finer %s", text,
						 is_liquid ? "measured" : "weighed",
						 wet_print_volume(s->least_make_ul, least, sizeof least),
						 is_liquid ? "graduate" : "scale");
}

static int owned_form(const struct mix *m, int form)
{
	for (int i = 0; i < m->want->owned_count; i++) {
		if (m->table->forms[m->want->owned[i]].substance == m->table->forms[form].substance)
			return m->want->owned[i];
	}
	return form;
}

/* The water that a solution would have brought along, where a solid is owned instead: it is wanted to dissolve in. */
static int64_t water_in(const struct wet_form *form, double volume_ul)
{
	double solids = form->percent_milli / 100000.0;
	if (!wet_form_is_liquid(form) || form->percent_milli == 0)
		return 0;
	return llround(form->is_by_volume ? volume_ul : volume_ul * form->density_ug_per_ml / 1e6 * (1 - solids));
}

static int add_line(struct mix *m, int line)
{
	const struct wet_ingredient *in = &m->formula->ingredients[line];
	int form = owned_form(m, in->form), rc = WET_OK;
	struct wet_weigh_step s = { .kind = WET_WEIGH_PINCH,
								.ingredient = (int8_t)line,
								.form = (uint8_t)form,
								.is_replaced = form != in->form,
								.has_below = in->has_below,
								.temperature_mc = in->below_mc };
	if (!in->is_pinch && s.is_replaced) {
		double amount = (double)in->amount * ((double)m->want->make_ul / (double)m->formula->makes_ul);
		if (!wet_form_is_liquid(&m->table->forms[form]))
			m->water_ul += water_in(&m->table->forms[in->form], amount);
		rc = wet_form_convert(m->table, in->form, form, amount, &amount, m->fault);
		s.exact = rc == 0 ? (int64_t)llround(amount) : 0;
	} else if (!in->is_pinch) {
		s.exact = scale(in->amount, m->want->make_ul, m->formula->makes_ul);
	}
	if (rc == 0 && !in->is_pinch)
		rc = show(m, &s);
	if (rc != 0)
		return rc;
	if (s.kind == WET_WEIGH_VOLUME || s.kind == WET_WEIGH_STOCK)
		m->liquids_ul += s.shown;
	m->list->steps[m->list->step_count++] = s;
	return WET_OK;
}

/* Water to begin with: as the formula says, more where a solid stands for a solution, less where the owned liquids need the
 * room. */
static int pour_water(struct mix *m)
{
	const struct wet_formula *f = m->formula;
	int64_t make = m->want->make_ul, step = m->want->measure_step_ul;
	int64_t exact = scale(f->start_ul, make, f->makes_ul) + m->water_ul, room = make - m->liquids_ul;
	/* Nothing is weighed by it: in a round number. */
	if (step < 10000 && exact >= 200000)
		step = 10000;
	if (exact > room)
		exact = room;
	int64_t shown = to_step(exact, step) > room ? exact / step * step : to_step(exact, step);
	if (shown < make / 10)
		return wet_fault_set(
			m->fault, WET_ERR_REFUSED, "own", NULL,
			"the liquids leave no room for water to dissolve the rest in; a stronger form is needed");
	m->list->steps[0] = (struct wet_weigh_step){ .kind = WET_WEIGH_WATER,
												 .ingredient = -1,
												 .exact = exact,
												 .shown = shown,
												 .temperature_mc = f->start_mc };
	return WET_OK;
}

static int check_want(const struct wet_formula_want *want, struct wet_fault *fault)
{
	if (want->make_ul < WET_MAKE_UL_LEAST || want->make_ul > WET_MAKE_UL_MOST)
		return wet_fault_set(fault, WET_ERR_RANGE, "make", NULL, "10 mL to 1000 L");
	if (want->scale_step_mg < 1 || want->scale_step_mg > 100000)
		return wet_fault_set(fault, WET_ERR_RANGE, "scale", NULL, "what the scale can show: 1 mg to 100 g");
	assert(want->scale.unit[0] == '\0' || (want->scale.step_mg > 0 && want->scale.unit_mg > 0));
	if (want->measure_step_ul < 1 || want->measure_step_ul > 100000)
		return wet_fault_set(fault, WET_ERR_RANGE, "measure", NULL,
							 "what the graduate can show: 1 uL to 100 mL");
	return WET_OK;
}

int wet_formula_compute(const struct wet_substances *table, const struct wet_formula *formula,
						const struct wet_formula_want *want, struct wet_weigh_out *ret_list,
						struct wet_fault *reterr)
{
	struct wet_weigh_out list = { .scale = want->scale, .step_count = 1 };
	struct mix m = { .table = table, .formula = formula, .want = want, .list = &list, .fault = reterr };
	int rc = check_want(want, reterr);
	for (int i = 0; rc == 0 && i < formula->ingredient_count; i++)
		rc = add_line(&m, i);
	if (rc == 0)
		rc = pour_water(&m);
	if (rc != 0)
		return rc;
	list.steps[list.step_count++] = (struct wet_weigh_step){
		.kind = WET_WEIGH_FILL_UP, .ingredient = -1, .exact = want->make_ul, .shown = want->make_ul
	};
	*ret_list = list;
	return WET_OK;
}
