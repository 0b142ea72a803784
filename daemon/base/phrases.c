/* phrases.c: patterns with holes. */
#include "base/phrases.h"

#include "base/text.h"

#include <string.h>

#define HOLES 9
#define DEPTH 3        /* a hole in a hole in a hole: "Longer by {1}", "{1} minutes", "{1}" */
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

/* Fits text[0..bytes) whole; each hole takes as little as can be. The patterns are short and have few holes. */
static bool fits(const char *pattern, const char *text, size_t bytes, struct span holes[HOLES + 1])
{
	for (;;) {
		int hole = hole_at(pattern);
		if (hole) {
			for (size_t n = 1; n <= bytes && !ends_sentence(text, n); n++) {
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

static bool say_span(const struct wet_phrases *phrases, struct span in, int depth, char *buf, unsigned buf_bytes);

static void fill(const struct wet_phrases *phrases, const char *as, const struct span holes[HOLES + 1], int depth, char *buf,
				 unsigned buf_bytes)
{
	for (const char *p = as; *p;) {
		int hole = hole_at(p);
		if (hole) {
			(void)say_span(phrases, holes[hole], depth + 1, buf, buf_bytes);
			p += 3;
			continue;
		}
		const char *next = strchr(p + 1, '{');
		size_t n = next ? (size_t)(next - p) : strlen(p);
		wet_text_append(buf, buf_bytes, "%.*s", (int)n, p);
		p += n;
	}
}

/* Appends. The end of a sentence: its full stop and the blank behind it. */
static bool say_span(const struct wet_phrases *phrases, struct span in, int depth, char *buf, unsigned buf_bytes)
{
	struct span holes[HOLES + 1];
	bool is_known = true;
	const struct wet_phrase *whole = depth < DEPTH && in.bytes < TEXT_BYTES ? find(phrases, in.from, in.bytes, holes) : NULL;
	if (whole) {
		fill(phrases, whole->as, holes, depth, buf, buf_bytes);
		return true;
	}
	while (in.bytes > 0) {
		size_t n = 0;
		while (n < in.bytes && !ends_sentence(in.from, n + 1))
			n++;
		const struct wet_phrase *one = depth < DEPTH && n < TEXT_BYTES ? find(phrases, in.from, n, holes) : NULL;
		if (one)
			fill(phrases, one->as, holes, depth, buf, buf_bytes);
		else
			wet_text_append(buf, buf_bytes, "%.*s", (int)n, in.from);
		is_known = is_known && one;
		bool is_more = n < in.bytes;
		wet_text_append(buf, buf_bytes, "%s", is_more ? " " : "");
		in.from += n + is_more;
		in.bytes -= n + is_more;
	}
	return is_known;
}

char *wet_phrases_say(const struct wet_phrases *phrases, const char *text, char *buf, unsigned buf_bytes,
					  bool *ret_is_known)
{
	wet_text_copy(buf, buf_bytes, "");
	bool is_known = say_span(phrases, (struct span){ text, strlen(text) }, 0, buf, buf_bytes);
	if (ret_is_known)
		*ret_is_known = is_known;
	return buf;
}
