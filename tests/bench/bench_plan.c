/* bench_plan.c: a school's day, 200 pieces of four sizes and 50 bottles: time, and distance to the bounds;
 * and at the largest size that both can do, the plan against trying every way to split and draw.
 *
 *   bench_plan [--count N] [--seed S]
 *
 * Prints what it measures; fails only if a plan that should be there is not, or an exhaustive count is
 * below the plan's. */
#include "base/random.h"
#include "wetside/plan.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define DAY_NS (86400LL * 1000000000)

static struct wet_random rnd;
static struct wet_plan_bottle bottles[WET_PLAN_SOURCES];

static double now_ms(void)
{
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

/* Developer once, stop and fixer again and again; lots are not mixed. */
static struct wet_plan_ask ask_of(int pieces, int sizes, int bottle_count, int lots)
{
	static const int64_t areas[] = { 10800, 13110, 12903, 21600 };
	struct wet_plan_ask ask = {
		.size_count = sizes, .solution_count = 3, .bottle_count = bottle_count, .bottles = bottles
	};
	for (int i = 0, left = pieces; i < sizes; i++) { /* uneven counts, or all loads would come out alike */
		int n = i == sizes - 1 ? left : left * 2 / 5;
		ask.sizes[i] = (struct wet_plan_size){ areas[i], n, 1 };
		left -= n;
	}
	ask.vessel = (struct wet_plan_vessel){ 350000, 1000000, 4, 0 };
	ask.solutions[0] =
		(struct wet_plan_solution){ .name = "developer", .stock_milli = 1000, .water_milli = 9000, .has_time = true,
									.is_one_shot = true, .capacity_mm2_per_l = 100000,
									.least_stock_ul_per_m2 = 500000 };
	ask.solutions[1] = (struct wet_plan_solution){ .name = "stop bath", .stock_milli = 1000, .water_milli = 19000, .has_time = true,
									.may_mix_lots = true, .capacity_mm2_per_l = 1032256 };
	ask.solutions[2] = (struct wet_plan_solution){ .name = "fixer", .stock_milli = 1000, .water_milli = 4000, .has_time = true,
									.capacity_mm2_per_l = 409000 };
	ask.measure_least_ul = 2000;
	for (int i = 0; i < bottle_count; i++)
		bottles[i] = (struct wet_plan_bottle){ .id = i + 1,
											   .solution = i % 5 < 3 ? 0 : i % 5 - 2,
											   .lot = wet_random_between(&rnd, 1, lots),
											   .stock_ul = wet_random_between(&rnd, 100000, 500000),
											   .age_ns = wet_random_between(&rnd, 1, 300 * DAY_NS),
											   .keeps_ns = 365 * DAY_NS };
	return ask;
}

static int compare(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;
	return (x > y) - (x < y);
}

static int bench(const char *name, int pieces, int sizes, int bottle_count, int count)
{
	static double ms[1000];
	int proven = 0, plans = 0;
	double loads_gap = 0, squares_gap = 0;
	size_t bytes = 0;
	for (int i = 0; i < count; i++) {
		struct wet_plan_ask ask = ask_of(pieces, sizes, bottle_count, 12);
		struct wet_plan p;
		struct wet_plan_refusal refusal;
		bytes = wet_plan_workspace_bytes(&ask);
		void *workspace = malloc(bytes);
		if (workspace == NULL)
			return 1;
		double from = now_ms();
		int rc = wet_plan_make(&ask, workspace, bytes, &p, &refusal, NULL);
		ms[i] = now_ms() - from;
		if (rc == 0) {
			plans++;
			proven += p.is_exact;
			loads_gap += (double)p.load_count / p.loads_bound - 1;
			squares_gap += (double)p.squares / (double)p.squares_bound - 1;
		}
		free(workspace);
	}
	qsort(ms, (size_t)count, sizeof ms[0], compare);
	printf("%-34s %4d plans of %4d, %4d proven; ms p50 %.2f p99 %.2f max %.2f; workspace %zu KiB\n", name,
		   plans, count, proven, ms[count / 2], ms[count * 99 / 100], ms[count - 1], bytes / 1024);
	if (plans > 0)
		printf("%-34s mean gap: loads %.2f %%, squares %.4f %%\n", "", 100 * loads_gap / plans,
			   100 * squares_gap / plans);
	return plans == 0;
}

/* Every set of loads, each piece by itself, the developer drawn from its lots in every way: the first two
 * keys. */
struct all {
	const struct wet_plan_ask *ask;
	int64_t area[12], lot_ul[WET_PLAN_SOURCES], piece_mm2[12];
	int slots[12], pieces, lots, best_loads;
	int64_t best_squares;
	unsigned long long ways;
};

static bool draws(struct all *a, int load, int loads)
{
	bool can = load == loads;
	for (int i = 0; i < a->lots && load < loads; i++) {
		int64_t volume = 350000, by_area = a->area[load] * 10, by_stock = a->area[load] * 5;
		volume = by_area > volume ? by_area : volume;
		volume = by_stock > volume ? by_stock : volume;
		int64_t stock = (volume + 5) / 10;
		a->ways++;
		if (volume > a->ask->vessel.most_ul || stock > a->lot_ul[i])
			continue;
		a->lot_ul[i] -= stock;
		can =
			draws(a, load + 1, loads) || can; /* every way, as an exhaustive search must for the other keys */
		a->lot_ul[i] += stock;
	}
	return can;
}

static void split(struct all *a, int piece, int loads)
{
	if (piece == a->pieces) {
		int64_t squares = 0;
		for (int i = 0; i < loads; i++)
			squares += a->area[i] * a->area[i];
		bool can = draws(a, 0, loads);
		if (!can || loads > a->best_loads || (loads == a->best_loads && squares >= a->best_squares))
			return;
		a->best_loads = loads;
		a->best_squares = squares;
		return;
	}
	for (int i = 0; i <= loads; i++) {
		if (a->slots[i] == a->ask->vessel.slots)
			continue;
		a->area[i] += a->piece_mm2[piece];
		a->slots[i]++;
		split(a, piece + 1, i == loads ? loads + 1 : loads);
		a->area[i] -= a->piece_mm2[piece];
		a->slots[i]--;
	}
}

static int against_all(int pieces, int count)
{
	double plan_ms = 0, all_ms = 0;
	unsigned long long ways = 0;
	int failed = 0;
	for (int n = 0; n < count; n++) {
		struct wet_plan_ask ask = ask_of(pieces, 4, 5, 3);
		struct all a = { .ask = &ask, .pieces = pieces, .best_loads = 100 };
		struct wet_plan p;
		struct wet_plan_refusal refusal;
		ask.solution_count = 1;
		ask.bottle_count = 3;
		for (int i = 0, k = 0; i < 4; i++)
			for (int j = 0; j < ask.sizes[i].count; j++)
				a.piece_mm2[k++] = ask.sizes[i].area_mm2;
		for (int i = 0; i < 3; i++) {
			bottles[i].lot = i;
			a.lot_ul[a.lots++] = bottles[i].stock_ul;
		}
		size_t bytes = wet_plan_workspace_bytes(&ask);
		void *workspace = malloc(bytes);
		double from = now_ms();
		int rc = wet_plan_make(&ask, workspace, bytes, &p, &refusal, NULL);
		plan_ms += now_ms() - from;
		from = now_ms();
		split(&a, 0, 0);
		all_ms += now_ms() - from;
		ways += a.ways;
		if ((rc == 0) != (a.best_loads < 100) ||
			(rc == 0 && (p.load_count != a.best_loads || p.squares != a.best_squares)))
			failed = 1;
		free(workspace);
	}
	printf(
		"%d pieces, 3 lots, one solution: plan %.3f ms, every way %.1f ms (%.3g draws tried): 1 to %.0f%s\n",
		pieces, plan_ms / count, all_ms / count, (double)ways / count, all_ms / plan_ms,
		failed ? "  FAILED: not alike" : "");
	return failed;
}

int main(int argc, char **argv)
{
	long count = 100;
	unsigned long long seed = 1;
	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--count") == 0)
			count = strtol(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--seed") == 0)
			seed = strtoull(argv[i + 1], NULL, 10);
		else
			return 2;
	}
	if (count < 1 || count > 1000)
		return 2;
	wet_random_seed(&rnd, seed);
	printf("bench_plan --count %ld --seed %llu\n", count, seed);
	int failed = bench("6 equal pieces, 10 bottles", 6, 1, 10, (int)count);
	failed |= bench("24 pieces of 4 sizes, 20 bottles", 24, 4, 20, (int)count);
	failed |= bench("200 equal pieces, 50 bottles", 200, 1, 50, (int)count);
	failed |= bench("200 pieces of 4 sizes, 50 bottles", 200, 4, 50, (int)count);
	failed |= against_all(7, 5);
	failed |= against_all(8, 3);
	return failed;
}
