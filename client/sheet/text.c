/* text.c: words on a page.
 *
 * In a PDF they are text by themselves. cairo draws an SVG's letters as shapes, so that they look the same everywhere; the words
 * are put over them once more, unseen, so that they can be searched for, copied and read out. */
#include "sheet.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* f/240 and 1/60 stay in one line: Unicode would allow a break behind the stroke. */
static void keep_fractions(PangoLayout *layout, const char *text)
{
	PangoAttrList *list = pango_attr_list_new();
	for (const char *p = strchr(text, '/'); p; p = strchr(p + 1, '/')) {
		if (p[1] < '0' || p[1] > '9')
			continue;
		PangoAttribute *whole = pango_attr_allow_breaks_new(FALSE);
		whole->start_index = (guint)(p - text);
		whole->end_index = whole->start_index + 2;
		pango_attr_list_insert(list, whole);
	}
	pango_layout_set_attributes(layout, list);
	pango_attr_list_unref(list);
}

PangoLayout *text_new(struct sheet *s, const char *text, double size_pt, enum weight weight, double width_pt,
					  enum side side)
{
	PangoLayout *layout = pango_layout_new(s->context);
	PangoFontDescription *font = pango_font_description_new();
	pango_font_description_set_family(font, "sans");
	pango_font_description_set_absolute_size(font, size_pt * PANGO_SCALE);
	pango_font_description_set_weight(font, weight == BOLD ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
	pango_layout_set_font_description(layout, font);
	pango_font_description_free(font);
	pango_layout_set_text(layout, text, -1);
	keep_fractions(layout, text);
	pango_layout_set_alignment(layout, side == RIGHT    ? PANGO_ALIGN_RIGHT
									   : side == CENTRE ? PANGO_ALIGN_CENTER
														: PANGO_ALIGN_LEFT);
	if (width_pt > 0) {
		pango_layout_set_width(layout, (int)floor(width_pt * PANGO_SCALE));
		pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
	}
	return layout;
}

double text_width(PangoLayout *layout)
{
	int width = 0;
	pango_layout_get_size(layout, &width, NULL);
	return (double)width / PANGO_SCALE;
}

double text_height(PangoLayout *layout)
{
	int height = 0;
	pango_layout_get_size(layout, NULL, &height);
	return (double)height / PANGO_SCALE;
}

double text_least_width(struct sheet *s, const char *text, double size_pt, enum weight weight)
{
	double least = 0;
	char word[256];
	for (const char *p = text; *p;) {
		size_t n = strcspn(p, " \n\t");
		size_t kept = n < sizeof word ? n : sizeof word - 1;
		memcpy(word, p, kept);
		word[kept] = '\0';
		if (n > 0 && wet_text_is_utf8(word, kept)) {
			PangoLayout *layout = text_new(s, word, size_pt, weight, 0, LEFT);
			least = fmax(least, text_width(layout));
			g_object_unref(layout);
		}
		p += n;
		p += strspn(p, " \n\t");
	}
	return least + 0.5; /* rounding must not break it */
}

static void note_words(struct sheet *s, PangoLayout *layout, PangoLayoutLine *line, double x, double baseline)
{
	PangoRectangle logical;
	const char *text = pango_layout_get_text(layout);
	int start = pango_layout_line_get_start_index(line), length = pango_layout_line_get_length(line);
	char number[160];
	if (!s->is_svg || s->is_counting || length == 0)
		return;
	pango_layout_line_get_extents(line, NULL, &logical);
	double size = (double)pango_font_description_get_size(pango_layout_get_font_description(layout)) / PANGO_SCALE;
	wet_text_format(number, sizeof number, "<text x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\" textLength=\"%.2f\">", x,
					baseline, size, (double)logical.width / PANGO_SCALE);
	bytes_text(&s->words, number);
	bytes_xml(&s->words, text + start, (size_t)length);
	bytes_text(&s->words, "</text>\n");
}

/* The lines from `from` on that lie within height_pt of its top; returns the first that does not. */
static int draw_lines(struct sheet *s, PangoLayout *layout, double x, double y, int from, double height_pt,
					  double *ret_used_pt)
{
	PangoLayoutIter *iter = pango_layout_get_iter(layout);
	int n = 0;
	double top = 0, used = 0;
	do {
		PangoRectangle logical;
		int line_top, line_bottom;
		if (n < from) {
			n++;
			continue;
		}
		pango_layout_iter_get_line_extents(iter, NULL, &logical);
		pango_layout_iter_get_line_yrange(iter, &line_top, &line_bottom);
		if (n == from)
			top = (double)line_top / PANGO_SCALE;
		double bottom = (double)line_bottom / PANGO_SCALE - top;
		if (bottom > height_pt + 0.01 && n > from)
			break;
		double at = x + (double)logical.x / PANGO_SCALE;
		double baseline = y + (double)pango_layout_iter_get_baseline(iter) / PANGO_SCALE - top;
		if (!s->is_counting) {
			cairo_move_to(s->cr, at, baseline);
			pango_cairo_show_layout_line(s->cr, pango_layout_iter_get_line_readonly(iter));
		}
		note_words(s, layout, pango_layout_iter_get_line_readonly(iter), at, baseline);
		used = bottom;
		n++;
	} while (pango_layout_iter_next_line(iter));
	pango_layout_iter_free(iter);
	*ret_used_pt = used;
	return n;
}

void text_draw(struct sheet *s, PangoLayout *layout, double x, double y)
{
	double used;
	(void)draw_lines(s, layout, x, y, 0, 1e9, &used);
}

void text_at(struct sheet *s, const char *text, double size_pt, double x, double y, enum side side)
{
	PangoLayout *layout = text_new(s, text, size_pt, PLAIN, 0, LEFT);
	double width = text_width(layout), most = sheet_left(s) + sheet_inner(s) - width;
	x -= side == RIGHT ? width : side == CENTRE ? width / 2 : 0;
	text_draw(s, layout, fmax(fmin(x, most), sheet_left(s)), y - text_height(layout) / 2); /* never over the margin */
	g_object_unref(layout);
}

void text_flow(struct sheet *s, PangoLayout *layout, double x)
{
	int lines = pango_layout_get_line_count(layout);
	double line_pt = text_height(layout) / (lines > 0 ? lines : 1), used;
	for (int from = 0; from < lines;) {
		/* No single first line at the foot of a page. */
		sheet_need(s, line_pt * (from == 0 && lines > 1 ? 2 : 1));
		from = draw_lines(s, layout, x, s->y, from, sheet_room(s), &used);
		s->y += used;
	}
}
