/* times.c: how long each stage of a recipe takes at each temperature, for a chart and a card on the wall. */
#include "methods/inside.h"

#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

/* Water that is nearly ice is nobody's bath; the other end is over what any policy allows. A row of a table each degree, or in
 * Fahrenheit each second one. */
static const struct scale {
	int from, to, step, row; /* tenths of a degree */
	const char *unit;
} celsius = { 50, 300, 5, 10, "C" }, fahrenheit = { 410, 860, 10, 20, "F" };

static int32_t mc_of(const struct scale *scale, int tenths)
{
	return scale == &celsius ? tenths * 100 : (int32_t)lround((tenths - 320) * 100 / 1.8);
}

struct asked {
	const struct wet_recipe *recipe;
	struct wet_vessel vessel;
	const struct scale *scale;
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
	char time[32], at[24];
	int64_t ns;
	for (int t = a->scale->from; t <= a->scale->to; t += a->scale->step) {
		if (!time_at(a, stage, mc_of(a->scale, t), &ns))
			continue;
		wet_print_duration(ns, time, sizeof time);
		wet_text_format(at, sizeof at, "%g %s", t / 10.0, a->scale->unit);
		(void)json_array_append_new(points, json_pack("{s:f, s:s, s:I, s:s, s:b}", "degrees", t / 10.0, "at", at, "seconds",
													  (json_int_t)(ns / 1000000000), "time", time, "is_row",
													  t % a->scale->row == 0));
	}
	return points;
}

void serve_recipe_times(struct wet_call *c)
{
	const struct wet_shelf_recipe *r = find_recipe(c);
	if (!r)
		return;
	bool is_fahrenheit = false;
	if (!want_bool(c, "fahrenheit", &is_fahrenheit))
		return;
	struct asked a = { .recipe = &r->recipe, .scale = is_fahrenheit ? &fahrenheit : &celsius };
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
