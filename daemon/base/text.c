/* text.c: fixed-size text. */
#include "base/text.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* Ends the text before a character that was cut: walks back over continuation bytes to its lead. */
static void end_at_character(char *text)
{
	size_t n = strlen(text), i = n;
	while (i > 0 && n - i < 4 && ((unsigned char)text[i - 1] & 0xC0u) == 0x80u)
		i--;
	if (i == 0)
		return;
	unsigned char lead = (unsigned char)text[i - 1];
	size_t need = lead < 0x80u ? 1 : lead >= 0xF0u ? 4 : lead >= 0xE0u ? 3 : lead >= 0xC0u ? 2 : 1;
	if (n - (i - 1) < need)
		text[i - 1] = '\0';
}

char *wet_text_copy(char *dst, size_t dst_bytes, const char *src)
{
	if (dst_bytes == 0)
		return dst;
	size_t n = strlen(src);
	if (n < dst_bytes) {
		memmove(dst, src, n + 1);
		return dst;
	}
	memmove(dst, src, dst_bytes - 1);
	dst[dst_bytes - 1] = '\0';
	end_at_character(dst);
	return dst;
}

char *wet_text_vformat(char *dst, size_t dst_bytes, const char *format, va_list ap)
{
	if (dst_bytes == 0)
		return dst;
	int n = vsnprintf(dst, dst_bytes, format, ap);
	if (n < 0)
		dst[0] = '\0';
	else if ((size_t)n >= dst_bytes)
		end_at_character(dst);
	return dst;
}

char *wet_text_format(char *dst, size_t dst_bytes, const char *format, ...)
{
	va_list ap;
	va_start(ap, format);
	wet_text_vformat(dst, dst_bytes, format, ap);
	va_end(ap);
	return dst;
}

char *wet_text_append(char *dst, size_t dst_bytes, const char *format, ...)
{
	const char *nul = memchr(dst, 0, dst_bytes);
	size_t n = nul ? (size_t)(nul - dst) : dst_bytes;
	va_list ap;
	if (n >= dst_bytes)
		return dst;
	va_start(ap, format);
	wet_text_vformat(dst + n, dst_bytes - n, format, ap);
	va_end(ap);
	return dst;
}

/* One well-formed character (Unicode 15, table 3-7): its bytes and code point; 0: not well-formed. */
static size_t decode(const unsigned char *s, size_t n, uint32_t *ret_code)
{
	if (n == 0)
		return 0;
	if (s[0] < 0x80u) {
		*ret_code = s[0];
		return 1;
	}
	size_t need = s[0] >= 0xF0u ? 4 : s[0] >= 0xE0u ? 3 : 2;
	if (s[0] < 0xC2u || s[0] > 0xF4u || n < need)
		return 0;
	uint32_t code = s[0] & (need == 2 ? 0x1Fu : need == 3 ? 0x0Fu : 0x07u);
	for (size_t i = 1; i < need; i++) {
		if ((s[i] & 0xC0u) != 0x80u)
			return 0;
		code = code << 6 | (s[i] & 0x3Fu);
	}
	if ((need == 3 && code < 0x800u) || (need == 4 && (code < 0x10000u || code > 0x10FFFFu)) ||
		(code >= 0xD800u && code <= 0xDFFFu))
		return 0;
	*ret_code = code;
	return need;
}

static bool is_unsafe(uint32_t c)
{
	return c < 0x20u || (c >= 0x7Fu && c <= 0x9Fu) || c == 0x061Cu || c == 0x200Eu || c == 0x200Fu ||
		   (c >= 0x2028u && c <= 0x202Eu) || (c >= 0x2066u && c <= 0x2069u) || c == 0xFEFFu ||
		   (c >= 0xE0000u && c <= 0xE007Fu);
}

char *wet_text_clean(char *dst, size_t dst_bytes, const char *src)
{
	size_t n = strlen(src), in = 0, out = 0;
	if (dst_bytes == 0)
		return dst;
	while (in < n) {
		uint32_t code = 0;
		size_t got = decode((const unsigned char *)src + in, n - in, &code);
		size_t take = got ? got : 1;
		bool bad = got == 0 || is_unsafe(code);
		size_t put = bad ? 1 : take;
		if (out + put >= dst_bytes)
			break;
		if (bad)
			dst[out] = '?';
		else
			memmove(dst + out, src + in, take); /* out never passes in: dst may be src */
		out += put;
		in += take;
	}
	dst[out] = '\0';
	return dst;
}

bool wet_text_is_utf8(const char *bytes, size_t n)
{
	for (size_t i = 0; i < n;) {
		uint32_t code;
		size_t got = decode((const unsigned char *)bytes + i, n - i, &code);
		if (got == 0 || code == 0)
			return false;
		i += got;
	}
	return true;
}
