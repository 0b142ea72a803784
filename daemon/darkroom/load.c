/* load.c: at start, live runs come back from the ledger: replayed, then told what nobody could hear. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "ledger/plans.h"
#include "shelf/cutting.h"
#include "shelf/shelf.h"

#include <stdlib.h>
#include <string.h>

struct loading {
	struct wet_darkroom *darkroom;
	struct wet_ledger *ledger;
	struct wet_live *live;
	char boot_id[37]; /* of the last event */
	int64_t last_boot_ns, last_wall_ms;
	int64_t alive_boot_ns;
	const char *alive_boot_id;
	int bad;
	bool is_damaged; /* the run that is being loaded */
	struct wet_fault fault;
};

static int take_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct loading *l = ctx;
	/* A hole or a row that can't be read is counted and passed over: folding is total, every start does the same, and
	 * numbers go on behind the last row. */
	l->is_damaged = l->is_damaged || !event || seq != l->live->seq + 1;
	if (!event) {
		l->live->seq = l->live->stored_seq = seq;
		return WET_OK;
	}
	wet_run_fold(&l->live->run, event);
	l->live->seq = l->live->stored_seq = seq;
	wet_text_copy(l->boot_id, sizeof l->boot_id, event->boot_id);
	l->last_boot_ns = event->boot_ns;
	l->last_wall_ms = event->wall_ms;
	if (event->token[0]) {
		unsigned i = l->live->token_head++ % (sizeof l->live->tokens / sizeof l->live->tokens[0]);
		wet_text_copy(l->live->tokens[i].token, sizeof l->live->tokens[i].token, event->token);
		l->live->tokens[i].answer = (struct wet_answer){ .kind = WET_ANSWER_DO };
		wet_text_copy(l->live->tokens[i].answer.text, sizeof l->live->tokens[i].answer.text, "Done already.");
		l->live->tokens[i].seq = seq;
	}
	return WET_OK;
}

/* The same boot: nothing to tell unless a boundary came due while nobody could hear it. */
static bool gap_same_boot(struct loading *l, int64_t now_ns, struct wet_event *event)
{
	int64_t alive_ns = l->last_boot_ns;
	if (l->alive_boot_ns > alive_ns && strcmp(l->alive_boot_id, l->boot_id) == 0)
		alive_ns = l->alive_boot_ns;
	if (now_ns - alive_ns <= WET_GAP_NS || !wet_run_has_boundary(&l->live->run, alive_ns, now_ns))
		return false;
	make_resumed(&l->live->run, alive_ns, event);
	return true;
}

#define AWAY_RUN_NS_MAX (INT64_MAX / 64) /* four and a half years; some more of them still fit */

/* The run's own time in so much of the clock's: a rehearsal that was left for months, or a clock that makes no sense, ends
 * nowhere else than one that was left for years. */
static int64_t away_run_ns(int64_t away_ns, uint32_t rate_milli)
{
	int64_t run_ns;
	bool is_over = __builtin_mul_overflow(away_ns / 1000, (int64_t)rate_milli, &run_ns);
	return is_over || run_ns > AWAY_RUN_NS_MAX ? AWAY_RUN_NS_MAX : run_ns;
}

/* Another boot: elapsed time comes from the wall clock, or is a range where that may not be trusted. */
static void gap_reboot(struct loading *l, int64_t now_ns, struct wet_event *event)
{
	struct wet_darkroom *d = l->darkroom;
	int64_t alive_ns = l->last_boot_ns;
	if (l->alive_boot_ns > alive_ns && strcmp(l->alive_boot_id, l->boot_id) == 0)
		alive_ns = l->alive_boot_ns;
	int64_t alive_wall_ms = l->last_wall_ms + (alive_ns - l->last_boot_ns) / 1000000;
	int64_t away_ns = wall_apart_ns(alive_wall_ms, event->wall_ms);
	int64_t up_ns = now_ns; /* boot time starts at power-on: the machine was off at least until then */
	make_resumed(&l->live->run, alive_ns, event);
	event->flags |= WET_EVENT_REBOOT;
	uint32_t rate = l->live->run.rate_milli;
	int64_t least_ns = up_ns;
	if (d->ports.is_wall_trusted(d->ports.ctx) && away_ns >= up_ns)
		least_ns = away_ns;
	else
		event->flags |= WET_EVENT_UNCERTAIN;
	int64_t most_ns = away_ns > least_ns ? away_ns : least_ns;
	event->b_ns = event->a_ns + away_run_ns(most_ns, rate);
	event->c_ns = event->a_ns + away_run_ns(least_ns, rate);
}

/* The recipe of a run as it was when it was armed; the caller frees it. */
int recipe_of_row(struct wet_ledger *ledger, const struct wet_ledger_run *row, struct wet_recipe **ret_recipe,
				  struct wet_fault *reterr)
{
	struct wet_recipe *recipe = malloc(sizeof *recipe);
	char *json = NULL;
	size_t bytes = 0;
	int rc = recipe ? WET_OK : WET_ERR_NOMEM;
	if (rc == 0 && strcmp(row->recipe_name, WET_REHEARSAL_NAME) == 0) {
		wet_rehearsal_recipe(recipe, row->setup.vessel.kind);
	} else if (rc == 0) {
		struct wet_washing wash;
		rc = wet_ledger_get_recipe(ledger, row->recipe_hash, &json, &bytes, reterr);
		/* A recipe file may bear the name of a wash, a mix or a cut; it can't look like one. */
		if (rc == 0 && strcmp(row->recipe_name, WET_WASH_NAME) == 0 && wet_washing_from_text(json, bytes, &wash) == 0)
			wet_wash_recipe(&wash, recipe);
		else if (rc == 0 && strncmp(row->recipe_name, WET_MIX_PREFIX, strlen(WET_MIX_PREFIX)) == 0 &&
				 wet_mixing_decode(json, bytes, row->recipe_name, recipe, NULL) == 0)
			rc = WET_OK;
		else if (rc == 0 && strcmp(row->recipe_name, WET_CUT_NAME) == 0 &&
				 wet_cutting_decode(json, bytes, row->recipe_name, recipe, NULL) == 0)
			rc = WET_OK;
		else if (rc == 0)
			rc = wet_recipe_decode(json, bytes, row->recipe_name, recipe, reterr);
	}
	free(json);
	if (rc == 0)
		*ret_recipe = recipe;
	else
		free(recipe);
	return rc;
}

static int load_run(struct loading *l, const struct wet_ledger_run *row)
{
	struct wet_darkroom *d = l->darkroom;
	struct wet_recipe *recipe = NULL;
	int rc = recipe_of_row(l->ledger, row, &recipe, &l->fault);
	struct wet_frozen *frozen = rc == 0 ? frozen_hold(d, recipe, row->recipe_hash) : NULL;
	struct wet_live *live = frozen ? live_add(d, row->id, frozen) : NULL;
	free(recipe);
	if (!live)
		return rc ? rc : WET_ERR_NOMEM;
	wet_text_copy(live->name, sizeof live->name, row->name);
	wet_text_copy(live->person, sizeof live->person, row->person);
	live->owner_uid = row->owner_uid;
	live->group_controls = row->group_controls;
	live->armed_wall_ms = row->armed_wall_ms;
	struct wet_run_setup setup = row->setup;
	setup.recipe = &frozen->recipe;
	wet_run_init(&live->run, &setup, row->armed_boot_ns);
	(void)wet_ledger_has_bookings(l->ledger, row->id, &live->has_bookings, &l->fault);
	l->live = live;
	wet_text_copy(l->boot_id, sizeof l->boot_id, row->armed_boot_id);
	l->last_boot_ns = row->armed_boot_ns;
	l->last_wall_ms = row->armed_wall_ms;
	l->is_damaged = false;
	rc = wet_ledger_each_readable_event(l->ledger, row->id, take_event, l, &l->fault);
	if (rc != 0 || l->is_damaged)
		l->bad++; /* what could be read goes on; the rest stays in the ledger for a look */

	int64_t now_ns = now_of(d);
	struct wet_event event = { .bath = -1, .number = -1 };
	bool is_same = strcmp(l->boot_id, d->ports.boot_id(d->ports.ctx)) == 0;
	live->last_boot_ns = is_same ? l->last_boot_ns : 0;
	stamp_event(d, live, &event, now_ns);
	live->last_wall_ms = is_same ? l->last_wall_ms : event.wall_ms;
	if (!is_same)
		live->last_boot_ns = event.boot_ns; /* another boot's time tells nothing of a step */
	bool tells = true, is_told_anyway = l->is_damaged;
	if (is_same)
		tells = gap_same_boot(l, now_ns, &event);
	else
		gap_reboot(l, now_ns, &event);
	if (tells) {
		struct wet_answer none = { .kind = WET_ANSWER_DO };
		(void)live_append(d, live, &event, &none, NULL, NULL);
	} else {
		(void)live_note_step(d, live, &event); /* set while no daemon ran */
	}
	live->cue_after_ns = now_ns;
	live->digit = live->run.pos.base == WET_PHASE_READY && !setup.is_rehearsal && !setup.is_unheard
					  ? 2 + (int)(d->ports.random(d->ports.ctx) % 5)
					  : 0;
	struct wet_view view;
	wet_run_view(&live->run, now_ns, &view);
	if ((tells || is_told_anyway) && live->run.outcome == 0)
		wet_live_tell(d, live, "order", WET_TONE_ALARM, 1, view.order[0] ? view.order : view.doing);
	say_soon(d, live);
	/* Nothing is served yet: the ledger's worker isn't there to take what a run may have to store. */
	live_serve_soon(d, live, now_ns);
	return WET_OK;
}

static int take_row(void *ctx, const struct wet_ledger_run *row)
{
	struct loading *l = ctx;
	if (!row || load_run(l, row) != WET_OK)
		l->bad++;
	return WET_OK;
}

/* What was finished lately may still hang to dry. */
static int take_finished(void *ctx, const struct wet_ledger_run *row)
{
	struct loading *l = ctx;
	struct wet_recipe *recipe = NULL;
	if (!row || row->setup.is_rehearsal || strcmp(row->outcome, "finished") != 0)
		return WET_OK;
	if (recipe_of_row(l->ledger, row, &recipe, &l->fault) == WET_OK)
		drying_add(l->darkroom, row->name, recipe, row->ended_wall_ms);
	free(recipe);
	return WET_OK;
}

int wet_darkroom_load(struct wet_darkroom *d, struct wet_ledger *ledger, int64_t alive_boot_ns,
					  const char *alive_boot_id, int *ret_bad, struct wet_fault *reterr)
{
	struct loading *l = calloc(1, sizeof *l);
	if (!l)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory");
	l->darkroom = d;
	l->ledger = ledger;
	l->alive_boot_ns = alive_boot_ns;
	l->alive_boot_id = alive_boot_id;
	d->is_loading = true;
	int rc = wet_ledger_each_live_run(ledger, take_row, l, reterr);
	if (rc == 0)
		rc = wet_ledger_each_finished_run(ledger, INT64_MAX, WET_DRYING, take_finished, l, reterr);
	d->is_loading = false;
	if (rc == 0)
		rc = placed_read(ledger, &d->placed, reterr);
	*ret_bad = l->bad;
	free(l);
	return rc;
}
