/* reciprocity.c: how much longer faint light has to work than the meter says. */
#include "field/inside.h"

#include "base/text.h"
#include "wetside/exposure.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

#define EXPONENT_LOW 0.5
#define EXPONENT_HIGH 2.0
#define ADDED_MOST 100.0

static const char law_wanted[] = "none, power 1.3 (or Schwarzschild's p, as in power 0.86), power 1.3 from 2 s, added 0.1 "
								 "1.62, or table 1s 1s, 10s 25s, 100s 400s (metered, given)";

/* A straight line through two rows, in log time against log time. */
static double on_line(const struct wet_reciprocity *law, uint32_t row, double metered_s)
{
	double x0 = log(law->metered_s[row]), x1 = log(law->metered_s[row + 1]);
	double y0 = log(law->given_s[row]), y1 = log(law->given_s[row + 1]);
	return exp(y0 + (log(metered_s) - x0) * (y1 - y0) / (x1 - x0));
}

static double in_table(const struct wet_reciprocity *law, double metered_s, bool *ret_is_beyond)
{
	uint32_t row = 0;
	*ret_is_beyond = metered_s < law->metered_s[0] || metered_s > law->metered_s[law->count - 1];
	while (row + 2 < law->count && metered_s > law->metered_s[row + 1])
		row++;
	return on_line(law, row, metered_s);
}

struct wet_given wet_reciprocity_give(const struct wet_reciprocity *law, double metered_s)
{
	struct wet_given g = { .time_s = metered_s };
	double by_law = metered_s;
	switch (law->kind) {
	case WET_RECIPROCITY_NONE: break;
	case WET_RECIPROCITY_POWER:
		/* Below where it sets in the bare law shortens. */
		by_law = law->from_s * pow(metered_s / law->from_s, law->exponent);
		break;
	case WET_RECIPROCITY_ADDED: by_law = metered_s + law->added * pow(metered_s, law->exponent); break;
	case WET_RECIPROCITY_TABLE: by_law = in_table(law, metered_s, &g.is_beyond); break;
	}
	g.is_clamped = by_law < metered_s * (1 - 1e-12);
	g.time_s = by_law > metered_s ? by_law : metered_s;
	return g;
}

double wet_reciprocity_metered_s(const struct wet_reciprocity *law, double given_s)
{
	double low, high = given_s; /* never shorter than metered */
	if (law->kind == WET_RECIPROCITY_NONE)
		return given_s;
	for (low = given_s; low > 0 && wet_reciprocity_give(law, low).time_s > given_s;)
		low /= 2;
	for (int i = 0; i < 200 && high / low > 1 + 1e-14; i++) {
		double mid = sqrt(low * high);
		if (wet_reciprocity_give(law, mid).time_s > given_s)
			high = mid;
		else
			low = mid;
	}
	return low;
}

/* -- reading ------------------------------------------------------------------------------ */

/* "10s", "10 s", "2:30", "1 min" : one word or a number and its unit. */
static bool read_word_time(const char **text, double *ret_s)
{
	char word[32], unit[16], both[64];
	int64_t ns;
	if (!field_next_word(text, word, sizeof word))
		return false;
	wet_text_copy(both, sizeof both, word);
	if (!strchr(word, ':')) {
		if (!field_next_word(text, unit, sizeof unit))
			return false;
		wet_text_append(both, sizeof both, " %s", unit);
	}
	if (wet_parse_duration(both, &ns, NULL) != 0 || ns <= 0)
		return false;
	*ret_s = (double)ns / WET_NS_PER_S;
	return true;
}

static bool read_power(const char **text, struct wet_reciprocity *law)
{
	char word[32];
	if (!field_next_word(text, word, sizeof word) || !field_number(word, &law->exponent) || law->exponent < EXPONENT_LOW ||
		law->exponent > EXPONENT_HIGH)
		return false;
	/* p of E = I t^p is never over 1, and the exponent of the time is 1/p. */
	if (law->exponent < 1)
		law->exponent = 1 / law->exponent;
	law->from_s = 1;
	if (!field_next_word(text, word, sizeof word))
		return true;
	return field_same_word(word, "from") && read_word_time(text, &law->from_s);
}

static bool read_added(const char **text, struct wet_reciprocity *law)
{
	char added[32], exponent[32];
	return field_next_word(text, added, sizeof added) && field_number(added, &law->added) && law->added >= 0 &&
		   law->added <= ADDED_MOST && field_next_word(text, exponent, sizeof exponent) &&
		   field_number(exponent, &law->exponent) && law->exponent >= EXPONENT_LOW && law->exponent <= EXPONENT_HIGH;
}

static int read_table(const char *text, const char **rest, struct wet_reciprocity *law, struct wet_fault *reterr)
{
	char word[32];
	for (const char *p = *rest; field_next_word(&p, word, sizeof word); p = *rest) {
		uint32_t n = law->count;
		if (n == WET_RECIPROCITY_ROWS)
			return wet_fault_set(reterr, WET_ERR_TOO_MANY, "", text, "at most %d rows", WET_RECIPROCITY_ROWS);
		if (!read_word_time(rest, &law->metered_s[n]) || !read_word_time(rest, &law->given_s[n]))
			return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", law_wanted);
		if (n > 0 && (law->metered_s[n] <= law->metered_s[n - 1] || law->given_s[n] <= law->given_s[n - 1]))
			return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "both times rising from row to row");
		law->count++;
	}
	if (law->count < 2)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "two rows or more, as in table 1s 1s, 10s 25s");
	return WET_OK;
}

int wet_parse_reciprocity(const char *text, struct wet_reciprocity *ret_law, struct wet_fault *reterr)
{
	struct wet_reciprocity law = { .kind = WET_RECIPROCITY_NONE };
	const char *rest = text;
	char word[32];
	bool is_good = field_next_word(&rest, word, sizeof word);
	if (is_good && field_same_word(word, "table")) {
		law.kind = WET_RECIPROCITY_TABLE;
		int rc = read_table(text, &rest, &law, reterr);
		if (rc != 0)
			return rc;
	} else if (is_good && field_same_word(word, "power")) {
		law.kind = WET_RECIPROCITY_POWER;
		is_good = read_power(&rest, &law);
	} else if (is_good && field_same_word(word, "added")) {
		law.kind = WET_RECIPROCITY_ADDED;
		is_good = read_added(&rest, &law);
	} else {
		is_good = is_good && field_same_word(word, "none");
	}
	if (!is_good || field_next_word(&rest, word, sizeof word))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "%s", law_wanted);
	*ret_law = law;
	return WET_OK;
}

char *wet_print_reciprocity(const struct wet_reciprocity *law, char *buf, unsigned buf_bytes)
{
	char from[24];
	switch (law->kind) {
	case WET_RECIPROCITY_NONE: return wet_text_format(buf, buf_bytes, "none");
	case WET_RECIPROCITY_POWER:
		return wet_text_format(buf, buf_bytes, "power %.4g from %s", law->exponent,
							   wet_print_exposure(law->from_s, from, sizeof from));
	case WET_RECIPROCITY_ADDED:
		return wet_text_format(buf, buf_bytes, "added %.4g t^%.4g", law->added, law->exponent);
	case WET_RECIPROCITY_TABLE: break;
	}
	return wet_text_format(buf, buf_bytes, "a table of %d rows", (int)law->count);
}
