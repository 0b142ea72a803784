/* shelf.h: files -> structs: recipes and their safety notes, with exact errors.
 *
 * Depends on recipe, base, jansson and files; no clock, no loop. Each mistake is a fault with file, JSON
 * pointer, what was found and what is allowed; a bad recipe never stops the others from loading. */
#ifndef WET_SHELF_H
#define WET_SHELF_H

#include "shelf/formulary.h"
#include "shelf/judge.h"
#include "shelf/safety.h"
#include "wetside/recipe.h"

#include <stdbool.h>
#include <stddef.h>

/* One recipe as loaded. Immutable and shared; freed by the shelf. */
struct wet_shelf_recipe {
	struct wet_recipe recipe;
	char hash[65]; /* SHA-256 of the canonical JSON text (sorted keys, compact), hex */
	char *json;    /* the canonical JSON text, NUL-terminated; owned by the shelf */
	size_t json_bytes;
	char *note;      /* the safety note, one page of plain text for people, NUL-terminated; owned by the shelf, as are: */
	char *note_sources; /* what its numbers cite, one a line */
	char *note_json; /* the note's data as canonical JSON; owned by the shelf */
	char path[256];  /* where it came from */
	struct wet_judgement judged; /* what meets in it; one that warns must be acknowledged */
	bool warns_in_stale_air;     /* in a room that is hardly aired it must be acknowledged */
};

struct wet_shelf;

/* Loads every *.json directly in each folder of `recipe_dirs` (NULL-terminated; earlier ones win on equal
 * names; a missing folder is skipped) with its note NAME.json from `safety_dirs`. Returns 0 even if single
 * files were bad: those are in the list of faults. WET_ERR_NOMEM only. */
int wet_shelf_open(struct wet_shelf **ret_shelf, const char *const *recipe_dirs,
				   const char *const *safety_dirs);
void wet_shelf_free(struct wet_shelf *shelf); /* NULL is fine */

/* The tables that notes are made with, from the same folders; owned by the shelf. Their faults are their own. */
const struct wet_safety *wet_shelf_safety(const struct wet_shelf *shelf);
const struct wet_formulary *wet_shelf_formulary(const struct wet_shelf *shelf);

size_t wet_shelf_count(const struct wet_shelf *shelf);
const struct wet_shelf_recipe *wet_shelf_at(const struct wet_shelf *shelf, size_t i); /* sorted by name */
const struct wet_shelf_recipe *wet_shelf_find(const struct wet_shelf *shelf, const char *name); /* or NULL */
size_t wet_shelf_fault_count(const struct wet_shelf *shelf);
const struct wet_fault *wet_shelf_fault(const struct wet_shelf *shelf, size_t i);

/* Decodes one recipe from JSON text (a file, or a frozen copy out of the ledger): parse, decode,
 * wet_recipe_check. `where` prefixes faults (a path). Never allocates past the call. The note is not looked
 * at. */
int wet_recipe_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					  struct wet_fault *reterr);

/* Checks one recipe file and its note; for `wetsided --check-recipe`. What its baths hold is looked up in the formulas
 * beside the file, then in those of `recipe_dirs` (NULL-terminated, or NULL). */
int wet_shelf_check_file(const char *path, const char *const *recipe_dirs, const char *const *safety_dirs,
						 struct wet_fault *reterr);

/* The note of one recipe file as people read it; for `wetsided --print-note`, from which safety/NAME.md is made.
 * *ret_text is the caller's to free. */
int wet_shelf_note_of_file(const char *path, const char *const *recipe_dirs, const char *const *safety_dirs,
						   char **ret_text, struct wet_fault *reterr);

/* The three lines that end every sheet with a caution, in their order: the emergency number, the poison
 * centre, and what outranks the sheet. */
#define WET_CLOSING_LINES 3
extern const char *const wet_closing_lines[WET_CLOSING_LINES];

/* SHA-256 of bytes as 64 hex digits and a NUL. */
void wet_shelf_hash(const void *bytes, size_t n, char hex[65]);

#endif
