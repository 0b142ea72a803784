/* number.h: numbers and units as people type them, for the files of this room.
 *
 * A number is read as an exact fraction of integers, so that "0.1" has no binary error; it is multiplied by
 * the unit's exact factor, a fraction too, and rounded once, half away from zero. All products stay under
 * 2^127: at most 15 digits, denominators up to 10^15, factors under 2^38 over 2^23. */
#ifndef WET_BASE_NUMBER_H
#define WET_BASE_NUMBER_H

#include "wetside/errors.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

__extension__ typedef __int128 wide;

struct number {
	wide top, bottom; /* bottom > 0 */
};

struct reader {
	const char *text, *p;
	struct wet_fault *fault;
	const char *want; /* what would be right */
};

/* The reader's fault, with what would be right. */
int reader_fail(const struct reader *reader, int err);
void reader_skip_blanks(struct reader *reader);
bool reader_at_end(struct reader *reader);
/* Bytes of the blank at p; a no-break space counts. */
size_t reader_blank_bytes(const char *p);
/* Is the rest of the text, without blanks around it, this word? */
bool reader_rest_is(struct reader *reader, const char *word, bool any_case);
bool reader_same_word(const char *a, const char *b, size_t bytes, bool any_case);

/* Digits with a point or comma, or with a fraction: "1.5", "1,5", "3/4", "8 1/2", "8-1/2"; or with a
 * fraction that is one sign, as the one half of Latin-1, behind digits or alone. */
int number_read(struct reader *reader, struct number *ret_value);
double number_double(struct number value);
/* value * factor_top / factor_bottom, rounded half away from zero. The caller has checked that it fits. */
int64_t number_times(struct number value, int64_t factor_top, int64_t factor_bottom);
/* Is value * factor over high? */
bool number_is_over(struct number value, int64_t factor_top, int64_t factor_bottom, int64_t high);

#endif
