/* test_schema_verdict.c: the loader, written by hand, and the published schemas say the same.
 *
 * Outside judge: Debian's python3-jsonschema, an implementation of JSON Schema 2020-12 (json-schema.org), run
 * by schema_verdict.py. What only the loader can know (references, order, numbers against each other) is
 * marked in the corpus's table; everything else both must refuse, and both must accept what is good. Then
 * mutants: one text of a good recipe is replaced by another, thousands of times, and the two are compared
 * again. */
#include "shelf/note.h"
#include "shelf/shelf.h"

#include "base/random.h"
#include "base/text.h"
#include "formula_files.h"
#include "safety_files.h"
#include "shelf/config.h"
#include "shelf/formulary.h"
#include "shelf_files.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define FILES_MAX 700
#define MUTANTS 400
#define RECIPE_SCHEMA WET_SOURCE_DIR "/recipes/recipe.schema.json"
#define NOTE_SCHEMA WET_SOURCE_DIR "/safety/note.schema.json"
#define FORMULA_SCHEMA WET_SOURCE_DIR "/recipes/formula.schema.json"
#define CONFIG_SCHEMA WET_SOURCE_DIR "/daemon/ship/config.schema.json"
#define SUBSTANCES_SCHEMA WET_SOURCE_DIR "/recipes/substances.schema.json"

enum verdict { VALID, INVALID, NOT_JSON };

struct files {
	int count;
	char paths[FILES_MAX][256];
	enum verdict schema[FILES_MAX];
	int loader[FILES_MAX]; /* enum wet_err */
	char where[FILES_MAX][160];
};

static void add_path(struct files *f, const char *path)
{
	cr_assert_lt(f->count, FILES_MAX);
	snprintf(f->paths[f->count++], sizeof f->paths[0], "%s", path);
}

static void add_folder(struct files *f, const char *folder)
{
	char path[512];
	DIR *dir = opendir(folder);
	cr_assert_not_null(dir, "%s", folder);
	for (struct dirent *e = readdir(dir); e != NULL; e = readdir(dir)) {
		size_t n = strlen(e->d_name);
		bool is_schema = n > 12 && strcmp(e->d_name + n - 12, ".schema.json") == 0;
		is_schema = is_schema || strcmp(e->d_name, "substances.json") == 0; /* no recipe either */
		if (n > 5 && strcmp(e->d_name + n - 5, ".json") == 0 && !is_schema) {
			snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
			add_path(f, path);
		}
	}
	closedir(dir);
}

/* Asks the outside judge about all files at once. */
static void ask_schema(struct files *f, const char *schema)
{
	static char *argv[FILES_MAX + 4];
	int ends[2];
	char line[400], word[16];
	argv[0] = (char[]){ "/usr/bin/python3" };
	argv[1] = (char[]){ WET_SOURCE_DIR "/tests/outside/schema_verdict.py" };
	argv[2] = strdup(schema);
	for (int i = 0; i < f->count; i++)
		argv[3 + i] = f->paths[i];
	argv[3 + f->count] = NULL;
	cr_assert_eq(pipe(ends), 0);
	fflush(NULL);
	pid_t child = fork();
	cr_assert_geq(child, 0);
	if (child == 0) {
		dup2(ends[1], STDOUT_FILENO);
		close(ends[0]);
		close(ends[1]);
		execv(argv[0], argv);
		_exit(127);
	}
	close(ends[1]);
	FILE *answers = fdopen(ends[0], "r");
	cr_assert_not_null(answers);
	int count = 0, status = 0;
	while (count < f->count && fgets(line, sizeof line, answers) != NULL) {
		char *tab = strrchr(line, '\t');
		cr_assert_not_null(tab, "%s", line);
		*tab = '\0';
		cr_assert_str_eq(line, f->paths[count]);
		cr_assert_eq(sscanf(tab + 1, "%15s", word), 1);
		f->schema[count++] = strcmp(word, "valid") == 0     ? VALID
							 : strcmp(word, "invalid") == 0 ? INVALID
															: NOT_JSON;
	}
	fclose(answers);
	cr_assert_eq(waitpid(child, &status, 0), child);
	cr_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0,
			  "the outside judge failed (python3-jsonschema?)");
	cr_assert_eq(count, f->count);
	free(argv[2]);
}

static void ask_recipe_loader(struct files *f)
{
	static struct wet_recipe r;
	for (int i = 0; i < f->count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		char *text = test_file_text(f->paths[i], &n);
		cr_assert_not_null(text, "%s", f->paths[i]);
		f->loader[i] = wet_recipe_decode(text, n, "", &r, &fault);
		snprintf(f->where[i], sizeof f->where[i], "%s", fault.where);
		free(text);
	}
}

static void ask_note_loader(struct files *f, const struct wet_recipe *recipe)
{
	for (int i = 0; i < f->count; i++) {
		size_t n;
		struct note note = { 0 };
		char *text = test_file_text(f->paths[i], &n);
		cr_assert_not_null(text, "%s", f->paths[i]);
		f->loader[i] = wet_note_read(text, n, "", recipe, NULL, &note, NULL);
		note_release(&note);
		free(text);
	}
}

static void ask_formula_loader(struct files *f)
{
	static struct wet_formula formula;
	for (int i = 0; i < f->count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		char *text = test_file_text(f->paths[i], &n);
		cr_assert_not_null(text, "%s", f->paths[i]);
		f->loader[i] = wet_formula_decode(text, n, "", test_substances(), &formula, &fault);
		snprintf(f->where[i], sizeof f->where[i], "%s", fault.where);
		free(text);
	}
}

static void ask_substances_loader(struct files *f)
{
	static struct wet_substances table;
	for (int i = 0; i < f->count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		char *text = test_file_text(f->paths[i], &n);
		cr_assert_not_null(text, "%s", f->paths[i]);
		f->loader[i] = wet_substances_decode(text, n, "", &table, &fault);
		snprintf(f->where[i], sizeof f->where[i], "%s", fault.where);
		free(text);
	}
}

/* What is read part by part: valid is what leaves nothing to tell. */
static void ask_config_loader(struct files *f)
{
	static struct wet_config config;
	for (int i = 0; i < f->count; i++) {
		size_t n;
		char *text = test_file_text(f->paths[i], &n);
		cr_assert_not_null(text, "%s", f->paths[i]);
		wet_config_decode(text, n, "", &config);
		f->loader[i] = config.fault_count > 0 ? config.faults[0].err : WET_OK;
		snprintf(f->where[i], sizeof f->where[i], "%s", config.faults[0].where);
		free(text);
	}
}

/* One of the files of safety data; `which`: enum test_safety_file. */
static int decode_safety(int which, const char *text, size_t n, struct wet_fault *fault)
{
	static struct wet_safety safety;
	return test_safety_decode(which, text, n, "", &safety, fault);
}

static void ask_safety_loader(struct files *f, int which)
{
	for (int i = 0; i < f->count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		char *text = test_file_text(f->paths[i], &n);
		cr_assert_not_null(text, "%s", f->paths[i]);
		f->loader[i] = decode_safety(which, text, n, &fault);
		snprintf(f->where[i], sizeof f->where[i], "%s", fault.where);
		free(text);
	}
}

static const char *base_name(const char *path)
{
	const char *slash = strrchr(path, '/');
	return slash != NULL ? slash + 1 : path;
}

/* Each file of the bad corpus: loader refuses; the schema refuses too, but for what only the loader can
 * know. */
static void compare_bad(const struct files *f, const char *table)
{
	static struct test_expected rows[256];
	int count = test_expected_rows(table, rows, 256);
	char name[80];
	cr_assert_eq(count, f->count, "every file has its row: %d rows, %d files", count, f->count);
	for (int i = 0; i < f->count; i++) {
		const struct test_expected *row = NULL;
		for (int j = 0; j < count; j++) {
			wet_text_format(name, sizeof name, "%s.json", rows[j].file);
			if (strcmp(name, base_name(f->paths[i])) == 0)
				row = &rows[j];
		}
		cr_assert_not_null(row, "%s has no row", f->paths[i]);
		cr_expect_neq(f->loader[i], WET_OK, "%s", f->paths[i]);
		enum verdict expected = strcmp(row->phase, "loader") == 0  ? VALID
								: strcmp(row->phase, "parse") == 0 ? NOT_JSON
																   : INVALID;
		bool is_refused = f->schema[i] != VALID; /* some are refused by the parser, some by the schema */
		cr_expect_eq(is_refused, expected != VALID, "%s (%s): the schema says %d", row->file, row->phase,
					 f->schema[i]);
		if (expected == NOT_JSON)
			cr_expect_eq(f->schema[i], NOT_JSON, "%s", row->file);
	}
}

static void compare_good(const struct files *f)
{
	for (int i = 0; i < f->count; i++) {
		cr_expect_eq(f->loader[i], WET_OK, "%s: loader", f->paths[i]);
		cr_expect_eq(f->schema[i], VALID, "%s: schema", f->paths[i]);
	}
}

static struct files files;

Test(schema_verdict, recipes_bad)
{
	add_folder(&files, WET_TEST_DATA "/recipes/bad");
	cr_assert_geq(files.count, 40);
	ask_recipe_loader(&files);
	ask_schema(&files, RECIPE_SCHEMA);
	compare_bad(&files, WET_TEST_DATA "/recipes/bad/expected.tsv");
}

Test(schema_verdict, recipes_good_and_shipped)
{
	add_folder(&files, WET_TEST_DATA "/recipes/good");
	add_folder(&files, WET_SOURCE_DIR "/recipes");
	cr_assert_geq(files.count, 12);
	ask_recipe_loader(&files);
	ask_schema(&files, RECIPE_SCHEMA);
	compare_good(&files);
}

Test(schema_verdict, notes)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("small-tank"), &r);
	add_folder(&files, WET_TEST_DATA "/notes/good");
	cr_assert_geq(files.count, 2);
	ask_note_loader(&files, &r);
	ask_schema(&files, NOTE_SCHEMA);
	compare_good(&files);
	files.count = 0;
	add_folder(&files, WET_TEST_DATA "/notes/bad");
	cr_assert_geq(files.count, 20);
	ask_note_loader(&files, &r);
	ask_schema(&files, NOTE_SCHEMA);
	compare_bad(&files, WET_TEST_DATA "/notes/bad/expected.tsv");
}

Test(schema_verdict, formulas)
{
	add_folder(&files, WET_TEST_DATA "/formulas/good");
	add_folder(&files, WET_SOURCE_DIR "/recipes/formulas");
	cr_assert_geq(files.count, 16);
	ask_formula_loader(&files);
	ask_schema(&files, FORMULA_SCHEMA);
	compare_good(&files);
	files.count = 0;
	add_folder(&files, WET_TEST_DATA "/formulas/bad");
	cr_assert_geq(files.count, 50);
	ask_formula_loader(&files);
	ask_schema(&files, FORMULA_SCHEMA);
	compare_bad(&files, WET_TEST_DATA "/formulas/bad/expected.tsv");
}

Test(schema_verdict, substances)
{
	add_folder(&files, WET_TEST_DATA "/substances/good");
	add_path(&files, WET_SOURCE_DIR "/recipes/substances.json");
	cr_assert_geq(files.count, 3);
	ask_substances_loader(&files);
	ask_schema(&files, SUBSTANCES_SCHEMA);
	compare_good(&files);
	files.count = 0;
	add_folder(&files, WET_TEST_DATA "/substances/bad");
	cr_assert_geq(files.count, 30);
	ask_substances_loader(&files);
	ask_schema(&files, SUBSTANCES_SCHEMA);
	compare_bad(&files, WET_TEST_DATA "/substances/bad/expected.tsv");
}

Test(schema_verdict, configuration)
{
	add_folder(&files, WET_TEST_DATA "/config/good");
	cr_assert_geq(files.count, 5);
	ask_config_loader(&files);
	ask_schema(&files, CONFIG_SCHEMA);
	compare_good(&files);
	files.count = 0;
	add_folder(&files, WET_TEST_DATA "/config/bad");
	cr_assert_geq(files.count, 55);
	ask_config_loader(&files);
	ask_schema(&files, CONFIG_SCHEMA);
	compare_bad(&files, WET_TEST_DATA "/config/bad/expected.tsv");
}

static const struct {
	const char *folder, *shipped, *schema;
	int bad_least;
} safety_kinds[] = {
	{ WET_TEST_DATA "/hazards", WET_SOURCE_DIR "/safety/substances.json",
	  WET_SOURCE_DIR "/safety/substance.schema.json", 80 },
	{ WET_TEST_DATA "/gases", WET_SOURCE_DIR "/safety/gases.json", WET_SOURCE_DIR "/safety/gas.schema.json", 25 },
	{ WET_TEST_DATA "/incompatibilities", WET_SOURCE_DIR "/safety/incompatibilities.json",
	  WET_SOURCE_DIR "/safety/incompatibility.schema.json", 35 },
	{ WET_TEST_DATA "/statements", WET_SOURCE_DIR "/safety/statements.json",
	  WET_SOURCE_DIR "/safety/statement.schema.json", 15 },
	{ WET_TEST_DATA "/practice", WET_SOURCE_DIR "/safety/practice.json",
	  WET_SOURCE_DIR "/safety/practice.schema.json", 25 },
};

Test(schema_verdict, safety)
{
	char path[300];
	for (int i = 0; i < TEST_SAFETY_N; i++) {
		files.count = 0;
		snprintf(path, sizeof path, "%s/good", safety_kinds[i].folder);
		add_folder(&files, path);
		add_path(&files, safety_kinds[i].shipped);
		ask_safety_loader(&files, i);
		ask_schema(&files, safety_kinds[i].schema);
		compare_good(&files);
		files.count = 0;
		snprintf(path, sizeof path, "%s/bad", safety_kinds[i].folder);
		add_folder(&files, path);
		cr_assert_geq(files.count, safety_kinds[i].bad_least);
		ask_safety_loader(&files, i);
		ask_schema(&files, safety_kinds[i].schema);
		snprintf(path, sizeof path, "%s/bad/expected.tsv", safety_kinds[i].folder);
		compare_bad(&files, path);
	}
}

/* -- mutants ------------------------------------------------------------------------- */

/* What is put in place of a value: texts of every kind, right and wrong. */
static const char *const pieces[] = {
	/* clang-format off */
	"\"2:00\"", "\"02:00\"", "\"2:0\"", "\"2:60\"", "\"1:02:03\"", "\"1:2:3\"", "\"90 s\"", "\"90s\"",
	"\"90\"", "\"90 sec\"", "\"1.5 min\"", "\"1,5 min\"", "\"1 min 30 s\"", "\"1 min 30\"", "\"-90 s\"",
	"\"+90 s\"", "\" 90 s \"", "\"90  s\"", "\"90 S\"", "\"2 h\"", "\"500 ms\"", "\"90 s s\"", "\"s\"",
	"\"\"", "\" \"", "\".5 min\"", "\"5. min\"", "\"1e2 s\"", "\"20 C\"", "\"20C\"", "\"68 F\"",
	"\"20 \\u00b0C\"", "\"20\\u00b0C\"", "\"20 c\"", "\"20\"", "\"-4 C\"", "\"20 K\"", "\"20,5 C\"",
	"\"+20 C\"", "\"20 C C\"", "\"1.92 per 10 C\"", "\"1.92 per 10\"", "\"2 per 18 F\"",
	"\"1.92  per 10 C\"", "\"1.92 per 10C\"", "\"1,92 per 10 C\"", "\"none\"", "\"continuous\"",
	"\"30 s, then 10 s each minute\"", "\"10 s each minute\"", "\"30 s then 10 s every 30 s\"",
	"\"30 s , then 10 s each minute\"", "\"30 s,then 10 s each minute\"",
	"\"30 s,, then 10 s each minute\"", "\"10 s each\"", "\"10 s minute\"", "\"each minute\"",
	"\"30 s, then\"", "\"0:30, then 0:10 each 1:00\"", "\"30 s. then 10 s each minute\"", "\"dark\"",
	"\"safelight\"", "\"red\"", "\"trays\"", "\"closed-tank\"", "\"fix\"", "\"wash\"", "\"on-go\"",
	"\"straight-on\"", "\"back\"", "\"a-key\"", "\"A key\"", "\"-key\"", "\"key-\"", "\"k\"", "\"a--b\"",
	"\"Camera {piece}\"", "\"tab\\there\"", "\"line\\n\"", "\"\\u200e\"", "\"\\u2066x\"", "\"\\ufeff\"",
	"\"\\u061c\"", "\"\\u0085\"", "\"\\u00a0\"", "\"\\u00ad\"", "\"\\u200b\"", "\"\\ud83d\\ude00\"",
	"\"\\udb40\\udc41\"", "\"3.1 g\"", "\"3.1g\"", "\"3,1 g\"", "\"81 mg\"", "\"48 mL\"", "\"1 L\"",
	"\"1 l\"", "\"1 L \"", "\"metol\"", "true", "false", "null", "0", "1", "2", "1.0", "1.5", "-1", "1e3",
	"1e10", "[]", "{}", "[1]", "{\"a\": 1}", "\"common practice, no source\"", "\"from memory\"",
	/* clang-format on */
};
#define PIECES (sizeof pieces / sizeof pieces[0])

/* Where the n-th value (text, number or word) of a JSON text begins and ends; false past the last. A member's
 * name is no value. */
static bool find_value(const char *json, int wanted, size_t *ret_from, size_t *ret_to)
{
	int count = 0;
	for (size_t i = 0; json[i] != '\0';) {
		size_t from = i;
		if (json[i] == '"') {
			for (i++; json[i] != '"'; i++)
				i += json[i] == '\\';
			i++;
		} else if (strchr("{}[],: \t\r\n", json[i]) != NULL) {
			i++;
			continue;
		} else {
			i += strcspn(json + i, "{}[],: \t\r\n");
		}
		if (json[i + strspn(json + i, " \t\r\n")] == ':')
			continue;
		if (count++ == wanted) {
			*ret_from = from;
			*ret_to = i;
			return true;
		}
	}
	return false;
}

/* Faults of the loader's second half, which weighs values against each other: a schema cannot know them. A
 * time or temperature that only the loader cannot read is none of these. */
static bool is_beyond_a_schema(int err, const char *where)
{
	static const char *const ends[] = { "/begin", "/kind", "/lid_on", "/white_after", "/in_washer",  "/bath",
										"/law",   "/say",  "/stages", "/key",         "/both_fixers" };
	if (err == WET_ERR_FIT || err == WET_ERR_RANGE || err == WET_ERR_EXISTS)
		return true;
	if (err == WET_ERR_NOT_FOUND)
		return strstr(where, "/source/") != NULL || strcmp(strrchr(where, '/'), "/bath") == 0;
	for (size_t i = 0; err == WET_ERR_INVALID && i < sizeof ends / sizeof ends[0]; i++) {
		if (strcmp(strrchr(where, '/'), ends[i]) == 0)
			return true;
	}
	return false;
}

/* Mutants of the seeds, written as files into a new folder. */
static void add_mutants(struct files *f, char *folder, const char *const *seeds, int seed_count, int values_least)
{
	char path[256];
	struct wet_random random;
	cr_assert_not_null(mkdtemp(folder));
	wet_random_seed(&random, 20);
	for (int i = 0; i < MUTANTS; i++) {
		size_t n, from, to;
		char *text = test_file_text(seeds[wet_random_below(&random, (uint64_t)seed_count)], &n);
		cr_assert_not_null(text);
		int values = 0;
		while (find_value(text, values, &from, &to))
			values++;
		cr_assert_gt(values, values_least);
		cr_assert(find_value(text, (int)wet_random_below(&random, (uint64_t)values), &from, &to));
		snprintf(path, sizeof path, "%s/%04d.json", folder, i);
		FILE *file = fopen(path, "wb");
		cr_assert_not_null(file);
		fwrite(text, 1, from, file);
		fputs(pieces[wet_random_below(&random, PIECES)], file);
		fwrite(text + to, 1, n - to, file);
		cr_assert_eq(fclose(file), 0);
		free(text);
		add_path(f, path);
	}
}

/* The schema is never the stricter one, and where the loader is, it is for a reason of its own. Files that are fine are
 * removed with their folder; others stay to be looked at. */
static void compare_mutants(const struct files *f, const char *folder, bool (*is_beyond)(int err, const char *where),
							int beyond_most)
{
	int agreed_valid = 0, agreed_invalid = 0, beyond = 0;
	for (int i = 0; i < f->count; i++) {
		bool loads = f->loader[i] == WET_OK, is_valid = f->schema[i] == VALID;
		bool is_fine = is_valid && !loads && is_beyond(f->loader[i], f->where[i]);
		agreed_valid += loads && is_valid;
		agreed_invalid += !loads && !is_valid;
		beyond += is_fine;
		cr_expect(loads == is_valid || is_fine, "%s: loader %s at %s, schema %s", f->paths[i],
				  wet_err_name(f->loader[i]), f->where[i], is_valid ? "accepts" : "refuses");
		if (loads == is_valid || is_fine)
			unlink(f->paths[i]);
	}
	rmdir(folder);
	cr_expect_gt(agreed_valid, 10);
	cr_expect_gt(agreed_invalid, 100);
	cr_expect_lt(beyond, beyond_most);
}

Test(schema_verdict, mutants_of_a_recipe)
{
	static const char *const seeds[] = { TEST_GOOD_RECIPE("two-fixers"), TEST_GOOD_RECIPE("published-table"),
										 TEST_GOOD_RECIPE("small-trays"),
										 TEST_GOOD_RECIPE("reversal-trays") };
	char folder[] = "/tmp/wetside-mutants-XXXXXX";
	add_mutants(&files, folder, seeds, 4, 60);
	ask_recipe_loader(&files);
	ask_schema(&files, RECIPE_SCHEMA);
	compare_mutants(&files, folder, is_beyond_a_schema, MUTANTS / 3);
}

/* Sources, substances, volumes and the order of dissolving are weighed against each other by the loader alone. */
static bool is_beyond_the_formula_schema(int err, const char *where)
{
	(void)where;
	return err == WET_ERR_RANGE || err == WET_ERR_REFUSED || err == WET_ERR_NOT_FOUND || err == WET_ERR_EXISTS ||
		   err == WET_ERR_UNIT_WRONG;
}

Test(schema_verdict, mutants_of_a_formula)
{
	static const char *const seeds[] = { WET_TEST_DATA "/formulas/good/developer.json",
										 WET_TEST_DATA "/formulas/good/said-otherwise.json" };
	char folder[] = "/tmp/wetside-mutants-XXXXXX";
	add_mutants(&files, folder, seeds, 2, 30);
	ask_formula_loader(&files);
	ask_schema(&files, FORMULA_SCHEMA);
	compare_mutants(&files, folder, is_beyond_the_formula_schema, MUTANTS / 2); /* half of the values are sources */
}

/* Names, references, check digits and limits are weighed by the loader alone. */
static bool is_beyond_the_safety_schema(int err, const char *where)
{
	const char *end = strrchr(where, '/');
	return err == WET_ERR_RANGE || err == WET_ERR_NOT_FOUND || err == WET_ERR_EXISTS || err == WET_ERR_UNIT_WRONG ||
		   (err == WET_ERR_INVALID && (strcmp(end, "/cas") == 0 || strcmp(end, "/formula") == 0));
}

Test(schema_verdict, mutants_of_safety_data)
{
	static const char *const seeds[TEST_SAFETY_N][1] = { [TEST_HAZARDS] = { WET_TEST_DATA "/hazards/good/full.json" },
														 [TEST_GASES] = { WET_TEST_DATA "/gases/good/full.json" },
														 [TEST_INCOMPATIBILITIES] = { WET_TEST_DATA
																					  "/incompatibilities/good/full.json" },
														 [TEST_STATEMENTS] = { WET_TEST_DATA "/statements/good/three.json" },
														 [TEST_PRACTICE] = { WET_TEST_DATA "/practice/good/full.json" } };
	for (int i = 0; i < TEST_SAFETY_N; i++) {
		char folder[] = "/tmp/wetside-mutants-XXXXXX";
		files.count = 0;
		add_mutants(&files, folder, seeds[i], 1, 8);
		ask_safety_loader(&files, i);
		ask_schema(&files, safety_kinds[i].schema);
		compare_mutants(&files, folder, is_beyond_the_safety_schema, MUTANTS / 2);
	}
}

/* Names that stand twice, one device twice, and how often is too often. */
static bool is_beyond_the_config_schema(int err, const char *where)
{
	return err == WET_ERR_EXISTS || (err == WET_ERR_RANGE && strcmp(strrchr(where, '/'), "/every") == 0);
}

Test(schema_verdict, mutants_of_a_configuration)
{
	static const char *const seeds[] = { WET_TEST_DATA "/config/good/full.json", WET_TEST_DATA "/config/good/limits.json" };
	char folder[] = "/tmp/wetside-mutants-XXXXXX";
	add_mutants(&files, folder, seeds, 2, 10);
	ask_config_loader(&files);
	ask_schema(&files, CONFIG_SCHEMA);
	compare_mutants(&files, folder, is_beyond_the_config_schema, MUTANTS / 3);
}
