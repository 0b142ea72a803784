/* test_washing.c: washes alone and runs that share a washer, in a darkroom on virtual time. */
#include "darkroom/wash.h"
#include "lib/room_fake.h"
#include "shelf/shelf.h"

#include <criterion/criterion.h>
#include <string.h>

#define S 1000000000LL
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;

static void open_room(void)
{
	room_fake_open(&f);
}

static void close_room(void)
{
	room_fake_close(&f);
}

TestSuite(washing, .init = open_room, .fini = close_room);

static void after(int64_t ns)
{
	room_fake_go_to(&f, f.now_ns + ns);
}

static struct wet_arming arming(const char *recipe, const char *run)
{
	struct wet_arming a = {
		.pieces = 2, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN
	};
	strcpy(a.recipe_name, recipe);
	strcpy(a.run_name, run);
	return a;
}

static struct wet_live *arm(const struct wet_arming *a)
{
	f.live = NULL;
	room_fake_arm(&f, a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	return f.live;
}

static struct wet_washing planned(bool by_changes, bool is_aided)
{
	struct wet_wash_ask ask = { WET_BASE_FIBRE_DOUBLE, is_aided, 20000, 6 * 90 * 120, 5000000 };
	struct wet_wash_plan plan;
	struct wet_washing w;
	cr_assert_eq(wet_wash_plan(&ask, &plan, NULL), 0);
	wet_washing_of(&ask, &plan, by_changes, &w);
	return w;
}

static struct wet_live *arm_wash(const char *run, bool by_changes, bool is_aided)
{
	struct wet_arming a = arming("", run);
	a.is_wash = true;
	a.wash = planned(by_changes, is_aided);
	return arm(&a);
}

static void press(struct wet_live *live, int kind)
{
	f.live = live;
	room_fake_act(&f, kind, 0);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
}

static struct wet_view view(const struct wet_live *live)
{
	struct wet_view v;
	wet_run_view(&live->run, f.now_ns, &v);
	return v;
}

static void begin_wash(struct wet_live *live)
{
	press(live, WET_ACT_BEGIN);
	after(3 * S);
	press(live, WET_ACT_GO);
}

/* By hand, up to the press that begins its first wash: that is the caller's. */
static void hurry_to_wash(struct wet_live *live)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	press(live, WET_ACT_BEGIN);
	for (int i = 0; i < 100 && r->stages[live->run.pos.stage + 1].kind != WET_STAGE_WASH; i++) {
		after(3 * S);
		f.live = live;
		room_fake_act(&f, WET_ACT_GO, WET_EVENT_HELD);
	}
	cr_assert_eq(r->stages[live->run.pos.stage + 1].kind, WET_STAGE_WASH);
	after(3 * S);
}

static void go_held(struct wet_live *live)
{
	f.live = live;
	room_fake_act(&f, WET_ACT_GO, WET_EVENT_HELD);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
}

Test(washing, what_was_planned_comes_back_from_its_text_and_nothing_else_does)
{
	char text[WET_WASHING_BYTES];
	for (int base = 0; base < WET_BASE_N; base++)
		for (int i = 0; i < 8; i++) {
			struct wet_wash_ask ask = { (enum wet_base)base, i & 1, i & 2 ? 4000 : 19000, 6 * 90 * 120,
										2000000 };
			struct wet_wash_plan plan;
			struct wet_washing w, back;
			cr_assert_eq(wet_wash_plan(&ask, &plan, NULL), 0);
			wet_washing_of(&ask, &plan, i & 4, &w);
			wet_washing_text(&w, text, sizeof text);
			cr_assert_eq(wet_washing_from_text(text, strlen(text), &back), 0, "%s", text);
			struct wet_recipe a, b;
			wet_wash_recipe(&w, &a);
			wet_wash_recipe(&back, &b);
			cr_assert_eq(memcmp(&a, &b, sizeof a), 0);
			const struct wet_stage *last = &a.stages[a.stage_count - 1];
			cr_assert_eq(last->kind, WET_STAGE_WASH);
			cr_assert_eq(last->aim_ns, i & 4 ? plan.standing_ns : plan.running_ns);
			cr_assert_eq(last->waters.count, i & 4 ? plan.changes : 0);
			cr_assert_eq(a.stage_count, plan.aid_ns > 0 ? 2 : 1);
			int64_t all = last->waters.first_ns + (last->waters.count - 1) * last->waters.each_ns;
			cr_assert(last->waters.count == 0 || all == last->aim_ns, "its waters are the whole wash");
			/* Every byte counts. */
			for (size_t k = 0; k < strlen(text); k++) {
				char was = text[k];
				text[k] = was == '#' ? '+' : '#';
				cr_assert_eq(wet_washing_from_text(text, strlen(text), &back), WET_ERR_CORRUPT, "at %zu", k);
				text[k] = was;
			}
			cr_assert_eq(wet_washing_from_text(text, strlen(text) - 1, &back), WET_ERR_CORRUPT);
		}
	struct wet_washing none;
	cr_assert_eq(wet_washing_from_text("{}", 2, &none), WET_ERR_CORRUPT);
}

Test(washing, bases_by_key_and_by_word)
{
	enum wet_base base;
	struct wet_fault fault;
	for (int i = 0; i < WET_BASE_N; i++) {
		cr_assert_eq(wet_wash_base_from_key(wet_wash_base_key((enum wet_base)i), &base, &fault), 0);
		cr_assert_eq(base, (enum wet_base)i);
		cr_assert_eq(wet_wash_base_from_key(wet_base_word((enum wet_base)i), &base, &fault), 0);
		cr_assert_eq(base, (enum wet_base)i);
	}
	cr_assert_eq(wet_wash_base_from_key("cloth", &base, &fault), WET_ERR_NOT_FOUND);
	cr_assert_str_eq(fault.want, "one of: rc, fibre-single, fibre-double, film");
}

static void note_digit(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	cr_assert_eq(fault->err, WET_OK, "%s", fault->want);
	*(int *)ctx = armed->live->digit;
}

/* Another run may lie in the dark, with somebody counting its pips. */
Test(washing, a_wash_alone_asks_for_no_sound_check)
{
	struct wet_arming a = arming("", "wash");
	int digit = -1, heard = f.heard_count;
	a.is_wash = true;
	a.wash = planned(false, false);
	wet_darkroom_arm(f.room, &a, note_digit, &digit);
	cr_assert_eq(digit, 0);
	cr_assert_eq(f.heard_count, heard);
	room_fake_restart(&f, S);
	f.live = wet_darkroom_find(f.room, "wash");
	cr_assert_eq(f.live->digit, 0);
	press(f.live, WET_ACT_BEGIN);
}

Test(washing, a_wash_alone_begins_on_go_and_ends_only_by_go)
{
	struct wet_live *wash = arm_wash("", false, true);
	cr_assert_str_eq(wash->name, "wash");
	cr_assert(wash->run.setup.is_unheard);
	press(wash, WET_ACT_BEGIN);
	cr_assert_eq(view(wash).light, WET_LIGHT_WHITE);
	after(3600 * S);
	cr_assert_eq(view(wash).phase, WET_PHASE_WAITING);
	press(wash, WET_ACT_GO);
	cr_assert_str_eq(f.answer.text, "Washing aid begins now. No beat now.");
	after(181 * S);
	press(wash, WET_ACT_GO);
	cr_assert_str_eq(f.answer.text, "Wash begins now. No beat now.");
	after(7200 * S);
	cr_assert_eq(wash->run.outcome, 0);
	press(wash, WET_ACT_GO);
	cr_assert_eq(wash->run.outcome, 1);
	after(S);
	const struct wet_drying *list;
	cr_assert_eq(wet_darkroom_drying(f.room, &list), 0);
}

Test(washing, changes_of_water_are_heard_when_they_are_due)
{
	struct wet_washing w = planned(true, false);
	struct wet_live *wash = arm_wash("", true, false);
	begin_wash(wash);
	int heard = f.heard_count;
	int64_t begin = f.now_ns;
	after(w.wash_ns - S);
	cr_assert_eq(f.heard_count - heard, w.waters.count - 1);
	for (int i = 0; i < w.waters.count - 1; i++) {
		cr_expect_eq(f.heard[heard + i].at_ns, begin + w.waters.first_ns + i * w.waters.each_ns);
		cr_expect_eq(f.heard[heard + i].tone, WET_TONE_ATTEND);
	}
}

Test(washing, who_begins_a_wash_restarts_the_one_in_the_same_washer)
{
	struct wet_arming a = arming(TANK, "tank"), b = arming(TANK, "second");
	b.pieces = 3;
	struct wet_live *one = arm(&a), *two = arm(&b);
	hurry_to_wash(one);
	go_held(one);
	cr_assert_null(strstr(f.answer.text, "anew"), "%s", f.answer.text);
	hurry_to_wash(two);
	after(10 * S);
	int64_t seq = one->seq;
	cr_assert_lt(view(one).begin_boot_ns, f.now_ns);
	go_held(two);
	cr_assert_str_eq(f.answer.text,
					 "First wash begins now. No beat now. The wash of tank begins anew for both.");
	cr_assert_eq(view(one).begin_boot_ns, f.now_ns);
	cr_assert_eq(view(two).begin_boot_ns, f.now_ns);
	cr_assert_eq(one->seq, seq + 1);
	cr_assert_eq(one->stored_seq, one->seq);
	cr_assert_eq(room_fake_told(one, "joined"), 1);
	for (int i = 0; i < WET_CUE_LOG; i++)
		if (strcmp(one->log[i].word, "joined") == 0)
			cr_assert_str_eq(one->log[i].text, "Three more pieces joined: the first wash begins anew, 5:00.");
	cr_assert_eq(room_fake_told(two, "joined"), 0);
}

Test(washing, another_washer_another_room_or_a_rehearsal_shares_nothing)
{
	struct wet_arming other = arming("", "other"), room = arming("", "room");
	struct wet_arming rehearsal = arming(TANK, "play");
	other.is_wash = room.is_wash = true;
	other.wash = room.wash = planned(false, false);
	strcpy(other.washer_name, "bucket");
	strcpy(room.room, "shed");
	rehearsal.is_rehearsal = rehearsal.is_mine = true;
	struct wet_live *wash = arm_wash("wash", false, false), *bucket = arm(&other), *shed = arm(&room);
	struct wet_live *play = arm(&rehearsal);
	begin_wash(wash);
	int64_t begin = view(wash).begin_boot_ns;
	after(30 * S);
	begin_wash(bucket);
	begin_wash(shed);
	hurry_to_wash(play);
	go_held(play);
	cr_assert_null(strstr(f.answer.text, "anew"), "%s", f.answer.text);
	cr_assert_eq(view(wash).begin_boot_ns, begin);
}

Test(washing, joining_one_restarts_all_in_the_washer_but_not_who_waits_or_was_interrupted)
{
	struct wet_live *a = arm_wash("a", false, false), *b = arm_wash("b", false, false);
	struct wet_live *c = arm_wash("c", false, false), *d = arm_wash("d", false, false);
	begin_wash(a);
	after(10 * S);
	begin_wash(b);
	after(10 * S);
	begin_wash(c);
	cr_assert(strstr(f.answer.text, "begins anew for all."), "%s", f.answer.text);
	press(d, WET_ACT_BEGIN);
	press(b, WET_ACT_EMERGENCY);
	int64_t b_begin = view(b).begin_ns, d_seq = d->seq;
	after(60 * S);
	press(a, WET_ACT_JOIN);
	cr_assert_str_eq(
		f.answer.text,
		"The wash begins anew, 1:30:00. The wash of c begins anew for both. Not for b: join it when "
		"it goes on.");
	cr_assert_eq(view(a).begin_boot_ns, f.now_ns);
	cr_assert_eq(view(c).begin_boot_ns, f.now_ns);
	cr_assert_eq(view(b).begin_ns, b_begin);
	cr_assert_eq(d->seq, d_seq);
}

Test(washing, a_rehearsal_that_presses_its_own_keys_joins_too)
{
	struct wet_arming mine = arming(TANK, "mine"), own = arming(TANK, "own");
	mine.is_rehearsal = mine.is_mine = own.is_rehearsal = true;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		own.rate_milli[i] = 20000;
	struct wet_live *one = arm(&mine);
	hurry_to_wash(one);
	go_held(one);
	struct wet_live *two = arm(&own);
	press(two, WET_ACT_BEGIN);
	for (int i = 0; i < 2000 && two->run.setup.recipe->stages[two->run.pos.stage].kind != WET_STAGE_WASH; i++)
		after(S);
	cr_assert_eq(room_fake_told(one, "joined"), 1);
	int64_t apart = view(one).begin_boot_ns - view(two).begin_boot_ns;
	cr_assert(apart >= 0 && apart < 1000000, "%lld", (long long)apart);
}

Test(washing, unnamed_acts_never_go_to_a_wash_while_another_run_is_in_hand)
{
	struct wet_live *one;
	struct wet_fault fault = { 0 };
	struct wet_arming a = arming(TANK, "tank");
	struct wet_live *wash = arm_wash("", false, false);
	press(wash, WET_ACT_BEGIN);
	cr_assert_eq(wet_darkroom_the_run(f.room, &one, &fault), 0);
	cr_assert_eq(one, wash, "alone it is meant");
	struct wet_live *tank = arm(&a);
	cr_assert_eq(wet_darkroom_the_run(f.room, &one, &fault), 0);
	cr_assert_eq(one, tank, "a wash that waits doesn't count");
	after(3 * S);
	press(wash, WET_ACT_GO);
	cr_assert_eq(wet_darkroom_the_run(f.room, &one, &fault), 0);
	cr_assert_eq(one, tank);
}

Test(washing, a_crash_moves_no_clock_and_loses_no_join)
{
	struct wet_live *a = arm_wash("a", true, true), *b = arm_wash("b", false, false);
	begin_wash(a);
	after(200 * S);
	press(a, WET_ACT_GO);
	after(30 * S);
	begin_wash(b);
	struct wet_view va = view(a), vb = view(b);
	cr_assert_eq(va.begin_ns, va.now_ns);
	room_fake_restart(&f, 90 * S);
	a = wet_darkroom_find(f.room, "a");
	b = wet_darkroom_find(f.room, "b");
	cr_assert(a && b);
	after(0);
	cr_assert_eq(view(a).begin_boot_ns, va.begin_boot_ns);
	cr_assert_eq(view(a).aim_boot_ns, va.aim_boot_ns);
	cr_assert_eq(view(b).begin_boot_ns, vb.begin_boot_ns);
	cr_assert_eq(view(b).aim_boot_ns, vb.aim_boot_ns);
	cr_assert_not(view(a).is_late);
	/* The changes of water go on where they were: nothing was frozen twice. */
	cr_assert_eq(a->run.setup.recipe->stages[1].waters.count, planned(true, true).waters.count);
	press(a, WET_ACT_JOIN);
	va = view(a);
	room_fake_restart(&f, S);
	cr_assert_eq(view(wet_darkroom_find(f.room, "a")).begin_boot_ns, va.begin_boot_ns);
	cr_assert_eq(view(wet_darkroom_find(f.room, "b")).begin_boot_ns, va.begin_boot_ns);
}
