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

/* -- making a page ------------------------------------------------------------------------------ */

#define LINE_BYTES 2048

struct text {
	char *bytes;
	size_t n, room;
	bool is_out_of_memory;
};

struct page {
	struct text text, sources;
	const json_t *root;
	const struct note_contents *c;
	const struct wet_safety *safety; /* NULL: the file alone */
	uint64_t gases; /* bits of places in the table: what the baths can set free */
};

extern const char *const note_classes_from; /* what a line rests on that was computed */

/* Wraps at blanks; `first` stands before the first line, `rest` before the others. */
void put_wrapped(struct text *text, const char *first, const char *rest, const char *line);
/* A line of the page, and behind it what it rests on. */
void put_entry(struct page *page, const char *line, const char *const *cited, int cited_count);
/* That the page is not whole, where a table could not be used. */
void put_gaps(struct page *page);
void put_heading(struct page *page, const char *heading);
void put_rules(struct page *page, int section);
/* The entries of a member of the root, {"text", "source"}. */
void put_own(struct page *page, const char *member);
void put_gases(struct page *page);
void append_sentence(char line[LINE_BYTES], const char *text);
/* One more of a list, once. */
void append_code(char *codes, unsigned bytes, const char *code);
/* What a rule's meeting makes. */
void append_forms(const struct page *page, const struct wet_incompatibility *rule, char *forms, unsigned bytes);
/* What a solution does, in the wording of its statements; false: nothing that has a class or a line. That acid frees a gas
 * is not told here. */
bool append_hazards(const struct page *page, const struct wet_contents *holds, char line[LINE_BYTES], char *codes,
					unsigned codes_bytes);
/* The same of a class that is known. */
bool append_classes(const struct page *page, const struct wet_contents *holds, const struct wet_classification *class_of_it,
					char line[LINE_BYTES], char *codes, unsigned codes_bytes);
/* The bytes, the caller's; NULL without memory. */
char *finish(struct text *text);

/* The page and what stands behind it, into `note`; either stays NULL without memory. */
void note_render(const json_t *root, const struct note_contents *contents, struct note *note);

#endif
