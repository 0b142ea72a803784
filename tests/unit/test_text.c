/* Fixed-size text: always ended, cut at a character, safe for a terminal. */
#include "base/text.h"

#include <criterion/criterion.h>
#include <stdint.h>
#include <string.h>

/* One character of each length in UTF-8, and an ASCII one between. */
static const char mixed[] = "a\xC3\xA9"
							"b\xE2\x82\xAC"
							"c\xF0\x9D\x84\x9E"
							"d";

Test(text, a_copy_is_cut_at_a_character_for_every_size)
{
	for (size_t size = 0; size <= sizeof mixed + 2; size++) {
		char buf[32];
		memset(buf, '#', sizeof buf);
		cr_assert_eq(wet_text_copy(buf, size, mixed), buf);
		cr_assert_eq(buf[size], '#', "nothing is written past %zu bytes", size);
		if (size == 0)
			continue;
		size_t n = strlen(buf);
		cr_assert_lt(n, size);
		cr_assert_eq(strncmp(buf, mixed, n), 0);
		cr_assert(wet_text_is_utf8(buf, n), "size %zu", size);
		/* No more is lost than the character that did not fit. */
		cr_assert(n == sizeof mixed - 1 || n + 4 >= size - 1);
		size_t whole = strlen(mixed);
		for (size_t cut = size - 1 < whole ? size - 1 : whole; cut > n; cut--)
			cr_assert_eq((unsigned char)mixed[cut] & 0xC0u, 0x80u, "size %zu: %zu bytes would have fitted",
						 size, cut);
	}
}

Test(text, a_copy_onto_itself_changes_nothing)
{
	char buf[16] = "abc";
	wet_text_copy(buf, sizeof buf, buf);
	cr_assert_str_eq(buf, "abc");
	wet_text_copy(buf, sizeof buf, buf + 1);
	cr_assert_str_eq(buf, "bc");
}

Test(text, format_and_append_stay_inside)
{
	for (size_t size = 0; size < 24; size++) {
		char buf[32];
		memset(buf, '#', sizeof buf);
		wet_text_format(buf, size, "%d ", 42);
		if (size > 0)
			wet_text_append(buf, size, "%s", mixed);
		cr_assert_eq(buf[size], '#', "%zu", size);
		if (size > 0)
			cr_assert(wet_text_is_utf8(buf, strlen(buf)), "%zu", size);
	}
	char buf[32];
	wet_text_format(buf, sizeof buf, "%s", "one");
	wet_text_append(buf, sizeof buf, ", %s", "two");
	cr_assert_str_eq(buf, "one, two");
	memset(buf, '#', 4); /* no NUL in the size that is told: nothing to append to */
	wet_text_append(buf, 4, "x");
	cr_assert_eq(strncmp(buf, "####", 4), 0);
}

/* The Unicode Standard 15, section 3.9, table 3-7 "Well-Formed UTF-8 Byte Sequences"; the sequences are the
 * borders of its rows, and the ill-formed ones of its discussion (C0 AF, E0 9F 80, F4 90 80 80,
 * surrogates). */
Test(text, well_formed_is_what_the_standard_says)
{
	static const char *const good[] = { "",
										"\x7F",
										"\xC2\x80",
										"\xDF\xBF",
										"\xE0\xA0\x80",
										"\xE0\xBF\xBF",
										"\xE1\x80\x80",
										"\xEC\xBF\xBF",
										"\xED\x80\x80",
										"\xED\x9F\xBF",
										"\xEE\x80\x80",
										"\xEF\xBF\xBF",
										"\xF0\x90\x80\x80",
										"\xF0\xBF\xBF\xBF",
										"\xF1\x80\x80\x80",
										"\xF3\xBF\xBF\xBF",
										"\xF4\x80\x80\x80",
										"\xF4\x8F\xBF\xBF" };
	static const char *const bad[] = { "\x80",
									   "\xBF",
									   "\xC0\xAF",
									   "\xC1\xBF",
									   "\xC2",
									   "\xC2\x7F",
									   "\xC2\xC0",
									   "\xE0\x9F\x80",
									   "\xE0\xA0",
									   "\xE1\x80",
									   "\xED\xA0\x80",
									   "\xED\xBF\xBF",
									   "\xF0\x8F\xBF",
									   "\xF0\x80\x80",
									   "\xF0\x8F\xBF\xBF",
									   "\xF4\x90\x80\x80",
									   "\xF5\x80\x80",
									   "\xFE",
									   "\xFF",
									   "ok\xE2\x82" };
	for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
		cr_assert(wet_text_is_utf8(good[i], strlen(good[i])), "good %zu", i);
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		cr_assert_not(wet_text_is_utf8(bad[i], strlen(bad[i])), "bad %zu", i);
	cr_assert_not(wet_text_is_utf8("a\0b", 3), "a NUL inside");
	cr_assert(wet_text_is_utf8("a\0b", 1));
}

static void put(char *out, uint32_t c)
{
	char *p = out;
	if (c < 0x80)
		*p++ = (char)c;
	else if (c < 0x800)
		*p++ = (char)(0xC0 | c >> 6);
	else if (c < 0x10000)
		*p++ = (char)(0xE0 | c >> 12), *p++ = (char)(0x80 | (c >> 6 & 0x3F));
	else
		*p++ = (char)(0xF0 | c >> 18), *p++ = (char)(0x80 | (c >> 12 & 0x3F)),
		*p++ = (char)(0x80 | (c >> 6 & 0x3F));
	if (c >= 0x80)
		*p++ = (char)(0x80 | (c & 0x3F));
	*p = '\0';
}

/* Control characters: ECMA-48 (C0, C1, DEL). Bidirectional controls: Unicode Standard Annex 9, section 2. */
Test(text, what_could_steer_a_terminal_is_replaced)
{
	static const uint32_t unsafe[] = { 0x1B,   0x07,   0x0A,   0x0D,   0x7F,   0x80,   0x9B,    0x9F,
									   0x61C,  0x200E, 0x200F, 0x2028, 0x2029, 0x202A, 0x202E,  0x2066,
									   0x2069, 0xFEFF, 0x01,   0x1F,   0x85,   0x2067, 0xE0001, 0xE007F };
	static const uint32_t safe[] = { 0x20,   0x7E,   0xA0,   0xB0,   0x61B,  0x2027,
									 0x202F, 0x2065, 0x206A, 0x20AC, 0x1D11E };
	char in[16], out[16];
	for (size_t i = 0; i < sizeof unsafe / sizeof unsafe[0]; i++) {
		put(in, unsafe[i]);
		cr_assert_str_eq(wet_text_clean(out, sizeof out, in), "?", "U+%04X", unsafe[i]);
	}
	for (size_t i = 0; i < sizeof safe / sizeof safe[0]; i++) {
		put(in, safe[i]);
		cr_assert_str_eq(wet_text_clean(out, sizeof out, in), in, "U+%04X", safe[i]);
	}
}

Test(text, cleaning_works_in_place_and_never_grows)
{
	char buf[64] = "a\x1B[31m\xC3\xA9\xE2\x80\xAE\xFF\xC3z";
	cr_assert_str_eq(wet_text_clean(buf, sizeof buf, buf), "a?[31m\xC3\xA9???z");
	for (size_t size = 1; size < 20; size++) {
		char out[32];
		memset(out, '#', sizeof out);
		wet_text_clean(out, size, mixed);
		cr_assert_eq(out[size], '#');
		cr_assert(wet_text_is_utf8(out, strlen(out)));
		cr_assert_eq(strncmp(out, mixed, strlen(out)), 0);
	}
}
