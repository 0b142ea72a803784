/* sheet.h: a page to print. What the files of wetside-sheet share.
 *
 * A document comes in as JSON (document.c says which) and goes out as PDF, or as one SVG a page. Nothing here knows
 * what the words mean. Lengths are points (1/72 inch) and y runs downward, as on a page that is read. */
#ifndef WET_SHEET_H
#define WET_SHEET_H

#include "wetside/errors.h"

#include <cairo.h>
#include <jansson.h>
#include <pango/pangocairo.h>
#include <stdbool.h>
#include <stddef.h>

#define MM_PT (72.0 / 25.4)
#define MARGIN_PT (15 * MM_PT)
#define GAP_PT 4.0
#define SMALL_PT 8.0 /* footers, labels of axes; the least there is */
#define SHEET_PAGES_MAX 200

enum weight { PLAIN, BOLD };
enum side { LEFT, CENTRE, RIGHT };

/* Bytes that grow. */
struct bytes {
	char *data;
	size_t count, room;
	bool is_short; /* of memory: what was added is not all there */
};
void bytes_add(struct bytes *b, const void *data, size_t count);
void bytes_text(struct bytes *b, const char *text);
void bytes_xml(struct bytes *b, const char *text, size_t count); /* with < > & " escaped */
void bytes_release(struct bytes *b);

struct sheet {
	/* the document */
	const char *title, *subtitle, *footer;
	double width_pt, height_pt; /* of the paper */
	double body_pt;             /* size of plain text */
	bool is_svg, is_counting;   /* counting: laid out only to know how many pages there are */
	/* the page under way */
	cairo_surface_t *surface;
	cairo_t *cr;
	PangoContext *context; /* measures; of no page */
	PangoFontMap *fonts;
	double y;
	int page, page_count; /* page_count 0: not known yet */
	struct bytes page_bytes, words;
	/* what is done: one PDF, or the pages as SVG */
	struct bytes *done;
	int done_count;
	bool is_full; /* more pages than SHEET_PAGES_MAX */
};

/* -- page.c -- */
int sheet_open(struct sheet *s, struct wet_fault *reterr);
void sheet_close(struct sheet *s);
/* Begins and ends the pages; between, blocks are drawn. */
void sheet_begin(struct sheet *s, bool is_counting);
int sheet_end(struct sheet *s, struct wet_fault *reterr);
double sheet_left(const struct sheet *s);
double sheet_inner(const struct sheet *s);  /* width between the margins */
double sheet_room(const struct sheet *s);   /* height left on this page */
double sheet_full(const struct sheet *s);   /* height of an empty page below its head */
void sheet_need(struct sheet *s, double height_pt); /* a new page, if so much does not fit and the page has something on it */
void sheet_new_page(struct sheet *s);

/* -- text.c -- */
/* width_pt <= 0: one line as long as it is. The caller unrefs it. */
PangoLayout *text_new(struct sheet *s, const char *text, double size_pt, enum weight weight, double width_pt,
					  enum side side);
double text_width(PangoLayout *layout);
double text_height(PangoLayout *layout);
/* The longest word: a column is not made narrower than this. */
double text_least_width(struct sheet *s, const char *text, double size_pt, enum weight weight);
void text_draw(struct sheet *s, PangoLayout *layout, double x, double y);
/* One short line about a point: `side` says which side of it lies at x; y is its middle. */
void text_at(struct sheet *s, const char *text, double size_pt, double x, double y, enum side side);
/* A paragraph from s->y on, over as many pages as it takes. */
void text_flow(struct sheet *s, PangoLayout *layout, double x);

/* -- blocks -- */
void table_draw(struct sheet *s, const json_t *table);
void chart_draw(struct sheet *s, const json_t *chart);
void drawing_draw(struct sheet *s, const json_t *drawing);
/* What they take on one page. */
double chart_height(const struct sheet *s, const json_t *chart);
double drawing_height(const struct sheet *s, const json_t *drawing);
void cards_draw(struct sheet *s, const json_t *cards);

/* -- document.c -- */
/* Checks the whole document before a page is begun: 0, or what is wrong and where. */
int document_check(const json_t *document, struct wet_fault *reterr);
/* Lays it out; `s` gets what was made. The texts in `s` stay the document's. */
int document_draw(struct sheet *s, const json_t *document, struct wet_fault *reterr);

const char *words_of(const json_t *object, const char *key); /* never NULL */
double number_of(const json_t *object, const char *key, double otherwise);

#endif
