/* judge.c: what meets in each recipe of the shelf, from the formulas its baths are made by. */
#include "shelf/judge.h"

#include "base/text.h"

#include <string.h>

/* The formula of a bath, or NULL: water, or nobody says. */
static const struct wet_formula *formula_of(const struct wet_formulary *formulary, const struct wet_bath *bath)
{
	const struct wet_formulary_item *item =
		!bath->is_water && bath->mix.from[0] ? wet_formulary_find(formulary, bath->mix.from) : NULL;
	return item != NULL ? &item->formula : NULL;
}

/* Short, as the line of an error is. */
static void tell_forbidden(const struct wet_recipe *r, struct wet_judgement *j)
{
	const struct wet_caution *c = &j->cautions[0];
	if (j->refused != NULL) {
		wet_text_format(j->forbidden, sizeof j->forbidden, "a recipe without %s: it is refused here", j->refused->name);
		return;
	}
	if (j->caution_count == 0 || c->severity < WET_SEVERITY_FORBID)
		return;
	const char *first = r->baths[c->first].name, *then = r->baths[c->then].name;
	wet_text_format(j->forbidden, sizeof j->forbidden, "another recipe: %s%s%s gives %s; %s", first,
					c->first != c->then ? " to " : "", c->first != c->then ? then : "", c->rule->forms, c->rule->text);
}

void wet_judge_recipe(const struct wet_recipe *r, const struct wet_formulary *formulary, const struct wet_safety *safety,
					  bool is_stale_air, struct wet_judgement *ret_judgement)
{
	struct wet_contents contents[WET_RECIPE_BATHS];
	struct wet_process process = { .table = &safety->incompatibilities, .recipe = r, .is_stale_air = is_stale_air };
	struct wet_judgement j = { .caution_count = 0 };
	for (int i = 0; i < r->bath_count; i++) {
		const struct wet_formula *f = formula_of(formulary, &r->baths[i]);
		if (f == NULL) {
			j.unknown |= r->baths[i].is_water ? 0 : 1u << i;
			continue;
		}
		wet_formula_contents(&safety->hazards, wet_formulary_substances(formulary), f, r->baths[i].mix.stock_milli,
								   r->baths[i].mix.water_milli, &contents[i]);
		process.baths[i] = &contents[i];
		j.unknown |= contents[i].unknown_count > 0 ? 1u << i : 0;
		j.acid |= wet_contents_classes(&contents[i]) & WET_REACTION_BIT(ACID) ? 1u << i : 0;
		if (j.refused == NULL)
			j.refused = wet_contents_refused(&contents[i]);
	}
	j.caution_count = wet_process_cautions(&process, j.cautions);
	tell_forbidden(r, &j);
	*ret_judgement = j;
}

char *wet_caution_text(const struct wet_caution *c, const char *first, const char *then, char *buf, unsigned n)
{
	static const char *const heads[] = { "Note", "Care", "Never" };
	const char *needs = wet_caution_needs(c);
	wet_text_format(buf, n, "%s: ", heads[c->severity]);
	if (then[0] && strcmp(first, then) != 0 && first[0])
		wet_text_append(buf, n, "%s %s %s. ", first, c->meeting == WET_MEETING_CARRY_OVER ? "to" : "and", then);
	else if (then[0])
		wet_text_append(buf, n, "%s. ", then);
	if (needs[0])
		wet_text_append(buf, n, "Only so: %s. ", needs);
	wet_text_append(buf, n, "%s Gives %s.", c->rule->text, c->rule->forms);
	if (c->severity > WET_SEVERITY_INFORM && c->meeting != WET_MEETING_MIXING) /* who pours has the line he pours by */
		wet_text_append(buf, n, " %s", c->rule->action);
	return buf;
}

char *wet_recipe_caution_line(const struct wet_recipe *r, const struct wet_caution *c, char *buf, unsigned n)
{
	return wet_caution_text(c, r->baths[c->first].name, r->baths[c->then].name, buf, n);
}
