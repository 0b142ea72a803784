/* test_shelf.c: files -> recipes and notes, with exact errors. */
#include "shelf/shelf.h"

#include "base/text.h"
#include "shelf/note.h"
#include "shelf_files.h"
#include "wetside/contents.h"
#include "wetside/limits.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define ROWS_MAX 256

static const char *const recipe_dirs[] = { WET_SOURCE_DIR "/recipes", NULL };
static const char *const safety_dirs[] = { WET_SOURCE_DIR "/safety", NULL };

static bool ends_with(const char *text, const char *end)
{
	size_t n = strlen(text), m = strlen(end);
	return n >= m && strcmp(text + n - m, end) == 0;
}

/* A folder of its own for a test. */
static void make_folder(char *path, size_t path_bytes)
{
	wet_text_copy(path, path_bytes, "/tmp/wetside-shelf-XXXXXX");
	cr_assert_not_null(mkdtemp(path));
}

static void write_file(const char *folder, const char *name, const char *text, size_t n)
{
	char path[512];
	snprintf(path, sizeof path, "%s/%s", folder, name);
	FILE *file = fopen(path, "wb");
	cr_assert_not_null(file, "%s", path);
	cr_assert_eq(fwrite(text, 1, n, file), n);
	cr_assert_eq(fclose(file), 0);
}

static void copy_file(const char *from, const char *folder, const char *name)
{
	size_t n;
	char *text = test_file_text(from, &n);
	cr_assert_not_null(text, "%s", from);
	write_file(folder, name, text, n);
	free(text);
}

static void remove_folder(const char *folder, const char *const *names)
{
	char path[512];
	for (size_t i = 0; names[i] != NULL; i++) {
		snprintf(path, sizeof path, "%s/%s", folder, names[i]);
		unlink(path);
	}
	rmdir(folder);
}

/* -- decoding ------------------------------------------------------------------- */

Test(shelf, every_bad_recipe_is_told_exactly)
{
	static struct test_expected rows[ROWS_MAX];
	static struct wet_recipe r, before;
	char path[512], line[600];
	int count = test_expected_rows(WET_TEST_DATA "/recipes/bad/expected.tsv", rows, ROWS_MAX);
	cr_assert_geq(count, 40);
	memset(&r, 0x5a, sizeof r);
	before = r;
	for (int i = 0; i < count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		wet_text_format(path, sizeof path, WET_TEST_DATA "/recipes/bad/%s.json", rows[i].file);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text, "%s", path);
		int rc = wet_recipe_decode(text, n, "creek.json", &r, &fault);
		wet_fault_line(&fault, line, sizeof line);
		cr_expect_str_eq(wet_err_name(rc), rows[i].error, "%s: %s", rows[i].file, line);
		cr_expect_eq(fault.err, rc, "%s", rows[i].file);
		cr_expect_eq(strncmp(fault.where, "creek.json", 10), 0, "%s: %s", rows[i].file, line);
		if (strcmp(rows[i].where, ":") == 0)
			cr_expect_eq(fault.where[10], ':', "%s: line and column: %s", rows[i].file, line);
		else if (strcmp(rows[i].where, "-") != 0)
			cr_expect(ends_with(fault.where, rows[i].where), "%s: %s, not %s", rows[i].file, line,
					  rows[i].where);
		cr_expect_str_not_empty(fault.want, "%s", rows[i].file);
		cr_expect_eq(memcmp(&r, &before, sizeof r), 0, "%s: untouched on failure", rows[i].file);
		cr_expect_eq(wet_recipe_decode(text, n, NULL, &r, NULL), rc, "%s: the same without a fault",
					 rows[i].file);
		free(text);
	}
}

Test(shelf, unknown_member_suggests_the_nearest)
{
	static struct wet_recipe r;
	size_t n;
	struct wet_fault fault = { 0 };
	char *text = test_file_text(WET_TEST_DATA "/recipes/bad/unknown-member-nearly-right.json", &n);
	cr_assert_not_null(text);
	cr_assert_eq(wet_recipe_decode(text, n, "x", &r, &fault), WET_ERR_INVALID);
	free(text);
	cr_expect_str_eq(fault.found, "agitatoin");
	cr_expect(strstr(fault.want, "did you mean \"agitation\"?") != NULL, "%s", fault.want);
	text = test_file_text(WET_TEST_DATA "/recipes/bad/unknown-member.json", &n);
	cr_assert_not_null(text);
	cr_assert_eq(wet_recipe_decode(text, n, "x", &r, &fault), WET_ERR_INVALID);
	free(text);
	cr_expect(strstr(fault.want, "did you mean") == NULL, "nothing is near \"colour\": %s", fault.want);
	cr_expect(strstr(fault.want, "stages") != NULL, "what is allowed: %s", fault.want);
}

Test(shelf, good_recipes_decode_and_keep_their_values)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("times-in-many-ways"), &r);
	cr_expect_eq(r.stages[2].least_ns, 60 * WET_NS_PER_S);
	cr_expect_eq(r.stages[2].aim_ns, 90 * WET_NS_PER_S);
	cr_expect_eq(r.stages[4].most_ns, 900 * WET_NS_PER_S);
	cr_expect_eq(r.fill_ns, 9500 * WET_NS_PER_MS);
	test_recipe_file(TEST_GOOD_RECIPE("fahrenheit"), &r);
	cr_expect_eq(r.stages[2].law.tref_mc, 20000);
	/* An older convention: a factor f per 7 C is f^(10/7) per 10 C (H. E. Ives, Airplane Photography,
	 * 1920). */
	test_recipe_file(TEST_GOOD_RECIPE("factor-per-seven"), &r);
	cr_expect_float_eq(r.stages[2].law.factor_per_10c, 1.785, 0.001);
	test_recipe_file(TEST_GOOD_RECIPE("published-table"), &r);
	cr_expect_eq(r.stages[2].law.row_count, 7);
	cr_expect_eq(r.stages[2].law.rows[2].time_ns, 300 * WET_NS_PER_S);
	cr_expect_eq(r.stages[2].law.min_mc, 17220);
	test_recipe_file(TEST_GOOD_RECIPE("sixty-four-stages"), &r);
	cr_expect_eq(r.stage_count, WET_RECIPE_STAGES);
	test_recipe_file(TEST_GOOD_RECIPE("sixteen-baths"), &r);
	cr_expect_eq(r.bath_count, WET_RECIPE_BATHS);
	test_recipe_file(TEST_GOOD_RECIPE("small-tank"), &r);
	cr_expect_str_eq(r.stages[2].name, "Developer", "the kind's own name where none is given");
	cr_expect_str_eq(r.stages[1].name, "Lid on");
	cr_expect_eq(r.white_after, -1);
	cr_expect_eq(r.stages[0].bath, -1);
	cr_expect_not(r.needs_acknowledgement, "decode does not look at the note");
	test_recipe_file(TEST_GOOD_RECIPE("other-letters"), &r);
	cr_expect_str_eq(r.baths[0].place, "bouteille un, une bande \xc3\xa9");
}

Test(shelf, the_pointer_outlives_a_long_path)
{
	static struct wet_recipe r;
	char where[400];
	size_t n;
	struct wet_fault fault = { 0 };
	memset(where, 'p', sizeof where - 1);
	where[sizeof where - 1] = '\0';
	memcpy(where + sizeof where - 12, "/creek.json", 12);
	char *text = test_file_text(WET_TEST_DATA "/recipes/bad/table-out-of-order.json", &n);
	cr_assert_not_null(text);
	cr_assert_eq(wet_recipe_decode(text, n, where, &r, &fault), WET_ERR_RANGE);
	free(text);
	cr_expect(ends_with(fault.where, "/creek.json#/stages/2/law/table/1/at"), "%s", fault.where);
	cr_expect_eq(strncmp(fault.where, "...", 3), 0, "%s", fault.where);
}

/* -- hash ------------------------------------------------------------------------- */

Test(shelf, hash_is_sha_256)
{
	/* Source: NIST, Secure Hash Standard, FIPS 180-4; the examples published with it (Cryptographic Standards
	 * and Guidelines, Example Values, SHA-256: "abc", the two-block message) and the digest of nothing. */
	const struct {
		const char *text, *hex;
	} rows[] = {
		{ "", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855" },
		{ "abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" },
		{ "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
		  "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		char hex[65];
		wet_shelf_hash(rows[i].text, strlen(rows[i].text), hex);
		cr_expect_str_eq(hex, rows[i].hex);
	}
}

/* -- the shipped shelf --------------------------------------------------------------- */

Test(shelf, shipped_recipes_and_notes_load)
{
	struct wet_shelf *shelf = NULL;
	char line[600];
	cr_assert_eq(wet_shelf_open(&shelf, recipe_dirs, safety_dirs), WET_OK);
	for (size_t i = 0; i < wet_shelf_fault_count(shelf); i++)
		cr_expect(false, "%s", wet_fault_line(wet_shelf_fault(shelf, i), line, sizeof line));
	/* Every recipe file of the folder is on the shelf: none is passed over in silence. */
	size_t files = 0;
	DIR *dir = opendir(recipe_dirs[0]);
	cr_assert_not_null(dir);
	for (struct dirent *e = readdir(dir); e != NULL; e = readdir(dir))
		files += ends_with(e->d_name, ".json") && !ends_with(e->d_name, ".schema.json") &&
				 strcmp(e->d_name, "substances.json") != 0;
	closedir(dir);
	cr_expect_geq(files, 8);
	cr_expect_eq(wet_shelf_count(shelf), files);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *item = wet_shelf_at(shelf, i);
		char hex[65];
		static struct wet_recipe again;
		cr_expect_eq(wet_shelf_find(shelf, item->recipe.name), item);
		cr_expect_eq(strlen(item->json), item->json_bytes);
		wet_shelf_hash(item->json, item->json_bytes, hex);
		cr_expect_str_eq(hex, item->hash);
		/* A frozen copy is as good as the file. */
		cr_expect_eq(wet_recipe_decode(item->json, item->json_bytes, "ledger", &again, NULL), WET_OK);
		cr_expect_eq(again.stage_count, item->recipe.stage_count);
		cr_expect_lt(item->json_bytes, WET_RECIPE_FILE_BYTES);
		if (i > 0)
			cr_expect_lt(strcmp(wet_shelf_at(shelf, i - 1)->recipe.name, item->recipe.name), 0, "sorted");
	}
	cr_expect_null(wet_shelf_find(shelf, "nothing"));
	cr_expect_null(wet_shelf_at(shelf, wet_shelf_count(shelf)));
	cr_expect_null(wet_shelf_fault(shelf, 0));
	wet_shelf_free(shelf);
	wet_shelf_free(NULL);
}

Test(shelf, notes_to_read_are_made_from_their_data)
{
	struct wet_shelf *shelf = NULL;
	cr_assert_eq(wet_shelf_open(&shelf, recipe_dirs, safety_dirs), WET_OK);
	cr_assert_gt(wet_shelf_count(shelf), 0);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *item = wet_shelf_at(shelf, i);
		char path[512];
		size_t n;
		snprintf(path, sizeof path, "%s/%s.md", safety_dirs[0], item->recipe.name);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text, "%s", path);
		cr_expect_str_eq(text, item->note, "%s is not what the data say", path);
		free(text);
	}
	wet_shelf_free(shelf);
}

/* One page: 66 lines of 90 columns, as a printer sets plain text on A4 (six lines to the inch); our measure. */
static void expect_one_page(const char *name, const char *note)
{
	int lines = 0;
	for (const char *line = note; *line != '\0'; lines++) {
		size_t n = strcspn(line, "\n");
		cr_expect_leq(n, 90, "%s: %.*s", name, (int)n, line);
		line += n + 1;
	}
	cr_expect_leq(lines, 66, "%s takes %d lines", name, lines);
	cr_expect_geq(lines, 40, "%s says too little", name);
}

/* The text with its wrapped lines made whole again. */
static void unwrap(char *text)
{
	char *to = text;
	for (const char *from = text; *from != '\0';) {
		if (strncmp(from, "\n  ", 3) == 0) {
			*to++ = ' ';
			from += 3;
		} else {
			*to++ = *from++;
		}
	}
	*to = '\0';
}

Test(shelf, notes_put_first_things_first_on_one_page_and_end_with_the_three_lines)
{
	struct wet_shelf *shelf = NULL;
	const char *const order[] = { "# Safety: ",          "## First: what to wear",
								  "## What can hurt",    "## Never mix",
								  "## If it happens",    "## Afterwards",
								  "\nSources: wetside safety", "\n- Emergency: 112",
								  "\n- Poison centre: ", "\n- The safety data sheet outranks this" };
	cr_assert_eq(wet_shelf_open(&shelf, recipe_dirs, safety_dirs), WET_OK);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *item = wet_shelf_at(shelf, i);
		const char *at = item->note;
		for (size_t j = 0; j < sizeof order / sizeof order[0]; j++) {
			const char *next = strstr(at, order[j]);
			cr_assert_not_null(next, "%s is not in its place", order[j]);
			at = next;
		}
		expect_one_page(item->recipe.name, item->note);
		char end[512] = "", *whole = strdup(item->note);
		cr_assert_not_null(whole);
		unwrap(whole);
		for (size_t j = 0; j < WET_CLOSING_LINES; j++)
			wet_text_append(end, sizeof end, "- %s\n", wet_closing_lines[j]);
		cr_expect(ends_with(whole, end), "%s", item->recipe.name);
		free(whole);
	}
	wet_shelf_free(shelf);
}

/* Behind the page stands each of its lines with what it rests on. */
Test(shelf, every_line_of_a_note_has_its_source)
{
	struct wet_shelf *shelf = NULL;
	cr_assert_eq(wet_shelf_open(&shelf, recipe_dirs, safety_dirs), WET_OK);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *item = wet_shelf_at(shelf, i);
		char *page = strdup(item->note), *behind = strdup(item->note_sources), *save = NULL;
		int count = 0;
		cr_assert(page != NULL && behind != NULL);
		unwrap(page);
		unwrap(behind);
		for (char *line = strtok_r(page, "\n", &save); line != NULL; line = strtok_r(NULL, "\n", &save)) {
			if (strncmp(line, "- Emergency", 11) == 0)
				break;
			if (line[0] != '-')
				continue;
			const char *found = strstr(behind, line);
			cr_expect_not_null(found, "%s: %s", item->recipe.name, line);
			/* What was a line of its own, four blanks in, comes right behind. */
			cr_expect(found == NULL || strncmp(found + strlen(line), "   ", 3) == 0, "%s: nothing for: %s",
					  item->recipe.name, line);
			count++;
		}
		cr_expect_geq(count, 25, "%s", item->recipe.name);
		free(page);
		free(behind);
	}
	wet_shelf_free(shelf);
}

/* No crying wolf, and none unsaid: who works with what has a class, or can make allergic, acknowledges it; who does not is
 * not asked. Baths without a formula are judged by hand. */
Test(shelf, what_must_be_acknowledged_is_what_is_classed)
{
	struct wet_shelf *shelf = NULL;
	int mild = 0, hazardous = 0;
	cr_assert_eq(wet_shelf_open(&shelf, recipe_dirs, safety_dirs), WET_OK);
	const struct wet_formulary *formulary = wet_shelf_formulary(shelf);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		bool is_known = true, is_classed = false;
		for (int j = 0; j < r->bath_count; j++) {
			struct wet_contents holds;
			struct wet_classification k;
			const struct wet_formulary_item *item = wet_formulary_find(formulary, r->baths[j].mix.from);
			is_known = is_known && (item != NULL || r->baths[j].is_water);
			if (item == NULL)
				continue;
			wet_formula_contents(&wet_shelf_safety(shelf)->hazards, wet_formulary_substances(formulary), &item->formula,
								 r->baths[j].mix.stock_milli, r->baths[j].mix.water_milli, &holds);
			struct wet_mixture m;
			cr_assert_eq(wet_contents_classify(&holds, &m, &k, NULL), WET_OK);
			is_classed = is_classed || k.signal != WET_SIGNAL_NONE;
			for (int n = 0; n < k.line_count; n++)
				is_classed = is_classed || strcmp(k.lines[n].code, "EUH208") == 0;
		}
		if (is_known)
			cr_expect_eq(r->needs_acknowledgement, is_classed, "%s", r->name);
		mild += is_known && !is_classed;
		hazardous += is_classed;
	}
	cr_expect_geq(mild, 1);
	cr_expect_geq(hazardous, 10);
	wet_shelf_free(shelf);
}

Test(shelf, canonical_text_forgets_order_and_blanks)
{
	/* The same recipe, members in another order and with other blanks, has the same hash. */
	char folder[64];
	struct wet_shelf *shelf = NULL;
	static const char *const names[] = { "small-tank.json", NULL };
	const char *const dirs[] = { folder, NULL };
	const char *const notes[] = { WET_TEST_DATA "/notes/good", NULL };
	char hash[2][65];
	size_t n;
	char *text = test_file_text(TEST_GOOD_RECIPE("small-tank"), &n);
	cr_assert_not_null(text);
	make_folder(folder, sizeof folder);
	/* "name" goes from the front to the end, and a line is put in. */
	const char *first = "\"name\": \"small-tank\",";
	char *at = strstr(text, first);
	cr_assert_not_null(at);
	char *moved = malloc(n + 64);
	cr_assert_not_null(moved);
	size_t head = (size_t)(at - text);
	memcpy(moved, text, head);
	size_t rest = n - head - strlen(first);
	memcpy(moved + head, at + strlen(first), rest);
	char *brace = moved + head + rest;
	while (*--brace != '}') {
	}
	size_t m = (size_t)(brace - moved);
	m += (size_t)snprintf(brace, 64, ",\n\n\t\"name\":\"small-tank\" }\n");
	const char *texts[] = { text, moved };
	const size_t sizes[] = { n, m };
	for (int i = 0; i < 2; i++) {
		write_file(folder, names[0], texts[i], sizes[i]);
		cr_assert_eq(wet_shelf_open(&shelf, dirs, notes), WET_OK);
		cr_assert_eq(wet_shelf_count(shelf), 1, "%d: %s", i,
					 wet_shelf_fault_count(shelf) > 0 ? wet_shelf_fault(shelf, 0)->want : "");
		memcpy(hash[i], wet_shelf_at(shelf, 0)->hash, sizeof hash[i]);
		wet_shelf_free(shelf);
	}
	cr_expect_neq(n, m);
	cr_expect_str_eq(hash[0], hash[1]);
	free(text);
	free(moved);
	remove_folder(folder, names);
}

/* -- folders --------------------------------------------------------------------------- */

Test(shelf, a_bad_recipe_never_stops_the_others)
{
	char folder[64], fifo[128];
	struct wet_shelf *shelf = NULL;
	static const char *const names[] = { "malformed.json", "small-tank.json", "other-name.json", "pipe.json",
										 "x.schema.json",  ".hidden.json",    "notes.txt",       NULL };
	make_folder(folder, sizeof folder);
	const char *const dirs[] = { "/nonexistent/folder", folder, NULL };
	const char *const notes[] = { "/nonexistent/folder", WET_TEST_DATA "/notes/good", NULL };
	copy_file(WET_TEST_DATA "/recipes/bad/malformed.json", folder, names[0]);
	copy_file(TEST_GOOD_RECIPE("small-tank"), folder, names[1]);
	copy_file(TEST_GOOD_RECIPE("small-tank"), folder, names[2]);
	snprintf(fifo, sizeof fifo, "%s/%s", folder, names[3]);
	cr_assert_eq(mkfifo(fifo, 0600), 0);
	write_file(folder, names[4], "{}", 2);
	write_file(folder, names[5], "{}", 2);
	write_file(folder, names[6], "{}", 2);
	cr_assert_eq(wet_shelf_open(&shelf, dirs, notes), WET_OK);
	cr_expect_eq(wet_shelf_count(shelf), 1);
	cr_expect_not_null(wet_shelf_find(shelf, "small-tank"));
	cr_expect_eq(wet_shelf_fault_count(shelf), 3);
	int parse = 0, name = 0, pipe = 0;
	for (size_t i = 0; i < wet_shelf_fault_count(shelf); i++) {
		const struct wet_fault *f = wet_shelf_fault(shelf, i);
		parse += f->err == WET_ERR_PARSE && strstr(f->where, "malformed.json:") != NULL;
		name += f->err == WET_ERR_INVALID && ends_with(f->where, "other-name.json#/name");
		pipe += f->err == WET_ERR_IO && strstr(f->where, "pipe.json") != NULL;
	}
	cr_expect_eq(parse, 1);
	cr_expect_eq(name, 1);
	cr_expect_eq(pipe, 1);
	wet_shelf_free(shelf);
	remove_folder(folder, names);
}

Test(shelf, own_recipes_come_before_the_installed_ones)
{
	char own[64];
	size_t n;
	struct wet_shelf *shelf = NULL;
	static const char *const names[] = { "direct-positive-fibre-tank.json", NULL };
	make_folder(own, sizeof own);
	const char *const dirs[] = { own, WET_SOURCE_DIR "/recipes", NULL };
	char *text = test_file_text(TEST_CREEK_RECIPE, &n);
	cr_assert_not_null(text);
	char *title = strstr(text, "Direct-positive fibre paper in a closed");
	cr_assert_not_null(title);
	memcpy(title, "MINE", 4);
	write_file(own, names[0], text, n);
	cr_assert_eq(wet_shelf_open(&shelf, dirs, safety_dirs), WET_OK);
	size_t all = wet_shelf_count(shelf);
	cr_assert_eq(wet_shelf_fault_count(shelf), 0);
	const struct wet_shelf_recipe *item = wet_shelf_find(shelf, "direct-positive-fibre-tank");
	cr_assert_not_null(item);
	cr_expect_eq(strncmp(item->recipe.title, "MINE", 4), 0);
	cr_expect_eq(strncmp(item->path, own, strlen(own)), 0);
	wet_shelf_free(shelf);
	/* A broken one of one's own is told; the installed one does not take its place behind one's back. */
	write_file(own, names[0], text, n / 2);
	cr_assert_eq(wet_shelf_open(&shelf, dirs, safety_dirs), WET_OK);
	cr_expect_eq(wet_shelf_count(shelf), all - 1);
	cr_expect_null(wet_shelf_find(shelf, "direct-positive-fibre-tank"));
	cr_expect_eq(wet_shelf_fault_count(shelf), 1);
	wet_shelf_free(shelf);
	free(text);
	remove_folder(own, names);
}

/* -- notes ---------------------------------------------------------------------------------- */

Test(shelf, every_incomplete_note_is_told_exactly)
{
	static struct test_expected rows[ROWS_MAX];
	static struct wet_recipe r;
	char path[512], line[600];
	test_recipe_file(TEST_GOOD_RECIPE("small-tank"), &r);
	int count = test_expected_rows(WET_TEST_DATA "/notes/bad/expected.tsv", rows, ROWS_MAX);
	cr_assert_geq(count, 20);
	for (int i = 0; i < count; i++) {
		size_t n;
		struct note note = { 0 };
		struct wet_fault fault = { 0 };
		wet_text_format(path, sizeof path, WET_TEST_DATA "/notes/bad/%s.json", rows[i].file);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text, "%s", path);
		int rc = wet_note_read(text, n, "note.json", &r, NULL, &note, &fault);
		wet_fault_line(&fault, line, sizeof line);
		cr_expect_str_eq(wet_err_name(rc), rows[i].error, "%s: %s", rows[i].file, line);
		cr_expect(ends_with(fault.where, rows[i].where), "%s: %s, not %s", rows[i].file, line, rows[i].where);
		cr_expect_null(note.text, "%s", rows[i].file);
		free(text);
	}
}

Test(shelf, acknowledgement_comes_from_the_note)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("small-tank"), &r);
	const struct {
		const char *path;
		bool needs;
	} rows[] = { { WET_TEST_DATA "/notes/good/small-tank.json", false },
				 { WET_TEST_DATA "/notes/good/hazardous.json", true } };
	for (size_t i = 0; i < 2; i++) {
		size_t n;
		struct note note = { 0 };
		char *text = test_file_text(rows[i].path, &n);
		cr_assert_not_null(text);
		cr_assert_eq(wet_note_read(text, n, "note.json", &r, NULL, &note, NULL), WET_OK);
		cr_expect_eq(note.needs_acknowledgement, rows[i].needs);
		cr_expect_eq(strstr(note.text, "acknowledge") != NULL, rows[i].needs);
		cr_expect_not_null(strstr(note.text, "\n- Fixer smells.\n"), "%s", note.text);
		cr_expect_not_null(strstr(note.sources, "\n- Fixer smells.\n    A. Author, A Book, 1920\n"
												"    common practice, no source\n"),
						   "%s", note.sources);
		note_release(&note);
		free(text);
	}
}

Test(shelf, a_recipe_without_its_note_does_not_load)
{
	const char *const empty[] = { NULL };
	const char *const notes[] = { WET_TEST_DATA "/notes/good", NULL };
	struct wet_shelf *shelf = NULL;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_shelf_open(&shelf, recipe_dirs, empty), WET_OK);
	cr_expect_eq(wet_shelf_count(shelf), 0);
	cr_assert_geq(wet_shelf_fault_count(shelf), 2);
	for (size_t i = 0; i < wet_shelf_fault_count(shelf); i++)
		cr_expect_eq(wet_shelf_fault(shelf, i)->err, WET_ERR_NOTE_MISSING);
	wet_shelf_free(shelf);
	cr_expect_eq(wet_shelf_check_file(TEST_CREEK_RECIPE, NULL, empty, &fault), WET_ERR_NOTE_MISSING);
	cr_expect(strstr(fault.where, "direct-positive-fibre-tank.json") != NULL, "%s", fault.where);
	cr_expect_eq(wet_shelf_check_file(TEST_CREEK_RECIPE, NULL, safety_dirs, &fault), WET_OK);
	cr_expect_eq(wet_shelf_check_file(TEST_GOOD_RECIPE("small-tank"), NULL, notes, &fault), WET_OK, "%s",
				 fault.want);
	cr_expect_eq(wet_shelf_check_file(TEST_GOOD_RECIPE("nothing"), NULL, notes, &fault), WET_ERR_NOT_FOUND);
	cr_expect(ends_with(fault.where, "nothing.json"), "%s", fault.where);
	cr_expect_eq(wet_shelf_check_file(WET_TEST_DATA "/recipes", NULL, notes, &fault), WET_ERR_IO,
				 "a folder is no recipe");
}
