/* plan_draw.c: from which bottles the baths of one solution come, for loads that are given.
 *
 * A search in depth, bath by bath, the oldest source first, so that the first way found is nearly always
 * the best; a branch that the keys cannot make better than the best so far is not entered, nor is a state of the shelf
 * that was gone through before on keys as good: bottles alike in age lead to the same states in many ways. */
#include "chemistry/plan_inside.h"

#include <string.h>

#define PPM 1000000LL

static int64_t ceil_div(wide n, wide d)
{
	return (int64_t)((n + d - 1) / d);
}

static int64_t larger(int64_t a, int64_t b)
{
	return a > b ? a : b;
}

int64_t plan_least_ul(const struct wet_plan_ask *ask, int solution)
{
	const struct wet_plan_solution *s = &ask->solutions[solution];
	return s->most_ul > 0 ? s->least_ul : ask->vessel.least_ul;
}

int64_t plan_most_ul(const struct wet_plan_ask *ask, int solution)
{
	const struct wet_plan_solution *s = &ask->solutions[solution];
	return s->most_ul > 0 ? s->most_ul : ask->vessel.most_ul;
}

int64_t plan_concentrate(const struct wet_plan_solution *s, int64_t area_mm2)
{
	int64_t stock = ceil_div((wide)s->least_stock_ul_per_m2 * area_mm2, PPM);
	return ceil_div((wide)stock * (s->stock_milli + s->water_milli), s->stock_milli);
}

int64_t plan_volume_for(const struct search *k, int solution, int64_t area_mm2, int64_t largest_mm2)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	int64_t volume = larger(plan_least_ul(k->ask, solution), ceil_div((wide)area_mm2 * PPM, s->capacity_mm2_per_l));
	return larger(volume, plan_concentrate(s, largest_mm2));
}

int64_t plan_volume(const struct search *k, int solution, int64_t area_mm2)
{
	return plan_volume_for(k, solution, area_mm2, area_mm2);
}

int64_t plan_stock(const struct wet_plan_solution *s, int64_t volume_ul)
{
	wide parts = (wide)s->stock_milli + s->water_milli;
	return (int64_t)(((wide)volume_ul * s->stock_milli * 2 + parts) / (parts * 2));
}

int64_t plan_capacity(const struct wet_plan_solution *s, int64_t volume_ul)
{
	return (int64_t)((wide)volume_ul * s->capacity_mm2_per_l / PPM);
}

bool plan_is_usable(const struct search *k, const struct wet_plan_working *w)
{
	return !k->ask->solutions[w->solution].is_one_shot && w->volume_ul >= plan_least_ul(k->ask, w->solution) &&
		   (k->ignores_age || w->age_ns <= w->keeps_ns);
}

int64_t plan_working_left(const struct search *k, const struct wet_plan_working *w)
{
	const struct wet_plan_solution *s = &k->ask->solutions[w->solution];
	return larger(0, plan_capacity(s, w->volume_ul) - plan_counted(s, w->used_mm2, w->second_mm2));
}

/* -- the shelf ---------------------------------------------------------------- */

static bool comes_before(const struct search *k, int a, int b)
{
	const struct wet_plan_bottle *x = &k->ask->bottles[a], *y = &k->ask->bottles[b];
	if (x->solution != y->solution)
		return x->solution < y->solution;
	bool mixes = k->mixes_lots || k->ask->solutions[x->solution].may_mix_lots;
	if (!mixes && x->lot != y->lot)
		return x->lot < y->lot;
	if (x->age_ns != y->age_ns)
		return x->age_ns > y->age_ns;
	return x->id < y->id;
}

static bool are_one_lot(const struct search *k, int a, int b)
{
	const struct wet_plan_bottle *x = &k->ask->bottles[a], *y = &k->ask->bottles[b];
	return x->solution == y->solution &&
		   (k->mixes_lots || k->ask->solutions[x->solution].may_mix_lots || x->lot == y->lot);
}

void plan_shelve(struct search *k)
{
	int n = 0;
	memset(k->shelves, 0, sizeof k->shelves);
	k->lot_count = 0;
	for (int i = 0; i < k->ask->bottle_count; i++) {
		const struct wet_plan_bottle *b = &k->ask->bottles[i];
		if (b->stock_ul == 0 || (!k->ignores_age && b->age_ns > b->keeps_ns))
			continue;
		int at = n++;
		for (; at > 0 && comes_before(k, i, k->order[at - 1]); at--)
			k->order[at] = k->order[at - 1];
		k->order[at] = i;
	}
	for (int i = 0; i < n; i++) {
		const struct wet_plan_bottle *b = &k->ask->bottles[k->order[i]];
		struct shelf *shelf = &k->shelves[b->solution];
		if (i == 0 || !are_one_lot(k, k->order[i - 1], k->order[i])) {
			if (shelf->lot_count++ == 0)
				shelf->first_lot = k->lot_count;
			k->lots[k->lot_count++] = (struct lot){ .first = i };
		}
		struct lot *lot = &k->lots[k->lot_count - 1];
		lot->count++;
		lot->stock_ul += b->stock_ul;
		shelf->stock_ul += b->stock_ul;
	}
}

/* -- keys --------------------------------------------------------------------- */

int plan_compare_ages(const struct draws *a, const struct draws *b, int entries)
{
	for (int i = 0; i < entries; i++)
		if (a->age[i] != b->age[i])
			return a->age[i] > b->age[i] ? -1 : 1;
	return 0;
}

int plan_compare_ids(const struct draws *a, const struct draws *b, int entries)
{
	for (int i = 0; i < entries; i++)
		if (a->id[i] != b->id[i])
			return a->id[i] < b->id[i] ? -1 : 1;
	return 0;
}

/* -- the search --------------------------------------------------------------- */

struct drawing {
	struct search *k;
	const struct wet_plan_solution *s;
	const struct shelf *shelf;
	int solution, loads;
	int64_t smallest_mm2; /* of all pieces: a bath that cannot bear it is spent */
	struct draws *now, *best;
	uint64_t work, most;
	bool has_best;
	uint32_t best_number; /* counts the bests that were better by age */
	uint64_t taken;       /* ways that came to their end */
	uint64_t passed_over; /* branches that might end, but not better */
	/* of the loads from this one on: least stock of one, stock and area of all */
	int64_t least_after[WET_PLAN_PIECES + 1], need_after[WET_PLAN_PIECES + 1],
		area_after[WET_PLAN_PIECES + 1];
	unsigned char ranks[WET_PLAN_PIECES]; /* of now->id among all ids there are; not of one-shot baths */
	int baths_after[WET_PLAN_PIECES + 1]; /* fresh ones that the loads from this one on take at least; one-shot: 0 */
};

/* A source as it now stands: the one drawn from next, and what is left. */
struct source {
	bool is_working;
	int index;
	int64_t age_ns, id, left; /* uL of stock of a lot; mm2 of a working solution */
	int64_t head_ul;          /* left in the bottle drawn from next */
};

static bool source_of_lot(const struct drawing *d, int index, struct source *ret_source)
{
	struct head h;
	if (!plan_head(d->k, index, &h))
		return false;
	*ret_source = (struct source){ false, index, h.age_ns, h.id, h.left_ul, h.head_ul };
	return true;
}

static bool is_after(const struct source *a, const struct source *b)
{
	return a->age_ns != b->age_ns ? a->age_ns < b->age_ns : a->id > b->id;
}

/* The oldest source after `last` (NULL: of all); false: none is left. */
static bool next_source(const struct drawing *d, const struct source *last, struct source *ret_source)
{
	bool has = false;
	struct source s;
	const struct wet_plan_ask *ask = d->k->ask;
	for (int i = 0; i < d->shelf->lot_count; i++) {
		if (!source_of_lot(d, d->shelf->first_lot + i, &s))
			continue;
		if ((last == NULL || is_after(&s, last)) && (!has || is_after(ret_source, &s))) {
			*ret_source = s;
			has = true;
		}
	}
	for (int i = 0; i < ask->working_count; i++) {
		const struct wet_plan_working *w = &ask->workings[i];
		if (w->solution != d->solution || !plan_is_usable(d->k, w) || plan_is_taken(d->now, i))
			continue;
		s = (struct source){ true, i, w->age_ns + WORKING_AGE, w->id, plan_working_left(d->k, w), 0 };
		if ((last == NULL || is_after(&s, last)) && (!has || is_after(ret_source, &s))) {
			*ret_source = s;
			has = true;
		}
	}
	return has;
}

/* The bath that a source gives for up to `run_most` loads from `first` on; false: not even one. */
static bool make_turn(const struct drawing *d, const struct source *source, int first, int run_most, struct turn *ret_turn)
{
	int64_t most_ul = plan_most_ul(d->k->ask, d->solution);
	struct turn t = { .is_working = source->is_working, .source = source->index, .first = first };
	int64_t area = 0, largest = 0;
	if (t.is_working)
		t.volume_ul = d->k->ask->workings[t.source].volume_ul;
	for (int i = first; i < first + run_most; i++) {
		area += d->k->areas[i];
		largest = larger(largest, d->k->areas[i]);
		if (t.is_working) {
			int64_t poured = t.volume_ul < most_ul ? t.volume_ul : most_ul;
			if (area > source->left || plan_concentrate(d->s, largest) > poured)
				break;
		} else {
			int64_t volume = plan_volume_for(d->k, d->solution, area, largest);
			int64_t stock = plan_stock(d->s, volume);
			if (volume > most_ul || stock > source->left)
				break;
			t.volume_ul = volume;
			t.stock_ul = stock;
		}
		t.run++;
	}
	*ret_turn = t;
	return t.run > 0;
}

/* Area that so much stock bears at most, mixed in up to `baths` baths: stock is rounded, half a microlitre
 * a bath. */
int64_t plan_area_from(const struct wet_plan_solution *s, int64_t stock_ul, int baths)
{
	return plan_capacity(
		s, ceil_div((wide)(stock_ul + baths) * (s->stock_milli + s->water_milli), s->stock_milli));
}

bool plan_could_bear(const struct search *k, int solution, int64_t area_mm2)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	const struct shelf *shelf = &k->shelves[solution];
	int64_t piece = k->ask->sizes[k->least_size].area_mm2;
	int64_t least = plan_stock(s, plan_volume(k, solution, piece));
	int64_t least_second = plan_stock(s, plan_volume_for(k, solution, 0, piece));
	wide bears = 0, baths = 0;
	for (int i = 0; i < shelf->lot_count; i++) {
		int64_t stock = k->lots[shelf->first_lot + i].stock_ul;
		if (stock >= least)
			bears += plan_area_from(s, stock, 2 * WET_PLAN_PIECES);
		baths += least_second > 0 ? stock / least_second : 2;
	}
	for (int i = 0; i < k->ask->working_count; i++)
		if (k->ask->workings[i].solution == solution && plan_is_usable(k, &k->ask->workings[i])) {
			bears += plan_working_left(k, &k->ask->workings[i]);
			baths++;
		}
	return bears >= area_mm2 && baths >= (s->has_second ? 2 : 0);
}

/* Could what is left serve the loads from `first` on? May say yes wrongly, never no. */
static bool can_still(const struct drawing *d, int first)
{
	int64_t least = d->least_after[first], bottles = 0;
	wide have = 0, bears = 0;
	if (first == d->loads)
		return true;
	for (int i = 0; i < d->shelf->lot_count; i++) {
		const struct lot *lot = &d->k->lots[d->shelf->first_lot + i];
		int64_t left = lot->stock_ul - lot->drawn_ul;
		if (left < least)
			continue;
		have += left;
		bottles += least > 0 ? left / least : d->loads;
		if (!d->s->is_one_shot)
			bears += plan_area_from(d->s, left, d->loads);
	}
	if (d->s->is_one_shot)
		return have >= d->need_after[first] && bottles >= d->loads - first;
	for (int i = 0; i < d->k->ask->working_count; i++) {
		const struct wet_plan_working *w = &d->k->ask->workings[i];
		if (w->solution == d->solution && plan_is_usable(d->k, w) && !plan_is_taken(d->now, i))
			bears += plan_working_left(d->k, w);
	}
	return bears >= d->area_after[first];
}

/* Stock of this bath that is gone when it has served. */
static int64_t gone_in(const struct drawing *d, const struct turn *t)
{
	int64_t area = 0;
	if (t->is_working)
		return 0;
	if (d->s->is_one_shot)
		return t->stock_ul;
	for (int i = 0; i < t->run; i++)
		area += d->k->areas[t->first + i];
	return plan_capacity(d->s, t->volume_ul) - area < d->smallest_mm2 ? t->stock_ul : 0;
}

int64_t plan_too_little_in(const struct search *k, const struct lot *lot)
{
	int64_t sum = 0, drawn = lot->drawn_ul;
	for (int i = 0; i < lot->count && drawn > 0; i++) {
		int64_t stock = k->ask->bottles[k->order[lot->first + i]].stock_ul;
		if (drawn < stock && stock - drawn < k->ask->measure_least_ul)
			sum += stock - drawn;
		drawn -= drawn < stock ? drawn : stock;
	}
	return sum;
}

int64_t plan_too_little(const struct search *k, const struct shelf *shelf)
{
	int64_t sum = 0;
	for (int i = 0; i < shelf->lot_count; i++)
		sum += plan_too_little_in(k, &k->lots[shelf->first_lot + i]);
	return sum;
}

void plan_copy_draws(struct draws *to, const struct draws *from, int entries)
{
	to->turn_count = from->turn_count;
	to->mixed = from->mixed;
	to->gone_ul = from->gone_ul;
	memcpy(to->turns, from->turns, (size_t)from->turn_count * sizeof *to->turns);
	memcpy(to->age, from->age, (size_t)entries * sizeof *to->age);
	memcpy(to->id, from->id, (size_t)entries * sizeof *to->id);
}

static void take(struct drawing *d)
{
	int64_t gone = d->now->gone_ul;
	d->now->gone_ul += plan_too_little(d->k, d->shelf);
	int better = -1;
	if (d->has_best) { /* by age it is never better: ways are met in that order */
		better = plan_compare_ages(d->now, d->best, d->loads);
		if (better == 0)
			better = d->now->mixed != d->best->mixed     ? (d->now->mixed < d->best->mixed ? -1 : 1)
					 : d->now->gone_ul != d->best->gone_ul ? (d->now->gone_ul < d->best->gone_ul ? -1 : 1)
														   : plan_compare_ids(d->now, d->best, d->loads);
	}
	if (!d->has_best || plan_compare_ages(d->now, d->best, d->loads) < 0)
		d->best_number++;
	if (better < 0)
		plan_copy_draws(d->best, d->now, d->loads);
	d->has_best = true;
	d->most = d->k->wants_any ? 0 : d->most;
	d->taken++;
	d->now->gone_ul = gone;
}

/* How the entries so far stand against the best: -1 better, 0 alike, 1 worse. */
static int standing(const int64_t *now, const int64_t *best, int count, bool is_more_better)
{
	for (int i = 0; i < count; i++)
		if (now[i] != best[i])
			return (now[i] > best[i]) == is_more_better ? -1 : 1;
	return 0;
}

/* Left, too little to measure, in lots that no load to come can be drawn from: that much is gone for
 * certain. */
static int64_t surely_left(const struct drawing *d, int first)
{
	int64_t sum = 0;
	struct source s;
	for (int i = 0; i < d->shelf->lot_count; i++) {
		int index = d->shelf->first_lot + i;
		int64_t drawn = d->k->lots[index].drawn_ul;
		if (drawn > 0 && source_of_lot(d, index, &s) && s.left < d->least_after[first] &&
			s.head_ul == s.left && s.left < d->k->ask->measure_least_ul &&
			s.left < d->k->ask->bottles[d->k->order[d->k->lots[index].first + d->k->lots[index].count - 1]]
						 .stock_ul)
			sum += s.left;
	}
	return sum;
}

/* One-shot baths: a lot serves no more loads than the least of them goes into it. Even if all its bottles
 * were as old as the one drawn from next, does what is left beat the best? -1: by age it may; 0: it may
 * equal it; 1: it can't. */
static int oldest_to_come(const struct drawing *d, int first)
{
	struct source s, last;
	bool has_last = false;
	while (first < d->loads && next_source(d, has_last ? &last : NULL, &s)) {
		int64_t serves = d->least_after[first] > 0 ? s.left / d->least_after[first] : d->loads;
		for (; serves > 0 && first < d->loads; serves--, first++)
			if (s.age_ns != d->best->age[first])
				return s.age_ns > d->best->age[first] ? -1 : 1;
		last = s;
		has_last = true;
	}
	return 0;
}

/* The same for a whole branch of one-shot baths. */
static bool is_branch_beaten(const struct drawing *d, int first)
{
	if (!d->has_best || !d->s->is_one_shot)
		return false;
	int ages = standing(d->now->age, d->best->age, first, true);
	if (ages == 0)
		ages = oldest_to_come(d, first);
	if (ages != 0)
		return ages > 0;
	int64_t gone = d->need_after[0] + surely_left(d, first);
	if (gone != d->best->gone_ul)
		return gone > d->best->gone_ul;
	return standing(d->now->id, d->best->id, first, false) > 0;
}

/* Fresh baths that must still be mixed for the loads from this one on, at least: the working solutions serve as much area as
 * they can, then the lots that hold most, each bath as large as the vessel or the lot allows. */
static int least_mixed(const struct drawing *d, int first)
{
	int64_t area = d->area_after[first], whole = plan_capacity(d->s, plan_most_ul(d->k->ask, d->solution));
	int64_t rests[WET_PLAN_SOURCES];
	int64_t wholes = 0;
	int lots = 0, baths = 0, count = 0;
	if (d->s->is_one_shot || whole == 0)
		return 0;
	for (int i = 0; i < d->k->ask->working_count; i++) {
		const struct wet_plan_working *w = &d->k->ask->workings[i];
		if (w->solution == d->solution && plan_is_usable(d->k, w) && !plan_is_taken(d->now, i))
			area -= plan_working_left(d->k, w);
	}
	if (area == d->area_after[first])
		baths = d->baths_after[first];
	for (int i = 0; i < d->shelf->lot_count; i++) {
		const struct lot *lot = &d->k->lots[d->shelf->first_lot + i];
		int64_t bears = plan_area_from(d->s, lot->stock_ul - lot->drawn_ul, d->loads), rest = bears % whole;
		int at = lots++;
		wholes += bears / whole;
		for (; at > 0 && rests[at - 1] < rest; at--)
			rests[at] = rests[at - 1];
		rests[at] = rest;
	}
	for (; area > 0 && wholes > 0; wholes--, count++)
		area -= whole;
	for (int i = 0; i < lots && area > 0; i++, count++)
		area -= rests[i];
	return count > baths ? count : baths;
}

/* Fresh baths that the loads from each one on take at least: one after the other as many loads as the vessel allows. */
static void count_baths(struct drawing *d)
{
	int64_t most_ul = plan_most_ul(d->k->ask, d->solution);
	for (int i = d->loads - 1; i >= 0; i--) {
		int64_t area = 0, largest = 0;
		int to = i;
		for (; to < d->loads; to++) {
			area += d->k->areas[to];
			largest = larger(largest, d->k->areas[to]);
			if (plan_volume_for(d->k, d->solution, area, largest) > most_ul)
				break;
		}
		d->baths_after[i] = 1 + d->baths_after[to > i ? to : i + 1];
	}
}

/* Nothing that goes on like this beats the best: for load `first` there is no source left that is older
 * than `next`, and for those after it none older than `oldest`, which may have been too little for this
 * one. */
static bool is_beaten(const struct drawing *d, int first, int64_t next, int64_t oldest)
{
	if (!d->has_best)
		return false;
	int ages = standing(d->now->age, d->best->age, first, true);
	if (ages != 0)
		return ages > 0;
	for (int i = first; i < d->loads; i++) {
		int64_t at_most = i == first ? next : oldest;
		if (d->best->age[i] != at_most)
			return d->best->age[i] > at_most;
	}
	int mixed = d->now->mixed + least_mixed(d, first);
	if (mixed != d->best->mixed)
		return mixed > d->best->mixed;
	int64_t gone = d->s->is_one_shot ? d->need_after[0] : d->now->gone_ul;
	if (gone != d->best->gone_ul)
		return gone > d->best->gone_ul;
	return standing(d->now->id, d->best->id, first, false) > 0;
}

static void draw_from(struct drawing *d, int first);

/* How many ids of this solution's bottles and working solutions are lower. */
static unsigned char rank_of(const struct drawing *d, int64_t id)
{
	const struct wet_plan_ask *ask = d->k->ask;
	int lower = 0;
	for (int i = 0; i < ask->bottle_count; i++)
		lower += ask->bottles[i].solution == d->solution && ask->bottles[i].id < id;
	for (int i = 0; i < ask->working_count; i++)
		lower += ask->workings[i].solution == d->solution && ask->workings[i].id < id;
	return (unsigned char)lower;
}

/* A bath that is used again may serve as many loads as it could, or fewer: a later one may then be drawn from what is
 * left. The most first, for that is nearly always the best. */
static void try_turns(struct drawing *d, const struct source *source, int first)
{
	struct turn t;
	int most = d->s->is_one_shot ? 1 : d->loads - first;
	unsigned char rank = d->s->is_one_shot ? 0 : rank_of(d, source->id);
	while (most > 0 && d->work <= d->most && make_turn(d, source, first, most, &t)) {
		int64_t gone = d->now->gone_ul;
		for (int i = 0; i < t.run; i++) {
			d->now->age[first + i] = source->age_ns;
			d->now->id[first + i] = source->id;
			d->ranks[first + i] = rank;
		}
		d->now->turns[d->now->turn_count++] = t;
		d->now->gone_ul += gone_in(d, &t);
		d->now->mixed += !t.is_working && !d->s->is_one_shot;
		if (!t.is_working)
			d->k->lots[t.source].drawn_ul += t.stock_ul;
		draw_from(d, first + t.run);
		if (!t.is_working)
			d->k->lots[t.source].drawn_ul -= t.stock_ul;
		d->now->mixed -= !t.is_working && !d->s->is_one_shot;
		d->now->gone_ul = gone;
		d->now->turn_count--;
		most = t.run - 1;
	}
}

static void try_sources(struct drawing *d, int first)
{
	struct source source, last;
	bool has_last = false;
	int64_t oldest = 0;
	while (d->work <= d->most && next_source(d, has_last ? &last : NULL, &source)) {
		last = source;
		oldest = has_last ? oldest : source.age_ns;
		has_last = true;
		if (is_beaten(d, first, source.age_ns, oldest)) {
			d->passed_over++;
			return; /* the sources that follow are younger still */
		}
		try_turns(d, &source, first);
	}
}

/* In a state that was gone through before, on the same ages as the best has: can it only come out as bad or worse? With
 * more mixed, with more gone, or with ids that are no lower. One-shot baths meet ids in rising order, so that a second time
 * is always later; baths that may serve fewer loads than they could do not: for them the ids of the time before are kept
 * behind the state. */
static bool is_no_better(const struct drawing *d, int first, const struct learnt *l, int64_t gone)
{
	if (l->mixed != d->now->mixed)
		return l->mixed < d->now->mixed;
	if (l->gone_ul != gone || d->s->is_one_shot)
		return l->gone_ul <= gone;
	return memcmp(d->ranks, &d->k->memo.words[l->first + (uint32_t)l->count], (size_t)first) >= 0;
}

static void draw_from(struct drawing *d, int first)
{
	uint64_t words[STATE_WORDS] = { (uint64_t)first }, taken = d->taken, passed_over = d->passed_over;
	int64_t gone = d->now->gone_ul;
	if (++d->work > d->most) {
		d->k->is_proven = false;
		return;
	}
	if (first == d->loads) {
		take(d);
		return;
	}
	if (!can_still(d, first))
		return;
	if (is_branch_beaten(d, first)) {
		d->passed_over++;
		return;
	}
	bool is_like_best = d->has_best && standing(d->now->age, d->best->age, first, true) == 0;
	int count = plan_state_words(d->k, d->solution, d->least_after[first], words, 1, &gone);
	struct learnt *l = plan_memo_of(&d->k->memo, words, count, d->s->is_one_shot ? 0 : (first + 7) / 8);
	if (l != NULL && (l->is_barren || (is_like_best && l->best == d->best_number && is_no_better(d, first, l, gone)))) {
		d->passed_over += !l->is_barren;
		return;
	}
	try_sources(d, first);
	if (l == NULL || d->work > d->most)
		return;
	is_like_best = d->has_best && standing(d->now->age, d->best->age, first, true) == 0;
	l->is_barren = taken == d->taken && passed_over == d->passed_over;
	l->best = is_like_best ? d->best_number : 0;
	l->mixed = d->now->mixed;
	l->gone_ul = gone;
	if (!d->s->is_one_shot)
		memcpy(&d->k->memo.words[l->first + (uint32_t)l->count], d->ranks, (size_t)first);
}

bool plan_draw(struct search *k, int solution, int loads)
{
	if (k->ask->solutions[solution].has_second)
		return plan_draw_pairs(k, solution, loads);
	struct drawing d = { .k = k,
						 .s = &k->ask->solutions[solution],
						 .shelf = &k->shelves[solution],
						 .solution = solution,
						 .loads = loads,
						 .most = k->draw_most,
						 .smallest_mm2 = k->ask->sizes[k->least_size].area_mm2,
						 .now = &k->tried[solution],
						 .best = &k->found[solution] };
	d.least_after[loads] = INT64_MAX;
	for (int i = loads - 1; i >= 0; i--) {
		int64_t stock = plan_stock(d.s, plan_volume(k, solution, k->areas[i]));
		d.least_after[i] = stock < d.least_after[i + 1] ? stock : d.least_after[i + 1];
		d.need_after[i] = d.need_after[i + 1] + stock;
		d.area_after[i] = d.area_after[i + 1] + k->areas[i];
	}
	d.now->turn_count = 0;
	d.now->mixed = 0;
	d.now->gone_ul = 0;
	if (!d.s->is_one_shot)
		count_baths(&d);
	plan_memo_clear(&k->memo);
	draw_from(&d, 0);
	k->work += d.work;
	return d.has_best;
}
