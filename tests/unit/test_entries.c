/* Entries: every revision stays, the last one holds, nobody writes over what he has not seen. */
#include "ledger/entries.h"

#include "base/text.h"
#include "darkroom/cutting.h"
#include "darkroom/inside.h"
#include "shelf/cutting.h"

#include <criterion/criterion.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char folder[64], path[96];
static struct wet_ledger *ledger;

static void open_it(void)
{
	struct wet_fault fault;
	wet_text_copy(folder, sizeof folder, "/tmp/wet-entries-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
	wet_text_format(path, sizeof path, "%s/ledger", folder);
	cr_assert_eq(wet_ledger_open(&ledger, path, &fault), 0);
}

static void close_it(void)
{
	char command[128];
	wet_ledger_close(ledger);
	wet_text_format(command, sizeof command, "rm -rf %s", folder);
	(void)!system(command);
}

TestSuite(entries, .init = open_it, .fini = close_it);

static struct wet_entry note(const char *name, const char *body)
{
	struct wet_entry e = { .kind = "note", .wall_ms = 5, .uid = 1000, .person = "Ann" };
	wet_text_copy(e.name, sizeof e.name, name);
	wet_text_copy(e.body, sizeof e.body, body);
	return e;
}

static int put(const char *name, const char *body, int follows, struct wet_fault *ret_fault)
{
	struct wet_entry e = note(name, body);
	int rc = wet_ledger_put_entry(ledger, &e, follows, ret_fault);
	return rc == 0 ? e.revision : rc;
}

struct seen {
	char text[400];
	int64_t last_id;
};

static int take(void *ctx, const struct wet_entry *e)
{
	struct seen *s = ctx;
	wet_text_append(s->text, sizeof s->text, "%s.%d.%d=%s%s ", e->name, e->part, e->revision, e->body, e->is_gone ? "(gone)" : "");
	s->last_id = e->id;
	return WET_OK;
}

static const char *all(struct seen *s, struct wet_entry_query q)
{
	struct wet_fault fault;
	s->text[0] = '\0';
	q.limit = q.limit ? q.limit : 100;
	cr_assert_eq(wet_ledger_each_entry(ledger, &q, take, s, &fault), 0);
	return s->text;
}

Test(entries, a_correction_keeps_what_was_there)
{
	struct wet_fault fault;
	struct wet_entry e;
	struct seen s;
	cr_assert_eq(put("1", "a", 0, &fault), 1);
	cr_assert_eq(put("2", "b", 0, &fault), 1);
	cr_assert_eq(put("1", "c", 0, &fault), WET_ERR_EXISTS);
	cr_assert_eq(put("1", "c", 1, &fault), 2);
	cr_assert_eq(put("1", "d", 1, &fault), WET_ERR_STALE, "written over a revision nobody had seen");
	cr_assert_eq(put("1", "d", WET_ENTRY_WHATEVER, &fault), 3);
	cr_assert_eq(wet_ledger_get_entry(ledger, "note", "1", 0, &e, &fault), 0);
	cr_assert(e.revision == 3 && strcmp(e.body, "d") == 0 && strcmp(e.person, "Ann") == 0 && e.uid == 1000 && e.wall_ms == 5);
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .kind = "note" }), "2.0.1=b 1.0.3=d ");
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .name = "1", .with_history = true }), "1.0.1=a 1.0.2=c 1.0.3=d ");
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .kind = "piece" }), "");
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .kind = "note", .limit = 1 }), "2.0.1=b ");
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .kind = "note", .after_id = s.last_id }), "1.0.3=d ");
	cr_assert_eq(wet_ledger_get_entry(ledger, "note", "9", 0, &e, &fault), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_ledger_get_entry(ledger, "note", "1", 1, &e, &fault), WET_ERR_NOT_FOUND, "another part");
}

Test(entries, what_is_taken_away_can_come_back_and_is_not_lost)
{
	struct wet_fault fault;
	struct wet_entry e = note("1", "");
	struct seen s;
	cr_assert_eq(put("1", "a", 0, &fault), 1);
	e.is_gone = true;
	cr_assert_eq(wet_ledger_put_entry(ledger, &e, 1, &fault), 0);
	cr_assert_eq(wet_ledger_get_entry(ledger, "note", "1", 0, &e, &fault), WET_ERR_NOT_FOUND);
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .kind = "note" }), "");
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .kind = "note", .with_gone = true }), "1.0.2=(gone) ");
	cr_assert_eq(put("1", "again", 0, &fault), 3);
	cr_assert_str_eq(all(&s, (struct wet_entry_query){ .with_history = true, .with_gone = true }), "1.0.1=a 1.0.2=(gone) 1.0.3=again ");
}

Test(entries, asked_again_with_its_token_it_is_stored_once)
{
	struct wet_fault fault;
	struct wet_entry e = note("1", "a"), again = note("1", "a");
	wet_text_copy(e.token, sizeof e.token, "t");
	again = e;
	cr_assert_eq(wet_ledger_put_entry(ledger, &e, 0, &fault), 0);
	cr_assert_eq(wet_ledger_put_entry(ledger, &again, 0, &fault), 0);
	cr_assert(again.revision == 1 && again.id == e.id);
}

/* Another ledger's run may have had the number, and its pieces may have been taken in: neither is taken for the other. */
Test(entries, pieces_of_two_runs_of_one_number_are_two)
{
	static struct wet_cutting c = { .title = "Cut: 1 piece",
									.made_count = 1,
									.made = { { 40, 90000, 120000 } },
									.guide = { 2, 1, { { "Boxes", "Paper box shut." }, { "Light", "Press to end." } } } };
	struct wet_cut_ended there = { .run_id = 5, .wall_ms = 8000, .recipe_hash = "h" }, here = there;
	struct wet_fault fault;
	struct wet_entry e;
	char *json = NULL;
	size_t bytes = 0;
	here.wall_ms = 9000;
	cr_assert_eq(wet_cutting_text(&c, &json, &bytes, &fault), 0);
	cr_assert_eq(wet_ledger_put_recipe(ledger, "h", WET_CUT_NAME, json, bytes, &fault), 0);
	free(json);
	cr_assert_eq(cut_book(ledger, &there, &fault), 0);
	cr_assert_eq(cut_book(ledger, &here, &fault), 0);
	cr_assert_eq(cut_book(ledger, &here, &fault), 0, "once more changes nothing");
	cr_assert_eq(wet_ledger_get_entry(ledger, WET_PIECE_KIND, "40", 0, &e, &fault), 0);
	cr_assert_eq(e.wall_ms, 8000);
	cr_assert_eq(wet_ledger_get_entry(ledger, WET_PIECE_KIND, "40-2", 0, &e, &fault), 0, "its piece is lost");
	cr_assert_eq(e.wall_ms, 9000);
	cr_assert_eq(wet_ledger_get_entry(ledger, WET_PIECE_KIND, "40-3", 0, &e, &fault), WET_ERR_NOT_FOUND);
}

Test(entries, another_ledgers_come_in_their_order_or_not_at_all)
{
	struct wet_fault fault;
	struct wet_entry e = note("1", "a");
	bool is_new;
	e.revision = 2;
	cr_assert_eq(wet_ledger_import_entry(ledger, false, &e, &is_new, &fault), WET_ERR_INVALID, "a gap");
	e.revision = 1;
	cr_assert_eq(wet_ledger_import_entry(ledger, true, &e, &is_new, &fault), 0);
	cr_assert(is_new);
	cr_assert_eq(wet_ledger_import_entry(ledger, false, &e, &is_new, &fault), 0);
	cr_assert(is_new, "a dry run has written");
	cr_assert_eq(wet_ledger_import_entry(ledger, false, &e, &is_new, &fault), 0);
	cr_assert_not(is_new);
	wet_text_copy(e.body, sizeof e.body, "other");
	cr_assert_eq(wet_ledger_import_entry(ledger, false, &e, &is_new, &fault), WET_ERR_EXISTS);
}

Test(entries, what_no_wetside_wrote_is_damage)
{
	static const char *const sql[] = { "UPDATE entry SET revision = 0", "UPDATE entry SET part = 64", "UPDATE entry SET uid = -1",
									   "UPDATE entry SET body = CAST(x'ff' AS TEXT)", "UPDATE entry SET is_gone = 2" };
	struct wet_fault fault;
	struct wet_entry e;
	for (size_t i = 0; i < sizeof sql / sizeof sql[0]; i++) {
		sqlite3 *db = NULL;
		cr_assert_eq(put("1", "a", 0, &fault), 1);
		wet_ledger_close(ledger);
		cr_assert_eq(sqlite3_open(path, &db), SQLITE_OK);
		cr_assert_eq(sqlite3_exec(db, sql[i], NULL, NULL, NULL), SQLITE_OK);
		cr_assert_eq(sqlite3_close(db), SQLITE_OK);
		cr_assert_eq(wet_ledger_open(&ledger, path, &fault), 0);
		cr_assert_eq(wet_ledger_get_entry(ledger, "note", "1", i == 1 ? 64 : 0, &e, &fault), WET_ERR_CORRUPT, "%s", sql[i]);
		cr_assert_eq(wet_ledger_check(ledger, &fault), WET_ERR_CORRUPT, "%s", sql[i]);
		close_it();
		open_it();
	}
	struct wet_entry bad = note("", "a");
	cr_assert_neq(wet_ledger_put_entry(ledger, &bad, 0, &fault), 0, "no name");
	bad = note("1", "\xff");
	cr_assert_neq(wet_ledger_put_entry(ledger, &bad, 0, &fault), 0, "not UTF-8");
	bad = note("1", "a");
	bad.part = WET_ENTRY_PARTS;
	cr_assert_neq(wet_ledger_put_entry(ledger, &bad, 0, &fault), 0, "too many parts");
}
