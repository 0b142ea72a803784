/* substances.c: the table of substances and the forms they are sold in. */
#include "chemistry/inside.h"

#include "base/text.h"

#include <stddef.h>
#include <string.h>

#define WORD(name, word) word,
static const char *const class_words[] = { WET_CHEMICAL_CLASSES(WORD) };
static const char *const stock_words[] = { WET_SOLVENTS(WORD) };
#undef WORD

const char *wet_chemical_class_word(int chemical_class)
{
	return chemical_class >= 0 && chemical_class < WET_CLASS_N ? class_words[chemical_class] : "";
}

const char *wet_solvent_word(int stock)
{
	return stock >= 0 && stock < WET_SOLVENT_N ? stock_words[stock] : "";
}

bool wet_form_is_liquid(const struct wet_form *form)
{
	return form->percent_milli > 0 || form->density_ug_per_ml > 0;
}

/* The first form of a substance, which the others are measured by. */
static const struct wet_form *first_form(const struct wet_substances *t, int substance)
{
	for (int i = 0; i < t->form_count; i++) {
		if (t->forms[i].substance == substance)
			return &t->forms[i];
	}
	return NULL;
}

/* Milligrams of the first form, dry, in one milligram (one microlitre of a liquid) of this one. */
static int content(const struct wet_substances *t, const struct wet_form *form, double *ret_content,
				   struct wet_fault *fault)
{
	double factor;
	const struct wet_form *first = first_form(t, form->substance);
	int rc = wet_hydrate_factor(form->formula, first->formula, &factor, fault);
	if (rc != 0)
		return rc;
	if (form->percent_milli > 0)
		factor *= form->percent_milli / 100000.0;
	if (form->density_ug_per_ml > 0) /* g/mL is mg/uL */
		factor *= form->density_ug_per_ml / 1000000.0;
	*ret_content = factor;
	return WET_OK;
}

int wet_form_convert(const struct wet_substances *table, int from, int to, double amount, double *ret_amount,
					 struct wet_fault *reterr)
{
	double has, wants;
	if (from < 0 || to < 0 || from >= table->form_count || to >= table->form_count)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", NULL, "forms of the table");
	const struct wet_form *a = &table->forms[from], *b = &table->forms[to];
	if (a->substance != b->substance)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "", b->name, "a form of %s",
							 table->substances[a->substance].name);
	int rc = content(table, a, &has, reterr);
	if (rc == 0)
		rc = content(table, b, &wants, reterr);
	if (rc == 0)
		*ret_amount = amount * has / wants;
	return rc;
}

int wet_form_find(const struct wet_substances *table, const char *name)
{
	for (int i = 0; i < table->form_count; i++) {
		const struct wet_form *f = &table->forms[i];
		if (strcmp(f->key, name) == 0 || strcmp(f->name, name) == 0)
			return i;
		for (int j = 0; j < WET_FORM_ALIASES; j++) {
			if (f->also[j][0] != '\0' && strcmp(f->also[j], name) == 0)
				return i;
		}
	}
	return -1;
}

/* -- check ----------------------------------------------------------------------- */

static int fail(struct wet_fault *fault, int err, const struct wet_substances *t, int form,
				const char *member, const char *found, const char *want)
{
	char where[96];
	int within = 0;
	for (int i = 0; i < form; i++)
		within += t->forms[i].substance == t->forms[form].substance;
	wet_text_format(where, sizeof where, "/substances/%d/forms/%d/%s", t->forms[form].substance, within,
					member);
	return wet_fault_set(fault, err, where, found, "%s", want);
}

/* The words of a fault from within, at a place in the file. */
static int fail_within(struct wet_fault *fault, int err, const struct wet_substances *t, int form,
					   const struct wet_fault *inner)
{
	char want[224];
	wet_text_format(want, sizeof want, "%s%s%s", inner->where, inner->where[0] ? ": " : "", inner->want);
	return fail(fault, err, t, form, "formula", inner->found, want);
}

static int check_names(const struct wet_substances *t, int form, struct wet_fault *fault)
{
	const struct wet_form *f = &t->forms[form];
	char member[16];
	if (wet_form_find(t, f->key) != form)
		return fail(fault, WET_ERR_EXISTS, t, form, "key", f->key,
					"a key or name that no form before it has");
	if (wet_form_find(t, f->name) != form)
		return fail(fault, WET_ERR_EXISTS, t, form, "name", f->name,
					"a key or name that no form before it has");
	for (int j = 0; j < WET_FORM_ALIASES; j++) {
		if (f->also[j][0] == '\0' || wet_form_find(t, f->also[j]) == form)
			continue;
		wet_text_format(member, sizeof member, "also/%d", j);
		return fail(fault, WET_ERR_EXISTS, t, form, member, f->also[j],
					"a key or name that no form before it has");
	}
	return WET_OK;
}

static int check_form(const struct wet_substances *t, int form, struct wet_fault *fault)
{
	const struct wet_form *f = &t->forms[form];
	struct wet_fault inner = { 0 };
	double mass, inside;
	int rc = wet_molar_mass(f->formula, &mass, &inner);
	if (rc == 0)
		rc = content(t, f, &inside, &inner);
	if (rc != 0)
		return fail_within(fault, rc, t, form, &inner);
	if (f->percent_milli < 0 || f->percent_milli > 100000)
		return fail(fault, WET_ERR_RANGE, t, form, "strength", NULL, "over 0 to 100 %");
	if (f->percent_milli > 0 && f->is_by_volume != (f->density_ug_per_ml == 0))
		return fail(fault, WET_ERR_INVALID, t, form, "density", NULL,
					"a density with a strength w/w, and none with a strength w/v");
	/* Lighter than ether or heavier than the heaviest solution of a salt in a darkroom. */
	if (f->density_ug_per_ml != 0 && (f->density_ug_per_ml < 700000 || f->density_ug_per_ml > 3000000))
		return fail(fault, WET_ERR_RANGE, t, form, "density", NULL, "0.7 to 3 g/mL");
	return check_names(t, form, fault);
}

int wet_substances_check(const struct wet_substances *table, struct wet_fault *reterr)
{
	char where[48];
	for (int i = 0; i < table->substance_count; i++) {
		const struct wet_substance *s = &table->substances[i];
		for (int j = 0; j < i; j++) {
			if (strcmp(table->substances[j].key, s->key) != 0)
				continue;
			wet_text_format(where, sizeof where, "/substances/%d/key", i);
			return wet_fault_set(reterr, WET_ERR_EXISTS, where, s->key,
								 "a key that no substance before it has");
		}
	}
	for (int i = 0; i < table->form_count; i++) {
		int rc = check_form(table, i, reterr);
		if (rc != 0)
			return rc;
	}
	return WET_OK;
}
