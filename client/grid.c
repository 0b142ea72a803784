/* grid.c: lines of text into cells: broken at blanks, measured in columns, the least urgent left out where there is no room. */
#include "client/page_inside.h"

#include "base/text.h"

#include <stdint.h>
#include <string.h>

/* -- characters ------------------------------------------------------------------ */

/* The character at *at, which goes on behind it. The texts are well-formed (wet_text_clean); what is not is '?'. */
static wchar_t take_character(const char **at)
{
	const unsigned char *p = (const unsigned char *)*at;
	int more = p[0] < 0x80 ? 0 : p[0] >= 0xf0 ? 3 : p[0] >= 0xe0 ? 2 : p[0] >= 0xc0 ? 1 : -1;
	uint32_t code = more <= 0 ? p[0] : p[0] & (0x3fu >> more);
	for (int i = 1; i <= more; i++) {
		if ((p[i] & 0xc0) != 0x80) {
			*at += i;
			return L'?';
		}
		code = code << 6 | (p[i] & 0x3fu);
	}
	*at += more > 0 ? more + 1 : 1;
	return more < 0 || code < 0x20 || code == 0x7f ? L'?' : (wchar_t)code;
}

/* Columns of a character, 0 for a mark on the one before; what can't be shown becomes '?'. */
static int width_of(bool is_unicode, wchar_t *character)
{
	if (*character < 0x7f)
		return 1;
	int width = is_unicode ? wcwidth(*character) : -1;
	if (width >= 0 && width <= 2)
		return width;
	*character = L'?';
	return 1;
}

/* Bytes of the text that stand in one line, and behind them the blanks where it is broken. */
static size_t fitting(const struct page *p, const char *text, size_t *ret_skip)
{
	const char *at = text, *blank = NULL;
	int used = 0;
	*ret_skip = 0;
	while (*at) {
		const char *before = at;
		wchar_t c = take_character(&at);
		used += width_of(p->is_unicode, &c);
		if (used > p->columns) {
			if (c == L' ')
				blank = before;
			if (!blank && before == text)
				return (size_t)(at - text); /* a wide one in a single column */
			size_t n = (size_t)((blank ? blank : before) - text);
			*ret_skip = blank ? strspn(blank, " ") : 0;
			return n;
		}
		if (c == L' ')
			blank = before;
	}
	return (size_t)(at - text);
}

static struct page_line *add_line(struct page *p)
{
	struct page_line *line = p->count < PAGE_LINES ? &p->lines[p->count++] : NULL;
	if (line)
		*line = (struct page_line){ .priority = 0 };
	return line;
}

void page_put(struct page *p, const char *text, enum page_ink ink, int priority)
{
	bool is_first = true;
	do {
		size_t skip, n = fitting(p, text, &skip);
		struct page_line *line = add_line(p);
		if (!line)
			return;
		wet_text_copy(line->text, n < sizeof line->text ? n + 1 : sizeof line->text, text);
		line->ink = ink;
		line->priority = is_first || priority == 0 ? priority : priority + 1;
		text += n + skip;
		is_first = false;
	} while (*text);
}

/* -- digits ------------------------------------------------------------------------ */
#define DIGIT_ROWS 5
#define DIGIT_COLUMNS 5

/* Each row's five columns as bits, the left one highest. */
static const unsigned char shapes[][DIGIT_ROWS] = {
	{ 0x1f, 0x11, 0x11, 0x11, 0x1f }, { 0x04, 0x0c, 0x04, 0x04, 0x0e }, { 0x1f, 0x01, 0x1f, 0x10, 0x1f },
	{ 0x1f, 0x01, 0x0f, 0x01, 0x1f }, { 0x11, 0x11, 0x1f, 0x01, 0x01 }, { 0x1f, 0x10, 0x1f, 0x01, 0x1f },
	{ 0x1f, 0x10, 0x1f, 0x11, 0x1f }, { 0x1f, 0x01, 0x02, 0x04, 0x04 }, { 0x1f, 0x11, 0x1f, 0x11, 0x1f },
	{ 0x1f, 0x11, 0x1f, 0x01, 0x1f }, { 0x00, 0x04, 0x00, 0x04, 0x00 } /* : */
};

void page_put_digits(struct page *p, const char *time, enum page_ink ink, int priority)
{
	if ((int)strlen(time) * (DIGIT_COLUMNS + 1) > p->columns)
		return;
	for (int row = 0; row < DIGIT_ROWS + 1; row++) {
		struct page_line *line = add_line(p);
		if (!line)
			return;
		line->ink = ink;
		line->priority = priority;
		line->is_large = true;
		line->digits = row;
		if (row > 0) /* the first is blank */
			wet_text_copy(line->text, sizeof line->text, time);
	}
}

static void draw_digits(const struct page *p, struct cell *row, const struct page_line *line)
{
	int column = 0;
	for (const char *c = line->text; *c; c++, column += DIGIT_COLUMNS + 1) {
		unsigned char bits = shapes[*c == ':' ? 10 : *c >= '0' && *c <= '9' ? *c - '0' : 8][line->digits - 1];
		for (int i = 0; i < DIGIT_COLUMNS && column + i < p->columns; i++)
			if (bits & (0x10 >> i)) {
				row[column + i].text[0] = p->is_unicode ? L'\u2588' : L'#';
				row[column + i].ink = line->ink;
			}
	}
}

/* -- cells ------------------------------------------------------------------------- */

static void draw_text(const struct page *p, struct cell *row, const struct page_line *line)
{
	int column = 0;
	for (const char *at = line->text; *at;) {
		wchar_t c = take_character(&at);
		int width = width_of(p->is_unicode, &c);
		if (width == 0) {
			wchar_t *text = column > 0 ? row[column - 1].text : NULL;
			if (text && !text[0] && column > 1)
				text = row[column - 2].text; /* of a wide one */
			size_t n = text ? wcslen(text) : CELL_MARKS + 1;
			if (n > 0 && n <= CELL_MARKS)
				text[n] = c;
			continue;
		}
		if (column + width > p->columns)
			return;
		row[column].text[0] = c;
		row[column].ink = line->ink;
		if (width == 2) {
			row[column + 1].text[0] = L'\0';
			row[column + 1].ink = line->ink;
		}
		column += width;
	}
}

/* Of the lines that give way first, the last. */
static int least_urgent(const struct page *p)
{
	int at = 0;
	for (int i = 1; i < p->count; i++)
		if (p->lines[i].priority >= p->lines[at].priority)
			at = i;
	return at;
}

static void remove_line(struct page *p, int at)
{
	memmove(&p->lines[at], &p->lines[at + 1], sizeof p->lines[0] * (size_t)(p->count - at - 1));
	p->count--;
}

static void leave_out(struct page *p)
{
	while (p->count > p->rows) {
		int at = least_urgent(p);
		if (!p->lines[at].is_large)
			remove_line(p, at);
		else
			for (int i = p->count - 1; i >= 0; i--)
				if (p->lines[i].is_large)
					remove_line(p, i);
	}
}

void page_to_cells(struct page *p)
{
	int bottom = 0;
	leave_out(p);
	for (int i = 0; i < p->rows * p->columns; i++)
		p->cells[i] = (struct cell){ .text = { L' ' }, .ink = INK_PLAIN };
	for (int i = 0; i < p->count; i++)
		bottom += p->lines[i].is_bottom;
	for (int i = 0, top = 0, low = p->rows - bottom; i < p->count; i++) {
		const struct page_line *line = &p->lines[i];
		struct cell *row = &p->cells[(line->is_bottom ? low++ : top++) * p->columns];
		if (line->digits > 0)
			draw_digits(p, row, line);
		else
			draw_text(p, row, line);
	}
}
