/* prop_plan.c: random shelves against the laws of the plan.
 *
 * Small shelves: every way to split the pieces and to draw from the bottles is tried (tests/lib/plan_ways.c, by no
 * means of the code under test), and every key of the best must be the plan's. An added bottle never makes the
 * first two keys worse. Large shelves: no hard rule is ever broken, parts sum exactly, the same input gives the same
 * bytes, and of the promised size 995 of 1,000 answers are proven with single baths, 95 of 100 plans with two.
 *   prop_plan --seed S --count N [--large M]      25 N small shelves, and M large ones, else N/5;
 * with --brisk 1 the large ones are planned in a hurry, once, and held to the hard rules alone. */
#include "base/random.h"
#include "plan_ways.h"
#include "wetside/plan.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_NS (86400LL * 1000000000)

__extension__ typedef __int128 wide;

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, large = -1, this_case, pair_plans; /* pair_plans: baths that became firsts */
static bool is_brisk;
static const char *kind = "small";
static struct wet_plan_bottle bottles[WET_PLAN_SOURCES];
static struct wet_plan_working workings[WET_PLAN_SOURCES];
static unsigned char *workspace;
static size_t workspace_bytes;

static void broken(const char *law, long long a, long long b)
{
	printf("broken in %s case %ld: %s (%lld, %lld)\nagain: prop_plan --seed %llu --count %ld --large %ld\n",
		   kind, this_case, law, a, b, seed, count, large);
	exit(1);
}

static int64_t between(int64_t low, int64_t high)
{
	return wet_random_between(&rnd, low, high);
}

/* -- what a plan must hold ------------------------------------------------------ */

static void check_loads(const struct wet_plan_ask *ask, const struct wet_plan *p)
{
	int left[WET_PLAN_SIZES] = { 0 }, trials = 0;
	for (int i = 0; i < ask->size_count; i++)
		left[i] = ask->sizes[i].count;
	for (int i = 0; i < p->load_count; i++) {
		int64_t area = 0, slots = 0;
		trials += p->loads[i].is_trial;
		for (int j = 0; j < ask->size_count; j++) {
			left[j] -= p->loads[i].counts[j];
			area += p->loads[i].counts[j] * ask->sizes[j].area_mm2;
			slots += (int64_t)p->loads[i].counts[j] * ask->sizes[j].slots;
		}
		if (area != p->loads[i].area_mm2 || area == 0)
			broken("a load's area", area, p->loads[i].area_mm2);
		if (slots > ask->vessel.slots || (ask->vessel.area_mm2 > 0 && area > ask->vessel.area_mm2))
			broken("the vessel's room", slots, area);
		if (i > 1 && area > p->loads[i - 1].area_mm2)
			broken("the largest load first", p->loads[i - 1].area_mm2, area);
	}
	for (int i = 0; i < ask->size_count; i++)
		if (left[i] != 0)
			broken("every piece in one load", i, left[i]);
	if (trials > ask->wants_trial)
		broken("one trial, if asked for", trials, ask->wants_trial);
}

static void check_fresh(const struct wet_plan_ask *ask, const struct wet_plan *p,
						const struct wet_plan_bath *b, int64_t largest, int64_t *drawn)
{
	const struct wet_plan_solution *s = &ask->solutions[b->solution];
	int64_t sum = 0;
	struct wet_plan_vessel vessel = ways_vessel_of(ask, b->solution);
	if (b->volume_ul < vessel.least_ul || b->volume_ul > vessel.most_ul)
		broken("the vessel's volume", b->volume_ul, vessel.most_ul);
	if (b->stock_ul + b->water_ul != b->volume_ul || b->stock_ul != ways_stock_in(s, b->volume_ul))
		broken("parts that sum", b->stock_ul, b->water_ul);
	if (!s->has_time)
		broken("a published time", b->solution, 0);
	if ((wide)b->stock_ul * 1000000 < (wide)s->least_stock_ul_per_m2 * largest)
		broken("the least concentrate", b->stock_ul, largest);
	for (int i = 0; i < b->draw_count; i++) {
		const struct wet_plan_draw *d = &p->draws[b->first_draw + i];
		const struct wet_plan_bottle *bottle = &ask->bottles[d->bottle];
		sum += d->stock_ul;
		drawn[d->bottle] += d->stock_ul;
		if (d->stock_ul <= 0 || bottle->age_ns > bottle->keeps_ns || bottle->solution != b->solution)
			broken("a fresh bottle of this solution", bottle->id, d->stock_ul);
		if (!ways_may_mix(ask, bottle, &ask->bottles[p->draws[b->first_draw].bottle]))
			broken("one lot", bottle->id, b->solution);
		if (bottle->age_ns > ask->bottles[p->draws[b->first_draw].bottle].age_ns)
			broken("the oldest first", bottle->id, b->solution);
	}
	if (sum != b->stock_ul)
		broken("draws that sum", sum, b->stock_ul);
}

static void check_working(const struct wet_plan_ask *ask, const struct wet_plan *p,
						  const struct wet_plan_bath *b, int64_t largest)
{
	const struct wet_plan_working *w = &ask->workings[b->working];
	const struct wet_plan_solution *s = &ask->solutions[b->solution];
	struct wet_plan_vessel vessel = ways_vessel_of(ask, w->solution);
	int64_t poured = w->volume_ul < vessel.most_ul ? w->volume_ul : vessel.most_ul;
	if (w->solution != b->solution || s->is_one_shot || w->age_ns > w->keeps_ns ||
		w->volume_ul < vessel.least_ul || w->volume_ul != b->volume_ul)
		broken("a working solution that serves", w->id, b->solution);
	if ((wide)poured * s->stock_milli * 1000000 <
		(wide)s->least_stock_ul_per_m2 * largest * (s->stock_milli + s->water_milli))
		broken("the least concentrate of a working solution", w->id, largest);
	for (const struct wet_plan_bath *c = p->baths; c < b; c++)
		if (c->working == b->working)
			broken("a working solution once", w->id, 0);
}

/* Where the checks of the baths have come to, for each solution. */
struct checked {
	int64_t drawn[WET_PLAN_SOURCES];
	int served[WET_PLAN_SOLUTIONS], second_served[WET_PLAN_SOLUTIONS];
	struct ways_keys *keys;
};

static int64_t books_of(const struct wet_plan_ask *ask, const struct wet_plan_bath *b)
{
	const struct wet_plan_working *w = b->working >= 0 ? &ask->workings[b->working] : NULL;
	return w ? ways_counted(&ask->solutions[b->solution], w->used_mm2, w->second_mm2) : 0;
}

/* Its place behind the bath before it, or the beginning of a pair. */
static void check_place(const struct wet_plan_ask *ask, const struct wet_plan *p, const struct wet_plan_bath *b)
{
	const struct wet_plan_solution *s = &ask->solutions[b->solution];
	const struct wet_plan_bath *before = b > p->baths && b[-1].solution == b->solution ? b - 1 : NULL;
	int own = b->working >= 0 ? ask->workings[b->working].rotations : 0;
	bool has_next = b + 1 < p->baths + p->bath_count && b[1].solution == b->solution;
	if (b->load_count > 0 && (b->rotations > s->rotations_most || !has_next || b[1].second_count != b->load_count))
		broken("a first with a second behind it, not rotated too often", b->rotations, b->load_count);
	if (b->second_count == 0) {
		if (b->load_count == 0 || b->rotations != own || (before && before->load_count > 0))
			broken("a pair begins with a first, where the one before has ended", b->first_load, b->rotations);
		return;
	}
	if (!before || before->first_load != b->second_load || before->load_count != b->second_count ||
		b->second_load + b->second_count != b->first_load)
		broken("the second of just the loads of the first before it", b->second_load, b->second_count);
	if (b->rotations != before->rotations + 1 || own > b->rotations)
		broken("rotations", b->rotations, before->rotations);
	if (books_of(ask, b) > books_of(ask, before))
		broken("no second has done more than its first", books_of(ask, b), books_of(ask, before));
	if (b->load_count == 0 && b->first_load < p->load_count && b->rotations <= s->rotations_most &&
		p->loads[b->first_load].area_mm2 <= b->left_mm2 && b->working >= 0 && s->least_stock_ul_per_m2 == 0)
		broken("a second that can go on does", b->first_load, b->left_mm2);
}

/* Is it kept, by the rule? */
static bool is_pair_kept(const struct wet_plan_ask *ask, const struct wet_plan *p, const struct wet_plan_bath *b)
{
	const struct wet_plan_solution *s = &ask->solutions[b->solution];
	int64_t piece = ways_smallest_piece(ask);
	const struct wet_plan_bath *first = b->load_count > 0 ? b : b - 1;
	if (first->first_load + first->load_count < p->load_count)
		return false;
	return (first->left_mm2 >= piece && first->rotations <= s->rotations_most) ||
		   (b != first && b->left_mm2 >= piece && b->rotations <= s->rotations_most);
}

static void check_bath(const struct wet_plan_ask *ask, const struct wet_plan *p, const struct wet_plan_bath *b,
					   struct checked *c)
{
	const struct wet_plan_solution *s = &ask->solutions[b->solution];
	const struct wet_plan_working *w = b->working >= 0 ? &ask->workings[b->working] : NULL;
	const struct wet_plan_bottle *head = w ? NULL : &ask->bottles[p->draws[b->first_draw].bottle];
	int64_t largest = 0, area = w ? w->used_mm2 : 0, second = w ? w->second_mm2 : 0;
	if (b->first_load != c->served[b->solution] || (!s->has_second && b->load_count < 1) ||
		(s->is_one_shot && b->load_count > 1))
		broken("each load in one bath", b->first_load, c->served[b->solution]);
	if (s->has_second ? b->second_count > 0 && b->second_load != c->second_served[b->solution] : b->second_count != 0)
		broken("each load in one second bath", b->second_load, c->second_served[b->solution]);
	for (int i = b->first_load - b->second_count; i < b->first_load + b->load_count; i++) {
		bool is_second = i < b->first_load;
		int entry = s->has_second ? 2 * i + is_second : i;
		largest = p->loads[i].area_mm2 > largest ? p->loads[i].area_mm2 : largest;
		*(is_second ? &second : &area) += p->loads[i].area_mm2;
		(is_second ? c->second_served : c->served)[b->solution]++;
		c->keys->age[b->solution][entry] =
			w ? WAYS_OLDER + (s->has_second ? books_of(ask, b) : w->age_ns) : head->age_ns;
		c->keys->id[b->solution][entry] = w ? w->id : head->id;
	}
	int64_t counted = ways_counted(s, area, second);
	if ((wide)counted * 1000000 > (wide)b->volume_ul * s->capacity_mm2_per_l || area != b->area_mm2 ||
		second != b->second_mm2)
		broken("the capacity", area, b->area_mm2);
	if (w)
		check_working(ask, p, b, largest);
	else
		check_fresh(ask, p, b, largest, c->drawn);
	if (b->left_mm2 != (int64_t)((wide)b->volume_ul * s->capacity_mm2_per_l / 1000000) - counted)
		broken("what is left", b->left_mm2, counted);
	c->keys->baths[b->solution]++;
	c->keys->mixed += b->working < 0 && !s->is_one_shot && !s->has_second;
	bool is_kept = !s->is_one_shot && b->left_mm2 >= ways_smallest_piece(ask);
	if (s->has_second) {
		check_place(ask, p, b);
		is_kept = is_pair_kept(ask, p, b);
		pair_plans += b->load_count > 0 && b->second_count > 0;
	}
	if (!w && !is_kept)
		c->keys->gone += b->stock_ul;
	if (b->is_kept != is_kept)
		broken("what is kept", b->solution, b->is_kept);
}

/* Every hard rule; fills the keys. */
static void check_plan(const struct wet_plan_ask *ask, const struct wet_plan *p, struct ways_keys *keys)
{
	static struct checked c;
	memset(&c, 0, sizeof c);
	memset(keys, 0, sizeof *keys);
	c.keys = keys;
	keys->loads = p->load_count;
	check_loads(ask, p);
	for (int i = 0; i < p->load_count; i++)
		if (!p->loads[i].is_trial)
			keys->squares += (wide)p->loads[i].area_mm2 * p->loads[i].area_mm2;
	for (const struct wet_plan_bath *b = p->baths; b < p->baths + p->bath_count; b++)
		check_bath(ask, p, b, &c);
	for (int i = 0; i < ask->solution_count; i++)
		if (c.served[i] != p->load_count || (ask->solutions[i].has_second && c.second_served[i] != p->load_count))
			broken("every load in every solution", i, c.served[i]);
	for (int i = 0; i < ask->bottle_count; i++) {
		int64_t left = ask->bottles[i].stock_ul - c.drawn[i];
		if (left < 0)
			broken("no more than there is", ask->bottles[i].id, left);
		if (c.drawn[i] > 0 && left < ask->measure_least_ul)
			keys->gone += left;
	}
	if (keys->gone != p->gone_ul || keys->squares != p->squares)
		broken("the plan's own keys", keys->gone, p->gone_ul);
	if (p->loads_bound > p->load_count || p->squares_bound > p->squares)
		broken("bounds", p->loads_bound, p->load_count);
}

/* -- random shelves ------------------------------------------------------------ */

static void random_solution(struct wet_plan_solution *s, int index, int64_t least_ul)
{
	static const int64_t parts[][2] = {
		{ 1000, 0 }, { 1000, 1000 }, { 1000, 2500 }, { 1000, 4000 }, { 1000, 9000 }
	};
	int row = (int)between(0, 4);
	*s = (struct wet_plan_solution){ .stock_milli = parts[row][0],
									 .water_milli = parts[row][1],
									 .has_time = between(0, 60) > 0,
									 .is_one_shot = between(0, 1),
									 .may_mix_lots = between(0, 3) == 0,
									 .capacity_mm2_per_l = between(2, 30) * 7000 };
	snprintf(s->name, sizeof s->name, "solution %d", index);
	if (between(0, 3) == 0)
		s->least_stock_ul_per_m2 = between(1, 40) * 100000;
	if (between(0, 4) == 0) { /* in a vessel of its own */
		s->least_ul = between(1, 20) * 25000;
		s->most_ul = s->least_ul + between(0, 20) * 50000;
	}
	if (!s->is_one_shot && between(0, 1)) {
		static const int32_t shares[] = { 0, 50000, 50000, 333333, 1000000 };
		s->has_second = true;
		s->second_share_ppm = shares[between(0, 4)];
		s->rotations_most = (int)between(0, 4);
		if (between(0, 1)) /* a bath bears a few pieces, so that it is someone else's turn soon */
			s->capacity_mm2_per_l = between(1, 4) * 11000 * 1000000 / (s->most_ul > 0 ? s->least_ul : least_ul);
	}
}

static int64_t random_age(void)
{
	return between(8, 13) * DAY_NS; /* many alike */
}

static void random_working(const struct wet_plan_ask *ask, int i)
{
	struct wet_plan_working *w = &workings[i];
	*w = (struct wet_plan_working){ .id = i,
									.solution = (int)between(0, ask->solution_count - 1),
									.volume_ul = ask->vessel.least_ul + between(-50000, 600000),
									.used_mm2 = between(0, 50000),
									.age_ns = random_age(),
									.keeps_ns = between(0, 3) > 0 ? 30 * DAY_NS : 10 * DAY_NS };
	w->volume_ul = w->volume_ul < 1 ? 1 : w->volume_ul;
	if (!ask->solutions[w->solution].has_second)
		return;
	if (between(0, 1))
		w->used_mm2 = 0; /* so far a second, or nothing yet */
	w->second_mm2 = between(0, 2) * between(0, 30000);
	w->rotations = between(0, 1) ? 0 : (int)between(0, 5);
}

static void random_bottle(const struct wet_plan_ask *ask, int i, int lots, int most_baths)
{
	int solution = (int)between(0, ask->solution_count - 1);
	const struct wet_plan_solution *s = &ask->solutions[solution];
	int64_t bath = ways_stock_in(s, ways_vessel_of(ask, solution).least_ul);
	bottles[i] = (struct wet_plan_bottle){ .id = i * 7 % WET_PLAN_SOURCES,
										   .solution = solution,
										   .lot = between(1, lots),
										   .age_ns = random_age(),
										   .keeps_ns = between(0, 5) > 0 ? 30 * DAY_NS : 11 * DAY_NS };
	switch (between(0, 4)) {
	case 0: bottles[i].stock_ul = bath * between(1, most_baths); break; /* exactly so many */
	case 1: bottles[i].stock_ul = bath * between(1, most_baths) + between(-2000, 2000); break;
	default: bottles[i].stock_ul = between(0, bath * (most_baths + 1)); break;
	}
	bottles[i].stock_ul = bottles[i].stock_ul < 0 ? 0 : bottles[i].stock_ul;
}

static struct wet_plan_ask random_ask(int most_pieces, int most_solutions, int most_bottles,
									  int most_workings, int lots, int most_baths)
{
	static const int64_t sizes[] = { 10800, 5400, 13110, 21600, 12903, 51612 };
	struct wet_plan_ask ask = { .size_count = (int)between(1, WET_PLAN_SIZES),
								.solution_count = (int)between(1, most_solutions),
								.bottle_count = (int)between(0, most_bottles),
								.bottles = bottles,
								.working_count = (int)between(0, most_workings),
								.workings = workings };
	int pieces = (int)between(1, most_pieces);
	for (int i = 0; i < ask.size_count; i++)
		ask.sizes[i] = (struct wet_plan_size){ sizes[between(0, 5)], 0, between(0, 3) > 0 ? 1 : 2 };
	for (int i = 0; i < pieces; i++)
		ask.sizes[between(0, ask.size_count - 1)].count++;
	ask.vessel.least_ul = between(1, 10) * 50000;
	ask.vessel.most_ul = ask.vessel.least_ul + between(0, 10) * 100000;
	ask.vessel.slots = (int)between(1, 6);
	ask.vessel.area_mm2 = between(0, 2) > 0 ? 0 : between(10800, 90000);
	ask.measure_least_ul = between(0, 2) > 0 ? between(0, 30000) : 0;
	for (int i = 0; i < ask.solution_count; i++)
		random_solution(&ask.solutions[i], i, ask.vessel.least_ul);
	for (int i = 0; i < ask.bottle_count; i++)
		random_bottle(&ask, i, lots, most_baths);
	for (int i = 0; i < ask.working_count; i++)
		random_working(&ask, i);
	return ask;
}

static int make(const struct wet_plan_ask *ask, struct wet_plan *p, struct wet_plan_refusal *refusal)
{
	struct wet_fault f;
	size_t bytes = wet_plan_workspace_bytes(ask);
	if (bytes == 0)
		broken("an ask in range", 0, 0);
	if (bytes > workspace_bytes) {
		free(workspace);
		workspace = malloc(bytes);
		workspace_bytes = bytes;
		if (workspace == NULL)
			exit(2);
	}
	memset(workspace, (int)between(0, 255), bytes);
	int rc = wet_plan_make(ask, workspace, bytes, p, refusal, &f);
	if (rc != WET_OK && rc != WET_ERR_FIT)
		broken(f.want, rc, 0);
	if (rc == WET_ERR_FIT &&
		(refusal->rule == WET_PLAN_RULE_NONE || refusal->line_count < 1 || refusal->lines[0][0] == 0))
		broken("a refusal that says why", refusal->rule, refusal->line_count);
	return rc;
}

/* -- the laws ------------------------------------------------------------------ */

static long plans, refusals, exact_plans, large_plans, school_plans, promised_plans, promised_exact;
static long single_answers, single_proven; /* of the promised size, without two baths */

static void add_a_bottle(struct wet_plan_ask *ask, bool was_there, const struct ways_keys *before)
{
	struct wet_plan p;
	struct wet_plan_refusal refusal;
	struct ways_keys after;
	random_bottle(ask, ask->bottle_count, 3, 4);
	bottles[ask->bottle_count].id = 1000;
	ask->bottle_count++;
	if (make(ask, &p, &refusal) != WET_OK) {
		if (was_there)
			broken("an added bottle takes no plan away", before->loads, 0);
		return;
	}
	check_plan(ask, &p, &after);
	if (was_there &&
		(after.loads > before->loads || (after.loads == before->loads && after.squares > before->squares)))
		broken("an added bottle never worsens the first two keys", before->loads, after.loads);
}

/* Two baths that bear a piece or two each, stock for many and many loads: the rotation is what is tried. */
static void favour_pairs(struct wet_plan_ask *ask)
{
	static const int32_t shares[] = { 50000, 50000, 333333, 0 };
	struct wet_plan_solution *s = &ask->solutions[0];
	struct wet_plan_vessel v = ways_vessel_of(ask, 0);
	s->is_one_shot = false;
	s->has_time = s->has_second = true;
	s->second_share_ppm = shares[between(0, 3)];
	s->rotations_most = (int)between(0, 3);
	s->capacity_mm2_per_l = between(10000, 40000) * 1000000 / v.least_ul;
	s->least_stock_ul_per_m2 = 0;
	ask->vessel.slots = (int)between(1, 2);
	for (int i = 0; i < ask->size_count; i++)
		ask->sizes[i].slots = 1;
	for (int i = 0; i < ask->bottle_count; i++)
		if (bottles[i].solution == 0)
			bottles[i].stock_ul = ways_stock_in(s, v.least_ul) * between(1, 8) + between(0, 50000);
}

static void small_case(void)
{
	static struct ways_keys found;
	struct wet_plan p;
	struct wet_plan_refusal refusal;
	int pieces = (int)between(1, 5), key = 0;
	struct wet_plan_ask ask = random_ask(pieces, between(0, 2) > 0 ? 1 : 2, 4, between(0, 1) ? 0 : 3, 3, 4);
	if (this_case % 5 == 1)
		favour_pairs(&ask);
	const struct ways_keys *best = ways_exhaust(&ask);
	int rc = make(&ask, &p, &refusal);
	if ((rc == WET_OK) != best->is_there)
		broken("there is a plan just where a way exists", rc, best->is_there);
	if (rc == WET_OK) {
		plans++;
		check_plan(&ask, &p, &found);
		if (!p.is_exact)
			broken("small plans are proven", p.load_count, 0);
		if (ways_compare(&ask, &found, best, &key) != 0)
			broken("the best of all ways, by its keys", key, ways_compare(&ask, &found, best, &key));
	} else {
		refusals++;
	}
	if (this_case % 2 == 0)
		add_a_bottle(&ask, rc == WET_OK, &found);
}

/* Up to 24 pieces, or equal ones, and up to twelve bottles a solution. */
static bool is_in_promise(const struct wet_plan_ask *ask)
{
	int pieces = 0, sizes = 0, of[WET_PLAN_SOLUTIONS] = { 0 };
	for (int i = 0; i < ask->size_count; i++) {
		pieces += ask->sizes[i].count;
		sizes += ask->sizes[i].count > 0;
	}
	for (int i = 0; i < ask->bottle_count; i++)
		if (++of[ask->bottles[i].solution] > 12)
			return false;
	return pieces <= WET_PLAN_EXACT_PIECES || sizes == 1;
}

static bool has_two_baths(const struct wet_plan_ask *ask)
{
	bool has = false;
	for (int i = 0; i < ask->solution_count; i++)
		has = has || ask->solutions[i].has_second;
	return has;
}

static void large_case(void)
{
	static struct ways_keys found;
	static char text[2][16384];
	struct wet_plan p, again;
	struct wet_plan_refusal refusal, refusal_again;
	bool is_school = between(0, 9) == 0;
	struct wet_plan_ask ask = is_school ? random_ask(WET_PLAN_PIECES, 3, 50, 6, 12, (int)between(3, 60))
										: random_ask(24, 3, 30, 4, 9, (int)between(2, 12));
	ask.wants_trial = between(0, 3) == 0;
	if (this_case % 5 == 1)
		favour_pairs(&ask);
	for (int i = 0; i < ask.solution_count; i++)
		ask.solutions[i].has_time = true;
	ask.is_hurried = is_brisk;
	int rc = make(&ask, &p, &refusal);
	if (!is_brisk && is_in_promise(&ask) && !has_two_baths(&ask)) {
		single_answers++;
		single_proven += rc == WET_OK ? p.is_exact : refusal.is_proven;
	}
	if (is_brisk) { /* many, for the hard rules alone */
		if (rc == WET_OK)
			check_plan(&ask, &p, &found);
		large_plans += rc == WET_OK;
		exact_plans += rc == WET_OK && p.is_exact;
		return;
	}
	if (rc == WET_OK) {
		check_plan(&ask, &p, &found);
		large_plans++;
		exact_plans += p.is_exact;
		bool is_promised = is_in_promise(&ask);
		(is_promised ? &promised_plans : &school_plans)[0]++;
		promised_exact += is_promised && p.is_exact;
		wet_plan_explain(&ask, &p, text[0], sizeof text[0]);
		uint64_t work = p.work;
		if (make(&ask, &again, &refusal_again) != WET_OK || again.work != work)
			broken("the same again", (long long)work, (long long)again.work);
		wet_plan_explain(&ask, &again, text[1], sizeof text[1]);
		if (strcmp(text[0], text[1]) != 0)
			broken("the same text again", 0, 0);
		/* In a hurry no hard rule is broken either, a proven plan is no worse, and what is not found is not called
		 * impossible. */
		ask.is_hurried = true;
		if (make(&ask, &again, &refusal_again) != WET_OK) {
			if (refusal_again.is_proven)
				broken("a refusal in a hurry proves nothing", p.load_count, 0);
			return;
		}
		check_plan(&ask, &again, &found);
		if (p.is_exact && again.load_count < p.load_count)
			broken("a proven plan is no worse", p.load_count, again.load_count);
	} else if (make(&ask, &again, &refusal_again) != rc ||
			   memcmp(refusal.lines, refusal_again.lines, sizeof refusal.lines) != 0) {
		broken("the same refusal again", refusal.rule, refusal_again.rule);
	}
}

int main(int argc, char **argv)
{
	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--seed") == 0)
			seed = strtoull(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--count") == 0)
			count = strtol(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--brisk") == 0)
			is_brisk = strtol(argv[i + 1], NULL, 10) != 0;
		else if (strcmp(argv[i], "--large") == 0)
			large = strtol(argv[i + 1], NULL, 10);
		else
			return 2;
	}
	large = large < 0 ? (count + 4) / 5 : large;
	printf("prop_plan --seed %llu --count %ld\n", seed, count);
	for (this_case = 0; this_case < 25 * count; this_case++) {
		wet_random_seed(&rnd, seed * 1000003 + (unsigned long long)this_case);
		small_case();
	}
	kind = "large";
	for (this_case = 0; this_case < large; this_case++) {
		wet_random_seed(&rnd, seed * 7000003 + (unsigned long long)this_case);
		large_case();
	}
	printf("small: %ld plans, %ld refusals; large: %ld plans, %ld proven best; %ld baths became firsts\n", plans,
		   refusals, large_plans, exact_plans, pair_plans);
	printf("of %ld up to the promised size %ld are proven, of %ld beyond it %ld\n", promised_plans,
		   promised_exact, school_plans, exact_plans - promised_exact);
	printf("of %ld answers with single baths up to that size %ld are proven\n", single_answers, single_proven);
	if (single_answers - single_proven > 1 + single_answers / 1000) /* one may miss in a few hundred */
		broken("answers of the promised size are proven", single_proven, single_answers);
	/* Ages here are alike far more often than on a shelf, which is what meets the limit on work. */
	if (promised_exact * 100 < promised_plans * 95)
		broken("plans of the promised size are proven", promised_exact, promised_plans);
	free(workspace);
	return plans > 0 && refusals > 0 && large_plans > 0 && pair_plans > 0 ? 0 : 1;
}
