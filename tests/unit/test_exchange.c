/* Taking a ledger's rows in, one by one; the whole way out and in is e2e_export's. */
#include "ledger/exchange.h"

#include <criterion/criterion.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct place {
	char folder[64], path[96];
	struct wet_ledger *ledger;
};

static void open_place(struct place *p)
{
	struct wet_fault fault;
	snprintf(p->folder, sizeof p->folder, "/tmp/wet-exchange-XXXXXX");
	cr_assert_not_null(mkdtemp(p->folder));
	snprintf(p->path, sizeof p->path, "%s/ledger", p->folder);
	cr_assert_eq(wet_ledger_open(&p->ledger, p->path, &fault), 0);
}

static void close_place(struct place *p)
{
	char command[128];
	wet_ledger_close(p->ledger);
	snprintf(command, sizeof command, "rm -rf %s", p->folder);
	cr_assert_eq(system(command), 0);
}

static int take_text(void *ctx, int columns, char **values, char **names)
{
	(void)columns, (void)names;
	strcat(ctx, values[0]);
	strcat(ctx, " ");
	return 0;
}

/* A table or a column that is new would be lost on the way: darkroom/exchange.c and methods/rows.c must tell it, then this
 * line. */
Test(exchange, every_table_and_column_is_told)
{
	struct place p;
	sqlite3 *db = NULL;
	char found[512] = "";
	open_place(&p);
	wet_ledger_close(p.ledger);
	p.ledger = NULL;
	cr_assert_eq(sqlite3_open(p.path, &db), SQLITE_OK);
	cr_assert_eq(sqlite3_exec(db,
							  "SELECT m.name || ':' || (SELECT count(*) FROM pragma_table_info(m.name))"
							  " FROM sqlite_master m WHERE m.type = 'table' ORDER BY m.name",
							  take_text, found, NULL),
				 SQLITE_OK);
	sqlite3_close(db);
	cr_assert_str_eq(found, "acknowledgement:4 booking:6 entry:11 event:15 plan:6 plan_bath:14 plan_draw:4 "
							"plan_load:5 rate:3 recipe:3 run:45 "
							"run_check:9 "
							"stage:6 stock:27 stock_event:13 vessel:12 ");
	close_place(&p);
}

static struct wet_vessel tank(int64_t fill_s)
{
	return (struct wet_vessel){ .name = "creek tank", .fill_ns = fill_s * 1000000000, .drain_ns = 1 };
}

static int64_t fill_in_use(struct place *p)
{
	struct wet_vessel v;
	struct wet_fault fault;
	cr_assert_eq(wet_ledger_get_vessel(p->ledger, "creek tank", &v, &fault), 0);
	return v.fill_ns / 1000000000;
}

/* What a file says of the tank, in its order; returns how many rows were new. */
static int import_fills(struct place *p, const int64_t (*rows)[2], int count)
{
	bool is_latest = false, is_new;
	int new_count = 0;
	for (int i = 0; i < count; i++) {
		struct wet_vessel v = tank(rows[i][0]);
		struct wet_fault fault;
		cr_assert_eq(wet_ledger_import_vessel(p->ledger, false, &v, rows[i][1], &is_latest, &is_new, &fault),
					 0);
		new_count += is_new;
	}
	return new_count;
}

Test(exchange, what_was_measured_here_stays_in_use)
{
	/* The second was stored by a clock that was behind: the order counts, not the time. */
	static const int64_t rows[][2] = { { 20, 100 }, { 25, 50 }, { 30, 200 } };
	struct place p;
	struct wet_fault fault;
	open_place(&p);
	cr_assert_eq(import_fills(&p, rows, 2), 2);
	cr_assert_eq(fill_in_use(&p), 25, "into an empty ledger the last row rules");
	cr_assert_eq(import_fills(&p, rows, 2), 0);
	cr_assert_eq(import_fills(&p, rows, 3), 1, "a later file of the same ledger");
	cr_assert_eq(fill_in_use(&p), 30, "a history that ends here goes on");
	struct wet_vessel here = tank(40);
	cr_assert_eq(wet_ledger_put_vessel(p.ledger, &here, 10, &fault), 0);
	cr_assert_eq(import_fills(&p, rows, 3), 0);
	static const int64_t elsewhere[][2] = { { 50, 900 }, { 55, 901 } };
	cr_assert_eq(import_fills(&p, elsewhere, 2), 2);
	cr_assert_eq(fill_in_use(&p), 40, "another's measurement displaced what was measured here");
	close_place(&p);
}

#define HASH "0123456789012345678901234567890123456789012345678901234567890123"

static struct wet_ledger_import creek(const struct wet_event *events, const int64_t *seqs, int count)
{
	struct wet_ledger_import in = {
		.run = { .id = 1,
				 .name = "creek",
				 .recipe_name = "r",
				 .recipe_hash = HASH,
				 .armed_boot_id = "boot",
				 .armed_boot_ns = 7,
				 .armed_wall_ms = 8,
				 .outcome = "finished",
				 .ended_wall_ms = 9 },
		.events = events,
		.seqs = seqs,
		.event_count = count,
	};
	in.run.setup.pieces = 1;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		in.run.setup.rate_milli[i] = 1000;
	in.stages[2] = (struct wet_stage_record){ .begin_ns = 1, .end_ns = 2, .flags = WET_STAGE_BEGUN };
	return in;
}

static int count_live(void *ctx, const struct wet_ledger_run *run)
{
	(void)run;
	++*(int *)ctx;
	return WET_OK;
}

static int64_t last_id(struct place *p)
{
	int64_t id = 0;
	struct wet_fault fault;
	cr_assert_eq(wet_ledger_next_run_id(p->ledger, &id, &fault), 0);
	return id - 1;
}

Test(exchange, a_run_comes_in_whole_or_not_at_all_and_never_live)
{
	struct wet_event events[3] = { { .kind = WET_ACT_BEGIN, .wall_ms = 11 },
								   { .kind = WET_ACT_GO, .wall_ms = 12 },
								   { .kind = WET_ACT_GO, .wall_ms = 13 } };
	static const int64_t seqs[3] = { 1, 2, 4 };
	struct place p;
	struct wet_fault fault;
	struct wet_ledger_run row;
	bool is_new = false;
	int live = 0;
	open_place(&p);
	cr_assert_eq(wet_ledger_put_recipe(p.ledger, HASH, "r", "{}", 2, &fault), 0);
	struct wet_ledger_import in = creek(events, seqs, 3);

	cr_assert_eq(wet_ledger_import_run(p.ledger, true, &in, &is_new, &fault), 0);
	cr_assert(is_new);
	cr_assert_eq(last_id(&p), 0, "a dry run stored something");

	events[2].flags = 1u << 20;
	cr_assert_eq(wet_ledger_begin(p.ledger, &fault), 0);
	cr_assert_eq(wet_ledger_put_acknowledgement(p.ledger, "Ann", "r", 1, 1, &fault), 0);
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), WET_ERR_INVALID);
	cr_assert_eq(wet_ledger_commit(p.ledger, &fault), 0);
	cr_assert_eq(last_id(&p), 0, "half a run");
	events[2].flags = 0;

	in.run.is_live = true;
	in.run.outcome[0] = '\0';
	in.event_count = 2;
	in.stages[2].flags = 0;
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), 0);
	cr_assert(is_new);
	cr_assert_eq(wet_ledger_each_live_run(p.ledger, count_live, &live, &fault), 0);
	cr_assert_eq(live, 0);
	cr_assert_eq(wet_ledger_get_run(p.ledger, 1, &row, &fault), 0);
	cr_assert_str_eq(row.outcome, WET_OUTCOME_UNFINISHED);
	cr_assert_eq(row.ended_wall_ms, 12, "when it was last heard of");

	in = creek(events, seqs, 3);
	in.run.id = 77; /* its number there is no matter */
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), 0);
	cr_assert(is_new, "it went on there");
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), 0);
	cr_assert(!is_new);
	cr_assert_eq(last_id(&p), 1);
	events[1].temperature_mc = 1;
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), WET_ERR_EXISTS);
	cr_assert_not_null(strstr(fault.want, "event 2 differs"), "%s", fault.want);
	events[1].temperature_mc = 0;

	strcpy(in.run.name, "another");
	in.run.id = 1; /* taken here */
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), 0);
	cr_assert_eq(last_id(&p), 2);
	strcpy(in.run.name, "third");
	in.run.id = INT64_MAX; /* would leave no number for the next */
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), 0);
	cr_assert_eq(last_id(&p), 3);
	close_place(&p);
}

Test(exchange, a_run_that_is_live_here_is_left_alone)
{
	struct wet_event events[2] = { { .kind = WET_ACT_BEGIN, .wall_ms = 11 },
								   { .kind = WET_ACT_GO, .wall_ms = 12 } };
	static const int64_t seqs[2] = { 1, 2 };
	struct place p;
	struct wet_fault fault;
	bool is_new = true;
	int live = 0;
	open_place(&p);
	cr_assert_eq(wet_ledger_put_recipe(p.ledger, HASH, "r", "{}", 2, &fault), 0);
	struct wet_ledger_import in = creek(events, seqs, 1);
	in.run.is_live = true;
	in.run.outcome[0] = '\0';
	in.run.ended_wall_ms = 0;
	cr_assert_eq(wet_ledger_put_run(p.ledger, &in.run, &fault), 0);
	cr_assert_eq(wet_ledger_append(p.ledger, 1, 1, &events[0], &fault), 0);
	cr_assert_eq(wet_ledger_append(p.ledger, 1, 2, &events[1], &fault), 0);
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), 0, "exported a moment ago");
	cr_assert(!is_new);
	in = creek(events, seqs, 2);
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &in, &is_new, &fault), WET_ERR_EXISTS);
	cr_assert_not_null(strstr(fault.want, "end it first"), "%s", fault.want);
	cr_assert_eq(wet_ledger_each_live_run(p.ledger, count_live, &live, &fault), 0);
	cr_assert_eq(live, 1);
	close_place(&p);
}

/* -- the shelf ----------------------------------------------------------------------- */

static struct wet_stock bottle(int64_t id, const char *name, int64_t volume_ul)
{
	struct wet_stock item = {
		.id = id, .kind = WET_STOCK_BOTTLE, .what = "fixer", .full_ul = 1000000, .volume_ul = volume_ul
	};
	snprintf(item.name, sizeof item.name, "%s", name);
	return item;
}

/* Takes it in with the first `count` lines of the history; a fault's code. */
static int import_item(struct place *p, bool is_dry, struct wet_stock item, const struct wet_stock_event *events, int count,
					   struct wet_known *known, bool *ret_is_new, struct wet_fault *fault)
{
	struct wet_stock_event lines[8];
	memcpy(lines, events, (size_t)count * sizeof *events);
	struct wet_ledger_item in = { .item = item, .events = lines, .event_count = count };
	return wet_ledger_import_item(p->ledger, is_dry, &in, known, ret_is_new, fault);
}

static struct wet_stock stock_here(struct place *p, enum wet_stock_kind kind, const char *name)
{
	struct wet_stock item = { .id = 0 };
	struct wet_fault fault;
	cr_assert_eq(wet_ledger_get_stock(p->ledger, kind, name, &item, &fault), 0, "%s", name);
	return item;
}

static void expect_sound(struct place *p)
{
	struct wet_fault fault;
	cr_assert_eq(wet_ledger_check(p->ledger, &fault), 0, "%s %s", fault.found, fault.want);
}

static const struct wet_stock_event life[4] = {
	{ .act = WET_STOCK_ACT_ADD, .wall_ms = 10, .volume_ul = 500000, .token = "a" },
	{ .act = WET_STOCK_ACT_USE, .wall_ms = 20, .volume_ul = -100000, .token = "b" },
	{ .act = WET_STOCK_ACT_CHANGE, .wall_ms = 30, .volume_ul = -1 },
	{ .act = WET_STOCK_ACT_USE, .wall_ms = 40, .volume_ul = -9 },
};

Test(exchange, an_item_is_the_sum_of_its_history_and_goes_on)
{
	struct place p;
	struct wet_fault fault;
	struct wet_known known = { .runs = { .count = 0 } };
	bool is_new = false;
	open_place(&p);
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 400001), life, 2, &known, &is_new, &fault), WET_ERR_INVALID);
	cr_assert_not_null(strstr(fault.want, "the sum of its history, which is 400000"), "%s", fault.want);
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 0), life, 0, &known, &is_new, &fault), WET_ERR_INVALID);
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 0), &life[1], 1, &known, &is_new, &fault), WET_ERR_INVALID);
	cr_assert_eq(import_item(&p, true, bottle(5, "fixer", 400000), life, 2, &known, &is_new, &fault), 0);
	cr_assert(is_new);
	wet_known_free(&known);
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 400000), life, 2, &known, &is_new, &fault), 0);
	cr_assert(is_new);
	cr_assert_eq(stock_here(&p, WET_STOCK_BOTTLE, "fixer").id, 5, "its number was free");
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 400000), life, 2, &known, &is_new, &fault), WET_ERR_INVALID,
				 "one number twice in one file");
	wet_known_free(&known);

	cr_assert_eq(import_item(&p, false, bottle(9, "fixer", 400000), life, 2, &known, &is_new, &fault), 0);
	cr_assert(!is_new, "its number there is no matter");
	wet_known_free(&known);
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 399990), life, 4, &known, &is_new, &fault), 0);
	cr_assert(is_new, "it went on there");
	cr_assert_eq(stock_here(&p, WET_STOCK_BOTTLE, "fixer").volume_ul, 399990);
	wet_known_free(&known);
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 400000), life, 2, &known, &is_new, &fault), 0);
	cr_assert(!is_new, "an older file");
	cr_assert_eq(stock_here(&p, WET_STOCK_BOTTLE, "fixer").volume_ul, 399990);
	wet_known_free(&known);
	struct wet_stock other = bottle(5, "fixer", 399990);
	other.grade = 'A';
	cr_assert_eq(import_item(&p, false, other, life, 4, &known, &is_new, &fault), WET_ERR_EXISTS);
	cr_assert_not_null(strstr(fault.want, "its class differs"), "%s", fault.want);
	struct wet_stock_event lines[4];
	memcpy(lines, life, sizeof lines);
	lines[1].uid = 7;
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 399990), lines, 4, &known, &is_new, &fault), WET_ERR_EXISTS);
	cr_assert_not_null(strstr(fault.want, "line 2 of its history differs"), "%s", fault.want);
	expect_sound(&p);
	close_place(&p);
}

Test(exchange, an_item_that_was_renamed_is_the_same)
{
	/* Two baths of one plan: mixed in the same moment, without a token. */
	static const struct wet_stock_event mixed[2] = { { .act = WET_STOCK_ACT_ADD, .wall_ms = 10, .volume_ul = 500 },
													 { .act = WET_STOCK_ACT_CHANGE, .wall_ms = 20 } };
	struct place p;
	struct wet_fault fault;
	struct wet_known known = { .runs = { .count = 0 } };
	bool is_new = false;
	open_place(&p);
	cr_assert_eq(import_item(&p, false, bottle(1, "one", 500), mixed, 1, &known, &is_new, &fault), 0);
	cr_assert_eq(import_item(&p, false, bottle(2, "two", 500), mixed, 1, &known, &is_new, &fault), 0);
	cr_assert(is_new);
	wet_known_free(&known);
	cr_assert_eq(import_item(&p, true, bottle(1, "one", 500), mixed, 1, &known, &is_new, &fault), 0);
	cr_assert(!is_new);
	cr_assert_eq(import_item(&p, true, bottle(2, "two, old", 500), mixed, 2, &known, &is_new, &fault), 0);
	cr_assert(is_new);
	/* Its older name is free as soon as that is stored: not before, when nothing is. */
	cr_assert_eq(import_item(&p, true, bottle(3, "two", 500000), life, 1, &known, &is_new, &fault), 0);
	cr_assert(is_new);
	wet_known_free(&known);
	cr_assert_eq(import_item(&p, false, bottle(1, "one", 500), mixed, 1, &known, &is_new, &fault), 0);
	cr_assert_eq(import_item(&p, false, bottle(2, "two, old", 500), mixed, 2, &known, &is_new, &fault), 0);
	cr_assert_eq(import_item(&p, false, bottle(3, "two", 500000), life, 1, &known, &is_new, &fault), 0);
	cr_assert_eq(stock_here(&p, WET_STOCK_BOTTLE, "two, old").id, 2);
	cr_assert_eq(stock_here(&p, WET_STOCK_BOTTLE, "two").id, 3);
	/* Another one of a name that stands there. */
	cr_assert_eq(import_item(&p, false, bottle(4, "one", 500000), life, 1, &known, &is_new, &fault), WET_ERR_EXISTS);
	cr_assert_not_null(strstr(fault.want, "rename or discard it first"), "%s", fault.want);
	wet_known_free(&known);
	expect_sound(&p);
	close_place(&p);
}

/* A bath from bottle 5, booked by run 1, in a plan whose load 0 is run 1. */
static int import_bath(struct place *p, struct wet_known *known, int64_t bottle_there, bool *ret_is_new,
					   struct wet_fault *fault)
{
	struct wet_stock_event lines[2] = { { .act = WET_STOCK_ACT_ADD, .wall_ms = 50, .volume_ul = 600 },
										{ .act = WET_STOCK_ACT_BOOK, .wall_ms = 60, .area_mm2 = 70, .run_id = 1, .stage = 2 } };
	struct wet_stock bath = bottle(7, "bath", 600);
	bath.kind = WET_STOCK_BATH;
	bath.area_mm2 = 70;
	bath.from_id = bottle_there;
	return import_item(p, false, bath, lines, 2, known, ret_is_new, fault);
}

static int take_booking(void *ctx, const struct wet_booking *booking)
{
	*(struct wet_booking *)ctx = *booking;
	return WET_OK;
}

Test(exchange, numbers_become_those_of_this_ledger)
{
	static const int64_t seqs[1] = { 1 };
	const struct wet_event begin = { .kind = WET_ACT_BEGIN, .wall_ms = 11 };
	struct place p;
	struct wet_fault fault;
	struct wet_known known = { .runs = { .count = 0 } };
	struct wet_booking booking = { .run_id = 1, .stage = 2, .stock_id = 7, .area_mm2 = 70 }, here = { .run_id = 0 };
	bool is_new = false;
	open_place(&p);
	cr_assert_eq(wet_ledger_put_recipe(p.ledger, HASH, "r", "{}", 2, &fault), 0);
	struct wet_ledger_import own = creek(&begin, seqs, 1), theirs = creek(&begin, seqs, 1);
	strcpy(own.run.name, "own");
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &own, &is_new, &fault), 0);
	struct wet_stock mine = bottle(0, "mine", 500000);
	for (int i = 0; i < 6; i++) {
		snprintf(mine.name, sizeof mine.name, "mine %d", i);
		cr_assert_eq(wet_ledger_add_stock(p.ledger, &mine, &(struct wet_stock_event){ .wall_ms = i }, &fault), 0);
	}
	cr_assert_eq(wet_ledger_import_run(p.ledger, false, &theirs, &is_new, &fault), 0);
	cr_assert_eq(import_bath(&p, &known, 5, &is_new, &fault), WET_ERR_INVALID, "no such bottle in the file");
	cr_assert_eq(import_item(&p, false, bottle(5, "fixer", 500000), life, 1, &known, &is_new, &fault), 0);
	cr_assert_eq(import_bath(&p, &known, 5, &is_new, &fault), WET_ERR_INVALID, "no such run in the file");
	cr_assert_eq(wet_ledger_know_run(p.ledger, &theirs.run, &known, &fault), 0);
	cr_assert_eq(wet_ledger_know_run(p.ledger, &theirs.run, &known, &fault), WET_ERR_INVALID);
	cr_assert_eq(import_bath(&p, &known, 5, &is_new, &fault), 0);
	struct wet_stock fixer = stock_here(&p, WET_STOCK_BOTTLE, "fixer"), bath = stock_here(&p, WET_STOCK_BATH, "bath");
	cr_assert_eq(fixer.id, 7);
	cr_assert_eq(bath.from_id, 7);
	cr_assert_eq(bath.id, 8);

	struct wet_kept_plan *plan = calloc(1, sizeof *plan), *kept = calloc(1, sizeof *kept), *in = calloc(1, sizeof *in);
	cr_assert(plan && kept && in);
	strcpy(plan->name, "six");
	plan->load_count = 2;
	plan->loads[0].pieces = plan->loads[1].pieces = 3;
	plan->bath_count = 1;
	plan->baths[0] = (struct wet_kept_bath){ .load_count = 2, .volume_ul = 600, .draw_count = 1 };
	plan->baths[0].draws[0].bottle_id = 5;
	*in = *plan;
	cr_assert_eq(wet_ledger_import_plan(p.ledger, false, in, &known, &is_new, &fault), 0);
	cr_assert(is_new);
	plan->loads[0].run_id = 1;
	plan->baths[0].stock_id = 7;
	for (int i = 0; i < 2; i++) {
		*in = *plan;
		cr_assert_eq(wet_ledger_import_plan(p.ledger, false, in, &known, &is_new, &fault), 0);
		cr_assert_eq(is_new, i == 0, "armed there since");
		cr_assert_eq(wet_ledger_import_booking(p.ledger, false, &booking, &known, &is_new, &fault), 0);
		cr_assert_eq(is_new, i == 0);
	}
	cr_assert_eq(wet_ledger_get_plan(p.ledger, "six", kept, &fault), 0);
	cr_assert_eq(kept->loads[0].run_id, 2);
	cr_assert_eq(kept->baths[0].stock_id, bath.id);
	cr_assert_eq(kept->baths[0].draws[0].bottle_id, fixer.id);
	cr_assert_eq(wet_ledger_each_booking(p.ledger, &(struct wet_booking){ .run_id = 0 }, 2, take_booking, &here, &fault), 0);
	cr_assert_eq(here.run_id, 2);
	cr_assert_eq(here.stock_id, bath.id);
	booking.volume_ul = 1;
	cr_assert_eq(wet_ledger_import_booking(p.ledger, false, &booking, &known, &is_new, &fault), WET_ERR_EXISTS);
	wet_known_free(&known);
	free(plan), free(kept), free(in);
	expect_sound(&p);
	close_place(&p);
}
