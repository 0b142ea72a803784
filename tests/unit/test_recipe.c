/* test_recipe.c: kinds, the rules of a recipe that need no file, and the policy on temperature. */
#include "base/text.h"
#include "shelf_files.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define S WET_NS_PER_S

enum { UNLOAD, LID, DEVELOP, RINSE, STOP, FIRST_FIX, SECOND_FIX, FIRST_WASH, AID, WASH, STAGES };

static struct wet_recipe creek;

static void load(void)
{
	test_recipe_file(TEST_CREEK_RECIPE, &creek);
}
TestSuite(recipe, .init = load);

Test(recipe, words_and_kinds_are_one_to_one)
{
	for (int i = 0; i < WET_STAGE_KIND_N; i++) {
		enum wet_stage_kind kind = WET_STAGE_KIND_N;
		cr_assert_eq(wet_stage_kind_from_word(wet_stage_kind_word((enum wet_stage_kind)i), &kind), WET_OK);
		cr_expect_eq((int)kind, i);
		cr_expect_str_not_empty(wet_stage_kind_spoken((enum wet_stage_kind)i));
	}
	for (int i = 0; i < WET_VESSEL_KIND_N; i++) {
		enum wet_vessel_kind kind = WET_VESSEL_KIND_N;
		cr_assert_eq(wet_vessel_kind_from_word(wet_vessel_kind_word((enum wet_vessel_kind)i), &kind), WET_OK);
		cr_expect_eq((int)kind, i);
	}
	for (int i = 0; i < WET_LIGHT_KIND_N; i++) {
		enum wet_light_kind kind = WET_LIGHT_KIND_N;
		cr_assert_eq(wet_light_kind_from_word(wet_light_kind_word((enum wet_light_kind)i), &kind), WET_OK);
		cr_expect_eq((int)kind, i);
	}
	enum wet_stage_kind kind = WET_STAGE_TONE;
	cr_expect_eq(wet_stage_kind_from_word("fixing", &kind), WET_ERR_INVALID);
	cr_expect_eq(wet_stage_kind_from_word("", &kind), WET_ERR_INVALID);
	cr_expect_eq(wet_stage_kind_from_word(NULL, &kind), WET_ERR_INVALID);
	cr_expect_eq(kind, WET_STAGE_TONE, "untouched on failure");
	/* Values that are no kind are named, not read past the table. */
	cr_expect_str_eq(wet_stage_kind_word((enum wet_stage_kind)99), "unknown");
	cr_expect_str_eq(wet_vessel_kind_word((enum wet_vessel_kind) - 1), "unknown");
	cr_expect_not(wet_stage_kind_is_bath((enum wet_stage_kind)99));
	cr_expect_eq(wet_stage_kind_law((enum wet_stage_kind)99), WET_LAW_NONE);
	cr_expect_not(wet_stage_kind_is_bath(WET_STAGE_HANDLING));
	cr_expect_eq(wet_stage_kind_law(WET_STAGE_SECOND_FIX), WET_LAW_FIXING);
	cr_expect_eq(wet_stage_kind_law(WET_STAGE_WASH), WET_LAW_WASHING);
}

Test(recipe, creek_session_is_the_one_of_the_design)
{
	const struct {
		enum wet_stage_kind kind;
		const char *name, *place;
		int64_t aim_s;
		enum wet_begin_kind begin;
		enum wet_after_kind after;
		bool in_washer;
	} rows[STAGES] = {
		[UNLOAD] = { .kind = WET_STAGE_HANDLING, .name = "Unload" },
		[LID] = { .kind = WET_STAGE_HANDLING, .name = "Lid on" },
		[DEVELOP] = { WET_STAGE_DEVELOP, "Developer", "bottle one, one band", 120, WET_BEGIN_ON_GO,
					  WET_AFTER_BACK, false },
		[RINSE] = { WET_STAGE_RINSE, "Rinse", "water jug", 60, WET_BEGIN_STRAIGHT_ON, WET_AFTER_WASTE,
					false },
		[STOP] = { WET_STAGE_STOP, "Stop bath", "bottle two, two bands", 60, WET_BEGIN_STRAIGHT_ON,
				   WET_AFTER_WASTE, false },
		[FIRST_FIX] = { WET_STAGE_FIX, "First fixer", "bottle three", 180, WET_BEGIN_STRAIGHT_ON,
						WET_AFTER_BACK, false },
		[SECOND_FIX] = { WET_STAGE_SECOND_FIX, "Second fixer", "bottle four", 180, WET_BEGIN_STRAIGHT_ON,
						 WET_AFTER_BACK, false },
		[FIRST_WASH] = { WET_STAGE_WASH, "First wash", "washer", 300, WET_BEGIN_ON_GO, WET_AFTER_WASTE,
						 true },
		[AID] = { WET_STAGE_AID, "Washing aid", "bottle five", 180, WET_BEGIN_ON_GO, WET_AFTER_WASTE, true },
		[WASH] = { WET_STAGE_WASH, "Wash", "washer", 1200, WET_BEGIN_ON_GO, WET_AFTER_WASTE, true },
	};
	cr_assert_eq(creek.stage_count, STAGES);
	for (int i = 0; i < STAGES; i++) {
		const struct wet_stage *s = &creek.stages[i];
		cr_expect_eq(s->kind, rows[i].kind, "stage %d", i);
		cr_expect_str_eq(s->name, rows[i].name);
		if (!wet_stage_kind_is_bath(rows[i].kind))
			continue;
		cr_expect_str_eq(creek.baths[s->bath].place, rows[i].place);
		cr_expect_eq(s->aim_ns, rows[i].aim_s * S, "stage %d", i);
		cr_expect_eq(s->begin, rows[i].begin, "stage %d", i);
		cr_expect_eq(creek.baths[s->bath].after, rows[i].after, "stage %d", i);
		cr_expect_eq(s->in_washer, rows[i].in_washer, "stage %d", i);
	}
	cr_expect_str_eq(creek.stages[UNLOAD].say, "Camera {piece}, slot {piece}.");
	cr_expect_eq(creek.stages[UNLOAD].handling, WET_HANDLING_PIECES);
	cr_expect_str_eq(creek.stages[LID].say, "Lid on?");
	cr_expect(creek.stages[LID].lid_on);
	cr_expect_str_eq(creek.stages[STOP].say, "Vent after the first turn.");
	const struct wet_stage *d = &creek.stages[DEVELOP];
	cr_expect_eq(d->least_ns, 90 * S);
	cr_expect_eq(d->most_ns, 180 * S);
	cr_expect_eq(d->law.kind, WET_LAW_FACTOR);
	cr_expect(d->law.factor_per_10c == 1.92);
	cr_expect_eq(d->law.tref_mc, 20000);
	cr_expect_eq(d->agitation.opening_ns, 30 * S);
	cr_expect_eq(d->agitation.burst_ns, 10 * S);
	cr_expect_eq(d->agitation.every_ns, 60 * S);
	cr_expect_str_eq(d->agitation.how, "four slow turns, tap for air bells");
	cr_expect_eq(creek.fill_ns, 20 * S);
	cr_expect_eq(creek.drain_ns, 20 * S);
	cr_expect_eq(creek.stages[FIRST_FIX].law.kind, WET_LAW_FIXING);
	cr_expect_eq(creek.stages[WASH].law.kind, WET_LAW_WASHING);
	cr_expect(creek.is_direct_positive && !creek.is_resin_coated);
	cr_expect_eq(creek.both_fix_most_ns, 600 * S);
	cr_expect(creek.dry_least_ns > 0 && creek.dry_least_ns <= creek.dry_most_ns);
}

/* -- the rules, broken one at a time ------------------------------------------- */

static void no_name(struct wet_recipe *r)
{
	r->name[0] = '\0';
}
static void dashed_name(struct wet_recipe *r)
{
	wet_text_copy(r->name, sizeof r->name, "-creek");
}
static void no_title(struct wet_recipe *r)
{
	r->title[0] = '\0';
}
static void version_0(struct wet_recipe *r)
{
	r->version = 0;
}
static void washer_vessel(struct wet_recipe *r)
{
	r->vessel_kind = WET_VESSEL_WASHER;
}
static void no_vessel(struct wet_recipe *r)
{
	r->vessel_kind = (enum wet_vessel_kind)77;
}
static void fill_0(struct wet_recipe *r)
{
	r->fill_ns = 0;
}
static void drain_negative(struct wet_recipe *r)
{
	r->drain_ns = -1;
}
static void drain_long(struct wet_recipe *r)
{
	r->drain_ns = 3601 * S;
}
static void white_paper(struct wet_recipe *r)
{
	r->paper_light = WET_LIGHT_WHITE;
}
static void colour_in_the_dark(struct wet_recipe *r)
{
	wet_text_copy(r->safelight, sizeof r->safelight, "red");
}
static void no_baths(struct wet_recipe *r)
{
	r->bath_count = 0;
}
static void many_baths(struct wet_recipe *r)
{
	r->bath_count = WET_RECIPE_BATHS + 1;
}
static void bath_key(struct wet_recipe *r)
{
	wet_text_copy(r->baths[2].key, WET_NAME_BYTES, "Stop");
}
static void bath_no_name(struct wet_recipe *r)
{
	r->baths[2].name[0] = '\0';
}
static void bath_no_place(struct wet_recipe *r)
{
	r->baths[2].place[0] = '\0';
}
static void bath_no_solution(struct wet_recipe *r)
{
	r->baths[2].solution[0] = '\0';
}
static void bath_twice(struct wet_recipe *r)
{
	wet_text_copy(r->baths[2].key, WET_NAME_BYTES, r->baths[0].key);
}
static void no_stages(struct wet_recipe *r)
{
	r->stage_count = 0;
}
static void many_stages(struct wet_recipe *r)
{
	r->stage_count = WET_RECIPE_STAGES + 1;
}
static void stage_kind(struct wet_recipe *r)
{
	r->stages[RINSE].kind = (enum wet_stage_kind)55;
}
static void stage_no_name(struct wet_recipe *r)
{
	r->stages[RINSE].name[0] = '\0';
}
static void handling_bath(struct wet_recipe *r)
{
	r->stages[UNLOAD].bath = 0;
}
static void handling_time(struct wet_recipe *r)
{
	r->stages[UNLOAD].most_ns = S;
}
static void handling_silent(struct wet_recipe *r)
{
	r->stages[UNLOAD].say[0] = '\0';
}
static void bath_under(struct wet_recipe *r)
{
	r->stages[STOP].bath = -1;
}
static void bath_over(struct wet_recipe *r)
{
	r->stages[STOP].bath = r->bath_count;
}
static void rinse_in_stop(struct wet_recipe *r)
{
	r->stages[RINSE].bath = r->stages[STOP].bath;
}
static void least_0(struct wet_recipe *r)
{
	r->stages[STOP].least_ns = 0;
}
static void aim_short(struct wet_recipe *r)
{
	r->stages[STOP].aim_ns = r->stages[STOP].least_ns - 1;
}
static void most_short(struct wet_recipe *r)
{
	r->stages[STOP].most_ns = r->stages[STOP].aim_ns - 1;
}
static void most_long(struct wet_recipe *r)
{
	r->stages[STOP].most_ns = WET_STAGE_NS_MAX + 1;
}
static void fit_tight(struct wet_recipe *r)
{
	r->fill_ns += 1;
}
static void burst_no_period(struct wet_recipe *r)
{
	r->stages[DEVELOP].agitation.every_ns = 0;
}
static void agitation_both(struct wet_recipe *r)
{
	r->stages[DEVELOP].agitation.is_continuous = true;
}
static void factor_nan(struct wet_recipe *r)
{
	r->stages[DEVELOP].law.factor_per_10c = NAN;
}
static void factor_under_1(struct wet_recipe *r)
{
	r->stages[DEVELOP].law.factor_per_10c = 0.99;
}
static void law_of_stop(struct wet_recipe *r)
{
	r->stages[STOP].law = r->stages[DEVELOP].law;
}
static void fixing_law_of_wash(struct wet_recipe *r)
{
	r->stages[WASH].law.kind = WET_LAW_FIXING;
}
static void table_long(struct wet_recipe *r)
{
	r->stages[DEVELOP].law.kind = WET_LAW_TABLE;
	r->stages[DEVELOP].law.row_count = WET_LAW_ROWS + 1;
}
static void begin_first(struct wet_recipe *r)
{
	r->stages[DEVELOP].begin = WET_BEGIN_STRAIGHT_ON;
}
static void begin_rinse(struct wet_recipe *r)
{
	r->stages[RINSE].begin = WET_BEGIN_ON_GO;
}
static void begin_aid(struct wet_recipe *r)
{
	r->stages[AID].begin = WET_BEGIN_STRAIGHT_ON;
}
static void fix_in_washer(struct wet_recipe *r)
{
	r->stages[SECOND_FIX].in_washer = true;
	r->stages[SECOND_FIX].begin = WET_BEGIN_ON_GO;
}
static void back_from_washer(struct wet_recipe *r)
{
	r->stages[AID].in_washer = false;
}
static void white_after(struct wet_recipe *r)
{
	r->white_after = FIRST_FIX;
}
static void no_lid(struct wet_recipe *r)
{
	r->stages[LID].lid_on = false;
}
static void both_short(struct wet_recipe *r)
{
	r->both_fix_most_ns = 359 * S;
}
static void dry_order(struct wet_recipe *r)
{
	r->dry_least_ns = r->dry_most_ns + 1;
}
static void dry_silent(struct wet_recipe *r)
{
	r->dry_how[0] = '\0';
}
static void brace(struct wet_recipe *r)
{
	wet_text_copy(r->stages[STOP].say, WET_LINE_BYTES, "Vent {piece}.");
}
static void brace_open(struct wet_recipe *r)
{
	wet_text_copy(r->stages[UNLOAD].say, WET_LINE_BYTES, "Camera {piece");
}
static void bath_unused(struct wet_recipe *r)
{
	r->baths[r->bath_count] = r->baths[0];
	wet_text_copy(r->baths[r->bath_count++].key, WET_NAME_BYTES, "spare");
}

Test(recipe, each_rule_is_told_at_its_place)
{
	const struct {
		void (*spoil)(struct wet_recipe *r);
		int err;
		const char *where;
	} rows[] = {
		{ no_name, WET_ERR_INVALID, "/name" },
		{ dashed_name, WET_ERR_INVALID, "/name" },
		{ no_title, WET_ERR_INVALID, "/title" },
		{ version_0, WET_ERR_RANGE, "/version" },
		{ washer_vessel, WET_ERR_INVALID, "/vessel/kind" },
		{ no_vessel, WET_ERR_INVALID, "/vessel/kind" },
		{ fill_0, WET_ERR_RANGE, "/vessel/fill" },
		{ drain_negative, WET_ERR_RANGE, "/vessel/drain" },
		{ drain_long, WET_ERR_RANGE, "/vessel/drain" },
		{ white_paper, WET_ERR_INVALID, "/paper/light" },
		{ colour_in_the_dark, WET_ERR_INVALID, "/paper/safelight" },
		{ no_baths, WET_ERR_RANGE, "/baths" },
		{ many_baths, WET_ERR_TOO_MANY, "/baths" },
		{ bath_key, WET_ERR_INVALID, "/baths/2/key" },
		{ bath_no_name, WET_ERR_INVALID, "/baths/2/name" },
		{ bath_no_place, WET_ERR_INVALID, "/baths/2/place" },
		{ bath_no_solution, WET_ERR_INVALID, "/baths/2/solution" },
		{ bath_twice, WET_ERR_EXISTS, "/baths/2/key" },
		{ no_stages, WET_ERR_RANGE, "/stages" },
		{ many_stages, WET_ERR_TOO_MANY, "/stages" },
		{ stage_kind, WET_ERR_INVALID, "/stages/3/kind" },
		{ stage_no_name, WET_ERR_INVALID, "/stages/3/name" },
		{ handling_bath, WET_ERR_INVALID, "/stages/0" },
		{ handling_time, WET_ERR_INVALID, "/stages/0" },
		{ handling_silent, WET_ERR_INVALID, "/stages/0/say" },
		{ bath_under, WET_ERR_NOT_FOUND, "/stages/4/bath" },
		{ bath_over, WET_ERR_NOT_FOUND, "/stages/4/bath" },
		{ rinse_in_stop, WET_ERR_INVALID, "/stages/3/bath" },
		{ least_0, WET_ERR_RANGE, "/stages/4/least" },
		{ aim_short, WET_ERR_RANGE, "/stages/4/aim" },
		{ most_short, WET_ERR_RANGE, "/stages/4/most" },
		{ most_long, WET_ERR_RANGE, "/stages/4/most" },
		{ fit_tight, WET_ERR_FIT, "/stages/3/aim" },
		{ burst_no_period, WET_ERR_RANGE, "/stages/2/agitation" },
		{ agitation_both, WET_ERR_RANGE, "/stages/2/agitation" },
		{ factor_nan, WET_ERR_RANGE, "/stages/2/law/factor" },
		{ factor_under_1, WET_ERR_RANGE, "/stages/2/law/factor" },
		{ law_of_stop, WET_ERR_INVALID, "/stages/4/law" },
		{ fixing_law_of_wash, WET_ERR_INVALID, "/stages/9/law" },
		{ table_long, WET_ERR_RANGE, "/stages/2/law/table" },
		{ begin_first, WET_ERR_INVALID, "/stages/2/begin" },
		{ begin_rinse, WET_ERR_INVALID, "/stages/3/begin" },
		{ begin_aid, WET_ERR_INVALID, "/stages/8/begin" },
		{ fix_in_washer, WET_ERR_INVALID, "/stages/6/in_washer" },
		{ back_from_washer, WET_ERR_INVALID, "/stages/8/in_washer" },
		{ white_after, WET_ERR_INVALID, "/stages/5/white_after" },
		{ no_lid, WET_ERR_INVALID, "/stages/2/kind" },
		{ both_short, WET_ERR_RANGE, "/both_fixers/most" },
		{ dry_order, WET_ERR_RANGE, "/dry/least" },
		{ dry_silent, WET_ERR_INVALID, "/dry/how" },
		{ brace, WET_ERR_INVALID, "/stages/4/say" },
		{ brace_open, WET_ERR_INVALID, "/stages/0/say" },
		{ bath_unused, WET_ERR_INVALID, "/baths/7/key" },
	};
	static struct wet_recipe r;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_recipe_check(&creek, &fault), WET_OK, "%s: %s", fault.where, fault.want);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		r = creek;
		memset(&fault, 0, sizeof fault);
		rows[i].spoil(&r);
		cr_expect_eq(wet_recipe_check(&r, &fault), rows[i].err, "row %zu (%s): %s %s", i, rows[i].where,
					 wet_err_name(fault.err), fault.where);
		cr_expect_str_eq(fault.where, rows[i].where, "row %zu: %s, not %s", i, fault.where, rows[i].where);
		cr_expect_str_not_empty(fault.want, "row %zu", i);
		cr_expect_eq(wet_recipe_check(&r, NULL), rows[i].err, "row %zu without a fault", i);
	}
}

Test(recipe, reversal_needs_its_order)
{
	static struct wet_recipe r;
	struct wet_fault fault = { 0 };
	test_recipe_file(TEST_GOOD_RECIPE("reversal-trays"), &r);
	int light = -1, bleach = -1, redevelop = -1;
	for (int i = 0; i < r.stage_count; i++) {
		light = r.stages[i].kind == WET_STAGE_RE_EXPOSE ? i : light;
		bleach = r.stages[i].kind == WET_STAGE_BLEACH ? i : bleach;
		redevelop = r.stages[i].kind == WET_STAGE_REDEVELOP ? i : redevelop;
	}
	r.white_after = light + 1;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID,
				 "white only after the re-exposure makes no sense");
	r.white_after = bleach;
	cr_assert_eq(wet_recipe_check(&r, &fault), WET_OK, "%s %s", fault.where, fault.want);
	r.stages[light].bath = 0;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID);
	r.stages[light].bath = -1;
	r.stages[redevelop].kind = WET_STAGE_TONE;
	r.stages[redevelop].law.kind = WET_LAW_NONE;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID);
	cr_expect(strstr(fault.want, "redevelop") != NULL, "%s", fault.want);
	r.stages[redevelop].kind = WET_STAGE_REDEVELOP;
	r.stages[bleach].kind = WET_STAGE_TONE;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID);
	cr_expect(strstr(fault.want, "bleach") != NULL, "%s", fault.want);
}

static void set_solution(struct wet_recipe *r, int stage, const char *text)
{
	wet_text_copy(r->baths[r->stages[stage].bath].solution, WET_LINE_BYTES, text);
}

Test(recipe, reversal_refuses_what_would_spoil_it)
{
	static struct wet_recipe good, r;
	struct wet_fault fault = { 0 };
	test_recipe_file(TEST_GOOD_RECIPE("reversal-trays"), &good);
	int bleach = 0, develop = 0;
	for (int i = 0; i < good.stage_count; i++) {
		bleach = good.stages[i].kind == WET_STAGE_BLEACH ? i : bleach;
		develop = good.stages[i].kind == WET_STAGE_DEVELOP ? i : develop;
	}
	r = good; /* fixer dissolves what is to become the picture (Cyclopaedia of Photography, 1911: "develop, do not fix") */
	r.stages[bleach + 1].kind = WET_STAGE_FIX;
	r.stages[bleach + 1].bath = r.stages[develop].bath;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID);
	cr_expect(strstr(fault.want, "no fix before") != NULL, "%s", fault.want);
	static const char *const dichromates[] = { "potassium dichromate 9.5 g", "Dichromate", "BICHROMATE 1 %" };
	for (size_t i = 0; i < 3; i++) {
		r = good;
		set_solution(&r, bleach, dichromates[i]);
		cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_REFUSED, "%s", dichromates[i]);
		cr_expect(strstr(fault.want, "permanganate") != NULL, "what to do instead: %s", fault.want);
	}
	r = creek;
	set_solution(&r, DEVELOP, "a little dichromate");
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_REFUSED, "nowhere else either");
	r = good;
	wet_text_copy(r.baths[r.stages[bleach].bath].mix.from, WET_NAME_BYTES, "ferricyanide-bleach");
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_REFUSED);
	cr_expect(strstr(fault.want, "rehalogenating") != NULL, "%s", fault.want);
	r = creek; /* as a reducer in a process without re-exposure it is nobody's business here */
	set_solution(&r, STOP, "ferricyanide");
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_OK, "%s", fault.want);
}

Test(recipe, tests_are_freer_but_timed)
{
	static struct wet_recipe good, r;
	struct wet_fault fault = { 0 };
	test_recipe_file(WET_SOURCE_DIR "/recipes/test-clearing-time.json", &good);
	cr_assert(good.is_test);
	cr_assert_eq(wet_recipe_check(&good, &fault), WET_OK, "%s", fault.want);
	cr_expect_eq(wet_recipe_light(&good, 1), WET_LIGHT_WHITE);
	r = good;
	r.is_test = false;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID, "white light is for tests");
	cr_expect_str_eq(fault.where, "/paper/light");
	r.paper_light = WET_LIGHT_DARK;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID, "and so is a test stage");
	cr_expect_str_eq(fault.where, "/stages/1/kind");
	r = good;
	r.stages[1].bath = 5;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_NOT_FOUND);
	r = good;
	r.stages[1] = r.stages[0];
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID, "nothing is timed");
	cr_expect_str_eq(fault.where, "/stages");
	r = good; /* paper that lies open still needs to know when light may come on */
	r.paper_light = WET_LIGHT_DARK;
	cr_expect_eq(wet_recipe_check(&r, &fault), WET_ERR_INVALID);
}

/* -- policy ----------------------------------------------------------------------- */

static int policy(int stage, int32_t mc, struct wet_fault *fault)
{
	memset(fault, 0, sizeof *fault);
	return wet_temperature_policy(&creek, stage, mc, fault);
}

Test(recipe, cold_hydroquinone_is_refused_under_thirteen)
{
	struct wet_fault fault;
	cr_expect_eq(policy(DEVELOP, 13000, &fault), WET_OK, "%s", fault.want);
	cr_expect_eq(policy(DEVELOP, 12999, &fault), WET_ERR_POLICY);
	cr_expect(strstr(fault.want, "water bath") != NULL, "what to do instead: %s", fault.want);
	/* The other baths of the same cold room pass. */
	for (int i = RINSE; i < STAGES; i++)
		cr_expect_eq(policy(i, 5000, &fault), WET_OK, "stage %d: %s", i, fault.want);
	creek.developer = WET_DEVELOPER_OTHER;
	creek.stages[DEVELOP].law.min_mc = INT32_MIN;
	cr_expect_eq(policy(DEVELOP, 8000, &fault), WET_OK, "%s", fault.want);
}

Test(recipe, any_bath_over_twenty_seven_is_refused)
{
	struct wet_fault fault;
	creek.stages[DEVELOP].law.max_mc = INT32_MAX;
	for (int i = DEVELOP; i < STAGES; i++) {
		cr_expect_eq(policy(i, 27000, &fault), WET_OK, "stage %d: %s", i, fault.want);
		cr_expect_eq(policy(i, 27001, &fault), WET_ERR_POLICY, "stage %d", i);
		cr_expect(strstr(fault.want, "cold water") != NULL, "what to do instead: %s", fault.want);
	}
	cr_expect_eq(policy(UNLOAD, 40000, &fault), WET_OK, "handling has no bath");
}

Test(recipe, unknown_temperatures_and_stages_pass)
{
	struct wet_fault fault;
	cr_expect_eq(policy(DEVELOP, INT32_MIN, &fault), WET_OK);
	cr_expect_eq(policy(-1, 90000, &fault), WET_OK);
	cr_expect_eq(policy(STAGES, 90000, &fault), WET_OK);
}

Test(recipe, development_keeps_within_the_range_of_its_law)
{
	struct wet_fault fault;
	struct wet_law *law = &creek.stages[DEVELOP].law;
	law->min_mc = 17000;
	law->max_mc = 24000;
	cr_expect_eq(policy(DEVELOP, 17000, &fault), WET_OK);
	cr_expect_eq(policy(DEVELOP, 16999, &fault), WET_ERR_POLICY);
	cr_expect(strstr(fault.want, "17.0 C") != NULL || strstr(fault.want, "17 C") != NULL, "%s", fault.want);
	cr_expect_eq(policy(DEVELOP, 24001, &fault), WET_ERR_POLICY);
	/* A published table is never extrapolated. */
	test_recipe_file(TEST_GOOD_RECIPE("published-table"), &creek);
	cr_assert_eq(creek.stages[2].law.kind, WET_LAW_TABLE);
	creek.stages[2].law.min_mc = INT32_MIN;
	creek.stages[2].law.max_mc = INT32_MAX;
	cr_expect_eq(policy(2, 17220, &fault), WET_OK, "%s", fault.want);
	cr_expect_eq(policy(2, 17219, &fault), WET_ERR_POLICY);
	cr_expect(strstr(fault.want, "table") != NULL, "%s", fault.want);
	cr_expect_eq(policy(2, 26670, &fault), WET_OK, "%s", fault.want);
	cr_expect_eq(policy(2, 26671, &fault), WET_ERR_POLICY);
}

Test(recipe, without_a_law_development_stays_at_its_reference)
{
	struct wet_fault fault;
	test_recipe_file(TEST_GOOD_RECIPE("no-law"), &creek);
	cr_assert_eq(creek.stages[2].law.kind, WET_LAW_NONE);
	cr_expect_eq(policy(2, 20000, &fault), WET_OK, "%s", fault.want);
	cr_expect_eq(policy(2, 19000, &fault), WET_OK, "%s", fault.want);
	cr_expect_eq(policy(2, 18999, &fault), WET_ERR_POLICY);
	cr_expect(strstr(fault.want, "no law") != NULL, "%s", fault.want);
	cr_expect_eq(policy(2, 21001, &fault), WET_ERR_POLICY);
}
