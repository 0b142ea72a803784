/* note.h: the safety note of a recipe, from its data to the text people read. Inside the shelf only. */
#ifndef WET_SHELF_NOTE_H
#define WET_SHELF_NOTE_H

#include "wetside/errors.h"
#include "wetside/recipe.h"

#include <stdbool.h>
#include <stddef.h>

#define NOTE_FILE_BYTES (128 * 1024) /* a complete note is under 20 KiB */

struct note {
	char *text; /* Markdown that reads well as it is; NUL-terminated; owned by the caller */
	char *json; /* canonical; owned by the caller */
	bool needs_acknowledgement;
};

/* Reads and renders a note, and holds it against its recipe: WET_ERR_NOTE_MISSING where it is not
 * complete. */
int wet_note_read(const char *json, size_t json_bytes, const char *where, const struct wet_recipe *recipe,
				  struct note *ret_note, struct wet_fault *reterr);

#endif
