/* page_inside.h: what page.c and grid.c share. */
#ifndef WET_CLIENT_PAGE_INSIDE_H
#define WET_CLIENT_PAGE_INSIDE_H

#include "client/page.h"

/* A text, broken at blanks into lines of the page's width. Its first line keeps the priority, the others give way a little
 * earlier, except where it is 0. */
void page_put(struct page *page, const char *text, enum page_ink ink, int priority);
/* A time in large digits, over several lines. */
void page_put_digits(struct page *page, const char *time, enum page_ink ink, int priority);
/* The lines that have room, in cells. */
void page_to_cells(struct page *page);

#endif
