/* fold.c: one event into the state. Total: what does not fit changes nothing but the count. */
#include "inside.h"

#include <string.h>

static void push_undo(struct wet_run *run, int act)
{
	if (run->undo_count == WET_UNDO_DEPTH) {
		memmove(&run->undo[0], &run->undo[1], sizeof run->undo[0] * (WET_UNDO_DEPTH - 1));
		run->undo_count--;
	}
	struct wet_undo *u = &run->undo[run->undo_count++];
	u->pos = run->pos;
	u->live = run->records[run->pos.stage];
	u->before = run->pos.stage > 0 ? run->records[run->pos.stage - 1] : (struct wet_stage_record){ 0 };
	u->has_open_paper_seen_light = run->has_open_paper_seen_light;
	u->act = (uint8_t)act;
}

/* An act that changed the stage: only it can be taken back, not what was done in the stage before. */
static void keep_last_undo(struct wet_run *run)
{
	if (run->undo_count > 1) {
		run->undo[0] = run->undo[run->undo_count - 1];
		run->undo_count = 1;
	}
}

static void fold_go(struct wet_run *run, const struct wet_event *event, int64_t now_ns)
{
	enum wet_run_phase phase = phase_at(run, now_ns);
	if (phase == WET_PHASE_READY || phase == WET_PHASE_ENDED || phase == WET_PHASE_INTERRUPTED)
		return;
	push_undo(run, WET_ACT_GO);
	run->last_go_boot_ns = event->boot_ns;
	if (phase == WET_PHASE_POURING && !(event->flags & WET_EVENT_HELD)) {
		int64_t begin = run->pos.since_ns;
		heat_shift(run, begin, now_ns);
		run->pos.since_ns = now_ns;
		run->pos.floor_ns = now_ns;
		run->pos.was_shifted = true;
		run->records[run->pos.stage].begin_ns = now_ns;
		if (run->pos.stage > 0) {
			struct wet_stage_record *before = &run->records[run->pos.stage - 1];
			before->late_pour_ms = (int32_t)((now_ns - before->end_ns) / NS_PER_MS);
		}
		return;
	}
	uint8_t stage = run->pos.stage, base = run->pos.base;
	press_go(run, now_ns, false);
	if (run->pos.stage != stage || run->pos.base != base)
		keep_last_undo(run);
}

static void fold_longer(struct wet_run *run, const struct wet_event *event, int64_t now_ns)
{
	if (!bath_is_live(run) || event->a_ns <= 0 || event->a_ns > WET_STAGE_NS_MAX)
		return;
	struct ends e;
	ends_of(run, &e);
	push_undo(run, WET_ACT_LONGER);
	if (now_ns > e.aim_ns)
		run->pos.longer_ns += now_ns - e.aim_ns; /* past aim: from now */
	run->pos.longer_ns += event->a_ns;
}

/* The wash begins anew, or, while it is waited for, the waiting. */
static void fold_join(struct wet_run *run, int64_t now_ns)
{
	bool is_waiting = run->pos.base == WET_PHASE_WAITING;
	if (run->is_interrupted || !(is_waiting || bath_is_live(run)) || !stage_is_joinable(live_stage(run)))
		return;
	push_undo(run, WET_ACT_JOIN);
	if (is_waiting) {
		run->pos.since_ns = now_ns;
		return;
	}
	restart_bath(run, now_ns);
	keep_last_undo(run);
}

/* The bath's track as it was before the join, and what was read since. */
static void unjoin_track(struct wet_run *run, int64_t joined_ns)
{
	struct wet_bath_heat since = run->heat;
	heat_return(run);
	for (int i = 0; i < since.track_count; i++)
		if (since.track[i].at_ns > joined_ns)
			track_add(run, since.track[i].at_ns, since.track[i].temperature_mc);
}

static void fold_undo(struct wet_run *run, int64_t now_ns)
{
	if (run->undo_count == 0)
		return;
	struct wet_undo *u = &run->undo[--run->undo_count];
	int stage = u->pos.stage;
	bool is_other_bath = run->pos.base == WET_PHASE_EARLY &&
						 (u->pos.base != WET_PHASE_EARLY || u->pos.stage != run->pos.stage);
	if (run->pos.stage != stage || run->pos.base != u->pos.base) {
		memset(&run->records[run->pos.stage], 0, sizeof run->records[0]);
	}
	if (u->act == WET_ACT_JOIN) {
		if (bath_is_live(run))
			unjoin_track(run, run->pos.since_ns);
	} else if (is_other_bath && u->pos.base == WET_PHASE_EARLY) {
		heat_return(run);
	} else if (u->pos.base == WET_PHASE_EARLY && run->pos.since_ns != u->pos.since_ns) {
		/* a shifted start goes back */
		heat_shift(run, run->pos.since_ns, u->pos.since_ns);
	} else if (u->pos.base != WET_PHASE_EARLY) {
		memset(&run->heat, 0, sizeof run->heat);
	}
	run->pos = u->pos;
	settle_course(run);
	run->records[stage] = u->live;
	if (stage > 0)
		run->records[stage - 1] = u->before;
	run->has_open_paper_seen_light = u->has_open_paper_seen_light;
	/* As if it had never happened; but an end that would lie in the past becomes now. */
	if (bath_is_live(run) && run->pos.floor_ns < now_ns) {
		struct ends e;
		ends_of(run, &e);
		if (e.aim_ns < now_ns && !next_waits(run))
			run->pos.floor_ns = now_ns - run->pos.longer_ns;
	}
}

static void fold_reading(struct wet_run *run, const struct wet_event *event, int64_t now_ns)
{
	int after = after_stage(run, event);
	run->is_fahrenheit = (event->flags & WET_EVENT_FAHRENHEIT) != 0;
	if (after >= 0)
		run->after_stages |= UINT64_C(1) << after;
	if (event->flags & WET_EVENT_ROOM) {
		run->room_mc = event->temperature_mc;
	} else {
		if (event->bath < 0 || event->bath >= run->setup.recipe->bath_count)
			return;
		run->before_mc[event->bath] = event->temperature_mc;
		run->read_at_ns[event->bath] = now_ns;
	}
	if (!bath_is_live(run))
		return;
	bool is_live_bath =
		!(event->flags & (WET_EVENT_ROOM | WET_EVENT_AFTER)) && event->bath == live_stage(run)->bath;
	if (!is_live_bath && !(event->flags & WET_EVENT_ROOM))
		return;
	struct ends old;
	ends_of(run, &old);
	heat_read(run, event, now_ns);
	/* The end never moves into the past: pouring out needs its time where it was not due yet. */
	int64_t floor_ns = now_ns;
	if (now_ns < old.aim_ns)
		floor_ns = now_ns + old.drain_ns < old.aim_ns ? now_ns + old.drain_ns : old.aim_ns;
	if (now_ns < old.aim_ns || !next_waits(run)) {
		floor_ns -= run->pos.longer_ns;
		if (floor_ns > run->pos.floor_ns)
			run->pos.floor_ns = floor_ns;
	}
}

static void mark_late(struct wet_run *run)
{
	run->pos.is_late = true;
	run->undo_count = 0;
	run->records[run->pos.stage].flags |= WET_STAGE_UNHEARD;
}

static void fold_resumed(struct wet_run *run, const struct wet_event *event)
{
	int64_t alive_ns = event->a_ns, now_ns = event->b_ns;
	advance_run(run, alive_ns);
	if (event->flags & WET_EVENT_REBOOT) {
		run->anchor_boot_ns = event->boot_ns;
		run->anchor_run_ns = now_ns;
		run->last_go_boot_ns = INT64_MIN / 2;
	}
	run->gap_from_ns = alive_ns;
	run->gap_to_ns = now_ns;
	run->uncertain_ns = event->flags & WET_EVENT_UNCERTAIN ? event->b_ns - event->c_ns : 0;
	int64_t due_ns = boundary_ns(run);
	if (due_ns > now_ns)
		return;
	if (bath_is_live(run))
		mark_late(run);
	else
		run->pos.since_ns = now_ns; /* the rehearsal's own key: counted anew */
}

static void fold_act(struct wet_run *run, const struct wet_event *event, int64_t now_ns)
{
	switch (event->kind) {
	case WET_ACT_BEGIN:
		if (run->pos.base == WET_PHASE_READY && !run->is_interrupted)
			press_go(run, now_ns, false);
		break;
	case WET_ACT_GO: fold_go(run, event, now_ns); break;
	case WET_ACT_LONGER: fold_longer(run, event, now_ns); break;
	case WET_ACT_HOLD:
		if (bath_is_live(run)) {
			push_undo(run, WET_ACT_HOLD);
			run->pos.is_held = !run->pos.is_held;
		}
		break;
	case WET_ACT_UNDO: fold_undo(run, now_ns); break;
	case WET_ACT_JOIN: fold_join(run, now_ns); break;
	case WET_ACT_EMERGENCY:
		if (!run->is_interrupted && run->pos.base != WET_PHASE_ENDED) {
			run->is_interrupted = true;
			run->interrupted_ns = now_ns;
			if (paper_is_open(run))
				run->has_open_paper_seen_light = true;
		}
		break;
	case WET_ACT_RESUME:
		if (run->is_interrupted) {
			run->is_interrupted = false;
			if (boundary_ns(run) <= now_ns) {
				if (bath_is_live(run))
					mark_late(run);
				else
					run->pos.since_ns = now_ns;
			}
		}
		break;
	case WET_ACT_ABANDON:
		if (run->pos.base != WET_PHASE_ENDED) {
			if (bath_is_live(run) || run->pos.base == WET_PHASE_HANDLING) {
				run->records[run->pos.stage].end_ns = now_ns;
			}
			run->pos.base = WET_PHASE_ENDED;
			run->is_interrupted = false;
			run->outcome = 2;
		}
		break;
	default: break;
	}
}

void wet_run_fold(struct wet_run *run, const struct wet_event *event)
{
	run->event_count++;
	if (event->kind == WET_EVENT_CLOCK || event->kind == WET_ACT_WHERE)
		return;
	if (event->kind == WET_EVENT_RESUMED) {
		fold_resumed(run, event);
		return;
	}
	if (event->kind < 0 || event->kind >= WET_ACT_N)
		return;
	wet_run_advance(run, event->boot_ns);
	int64_t now_ns = wet_run_time(run, event->boot_ns);
	if (event->kind == WET_ACT_READING) {
		fold_reading(run, event, now_ns);
		return;
	}
	fold_act(run, event, now_ns);
	run->act_count++;
	/* What the act made due at this very instant begins now (an undo, a floor). */
	wet_run_advance(run, event->boot_ns);
}
