/* The plan: six pieces of 9 x 12 cm from the creek, a tank for four, and what a shelf may lack. */
#include "wetside/plan.h"

#include <criterion/criterion.h>
#include <stdalign.h>
#include <string.h>

#define DAY_NS (86400LL * 1000000000)
#define PIECE_MM2 (90 * 120)

static alignas(8) unsigned char workspace[8 * 1024 * 1024];
static struct wet_plan_bottle bottles[12];
static struct wet_plan_working workings[3];
static struct wet_plan plan;
static struct wet_plan_refusal refusal;
static struct wet_fault fault;
static char text[8192];

/* Developer 1+9 for one load, fixer 1+4 again and again; a square metre takes 10 L of developer: 108 mL a
 * piece. */
static struct wet_plan_ask six(void)
{
	struct wet_plan_ask ask = { .size_count = 1,
								.sizes = { { PIECE_MM2, 6, 1 } },
								.vessel = { 350000, 500000, 4, 0 },
								.solution_count = 2,
								.bottle_count = 2,
								.bottles = bottles,
								.workings = workings };
	ask.solutions[0] = (struct wet_plan_solution){ .name = "developer", .stock_milli = 1000, .water_milli = 9000, .has_time = true,
									.is_one_shot = true, .capacity_mm2_per_l = 100000 };
	ask.solutions[1] = (struct wet_plan_solution){ .name = "fixer", .stock_milli = 1000, .water_milli = 4000, .has_time = true,
									.capacity_mm2_per_l = 409000 };
	bottles[0] = (struct wet_plan_bottle){ 7, 0, 1, 250000, 40 * DAY_NS, 365 * DAY_NS, NULL };
	bottles[1] = (struct wet_plan_bottle){ 9, 1, 1, 500000, 40 * DAY_NS, 365 * DAY_NS, NULL };
	return ask;
}

static int make(const struct wet_plan_ask *ask)
{
	memset(&refusal, 0, sizeof refusal);
	int rc = wet_plan_make(ask, workspace, sizeof workspace, &plan, &refusal, &fault);
	if (rc == 0)
		wet_plan_explain(ask, &plan, text, sizeof text);
	return rc;
}

Test(plan, six_pieces_in_a_tank_for_four)
{
	struct wet_plan_ask ask = six();
	cr_assert_eq(make(&ask), 0);
	cr_assert(plan.is_exact);
	cr_assert_eq(plan.load_count, 2);
	cr_assert_eq(plan.loads[0].counts[0], 3);
	cr_assert_eq(plan.loads[1].counts[0], 3);
	cr_assert_eq(plan.difference_mm2, 0);
	cr_assert_eq(plan.between_ns, 540LL * 1000000000);
	cr_assert(strstr(text, "2 loads of 3: the vessel has 4 slots a load\n") == text, "%s", text);
	cr_assert(
		strstr(text, "developer, load 1: 35 mL from bottle 7, 315 mL of water, 350 mL in all; discard it") !=
			NULL,
		"%s", text);
	cr_assert(
		strstr(text, "fixer, loads 1 to 2: 70 mL from bottle 9, 280 mL of water, 350 mL in all; keep it") !=
			NULL,
		"%s", text);
	cr_assert(strstr(text, "between loads, 9:00 each time: leave the next pieces") != NULL, "%s", text);
	cr_assert(strstr(text, "as a trial load") != NULL, "%s", text);
	ask.solutions[1].keeps_ns = 60 * DAY_NS;
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "cm2 more and keeps 60 days\n") != NULL, "%s", text);
	ask.vessel.slots = 8; /* room for all, but the developer's capacity asks for more than the tank holds */
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "2 loads of 3: the vessel has room for 8, but one load of 6 would need 648 mL of "
						   "developer and it "
						   "holds 500 mL\n") == text,
			  "%s", text);
}

/* Fifteen loads' area of a developer that is used again, 1+2, and one bottle that is short of one bath for most of them and one
 * for the rest, but does for two of eight and of seven loads. */
Test(plan, a_bath_need_not_serve_as_many_loads_as_it_could)
{
	struct wet_plan_ask ask = six();
	ask.sizes[0].count = 60;
	ask.solutions[0].water_milli = 2000;
	ask.solutions[0].is_one_shot = false;
	ask.solutions[0].capacity_mm2_per_l = 1032256;
	ask.vessel.most_ul = 600000;
	bottles[0].stock_ul = 240000;
	bottles[1].stock_ul = 5000000;
	cr_assert_eq(make(&ask), 0, "%s", refusal.lines[0]);
	cr_assert_eq(plan.load_count, 15);
	cr_assert(plan.is_exact);
	int64_t drawn_ul = 0;
	for (int i = 0; i < plan.bath_count; i++)
		drawn_ul += plan.baths[i].solution == 0 ? plan.baths[i].stock_ul : 0;
	cr_assert(drawn_ul <= 240000, "%lld", (long long)drawn_ul);
}

Test(plan, beyond_the_promised_size_the_gap_is_told)
{
	struct wet_plan_ask ask = six();
	ask.size_count = 3;
	for (int i = 0; i < 3; i++)
		ask.sizes[i] = (struct wet_plan_size){ PIECE_MM2 + i * 1700, 17 + i, 1 };
	ask.vessel.most_ul = 900000;
	bottles[0].stock_ul = bottles[1].stock_ul = 50000000;
	cr_assert_eq(make(&ask), 0);
	cr_assert_not(plan.is_exact);
	cr_assert_eq(plan.loads_bound, plan.load_count);
	cr_assert(strstr(text, "not proven best: no plan has fewer loads") != NULL, "%s", text);
	cr_assert(plan.squares_bound <= plan.squares);
	cr_assert((strstr(text, "more even ones there may be, by ") != NULL) == (plan.squares_bound < plan.squares), "%s", text);
}

Test(plan, a_solution_may_have_a_vessel_of_its_own)
{
	struct wet_plan_ask ask = six();
	ask.solutions[1].least_ul = 1200000; /* a washer */
	ask.solutions[1].most_ul = 3000000;
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "developer, load 1: 35 mL from bottle 7, 315 mL of water, 350 mL in all") != NULL, "%s", text);
	cr_assert(strstr(text, "fixer, loads 1 to 2: 240 mL from bottle 9, 960 mL of water, 1.2 L in all") != NULL, "%s",
			  text);
	bottles[1].stock_ul = 200000;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.short_ul, 40000);
	cr_assert(strstr(refusal.lines[1], "the vessel needs at least 1.2 L: not even one piece") == refusal.lines[1], "%s",
			  refusal.lines[1]);
	ask.solutions[1].least_ul = 10000;
	ask.solutions[1].most_ul = 20000; /* too small for one piece's silver */
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_MOST);
	cr_assert_eq(refusal.solution, 1);
	cr_assert_eq(refusal.have_ul, 20000);
	ask.solutions[1].least_ul = 30000;
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	cr_assert_str_eq(fault.where, "solutions/1/vessel");
}

Test(plan, a_trial_is_one_piece_before_the_rest)
{
	struct wet_plan_ask ask = six();
	ask.wants_trial = true;
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(plan.load_count, 3);
	cr_assert(plan.loads[0].is_trial && plan.loads[0].counts[0] == 1);
	cr_assert_eq(plan.loads[1].counts[0] + plan.loads[2].counts[0], 5);
	cr_assert(strstr(text, "3 loads of 1 (trial), 3, 2") == text, "%s", text);
	ask.sizes[0].count = 1; /* it is its own trial */
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(plan.load_count, 1);
	cr_assert_not(plan.loads[0].is_trial);
}

Test(plan, what_stands_ready_is_used_first)
{
	struct wet_plan_ask ask = six();
	workings[0] = (struct wet_plan_working){ .id = 3, .solution = 1, .volume_ul = 400000, .used_mm2 = 100000,
										   .age_ns = DAY_NS, .keeps_ns = 60 * DAY_NS };
	ask.working_count = 1;
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "fixer, load 1: working solution 3 as it stands, 400 mL; keep it") != NULL, "%s", text);
	workings[0].age_ns = 61 * DAY_NS;
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "working solution") == NULL, "%s", text);
}

/* The fixer as two baths that bear two loads of three each: 65,000 mm2 in 350 mL. */
static struct wet_plan_ask two_baths(int pieces)
{
	struct wet_plan_ask ask = six();
	ask.sizes[0].count = pieces;
	ask.vessel.slots = 3;
	ask.vessel.most_ul = 370000;
	bottles[0].stock_ul = bottles[1].stock_ul = 5000000;
	ask.solutions[1].has_second = true;
	ask.solutions[1].second_share_ppm = 50000;
	ask.solutions[1].rotations_most = 3;
	ask.solutions[1].capacity_mm2_per_l = 190000;
	return ask;
}

static const struct wet_plan_bath *fixer(int index)
{
	const struct wet_plan_bath *b = plan.baths;
	while (b->solution == 0)
		b++;
	return &b[index];
}

/* Two loads, and the share of what passed before, make the volume of each: (2 x 32,400 + 3,240) / 0.19 m2/L. */
Test(plan, the_second_bath_becomes_the_first_and_keeps_its_count)
{
	struct wet_plan_ask ask = two_baths(12);
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(plan.load_count, 4);
	cr_assert_eq(plan.bath_count, 4 + 3);
	cr_assert_eq(fixer(0)->volume_ul, 350000);
	cr_assert_eq(fixer(0)->load_count, 2);
	cr_assert_not(fixer(0)->is_kept);
	cr_assert_eq(fixer(1)->second_load, 0);
	cr_assert_eq(fixer(1)->second_count, 2);
	cr_assert_eq(fixer(1)->first_load, 2);
	cr_assert_eq(fixer(1)->load_count, 2);
	cr_assert_eq(fixer(1)->rotations, 1);
	cr_assert_eq(fixer(1)->second_mm2, 64800);
	cr_assert_eq(fixer(1)->area_mm2, 64800);
	cr_assert_eq(fixer(1)->volume_ul, 358106); /* 68,040 / 0.19, up */
	cr_assert_not(fixer(1)->is_kept);          /* spent to the last piece: its second is kept, as the first */
	cr_assert_eq(fixer(2)->load_count, 0);
	cr_assert_eq(fixer(2)->rotations, 2);
	cr_assert(fixer(2)->is_kept);
	cr_assert(strstr(text, "fixer, first for loads 1 to 2: 70 mL from bottle 9, 280 mL of water, 350 mL in all; it is spent "
						   "after load 2: discard it, as local rules say; its second becomes the first\n"), "%s", text);
	cr_assert(strstr(text, "fixer, second for loads 1 to 2, then first for loads 3 to 4: "), "%s", text);
	cr_assert(strstr(text, "350 mL in all; keep it as the first, as the first it bears 632 cm2 more\n"), "%s", text);
}

Test(plan, after_the_last_rotation_both_baths_go)
{
	struct wet_plan_ask ask = two_baths(15);
	ask.solutions[1].rotations_most = 1; /* loads 1 and 2, 3 and 4; then two fresh ones for the fifth */
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(plan.load_count, 5);
	cr_assert_eq(plan.bath_count, 5 + 5);
	cr_assert_eq(fixer(2)->second_load, 2);
	cr_assert_eq(fixer(2)->load_count, 0);
	cr_assert_not(fixer(2)->is_kept);
	cr_assert_eq(fixer(3)->rotations, 0);
	cr_assert_eq(fixer(3)->first_load, 4);
	cr_assert(fixer(3)->is_kept && fixer(4)->is_kept);
	cr_assert_eq(plan.gone_ul - 5 * 35000, fixer(0)->stock_ul + fixer(1)->stock_ul + fixer(2)->stock_ul);
	cr_assert(strstr(text, "keep it as the first, as the first it bears 341 cm2 more"), "%s", text);
	cr_assert(strstr(text, "keep it as the second"), "%s", text);
}

Test(plan, the_standing_bath_that_has_done_most_is_the_first)
{
	struct wet_plan_ask ask = two_baths(3);
	const struct wet_plan_working w = { .solution = 1, .volume_ul = 350000, .keeps_ns = 60 * DAY_NS };
	for (int i = 0; i < 3; i++)
		workings[i] = w;
	workings[0].id = 3;
	workings[0].second_mm2 = 32400; /* 1,620 counted: the second, however old */
	workings[0].age_ns = 20 * DAY_NS;
	workings[0].rotations = 1;
	workings[1].id = 4;
	workings[1].used_mm2 = 32400;
	workings[2].id = 5; /* too much for the load, so not the first; then none may stand before it */
	workings[2].used_mm2 = 40000;
	ask.working_count = 3;
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(fixer(0)->working, 1);
	cr_assert_eq(fixer(1)->working, 0);
	cr_assert_eq(fixer(1)->rotations, 1);
	cr_assert_eq(fixer(1)->second_mm2, 64800);
	workings[0].rotations = 2; /* of another pair, further on */
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(fixer(0)->working, 1);
	cr_assert_eq(fixer(1)->working, -1);
	workings[1].age_ns = 61 * DAY_NS; /* alone, it is the first, and a fresh one stands behind it */
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(fixer(0)->working, 0);
	cr_assert_eq(fixer(0)->rotations, 2);
	cr_assert_eq(fixer(1)->working, -1);
	cr_assert_eq(fixer(1)->rotations, 3);
	workings[0].rotations = 4; /* rotated too often: it is neither */
	cr_assert_eq(make(&ask), 0);
	cr_assert_eq(fixer(0)->working, -1);
	cr_assert_eq(fixer(1)->working, -1);
}

Test(plan, one_bath_is_not_two)
{
	struct wet_plan_ask ask = two_baths(3);
	bottles[1].stock_ul = 100000;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_STOCK);
	cr_assert_eq(refusal.need_ul, 140000);
	cr_assert_eq(refusal.short_ul, 40000);
	cr_assert(refusal.is_proven);
	ask.solutions[1].is_one_shot = true;
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	cr_assert_str_eq(fault.where, "solutions/1/second");
}

Test(plan, short_stock_is_told_with_ways_out)
{
	struct wet_plan_ask ask = six();
	bottles[0].stock_ul = 60000;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_STOCK);
	cr_assert(refusal.is_proven);
	cr_assert_eq(refusal.short_ul, 10000);
	cr_assert_eq(refusal.pieces_now, 4);
	cr_assert_eq(refusal.loads_now, 1);
	cr_assert_str_eq(refusal.lines[0],
					 "developer: 10 mL of stock short: the 60 mL you have make 600 mL at 1+9; 2 loads take "
					 "70 mL of stock");
	cr_assert_str_eq(refusal.lines[1],
					 "the vessel needs at least 350 mL: 1 load with 4 pieces now, 2 pieces another day");
	cr_assert_str_eq(refusal.lines[2], "or bring 10 mL more of it, at least");
	cr_assert_str_eq(fault.want, refusal.lines[0]);
	bottles[0].stock_ul = 34000;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.pieces_now, 0);
	cr_assert(strstr(refusal.lines[1], "not even one piece") != NULL, "%s", refusal.lines[1]);
}

Test(plan, each_rule_is_named)
{
	struct wet_plan_ask ask = six();
	ask.solutions[1].has_time = false;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_TIME);
	cr_assert_eq(refusal.solution, 1);

	ask = six();
	ask.sizes[0].slots = 5;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_FIT);

	ask = six();
	ask.solutions[0].capacity_mm2_per_l = 20000; /* 540 mL a piece */
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_MOST);
	cr_assert_eq(refusal.short_ul, 40000);

	ask = six();
	bottles[0].keeps_ns = 39 * DAY_NS;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_AGE);
	cr_assert(strstr(refusal.lines[0], "there is none that is fresh enough; 2 loads take"), "%s", refusal.lines[0]);
	cr_assert_str_eq(refusal.lines[2], "bottle 7 is 40 days old and keeps 39 days, 24 hours too old");

	ask = six(); /* lots of 34 and 36 mL: only one bath of 35 */
	bottles[0].stock_ul = 34000;
	bottles[2] = (struct wet_plan_bottle){ 8, 0, 2, 36000, 40 * DAY_NS, 365 * DAY_NS, NULL };
	ask.bottle_count = 3;
	cr_assert_eq(make(&ask), WET_ERR_FIT);
	cr_assert_eq(refusal.rule, WET_PLAN_RULE_LOTS);
	cr_assert(strstr(refusal.lines[1], "(--mix-lots)"), "%s", refusal.lines[1]);
	cr_assert(strstr(refusal.lines[0], "gives every bath its share at 1+9"), "%s", refusal.lines[0]);
	cr_assert_eq(refusal.pieces_now, 3); /* 35 of the 36 mL; four would take 43.2 */
	ask.solutions[0].may_mix_lots = true;
	cr_assert_eq(make(&ask), 0);
}

Test(plan, the_oldest_that_is_fresh_goes_first)
{
	struct wet_plan_ask ask = six();
	bottles[2] = (struct wet_plan_bottle){ 8, 0, 2, 50000, 90 * DAY_NS, 365 * DAY_NS, NULL };
	bottles[3] = (struct wet_plan_bottle){ 4, 0, 3, 400000, 400 * DAY_NS, 365 * DAY_NS, NULL };
	ask.bottle_count = 4;
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "developer, load 1: 35 mL from bottle 8") != NULL, "%s", text);
	cr_assert(strstr(text, "developer, load 2: 35 mL from bottle 7") != NULL, "%s", text);
	cr_assert(strstr(text, "bottle 4") == NULL, "%s", text);
}

Test(plan, nonsense_is_refused_and_named)
{
	struct wet_plan_ask ask = six();
	cr_assert_eq(wet_plan_make(&ask, workspace, wet_plan_workspace_bytes(&ask) - 1, &plan, &refusal, &fault),
				 WET_ERR_TOO_LONG);
	cr_assert_eq(wet_plan_make(&ask, NULL, sizeof workspace, &plan, &refusal, &fault), WET_ERR_TOO_LONG);
	ask.vessel.least_ul = 0;
	cr_assert_eq(wet_plan_workspace_bytes(&ask), 0);
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	cr_assert_str_eq(fault.where, "vessel/volume");
	ask = six();
	ask.solutions[1].capacity_mm2_per_l = 0;
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	cr_assert_str_eq(fault.where, "solutions/1/capacity");
	ask = six();
	bottles[1].id = bottles[0].id;
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	cr_assert_str_eq(fault.where, "bottles/1/id");
	ask = six();
	ask.sizes[0].count = 0;
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	ask = six();
	ask.sizes[0].count = WET_PLAN_PIECES + 1;
	cr_assert_eq(make(&ask), WET_ERR_RANGE);
	cr_assert_str_eq(fault.where, "sizes/0/count");
}

Test(plan, a_bottle_that_has_a_name_is_called_by_it)
{
	struct wet_plan_ask ask = six();
	bottles[0].name = "dev-a";
	cr_assert_eq(make(&ask), 0);
	cr_assert(strstr(text, "from dev-a") != NULL, "%s", text);
	cr_assert(strstr(text, "from bottle 9") != NULL, "%s", text);
}

/* Twelve bottles of one age, no two as full, one bath from one lot: nothing but what is gone tells one way from another,
 * and there are more ways than can be gone through one by one. */
static struct wet_plan_ask twelve_of_one_age(void)
{
	struct wet_plan_ask ask = { .size_count = 1,
								.sizes = { { 5400, 30, 1 }, { PIECE_MM2, 7, 1 }, { 13110, 6, 1 }, { 21600, 6, 2 } },
								.vessel = { 350000, 1000000, 2, 0 },
								.solution_count = 1,
								.bottle_count = 12,
								.bottles = bottles,
								.measure_least_ul = 20000,
								.wants_trial = true };
	ask.solutions[0] = (struct wet_plan_solution){ .name = "developer", .stock_milli = 1000, .water_milli = 4000, .has_time = true,
									.capacity_mm2_per_l = 60000 };
	for (int i = 0; i < 12; i++)
		bottles[i] = (struct wet_plan_bottle){ i + 1, 0, i + 1, 80000 + i * 7001, 40 * DAY_NS, 365 * DAY_NS, NULL };
	return ask;
}

Test(plan, ties_of_age_are_proven_within_the_limit)
{
	struct wet_plan_ask ask = twelve_of_one_age();
	cr_assert_eq(make(&ask), 0, "%s", fault.want);
	cr_assert(plan.is_exact);
	cr_assert_eq(plan.load_count, 16);
	cr_assert_eq(plan.bath_count, 4); /* of 162,000 mm2, and the fullest bottle makes 785 mL, which bears 47,130 */
	cr_assert_eq(plan.gone_ul, 572036, "%lld", (long long)plan.gone_ul);
	cr_assert_lt(plan.work, 100000);
	ask.wants_trial = false;
	ask.size_count = 4;
	ask.sizes[0].count = 5;
	ask.vessel.slots = 4;
	cr_assert_eq(make(&ask), 0, "%s", fault.want);
	cr_assert(plan.is_exact);
	cr_assert_eq(plan.load_count, 9);
	cr_assert_eq(plan.squares, 10801108800);
	cr_assert_eq(plan.gone_ul, 1055825, "%lld", (long long)plan.gone_ul);
	cr_assert_lt(plan.work, 500000);
}
