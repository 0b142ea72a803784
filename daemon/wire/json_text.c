#include "wire/json_text.h"

#include "wire/memory.h"
#include "wire/rpc.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DUMP_FLAGS (JSON_COMPACT | JSON_ENSURE_ASCII | JSON_ENCODE_ANY)

/* jansson 2.14 json_dumps ignores a failed write of a key, so it can return corrupt text when memory fails.
 * json_dumpb writes into our buffer, where no write can fail; its own allocations (one set of parents a
 * container) fail cleanly. */
int wet_json_text(const json_t *json, char **ret_text, size_t *ret_bytes)
{
	size_t n, written;
	char *text;

	if (!json)
		return WET_ERR_NOMEM;
	n = json_dumpb(json, NULL, 0, DUMP_FLAGS);
	if (n == 0)
		return WET_ERR_NOMEM;
	text = wet_wire_malloc(n + 1);
	if (!text)
		return WET_ERR_NOMEM;
	written = json_dumpb(json, text, n, DUMP_FLAGS);
	if (written != n) {
		wet_wire_free(text);
		return WET_ERR_NOMEM;
	}
	text[n] = '\0';
	*ret_text = text;
	*ret_bytes = n;
	return 0;
}

/* One character of well-formed UTF-8 (RFC 3629): its length in bytes, 0 if it is not well-formed. */
static size_t decode_character(const unsigned char *s, size_t n, unsigned *ret_code)
{
	static const unsigned least[5] = { 0, 0, 0x80, 0x800, 0x10000 };
	size_t length = s[0] < 0x80   ? 1
					: s[0] < 0xC2 ? 0
					: s[0] < 0xE0 ? 2
					: s[0] < 0xF0 ? 3
					: s[0] < 0xF5 ? 4
								  : 0;
	unsigned code;

	if (length == 0 || length > n)
		return 0;
	code = length == 1 ? s[0] : s[0] & (0x7Fu >> length);
	for (size_t i = 1; i < length; i++) {
		if ((s[i] & 0xC0) != 0x80)
			return 0;
		code = code << 6 | (s[i] & 0x3Fu);
	}
	if (code < least[length] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
		return 0;
	*ret_code = code;
	return length;
}

static size_t write_unit(char *dst, unsigned unit)
{
	static const char digits[] = "0123456789abcdef";

	dst[0] = '\\';
	dst[1] = 'u';
	for (unsigned i = 0; i < 4; i++)
		dst[2 + i] = digits[unit >> (12 - 4 * i) & 15];
	return 6;
}

static size_t write_character(char *dst, unsigned code)
{
	static const char from[] = "\"\\\b\f\n\r\t", to[] = "\"\\bfnrt";
	const char *special = code > 0 && code < 0x80 ? strchr(from, (int)code) : NULL;

	if (special) {
		dst[0] = '\\';
		dst[1] = to[special - from];
		return 2;
	}
	if (code >= 0x20 && code < 0x7F) {
		dst[0] = (char)code;
		return 1;
	}
	if (code < 0x10000)
		return write_unit(dst, code);
	code -= 0x10000;
	(void)write_unit(dst, 0xD800 | code >> 10);
	(void)write_unit(dst + 6, 0xDC00 | (code & 0x3FF));
	return 12;
}

size_t wet_json_escape(char *dst, size_t dst_bytes, const char *text, size_t n)
{
	size_t at = 0, used = 0;

	if (dst_bytes < 3)
		return 0;
	dst[used++] = '"';
	while (at < n) {
		char one[12];
		unsigned code = 0;
		size_t in = decode_character((const unsigned char *)text + at, n - at, &code);
		size_t out = in > 0 ? write_character(one, code) : 0;

		if (in == 0 || used + out + 2 > dst_bytes)
			return 0;
		memcpy(dst + used, one, out);
		used += out;
		at += in;
	}
	dst[used++] = '"';
	dst[used] = '\0';
	return used;
}

/* 15 digits read back as the same number for most, 17 for all of binary64 (IEEE 754). */
static size_t write_real(char *dst, size_t dst_bytes, double value)
{
	for (int digits = 15; digits <= 17; digits++) {
		int n = snprintf(dst, dst_bytes, "%.*g", digits, value);

		if (n <= 0 || (size_t)n >= dst_bytes)
			return 0;
		/* The same bits: a zero keeps its sign. */
		double back = strtod(dst, NULL);
		if (digits == 17 || memcmp(&back, &value, sizeof value) == 0) {
			/* A real stays a real: "1" would read back as an integer. */
			if (!strpbrk(dst, ".e")) {
				if ((size_t)n + 3 > dst_bytes)
					return 0;
				memcpy(dst + n, ".0", 3);
				n += 2;
			}
			return (size_t)n;
		}
	}
	return 0;
}

size_t wet_json_scalar(char *dst, size_t dst_bytes, const json_t *json)
{
	int n;

	switch (json_typeof(json)) {
	case JSON_STRING:
		return wet_json_escape(dst, dst_bytes, json_string_value(json), json_string_length(json));
	case JSON_REAL: return write_real(dst, dst_bytes, json_real_value(json));
	case JSON_INTEGER: n = snprintf(dst, dst_bytes, "%lld", (long long)json_integer_value(json)); break;
	case JSON_NULL: n = snprintf(dst, dst_bytes, "null"); break;
	default: return 0;
	}
	return n > 0 && (size_t)n < dst_bytes ? (size_t)n : 0;
}
