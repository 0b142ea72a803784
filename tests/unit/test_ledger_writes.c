/* test_ledger_writes.c: what can't be read back is not written, and what belongs together is written together. */
#include "ledger/ledger.h"

#include "base/text.h"
#include "ledger_story.h"

#include <criterion/criterion.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[64], path[96];

static void make_folder(void)
{
	wet_text_copy(folder, sizeof folder, "/tmp/wetside-writes-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
	wet_text_format(path, sizeof path, "%s/ledger.db", folder);
}

static void remove_folder(void)
{
	static const char *const ends[] = { "", "-wal", "-journal", "-shm" };
	char name[128];
	for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
		wet_text_format(name, sizeof name, "%s%s", path, ends[i]);
		(void)unlink(name);
	}
	(void)rmdir(folder);
}

TestSuite(ledger_writes, .init = make_folder, .fini = remove_folder);

static struct wet_ledger *open_ledger(void)
{
	struct wet_ledger *ledger = NULL;
	struct wet_fault fault = { 0 };
	int rc = wet_ledger_open(&ledger, path, &fault);
	cr_assert_eq(rc, WET_OK, "%s: %s", wet_err_name(rc), fault.found);
	return ledger;
}

/* With run 1, which is live. */
static struct wet_ledger *open_with_run(void)
{
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(story_tell(ledger, 0, NULL), WET_OK);
	return ledger;
}

static void run_sql(const char *sql)
{
	sqlite3 *db = NULL;
	cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
	cr_assert_eq(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK, "%s: %s", sql, sqlite3_errmsg(db));
	cr_assert_eq(sqlite3_close(db), SQLITE_OK);
}

static int count_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	(void)seq;
	(void)event;
	++*(int *)ctx;
	return WET_OK;
}

static int count_events(struct wet_ledger *ledger)
{
	int count = 0;
	cr_assert_eq(wet_ledger_each_event(ledger, 1, count_event, &count, NULL), WET_OK);
	return count;
}

static struct wet_event an_event(void)
{
	return (struct wet_event){ .kind = WET_ACT_GO, .bath = -1, .number = -1, .boot_ns = 1 };
}

/* -- what can't be read back ---------------------------------------------------------- */
static void expect_refused(struct wet_ledger *ledger, int64_t seq, const struct wet_event *e,
						   const char *what)
{
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_append(ledger, 1, seq, e, &fault), WET_ERR_INVALID, "%s", what);
	cr_assert_eq(fault.err, WET_ERR_INVALID);
}

Test(ledger_writes, an_event_that_could_not_be_read_back_is_refused)
{
	struct wet_ledger *ledger = open_with_run();
	struct wet_event e = an_event();
	expect_refused(ledger, 0, &e, "a number below 1");
	e.kind = WET_EVENT_KIND_N;
	expect_refused(ledger, 1, &e, "a kind that is none");
	e.kind = -1;
	expect_refused(ledger, 1, &e, "a kind that is none");
	e = an_event();
	e.flags = WET_EVENT_PROBE << 1;
	expect_refused(ledger, 1, &e, "a flag that is none");
	e = an_event();
	e.bath = WET_RECIPE_BATHS;
	expect_refused(ledger, 1, &e, "a bath no recipe has");
	e.bath = -2;
	expect_refused(ledger, 1, &e, "a bath no recipe has");
	e = an_event();
	e.boot_ns = -1;
	expect_refused(ledger, 1, &e, "a time before the boot");
	e = an_event();
	memset(e.token, 'a', sizeof e.token);
	expect_refused(ledger, 1, &e, "a text without an end");
	e = an_event();
	wet_text_copy(e.token, sizeof e.token, "a");
	e.token[0] = (char)0xff;
	expect_refused(ledger, 1, &e, "no UTF-8");
	e = an_event();
	memset(e.boot_id, 'b', sizeof e.boot_id);
	expect_refused(ledger, 1, &e, "a boot id without an end");
	cr_assert_eq(count_events(ledger), 0);
	e = an_event();
	cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_OK);
	wet_ledger_close(ledger);
}

Test(ledger_writes, a_run_with_a_setup_that_could_not_be_read_back_is_refused)
{
	struct wet_ledger *ledger = open_with_run();
	struct wet_ledger_run good, bad;
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &good, NULL), WET_OK);
	good.id = 7;
	for (int i = 0; i < 9; i++) {
		bad = good;
		switch (i) {
		case 0: bad.id = 0; break;
		case 1: memset(bad.name, 'a', sizeof bad.name); break;
		case 2: bad.setup.pieces = 0; break;
		case 3: bad.setup.pieces = WET_PIECES + 1; break;
		case 4: bad.setup.rate_milli[WET_STAGE_WASH] = 0; break;
		case 5: bad.setup.rate_milli[WET_STAGE_WASH] = WET_RATE_MILLI_MAX + 1; break;
		case 6: bad.setup.forecast = (struct wet_forecast){ .kind = WET_FORECAST_NEWTON }; break;
		case 7: bad.setup.tolerance_mc = -1; break;
		default: bad.armed_boot_ns = -1; break;
		}
		cr_assert_eq(wet_ledger_put_run(ledger, &bad, NULL), WET_ERR_INVALID, "case %d", i);
	}
	bad = good;
	bad.setup.vessel.kind = WET_VESSEL_KIND_N;
	cr_assert_eq(wet_ledger_put_run(ledger, &bad, NULL), WET_ERR_RANGE);
	bad = good;
	bad.setup.washer.tau_ns = -1;
	cr_assert_eq(wet_ledger_put_run(ledger, &bad, NULL), WET_ERR_RANGE);
	bad = good;
	bad.recipe_hash[0] = 'x';
	cr_assert_eq(wet_ledger_put_run(ledger, &bad, NULL), WET_ERR_NOT_FOUND, "its recipe comes first");
	cr_assert_eq(wet_ledger_get_run(ledger, 7, &bad, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_put_run(ledger, &good, NULL), WET_OK);
	cr_assert_eq(wet_ledger_put_run(ledger, &good, NULL), WET_ERR_EXISTS);
	wet_ledger_close(ledger);
}

Test(ledger_writes, a_recipe_is_of_a_size_that_is_read_back)
{
	static char json[WET_RECIPE_FILE_BYTES + 1];
	char *read = NULL;
	size_t n = 0;
	struct wet_ledger *ledger = open_ledger();
	memset(json, 'j', sizeof json);
	cr_assert_eq(wet_ledger_put_recipe(ledger, "ab", "creek", json, sizeof json, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_ledger_put_recipe(ledger, "ab", "creek", json, 0, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_ledger_put_recipe(ledger, "", "creek", json, 9, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_ledger_put_recipe(ledger, "ab", "creek", json, sizeof json - 1, NULL), WET_OK);
	cr_assert_eq(wet_ledger_get_recipe(ledger, "ab", &read, &n, NULL), WET_OK);
	cr_assert_eq(n, sizeof json - 1);
	free(read);
	wet_ledger_close(ledger);
}

/* -- what belongs together ------------------------------------------------------------ */
Test(ledger_writes, a_value_at_fault_does_not_take_the_others_with_it)
{
	struct wet_ledger *ledger = open_with_run();
	struct wet_event e = an_event();
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_OK);
	cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_OK);
	cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_ERR_EXISTS);
	cr_assert_eq(wet_ledger_append(ledger, 99, 1, &e, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_append(ledger, 1, 2, &e, NULL), WET_OK);
	cr_assert_eq(wet_ledger_commit(ledger, NULL), WET_OK);
	cr_assert_eq(count_events(ledger), 2);
	wet_ledger_close(ledger);
}

Test(ledger_writes, transactions_are_not_nested_and_a_commit_needs_one)
{
	struct wet_ledger *ledger = open_with_run();
	struct wet_event e = an_event();
	cr_assert_eq(wet_ledger_commit(ledger, NULL), WET_ERR_INTERNAL);
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_OK);
	cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_OK);
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_ERR_INTERNAL);
	cr_assert_eq(wet_ledger_commit(ledger, NULL), WET_OK, "the first one goes on");
	cr_assert_eq(count_events(ledger), 1);
	wet_ledger_rollback(ledger); /* without one: fine */
	wet_ledger_close(ledger);
}

Test(ledger_writes, the_end_of_a_run_is_not_rewritten)
{
	struct wet_stage_record stages[2] = { { 0, 60000000000, 0, WET_STAGE_BEGUN | WET_STAGE_DONE },
										  { 60000000000, 90000000000, 10, WET_STAGE_BEGUN } };
	struct wet_ledger_run run;
	struct wet_ledger *ledger = open_with_run();
	stages[1].flags = 64;
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "finished", 5, stages, 2, NULL), WET_ERR_INVALID);
	stages[1].flags = WET_STAGE_BEGUN;
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "", 5, stages, 2, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "finished", 5, stages, WET_RECIPE_STAGES + 1, NULL),
				 WET_ERR_INVALID);
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_OK);
	cr_assert(run.is_live);
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "finished", 5, stages, 2, NULL), WET_OK);
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "finished", 5, stages, 2, NULL), WET_OK, "the same");
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "abandoned", 5, stages, 2, NULL), WET_ERR_EXISTS);
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "finished", 6, stages, 2, NULL), WET_ERR_EXISTS);
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_OK);
	cr_assert_str_eq(run.outcome, "finished");
	cr_assert_eq(run.ended_wall_ms, 5);
	wet_ledger_close(ledger);
}

/* -- reading --------------------------------------------------------------------------- */
static int read_within(void *ctx, int64_t seq, const struct wet_event *event)
{
	int count = 0;
	(void)event;
	cr_assert_eq(wet_ledger_each_event(ctx, 1, count_event, &count, NULL), WET_OK);
	cr_assert_eq(count, 3);
	return seq == 3 ? WET_ERR_STALE : WET_OK;
}

Test(ledger_writes, a_read_within_the_same_read_disturbs_neither)
{
	struct wet_ledger *ledger = open_with_run();
	struct wet_event e = an_event();
	for (int i = 1; i <= 3; i++)
		cr_assert_eq(wet_ledger_append(ledger, 1, i, &e, NULL), WET_OK);
	cr_assert_eq(wet_ledger_each_event(ledger, 1, read_within, ledger, NULL), WET_ERR_STALE);
	cr_assert_eq(count_events(ledger), 3);
	wet_ledger_close(ledger);
}

static int take_or_count(void *ctx, const struct wet_ledger_run *run)
{
	int *counts = ctx;
	counts[run ? 0 : 1]++;
	return WET_OK;
}

Test(ledger_writes, a_damaged_live_run_does_not_hide_the_others)
{
	int counts[2] = { 0 };
	struct wet_ledger *ledger = open_with_run();
	cr_assert_eq(story_tell(ledger, 5, NULL), WET_OK);
	wet_ledger_close(ledger);
	run_sql("UPDATE run SET vessel_kind = 77 WHERE id = 1");
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_each_live_run(ledger, take_or_count, counts, NULL), WET_OK);
	cr_assert(counts[0] == 1 && counts[1] == 1);
	wet_ledger_close(ledger);
}

Test(ledger_writes, the_check_reads_every_row)
{
	static const char *const damages[] = {
		"UPDATE run SET vessel_kind = 77 WHERE id = 2",
		"UPDATE run SET is_live = 0, pieces = 99 WHERE id = 2",
		"UPDATE event SET kind = 55 WHERE run_id = 1 AND seq = 3",
		"DELETE FROM event WHERE run_id = 1 AND seq = 2",
		"UPDATE event SET run_id = 77 WHERE run_id = 1 AND seq = 5",
		"UPDATE vessel SET fill_ns = -1",
		"UPDATE stage SET flags = 64 WHERE stage = 2",
		"DELETE FROM recipe",
	};
	for (size_t i = 0; i < sizeof damages / sizeof damages[0]; i++) {
		struct wet_fault fault = { 0 };
		struct wet_ledger *ledger = open_ledger();
		for (int step = 0; step < STORY_STEPS; step++)
			cr_assert_eq(story_tell(ledger, step, NULL), WET_OK);
		cr_assert_eq(wet_ledger_check(ledger, &fault), WET_OK, "%s", fault.found);
		wet_ledger_close(ledger);
		run_sql(damages[i]);
		ledger = open_ledger();
		cr_assert_eq(wet_ledger_check(ledger, &fault), WET_ERR_CORRUPT, "%s", damages[i]);
		cr_assert_not_null(strstr(fault.want, ".recover"));
		wet_ledger_close(ledger);
		remove_folder();
		make_folder();
	}
}
