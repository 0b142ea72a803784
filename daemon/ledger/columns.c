/* columns.c: cells. What is read is checked as strictly as if a stranger had written it: the file may be damaged. */
#include "ledger/inside.h"

#include "base/text.h"

#include <string.h>

void bind_text(sqlite3_stmt *s, int column, const char *text)
{
	/* Borrowed, not copied: a copy could fail for want of memory, and a NULL would be bound. */
	(void)sqlite3_bind_text(s, column, text, -1, SQLITE_STATIC);
}

bool text_fits(const char *text, size_t text_bytes)
{
	const char *end = memchr(text, '\0', text_bytes);
	return end && wet_text_is_utf8(text, (size_t)(end - text));
}

bool column_text(sqlite3_stmt *s, int column, char *ret_text, size_t text_bytes)
{
	if (sqlite3_column_type(s, column) != SQLITE_TEXT)
		return false;
	const char *text = (const char *)sqlite3_column_text(s, column);
	size_t n = (size_t)sqlite3_column_bytes(s, column);
	if (!text || n >= text_bytes || !wet_text_is_utf8(text, n))
		return false;
	memcpy(ret_text, text, n + 1);
	return true;
}

bool column_number(sqlite3_stmt *s, int column, int64_t least, int64_t most, int64_t *ret_number)
{
	if (sqlite3_column_type(s, column) != SQLITE_INTEGER)
		return false;
	int64_t number = sqlite3_column_int64(s, column);
	if (number < least || number > most)
		return false;
	*ret_number = number;
	return true;
}
