/* runs.c: the live runs, their recipes, and whom an act belongs to. */
#include "darkroom/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

int64_t now_of(const struct wet_darkroom *d)
{
	return d->ports.now_ns(d->ports.ctx);
}

int wet_darkroom_new(struct wet_darkroom **ret_darkroom, const struct wet_ports *ports,
					 struct wet_shelf *shelf)
{
	struct wet_darkroom *d = calloc(1, sizeof *d);
	if (!d)
		return WET_ERR_NOMEM;
	d->ports = *ports;
	d->shelf = shelf;
	if (heap_reserve(&d->heap, 64) != 0) {
		free(d);
		return WET_ERR_NOMEM;
	}
	d->last_turn_ns = now_of(d);
	d->sound_wake_ns = d->far_cue_ns = INT64_MAX;
	d->early_tail = &d->early;
	*ret_darkroom = d;
	return WET_OK;
}

void wet_darkroom_free(struct wet_darkroom *d)
{
	if (!d)
		return;
	for (struct wet_job *job = d->early, *next; job; job = next) {
		next = job->next;
		free(job->ctx);
	}
	while (d->newest)
		live_drop(d, d->newest);
	for (struct wet_frozen *f = d->frozen, *next; f; f = next) {
		next = f->next;
		free(f);
	}
	free(d->heap.at);
	free(d);
}

struct wet_frozen *frozen_hold(struct wet_darkroom *d, const struct wet_recipe *recipe, const char *hash)
{
	for (struct wet_frozen *f = d->frozen; f; f = f->next) {
		if (strcmp(f->hash, hash) == 0) {
			f->users++;
			return f;
		}
	}
	struct wet_frozen *f = calloc(1, sizeof *f);
	if (!f)
		return NULL;
	f->recipe = *recipe;
	wet_text_copy(f->hash, sizeof f->hash, hash);
	f->users = 1;
	f->next = d->frozen;
	d->frozen = f;
	return f;
}

static void frozen_release(struct wet_darkroom *d, struct wet_frozen *frozen)
{
	if (!frozen || --frozen->users > 0)
		return;
	for (struct wet_frozen **p = &d->frozen; *p; p = &(*p)->next) {
		if (*p == frozen) {
			*p = frozen->next;
			free(frozen);
			return;
		}
	}
}

/* -- the list by change ------------------------------------------------------- */

static void unlink_live(struct wet_darkroom *d, struct wet_live *live)
{
	if (live->newer)
		live->newer->older = live->older;
	else if (d->newest == live)
		d->newest = live->older;
	if (live->older)
		live->older->newer = live->newer;
	else if (d->oldest == live)
		d->oldest = live->newer;
	live->newer = live->older = NULL;
}

static void link_newest(struct wet_darkroom *d, struct wet_live *live)
{
	live->older = d->newest;
	live->newer = NULL;
	if (d->newest)
		d->newest->newer = live;
	d->newest = live;
	if (!d->oldest)
		d->oldest = live;
}

void live_touch(struct wet_darkroom *d, struct wet_live *live)
{
	live->change_seq = ++d->change_seq;
	if (d->newest == live)
		return;
	unlink_live(d, live);
	link_newest(d, live);
}

struct wet_live *live_add(struct wet_darkroom *d, int64_t id, struct wet_frozen *frozen)
{
	struct wet_live *live = NULL;
	if (heap_reserve(&d->heap, d->heap.count + 1) == 0)
		live = calloc(1, sizeof *live);
	if (!live) {
		frozen_release(d, frozen);
		return NULL;
	}
	live->id = id;
	live->frozen = frozen;
	link_newest(d, live);
	d->live_count++;
	return live;
}

void live_drop(struct wet_darkroom *d, struct wet_live *live)
{
	heap_remove(&d->heap, live);
	unlink_live(d, live);
	if (live->is_finish_sent)
		d->ended_count--;
	else
		d->live_count--;
	d->lights_waiting -= live->lights_wait;
	frozen_release(d, live->frozen);
	free(live);
}

bool wet_live_is_over(const struct wet_live *live)
{
	return live->run.outcome != 0;
}

struct wet_live *wet_darkroom_newest(struct wet_darkroom *d)
{
	return d->newest;
}

size_t wet_darkroom_count(const struct wet_darkroom *d)
{
	return d->live_count;
}

int64_t wet_darkroom_change_seq(const struct wet_darkroom *d)
{
	return d->change_seq;
}

struct wet_shelf *wet_darkroom_shelf(struct wet_darkroom *d)
{
	return d->shelf;
}

const struct wet_ports *wet_darkroom_ports(const struct wet_darkroom *d)
{
	return &d->ports;
}

/* -- whose act ------------------------------------------------------------------ */

struct wet_live *wet_darkroom_find(struct wet_darkroom *d, const char *name)
{
	struct wet_live *ended = NULL;
	for (struct wet_live *l = d->newest; l; l = l->older) {
		if (strcmp(l->name, name) != 0)
			continue;
		if (!wet_live_is_over(l))
			return l;
		if (!ended)
			ended = l;
	}
	return ended;
}

/* Runs in wash or aid don't count when an act is unnamed, nor those that wait for one; nor a bottle that stands. */
static bool is_in_washer(const struct wet_live *l)
{
	const struct wet_stage *s = &l->run.setup.recipe->stages[l->run.pos.stage];
	return l->run.pos.base != WET_PHASE_HANDLING && (s->in_washer || s->kind == WET_STAGE_STAND);
}

int wet_darkroom_the_run(struct wet_darkroom *d, struct wet_live **ret_live, struct wet_fault *reterr)
{
	struct wet_live *one = NULL, *washing = NULL;
	char names[200] = "";
	int count = 0, wash_count = 0;
	for (struct wet_live *l = d->newest; l; l = l->older) {
		if (wet_live_is_over(l))
			continue;
		wet_text_append(names, sizeof names, "%s%s", names[0] ? ", " : "", l->name);
		if (is_in_washer(l)) {
			washing = l;
			wash_count++;
		} else {
			one = l;
			count++;
		}
	}
	if (count == 1 || (count == 0 && wash_count == 1)) {
		*ret_live = count == 1 ? one : washing;
		return WET_OK;
	}
	if (count == 0 && wash_count == 0)
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "run", NULL,
							 "no run is live; arm one first: wetside arm RECIPE");
	return wet_fault_set(reterr, WET_ERR_WHICH, "run", NULL, "name one with --run: %s", names);
}

/* -- light ---------------------------------------------------------------------- */

static enum wet_light_kind live_light(const struct wet_live *l, int64_t now_ns)
{
	struct wet_view view;
	wet_run_view(&l->run, now_ns, &view);
	return view.light;
}

enum wet_light_kind wet_darkroom_light(const struct wet_darkroom *d, const char *room)
{
	enum wet_light_kind strictest = WET_LIGHT_WHITE;
	int64_t now_ns = now_of(d);
	for (const struct wet_live *l = d->newest; l; l = l->older) {
		if (wet_live_is_over(l) || strcmp(l->run.setup.room, room) != 0)
			continue;
		enum wet_light_kind light = live_light(l, now_ns);
		if (light < strictest)
			strictest = light;
	}
	return strictest;
}

bool light_concerns(const struct wet_live *other, const struct wet_live *live)
{
	return !wet_live_is_over(other) && strcmp(other->run.setup.room, live->run.setup.room) == 0 &&
		   (live->run.setup.is_rehearsal || !other->run.setup.is_rehearsal);
}

static bool must_wait_for_light(const struct wet_darkroom *d, const struct wet_live *live)
{
	int64_t now_ns = now_of(d);
	for (const struct wet_live *l = d->newest; l; l = l->older)
		if (light_concerns(l, live) && live_light(l, now_ns) < WET_LIGHT_WHITE)
			return true;
	return false;
}

bool wet_live_is_dark(const struct wet_darkroom *d, const struct wet_live *live)
{
	return !wet_live_is_over(live) && !live->run.setup.is_rehearsal && !live->run.is_interrupted &&
		   live_light(live, now_of(d)) < WET_LIGHT_WHITE;
}

bool wet_live_would_darken(const struct wet_darkroom *d, const struct wet_live *live, enum wet_act_kind act)
{
	int64_t now_ns = now_of(d);
	struct wet_run after = live->run;
	struct wet_event event = { .kind = act, .flags = WET_EVENT_HELD, .boot_ns = now_ns, .bath = -1, .number = -1 };
	struct wet_view view;
	if (wet_live_is_over(live) || after.setup.is_rehearsal || wet_live_is_dark(d, live))
		return false;
	wet_run_view(&after, now_ns, &view);
	enum wet_cell cell = wet_run_cell(view.phase, act);
	if (cell != WET_CELL_DO && cell != WET_CELL_HELD)
		return false;
	wet_run_fold(&after, &event);
	wet_run_view(&after, now_ns, &view);
	return view.is_paper_open && after.outcome == 0;
}

bool wet_darkroom_is_dark_anywhere(const struct wet_darkroom *d)
{
	for (const struct wet_live *l = d->newest; l; l = l->older)
		if (wet_live_is_dark(d, l))
			return true;
	return false;
}

/* "Lights may come on" waited for another run; when the room is free it is said. */
void light_settle(struct wet_darkroom *d)
{
	if (d->lights_waiting == 0)
		return;
	for (struct wet_live *l = d->newest, *next; l; l = next) {
		next = l->older;
		if (!l->lights_wait || must_wait_for_light(d, l))
			continue;
		l->lights_wait = false;
		d->lights_waiting--;
		wet_live_tell(d, l, "lights", WET_TONE_ATTEND, 1,
					  "Lights may come on if the paper box is shut and no piece is open.");
	}
}
