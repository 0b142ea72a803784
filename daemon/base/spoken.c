/* spoken.c: how a voice says numbers. */
#include "base/spoken.h"

#include "base/text.h"

#include <stdbool.h>
#include <string.h>

char *wet_number_word(int n, char *buf, unsigned buf_bytes)
{
	static const char *const small[] = { "zero",    "one",     "two",       "three",    "four",
										 "five",    "six",     "seven",     "eight",    "nine",
										 "ten",     "eleven",  "twelve",    "thirteen", "fourteen",
										 "fifteen", "sixteen", "seventeen", "eighteen", "nineteen" };
	static const char *const tens[] = { "", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety" };
	if (n < 0 || n > 9999)
		return wet_text_format(buf, buf_bytes, "%d", n);
	wet_text_copy(buf, buf_bytes, "");
	if (n >= 1000)
		wet_text_append(buf, buf_bytes, "%s thousand", small[n / 1000 % 10]);
	if (n / 100 % 10 > 0)
		wet_text_append(buf, buf_bytes, "%s%s hundred", n >= 1000 ? " " : "", small[n / 100 % 10]);
	int rest = n % 100;
	const char *join = n >= 100 && rest > 0 ? " and " : "";
	if (rest >= 20 && rest % 10 > 0)
		wet_text_append(buf, buf_bytes, "%s%s-%s", join, tens[rest / 10], small[rest % 10]);
	else if (rest >= 20)
		wet_text_append(buf, buf_bytes, "%s%s", join, tens[rest / 10]);
	else if (rest > 0 || n == 0)
		wet_text_append(buf, buf_bytes, "%s%s", join, small[rest]);
	return buf;
}

char *wet_ordinal_word(int n, char *buf, unsigned buf_bytes)
{
	static const char *const odd[] = { "", "first",  "second", "third",  "fourth", "fifth",   "sixth",
									   "seventh", "eighth", "ninth",  "tenth",  "eleventh", "twelfth" };
	static const char *const tens[] = { "", "", "twentieth", "thirtieth", "fortieth", "fiftieth", "sixtieth" };
	char ten[24], one[24];
	if (n > 0 && n < 13)
		return wet_text_copy(buf, buf_bytes, odd[n]);
	if (n >= 13 && n < 20)
		return wet_text_format(buf, buf_bytes, "%sth", wet_number_word(n, one, sizeof one));
	if (n >= 20 && n < 70 && n % 10 == 0)
		return wet_text_copy(buf, buf_bytes, tens[n / 10]);
	if (n >= 20 && n < 70)
		return wet_text_format(buf, buf_bytes, "%s-%s", wet_number_word(n / 10 * 10, ten, sizeof ten), odd[n % 10]);
	return wet_text_format(buf, buf_bytes, "%dth", n);
}

/* The sum of its words; then it is held against how that number is said. */
bool wet_number_from_words(const char *text, size_t bytes, int *ret_n)
{
	char words[64], back[64], word[24];
	int n = 0;
	if (bytes == 0 || bytes >= sizeof words)
		return false;
	memcpy(words, text, bytes);
	words[bytes] = '\0';
	if (words[0] >= 'A' && words[0] <= 'Z')
		words[0] = (char)(words[0] - 'A' + 'a');
	for (const char *p = words; *p;) {
		size_t m = strcspn(p, " -");
		wet_text_format(word, sizeof word, "%.*s", (int)(m < sizeof word ? m : sizeof word - 1), p);
		int unit = 0;
		while (unit < 100 && strcmp(wet_number_word(unit, back, sizeof back), word) != 0)
			unit += unit < 20 ? 1 : 10;
		if (strcmp(word, "thousand") == 0)
			n *= 1000;
		else if (strcmp(word, "hundred") == 0)
			n = n / 1000 * 1000 + n % 1000 * 100;
		else if (unit < 100)
			n += unit;
		else if (strcmp(word, "and") != 0)
			return false;
		if (n > 9999)
			return false;
		p += m + (p[m] != '\0');
	}
	*ret_n = n;
	return strcmp(wet_number_word(n, back, sizeof back), words) == 0;
}

bool wet_ordinal_from_word(const char *text, size_t bytes, int *ret_n)
{
	char word[64];
	for (int n = 1; n < 70; n++) {
		wet_ordinal_word(n, word, sizeof word);
		if (strlen(word) == bytes && memcmp(word, text, bytes) == 0) {
			*ret_n = n;
			return true;
		}
	}
	return false;
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

struct saying {
	const char *p; /* what is left */
	char *buf;
	unsigned buf_bytes;
};

static void say(struct saying *s, const char *text)
{
	wet_text_append(s->buf, s->buf_bytes, "%s", text);
}

static void say_number(struct saying *s, int n)
{
	char word[64];
	say(s, wet_number_word(n, word, sizeof word));
}

/* Up to four digits; more: they are left to the voice. */
static bool read_int(const char **io, int *ret)
{
	const char *p = *io;
	int n = 0, digits = 0;
	for (; is_digit(*p); p++, digits++)
		if (digits < 4)
			n = n * 10 + (*p - '0');
	*io = p;
	*ret = n;
	return digits > 0 && digits <= 4;
}

static void say_unit(struct saying *s, int n, const char *one)
{
	say_number(s, n);
	say(s, " ");
	say(s, one);
	say(s, n == 1 ? "" : "s");
}

/* "two minutes ten", "forty seconds", "one hour two minutes" */
static void say_time(struct saying *s, int hours, int minutes, int seconds)
{
	if (hours > 0)
		say_unit(s, hours, "hour");
	if (minutes > 0) {
		say(s, hours > 0 ? " " : "");
		say_unit(s, minutes, "minute");
	}
	if (hours + minutes == 0) {
		say_unit(s, seconds, "second");
	} else if (seconds > 0) {
		say(s, " ");
		say_number(s, seconds);
	}
}

/* "2:10", "1:02:10" */
static bool take_clock(struct saying *s)
{
	int part[3] = { 0 }, n = 0;
	const char *p = s->p;
	for (;;) {
		const char *from = p;
		if (!read_int(&p, &part[n++]) || (n > 1 && p - from != 2))
			return false;
		if (n == 3 || *p != ':' || !is_digit(p[1]))
			break;
		p++;
	}
	if (n < 2 || is_digit(*p))
		return false;
	s->p = p;
	if (n == 3)
		say_time(s, part[0], part[1], part[2]);
	else
		say_time(s, part[0] / 60, part[0] % 60, part[1]);
	return true;
}

/* "2 minutes 10 seconds", any of hours, minutes, seconds in this order. */
static bool take_time(struct saying *s)
{
	static const char *const names[] = { "hour", "minute", "second" };
	int part[3] = { 0 }, next = 0;
	const char *p = s->p, *end = NULL;
	while (next < 3) {
		int n, i;
		if (!read_int(&p, &n) || *p++ != ' ')
			break;
		for (i = next; i < 3 && strncmp(p, names[i], strlen(names[i])) != 0; i++)
			;
		if (i == 3)
			break;
		p += strlen(names[i]);
		p += *p == 's';
		if (is_letter(*p))
			break;
		part[i] = n;
		next = i + 1;
		end = p;
		if (*p++ != ' ')
			break;
	}
	if (!end)
		return false;
	s->p = end;
	say_time(s, part[0], part[1], part[2]);
	return true;
}

/* " C" becomes " degrees" */
static void take_unit(struct saying *s)
{
	static const struct {
		const char *sign, *word;
	} units[] = { { " C", " degrees" },     { " F", " degrees Fahrenheit" }, { " mL", " millilitres" }, { " L", " litres" },
				  { " g", " grams" },       { " kg", " kilograms" },         { " mg", " milligrams" },  { " mm", " millimetres" },
				  { " cm", " centimetres" }, { " in", " inches" },           { " s", " seconds" },      { "%", " percent" },
				  { " %", " percent" },
				  { "+", " plus " } };
	for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
		size_t n = strlen(units[i].sign);
		bool is_word = is_letter(units[i].sign[n - 1]);
		if (strncmp(s->p, units[i].sign, n) != 0 || (is_word && is_letter(s->p[n])))
			continue;
		s->p += n;
		say(s, units[i].word);
		return;
	}
}

/* "4 1/2" or "1/2", of which the first number was said: "four and a half", "one half". As a rule is marked: down to 64ths. */
static void take_fraction(struct saying *s, int said)
{
	static const char *const parts[] = { "half", "quarter", "eighth", "sixteenth", "thirty-second", "sixty-fourth" };
	const char *p = s->p;
	int top = said, bottom, i = 0;
	bool has_whole = *p == ' ';
	if (has_whole && (p++, !read_int(&p, &top)))
		return;
	if (*p++ != '/' || !read_int(&p, &bottom) || said < 0)
		return;
	while (i < 6 && bottom != 2 << i)
		i++;
	if (i == 6 || top < 1 || top >= bottom)
		return;
	if (has_whole) {
		say(s, " and ");
		say_number(s, top);
	}
	say(s, " ");
	say(s, parts[i]);
	say(s, top > 1 ? "s" : "");
	s->p = p;
}

/* "19.4" */
static void take_number(struct saying *s)
{
	const char *from = s->p;
	int n;
	bool is_short = read_int(&s->p, &n);
	if (is_short)
		say_number(s, n);
	else
		wet_text_append(s->buf, s->buf_bytes, "%.*s", (int)(s->p - from), from);
	take_fraction(s, is_short ? n : -1);
	if (s->p[0] == '.' && is_digit(s->p[1])) {
		say(s, " point");
		for (s->p++; is_digit(*s->p); s->p++) {
			say(s, " ");
			say_number(s, *s->p - '0');
		}
	}
	take_unit(s);
}

/* One character of UTF-8, whole. */
static void take_character(struct saying *s)
{
	const char *from = s->p++;
	while (((unsigned char)*s->p & 0xc0U) == 0x80)
		s->p++;
	wet_text_append(s->buf, s->buf_bytes, "%.*s", (int)(s->p - from), from);
}

static char *say_all(const char *text, bool is_english, char *buf, unsigned buf_bytes)
{
	struct saying s = { text, buf, buf_bytes };
	char before = ' ';
	wet_text_copy(buf, buf_bytes, "");
	while (*s.p) {
		const char *from = s.p;
		char c = *s.p;
		if (is_english && is_digit(c) && !is_letter(before)) {
			if (!take_clock(&s) && !take_time(&s))
				take_number(&s);
			before = ' ';
			continue;
		}
		if (is_english && c == '-' && is_digit(s.p[1]))
			say(&s, before == ' ' ? "minus " : " ");
		else if ((unsigned char)c < 0x20 || c == 0x7f || strchr("[]{}<>|\\^_`@", c))
			say(&s, " ");
		else
			take_character(&s);
		/* After a dash a number stands by itself. */
		before = c == '-' || c == '(' ? ' ' : c;
		s.p += s.p == from;
	}
	return buf;
}

char *wet_spoken(const char *text, char *buf, unsigned buf_bytes)
{
	return say_all(text, true, buf, buf_bytes);
}

char *wet_spoken_as_is(const char *text, char *buf, unsigned buf_bytes)
{
	return say_all(text, false, buf, buf_bytes);
}
