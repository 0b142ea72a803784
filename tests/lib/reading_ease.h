/* reading_ease.h: how easy an English text reads, for tests: Flesch's formula and a counter of syllables. */
#ifndef WET_TESTS_READING_EASE_H
#define WET_TESTS_READING_EASE_H

#include <stddef.h>

/* Syllables of one English word of n letters, by its spelling: groups of vowels, less silent e's, with a table of
 * endings. At least 1. How far it errs is measured in tests/outside/test_reading_ease.c. */
int test_syllables(const char *word, size_t n);

struct test_ease {
	long words, sentences, syllables;
	double score; /* 206.835 - 1.015 words/sentence - 84.6 syllables/word; 0 without words */
};

/* The prose of a Markdown text up to the line `until` (NULL: to its end): headings and what stands in square brackets
 * are left out. A sentence ends at '.', '!' or '?' and with its paragraph or bullet; a word is letters with
 * apostrophes, so that "acid-proof" is two; numbers count as nothing. */
struct test_ease test_reading_ease(const char *text, const char *until);

#endif
