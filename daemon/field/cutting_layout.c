/* cutting_layout.c: the plan that was found, as rectangles on the sheet and a sequence of cuts. */
#include "field/cutting_inside.h"

#include <assert.h>
#include <string.h>

/* A part, and how it is cut further. Lengths with a kerf added, where the part lies. */
struct twig {
	int32_t w, h;
	int vector;
	bool has_rest;  /* the rest that counts is in it */
	int32_t before; /* that the stop was set to for the cut it fell off at, along `was_across`; 0: none */
	bool was_across;
	int32_t length; /* that the stop is set to; 0: not cut */
	int stays, falls;
	bool is_across;
};

struct laying {
	struct cut_search *s;
	struct cut_stops *stops;
	struct wet_cut_plan *plan;
	struct wet_cut_layout *layout;
	struct wet_cut_part *parts;
	struct wet_cut_step *steps;
	struct twig *twigs;
	int first; /* the part without its margin */
	bool is_full;
};

static int32_t less_kerf(const struct laying *l, int32_t length)
{
	return length > l->s->ask->kerf_t ? length - l->s->ask->kerf_t : 0;
}

static int add_part(struct laying *l, int32_t x_t, int32_t y_t, int32_t w, int32_t h)
{
	if (l->layout->part_count == WET_CUT_PARTS) {
		l->is_full = true;
		return 0;
	}
	int at = l->layout->part_count++;
	l->parts[at] = (struct wet_cut_part){ .kind = WET_CUT_WASTE,
										  .x_t = x_t,
										  .y_t = y_t,
										  .width_t = less_kerf(l, w),
										  .height_t = less_kerf(l, h),
										  .size = -1 };
	l->twigs[at] = (struct twig){ .w = w, .h = h };
	return at;
}

static int32_t cost_of(const struct laying *l, int32_t w, int32_t h, bool has_rest, int vector)
{
	return cut_costs(l->stops, cut_node(l->stops, w, h), has_rest)[vector];
}

static void halve(const struct twig *t, int32_t length, bool is_across, struct twig ret[2])
{
	for (int k = 0; k < 2; k++) {
		int32_t part = k ? (is_across ? t->w : t->h) - length : length;
		ret[k] = (struct twig){ .w = is_across ? part : t->w, .h = is_across ? t->h : part };
	}
}

/* Where no set of stops was found: by what the two halves can give. */
static bool take_by_lists(const struct laying *l, const struct twig *t, struct twig ret[2])
{
	const struct cut_search *s = l->s;
	int n, m;
	const uint16_t *first = cut_list_of(s, ret[0].w, ret[0].h, &n),
				   *second = cut_list_of(s, ret[1].w, ret[1].h, &m);
	for (int i = 0; i < n; i++) {
		int rest = cut_minus(&s->sheet, t->vector, first[i]);
		for (int k = 0; k < m; k++) {
			if (cut_minus(&s->sheet, rest, second[k]) != 0 || rest == t->vector)
				continue;
			ret[0].vector = t->vector - rest;
			ret[1].vector = rest;
			return true;
		}
	}
	return false;
}

/* Does this stop cut the part at its least cost? What is in either half goes to `ret`. */
static bool take_stop(struct laying *l, const struct twig *t, int32_t length, bool is_across,
					  struct twig ret[2])
{
	struct cut_search *s = l->s;
	if (length >= (is_across ? t->w : t->h))
		return false;
	halve(t, length, is_across, ret);
	if (s->is_by_lists)
		return take_by_lists(l, t, ret);
	int32_t want = cost_of(l, t->w, t->h, t->has_rest, t->vector) - 1;
	for (int u = 0; u <= t->vector; u++) {
		int other = s->is_most ? 0 : cut_minus(&s->sheet, t->vector, u);
		if (!s->is_most && cut_sum(&s->sheet, u, other) != t->vector)
			continue;
		for (int k = 0; k <= (int)t->has_rest; k++) { /* with the rest: in the first, in the second */
			ret[0].has_rest = t->has_rest && k == 0;
			ret[1].has_rest = t->has_rest && k == 1;
			ret[0].vector = u;
			ret[1].vector = other;
			if (cost_of(l, ret[0].w, ret[0].h, ret[0].has_rest, u) +
					cost_of(l, ret[1].w, ret[1].h, ret[1].has_rest, other) ==
				want)
				return true;
		}
	}
	return false;
}

/* So many like parts can be cut off one after the other: strips that are all alike are easiest in the dark. 0: none. */
static int times_alike(struct laying *l, const struct twig *from, int32_t length, bool is_across)
{
	struct twig t = *from, halves[2];
	int times = 0, vector = 0;
	for (; take_stop(l, &t, length, is_across, halves); times++) {
		if (times > 0 && (halves[0].vector != vector || halves[0].has_rest))
			break;
		vector = halves[0].vector;
		t = halves[1];
	}
	return times;
}

static void settle_left_over(struct laying *l, int at)
{
	struct wet_cut_part *p = &l->parts[at];
	int32_t least = WET_CUT_TEST_STRIP_MM * WET_CUT_TICKS_PER_MM;
	int rest = l->layout->rest;
	bool counts = l->twigs[at].has_rest;
	if (!counts && (p->width_t < least || p->height_t < least))
		return;
	p->kind = WET_CUT_REST;
	int64_t area = (int64_t)p->width_t * p->height_t;
	if (counts || rest < 0 ||
		(!l->twigs[rest].has_rest && area > (int64_t)l->parts[rest].width_t * l->parts[rest].height_t))
		l->layout->rest = at;
}

/* The best stop for a part, of `count`; 0: none of them will do. */
static int32_t best_stop(struct laying *l, const struct twig *t, const int32_t *stops, int count,
						 bool *ret_is_across)
{
	int most = 0;
	int32_t best = 0;
	*ret_is_across = t->was_across;
	if (t->before > 0 && times_alike(l, t, t->before, t->was_across) > 0)
		return t->before;
	for (int i = 0; i < count; i++) {
		for (int k = 0; k < 2; k++) {
			bool across = t->w >= t->h ? k == 0 : k == 1; /* of two as good the shorter cut */
			int times = times_alike(l, t, stops[i], across);
			if (times <= most)
				continue;
			most = times;
			best = stops[i];
			*ret_is_across = across;
		}
	}
	return best;
}

static bool is_empty(const struct laying *l, const struct twig *t)
{
	const struct cut_search *s = l->s;
	if (s->is_most && !s->is_by_lists)
		return cost_of(l, t->w, t->h, false, 0) == 0;
	return t->vector == 0 && (!t->has_rest || cut_area(s, t->w, t->h) >= s->rest);
}

/* One part: a piece, left over, or cut in two. */
static void settle(struct laying *l, int at)
{
	struct cut_search *s = l->s;
	struct twig *t = &l->twigs[at], halves[2];
	struct wet_cut_part *p = &l->parts[at];
	int leaf = cut_leaf(s, t->w, t->h);
	bool is_across = false, is_by_cost = s->is_most && !s->is_by_lists;
	if (is_empty(l, t)) {
		settle_left_over(l, at);
		return;
	}
	if (leaf >= 0 && !t->has_rest && (is_by_cost || t->vector == s->sheet.stride[leaf])) {
		p->kind = WET_CUT_PIECE;
		p->size = leaf;
		l->layout->piece_count++;
		l->layout->counts[leaf]++;
		return;
	}
	int32_t length = best_stop(l, t, s->stops, s->stop_count, &is_across);
	if (length == 0 && s->is_by_lists) {
		length = best_stop(l, t, s->points + 1, s->point_count - 1, &is_across);
		l->is_full = l->is_full || s->stop_count == WET_CUT_STOPS - 1;
		if (!l->is_full)
			s->stops[s->stop_count++] = length;
	}
	assert(length > 0); /* what was judged can be cut */
	(void)take_stop(l, t, length, is_across, halves);
	p->kind = WET_CUT_TO_CUT;
	t->length = length;
	t->is_across = is_across;
	t->stays = add_part(l, p->x_t, p->y_t, halves[0].w, halves[0].h);
	t->falls = add_part(l, p->x_t + (is_across ? length : 0), p->y_t + (is_across ? 0 : length), halves[1].w,
						halves[1].h);
	if (l->is_full)
		return;
	l->twigs[t->stays] = halves[0];
	l->twigs[t->falls] = halves[1];
	l->twigs[t->falls].before = length;
	l->twigs[t->falls].was_across = is_across;
}

/* -- the sequence ---------------------------------------------------------------------------- */

static void add_step(struct laying *l, int table, int stays, int falls, bool is_across, int stop,
					 bool is_margin)
{
	const struct wet_cut_part *on = &l->parts[table],
							  *p = &l->parts[is_margin ? falls : stays]; /* measured */
	struct wet_cut_step *step = &l->steps[l->layout->step_count++];
	int32_t x_t = p->x_t > on->x_t ? p->x_t : p->x_t + p->width_t,
			y_t = p->y_t > on->y_t ? p->y_t : p->y_t + p->height_t;
	*step = (struct wet_cut_step){ .table = table,
								   .is_across = is_across,
								   .stop = stop,
								   .stays = stays,
								   .falls = falls,
								   .from_x_t = is_across ? x_t : on->x_t,
								   .from_y_t = is_across ? on->y_t : y_t,
								   .to_x_t = is_across ? x_t : on->x_t + on->width_t,
								   .to_y_t = is_across ? on->y_t + on->height_t : y_t,
								   .is_margin = is_margin };
}

/* All four edges, with one setting: so the corners become square, and what is left has the size it should have. */
static int cut_margin(struct laying *l)
{
	const struct wet_cut_ask *ask = l->s->ask;
	int32_t k = ask->kerf_t, m = ask->margin_t;
	int on = 0;
	for (int i = 0; i < 4 && m > 0; i++) {
		struct wet_cut_part p = l->parts[on];
		bool is_across = i < 2, is_far = i % 2;
		int32_t x = p.x_t, y = p.y_t, w = p.width_t, h = p.height_t;
		int falls = is_across ? add_part(l, is_far ? x + w - (m - k) : x, y, m, h + k)
							  : add_part(l, x, is_far ? y + h - (m - k) : y, w + k, m);
		int stays = is_across ? add_part(l, is_far ? x : x + m, y, w - m + k, h + k)
							  : add_part(l, x, is_far ? y : y + m, w + k, h - m + k);
		l->parts[on].kind = WET_CUT_TO_CUT;
		add_step(l, on, stays, falls, is_across, 0, true);
		on = stays;
	}
	return on;
}

static void number_part(struct laying *l, int at, int *pieces, int *strips)
{
	if (l->parts[at].kind == WET_CUT_PIECE)
		l->parts[at].number = ++*pieces;
	else if (l->parts[at].kind == WET_CUT_TO_CUT)
		l->parts[at].strip = ++*strips;
}

/* What lies there to be cut with this stop: what has just fallen off goes on first. */
static int next_with(const struct laying *l, const uint8_t *lies, int fallen, int stop)
{
	int32_t length = l->plan->stops[stop].length_t + l->s->ask->kerf_t;
	if (lies[fallen] && l->twigs[fallen].length == length)
		return fallen;
	for (int k = 0; k < l->layout->part_count; k++)
		if (lies[k] && l->twigs[k].length == length)
			return k;
	return -1;
}

/* With the largest stop all that can be cut with it, then with the next; then from the largest again. */
static void order(struct laying *l, int first)
{
	int pieces = 0, strips = 0, fallen = first, stop = 0;
	uint8_t lies[WET_CUT_PARTS] = { 0 };
	if (l->twigs[first].length == 0) {
		number_part(l, first, &pieces, &strips); /* the sheet is the piece */
		return;
	}
	lies[first] = 1;
	for (;;) {
		int next = next_with(l, lies, fallen, stop);
		for (int i = 0; i < l->plan->stop_count && next < 0; i++)
			next = next_with(l, lies, fallen, stop = i);
		if (next < 0)
			return;
		const struct twig *t = &l->twigs[next];
		lies[next] = 0;
		lies[t->stays] = lies[t->falls] = 1;
		number_part(l, t->stays, &pieces, &strips);
		number_part(l, t->falls, &pieces, &strips);
		add_step(l, next, t->stays, t->falls, t->is_across, stop, false);
		fallen = t->falls;
	}
}

/* -- the plan ------------------------------------------------------------------------------------ */

static bool lay_out(struct laying *l, const struct cut_group *group)
{
	struct cut_search *s = l->s;
	const struct wet_cut_ask *ask = s->ask;
	*l->layout = (struct wet_cut_layout){ .times = group->times, .rest = -1 };
	l->parts = cut_take(&s->arena, WET_CUT_PARTS * sizeof *l->parts);
	l->steps = cut_take(&s->arena, WET_CUT_PARTS / 2 * sizeof *l->steps);
	l->twigs = cut_take(&s->arena, WET_CUT_PARTS * sizeof *l->twigs);
	if (!l->parts || !l->steps || !l->twigs)
		return false;
	size_t mark = s->arena.used;
	if (s->is_by_lists && !cut_use_space(s, &group->space))
		return false;
	(void)add_part(l, 0, 0, ask->sheet_width_t + ask->kerf_t, ask->sheet_height_t + ask->kerf_t);
	l->first = cut_margin(l);
	l->twigs[l->first].vector = s->is_most && !s->is_by_lists ? 0 : group->vector;
	l->twigs[l->first].has_rest = group->has_rest;
	for (int i = l->first; i < l->layout->part_count && !l->is_full; i++)
		settle(l, i);
	if (s->is_by_lists)
		s->arena.used = mark;
	l->layout->parts = l->parts;
	l->layout->steps = l->steps;
	return !l->is_full;
}

/* Sheets that are cut alike together; that with the rest last. */
static int merge_groups(const struct cut_search *s, struct cut_group *ret)
{
	int n = 0;
	for (int pass = 0; pass < 2; pass++)
		for (int i = 0; i < s->group_count; i++) {
			const struct cut_group *g = &s->groups[i];
			int at = 0;
			if (g->has_rest != (pass == 1))
				continue;
			while (at < n && (ret[at].vector != g->vector || s->is_by_lists || ret[at].has_rest || pass == 1))
				at++;
			if (at < n)
				ret[at].times += g->times;
			else if (n < WET_CUT_LAYOUTS)
				ret[n++] = *g;
			else
				return -1;
		}
	return n;
}

/* Those that are used, the largest first, that of the margin among them. */
static void settle_stops(struct laying *layings, int count, struct wet_cut_plan *plan)
{
	const struct cut_search *s = layings[0].s;
	int32_t margin = s->ask->margin_t > 0 ? s->ask->margin_t - s->ask->kerf_t : 0;
	for (int i = 0; i <= s->stop_count; i++) {
		bool is_margin = i == s->stop_count, is_used = is_margin && margin > 0, is_known = false;
		int32_t length = is_margin ? margin : less_kerf(&layings[0], s->stops[i]);
		for (int k = 0; k < count; k++)
			for (int m = 0; m < layings[k].layout->part_count && !is_margin; m++)
				is_used = is_used || layings[k].twigs[m].length == s->stops[i];
		for (int k = 0; k < plan->stop_count; k++)
			is_known = is_known || plan->stops[k].length_t == length;
		if (!is_used || is_known)
			continue;
		int at = plan->stop_count++;
		for (; at > 0 && plan->stops[at - 1].length_t < length; at--)
			plan->stops[at] = plan->stops[at - 1];
		plan->stops[at] = (struct wet_cut_stop){ .length_t = length, .is_margin = is_margin };
	}
}

static void put_in_order(struct laying *l)
{
	struct wet_cut_plan *plan = l->plan;
	struct wet_cut_layout *layout = l->layout;
	int margin_stop = 0;
	while (margin_stop < plan->stop_count &&
		   plan->stops[margin_stop].length_t != l->s->ask->margin_t - l->s->ask->kerf_t)
		margin_stop++;
	for (int i = 0; i < layout->step_count; i++)
		l->steps[i].stop = margin_stop; /* so far there are only those */
	order(l, l->first);
	for (int i = 0; i < layout->step_count; i++)
		plan->stops[l->steps[i].stop].uses += layout->times;
	plan->sheets += layout->times;
	plan->pieces += layout->times * layout->piece_count;
	plan->cuts += layout->times * layout->step_count;
	for (int i = 0; i < l->s->n; i++)
		plan->counts[i] += layout->times * layout->counts[i];
	const struct wet_cut_part *rest = layout->rest >= 0 ? &layout->parts[layout->rest] : NULL;
	int64_t area =
		rest ? (int64_t)rest->width_t * rest->height_t / WET_CUT_TICKS_PER_MM / WET_CUT_TICKS_PER_MM : 0;
	if (area > plan->rest_mm2)
		plan->rest_mm2 = area;
}

int cut_lay_out(struct cut_search *s, struct wet_cut_plan *ret_plan, struct wet_fault *reterr)
{
	struct cut_group groups[WET_CUT_LAYOUTS];
	struct wet_cut_plan plan = { .keys = s->is_most ? 3 : 4,
								 .proven = s->proven,
								 .sheets_bound = s->sheets_bound,
								 .pieces_bound = s->pieces_bound };
	struct cut_stops stops;
	int count = merge_groups(s, groups);
	struct wet_cut_layout *layouts = cut_take(&s->arena, WET_CUT_LAYOUTS * sizeof *layouts);
	struct laying *layings = cut_take(&s->arena, WET_CUT_LAYOUTS * sizeof *layings);
	size_t bytes = s->arena.bytes;
	s->work_most = UINT64_MAX;
	s->arena.bytes -= (bytes - s->arena.used) / 3; /* for the layouts, which stay */
	bool is_good = count >= 0 && layouts && layings &&
				   (s->is_by_lists || (cut_stops_begin(&stops, s, s->stops, s->stop_count) &&
									   cut_node(&stops, s->x, s->y) >= 0));
	s->arena.used = s->arena.bytes;
	s->arena.bytes = bytes;
	for (int i = 0; i < count && is_good; i++) {
		layings[i] = (struct laying){ .s = s, .stops = &stops, .plan = &plan, .layout = &layouts[i] };
		is_good = lay_out(&layings[i], &groups[i]);
	}
	if (!is_good)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "size", NULL,
							 "fewer pieces of a sheet, or fewer sizes: the plan would be too long to follow");
	settle_stops(layings, count, &plan);
	for (int i = 0; i < count; i++)
		put_in_order(&layings[i]);
	plan.layout_count = count;
	plan.layouts = layouts;
	plan.work = s->work;
	*ret_plan = plan;
	return WET_OK;
}
