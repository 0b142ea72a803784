/* phrasebook.h: a language file: what is said for each English sentence. daemon/ship/speech/en.json lists the sentences;
 * a translation is a copy of it.
 *
 *   { "language": "de", "voice": "de", "decimal": ",", "numbers": { "1": "eins" }, "ordinals": { "2": "zweite" },
 *     "phrases": { "{1} next, {2}.": "Als Nächstes {1}: {2}." } }
 *
 * Numbers, in words or figures, and ordinals are said by those three: a word where the file has one, else the figures, which the
 * language's voice reads (an ordinal with a full stop behind it). Times go through the patterns of hours, minutes and seconds,
 * temperatures through that of "{1} C". A file whose language is English leaves numbers alone. */
#ifndef WET_PHRASEBOOK_H
#define WET_PHRASEBOOK_H

#include "base/phrases.h"
#include "wetside/errors.h"
#include "wetside/limits.h"

#define WET_PHRASES 512                 /* the English file has under 200 */
#define WET_NUMBER_NAMES 200            /* of each kind */
#define WET_PHRASEBOOK_BYTES (256 << 10) /* of a file */

struct wet_phrasebook {
	char language[WET_NAME_BYTES]; /* "de", "pt-br" */
	char voice[WET_NAME_BYTES];    /* who speaks it, if nobody is asked for */
	struct wet_phrases phrases;    /* point into the file, which is kept */
	struct wet_phrase list[WET_PHRASES];
	struct wet_number_name numbers[WET_NUMBER_NAMES], ordinals[WET_NUMBER_NAMES];
	char decimal[8];
	void *file;
};

/* *ret_book is the caller's, to be freed. Strict, like all files of the shelf: an unknown member, a hole that is no hole or
 * that its sentence doesn't have is an error that says where. */
int wet_phrasebook_read(const char *path, struct wet_phrasebook **ret_book, struct wet_fault *reterr);
int wet_phrasebook_decode(const char *json, size_t bytes, struct wet_phrasebook **ret_book, struct wet_fault *reterr);
void wet_phrasebook_free(struct wet_phrasebook *book); /* NULL is fine */

#endif
