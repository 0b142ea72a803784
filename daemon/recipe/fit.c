/* fit.c: does a recipe fit a vessel? Fill lies at a stage's start and drain at its end, both the vessel's.
 *
 * The rules are the design's own (common practice, no source), but for the drain inside the step: "drain
 * during the last 10 s of every step", US Army subcourse SS0514. */
#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <string.h>

#define BETWEEN_NS (20 * WET_NS_PER_S)       /* in the bath between full and pour-out, at least */
#define LEAST_BETWEEN_NS (10 * WET_NS_PER_S) /* the same for `least` of an uncompensated bath */
#define VESSEL_NS_MAX (3600 * WET_NS_PER_S)  /* nobody fills a tank for an hour */
#define SCALE_MILLI_MAX 1000000u             /* a thousandfold; keeps the product inside int64 */

static int64_t at_least_0(int64_t ns)
{
	return ns > 0 ? ns : 0;
}

/* Stages whose bath is poured or entered in the first vessel. */
static bool uses_vessel(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel)
{
	if (stage < 0 || stage >= recipe->stage_count)
		return false;
	const struct wet_stage *s = &recipe->stages[stage];
	return wet_stage_kind_is_bath(s->kind) && s->bath >= 0 && !s->in_washer &&
		   vessel->kind != WET_VESSEL_WASHER;
}

int64_t wet_stage_fill_ns(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel)
{
	return uses_vessel(recipe, stage, vessel) ? at_least_0(vessel->fill_ns) : 0;
}

int64_t wet_stage_drain_ns(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel)
{
	return uses_vessel(recipe, stage, vessel) ? at_least_0(vessel->drain_ns) : 0;
}

/* May fill and drain lengthen this bath? Not where the recipe's law decides how long development is; the laws
 * of fixing and washing only ever lengthen, so a longer aim there is as harmless as in a bath without a
 * law. */
static bool is_raisable(const struct wet_stage *s)
{
	return s->law.kind == WET_LAW_NONE || s->law.kind == WET_LAW_FIXING || s->law.kind == WET_LAW_WASHING;
}

static bool has_liquid(const struct wet_stage *s)
{
	return wet_stage_kind_is_bath(s->kind) && s->bath >= 0;
}

/* Trays: pieces go in one by one and come out in the same order, so the first must stay until the last is
 * in. */
static int64_t stagger_need_ns(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel,
							   int pieces)
{
	if (vessel->kind != WET_VESSEL_TRAYS || !uses_vessel(recipe, stage, vessel) || pieces < 1)
		return 0;
	return pieces * at_least_0(vessel->stagger_ns);
}

static int64_t fill_need_ns(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel)
{
	return wet_stage_fill_ns(recipe, stage, vessel) + wet_stage_drain_ns(recipe, stage, vessel) + BETWEEN_NS;
}

struct wet_times wet_stage_times(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel,
								 int pieces)
{
	struct wet_times t = { 0 };
	if (stage < 0 || stage >= recipe->stage_count)
		return t;
	const struct wet_stage *s = &recipe->stages[stage];
	t.least_ns = s->least_ns;
	t.aim_ns = s->aim_ns;
	t.most_ns = s->most_ns;
	if (!has_liquid(s))
		return t;
	int64_t need_ns = stagger_need_ns(recipe, stage, vessel, pieces);
	if (is_raisable(s)) {
		int64_t fill_ns = fill_need_ns(recipe, stage, vessel);
		int64_t least_ns = fill_ns - BETWEEN_NS + LEAST_BETWEEN_NS;
		need_ns = fill_ns > need_ns ? fill_ns : need_ns;
		t.least_ns = least_ns > t.least_ns ? least_ns : t.least_ns;
	}
	t.aim_ns = need_ns > t.aim_ns ? need_ns : t.aim_ns;
	t.aim_ns = t.aim_ns > t.most_ns ? t.most_ns : t.aim_ns;
	t.least_ns = t.least_ns > t.aim_ns ? t.aim_ns : t.least_ns;
	t.is_raised = t.aim_ns != s->aim_ns || t.least_ns != s->least_ns;
	return t;
}

/* The aim at the bath's temperature; a fix never passes its `most`. */
static int64_t scaled_aim_ns(const struct wet_stage *s, const struct wet_times *t, uint32_t scale_milli)
{
	if (s->law.kind == WET_LAW_NONE)
		return t->aim_ns;
	int64_t scale = scale_milli > SCALE_MILLI_MAX ? SCALE_MILLI_MAX : scale_milli;
	int64_t aim_ns = t->aim_ns / 1000 * scale + t->aim_ns % 1000 * scale / 1000;
	return s->law.kind == WET_LAW_FIXING && aim_ns > t->most_ns ? t->most_ns : aim_ns;
}

static int refuse_fill(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel,
					   int64_t aim_ns, struct wet_fault *reterr)
{
	const struct wet_stage *s = &recipe->stages[stage];
	char where[32], found[24], need[24], fill[24], drain[24];
	wet_text_format(where, sizeof where, "/stages/%d/aim", stage);
	wet_print_duration(aim_ns, found, sizeof found);
	wet_print_duration(fill_need_ns(recipe, stage, vessel), need, sizeof need);
	wet_print_duration(wet_stage_fill_ns(recipe, stage, vessel), fill, sizeof fill);
	wet_print_duration(wet_stage_drain_ns(recipe, stage, vessel), drain, sizeof drain);
	const char *out = is_raisable(s)
						  ? "a vessel that fills and drains faster, or a recipe with a longer most"
						  : "a cooler bath, a weaker developer with its own times, or a faster vessel";
	return wet_fault_set(reterr, WET_ERR_FIT, where, found,
						 "%s: at least %s (fill %s, drain %s, 20 s between): %s", s->name, need, fill, drain,
						 out);
}

static int refuse_stagger(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel,
						  int pieces, int64_t aim_ns, struct wet_fault *reterr)
{
	const struct wet_stage *s = &recipe->stages[stage];
	char where[32], found[24], need[24];
	/* The reference times could be raised to `most`; the number that fits is what the raised aim holds. */
	int64_t fit_count = aim_ns / vessel->stagger_ns;
	wet_text_format(where, sizeof where, "/stages/%d/aim", stage);
	wet_print_duration(aim_ns, found, sizeof found);
	wet_print_duration(stagger_need_ns(recipe, stage, vessel, pieces), need, sizeof need);
	if (fit_count < 1)
		return wet_fault_set(reterr, WET_ERR_FIT, where, found,
							 "%s: a shorter stagger; not even one piece fits", s->name);
	return wet_fault_set(reterr, WET_ERR_FIT, where, found,
						 "%s: at least %s for %d pieces one after another: fewer pieces, %lld at a time",
						 s->name, need, pieces, (long long)fit_count);
}

static int check_vessel(const struct wet_recipe *recipe, const struct wet_vessel *vessel, int pieces,
						struct wet_fault *reterr)
{
	char found[24];
	if (vessel->kind != recipe->vessel_kind)
		return wet_fault_set(reterr, WET_ERR_FIT, "/vessel/kind", wet_vessel_kind_word(vessel->kind),
							 "%s, for which the recipe is written",
							 wet_vessel_kind_word(recipe->vessel_kind));
	const struct {
		const char *where;
		int64_t ns;
	} parts[] = { { "/vessel/fill", vessel->fill_ns },
				  { "/vessel/drain", vessel->drain_ns },
				  { "/vessel/stagger", vessel->stagger_ns } };
	for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
		if (parts[i].ns < 0 || parts[i].ns > VESSEL_NS_MAX)
			return wet_fault_set(reterr, WET_ERR_RANGE, parts[i].where,
								 wet_print_duration(parts[i].ns, found, sizeof found), "from 0 s to 1 h");
	}
	wet_text_format(found, sizeof found, "%d", pieces);
	if (pieces < 1 || pieces > WET_PIECES)
		return wet_fault_set(reterr, WET_ERR_RANGE, "pieces", found, "from 1 to %d", WET_PIECES);
	if (vessel->pieces_max > 0 && pieces > vessel->pieces_max)
		return wet_fault_set(reterr, WET_ERR_FIT, "pieces", found, "at most %d a load in %s: %d loads",
							 vessel->pieces_max, vessel->name[0] ? vessel->name : "this vessel",
							 (pieces + vessel->pieces_max - 1) / vessel->pieces_max);
	return WET_OK;
}

static void tell_stage(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel,
					   const struct wet_times *t, int64_t aim_ns, char *told, unsigned told_bytes)
{
	const struct wet_stage *s = &recipe->stages[stage];
	char before[24], after[24];
	if (t->aim_ns != s->aim_ns)
		wet_text_append(told, told_bytes, "%s: aim raised from %s to %s for this vessel.\n", s->name,
						wet_print_duration(s->aim_ns, before, sizeof before),
						wet_print_duration(t->aim_ns, after, sizeof after));
	else if (t->least_ns != s->least_ns)
		wet_text_append(told, told_bytes, "%s: least raised from %s to %s for this vessel.\n", s->name,
						wet_print_duration(s->least_ns, before, sizeof before),
						wet_print_duration(t->least_ns, after, sizeof after));
	int64_t change_ns = wet_stage_fill_ns(recipe, stage, vessel) + wet_stage_drain_ns(recipe, stage, vessel);
	bool is_development = s->kind == WET_STAGE_DEVELOP || s->kind == WET_STAGE_REDEVELOP;
	if (is_development && 3 * change_ns > aim_ns)
		wet_text_append(told, told_bytes,
						"%s: filling and draining take %s of %s, over a third: expect uneven development.\n",
						s->name, wet_print_duration(change_ns, before, sizeof before),
						wet_print_duration(aim_ns, after, sizeof after));
}

int wet_recipe_fit(const struct wet_recipe *recipe, const struct wet_vessel *vessel, int pieces,
				   const uint32_t *scale_milli, char *told, unsigned told_bytes, struct wet_fault *reterr)
{
	bool is_telling = told != NULL && told_bytes > 0;
	if (is_telling)
		told[0] = '\0';
	int rc = check_vessel(recipe, vessel, pieces, reterr);
	if (rc != 0)
		return rc;
	for (int i = 0; i < recipe->stage_count; i++) {
		const struct wet_stage *s = &recipe->stages[i];
		if (!has_liquid(s))
			continue;
		struct wet_times t = wet_stage_times(recipe, i, vessel, pieces);
		int64_t aim_ns = scaled_aim_ns(s, &t, scale_milli != NULL ? scale_milli[i] : 1000);
		if (aim_ns < fill_need_ns(recipe, i, vessel))
			return refuse_fill(recipe, i, vessel, aim_ns, reterr);
		if (aim_ns < stagger_need_ns(recipe, i, vessel, pieces))
			return refuse_stagger(recipe, i, vessel, pieces, aim_ns, reterr);
		if (is_telling)
			tell_stage(recipe, i, vessel, &t, aim_ns, told, told_bytes);
	}
	return WET_OK;
}
