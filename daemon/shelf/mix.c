/* mix.c: how a bath is made and how long it may work, as a recipe's file says it. */
#include "shelf/mix.h"

#include "base/text.h"
#include "wetside/capacity.h"
#include "wetside/quantity.h"

#include <string.h>

#define HOUR_NS (3600 * WET_NS_PER_S)
#define SPAN_NS_MAX (876000 * HOUR_NS) /* a hundred years */

/* Up to `digits` digits without a leading zero. False: not so; *p is left anywhere. */
static bool take_number(const char **p, int digits, int64_t *ret_value)
{
	int64_t v = 0;
	int n = 0;
	if (**p < '1' || **p > '9')
		return false;
	for (; **p >= '0' && **p <= '9'; (*p)++, n++) {
		if (n == digits)
			return false;
		v = v * 10 + (**p - '0');
	}
	*ret_value = v;
	return true;
}

/* "2.73", "0.5": thousandths, over 0 and below 100. */
static bool take_decimal(const char **p, int64_t *ret_milli)
{
	int64_t whole = 0, milli = 0;
	int n = 0;
	if (**p == '0')
		(*p)++;
	else if (!take_number(p, 2, &whole))
		return false;
	if (**p == '.') {
		(*p)++;
		for (; **p >= '0' && **p <= '9'; (*p)++, n++) {
			if (n == 3)
				return false;
			milli = milli * 10 + (**p - '0');
		}
		if (n == 0)
			return false;
		for (; n < 3; n++)
			milli *= 10;
	}
	*ret_milli = whole * 1000 + milli;
	return *ret_milli > 0;
}

static int read_dilution(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_bath_mix *mix = object;
	int64_t stock, water;
	const char *p = wet_reader_string(r, value);
	(void)field;
	if (p == NULL)
		return WET_ERR_INVALID;
	if (strcmp(p, "stock") == 0) {
		mix->stock_milli = 1000;
		mix->water_milli = 0;
		return WET_OK;
	}
	if (!take_number(&p, 3, &stock) || *p++ != '+' || !take_number(&p, 4, &water) || *p)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "parts of stock and parts of water, \"1+9\", or \"stock\" for none");
	mix->stock_milli = stock * 1000;
	mix->water_milli = water * 1000;
	return WET_OK;
}

static int read_capacity(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_bath_mix *mix = object;
	enum wet_fixer_regime regime;
	int64_t milli;
	const char *text = wet_reader_string(r, value), *p = text;
	(void)field;
	if (text == NULL)
		return WET_ERR_INVALID;
	if (wet_fixer_regime_from_word(text, &regime, NULL) == 0) {
		wet_text_copy(mix->regime, sizeof mix->regime, text);
		return wet_fixer_capacity(regime, WET_EMULSION_PAPER, &mix->capacity_mm2_per_l, NULL);
	}
	if (!take_decimal(&p, &milli) || strcmp(p, " m2/L") != 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "square metres of paper a litre, \"0.55 m2/L\", or a regime of fixing: \"two-bath\", "
							   "\"single-bath archival\", ...");
	mix->capacity_mm2_per_l = milli * 1000;
	return WET_OK;
}

static int read_span(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const struct {
		const char *word;
		int64_t ns;
	} units[] = { { " hour", HOUR_NS },		  { " hours", HOUR_NS },		  { " day", 24 * HOUR_NS },
				  { " days", 24 * HOUR_NS }, { " month", 720 * HOUR_NS }, { " months", 720 * HOUR_NS } };
	int64_t n;
	const char *text = wet_reader_string(r, value), *p = text;
	if (text == NULL)
		return WET_ERR_INVALID;
	for (size_t i = 0; take_number(&p, 4, &n) && i < COUNT(units); i++, p = text) {
		if (strcmp(p, units[i].word) != 0)
			continue;
		int64_t ns = n > SPAN_NS_MAX / units[i].ns ? SPAN_NS_MAX : n * units[i].ns; /* for ever, to a solution */
		memcpy((char *)object + field->offset, &ns, sizeof ns);
		return WET_OK;
	}
	return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "\"8 hours\", \"60 days\" or \"6 months\" (of 30 days)");
}

static int read_least_stock(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t ml;
	const char *p = wet_reader_string(r, value);
	(void)field;
	if (p == NULL)
		return WET_ERR_INVALID;
	if (!take_number(&p, 5, &ml) || strcmp(p, " mL/m2") != 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "stock for a square metre of paper: \"60 mL/m2\"");
	((struct wet_bath_mix *)object)->least_stock_ul_per_m2 = ml * 1000;
	return WET_OK;
}

static const struct field fields[] = {
	{ "from", wet_read_text, FIELD_NEEDED, offsetof(struct wet_bath_mix, from), WET_NAME_BYTES },
	{ "dilution", read_dilution, FIELD_NEEDED | FIELD_SOURCED, 0, 0 },
	{ "capacity", read_capacity, FIELD_NEEDED | FIELD_SOURCED, 0, 0 },
	{ "keeps", read_span, FIELD_NEEDED | FIELD_SOURCED, offsetof(struct wet_bath_mix, keeps_ns), 0 },
	{ "stock_keeps", read_span, FIELD_NEEDED | FIELD_SOURCED, offsetof(struct wet_bath_mix, stock_keeps_ns), 0 },
	{ "least_stock", read_least_stock, FIELD_SOURCED, 0, 0 },
	{ "mix_lots", wet_read_bool, 0, offsetof(struct wet_bath_mix, may_mix_lots), sizeof(bool) },
	{ "source", NULL, FIELD_NEEDED, 0, 0 },
};

int wet_read_mix(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return wet_reader_object(r, value, fields, COUNT(fields), "a mix", (char *)object + field->offset);
}
