/* trace.c: how warm each bath of a run was, from its events folded once more under the rules it was armed with. */
#include "darkroom/trace.h"

#include "base/text.h"

#include <string.h>

#define STEPS (WET_RECIPE_STAGES * (WET_PIECES + 2)) /* that the clock makes between two events, at most */

void trace_begin(struct wet_tracing *t, const struct wet_run_setup *setup, int64_t armed_boot_ns)
{
	memset(t, 0, sizeof *t);
	wet_run_init(&t->run, setup, armed_boot_ns);
	for (int i = 0; i < WET_RECIPE_STAGES; i++)
		t->stages[i].in_mc = t->stages[i].out_mc = INT32_MIN;
}

/* Every second one goes when there is no room; from then on every second one comes. */
static void add_point(struct wet_trace *s, int64_t at_ns, int32_t mc)
{
	if (s->readings++ % (s->stride ? s->stride : 1) != 0)
		return;
	if (s->count == WET_TRACE_POINTS) {
		for (int i = 0; i < WET_TRACE_POINTS / 2; i++)
			s->points[i] = s->points[2 * i];
		s->count = WET_TRACE_POINTS / 2;
		s->stride = s->stride ? 2 * s->stride : 2;
		if ((s->readings - 1) % s->stride != 0)
			return;
	}
	s->points[s->count++] = (struct wet_track_point){ at_ns, mc };
}

/* The live bath as it is at this moment; what is seen last of a stage stays. */
static void look(struct wet_tracing *t, int64_t boot_ns)
{
	struct wet_view v;
	wet_run_view(&t->run, boot_ns, &v);
	if (v.stage < 0 || v.aim_ns == 0 || v.course == WET_COURSE_NONE)
		return;
	struct wet_trace *s = &t->stages[v.stage];
	int bath = t->run.setup.recipe->stages[v.stage].bath;
	s->in_mc = bath >= 0 && t->run.poured_mc[bath] != INT32_MIN ? t->run.poured_mc[bath] : s->in_mc;
	s->out_mc = v.temperature_mc;
	s->course = v.course;
	s->settles_mc = v.settles_mc;
	s->tau_ns = v.tau_ns;
	s->fit_readings = v.fit_readings;
	wet_text_copy(s->text, sizeof s->text, v.warmth);
}

void trace_event(struct wet_tracing *t, const struct wet_event *e)
{
	int64_t at_ns;
	/* After a gap boot time may be another; the event itself says how far the run came. */
	for (int i = 0; i < STEPS && e->kind != WET_EVENT_RESUMED && wet_run_deadline(&t->run, &at_ns) && at_ns <= e->boot_ns; i++) {
		look(t, at_ns - 1);
		wet_run_advance(&t->run, at_ns);
	}
	if (e->kind != WET_EVENT_RESUMED)
		look(t, e->boot_ns);
	wet_run_fold(&t->run, e);
	if (t->run.outcome != 0 || t->run.pos.base != WET_PHASE_EARLY || e->kind == WET_EVENT_RESUMED)
		return;
	int stage = t->run.pos.stage;
	bool is_now = e->kind == WET_ACT_READING && !(e->flags & (WET_EVENT_ROOM | WET_EVENT_AFTER | WET_EVENT_BEFORE));
	if (is_now && e->bath == t->run.setup.recipe->stages[stage].bath)
		add_point(&t->stages[stage], wet_run_time(&t->run, e->boot_ns), e->temperature_mc);
	look(t, e->boot_ns);
}
