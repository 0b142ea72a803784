/* page.h: the page of the watch as a grid of cells: a function of what is known and the size, and of nothing else. No terminal
 * library, no clock, no allocation.
 *
 * Colour carries no meaning: what is urgent also says so in words. */
#ifndef WET_CLIENT_PAGE_H
#define WET_CLIENT_PAGE_H

#include "client/scene.h"

#include <stddef.h>
#include <wchar.h>

enum page_ink { INK_PLAIN, INK_FAINT, INK_LEAD, INK_WARN, INK_N };

#define CELL_MARKS 2 /* combining characters that one cell keeps */
struct cell {
	wchar_t text[1 + CELL_MARKS + 1]; /* a character, its marks, NUL; empty: the right half of a wide one */
	enum page_ink ink;
};

/* The largest grid: more of a screen stays blank. */
#define PAGE_ROWS_MAX 300
#define PAGE_COLUMNS_MAX 600

struct page_line {
	char text[448];
	enum page_ink ink;
	int priority;   /* the highest goes first where there is no room; 0 never goes before another */
	bool is_bottom; /* stands at the lower edge */
	bool is_large;  /* of large digits, which are whole or not there */
	int digits;     /* their row, from 1; 0: text */
};
#define PAGE_LINES 320
struct page {
	struct page_line lines[PAGE_LINES];
	int count, rows, columns;
	bool is_unicode;
	struct cell cells[PAGE_ROWS_MAX * PAGE_COLUMNS_MAX];
};

/* Fills page->cells, rows x columns of them, row by row. Where is_unicode is false, or the locale's wcwidth knows no
 * width, a character that is not ASCII becomes '?'. rows and columns are held within 1 and the largest grid. */
void page_fill(struct page *page, const struct scene *scene, int rows, int columns, bool is_unicode);
/* When the page changes by itself: microseconds of boot time; -1: never. */
int64_t page_next_us(const struct scene *scene);
/* "2:10", "1:02:10"; a count-down is told by the second that has begun. */
char *page_time(int64_t us, bool is_up, char *buf, size_t bytes);

#endif
