/* times.c: how long each stage of a recipe takes at each temperature, for a chart and a card on the wall. */
#include "methods/inside.h"

#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

#define FROM_MC 5000  /* water that is nearly ice is nobody's bath */
#define TO_MC 30000   /* over what any policy allows */
#define STEP_MC 500
#define TABLE_MC 1000 /* a row of the table each degree */

struct asked {
	const struct wet_recipe *recipe;
	struct wet_vessel vessel;
};

/* False: the stage may not be done at this temperature, or its law says nothing about it. */
static bool time_at(const struct asked *a, int stage, int32_t mc, int64_t *ret_ns)
{
	const struct wet_stage *s = &a->recipe->stages[stage];
	struct wet_fault fault = { 0 };
	if (wet_temperature_policy(a->recipe, stage, mc, &fault) != 0)
		return false;
	if (s->law.kind == WET_LAW_NONE)
		return false;
	if (s->kind == WET_STAGE_DEVELOP && !wet_law_covers(&s->law, mc / 1000.0))
		return false;
	struct wet_times times = wet_stage_times(a->recipe, stage, &a->vessel, 1);
	double ns = (double)times.aim_ns / wet_law_rate(&s->law, mc / 1000.0);
	/* Only developing may take longer than its most at the reference: that scales with it. */
	if (s->kind != WET_STAGE_DEVELOP && ns > (double)times.most_ns)
		return false;
	*ret_ns = (int64_t)(ns / 1e9 + 0.5) * 1000000000;
	return true;
}

static json_t *points_of(const struct asked *a, int stage)
{
	json_t *points = json_array();
	char time[32], at[24], fahrenheit[24];
	int64_t ns;
	for (int32_t mc = FROM_MC; mc <= TO_MC; mc += STEP_MC) {
		if (!time_at(a, stage, mc, &ns))
			continue;
		wet_print_duration(ns, time, sizeof time);
		wet_print_temperature(mc, at, sizeof at);
		wet_text_format(fahrenheit, sizeof fahrenheit, "%.1f F", mc / 1000.0 * 1.8 + 32);
		(void)json_array_append_new(points, json_pack("{s:f, s:f, s:I, s:s, s:s, s:s, s:b}", "celsius", mc / 1000.0, "fahrenheit",
													  mc / 1000.0 * 1.8 + 32, "seconds", (json_int_t)(ns / 1000000000),
													  "time", time, "at", at, "at_fahrenheit", fahrenheit, "is_whole",
													  mc % TABLE_MC == 0));
	}
	return points;
}

void serve_recipe_times(struct wet_call *c)
{
	const struct wet_shelf_recipe *r = find_recipe(c);
	if (!r)
		return;
	struct asked a = { .recipe = &r->recipe };
	json_t *stages = json_array();
	a.vessel.kind = r->recipe.vessel_kind;
	a.vessel.fill_ns = r->recipe.fill_ns;
	a.vessel.drain_ns = r->recipe.drain_ns;
	for (int i = 0; i < r->recipe.stage_count; i++) {
		const struct wet_stage *s = &r->recipe.stages[i];
		if (s->law.kind == WET_LAW_NONE || !wet_stage_kind_is_bath(s->kind))
			continue;
		(void)json_array_append_new(stages, json_pack("{s:s, s:s, s:o}", "name", s->name, "kind", wet_stage_kind_word(s->kind),
													  "points", points_of(&a, i)));
	}
	call_result(c, json_pack("{s:s, s:s, s:o}", "name", r->recipe.name, "title", r->recipe.title, "stages", stages));
}
