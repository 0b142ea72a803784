/* plan_ways.c: every way to split pieces and to draw from bottles, one by one. */
#include "plan_ways.h"

#include <string.h>

__extension__ typedef __int128 wide;

/* -- the rules as they are written --------------------------------------------- */

int64_t ways_stock_in(const struct wet_plan_solution *s, int64_t volume)
{
	long double exact =
		(long double)volume * (long double)s->stock_milli / (long double)(s->stock_milli + s->water_milli);
	return (int64_t)(exact + 0.5L);
}

struct wet_plan_vessel ways_vessel_of(const struct wet_plan_ask *ask, int solution)
{
	struct wet_plan_vessel vessel = ask->vessel;
	if (ask->solutions[solution].most_ul > 0) {
		vessel.least_ul = ask->solutions[solution].least_ul;
		vessel.most_ul = ask->solutions[solution].most_ul;
	}
	return vessel;
}

int64_t ways_volume_needed(const struct wet_plan_ask *ask, int solution, int64_t area, int64_t largest)
{
	const struct wet_plan_solution *s = &ask->solutions[solution];
	int64_t volume = ways_vessel_of(ask, solution).least_ul;
	int64_t by_area = (int64_t)((wide)area * 1000000 / s->capacity_mm2_per_l);
	int64_t stock = (int64_t)((wide)s->least_stock_ul_per_m2 * largest / 1000000);
	while ((wide)by_area * s->capacity_mm2_per_l < (wide)area * 1000000)
		by_area++;
	while ((wide)stock * 1000000 < (wide)s->least_stock_ul_per_m2 * largest)
		stock++;
	int64_t by_stock = (int64_t)((wide)stock * (s->stock_milli + s->water_milli) / s->stock_milli);
	while ((wide)by_stock * s->stock_milli < (wide)stock * (s->stock_milli + s->water_milli))
		by_stock++;
	volume = by_area > volume ? by_area : volume;
	return by_stock > volume ? by_stock : volume;
}

bool ways_may_mix(const struct wet_plan_ask *ask, const struct wet_plan_bottle *a,
				  const struct wet_plan_bottle *b)
{
	return a->solution == b->solution && (a->lot == b->lot || ask->solutions[a->solution].may_mix_lots);
}

int64_t ways_counted(const struct wet_plan_solution *s, int64_t as_first, int64_t as_second)
{
	int64_t share = (int64_t)((wide)as_second * s->second_share_ppm / 1000000);
	if ((wide)share * 1000000 < (wide)as_second * s->second_share_ppm)
		share++;
	return as_first + share;
}

int ways_entries(const struct wet_plan_ask *ask, int solution, int loads)
{
	return ask->solutions[solution].has_second ? loads + loads : loads;
}

int64_t ways_smallest_piece(const struct wet_plan_ask *ask)
{
	int64_t least = INT64_MAX;
	for (int i = 0; i < ask->size_count; i++)
		if (ask->sizes[i].count > 0 && ask->sizes[i].area_mm2 < least)
			least = ask->sizes[i].area_mm2;
	return least;
}

/* -- keys ---------------------------------------------------------------------- */

/* Negative: a is better. `key` is told. */
int ways_compare(const struct wet_plan_ask *ask, const struct ways_keys *a, const struct ways_keys *b,
				 int *key)
{
	*key = 1;
	if (a->loads != b->loads)
		return a->loads < b->loads ? -1 : 1;
	*key = 2;
	if (a->squares != b->squares)
		return a->squares < b->squares ? -1 : 1;
	*key = 3;
	for (int s = 0; s < ask->solution_count; s++)
		for (int i = 0; i < ways_entries(ask, s, a->loads); i++)
			if (a->age[s][i] != b->age[s][i])
				return a->age[s][i] > b->age[s][i] ? -1 : 1;
	*key = 4;
	if (a->mixed != b->mixed)
		return a->mixed < b->mixed ? -1 : 1;
	*key = 5;
	if (a->gone != b->gone)
		return a->gone < b->gone ? -1 : 1;
	*key = 6;
	for (int s = 0; s < ask->solution_count; s++) {
		for (int i = 0; i < ways_entries(ask, s, a->loads); i++)
			if (a->id[s][i] != b->id[s][i])
				return a->id[s][i] < b->id[s][i] ? -1 : 1;
		if (a->baths[s] != b->baths[s])
			return a->baths[s] < b->baths[s] ? -1 : 1;
	}
	*key = 0;
	return 0;
}

/* -- exhaustive search --------------------------------------------------------- */

static const struct wet_plan_ask *now;
static struct ways_keys trying, best;
static int64_t areas[WAYS_PIECES], left_ul[WET_PLAN_SOURCES];
static bool is_touched[WET_PLAN_SOURCES], is_used[WET_PLAN_SOURCES];

static void next_solution(int solution);

/* The bottle that is drawn next of those that may be mixed with `of`; -1: they are empty. */
static int head_of(int of)
{
	int head = -1;
	for (int i = 0; i < now->bottle_count; i++) {
		const struct wet_plan_bottle *b = &now->bottles[i];
		if (left_ul[i] == 0 || b->age_ns > b->keeps_ns || !ways_may_mix(now, b, &now->bottles[of]))
			continue;
		if (head < 0 || b->age_ns > now->bottles[head].age_ns ||
			(b->age_ns == now->bottles[head].age_ns && b->id < now->bottles[head].id))
			head = i;
	}
	return head;
}

static int64_t left_in_lot(int of)
{
	int64_t sum = 0;
	for (int i = 0; i < now->bottle_count; i++)
		if (ways_may_mix(now, &now->bottles[i], &now->bottles[of]) &&
			now->bottles[i].age_ns <= now->bottles[i].keeps_ns)
			sum += left_ul[i];
	return sum;
}

static void bath_from(int solution, int first);

static void serve(int solution, int first, int run, int64_t age, int64_t id, int64_t gone)
{
	for (int i = first; i < first + run; i++) {
		trying.age[solution][i] = age;
		trying.id[solution][i] = id;
	}
	trying.gone += gone;
	trying.baths[solution]++;
	bath_from(solution, first + run);
	trying.baths[solution]--;
	trying.gone -= gone;
}

/* A fresh bath for exactly `run` loads. */
static void mix_for(int solution, int first, int run, int head)
{
	const struct wet_plan_solution *s = &now->solutions[solution];
	int64_t kept_ul[WET_PLAN_SOURCES], area = 0, largest = 0;
	bool kept_touched[WET_PLAN_SOURCES];
	for (int i = first; i < first + run; i++) {
		area += areas[i];
		largest = areas[i] > largest ? areas[i] : largest;
	}
	int64_t volume = ways_volume_needed(now, solution, area, largest), stock = ways_stock_in(s, volume);
	if (volume > ways_vessel_of(now, solution).most_ul || stock > left_in_lot(head))
		return;
	memcpy(kept_ul, left_ul, sizeof left_ul);
	memcpy(kept_touched, is_touched, sizeof is_touched);
	for (int64_t more = stock; more > 0;) {
		int b = head_of(head);
		int64_t take = left_ul[b] < more ? left_ul[b] : more;
		left_ul[b] -= take;
		is_touched[b] = true;
		more -= take;
	}
	bool is_spent =
		s->is_one_shot || (wide)volume * s->capacity_mm2_per_l / 1000000 - area < ways_smallest_piece(now);
	trying.mixed += !s->is_one_shot;
	serve(solution, first, run, now->bottles[head].age_ns, now->bottles[head].id, is_spent ? stock : 0);
	trying.mixed -= !s->is_one_shot;
	memcpy(left_ul, kept_ul, sizeof left_ul);
	memcpy(is_touched, kept_touched, sizeof is_touched);
}

static void mix_from(int solution, int first, int head)
{
	int most = now->solutions[solution].is_one_shot ? 1 : trying.loads - first;
	for (int run = 1; run <= most; run++)
		mix_for(solution, first, run, head);
}

static void bath_from(int solution, int first)
{
	if (first == trying.loads) {
		next_solution(solution + 1);
		return;
	}
	for (int i = 0; i < now->bottle_count; i++)
		if (now->bottles[i].solution == solution && left_ul[i] > 0 && head_of(i) == i)
			mix_from(solution, first, i);
	struct wet_plan_vessel vessel = ways_vessel_of(now, solution);
	for (int i = 0; i < now->working_count; i++) {
		const struct wet_plan_working *w = &now->workings[i];
		const struct wet_plan_solution *s = &now->solutions[solution];
		if (w->solution != solution || s->is_one_shot || is_used[i] || w->age_ns > w->keeps_ns ||
			w->volume_ul < vessel.least_ul)
			continue;
		int64_t bears = (int64_t)((wide)w->volume_ul * s->capacity_mm2_per_l / 1000000) - w->used_mm2;
		int64_t poured = w->volume_ul < vessel.most_ul ? w->volume_ul : vessel.most_ul;
		int run = 0;
		while (first + run < trying.loads && areas[first + run] <= bears) {
			struct wet_plan_ask tall = *now; /* the concentrate alone */
			tall.vessel.least_ul = 1;
			tall.solutions[solution].most_ul = 0;
			tall.solutions[solution].capacity_mm2_per_l = INT32_MAX;
			if (ways_volume_needed(&tall, solution, 1, areas[first + run]) > poured)
				break;
			bears -= areas[first + run++];
		}
		is_used[i] = true;
		for (; run > 0; run--)
			serve(solution, first, run, w->age_ns + WAYS_OLDER, w->id, 0);
		is_used[i] = false;
	}
}

/* -- two baths: pair after pair ------------------------------------------------- */

/* A bath that is chosen: which, and what it has done by now in either place. */
struct chosen {
	int working, head; /* one of the two is -1 */
	int rotations;
	int64_t books;     /* counted before the plan */
	int64_t as_first, as_second, volume, stock;
};

static void pair_from(int solution, int from);

/* Loads [from, to) are fixed in it as the first, [behind, from) passed through it as the second. May it be so? A fresh
 * bath is given the volume for that. */
static bool may_serve(int solution, struct chosen *c, int behind, int from, int to)
{
	const struct wet_plan_solution *s = &now->solutions[solution];
	int64_t first = c->as_first, second = c->as_second, largest = 0;
	for (int i = behind; i < to; i++) {
		*(i < from ? &second : &first) += areas[i];
		largest = areas[i] > largest ? areas[i] : largest;
	}
	if (to > from && c->rotations > s->rotations_most)
		return false;
	int64_t counted = ways_counted(s, first, second);
	struct wet_plan_vessel vessel = ways_vessel_of(now, solution);
	if (c->working < 0) {
		c->volume = ways_volume_needed(now, solution, counted, largest);
		c->stock = ways_stock_in(s, c->volume);
		return c->volume <= vessel.most_ul && c->stock <= left_in_lot(c->head);
	}
	struct wet_plan_ask tall = *now; /* the concentrate alone */
	tall.vessel.least_ul = 1;
	tall.solutions[solution].most_ul = 0;
	tall.solutions[solution].capacity_mm2_per_l = INT32_MAX;
	return (wide)counted * 1000000 <= (wide)c->volume * s->capacity_mm2_per_l &&
		   ways_volume_needed(&tall, solution, 1, largest) <=
			   (c->volume < vessel.most_ul ? c->volume : vessel.most_ul);
}

/* The most loads from `from` on that it can be the first of, once it was the second of [behind, from); -1: it can't even
 * have been that. It is made for them. */
static int serve_most(int solution, struct chosen *c, int behind, int from)
{
	int to = trying.loads;
	while (to >= from && !may_serve(solution, c, behind, from, to))
		to--;
	return to - from;
}

static void draw_stock(int head, int64_t stock)
{
	while (stock > 0) {
		int b = head_of(head);
		int64_t taken = left_ul[b] < stock ? left_ul[b] : stock;
		left_ul[b] -= taken;
		is_touched[b] = true;
		stock -= taken;
	}
}

static void note(int solution, const struct chosen *c, int behind, int from, int to)
{
	const struct wet_plan_working *w = c->working >= 0 ? &now->workings[c->working] : NULL;
	const struct wet_plan_bottle *b = w ? NULL : &now->bottles[c->head];
	for (int i = behind; i < to; i++) {
		int entry = 2 * i + (i < from);
		trying.age[solution][entry] = w ? WAYS_OLDER + c->books : b->age_ns;
		trying.id[solution][entry] = w ? w->id : b->id;
	}
}

static bool is_useful(int solution, const struct chosen *c, int behind, int from, int to)
{
	const struct wet_plan_solution *s = &now->solutions[solution];
	int64_t first = c->as_first, second = c->as_second;
	for (int i = behind; i < to; i++)
		*(i < from ? &second : &first) += areas[i];
	return c->rotations <= s->rotations_most &&
		   (int64_t)((wide)c->volume * s->capacity_mm2_per_l / 1000000) - ways_counted(s, first, second) >=
			   ways_smallest_piece(now);
}

/* Every bath that may stand there: `first` NULL begins a pair. */
static void choose(int solution, const struct chosen *first, int before, int behind, int from)
{
	for (int i = 0; i < now->working_count + now->bottle_count; i++) {
		struct chosen c = { .working = -1, .head = -1 };
		if (i < now->working_count) {
			const struct wet_plan_working *w = &now->workings[i];
			if (w->solution != solution || is_used[i] || w->age_ns > w->keeps_ns ||
				w->volume_ul < ways_vessel_of(now, solution).least_ul)
				continue;
			c = (struct chosen){ i, -1, w->rotations, ways_counted(&now->solutions[solution], w->used_mm2, w->second_mm2),
								 w->used_mm2, w->second_mm2, w->volume_ul, 0 };
		} else {
			c.head = i - now->working_count;
			if (now->bottles[c.head].solution != solution || left_ul[c.head] == 0 || head_of(c.head) != c.head)
				continue;
		}
		if (first && (c.books > first->books || c.rotations > first->rotations + 1))
			continue;
		if (first)
			c.rotations = first->rotations + 1;
		int run = serve_most(solution, &c, behind, from);
		if (run < 0 || (!first && run == 0))
			continue;
		int64_t kept_ul[WET_PLAN_SOURCES], gone = trying.gone;
		bool kept_touched[WET_PLAN_SOURCES];
		memcpy(kept_ul, left_ul, sizeof left_ul);
		memcpy(kept_touched, is_touched, sizeof is_touched);
		if (c.working >= 0)
			is_used[c.working] = true;
		else
			draw_stock(c.head, c.stock);
		note(solution, &c, behind, from, from + run);
		trying.baths[solution]++;
		/* The first is discarded but where it stays after the last load; the second with it, but where it goes on. */
		bool is_end = from == trying.loads;
		bool first_stays = first && is_end && is_useful(solution, first, before, behind, from);
		bool second_stays = first_stays || (is_end && is_useful(solution, &c, behind, from, from));
		if (first && !first_stays)
			trying.gone += first->stock;
		if (run == 0 && !second_stays)
			trying.gone += c.stock;
		if (run > 0)
			choose(solution, &c, behind, from, from + run);
		else
			pair_from(solution, from);
		trying.baths[solution]--;
		trying.gone = gone;
		memcpy(left_ul, kept_ul, sizeof left_ul);
		memcpy(is_touched, kept_touched, sizeof is_touched);
		if (c.working >= 0)
			is_used[c.working] = false;
	}
}

static void pair_from(int solution, int from)
{
	if (from == trying.loads)
		next_solution(solution + 1);
	else
		choose(solution, NULL, from, from, from);
}

static void next_solution(int solution)
{
	if (solution < now->solution_count) {
		if (now->solutions[solution].has_second)
			pair_from(solution, 0);
		else
			bath_from(solution, 0);
		return;
	}
	int64_t gone = trying.gone;
	int key;
	for (int i = 0; i < now->bottle_count; i++)
		if (is_touched[i] && left_ul[i] < now->measure_least_ul)
			trying.gone += left_ul[i];
	if (!best.is_there || ways_compare(now, &trying, &best, &key) < 0) {
		best = trying;
		best.is_there = true;
	}
	trying.gone = gone;
}

/* One way to split labelled pieces: block[i] is the load of piece i. */
static void try_blocks(const int *size_of, const int *block, int pieces, int blocks)
{
	int64_t slots[WAYS_PIECES] = { 0 };
	memset(areas, 0, sizeof areas);
	for (int i = 0; i < pieces; i++) {
		areas[block[i]] += now->sizes[size_of[i]].area_mm2;
		slots[block[i]] += now->sizes[size_of[i]].slots;
	}
	trying.loads = blocks;
	trying.squares = 0;
	for (int i = 0; i < blocks; i++) {
		if (slots[i] > now->vessel.slots || (now->vessel.area_mm2 > 0 && areas[i] > now->vessel.area_mm2))
			return;
		trying.squares += (wide)areas[i] * areas[i];
	}
	if (best.is_there && (blocks > best.loads || (blocks == best.loads && trying.squares > best.squares)))
		return;
	for (int i = 1; i < blocks; i++) /* the largest first */
		for (int j = i; j > 0 && areas[j] > areas[j - 1]; j--) {
			int64_t a = areas[j];
			areas[j] = areas[j - 1];
			areas[j - 1] = a;
		}
	for (int i = 0; i < now->bottle_count; i++)
		left_ul[i] = now->bottles[i].stock_ul;
	next_solution(0);
}

static void split_all(const int *size_of, int *block, int done, int pieces, int blocks)
{
	if (done == pieces) {
		try_blocks(size_of, block, pieces, blocks);
		return;
	}
	for (int b = 0; b <= blocks; b++) {
		block[done] = b;
		split_all(size_of, block, done + 1, pieces, b == blocks ? blocks + 1 : blocks);
	}
}

const struct ways_keys *ways_exhaust(const struct wet_plan_ask *ask)
{
	int size_of[WAYS_PIECES] = { 0 }, block[WAYS_PIECES] = { 0 }, pieces = 0;
	now = ask;
	memset(&best, 0, sizeof best);
	memset(&trying, 0, sizeof trying);
	memset(is_touched, 0, sizeof is_touched);
	memset(is_used, 0, sizeof is_used);
	for (int i = 0; i < ask->size_count; i++)
		for (int j = 0; j < ask->sizes[i].count; j++)
			size_of[pieces++] = i;
	for (int i = 0; i < ask->solution_count; i++)
		if (!ask->solutions[i].has_time)
			return &best;
	split_all(size_of, block, 0, pieces, 0);
	return &best;
}
