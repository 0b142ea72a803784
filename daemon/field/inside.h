/* inside.h: what the files on exposure share. */
#ifndef WET_FIELD_INSIDE_H
#define WET_FIELD_INSIDE_H

#include "wetside/errors.h"

#include <stdbool.h>
#include <stddef.h>

/* The next word of a text, as blanks, commas and semicolons part them; a number and letters that stand against it
 * ("8s", "14.3EV") are two words. False at the end. A word too long for the buffer is cut, and so matches nothing. */
bool field_next_word(const char **text, char *ret_word, size_t word_bytes);
/* In any case of the letters. */
bool field_same_word(const char *a, const char *b);
/* A word that is a number and nothing else. */
bool field_number(const char *word, double *ret_value);

#endif
