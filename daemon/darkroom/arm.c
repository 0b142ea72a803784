/* arm.c: from a recipe and a vessel to a run in READY. The ledger decides in one job; refusals happen here and at begin. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "darkroom/stock.h"
#include "ledger/plans.h"
#include "shelf/cutting.h"
#include "shelf/piece.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

struct arming {
	struct wet_job job;
	struct wet_darkroom *darkroom;
	struct wet_arming want;
	struct wet_recipe recipe;
	struct wet_ledger_run row;
	char *json; /* the recipe's text, where it is one of our own */
	const struct wet_shelf_recipe *shelved; /* NULL: the wet rehearsal's own, a wash alone, or a mix */
	char told[512];
	wet_armed_cb *cb;
	void *cb_ctx;
	struct arming *next; /* of those the ledger has not decided yet */
};

static void arm_known(struct wet_darkroom *d, const struct wet_arming *want, wet_armed_cb *cb, void *ctx);

static void forget_arming(struct wet_darkroom *d, const struct arming *arming)
{
	for (struct arming **p = &d->armings; *p; p = &(*p)->next) {
		if (*p == arming) {
			*p = arming->next;
			return;
		}
	}
}

/* By a run that is live, or by one that will be as soon as the ledger has it. */
static bool is_name_taken(struct wet_darkroom *d, const char *name)
{
	struct wet_live *live = wet_darkroom_find(d, name);
	bool is_taken = live && !wet_live_is_over(live);
	for (const struct arming *a = d->armings; a && !is_taken; a = a->next)
		is_taken = strcmp(a->row.name, name) == 0;
	return is_taken;
}

static bool is_to_be(const struct wet_arming *want, const struct wet_recipe *recipe, bool is_rehearsal)
{
	return wet_recipe_is_mix(recipe) && !is_rehearsal && recipe->makes.is_bath == want->mix.is_bath &&
		   strcmp(recipe->makes.name, want->mix.called) == 0;
}

/* Of what another run is mixing: its label is told this name. */
static bool is_label_taken(const struct wet_darkroom *d, const struct wet_arming *want)
{
	bool is_taken = false;
	for (const struct wet_live *l = d->newest; l && !is_taken; l = l->older)
		is_taken = !wet_live_is_over(l) && is_to_be(want, l->run.setup.recipe, l->run.setup.is_rehearsal);
	for (const struct arming *a = d->armings; a && !is_taken; a = a->next)
		is_taken = is_to_be(want, &a->recipe, a->want.is_rehearsal);
	return is_taken;
}

static void free_arming(struct arming *a)
{
	free(a->json);
	free(a);
}

static void say(const char *text, struct wet_stage *stage)
{
	wet_text_copy(stage->say, sizeof stage->say, text);
}

/* Measuring a vessel with water: presses at pour, full, pour-out, ready; twice. */
void wet_rehearsal_recipe(struct wet_recipe *ret_recipe, enum wet_vessel_kind kind)
{
	static const char *const words[4] = { "Water. Press as you start to pour.", "Press when it is full.",
										  "Press as you start to pour out.",
										  "Press when it is ready for the next bath." };
	memset(ret_recipe, 0, sizeof *ret_recipe);
	wet_text_copy(ret_recipe->name, sizeof ret_recipe->name, WET_REHEARSAL_NAME);
	wet_text_copy(ret_recipe->title, sizeof ret_recipe->title, "Wet rehearsal: measure a vessel with water");
	ret_recipe->version = 1;
	ret_recipe->vessel_kind = kind;
	ret_recipe->paper_light = WET_LIGHT_WHITE;
	ret_recipe->stage_count = 8;
	for (int i = 0; i < 8; i++) {
		struct wet_stage *s = &ret_recipe->stages[i];
		s->kind = WET_STAGE_HANDLING;
		s->bath = -1;
		s->begin = WET_BEGIN_ON_GO;
		s->law.min_mc = INT32_MIN;
		s->law.max_mc = INT32_MAX;
		wet_text_copy(s->name, sizeof s->name, "Measure");
		say(words[i % 4], s);
	}
}

static void fill_setup(struct arming *a)
{
	const struct wet_arming *want = &a->want;
	struct wet_run_setup *s = &a->row.setup;
	s->vessel.kind = a->recipe.vessel_kind;
	wet_text_copy(s->vessel.name, sizeof s->vessel.name,
				  want->vessel_name[0] ? want->vessel_name : wet_vessel_kind_word(a->recipe.vessel_kind));
	if (want->is_mix)
		wet_text_copy(s->vessel.name, sizeof s->vessel.name, a->recipe.baths[0].place);
	if (want->cut)
		wet_text_copy(s->vessel.name, sizeof s->vessel.name, "trimmer");
	s->vessel.fill_ns = a->recipe.fill_ns;
	s->vessel.drain_ns = a->recipe.drain_ns;
	s->vessel.stagger_ns = a->recipe.vessel_kind == WET_VESSEL_TRAYS ? 5000000000LL : 0;
	wet_text_copy(s->washer.name, sizeof s->washer.name, want->washer_name[0] ? want->washer_name : "washer");
	s->washer.kind = WET_VESSEL_WASHER;
	s->pieces = want->pieces;
	wet_text_copy(s->room, sizeof s->room, want->room[0] ? want->room : "darkroom");
	s->forecast.kind = WET_FORECAST_CONSTANT;
	if (want->room_mc != INT32_MIN)
		s->forecast = (struct wet_forecast){ .kind = want->tau_ns > 0 ? WET_FORECAST_NEWTON : WET_FORECAST_ROOM,
											 .room_mc = want->room_mc,
											 .tau_ns = want->tau_ns };
	s->tolerance_mc = 500;
	s->is_rehearsal = want->is_rehearsal || want->is_wet;
	s->is_mine = want->is_mine || want->is_wet;
	s->is_wet = want->is_wet;
	/* A wash: another run may lie in the dark, no pips to be counted. A mix: its screen is lit. */
	s->is_unheard = want->is_wash || want->is_mix;
	s->no_beat = want->no_beat;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		s->rate_milli[i] =
			s->is_rehearsal && !want->is_wet && want->rate_milli[i] ? want->rate_milli[i] : 1000;
	s->rules_version = WET_RULES_VERSION;
}

/* -- from a plan ----------------------------------------------------------------- */

struct finding {
	struct wet_job job;
	struct wet_darkroom *darkroom;
	struct wet_arming want;
	char asked[WET_NAME_BYTES]; /* the name a mix shall have on the shelf */
	int number;                 /* of the last name that was tried */
	wet_armed_cb *cb;
	void *ctx;
};

/* The first load that was not armed yet; NULL with the fault set. The plan is the caller's to free. */
static struct wet_kept_plan *next_load(struct wet_ledger *ledger, const char *name, int *ret_load,
									   struct wet_fault *reterr)
{
	struct wet_kept_plan *p = calloc(1, sizeof *p);
	int rc = p ? wet_ledger_get_plan(ledger, name, p, reterr)
			   : wet_fault_set(reterr, WET_ERR_NOMEM, "plan", NULL, "more memory");
	for (int i = 0; rc == 0 && i < p->load_count; i++) {
		if (p->loads[i].run_id != 0)
			continue;
		*ret_load = i;
		return p;
	}
	if (rc == 0)
		(void)wet_fault_set(reterr, WET_ERR_REFUSED, "plan", name, "All %d loads of plan %s are armed already.",
							p->load_count, name);
	free(p);
	return NULL;
}

static int find_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct finding *f = job->ctx;
	int load = 0;
	if (f->want.is_mix)
		return mix_find_name(ledger, &f->want.mix, &f->number, reterr);
	struct wet_kept_plan *p = next_load(ledger, f->want.plan_name, &load, reterr);
	if (!p)
		return reterr->err;
	wet_text_copy(f->want.recipe_name, sizeof f->want.recipe_name, p->recipe_name);
	wet_text_copy(f->want.vessel_name, sizeof f->want.vessel_name, p->vessel);
	f->want.pieces = p->loads[load].pieces;
	free(p);
	return WET_OK;
}

static void find_done(struct wet_job *job, const struct wet_fault *fault);

static void find(struct finding *f)
{
	f->job = (struct wet_job){ .work = find_work, .done = find_done, .ctx = f, .is_once = true };
	f->darkroom->ports.store(f->darkroom->ports.ctx, &f->job);
}

static void find_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct finding *f = job->ctx;
	struct wet_armed armed = { 0 };
	if (fault->err == WET_OK && f->want.is_mix && is_label_taken(f->darkroom, &f->want)) {
		wet_text_copy(f->want.mix.called, sizeof f->want.mix.called, f->asked);
		find(f); /* the next name */
		return;
	}
	if (fault->err == WET_OK)
		arm_known(f->darkroom, &f->want, f->cb, f->ctx);
	else
		f->cb(f->ctx, &armed, fault);
	free(f);
}

static int bath_by_key(const struct wet_recipe *recipe, const char *key)
{
	for (int i = 0; i < recipe->bath_count; i++)
		if (strcmp(recipe->baths[i].key, key) == 0)
			return i;
	return -1;
}

/* "Load 2 of plan evening needs fix-a, which was discarded." */
static int refuse_load(const struct wet_kept_plan *p, int load, const char *name, const char *why, struct wet_fault *reterr)
{
	return wet_fault_set(reterr, WET_ERR_STALE, "plan", p->name,
						 "Load %d of plan %s needs %s, %s. Plan again, with what stands there now: wetside plan %s --keep NAME",
						 load + 1, p->name, name, why, p->recipe_name);
}

/* Does an item that the plan counted on still stand there, and is it fresh enough? */
static int check_item(const struct arming *a, struct wet_ledger *ledger, const struct wet_kept_plan *p, int load, int bath,
					  const struct wet_stock *item, struct wet_fault *reterr)
{
	struct wet_stock_age age;
	struct wet_age_end end = { 0 };
	char why[96], days[24];
	if (item->is_gone)
		return refuse_load(p, load, item->name, item->volume_ul == 0 && item->kind == WET_STOCK_BOTTLE ? "which is empty"
																										: "which is gone", reterr);
	int rc = wet_ledger_stock_age(ledger, item, a->row.armed_wall_ms, &age, reterr);
	if (rc == 0)
		rc = wet_recipe_age_end(&a->recipe, bath, item->kind == WET_STOCK_BOTTLE, &age, &end, reterr);
	if (rc != 0 || end.left_ns >= 0)
		return rc;
	wet_text_format(why, sizeof why, "whose age ran out %s ago", wet_print_days(-end.left_ns, days, sizeof days));
	return refuse_load(p, load, item->name, why, reterr);
}

/* What passed through it since the plan was made may have used it up. */
static int check_area(const struct arming *a, struct wet_ledger *ledger, const struct wet_kept_plan *p, int load, int bath,
					  const struct wet_stock *item, struct wet_fault *reterr)
{
	struct wet_fix_bath done = { item->area_mm2, item->second_mm2 };
	struct wet_bath_left left;
	int64_t first_mm2, second_mm2;
	int rc = wet_ledger_promised(ledger, item->id, &first_mm2, &second_mm2, reterr);
	if (rc != 0)
		return rc;
	done.as_first_mm2 += first_mm2;
	done.as_second_mm2 += second_mm2;
	const struct wet_working_bath working = { .volume_ul = item->volume_ul,
											  .capacity_mm2_per_l = a->recipe.baths[bath].mix.capacity_mm2_per_l,
											  .used_mm2 = wet_fix_bath_counted(&done, WET_SECOND_SHARE_PPM) };
	if (wet_bath_left(&working, 1, &left, NULL) != 0 || left.left_mm2 < p->loads[load].area_mm2)
		return refuse_load(p, load, item->name, "which bears less by now than this load takes", reterr);
	return WET_OK;
}

/* Of a bath that is mixed now: its bottles. */
static int check_draws(const struct arming *a, struct wet_ledger *ledger, const struct wet_kept_plan *p, int load, int bath,
					   const struct wet_kept_bath *b, struct wet_fault *reterr)
{
	struct wet_stock item;
	int rc = WET_OK;
	for (int i = 0; i < b->draw_count && rc == 0; i++) {
		rc = wet_ledger_get_stock_by_id(ledger, b->draws[i].bottle_id, &item, reterr);
		if (rc == 0)
			rc = check_item(a, ledger, p, load, bath, &item, reterr);
		if (rc == 0 && item.volume_ul < b->draws[i].stock_ul)
			rc = refuse_load(p, load, item.name, "in which too little is left", reterr);
	}
	return rc;
}

/* The shelf may have changed since the plan was kept: nothing is mixed from, or poured into, what is not there. */
static int check_load(const struct arming *a, struct wet_ledger *ledger, const struct wet_kept_plan *p, int load,
					  struct wet_fault *reterr)
{
	struct wet_stock item;
	int rc = wet_ledger_get_stock(ledger, WET_STOCK_VESSEL, p->vessel, &item, reterr);
	if (rc == WET_ERR_NOT_FOUND || (rc == 0 && item.is_gone))
		return refuse_load(p, load, p->vessel, "which is gone", reterr);
	for (int i = 0; i < p->bath_count && rc == 0; i++) {
		const struct wet_kept_bath *b = &p->baths[i];
		int bath = bath_by_key(&a->recipe, b->key);
		bool is_first = load >= b->first_load && load < b->first_load + b->load_count;
		bool is_second = load >= b->second_load && load < b->second_load + b->second_count;
		if (bath < 0 || (!is_first && !is_second))
			continue;
		if (b->stock_id == 0) {
			rc = check_draws(a, ledger, p, load, bath, b, reterr);
			continue;
		}
		rc = wet_ledger_get_stock_by_id(ledger, b->stock_id, &item, reterr);
		if (rc == 0)
			rc = check_item(a, ledger, p, load, bath, &item, reterr);
		if (rc == 0 && is_first)
			rc = check_area(a, ledger, p, load, bath, &item, reterr);
	}
	return rc;
}

/* In the transaction that stores the run: what this load needs is mixed, and its stages are tied to their baths. */
static int arm_load(struct arming *a, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	int load = 0;
	struct wet_kept_plan *p = next_load(ledger, a->want.plan_name, &load, reterr);
	if (!p)
		return reterr->err;
	int rc = WET_OK;
	if (strcmp(p->recipe_hash, a->shelved ? a->shelved->hash : a->row.recipe_hash) != 0)
		rc = wet_fault_set(reterr, WET_ERR_STALE, "plan", p->name,
						   "a plan of the recipe as it is now: %s has changed since; plan again", p->recipe_name);
	else if (p->loads[load].pieces != a->want.pieces)
		rc = wet_fault_set(reterr, WET_ERR_STALE, "plan", p->name, "the load that is next: another one was armed meanwhile");
	if (rc == 0 && !a->want.is_rehearsal)
		rc = check_load(a, ledger, p, load, reterr);
	if (rc == 0)
		rc = wet_ledger_arm_load(ledger, p, load, a->row.id, &a->recipe, a->want.uid, a->row.armed_wall_ms, reterr);
	if (rc == 0)
		wet_text_append(a->told, sizeof a->told, "Load %d of %d of plan %s. Its baths are booked as mixed.\n", load + 1,
						p->load_count, p->name);
	free(p);
	return rc;
}

static int arming_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct arming *a = job->ctx;
	struct wet_run_setup *s = &a->row.setup;
	const char *read = a->want.is_mix ? a->recipe.makes.what : a->recipe.name; /* whose note */
	struct wet_vessel known;
	int rc;
	if (a->want.vessel_name[0]) {
		rc = wet_ledger_get_vessel(ledger, a->want.vessel_name, &known, reterr);
		if (rc == 0 && known.kind != a->recipe.vessel_kind)
			return wet_fault_set(reterr, WET_ERR_FIT, "vessel", a->want.vessel_name,
								 "a vessel of the recipe's kind: %s",
								 wet_vessel_kind_word(a->recipe.vessel_kind));
		if (rc == 0)
			s->vessel = known;
		else if (rc != WET_ERR_NOT_FOUND)
			return rc;
		else if (!a->want.is_wet && (a->want.fill_ns < 0 || a->want.drain_ns < 0))
			return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "vessel", a->want.vessel_name,
								 "a vessel that was measured (wetside rehearse RECIPE --wet --vessel NAME), "
								 "or its fill and drain");
	}
	if (a->want.tau_ns > 0) { /* told now, it goes before what was told or learned */
		s->vessel.tau_ns = a->want.tau_ns;
		s->vessel.tau_error_ns = 0;
	}
	if (a->want.fill_ns >= 0)
		s->vessel.fill_ns = a->want.fill_ns;
	if (a->want.drain_ns >= 0)
		s->vessel.drain_ns = a->want.drain_ns;
	if (a->want.stagger_ns >= 0)
		s->vessel.stagger_ns = a->want.stagger_ns;
	if (!a->want.is_wet) {
		rc = wet_recipe_fit(&a->recipe, &s->vessel, s->pieces, NULL, a->told, sizeof a->told, reterr);
		if (rc != 0)
			return rc;
		bool is_warned = a->shelved && a->want.is_stale_air && a->shelved->warns_in_stale_air;
		if ((a->recipe.needs_acknowledgement || is_warned) && !s->is_rehearsal) {
			bool has = false;
			rc = wet_ledger_has_acknowledgement(ledger, a->row.person, a->recipe.name, a->recipe.version,
												&has, reterr);
			if (rc != 0)
				return rc;
			if (!has)
				return wet_fault_set(reterr, WET_ERR_SAFETY, a->want.is_mix ? "formula" : "recipe", read,
									 "read it and acknowledge it once: wetside safety %s --acknowledge", read);
		}
	}
	rc = wet_ledger_next_run_id(ledger, &a->row.id, reterr);
	if (rc == 0)
		rc = wet_ledger_put_recipe(ledger, a->row.recipe_hash, a->recipe.name,
								   a->json ? a->json : a->shelved->json,
								   a->json ? strlen(a->json) : a->shelved->json_bytes, reterr);
	if (rc == 0)
		rc = wet_ledger_put_run(ledger, &a->row, reterr);
	if (rc == 0 && a->want.plan_name[0])
		rc = arm_load(a, ledger, reterr);
	if (rc == 0 && a->want.unload_count > 0)
		rc = pieces_tie(ledger, &a->want, a->row.id, reterr);
	return rc;
}

static void arming_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct arming *a = job->ctx;
	struct wet_darkroom *d = a->darkroom;
	struct wet_armed armed = { 0 };
	struct wet_fault nomem = { .err = WET_ERR_NOMEM };
	char no_voice[WET_LINE_BYTES];
	wet_text_copy(armed.told, sizeof armed.told, a->told);
	armed.is_stale_air = a->want.is_stale_air;
	forget_arming(d, a);
	if (fault->err == WET_OK) {
		struct wet_frozen *frozen = frozen_hold(d, &a->recipe, a->row.recipe_hash);
		struct wet_live *live = frozen ? live_add(d, a->row.id, frozen) : NULL;
		if (!live) {
			fault = &nomem;
		} else {
			wet_text_copy(live->name, sizeof live->name, a->row.name);
			wet_text_copy(live->person, sizeof live->person, a->row.person);
			live->owner_uid = a->row.owner_uid;
			live->group_controls = a->row.group_controls;
			live->has_bookings = a->want.plan_name[0] != '\0';
			live->armed_wall_ms = live->last_wall_ms = a->row.armed_wall_ms;
			live->last_boot_ns = a->row.armed_boot_ns;
			struct wet_run_setup setup = a->row.setup;
			setup.recipe = &frozen->recipe;
			wet_run_init(&live->run, &setup, a->row.armed_boot_ns);
			live->cue_after_ns = now_of(d);
			if (!setup.is_rehearsal && !setup.is_unheard)
				live->digit = 2 + (int)(d->ports.random(d->ports.ctx) % 5);
			live_touch(d, live);
			if (!a->want.is_number_later)
				wet_darkroom_play_digit(d, live);
			say_soon(d, live);
			if (d->ports.say && !d->ports.voice_is_well(d->ports.ctx, no_voice, sizeof no_voice))
				wet_text_append(armed.told, sizeof armed.told, "No voice: %s.\n", no_voice);
			hands_foresee(d, live, &live->run, armed.told, sizeof armed.told);
			if (armed.told[0] && armed.told[strlen(armed.told) - 1] != '\n')
				wet_text_append(armed.told, sizeof armed.told, "\n");
			inhibitor_settle(d);
			if (wet_darkroom_may_sleep(d) && !setup.is_rehearsal)
				wet_text_append(armed.told, sizeof armed.told,
								"Nothing keeps this machine awake (no login manager answers): switch off its "
								"sleep and leave the lid open.\n");
			armed.live = live;
		}
	}
	a->cb(a->cb_ctx, &armed, fault);
	free_arming(a);
}

static void name_run(struct wet_darkroom *d, struct arming *a)
{
	static const char *const words[WET_VESSEL_KIND_N] = { "tank", "open-tank", "trays", "drum", "wash" };
	const char *base = a->want.is_rehearsal ? "rehearsal"
					   : a->want.is_mix     ? "mix"
					   : a->want.cut        ? "cut"
											: words[a->recipe.vessel_kind];
	if (a->want.run_name[0]) {
		wet_text_copy(a->row.name, sizeof a->row.name, a->want.run_name);
		return;
	}
	wet_text_copy(a->row.name, sizeof a->row.name, base);
	for (int i = 2; i < WET_RUNS + 2; i++) {
		if (!is_name_taken(d, a->row.name))
			return;
		wet_text_format(a->row.name, sizeof a->row.name, "%s-%d", base, i);
	}
}

static void fail(struct arming *a, wet_armed_cb *cb, void *ctx, const struct wet_fault *fault)
{
	struct wet_armed armed = { 0 };
	cb(ctx, &armed, fault);
	if (a)
		free_arming(a);
}

/* The run's recipe is what comes back from the text that is kept, as after a crash. */
static int choose_mix(struct arming *a, struct wet_fault *reterr)
{
	size_t bytes = 0;
	int rc = wet_mixing_text(&a->want.mix, &a->json, &bytes, reterr);
	if (rc == 0)
		rc = wet_mixing_decode(a->json, bytes, a->want.mix.formula->name, &a->recipe, reterr);
	if (rc == 0)
		wet_shelf_hash(a->json, bytes, a->row.recipe_hash);
	a->recipe.needs_acknowledgement = a->want.mix.needs_acknowledgement;
	return rc;
}

/* Likewise. */
static int choose_cut(struct arming *a, struct wet_fault *reterr)
{
	size_t bytes = 0;
	int rc = wet_cutting_text(a->want.cut, &a->json, &bytes, reterr);
	if (rc == 0)
		rc = wet_cutting_decode(a->json, bytes, WET_CUT_NAME, &a->recipe, reterr);
	if (rc == 0)
		wet_shelf_hash(a->json, bytes, a->row.recipe_hash);
	return rc;
}

/* The shelf's recipe, with the cameras of this run: a copy of its own, as the names are frozen with it. */
static int choose_unloading(struct arming *a, const struct wet_shelf_recipe *shelved, struct wet_fault *reterr)
{
	char cameras[WET_PIECES][WET_NAME_BYTES];
	size_t bytes = 0;
	for (int i = 0; i < a->want.unload_count; i++)
		wet_text_copy(cameras[i], WET_NAME_BYTES, a->want.unload[i].from);
	int rc = wet_recipe_unloading(shelved->json, shelved->json_bytes, (const char(*)[WET_NAME_BYTES])cameras,
								  a->want.unload_count, &a->json, &bytes, reterr);
	if (rc == 0)
		rc = wet_recipe_decode(a->json, bytes, shelved->recipe.name, &a->recipe, reterr);
	if (rc == 0)
		wet_shelf_hash(a->json, bytes, a->row.recipe_hash);
	a->recipe.needs_acknowledgement = shelved->recipe.needs_acknowledgement;
	a->shelved = shelved;
	return rc;
}

/* The shelf's, or one of our own. */
static int choose_recipe(struct arming *a, const struct wet_shelf_recipe *shelved, struct wet_fault *reterr)
{
	if (a->want.unload_count > 0)
		return choose_unloading(a, shelved, reterr);
	if (a->want.is_mix)
		return choose_mix(a, reterr);
	if (a->want.cut)
		return choose_cut(a, reterr);
	a->json = malloc(WET_WASHING_BYTES);
	if (!a->json)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "run", NULL, "more memory");
	wet_text_copy(a->json, WET_WASHING_BYTES, "{}");
	if (a->want.is_wash) {
		wet_wash_recipe(&a->want.wash, &a->recipe);
		wet_washing_text(&a->want.wash, a->json, WET_WASHING_BYTES);
		wet_shelf_hash(a->json, strlen(a->json), a->row.recipe_hash);
	} else if (a->want.is_wet) {
		wet_rehearsal_recipe(&a->recipe, shelved->recipe.vessel_kind);
		wet_text_format(a->row.recipe_hash, sizeof a->row.recipe_hash, "%s-%d", WET_REHEARSAL_NAME,
						(int)shelved->recipe.vessel_kind);
	} else {
		a->recipe = shelved->recipe;
		a->shelved = shelved;
		free(a->json);
		a->json = NULL;
		wet_text_copy(a->row.recipe_hash, sizeof a->row.recipe_hash, shelved->hash);
	}
	return WET_OK;
}

/* Recipe, vessel and pieces are known. */
static void arm_known(struct wet_darkroom *d, const struct wet_arming *want, wet_armed_cb *cb, void *ctx)
{
	struct wet_fault fault = { 0 };
	struct arming *a = calloc(1, sizeof *a);
	const struct wet_shelf_recipe *shelved = wet_shelf_find(d->shelf, want->recipe_name);
	if (!a) {
		fault.err = WET_ERR_NOMEM;
		fail(a, cb, ctx, &fault);
		return;
	}
	a->darkroom = d;
	a->want = *want;
	if (a->want.unload_count > want->pieces)
		a->want.unload_count = want->pieces;
	a->cb = cb;
	a->cb_ctx = ctx;
	char barred[WET_LINE_BYTES];
	if (!shelved && !want->is_wash && !want->is_mix && !want->cut)
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, "recipe", want->recipe_name,
					  "one of the recipes that `wetside recipe` lists");
	else if (shelved && shelved->judged.forbidden[0] && !want->is_wet)
		wet_fault_set(&fault, WET_ERR_REFUSED, "recipe", want->recipe_name, "%s", shelved->judged.forbidden);
	else if (want->pieces < 1 || want->pieces > WET_PIECES)
		wet_fault_set(&fault, WET_ERR_RANGE, "pieces", NULL, "from 1 to %d pieces", WET_PIECES);
	else if (want->unload_count > 0 && want->unload_count < want->pieces)
		wet_fault_set(&fault, WET_ERR_FIT, "pieces", NULL, "%d exposed pieces; %d are known: load them, or arm without --from-cameras",
					  want->pieces, want->unload_count);
	else if (d->live_count >= WET_RUNS)
		wet_fault_set(&fault, WET_ERR_TOO_MANY, "run", NULL, "at most %d runs at once", WET_RUNS);
	else if (want->is_mix && !want->is_rehearsal &&
			 mix_is_barred(d, want->room[0] ? want->room : "darkroom", barred, sizeof barred))
		wet_fault_set(&fault, WET_ERR_REFUSED, "room", want->room[0] ? want->room : "darkroom", "%s", barred);
	if (fault.err != WET_OK || choose_recipe(a, shelved, &fault) != 0) {
		fail(a, cb, ctx, &fault);
		return;
	}
	name_run(d, a);
	if (is_name_taken(d, a->row.name)) {
		wet_fault_set(&fault, WET_ERR_EXISTS, "run", a->row.name, "another name: a run of this name is live");
		fail(a, cb, ctx, &fault);
		return;
	}
	wet_text_copy(a->row.recipe_name, sizeof a->row.recipe_name, a->recipe.name);
	wet_text_copy(a->row.person, sizeof a->row.person, want->person);
	a->row.owner_uid = want->uid;
	a->row.group_controls = want->group_controls;
	a->row.is_live = true;
	fill_setup(a);
	a->want.cut = NULL; /* it was lent for this call */
	wet_text_copy(a->row.armed_boot_id, sizeof a->row.armed_boot_id, d->ports.boot_id(d->ports.ctx));
	a->row.armed_boot_ns = now_of(d);
	a->row.armed_wall_ms = wall_at_ms(d, a->row.armed_boot_ns);
	a->job = (struct wet_job){
		.work = arming_work, .done = arming_done, .ctx = a, .is_write = true, .is_once = true
	};
	a->next = d->armings;
	d->armings = a;
	d->ports.store(d->ports.ctx, &a->job);
}

void wet_darkroom_arm(struct wet_darkroom *d, const struct wet_arming *want, wet_armed_cb *cb, void *ctx)
{
	struct wet_fault fault = { .err = WET_ERR_NOMEM };
	struct wet_armed armed = { 0 };
	if (!want->plan_name[0] && !want->is_mix) {
		arm_known(d, want, cb, ctx);
		return;
	}
	struct finding *f = calloc(1, sizeof *f);
	if (!f) {
		cb(ctx, &armed, &fault);
		return;
	}
	f->darkroom = d;
	f->want = *want;
	if (want->is_mix)
		wet_text_copy(f->asked, sizeof f->asked, want->mix.called);
	f->cb = cb;
	f->ctx = ctx;
	find(f);
}
