/* clock.c: boot time <-> run time, and what the clock does by itself. */
#include "inside.h"

#include <string.h>

__extension__ typedef __int128 wide;

static int64_t clamp(wide v)
{
	if (v > (wide)(INT64_MAX / 2))
		return INT64_MAX / 2;
	if (v < (wide)(INT64_MIN / 2))
		return INT64_MIN / 2;
	return (int64_t)v;
}

int64_t wet_run_time(const struct wet_run *run, int64_t boot_ns)
{
	wide d = (wide)boot_ns - run->anchor_boot_ns;
	if (run->rate_milli == 1000)
		return clamp((wide)run->anchor_run_ns + d);
	wide n = d * run->rate_milli;
	wide q = n / 1000;
	if (n % 1000 < 0)
		q--;
	return clamp((wide)run->anchor_run_ns + q);
}

int64_t wet_run_boot(const struct wet_run *run, int64_t run_ns)
{
	if (run_ns >= INT64_MAX / 2)
		return INT64_MAX;
	wide d = (wide)run_ns - run->anchor_run_ns;
	if (run->rate_milli == 1000)
		return clamp((wide)run->anchor_boot_ns + d);
	wide n = d * 1000;
	wide q = n / run->rate_milli;
	if (n % run->rate_milli > 0)
		q++;
	return clamp((wide)run->anchor_boot_ns + q);
}

/* From run time at_ns on, time passes at the rate of this kind of stage. */
static void set_rate(struct wet_run *run, int64_t at_ns, uint32_t rate_milli)
{
	if (!run->setup.is_rehearsal || rate_milli == 0)
		rate_milli = 1000;
	if (rate_milli == run->rate_milli)
		return;
	int64_t at_boot_ns = wet_run_boot(run, at_ns);
	run->anchor_boot_ns = at_boot_ns;
	run->anchor_run_ns = at_ns;
	run->rate_milli = rate_milli;
}

static void rate_for_pos(struct wet_run *run, int64_t at_ns)
{
	uint32_t rate = 1000;
	if (run->pos.base == WET_PHASE_EARLY)
		rate = run->setup.rate_milli[live_stage(run)->kind];
	else if (run->pos.base == WET_PHASE_HANDLING || run->pos.base == WET_PHASE_WAITING)
		rate = run->setup.rate_milli[WET_STAGE_HANDLING];
	set_rate(run, at_ns, rate);
}

void wet_run_init(struct wet_run *run, const struct wet_run_setup *setup, int64_t boot_ns)
{
	memset(run, 0, sizeof *run);
	run->setup = *setup;
	run->pos.base = WET_PHASE_READY;
	run->anchor_boot_ns = boot_ns;
	run->first_boot_ns = boot_ns;
	run->rate_milli = 1000;
	run->last_go_boot_ns = INT64_MIN / 2;
	run->room_mc = setup->forecast.kind != WET_FORECAST_CONSTANT ? setup->forecast.room_mc : INT32_MIN;
	for (int i = 0; i < WET_RECIPE_BATHS; i++) {
		run->before_mc[i] = run->poured_mc[i] = INT32_MIN;
		run->read_at_ns[i] = INT64_MIN;
	}
}

/* -- the clock's own moves ------------------------------------------------- */

static void close_record(struct wet_run *run, int64_t at_ns)
{
	struct wet_stage_record *r = &run->records[run->pos.stage];
	if (run->pos.base == WET_PHASE_EARLY) {
		struct ends e;
		ends_of(run, &e);
		if (at_ns < e.least_ns)
			r->flags |= WET_STAGE_EARLY;
		if (at_ns > e.most_ns)
			r->flags |= WET_STAGE_OVERTIME;
		if (stage_is_compensated(live_stage(run)) && run->heat.track_count == 0)
			r->flags |= WET_STAGE_UNCERTAIN;
		if (run->uncertain_ns > 0)
			r->flags |= WET_STAGE_UNCERTAIN;
	}
	r->end_ns = at_ns;
	r->flags |= WET_STAGE_DONE;
}

static void begin_bath(struct wet_run *run, int stage, int64_t at_ns, bool is_straight, bool is_auto)
{
	int32_t vessel_mc = heat_leave(run, stage, at_ns);
	struct wet_run_pos *p = &run->pos;
	memset(p, 0, sizeof *p);
	p->base = WET_PHASE_EARLY;
	p->stage = (uint8_t)stage;
	p->since_ns = at_ns;
	p->floor_ns = at_ns;
	p->is_auto = is_auto;
	run->records[stage] = (struct wet_stage_record){ .begin_ns = at_ns, .flags = WET_STAGE_BEGUN };

	heat_begin(run, at_ns, vessel_mc);
	rate_for_pos(run, at_ns);
	if (is_straight) {
		struct ends e;
		ends_of(run, &e);
		int64_t window = at_ns + e.fill_ns + WINDOW_NS;
		int64_t attend = attend_ns(run, &e);
		p->has_window = true;
		p->window_ns = attend < window ? attend : window;
		if (p->window_ns > e.aim_ns)
			p->window_ns = e.aim_ns;
	}
}

void restart_bath(struct wet_run *run, int64_t now_ns)
{
	bool is_held = run->pos.is_held;
	begin_bath(run, run->pos.stage, now_ns, false, false);
	run->pos.is_held = is_held;
}

/* Goes to the stage after the one that ends now. */
static void begin_next(struct wet_run *run, int64_t at_ns, bool is_straight, bool is_auto)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	int next = run->pos.base == WET_PHASE_READY ? 0 : run->pos.stage + 1;
	if (run->pos.base == WET_PHASE_EARLY || run->pos.base == WET_PHASE_HANDLING)
		close_record(run, at_ns);
	bool was_bath = run->pos.base == WET_PHASE_EARLY;
	if (next >= recipe->stage_count) {
		run->pos.base = WET_PHASE_ENDED;
		run->pos.since_ns = at_ns; /* the rehearsal's last key is heard too */
		run->pos.is_auto = is_auto;
		run->outcome = 1;
		rate_for_pos(run, at_ns);
		return;
	}
	const struct wet_stage *stage = &recipe->stages[next];
	if (!wet_stage_kind_is_bath(stage->kind)) {
		memset(&run->pos, 0, sizeof run->pos);
		run->pos.base = WET_PHASE_HANDLING;
		run->pos.stage = (uint8_t)next;
		run->pos.since_ns = at_ns;
		run->pos.is_auto = is_auto;
		run->records[next] = (struct wet_stage_record){ .begin_ns = at_ns, .flags = WET_STAGE_BEGUN };
		rate_for_pos(run, at_ns);
		return;
	}
	if (was_bath && !stage_is_mixing(stage)) { /* what comes next into a mix is told first, then goes in */
		begin_bath(run, next, at_ns, is_straight, is_auto);
		return;
	}
	memset(&run->pos, 0, sizeof run->pos);
	run->pos.base = WET_PHASE_WAITING;
	run->pos.stage = (uint8_t)next;
	run->pos.since_ns = at_ns;
	run->pos.is_auto = is_auto;
	rate_for_pos(run, at_ns);
}

void press_go(struct wet_run *run, int64_t now_ns, bool is_auto)
{
	switch (run->pos.base) {
	case WET_PHASE_READY: begin_next(run, now_ns, false, is_auto); break;
	case WET_PHASE_HANDLING: {
		int wanted = live_stage(run)->handling == WET_HANDLING_PIECES ? run->setup.pieces : 1;
		if (run->pos.piece + 1 < wanted) {
			run->pos.piece++;
			run->pos.since_ns = now_ns;
			run->pos.is_auto = is_auto;
		} else {
			begin_next(run, now_ns, false, is_auto);
		}
		break;
	}
	case WET_PHASE_WAITING: begin_bath(run, run->pos.stage, now_ns, false, is_auto); break;
	case WET_PHASE_EARLY: begin_next(run, now_ns, false, is_auto); break;
	default: break;
	}
}

static bool keys_are_own(const struct wet_run *run)
{
	return run->setup.is_rehearsal && !run->setup.is_mine && !run->setup.is_wet;
}

/* Run time of the next move, and whether the rehearsal's key makes it. */
static int64_t move_ns(const struct wet_run *run, bool *ret_is_key)
{
	*ret_is_key = false;
	if (run->is_interrupted || run->pos.base == WET_PHASE_ENDED || run->pos.base == WET_PHASE_READY)
		return INT64_MAX;
	if (run->pos.base == WET_PHASE_HANDLING || run->pos.base == WET_PHASE_WAITING) {
		if (!keys_are_own(run))
			return INT64_MAX;
		*ret_is_key = true;
		return run->pos.since_ns + (run->pos.base == WET_PHASE_WAITING ? AUTO_POUR_NS : AUTO_NS);
	}
	struct ends e;
	ends_of(run, &e);
	if (!next_waits(run))
		return e.aim_ns;
	if (!keys_are_own(run) || run->pos.is_held)
		return INT64_MAX;
	*ret_is_key = true;
	return e.aim_ns + AUTO_NS;
}

int64_t boundary_ns(const struct wet_run *run)
{
	bool is_key;
	return move_ns(run, &is_key);
}

void advance_run(struct wet_run *run, int64_t now_ns)
{
	/* At most every stage, every handling piece: bounded. */
	for (int i = 0; i < WET_RECIPE_STAGES * (WET_PIECES + 2); i++) {
		bool is_key;
		int64_t at_ns = move_ns(run, &is_key);
		if (at_ns > now_ns)
			return;
		run->undo_count = 0; /* the clock has changed a stage: undo can't reach past it */
		if (is_key)
			press_go(run, at_ns, true);
		else
			begin_next(run, at_ns, true, false);
	}
}

/* Stage by stage, because each may run at a rate of its own. */
void wet_run_advance(struct wet_run *run, int64_t boot_ns)
{
	for (int i = 0; i < WET_RECIPE_STAGES * (WET_PIECES + 2); i++) {
		int64_t at_ns = boundary_ns(run);
		if (at_ns == INT64_MAX || wet_run_boot(run, at_ns) > boot_ns)
			return;
		advance_run(run, at_ns);
	}
}

bool wet_run_deadline(const struct wet_run *run, int64_t *ret_boot_ns)
{
	int64_t at_ns = boundary_ns(run);
	if (at_ns == INT64_MAX)
		return false;
	*ret_boot_ns = wet_run_boot(run, at_ns);
	return true;
}

bool wet_run_has_boundary(const struct wet_run *run, int64_t from_boot_ns, int64_t to_boot_ns)
{
	struct wet_run copy = *run;
	wet_run_advance(&copy, from_boot_ns);
	int64_t at;
	return wet_run_deadline(&copy, &at) && at <= to_boot_ns;
}
