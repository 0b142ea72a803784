/* stage.c: the ends of the live bath, derived from recipe, vessel, readings and acts. */
#include "inside.h"

bool bath_is_live(const struct wet_run *run)
{
	return run->pos.base == WET_PHASE_EARLY;
}

const struct wet_stage *live_stage(const struct wet_run *run)
{
	return &run->setup.recipe->stages[run->pos.stage];
}

const struct wet_vessel *stage_vessel(const struct wet_run *run, int stage)
{
	return run->setup.recipe->stages[stage].in_washer ? &run->setup.washer : &run->setup.vessel;
}

bool stage_is_compensated(const struct wet_stage *stage)
{
	return stage->law.kind != WET_LAW_NONE;
}

bool stage_is_joinable(const struct wet_stage *stage)
{
	return stage->kind == WET_STAGE_WASH && stage->in_washer;
}

bool stage_is_mixing(const struct wet_stage *stage)
{
	return stage->kind == WET_STAGE_MIX || stage->kind == WET_STAGE_STAND;
}

bool stage_is_quiet(const struct wet_stage *stage)
{
	return stage->kind == WET_STAGE_WASH || stage->kind == WET_STAGE_AID ||
		   (stage_is_mixing(stage) && !stage->agitation.is_continuous);
}

int water_at(const struct wet_run *run, int64_t now_ns)
{
	const struct wet_waters *w = &live_stage(run)->waters;
	int64_t in_ns = now_ns - run->pos.since_ns - w->first_ns;
	if (w->count < 1 || w->each_ns <= 0)
		return 0;
	int64_t water = in_ns < 0 ? 1 : 2 + in_ns / w->each_ns;
	return water < w->count ? (int)water : w->count;
}

/* Development scales `most` with the dose; a cold fix or wash doesn't: its `most` guards the paper, not the image. */
bool stage_most_is_scaled(const struct wet_stage *stage)
{
	return stage->law.kind == WET_LAW_FACTOR || stage->law.kind == WET_LAW_TABLE;
}

/* Run time at which the dose reaches a reference time, rounded to the millisecond after the begin. */
static int64_t dose_end_ns(const struct wet_run *run, const struct wet_track *track, double folded_s, int64_t reference_ns)
{
	double target_s = (double)reference_ns / 1e9 - folded_s;
	int64_t root = wet_dose_root_ns(&live_stage(run)->law, track, run->heat.folded_to_ns, target_s);
	int64_t since = root - run->pos.since_ns;
	if (since < 0)
		since = 0;
	return run->pos.since_ns + (since + NS_PER_MS / 2) / NS_PER_MS * NS_PER_MS;
}

void ends_on(const struct wet_run *run, const struct wet_track *track, double folded_s, struct ends *ret_ends)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	int index = run->pos.stage;
	const struct wet_stage *stage = &recipe->stages[index];
	const struct wet_vessel *vessel = stage_vessel(run, index);
	struct wet_times times = wet_stage_times(recipe, index, vessel, run->setup.pieces);
	int64_t begin = run->pos.since_ns;
	struct ends e = {
		.fill_ns = wet_stage_fill_ns(recipe, index, vessel),
		.drain_ns = wet_stage_drain_ns(recipe, index, vessel),
	};
	if (stage_is_compensated(stage)) {
		e.least_ns = dose_end_ns(run, track, folded_s, times.least_ns);
		e.aim_ns = dose_end_ns(run, track, folded_s, times.aim_ns);
		e.most_ns = stage_most_is_scaled(stage) ? dose_end_ns(run, track, folded_s, times.most_ns) : begin + times.most_ns;
	} else {
		e.least_ns = begin + times.least_ns;
		e.aim_ns = begin + times.aim_ns;
		e.most_ns = begin + times.most_ns;
	}
	if (stage->kind == WET_STAGE_WASH)
		e.most_ns = INT64_MAX; /* a wash never nags */
	e.is_cold = e.aim_ns > e.most_ns;
	if (e.is_cold)
		e.aim_ns = e.most_ns; /* a fix too cold: it ends at most, with an alarm; its reading said "warm the bath" */
	if (e.aim_ns < run->pos.floor_ns)
		e.aim_ns = run->pos.floor_ns;
	e.aim_ns += run->pos.longer_ns;
	if (e.least_ns > e.aim_ns)
		e.least_ns = e.aim_ns;
	e.pour_out_ns = e.aim_ns - e.drain_ns;
	if (e.pour_out_ns < begin)
		e.pour_out_ns = begin;
	*ret_ends = e;
}

void ends_of(const struct wet_run *run, struct ends *ret_ends)
{
	struct wet_track track;
	track_of(run, &track);
	ends_on(run, &track, run->heat.folded_s, ret_ends);
}

int32_t stage_reference_mc(const struct wet_stage *stage)
{
	switch (stage->law.kind) {
	case WET_LAW_FACTOR:
	case WET_LAW_TABLE: return stage->law.tref_mc;
	case WET_LAW_FIXING: return 20000;
	case WET_LAW_WASHING: return 18300;
	default: return INT32_MIN;
	}
}

int64_t later_ns(const struct wet_run *run, const struct ends *ends)
{
	struct wet_times times = wet_stage_times(run->setup.recipe, run->pos.stage, stage_vessel(run, run->pos.stage),
											 run->setup.pieces);
	return ends->aim_ns - (run->pos.since_ns + times.aim_ns + run->pos.longer_ns);
}

int next_stage(const struct wet_run *run)
{
	switch (run->pos.base) {
	case WET_PHASE_READY: return 0;
	case WET_PHASE_ENDED: return -1;
	case WET_PHASE_WAITING: return run->pos.stage;
	default: return run->pos.stage + 1 < run->setup.recipe->stage_count ? run->pos.stage + 1 : -1;
	}
}

bool next_waits(const struct wet_run *run)
{
	if (!bath_is_live(run))
		return true;
	int next = next_stage(run);
	if (next < 0 || run->pos.is_held || run->pos.is_late)
		return true;
	const struct wet_stage *stage = &run->setup.recipe->stages[next];
	return stage->begin == WET_BEGIN_ON_GO || !wet_stage_kind_is_bath(stage->kind);
}

int64_t attend_ns(const struct wet_run *run, const struct ends *ends)
{
	int64_t lead = ends->aim_ns - run->pos.since_ns < 90 * NS_PER_S ? 10 * NS_PER_S : 20 * NS_PER_S;
	return ends->pour_out_ns - lead;
}

enum wet_run_phase phase_under(const struct wet_run *run, int64_t now_ns)
{
	if (!bath_is_live(run))
		return (enum wet_run_phase)run->pos.base;
	if (run->pos.has_window && now_ns < run->pos.window_ns)
		return WET_PHASE_POURING;
	struct ends e;
	ends_of(run, &e);
	if (now_ns >= e.aim_ns)
		return WET_PHASE_PAST;
	return now_ns < e.least_ns ? WET_PHASE_EARLY : WET_PHASE_BETWEEN;
}

enum wet_run_phase phase_at(const struct wet_run *run, int64_t now_ns)
{
	if (run->pos.base == WET_PHASE_ENDED)
		return WET_PHASE_ENDED;
	return run->is_interrupted ? WET_PHASE_INTERRUPTED : phase_under(run, now_ns);
}

enum wet_light_kind light_now(const struct wet_run *run)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	switch (run->pos.base) {
	case WET_PHASE_READY:
	case WET_PHASE_ENDED: return WET_LIGHT_WHITE;
	case WET_PHASE_WAITING:
		/* The lid is on, or the pieces lie open: as for the bath that comes, but nothing requires light yet. */
		if (wet_recipe_light(recipe, run->pos.stage) == WET_LIGHT_REQUIRED)
			return WET_LIGHT_WHITE;
		return wet_recipe_light(recipe, run->pos.stage);
	default: return wet_recipe_light(recipe, run->pos.stage);
	}
}

bool paper_is_open(const struct wet_run *run)
{
	enum wet_light_kind light = light_now(run);
	return light == WET_LIGHT_DARK || light == WET_LIGHT_SAFELIGHT;
}

int64_t run_number(const struct wet_run *run)
{
	/* Stage and count of acts in one number: either changes it. */
	return (int64_t)run->pos.stage * 1000000 + run->act_count % 1000000;
}

/* What the fill leaves of the opening, at least 10 s; minutes count from the stage's start. */
void turns_of(const struct wet_run *run, const struct ends *e, struct turns *ret_turns)
{
	const struct wet_agitation *a = &live_stage(run)->agitation;
	int64_t begin = run->pos.since_ns, stop = e->pour_out_ns - QUIET_END_NS, rest = begin + e->fill_ns;
	struct turns t = { .opening_ns = INT64_MIN, .opening_rest_ns = INT64_MIN };
	*ret_turns = t;
	if (a->is_continuous)
		return;
	if (a->opening_ns > 0) {
		int64_t turn = begin + (e->fill_ns > 0 ? e->fill_ns : 2 * NS_PER_S);
		rest = begin + a->opening_ns;
		if (rest < turn + 10 * NS_PER_S)
			rest = turn + 10 * NS_PER_S;
		if (rest <= stop) {
			t.opening_ns = turn;
			t.opening_rest_ns = rest;
		}
	}
	if (a->burst_ns > 0 && a->every_ns > 0) {
		t.every_ns = a->every_ns;
		t.burst_ns = a->burst_ns;
		t.first_ns = begin + a->every_ns;
		while (t.first_ns < rest + a->burst_ns)
			t.first_ns += a->every_ns;
		t.last_ns = stop - a->burst_ns;
	}
	*ret_turns = t;
}
