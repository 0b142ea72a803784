/* planning_shelf.c: what stands on the shelf, as the planner counts it. */
#include "base/text.h"
#include "darkroom/planning_inside.h"
#include "darkroom/stock.h"
#include "ledger/plans.h"
#include "wetside/capacity.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define MEASURE_UL 1000 /* without a known graduate: what a person can still measure. Our decision */

struct reading {
	struct planning_job *job;
	struct wet_ledger *ledger;
	struct wet_fault *reterr;
	int working_of[WET_PLAN_SOLUTIONS]; /* baths found so far, by solution */
	struct wet_stock baths[WET_PLAN_SOLUTIONS][WET_PLAN_SOURCES];
	bool is_full;
};

static int solution_of(const struct wet_planning *p, const struct wet_stock *item)
{
	for (int i = 0; i < p->ask.solution_count; i++)
		if (strcmp(p->ask.solutions[i].name, item->what) == 0)
			return i;
	return -1;
}

const struct wet_bath *planning_bath_of(const struct wet_planning *p, int solution)
{
	for (int i = 0; i < p->part_count; i++)
		if (p->parts[i].solution == solution)
			return &p->recipe->baths[p->parts[i].recipe_bath];
	return NULL;
}

/* How old it is, and to what age it keeps: as the recipe says, or sooner by how it stood and stands now. */
static int read_age(struct reading *r, int solution, const struct wet_stock *item, int64_t *ret_age_ns, int64_t *ret_keeps_ns)
{
	const struct wet_recipe *recipe = r->job->planning.recipe;
	const struct wet_bath *bath = planning_bath_of(&r->job->planning, solution);
	bool is_stock = item->kind == WET_STOCK_BOTTLE;
	struct wet_stock_age age;
	struct wet_age_end end;
	int rc = wet_ledger_stock_age(r->ledger, item, r->job->wall_ms, &age, r->reterr);
	if (rc == 0)
		rc = wet_recipe_age_end(recipe, (int)(bath - recipe->baths), is_stock, &age, &end, r->reterr);
	if (rc != 0)
		return rc;
	*ret_age_ns = age.age_ns;
	*ret_keeps_ns = age.age_ns + end.left_ns > 0 ? age.age_ns + end.left_ns : 0;
	return WET_OK;
}

/* Bottles of one lot may be mixed. A bottle whose lot nobody knows is a lot of its own. */
static int64_t lot_of(const struct wet_planning *p, const struct wet_stock *item)
{
	for (int i = 0; i < p->bottle_count && item->lot[0]; i++)
		if (strcmp(p->bottles[i].lot, item->lot) == 0 && strcmp(p->bottles[i].what, item->what) == 0)
			return p->plan_bottles[i].lot;
	return item->id;
}

static bool is_mixed_like(const struct wet_bath *bath, const struct wet_stock *item)
{
	return wet_stock_is_mixed(item, bath->mix.stock_milli, bath->mix.water_milli);
}

/* What the formula makes, in percent; 0: it has no such number. */
static int32_t own_percent(const struct planning_job *j, const char *what)
{
	for (int i = 0; i < j->want.own_count; i++)
		if (strcmp(j->want.own[i].what, what) == 0)
			return j->want.own[i].percent_milli;
	return 0;
}

/* Why a bottle of another strength than its formula's own, `own` percent, can't be counted. */
static void leave_out(struct wet_planning *p, const struct wet_stock *item, int32_t own)
{
	char own_text[32];
	wet_text_append(p->told, sizeof p->told, "%s is left out: it holds %s of %s, ", item->name, item->what, item->strength);
	if (own > 0)
		wet_text_append(p->told, sizeof p->told, "and the bath is mixed of %s as its formula makes it, %s w/v\n", item->what,
						wet_print_percent(own, own_text, sizeof own_text));
	else
		wet_text_append(p->told, sizeof p->told,
						"and no percent is known of what the formula makes; if it is just that: wetside bottle change %s "
						"--strength stock\n",
						item->name);
}

/* Parts are of the stock as its formula makes it. Another strength of one substance in water counts as so much more or less
 * of that, as long as the bath can be mixed of it; ret_own / ret_has. False: it can't, and why was said. */
static bool take_strength(const struct planning_job *j, struct wet_planning *p, const struct wet_bath_mix *mix,
						  const struct wet_stock *item, int32_t *ret_own, int32_t *ret_has)
{
	int32_t own = own_percent(j, item->what);
	struct wet_strength has;
	*ret_own = *ret_has = 1;
	if (!item->strength[0] || strcmp(item->strength, "stock") == 0)
		return true;
	bool is_known = own > 0 && wet_parse_strength(item->strength, &has, NULL) == 0 &&
					(has.kind == WET_PERCENT_UNSAID || has.kind == WET_PERCENT_WV);
	if (!is_known || (int64_t)has.milli * (mix->stock_milli + mix->water_milli) < (int64_t)own * mix->stock_milli) {
		leave_out(p, item, own);
		return false;
	}
	*ret_own = own;
	*ret_has = has.milli;
	return true;
}

static int take_bottle(struct reading *r, int solution, const struct wet_stock *item)
{
	struct wet_planning *p = &r->job->planning;
	const struct wet_bath_mix *mix = &planning_bath_of(p, solution)->mix;
	int32_t own, has;
	if (!take_strength(r->job, p, mix, item, &own, &has))
		return WET_OK;
	if (p->bottle_count == WET_PLAN_SOURCES) {
		r->is_full = true;
		return WET_OK;
	}
	double counted_ul = (double)item->volume_ul * has / own;
	p->own[p->bottle_count] = own;
	p->has[p->bottle_count] = has;
	struct wet_plan_bottle *b = &p->plan_bottles[p->bottle_count];
	*b = (struct wet_plan_bottle){ .id = item->id,
								   .solution = solution,
								   .lot = lot_of(p, item),
								   .stock_ul = counted_ul < 1e9 ? (int64_t)counted_ul : 1000000000 };
	p->bottles[p->bottle_count] = *item;
	b->name = p->bottles[p->bottle_count++].name;
	return read_age(r, solution, item, &b->age_ns, &b->keeps_ns);
}

struct wet_graduate wet_planning_graduate(const struct wet_stock *item)
{
	return (struct wet_graduate){ .capacity_ul = item->full_ul,
								  .step_ul = item->least_ul,
								  .class_of = item->grade == 'A'   ? WET_CLASS_A
											  : item->grade == 'B' ? WET_CLASS_B
																   : WET_CLASS_UNSAID,
								  .unit = WET_UNIT_ML };
}

static int take_item(void *ctx, const struct wet_stock *item)
{
	struct reading *r = ctx;
	struct wet_planning *p = &r->job->planning;
	int solution = solution_of(p, item);
	if (item->kind == WET_STOCK_GRADUATE && p->graduate_count < WET_GRADUATES) {
		wet_text_copy(p->graduate_names[p->graduate_count], WET_NAME_BYTES, item->name);
		p->graduates[p->graduate_count++] = wet_planning_graduate(item);
	} else if (item->kind == WET_STOCK_BOTTLE && solution >= 0 && item->volume_ul > 0) {
		return take_bottle(r, solution, item);
	} else if (item->kind == WET_STOCK_BATH && solution >= 0 && !p->ask.solutions[solution].is_one_shot &&
			   is_mixed_like(planning_bath_of(p, solution), item) && r->working_of[solution] < WET_PLAN_SOURCES) {
		r->baths[solution][r->working_of[solution]++] = *item;
	}
	return WET_OK;
}

/* Of baths that are mixed alike, those that have done most come first. */
static int by_area(const void *a, const void *b)
{
	const struct wet_stock *x = a, *y = b;
	if (x->area_mm2 != y->area_mm2)
		return x->area_mm2 > y->area_mm2 ? -1 : 1;
	return x->id < y->id ? -1 : 1;
}

/* What runs that are armed will do in it counts as done: it is booked only as they begin. */
static int count_promised(struct reading *r, struct wet_stock *bath)
{
	struct wet_planning *p = &r->job->planning;
	int64_t area_mm2, second_mm2;
	char area[48];
	int rc = wet_ledger_promised(r->ledger, bath->id, &area_mm2, &second_mm2, r->reterr);
	if (rc != 0 || area_mm2 + second_mm2 == 0)
		return rc;
	wet_text_append(p->told, sizeof p->told, "%s: %s are promised to runs that are armed, and count as done\n", bath->name,
					wet_stock_print_area(area_mm2 + second_mm2, area, sizeof area));
	bath->area_mm2 += area_mm2;
	bath->second_mm2 += second_mm2;
	return WET_OK;
}

/* `alike` baths together stand for one working solution of the planner: the first one's count rules, the least volume, and the
 * age of the one that is out first. */
static int pair_up(struct reading *r, int solution, struct wet_stock *baths)
{
	struct wet_planning *p = &r->job->planning;
	struct wet_plan_working *w = &p->plan_workings[p->working_count];
	int rc = WET_OK;
	*w = (struct wet_plan_working){ .id = baths[0].id,
									.solution = solution,
									.volume_ul = baths[0].volume_ul,
									.used_mm2 = baths[0].area_mm2,
									.second_mm2 = baths[0].second_mm2,
									.rotations = baths[0].rotations };
	if (!p->ask.solutions[solution].has_second) { /* what passed as a second elsewhere counts here too */
		const struct wet_fix_bath done = { w->used_mm2, w->second_mm2 };
		w->used_mm2 = wet_fix_bath_counted(&done, WET_SECOND_SHARE_PPM);
		w->second_mm2 = 0;
	}
	w->name = p->workings[p->working_count][0].name;
	for (int k = 0; k < p->alike[solution] && rc == 0; k++) {
		int64_t age_ns, keeps_ns;
		p->workings[p->working_count][k] = baths[k];
		if (baths[k].volume_ul < w->volume_ul)
			w->volume_ul = baths[k].volume_ul;
		rc = read_age(r, solution, &baths[k], &age_ns, &keeps_ns);
		if (rc == 0 && (k == 0 || keeps_ns - age_ns < w->keeps_ns - w->age_ns)) {
			w->age_ns = age_ns;
			w->keeps_ns = keeps_ns;
		}
	}
	p->working_count++;
	return rc;
}

static int pair_workings(struct reading *r, int solution)
{
	struct wet_planning *p = &r->job->planning;
	struct wet_stock *baths = r->baths[solution];
	int n = p->alike[solution], count = r->working_of[solution], rc = WET_OK;
	for (int i = 0; i < count && rc == 0; i++)
		rc = count_promised(r, &baths[i]);
	qsort(baths, (size_t)count, sizeof *baths, by_area);
	for (int i = 0; i + n <= count && p->working_count < WET_PLAN_SOURCES && rc == 0; i += n)
		rc = pair_up(r, solution, &baths[i]);
	return rc;
}

int planning_ask_shelf(struct planning_job *j, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct wet_planning *p = &j->planning;
	struct reading *r = calloc(1, sizeof *r);
	if (!r)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "shelf", NULL, "more memory");
	r->job = j;
	r->ledger = ledger;
	r->reterr = reterr;
	int rc = wet_ledger_each_stock(ledger, -1, false, 0, INT32_MAX, take_item, r, reterr);
	for (int i = 0; i < p->ask.solution_count && rc == 0; i++)
		rc = pair_workings(r, i);
	if (rc == 0 && r->is_full)
		rc = wet_fault_set(reterr, WET_ERR_TOO_MANY, "shelf", NULL, "at most %d bottles of this recipe's solutions",
						   WET_PLAN_SOURCES);
	free(r);
	p->ask.bottle_count = p->bottle_count;
	p->ask.bottles = p->plan_bottles;
	p->ask.working_count = p->working_count;
	p->ask.workings = p->plan_workings;
	p->ask.measure_least_ul = MEASURE_UL;
	for (int i = 0; i < p->graduate_count; i++)
		if (i == 0 || p->graduates[i].step_ul < p->ask.measure_least_ul)
			p->ask.measure_least_ul = p->graduates[i].step_ul;
	return rc;
}


void planning_draw_strengths(struct planning_job *j)
{
	struct wet_planning *p = &j->planning;
	struct wet_plan_bath *baths = (struct wet_plan_bath *)p->plan.baths; /* they lie in our own workspace */
	struct wet_plan_draw *draws = (struct wet_plan_draw *)p->plan.draws;
	for (int i = 0; i < p->plan.bath_count; i++) {
		struct wet_plan_bath *b = &baths[i];
		for (int n = 0; n < b->draw_count; n++) {
			struct wet_plan_draw *d = &draws[b->first_draw + n];
			int64_t own = p->own[d->bottle], has = p->has[d->bottle];
			int64_t drawn_ul = (int64_t)((double)d->stock_ul * (double)own / (double)has + 0.5);
			if (own == has)
				continue;
			if (drawn_ul > p->bottles[d->bottle].volume_ul)
				drawn_ul = p->bottles[d->bottle].volume_ul;
			b->stock_ul += drawn_ul - d->stock_ul;
			b->water_ul -= drawn_ul - d->stock_ul;
			d->stock_ul = drawn_ul;
		}
	}
}
