/* plan.c: the whole plan: what is asked is checked, the search is run, its best is written out. */
#include "wetside/plan.h"

#include "base/text.h"
#include "chemistry/plan_inside.h"
#include "wetside/quantity.h"

#include <stdalign.h>
#include <string.h>

#define MEMO_SLOTS_LEAST 64
#define MEMO_SLOTS_MOST 65536
#define MEMO_SLOTS_HURRIED 2048
#define MEMO_WORDS 8 /* of a state, on the average */
#define STOCK_UL_MAX 1000000000LL
#define PIECE_MM2_MAX 10000000LL
#define AREA_MM2_MAX (1LL << 60) /* under WORKING_AGE */
#define PARTS_MILLI_MAX 100000000LL
#define AGE_NS_MAX (1LL << 60)

static const struct {
	const char *text;
	int seconds;
} steps[WET_BETWEEN_N] = {
#define ROW(name, text, seconds) { text, seconds },
	WET_BETWEEN_STEPS(ROW)
#undef ROW
};

const char *wet_between_text(enum wet_between_step step)
{
	return (unsigned)step < WET_BETWEEN_N ? steps[step].text : "";
}

int64_t wet_between_ns(enum wet_between_step step)
{
	return (unsigned)step < WET_BETWEEN_N ? steps[step].seconds * WET_NS_PER_S : 0;
}

/* -- what is asked ------------------------------------------------------------ */

static int out_of_range(struct wet_fault *reterr, const char *list, int index, const char *member,
						const char *want)
{
	char where[80];
	if (index >= 0)
		wet_text_format(where, sizeof where, "%s/%d/%s", list, index, member);
	else
		wet_text_format(where, sizeof where, "%s%s%s", list, member[0] ? "/" : "", member);
	return wet_fault_set(reterr, WET_ERR_RANGE, where, NULL, "%s", want);
}

static int check_sizes(const struct wet_plan_ask *ask, struct wet_fault *reterr)
{
	int64_t pieces = 0;
	if (ask->size_count < 1 || ask->size_count > WET_PLAN_SIZES)
		return out_of_range(reterr, "sizes", -1, "", "from 1 to 4 sizes");
	for (int i = 0; i < ask->size_count; i++) {
		const struct wet_plan_size *s = &ask->sizes[i];
		if (s->area_mm2 < 1 || s->area_mm2 > PIECE_MM2_MAX)
			return out_of_range(reterr, "sizes", i, "area", "an area over nothing, up to 10 m2");
		if (s->count < 0 || s->count > WET_PLAN_PIECES)
			return out_of_range(reterr, "sizes", i, "count", "from 0 to 200 pieces");
		if (s->slots < 1 || s->slots > WET_PLAN_SLOTS)
			return out_of_range(reterr, "sizes", i, "slots", "at least one slot a piece");
		pieces += s->count;
	}
	if (pieces < 1 || pieces > WET_PLAN_PIECES)
		return out_of_range(reterr, "sizes", -1, "", "from 1 to 200 pieces in one plan");
	return WET_OK;
}

static int check_solutions(const struct wet_plan_ask *ask, struct wet_fault *reterr)
{
	if (ask->solution_count < 1 || ask->solution_count > WET_PLAN_SOLUTIONS)
		return out_of_range(reterr, "solutions", -1, "", "from 1 to 8 solutions");
	for (int i = 0; i < ask->solution_count; i++) {
		const struct wet_plan_solution *s = &ask->solutions[i];
		if (s->stock_milli < 1 || s->stock_milli > PARTS_MILLI_MAX || s->water_milli < 0 ||
			s->water_milli > PARTS_MILLI_MAX)
			return out_of_range(reterr, "solutions", i, "dilution", "parts, as in 1+9");
		if (s->capacity_mm2_per_l < 1 || s->capacity_mm2_per_l > 100000000)
			return out_of_range(reterr, "solutions", i, "capacity",
								"an area a litre over nothing, up to 100 m2");
		if (s->has_second && (s->is_one_shot || s->second_share_ppm < 0 || s->second_share_ppm > 1000000 ||
							  s->rotations_most < 0 || s->rotations_most > 100))
			return out_of_range(reterr, "solutions", i, "second",
								"two baths that are used again, a share of 0 to 1,000,000 millionths, up to 100 rotations");
		if (s->least_stock_ul_per_m2 < 0 || s->least_stock_ul_per_m2 > 100 * STOCK_UL_MAX)
			return out_of_range(reterr, "solutions", i, "least stock", "nothing or more");
		if (s->most_ul != 0 && (s->least_ul < 1 || s->most_ul < s->least_ul || s->most_ul > STOCK_UL_MAX))
			return out_of_range(reterr, "solutions", i, "vessel",
								"a least volume over nothing, and a most that is no less");
		if (memchr(s->name, 0, sizeof s->name) == NULL)
			return out_of_range(reterr, "solutions", i, "name", "a name that ends");
	}
	return WET_OK;
}

static int check_sources(const struct wet_plan_ask *ask, struct wet_fault *reterr)
{
	if (ask->bottle_count < 0 || ask->bottle_count > WET_PLAN_SOURCES)
		return out_of_range(reterr, "bottles", -1, "", "at most 64 bottles");
	if (ask->working_count < 0 || ask->working_count > WET_PLAN_SOURCES)
		return out_of_range(reterr, "workings", -1, "", "at most 64 working solutions");
	for (int i = 0; i < ask->bottle_count; i++) {
		const struct wet_plan_bottle *b = &ask->bottles[i];
		if (b->solution < 0 || b->solution >= ask->solution_count)
			return out_of_range(reterr, "bottles", i, "solution", "one of the solutions");
		if (b->stock_ul < 0 || b->stock_ul > STOCK_UL_MAX)
			return out_of_range(reterr, "bottles", i, "stock", "from nothing to 1,000 L");
		if (b->age_ns < 0 || b->age_ns > AGE_NS_MAX || b->keeps_ns < 0)
			return out_of_range(reterr, "bottles", i, "age", "an age and a keeping time of nothing or more");
		for (int j = 0; j < i; j++)
			if (ask->bottles[j].id == b->id)
				return out_of_range(reterr, "bottles", i, "id", "an id of its own");
	}
	for (int i = 0; i < ask->working_count; i++) {
		const struct wet_plan_working *w = &ask->workings[i];
		if (w->solution < 0 || w->solution >= ask->solution_count)
			return out_of_range(reterr, "workings", i, "solution", "one of the solutions");
		if (w->rotations < 0 || w->second_mm2 < 0 || w->second_mm2 > AREA_MM2_MAX)
			return out_of_range(reterr, "workings", i, "second", "an area and rotations of nothing or more");
		if (w->volume_ul < 1 || w->volume_ul > STOCK_UL_MAX || w->used_mm2 < 0 || w->used_mm2 > AREA_MM2_MAX)
			return out_of_range(reterr, "workings", i, "volume",
								"a volume over nothing, an area of nothing or more");
		if (w->age_ns < 0 || w->age_ns > AGE_NS_MAX || w->keeps_ns < 0)
			return out_of_range(reterr, "workings", i, "age", "an age and a keeping time of nothing or more");
		for (int j = 0; j < i; j++)
			if (ask->workings[j].id == w->id)
				return out_of_range(reterr, "workings", i, "id", "an id of its own");
	}
	return WET_OK;
}

static int check_ask(const struct wet_plan_ask *ask, struct wet_fault *reterr)
{
	const struct wet_plan_vessel *v = &ask->vessel;
	int rc = check_sizes(ask, reterr);
	if (rc == 0)
		rc = check_solutions(ask, reterr);
	if (rc == 0)
		rc = check_sources(ask, reterr);
	if (rc == 0 && (v->least_ul < 1 || v->most_ul < v->least_ul || v->most_ul > STOCK_UL_MAX))
		rc = out_of_range(reterr, "vessel", -1, "volume",
						  "a least volume over nothing, and a most that is no less");
	if (rc == 0 && (v->slots < 1 || v->slots > WET_PLAN_SLOTS))
		rc = out_of_range(reterr, "vessel", -1, "slots", "at least one slot");
	if (rc == 0 && v->area_mm2 < 0)
		rc = out_of_range(reterr, "vessel", -1, "area", "nothing (no limit) or more");
	if (rc == 0 && (ask->measure_least_ul < 0 || ask->measure_least_ul > STOCK_UL_MAX))
		rc = out_of_range(reterr, "measure", -1, "", "a volume of nothing or more");
	return rc;
}

/* -- the workspace ------------------------------------------------------------ */

static int piece_count(const struct wet_plan_ask *ask)
{
	int pieces = 0;
	for (int i = 0; i < ask->size_count; i++)
		pieces += ask->sizes[i].count;
	return pieces;
}

/* The next array of the workspace; with base NULL only counted. */
static void *carve(unsigned char *base, size_t *at, size_t count, size_t bytes)
{
	void *array = base == NULL ? NULL : base + *at;
	*at += (count * bytes + alignof(int64_t) - 1) / alignof(int64_t) * alignof(int64_t);
	return array;
}

/* Room to learn in: more than a small shelf has states, and for a large one a few megabytes. */
static void size_memo(const struct wet_plan_ask *ask, struct memo *m)
{
	size_t sources = 0;
	for (int i = 0; i < ask->solution_count; i++) {
		size_t n = 0;
		for (int j = 0; j < ask->bottle_count; j++)
			n += ask->bottles[j].solution == i;
		for (int j = 0; j < ask->working_count; j++)
			n += ask->workings[j].solution == i;
		sources = n > sources ? n : sources;
	}
	m->slot_count = MEMO_SLOTS_LEAST;
	size_t most = ask->is_hurried ? MEMO_SLOTS_HURRIED : MEMO_SLOTS_MOST;
	for (size_t n = 0; n < sources && m->slot_count < most; n++)
		m->slot_count *= 2;
	m->word_count = m->slot_count * MEMO_WORDS;
}

struct out {
	struct wet_plan_bath *baths;
	struct wet_plan_draw *draws;
};

static size_t lay_out(const struct wet_plan_ask *ask, unsigned char *base, struct search *k, struct out *out)
{
	size_t at = 0, n = (size_t)piece_count(ask) + 1, solutions = (size_t)ask->solution_count;
	size_t bottles = (size_t)ask->bottle_count + 1, sizes = 0;
	for (int i = 0; i < ask->size_count; i++)
		sizes += ask->sizes[i].count > 0;
	size_t v = sizes > 1 && REACH_V > n ? REACH_V : n;
	size_t layers = sizes > 1 ? WET_PLAN_EXACT_PIECES + 1 : 0;
	k->lots = carve(base, &at, bottles, sizeof *k->lots);
	k->order = carve(base, &at, bottles, sizeof *k->order);
	k->types = carve(base, &at, v, sizeof *k->types);
	k->type_of = carve(base, &at, v, sizeof *k->type_of);
	k->squares = carve(base, &at, layers * v, sizeof *k->squares);
	k->loads = carve(base, &at, n, sizeof *k->loads);
	k->best_loads = carve(base, &at, n, sizeof *k->best_loads);
	k->areas = carve(base, &at, n, sizeof *k->areas);
	k->barren = carve(base, &at, n, sizeof *k->barren);
	for (size_t i = 0; i < solutions * 3; i++) {
		struct draws *d = i < solutions       ? &k->tried[i]
						  : i < 2 * solutions ? &k->found[i - solutions]
											  : &k->best[i - 2 * solutions];
		d->turns = carve(base, &at, 2 * n, sizeof *d->turns); /* two baths a load, at most */
		d->age = carve(base, &at, 2 * n, sizeof *d->age);
		d->id = carve(base, &at, 2 * n, sizeof *d->id);
	}
	size_t reach_v = sizes > 1 ? v : 0;
	k->reach.counts = carve(base, &at, reach_v, sizeof *k->reach.counts);
	k->reach.needs = carve(base, &at, layers * reach_v, sizeof *k->reach.needs);
	k->reach.baths = carve(base, &at, reach_v, sizeof *k->reach.baths);
	k->reach.one = carve(base, &at, reach_v, sizeof *k->reach.one);
	k->reach.before = carve(base, &at, reach_v, sizeof *k->reach.before);
	k->reach.all = carve(base, &at, sizes > 1 ? solutions * REACH_V : 0, sizeof *k->reach.all);
	size_memo(ask, &k->memo);
	k->memo.slots = carve(base, &at, k->memo.slot_count, sizeof *k->memo.slots);
	out->baths = carve(base, &at, 2 * n * solutions, sizeof *out->baths);
	out->draws = carve(base, &at, 2 * n * solutions + bottles, sizeof *out->draws);
	k->memo.words = carve(base, &at, k->memo.word_count, sizeof *k->memo.words); /* the last: it is not cleared */
	return at;
}

size_t wet_plan_workspace_bytes(const struct wet_plan_ask *ask)
{
	struct search k = { 0 };
	struct out out;
	return check_ask(ask, NULL) == 0 ? lay_out(ask, NULL, &k, &out) : 0;
}

/* -- the search --------------------------------------------------------------- */

int plan_smallest(const struct wet_plan_ask *ask)
{
	int least = -1;
	for (int i = 0; i < ask->size_count; i++)
		if (ask->sizes[i].count > 0 && (least < 0 || ask->sizes[i].area_mm2 < ask->sizes[least].area_mm2))
			least = i;
	return least;
}

void plan_begin(struct search *k)
{
	int sizes = 0;
	k->pieces = 0;
	k->area_mm2 = 0;
	k->v_count = 1;
	for (int i = 0; i < k->ask->size_count; i++) {
		k->pieces += k->counts[i];
		k->area_mm2 += k->counts[i] * k->ask->sizes[i].area_mm2;
		sizes += k->counts[i] > 0;
	}
	k->is_small = k->pieces <= WET_PLAN_EXACT_PIECES || sizes <= 1;
	for (int i = 0; k->is_small && i < k->ask->size_count; i++)
		k->v_count *= k->counts[i] + 1;
	k->layers = 0;
	for (int v = 0; sizes > 1 && k->is_small && v < k->v_count; v++)
		k->squares[v] = v == 0 ? 0 : NEVER;
	memset(k->reach.is_known, 0, sizeof k->reach.is_known);
	k->has_best = k->is_cut = false;
	k->is_proven = true;
	k->draw_most = k->is_small && !k->ask->is_hurried ? DRAW_WORK_MOST : DRAW_WORK_MANY;
	k->loads_bound = 0;
	k->barren_count = -1;
	k->work = 0;
	plan_shelve(k);
}

static void take_trial(struct search *k)
{
	int size = 0;
	for (int i = 1; i < k->ask->size_count; i++)
		if (k->counts[i] > k->counts[size])
			size = i;
	k->trial_size = size;
	k->trial_mm2 = k->ask->sizes[size].area_mm2;
	k->counts[size]--;
}

/* -- the result --------------------------------------------------------------- */

/* So much from a lot, from the bottle on that it has come to. */
static void write_draws(struct search *k, struct lot *lot, int64_t stock_ul, struct out *out,
						struct wet_plan *p)
{
	int64_t drawn = lot->drawn_ul;
	lot->drawn_ul += stock_ul;
	for (int i = 0; i < lot->count && stock_ul > 0; i++) {
		int bottle = k->order[lot->first + i];
		int64_t stock = k->ask->bottles[bottle].stock_ul;
		if (drawn < stock) {
			int64_t now = stock - drawn < stock_ul ? stock - drawn : stock_ul;
			out->draws[p->draw_count++] = (struct wet_plan_draw){ bottle, now };
			stock_ul -= now;
			drawn += now;
		}
		drawn -= stock;
	}
}

static void write_bath(struct search *k, int solution, int turn, struct out *out, struct wet_plan *p)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	const struct turn *t = &k->best[solution].turns[turn];
	struct wet_plan_bath b = { .solution = solution,
							   .first_load = t->first,
							   .load_count = t->run,
							   .working = t->is_working ? t->source : -1,
							   .volume_ul = t->volume_ul,
							   .stock_ul = t->stock_ul,
							   .first_draw = p->draw_count,
							   .second_load = t->first - t->behind,
							   .second_count = t->behind,
							   .rotations = t->rotations };
	if (t->is_working) {
		b.area_mm2 = k->ask->workings[t->source].used_mm2;
		b.second_mm2 = k->ask->workings[t->source].second_mm2;
	} else {
		b.water_ul = t->volume_ul - t->stock_ul;
		write_draws(k, &k->lots[t->source], t->stock_ul, out, p);
		b.draw_count = p->draw_count - b.first_draw;
	}
	for (int i = 0; i < t->run; i++)
		b.area_mm2 += k->areas[t->first + i];
	for (int i = 0; i < t->behind; i++)
		b.second_mm2 += k->areas[b.second_load + i];
	b.left_mm2 = plan_capacity(s, t->volume_ul) - plan_counted(s, b.area_mm2, b.second_mm2);
	if (s->has_second)
		b.is_kept = plan_pair_keeps(k, solution, &k->best[solution], turn);
	else
		b.is_kept = !s->is_one_shot && b.left_mm2 >= k->ask->sizes[k->least_size].area_mm2;
	out->baths[p->bath_count++] = b;
}

static void write_plan(struct search *k, struct out *out, struct wet_plan *ret_plan)
{
	struct wet_plan p = { .load_count = k->best_count, .loads = k->best_loads, .squares = k->best_squares };
	int64_t largest = 0, smallest = INT64_MAX;
	plan_shelve(k); /* nothing is drawn yet */
	for (int i = 0; i < p.load_count; i++)
		k->areas[i] = p.loads[i].area_mm2;
	for (int i = 0; i < k->ask->solution_count; i++) {
		p.gone_ul += k->best[i].gone_ul;
		for (int j = 0; j < k->best[i].turn_count; j++)
			write_bath(k, i, j, out, &p);
	}
	for (int i = 0; i < p.load_count; i++) {
		int64_t area = p.loads[i].area_mm2;
		if (p.loads[i].is_trial)
			continue;
		largest = area > largest ? area : largest;
		smallest = area < smallest ? area : smallest;
	}
	p.difference_mm2 = largest > smallest ? largest - smallest : 0;
	for (int i = 0; i < WET_BETWEEN_N; i++)
		p.between_ns += (p.load_count - 1) * wet_between_ns((enum wet_between_step)i);
	p.baths = out->baths;
	p.draws = out->draws;
	p.loads_bound = k->loads_bound;
	p.squares_bound = plan_squares_bound(k, p.load_count - (k->trial_mm2 > 0));
	p.is_exact = k->is_proven;
	p.work = k->work;
	*ret_plan = p;
}

int wet_plan_make(const struct wet_plan_ask *ask, void *workspace, size_t workspace_bytes,
				  struct wet_plan *ret_plan, struct wet_plan_refusal *ret_refusal, struct wet_fault *reterr)
{
	struct search k = { .ask = ask, .only_solution = -1, .work_most = ask->is_hurried ? HURRIED_WORK_MOST : WORK_MOST };
	struct out out;
	int rc = check_ask(ask, reterr);
	if (rc != 0)
		return rc;
	size_t bytes = lay_out(ask, NULL, &k, &out);
	if (workspace == NULL || workspace_bytes < bytes || (uintptr_t)workspace % alignof(int64_t) != 0)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "workspace", NULL, "%zu bytes, aligned", bytes);
	memset(workspace, 0, bytes - k.memo.word_count * sizeof *k.memo.words);
	lay_out(ask, workspace, &k, &out);
	for (int i = 0; i < ask->size_count; i++)
		k.counts[i] = ask->sizes[i].count;
	k.least_size = plan_smallest(ask);
	bool has_times = true;
	for (int i = 0; i < ask->solution_count; i++)
		has_times = has_times && ask->solutions[i].has_time;
	if (ask->wants_trial && piece_count(ask) > 1)
		take_trial(&k);
	plan_begin(&k);
	if (has_times)
		plan_search(&k);
	if (!k.has_best) {
		plan_refuse(&k, ret_refusal);
		return wet_fault_set(reterr, WET_ERR_FIT, "plan", NULL, "%s", ret_refusal->lines[0]);
	}
	write_plan(&k, &out, ret_plan);
	return WET_OK;
}
