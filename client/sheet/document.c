/* document.c: what a document may hold, checked whole before a page is begun, and drawn block by block.
 *
 *   { "title": "...", "subtitle": "...", "footer": "...", "paper": "A4" | "Letter", "landscape": false, "size_pt": 11,
 *     "blocks": [ one of these each:
 *       { "heading": "..." }
 *       { "text": "..." }                a paragraph
 *       { "caution": "..." }             a paragraph in a frame
 *       { "checks": ["...", ...] }       lines with a box to tick
 *       { "page": true }                 what follows begins a page
 *       { "table": { "columns": [{ "title": "...", "side": "left" | "right" | "centre" }, ...],
 *                    "rows": [["...", ...], ...], "size_pt": 12 } }
 *       { "chart": { "x": { "title": "...", "is_log": false, "is_time": false, "low": 0, "high": 1 }, "y": { ... },
 *                    "series": [{ "name": "...", "points": [[x, y], ...], "has_line": true, "has_marks": false }],
 *                    "height_mm": 90 } }
 *       { "drawing": { "width": 240, "height": 300, "unit_mm": 1, "across": "240 mm", "down": "300 mm",
 *                      "rects": [{ "x": 0, "y": 0, "width": 1, "height": 1, "label": "...", "is_waste": false }],
 *                      "cuts": [{ "x1": 0, "y1": 0, "x2": 0, "y2": 1, "label": "1" }] } }
 *       { "cards": { "across": 3, "cards": [{ "title": "...", "lines": ["..."], "picture_width": 9, "picture_height": 12 }] } }
 *     ] } */
#include "sheet.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

#define BLOCKS_MAX 2000
#define ROWS_MAX 5000
#define COLUMNS_MOST 24
#define TEXT_MOST 20000 /* bytes of one text */
#define CARD_TEXT_MOST 600
#define POINTS_MAX 100000

const char *words_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));
	return text ? text : "";
}

double number_of(const json_t *object, const char *key, double otherwise)
{
	const json_t *value = json_object_get(object, key);
	return json_is_number(value) ? json_number_value(value) : otherwise;
}

/* -- check ------------------------------------------------------------------------ */

static int wrong(struct wet_fault *reterr, const char *where, const char *want)
{
	return wet_fault_set(reterr, WET_ERR_INVALID, where, NULL, "%s", want);
}

static int check_text(const json_t *value, const char *where, struct wet_fault *reterr)
{
	if (!json_is_string(value) || json_string_length(value) > TEXT_MOST)
		return wrong(reterr, where, "a text of at most 20,000 bytes");
	return WET_OK;
}

static int check_texts(const json_t *list, size_t most, const char *where, struct wet_fault *reterr)
{
	size_t i;
	json_t *one;
	int rc = json_is_array(list) && json_array_size(list) <= most ? WET_OK : wrong(reterr, where, "a list of texts, not too long");
	json_array_foreach(list, i, one)
	{
		if (rc == WET_OK)
			rc = check_text(one, where, reterr);
	}
	return rc;
}

static int check_table(const json_t *table, const char *where, struct wet_fault *reterr)
{
	const json_t *columns = json_object_get(table, "columns"), *rows = json_object_get(table, "rows");
	double size = number_of(table, "size_pt", 10);
	size_t i, count = json_array_size(columns);
	json_t *row;
	if (count == 0 || count > COLUMNS_MOST || !json_is_array(rows) || json_array_size(rows) > ROWS_MAX)
		return wrong(reterr, where, "a table of 1 to 24 columns and at most 5,000 rows");
	if (size < SMALL_PT || size > 30)
		return wrong(reterr, where, "size_pt from 8 to 30");
	int rc = WET_OK;
	json_array_foreach(rows, i, row)
	{
		if (rc == WET_OK && json_array_size(row) != count)
			rc = wrong(reterr, where, "as many cells in each row as there are columns");
		if (rc == WET_OK)
			rc = check_texts(row, COLUMNS_MOST, where, reterr);
	}
	return rc;
}

static bool is_pair(const json_t *point)
{
	const json_t *x = json_array_get(point, 0), *y = json_array_get(point, 1);
	return json_array_size(point) == 2 && json_is_number(x) && json_is_number(y);
}

static int check_chart(const json_t *chart, const char *where, struct wet_fault *reterr)
{
	size_t i, k, points = 0;
	json_t *one, *point;
	json_array_foreach(json_object_get(chart, "series"), i, one)
	{
		json_array_foreach(json_object_get(one, "points"), k, point)
		{
			if (!is_pair(point))
				return wrong(reterr, where, "points as pairs of numbers");
			points++;
		}
	}
	if (points == 0 || points > POINTS_MAX || i > 12)
		return wrong(reterr, where, "a chart of 1 to 12 series and at least one point");
	double height = number_of(chart, "height_mm", 90);
	return height >= 30 && height <= 250 ? WET_OK : wrong(reterr, where, "height_mm from 30 to 250");
}

static int check_drawing(const json_t *drawing, const char *where, struct wet_fault *reterr)
{
	double width = number_of(drawing, "width", 0), height = number_of(drawing, "height", 0);
	size_t i;
	json_t *r;
	if (!(width > 0) || !(height > 0) || width / height > 50 || height / width > 50)
		return wrong(reterr, where, "a width and a height over 0, one at most fifty times the other");
	json_array_foreach(json_object_get(drawing, "rects"), i, r)
	{
		double x = number_of(r, "x", -1), y = number_of(r, "y", -1);
		if (x < 0 || y < 0 || !(x + number_of(r, "width", NAN) <= width * 1.000001) ||
			!(y + number_of(r, "height", NAN) <= height * 1.000001))
			return wrong(reterr, where, "rectangles within the drawing");
	}
	return WET_OK;
}

static int check_cards(const json_t *cards, const char *where, struct wet_fault *reterr)
{
	double across = number_of(cards, "across", 3);
	size_t i, k;
	json_t *card, *line;
	if (across < 1 || across > 4 || floor(across) != across || !json_is_array(json_object_get(cards, "cards")))
		return wrong(reterr, where, "a list of cards, 1 to 4 across");
	json_array_foreach(json_object_get(cards, "cards"), i, card)
	{
		size_t bytes = strlen(words_of(card, "title"));
		json_array_foreach(json_object_get(card, "lines"), k, line) bytes += json_string_length(line);
		if (bytes > CARD_TEXT_MOST || k > 12)
			return wrong(reterr, where, "at most 12 lines and 600 bytes on a card");
		if (number_of(card, "picture_height", 0) < 0 || !(number_of(card, "picture_width", 1) > 0))
			return wrong(reterr, where, "the sides of a picture over 0");
	}
	return WET_OK;
}

static int check_block(const json_t *block, size_t index, struct wet_fault *reterr)
{
	static const struct {
		const char *key;
		int (*check)(const json_t *value, const char *where, struct wet_fault *reterr);
	} kinds[] = { { "heading", check_text }, { "text", check_text },   { "caution", check_text },    { "table", check_table },
				  { "chart", check_chart },  { "cards", check_cards }, { "drawing", check_drawing } };
	char where[64];
	wet_text_format(where, sizeof where, "/blocks/%zu", index);
	if (json_object_size(block) != 1)
		return wrong(reterr, where, "one block, such as { \"text\": \"...\" }");
	if (json_object_get(block, "checks"))
		return check_texts(json_object_get(block, "checks"), ROWS_MAX, where, reterr);
	if (json_is_true(json_object_get(block, "page")))
		return WET_OK;
	for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
		const json_t *value = json_object_get(block, kinds[i].key);
		if (value)
			return kinds[i].check(value, where, reterr);
	}
	return wrong(reterr, where, "heading, text, caution, checks, page, table, chart, drawing or cards");
}

int document_check(const json_t *document, struct wet_fault *reterr)
{
	const json_t *blocks = json_object_get(document, "blocks");
	const char *paper = words_of(document, "paper");
	double size = number_of(document, "size_pt", 11);
	size_t i;
	json_t *block;
	int rc = check_text(json_object_get(document, "title"), "/title", reterr);
	if (rc == WET_OK && strlen(words_of(document, "title")) > 200)
		rc = wrong(reterr, "/title", "at most 200 bytes");
	if (rc == WET_OK && strlen(words_of(document, "subtitle")) > 600)
		rc = wrong(reterr, "/subtitle", "at most 600 bytes");
	if (rc == WET_OK && strcmp(paper, "A4") != 0 && strcmp(paper, "Letter") != 0)
		rc = wrong(reterr, "/paper", "A4 or Letter");
	if (rc == WET_OK && (size < SMALL_PT || size > 24))
		rc = wrong(reterr, "/size_pt", "8 to 24");
	if (rc == WET_OK && (!json_is_array(blocks) || json_array_size(blocks) > BLOCKS_MAX))
		rc = wrong(reterr, "/blocks", "a list of at most 2,000 blocks");
	json_array_foreach(blocks, i, block)
	{
		if (rc == WET_OK)
			rc = check_block(block, i, reterr);
	}
	return rc;
}

/* -- draw ------------------------------------------------------------------------- */

/* What of the block after it must stand on the same page. */
static double first_height(struct sheet *s, const json_t *next)
{
	if (json_object_get(next, "drawing"))
		return drawing_height(s, json_object_get(next, "drawing"));
	if (json_object_get(next, "chart"))
		return chart_height(s, json_object_get(next, "chart"));
	return 3 * s->body_pt; /* a heading is not alone at the foot of a page */
}

static void draw_heading(struct sheet *s, const char *text, const json_t *next)
{
	PangoLayout *layout = text_new(s, text, s->body_pt * 1.2, BOLD, sheet_inner(s), LEFT);
	s->y += GAP_PT;
	sheet_need(s, fmin(text_height(layout) + GAP_PT + first_height(s, next), sheet_full(s)));
	text_flow(s, layout, sheet_left(s));
	s->y += GAP_PT;
	g_object_unref(layout);
}

static void draw_text(struct sheet *s, const char *text)
{
	PangoLayout *layout = text_new(s, text, s->body_pt, PLAIN, sheet_inner(s), LEFT);
	text_flow(s, layout, sheet_left(s));
	s->y += GAP_PT;
	g_object_unref(layout);
}

static void draw_caution(struct sheet *s, const char *text)
{
	PangoLayout *layout = text_new(s, text, s->body_pt, BOLD, sheet_inner(s) - 16, LEFT);
	double height = text_height(layout) + 10;
	if (height > sheet_full(s)) { /* too long for a frame */
		text_flow(s, layout, sheet_left(s) + 8);
	} else {
		sheet_need(s, height);
		text_draw(s, layout, sheet_left(s) + 8, s->y + 5);
		if (!s->is_counting) {
			cairo_set_line_width(s->cr, 1.5);
			cairo_rectangle(s->cr, sheet_left(s), s->y, sheet_inner(s), height);
			cairo_stroke(s->cr);
		}
		s->y += height;
	}
	s->y += 2 * GAP_PT;
	g_object_unref(layout);
}

static void draw_checks(struct sheet *s, const json_t *list)
{
	size_t i;
	json_t *one;
	double indent = s->body_pt * 1.8;
	json_array_foreach(list, i, one)
	{
		PangoLayout *layout = text_new(s, json_string_value(one), s->body_pt, PLAIN, sheet_inner(s) - indent, LEFT);
		sheet_need(s, text_height(layout) < sheet_full(s) ? text_height(layout) : s->body_pt * 3);
		if (!s->is_counting) {
			cairo_set_line_width(s->cr, 0.8);
			cairo_rectangle(s->cr, sheet_left(s) + 1, s->y + s->body_pt * 0.2, s->body_pt * 0.9, s->body_pt * 0.9);
			cairo_stroke(s->cr);
		}
		text_flow(s, layout, sheet_left(s) + indent);
		s->y += 3;
		g_object_unref(layout);
	}
	s->y += GAP_PT;
}

static void draw_block(struct sheet *s, const json_t *block, const json_t *next)
{
	const char *key = json_object_iter_key(json_object_iter((json_t *)block));
	const json_t *value = json_object_get(block, key);
	if (strcmp(key, "heading") == 0)
		draw_heading(s, json_string_value(value), next);
	else if (strcmp(key, "text") == 0)
		draw_text(s, json_string_value(value));
	else if (strcmp(key, "caution") == 0)
		draw_caution(s, json_string_value(value));
	else if (strcmp(key, "checks") == 0)
		draw_checks(s, value);
	else if (strcmp(key, "table") == 0)
		table_draw(s, value);
	else if (strcmp(key, "chart") == 0)
		chart_draw(s, value);
	else if (strcmp(key, "drawing") == 0)
		drawing_draw(s, value);
	else if (strcmp(key, "cards") == 0)
		cards_draw(s, value);
	else
		sheet_new_page(s);
}

int document_draw(struct sheet *s, const json_t *document, struct wet_fault *reterr)
{
	bool is_letter = strcmp(words_of(document, "paper"), "Letter") == 0;
	bool is_wide = json_is_true(json_object_get(document, "landscape"));
	double shorter = is_letter ? 8.5 * 72 : 210 * MM_PT, longer = is_letter ? 11 * 72.0 : 297 * MM_PT;
	size_t i;
	json_t *block;
	const json_t *blocks = json_object_get(document, "blocks");
	s->title = words_of(document, "title");
	s->subtitle = words_of(document, "subtitle");
	s->footer = words_of(document, "footer");
	s->body_pt = number_of(document, "size_pt", 11);
	s->width_pt = is_wide ? longer : shorter;
	s->height_pt = is_wide ? shorter : longer;
	int rc = sheet_open(s, reterr);
	/* Twice: the foot of each page says how many there are. */
	for (int pass = 0; pass < 2 && rc == WET_OK; pass++) {
		sheet_begin(s, pass == 0);
		json_array_foreach(blocks, i, block) draw_block(s, block, json_array_get(blocks, i + 1));
		rc = sheet_end(s, reterr);
	}
	return rc;
}
