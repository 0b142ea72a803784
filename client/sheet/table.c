/* table.c: a table. Columns are as wide as their words; where that is too wide, words wrap, and where even the longest words
 * of all columns do not fit side by side, the columns go on in a second table with the first column again. */
#include "sheet.h"

#include <math.h>
#include <string.h>

#define COLUMNS_MAX 24
#define PAD_PT 5.0

struct table {
	const json_t *columns, *rows;
	double size_pt;
	int count;                           /* columns */
	double natural[COLUMNS_MAX], least[COLUMNS_MAX], width[COLUMNS_MAX];
	int shown[COLUMNS_MAX], shown_count; /* columns of the part under way */
};

static const char *cell(const json_t *row, int column)
{
	const char *text = json_string_value(json_array_get(row, (size_t)column));
	return text ? text : "";
}

static const char *title(const struct table *t, int column)
{
	return words_of(json_array_get(t->columns, (size_t)column), "title");
}

static enum side side_of(const struct table *t, int column)
{
	const char *word = words_of(json_array_get(t->columns, (size_t)column), "side");
	return strcmp(word, "right") == 0 ? RIGHT : strcmp(word, "centre") == 0 ? CENTRE : LEFT;
}

static void measure(struct sheet *s, struct table *t, int column, const char *text, enum weight weight)
{
	PangoLayout *layout = text_new(s, text, t->size_pt, weight, 0, LEFT);
	t->natural[column] = fmax(t->natural[column], text_width(layout) + 0.5);
	/* Numbers with their units stand in columns that keep right: they stay in one line, only the titles wrap. */
	bool stays_whole = weight == PLAIN && side_of(t, column) == RIGHT;
	double least = stays_whole ? text_width(layout) + 0.5 : text_least_width(s, text, t->size_pt, weight);
	t->least[column] = fmax(t->least[column], least);
	g_object_unref(layout);
}

static void measure_all(struct sheet *s, struct table *t)
{
	size_t i;
	json_t *row;
	for (int c = 0; c < t->count; c++) {
		t->natural[c] = t->least[c] = t->size_pt;
		measure(s, t, c, title(t, c), BOLD);
		json_array_foreach(t->rows, i, row) measure(s, t, c, cell(row, c), c == 0 ? BOLD : PLAIN);
		/* One word wider than half a page is broken. */
		t->least[c] = fmin(t->least[c], sheet_inner(s) / 2 - 2 * PAD_PT);
		t->natural[c] = fmax(t->natural[c], t->least[c]);
	}
}

/* Which columns, from `from` on, stand side by side; returns the first that does not. */
static int choose_columns(struct sheet *s, struct table *t, int from)
{
	double avail = sheet_inner(s), least = 0;
	t->shown_count = 0;
	if (from > 0) {
		t->shown[t->shown_count++] = 0;
		least = t->least[0] + 2 * PAD_PT;
	}
	int c = from;
	while (c < t->count && (least + t->least[c] + 2 * PAD_PT <= avail || t->shown_count == (from > 0))) {
		t->shown[t->shown_count++] = c;
		least += t->least[c] + 2 * PAD_PT;
		c++;
	}
	return c;
}

static void share_width(struct sheet *s, struct table *t)
{
	double avail = sheet_inner(s) - 2 * PAD_PT * t->shown_count, natural = 0, least = 0;
	for (int i = 0; i < t->shown_count; i++) {
		natural += t->natural[t->shown[i]];
		least += t->least[t->shown[i]];
	}
	for (int i = 0; i < t->shown_count; i++) {
		int c = t->shown[i];
		if (natural <= avail)
			t->width[c] = t->natural[c];
		else
			t->width[c] = t->least[c] + (avail - least) * (t->natural[c] - t->least[c]) / fmax(natural - least, 1e-9);
	}
}

static double table_width(const struct table *t)
{
	double width = 0;
	for (int i = 0; i < t->shown_count; i++)
		width += t->width[t->shown[i]] + 2 * PAD_PT;
	return width;
}

/* row NULL: the titles. Draws nothing if draws is false. Returns its height. */
static double row_height(struct sheet *s, const struct table *t, const json_t *row, bool draws)
{
	double height = 0, x = sheet_left(s);
	for (int i = 0; i < t->shown_count; i++) {
		int c = t->shown[i];
		PangoLayout *layout = text_new(s, row ? cell(row, c) : title(t, c), t->size_pt, row && c > 0 ? PLAIN : BOLD,
									   t->width[c], side_of(t, c));
		if (draws)
			text_draw(s, layout, x + PAD_PT, s->y + 2);
		height = fmax(height, text_height(layout) + 4);
		x += t->width[c] + 2 * PAD_PT;
		g_object_unref(layout);
	}
	return height;
}

static void rule(struct sheet *s, const struct table *t, double thick_pt)
{
	if (s->is_counting)
		return;
	cairo_set_line_width(s->cr, thick_pt);
	cairo_move_to(s->cr, sheet_left(s), s->y);
	cairo_line_to(s->cr, sheet_left(s) + table_width(t), s->y);
	cairo_stroke(s->cr);
}

static void draw_titles(struct sheet *s, struct table *t)
{
	s->y += row_height(s, t, NULL, true);
	rule(s, t, 1.0);
}

/* A row that is higher than a page flows, one cell after the other. */
static void flow_row(struct sheet *s, const struct table *t, const json_t *row)
{
	for (int i = 0; i < t->shown_count; i++) {
		PangoLayout *layout = text_new(s, cell(row, t->shown[i]), t->size_pt, i == 0 ? BOLD : PLAIN, sheet_inner(s), LEFT);
		text_flow(s, layout, sheet_left(s));
		g_object_unref(layout);
	}
}

static void draw_part(struct sheet *s, struct table *t)
{
	size_t i;
	json_t *row;
	double head = row_height(s, t, NULL, false);
	sheet_need(s, head + row_height(s, t, json_array_get(t->rows, 0), false));
	draw_titles(s, t);
	json_array_foreach(t->rows, i, row)
	{
		double height = row_height(s, t, row, false);
		if (height + head > sheet_full(s)) {
			flow_row(s, t, row);
			continue;
		}
		if (height > sheet_room(s)) {
			sheet_new_page(s);
			draw_titles(s, t);
		}
		(void)row_height(s, t, row, true);
		s->y += height;
		rule(s, t, 0.25);
	}
	s->y += 2 * GAP_PT;
}

void table_draw(struct sheet *s, const json_t *table)
{
	struct table t = { .columns = json_object_get(table, "columns"),
					   .rows = json_object_get(table, "rows"),
					   .size_pt = number_of(table, "size_pt", s->body_pt) };
	t.count = (int)json_array_size(t.columns);
	if (t.count > COLUMNS_MAX)
		t.count = COLUMNS_MAX; /* the document was checked: there are no more */
	measure_all(s, &t);
	for (int from = 0; from < t.count;) {
		from = choose_columns(s, &t, from);
		share_width(s, &t);
		draw_part(s, &t);
	}
}
