/* test_stock.c: what stands on the shelf: its rules, and its rows in the ledger. */
#include "base/text.h"
#include "ledger/ledger.h"
#include "wetside/stock.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct wet_stock bottle(void)
{
	struct wet_stock s = { .kind = WET_STOCK_BOTTLE, .name = "fixer-stock", .what = "fixer", .full_ul = 1000000,
						   .volume_ul = 1000000 };
	return s;
}

static struct wet_stock bath(void)
{
	struct wet_stock s = bottle();
	s.kind = WET_STOCK_BATH;
	wet_text_copy(s.name, sizeof s.name, "fixer-one");
	s.full_ul = s.volume_ul = 600000;
	return s;
}

static void refused(const struct wet_stock *s, int err, const char *where)
{
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_stock_check(s, &fault), err, "%s: %s", where, fault.want);
	cr_assert_str_eq(fault.where, where);
	cr_assert_neq(fault.want[0], '\0');
}

Test(stock, camera_has_the_aperture_its_hole_makes)
{
	struct wet_stock camera = { .kind = WET_STOCK_CAMERA, .name = "tin-one", .what = "pinhole", .hole_um = 300,
								.distance_um = 72000, .width_um = 90000, .height_um = 120000 };
	struct wet_fault f = { 0 };
	char line[WET_LINE_BYTES];
	cr_assert_eq(wet_stock_check(&camera, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "aperture");
	wet_stock_set_aperture(&camera);
	cr_assert(camera.f_number_milli == 240000 && wet_stock_check(&camera, NULL) == 0);
	cr_assert_str_eq(wet_stock_line(&camera, line, sizeof line), "pinhole of 0.3 mm at 72 mm, f/240; takes 90 mm x 120 mm");
	camera.f_number_milli++;
	cr_assert_eq(wet_stock_check(&camera, NULL), WET_ERR_INVALID);
	struct wet_stock lens = { .kind = WET_STOCK_CAMERA, .name = "box", .what = "lens", .f_number_milli = 5657 };
	cr_assert_eq(wet_stock_check(&lens, NULL), 0);
	wet_stock_set_aperture(&lens); /* there is no hole to make it from */
	cr_assert_eq(lens.f_number_milli, 5657);
	cr_assert_str_eq(wet_stock_line(&lens, line, sizeof line), "lens, f/5.7");
	lens.width_um = 90000;
	cr_assert_eq(wet_stock_check(&lens, NULL), WET_ERR_RANGE);
	lens.width_um = 0;
	lens.hole_um = 300;
	cr_assert_eq(wet_stock_check(&lens, NULL), WET_ERR_RANGE);
}

Test(stock, what_a_kind_needs_is_asked_for)
{
	struct wet_stock s = bottle();
	cr_assert_eq(wet_stock_check(&s, NULL), 0);
	s.name[0] = '\0';
	refused(&s, WET_ERR_INVALID, "name");
	s = bottle();
	wet_text_copy(s.name, sizeof s.name, "--gone");
	refused(&s, WET_ERR_INVALID, "name");
	s = bottle();
	wet_text_copy(s.name, sizeof s.name, "a\x1b[2J");
	refused(&s, WET_ERR_INVALID, "name");
	s = bottle();
	s.what[0] = '\0';
	refused(&s, WET_ERR_INVALID, "what");
	s = bottle();
	s.full_ul = 0;
	refused(&s, WET_ERR_RANGE, "volume");
	s = bottle();
	s.volume_ul = s.full_ul + 1;
	refused(&s, WET_ERR_RANGE, "volume");
	s = bottle();
	s.volume_ul = -1;
	refused(&s, WET_ERR_RANGE, "volume");
	s = (struct wet_stock){ .kind = WET_STOCK_VESSEL, .name = "creek-tank", .what = "closed-tank", .full_ul = 600000,
							.least_ul = 350000 };
	cr_assert_eq(wet_stock_check(&s, NULL), 0);
	s.least_ul = 700000;
	refused(&s, WET_ERR_RANGE, "least");
	s.least_ul = 0;
	s.width_um = 100;
	refused(&s, WET_ERR_RANGE, "tray");
	s.width_um = 0;
	wet_text_copy(s.what, sizeof s.what, "bucket");
	refused(&s, WET_ERR_INVALID, "kind");
	s = (struct wet_stock){ .kind = WET_STOCK_GRADUATE, .name = "tall", .full_ul = 100000, .least_ul = 1000 };
	cr_assert_eq(wet_stock_check(&s, NULL), 0);
	s.grade = 'C';
	refused(&s, WET_ERR_INVALID, "class");
	s.grade = 'B';
	s.least_ul = 0;
	refused(&s, WET_ERR_RANGE, "marks");
}

static int use(struct wet_stock *s, int64_t volume_ul, int64_t wall_ms, struct wet_fault *fault)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_USE, .volume_ul = -volume_ul, .wall_ms = wall_ms };
	return wet_stock_use(s, &why, fault);
}

Test(stock, no_more_is_drawn_than_there_is)
{
	struct wet_stock s = bottle(), before = s;
	struct wet_fault fault = { 0 };
	cr_assert_eq(use(&s, 1000001, 7, &fault), WET_ERR_RANGE);
	cr_assert(strstr(fault.want, "1 L"), "%s", fault.want);
	cr_assert_eq(memcmp(&s, &before, sizeof s), 0);
	cr_assert_eq(use(&s, 400000, 7, &fault), 0);
	cr_assert_eq(s.volume_ul, 600000);
	cr_assert_not(s.is_gone);
	cr_assert_eq(use(&s, 600000, 8, &fault), 0);
	cr_assert(s.is_gone);
	cr_assert_eq(s.gone_ms, 8);
	cr_assert_eq(use(&s, 1, 9, &fault), WET_ERR_REFUSED);
	s = (struct wet_stock){ .kind = WET_STOCK_GRADUATE, .name = "tall", .full_ul = 100000, .least_ul = 1000 };
	cr_assert_eq(use(&s, 1, 9, &fault), WET_ERR_INVALID);
}

Test(stock, a_bath_of_two_keeps_both_counts)
{
	struct wet_stock s = bath();
	struct wet_stock_event first = { .act = WET_STOCK_ACT_USE, .area_mm2 = 520000 };
	struct wet_stock_event second = { .act = WET_STOCK_ACT_USE, .second_mm2 = 32400 };
	char line[WET_LINE_BYTES];
	cr_assert_eq(wet_stock_use(&s, &first, NULL), 0);
	cr_assert(strstr(wet_stock_line(&s, line, sizeof line), "; has done 5200 cm2"), "%s", line);
	cr_assert_eq(wet_stock_use(&s, &second, NULL), 0);
	s.rotations = 1;
	cr_assert_eq(s.area_mm2, 520000);
	cr_assert_eq(s.second_mm2, 32400);
	cr_assert(strstr(wet_stock_line(&s, line, sizeof line), "; fixed 0.52 m2 as first, 324 cm2 as second; pair rotated 1 time"),
			  "%s", line);
	s.area_mm2 = 0;
	cr_assert(strstr(wet_stock_line(&s, line, sizeof line), "; fixed 324 cm2 as second, nothing yet as first") &&
				  !strstr(line, "rotated"),
			  "%s", line);
	s.area_mm2 = 520000;
	second.second_mm2 = -1;
	cr_assert_eq(wet_stock_use(&s, &second, NULL), WET_ERR_RANGE);
	s.rotations = WET_STOCK_ROTATIONS + 1;
	refused(&s, WET_ERR_RANGE, "rotations");
}

/* -- in the ledger ------------------------------------------------------------------- */

static struct wet_ledger *ledger;
static char path[64];

static void open_ledger(void)
{
	wet_text_copy(path, sizeof path, "/tmp/wetside-stock.XXXXXX");
	close(mkstemp(path));
	unlink(path);
	struct wet_fault fault = { 0 };
	if (wet_ledger_open(&ledger, path, &fault) != 0)
		abort();
}

static void close_ledger(void)
{
	char wal[80];
	wet_ledger_close(ledger);
	unlink(path);
	wet_text_format(wal, sizeof wal, "%s-wal", path);
	unlink(wal);
}

static int count_event(void *ctx, const struct wet_stock_event *event)
{
	struct wet_stock_event *sum = ctx;
	sum->id++;
	sum->volume_ul += event->volume_ul;
	sum->area_mm2 += event->area_mm2;
	return 0;
}

static struct wet_stock_event history(int64_t id)
{
	struct wet_stock_event sum = { .id = 0 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_each_stock_event(ledger, id, INT64_MAX, 100, count_event, &sum, &fault), 0);
	return sum;
}

static struct wet_stock get(enum wet_stock_kind kind, const char *name)
{
	struct wet_stock s = { .id = 0 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_get_stock(ledger, kind, name, &s, &fault), 0, "%s", fault.want);
	return s;
}

TestSuite(stock_ledger, .init = open_ledger, .fini = close_ledger);

Test(stock_ledger, an_item_is_the_sum_of_its_history)
{
	struct wet_stock s = bottle(), b = bath();
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD, .wall_ms = 1 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_add_stock(ledger, &s, &why, &fault), 0, "%s", fault.want);
	cr_assert_gt(s.id, 0);
	cr_assert_eq(wet_ledger_add_stock_from(ledger, &b, s.id, 120000, &why, &fault), 0, "%s", fault.want);
	cr_assert_eq(b.from_id, s.id);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer-stock").volume_ul, 880000);
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_BOOK, .area_mm2 = 43200, .run_id = 3, .stage = 5 };
	cr_assert_eq(wet_ledger_use_stock(ledger, b.id, &why, &b, &fault), 0);
	cr_assert_eq(b.area_mm2, 43200);
	b.volume_ul = 580000;
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_CHANGE };
	cr_assert_eq(wet_ledger_change_stock(ledger, &b, &why, &fault), 0);
	cr_assert_eq(history(b.id).volume_ul, 580000);
	cr_assert_eq(history(b.id).area_mm2, 43200);
	cr_assert_eq(history(b.id).id, 3);
	cr_assert_eq(history(s.id).volume_ul, 880000);
	cr_assert_eq(wet_ledger_check(ledger, &fault), 0, "%s", fault.found);
	cr_assert_eq(wet_ledger_discard_stock(ledger, b.id, &why, &b, &fault), 0);
	cr_assert(b.is_gone);
	cr_assert_eq(history(b.id).volume_ul, 0);
	cr_assert_eq(wet_ledger_check(ledger, &fault), 0, "%s", fault.found);
}

Test(stock_ledger, the_same_act_is_booked_once)
{
	struct wet_stock s = bottle();
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD, .token = "add-1" };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_add_stock(ledger, &s, &why, &fault), 0);
	struct wet_stock again = bottle();
	cr_assert_eq(wet_ledger_add_stock(ledger, &again, &why, &fault), 0, "%s", fault.want);
	cr_assert_eq(again.id, s.id);
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_USE, .volume_ul = -45000, .token = "use-1" };
	for (int i = 0; i < 3; i++)
		cr_assert_eq(wet_ledger_use_stock(ledger, s.id, &why, &again, &fault), 0);
	cr_assert_eq(again.volume_ul, 955000);
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_BOOK, .area_mm2 = 10, .run_id = 9, .stage = 2 };
	for (int i = 0; i < 3; i++)
		cr_assert_eq(wet_ledger_use_stock(ledger, s.id, &why, &again, &fault), 0);
	cr_assert_eq(again.area_mm2, 10);
	why.stage = 3;
	cr_assert_eq(wet_ledger_use_stock(ledger, s.id, &why, &again, &fault), 0);
	cr_assert_eq(again.area_mm2, 20);
	cr_assert_eq(history(s.id).id, 4);
}

Test(stock_ledger, a_bath_that_cannot_be_drawn_is_not_there)
{
	struct wet_stock s = bottle(), b = bath();
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_add_stock(ledger, &s, &why, &fault), 0);
	cr_assert_eq(wet_ledger_add_stock_from(ledger, &b, s.id, 2000000, &why, &fault), WET_ERR_RANGE);
	cr_assert_eq(wet_ledger_get_stock(ledger, WET_STOCK_BATH, "fixer-one", &b, &fault), WET_ERR_NOT_FOUND);
	/* ... nor is the bottle touched where the bath may not be made. */
	b = bath();
	cr_assert_eq(wet_ledger_add_stock_from(ledger, &b, s.id, 120000, &why, &fault), 0);
	b = bath();
	cr_assert_eq(wet_ledger_add_stock_from(ledger, &b, s.id, 120000, &why, &fault), WET_ERR_EXISTS);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer-stock").volume_ul, 880000);
	cr_assert_eq(wet_ledger_check(ledger, &fault), 0);
}

Test(stock_ledger, a_name_is_free_again_when_its_item_is_gone)
{
	struct wet_stock s = bottle(), next = bottle();
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_add_stock(ledger, &s, &why, &fault), 0);
	cr_assert_eq(wet_ledger_add_stock(ledger, &next, &why, &fault), WET_ERR_EXISTS);
	cr_assert_eq(wet_ledger_discard_stock(ledger, s.id, &why, NULL, &fault), 0);
	cr_assert_eq(wet_ledger_discard_stock(ledger, s.id, &why, NULL, &fault), WET_ERR_REFUSED);
	cr_assert_eq(wet_ledger_add_stock(ledger, &next, &why, &fault), 0, "%s", fault.want);
	cr_assert_neq(next.id, s.id);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer-stock").id, next.id);
}

/* -- places ----------------------------------------------------------------------------- */

/* Whatever stands beside is found again, with the place as it was told. */
Test(stock, place_and_what_stands_beside)
{
	char place[WET_NAME_BYTES], told[WET_NAME_BYTES];
	struct wet_fault fault = { 0 };
	static const char *const places[] = { "", "low shelf", "shelf (left)", "beside the sink", "x" };
	int put = 0;
	for (size_t p = 0; p < sizeof places / sizeof places[0]; p++)
		for (unsigned beside = 0; beside < 1u << WET_BESIDE_N; beside++) {
			struct wet_stock s = bottle();
			if (wet_stock_put_place(&s, places[p], beside, &fault) != 0) {
				cr_assert_eq(fault.err, WET_ERR_TOO_LONG);
				cr_expect_str_eq(s.place, "", "as it was");
				continue;
			}
			put++;
			cr_expect_eq(wet_stock_place(&s, place), beside, "%s", s.place);
			cr_expect_str_eq(place, places[p]);
			wet_text_copy(told, sizeof told, s.place);
			cr_expect_eq(wet_stock_put_place(&s, place, beside, &fault), WET_OK);
			cr_expect_str_eq(s.place, told);
		}
	cr_expect_gt(put, 500);
	struct wet_stock s = bottle();
	cr_assert_eq(wet_stock_put_place(&s, "low shelf", 1u << WET_BESIDE_BLEACH | 1u << WET_BESIDE_FOOD, &fault), WET_OK);
	cr_expect_str_eq(s.place, "low shelf (beside bleach, food)");
}

/* What somebody wrote so is a place, not a list. */
Test(stock, a_place_that_only_looks_so)
{
	static const char *const places[] = { "low shelf (beside the window)", "(beside )", "(beside bleach", "shelf (beside bleach) two",
										  "(", "()", " (beside ", "(beside bleach, soap)", "(bleach)" };
	char place[WET_NAME_BYTES];
	for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
		struct wet_stock s = bottle();
		wet_text_copy(s.place, sizeof s.place, places[i]);
		cr_expect_eq(wet_stock_place(&s, place), 0, "%s", places[i]);
		cr_expect_str_eq(place, places[i]);
	}
}

Test(stock, words_of_what_stands_beside)
{
	struct wet_fault fault = { 0 };
	unsigned beside = 99;
	cr_expect_eq(wet_beside_parse("food,bleach", &beside, &fault), WET_OK);
	cr_expect_eq(beside, 1u << WET_BESIDE_BLEACH | 1u << WET_BESIDE_FOOD);
	cr_expect_eq(wet_beside_parse(" drain-cleaner , children ", &beside, &fault), WET_OK);
	cr_expect_eq(beside, 1u << WET_BESIDE_DRAIN_CLEANER | 1u << WET_BESIDE_CHILDREN);
	cr_expect_eq(wet_beside_parse("none", &beside, &fault), WET_OK);
	cr_expect_eq(beside, 0);
	beside = 7;
	cr_expect_eq(wet_beside_parse("bleach, soap", &beside, &fault), WET_ERR_NOT_FOUND);
	cr_expect_eq(beside, 7, "untouched");
	cr_expect_not_null(strstr(fault.want, "drain-cleaner"));
	cr_expect_eq(wet_beside_parse("drain", &beside, &fault), WET_ERR_NOT_FOUND, "no half word");
	cr_expect_eq(wet_beside_parse("none, food", &beside, &fault), WET_ERR_NOT_FOUND);
}

Test(stock, a_tray_takes_what_lies_in_it_side_by_side)
{
	struct wet_stock v = { .kind = WET_STOCK_VESSEL, .name = "trays", .what = "trays", .full_ul = 1000000, .pieces_max = 4,
						   .width_um = 200000, .height_um = 250000 };
	struct wet_fault fault = { 0 };
	const struct {
		int64_t width_um, height_um;
		int room; /* 0: refused */
	} rows[] = {
		{ 200000, 250000, 1 }, { 250000, 200000, 1 }, { 125000, 200000, 2 }, { 130000, 180000, 1 }, { 90000, 120000, 4 },
		{ 60000, 60000, 4 }, /* twelve would lie there; the person says four */
		{ 100000, 450000, 0 }, { 300000, 400000, 0 }, { 203200, 254000, 0 },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int room = 0, rc = wet_stock_room(&v, rows[i].width_um, rows[i].height_um, &room, &fault);
		cr_assert_eq(room, rows[i].room, "row %zu: %d", i, room);
		cr_assert_eq(rc, rows[i].room > 0 ? 0 : WET_ERR_FIT);
	}
	cr_assert(strstr(fault.want, "at most 200 mm x 250 mm"), "%s", fault.want);
	v.width_um = v.height_um = 0; /* nothing is known of it but the count */
	int room = 0;
	cr_assert_eq(wet_stock_room(&v, 300000, 400000, &room, &fault), 0);
	cr_assert_eq(room, 4);
	v.width_um = 200000;
	v.height_um = 250000;
	v.piece_width_um = 250000; /* a stack that is turned over */
	v.piece_height_um = 200000;
	cr_assert_eq(wet_stock_room(&v, 200000, 250000, &room, &fault), 0);
	cr_assert_eq(room, 4);
	cr_assert_eq(wet_stock_room(&v, 210000, 210000, &room, &fault), WET_ERR_FIT);
	cr_assert(strstr(fault.want, "so large is the largest piece of trays"), "%s", fault.want);
}

#define DAY_MS (24LL * 3600 * 1000)

static int64_t days(const struct wet_stock_age *age, enum wet_standing standing)
{
	return age->spells[standing].for_ns / 1000000 / DAY_MS;
}

Test(stock, a_spell_is_of_how_it_stood)
{
	struct wet_stock s = bath();
	struct wet_stock_age age;
	s.since_ms = 10 * DAY_MS;
	s.width_um = 200000;
	s.height_um = 250000;
	wet_stock_age_init(&age);
	wet_stock_age_add(&age, &s, 600000, WET_STOCK_KEPT_BOTTLE, 0, 13 * DAY_MS);		  /* from its mixing on */
	wet_stock_age_add(&age, &s, 300000, WET_STOCK_KEPT_BOTTLE, 13 * DAY_MS, 15 * DAY_MS); /* half is part full */
	wet_stock_age_add(&age, &s, 300000, WET_STOCK_KEPT_COVERED, 15 * DAY_MS, 20 * DAY_MS);
	wet_stock_age_add(&age, &s, 300000, WET_STOCK_KEPT_OPEN, 20 * DAY_MS, 21 * DAY_MS);
	cr_assert_eq(days(&age, WET_STANDING_FULL), 3);
	cr_assert_eq(days(&age, WET_STANDING_PART), 2);
	cr_assert_eq(days(&age, WET_STANDING_COVERED), 5);
	cr_assert_eq(days(&age, WET_STANDING_OPEN), 1);
	cr_assert_eq(age.spells[WET_STANDING_OPEN].volume_ul, 300000);
	cr_assert_eq(age.spells[WET_STANDING_OPEN].surface_mm2, 50000);
	cr_assert_eq(age.now, WET_STANDING_OPEN);
	cr_assert_eq(age.age_ns, 11 * DAY_MS * 1000000);
	s.since_ms = 0; /* not opened */
	wet_stock_age_init(&age);
	wet_stock_age_add(&age, &s, 600000, WET_STOCK_KEPT_BOTTLE, 0, 13 * DAY_MS);
	cr_assert_eq(age.age_ns, 0);
	cr_assert_eq(age.now, WET_STANDING_UNOPENED);
}

Test(stock, drawing_from_a_bottle_opens_it)
{
	struct wet_stock s = bottle();
	struct wet_stock_event nothing = { .act = WET_STOCK_ACT_USE, .wall_ms = 5 };
	struct wet_stock_event draw = { .act = WET_STOCK_ACT_USE, .wall_ms = 7, .volume_ul = -1000 };
	cr_assert_eq(wet_stock_use(&s, &nothing, NULL), 0);
	cr_assert_eq(s.since_ms, 0);
	cr_assert_eq(wet_stock_use(&s, &draw, NULL), 0);
	draw.wall_ms = 9;
	cr_assert_eq(wet_stock_use(&s, &draw, NULL), 0);
	cr_assert_eq(s.since_ms, 7);
}

Test(stock, a_dilution_is_the_same_however_it_is_told)
{
	struct wet_stock s = bath();
	const char *const alike[] = { "1+4", "2+8", "1 + 4" };
	for (size_t i = 0; i < sizeof alike / sizeof alike[0]; i++) {
		wet_text_copy(s.strength, sizeof s.strength, alike[i]);
		cr_assert(wet_stock_is_mixed(&s, 1000, 4000), "%s", alike[i]);
		cr_assert_not(wet_stock_is_mixed(&s, 1000, 9000));
		cr_assert_not(wet_stock_is_mixed(&s, 1000, 0));
	}
	wet_text_copy(s.strength, sizeof s.strength, "stock");
	cr_assert(wet_stock_is_mixed(&s, 1000, 0));
	s.strength[0] = '\0';
	cr_assert(wet_stock_is_mixed(&s, 1000, 0));
	cr_assert_not(wet_stock_is_mixed(&s, 1000, 4000));
}

Test(stock_ledger, how_it_stood_is_read_from_its_history)
{
	struct wet_stock s = bath();
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD, .wall_ms = 12 * DAY_MS };
	struct wet_stock_age age;
	struct wet_fault fault = { 0 };
	s.since_ms = 10 * DAY_MS; /* mixed two days before it was told of */
	cr_assert_eq(wet_ledger_add_stock(ledger, &s, &why, &fault), 0, "%s", fault.want);
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_USE, .wall_ms = 14 * DAY_MS, .volume_ul = -400000 };
	cr_assert_eq(wet_ledger_use_stock(ledger, s.id, &why, &s, &fault), 0, "%s", fault.want);
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_CHANGE, .wall_ms = 17 * DAY_MS };
	s.kept = WET_STOCK_KEPT_OPEN;
	cr_assert_eq(wet_ledger_change_stock(ledger, &s, &why, &fault), 0, "%s", fault.want);
	why = (struct wet_stock_event){ .act = WET_STOCK_ACT_USE, .wall_ms = 16 * DAY_MS, .area_mm2 = 5 }; /* a clock set back */
	cr_assert_eq(wet_ledger_use_stock(ledger, s.id, &why, &s, &fault), 0, "%s", fault.want);
	cr_assert_eq(wet_ledger_stock_age(ledger, &s, 18 * DAY_MS, &age, &fault), 0, "%s", fault.want);
	cr_assert_eq(days(&age, WET_STANDING_FULL), 4);
	cr_assert_eq(days(&age, WET_STANDING_PART), 3);
	cr_assert_eq(days(&age, WET_STANDING_OPEN), 1);
	cr_assert_eq(age.age_ns, 8 * DAY_MS * 1000000);
	/* As a stage began, which poured it away: what came after makes it no older, and it stood full until then. */
	const struct wet_stock_event drawn = { .id = 2, .wall_ms = 14 * DAY_MS };
	cr_assert_eq(wet_ledger_stock_age_before(ledger, &s, &drawn, &age, &fault), 0, "%s", fault.want);
	cr_assert_eq(days(&age, WET_STANDING_FULL), 4);
	cr_assert_eq(age.age_ns, 4 * DAY_MS * 1000000);
	cr_assert_eq(age.now, WET_STANDING_FULL);
}
