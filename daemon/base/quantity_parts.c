/* quantity_parts.c: strengths, parts and rates as people type them. */
#include "base/number.h"
#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>

/* A number and the sign of percent after it, in thousandths; the reader stands behind the sign. */
static int read_percent(struct reader *r, int64_t high_milli, struct number *ret_value)
{
	struct number v;
	int rc = number_read(r, &v);
	if (rc != 0)
		return rc;
	if (reader_at_end(r))
		return reader_fail(r, WET_ERR_UNIT_MISSING);
	if (*r->p != '%')
		return reader_fail(r, WET_ERR_UNIT_WRONG);
	r->p++;
	if (v.top < 0 || number_is_over(v, 1000, 1, high_milli))
		return reader_fail(r, WET_ERR_RANGE);
	*ret_value = v;
	return WET_OK;
}

int wet_parse_percent(const char *text, int32_t *ret_percent_milli, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a strength in percent, as in 28 % or 0.5 %, up to 100 %" };
	struct number v;
	int rc = read_percent(&r, 100000, &v);
	if (rc != 0)
		return rc;
	if (!reader_at_end(&r))
		return reader_fail(&r, WET_ERR_UNIT_WRONG);
	*ret_percent_milli = (int32_t)number_times(v, 1000, 1);
	return WET_OK;
}

static const char *const kind_texts[] = {
	[WET_PERCENT_UNSAID] = "", [WET_PERCENT_WV] = "w/v", [WET_PERCENT_VV] = "v/v", [WET_PERCENT_WW] = "w/w"
};

int wet_parse_strength(const char *text, struct wet_strength *ret_strength, struct wet_fault *reterr)
{
	struct reader r = {
		text, text, reterr,
		"a strength over nothing, as in 28 %, 28 % w/w or 10 % v/v, up to 100 % (w/v 200 %)"
	};
	struct number v;
	int rc = read_percent(&r, 200000, &v);
	if (rc != 0)
		return rc;
	enum wet_percent_kind kind = WET_PERCENT_UNSAID;
	for (enum wet_percent_kind k = WET_PERCENT_WV; k <= WET_PERCENT_WW; k++)
		if (reader_rest_is(&r, kind_texts[k], true))
			kind = k;
	if (kind == WET_PERCENT_UNSAID && !reader_at_end(&r))
		return reader_fail(&r, WET_ERR_UNIT_WRONG);
	int64_t milli = number_times(v, 1000, 1);
	if (milli == 0 || (kind != WET_PERCENT_WV && milli > 100000))
		return reader_fail(&r, WET_ERR_RANGE);
	*ret_strength = (struct wet_strength){ (int32_t)milli, kind };
	return WET_OK;
}

char *wet_print_strength(struct wet_strength strength, char *buf, unsigned buf_bytes)
{
	wet_print_percent(strength.milli, buf, buf_bytes);
	return wet_text_append(buf, buf_bytes, "%s%s", strength.kind == WET_PERCENT_UNSAID ? "" : " ",
						   kind_texts[strength.kind]);
}

#define PARTS_MILLI_MAX 100000000

/* One part in thousandths, 0 (where allowed) .. PARTS_MILLI_MAX. Under half a thousandth is no part. */
static int read_part(struct reader *r, bool may_be_zero, int64_t *ret_milli)
{
	struct number v;
	reader_skip_blanks(r);
	if (*r->p == '+')
		return reader_fail(r, WET_ERR_INVALID); /* "1++9": a part was left out */
	int rc = number_read(r, &v);
	if (rc != 0)
		return rc;
	if (v.top < 0 || number_is_over(v, 1000, 1, PARTS_MILLI_MAX))
		return reader_fail(r, WET_ERR_RANGE);
	int64_t milli = number_times(v, 1000, 1);
	if (milli == 0 && !(may_be_zero && v.top == 0))
		return reader_fail(r, WET_ERR_RANGE);
	*ret_milli = milli;
	reader_skip_blanks(r);
	return WET_OK;
}

/* "a:b"; the reader stands behind the colon. */
static int read_colon(struct reader *r, int64_t a, struct wet_parts ret_readings[2])
{
	int64_t b;
	int rc = read_part(r, false, &b);
	if (rc != 0)
		return rc;
	if (!reader_at_end(r) || b < a)
		return reader_fail(r, WET_ERR_INVALID);
	ret_readings[0] = (struct wet_parts){ 2, { a, b } };
	ret_readings[1] = (struct wet_parts){ 2, { a, b - a } };
	return WET_OK;
}

static int ask_colon(struct reader *r, int64_t a)
{
	struct wet_parts readings[2];
	char parts[48], whole[48];
	int rc = read_colon(r, a, readings);
	if (rc != 0)
		return rc;
	return wet_fault_set(
		r->fault, WET_ERR_AMBIGUOUS, "", r->text,
		"write %s (parts and parts) or %s (parts in the whole%s): the trade uses it for both",
		wet_print_parts(&readings[0], parts, sizeof parts),
		wet_print_parts(&readings[1], whole, sizeof whole),
		readings[1].milli[1] == 0 ? ", which is the stock itself" : "");
}

static const char parts_wanted[] = "parts, as in 1+9 (one part of stock and nine of water) or 1+1+10";

int wet_parse_parts(const char *text, struct wet_parts *ret_parts, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, parts_wanted };
	struct wet_parts parts = { 0, { 0 } };
	for (;;) {
		if (parts.count == WET_PARTS)
			return reader_fail(&r, WET_ERR_TOO_MANY);
		int rc = read_part(&r, parts.count > 0, &parts.milli[parts.count]);
		if (rc != 0)
			return rc;
		parts.count++;
		if (parts.count == 1 && *r.p == ':') {
			r.p++;
			return ask_colon(&r, parts.milli[0]);
		}
		if (*r.p != '+')
			break;
		if (parts.milli[parts.count - 1] == 0)
			return reader_fail(&r, WET_ERR_RANGE); /* only the water may be none */
		r.p++;
	}
	if (!reader_at_end(&r) || parts.count < 2)
		return reader_fail(&r, WET_ERR_INVALID);
	*ret_parts = parts;
	return WET_OK;
}

int wet_parse_dilution(const char *text, int64_t *ret_a_milli, int64_t *ret_b_milli, struct wet_fault *reterr)
{
	struct wet_parts parts;
	int rc = wet_parse_parts(text, &parts, reterr);
	if (rc != 0)
		return rc;
	if (parts.count != 2)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "two parts, as in 1+9");
	*ret_a_milli = parts.milli[0];
	*ret_b_milli = parts.milli[1];
	return WET_OK;
}

int wet_parse_colon(const char *text, struct wet_parts ret_readings[2], struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "two numbers with a colon, the second no less, as in 1:9" };
	int64_t a;
	int rc = read_part(&r, false, &a);
	if (rc != 0)
		return rc;
	if (*r.p != ':')
		return reader_fail(&r, WET_ERR_INVALID);
	r.p++;
	return read_colon(&r, a, ret_readings);
}

char *wet_print_parts(const struct wet_parts *parts, char *buf, unsigned buf_bytes)
{
	char part[48];
	wet_print_dilution(parts->milli[0], parts->milli[1], buf, buf_bytes);
	for (uint32_t i = 2; i < parts->count; i++) {
		wet_print_dilution(0, parts->milli[i], part, sizeof part); /* "0+10" */
		wet_text_append(buf, buf_bytes, "%s", part + 1);
	}
	return buf;
}

int wet_read_number(const char *text, double *ret_value, const char **ret_rest, struct wet_fault *reterr)
{
	char word[48];
	size_t n = strcspn(text, " \t");
	struct reader r = { word, word, reterr, "a number, as in 8, 0.3 or 1/60" };
	struct number v;
	if (n >= sizeof word)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "", text, "%s", r.want);
	wet_text_copy(word, n + 1, text);
	int rc = number_read(&r, &v);
	if (rc != 0)
		return rc;
	*ret_value = number_double(v);
	*ret_rest = text + (r.p - word);
	return WET_OK;
}

int wet_parse_rate(const char *text, uint32_t *ret_rate_milli, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "how many times faster, from 0.001 to 1000, as in 20" };
	struct number v;
	int rc = number_read(&r, &v);
	if (rc != 0)
		return rc;
	if (!reader_at_end(&r))
		return reader_fail(&r, WET_ERR_INVALID);
	if (v.top * 1000 < v.bottom || number_is_over(v, 1000, 1, 1000000))
		return reader_fail(&r, WET_ERR_RANGE);
	*ret_rate_milli = (uint32_t)number_times(v, 1000, 1);
	return WET_OK;
}
