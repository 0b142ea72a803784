/* formula_note.h: the safety note of mixing a formula, made from the formula and the tables: no file holds it. */
#ifndef WET_FORMULA_NOTE_H
#define WET_FORMULA_NOTE_H

#include "shelf/formulary.h"
#include "shelf/safety.h"

#include <stdbool.h>

/* As people read it: what to wear and open, what each form can do as it goes in and what is made of them, what must not
 * meet it, what to do if it happens, where it goes, with the three closing lines; and behind it what each line rests on.
 * Both are the caller's to free. WET_ERR_NOT_FOUND, WET_ERR_NOMEM. */
int wet_formula_note(const struct wet_safety *safety, const struct wet_formulary *formulary, const char *name,
					 char **ret_text, char **ret_sources);

/* Can a form of it as it goes in, or what it makes, do more than irritate, make drowsy, corrode metal or harm water? Then its
 * note is acknowledged. What can't be judged counts as worse. */
bool wet_formula_is_hazardous(const struct wet_safety *safety, const struct wet_substances *table,
							  const struct wet_formula *formula);

#endif
