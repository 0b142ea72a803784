/* cutting_sheets.c: how many sheets, and the largest rest. */
#include "field/cutting_inside.h"

#include <string.h>

/* -- fewest sheets -------------------------------------------------------------------- */

/* Session counts with a sheet's added, over the caps cut down to them. */
static int add_sheet(const struct cut_search *s, int done, int v)
{
	int sum = 0;
	for (int i = 0; i < s->n; i++) {
		int d = cut_digit(&s->session, done, i) + cut_digit(&s->sheet, v, i);
		sum += (d > s->session.caps[i] ? s->session.caps[i] : d) * s->session.stride[i];
	}
	return sum;
}

/* By sheets, from none: how many each count takes; 255: not by so many. */
static bool count_sheets(struct cut_search *s, uint8_t *sheets)
{
	int n, whole = s->session.count - 1;
	const uint16_t *best = cut_list_of(s, s->x, s->y, &n);
	memset(sheets, 255, (size_t)s->session.count);
	sheets[0] = 0;
	for (int t = 0; t < WET_CUT_SHEETS && sheets[whole] == 255; t++) {
		for (int done = 0; done <= whole; done++) {
			if (sheets[done] != t)
				continue;
			s->work += (uint64_t)n;
			for (int i = 0; i < n; i++) {
				int more = add_sheet(s, done, best[i]);
				if (sheets[more] == 255)
					sheets[more] = (uint8_t)(t + 1);
			}
		}
	}
	return sheets[whole] != 255;
}

/* Can all but v be cut from so many sheets? */
static bool others_fit(const struct cut_search *s, const uint8_t *sheets, int count, int v)
{
	for (int done = 0; done < s->session.count; done++) {
		if (sheets[done] <= count && add_sheet(s, done, v) == s->session.count - 1)
			return true;
	}
	return false;
}

/* -- the largest rest ------------------------------------------------------------------ */

struct rests {
	struct cut_search *s;
	int node_count, node_room, hash_size;
	int32_t *hash, *keys;
	int64_t *rests; /* [node][vector]: the largest rest where so much is cut; -1: it can't be */
	bool is_full;
};

static int rest_node(struct rests *r, int32_t x, int32_t y);

/* What is left of A or lies in it, where B gives its best. */
static void take_rest(struct rests *r, int node, int a, const uint16_t *list, int n)
{
	const struct cut_space *space = &r->s->sheet;
	int64_t *to = r->rests + (size_t)node * (size_t)space->count;
	const int64_t *from = r->rests + (size_t)a * (size_t)space->count;
	r->s->work += (uint64_t)n * (uint64_t)space->count;
	for (int i = 0; i < n; i++)
		for (int v = 1; v < space->count; v++) {
			int64_t rest = from[cut_minus(space, v, list[i])];
			if (rest > to[v])
				to[v] = rest;
		}
}

/* The length p cut off a side: the rest in either part. False: full. */
static bool try_rest(struct rests *r, int node, const int32_t *a, const int32_t *b)
{
	for (int k = 0; k < 2; k++) {
		const int32_t *rest = k ? b : a, *gives = k ? a : b;
		int n, other;
		const uint16_t *list = cut_list_of(r->s, gives[0], gives[1], &n);
		if (n == 1 && list[0] == 0)
			continue; /* a cut for nothing */
		if ((other = rest_node(r, rest[0], rest[1])) < 0)
			return false;
		take_rest(r, node, other, list, n);
	}
	return true;
}

static int rest_node(struct rests *r, int32_t x_in, int32_t y_in)
{
	struct cut_search *s = r->s;
	int32_t x = x_in > y_in ? x_in : y_in, y = x_in > y_in ? y_in : x_in;
	int slot, n, node = cut_find_key(r->hash, r->hash_size, r->keys, x, y, &slot);
	if (node >= 0)
		return node;
	if (r->node_count == r->node_room || s->work > s->work_most) {
		r->is_full = true;
		return -1;
	}
	node = r->node_count++;
	r->hash[slot] = node;
	r->keys[2 * node] = x;
	r->keys[2 * node + 1] = y;
	int64_t *rests = r->rests + (size_t)node * (size_t)s->sheet.count;
	for (int v = 0; v < s->sheet.count; v++)
		rests[v] = v == 0 ? cut_area(s, x, y) : -1;
	int leaf = cut_leaf(s, x, y);
	if (leaf >= 0)
		rests[s->sheet.stride[leaf]] = 0;
	const uint16_t *list = cut_list_of(s, x, y, &n);
	if (n == 1 && list[0] == 0)
		return node; /* no piece fits */
	for (int i = 1; i < s->point_count; i++) {
		int32_t p = s->points[i];
		if (p < x && !try_rest(r, node, (int32_t[]){ p, y }, (int32_t[]){ x - p, y }))
			return -1;
		if (p < y && !try_rest(r, node, (int32_t[]){ x, p }, (int32_t[]){ x, y - p }))
			return -1;
	}
	return node;
}

/* The root; -1: full. */
static int rests_begin(struct rests *r, struct cut_search *s)
{
	size_t each = (size_t)s->sheet.count * sizeof *r->rests + 2 * sizeof *r->keys + 4 * sizeof *r->hash;
	*r = (struct rests){ .s = s, .hash_size = 1 };
	r->node_room = (int)((s->arena.bytes - s->arena.used) / 2 / each);
	while (r->hash_size < 2 * r->node_room)
		r->hash_size *= 2;
	r->hash = cut_take(&s->arena, (size_t)r->hash_size * sizeof *r->hash);
	r->keys = cut_take(&s->arena, 2 * (size_t)r->node_room * sizeof *r->keys);
	r->rests = cut_take(&s->arena, (size_t)r->node_room * (size_t)s->sheet.count * sizeof *r->rests);
	if (!r->hash || !r->keys || !r->rests)
		return -1;
	memset(r->hash, 255, (size_t)r->hash_size * sizeof *r->hash);
	return rest_node(r, s->x, s->y);
}

bool cut_find_sheets(struct cut_search *s)
{
	size_t mark = s->arena.used;
	uint8_t *sheets = cut_take(&s->arena, (size_t)s->session.count);
	struct rests r;
	if (!sheets || !count_sheets(s, sheets))
		return false;
	s->sheets = s->sheets_bound = sheets[s->session.count - 1];
	s->rest = 0;
	int root = rests_begin(&r, s);
	const int64_t *rests = root >= 0 ? r.rests + (size_t)root * (size_t)s->sheet.count : NULL;
	for (int v = 0; v < s->sheet.count && rests; v++)
		if (rests[v] > s->rest && others_fit(s, sheets, s->sheets - 1, v))
			s->rest = rests[v];
	s->proven = !s->all_points ? 0 : root >= 0 ? 2 : 1;
	s->arena.used = mark;
	return true;
}

/* -- too many to be told apart ------------------------------------------------------------ */

static double area_of(const struct cut_search *s, int v)
{
	double area = 0;
	for (int i = 0; i < s->n; i++)
		area += (double)cut_digit(&s->sheet, v, i) * s->w[i] * s->h[i];
	return area;
}

bool cut_use_space(struct cut_search *s, const struct cut_space *space)
{
	s->sheet = *space;
	(void)cut_find_points(s, s->x > s->y ? s->x : s->y);
	return cut_find_lists(s) == 0;
}

/* The largest sizes first, each with all that a sheet could take of it, while their counts can be told apart. */
static void choose_space(const struct cut_search *s, const int *bounds, const int *left, int most,
						 struct cut_space *ret)
{
	int caps[WET_CUT_SIZES] = { 0 };
	for (int turn = 0; turn < s->n; turn++) {
		int next = -1;
		for (int i = 0; i < s->n; i++)
			if (caps[i] == 0 && left[i] > 0 &&
				(next < 0 || (double)s->w[i] * s->h[i] > (double)s->w[next] * s->h[next]))
				next = i;
		if (next < 0)
			break;
		caps[next] = left[next] < bounds[next] ? left[next] : bounds[next];
		while (caps[next] > 0 && !cut_space_make(ret, s->n, caps, most))
			caps[next]--;
		if (caps[next] == 0)
			break;
	}
	(void)cut_space_make(ret, s->n, caps, most);
}

/* One sheet's counts; the arena is as before. False: too much work. */
static bool fill_sheet(struct cut_search *s, const int *bounds, const int *left, struct cut_group *ret)
{
	size_t mark = s->arena.used;
	uint64_t share = s->work_most;
	bool is_good = false;
	for (int most = CUT_FILLED; most >= 4 && !is_good; most /= 4) {
		s->work_most = most <= 16 ? UINT64_MAX : s->work + share / 8; /* so few are always counted */
		choose_space(s, bounds, left, most, &ret->space);
		is_good = cut_use_space(s, &ret->space);
		int n;
		const uint16_t *best = is_good ? cut_list_of(s, s->x, s->y, &n) : NULL;
		ret->vector = 0;
		for (int i = 0; is_good && i < n; i++)
			if (area_of(s, best[i]) > area_of(s, ret->vector))
				ret->vector = best[i];
		s->arena.used = mark;
	}
	s->work_most = share;
	return is_good && ret->vector > 0;
}

int cut_fill_sheets(struct cut_search *s, const int *bounds, struct wet_fault *reterr)
{
	int left[WET_CUT_SIZES], total = 0;
	double area = 0;
	for (int i = 0; i < s->n; i++) {
		left[i] = s->ask->sizes[i].wanted;
		total += left[i];
		area += (double)left[i] * s->w[i] * s->h[i];
	}
	s->rest = 0;
	s->sheets_bound = (int)(area / ((double)s->x * s->y) + 0.999999999);
	for (s->sheets = s->group_count = 0; total > 0;) {
		struct cut_group *g = &s->groups[s->group_count];
		if (s->group_count == WET_CUT_LAYOUTS || !fill_sheet(s, bounds, left, g))
			return wet_fault_set(reterr, WET_ERR_TOO_MANY, "count", NULL,
								 "fewer sizes or pieces at once: too many ways to cut them");
		g->times = WET_CUT_PIECES;
		g->has_rest = false;
		for (int i = 0; i < s->n; i++) {
			int d = cut_digit(&g->space, g->vector, i);
			g->times = d > 0 && left[i] / d < g->times ? left[i] / d : g->times;
		}
		for (int i = 0; i < s->n; i++) {
			left[i] -= g->times * cut_digit(&g->space, g->vector, i);
			total -= g->times * cut_digit(&g->space, g->vector, i);
		}
		s->sheets += g->times;
		s->group_count++;
	}
	if (s->sheets > WET_CUT_SHEETS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "count", NULL, "pieces from at most %d sheets",
							 WET_CUT_SHEETS);
	s->proven = s->sheets == s->sheets_bound;
	return WET_OK;
}
