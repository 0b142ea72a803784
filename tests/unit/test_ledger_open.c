/* test_ledger_open.c: what can't be opened as a ledger is told exactly, and left alone. */
#include "ledger/plans.h"
#include "ledger/inside.h"

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

static char folder[64], path[96];

static void make_folder(void)
{
	wet_text_copy(folder, sizeof folder, "/tmp/wetside-open-XXXXXX");
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

TestSuite(ledger_open, .init = make_folder, .fini = remove_folder);

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

static void put_recipe(struct wet_ledger *ledger)
{
	cr_assert_eq(wet_ledger_put_recipe(ledger, HASH, "tin-box", "{}", 2, NULL), WET_OK);
}

/* -- what can't be opened ---------------------------------------------------------- */

static void expect_refusal(const char *where, int err, const char *word)
{
	struct wet_ledger *ledger = NULL;
	struct wet_fault fault = { 0 };
	int rc = wet_ledger_open(&ledger, where, &fault);
	cr_assert_eq(rc, err, "%s, not %s (%s)", wet_err_name(rc), wet_err_name(err), fault.found);
	cr_assert_eq(fault.err, err);
	cr_assert_null(ledger);
	cr_assert_str_eq(fault.where, where);
	char line[512];
	wet_fault_line(&fault, line, sizeof line);
	cr_assert_not_null(strstr(line, word), "%s", line);
	cr_assert_eq(wet_ledger_open(&ledger, where, NULL), err, "the fault may be NULL");
}

Test(ledger_open, a_second_daemon_is_locked_out_and_told_what_to_do)
{
	struct wet_ledger *ledger = open_ledger();
	expect_refusal(path, WET_ERR_LOCKED, "another daemon holds it");
	expect_refusal(path, WET_ERR_LOCKED, "stop that one, or give another --ledger");
	put_recipe(ledger); /* the first one is not disturbed */
	wet_ledger_close(ledger);
	wet_ledger_close(open_ledger());
}

Test(ledger_open, no_shared_memory_file_is_made)
{
	char name[128];
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	wet_text_format(name, sizeof name, "%s-wal", path);
	cr_assert_eq(access(name, F_OK), 0, "it is in WAL mode");
	wet_text_format(name, sizeof name, "%s-shm", path);
	cr_assert_neq(access(name, F_OK), 0);
	wet_ledger_close(ledger);
}

Test(ledger_open, a_newer_ledger_is_refused_with_both_versions_and_left_alone)
{
	wet_ledger_close(open_ledger());
	run_sql("PRAGMA user_version = 41");
	expect_refusal(path, WET_ERR_NEWER, "version 41");
	char newest[32];
	wet_text_format(newest, sizeof newest, "at most version %d", wet_ledger_schema());
	expect_refusal(path, WET_ERR_NEWER, newest);
	cr_assert_eq(ask_number("PRAGMA user_version"), 41);
}

Test(ledger_open, an_older_ledger_is_brought_up_with_what_it_holds)
{
	struct wet_fault fault = { 0 };
	struct wet_stock item = { .kind = WET_STOCK_BOTTLE, .name = "a", .what = "b", .full_ul = 1, .volume_ul = 1 };
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD };
	bool has = false;
	run_sql(wet_migration_0001);
	run_sql("PRAGMA application_id = 2003137651; PRAGMA user_version = 1;"
			"INSERT INTO acknowledgement VALUES('creek', 'paper', 1, 7)");
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(wet_ledger_has_acknowledgement(ledger, "creek", "paper", 1, &has, &fault), WET_OK);
	cr_assert(has);
	cr_assert_eq(wet_ledger_add_stock(ledger, &item, &why, &fault), WET_OK, "%s", fault.want);
	wet_ledger_close(ledger);
	cr_assert_eq(ask_number("PRAGMA user_version"), wet_ledger_schema());
}

static int take_bath(void *ctx, const struct wet_stock *item)
{
	*(struct wet_stock *)ctx = *item;
	return WET_OK;
}

/* One of before the second baths: what was booked stays booked as of a first, and a kept plan keeps its two rows. */
Test(ledger_open, a_bath_of_before_the_rotation_has_done_all_as_first)
{
	struct wet_fault fault = { 0 };
	struct wet_stock item = { .id = 0 };
	struct wet_stock_event second = { .act = WET_STOCK_ACT_USE, .wall_ms = 9, .second_mm2 = 400 };
	struct wet_kept_plan *plan = calloc(1, sizeof *plan);
	run_sql(wet_migration_0001);
	run_sql(wet_migration_0002);
	run_sql("PRAGMA application_id = 2003137651; PRAGMA user_version = 3;"
			"INSERT INTO stock VALUES(5,1,'fix-a','fixer','1+4','','',350000,350000,0,0,0,0,7,10800,0,0,0,0);"
			"INSERT INTO stock_event VALUES(1,5,0,7,350000,10800,0,0,0,'','');"
			"INSERT INTO plan VALUES(1,'old','paper','h','tank',7); INSERT INTO plan_load VALUES(1,0,1,10800,0);"
			"INSERT INTO plan_bath VALUES(1,0,'first-fixer','fixer','1+4',0,1,5,350000,0);"
			"INSERT INTO booking VALUES(3,2,5,10800,0)");
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(wet_ledger_check(ledger, &fault), WET_OK, "%s", fault.found);
	cr_assert_eq(wet_ledger_each_stock(ledger, -1, false, 0, 9, take_bath, &item, &fault), WET_OK);
	cr_assert_eq(item.area_mm2, 10800);
	cr_assert_eq(item.second_mm2, 0);
	cr_assert_eq(item.rotations, 0);
	cr_assert_eq(wet_ledger_get_plan(ledger, "old", plan, &fault), WET_OK, "%s", fault.found);
	cr_assert_eq(plan->bath_count, 1);
	cr_assert_str_eq(plan->baths[0].second_key, "");
	cr_assert_eq(wet_ledger_use_stock(ledger, 5, &second, &item, &fault), WET_OK, "%s", fault.want);
	cr_assert_eq(item.second_mm2, 400);
	cr_assert_eq(wet_ledger_check(ledger, &fault), WET_OK, "%s", fault.found);
	wet_ledger_close(ledger);
	run_sql("UPDATE stock SET second_mm2 = 401");
	ledger = open_ledger();
	cr_assert_eq(wet_ledger_check(ledger, &fault), WET_ERR_CORRUPT);
	wet_ledger_close(ledger);
	free(plan);
	cr_assert_eq(ask_number("PRAGMA user_version"), wet_ledger_schema());
}

Test(ledger_open, a_file_that_is_no_database_is_left_alone)
{
	static const char text[] =
		"Camera four, slot three. This is a shopping list and no ledger at all, quite long "
		"enough to be taken for a header of a hundred bytes.\n";
	char read[sizeof text] = "";
	int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
	cr_assert_eq(write(fd, text, sizeof text), (ssize_t)sizeof text);
	close(fd);
	expect_refusal(path, WET_ERR_CORRUPT, "not a database");
	fd = open(path, O_RDONLY | O_CLOEXEC);
	cr_assert_eq(pread(fd, read, sizeof read, 0), (ssize_t)sizeof read);
	close(fd);
	cr_assert_str_eq(read, text);
}

Test(ledger_open, another_programs_database_is_left_alone)
{
	run_sql("CREATE TABLE bread(flour)");
	expect_refusal(path, WET_ERR_CORRUPT, "another program's file");
	cr_assert_eq(ask_number("SELECT count(*) FROM sqlite_schema"), 1);
	/* "File format version numbers", SQLite's file format, section 1.3.3: 1 is a rollback journal, 2 is WAL. */
	char byte = 0;
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	cr_assert_eq(pread(fd, &byte, 1, 18), 1);
	close(fd);
	cr_assert_eq(byte, 1);
}

Test(ledger_open, a_path_that_cant_be_written_is_told)
{
	char none[128];
	wet_text_format(none, sizeof none, "%s/none/ledger.db", folder);
	expect_refusal(none, WET_ERR_IO, "a folder that exists");
	expect_refusal(folder, WET_ERR_IO, "a folder that exists");
}

/* -- what is a file like any other --------------------------------------------------- */

/* "file:" would be a URI and ":memory:" no file at all where SQLite was built so (as Debian's is): a ledger that forgets. */
Test(ledger_open, a_name_that_means_something_to_sqlite_is_a_file_all_the_same)
{
	static const char *const names[] = { "file:ledger?mode=memory", ":memory:" };
	struct wet_ledger *ledger = NULL;
	cr_assert_eq(chdir(folder), 0);
	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		cr_assert_eq(wet_ledger_open(&ledger, names[i], NULL), WET_OK);
		put_recipe(ledger);
		wet_ledger_close(ledger);
		cr_assert_eq(access(names[i], F_OK), 0, "%s", names[i]);
		(void)unlink(names[i]);
	}
	ledger = NULL;
	cr_assert_eq(wet_ledger_open(&ledger, "", NULL), WET_ERR_INVALID, "it would be forgotten at the end");
	cr_assert_null(ledger);
}

Test(ledger_open, a_path_that_is_too_long_is_told)
{
	char longest[600];
	struct wet_ledger *ledger = NULL;
	struct wet_fault fault = { 0 };
	memset(longest, 'a', sizeof longest - 1);
	longest[sizeof longest - 1] = '\0';
	cr_assert_eq(wet_ledger_open(&ledger, longest, &fault), WET_ERR_TOO_LONG);
	cr_assert_not_null(strstr(fault.want, "bytes"));
	cr_assert_null(ledger);
}

Test(ledger_open, a_new_ledger_is_its_owners_alone)
{
	struct stat st;
	char wal[128];
	mode_t mask = umask(0);
	struct wet_ledger *ledger = open_ledger();
	put_recipe(ledger);
	umask(mask);
	cr_assert_eq(stat(path, &st), 0);
	cr_assert_eq(st.st_mode & 0777, 0600);
	wet_text_format(wal, sizeof wal, "%s-wal", path);
	cr_assert_eq(stat(wal, &st), 0);
	cr_assert_eq(st.st_mode & 0777, 0600);
	wet_ledger_close(ledger);
}

/* Root may write anything, so as root it is tried as nobody (65534 on Linux, nss-systemd(8)). */
Test(ledger_open, what_this_user_may_only_read_is_told)
{
	wet_ledger_close(open_ledger());
	cr_assert_eq(chmod(path, 0444), 0);
	cr_assert_eq(chmod(folder, 0555), 0);
	bool is_root = geteuid() == 0;
	if (is_root)
		cr_assert_eq(seteuid(65534), 0);
	expect_refusal(path, WET_ERR_READONLY, "can be written");
	wet_text_format(path, sizeof path, "%s/other.db", folder);
	expect_refusal(path, WET_ERR_READONLY, "can be written");
	if (is_root)
		cr_assert_eq(seteuid(0), 0);
	wet_text_format(path, sizeof path, "%s/ledger.db", folder);
	cr_assert_eq(chmod(folder, 0755), 0);
	cr_assert_eq(ask_number("PRAGMA user_version"), wet_ledger_schema(), "it was left alone");
}

/* One of before it was told how a thing is kept: in a closed bottle, all along. */
Test(ledger_open, a_bath_of_before_was_kept_in_a_bottle)
{
	const int64_t day_ms = 24 * 3600 * 1000;
	struct wet_fault fault = { 0 };
	struct wet_stock item = { .id = 0 };
	struct wet_stock_age age;
	run_sql(wet_migration_0001);
	run_sql(wet_migration_0002);
	run_sql(wet_migration_0004);
	run_sql("PRAGMA application_id = 2003137651; PRAGMA user_version = 4;"
			"INSERT INTO stock VALUES(5,1,'fix-a','fixer','1+4','','',350000,350000,0,0,0,0,86400000,0,0,0,0,0,0,0);"
			"INSERT INTO stock_event VALUES(1,5,0,86400000,350000,0,0,0,0,'','',0)");
	struct wet_ledger *ledger = open_ledger();
	cr_assert_eq(wet_ledger_check(ledger, &fault), WET_OK, "%s", fault.found);
	cr_assert_eq(wet_ledger_get_stock_by_id(ledger, 5, &item, &fault), WET_OK, "%s", fault.found);
	cr_assert_eq(item.kept, WET_STOCK_KEPT_BOTTLE);
	cr_assert_eq(item.piece_width_um, 0);
	cr_assert_eq(wet_ledger_stock_age(ledger, &item, 11 * day_ms, &age, &fault), WET_OK);
	cr_assert_eq(age.spells[WET_STANDING_FULL].for_ns, 10 * day_ms * 1000000);
	cr_assert_eq(age.now, WET_STANDING_FULL);
	wet_ledger_close(ledger);
}
