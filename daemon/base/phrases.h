/* phrases.h: printed English sentences said in another language, by patterns with holes. PURE: no allocation.
 *
 * A pattern is a sentence with holes, {1} to {9}: "{1} next, {2}." A hole takes at least one character, as few as the
 * rest of the pattern allows and never past the end of a sentence, and what it took is said in the other language too:
 * names of baths, times, numbers. Before a unit (" C", " F", " s") it takes one word. A hole that fits no pattern as it
 * stands is tried with a capital. Of several patterns that fit, the one with the most letters of its own counts. What fits
 * no pattern is taken sentence by sentence, up to four of them together where a pattern says so; a sentence that fits none
 * stays as it is, for it may be the recipe's own.
 */
#ifndef WET_PHRASES_H
#define WET_PHRASES_H

#include <stdbool.h>
#include <stddef.h>

struct wet_phrase {
	const char *say; /* the English pattern */
	const char *as;  /* with the same holes, or some of them, in any order */
};

/* How a number is said: words of the language's own, or the digits, which its voice reads. */
struct wet_number_name {
	int n;
	const char *as;
};

struct wet_phrases {
	const struct wet_phrase *list;
	size_t count;
	bool says_numbers; /* false: they stay as they stand, in English */
	const struct wet_number_name *numbers, *ordinals;
	size_t number_count, ordinal_count;
	const char *decimal; /* its sign; NULL: a point */
};

/* Returns buf. *ret_is_known (may be NULL): every sentence of the text fitted a pattern. */
char *wet_phrases_say(const struct wet_phrases *phrases, const char *text, char *buf, unsigned buf_bytes,
					  bool *ret_is_known);
/* The same, and what was left as it stood for want of a phrase, with letters in it, the first of it into `left`; "": nothing. */
char *wet_phrases_say_all(const struct wet_phrases *phrases, const char *text, char *buf, unsigned buf_bytes, char *left,
						  unsigned left_bytes);
/* May this be a phrase: holes well formed, none twice in `say`, none side by side, and `as` has none but those? */
bool wet_phrase_is_sound(const struct wet_phrase *phrase);

#endif
