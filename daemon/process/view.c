/* view.c: reading a run at a time. Changes nothing. */
#include "inside.h"

#include "base/spoken.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

static void view_course(const struct wet_run *run, struct wet_view *v)
{
	const struct wet_course *c = &run->course;
	v->course = (enum wet_course_kind)c->kind;
	v->fit_readings = c->readings;
	if (c->tau_ns == 0 || v->temperature_mc == INT32_MIN)
		return;
	v->tau_ns = c->tau_ns;
	v->settles_mc = c->room_mc;
	v->rate_mc_per_min = (int32_t)lround((c->room_mc - v->temperature_mc) / ((double)c->tau_ns / 60e9));
}

static void view_bath(const struct wet_run *run, int64_t now_ns, struct wet_view *v)
{
	struct ends e;
	struct wet_track track;
	ends_of(run, &e);
	v->begin_ns = run->pos.since_ns;
	v->least_ns = e.least_ns;
	v->aim_ns = e.aim_ns;
	v->most_ns = e.most_ns;
	v->pour_out_ns = e.pour_out_ns;
	v->window_ns = run->pos.has_window ? run->pos.window_ns : run->pos.since_ns;
	v->can_press_pouring = run->pos.has_window && !run->pos.was_shifted && now_ns < run->pos.window_ns;
	v->is_overtime = now_ns > e.aim_ns;
	v->is_past_most = now_ns > e.most_ns;
	track_of(run, &track);
	const struct wet_stage *stage = live_stage(run);
	v->is_compensated = stage_is_compensated(stage);
	v->is_cold = e.is_cold;
	if (run->heat.track_count > 0)
		v->temperature_mc = (int32_t)lround(wet_track_c(&track, now_ns) * 1000);
	view_course(run, v);
	if (v->is_compensated) {
		v->reference_mc = stage_reference_mc(stage);
		v->later_ns = later_ns(run, &e);
		v->forecast_band_ns = forecast_band_ns(run, e.aim_ns);
		v->band_ns = llround(hypot((double)tolerance_ns(run, e.aim_ns), (double)v->forecast_band_ns));
		v->is_uncertain = run->heat.track_count == 0 || !wet_law_covers(&stage->law, wet_track_c(&track, now_ns));
	}
	if (stage->bath >= 0 && run->read_at_ns[stage->bath] != INT64_MIN)
		v->reading_age_ns = now_ns - run->read_at_ns[stage->bath];
	say_doubt(run, &track, v, v->doubt, sizeof v->doubt);
	say_warmth(run, v, v->warmth, sizeof v->warmth);
	say_end(v, v->end, sizeof v->end);
}

static void view_doing(const struct wet_run *run, int64_t now_ns, const struct wet_view *v, char *buf,
					   unsigned n)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	const struct wet_stage *stage = v->stage >= 0 ? &recipe->stages[v->stage] : NULL;
	switch (v->phase) {
	case WET_PHASE_READY:
		wet_text_copy(buf, n, wet_recipe_is_mix(recipe) ? "Ready, in white light. Begin." : "Ready. Light and screen off, then begin.");
		return;
	case WET_PHASE_INTERRUPTED:
		wet_text_copy(buf, n, "Interrupted. Lights on; look after people first. Resume when all is well.");
		return;
	case WET_PHASE_ENDED:
		wet_text_copy(buf, n, run->outcome == 2 ? "The run was abandoned." : "Done. The run has ended.");
		return;
	case WET_PHASE_HANDLING: say_handling(run, v->stage, v->piece, buf, n); return;
	case WET_PHASE_WAITING: say_stand_by(run, v->stage, buf, n); return;
	default: break;
	}
	if (v->phase == WET_PHASE_PAST) {
		if (run->pos.is_late)
			say_order(run, now_ns, buf, n);
		else
			say_ready(run, buf, n);
	} else if (v->can_press_pouring) {
		say_pour_in(run, v->stage, buf, n);
		wet_text_append(buf, n, " Press as you start to pour.");
	} else if (now_ns >= v->pour_out_ns && !v->next_waits) {
		say_pour_out(run, v->stage, buf, n);
	} else if (water_at(run, now_ns) > 0) {
		char which[32], all[24];
		wet_text_format(buf, n, "%s: the %s water of %s.", stage->name, wet_ordinal_word(water_at(run, now_ns), which, sizeof which),
						wet_number_word(stage->waters.count, all, sizeof all));
	} else if (stage->agitation.how[0]) {
		wet_text_format(buf, n, "%s: %s.", stage->name, stage->agitation.how);
	} else {
		wet_text_format(buf, n, "%s at work.", stage->name);
	}
}

void wet_run_view(const struct wet_run *before, int64_t boot_ns, struct wet_view *ret_view)
{
	struct wet_run copy = *before;
	struct wet_run *run = &copy;
	struct wet_view v;
	memset(&v, 0, sizeof v);
	wet_run_advance(run, boot_ns);
	int64_t now_ns = wet_run_time(run, boot_ns);
	v.now_ns = now_ns;
	v.phase = phase_at(run, now_ns);
	v.under = run->pos.base == WET_PHASE_ENDED ? WET_PHASE_ENDED : phase_under(run, now_ns);
	v.stage = run->pos.base == WET_PHASE_ENDED ? -1 : run->pos.stage;
	v.next_stage = next_stage(run);
	v.piece = run->pos.base == WET_PHASE_HANDLING ? run->pos.piece + 1 : 0;
	v.number = run_number(run);
	v.temperature_mc = v.reference_mc = v.settles_mc = INT32_MIN;
	v.reading_age_ns = -1;
	v.most_ns = INT64_MAX;
	v.begin_ns = run->pos.since_ns;
	v.is_held = run->pos.is_held;
	v.is_late = run->pos.is_late;
	v.next_waits = next_waits(run);
	v.light = light_now(run);
	v.is_paper_open = paper_is_open(run);
	v.uncertain_ns = run->uncertain_ns;
	if (bath_is_live(run))
		view_bath(run, now_ns, &v);
	v.begin_boot_ns = wet_run_boot(run, v.begin_ns);
	v.least_boot_ns = wet_run_boot(run, v.least_ns);
	v.aim_boot_ns = wet_run_boot(run, v.aim_ns);
	v.most_boot_ns = wet_run_boot(run, v.most_ns);
	v.pour_out_boot_ns = wet_run_boot(run, v.pour_out_ns);
	view_doing(run, now_ns, &v, v.doing, sizeof v.doing);
	say_time_left(&v, v.left, sizeof v.left);
	if (v.phase != WET_PHASE_ENDED) {
		if (run->pos.base == WET_PHASE_HANDLING && v.piece < run->setup.pieces &&
			live_stage(run)->handling == WET_HANDLING_PIECES)
			say_handling(run, v.stage, v.piece + 1, v.next, sizeof v.next);
		else
			say_next(run, v.next_stage, v.next, sizeof v.next);
	}
	if (run->pos.is_late || (run->gap_to_ns > 0 && now_ns - run->gap_to_ns < 60 * NS_PER_S))
		say_order(run, now_ns, v.order, sizeof v.order);
	*ret_view = v;
}
