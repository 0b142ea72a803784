/* lines.c: text for people, wrapped to their terminal; a screen reader reads it from top to bottom. */
#include "client/client.h"

#include "base/text.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define COLUMNS 80
#define COLUMNS_LEAST 16

static int columns(void)
{
	struct winsize size;
	bool is_known = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
	int n = is_known ? size.ws_col : COLUMNS;
	return n < COLUMNS_LEAST ? COLUMNS_LEAST : n;
}

/* One character of UTF-8 and how many cells it takes: none for marks, two for what East Asian Width (Unicode Annex 11) calls
 * wide, in blocks. */
static size_t take_character(const char *p, int *ret_cells)
{
	static const uint32_t wide[][2] = { { 0x1100, 0x115f },   { 0x2e80, 0xa4cf },   { 0xac00, 0xd7a3 },   { 0xf900, 0xfaff },
										{ 0xfe30, 0xfe6f },   { 0xff00, 0xff60 },   { 0xffe0, 0xffe6 },   { 0x1f300, 0x1faff },
										{ 0x20000, 0x3fffd } };
	unsigned char c = (unsigned char)*p;
	size_t n = c < 0x80 ? 1 : c < 0xe0 ? 2 : c < 0xf0 ? 3 : 4;
	uint32_t code = n == 1 ? c : c & (0xffU >> (n + 1));
	for (size_t i = 1; i < n; i++) {
		if (((unsigned char)p[i] & 0xc0U) != 0x80) {
			*ret_cells = 1;
			return 1;
		}
		code = code << 6 | ((unsigned char)p[i] & 0x3fU);
	}
	*ret_cells = code >= 0x300 && code <= 0x36f ? 0 : 1;
	for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++)
		if (code >= wide[i][0] && code <= wide[i][1])
			*ret_cells = 2;
	return n;
}

/* How much of the text fits so many cells: up to a blank, or a word as far as it goes. *ret_next: where the next line begins. */
static size_t fit(const char *text, int cells, size_t *ret_next)
{
	size_t at = 0, blank = 0;
	int used = 0, one;
	while (text[at]) {
		size_t n = take_character(text + at, &one);
		if (used + one > cells)
			break;
		if (text[at] == ' ')
			blank = at;
		used += one;
		at += n;
	}
	size_t end = !text[at] || text[at] == ' ' || blank == 0 ? at : blank;
	if (end == 0)
		end = take_character(text, &one); /* wider than the line */
	*ret_next = end;
	while (text[*ret_next] == ' ')
		++*ret_next;
	return end;
}

/* What stands before the first word: blanks, and one dash. */
static size_t indent_of(const char *text)
{
	size_t n = strspn(text, " ");
	if (text[n] == '-' && text[n + 1] == ' ')
		n += 1 + strspn(text + n + 1, " ");
	return n;
}

static void say_line(const char *text)
{
	size_t indent = indent_of(text), room = strlen(text) + 1;
	int width = columns() - 1; /* the last column makes some terminals wrap by themselves */
	char *line = malloc(room + indent + 1);
	bool is_first = true;
	if (!line || !text[indent]) {
		say(*text ? text : "\n");
		free(line);
		return;
	}
	if (indent + 8 > (size_t)width)
		indent = 0;
	for (const char *p = text + indent;;) {
		size_t next, n = fit(p, width - (int)indent, &next);
		memcpy(line, text, indent);
		if (!is_first)
			memset(line, ' ', indent);
		memcpy(line + indent, p, n);
		line[indent + n] = '\0';
		say(line);
		is_first = false;
		p += next;
		if (!*p)
			break;
	}
	free(line);
}

/* Of a page that was wrapped for paper: does this line go on with the one before? */
static bool goes_on(const char *before, const char *text)
{
	return *before && *before != '#' && *before != '\n' && *text && *text != '#' && *text != '\n' && strncmp(text, "- ", 2) != 0;
}

static void say_text(const char *text, bool is_page)
{
	size_t n = strlen(text) + 1;
	char *line = malloc(n), *clean = malloc(4 * n);
	if (!isatty(STDOUT_FILENO) || !line || !clean) {
		say(text);
		free(line);
		free(clean);
		return;
	}
	for (const char *p = text; *p;) {
		const char *from = p;
		size_t used = 0;
		do {
			size_t m = strcspn(p, "\n"), blanks = used > 0 ? strspn(p, " ") : 0;
			if (used > 0)
				line[used++] = ' ';
			memcpy(line + used, p + blanks, m - blanks);
			used += m - blanks;
			p += m + (p[m] == '\n');
		} while (is_page && goes_on(from, p));
		line[used] = '\0';
		say_line(wet_text_clean(clean, (unsigned)(4 * n), line));
	}
	free(line);
	free(clean);
}

void say_wrapped(const char *text)
{
	say_text(text, false);
}

void say_page(const char *text)
{
	say_text(text, true);
}
