/* reading_ease.c: Flesch's formula on Markdown, and syllables by spelling. */
#include "reading_ease.h"

#include <ctype.h>
#include <stdbool.h>
#include <string.h>

static bool is_vowel(char c)
{
	return strchr("aeiouy", c) != NULL && c != '\0';
}

static bool ends(const char *w, size_t n, const char *end)
{
	size_t m = strlen(end);
	return n >= m && memcmp(w + n - m, end, m) == 0;
}

/* Letters that a spelling has and a mouth has not: final e, -es, -ed. */
static int silent(const char *w, size_t n)
{
	if (n > 2 && w[n - 1] == 'e' && !is_vowel(w[n - 2]))
		return !(w[n - 2] == 'l' && !is_vowel(w[n - 3])); /* "table" */
	if (n > 3 && ends(w, n, "es") && !is_vowel(w[n - 3])) {
		bool is_heard = strchr("sxzg", w[n - 3]) != NULL || ends(w, n, "ches") || ends(w, n, "shes") || ends(w, n, "ces");
		bool is_table = w[n - 3] == 'l' && !is_vowel(w[n - 4]);
		return !is_heard && !is_table;
	}
	if (n > 3 && ends(w, n, "ed") && !is_vowel(w[n - 3]))
		return w[n - 3] != 't' && w[n - 3] != 'd' && !(w[n - 3] == 'l' && !is_vowel(w[n - 4]));
	if (n > 6 && (ends(w, n, "eless") || ends(w, n, "ement") || ends(w, n, "eness")))
		return 1;
	if (n > 5 && ends(w, n, "ely"))
		return 1;
	return 0;
}

/* Two vowels side by side that are said apart. */
static int apart(const char *w, size_t n)
{
	static const char *const pairs[] = { "ia", "io", "iu", "eo", "ua", "uo", "ie", "ye", "ei", "oi" };
	int count = 0;
	for (size_t i = 0; i + 1 < n; i++) {
		for (size_t j = 0; j < 5; j++) {
			if (memcmp(w + i, pairs[j], 2) != 0)
				continue;
			bool is_soft = i > 0 && strchr("tscxg", w[i - 1]) != NULL && j < 3; /* "action", "special", "region" */
			bool is_one = j == 3 && i > 0 && strchr("p", w[i - 1]) != NULL;     /* "people" */
			bool is_qu = j >= 4 && i > 0 && strchr("qg", w[i - 1]) != NULL;     /* "quart", "guard" */
			count += !is_soft && !is_one && !is_qu;
		}
		if (memcmp(w + i, "ying", 4 < n - i ? 4 : n - i) == 0 && n - i >= 4)
			count++;
	}
	if (ends(w, n, "ier") || ends(w, n, "iet") || ends(w, n, "uel"))
		count++;
	if (ends(w, n, "sm"))
		count++;
	return count;
}

int test_syllables(const char *word, size_t n)
{
	char w[64];
	int groups = 0;
	size_t m = 0;
	for (size_t i = 0; i < n && m + 1 < sizeof w; i++) {
		if (isalpha((unsigned char)word[i]))
			w[m++] = (char)tolower((unsigned char)word[i]);
	}
	w[m] = '\0';
	for (size_t i = 0; i < m; i++) {
		bool is_y_of_start = i == 0 && w[0] == 'y';
		bool was = i > 0 && is_vowel(w[i - 1]) && !(i == 1 && w[0] == 'y');
		groups += is_vowel(w[i]) && !is_y_of_start && !was;
	}
	int count = groups + apart(w, m) - (groups > 1 ? silent(w, m) : 0);
	return count > 0 ? count : 1;
}

struct test_ease test_reading_ease(const char *text, const char *until)
{
	struct test_ease e = { 0 };
	bool has_words = false; /* in the sentence being read */
	for (const char *line = text; *line != '\0';) {
		size_t n = strcspn(line, "\n");
		if (until != NULL && strlen(until) == n && memcmp(line, until, n) == 0)
			break;
		bool is_new = n == 0 || line[0] == '#' || line[0] == '-';
		if (is_new && has_words) {
			e.sentences++;
			has_words = false;
		}
		for (size_t i = line[0] == '#' ? n : 0; i < n; i++) {
			if (line[i] == '[') { /* a citation may run over the end of a line */
				const char *close = strchr(line + i, ']');
				size_t to = close != NULL ? (size_t)(close - line) : n;
				if (to > n)
					n = to + strcspn(line + to, "\n");
				i = to;
			} else if (isalpha((unsigned char)line[i])) {
				size_t m = 1;
				while (i + m < n && (isalpha((unsigned char)line[i + m]) || line[i + m] == '\''))
					m++;
				e.words++;
				e.syllables += test_syllables(line + i, m);
				has_words = true;
				i += m - 1;
			} else if (strchr(".!?", line[i]) != NULL && has_words) {
				e.sentences++;
				has_words = false;
			}
		}
		line += n + (line[n] == '\n');
	}
	e.sentences += has_words;
	if (e.words > 0)
		e.score = 206.835 - 1.015 * (double)e.words / (double)e.sentences - 84.6 * (double)e.syllables / (double)e.words;
	return e;
}
