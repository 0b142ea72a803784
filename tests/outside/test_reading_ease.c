/* test_reading_ease.c: the safety notes read easily.
 *
 * Measure: R. Flesch, A New Readability Yardstick, Journal of Applied Psychology 32 (1948), 221-233: 206.835 - 1.015
 * words a sentence - 84.6 syllables a word; 60 to 70 is "standard" (constants and scale from memory). Its judge here,
 * the counter of syllables, is itself held against the CMU Pronouncing Dictionary. */
#include "reading_ease.h"
#include "safety_files.h"
#include "shelf/formula_note.h"
#include "shelf/shelf.h"
#include "shelf_files.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define EASE_LEAST 60.0
#define WORDS_LEAST 900
/* What is stated of the counter: nine words in ten are right, and over a whole text it is within one in fifty, which
 * moves a score by 84.6 x 1.4 / 50 = 2.4 at most. Measured on 1344 words: 97 % right, -0.3 %, 0.4 of a score. */
#define RIGHT_LEAST 0.90
#define BIAS_MOST 0.02

struct tally {
	int words, right;
	long counted, known;
};

static void count_word(struct tally *t, const char *word, const char *known)
{
	int n = test_syllables(word, strlen(word)), nearest = 0;
	for (const char *p = known; *p != '\0'; p += strcspn(p, ",") + (p[strcspn(p, ",")] == ',')) {
		int k = atoi(p);
		if (nearest == 0 || abs(k - n) < abs(nearest - n))
			nearest = k;
	}
	t->words++;
	t->right += n == nearest;
	t->counted += n;
	t->known += nearest;
	if (getenv("WET_TELL") != NULL && n != nearest)
		printf("%s: %d, not %d\n", word, n, nearest);
}

Test(reading_ease, syllables_are_those_of_a_pronouncing_dictionary)
{
	size_t bytes;
	char *text = test_file_text(WET_TEST_DATA "/syllables.tsv", &bytes), *save = NULL;
	struct tally notes = { 0 }, others = { 0 };
	cr_assert_not_null(text);
	for (char *line = strtok_r(text, "\n", &save); line != NULL; line = strtok_r(NULL, "\n", &save)) {
		char word[64], known[16], where;
		if (line[0] == '#')
			continue;
		cr_assert_eq(sscanf(line, "%63[^\t]\t%15[^\t]\t%c", word, known, &where), 3, "%s", line);
		count_word(where == 'n' ? &notes : &others, word, known);
	}
	free(text);
	const struct tally *both[] = { &notes, &others };
	cr_assert_geq(notes.words + others.words, WORDS_LEAST);
	for (int i = 0; i < 2; i++) {
		double right = (double)both[i]->right / both[i]->words;
		double bias = (double)(both[i]->counted - both[i]->known) / (double)both[i]->known;
		cr_log_info("%d words, %.1f %% right, bias %+.2f %%", both[i]->words, 100 * right, 100 * bias);
		cr_expect_geq(right, RIGHT_LEAST, "%.3f", right);
		cr_expect_leq(fabs(bias), BIAS_MOST, "%.4f", bias);
	}
}

Test(reading_ease, formula_and_sentences)
{
	/* Counted by hand: 6 words, 2 sentences, 7 syllables: 206.835 - 1.015*3 - 84.6*7/6 = 105.09. */
	struct test_ease e = test_reading_ease("# Not this\n\n- The cat sat. [1, from\n  memory]\n- It was happy\n\n## End\nno", "## End");
	cr_expect_eq(e.words, 6);
	cr_expect_eq(e.sentences, 2);
	cr_expect_eq(e.syllables, 7);
	cr_expect_float_eq(e.score, 105.09, 0.01);
	e = test_reading_ease("48 C is hot! Is it?\n", NULL);
	cr_expect_eq(e.words, 5);
	cr_expect_eq(e.sentences, 2);
	cr_expect_eq(test_reading_ease("", NULL).words, 0);
}

Test(reading_ease, every_note_is_plain)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	struct wet_shelf *shelf;
	double lowest = 1000;
	cr_assert_eq(wet_shelf_open(&shelf, recipes, safety), WET_OK);
	cr_assert_gt(wet_shelf_count(shelf), 0);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *item = wet_shelf_at(shelf, i);
		struct test_ease e = test_reading_ease(item->note, NULL);
		cr_expect_gt(e.words, 200, "%s: only %ld words were seen", item->recipe.name, e.words);
		cr_expect_geq(e.score, EASE_LEAST, "%s reads at %.1f", item->recipe.name, e.score);
		lowest = e.score < lowest ? e.score : lowest;
	}
	cr_log_info("the hardest note reads at %.1f", lowest);
	wet_shelf_free(shelf);
}

Test(reading_ease, every_note_of_a_formula_is_plain)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL };
	struct wet_formulary *formulary;
	double lowest = 1000;
	cr_assert_eq(wet_formulary_open(&formulary, recipes), WET_OK);
	cr_assert_gt(wet_formulary_count(formulary), 0);
	for (size_t i = 0; i < wet_formulary_count(formulary); i++) {
		char *note, *sources;
		const char *name = wet_formulary_at(formulary, i)->formula.name;
		cr_assert_eq(wet_formula_note(test_safety(), formulary, name, &note, &sources), WET_OK, "%s", name);
		struct test_ease e = test_reading_ease(note, NULL);
		cr_expect_gt(e.words, 200, "%s: only %ld words were seen", name, e.words);
		cr_expect_geq(e.score, EASE_LEAST, "%s reads at %.1f", name, e.score);
		lowest = e.score < lowest ? e.score : lowest;
		free(note);
		free(sources);
	}
	cr_log_info("the hardest note of a formula reads at %.1f", lowest);
	wet_formulary_free(formulary);
}
