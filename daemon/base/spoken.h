/* spoken.h: numbers, times and units as a voice says them. Leaf: libc only, no allocation. English; what else is said is
 * data, and another language leaves the numbers to its voice. */
#ifndef WET_SPOKEN_H
#define WET_SPOKEN_H

#include <stdbool.h>
#include <stddef.h>

/* "seventeen", "forty-two", "two hundred and five"; over 9,999 in digits. Returns buf. */
char *wet_number_word(int n, char *buf, unsigned buf_bytes);
/* "first", "twenty-first"; from 70 on "70th". Returns buf. */
char *wet_ordinal_word(int n, char *buf, unsigned buf_bytes);
/* Is this what the two above say, of 0 to 9,999 and of 1 to 69? */
bool wet_number_from_words(const char *text, size_t bytes, int *ret_n);
bool wet_ordinal_from_word(const char *text, size_t bytes, int *ret_n);
/* A printed sentence as it is spoken: "2:10" and "2 minutes 10 seconds" become "two minutes ten", "19.4 C" "nineteen point
 * four degrees", "tank-2" "tank two". Brackets and control bytes, which a voice might take for orders, become blanks.
 * Returns buf. */
char *wet_spoken(const char *text, char *buf, unsigned buf_bytes);

/* What a voice might take for orders only: for a language whose voice says numbers itself. */
char *wet_spoken_as_is(const char *text, char *buf, unsigned buf_bytes);

#endif
