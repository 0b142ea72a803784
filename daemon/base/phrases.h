/* phrases.h: printed English sentences said in another language, by patterns with holes. PURE: no allocation.
 *
 * A pattern is a sentence with holes, {1} to {9}: "{1} next, {2}." A hole takes at least one character, as few as the
 * rest of the pattern allows and never past the end of a sentence, and what it took is said in the other language too:
 * names of baths, times, numbers. Of several patterns that fit, the one with the most letters of its own counts. What fits
 * no pattern is taken sentence by sentence; a sentence that fits none stays as it is, for it may be the recipe's own. */
#ifndef WET_PHRASES_H
#define WET_PHRASES_H

#include <stdbool.h>
#include <stddef.h>

struct wet_phrase {
	const char *say; /* the English pattern */
	const char *as;  /* with the same holes, or some of them, in any order */
};

struct wet_phrases {
	const struct wet_phrase *list;
	size_t count;
};

/* Returns buf. *ret_is_known (may be NULL): every sentence of the text fitted a pattern. */
char *wet_phrases_say(const struct wet_phrases *phrases, const char *text, char *buf, unsigned buf_bytes,
					  bool *ret_is_known);
/* May this be a phrase: holes well formed, none twice in `say`, none side by side, and `as` has none but those? */
bool wet_phrase_is_sound(const struct wet_phrase *phrase);

#endif
