/* chart.c: lines over two axes. Each series differs by its dashes and its marks, not by colour: paper is often grey. */
#include "sheet.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

#define TICKS_MAX 16

struct axis {
	double low, high;
	bool is_log, is_time; /* time: seconds, told as minutes */
	double tick[TICKS_MAX];
	int ticks;
};

struct chart {
	struct axis x, y;
	double left, top, width, height;
	const json_t *series;
};

static double place(const struct axis *a, double value)
{
	if (a->is_log)
		return (log(value) - log(a->low)) / (log(a->high) - log(a->low));
	return (value - a->low) / (a->high - a->low);
}

static void take_range(struct axis *a, const json_t *spec, const json_t *series, size_t which)
{
	size_t i, k;
	json_t *one, *point;
	a->low = INFINITY;
	a->high = -INFINITY;
	json_array_foreach(series, i, one)
	{
		json_array_foreach(json_object_get(one, "points"), k, point)
		{
			double v = json_number_value(json_array_get(point, which));
			a->low = fmin(a->low, v);
			a->high = fmax(a->high, v);
		}
	}
	a->is_log = json_is_true(json_object_get(spec, "is_log")) && a->low > 0;
	a->is_time = json_is_true(json_object_get(spec, "is_time"));
	a->low = number_of(spec, "low", a->low);
	a->high = number_of(spec, "high", a->high);
	if (a->high - a->low < 1e-9 * fmax(1, fabs(a->high))) {
		a->low = a->is_log ? a->low / 1.2 : a->low - 1;
		a->high = a->is_log ? a->high * 1.2 : a->high + 1;
	}
}

static double step_of(double span, bool is_time)
{
	static const double times[] = { 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800, 86400 };
	double want = span / 7;
	if (is_time && want > 0.7 && want < 86400) {
		size_t i = 0;
		while (times[i] < want)
			i++;
		return times[i];
	}
	double ten = pow(10, floor(log10(want)));
	return want / ten <= 1 ? ten : want / ten <= 2 ? 2 * ten : want / ten <= 5 ? 5 * ten : 10 * ten;
}

/* 1, 2 and 5 of each decade; of time, what a clock shows. */
static void take_log_ticks(struct axis *a)
{
	static const double times[] = { 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 18000, 36000 };
	static const double of_ten[] = { 1, 2, 5 };
	for (size_t i = 0; a->is_time && i < sizeof times / sizeof times[0] && a->ticks < TICKS_MAX; i++)
		if (times[i] >= a->low * 0.999 && times[i] <= a->high * 1.001)
			a->tick[a->ticks++] = times[i];
	for (double ten = pow(10, floor(log10(a->low))); !a->is_time && ten <= a->high; ten *= 10)
		for (size_t i = 0; i < 3 && a->ticks < TICKS_MAX; i++)
			if (ten * of_ten[i] >= a->low * 0.999 && ten * of_ten[i] <= a->high * 1.001)
				a->tick[a->ticks++] = ten * of_ten[i];
}

static void take_ticks(struct axis *a)
{
	if (a->is_log && a->high / a->low > 4) {
		take_log_ticks(a);
		return;
	}
	double step = step_of(a->high - a->low, a->is_time);
	for (double k = ceil(a->low / step - 1e-9); k * step <= a->high + step * 1e-9 && a->ticks < TICKS_MAX; k++)
		a->tick[a->ticks++] = k * step;
}

static const char *tick_text(const struct axis *a, double at, char *buf, size_t bytes)
{
	long seconds = lround(fabs(at));
	if (a->is_time)
		return wet_text_format(buf, bytes, "%s%ld:%02ld", at < -0.5 ? "-" : "", seconds / 60, seconds % 60);
	return wet_text_format(buf, bytes, "%g", fabs(at) < 1e-9 ? 0 : at);
}

static void draw_axes(struct sheet *s, const struct chart *c, const json_t *spec)
{
	char text[40];
	cairo_set_line_width(s->cr, 0.25);
	for (int i = 0; i < c->x.ticks; i++) {
		double x = c->left + place(&c->x, c->x.tick[i]) * c->width;
		cairo_move_to(s->cr, x, c->top);
		cairo_line_to(s->cr, x, c->top + c->height);
		cairo_stroke(s->cr);
		text_at(s, tick_text(&c->x, c->x.tick[i], text, sizeof text), SMALL_PT, x, c->top + c->height + 8, CENTRE);
	}
	for (int i = 0; i < c->y.ticks; i++) {
		double y = c->top + c->height - place(&c->y, c->y.tick[i]) * c->height;
		cairo_move_to(s->cr, c->left, y);
		cairo_line_to(s->cr, c->left + c->width, y);
		cairo_stroke(s->cr);
		text_at(s, tick_text(&c->y, c->y.tick[i], text, sizeof text), SMALL_PT, c->left - 4, y, RIGHT);
	}
	cairo_set_line_width(s->cr, 1);
	cairo_rectangle(s->cr, c->left, c->top, c->width, c->height);
	cairo_stroke(s->cr);
	text_at(s, words_of(json_object_get(spec, "x"), "title"), SMALL_PT, c->left + c->width / 2,
			c->top + c->height + 20, CENTRE);
	text_at(s, words_of(json_object_get(spec, "y"), "title"), SMALL_PT, sheet_left(s), c->top - 8, LEFT);
}

static void set_dash(struct sheet *s, size_t series)
{
	static const double dashes[][2] = { { 0, 0 }, { 6, 3 }, { 1.5, 2.5 }, { 10, 4 } };
	size_t i = series % 4;
	cairo_set_dash(s->cr, dashes[i], i == 0 ? 0 : 2, 0);
	cairo_set_line_width(s->cr, 1.2);
}

/* From the fifth on, dashes alone would come again. */
static bool is_marked(const json_t *one, size_t series)
{
	return json_is_true(json_object_get(one, "has_marks")) || series >= 4;
}

static void draw_mark(struct sheet *s, size_t series, double x, double y)
{
	cairo_set_dash(s->cr, NULL, 0, 0);
	cairo_new_path(s->cr);
	if (series % 2 == 0)
		cairo_arc(s->cr, x, y, 2.4, 0, 2 * M_PI);
	else
		cairo_rectangle(s->cr, x - 2.2, y - 2.2, 4.4, 4.4);
	cairo_fill(s->cr);
}

static void draw_series(struct sheet *s, const struct chart *c, size_t which, const json_t *one)
{
	size_t i;
	json_t *point;
	bool has_line = !json_is_false(json_object_get(one, "has_line"));
	bool has_marks = is_marked(one, which);
	cairo_save(s->cr);
	cairo_rectangle(s->cr, c->left - 3, c->top - 3, c->width + 6, c->height + 6);
	cairo_clip(s->cr);
	cairo_new_path(s->cr);
	for (int pass = 0; pass < 2; pass++) {
		json_array_foreach(json_object_get(one, "points"), i, point)
		{
			double x = c->left + place(&c->x, json_number_value(json_array_get(point, 0))) * c->width;
			double y = c->top + c->height - place(&c->y, json_number_value(json_array_get(point, 1))) * c->height;
			if (pass == 0 && has_line)
				cairo_line_to(s->cr, x, y);
			else if (pass == 1 && has_marks)
				draw_mark(s, which, x, y);
		}
		if (pass == 0 && has_line) {
			set_dash(s, which);
			cairo_stroke(s->cr);
		}
	}
	cairo_restore(s->cr);
}

/* What each line is, below. */
static void draw_legend(struct sheet *s, const struct chart *c)
{
	size_t i;
	json_t *one;
	json_array_foreach(c->series, i, one)
	{
		PangoLayout *layout = text_new(s, words_of(one, "name"), s->body_pt, PLAIN, sheet_inner(s) - 40, LEFT);
		sheet_need(s, text_height(layout));
		if (!s->is_counting) {
			double y = s->y + s->body_pt * 0.7;
			if (!json_is_false(json_object_get(one, "has_line"))) {
				set_dash(s, i);
				cairo_move_to(s->cr, sheet_left(s), y);
				cairo_line_to(s->cr, sheet_left(s) + 30, y);
				cairo_stroke(s->cr);
			}
			if (is_marked(one, i))
				draw_mark(s, i, sheet_left(s) + 15, y);
			cairo_set_dash(s->cr, NULL, 0, 0);
		}
		text_draw(s, layout, sheet_left(s) + 38, s->y);
		s->y += text_height(layout) + 2;
		g_object_unref(layout);
	}
	s->y += GAP_PT;
}

static double plot_height(const struct sheet *s, const json_t *spec)
{
	return fmin(number_of(spec, "height_mm", 90) * MM_PT, sheet_full(s) - 60);
}

double chart_height(const struct sheet *s, const json_t *spec)
{
	return plot_height(s, spec) + 45;
}

void chart_draw(struct sheet *s, const json_t *spec)
{
	struct chart c = { .series = json_object_get(spec, "series") };
	size_t i;
	json_t *one;
	double height = plot_height(s, spec);
	take_range(&c.x, json_object_get(spec, "x"), c.series, 0);
	take_range(&c.y, json_object_get(spec, "y"), c.series, 1);
	take_ticks(&c.x);
	take_ticks(&c.y);
	sheet_need(s, chart_height(s, spec));
	c.left = sheet_left(s) + 42;
	c.width = sheet_inner(s) - 60; /* room for half of the last label */
	c.top = s->y + 18;
	c.height = height - 18;
	if (!s->is_counting) {
		draw_axes(s, &c, spec);
		json_array_foreach(c.series, i, one) draw_series(s, &c, i, one);
		cairo_set_dash(s->cr, NULL, 0, 0);
	}
	s->y += height + 32;
	draw_legend(s, &c);
}
