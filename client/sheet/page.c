/* page.c: pages: their head and foot, where the next one begins, and what comes out at the end. */
#include "sheet.h"

#include "base/text.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FOOT_PT 14.0

static cairo_status_t take_bytes(void *ctx, const unsigned char *data, unsigned count)
{
	struct bytes *b = ctx;
	bytes_add(b, data, count);
	return b->is_short ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

int sheet_open(struct sheet *s, struct wet_fault *reterr)
{
	PangoFontFamily **families = NULL;
	int count = 0;
	s->fonts = pango_cairo_font_map_new();
	pango_font_map_list_families(s->fonts, &families, &count);
	g_free(families);
	if (count == 0)
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "fonts", NULL,
							 "at least one font; on Debian: apt-get install fonts-dejavu-core");
	pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(s->fonts), 72.0);
	s->context = pango_font_map_create_context(s->fonts);
	cairo_font_options_t *options = cairo_font_options_create();
	/* As wide on paper as it was measured. */
	cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
	cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
	pango_cairo_context_set_font_options(s->context, options);
	cairo_font_options_destroy(options);
	s->done = calloc(SHEET_PAGES_MAX, sizeof *s->done);
	return s->done ? WET_OK : wet_fault_set(reterr, WET_ERR_NOMEM, "page", NULL, "more memory");
}

void sheet_close(struct sheet *s)
{
	for (int i = 0; i < s->done_count; i++)
		bytes_release(&s->done[i]);
	free(s->done);
	bytes_release(&s->page_bytes);
	bytes_release(&s->words);
	if (s->context)
		g_object_unref(s->context);
	if (s->fonts)
		g_object_unref(s->fonts);
}

double sheet_left(const struct sheet *s)
{
	(void)s;
	return MARGIN_PT;
}

double sheet_inner(const struct sheet *s)
{
	return s->width_pt - 2 * MARGIN_PT;
}

static double bottom_of(const struct sheet *s)
{
	return s->height_pt - MARGIN_PT - FOOT_PT;
}

double sheet_room(const struct sheet *s)
{
	return bottom_of(s) - s->y;
}

static double head_height(struct sheet *s, bool is_first, bool draws)
{
	double y = MARGIN_PT;
	PangoLayout *layout = text_new(s, s->title, is_first ? s->body_pt * 1.6 : s->body_pt, BOLD, sheet_inner(s), LEFT);
	if (draws)
		text_draw(s, layout, sheet_left(s), y);
	y += text_height(layout) + GAP_PT;
	g_object_unref(layout);
	if (is_first && s->subtitle[0]) {
		layout = text_new(s, s->subtitle, s->body_pt, PLAIN, sheet_inner(s), LEFT);
		if (draws)
			text_draw(s, layout, sheet_left(s), y);
		y += text_height(layout) + GAP_PT;
		g_object_unref(layout);
	}
	if (draws && !s->is_counting) {
		cairo_set_line_width(s->cr, 0.8);
		cairo_move_to(s->cr, sheet_left(s), y);
		cairo_line_to(s->cr, sheet_left(s) + sheet_inner(s), y);
		cairo_stroke(s->cr);
	}
	return y + 2 * GAP_PT;
}

double sheet_full(const struct sheet *s)
{
	struct sheet copy = *s;
	return bottom_of(s) - head_height(&copy, false, false);
}

static void draw_foot(struct sheet *s)
{
	char text[64];
	double y = s->height_pt - MARGIN_PT - SMALL_PT / 2;
	if (s->page_count > 1)
		wet_text_format(text, sizeof text, "page %d of %d", s->page, s->page_count);
	else
		text[0] = '\0';
	text_at(s, text, SMALL_PT, sheet_left(s) + sheet_inner(s), y, RIGHT);
	/* What is too long for one line is cut with dots, never printed over the number. */
	PangoLayout *layout = text_new(s, s->footer, SMALL_PT, PLAIN, sheet_inner(s) - 70, LEFT);
	pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
	pango_layout_set_single_paragraph_mode(layout, TRUE);
	text_draw(s, layout, sheet_left(s), y - text_height(layout) / 2);
	g_object_unref(layout);
}

static void open_surface(struct sheet *s)
{
	if (s->is_svg) {
		s->surface = cairo_svg_surface_create_for_stream(take_bytes, &s->page_bytes, s->width_pt, s->height_pt);
		cairo_svg_surface_set_document_unit(s->surface, CAIRO_SVG_UNIT_PT);
	} else {
		s->surface = cairo_pdf_surface_create_for_stream(take_bytes, &s->page_bytes, s->width_pt, s->height_pt);
		cairo_pdf_surface_set_metadata(s->surface, CAIRO_PDF_METADATA_TITLE, s->title);
		cairo_pdf_surface_set_metadata(s->surface, CAIRO_PDF_METADATA_CREATOR, "wetside");
	}
	s->cr = cairo_create(s->surface);
}

/* The words go in front of the end of the picture. */
static void finish_svg(struct sheet *s)
{
	static const char end[] = "</svg>";
	struct bytes *made = &s->page_bytes, *page = &s->done[s->done_count++];
	size_t at = made->count;
	while (at > 0 && (at + sizeof end - 1 > made->count || memcmp(made->data + at, end, sizeof end - 1) != 0))
		at--;
	bytes_add(page, made->data, at);
	bytes_text(page, "<g fill-opacity=\"0\" font-family=\"sans-serif\">\n<title>");
	bytes_xml(page, s->title, strlen(s->title));
	bytes_text(page, "</title>\n");
	bytes_add(page, s->words.data, s->words.count);
	bytes_text(page, "</g>\n</svg>\n");
	page->is_short = page->is_short || made->is_short || s->words.is_short;
	bytes_release(made);
	bytes_release(&s->words);
}

static void begin_page(struct sheet *s)
{
	if (!s->is_counting && !s->surface)
		open_surface(s);
	s->page++;
	s->y = head_height(s, s->page == 1, true);
	draw_foot(s);
}

static void end_page(struct sheet *s)
{
	if (s->is_counting)
		return;
	cairo_show_page(s->cr);
	if (!s->is_svg)
		return;
	cairo_destroy(s->cr);
	cairo_surface_finish(s->surface);
	cairo_surface_destroy(s->surface);
	s->surface = NULL;
	s->cr = NULL;
	finish_svg(s);
}

void sheet_new_page(struct sheet *s)
{
	if (s->page == SHEET_PAGES_MAX) {
		s->is_full = true;
		s->y = head_height(s, false, false); /* told at the end; no more is drawn than was asked for */
		return;
	}
	end_page(s);
	begin_page(s);
}

void sheet_need(struct sheet *s, double height_pt)
{
	if (height_pt > sheet_room(s) + 0.01 && s->y > head_height(s, s->page == 1, false) + 0.01)
		sheet_new_page(s);
}

void sheet_begin(struct sheet *s, bool is_counting)
{
	s->is_counting = is_counting;
	s->page = 0;
	begin_page(s);
}

int sheet_end(struct sheet *s, struct wet_fault *reterr)
{
	char pages[32];
	end_page(s);
	s->page_count = s->page;
	if (s->is_full) {
		wet_text_format(pages, sizeof pages, "%d pages at most", SHEET_PAGES_MAX);
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "document", NULL, "%s", pages);
	}
	if (s->is_counting || s->is_svg) {
		for (int i = 0; i < s->done_count; i++)
			if (s->done[i].is_short)
				return wet_fault_set(reterr, WET_ERR_NOMEM, "page", NULL, "more memory");
		return WET_OK;
	}
	cairo_destroy(s->cr);
	cairo_surface_finish(s->surface);
	cairo_status_t status = cairo_surface_status(s->surface);
	cairo_surface_destroy(s->surface);
	s->surface = NULL;
	s->cr = NULL;
	s->done[s->done_count++] = s->page_bytes;
	s->page_bytes = (struct bytes){ NULL, 0, 0, false };
	if (status != CAIRO_STATUS_SUCCESS)
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "page", NULL, "%s", cairo_status_to_string(status));
	return WET_OK;
}
