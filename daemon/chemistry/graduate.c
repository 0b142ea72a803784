/* graduate.c: measuring with the graduates one owns. */
#include "wetside/graduate.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* Cylinders, microlitres; the sources are in the header. */
static const struct cylinder {
	int64_t capacity_ul, step_ul, class_a_ul, class_b_ul; /* a class of 0: not known */
} cylinders[] = {
	{ 5000, 100, 50, 100 },       { 10000, 100, 100, 200 },    { 25000, 200, 170, 340 },
	{ 50000, 1000, 250, 500 },    { 100000, 1000, 500, 1000 }, { 250000, 2000, 1000, 2000 },
	{ 500000, 5000, 2000, 4000 }, { 1000000, 10000, 0, 0 },
};

static const struct cylinder *find_cylinder(int64_t capacity_ul)
{
	for (size_t i = 0; i < sizeof cylinders / sizeof cylinders[0]; i++)
		if (cylinders[i].capacity_ul == capacity_ul)
			return &cylinders[i];
	return NULL;
}

/* Cuts the word off the end of a text, with the blanks before it. */
static bool cut_word(char *text, const char *word)
{
	size_t n = strlen(text), m = strlen(word);
	if (n <= m || strcmp(text + n - m, word) != 0 || text[n - m - 1] != ' ')
		return false;
	text[n - m - 1] = '\0';
	return true;
}

static void cut_blanks(char *text)
{
	for (size_t n = strlen(text); n > 0 && text[n - 1] == ' '; n--)
		text[n - 1] = '\0';
}

int wet_parse_graduate(const char *text, struct wet_graduate *ret_graduate, struct wet_fault *reterr)
{
	static const char want[] = "a graduate, as in 100 mL, 100 mL A or 600 mL/50 mL (its least graduation)";
	struct wet_graduate g = { .kind = WET_GRADUATE_CYLINDER };
	struct wet_quantity capacity, step;
	char body[64];
	if (strlen(text) >= sizeof body)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "", text, "%s", want);
	wet_text_copy(body, sizeof body, text);
	char *slash = strchr(body, '/');
	if (slash)
		*slash = '\0';
	cut_blanks(body);
	if (cut_word(body, "syringe"))
		g.kind = WET_GRADUATE_SYRINGE;
	else if (cut_word(body, "A"))
		g.class_of = WET_CLASS_A;
	else if (cut_word(body, "B"))
		g.class_of = WET_CLASS_B;
	int rc = wet_parse_quantity(body, WET_QUANTITY_VOLUME, &capacity, reterr);
	if (rc != 0)
		return rc;
	const struct cylinder *known = g.kind == WET_GRADUATE_CYLINDER ? find_cylinder(capacity.value) : NULL;
	g.capacity_ul = capacity.value;
	g.unit = capacity.unit;
	g.step_ul = known ? known->step_ul : 0;
	if (slash) {
		if ((rc = wet_parse_quantity(slash + 1, WET_QUANTITY_VOLUME, &step, reterr)) != 0)
			return rc;
		g.step_ul = step.value;
	} else if (!known) {
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "", text,
							 "its least graduation too, as in 600 mL/50 mL or 10 mL syringe/0.5 mL");
	}
	if (g.capacity_ul <= 0 || g.step_ul <= 0 || g.step_ul > g.capacity_ul)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "%s", want);
	*ret_graduate = g;
	return WET_OK;
}

char *wet_print_graduate(const struct wet_graduate *graduate, char *buf, unsigned buf_bytes)
{
	wet_print_quantity((struct wet_quantity){ graduate->capacity_ul, graduate->unit }, buf, buf_bytes);
	return wet_text_append(buf, buf_bytes, "%s", graduate->kind == WET_GRADUATE_SYRINGE ? " syringe" : "");
}

static int syringe_tolerance(int64_t capacity_ul, int64_t volume_ul, int64_t *ret_tolerance_ul)
{
	bool is_below_half = volume_ul * 2 < capacity_ul;
	int64_t thousandths; /* of a microlitre */
	if (capacity_ul == 1000 && is_below_half)
		thousandths = capacity_ul * 15 + volume_ul * 20;
	else if (capacity_ul == 1000)
		thousandths = volume_ul * 50;
	else if (capacity_ul == 10000 && is_below_half)
		thousandths = capacity_ul * 15 + volume_ul * 10;
	else
		return WET_ERR_NOT_FOUND;
	*ret_tolerance_ul = (thousandths + 500) / 1000;
	return WET_OK;
}

int wet_graduate_tolerance(const struct wet_graduate *g, int64_t volume_ul, int64_t *ret_tolerance_ul)
{
	if (volume_ul <= 0 || volume_ul > g->capacity_ul)
		return WET_ERR_RANGE;
	if (g->kind == WET_GRADUATE_SYRINGE)
		return syringe_tolerance(g->capacity_ul, volume_ul, ret_tolerance_ul);
	const struct cylinder *known = find_cylinder(g->capacity_ul);
	int64_t tolerance = !known ? 0 : g->class_of == WET_CLASS_A ? known->class_a_ul : known->class_b_ul;
	if (tolerance == 0)
		return WET_ERR_NOT_FOUND;
	*ret_tolerance_ul = tolerance;
	return WET_OK;
}

static int largest(const struct wet_graduate *graduates, uint32_t count)
{
	int best = 0;
	for (int i = 1; i < (int)count; i++)
		if (graduates[i].capacity_ul > graduates[best].capacity_ul)
			best = i;
	return best;
}

/* The mark nearest to a volume, half up; the last mark it has where the next would be over the brim. */
static int64_t nearest_mark(const struct wet_graduate *g, int64_t volume_ul)
{
	int64_t marks = (volume_ul + g->step_ul / 2) / g->step_ul, last = g->capacity_ul / g->step_ul;
	return (marks < last ? marks : last) * g->step_ul;
}

/* Adds what one fill may be off; an unknown one makes the sum unknown. */
static void add_tolerance(struct wet_measure *m, const struct wet_graduate *g, int64_t volume_ul,
						  uint32_t fills)
{
	int64_t tolerance;
	if (fills == 0 || m->tolerance_ul < 0)
		return;
	if (wet_graduate_tolerance(g, volume_ul, &tolerance) != 0)
		m->tolerance_ul = -1;
	else
		m->tolerance_ul += tolerance * fills;
}

/* As above, for a choice: where it is not known, a graduation (cylinders of the table are about that). */
static int64_t doubt_ul(const struct wet_graduate *g, int64_t volume_ul, uint32_t fills)
{
	int64_t tolerance;
	return fills == 0 ? 0 : (wet_graduate_tolerance(g, volume_ul, &tolerance) == 0 ? tolerance : g->step_ul) * fills;
}

/* One way to measure, and what speaks for it. */
struct way {
	struct wet_measure m;
	int64_t off_ul; /* rounding and tolerance together */
	uint32_t fills;
};

/* `full` (-1: none) as often as it goes, and the rest in `last`; false: not so. */
static bool way_of(const struct wet_graduate *graduates, int64_t volume_ul, int full, int last, struct way *ret)
{
	const struct wet_graduate *l = &graduates[last];
	struct way w = { .m = { .wanted_ul = volume_ul, .last = (uint32_t)last, .tolerance_milli = -1 } };
	int64_t rest = volume_ul;
	if (full >= 0) {
		int64_t capacity_ul = graduates[full].capacity_ul;
		if (volume_ul <= capacity_ul || volume_ul / capacity_ul > WET_FILLS)
			return false;
		w.m.full = (uint32_t)full;
		w.m.full_fills = (uint32_t)(volume_ul / capacity_ul);
		rest -= capacity_ul * w.m.full_fills;
		w.m.measured_ul = capacity_ul * w.m.full_fills;
		w.off_ul = doubt_ul(&graduates[full], capacity_ul, w.m.full_fills);
	}
	if (l->capacity_ul < rest)
		return false;
	w.m.last_ul = nearest_mark(l, rest);
	w.m.measured_ul += w.m.last_ul;
	w.off_ul += doubt_ul(l, w.m.last_ul, w.m.last_ul > 0);
	w.off_ul += w.m.measured_ul > volume_ul ? w.m.measured_ul - volume_ul : volume_ul - w.m.measured_ul;
	w.fills = w.m.full_fills + (w.m.last_ul > 0);
	*ret = w;
	return w.m.measured_ul > 0;
}

static bool is_good_enough(const struct way *w)
{
	return w->off_ul * 100000 <= w->m.wanted_ul * WET_MEASURE_GOOD_MILLI;
}

/* Good enough with fewer fills; else whatever is less off. */
static bool is_better(const struct way *a, const struct way *b)
{
	bool is_good = is_good_enough(a);
	if (is_good != is_good_enough(b))
		return is_good;
	if (is_good && a->fills != b->fills)
		return a->fills < b->fills;
	return a->off_ul != b->off_ul ? a->off_ul < b->off_ul : a->fills < b->fills;
}

static int refuse_measure(const struct wet_graduate *graduates, uint32_t count, int64_t volume_ul,
						  struct wet_fault *reterr)
{
	char text[48], name[48], mark[48];
	const struct wet_graduate *g = &graduates[largest(graduates, count)];
	wet_print_volume(volume_ul, text, sizeof text);
	if (volume_ul > g->capacity_ul)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "graduates", text,
							 "a larger graduate for %s: %s would be filled over %d times", text,
							 wet_print_graduate(g, name, sizeof name), WET_FILLS);
	for (uint32_t i = 0; i < count; i++)
		if (graduates[i].capacity_ul >= volume_ul && graduates[i].step_ul < g->step_ul)
			g = &graduates[i];
	return wet_fault_set(reterr, WET_ERR_REFUSED, "graduates", text, "a finer graduate, or more: %s is marked every %s",
						 wet_print_graduate(g, name, sizeof name),
						 wet_print_quantity((struct wet_quantity){ g->step_ul, g->unit }, mark, sizeof mark));
}

int wet_measure(const struct wet_graduate *graduates, uint32_t count, int64_t volume_ul,
				struct wet_measure *ret_measure, struct wet_fault *reterr)
{
	struct way best = { .fills = 0 }, way;
	if (count == 0 || count > WET_GRADUATES || volume_ul <= 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "graduates", NULL,
							 "1 to %d graduates and a volume over nothing", WET_GRADUATES);
	for (int full = -1; full < (int)count; full++)
		for (int last = 0; last < (int)count; last++)
			if (way_of(graduates, volume_ul, full, last, &way) && (best.fills == 0 || is_better(&way, &best)))
				best = way;
	if (best.fills == 0)
		return refuse_measure(graduates, count, volume_ul, reterr);
	struct wet_measure m = best.m;
	add_tolerance(&m, &graduates[m.full], graduates[m.full].capacity_ul, m.full_fills);
	add_tolerance(&m, &graduates[m.last], m.last_ul, m.last_ul > 0);
	if (m.tolerance_ul >= 0) {
		m.tolerance_milli = (int32_t)lround((double)m.tolerance_ul * 1e5 / (double)m.measured_ul);
		m.is_coarse = m.tolerance_ul * 50 > m.measured_ul;
		m.is_too_coarse = m.tolerance_ul * 10 > m.measured_ul;
	} else {
		m.is_too_coarse = m.full_fills == 0 && m.last_ul < 2 * graduates[m.last].step_ul;
	}
	*ret_measure = m;
	return WET_OK;
}

/* The first mark at which it measures to 2 %; ten graduations where that is not known. */
static int64_t least_of(const struct wet_graduate *g)
{
	int64_t tolerance, marks = g->capacity_ul / g->step_ul;
	if (g->kind == WET_GRADUATE_CYLINDER && wet_graduate_tolerance(g, g->capacity_ul, &tolerance) == 0)
		return (tolerance * 50 + g->step_ul - 1) / g->step_ul * g->step_ul;
	/* A syringe's tolerance grows with the volume. Those of the table hold 10 mL at most. */
	if (g->kind == WET_GRADUATE_SYRINGE && g->capacity_ul <= 10000)
		for (int64_t i = 1; i <= marks; i++)
			if (wet_graduate_tolerance(g, i * g->step_ul, &tolerance) == 0 &&
				tolerance * 50 <= i * g->step_ul)
				return i * g->step_ul;
	return marks < 10 ? g->capacity_ul : 10 * g->step_ul;
}

int64_t wet_graduates_least(const struct wet_graduate *graduates, uint32_t count)
{
	int64_t least = INT64_MAX;
	for (uint32_t i = 0; i < count; i++)
		if (least_of(&graduates[i]) < least)
			least = least_of(&graduates[i]);
	return least;
}

int64_t wet_graduates_most(const struct wet_graduate *graduates, uint32_t count)
{
	return count == 0 ? 0 : graduates[largest(graduates, count)].capacity_ul;
}

int32_t wet_strength_change_milli(int64_t stock_wanted_ul, int64_t water_wanted_ul, int64_t stock_ul,
								  int64_t water_ul)
{
	double wanted = (double)stock_wanted_ul / ((double)stock_wanted_ul + (double)water_wanted_ul);
	double got = (double)stock_ul / ((double)stock_ul + (double)water_ul);
	double change = (got / wanted - 1) * 1e5;
	return !(change < 2e9) ? INT32_MAX : (int32_t)lround(change);
}
