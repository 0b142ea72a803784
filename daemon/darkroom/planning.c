/* planning.c: the shelf and a recipe into the planner's question, and its answer into a kept plan. Works in the ledger's
 * thread: what stands on the shelf is read and the plan is made of the same state. */
#include "darkroom/planning.h"

#include "base/text.h"
#include "darkroom/inside.h"
#include "darkroom/planning_inside.h"
#include "ledger/plans.h"
#include "shelf/shelf.h"
#include "wetside/capacity.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

/* -- the question -------------------------------------------------------------------- */

/* Is this bath used in a second vessel, and only there? */
static bool is_used_in_washer(const struct wet_recipe *r, int bath)
{
	bool is_used = false;
	for (int i = 0; i < r->stage_count; i++) {
		if (r->stages[i].bath == bath && !r->stages[i].in_washer)
			return false;
		is_used = is_used || r->stages[i].bath == bath;
	}
	return is_used;
}

static bool is_mixed_alike(const struct wet_bath *a, const struct wet_bath *b)
{
	return strcmp(a->mix.from, b->mix.from) == 0 && a->mix.stock_milli == b->mix.stock_milli &&
		   a->mix.water_milli == b->mix.water_milli && a->mix.capacity_mm2_per_l == b->mix.capacity_mm2_per_l &&
		   a->mix.keeps_ns == b->mix.keeps_ns && a->after == b->after;
}

/* Is this bath used in stages of this kind, and only there? */
static bool is_only_for(const struct wet_recipe *r, int bath, enum wet_stage_kind kind)
{
	bool is_used = false;
	for (int i = 0; i < r->stage_count; i++) {
		if (r->stages[i].bath == bath && r->stages[i].kind != kind)
			return false;
		is_used = is_used || r->stages[i].bath == bath;
	}
	return is_used;
}

/* Two fixers that are mixed alike and used again: the one that is spent is replaced by the other. */
static bool are_two_fixers(const struct wet_recipe *r, int first, int second)
{
	return r->baths[first].after != WET_AFTER_WASTE && is_only_for(r, first, WET_STAGE_FIX) &&
		   is_only_for(r, second, WET_STAGE_SECOND_FIX);
}

/* The part of the recipe that is planned together with this bath, if it is mixed alike; NULL: none. */
static struct wet_planning_part *part_like(struct wet_planning *p, int bath)
{
	for (int i = 0; i < p->part_count; i++) {
		struct wet_planning_part *part = &p->parts[i];
		if (!p->ask.solutions[part->solution].has_second &&
			is_mixed_alike(&p->recipe->baths[part->recipe_bath], &p->recipe->baths[bath]) &&
			p->is_in_washer[part->solution] == is_used_in_washer(p->recipe, bath))
			return part;
	}
	return NULL;
}

/* Makes a pair of this bath and the one that is planned already; false: they are none. */
static bool add_second(struct wet_planning *p, struct wet_planning_part *part, int bath)
{
	struct wet_plan_solution *s = &p->ask.solutions[part->solution];
	bool is_second = are_two_fixers(p->recipe, part->recipe_bath, bath);
	if (p->alike[part->solution] != 1 || (!is_second && !are_two_fixers(p->recipe, bath, part->recipe_bath)))
		return false;
	s->has_second = true;
	s->second_share_ppm = WET_SECOND_SHARE_PPM;
	s->rotations_most = WET_ROTATIONS_MOST;
	part->among = is_second ? 0 : 1;
	p->parts[p->part_count++] = (struct wet_planning_part){ part->solution, bath, is_second ? 1 : 0 };
	return true;
}

/* Other baths from one bottle are one solution to the planner, of which each load needs `alike` vessels full: parts of
 * stock are counted for all of them in the volume of one. */
static int add_solution(struct wet_planning *p, int bath, bool mixes_lots, struct wet_fault *reterr)
{
	const struct wet_bath *b = &p->recipe->baths[bath];
	struct wet_plan_solution *s;
	struct wet_planning_part *like = part_like(p, bath);
	int index = like ? like->solution : -1;
	if (p->part_count == WET_PLAN_SOLUTIONS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "recipe", p->recipe->name, "at most %d baths of chemistry",
							 WET_PLAN_SOLUTIONS);
	if (like && add_second(p, like, bath))
		return WET_OK;
	if (index < 0) {
		index = p->ask.solution_count++;
		s = &p->ask.solutions[index];
		wet_text_copy(s->name, sizeof s->name, b->mix.from);
		s->has_time = true; /* the recipe's own */
		s->is_one_shot = b->after == WET_AFTER_WASTE;
		s->may_mix_lots = b->mix.may_mix_lots || mixes_lots;
		p->is_in_washer[index] = is_used_in_washer(p->recipe, bath);
		s->capacity_mm2_per_l = b->mix.capacity_mm2_per_l;
		s->keeps_ns = b->mix.keeps_ns;
	}
	s = &p->ask.solutions[index];
	p->parts[p->part_count++] = (struct wet_planning_part){ index, bath, p->alike[index]++ };
	s->stock_milli = b->mix.stock_milli * p->alike[index];
	s->water_milli = b->mix.stock_milli + b->mix.water_milli - s->stock_milli;
	s->least_stock_ul_per_m2 = b->mix.least_stock_ul_per_m2 * p->alike[index];
	if (s->water_milli < 0)
		return wet_fault_set(reterr, WET_ERR_FIT, "recipe", b->name,
							 "baths that are mixed alike from a weaker part: %d of them can't be planned together",
							 p->alike[index]);
	return WET_OK;
}

static int ask_recipe(struct wet_planning *p, bool mixes_lots, struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = 0; i < p->recipe->bath_count && rc == 0; i++)
		if (!p->recipe->baths[i].is_water && p->recipe->baths[i].mix.from[0])
			rc = add_solution(p, i, mixes_lots, reterr);
	if (rc == 0 && p->ask.solution_count == 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "recipe", p->recipe->name,
							 "a recipe that tells how its baths are mixed");
	return rc;
}

static int ask_vessel(struct planning_job *j, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct wet_planning *p = &j->planning;
	enum wet_vessel_kind kind = WET_VESSEL_KIND_N;
	int rc = wet_ledger_get_stock(ledger, WET_STOCK_VESSEL, j->want.vessel_name, &p->vessel, reterr);
	if (rc == WET_ERR_NOT_FOUND || (rc == 0 && p->vessel.is_gone))
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "vessel", j->want.vessel_name,
							 "a vessel that is known: wetside vessel add NAME --kind %s --least 350mL --most 600mL "
							 "--pieces 4",
							 wet_vessel_kind_word(p->recipe->vessel_kind));
	if (rc != 0)
		return rc;
	(void)wet_vessel_kind_from_word(p->vessel.what, &kind);
	if (kind != p->recipe->vessel_kind)
		return wet_fault_set(reterr, WET_ERR_FIT, "vessel", p->vessel.what, "%s, for which the recipe is written",
							 wet_vessel_kind_word(p->recipe->vessel_kind));
	if (p->vessel.pieces_max == 0 || p->vessel.least_ul == 0)
		return wet_fault_set(reterr, WET_ERR_FIT, "vessel", p->vessel.name,
							 "how many pieces it takes and the least that covers them: wetside vessel change %s "
							 "--pieces N --least V",
							 p->vessel.name);
	p->ask.vessel.least_ul = p->vessel.least_ul;
	p->ask.vessel.most_ul = p->vessel.full_ul;
	p->most_pieces = p->vessel.pieces_max;
	return WET_OK;
}

/* The washer has a volume of its own, and room for so many pieces. */
static int ask_washer(struct planning_job *j, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct wet_planning *p = &j->planning;
	const char *name = j->want.washer_name;
	bool is_asked = false;
	if (!name[0])
		return WET_OK;
	int rc = wet_ledger_get_stock(ledger, WET_STOCK_VESSEL, name, &p->washer, reterr);
	if (rc == WET_ERR_NOT_FOUND || (rc == 0 && p->washer.is_gone))
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "washer", name,
							 "a vessel that is known: wetside vessel add NAME --kind washer --least 1.2L --most 3L --pieces 6");
	if (rc != 0)
		return rc;
	if (p->washer.least_ul == 0 || p->washer.full_ul == 0)
		return wet_fault_set(reterr, WET_ERR_FIT, "washer", name,
							 "the least that covers the pieces, and the most: wetside vessel change %s --least V --most V", name);
	for (int i = 0; i < p->ask.solution_count; i++) {
		if (!p->is_in_washer[i])
			continue;
		p->ask.solutions[i].least_ul = p->washer.least_ul;
		p->ask.solutions[i].most_ul = p->washer.full_ul;
		is_asked = true;
	}
	if (!is_asked)
		return wet_fault_set(reterr, WET_ERR_INVALID, "washer", name,
							 "no washer: in %s no solution is used in one but water", p->recipe->name);
	if (p->washer.pieces_max > 0 && p->washer.pieces_max < p->most_pieces)
		p->most_pieces = p->washer.pieces_max;
	return WET_OK;
}

/* So many pieces of this size in the vessel, and in the washer where one is named. */
static int ask_room(struct planning_job *j, int size, struct wet_fault *reterr)
{
	struct wet_planning *p = &j->planning;
	int64_t width_um = j->want.sizes[size].width_um, height_um = j->want.sizes[size].height_um;
	int washer = p->most_pieces;
	int rc = wet_stock_room(&p->vessel, width_um, height_um, &p->room[size], reterr);
	if (rc == 0 && p->washer.pieces_max > 0)
		rc = wet_stock_room(&p->washer, width_um, height_um, &washer, reterr);
	if (p->room[size] > washer)
		p->room[size] = washer;
	return rc;
}

static int64_t common_multiple(int64_t a, int64_t b)
{
	int64_t x = a, y = b;
	while (y != 0) {
		int64_t rest = x % y;
		x = y;
		y = rest;
	}
	return a / x * b;
}

/* A piece of which n fill the vessel takes one n-th of it, whatever lies beside it: in slots, so small that all sizes come
 * out whole, or are rounded up. */
static int ask_slots(struct planning_job *j, struct wet_fault *reterr)
{
	struct wet_planning *p = &j->planning;
	int64_t slots = 1;
	int rc = WET_OK;
	for (int i = 0; i < j->want.size_count && rc == 0; i++) {
		rc = ask_room(j, i, reterr);
		if (rc == 0)
			slots = common_multiple(slots, p->room[i]);
		if (slots > WET_PLAN_SLOTS)
			slots = WET_PLAN_SLOTS;
	}
	p->ask.vessel.slots = (int)slots;
	for (int i = 0; i < j->want.size_count && rc == 0; i++)
		p->ask.sizes[i].slots = (int)((slots + p->room[i] - 1) / p->room[i]);
	return rc;
}

static int ask_pieces(struct planning_job *j, struct wet_fault *reterr)
{
	struct wet_plan_ask *a = &j->planning.ask;
	a->size_count = j->want.size_count;
	for (int i = 0; i < a->size_count; i++) {
		a->sizes[i].count = j->want.sizes[i].count;
		/* An inch is 25.4 mm, so that the product may end below a square millimetre: rounded up, as all that is used. */
		a->sizes[i].area_mm2 = (j->want.sizes[i].width_um * j->want.sizes[i].height_um + 999999) / 1000000;
	}
	a->wants_trial = j->want.wants_trial;
	a->is_hurried = j->is_hurried;
	return ask_slots(j, reterr);
}

/* For people: "fixer-rapid for 2 baths"; the shelf has been read by then. */
static void name_alike(struct wet_planning *p)
{
	for (int i = 0; i < p->ask.solution_count; i++) {
		struct wet_plan_solution *s = &p->ask.solutions[i];
		const struct wet_bath_mix *mix = &planning_bath_of(p, i)->mix;
		if (p->alike[i] > 1)
			wet_text_append(s->name, WET_NAME_BYTES, " for %d baths", p->alike[i]);
		if (p->alike[i] > 1 && mix->water_milli > 0)
			wet_print_dilution(mix->stock_milli, mix->water_milli, s->said_dilution, sizeof s->said_dilution);
	}
}

/* -- the answer ------------------------------------------------------------------------ */

const struct wet_stock *wet_planning_working(const struct wet_planning *p, const struct wet_planning_part *part,
											 const struct wet_plan_bath *b)
{
	if (b->working < 0)
		return NULL;
	return &p->workings[b->working][p->ask.solutions[part->solution].has_second ? 0 : part->among];
}

char *wet_planning_bath_name(const struct wet_planning_request *request, const struct wet_planning *p,
							 const struct wet_plan_bath *bath, char *buf, unsigned n)
{
	int nth = 1;
	if (bath->working >= 0)
		return wet_text_copy(buf, n, p->workings[bath->working][0].name);
	for (const struct wet_plan_bath *b = p->plan.baths; b < bath; b++)
		nth += b->solution == bath->solution && b->working < 0;
	if (request->keep[0])
		return wet_kept_bath_name(request->keep, p->ask.solutions[bath->solution].name, nth, buf, n);
	return wet_text_format(buf, n, "fresh fixer %d", nth);
}

static void keep_bath(const struct wet_planning *p, const struct wet_planning_part *part, const struct wet_plan_bath *b,
					  struct wet_kept_bath *k)
{
	const struct wet_bath *bath = &p->recipe->baths[part->recipe_bath];
	int n = p->alike[part->solution];
	memset(k, 0, sizeof *k);
	wet_text_copy(k->key, sizeof k->key, bath->key);
	wet_text_copy(k->what, sizeof k->what, bath->mix.from);
	if (bath->mix.water_milli > 0)
		wet_print_dilution(bath->mix.stock_milli, bath->mix.water_milli, k->strength, sizeof k->strength);
	k->first_load = b->first_load;
	k->load_count = b->load_count;
	k->volume_ul = b->volume_ul;
	k->is_one_shot = p->ask.solutions[part->solution].is_one_shot;
	for (int i = 0; i < p->part_count; i++)
		if (p->parts[i].solution == part->solution && p->ask.solutions[part->solution].has_second && p->parts[i].among == 1)
			wet_text_copy(k->second_key, sizeof k->second_key, p->recipe->baths[p->parts[i].recipe_bath].key);
	if (k->second_key[0]) {
		k->second_load = b->second_load;
		k->second_count = b->second_count;
		k->rotations = b->rotations;
	}
	if (b->working >= 0) {
		k->stock_id = wet_planning_working(p, part, b)->id;
		return;
	}
	for (int i = 0; i < b->draw_count; i++) {
		const struct wet_plan_draw *d = &p->plan.draws[b->first_draw + i];
		/* What can't be shared evenly goes to the first of those mixed alike. */
		int64_t share = d->stock_ul / n + (part->among < d->stock_ul % n);
		k->draws[k->draw_count].bottle_id = p->bottles[d->bottle].id;
		k->draws[k->draw_count++].stock_ul = share;
	}
}

static int keep(struct planning_job *j, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	const struct wet_planning *p = &j->planning;
	struct wet_kept_plan *k = calloc(1, sizeof *k);
	int rc = WET_OK;
	if (!k)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "keep", NULL, "more memory");
	wet_text_copy(k->name, sizeof k->name, j->want.keep);
	wet_text_copy(k->recipe_name, sizeof k->recipe_name, p->recipe->name);
	wet_text_copy(k->recipe_hash, sizeof k->recipe_hash, j->recipe_hash);
	wet_text_copy(k->vessel, sizeof k->vessel, p->vessel.name);
	k->wall_ms = j->wall_ms;
	k->load_count = p->plan.load_count;
	for (int i = 0; i < k->load_count && i < WET_KEPT_LOADS; i++) {
		for (int s = 0; s < p->ask.size_count; s++)
			k->loads[i].pieces += p->plan.loads[i].counts[s];
		k->loads[i].area_mm2 = p->plan.loads[i].area_mm2;
	}
	for (int i = 0; i < p->plan.bath_count && rc == 0; i++)
		for (int n = 0; n < p->part_count && rc == 0; n++) {
			bool has_second = p->ask.solutions[p->parts[n].solution].has_second;
			if (p->parts[n].solution != p->plan.baths[i].solution || (has_second && p->parts[n].among == 1))
				continue; /* one bath has one row, whatever its places */
			if (k->bath_count == WET_KEPT_BATHS)
				rc = wet_fault_set(reterr, WET_ERR_TOO_MANY, "keep", NULL, "at most %d baths in one plan", WET_KEPT_BATHS);
			else
				keep_bath(p, &p->parts[n], &p->plan.baths[i], &k->baths[k->bath_count++]);
		}
	if (rc == 0)
		rc = wet_ledger_put_plan(ledger, k, reterr);
	free(k);
	return rc;
}

static int plan_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct planning_job *j = job->ctx;
	struct wet_planning *p = &j->planning;
	memset(p, 0, sizeof *p);
	p->recipe = &j->recipe;
	int rc = ask_recipe(p, j->want.mixes_lots, reterr);
	if (rc == 0)
		rc = ask_vessel(j, ledger, reterr);
	if (rc == 0)
		rc = ask_washer(j, ledger, reterr);
	if (rc == 0)
		rc = ask_pieces(j, reterr);
	if (rc == 0)
		rc = planning_ask_shelf(j, ledger, reterr);
	name_alike(p);
	size_t bytes = rc == 0 ? wet_plan_workspace_bytes(&p->ask) : 0;
	if (rc == 0 && !j->workspace)
		j->workspace = malloc(bytes ? bytes : 1);
	if (rc == 0 && !j->workspace)
		rc = wet_fault_set(reterr, WET_ERR_NOMEM, "plan", NULL, "more memory");
	if (rc == 0)
		rc = wet_plan_make(&p->ask, j->workspace, bytes, &p->plan, &p->refusal, reterr);
	bool has_refusal = rc == WET_ERR_FIT && p->refusal.rule != WET_PLAN_RULE_NONE;
	if (has_refusal && p->ask.is_hurried && !p->refusal.is_proven) { /* nobody is told that it can't be, who can */
		p->ask.is_hurried = false;
		rc = wet_plan_make(&p->ask, j->workspace, bytes, &p->plan, &p->refusal, reterr);
	}
	if (rc == WET_ERR_FIT && p->refusal.rule != WET_PLAN_RULE_NONE)
		return WET_OK; /* an answer, with its ways out */
	p->is_feasible = rc == 0;
	if (rc == 0)
		planning_draw_strengths(j);
	if (rc == 0)
		wet_plan_explain(&p->ask, &p->plan, p->text, sizeof p->text);
	if (rc == 0 && j->want.keep[0])
		rc = keep(j, ledger, reterr);
	return rc;
}

static void plan_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct planning_job *j = job->ctx;
	j->cb(j->ctx, &j->want, fault->err == WET_OK ? &j->planning : NULL, fault);
	free(j->workspace);
	free(j);
}

void wet_darkroom_plan(struct wet_darkroom *d, const struct wet_planning_request *request, wet_planned_cb *cb, void *ctx)
{
	struct wet_fault fault = { 0 };
	const struct wet_shelf_recipe *shelved = wet_shelf_find(d->shelf, request->recipe_name);
	bool is_forbidden = shelved && shelved->judged.forbidden[0];
	struct planning_job *j = shelved && !is_forbidden ? calloc(1, sizeof *j) : NULL;
	if (!j) {
		if (is_forbidden)
			(void)wet_fault_set(&fault, WET_ERR_REFUSED, "recipe", request->recipe_name, "%s", shelved->judged.forbidden);
		else if (shelved)
			fault.err = WET_ERR_NOMEM;
		else
			(void)wet_fault_set(&fault, WET_ERR_NOT_FOUND, "recipe", request->recipe_name,
								"one of the recipes that `wetside recipe` lists");
		cb(ctx, request, NULL, &fault);
		return;
	}
	j->want = *request;
	j->recipe = shelved->recipe;
	wet_text_copy(j->recipe_hash, sizeof j->recipe_hash, shelved->hash);
	j->wall_ms = d->ports.wall_ms(d->ports.ctx);
	j->is_hurried = d->live_count > 0;
	j->cb = cb;
	j->ctx = ctx;
	j->job = (struct wet_job){ .work = plan_work,
							   .done = plan_done,
							   .ctx = j,
							   .is_write = request->keep[0] != '\0',
							   .is_once = true };
	d->ports.store(d->ports.ctx, &j->job);
}

/* -- kept plans ------------------------------------------------------------------------ */

struct listing {
	struct wet_job job;
	struct wet_plan_names names;
	wet_plan_names_cb *cb;
	void *ctx;
};

static int take_name(void *ctx, int64_t id, const char *name, const char *recipe_name, int64_t wall_ms)
{
	struct wet_plan_names *n = ctx;
	(void)id;
	wet_text_copy(n->rows[n->count].name, WET_NAME_BYTES, name);
	wet_text_copy(n->rows[n->count].recipe, WET_NAME_BYTES, recipe_name);
	n->rows[n->count++].wall_ms = wall_ms;
	return WET_OK;
}

static int list_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct listing *l = job->ctx;
	return wet_ledger_each_plan(ledger, 0, WET_PAGE, take_name, &l->names, reterr);
}

static void list_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct listing *l = job->ctx;
	l->cb(l->ctx, &l->names, fault);
	free(l);
}

void wet_darkroom_list_plans(struct wet_darkroom *d, wet_plan_names_cb *cb, void *ctx)
{
	struct listing *l = calloc(1, sizeof *l);
	if (!l) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, NULL, &fault);
		return;
	}
	l->cb = cb;
	l->ctx = ctx;
	l->job = (struct wet_job){ .work = list_work, .done = list_done, .ctx = l, .is_once = true };
	d->ports.store(d->ports.ctx, &l->job);
}
