/* test_ledger.c: what was written comes back, and what was damaged is told, not read. */
#include "ledger/ledger.h"

#include "base/text.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define HASH "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff"
#define BOOT "0f0e0d0c-0b0a-4908-8706-050403020100"

static char folder[64], path[96];

static void make_folder(void)
{
	wet_text_copy(folder, sizeof folder, "/tmp/wetside-ledger-XXXXXX");
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

TestSuite(ledger, .init = make_folder, .fini = remove_folder);

static struct wet_ledger *open_ledger(void)
{
	struct wet_ledger *ledger = NULL;
	struct wet_fault fault = { 0 };
	int rc = wet_ledger_open(&ledger, path, &fault);
	cr_assert_eq(rc, WET_OK, "%s: %s", wet_err_name(rc), fault.found);
	return ledger;
}

/* The file as another program sees it, while no ledger is open. */
static void run_sql(const char *sql)
{
	sqlite3 *db = NULL;
	cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
	cr_assert_eq(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK, "%s: %s", sql, sqlite3_errmsg(db));
	cr_assert_eq(sqlite3_close(db), SQLITE_OK);
}

static int64_t ask_number(const char *sql)
{
	sqlite3 *db = NULL;
	sqlite3_stmt *s = NULL;
	cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
	cr_assert_eq(sqlite3_prepare_v2(db, sql, -1, &s, NULL), SQLITE_OK, "%s", sqlite3_errmsg(db));
	cr_assert_eq(sqlite3_step(s), SQLITE_ROW);
	int64_t number = sqlite3_column_int64(s, 0);
	sqlite3_finalize(s);
	cr_assert_eq(sqlite3_close(db), SQLITE_OK);
	return number;
}

static void fill_vessel(struct wet_vessel *v, const char *name, enum wet_vessel_kind kind, int64_t salt)
{
	wet_text_copy(v->name, sizeof v->name, name);
	v->kind = kind;
	v->fill_ns = 8000000001 + salt;
	v->drain_ns = 12000000002 + salt;
	v->pieces_max = 6 + (int)salt;
	v->stagger_ns = 7000000003 + salt;
	v->tau_ns = 3600000000004 + salt;
	v->tau_error_ns = 240000000006 + salt;
	v->tau_count = 3 + (int)salt;
	v->chill_ppm = 151515 + (int32_t)salt;
}

/* No two fields alike, so that two columns changed for each other are seen. */
static void fill_run(struct wet_ledger_run *r, int64_t id)
{
	memset(r, 0, sizeof *r);
	r->id = id;
	wet_text_format(r->name, sizeof r->name, "creek %d", (int)id);
	wet_text_copy(r->recipe_name, sizeof r->recipe_name, "tin-box");
	wet_text_copy(r->recipe_hash, sizeof r->recipe_hash, HASH);
	r->owner_uid = UINT32_MAX - 1;
	r->group_controls = true;
	wet_text_copy(r->person, sizeof r->person, "wash-house \xc3\xa9");
	wet_text_copy(r->armed_boot_id, sizeof r->armed_boot_id, BOOT);
	r->armed_boot_ns = 123456789012345;
	r->armed_wall_ms = 1700000000123;
	r->is_live = true;
	struct wet_run_setup *u = &r->setup;
	fill_vessel(&u->vessel, "creek tank", WET_VESSEL_TRAYS, 0);
	fill_vessel(&u->washer, "tin bucket", WET_VESSEL_WASHER, 100);
	u->pieces = 4;
	wet_text_copy(u->room, sizeof u->room, "darkroom");
	u->forecast = (struct wet_forecast){ WET_FORECAST_NEWTON, -3250, 5400000000005, 0 };
	u->tolerance_mc = 750;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		u->rate_milli[i] = 1000 + 50021U * (uint32_t)i;
	u->rules_version = WET_RULES_VERSION;
}

static void put_recipe(struct wet_ledger *ledger)
{
	cr_assert_eq(wet_ledger_put_recipe(ledger, HASH, "tin-box", "{}", 2, NULL), WET_OK);
}

static void put_run(struct wet_ledger *ledger, int64_t id)
{
	struct wet_ledger_run run;
	struct wet_fault fault = { 0 };
	fill_run(&run, id);
	int rc = wet_ledger_put_run(ledger, &run, &fault);
	cr_assert_eq(rc, WET_OK, "%s: %s", wet_err_name(rc), fault.found);
}

static void expect_same_vessel(const struct wet_vessel *a, const struct wet_vessel *b)
{
	cr_assert_str_eq(a->name, b->name);
	cr_assert_eq(a->kind, b->kind);
	cr_assert_eq(a->fill_ns, b->fill_ns);
	cr_assert_eq(a->drain_ns, b->drain_ns);
	cr_assert_eq(a->pieces_max, b->pieces_max);
	cr_assert_eq(a->stagger_ns, b->stagger_ns);
	cr_assert_eq(a->tau_ns, b->tau_ns);
	cr_assert_eq(a->tau_error_ns, b->tau_error_ns);
	cr_assert_eq(a->tau_count, b->tau_count);
	cr_assert_eq(a->chill_ppm, b->chill_ppm);
}

static void expect_same_run(const struct wet_ledger_run *a, const struct wet_ledger_run *b)
{
	cr_assert_eq(a->id, b->id);
	cr_assert_str_eq(a->name, b->name);
	cr_assert_str_eq(a->recipe_name, b->recipe_name);
	cr_assert_str_eq(a->recipe_hash, b->recipe_hash);
	cr_assert_eq(a->owner_uid, b->owner_uid);
	cr_assert_eq(a->group_controls, b->group_controls);
	cr_assert_str_eq(a->person, b->person);
	cr_assert_str_eq(a->armed_boot_id, b->armed_boot_id);
	cr_assert_eq(a->armed_boot_ns, b->armed_boot_ns);
	cr_assert_eq(a->armed_wall_ms, b->armed_wall_ms);
	cr_assert_eq(a->is_live, b->is_live);
	cr_assert_str_eq(a->outcome, b->outcome);
	cr_assert_eq(a->ended_wall_ms, b->ended_wall_ms);
	const struct wet_run_setup *u = &a->setup, *w = &b->setup;
	expect_same_vessel(&u->vessel, &w->vessel);
	expect_same_vessel(&u->washer, &w->washer);
	cr_assert_eq(u->pieces, w->pieces);
	cr_assert_str_eq(u->room, w->room);
	cr_assert_eq(u->forecast.kind, w->forecast.kind);
	cr_assert_eq(u->forecast.room_mc, w->forecast.room_mc);
	cr_assert_eq(u->forecast.tau_ns, w->forecast.tau_ns);
	cr_assert_eq(u->tolerance_mc, w->tolerance_mc);
	cr_assert(u->is_rehearsal == w->is_rehearsal && u->is_mine == w->is_mine && u->is_wet == w->is_wet);
	cr_assert(u->is_unheard == w->is_unheard && u->no_beat == w->no_beat);
	cr_assert_arr_eq(u->rate_milli, w->rate_milli, sizeof u->rate_milli);
	cr_assert_eq(u->rules_version, w->rules_version);
}

/* -- round trips ---------------------------------------------------------------- */

Test(ledger, a_run_comes_back_whole_after_a_restart)
{
	struct wet_ledger_run wrote[5], read;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	for (int i = 0; i < 5; i++) { /* each of the five marks alone */
		fill_run(&wrote[i], i + 1);
		bool *const marks[] = { &wrote[i].setup.is_rehearsal, &wrote[i].setup.is_mine, &wrote[i].setup.is_wet,
								&wrote[i].setup.is_unheard, &wrote[i].setup.no_beat };
		*marks[i] = true;
		cr_assert_eq(wet_ledger_put_run(ledger, &wrote[i], NULL), WET_OK);
	}
	wet_ledger_close(ledger);
	ledger = open_ledger();
	for (int i = 0; i < 5; i++) {
		cr_assert_eq(wet_ledger_get_run(ledger, i + 1, &read, NULL), WET_OK);
		expect_same_run(&wrote[i], &read);
	}
	wet_ledger_close(ledger);
}

Test(ledger, a_rate_that_is_not_stored_is_the_usual_one)
{
	struct wet_ledger_run run;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	put_run(ledger, 1);
	wet_ledger_close(ledger);
	cr_assert_eq(ask_number("SELECT count(*) FROM rate"), WET_STAGE_KIND_N - 1, "1000 is not stored");
	run_sql("DELETE FROM rate WHERE stage_kind > 1"); /* as written before there were more kinds of stage */
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_OK);
	cr_assert_eq(run.setup.rate_milli[1], 51021);
	for (int i = 2; i < WET_STAGE_KIND_N; i++)
		cr_assert_eq(run.setup.rate_milli[i], 1000);
	wet_ledger_close(ledger);
}

Test(ledger, a_run_that_could_not_be_read_back_is_not_written)
{
	struct wet_ledger_run run;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	fill_run(&run, 1);
	int64_t *const times[] = { &run.setup.vessel.fill_ns, &run.setup.washer.drain_ns,
							   &run.setup.vessel.stagger_ns };
	for (size_t i = 0; i < sizeof times / sizeof times[0]; i++) {
		*times[i] = WET_STAGE_NS_MAX + 1;
		cr_assert_eq(wet_ledger_put_run(ledger, &run, NULL), WET_ERR_RANGE, "time %zu", i);
		*times[i] = WET_STAGE_NS_MAX;
	}
	cr_assert_eq(wet_ledger_put_run(ledger, &run, NULL), WET_OK);
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_OK);
	wet_ledger_close(ledger);
}

Test(ledger, a_recipe_comes_back_to_the_byte)
{
	static const char json[] = "{\"name\": \"a\\u0000b\"}\0\xff tail";
	char *read = NULL;
	size_t bytes = 0;
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(wet_ledger_put_recipe(ledger, HASH, "tin-box", json, sizeof json, NULL), WET_OK);
	cr_assert_eq(wet_ledger_put_recipe(ledger, HASH, "tin-box", json, sizeof json, NULL), WET_OK);
	cr_assert_eq(wet_ledger_get_recipe(ledger, "none", &read, &bytes, NULL), WET_ERR_NOT_FOUND);
	cr_assert_null(read);
	cr_assert_eq(wet_ledger_get_recipe(ledger, HASH, &read, &bytes, NULL), WET_OK);
	cr_assert_eq(bytes, sizeof json);
	cr_assert_arr_eq(read, json, sizeof json);
	free(read);
	wet_ledger_close(ledger);
}

struct seen {
	int count, stop_at;
	int64_t ids[128];
	struct wet_event events[128];
	struct wet_stage_record stages[WET_RECIPE_STAGES];
	struct wet_vessel vessels[8];
};

static int take_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct seen *seen = ctx;
	seen->ids[seen->count] = seq;
	seen->events[seen->count++] = *event;
	return seen->count == seen->stop_at ? WET_ERR_TOO_MANY : WET_OK;
}

static void fill_event(struct wet_event *e, int kind)
{
	memset(e, 0, sizeof *e);
	e->kind = kind;
	e->flags = (uint32_t)(511 - kind); /* 511: all there are */
	e->boot_ns = 9000000000000 + kind;
	e->wall_ms = 1700000000000 + kind;
	wet_text_copy(e->boot_id, sizeof e->boot_id, BOOT);
	e->a_ns = INT64_MIN + kind;
	e->b_ns = INT64_MAX - kind;
	e->c_ns = -kind;
	e->temperature_mc = INT32_MIN + kind;
	e->bath = kind - 1;
	e->number = -1 + kind;
	wet_text_format(e->token, sizeof e->token, "key-%d", kind);
	e->uid = 4000000000U + (uint32_t)kind;
}

Test(ledger, events_of_every_kind_come_back_in_order)
{
	struct seen *seen = calloc(1, sizeof *seen);
	struct wet_event e;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	put_run(ledger, 1);
	put_run(ledger, 2);
	for (int kind = WET_EVENT_KIND_N - 1; kind >= 0; kind--) { /* stored backwards */
		fill_event(&e, kind);
		cr_assert_eq(wet_ledger_append(ledger, 1, kind + 1, &e, NULL), WET_OK);
	}
	cr_assert_eq(wet_ledger_append(ledger, 2, 1, &e, NULL), WET_OK);
	cr_assert_eq(wet_ledger_each_event(ledger, 1, take_event, seen, NULL), WET_OK);
	cr_assert_eq(seen->count, WET_EVENT_KIND_N);
	for (int i = 0; i < seen->count; i++) {
		const struct wet_event *r = &seen->events[i];
		fill_event(&e, i);
		cr_assert_eq(seen->ids[i], i + 1);
		cr_assert(r->kind == e.kind && r->flags == e.flags && r->boot_ns == e.boot_ns);
		cr_assert(r->wall_ms == e.wall_ms && r->a_ns == e.a_ns && r->b_ns == e.b_ns && r->c_ns == e.c_ns);
		cr_assert(r->temperature_mc == e.temperature_mc && r->bath == e.bath && r->number == e.number);
		cr_assert_eq(r->uid, e.uid);
		cr_assert_str_eq(r->boot_id, e.boot_id);
		cr_assert_str_eq(r->token, e.token);
	}
	seen->count = 0;
	seen->stop_at = 3;
	cr_assert_eq(wet_ledger_each_event(ledger, 1, take_event, seen, NULL), WET_ERR_TOO_MANY);
	cr_assert_eq(seen->count, 3);
	wet_ledger_close(ledger);
	free(seen);
}

Test(ledger, an_event_is_never_stored_twice_nor_without_its_run)
{
	struct wet_event e;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	put_run(ledger, 1);
	fill_event(&e, 0);
	cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_OK);
	cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_ERR_EXISTS);
	cr_assert_eq(wet_ledger_append(ledger, 7, 1, &e, NULL), WET_ERR_NOT_FOUND);
	wet_ledger_close(ledger);
	cr_assert_eq(ask_number("SELECT count(*) FROM event"), 1);
}

static int take_run(void *ctx, const struct wet_ledger_run *run)
{
	struct seen *seen = ctx;
	seen->ids[seen->count++] = run->id;
	return WET_OK;
}

static int take_stage(void *ctx, int stage, const struct wet_stage_record *record)
{
	struct seen *seen = ctx;
	seen->ids[seen->count++] = stage;
	seen->stages[stage] = *record;
	return WET_OK;
}

Test(ledger, finished_runs_are_paged_newest_first_and_live_ones_kept_apart)
{
	struct seen *seen = calloc(1, sizeof *seen);
	int64_t id = 0, before = INT64_MAX;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_OK);
	for (int i = 1; i <= 25; i++) {
		cr_assert_eq(wet_ledger_next_run_id(ledger, &id, NULL), WET_OK);
		cr_assert_eq(id, i);
		put_run(ledger, id);
		if (i % 5 != 0)
			cr_assert_eq(wet_ledger_finish_run(ledger, id, "finished", i, NULL, 0, NULL), WET_OK);
	}
	cr_assert_eq(wet_ledger_commit(ledger, NULL), WET_OK);
	cr_assert_eq(wet_ledger_each_live_run(ledger, take_run, seen, NULL), WET_OK);
	cr_assert_eq(seen->count, 5);
	for (int i = 0; i < 5; i++)
		cr_assert_eq(seen->ids[i], 5 * (i + 1));
	int expect = 24, total = 0;
	for (int page = 0; page < 3; page++) {
		seen->count = 0;
		cr_assert_eq(wet_ledger_each_finished_run(ledger, before, 8, take_run, seen, NULL), WET_OK);
		for (int i = 0; i < seen->count; i++, total++, expect -= (expect - 1) % 5 == 0 ? 2 : 1)
			cr_assert_eq(seen->ids[i], expect);
		before = seen->count > 0 ? seen->ids[seen->count - 1] : 0;
	}
	cr_assert_eq(total, 20);
	wet_ledger_close(ledger);
	free(seen);
}

Test(ledger, a_finished_run_keeps_its_end_and_its_stages)
{
	struct seen *seen = calloc(1, sizeof *seen);
	struct wet_ledger_run run;
	const struct wet_stage_record stages[3] = {
		{ 1, 360000000000, -7, WET_STAGE_BEGUN | WET_STAGE_DONE },
		{ 0 },
		{ 360000000001, 420000000000, 1500, WET_STAGE_BEGUN | WET_STAGE_UNHEARD },
	};
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	put_run(ledger, 1);
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "abandoned", 1700000009999, stages, 3, NULL), WET_OK);
	cr_assert_eq(wet_ledger_finish_run(ledger, 9, "finished", 1, NULL, 0, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_OK);
	cr_assert_not(run.is_live);
	cr_assert_str_eq(run.outcome, "abandoned");
	cr_assert_eq(run.ended_wall_ms, 1700000009999);
	cr_assert_eq(wet_ledger_get_run(ledger, 9, &run, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(run.id, 1, "untouched on failure");
	cr_assert_eq(wet_ledger_each_stage(ledger, 1, take_stage, seen, NULL), WET_OK);
	cr_assert_eq(seen->count, 2, "a stage that never began has no record");
	for (int i = 0; i < 3; i += 2) {
		cr_assert_eq(seen->stages[i].begin_ns, stages[i].begin_ns);
		cr_assert_eq(seen->stages[i].end_ns, stages[i].end_ns);
		cr_assert_eq(seen->stages[i].late_pour_ms, stages[i].late_pour_ms);
		cr_assert_eq(seen->stages[i].flags, stages[i].flags);
	}
	wet_ledger_close(ledger);
	free(seen);
}

static int take_vessel(void *ctx, const struct wet_vessel *vessel)
{
	struct seen *seen = ctx;
	seen->vessels[seen->count++] = *vessel;
	return WET_OK;
}

Test(ledger, the_latest_measure_of_a_vessel_wins)
{
	struct seen *seen = calloc(1, sizeof *seen);
	struct wet_vessel first = { 0 }, second = { 0 }, other = { 0 }, read = { 0 };
	fill_vessel(&first, "creek tank", WET_VESSEL_OPEN_TANK, 900);
	fill_vessel(&second, "creek tank", WET_VESSEL_CLOSED_TANK, 0);
	fill_vessel(&other, "bucket", WET_VESSEL_WASHER, 5);
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(wet_ledger_put_vessel(ledger, &first, 2000, NULL), WET_OK);
	cr_assert_eq(wet_ledger_put_vessel(ledger, &other, 1500, NULL), WET_OK);
	cr_assert_eq(wet_ledger_put_vessel(ledger, &second, 1000, NULL), WET_OK, "the wall clock may step back");
	cr_assert_eq(wet_ledger_get_vessel(ledger, "none", &read, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_get_vessel(ledger, "creek tank", &read, NULL), WET_OK);
	expect_same_vessel(&read, &second);
	cr_assert_eq(wet_ledger_each_vessel(ledger, take_vessel, seen, NULL), WET_OK);
	cr_assert_eq(seen->count, 2);
	expect_same_vessel(&seen->vessels[0], &other);
	expect_same_vessel(&seen->vessels[1], &second);
	wet_ledger_close(ledger);
	cr_assert_eq(ask_number("SELECT count(*) FROM vessel"), 3, "the history is kept");
	free(seen);
}

Test(ledger, an_acknowledgement_is_of_one_person_recipe_and_version)
{
	static const struct {
		const char *person, *recipe;
		int version;
		bool has;
	} rows[] = { { "ana", "tin-box", 2, true },
				 { "ana", "tin-box", 3, false },
				 { "ana", "other", 2, false },
				 { "ben", "tin-box", 2, false } };
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(wet_ledger_put_acknowledgement(ledger, "ana", "tin-box", 2, 1000, NULL), WET_OK);
	cr_assert_eq(wet_ledger_put_acknowledgement(ledger, "ana", "tin-box", 2, 2000, NULL), WET_OK);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		bool has = !rows[i].has;
		cr_assert_eq(wet_ledger_has_acknowledgement(ledger, rows[i].person, rows[i].recipe, rows[i].version,
													&has, NULL),
					 WET_OK);
		cr_assert_eq(has, rows[i].has, "row %zu", i);
	}
	wet_ledger_close(ledger);
	cr_assert_eq(ask_number("SELECT wall_ms FROM acknowledgement"), 1000, "the first time counts");
}

/* -- transactions ---------------------------------------------------------------- */

Test(ledger, a_rollback_undoes_all_since_begin_and_a_commit_keeps_it)
{
	struct wet_ledger_run run;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_OK);
	put_run(ledger, 1);
	put_run(ledger, 2);
	wet_ledger_rollback(ledger);
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_OK);
	put_run(ledger, 2);
	cr_assert_eq(wet_ledger_commit(ledger, NULL), WET_OK);
	wet_ledger_close(ledger);
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_get_run(ledger, 2, &run, NULL), WET_OK);
	wet_ledger_close(ledger);
}

Test(ledger, what_was_not_committed_at_the_end_is_not_there)
{
	struct wet_ledger_run run;
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	cr_assert_eq(wet_ledger_begin(ledger, NULL), WET_OK);
	put_run(ledger, 1);
	wet_ledger_close(ledger);
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_ERR_NOT_FOUND);
	wet_ledger_close(ledger);
}

/* -- what was damaged ------------------------------------------------------------ */

Test(ledger, a_value_no_wetside_wrote_is_damage_not_data)
{
	/* clang-format off */
	static const char *const damages[] = {
		"UPDATE run SET vessel_kind = 5", "UPDATE run SET vessel_kind = 4294967296",
		"UPDATE run SET washer_kind = -1", "UPDATE run SET pieces = 0", "UPDATE run SET pieces = 65",
		"UPDATE run SET forecast_kind = 3", "UPDATE run SET forecast_tau_ns = 0",
		"UPDATE run SET is_wet = 2", "UPDATE run SET owner_uid = 4294967296", "UPDATE run SET is_live = 2",
		"UPDATE rate SET rate_milli = 0 WHERE stage_kind = 3", "UPDATE rate SET stage_kind = 17 WHERE stage_kind = 16",
		"UPDATE rate SET rate_milli = 1000001 WHERE stage_kind = 13", "UPDATE run SET no_beat = -1",
		"UPDATE run SET person = cast(x'ff' AS TEXT)", "UPDATE run SET room = cast(x'610062' AS TEXT)",
		"UPDATE run SET recipe_name = printf('%064d', 1)",
		"UPDATE run SET armed_boot_id = printf('%037d', 1)", "UPDATE run SET armed_boot_ns = -1",
		"UPDATE run SET vessel_fill_ns = -1",
	};
	/* clang-format on */
	for (size_t i = 0; i < sizeof damages / sizeof damages[0]; i++) {
		struct wet_ledger_run run = { .id = 77 };
		struct wet_fault fault = { 0 };
		struct wet_ledger *ledger = open_ledger();
		put_recipe(ledger);
		put_run(ledger, 1);
		cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, NULL), WET_OK);
		run.id = 77;
		wet_ledger_close(ledger);
		run_sql(damages[i]);
		ledger = open_ledger();
		cr_assert_eq(wet_ledger_get_run(ledger, 1, &run, &fault), WET_ERR_CORRUPT, "%s", damages[i]);
		cr_assert_eq(fault.err, WET_ERR_CORRUPT);
		cr_assert_eq(run.id, 77, "untouched on failure");
		wet_ledger_close(ledger);
		run_sql("DELETE FROM rate; DELETE FROM run");
	}
}

Test(ledger, a_damaged_event_stage_or_vessel_is_found)
{
	static const char *const damages[] = { "UPDATE event SET kind = 0",
										   "UPDATE event SET kind = 12",
										   "UPDATE event SET kind = 103",
										   "UPDATE event SET kind = 4294967297",
										   "UPDATE event SET flags = 512",
										   "UPDATE event SET bath = 16",
										   "UPDATE event SET flags = -1",
										   "UPDATE event SET temperature_mc = 2147483648",
										   "UPDATE event SET token = printf('%040d', 1)",
										   "UPDATE event SET boot_ns = -1" };
	struct seen *seen = calloc(1, sizeof *seen);
	struct wet_vessel vessel = { 0 };
	struct wet_event e;
	const struct wet_stage_record stage = { 1, 2, 3, WET_STAGE_BEGUN };
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	put_run(ledger, 1);
	fill_vessel(&vessel, "creek tank", WET_VESSEL_TRAYS, 0);
	cr_assert_eq(wet_ledger_put_vessel(ledger, &vessel, 1, NULL), WET_OK);
	cr_assert_eq(wet_ledger_finish_run(ledger, 1, "finished", 1, &stage, 1, NULL), WET_OK);
	wet_ledger_close(ledger);
	run_sql("UPDATE stage SET stage = 64; UPDATE vessel SET kind = 5");
	for (size_t i = 0; i < sizeof damages / sizeof damages[0]; i++) {
		ledger = open_ledger();
		fill_event(&e, 0);
		cr_assert_eq(wet_ledger_append(ledger, 1, 1, &e, NULL), WET_OK);
		wet_ledger_close(ledger);
		run_sql(damages[i]);
		ledger = open_ledger();
		cr_assert_eq(wet_ledger_each_event(ledger, 1, take_event, seen, NULL), WET_ERR_CORRUPT, "%s",
					 damages[i]);
		wet_ledger_close(ledger);
		run_sql("DELETE FROM event");
	}
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_each_stage(ledger, 1, take_stage, seen, NULL), WET_ERR_CORRUPT);
	cr_assert_eq(wet_ledger_get_vessel(ledger, "creek tank", &vessel, NULL), WET_ERR_CORRUPT);
	cr_assert_eq(wet_ledger_each_vessel(ledger, take_vessel, seen, NULL), WET_ERR_CORRUPT);
	cr_assert_eq(seen->count, 0, "no damaged row reached a callback");
	wet_ledger_close(ledger);
	free(seen);
}

Test(ledger, the_check_finds_a_broken_page_and_passes_a_good_file)
{
	struct wet_fault fault = { 0 };
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	put_run(ledger, 1);
	cr_assert_eq(wet_ledger_check(ledger, &fault), WET_OK);
	wet_ledger_close(ledger);
	char wreck[4096];
	memset(wreck, 0x5a, sizeof wreck);
	int64_t page = ask_number("SELECT rootpage FROM sqlite_schema WHERE name = 'run'");
	int64_t page_bytes = ask_number("PRAGMA page_size");
	int fd = open(path, O_WRONLY | O_CLOEXEC);
	cr_assert_eq(pwrite(fd, wreck, sizeof wreck, (page - 1) * page_bytes), (ssize_t)sizeof wreck);
	close(fd);
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_check(ledger, &fault), WET_ERR_CORRUPT);
	cr_assert_eq(fault.err, WET_ERR_CORRUPT);
	wet_ledger_close(ledger);
}
