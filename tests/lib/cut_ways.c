/* cut_ways.c: see the header. Nothing here is shared with the plan: every place of a cut is tried, every outcome kept. */
#include "cut_ways.h"

#include <stdlib.h>
#include <string.h>

#define SIDE 21
#define MOST 60000

struct way {
	uint32_t mask; /* of settings */
	int counts[WET_CUT_SIZES];
	int64_t rest;
	int cuts;
};

struct ways {
	struct way *list;
	int count;
	bool is_done;
};

struct trying {
	const struct wet_cut_ask *ask;
	struct ways at[SIDE][SIDE];
	int setting[SIDE]; /* bit of a length that is a sum of sides; -1 */
	bool is_most, is_over;
};

static bool is_no_worse(const struct trying *t, const struct way *a, const struct way *b)
{
	if ((a->mask & ~b->mask) || a->cuts > b->cuts || a->rest < b->rest)
		return false;
	for (int i = 0; i < t->ask->size_count; i++)
		if (t->is_most ? a->counts[i] < b->counts[i] : a->counts[i] != b->counts[i])
			return false;
	return true;
}

static void keep(struct trying *t, struct ways *to, const struct way *w)
{
	int n = 0;
	for (int i = 0; i < to->count; i++)
		if (is_no_worse(t, &to->list[i], w))
			return;
	for (int i = 0; i < to->count; i++)
		if (!is_no_worse(t, w, &to->list[i]))
			to->list[n++] = to->list[i];
	to->count = n;
	if (n == MOST) {
		t->is_over = true;
		return;
	}
	to->list = realloc(to->list, (size_t)(n + 1) * sizeof *to->list);
	to->list[to->count++] = *w;
}

static bool add(const struct trying *t, const struct way *a, const struct way *b, struct way *ret)
{
	*ret = (struct way){ .mask = a->mask | b->mask,
						 .rest = a->rest > b->rest ? a->rest : b->rest,
						 .cuts = a->cuts + b->cuts };
	for (int i = 0; i < t->ask->size_count; i++) {
		ret->counts[i] = a->counts[i] + b->counts[i];
		if (!t->is_most && ret->counts[i] > t->ask->sizes[i].wanted)
			return false;
	}
	return true;
}

static void look(struct trying *t, int w, int h);

static void cut(struct trying *t, struct ways *to, int aw, int ah, int bw, int bh, int length)
{
	static const struct way nothing;
	struct ways dust = { (struct way *)&nothing, 1, true };
	look(t, aw, ah);
	if (bw > 0 && bh > 0)
		look(t, bw, bh);
	const struct ways *a = &t->at[aw][ah], *b = bw > 0 && bh > 0 ? &t->at[bw][bh] : &dust;
	for (int i = 0; i < a->count && !t->is_over; i++)
		for (int k = 0; k < b->count; k++) {
			struct way both;
			if (!add(t, &a->list[i], &b->list[k], &both))
				continue;
			both.cuts++;
			both.mask |= 1u << t->setting[length];
			keep(t, to, &both);
		}
}

static void look(struct trying *t, int w, int h)
{
	struct ways *to = &t->at[w][h];
	if (to->is_done)
		return;
	to->is_done = true;
	keep(t, to, &(struct way){ .rest = t->is_most ? 0 : (int64_t)w * h });
	for (int i = 0; i < t->ask->size_count; i++) {
		const struct wet_cut_size *s = &t->ask->sizes[i];
		if ((w != s->width_t || h != s->height_t) && (h != s->width_t || w != s->height_t))
			continue;
		struct way piece = { 0 };
		piece.counts[i] = 1;
		keep(t, to, &piece);
	}
	for (int d = 1; d < SIDE; d++) {
		if (t->setting[d] < 0)
			continue;
		if (d < w)
			cut(t, to, d, h, w - d - t->ask->kerf_t, h, d);
		if (d < h)
			cut(t, to, w, d, w, h - d - t->ask->kerf_t, d);
	}
}

static void find_settings(struct trying *t)
{
	int n = 0;
	for (int d = 0; d < SIDE; d++)
		t->setting[d] = -1;
	for (int d = 1; d < SIDE; d++) {
		bool is_sum = false;
		for (int i = 0; i < 2 * t->ask->size_count; i++) {
			int side = i % 2 ? t->ask->sizes[i / 2].width_t : t->ask->sizes[i / 2].height_t;
			int before = d - side - t->ask->kerf_t;
			is_sum = is_sum || d == side || (before > 0 && t->setting[before] >= 0);
		}
		if (is_sum)
			t->setting[d] = n++;
	}
}

static int bits(uint32_t mask)
{
	int n = 0;
	for (; mask; mask &= mask - 1)
		n++;
	return n;
}

static void take_best(const struct trying *t, const struct ways *all, struct test_cut_best *best)
{
	for (int i = 0; i < all->count; i++) {
		const struct way *w = &all->list[i];
		bool is_whole = true;
		int stops = bits(w->mask);
		for (int k = 0; k < t->ask->size_count; k++)
			is_whole = is_whole && (t->is_most || w->counts[k] == t->ask->sizes[k].wanted);
		if (!is_whole)
			continue;
		int64_t mine[] = { t->is_most ? w->counts[0] : w->rest, -stops, -w->cuts };
		int64_t known[] = { t->is_most ? best->pieces : best->rest, -best->stops, -best->cuts };
		for (int k = 0; k < 3; k++) {
			if (mine[k] < known[k])
				break;
			if (mine[k] == known[k] && k < 2)
				continue;
			best->pieces = w->counts[0];
			best->rest = w->rest;
			best->stops = stops;
			best->cuts = w->cuts;
			break;
		}
	}
}

bool test_cut_all_ways(const struct wet_cut_ask *ask, struct test_cut_best *ret_best)
{
	struct trying *t = calloc(1, sizeof *t);
	struct ways done = { 0 };
	t->ask = ask;
	t->is_most = ask->sizes[0].wanted == 0;
	find_settings(t);
	look(t, ask->sheet_width_t, ask->sheet_height_t);
	const struct ways *sheet = &t->at[ask->sheet_width_t][ask->sheet_height_t];
	*ret_best = (struct test_cut_best){ .pieces = -1, .rest = -1, .stops = 99, .cuts = 99 };
	if (t->is_most) {
		take_best(t, sheet, ret_best);
	} else {
		keep(t, &done, &(struct way){ 0 });
		while (ret_best->rest < 0 && !t->is_over && ret_best->sheets < 9) {
			struct ways more = { 0 };
			for (int i = 0; i < done.count; i++)
				for (int k = 0; k < sheet->count; k++) {
					struct way both;
					if (add(t, &done.list[i], &sheet->list[k], &both))
						keep(t, &more, &both);
				}
			free(done.list);
			done = more;
			ret_best->sheets++;
			take_best(t, &done, ret_best);
		}
	}
	bool is_good = !t->is_over;
	for (int i = 0; i < SIDE * SIDE; i++)
		free(t->at[i / SIDE][i % SIDE].list);
	free(done.list);
	free(t);
	return is_good;
}

/* -- a trimmer ------------------------------------------------------------------------------ */

static const char *cut_once(const struct wet_cut_ask *ask, const struct wet_cut_plan *plan,
							const struct wet_cut_layout *l, int step, uint8_t *lies)
{
	const struct wet_cut_step *s = &l->steps[step];
	if (s->table < 0 || s->table >= l->part_count || s->stays < 1 || s->stays >= l->part_count ||
		s->falls < 1 || s->falls >= l->part_count)
		return "parts out of range";
	/* Measured, and the other: of a margin it is what hangs over that is measured. */
	const struct wet_cut_part *on = &l->parts[s->table], *a = &l->parts[s->is_margin ? s->falls : s->stays],
							  *b = &l->parts[s->is_margin ? s->stays : s->falls];
	if (!lies[s->table])
		return "what is to be cut doesn't lie there";
	if (lies[s->stays] || lies[s->falls] || s->stays == s->falls || s->stop < 0 ||
		s->stop >= plan->stop_count)
		return "parts made twice, or no such stop";
	int32_t whole = s->is_across ? on->width_t : on->height_t,
			length = s->is_across ? a->width_t : a->height_t;
	int32_t hangs = s->is_across ? b->width_t : b->height_t, left = whole - length - ask->kerf_t;
	if (length != plan->stops[s->stop].length_t || length >= whole)
		return "the stop is set to another length";
	if (hangs != (left > 0 ? left : 0))
		return "what hangs over has another length";
	if (s->is_across ? a->height_t != on->height_t || b->height_t != on->height_t || a->y_t != on->y_t ||
						   b->y_t != on->y_t
					 : a->width_t != on->width_t || b->width_t != on->width_t || a->x_t != on->x_t ||
						   b->x_t != on->x_t)
		return "the cut doesn't go from edge to edge";
	int32_t at = s->is_across ? on->x_t : on->y_t, a_at = s->is_across ? a->x_t : a->y_t,
			b_at = s->is_across ? b->x_t : b->y_t;
	if (a_at == at ? b_at != at + length + ask->kerf_t : a_at != at + whole - length || b_at != at)
		return "the parts don't lie side by side";
	int32_t line = a_at == at ? at + length : a_at;
	if (s->is_across ? s->from_x_t != line || s->to_x_t != line || s->from_y_t != on->y_t ||
						   s->to_y_t != on->y_t + on->height_t
					 : s->from_y_t != line || s->to_y_t != line || s->from_x_t != on->x_t ||
						   s->to_x_t != on->x_t + on->width_t)
		return "the line is drawn elsewhere";
	lies[s->table] = 0;
	lies[s->stays] = lies[s->falls] = 1;
	return NULL;
}

static const char *look_at_table(const struct wet_cut_ask *ask, const struct wet_cut_layout *l,
								 const uint8_t *lies)
{
	int counts[WET_CUT_SIZES] = { 0 }, pieces = 0;
	uint8_t seen[WET_CUT_PARTS + 1] = { 0 };
	for (int i = 0; i < l->part_count; i++) {
		const struct wet_cut_part *p = &l->parts[i];
		if ((p->kind == WET_CUT_TO_CUT) == (lies[i] != 0))
			return "not everything that is to be cut was cut";
		if (p->kind != WET_CUT_PIECE)
			continue;
		const struct wet_cut_size *s = &ask->sizes[p->size];
		if ((p->width_t != s->width_t || p->height_t != s->height_t) &&
			(p->width_t != s->height_t || p->height_t != s->width_t))
			return "a piece has another size";
		int32_t m = ask->margin_t;
		if (p->x_t < m || p->y_t < m || p->x_t + p->width_t > ask->sheet_width_t - m ||
			p->y_t + p->height_t > ask->sheet_height_t - m)
			return "a piece lies in the margin";
		if (p->number < 1 || p->number > l->piece_count || seen[p->number]++)
			return "pieces are not numbered through";
		counts[p->size]++;
		pieces++;
	}
	for (int i = 0; i < ask->size_count; i++)
		if (counts[i] != l->counts[i])
			return "counts are not what lies there";
	if (l->rest >= 0 && l->parts[l->rest].kind != WET_CUT_REST)
		return "the rest is none";
	return pieces == l->piece_count ? NULL : "the count of pieces is not what lies there";
}

const char *test_cut_by_plan(const struct wet_cut_ask *ask, const struct wet_cut_plan *plan)
{
	int counts[WET_CUT_SIZES] = { 0 }, sheets = 0, pieces = 0, cuts = 0, uses[WET_CUT_STOPS] = { 0 };
	for (int i = 0; i < plan->layout_count; i++) {
		const struct wet_cut_layout *l = &plan->layouts[i];
		uint8_t lies[WET_CUT_PARTS] = { 1 };
		const char *wrong = NULL;
		if (l->parts[0].width_t != ask->sheet_width_t || l->parts[0].height_t != ask->sheet_height_t)
			return "another sheet";
		for (int k = 0; k < l->step_count && !wrong; k++) {
			wrong = cut_once(ask, plan, l, k, lies);
			uses[l->steps[k].stop] += l->times;
		}
		if (!wrong)
			wrong = look_at_table(ask, l, lies);
		if (wrong)
			return wrong;
		sheets += l->times;
		pieces += l->times * l->piece_count;
		cuts += l->times * l->step_count;
		for (int k = 0; k < ask->size_count; k++)
			counts[k] += l->times * l->counts[k];
	}
	for (int k = 0; k < ask->size_count; k++)
		if (counts[k] != plan->counts[k] || (ask->sizes[k].wanted > 0 && counts[k] != ask->sizes[k].wanted))
			return "not the wanted counts";
	for (int k = 0; k < plan->stop_count; k++)
		if (uses[k] != plan->stops[k].uses || uses[k] == 0 ||
			(k > 0 && plan->stops[k].length_t >= plan->stops[k - 1].length_t))
			return "stops are not told as they are used, the largest first";
	return sheets == plan->sheets && pieces == plan->pieces && cuts == plan->cuts ? NULL : "sums are wrong";
}
