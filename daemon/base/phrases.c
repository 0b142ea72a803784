/* phrases.c: patterns with holes. */
#include "base/phrases.h"

#include "base/spoken.h"
#include "base/text.h"

#include <string.h>

#define HOLES 9
#define DEPTH 6        /* a hole in a hole: "Longer by {1}", "{1} minutes", "{1}"; and a time within */
#define TOGETHER 4     /* sentences in one pattern */
#define TEXT_BYTES 256 /* of what a hole takes; printed sentences are shorter */

struct span {
	const char *from;
	size_t bytes;
};

/* At a hole? Its number, 1..9; else 0. */
static int hole_at(const char *p)
{
	return p[0] == '{' && p[1] >= '1' && p[1] <= '9' && p[2] == '}' ? p[1] - '0' : 0;
}

bool wet_phrase_is_sound(const struct wet_phrase *phrase)
{
	unsigned has = 0, before = 0;
	for (const char *p = phrase->say; *p; p++) {
		int hole = hole_at(p);
		if (hole && (before || (has & 1U << hole)))
			return false;
		before = hole != 0;
		has |= hole ? 1U << hole : 0;
		if (hole)
			p += 2;
		else if (*p == '{' || *p == '}')
			return false;
	}
	for (const char *p = phrase->as; *p; p++) {
		int hole = hole_at(p);
		if (hole && !(has & 1U << hole))
			return false;
		if (hole)
			p += 2;
		else if (*p == '{' || *p == '}')
			return false;
	}
	return phrase->say[0] != '\0';
}

/* Is text[n - 1] the blank behind a full stop? */
static bool ends_sentence(const char *text, size_t n)
{
	return n > 1 && text[n - 1] == ' ' && strchr(".?!", text[n - 2]);
}

/* " C", " F" or " s", and no longer word: what stands before it is a number, without a blank. */
static bool is_unit(const char *p)
{
	return p[0] == ' ' && (p[1] == 'C' || p[1] == 'F' || p[1] == 's') && !((p[2] >= 'a' && p[2] <= 'z') || (p[2] >= 'A' && p[2] <= 'Z'));
}

/* Fits text[0..bytes) whole; each hole takes as little as can be. The patterns are short and have few holes. */
static bool fits(const char *pattern, const char *text, size_t bytes, struct span holes[HOLES + 1])
{
	for (;;) {
		int hole = hole_at(pattern);
		if (hole) {
			bool is_one_word = is_unit(pattern + 3);
			for (size_t n = 1; n <= bytes && !ends_sentence(text, n) && !(is_one_word && text[n - 1] == ' '); n++) {
				holes[hole] = (struct span){ text, n };
				if (fits(pattern + 3, text + n, bytes - n, holes))
					return true;
			}
			return false;
		}
		if (*pattern == '\0')
			return bytes == 0;
		if (bytes == 0 || *pattern != *text)
			return false;
		pattern++;
		text++;
		bytes--;
	}
}

static size_t own_letters(const char *pattern)
{
	size_t n = 0;
	for (const char *p = pattern; *p; p++) {
		if (hole_at(p))
			p += 2;
		else
			n++;
	}
	return n;
}

static const struct wet_phrase *find(const struct wet_phrases *phrases, const char *text, size_t bytes,
									 struct span holes[HOLES + 1])
{
	const struct wet_phrase *best = NULL;
	struct span found[HOLES + 1];
	for (size_t i = 0; i < phrases->count; i++) {
		const struct wet_phrase *p = &phrases->list[i];
		memset(found, 0, sizeof found);
		if ((best && own_letters(p->say) <= own_letters(best->say)) || !fits(p->say, text, bytes, found))
			continue;
		best = p;
		memcpy(holes, found, sizeof found);
	}
	return best;
}

struct saying {
	const struct wet_phrases *phrases;
	char *buf;
	unsigned buf_bytes;
	char *left; /* NULL: nobody asks */
	unsigned left_bytes;
};

static bool say_span(struct saying *s, struct span in, int depth);

static void say_text(struct saying *s, const char *text, size_t bytes)
{
	wet_text_append(s->buf, s->buf_bytes, "%.*s", (int)bytes, text);
}

static void fill(struct saying *s, const char *as, const struct span holes[HOLES + 1], int depth)
{
	for (const char *p = as; *p;) {
		int hole = hole_at(p);
		if (hole) {
			(void)say_span(s, holes[hole], depth + 1);
			p += 3;
			continue;
		}
		const char *next = strchr(p + 1, '{');
		size_t n = next ? (size_t)(next - p) : strlen(p);
		say_text(s, p, n);
		p += n;
	}
}

/* -- numbers ------------------------------------------------------------------------- */

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static void say_number(struct saying *s, int n, const struct wet_number_name *names, size_t count, const char *tail)
{
	for (size_t i = 0; i < count; i++) {
		if (names[i].n == n) {
			wet_text_append(s->buf, s->buf_bytes, "%s", names[i].as);
			return;
		}
	}
	wet_text_append(s->buf, s->buf_bytes, "%d%s", n, tail);
}

/* "2:10", "1:02:10": as the sentences say times, so that their patterns fit. */
static bool say_clock(struct saying *s, struct span in, int depth)
{
	int part[3] = { 0 }, count = 0;
	char text[64] = "";
	for (size_t at = 0; at < in.bytes && count < 3; count++) {
		size_t from = at;
		for (; at < in.bytes && is_digit(in.from[at]) && at - from < 4; at++)
			part[count] = part[count] * 10 + in.from[at] - '0';
		if (at == from || (count > 0 && at - from != 2) || (at < in.bytes && (in.from[at] != ':' || at + 1 == in.bytes)))
			return false;
		at += at < in.bytes;
		if (at == in.bytes && is_digit(in.from[at - 1]) && count > 0) {
			count++;
			break;
		}
	}
	if (count < 2)
		return false;
	static const char *const units[] = { "hour", "minute", "second" };
	bool is_long = count == 3;
	for (int i = 0; i < count; i++) {
		int n = part[i];
		if (n > 0 || (i + 1 == count && !text[0]))
			wet_text_append(text, sizeof text, "%s%d %s%s", text[0] ? " " : "", n, units[i + !is_long], n == 1 ? "" : "s");
	}
	return say_span(s, (struct span){ text, strlen(text) }, depth + 1);
}

/* "19.4", "-3"; a word for it where it is whole and there is one. */
static bool say_figures(struct saying *s, struct span in)
{
	size_t at = in.bytes > 0 && in.from[0] == '-', from = at, whole;
	int n = 0;
	for (; at < in.bytes && is_digit(in.from[at]); at++)
		n = at - from < 6 ? n * 10 + in.from[at] - '0' : n;
	whole = at - from;
	if (whole == 0)
		return false;
	if (at == in.bytes && from == 0 && whole < 6) {
		say_number(s, n, s->phrases->numbers, s->phrases->number_count, "");
		return true;
	}
	size_t point = at;
	if (at < in.bytes && in.from[at] != '.')
		return false;
	for (at += at < in.bytes; at < in.bytes; at++)
		if (!is_digit(in.from[at]))
			return false;
	if (point + 1 == in.bytes)
		return false;
	say_text(s, in.from, point);
	if (point < in.bytes) {
		wet_text_append(s->buf, s->buf_bytes, "%s", s->phrases->decimal ? s->phrases->decimal : ".");
		say_text(s, in.from + point + 1, in.bytes - point - 1);
	}
	return true;
}

static bool say_as_number(struct saying *s, struct span in, int depth)
{
	const struct wet_phrases *p = s->phrases;
	int n;
	if (!p->says_numbers || depth == 0)
		return false;
	if (wet_number_from_words(in.from, in.bytes, &n))
		say_number(s, n, p->numbers, p->number_count, "");
	else if (wet_ordinal_from_word(in.from, in.bytes, &n))
		say_number(s, n, p->ordinals, p->ordinal_count, ".");
	else
		return say_figures(s, in) || (depth < DEPTH && say_clock(s, in, depth));
	return true;
}

/* -- sentences ------------------------------------------------------------------------ */

/* A name in a sentence is written small: "the stop bath". */
static const struct wet_phrase *find_either(const struct saying *s, struct span in, int depth, char *capital,
											struct span holes[HOLES + 1])
{
	if (depth >= DEPTH || in.bytes == 0 || in.bytes >= TEXT_BYTES)
		return NULL;
	const struct wet_phrase *found = find(s->phrases, in.from, in.bytes, holes);
	if (found || depth == 0 || in.from[0] < 'a' || in.from[0] > 'z')
		return found;
	memcpy(capital, in.from, in.bytes);
	capital[0] = (char)(capital[0] - 'a' + 'A');
	return find(s->phrases, capital, in.bytes, holes);
}

static void leave(struct saying *s, struct span in)
{
	bool has_letters = false;
	for (size_t i = 0; i < in.bytes; i++)
		has_letters = has_letters || (in.from[i] >= 'a' && in.from[i] <= 'z') || (in.from[i] >= 'A' && in.from[i] <= 'Z');
	if (s->left && !s->left[0] && has_letters)
		wet_text_format(s->left, s->left_bytes, "%.*s", (int)in.bytes, in.from);
	say_text(s, in.from, in.bytes);
}

/* The bytes up to the end of the nth sentence, or all. */
static size_t sentences(struct span in, int n)
{
	size_t at = 0;
	while (at < in.bytes && n > 0)
		n -= ++at < in.bytes && ends_sentence(in.from, at + 1);
	return at;
}

/* What comes first in the text: as many sentences as one pattern says together, or one. Returns the bytes it took. */
static size_t say_first(struct saying *s, struct span in, int depth, bool *is_known)
{
	char capital[TEXT_BYTES];
	struct span holes[HOLES + 1];
	for (int n = TOGETHER; n > 0; n--) {
		struct span some = { in.from, sentences(in, n) };
		const struct wet_phrase *one = n > 1 && sentences(in, n - 1) == some.bytes ? NULL : find_either(s, some, depth, capital, holes);
		if (one) {
			fill(s, one->as, holes, depth);
			return some.bytes;
		}
	}
	struct span sentence = { in.from, sentences(in, 1) };
	bool has_stop = sentence.bytes > 1 && in.from[sentence.bytes - 1] == '.';
	struct span bare = { in.from, sentence.bytes - has_stop };
	const struct wet_phrase *name = has_stop ? find_either(s, bare, depth, capital, holes) : NULL;
	if (name) /* alone: "Stop bath." */
		fill(s, name->as, holes, depth);
	if (name || (has_stop && say_as_number(s, bare, depth + 1))) { /* or "3." */
		say_text(s, ".", 1);
	} else {
		leave(s, sentence);
		*is_known = false;
	}
	return sentence.bytes;
}

/* Appends. The end of a sentence: its full stop and the blank behind it. */
static bool say_span(struct saying *s, struct span in, int depth)
{
	char capital[TEXT_BYTES];
	struct span holes[HOLES + 1];
	bool is_known = true;
	const struct wet_phrase *whole = find_either(s, in, depth, capital, holes);
	if (whole)
		fill(s, whole->as, holes, depth);
	if (whole || say_as_number(s, in, depth))
		return true;
	while (in.bytes > 0) {
		size_t n = say_first(s, in, depth, &is_known);
		bool is_more = n < in.bytes;
		say_text(s, " ", is_more);
		in.from += n + is_more;
		in.bytes -= n + is_more;
	}
	return is_known;
}

char *wet_phrases_say(const struct wet_phrases *phrases, const char *text, char *buf, unsigned buf_bytes,
					  bool *ret_is_known)
{
	struct saying s = { phrases, buf, buf_bytes, NULL, 0 };
	wet_text_copy(buf, buf_bytes, "");
	bool is_known = say_span(&s, (struct span){ text, strlen(text) }, 0);
	if (ret_is_known)
		*ret_is_known = is_known;
	return buf;
}

char *wet_phrases_say_all(const struct wet_phrases *phrases, const char *text, char *buf, unsigned buf_bytes, char *left,
						  unsigned left_bytes)
{
	struct saying s = { phrases, buf, buf_bytes, left, left_bytes };
	wet_text_copy(buf, buf_bytes, "");
	wet_text_copy(left, left_bytes, "");
	(void)say_span(&s, (struct span){ text, strlen(text) }, 0);
	return buf;
}
