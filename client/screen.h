/* screen.h: the thin shell around the terminal library. Only screen.c calls it, and only while light is allowed or a red view is.
 *
 * Order of calls: screen_begin, then put, black and size as often as wanted, then screen_end. Between black and the next put
 * nothing here writes a byte, whatever happens: a signal, a resize, a stop, an end. The terminal is given back as it was, also
 * when a signal ends the process; but in the dark that would light it, so there only the keyboard is. */
#ifndef WET_CLIENT_SCREEN_H
#define WET_CLIENT_SCREEN_H

#include "client/page.h"

#include <stdbool.h>

enum screen_colours { SCREEN_AUTO, SCREEN_ALWAYS, SCREEN_NEVER };

/* Are keyboard and output a terminal that a page can be drawn on? Writes nothing. */
bool screen_is_possible(void);
/* 256 colours of fixed value, as a red view needs? Writes nothing. */
bool screen_has_red(enum screen_colours colours);
/* Keys come one by one, without echo, from here on. Writes nothing. False: no such terminal. */
bool screen_begin(enum screen_colours colours);
void screen_size(int *ret_rows, int *ret_columns);
bool screen_is_unicode(void);
/* Shows the page. False: the terminal can't be opened. */
bool screen_put(const struct page *page, bool is_red);
/* Clears to black, hides the cursor, and waits until the terminal has it all. */
void screen_black(void);
/* The size has changed since this was asked last; may be asked in the dark. */
bool screen_was_resized(void);
/* Ctrl-Z was pressed since this was asked last. */
bool screen_wants_stop(void);
/* Gives the terminal to the shell until it is brought back. Never in the dark. What stood there is put again by screen_put. */
void screen_stop(void);
/* Is something of ours to be seen? */
bool screen_is_lit(void);
/* is_light: it may be given back; else only the keyboard is. */
void screen_end(bool is_light);

#endif
