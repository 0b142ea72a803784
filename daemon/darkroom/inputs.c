/* inputs.c: what foot switches and probes bring into the darkroom. */
#include "darkroom/inputs.h"

#include "darkroom/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void acted(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)ctx;
	(void)live;
	(void)answer;
	(void)is_stored; /* it was heard; what the disk owes is told by itself */
}

static void refuse_press(struct wet_darkroom *d, struct wet_live *live, const char *text)
{
	if (live) {
		wet_live_tell(d, live, "refused", WET_TONE_REFUSED, 1, text);
		return;
	}
	d->ports.cue_now(d->ports.ctx, WET_TONE_REFUSED, 1);
	say_now(d, NULL, WET_TONE_REFUSED, 1, text);
}

void wet_darkroom_press(struct wet_darkroom *d, const char *run)
{
	char text[WET_LINE_BYTES];
	struct wet_live *live = NULL;
	struct wet_event event = { .bath = -1, .number = -1, .uid = (uint32_t)getuid() };
	if (run[0]) {
		live = wet_darkroom_find(d, run);
		if (!live) {
			wet_text_format(text, sizeof text, "No run %s is live.", run);
			refuse_press(d, NULL, text);
			return;
		}
	} else {
		int rc = wet_darkroom_the_run(d, &live, NULL);
		if (rc != 0) {
			refuse_press(d, NULL, rc == WET_ERR_WHICH ? "Which run? This foot switch belongs to none." : "No run is live.");
			return;
		}
	}
	bool is_ready = live->run.pos.base == WET_PHASE_READY && !live->run.is_interrupted;
	event.kind = is_ready ? WET_ACT_BEGIN : WET_ACT_GO;
	if (!is_ready && live->begun_ns != 0 && now_of(d) - live->begun_ns < WET_GUARD_NS) {
		refuse_press(d, live, "Heard already: one press is enough.");
		return;
	}
	wet_darkroom_act(d, live, &event, acted, NULL);
}

/* -- probes ------------------------------------------------------------------------ */

#define LIVE_STEP_MC 100
#define LIVE_SPAN_NS 60000000000LL
#define IDLE_STEP_MC 300
#define IDLE_SPAN_NS 600000000000LL
#define EVENTS_MOST (WET_RUN_EVENTS / 2) /* of a run, when its probes fall silent: acts and typed readings go on */

/* The recipe's bath of that key or name, if the run is still to use it; -1: none. */
static int bath_ahead(const struct wet_live *live, const char *bath)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	for (int i = live->run.pos.stage; i < r->stage_count; i++) {
		int b = r->stages[i].bath;
		if (b >= 0 && (strcmp(r->baths[b].key, bath) == 0 || strcmp(r->baths[b].name, bath) == 0))
			return b;
	}
	return -1;
}

/* A rehearsal has no baths to read. */
static bool is_read_for(const struct wet_live *live, const struct wet_input_place *p)
{
	if (wet_live_is_over(live) || (p->run[0] && strcmp(live->name, p->run) != 0))
		return false;
	if (!p->bath[0] && !p->room[0])
		return true;
	if (live->run.setup.is_rehearsal)
		return false;
	return p->bath[0] ? bath_ahead(live, p->bath) >= 0 : strcmp(live->run.setup.room, p->room) == 0;
}

bool wet_darkroom_needs_probe(const struct wet_darkroom *d, const struct wet_input_place *place)
{
	for (const struct wet_live *l = d->newest; l; l = l->older)
		if (is_read_for(l, place))
			return true;
	return false;
}

/* Is there anything in it that the run does not know? */
static bool is_worth_storing(const struct wet_live *live, const struct wet_event *event, int64_t now_ns)
{
	const struct wet_run *run = &live->run;
	if (event->flags & WET_EVENT_ROOM)
		return run->room_mc == INT32_MIN || abs(event->temperature_mc - run->room_mc) >= IDLE_STEP_MC;
	int32_t known_mc = run->before_mc[event->bath];
	int64_t read_ns = run->read_at_ns[event->bath];
	bool is_live = run->pos.base == WET_PHASE_EARLY && run->setup.recipe->stages[run->pos.stage].bath == event->bath;
	/* A bath whose temperature is only known from before it was poured is read again once it is live. */
	return known_mc == INT32_MIN || read_ns == INT64_MIN ||
		   abs(event->temperature_mc - known_mc) >= (is_live ? LIVE_STEP_MC : IDLE_STEP_MC) ||
		   wet_run_time(run, now_ns) - read_ns >= (is_live ? LIVE_SPAN_NS : IDLE_SPAN_NS);
}

static bool moves_end_by_much(const struct wet_view *before, const struct wet_view *after)
{
	if (before->stage != after->stage || before->aim_ns <= before->begin_ns || after->aim_ns <= after->begin_ns)
		return false;
	return llabs(after->aim_ns - before->aim_ns) * 10 > before->aim_ns - before->begin_ns;
}

/* True: it waits to be repeated. */
static bool probed_one(struct wet_darkroom *d, struct wet_live *live, struct wet_event *event, struct wet_presses *doubt)
{
	struct wet_answer a = { .kind = WET_ANSWER_DO };
	struct wet_view before, after;
	int64_t now_ns = now_of(d);
	stamp_event(d, live, event, now_ns);
	if (!live->is_finish_sent)
		live_serve(d, live, now_ns);
	if (wet_live_is_over(live) || live->seq >= EVENTS_MOST || !is_worth_storing(live, event, now_ns))
		return false;
	wet_run_try(&live->run, doubt, event, &a);
	if (a.kind != WET_ANSWER_DO)
		return a.err == WET_ERR_REPEAT;
	wet_run_view(&live->run, event->boot_ns, &before);
	if (live_append(d, live, event, &a, NULL, NULL) != 0)
		return false; /* no memory: the next one */
	wet_run_view(&live->run, event->boot_ns, &after);
	if (moves_end_by_much(&before, &after))
		wet_live_tell(d, live, "probe", WET_TONE_ATTEND, 1, a.text);
	live_replan(d, live, event->boot_ns);
	light_settle(d);
	return false;
}

bool wet_darkroom_probed(struct wet_darkroom *d, const struct wet_input_place *place, int32_t temperature_mc,
						 struct wet_presses *doubt)
{
	const struct wet_presses was = *doubt; /* one run's doubt at this moment is no repetition for the next */
	struct wet_live *last = d->oldest;     /* an act moves its run to the other end of the list */
	bool is_doubted = false;
	for (struct wet_live *l = d->newest, *next; l; l = next) {
		bool is_last = l == last;
		struct wet_presses own = was;
		next = l->older;
		if (is_read_for(l, place)) {
			struct wet_event event = { .kind = WET_ACT_READING, .flags = WET_EVENT_PROBE, .bath = -1, .number = -1,
									   .temperature_mc = temperature_mc, .uid = (uint32_t)getuid() };
			if (l->run.is_fahrenheit) /* the person's own unit is kept */
				event.flags |= WET_EVENT_FAHRENHEIT;
			if (place->bath[0])
				event.bath = bath_ahead(l, place->bath);
			else
				event.flags |= WET_EVENT_ROOM;
			if (probed_one(d, l, &event, &own)) {
				is_doubted = true;
				*doubt = own;
			}
		}
		if (is_last)
			break;
	}
	if (!is_doubted)
		*doubt = (struct wet_presses){ 0 };
	return is_doubted;
}

/* -- trouble ----------------------------------------------------------------------- */

int wet_darkroom_tell_input(struct wet_darkroom *d, const struct wet_input_place *place, const char *word, const char *text)
{
	struct wet_live *last = d->oldest; /* telling moves a run to the other end of the list */
	int count = 0;
	for (struct wet_live *l = d->newest, *next; l; l = next) {
		bool is_last = l == last;
		next = l->older;
		if (is_read_for(l, place)) {
			wet_live_tell(d, l, word, WET_TONE_ALARM, 1, text);
			count++;
		}
		if (is_last)
			break;
	}
	return count;
}
