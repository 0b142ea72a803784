/* judge.c: judged pieces, as people say it, and what they teach. */
#include "field/inside.h"
#include "field/regress.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

#define OUTLIER 3.0 /* times the scale: one in 370 of normal errors */
#define JUDGED_MOST 4.0

const char *wet_flaw_text(enum wet_flaw flaw)
{
	static const char *const texts[] = {
#define FLAW_TEXT(name, text, spoils) text,
		WET_FLAWS(FLAW_TEXT)
#undef FLAW_TEXT
	};
	return texts[flaw];
}

static bool flaw_spoils(uint32_t flaws)
{
	static const bool spoils[] = {
#define FLAW_SPOILS(name, text, is_spoilt) is_spoilt,
		WET_FLAWS(FLAW_SPOILS)
#undef FLAW_SPOILS
	};
	for (int i = 0; i < WET_FLAW_N; i++)
		if ((flaws & (1u << i)) && spoils[i])
			return true;
	return false;
}

const char *wet_aside_text(enum wet_aside aside)
{
	static const char *const texts[] = {
#define ASIDE_TEXT(name, text) text,
		WET_ASIDES(ASIDE_TEXT)
#undef ASIDE_TEXT
	};
	return texts[aside];
}

/* -- as people say it -------------------------------------------------------------------- */

int wet_parse_flaws(const char *text, uint32_t *ret_flaws, struct wet_fault *reterr)
{
	uint32_t flaws = 0;
	for (const char *p = text; *p;) {
		size_t n = strcspn(p, ",;"), blank = strspn(p, " \t");
		char one[32];
		int found = -1;
		p += blank;
		n -= blank < n ? blank : n;
		wet_text_copy(one, n + 1 < sizeof one ? n + 1 : sizeof one, p);
		for (size_t k = strlen(one); k > 0 && (one[k - 1] == ' ' || one[k - 1] == '\t'); k--)
			one[k - 1] = '\0';
		for (int i = 0; i < WET_FLAW_N; i++)
			if (field_same_word(one, wet_flaw_text((enum wet_flaw)i)))
				found = i;
		if (found < 0 && (one[0] || p[n]))
			return wet_fault_set(reterr, WET_ERR_INVALID, "", text,
								 "fogged, uneven, stained, air bells or pinhole leak, with commas between");
		flaws |= found < 0 ? 0 : 1u << found;
		p += n + (p[n] != '\0');
	}
	*ret_flaws = flaws;
	return WET_OK;
}

static int direction_of(const char *word)
{
	if (field_same_word(word, "lighter") || field_same_word(word, "light"))
		return 1;
	return field_same_word(word, "darker") || field_same_word(word, "dark") ? -1 : 0;
}

int wet_parse_judged(const char *text, double *ret_lighter_stops, struct wet_fault *reterr)
{
	static const char want[] = "right, or how far from it, up to 4 stops, as in 1/2 stop lighter or 1 stop too dark";
	char amount[48] = "", word[32];
	int direction = 0, words = 0;
	double stops = 0;
	bool is_right = false;
	for (const char *p = text; field_next_word(&p, word, sizeof word); words++) {
		int d = direction_of(word);
		if (d != 0 && direction == 0)
			direction = d;
		else if (field_same_word(word, "right"))
			is_right = true;
		else if (!field_same_word(word, "too"))
			wet_text_append(amount, sizeof amount, "%s%s", amount[0] ? " " : "", word);
	}
	if (is_right ? words != 1 : direction == 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	if (!is_right) {
		if (!amount[0])
			return wet_fault_set(reterr, WET_ERR_UNIT_MISSING, "", text, "%s", want);
		int rc = wet_parse_stops(amount, &stops, reterr);
		if (rc != 0)
			return rc;
		if (!(stops >= 0 && stops <= JUDGED_MOST))
			return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "%s; a piece that is plain white or black tells no number",
								 want);
	}
	*ret_lighter_stops = direction * stops;
	return WET_OK;
}

char *wet_print_judged(double lighter_stops, char *buf, unsigned buf_bytes)
{
	char stops[32];
	if (fabs(lighter_stops) < 0.05)
		return wet_text_format(buf, buf_bytes, "right");
	return wet_text_format(buf, buf_bytes, "%s %s than wanted",
						   wet_print_stops(fabs(lighter_stops), false, stops, sizeof stops),
						   lighter_stops > 0 ? "lighter" : "darker");
}

double wet_judged_too_much_stops(enum wet_sense sense, double lighter_stops)
{
	return sense == WET_SENSE_NEGATIVE ? 0 - lighter_stops : lighter_stops;
}

/* -- what they teach ------------------------------------------------------------------------ */

static enum wet_aside aside_of(const struct wet_result *r)
{
	if (!r->is_dry)
		return WET_ASIDE_WET;
	if (flaw_spoils(r->flaws))
		return WET_ASIDE_FLAW;
	if (r->off_mc != WET_NOT_KNOWN && (r->off_mc > WET_NORMAL_OFF_MC || r->off_mc < -WET_NORMAL_OFF_MC))
		return WET_ASIDE_TEMPERATURE;
	return r->used_milli != WET_NOT_KNOWN && r->used_milli > WET_NORMAL_USED_MILLI ? WET_ASIDE_AGE : WET_ASIDE_NO;
}

static int check(const struct wet_result *r, struct wet_fault *reterr)
{
	const char *where = NULL;
	if (!(fabs(r->ev100) <= 30))
		where = "ev100";
	else if (!(r->f_number >= 0.5 && r->f_number <= 10000))
		where = "f_number";
	else if (!(r->time_s >= 1e-6 && r->time_s <= 3.6e6))
		where = "time";
	else if (!(fabs(r->less_stops) <= 60))
		where = "less";
	else if (!(fabs(r->lighter_stops) <= JUDGED_MOST))
		where = "judged";
	if (!where)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, where, NULL,
						 "light within EV 30, f/0.5 to f/10000, a time up to 1000 h, up to 4 stops lighter or darker");
}

struct judged {
	const struct wet_reciprocity *held;
	double from_s; /* of the power law that is fitted */
	bool is_power;
	uint32_t n;
	uint32_t of[WET_RESULTS]; /* which result */
	double x[WET_RESULTS];    /* stops over from_s */
	double alone[WET_RESULTS]; /* log2(S/100) by this result with the held law */
	double y[WET_RESULTS];    /* the same without any law */
};

static void learn(struct judged *l, enum wet_sense sense, const struct wet_result *r, uint32_t i)
{
	double too_much = wet_judged_too_much_stops(sense, r->lighter_stops);
	double without_time = too_much - r->ev100 + wet_av(r->f_number) + r->less_stops;
	l->of[l->n] = i;
	l->x[l->n] = r->time_s > l->from_s ? log2(r->time_s / l->from_s) : 0;
	l->alone[l->n] = without_time - log2(wet_reciprocity_metered_s(l->held, r->time_s));
	l->y[l->n++] = without_time - log2(r->time_s);
}

static double spread(const struct judged *l)
{
	double low = INFINITY, high = -INFINITY;
	for (uint32_t i = 0; i < l->n; i++) {
		low = fmin(low, l->x[i]);
		high = fmax(high, l->x[i]);
	}
	return high - low;
}

static double index_of(double level)
{
	return 100 * exp2(level);
}

/* Fewer than four: the middle of what each says alone, and no interval. */
static void teach_by_thumb(struct judged *l, struct wet_verdict *verdicts, struct wet_lesson *a)
{
	double sorted[WET_RESULTS_FOR_A_FIT], level;
	memcpy(sorted, l->alone, l->n * sizeof sorted[0]);
	level = field_median(sorted, l->n);
	a->kind = WET_LESSON_THUMB;
	a->index = a->index_low = a->index_high = index_of(level);
	for (uint32_t i = 0; i < l->n; i++) {
		verdicts[l->of[i]].off_stops = l->alone[i] - level;
		verdicts[l->of[i]].weight = 1;
	}
}

/* p over 1 (or under one half) is no reciprocity that paper has: it is taken as that limit, and the line turned about its
 * middle, where it is sure. */
static void teach_exponent(const struct judged *l, const struct field_line *line, struct wet_lesson *a)
{
	double slope = fmax(fmin(line->slope, 0), -0.5), level = line->level + (line->slope - slope) * line->middle;
	a->kind = WET_LESSON_EXPONENT;
	a->index = index_of(level);
	a->exponent = 1 + slope;
	a->exponent_low = fmin(1 + line->slope - line->slope_half, a->exponent);
	a->exponent_high = fmax(fmin(1 + line->slope + line->slope_half, 1), a->exponent);
	a->law = (struct wet_reciprocity){ .kind = WET_RECIPROCITY_POWER, .from_s = l->from_s, .exponent = 1 / a->exponent };
}

static void teach_by_fit(const struct judged *l, struct wet_verdict *verdicts, struct wet_lesson *a)
{
	struct field_line line;
	bool has_slope = l->is_power && spread(l) >= WET_FIT_SPREAD_STOPS;
	const double *y = has_slope ? l->y : l->alone;
	field_fit(l->x, y, l->n, has_slope, &line);
	a->kind = WET_LESSON_INDEX;
	a->index = index_of(line.level);
	if (has_slope)
		teach_exponent(l, &line, a);
	a->index_low = fmin(index_of(line.level - line.level_half), a->index);
	a->index_high = fmax(index_of(line.level + line.level_half), a->index);
	a->scale_stops = line.scale;
	a->middle_s = l->from_s * exp2(line.middle);
	a->middle_low_stops = -line.middle_half;
	a->middle_high_stops = line.middle_half;
	for (uint32_t i = 0; i < l->n; i++) {
		struct wet_verdict *v = &verdicts[l->of[i]];
		v->off_stops = y[i] - line.level - line.slope * l->x[i];
		v->weight = line.weights[i];
		v->is_outlier = fabs(v->off_stops) > OUTLIER * line.scale;
		a->outliers += v->is_outlier;
	}
}

int wet_judge(enum wet_sense sense, const struct wet_result *results, uint32_t count, const struct wet_reciprocity *held,
			  struct wet_verdict *ret_verdicts, struct wet_lesson *ret_lesson, struct wet_fault *reterr)
{
	struct wet_lesson a = { .kind = WET_LESSON_NOTHING, .exponent = 1, .exponent_low = 1, .exponent_high = 1, .law = *held };
	struct judged l = { .held = held, .from_s = 1, .n = 0 };
	if (sense == WET_SENSE_UNSAID)
		return wet_fault_set(reterr, WET_ERR_INVALID, "sense", NULL, "a direct positive or a negative");
	if (count > WET_RESULTS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "results", NULL, "at most %d, the newest", WET_RESULTS);
	for (uint32_t i = 0; i < count; i++) {
		int rc = check(&results[i], reterr);
		if (rc != 0)
			return rc;
	}
	l.is_power = held->kind == WET_RECIPROCITY_NONE || held->kind == WET_RECIPROCITY_POWER;
	if (held->kind == WET_RECIPROCITY_POWER) {
		l.from_s = held->from_s;
		a.exponent = a.exponent_low = a.exponent_high = 1 / held->exponent;
	}
	for (uint32_t i = 0; i < count; i++) {
		ret_verdicts[i] = (struct wet_verdict){ .aside = aside_of(&results[i]) };
		a.aside[ret_verdicts[i].aside]++;
		if (ret_verdicts[i].aside == WET_ASIDE_NO)
			learn(&l, sense, &results[i], i);
	}
	a.counted = l.n;
	if (l.n >= WET_RESULTS_FOR_A_FIT)
		teach_by_fit(&l, ret_verdicts, &a);
	else if (l.n > 0)
		teach_by_thumb(&l, ret_verdicts, &a);
	*ret_lesson = a;
	return WET_OK;
}
