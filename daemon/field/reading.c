/* reading.c: what a meter said, as people write it down. */
#include "field/inside.h"

#include "base/text.h"
#include "wetside/exposure.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

#define LX_PER_FOOT_CANDLE (1 / (0.3048 * 0.3048)) /* a lumen on a square foot: exact by the foot of 1959 */
#define EV100_LOW (-20.0)
#define EV100_HIGH 30.0

static const char reading_wanted[] =
	"a reading, as in 1/60 at f/8 index 100, EV 14.3, 400 cd/m2 or 8000 lux";

static int in_range(const char *text, double value, double low, double high, const char *want, struct wet_fault *reterr)
{
	if (value >= low && value <= high)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "%s", want);
}

static bool has_more(const char *p)
{
	char word[8];
	return field_next_word(&p, word, sizeof word);
}

/* -- single quantities ------------------------------------------------------------------ */

int wet_parse_f_number(const char *text, double *ret_f_number, struct wet_fault *reterr)
{
	static const char want[] = "an aperture number from f/0.5 to f/10000, as in f/240";
	const char *p = text;
	double v;
	while (*p == ' ' || *p == '\t')
		p++;
	if (*p == 'f' || *p == 'F')
		p += p[1] == '/' ? 2 : 1;
	char word[32];
	if (!field_next_word(&p, word, sizeof word) || !field_number(word, &v) || strchr(word, '/') || has_more(p))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	int rc = in_range(text, v, 0.5, 10000, want, reterr);
	if (rc == 0)
		*ret_f_number = v;
	return rc;
}

static bool is_degree(const char *word)
{
	return field_same_word(word, "deg") || field_same_word(word, "degrees") || strcmp(word, "\xC2\xB0") == 0;
}

static bool is_index_word(const char *word)
{
	return field_same_word(word, "index") || field_same_word(word, "iso") || field_same_word(word, "ei");
}

int wet_parse_index(const char *text, double *ret_index, struct wet_fault *reterr)
{
	static const char want[] = "an index from 0.001 to 1000000, as in 3, ISO 100 or 21 deg";
	const char *p = text;
	char word[32] = "", unit[16] = "", *slash;
	double v;
	bool has_word = field_next_word(&p, word, sizeof word);
	if (has_word && is_index_word(word))
		has_word = field_next_word(&p, word, sizeof word);
	bool has_unit = has_word && field_next_word(&p, unit, sizeof unit);
	bool is_bad = !has_word || (has_unit && (!is_degree(unit) || has_more(p)));
	/* "ISO 100/21 deg" is both ways of writing one speed. */
	if (!is_bad && (slash = strchr(word, '/')) != NULL) {
		is_bad = !has_unit;
		has_unit = false;
		*slash = '\0';
	}
	if (is_bad || !field_number(word, &v))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	if (has_unit)
		v = wet_index_of_degrees(v);
	int rc = in_range(text, v, 0.001, 1000000, want, reterr);
	if (rc == 0)
		*ret_index = v;
	return rc;
}

/* "1 stop", "1 1/2 stops": the sum of the numbers before the word; a sign counts for all of them. */
static bool read_stops(const char *text, double *ret_stops, bool *ret_has_word)
{
	char word[32];
	double v, sum = 0, sign = 1;
	int numbers = 0;
	*ret_has_word = false;
	while (field_next_word(&text, word, sizeof word)) {
		if (*ret_has_word)
			return false;
		if (field_same_word(word, "stop") || field_same_word(word, "stops")) {
			*ret_has_word = true;
			continue;
		}
		if (numbers == 2 || !field_number(word, &v) || (numbers == 1 && (v < 0 || v >= 1)))
			return false;
		sign = numbers == 0 && word[0] == '-' ? -1 : sign;
		sum += fabs(v);
		numbers++;
	}
	*ret_stops = sign * sum;
	return numbers > 0;
}

int wet_parse_stops(const char *text, double *ret_stops, struct wet_fault *reterr)
{
	static const char want[] = "stops, up to 20, as in 1 stop, 1/3 stop or -1 1/2 stops";
	double v;
	bool has_word;
	if (!read_stops(text, &v, &has_word))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	if (!has_word)
		return wet_fault_set(reterr, WET_ERR_UNIT_MISSING, "", text, "%s", want);
	int rc = in_range(text, v, -20, 20, want, reterr);
	if (rc == 0)
		*ret_stops = v;
	return rc;
}

int wet_parse_place(const char *text, enum wet_place *ret_place, double *ret_stops, struct wet_fault *reterr)
{
	static const char want[] = "middle, bright, shaded, or so far from one of the two, as in 1 stop from bright";
	const char *from = strstr(text, " from "), *rest = from ? from + 6 : text;
	char word[16], before[48];
	enum wet_place place;
	double stops = 0;
	if (!field_next_word(&rest, word, sizeof word) || has_more(rest))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	if (field_same_word(word, "bright"))
		place = WET_PLACE_BRIGHT;
	else if (field_same_word(word, "shaded"))
		place = WET_PLACE_SHADED;
	else if (field_same_word(word, "middle") && !from)
		place = WET_PLACE_MIDDLE;
	else
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	if (from) {
		size_t n = (size_t)(from - text);
		wet_text_copy(before, n + 1 < sizeof before ? n + 1 : sizeof before, text);
		int rc = wet_parse_stops(before, &stops, reterr);
		if (rc != 0)
			return rc;
	}
	*ret_place = place;
	*ret_stops = stops;
	return WET_OK;
}

int wet_parse_filter(const char *text, double *ret_stops, struct wet_fault *reterr)
{
	static const char want[] = "a filter, as in 4x, 2 stops or density 0.6; from no stop to 20";
	const char *p = text;
	char first[32] = "", second[32] = "";
	double v = 0;
	bool has_word;
	if (read_stops(text, &v, &has_word)) {
		if (!has_word)
			return wet_fault_set(reterr, WET_ERR_AMBIGUOUS, "", text,
								 "write %.4gx (the factor: %.2f stops) or %.4g stops (the factor %.4g)", v,
								 v > 0 ? wet_stops_of_factor(v) : 0, v, wet_factor_of_stops(v));
	} else {
		(void)field_next_word(&p, first, sizeof first);
		(void)field_next_word(&p, second, sizeof second);
		if (has_more(p))
			first[0] = '\0';
		if (field_same_word(second, "x") && field_number(first, &v) && v > 0)
			v = wet_stops_of_factor(v);
		else if (field_same_word(first, "factor") && field_number(second, &v) && v > 0)
			v = wet_stops_of_factor(v);
		else if (field_same_word(first, "density") && field_number(second, &v))
			v = wet_stops_of_density(v);
		else
			return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", want);
	}
	int rc = in_range(text, v, 0, 20, want, reterr);
	if (rc == 0)
		*ret_stops = v;
	return rc;
}

/* -- a reading --------------------------------------------------------------------------- */

enum unit { NO_UNIT, UNIT_EV, UNIT_CD, UNIT_LX, UNIT_FC };

struct parts {
	enum unit unit;
	int units, indexes, apertures; /* how often each was said */
	double index, f_number;
	char value[64]; /* all words that are neither: a number or a time */
};

static enum unit unit_of(const char *word)
{
	static const struct {
		const char *word;
		enum unit unit;
	} units[] = {
		{ "ev", UNIT_EV },   { "cd/m2", UNIT_CD }, { "cd/m\xC2\xB2", UNIT_CD }, { "lx", UNIT_LX },
		{ "lux", UNIT_LX },  { "fc", UNIT_FC },
	};
	for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
		if (field_same_word(word, units[i].word))
			return units[i].unit;
	return NO_UNIT;
}

/* Letters against what follows them: "EV14.3" is as good as "EV 14.3". */
static bool is_ev_against_number(const char *word)
{
	return (word[0] == 'E' || word[0] == 'e') && (word[1] == 'V' || word[1] == 'v') && word[2];
}

static int take_word(struct parts *p, const char **rest, const char *word, const char *text, struct wet_fault *reterr)
{
	char next[48], degree[16];
	const char *after;
	if (field_same_word(word, "at") || field_same_word(word, "@"))
		return WET_OK;
	if (is_index_word(word)) {
		p->indexes++;
		if (!field_next_word(rest, next, sizeof next))
			return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "a number after %s", word);
		after = *rest;
		if (field_next_word(&after, degree, sizeof degree) && is_degree(degree)) {
			*rest = after;
			wet_text_append(next, sizeof next, " deg");
		}
		return wet_parse_index(next, &p->index, reterr);
	}
	if ((word[0] == 'f' || word[0] == 'F') && (word[1] == '/' || (word[1] >= '0' && word[1] <= '9'))) {
		p->apertures++;
		return wet_parse_f_number(word, &p->f_number, reterr);
	}
	enum unit unit = unit_of(word);
	if (unit == NO_UNIT && is_ev_against_number(word)) {
		p->units++;
		p->unit = UNIT_EV;
		wet_text_append(p->value, sizeof p->value, "%s%s", p->value[0] ? " " : "", word + 2);
		return WET_OK;
	}
	if (unit != NO_UNIT) {
		p->units++;
		p->unit = unit;
		return WET_OK;
	}
	wet_text_append(p->value, sizeof p->value, "%s%s", p->value[0] ? " " : "", word);
	return WET_OK;
}

/* Seconds, if only a number or a fraction stands there: an aperture beside it says what it is. */
static int read_time(const char *value, double *ret_s, struct wet_fault *reterr)
{
	int64_t ns;
	if (field_number(value, ret_s))
		return WET_OK;
	int rc = wet_parse_duration(value, &ns, reterr);
	if (rc == 0)
		*ret_s = (double)ns / WET_NS_PER_S;
	return rc;
}

static int take_time(const struct parts *p, const char *text, struct wet_reading *r, struct wet_fault *reterr)
{
	double time_s;
	int rc = read_time(p->value, &time_s, reterr);
	if (rc != 0)
		return rc;
	if (!(time_s >= 1e-6 && time_s <= 3.6e6))
		return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "a time over nothing, up to 1000 h");
	if (!(r->index > 0))
		return wet_fault_set(reterr, WET_ERR_UNIT_MISSING, "", text,
							 "the index the meter was set to, as in %s index 100", text);
	r->kind = WET_READING_TIME;
	/* Fractions of a second are on dials; whole seconds may have been counted. */
	r->time_s = time_s < 1 ? wet_time_of_mark_s(time_s) : time_s;
	r->f_number = wet_f_number_of_mark(p->f_number);
	r->is_mark = fabs(r->time_s / time_s - 1) > 1e-9 || fabs(r->f_number / p->f_number - 1) > 1e-9;
	r->value = wet_ev(r->f_number, r->time_s);
	r->ev100 = wet_ev_for_index(r->value, r->index, 100);
	return WET_OK;
}

static int take_light(const struct parts *p, const struct wet_meter *meter, const char *text, struct wet_reading *r,
					  struct wet_fault *reterr)
{
	double value;
	const char *rest;
	if (wet_read_number(p->value, &value, &rest, reterr) == WET_ERR_AMBIGUOUS)
		return WET_ERR_AMBIGUOUS;
	if (!field_number(p->value, &value))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", reading_wanted);
	if (p->unit == UNIT_EV) {
		r->kind = WET_READING_EV;
		r->is_iso_100 = !(r->index > 0);
		r->index = r->is_iso_100 ? 100 : r->index;
		r->value = value;
		r->ev100 = wet_ev_for_index(value, r->index, 100);
		return WET_OK;
	}
	if (p->indexes > 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "no index: light is measured without one");
	if (!(value > 0))
		return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "light over nothing");
	r->index = 0;
	r->kind = p->unit == UNIT_CD ? WET_READING_LUMINANCE : WET_READING_ILLUMINANCE;
	r->value = p->unit == UNIT_FC ? value * LX_PER_FOOT_CANDLE : value;
	r->ev100 = p->unit == UNIT_CD ? wet_ev_of_luminance(r->value, 100, meter->k > 0 ? meter->k : WET_METER_K)
								  : wet_ev_of_illuminance(r->value, 100, meter->c > 0 ? meter->c : WET_METER_C);
	return WET_OK;
}

int wet_parse_reading(const char *text, const struct wet_meter *meter, struct wet_reading *ret_reading,
					  struct wet_fault *reterr)
{
	struct parts p = { .unit = NO_UNIT };
	struct wet_reading r = { .is_mark = false };
	const char *rest = text;
	char word[48];
	int rc = WET_OK;
	while (rc == 0 && field_next_word(&rest, word, sizeof word))
		rc = take_word(&p, &rest, word, text, reterr);
	if (rc != 0)
		return rc;
	if (p.units > 1 || p.indexes > 1 || p.apertures > 1 || p.units + p.apertures > 1)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "one reading at a time: %s", reading_wanted);
	if (p.units + p.apertures == 0)
		return wet_fault_set(reterr, p.value[0] ? WET_ERR_UNIT_MISSING : WET_ERR_INVALID, "", text, "%s", reading_wanted);
	r.index = p.indexes > 0 ? p.index : meter->index;
	rc = p.apertures > 0 ? take_time(&p, text, &r, reterr) : take_light(&p, meter, text, &r, reterr);
	if (rc != 0)
		return rc;
	rc = in_range(text, r.ev100, EV100_LOW, EV100_HIGH, "light from EV -20 to 30 at ISO 100", reterr);
	if (rc == 0)
		*ret_reading = r;
	return rc;
}
