/* plan_pair.c: two baths, one behind the other, for loads that are given; the rule is written in plan.h.
 *
 * The baths of all pairs are one row: each is put behind the one before it, and then takes its place. A search in depth
 * along that row, the source with the larger entry of key 3 first: the next bath is always the next entry. */
#include "chemistry/plan_inside.h"
#include "wetside/capacity.h"


struct pairing {
	struct search *k;
	const struct wet_plan_solution *s;
	const struct shelf *shelf;
	int solution, loads;
	struct draws *now, *best;
	uint64_t work, most;
	bool has_best;
	uint32_t best_number; /* counts the bests that were better by key 3 */
	uint64_t taken;       /* ways that came to their end */
	uint64_t passed_over; /* branches that might end, but not better */
	int64_t least_ul;     /* no bath takes less stock */
	int64_t least_mm2;    /* that so much stock bears, at least */
	int64_t area_after[WET_PLAN_PIECES + 1]; /* of the loads from this one on */
	int baths_after[WET_PLAN_PIECES + 1];    /* firsts that they take at least */
};

/* Where the row has come to. */
struct place {
	int first;         /* the first load that has no first bath */
	int behind;        /* so many before it have no second one; 0: a pair begins */
	int rotations;     /* of the bath that is put there */
	int64_t done_mm2;  /* in the books, of the bath it is put behind */
	bool is_first_spent; /* that bath serves the last load and is spent then */
};

/* A source as it now stands. */
struct origin {
	int working; /* -1: a lot */
	int lot;
	int64_t entry, id; /* of keys 3 and 6 */
	int64_t left_ul;   /* a lot's stock */
};

int64_t plan_counted(const struct wet_plan_solution *s, int64_t first_mm2, int64_t second_mm2)
{
	const struct wet_fix_bath bath = { first_mm2, second_mm2 };
	return wet_fix_bath_counted(&bath, s->second_share_ppm);
}

int plan_entries(const struct wet_plan_solution *s, int loads)
{
	return s->has_second ? 2 * loads : loads;
}

static int64_t done_by(const struct wet_plan_solution *s, const struct wet_plan_working *w)
{
	return plan_counted(s, w->used_mm2, w->second_mm2);
}

/* -- sources ------------------------------------------------------------------ */

static bool origin_of_lot(const struct pairing *p, int index, struct origin *ret_origin)
{
	struct head h;
	if (!plan_head(p->k, index, &h))
		return false;
	*ret_origin = (struct origin){ -1, index, h.age_ns, h.id, h.left_ul };
	return true;
}

static bool comes_after(const struct origin *a, const struct origin *b)
{
	return a->entry != b->entry ? a->entry < b->entry : a->id > b->id;
}

static void offer(const struct origin *o, const struct origin *last, struct origin *best, bool *has)
{
	if ((last && !comes_after(o, last)) || (*has && !comes_after(best, o)))
		return;
	*best = *o;
	*has = true;
}

/* The next source after `last` (NULL: the first of all); false: none is left. */
static bool next_origin(const struct pairing *p, const struct origin *last, struct origin *ret_origin)
{
	bool has = false;
	struct origin o;
	for (int i = 0; i < p->shelf->lot_count; i++)
		if (origin_of_lot(p, p->shelf->first_lot + i, &o))
			offer(&o, last, ret_origin, &has);
	for (int i = 0; i < p->k->ask->working_count; i++) {
		const struct wet_plan_working *w = &p->k->ask->workings[i];
		if (w->solution != p->solution || !plan_is_usable(p->k, w) || plan_is_taken(p->now, i))
			continue;
		o = (struct origin){ .working = i, .entry = WORKING_AGE + done_by(p->s, w), .id = w->id };
		offer(&o, last, ret_origin, &has);
	}
	return has;
}

/* -- one bath ----------------------------------------------------------------- */

/* Does it bear so much, counted as one of both places, with a load of `largest` in it? A fresh bath becomes that large. */
static bool bears(const struct pairing *p, const struct origin *o, int64_t counted_mm2, int64_t largest_mm2, struct turn *t)
{
	int64_t most_ul = plan_most_ul(p->k->ask, p->solution);
	if (t->is_working) {
		int64_t poured = t->volume_ul < most_ul ? t->volume_ul : most_ul;
		return counted_mm2 <= plan_capacity(p->s, t->volume_ul) && plan_concentrate(p->s, largest_mm2) <= poured;
	}
	int64_t volume = plan_volume_for(p->k, p->solution, counted_mm2, largest_mm2), stock = plan_stock(p->s, volume);
	if (volume > most_ul || stock > o->left_ul)
		return false;
	t->volume_ul = volume;
	t->stock_ul = stock;
	return true;
}

/* The bath that a source gives at this place; false: it can't stand there. */
static bool make_turn(const struct pairing *p, const struct place *at, const struct origin *o, struct turn *ret_turn)
{
	struct turn t = { .is_working = o->working >= 0,
					  .source = o->working >= 0 ? o->working : o->lot,
					  .first = at->first,
					  .behind = at->behind,
					  .rotations = at->rotations };
	int64_t first_mm2 = 0, second_mm2 = 0, largest = 0;
	if (t.is_working) {
		const struct wet_plan_working *w = &p->k->ask->workings[o->working];
		if (at->behind > 0 && (done_by(p->s, w) > at->done_mm2 || w->rotations > at->rotations))
			return false;
		if (at->behind == 0)
			t.rotations = w->rotations;
		t.volume_ul = w->volume_ul;
		first_mm2 = w->used_mm2;
		second_mm2 = w->second_mm2;
	}
	for (int i = at->first - at->behind; i < at->first; i++) {
		second_mm2 += p->k->areas[i];
		largest = p->k->areas[i] > largest ? p->k->areas[i] : largest;
	}
	if (at->behind > 0 && !bears(p, o, plan_counted(p->s, first_mm2, second_mm2), largest, &t))
		return false;
	for (int i = at->first; i < p->loads && t.rotations <= p->s->rotations_most; i++) {
		first_mm2 += p->k->areas[i];
		largest = p->k->areas[i] > largest ? p->k->areas[i] : largest;
		if (!bears(p, o, plan_counted(p->s, first_mm2, second_mm2), largest, &t))
			break;
		t.run++;
	}
	*ret_turn = t;
	return t.run > 0 || t.behind > 0;
}

/* What it still bears as a first, after all its loads. */
static int64_t left_of(const struct search *k, int solution, const struct turn *t)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	int64_t first_mm2 = 0, second_mm2 = 0;
	if (t->is_working) {
		first_mm2 = k->ask->workings[t->source].used_mm2;
		second_mm2 = k->ask->workings[t->source].second_mm2;
	}
	for (int i = t->first - t->behind; i < t->first; i++)
		second_mm2 += k->areas[i];
	for (int i = t->first; i < t->first + t->run; i++)
		first_mm2 += k->areas[i];
	return plan_capacity(s, t->volume_ul) - plan_counted(s, first_mm2, second_mm2);
}

static bool could_go_on(const struct search *k, int solution, const struct turn *t)
{
	return t->rotations <= k->ask->solutions[solution].rotations_most &&
		   left_of(k, solution, t) >= k->ask->sizes[k->least_size].area_mm2;
}

bool plan_pair_keeps(const struct search *k, int solution, const struct draws *d, int turn)
{
	if (turn < d->turn_count - 2)
		return false;
	return could_go_on(k, solution, &d->turns[d->turn_count - 2]) ||
		   (turn == d->turn_count - 1 && could_go_on(k, solution, &d->turns[turn]));
}

/* Where the row goes on behind this bath; *ret_gone_ul: fresh stock that is known to be gone by then. */
static struct place place_behind(const struct pairing *p, const struct place *at, const struct turn *t, int64_t *ret_gone_ul)
{
	bool is_last = at->first + t->run == p->loads;
	struct place next = { .first = at->first + t->run };
	*ret_gone_ul = t->stock_ul; /* it will be rotated out, or stand behind the last of a pair */
	if (t->run > 0) {
		next.behind = t->run;
		next.rotations = t->rotations + 1;
		next.done_mm2 = t->is_working ? done_by(p->s, &p->k->ask->workings[t->source]) : 0;
		next.is_first_spent = is_last && !could_go_on(p->k, p->solution, t);
		if (is_last && !next.is_first_spent)
			*ret_gone_ul = 0;
	} else if (is_last && (!at->is_first_spent || could_go_on(p->k, p->solution, t))) {
		*ret_gone_ul = 0;
	}
	return next;
}

/* -- the search --------------------------------------------------------------- */

/* Baths that are put there but for standing behind the last of a pair: one each time that it can't rotate any more. */
static int only_seconds(const struct pairing *p, const struct place *at)
{
	int firsts = p->baths_after[at->first], each = p->s->rotations_most + 1, seconds = 0;
	if (at->behind > 0) {
		firsts -= at->rotations <= p->s->rotations_most ? each - at->rotations : 0;
		seconds++;
	}
	return seconds + (firsts > 0 ? (firsts + each - 1) / each : 0);
}

/* Could what is left serve the loads from here on? May say yes wrongly, never no. */
static bool can_still(const struct pairing *p, const struct place *at)
{
	wide all = 0, baths = 0;
	int seconds = only_seconds(p, at), workings = 0;
	for (int i = 0; i < p->shelf->lot_count; i++) {
		const struct lot *lot = &p->k->lots[p->shelf->first_lot + i];
		int64_t left = lot->stock_ul - lot->drawn_ul;
		baths += p->least_ul > 0 ? left / p->least_ul : 2 * p->loads;
		all += left >= p->least_ul ? plan_area_from(p->s, left, 2 * p->loads) : 0;
	}
	for (int i = 0; i < p->k->ask->working_count; i++) {
		const struct wet_plan_working *w = &p->k->ask->workings[i];
		if (w->solution == p->solution && plan_is_usable(p->k, w) && !plan_is_taken(p->now, i)) {
			all += plan_working_left(p->k, w);
			workings++;
		}
	}
	if (baths + workings < p->baths_after[at->first] + seconds)
		return false;
	if (seconds > workings) /* the stock in those serves no load */
		all -= (wide)(seconds - workings) * p->least_mm2;
	return all >= p->area_after[at->first];
}

/* How many firsts the loads take at least: each bath as many as the largest could, one after the other. */
static void count_baths(struct pairing *p)
{
	int64_t most = plan_capacity(p->s, plan_most_ul(p->k->ask, p->solution));
	for (int i = 0; i < p->k->ask->working_count; i++) {
		const struct wet_plan_working *w = &p->k->ask->workings[i];
		if (w->solution == p->solution && plan_is_usable(p->k, w) && plan_working_left(p->k, w) > most)
			most = plan_working_left(p->k, w);
	}
	for (int i = p->loads - 1; i >= 0; i--) {
		int to = i;
		while (to < p->loads && p->area_after[i] - p->area_after[to + 1] <= most)
			to++;
		p->baths_after[i] = 1 + p->baths_after[to > i ? to : i + 1];
	}
}

static void take(struct pairing *p)
{
	int64_t gone = p->now->gone_ul;
	int better = -1, entries = 2 * p->loads;
	p->now->gone_ul += plan_too_little(p->k, p->shelf);
	if (p->has_best) {
		better = plan_compare_ages(p->now, p->best, entries);
		if (better == 0 && p->now->gone_ul != p->best->gone_ul)
			better = p->now->gone_ul < p->best->gone_ul ? -1 : 1;
		else if (better == 0)
			better = plan_compare_ids(p->now, p->best, entries);
	}
	if (!p->has_best || plan_compare_ages(p->now, p->best, entries) < 0)
		p->best_number++;
	if (better < 0)
		plan_copy_draws(p->best, p->now, entries);
	p->has_best = true;
	p->most = p->k->wants_any ? 0 : p->most;
	p->taken++;
	p->now->gone_ul = gone;
}

/* The entries that are known while a bath is sought for this place. */
static int entry_at(const struct place *at)
{
	return at->behind > 0 ? 2 * (at->first - at->behind) + 1 : 2 * at->first;
}

/* No source from `next` on makes the row better than the best; none at all is over `largest`. */
static bool is_beaten(const struct pairing *p, const struct place *at, int64_t next, int64_t largest)
{
	int known = entry_at(at);
	if (!p->has_best)
		return false;
	for (int i = 0; i < 2 * p->loads; i++) {
		bool is_here = i == known || (i > known && i < 2 * at->first && i % 2 == 1);
		bool is_known = i < known || (i < 2 * at->first && i % 2 == 0);
		int64_t at_most = is_known ? p->now->age[i] : is_here ? next : largest;
		if (p->best->age[i] != at_most)
			return p->best->age[i] > at_most;
	}
	if (p->now->gone_ul != p->best->gone_ul)
		return p->now->gone_ul > p->best->gone_ul;
	for (int i = 0; i < known; i++)
		if (p->now->id[i] != p->best->id[i])
			return p->now->id[i] > p->best->id[i];
	return false;
}

static void write_entries(struct pairing *p, const struct turn *t, const struct origin *o)
{
	for (int i = t->first - t->behind; i < t->first + t->run; i++) {
		int entry = i < t->first ? 2 * i + 1 : 2 * i;
		p->now->age[entry] = o->entry;
		p->now->id[entry] = o->id;
	}
}

/* Are all entries that are known by now those of the best? */
static bool is_like_best(const struct pairing *p, const struct place *at)
{
	for (int i = 0; p->has_best && i < 2 * at->first; i++)
		if ((i % 2 == 0 || i < entry_at(at)) && p->now->age[i] != p->best->age[i])
			return false;
	return p->has_best;
}

static struct learnt *learnt_of(struct pairing *p, const struct place *at, int64_t *ret_gone)
{
	uint64_t words[STATE_WORDS] = { (uint64_t)at->first | (uint64_t)at->behind << 16 | (uint64_t)at->rotations << 32 |
										(uint64_t)at->is_first_spent << 63,
									(uint64_t)at->done_mm2 };
	*ret_gone = p->now->gone_ul;
	int count = plan_state_words(p->k, p->solution, p->least_ul, words, 2, ret_gone);
	if (words[2] == 0) /* no working solution is there to be compared with it */
		words[1] = 0;
	return plan_memo_of(&p->k->memo, words, count, 0);
}

static void pair_from(struct pairing *p, const struct place *at);

static void try_origins(struct pairing *p, const struct place *at)
{
	struct origin o, last;
	bool has_last = false;
	int64_t largest = 0;
	while (p->work <= p->most && next_origin(p, has_last ? &last : NULL, &o)) {
		struct turn t;
		int64_t gone;
		largest = has_last ? largest : o.entry;
		last = o;
		has_last = true;
		if (is_beaten(p, at, o.entry, largest)) {
			p->passed_over++;
			return; /* those that follow have smaller entries still */
		}
		if (!make_turn(p, at, &o, &t))
			continue;
		struct place next = place_behind(p, at, &t, &gone);
		write_entries(p, &t, &o);
		p->now->turns[p->now->turn_count++] = t;
		p->now->gone_ul += gone;
		if (!t.is_working)
			p->k->lots[t.source].drawn_ul += t.stock_ul;
		pair_from(p, &next);
		if (!t.is_working)
			p->k->lots[t.source].drawn_ul -= t.stock_ul;
		p->now->gone_ul -= gone;
		p->now->turn_count--;
	}
}

static void pair_from(struct pairing *p, const struct place *at)
{
	uint64_t taken = p->taken, passed_over = p->passed_over;
	int64_t gone;
	if (++p->work > p->most) {
		p->k->is_proven = false;
		return;
	}
	if (at->first == p->loads && at->behind == 0) {
		take(p);
		return;
	}
	if (!can_still(p, at))
		return;
	struct learnt *l = learnt_of(p, at, &gone);
	if (l != NULL && (l->is_barren || (l->best == p->best_number && l->gone_ul <= gone && is_like_best(p, at)))) {
		p->passed_over += !l->is_barren;
		return;
	}
	try_origins(p, at);
	if (l == NULL || p->work > p->most)
		return;
	l->is_barren = taken == p->taken && passed_over == p->passed_over;
	l->best = is_like_best(p, at) ? p->best_number : 0;
	l->gone_ul = gone;
}

bool plan_draw_pairs(struct search *k, int solution, int loads)
{
	struct pairing p = { .k = k,
						 .s = &k->ask->solutions[solution],
						 .shelf = &k->shelves[solution],
						 .solution = solution,
						 .loads = loads,
						 .most = k->draw_most,
						 .now = &k->tried[solution],
						 .best = &k->found[solution] };
	struct place begin = { .first = 0 };
	for (int i = loads - 1; i >= 0; i--)
		p.area_after[i] = p.area_after[i + 1] + k->areas[i];
	int64_t smallest = INT64_MAX;
	for (int i = 0; i < loads; i++)
		smallest = k->areas[i] < smallest ? k->areas[i] : smallest;
	p.least_ul = plan_stock(p.s, plan_volume_for(k, solution, 0, smallest));
	p.least_mm2 = plan_capacity(p.s, plan_least_ul(k->ask, solution)) - 1;
	count_baths(&p);
	p.now->turn_count = 0;
	p.now->mixed = 0;
	p.now->gone_ul = 0;
	plan_memo_clear(&k->memo);
	pair_from(&p, &begin);
	k->work += p.work;
	return p.has_best;
}
