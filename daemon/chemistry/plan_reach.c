/* plan_reach.c: how many loads the sources of one solution could serve at all, whatever the split.
 *
 * For every remainder of pieces, a set of counts of loads: what one lot, or one working solution, could serve; then what
 * the first of them could serve together, the first two, and so on. For one-shot baths that is exact, but for a trial; for
 * baths that are used again neither the order of loads nor the concentrate is looked at, so that the set may be too large,
 * never too small. */
#include "chemistry/plan_inside.h"

#include <string.h>

/* Are so many of each size among those? A count a byte, under 128. */
static bool is_part(uint32_t some, uint32_t of)
{
	return (((of | 0x80808080u) - some) & 0x80808080u) == 0x80808080u;
}

static uint32_t counts_of(const struct search *k, int v)
{
	uint32_t counts = 0;
	for (int i = 0; i < k->ask->size_count; i++) {
		counts |= (uint32_t)(v % (k->counts[i] + 1)) << 8 * i;
		v /= k->counts[i] + 1;
	}
	return counts;
}

static uint32_t first_size(uint32_t counts)
{
	uint32_t mask = 0xff;
	while ((counts & mask) == 0)
		mask <<= 8;
	return mask;
}

/* May a load of this type be in a bath that is mixed? One that stands there may hold more than the vessel. */
static bool is_fresh(const struct search *k, int solution, const struct load_type *t)
{
	return plan_volume(k, solution, t->area_mm2) <= plan_most_ul(k->ask, solution);
}

static void add_type(struct search *k, const struct load_type *t, int64_t need, int layer)
{
	struct reach *r = &k->reach;
	const int64_t *before = &r->needs[(size_t)(layer - 1) * (size_t)k->v_count];
	int64_t *row = &r->needs[(size_t)layer * (size_t)k->v_count];
	for (int v = t->v; v < k->v_count; v++)
		if (before[v - t->v] != NEVER && before[v - t->v] + need < row[v] && is_part(r->counts[t->v], r->counts[v]) &&
			(r->counts[t->v] & first_size(r->counts[v])) != 0) /* no order counts twice */
			row[v] = before[v - t->v] + need;
}

/* Of so many loads of each remainder: the least stock in one-shot baths, else 0; NEVER: no loads are like that. */
static void fill_needs(struct search *k, int solution, bool is_mixed)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	struct reach *r = &k->reach;
	size_t n = (size_t)k->v_count;
	for (size_t i = 0; i < ((size_t)k->pieces + 1) * n; i++)
		r->needs[i] = i == 0 ? 0 : NEVER;
	for (int layer = 1; layer <= k->pieces; layer++)
		for (int i = 0; i < k->type_count; i++) {
			const struct load_type *t = &k->types[i];
			if (!is_mixed || is_fresh(k, solution, t))
				add_type(k, t, s->is_one_shot ? plan_stock(s, plan_volume(k, solution, t->area_mm2)) : 0, layer);
		}
}

static int64_t area_of(const struct search *k, int v)
{
	int64_t area = 0;
	for (int i = 0; i < k->ask->size_count; i++)
		area += (k->reach.counts[v] >> 8 * i & 0xff) * k->ask->sizes[i].area_mm2;
	return area;
}

/* The least stock that all loads of each remainder take in baths that are used again, each no larger than the vessel. */
static void fill_baths(struct search *k, int solution)
{
	struct reach *r = &k->reach;
	for (int v = 0; v < k->v_count; v++)
		r->baths[v] = v == 0 ? 0 : NEVER;
	for (int u = 1; u < k->v_count; u++) {
		int64_t volume = plan_volume_for(k, solution, area_of(k, u), 0);
		int64_t stock = plan_stock(&k->ask->solutions[solution], volume);
		for (int v = u; volume <= plan_most_ul(k->ask, solution) && v < k->v_count; v++)
			if (r->baths[v - u] != NEVER && r->baths[v - u] + stock < r->baths[v] && is_part(r->counts[u], r->counts[v]))
				r->baths[v] = r->baths[v - u] + stock;
	}
}

/* What one lot could serve. */
static void fill_lot(struct search *k, int64_t stock_ul, bool is_one_shot)
{
	struct reach *r = &k->reach;
	for (int v = 0; v < k->v_count; v++) {
		r->one[v] = 0;
		for (int layer = 0; layer <= k->pieces && (is_one_shot || r->baths[v] <= stock_ul); layer++)
			if (r->needs[(size_t)layer * (size_t)k->v_count + (size_t)v] <= stock_ul)
				r->one[v] |= 1u << layer;
	}
}

/* What one working solution could. */
static void fill_working(struct search *k, int64_t area_mm2)
{
	struct reach *r = &k->reach;
	for (int v = 0; v < k->v_count; v++) {
		r->one[v] = 0;
		for (int layer = 0; layer <= k->pieces && area_of(k, v) <= area_mm2; layer++)
			if (r->needs[(size_t)layer * (size_t)k->v_count + (size_t)v] != NEVER)
				r->one[v] |= 1u << layer;
	}
}

/* Adds a source to those before it. */
static void add_source(struct search *k, uint32_t *all)
{
	struct reach *r = &k->reach;
	memcpy(r->before, all, (size_t)k->v_count * sizeof *all);
	for (int u = 1; u < k->v_count; u++) {
		if (r->one[u] == 0)
			continue;
		for (int v = u; v < k->v_count; v++) {
			if (r->before[v - u] == 0 || !is_part(r->counts[u], r->counts[v]))
				continue;
			for (uint32_t loads = 0; r->one[u] >> loads != 0; loads++)
				if (r->one[u] >> loads & 1)
					all[v] |= r->before[v - u] << loads;
		}
	}
}

void plan_reach(struct search *k, int solution)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	const struct shelf *shelf = &k->shelves[solution];
	uint32_t *all = &k->reach.all[(size_t)solution * REACH_V];
	for (int v = 0; v < k->v_count; v++)
		k->reach.counts[v] = counts_of(k, v);
	memset(all, 0, (size_t)k->v_count * sizeof *all);
	all[0] = 1;
	if (!s->is_one_shot) {
		fill_needs(k, solution, false);
		fill_baths(k, solution);
	}
	for (int i = 0; i < k->ask->working_count; i++)
		if (k->ask->workings[i].solution == solution && plan_is_usable(k, &k->ask->workings[i])) {
			fill_working(k, plan_working_left(k, &k->ask->workings[i]));
			add_source(k, all);
		}
	fill_needs(k, solution, true);
	for (int i = 0; i < shelf->lot_count; i++) {
		fill_lot(k, k->lots[shelf->first_lot + i].stock_ul, s->is_one_shot);
		add_source(k, all);
	}
	k->reach.is_known[solution] = true;
}
