/* prop_warmth.c: random readings of a bath, by hand and by a probe, against the laws of its course: all of them and the room
 * warmer, and the stage is not longer; an end never goes into the past; a reading at a time gives what all from the beginning
 * give; hours of a probe fit into a run, and their bins tell what the readings told.  --seed S --count N */
#include "base/random.h"
#include "base/text.h"
#include "prop_args.h"
#include "wetside/run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define READINGS 200

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;
static struct wet_recipe recipe;
static struct wet_event events[READINGS + 4];
static int event_count;
static long met[WET_COURSE_KIND_N], free_met, compared;

static void broken(const char *law)
{
	printf("broken: %s\nagain: prop_warmth --seed %llu --count %ld\n", law, seed, this_case + 1);
	exit(1);
}

static int64_t between(int64_t low, int64_t high)
{
	return wet_random_between(&rnd, low, high);
}

static void make(struct wet_run_setup *ret_setup)
{
	int64_t aim_ns = between(120, 7200) * S;
	memset(&recipe, 0, sizeof recipe);
	recipe.vessel_kind = wet_random_below(&rnd, 2) ? WET_VESSEL_OPEN_TANK : WET_VESSEL_TRAYS;
	recipe.bath_count = recipe.stage_count = 1;
	recipe.stages[0] = (struct wet_stage){
		.kind = WET_STAGE_DEVELOP, .name = "Develop", .least_ns = aim_ns / 2, .aim_ns = aim_ns, .most_ns = 2 * aim_ns
	};
	recipe.stages[0].law = (struct wet_law){ WET_LAW_FACTOR, 1 + 3 * wet_random_unit(&rnd), 20000, INT32_MIN, INT32_MAX, 0, { { 0, 0 } } };
	*ret_setup = (struct wet_run_setup){ .recipe = &recipe, .pieces = 1, .tolerance_mc = 500, .rules_version = WET_RULES_VERSION };
	ret_setup->vessel.kind = recipe.vessel_kind;
	if (wet_random_below(&rnd, 2))
		ret_setup->vessel.tau_ns = between(600, 7200) * S;
	if (wet_random_below(&rnd, 2))
		ret_setup->vessel.tau_error_ns = ret_setup->vessel.tau_ns / 6;
	if (wet_random_below(&rnd, 3) == 0)
		ret_setup->vessel.chill_ppm = (int32_t)between(0, 300000);
}

static void add(int kind, uint32_t flags, int64_t at_ns, int32_t mc)
{
	events[event_count++] = (struct wet_event){ .kind = kind,
												.flags = flags,
												.boot_ns = at_ns,
												.temperature_mc = mc,
												.bath = flags & WET_EVENT_ROOM ? -1 : 0,
												.number = -1 };
}

/* A bath that cools or warms, read with noise; sometimes something was done to it. */
static void happen(void)
{
	double room = 8 + 20 * wet_random_unit(&rnd), from = 15 + 10 * wet_random_unit(&rnd), tau_s = 300 + 6000 * wet_random_unit(&rnd);
	int64_t at = 1000 * S, aim_ns = recipe.stages[0].aim_ns;
	int n = (int)between(0, wet_random_below(&rnd, 50) ? 8 : READINGS);
	double noise = 0.3 * wet_random_unit(&rnd);
	event_count = 0;
	bool knows_room = wet_random_below(&rnd, 3) > 0;
	if (knows_room)
		add(WET_ACT_READING, WET_EVENT_ROOM, at, (int32_t)lround(room * 1000));
	if (wet_random_below(&rnd, 2))
		add(WET_ACT_READING, 0, at, (int32_t)lround(from * 1000));
	add(WET_ACT_BEGIN, 0, at, 0);
	add(WET_ACT_GO, 0, at + 3 * S, 0);
	int64_t begin = at + 3 * S;
	at = begin;
	for (int i = 0; i < n; i++) {
		at += between(0, aim_ns / (n + 1)) + (wet_random_below(&rnd, 10) ? 1 : 0);
		if (wet_random_below(&rnd, 60) == 0)
			from += 4 * wet_random_unit(&rnd) - 2;
		double c = room + (from - room) * exp(-(double)(at - begin) / 1e9 / tau_s) + noise * (2 * wet_random_unit(&rnd) - 1);
		add(WET_ACT_READING, wet_random_below(&rnd, 40) == 0 ? WET_EVENT_BEFORE : 0, at, (int32_t)lround(c * 10) * 100);
	}
}

/* All readings, and the room's, off by so much. Gives the end as it was after each event. */
static void live(const struct wet_run_setup *setup, int32_t off_mc, struct wet_run *run, int64_t ends[])
{
	wet_run_init(run, setup, 1000 * S);
	for (int i = 0; i < event_count; i++) {
		struct wet_event e = events[i];
		struct wet_view v, before;
		e.temperature_mc += off_mc;
		wet_run_view(run, e.boot_ns, &before);
		wet_run_fold(run, &e);
		wet_run_view(run, e.boot_ns, &v);
		ends[i] = v.aim_ns;
		if (v.stage >= 0 && v.aim_ns > 0 && before.aim_ns > 0 && before.now_ns < before.aim_ns && v.aim_ns < v.now_ns)
			broken("a reading puts no end into the past");
		if (v.aim_ns > 0 && (v.band_ns < 0 || v.forecast_band_ns > v.band_ns || v.aim_ns > v.begin_ns + 2 * WET_STAGE_NS_MAX))
			broken("a live bath has an end, and a band");
		if (run->heat.bin_count > WET_FIT_BINS || run->heat.track_count > WET_TRACK_POINTS)
			broken("what a run keeps is bounded");
		met[run->course.kind]++;
		free_met += run->course.is_free;
	}
}

/* Bins against all readings: how far apart the fits are, in standard errors. The bend within a wide bin is taken for noise, so
 * that the errors come out a little larger over several time constants. */
static void check_bins(void)
{
	struct wet_newton_reading all[WET_FIT_READINGS];
	struct wet_newton_bin bins[WET_FIT_BINS];
	struct wet_newton_fit a, b;
	uint32_t n = (uint32_t)between(20, WET_FIT_READINGS), kept = 0;
	double room = 15, tau = 600 + 3000 * wet_random_unit(&rnd), window = tau * (0.5 + 3 * wet_random_unit(&rnd));
	double noise = 0.1 * wet_random_unit(&rnd);
	for (uint32_t i = 0; i < n; i++) {
		all[i].at_s = window * i / (n - 1);
		all[i].temperature_c = room + 8 * exp(-all[i].at_s / tau) + noise * (2 * wet_random_unit(&rnd) - 1);
		wet_newton_bins_add(bins, &kept, WET_FIT_BINS, all[i].at_s, all[i].temperature_c);
	}
	bool is_free = wet_random_below(&rnd, 2);
	int whole = wet_newton_fit(all, n, is_free ? NULL : &room, 0.2, &a, NULL);
	int thin = wet_newton_fit_bins(bins, kept, is_free ? NULL : &room, 0.2, &b, NULL);
	if (whole != 0 || thin != 0)
		return;
	compared++;
	if (fabs(a.tau_s - b.tau_s) > 0.2 * a.tau_error_s || fabs(b.tau_error_s / a.tau_error_s - 1) > 0.25)
		broken("ten bins tell what the readings told");
}

int main(int argc, char **argv)
{
	static int64_t ends[READINGS + 4], warm[READINGS + 4];
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu count %ld\n", seed, count);
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		struct wet_run_setup setup;
		struct wet_run run, other;
		make(&setup);
		happen();
		live(&setup, 0, &run, ends);
		live(&setup, 0, &other, warm);
		if (memcmp(&run, &other, sizeof run) != 0)
			broken("replay is equal, to the last bit");
		int32_t off_mc = (int32_t)between(1, 4000);
		live(&setup, off_mc, &other, warm);
		for (int i = 0; i < event_count; i++)
			if (ends[i] > 0 && warm[i] > ends[i] + 2000000 + ends[i] / 100000)
				broken("all readings and the room warmer: not longer");
		if (this_case % 20 == 0)
			check_bins();
	}
	for (int k = WET_COURSE_CONSTANT; k < WET_COURSE_KIND_N && count >= 1000; k++)
		if (met[k] == 0)
			broken("every course was met");
	if (count >= 1000 && (free_met == 0 || compared < count / 80))
		broken("free fits and bins were met");
	printf("constant %ld, vessel %ld, fitted %ld (free %ld), bins compared %ld\n", met[1], met[2], met[3], free_met, compared);
	return 0;
}
