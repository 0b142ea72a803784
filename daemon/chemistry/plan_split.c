/* plan_split.c: which pieces go together.
 *
 * For few pieces a table holds, for every remainder of pieces and every count of loads, the least sum of
 * squares that is still possible; a search in depth along it meets the best split first. Only where that
 * has no draws are worse splits looked at. Equal pieces need no table. Beyond, pieces are dealt out
 * largest first and then exchanged as long as that evens out. */
#include "chemistry/plan_inside.h"

#include <string.h>

static int64_t area_of(const struct search *k, const int *counts)
{
	int64_t area = 0;
	for (int i = 0; i < k->ask->size_count; i++)
		area += counts[i] * k->ask->sizes[i].area_mm2;
	return area;
}

static bool is_asked(const struct search *k, int solution)
{
	return k->only_solution < 0 || k->only_solution == solution;
}

static bool has_working(const struct search *k, int solution)
{
	for (int i = 0; i < k->ask->working_count; i++)
		if (k->ask->workings[i].solution == solution && plan_is_usable(k, &k->ask->workings[i]))
			return true;
	return false;
}

bool plan_type_fits(const struct search *k, const int *counts)
{
	const struct wet_plan_vessel *vessel = &k->ask->vessel;
	int64_t slots = 0, area = area_of(k, counts);
	for (int i = 0; i < k->ask->size_count; i++)
		slots += (int64_t)counts[i] * k->ask->sizes[i].slots;
	if (slots > vessel->slots || (vessel->area_mm2 > 0 && area > vessel->area_mm2))
		return false;
	for (int i = 0; i < k->ask->solution_count; i++) /* a standing bath may hold more than the vessel */
		if (is_asked(k, i) && !has_working(k, i) && plan_volume(k, i, area) > plan_most_ul(k->ask, i))
			return false;
	return true;
}

/* -- bounds ------------------------------------------------------------------- */

/* Stock that `loads` loads of so much area take at least: volume grows with area no slower than in
 * proportion. */
int64_t plan_least_need(const struct search *k, int solution, int64_t area_mm2, int loads)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	wide parts = s->stock_milli + s->water_milli;
	wide volume = (wide)loads * plan_least_ul(k->ask, solution);
	wide by_area = (wide)area_mm2 * 1000000 / s->capacity_mm2_per_l;
	wide need = (volume > by_area ? volume : by_area) * s->stock_milli / parts - loads;
	wide by_stock = (wide)s->least_stock_ul_per_m2 * area_mm2 / 1000000 - loads;
	return (int64_t)(need > by_stock ? need : by_stock);
}

/* No split of these pieces into so many loads has draws: it is not reached by some solution. */
static bool is_out_of_reach(const struct search *k, int loads, int v)
{
	for (int i = 0; i < k->ask->solution_count; i++)
		if (is_asked(k, i) && k->reach.is_known[i] &&
			(k->reach.all[(size_t)i * REACH_V + (size_t)v] >> loads & 1) == 0)
			return true;
	return false;
}

/* No split into so many loads has draws, nor has one into more. */
static bool is_hopeless(const struct search *k, int loads)
{
	for (int i = 0; i < k->ask->solution_count; i++) {
		const struct shelf *shelf = &k->shelves[i];
		const struct wet_plan_solution *s = &k->ask->solutions[i];
		if (!is_asked(k, i))
			continue;
		if (!s->is_one_shot && !plan_could_bear(k, i, k->area_mm2 + k->trial_mm2))
			return true;
		if (!s->is_one_shot)
			continue;
		int all = loads + (k->trial_mm2 > 0);
		if (plan_least_need(k, i, k->area_mm2 + k->trial_mm2, all) > shelf->stock_ul)
			return true;
		int64_t least = plan_stock(s, plan_volume(k, i, k->ask->sizes[k->least_size].area_mm2)), bottles = 0;
		for (int j = 0; j < shelf->lot_count && least > 0; j++)
			bottles += k->lots[shelf->first_lot + j].stock_ul / least;
		if (least > 0 && bottles < all)
			return true;
	}
	return false;
}

int plan_least_loads(const struct search *k)
{
	const struct wet_plan_ask *ask = k->ask;
	int64_t slots = 0, most_area = 0;
	for (int i = 0; i < ask->size_count; i++)
		slots += (int64_t)k->counts[i] * ask->sizes[i].slots;
	int64_t low = 0, high = k->area_mm2 + 1; /* largest area that the volumes allow */
	while (high - low > 1) {
		int64_t middle = low + (high - low) / 2;
		bool fits = ask->vessel.area_mm2 == 0 || middle <= ask->vessel.area_mm2;
		for (int i = 0; i < ask->solution_count; i++)
			if (is_asked(k, i) && !has_working(k, i) && plan_volume(k, i, middle) > plan_most_ul(ask, i))
				fits = false;
		if (fits)
			low = middle;
		else
			high = middle;
	}
	most_area = low;
	if (most_area == 0)
		return k->pieces + 1;
	int64_t by_slots = (slots + ask->vessel.slots - 1) / ask->vessel.slots;
	int64_t by_area = (k->area_mm2 + most_area - 1) / most_area;
	int64_t loads = by_slots > by_area ? by_slots : by_area;
	return loads > k->pieces ? k->pieces + 1 : (int)loads;
}

/* -- one split ---------------------------------------------------------------- */

static void swap_draws(struct draws *a, struct draws *b)
{
	struct draws c = *a;
	*a = *b;
	*b = c;
}

static int compare_to_best(const struct search *k, int64_t squares, int loads)
{
	int mixed = 0, best_mixed = 0;
	int64_t gone = 0, best_gone = 0;
	if (squares != k->best_squares)
		return squares < k->best_squares ? -1 : 1;
	for (int i = 0; i < k->ask->solution_count; i++) {
		if (!is_asked(k, i))
			continue;
		int c = plan_compare_ages(&k->found[i], &k->best[i], plan_entries(&k->ask->solutions[i], loads));
		if (c != 0)
			return c;
		mixed += k->found[i].mixed;
		best_mixed += k->best[i].mixed;
		gone += k->found[i].gone_ul;
		best_gone += k->best[i].gone_ul;
	}
	if (mixed != best_mixed)
		return mixed < best_mixed ? -1 : 1;
	if (gone != best_gone)
		return gone < best_gone ? -1 : 1;
	for (int i = 0; i < k->ask->solution_count; i++) {
		int entries = plan_entries(&k->ask->solutions[i], loads);
		int c = is_asked(k, i) ? plan_compare_ids(&k->found[i], &k->best[i], entries) : 0;
		if (c != 0)
			return c;
	}
	return 0;
}

/* Sizes of one area make splits that differ in nothing that the shelf can see. */
static bool is_like_best(const struct search *k, int n)
{
	bool is_like = k->has_best && k->best_count == n;
	for (int i = 0; is_like && i < n; i++)
		is_like = k->best_loads[i].area_mm2 == k->areas[i];
	return is_like;
}

/* Draws for the split in k->loads (largest first, without the trial); keeps it if it is the best. */
static bool weigh(struct search *k, int loads, int64_t squares)
{
	int n = 0;
	if (k->trial_mm2 > 0)
		k->areas[n++] = k->trial_mm2;
	for (int i = 0; i < loads; i++)
		k->areas[n++] = k->loads[i].area_mm2;
	if (is_like_best(k, n))
		return true;
	if (k->barren_count == n && memcmp(k->areas, k->barren, (size_t)n * sizeof *k->areas) == 0)
		return false;
	for (int i = 0; i < k->ask->solution_count; i++)
		if (is_asked(k, i) && !plan_draw(k, i, n)) {
			memcpy(k->barren, k->areas, (size_t)n * sizeof *k->areas);
			k->barren_count = n;
			return false;
		}
	if (k->has_best && compare_to_best(k, squares, n) >= 0)
		return true;
	k->has_best = true;
	k->best_squares = squares;
	k->best_count = n;
	n = 0;
	if (k->trial_mm2 > 0) {
		k->best_loads[n] = (struct wet_plan_load){ .area_mm2 = k->trial_mm2, .is_trial = true };
		k->best_loads[n++].counts[k->trial_size] = 1;
	}
	memcpy(&k->best_loads[n], k->loads, (size_t)loads * sizeof *k->loads);
	for (int i = 0; i < k->ask->solution_count; i++)
		if (is_asked(k, i))
			swap_draws(&k->best[i], &k->found[i]);
	return true;
}

/* -- the table ---------------------------------------------------------------- */

static bool is_within(const struct search *k, const struct load_type *t, int v)
{
	for (int i = 0; i < k->ask->size_count; i++) {
		int here = v % (k->counts[i] + 1);
		if (t->counts[i] > here)
			return false;
		v /= k->counts[i] + 1;
	}
	return true;
}

static bool is_larger(const struct load_type *a, const struct load_type *b)
{
	return a->area_mm2 != b->area_mm2 ? a->area_mm2 > b->area_mm2 : a->v > b->v;
}

static void sort_types(struct search *k)
{
	for (int gap = k->type_count / 2; gap > 0; gap /= 2)
		for (int i = gap; i < k->type_count; i++) {
			struct load_type t = k->types[i];
			int j = i;
			for (; j >= gap && is_larger(&t, &k->types[j - gap]); j -= gap)
				k->types[j] = k->types[j - gap];
			k->types[j] = t;
		}
}

/* Is there, for every solution, a source that serves a load of so much area, had it nothing else to do? */
static bool is_servable(const struct search *k, int64_t area_mm2)
{
	bool is = true;
	for (int i = 0; is && i < k->ask->solution_count; i++) {
		const struct wet_plan_solution *s = &k->ask->solutions[i];
		int64_t volume = plan_volume(k, i, area_mm2), stock = plan_stock(s, volume), most = plan_most_ul(k->ask, i);
		is = !is_asked(k, i);
		for (int j = 0; volume <= most && j < k->shelves[i].lot_count; j++)
			is = is || k->lots[k->shelves[i].first_lot + j].stock_ul >= stock;
		for (int j = 0; j < k->ask->working_count; j++) {
			const struct wet_plan_working *w = &k->ask->workings[j];
			is = is || (w->solution == i && plan_is_usable(k, w) && plan_working_left(k, w) >= area_mm2 &&
						plan_concentrate(s, area_mm2) <= (w->volume_ul < most ? w->volume_ul : most));
		}
	}
	return is;
}

static void list_types(struct search *k)
{
	k->type_count = 0;
	for (int v = 0; v < k->v_count; v++) {
		struct load_type t = { .v = v };
		int counts[WET_PLAN_SIZES] = { 0 };
		for (int i = 0, rest = v; i < k->ask->size_count; i++) {
			counts[i] = rest % (k->counts[i] + 1);
			t.counts[i] = (unsigned char)counts[i];
			rest /= k->counts[i] + 1;
		}
		k->type_of[v] = -1;
		t.area_mm2 = area_of(k, counts);
		if (v > 0 && plan_type_fits(k, counts) && is_servable(k, t.area_mm2))
			k->types[k->type_count++] = t;
	}
	sort_types(k);
	for (int i = 0; i < k->type_count; i++)
		k->type_of[k->types[i].v] = i;
}

static bool is_one_size(const struct search *k)
{
	int sizes = 0;
	for (int i = 0; i < k->ask->size_count; i++)
		sizes += k->counts[i] > 0;
	return sizes <= 1;
}

/* Equal pieces: all loads as alike as they can be. */
static int64_t even_squares(const struct search *k, int loads, int pieces)
{
	int64_t area = k->area_mm2 / k->pieces, q = pieces / loads, r = pieces % loads;
	if (pieces < loads || q + (r > 0) > k->types[0].counts[0] + k->types[0].counts[1] +
											k->types[0].counts[2] + k->types[0].counts[3])
		return NEVER;
	return (r * (q + 1) * (q + 1) + (loads - r) * q * q) * area * area;
}

/* The least sum of squares of `loads` loads that hold exactly v. */
static int64_t squares_of(const struct search *k, int loads, int v)
{
	if (loads == 0)
		return v == 0 ? 0 : NEVER;
	if (v == 0 || k->type_count == 0)
		return NEVER;
	if (is_one_size(k))
		return even_squares(k, loads, v);
	return k->squares[(size_t)loads * (size_t)k->v_count + (size_t)v];
}

/* One more layer of the table: each load holds one of the first size that is left, so that no order counts
 * twice. */
static void add_layer(struct search *k)
{
	int layer = ++k->layers;
	int64_t *row = &k->squares[(size_t)layer * (size_t)k->v_count];
	for (int v = 0; v < k->v_count; v++) {
		int first = 0;
		row[v] = NEVER;
		for (int rest = v; first < k->ask->size_count && rest % (k->counts[first] + 1) == 0; first++)
			rest /= k->counts[first] + 1;
		for (int i = 0; v > 0 && i < k->type_count; i++) {
			const struct load_type *t = &k->types[i];
			if (t->v > v || t->counts[first] == 0 || !is_within(k, t, v))
				continue;
			int64_t rest = squares_of(k, layer - 1, v - t->v);
			if (rest != NEVER && rest + t->area_mm2 * t->area_mm2 < row[v])
				row[v] = rest + t->area_mm2 * t->area_mm2;
		}
	}
}

int64_t plan_squares_bound(const struct search *k, int loads)
{
	if (loads == 0)
		return 0;
	if (k->is_small && (is_one_size(k) || k->layers >= loads))
		return squares_of(k, loads, k->v_count - 1);
	return (int64_t)(((wide)k->area_mm2 * k->area_mm2 + loads - 1) / loads);
}

/* -- the search in depth ------------------------------------------------------ */

struct path {
	int loads, done;
	int64_t squares;
	int64_t area_mm2; /* still to be split */
	int64_t need_ul[WET_PLAN_SOLUTIONS];
};

static bool is_short(const struct search *k, const struct path *p)
{
	for (int i = 0; i < k->ask->solution_count; i++)
		if (is_asked(k, i) && k->ask->solutions[i].is_one_shot &&
			p->need_ul[i] + plan_least_need(k, i, p->area_mm2, p->loads - p->done) > k->shelves[i].stock_ul)
			return true;
	return false;
}

static void put_load(struct search *k, struct path *p, const struct load_type *t)
{
	struct wet_plan_load *load = &k->loads[p->done++];
	*load = (struct wet_plan_load){ .area_mm2 = t->area_mm2 };
	for (int i = 0; i < k->ask->size_count; i++)
		load->counts[i] = t->counts[i];
	p->squares += t->area_mm2 * t->area_mm2;
	p->area_mm2 -= t->area_mm2;
	for (int i = 0; i < k->ask->solution_count; i++)
		if (is_asked(k, i) && k->ask->solutions[i].is_one_shot)
			p->need_ul[i] += plan_stock(&k->ask->solutions[i], plan_volume(k, i, t->area_mm2));
}

/* Loads never grow along a path, so each split is met once. */
static void split_from(struct search *k, const struct path *p, int from, int v)
{
	int left = p->loads - p->done;
	if (++k->split_work > SPLIT_WORK_MOST || k->work + k->split_work > k->work_most) {
		k->is_cut = true;
		return;
	}
	if (left == 0) {
		if (weigh(k, p->loads, p->squares) && p->squares < k->limit)
			k->limit = p->squares;
		return;
	}
	if (is_short(k, p) || is_out_of_reach(k, left, v))
		return;
	int to = k->type_count;
	if (left == 1) {
		from = k->type_of[v] >= from ? k->type_of[v] : to;
		to = from < to ? from + 1 : to;
	}
	for (int i = from; i < to && !k->is_cut; i++) {
		const struct load_type *t = &k->types[i];
		if ((wide)t->area_mm2 * left < p->area_mm2)
			return; /* all that follow are smaller still */
		if (t->v > v || !is_within(k, t, v))
			continue;
		int64_t rest = squares_of(k, left - 1, v - t->v);
		if (rest == NEVER || p->squares + t->area_mm2 * t->area_mm2 + rest > k->limit)
			continue;
		struct path next = *p;
		put_load(k, &next, t);
		split_from(k, &next, i, v - t->v);
	}
}

static void search_small(struct search *k, int loads)
{
	struct path p = { .loads = loads, .area_mm2 = k->area_mm2 };
	int64_t least;
	if (!is_one_size(k))
		while (k->layers < loads)
			add_layer(k);
	least = squares_of(k, loads, k->v_count - 1);
	if (least == NEVER || is_out_of_reach(k, loads, k->v_count - 1))
		return;
	for (int i = 0; k->trial_mm2 > 0 && i < k->ask->solution_count; i++)
		if (is_asked(k, i) && k->ask->solutions[i].is_one_shot)
			p.need_ul[i] = plan_stock(&k->ask->solutions[i], plan_volume(k, i, k->trial_mm2));
	k->split_work = 0;
	k->limit = least;
	split_from(k, &p, 0, k->v_count - 1);
	k->work += k->split_work;
	if (k->has_best || k->is_cut)
		return;
	for (int i = 0; !is_one_size(k) && i < k->ask->solution_count; i++)
		if (is_asked(k, i) && !k->reach.is_known[i])
			plan_reach(k, i);
	if (is_out_of_reach(k, loads, k->v_count - 1))
		return;
	k->split_work = 0;
	k->limit = NEVER - 1;
	split_from(k, &p, 0, k->v_count - 1);
	k->work += k->split_work;
}

/* -- many pieces -------------------------------------------------------------- */

static bool fits_with(const struct search *k, struct wet_plan_load *load, int size, int by)
{
	load->counts[size] += by;
	bool fits = load->counts[size] >= 0 && plan_type_fits(k, load->counts);
	load->counts[size] -= by;
	return fits;
}

static void change(const struct search *k, struct wet_plan_load *load, int size, int by)
{
	load->counts[size] += by;
	load->area_mm2 += by * k->ask->sizes[size].area_mm2;
}

static bool deal(struct search *k, int loads)
{
	int left[WET_PLAN_SIZES];
	memcpy(left, k->counts, sizeof left);
	memset(k->loads, 0, (size_t)loads * sizeof *k->loads);
	for (int dealt = 0; dealt < k->pieces; dealt++) {
		int size = -1, to = -1;
		for (int i = 0; i < k->ask->size_count; i++)
			if (left[i] > 0 && (size < 0 || k->ask->sizes[i].area_mm2 > k->ask->sizes[size].area_mm2))
				size = i;
		for (int i = 0; i < loads; i++)
			if ((to < 0 || k->loads[i].area_mm2 < k->loads[to].area_mm2) &&
				fits_with(k, &k->loads[i], size, 1))
				to = i;
		if (to < 0)
			return false;
		change(k, &k->loads[to], size, 1);
		left[size]--;
	}
	return true;
}

/* Moves one piece of `out` from a to b and one of `back` from b to a (-1: none), if that evens them out. */
static bool exchange(const struct search *k, struct wet_plan_load *a, struct wet_plan_load *b, int out,
					 int back)
{
	struct wet_plan_load x = *a, y = *b;
	if (x.counts[out] == 0 || (back >= 0 && y.counts[back] == 0))
		return false;
	change(k, &x, out, -1);
	change(k, &y, out, 1);
	if (back >= 0) {
		change(k, &y, back, -1);
		change(k, &x, back, 1);
	}
	wide before = (wide)a->area_mm2 * a->area_mm2 + (wide)b->area_mm2 * b->area_mm2;
	wide after = (wide)x.area_mm2 * x.area_mm2 + (wide)y.area_mm2 * y.area_mm2;
	if (after >= before || x.area_mm2 == 0 || !plan_type_fits(k, x.counts) || !plan_type_fits(k, y.counts))
		return false;
	*a = x;
	*b = y;
	return true;
}

static bool even_out(struct search *k, int loads)
{
	bool is_better = false;
	for (int a = 0; a < loads; a++)
		for (int b = 0; b < loads; b++)
			for (int out = 0; a != b && out < k->ask->size_count; out++)
				for (int back = -1; back < k->ask->size_count; back++)
					if (back != out && exchange(k, &k->loads[a], &k->loads[b], out, back))
						is_better = true;
	return is_better;
}

static void search_large(struct search *k, int loads)
{
	int64_t squares = 0;
	if (!deal(k, loads))
		return;
	for (int pass = 0; pass < 100 && even_out(k, loads); pass++)
		k->work += (uint64_t)loads * (uint64_t)loads;
	for (int i = 1; i < loads; i++) { /* largest first */
		struct wet_plan_load load = k->loads[i];
		int j = i;
		for (; j > 0 && k->loads[j - 1].area_mm2 < load.area_mm2; j--)
			k->loads[j] = k->loads[j - 1];
		k->loads[j] = load;
	}
	for (int i = 0; i < loads; i++) {
		if (k->loads[i].area_mm2 == 0)
			return;
		squares += k->loads[i].area_mm2 * k->loads[i].area_mm2;
	}
	weigh(k, loads, squares);
}

void plan_search(struct search *k)
{
	int trial[WET_PLAN_SIZES] = { 0 };
	trial[k->trial_size] = k->trial_mm2 > 0;
	if (!plan_type_fits(k, trial))
		return;
	if (k->pieces == 0) { /* the trial alone */
		weigh(k, 0, 0);
		return;
	}
	if (k->is_small)
		list_types(k);
	k->loads_bound = plan_least_loads(k);
	k->is_proven = k->is_small || k->loads_bound > k->pieces || is_hopeless(k, k->loads_bound);
	for (int loads = k->loads_bound; loads <= k->pieces && !is_hopeless(k, loads); loads++) {
		if (k->is_small)
			search_small(k, loads);
		else
			search_large(k, loads);
		if (k->is_cut)
			k->is_proven = false;
		if (k->has_best)
			return;
		if (k->is_proven)
			k->loads_bound = loads + 1;
		if (k->work > k->work_most)
			return;
		k->is_cut = false; /* the next count of loads has a limit of its own */
	}
}
