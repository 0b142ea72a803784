/* drawing.c: a sheet of paper to cut: its pieces, what is left, and the cuts in order; and cards, a grid of small notes. */
#include "sheet.h"

#include <math.h>
#include <string.h>

#define LABEL_LEAST_PT 6.0

/* The label as large as it fits, or nothing: then it stands in the table below. */
static void draw_label(struct sheet *s, const char *text, double x, double y, double width, double height)
{
	for (double size = s->body_pt; size >= LABEL_LEAST_PT; size -= 0.5) {
		PangoLayout *layout = text_new(s, text, size, PLAIN, 0, CENTRE);
		bool fits = text_width(layout) <= width - 4 && text_height(layout) <= height - 2;
		if (fits)
			text_draw(s, layout, x + (width - text_width(layout)) / 2, y + (height - text_height(layout)) / 2);
		g_object_unref(layout);
		if (fits)
			return;
	}
}

static void hatch(struct sheet *s, double x, double y, double width, double height)
{
	cairo_save(s->cr);
	cairo_rectangle(s->cr, x, y, width, height);
	cairo_clip(s->cr);
	cairo_set_line_width(s->cr, 0.25);
	for (double d = 0; d < width + height; d += 4) {
		cairo_move_to(s->cr, x + d, y);
		cairo_line_to(s->cr, x + d - height, y + height);
	}
	cairo_stroke(s->cr);
	cairo_restore(s->cr);
}

static void draw_rects(struct sheet *s, const json_t *rects, double scale, double left)
{
	size_t i;
	json_t *r;
	json_array_foreach(rects, i, r)
	{
		double x = left + number_of(r, "x", 0) * scale, y = s->y + number_of(r, "y", 0) * scale;
		double width = number_of(r, "width", 0) * scale, height = number_of(r, "height", 0) * scale;
		if (json_is_true(json_object_get(r, "is_waste")))
			hatch(s, x, y, width, height);
		cairo_set_line_width(s->cr, 0.6);
		cairo_rectangle(s->cr, x, y, width, height);
		cairo_stroke(s->cr);
		draw_label(s, words_of(r, "label"), x, y, width, height);
	}
}

/* A cut: a dashed line, its number in a circle at its beginning. */
static void draw_cuts(struct sheet *s, const json_t *lines, double scale, double left)
{
	static const double dash[] = { 5, 3 };
	size_t i;
	json_t *line;
	json_array_foreach(lines, i, line)
	{
		double x1 = left + number_of(line, "x1", 0) * scale, y1 = s->y + number_of(line, "y1", 0) * scale;
		double x2 = left + number_of(line, "x2", 0) * scale, y2 = s->y + number_of(line, "y2", 0) * scale;
		cairo_set_line_width(s->cr, 1.4);
		cairo_set_dash(s->cr, dash, 2, 0);
		cairo_move_to(s->cr, x1, y1);
		cairo_line_to(s->cr, x2, y2);
		cairo_stroke(s->cr);
		cairo_set_dash(s->cr, NULL, 0, 0);
		if (!words_of(line, "label")[0])
			continue;
		/* A little in from its beginning, so that the numbers of a long and a short cut from one edge stand apart. */
		double length = hypot(x2 - x1, y2 - y1), t = length > 0 ? fmin(12, length / 2) / length : 0;
		double x = x1 + (x2 - x1) * t, y = y1 + (y2 - y1) * t;
		cairo_arc(s->cr, x, y, 7, 0, 2 * M_PI);
		cairo_set_source_rgb(s->cr, 1, 1, 1);
		cairo_fill_preserve(s->cr);
		cairo_set_source_rgb(s->cr, 0, 0, 0);
		cairo_set_line_width(s->cr, 0.8);
		cairo_stroke(s->cr);
		text_at(s, words_of(line, "label"), SMALL_PT, x, y, CENTRE);
	}
}

static double scale_of(const struct sheet *s, const json_t *drawing)
{
	double across = (sheet_inner(s) - 20) / number_of(drawing, "width", 1);
	double down = (sheet_full(s) - 60) * 0.8 / number_of(drawing, "height", 1);
	return fmin(fmin(across, down), number_of(drawing, "unit_mm", 1) * MM_PT); /* never larger than life, or than was asked for */
}

double drawing_height(const struct sheet *s, const json_t *drawing)
{
	return number_of(drawing, "height", 1) * scale_of(s, drawing) + 40;
}

void drawing_draw(struct sheet *s, const json_t *drawing)
{
	double width = number_of(drawing, "width", 1), height = number_of(drawing, "height", 1), scale = scale_of(s, drawing);
	double left = sheet_left(s) + 14;
	sheet_need(s, drawing_height(s, drawing));
	text_at(s, words_of(drawing, "across"), SMALL_PT, left + width * scale / 2, s->y + 6, CENTRE);
	s->y += 16;
	if (!s->is_counting) {
		draw_rects(s, json_object_get(drawing, "rects"), scale, left);
		draw_cuts(s, json_object_get(drawing, "cuts"), scale, left);
		cairo_set_line_width(s->cr, 1.2);
		cairo_rectangle(s->cr, left, s->y, width * scale, height * scale);
		cairo_stroke(s->cr);
	}
	s->y += height * scale + 4;
	text_at(s, words_of(drawing, "down"), SMALL_PT, left, s->y + 6, LEFT);
	s->y += 18;
}

/* -- cards ----------------------------------------------------------------------- */

/* Draws them if `draws`; returns their height. */
static double card_words(struct sheet *s, const json_t *card, double size_pt, double width, double x, double y,
						 bool draws)
{
	size_t i;
	json_t *line;
	PangoLayout *layout = text_new(s, words_of(card, "title"), size_pt, BOLD, width, LEFT);
	double at = 4 + text_height(layout) + 2;
	if (draws)
		text_draw(s, layout, x, y + 4);
	g_object_unref(layout);
	json_array_foreach(json_object_get(card, "lines"), i, line)
	{
		const char *text = json_string_value(line);
		layout = text_new(s, text ? text : "", size_pt - 1, PLAIN, width, LEFT);
		if (draws)
			text_draw(s, layout, x, y + at);
		at += text_height(layout);
		g_object_unref(layout);
	}
	return at + 4;
}

/* Its words as large as they fit a page; the room for a print to be stuck in gets what they leave. */
static double card_height(struct sheet *s, const json_t *card, double width, double x, double y, bool draws)
{
	double size = s->body_pt, aspect = number_of(card, "picture_height", 0) / number_of(card, "picture_width", 1);
	double words = card_words(s, card, size, width, x, y, false);
	while (words > sheet_full(s) && size > LABEL_LEAST_PT) {
		size -= 0.5;
		words = card_words(s, card, size, width, x, y, false);
	}
	double picture = fmin(fmin(width, width * aspect), sheet_full(s) - words - 8);
	picture = picture >= 20 ? picture : 0;
	if (draws)
		(void)card_words(s, card, size, width, x, y, true);
	if (draws && picture > 0 && !s->is_counting) {
		cairo_set_line_width(s->cr, 0.4);
		cairo_rectangle(s->cr, x + (width - picture / aspect) / 2, y + words, picture / aspect, picture);
		cairo_stroke(s->cr);
	}
	return words + (picture > 0 ? picture + 4 : 0);
}

void cards_draw(struct sheet *s, const json_t *cards)
{
	const json_t *list = json_object_get(cards, "cards");
	int across = (int)number_of(cards, "across", 3);
	double wide = sheet_inner(s) / across;
	for (size_t i = 0; i < json_array_size(list); i += (size_t)across) {
		double height = 0;
		for (size_t k = i; k < i + (size_t)across && k < json_array_size(list); k++)
			height = fmax(height, card_height(s, json_array_get(list, k), wide - 10, 0, 0, false));
		sheet_need(s, height);
		for (size_t k = i; k < i + (size_t)across && k < json_array_size(list); k++) {
			double x = sheet_left(s) + wide * (double)(k - i);
			(void)card_height(s, json_array_get(list, k), wide - 10, x + 5, s->y, true);
			if (s->is_counting)
				continue;
			cairo_set_line_width(s->cr, 0.6);
			cairo_rectangle(s->cr, x, s->y, wide, height);
			cairo_stroke(s->cr);
		}
		s->y += height;
	}
	s->y += 2 * GAP_PT;
}
