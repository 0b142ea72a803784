/* wall.c: steps of the wall clock. A deadline is boot time and never moves. But after a reboot the time that passed is counted
 * from the wall time of a run's last event: a step that no event tells of would be taken for time that passed. */
#include "darkroom/inside.h"

#include "base/text.h"

#define TOGETHER_NS 100000000LL /* two clocks read further apart than this say nothing of each other */

/* Read between two looks at boot time: a process that stood still in the middle would see a step where there was none. */
int64_t wall_at_ms(const struct wet_darkroom *d, int64_t boot_ns)
{
	int64_t before_ns, after_ns = now_of(d), wall_ms = 0;
	for (int i = 0; i < 4; i++) {
		before_ns = after_ns;
		wall_ms = d->ports.wall_ms(d->ports.ctx);
		after_ns = now_of(d);
		if (after_ns - before_ns < TOGETHER_NS)
			break;
	}
	return wall_ms - (after_ns - boot_ns) / 1000000;
}

int64_t wall_apart_ns(int64_t from_ms, int64_t to_ms)
{
	int64_t apart_ms, apart_ns;
	if (__builtin_sub_overflow(to_ms, from_ms, &apart_ms) ||
		__builtin_mul_overflow(apart_ms, (int64_t)1000000, &apart_ns))
		apart_ns = to_ms > from_ms ? INT64_MAX : INT64_MIN; /* a damaged row: no such time */
	return apart_ns > INT64_MAX / 4 ? INT64_MAX / 4 : apart_ns < INT64_MIN / 4 ? INT64_MIN / 4 : apart_ns;
}

bool live_note_step(struct wet_darkroom *d, struct wet_live *live, const struct wet_event *event)
{
	int64_t step_ns = wall_apart_ns(live->last_wall_ms, event->wall_ms) - (event->boot_ns - live->last_boot_ns);
	/* Small ones add up: the last event's time stays what is compared with. */
	bool is_step = step_ns >= WET_STEP_NS || step_ns <= -WET_STEP_NS;
	if (!is_step || wet_live_is_over(live) || live->seq >= WET_RUN_EVENTS)
		return false;
	struct wet_answer none = { .kind = WET_ANSWER_DO };
	struct wet_event step = {
		.kind = WET_EVENT_CLOCK, .boot_ns = event->boot_ns, .wall_ms = event->wall_ms, .a_ns = step_ns, .bath = -1, .number = -1
	};
	wet_text_copy(step.boot_id, sizeof step.boot_id, event->boot_id);
	return live_append(d, live, &step, &none, NULL, NULL) == WET_OK;
}

void wet_darkroom_wall_changed(struct wet_darkroom *d)
{
	int64_t now_ns = now_of(d);
	/* Touching moves a run to the end of the list: a fixed count, from the oldest. */
	size_t left = d->live_count + d->ended_count;
	for (struct wet_live *l = d->oldest, *next; l && left > 0; l = next, left--) {
		struct wet_event event;
		next = l->newer;
		stamp_event(d, l, &event, now_ns);
		if (live_note_step(d, l, &event))
			live_touch(d, l); /* its deadline is another time of day now */
	}
}
