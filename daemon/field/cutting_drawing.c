/* cutting_drawing.c: a sheet and its cuts in plain ASCII. */
#include "wetside/cutting.h"

#include "base/text.h"

#include <string.h>

#define ROWS_MOST 76

struct drawing {
	const struct wet_cut_layout *layout;
	int columns, rows;
	char cells[ROWS_MOST][121];
};

static int column_of(const struct drawing *d, int32_t x_t)
{
	int32_t whole = d->layout->parts[0].width_t;
	return (int)(((int64_t)x_t * (d->columns - 1) + whole / 2) / whole);
}

static int row_of(const struct drawing *d, int32_t y_t)
{
	int32_t whole = d->layout->parts[0].height_t;
	return d->rows - 1 - (int)(((int64_t)y_t * (d->rows - 1) + whole / 2) / whole);
}

/* A line over another of the other direction is a corner. */
static void put_line(struct drawing *d, int row, int column, char mark)
{
	char *cell = &d->cells[row][column];
	*cell = *cell == ' ' || *cell == mark ? mark : '+';
}

static void put_box(struct drawing *d, const struct wet_cut_part *p)
{
	int left = column_of(d, p->x_t), right = column_of(d, p->x_t + p->width_t);
	int low = row_of(d, p->y_t), high = row_of(d, p->y_t + p->height_t);
	for (int c = left; c <= right; c++) {
		put_line(d, low, c, '-');
		put_line(d, high, c, '-');
	}
	for (int r = high; r <= low; r++) {
		put_line(d, r, left, '|');
		put_line(d, r, right, '|');
	}
}

static void put_text(struct drawing *d, int row, int column, const char *text)
{
	int n = (int)strlen(text), from = column - n / 2;
	if (from < 0)
		from = 0;
	if (from + n > d->columns)
		from = d->columns - n;
	for (int i = 0; i < n && from >= 0; i++)
		d->cells[row][from + i] = text[i];
}

/* Its number, or what it is, where there is room for it. */
static void put_name(struct drawing *d, const struct wet_cut_part *p, int before)
{
	char text[24] = "";
	int left = column_of(d, p->x_t), right = column_of(d, p->x_t + p->width_t);
	int low = row_of(d, p->y_t), high = row_of(d, p->y_t + p->height_t);
	if (p->kind == WET_CUT_PIECE)
		wet_text_format(text, sizeof text, "%d", before + p->number);
	else if (p->kind == WET_CUT_REST)
		wet_text_copy(text, sizeof text, right - left > 5 ? "rest" : "r");
	else if (p->kind == WET_CUT_WASTE)
		wet_text_copy(text, sizeof text, right - left > 6 ? "waste" : "w");
	if (text[0] && right - left > (int)strlen(text) && low - high > 1)
		put_text(d, (low + high) / 2, (left + right) / 2, text);
}

/* Its order on the line, two fifths along: in the middle, lines of both directions would meet. */
static void put_order(struct drawing *d, const struct wet_cut_step *s, int order)
{
	char text[24];
	int c1 = column_of(d, s->from_x_t), c2 = column_of(d, s->to_x_t), r1 = row_of(d, s->from_y_t),
		r2 = row_of(d, s->to_y_t);
	wet_text_format(text, sizeof text, "(%d)", order);
	if (s->is_across ? r1 - r2 > 1 : c2 - c1 > (int)strlen(text))
		put_text(d, r1 + (r2 - r1) * 2 / 5, c1 + (c2 - c1) * 2 / 5, text);
}

char *wet_cut_draw(const struct wet_cut_words *words, const struct wet_cut_layout *layout, int before,
				   int columns, char *buf, unsigned buf_bytes)
{
	struct drawing d = { .layout = layout, .columns = columns < 24 ? 24 : columns > 120 ? 120 : columns };
	const struct wet_cut_part *sheet = &layout->parts[0];
	char size[80];
	/* A character is about twice as high as wide. */
	d.rows = (int)((int64_t)d.columns * sheet->height_t / sheet->width_t / 2) + 1;
	if (d.rows > ROWS_MOST) {
		d.columns = (int)((int64_t)d.columns * ROWS_MOST / d.rows);
		d.rows = ROWS_MOST;
	}
	d.rows = d.rows < 5 ? 5 : d.rows;
	d.columns = d.columns < 8 ? 8 : d.columns;
	memset(d.cells, ' ', sizeof d.cells);
	for (int i = 0; i < layout->part_count; i++)
		if (layout->parts[i].kind != WET_CUT_TO_CUT && layout->parts[i].width_t > 0 &&
			layout->parts[i].height_t > 0)
			put_box(&d, &layout->parts[i]);
	for (int i = 0; i < layout->part_count; i++)
		put_name(&d, &layout->parts[i], before);
	for (int i = 0; i < layout->step_count; i++)
		put_order(&d, &layout->steps[i], i + 1);
	wet_text_format(buf, buf_bytes, "%s; cuts by their order in brackets\n",
					wet_cut_print_size(sheet->width_t, sheet->height_t, words->unit, size, sizeof size));
	for (int r = 0; r < d.rows; r++) {
		int n = d.columns;
		while (n > 0 && d.cells[r][n - 1] == ' ')
			n--;
		wet_text_append(buf, buf_bytes, "%.*s\n", n, d.cells[r]);
	}
	return buf;
}
