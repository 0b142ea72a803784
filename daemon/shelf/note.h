/* note.h: the safety note of a recipe, from its data to the text people read. Inside the shelf only. */
#ifndef WET_SHELF_NOTE_H
#define WET_SHELF_NOTE_H

#include "shelf/formulary.h"
#include "shelf/safety.h"
#include "wetside/recipe.h"

#include <stdbool.h>
#include <stddef.h>

#define NOTE_FILE_BYTES (128 * 1024) /* a complete note is under 20 KiB */

/* A note is one page: so many lines of so many columns, closing lines and all, as a printer sets plain text on A4. What
 * each number in brackets cites stands behind it. */
#define NOTE_PAGE_LINES 66
#define NOTE_PAGE_COLUMNS 90

struct note {
	char *text;    /* Markdown that reads well as it is; NUL-terminated; owned by the caller, as the others are */
	char *sources; /* one a line, by number */
	char *json;    /* canonical */
	bool needs_acknowledgement;
};
void note_release(struct note *note);

/* What a note takes from elsewhere: the rules of practice, and what is known of the baths. Borrowed. */
struct note_reference {
	const struct wet_safety *safety;
	const struct wet_formulary *formulary;
};

/* Reads and renders a note, and holds it against its recipe: WET_ERR_NOTE_MISSING where it is not complete. `about` may
 * be NULL: then the file must say all. */
int wet_note_read(const char *json, size_t json_bytes, const char *where, const struct wet_recipe *recipe,
				  const struct note_reference *about, struct note *ret_note, struct wet_fault *reterr);

#endif
