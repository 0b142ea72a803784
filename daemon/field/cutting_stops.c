/* cutting_stops.c: the fewest settings of the stop, then the fewest cuts. Sets of settings are tried, small ones first; with
 * each, every rectangle that it can make is judged once. */
#include "field/cutting_inside.h"

#include <string.h>

/* -- one set ------------------------------------------------------------------------- */

int cut_find_key(const int32_t *hash, int hash_size, const int32_t *keys, int32_t x, int32_t y, int *ret_slot)
{
	uint32_t h = (uint32_t)x * 2654435761u ^ (uint32_t)y * 2246822519u;
	int slot = (int)((h ^ h >> 15) & (uint32_t)(hash_size - 1));
	for (; hash[slot] >= 0; slot = (slot + 1) & (hash_size - 1))
		if (keys[2 * hash[slot]] == x && keys[2 * hash[slot] + 1] == y)
			break;
	*ret_slot = slot;
	return hash[slot];
}

int cut_leaf(const struct cut_search *s, int32_t x, int32_t y)
{
	for (int i = 0; i < s->n; i++)
		if (s->sheet.caps[i] > 0 && ((x == s->w[i] && y == s->h[i]) || (x == s->h[i] && y == s->w[i])))
			return i;
	return -1;
}

static int vectors_of(const struct cut_search *s)
{
	return s->is_most ? 1 : s->sheet.count;
}

int32_t *cut_costs(const struct cut_stops *t, int node, bool has_rest)
{
	int v = vectors_of(t->s);
	return t->costs + ((size_t)node * 2 + has_rest) * (size_t)v;
}

bool cut_stops_begin(struct cut_stops *t, struct cut_search *s, const int32_t *stops, int count)
{
	*t = (struct cut_stops){ .s = s, .count = count, .mark = s->arena.used, .hash_size = 1 };
	size_t each = 2 * (size_t)vectors_of(s) * sizeof *t->costs + 2 * sizeof *t->keys + 4 * sizeof *t->hash;
	size_t room = (s->arena.bytes - s->arena.used) / each;
	memcpy(t->stops, stops, (size_t)count * sizeof *stops);
	t->node_room = (int)(room > 20000 ? 20000 : room) - 8;
	while (t->hash_size < 2 * t->node_room)
		t->hash_size *= 2;
	t->hash = cut_take(&s->arena, (size_t)t->hash_size * sizeof *t->hash);
	t->keys = cut_take(&s->arena, 2 * (size_t)t->node_room * sizeof *t->keys);
	t->costs = cut_take(&s->arena, 2 * (size_t)t->node_room * (size_t)vectors_of(s) * sizeof *t->costs);
	if (t->node_room < 1 || !t->hash || !t->keys || !t->costs) {
		s->arena.used = t->mark;
		return false;
	}
	memset(t->hash, 255, (size_t)t->hash_size * sizeof *t->hash);
	return true;
}

void cut_stops_end(struct cut_stops *t)
{
	t->s->arena.used = t->mark;
}

static void settle_leaf(struct cut_stops *t, int node, int32_t x, int32_t y)
{
	const struct cut_search *s = t->s;
	int32_t *plain = cut_costs(t, node, false), *with_rest = cut_costs(t, node, true);
	for (int v = 0; v < vectors_of(s); v++)
		plain[v] = with_rest[v] = CUT_NEVER;
	plain[0] = 0;
	if (cut_area(s, x, y) >= s->rest)
		with_rest[0] = 0;
	int leaf = cut_leaf(s, x, y);
	if (leaf >= 0 && s->is_most)
		plain[0] = -CUT_PIECE;
	else if (leaf >= 0)
		plain[s->sheet.stride[leaf]] = 0;
}

static void join(struct cut_stops *t, int node, int a, int b)
{
	struct cut_search *s = t->s;
	int32_t *plain = cut_costs(t, node, false), *with_rest = cut_costs(t, node, true);
	const int32_t *a0 = cut_costs(t, a, false), *a1 = cut_costs(t, a, true);
	const int32_t *b0 = cut_costs(t, b, false), *b1 = cut_costs(t, b, true);
	if (s->is_most) {
		s->work++;
		if (a0[0] + b0[0] + 1 < plain[0])
			plain[0] = a0[0] + b0[0] + 1;
		return;
	}
	int count = s->sheet.count;
	for (int u = 0; u < count; u++) {
		if (a0[u] >= CUT_NEVER && a1[u] >= CUT_NEVER)
			continue;
		s->work += (uint64_t)count;
		for (int w = 0; w < count; w++) {
			int v = s->sums[u * count + w];
			if (v < 0)
				continue;
			if (a0[u] + b0[w] + 1 < plain[v])
				plain[v] = a0[u] + b0[w] + 1;
			int32_t best = a0[u] + b1[w] < a1[u] + b0[w] ? a0[u] + b1[w] : a1[u] + b0[w];
			if (best + 1 < with_rest[v])
				with_rest[v] = best + 1;
		}
	}
}

/* A stop on one side. False: full. */
static bool try_stop(struct cut_stops *t, int node, int32_t stop, int32_t x, int32_t y, bool is_along_x)
{
	int32_t side = is_along_x ? x : y;
	if (stop >= side)
		return true;
	int a = is_along_x ? cut_node(t, stop, y) : cut_node(t, x, stop);
	int b = a < 0 ? -1 : is_along_x ? cut_node(t, x - stop, y) : cut_node(t, x, y - stop);
	if (b < 0)
		return false;
	join(t, node, a, b);
	return true;
}

int cut_node(struct cut_stops *t, int32_t x_in, int32_t y_in)
{
	struct cut_search *s = t->s;
	int32_t x = x_in > y_in ? x_in : y_in, y = x_in > y_in ? y_in : x_in;
	int slot, n, node = cut_find_key(t->hash, t->hash_size, t->keys, x, y, &slot);
	if (node >= 0)
		return node;
	if (t->is_full || t->node_count == t->node_room || s->work > s->work_most) {
		t->is_full = true;
		return -1;
	}
	s->work++;
	node = t->node_count++;
	t->hash[slot] = node;
	t->keys[2 * node] = x;
	t->keys[2 * node + 1] = y;
	settle_leaf(t, node, x, y);
	const uint16_t *list = cut_list_of(s, x, y, &n);
	if (n == 1 && list[0] == 0)
		return node; /* no piece fits */
	for (int i = 0; i < t->count; i++) {
		if (!try_stop(t, node, t->stops[i], x, y, true) ||
			(x != y && !try_stop(t, node, t->stops[i], x, y, false)))
			return -1;
	}
	return node;
}

/* -- over the session ---------------------------------------------------------------------- */

struct stop_search {
	struct cut_search *s;
	int32_t *ways;             /* [sheets + 1][session][2]: least cuts */
	int best_count, best_cost; /* best_count 0: none yet */
	int32_t best[WET_CUT_STOPS];
	struct cut_group groups[WET_CUT_SHEETS];
	int group_count;
	int least_cuts; /* no plan has fewer */
	bool is_cut_short;
	int candidate_count;
	int32_t candidates[CUT_POINTS];
};

static int32_t *way(const struct stop_search *f, int sheet, int done, bool has_rest)
{
	return f->ways + (((size_t)sheet * (size_t)f->s->session.count + (size_t)done) * 2 + has_rest);
}

static void lower(int32_t *to, int32_t cost)
{
	if (cost < *to)
		*to = cost;
}

/* The sheets one after the other, each with all it can give. */
static int32_t best_way(struct stop_search *f, const struct cut_stops *t, int root)
{
	struct cut_search *s = f->s;
	const int32_t *plain = cut_costs(t, root, false), *with_rest = cut_costs(t, root, true);
	int whole = s->session.count - 1;
	for (int64_t i = 0; i < (int64_t)(s->sheets + 1) * s->session.count * 2; i++)
		f->ways[i] = CUT_NEVER;
	*way(f, 0, 0, false) = 0;
	for (int v = 1; v < s->sheet.count; v++) {
		if (plain[v] >= CUT_NEVER)
			continue;
		for (int sheet = 0; sheet < s->sheets; sheet++) {
			s->work += (uint64_t)s->session.count;
			for (int done = 0; done <= whole; done++) {
				int more = *way(f, sheet, done, false) < CUT_NEVER || *way(f, sheet, done, true) < CUT_NEVER
							   ? cut_sum(&s->session, done, cut_moved(&s->sheet, v, &s->session))
							   : -1;
				if (more < 0)
					continue;
				lower(way(f, sheet + 1, more, false), *way(f, sheet, done, false) + plain[v]);
				lower(way(f, sheet + 1, more, true), *way(f, sheet, done, true) + plain[v]);
				lower(way(f, sheet + 1, more, true), *way(f, sheet, done, false) + with_rest[v]);
			}
		}
	}
	return *way(f, s->sheets, whole, s->wants_rest);
}

/* The counts of each sheet, as that way went; the sheet with the rest comes last. */
static void follow_way(struct stop_search *f, const struct cut_stops *t, int root)
{
	struct cut_search *s = f->s;
	int done = s->session.count - 1;
	bool has_rest = s->wants_rest;
	f->group_count = 0;
	for (int sheet = s->sheets; sheet > 0; sheet--) {
		bool is_found = false;
		for (int v = s->sheet.count - 1; v > 0 && !is_found; v--) {
			int moved = cut_moved(&s->sheet, v, &s->session), before = cut_minus(&s->session, done, moved);
			for (int k = 0; k <= (int)has_rest && !is_found; k++) { /* k: this sheet holds the rest */
				if (moved + before != done ||
					*way(f, sheet - 1, before, has_rest && !k) + cut_costs(t, root, k)[v] !=
						*way(f, sheet, done, has_rest))
					continue;
				f->groups[f->group_count++] =
					(struct cut_group){ .vector = v, .times = 1, .has_rest = k, .space = s->sheet };
				done = before;
				has_rest = has_rest && !k;
				is_found = true;
			}
		}
	}
}

/* Cuts of the whole session with these stops; CUT_NEVER: not with them; -1: work or room ran out. */
static int32_t judge(struct stop_search *f, const int32_t *stops, int count)
{
	struct cut_search *s = f->s;
	struct cut_stops t;
	int32_t cost = -1;
	if (!cut_stops_begin(&t, s, stops, count))
		return -1;
	int root = cut_node(&t, s->x, s->y);
	if (root >= 0 && s->is_most) {
		int32_t c = cut_costs(&t, root, false)[0];
		int pieces = (CUT_PIECE - 1 - c) / CUT_PIECE;
		cost = pieces < s->most ? CUT_NEVER : (c + pieces * CUT_PIECE) * s->sheets;
	} else if (root >= 0) {
		cost = best_way(f, &t, root);
		cost = cost > CUT_NEVER ? CUT_NEVER : cost;
	}
	if (cost >= 0 && cost < CUT_NEVER &&
		(f->best_count == 0 || count < f->best_count || (count == f->best_count && cost < f->best_cost))) {
		f->best_count = count;
		f->best_cost = cost;
		memcpy(f->best, stops, (size_t)count * sizeof *stops);
		if (!s->is_most)
			follow_way(f, &t, root);
	}
	cut_stops_end(&t);
	return cost;
}

/* -- all sets -------------------------------------------------------------------------------- */

#define SIDES 256 /* lengths that a side can come to; where there are more, the set is judged */

/* Can a side of every piece come out of this one? False only where it can't. */
static bool makes(const int32_t *sides, int n, int32_t length)
{
	for (int i = 0; i < n; i++)
		if (sides[i] == length)
			return true;
	return false;
}

static int all_sides(int32_t side, const int32_t *stops, int count, int32_t *sides)
{
	int n = 1;
	sides[0] = side;
	for (int i = 0; i < count; i++)
		if (stops[i] < side && !makes(sides, n, stops[i]))
			sides[n++] = stops[i];
	for (int i = 0; i < n; i++)
		for (int k = 0; k < count; k++) {
			if (stops[k] >= sides[i] || makes(sides, n, sides[i] - stops[k]))
				continue;
			if (n == SIDES)
				return -1;
			sides[n++] = sides[i] - stops[k];
		}
	return n;
}

static bool may_do(struct cut_search *s, const int32_t *stops, int count)
{
	int32_t xs[SIDES], ys[SIDES];
	int nx = all_sides(s->x, stops, count, xs), ny = all_sides(s->y, stops, count, ys);
	s->work += 16;
	if (nx < 0 || ny < 0)
		return true;
	s->work += (uint64_t)(nx + ny);
	for (int i = 0; i < s->n; i++) {
		bool stands = makes(xs, nx, s->w[i]) && makes(ys, ny, s->h[i]);
		if (!stands && !(makes(xs, nx, s->h[i]) && makes(ys, ny, s->w[i])))
			return false;
	}
	return true;
}

/* All sets of so many. False: work ran out. */
static bool try_all(struct stop_search *f, int count)
{
	int at[WET_CUT_STOPS] = { 0 };
	int32_t stops[WET_CUT_STOPS];
	if (count > f->candidate_count)
		return true;
	for (int i = 0; i < count; i++)
		at[i] = i;
	for (;;) {
		for (int i = 0; i < count; i++)
			stops[i] = f->candidates[at[i]];
		if (may_do(f->s, stops, count) && judge(f, stops, count) < 0)
			return false;
		if (f->s->work > f->s->work_most)
			return false;
		if (f->best_count == count && f->best_cost <= f->least_cuts)
			return true; /* no other does with less */
		int i = count - 1;
		while (i >= 0 && at[i] == f->candidate_count - count + i)
			i--;
		if (i < 0)
			return true;
		for (at[i]++; i + 1 < count; i++)
			at[i + 1] = at[i] + 1;
	}
}

/* A set that does, though perhaps not the best: the sides of the pieces, and one or two strips more. */
static void try_sides(struct stop_search *f)
{
	struct cut_search *s = f->s;
	int32_t stops[WET_CUT_STOPS];
	int count = 0;
	for (int i = 0; i < 2 * s->n; i++) {
		int32_t side = i % 2 ? s->h[i / 2] : s->w[i / 2];
		if (!makes(stops, count, side))
			stops[count++] = side;
	}
	if (judge(f, stops, count) != CUT_NEVER)
		return;
	for (int i = 0; i < f->candidate_count; i++) {
		stops[count] = f->candidates[i];
		if (!makes(stops, count, stops[count]) && judge(f, stops, count + 1) < 0)
			return;
	}
	for (int i = 0; f->best_count == 0 && i < f->candidate_count; i++)
		for (int k = i + 1; k < f->candidate_count; k++) {
			stops[count] = f->candidates[i];
			stops[count + 1] = f->candidates[k];
			if (judge(f, stops, count + 2) < 0)
				return;
		}
}

/* Those of a set that does that aren't needed. */
static void try_without(struct stop_search *f)
{
	int32_t stops[WET_CUT_STOPS];
	for (int left = 0; left < f->best_count && f->best_count > 1;) {
		int count = 0, before = f->best_count;
		for (int i = 0; i < before; i++)
			if (i != left)
				stops[count++] = f->best[i];
		if (may_do(f->s, stops, count) && judge(f, stops, count) < 0)
			return;
		left = f->best_count < before ? 0 : left + 1;
	}
}

/* Each cut makes one part more: the pieces, and what is left over if anything is. */
static int least_cuts(const struct cut_search *s)
{
	double paper = (double)s->x * s->y, used = 0;
	int pieces = 0;
	for (int i = 0; i < s->n; i++) {
		int count = s->is_most ? s->most : s->ask->sizes[i].wanted;
		pieces += count;
		used += (double)count * s->w[i] * s->h[i];
	}
	if (s->is_most)
		return (pieces - (used < paper ? 0 : 1)) * s->sheets;
	return pieces - s->sheets + (used < paper * s->sheets ? 1 : 0);
}

int cut_find_stops(struct cut_search *s, const int *bounds, struct wet_fault *reterr)
{
	struct stop_search f = { .s = s };
	uint64_t share = s->work_most - s->work;
	if (!s->is_most) {
		f.ways =
			cut_take(&s->arena, (size_t)(WET_CUT_SHEETS + 1) * (size_t)s->session.count * 2 * sizeof *f.ways);
		if (!f.ways)
			return wet_fault_set(reterr, WET_ERR_TOO_LONG, "workspace", NULL, "a larger one");
	}
	for (int i = s->point_count - 1; i > 0; i--)
		if (s->points[i] < s->x || s->points[i] < s->y)
			f.candidates[f.candidate_count++] = s->points[i];
	f.least_cuts = least_cuts(s);
	bool needs_no_cut = judge(&f, f.candidates, 0) != CUT_NEVER;
	if (!needs_no_cut)
		try_sides(&f);
	if (!needs_no_cut && f.best_count == 0) {
		s->is_by_lists = true;
		s->stop_count = 0;
		return s->is_most ? WET_OK : cut_fill_sheets(s, bounds, reterr);
	}
	try_without(&f);
	s->work_most = s->work + share;
	int count = 1;
	while (!needs_no_cut && count <= f.best_count && try_all(&f, count))
		count++;
	int keys = s->is_most ? 1 : 2; /* before the settings */
	if (s->proven == keys && s->all_points)
		s->proven += needs_no_cut || count > f.best_count ? 2 : count == f.best_count ? 1 : 0;
	s->stop_count = needs_no_cut ? 0 : f.best_count;
	memcpy(s->stops, f.best, (size_t)s->stop_count * sizeof *s->stops);
	if (!s->is_most) {
		s->group_count = f.group_count;
		memcpy(s->groups, f.groups, (size_t)f.group_count * sizeof *f.groups);
	}
	return WET_OK;
}
