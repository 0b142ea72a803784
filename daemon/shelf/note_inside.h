/* note_inside.h: what reading a note and making its page share. */
#ifndef WET_SHELF_NOTE_INSIDE_H
#define WET_SHELF_NOTE_INSIDE_H

#include "shelf/note.h"
#include "shelf/shelf.h"
#include "wetside/contents.h"

#include <jansson.h>

/* What the file says, as far as it is needed to judge it; texts are read into `line` one after another. */
struct note_contents {
	const struct wet_recipe *recipe;
	const struct note_reference *about; /* NULL: the file alone */
	char recipe_name[WET_NAME_BYTES];
	char title[WET_LINE_BYTES];
	char reason[WET_LINE_BYTES];
	int recipe_version;
	bool needs_acknowledgement;
	char line[400];
	char when[WET_NAME_BYTES];
	bool is_silver, has_silver;
	unsigned sections, routes; /* bits of enum wet_note_section that have a line, of enum wet_note_route */
	unsigned baths;            /* bits of the entry being read */
	unsigned hurt, disposed;   /* bits of baths spoken of */
	unsigned known;            /* bits of baths whose contents the tables know: */
	struct wet_contents baths_hold[WET_RECIPE_BATHS]; /* at the strength they work at */
	uint64_t classes;          /* bits of enum wet_reaction_class of all those */
};

/* The page and what stands behind it, into `note`; either stays NULL without memory. */
void note_render(const json_t *root, const struct note_contents *contents, struct note *note);

#endif
