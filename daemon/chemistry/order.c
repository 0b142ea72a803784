/* order.c: the rules of dissolving. Most are of one shape: everything of some classes before everything of others. */
#include "chemistry/inside.h"

#include "base/text.h"

#include <stddef.h>

#define BIT(name) (1u << WET_CLASS_##name)
#define AGENTS (BIT(METOL) | BIT(HYDROQUINONE))

#define CYCLOPAEDIA "Cyclopaedia of Photography, ed. B. E. Jones, 1911, Metol-Hydroquinone"
#define WELLINGTON "The Wellington Photographic Handbook, p. 66 and p. 130: dissolve in the order printed"
#define STUDIO_LIGHT "Studio Light, 1916, Stock Solution of Hardener"
#define ANCHELL "S. Anchell, The Darkroom Cookbook, 3rd ed., 2008, p. 171"
#define NAVY "US Navy NAVEDTRA 14209, Photography (Basic)"
#define PRACTICE "common practice, no source"

enum {
	PINCH,
	METOL,
	PRESERVE,
	AGENTS_FIRST,
	CRYSTALS_FIRST,
	SULFUR,
	ALUM,
	ACID_IN_WATER,
	COOL_ACID,
	COOL_CAUSTIC,
	SULFIDE,
	SILVER,
	DEVELOPER_WARM,
	FIXER_WARM,
	RULES
};

static const struct wet_order_rule words[RULES] = {
	[PINCH] = { "a pinch of the sulfite straight before the metol", "it keeps the metol from going brown",
				CYCLOPAEDIA },
	[METOL] = { "metol before the sulfite", "metol does not dissolve in a strong solution of sulfite",
				CYCLOPAEDIA },
	[PRESERVE] = { "sulfite before hydroquinone", "without it hydroquinone is oxidised as it dissolves",
				   WELLINGTON },
	[AGENTS_FIRST] = { "metol and hydroquinone before the alkali",
					   "in alkali they are oxidised as they dissolve", WELLINGTON },
	[CRYSTALS_FIRST] = { "thiosulfate before acid, acid sulfite and alum", "else it turns milky with sulfur",
						 STUDIO_LIGHT },
	[SULFUR] = { "sulfite before acid in a fixer",
				 "acid alone breaks thiosulfate down to sulfur and sulfur dioxide", ANCHELL },
	[ALUM] = { "acid before alum where there is sulfite", "else a sludge of aluminium sulfite falls out",
			   STUDIO_LIGHT },
	[ACID_IN_WATER] = { "acid into at least as much water", "water poured into acid boils and spits",
						"T.O. 33B-1-1, Nondestructive Inspection Methods, 6.7.8 (acetic acid)" },
	[COOL_ACID] = { "the first acid or alum of a fixer only below 27 C", "a warm fixer sulfurises", NAVY },
	[COOL_CAUSTIC] = { "hydroxide only below 27 C", "it heats the water and can make it spit", PRACTICE },
	[SULFIDE] = { "no acid in a solution of sulfide", "they make hydrogen sulfide, a poison gas", PRACTICE },
	[SILVER] = { "distilled water for silver nitrate", "chloride in tap water throws the silver down",
				 PRACTICE },
	[DEVELOPER_WARM] = { "water of 32 to 52 C to begin a developer",
						 "colder it dissolves too slowly, hotter it spoils", NAVY },
	[FIXER_WARM] = { "water of at most 33 C to begin a fixer from crystals, 27 C from solution",
					 "a hot fixer sulfurises; crystals chill the water",
					 NAVY "; S. Anchell, The Darkroom Cookbook, p. 268" },
};

/* Everything of `first` before everything of `then`, if something of `with` is there (0: always). */
static const struct before {
	int rule;
	unsigned first, then, with;
	bool is_needed; /* where `then` is, something of `first` must be */
} befores[] = {
	{ METOL, BIT(METOL), BIT(SULFITE), 0, false },
	{ PRESERVE, BIT(SULFITE), BIT(HYDROQUINONE), 0, true },
	{ AGENTS_FIRST, AGENTS, BIT(ALKALI) | BIT(CAUSTIC), 0, false },
	{ CRYSTALS_FIRST, BIT(THIOSULFATE), BIT(ACID) | BIT(ACID_SULFITE) | BIT(HARDENER), 0, false },
	{ SULFUR, BIT(SULFITE) | BIT(ACID_SULFITE), BIT(ACID), BIT(THIOSULFATE), true },
	{ ALUM, BIT(ACID) | BIT(ACID_SULFITE), BIT(HARDENER), BIT(SULFITE), true },
};

const struct wet_order_rule *wet_order_rules(int *ret_count)
{
	*ret_count = RULES;
	return words;
}

int class_of(const struct wet_substances *table, const struct wet_ingredient *ingredient)
{
	return table->substances[table->forms[ingredient->form].substance].chemical_class;
}

static unsigned bit_of(const struct wet_substances *t, const struct wet_ingredient *in)
{
	return in->is_pinch ? 0 : 1u << class_of(t, in);
}

static unsigned bits_of(const struct wet_substances *t, const struct wet_formula *f)
{
	unsigned bits = 0;
	for (int i = 0; i < f->ingredient_count; i++)
		bits |= bit_of(t, &f->ingredients[i]);
	return bits;
}

static int refuse(struct wet_fault *fault, int rule, const char *where, const char *found)
{
	return wet_fault_set(fault, WET_ERR_REFUSED, where, found, "%s: %s", words[rule].text, words[rule].why);
}

static int refuse_line(const struct wet_substances *t, const struct wet_formula *f, struct wet_fault *fault,
					   int rule, int line, const char *member)
{
	char where[48];
	wet_text_format(where, sizeof where, "/ingredients/%d/%s", line, member);
	return refuse(fault, rule, where, t->forms[f->ingredients[line].form].name);
}

static int check_before(const struct wet_substances *t, const struct wet_formula *f, const struct before *b,
						struct wet_fault *fault)
{
	unsigned all = bits_of(t, f), seen = 0;
	if (b->with != 0 && (all & b->with) == 0)
		return WET_OK;
	for (int i = 0; i < f->ingredient_count; i++) {
		unsigned bit = bit_of(t, &f->ingredients[i]);
		bool is_lacking = (bit & b->then) != 0 && b->is_needed && (all & b->first) == 0;
		if (is_lacking || ((bit & b->first) != 0 && (seen & b->then) != 0))
			return refuse_line(t, f, fault, b->rule, i, "substance");
		seen |= bit;
	}
	return WET_OK;
}

/* A pinch is of sulfite that is weighed too, and stands straight before the metol; and metol beside sulfite has one.
 * That the sulfite itself comes later is another rule. */
static int check_pinches(const struct wet_substances *t, const struct wet_formula *f, struct wet_fault *fault)
{
	bool has_sulfite = (bits_of(t, f) & BIT(SULFITE)) != 0;
	for (int i = 0; i < f->ingredient_count; i++) {
		const struct wet_ingredient *in = &f->ingredients[i];
		bool is_weighed = false;
		for (int j = 0; j < f->ingredient_count; j++)
			is_weighed = is_weighed || (!f->ingredients[j].is_pinch && f->ingredients[j].form == in->form);
		bool is_before_metol = i + 1 < f->ingredient_count && bit_of(t, in + 1) == BIT(METOL);
		if (in->is_pinch && (class_of(t, in) != WET_CLASS_SULFITE || !is_before_metol || !is_weighed))
			return refuse_line(t, f, fault, PINCH, i, "pinch");
		if (bit_of(t, in) == BIT(METOL) && has_sulfite && (i == 0 || !in[-1].is_pinch))
			return refuse_line(t, f, fault, PINCH, i, "substance");
	}
	return WET_OK;
}

/* What must go in cool says so: hydroxides, and the first thing that makes a fixer acid. */
static int check_cool(const struct wet_substances *t, const struct wet_formula *f, struct wet_fault *fault)
{
	const unsigned acids = BIT(ACID) | BIT(ACID_SULFITE) | BIT(HARDENER);
	bool is_fixer = (bits_of(t, f) & BIT(THIOSULFATE)) != 0, is_first = true;
	for (int i = 0; i < f->ingredient_count; i++) {
		const struct wet_ingredient *in = &f->ingredients[i];
		bool is_cool = in->has_below && in->below_mc <= WET_MIX_FIXER_MC_MOST;
		if (bit_of(t, in) == BIT(CAUSTIC) && !is_cool)
			return refuse_line(t, f, fault, COOL_CAUSTIC, i, "below");
		if (is_fixer && is_first && (bit_of(t, in) & acids) != 0) {
			if (!is_cool)
				return refuse_line(t, f, fault, COOL_ACID, i, "below");
			is_first = false;
		}
	}
	return WET_OK;
}

static int check_water(const struct wet_substances *t, const struct wet_formula *f, struct wet_fault *fault)
{
	unsigned all = bits_of(t, f);
	int64_t acid_ul = 0;
	bool is_fixer = (all & BIT(THIOSULFATE)) != 0, has_crystals = false;
	for (int i = 0; i < f->ingredient_count; i++) {
		const struct wet_ingredient *in = &f->ingredients[i];
		bool is_liquid = wet_form_is_liquid(&t->forms[in->form]);
		if (bit_of(t, in) == BIT(ACID) && is_liquid)
			acid_ul += in->amount;
		has_crystals = has_crystals || (bit_of(t, in) == BIT(THIOSULFATE) && !is_liquid);
	}
	if (acid_ul > f->start_ul)
		return refuse(fault, ACID_IN_WATER, "/start/water", NULL);
	if ((all & BIT(SILVER)) != 0 && !f->is_distilled)
		return refuse(fault, SILVER, "/start/distilled", NULL);
	if ((all & AGENTS) != 0 &&
		(f->start_mc < WET_MIX_DEVELOPER_MC_LEAST || f->start_mc > WET_MIX_DEVELOPER_MC_MOST))
		return refuse(fault, DEVELOPER_WARM, "/start/temperature", NULL);
	if (is_fixer && f->start_mc > (has_crystals ? WET_MIX_CRYSTALS_MC_MOST : WET_MIX_FIXER_MC_MOST))
		return refuse(fault, FIXER_WARM, "/start/temperature", NULL);
	return WET_OK;
}

int check_order(const struct wet_substances *table, const struct wet_formula *formula,
				struct wet_fault *reterr)
{
	const unsigned acids = BIT(ACID) | BIT(ACID_SULFITE) | BIT(HARDENER);
	for (int i = 0; i < formula->ingredient_count && (bits_of(table, formula) & BIT(SULFIDE)) != 0; i++) {
		if ((bit_of(table, &formula->ingredients[i]) & acids) != 0)
			return refuse_line(table, formula, reterr, SULFIDE, i, "substance");
	}
	int rc = check_pinches(table, formula, reterr);
	for (size_t i = 0; rc == 0 && i < sizeof befores / sizeof befores[0]; i++)
		rc = check_before(table, formula, &befores[i], reterr);
	if (rc == 0)
		rc = check_cool(table, formula, reterr);
	return rc == 0 ? check_water(table, formula, reterr) : rc;
}
