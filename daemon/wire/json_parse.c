/* json_parse.c: RFC 8259 text to jansson values.
 *
 * Why not json_loadb: the lexer of jansson 2.14 drops a byte of a token without a word when the token's
 * buffer cannot grow (src/load.c, lex_save ignores the result), so that a number can lose a digit, or the
 * closing quote of a string be overrun, when memory fails. Here every allocation is checked, and depth and
 * bytes are counted before it is made. The verdicts are those of json_loadb with JSON_REJECT_DUPLICATES; a
 * test compares the two. */
#include "base/text.h"
#include "wire/memory.h"
#include "wire/rpc.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PARSE_DEPTH_MAX 64   /* of any caller: each level is a stack frame */
#define NUMBER_BYTES_MAX 512 /* a longer number is a mistake or an attack */

struct parser {
	const char *start, *at, *end;
	size_t depth_max;
	char *scratch; /* decoded strings, used as a stack: keys of the open objects, then the string at hand */
	size_t scratch_n;
	struct wet_fault *fault;
};

static int parse_value(struct parser *p, size_t depth, json_t **ret_json);

static int refuse(struct parser *p, int err, const char *want)
{
	char where[32], found[48];
	size_t left = (size_t)(p->end - p->at), n = left < 24 ? left : 24;

	(void)wet_text_format(where, sizeof where, "byte %zu", (size_t)(p->at - p->start) + 1);
	while (n > 0 && n < left && ((unsigned char)p->at[n] & 0xC0) == 0x80)
		n--; /* not in the middle of a character */
	memcpy(found, p->at, n);
	found[n] = '\0';
	return wet_fault_set(p->fault, err, where, n > 0 ? found : "the end", "%s", want);
}

static void skip_blanks(struct parser *p)
{
	while (p->at < p->end && (*p->at == ' ' || *p->at == '\t' || *p->at == '\n' || *p->at == '\r'))
		p->at++;
}

static bool is_digit(const struct parser *p, const char *at)
{
	return at < p->end && *at >= '0' && *at <= '9';
}

/* -- strings -------------------------------------------------------------- */

static int parse_unit(struct parser *p, unsigned *ret_unit)
{
	unsigned unit = 0;

	if (p->end - p->at < 6 || p->at[0] != '\\' || p->at[1] != 'u')
		return refuse(p, WET_ERR_PARSE, "\\u and four hexadecimal digits");
	for (int i = 2; i < 6; i++) {
		char c = p->at[i];
		unsigned digit = c >= '0' && c <= '9'   ? (unsigned)(c - '0')
						 : c >= 'a' && c <= 'f' ? (unsigned)(c - 'a') + 10
						 : c >= 'A' && c <= 'F' ? (unsigned)(c - 'A') + 10
												: 16;
		if (digit == 16)
			return refuse(p, WET_ERR_PARSE, "\\u and four hexadecimal digits");
		unit = unit << 4 | digit;
	}
	p->at += 6;
	*ret_unit = unit;
	return 0;
}

static void push_character(struct parser *p, unsigned code)
{
	unsigned char *to = (unsigned char *)p->scratch + p->scratch_n;

	if (code < 0x80) {
		to[0] = (unsigned char)code;
		p->scratch_n += 1;
	} else if (code < 0x800) {
		to[0] = (unsigned char)(0xC0 | code >> 6);
		to[1] = (unsigned char)(0x80 | (code & 0x3F));
		p->scratch_n += 2;
	} else if (code < 0x10000) {
		to[0] = (unsigned char)(0xE0 | code >> 12);
		to[1] = (unsigned char)(0x80 | (code >> 6 & 0x3F));
		to[2] = (unsigned char)(0x80 | (code & 0x3F));
		p->scratch_n += 3;
	} else {
		to[0] = (unsigned char)(0xF0 | code >> 18);
		to[1] = (unsigned char)(0x80 | (code >> 12 & 0x3F));
		to[2] = (unsigned char)(0x80 | (code >> 6 & 0x3F));
		to[3] = (unsigned char)(0x80 | (code & 0x3F));
		p->scratch_n += 4;
	}
}

static int parse_unicode_escape(struct parser *p)
{
	unsigned code, low;
	int rc;

	if ((rc = parse_unit(p, &code)) != 0)
		return rc;
	if (code >= 0xD800 && code <= 0xDBFF) {
		if ((rc = parse_unit(p, &low)) != 0)
			return rc;
		if (low < 0xDC00 || low > 0xDFFF)
			return refuse(p, WET_ERR_PARSE, "a low surrogate after a high one");
		code = 0x10000 + ((code & 0x3FF) << 10 | (low & 0x3FF));
	} else if (code >= 0xDC00 && code <= 0xDFFF) {
		return refuse(p, WET_ERR_PARSE, "no low surrogate by itself");
	} else if (code == 0) {
		return refuse(p, WET_ERR_PARSE, "no U+0000 in a text");
	}
	push_character(p, code);
	return 0;
}

static int parse_escape(struct parser *p)
{
	static const char from[] = "\"\\/bfnrt", to[] = "\"\\/\b\f\n\r\t";
	const char *special;

	if (p->end - p->at < 2)
		return refuse(p, WET_ERR_PARSE, "an escape such as \\n");
	if (p->at[1] == 'u')
		return parse_unicode_escape(p);
	special = p->at[1] ? strchr(from, p->at[1]) : NULL;
	if (!special)
		return refuse(p, WET_ERR_PARSE, "an escape such as \\n");
	p->scratch[p->scratch_n++] = to[special - from];
	p->at += 2;
	return 0;
}

/* Decodes the string at hand onto the scratch stack with a NUL. Never longer than its text: it fits. */
static int parse_string(struct parser *p, const char **ret_text, size_t *ret_n)
{
	size_t begin = p->scratch_n;
	int rc;

	p->at++; /* the quote */
	for (;;) {
		if (p->at == p->end)
			return refuse(p, WET_ERR_PARSE, "a quote at the end of the text");
		if (*p->at == '"')
			break;
		if ((unsigned char)*p->at < 0x20)
			return refuse(p, WET_ERR_PARSE, "control bytes escaped in a text");
		if (*p->at == '\\') {
			if ((rc = parse_escape(p)) != 0)
				return rc;
		} else {
			p->scratch[p->scratch_n++] = *p->at++;
		}
	}
	p->at++;
	*ret_text = p->scratch + begin;
	*ret_n = p->scratch_n - begin;
	p->scratch[p->scratch_n++] = '\0';
	return 0;
}

/* -- numbers and words ---------------------------------------------------- */

/* number = [ "-" ] int [ frac ] [ exp ] (RFC 8259 section 6) */
static int scan_number(struct parser *p, const char **ret_end, bool *ret_is_real)
{
	const char *at = p->at;
	bool is_real = false;

	if (at < p->end && *at == '-')
		at++;
	if (!is_digit(p, at))
		return refuse(p, WET_ERR_PARSE, "a value");
	if (*at == '0')
		at++;
	else
		while (is_digit(p, at))
			at++;
	if (is_digit(p, at))
		return refuse(p, WET_ERR_PARSE, "no zero in front of a number");
	if (at < p->end && *at == '.') {
		is_real = true;
		at++;
		if (!is_digit(p, at))
			return refuse(p, WET_ERR_PARSE, "a digit after the decimal point");
		while (is_digit(p, at))
			at++;
	}
	if (at < p->end && (*at == 'e' || *at == 'E')) {
		is_real = true;
		at++;
		if (at < p->end && (*at == '+' || *at == '-'))
			at++;
		if (!is_digit(p, at))
			return refuse(p, WET_ERR_PARSE, "a digit in the exponent");
		while (is_digit(p, at))
			at++;
	}
	*ret_end = at;
	*ret_is_real = is_real;
	return 0;
}

static int parse_number(struct parser *p, json_t **ret_json)
{
	char text[NUMBER_BYTES_MAX + 1];
	const char *end = p->at;
	bool is_real = false;
	json_t *json;
	int rc;

	if ((rc = scan_number(p, &end, &is_real)) != 0)
		return rc;
	if (end - p->at > NUMBER_BYTES_MAX)
		return refuse(p, WET_ERR_PARSE, "a shorter number");
	memcpy(text, p->at, (size_t)(end - p->at));
	text[end - p->at] = '\0';
	errno = 0;
	if (is_real) {
		double value = strtod(text, NULL);

		if (!isfinite(value))
			return refuse(p, WET_ERR_PARSE, "a number within the range of binary64");
		json = json_real(value);
	} else {
		long long value = strtoll(text, NULL, 10);

		if (errno == ERANGE)
			return refuse(p, WET_ERR_PARSE, "a whole number of at most 64 bits");
		json = json_integer(value);
	}
	if (!json)
		return refuse(p, WET_ERR_NOMEM, "more memory");
	p->at = end;
	*ret_json = json;
	return 0;
}

static bool take_word(struct parser *p, const char *word)
{
	size_t n = strlen(word);

	if ((size_t)(p->end - p->at) < n || memcmp(p->at, word, n) != 0)
		return false;
	p->at += n;
	return true;
}

/* -- containers ----------------------------------------------------------- */

/* After a member: true with *ret_more when a comma or the closing mark was there. */
static int parse_separator(struct parser *p, char close, const char *want, bool *ret_more)
{
	skip_blanks(p);
	if (p->at == p->end || (*p->at != ',' && *p->at != close))
		return refuse(p, WET_ERR_PARSE, want);
	*ret_more = *p->at++ == ',';
	if (*ret_more)
		skip_blanks(p);
	return 0;
}

static int parse_array(struct parser *p, size_t depth, json_t **ret_json)
{
	json_t *array = json_array(), *item = NULL;
	bool more = true;
	int rc = 0;

	if (!array)
		return refuse(p, WET_ERR_NOMEM, "more memory");
	p->at++;
	skip_blanks(p);
	if (p->at < p->end && *p->at == ']') {
		p->at++;
		more = false;
	}
	while (more) {
		if ((rc = parse_value(p, depth, &item)) != 0)
			goto out;
		if (json_array_append_new(array, item) != 0) {
			rc = refuse(p, WET_ERR_NOMEM, "more memory");
			goto out;
		}
		if ((rc = parse_separator(p, ']', "a comma or ]", &more)) != 0)
			goto out;
	}
	*ret_json = array;
out:
	if (rc != 0)
		json_decref(array);
	return rc;
}

static int parse_member(struct parser *p, size_t depth, json_t *object)
{
	size_t mark = p->scratch_n, n;
	json_t *value = NULL;
	const char *key;
	int rc;

	if (p->at == p->end || *p->at != '"')
		return refuse(p, WET_ERR_PARSE, "a name in quotes");
	if ((rc = parse_string(p, &key, &n)) != 0)
		return rc;
	if (json_object_get(object, key))
		return refuse(p, WET_ERR_PARSE, "each name once in an object");
	skip_blanks(p);
	if (p->at == p->end || *p->at != ':')
		return refuse(p, WET_ERR_PARSE, "a colon after the name");
	p->at++;
	skip_blanks(p);
	if ((rc = parse_value(p, depth, &value)) != 0)
		return rc;
	if (json_object_set_new_nocheck(object, key, value) != 0)
		return refuse(p, WET_ERR_NOMEM, "more memory");
	p->scratch_n = mark;
	return 0;
}

static int parse_object(struct parser *p, size_t depth, json_t **ret_json)
{
	json_t *object = json_object();
	bool more = true;
	int rc = 0;

	if (!object)
		return refuse(p, WET_ERR_NOMEM, "more memory");
	p->at++;
	skip_blanks(p);
	if (p->at < p->end && *p->at == '}') {
		p->at++;
		more = false;
	}
	while (more) {
		if ((rc = parse_member(p, depth, object)) != 0)
			goto out;
		if ((rc = parse_separator(p, '}', "a comma or }", &more)) != 0)
			goto out;
	}
	*ret_json = object;
out:
	if (rc != 0)
		json_decref(object);
	return rc;
}

static int parse_text(struct parser *p, json_t **ret_json)
{
	size_t mark = p->scratch_n, n;
	const char *text;
	json_t *json;
	int rc;

	if ((rc = parse_string(p, &text, &n)) != 0)
		return rc;
	json = json_stringn_nocheck(text, n);
	if (!json)
		return refuse(p, WET_ERR_NOMEM, "more memory");
	p->scratch_n = mark;
	*ret_json = json;
	return 0;
}

static int parse_value(struct parser *p, size_t depth, json_t **ret_json)
{
	if (p->at == p->end)
		return refuse(p, WET_ERR_PARSE, "a value");
	switch (*p->at) {
	case '{':
	case '[':
		if (depth == p->depth_max) {
			char want[64];

			(void)wet_text_format(want, sizeof want, "at most %zu levels of nesting", p->depth_max);
			return refuse(p, WET_ERR_TOO_MANY, want);
		}
		return *p->at == '{' ? parse_object(p, depth + 1, ret_json) : parse_array(p, depth + 1, ret_json);
	case '"': return parse_text(p, ret_json);
	case 't':
	case 'f':
	case 'n':
		*ret_json = take_word(p, "true")    ? json_true()
					: take_word(p, "false") ? json_false()
					: take_word(p, "null")  ? json_null()
											: NULL;
		return *ret_json ? 0 : refuse(p, WET_ERR_PARSE, "a value");
	default: return parse_number(p, ret_json);
	}
}

int wet_json_parse(const char *text, size_t n, size_t depth, json_t **ret_json, struct wet_fault *reterr)
{
	struct parser p = {
		.start = text,
		.at = text,
		.end = text + n,
		.depth_max = depth < PARSE_DEPTH_MAX ? depth : PARSE_DEPTH_MAX,
		.fault = reterr,
	};
	json_t *json = NULL;
	int rc;

	if (n > WET_REPLY_BYTES)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "", NULL, "at most %d bytes", WET_REPLY_BYTES);
	if (!wet_text_is_utf8(text, n))
		return wet_fault_set(reterr, WET_ERR_PARSE, "", NULL, "UTF-8 text without NUL");
	skip_blanks(&p);
	if (p.at == p.end || (*p.at != '{' && *p.at != '['))
		return refuse(&p, WET_ERR_PARSE, "an object or an array");
	/* Each string needs its bytes and a NUL, and has two quotes for it. */
	p.scratch = wet_wire_malloc(n + 1);
	if (!p.scratch)
		return refuse(&p, WET_ERR_NOMEM, "more memory");
	rc = parse_value(&p, 0, &json);
	if (rc == 0) {
		skip_blanks(&p);
		if (p.at < p.end) {
			rc = refuse(&p, WET_ERR_PARSE, "nothing after the value");
			json_decref(json);
		}
	}
	wet_wire_free(p.scratch);
	if (rc == 0)
		*ret_json = json;
	return rc;
}
