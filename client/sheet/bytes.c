/* bytes.c: bytes that grow. */
#include "sheet.h"

#include <stdlib.h>
#include <string.h>

void bytes_add(struct bytes *b, const void *data, size_t count)
{
	if (b->count + count > b->room) {
		size_t room = (b->count + count) * 2;
		char *more = realloc(b->data, room);
		if (!more) {
			b->is_short = true;
			return;
		}
		b->data = more;
		b->room = room;
	}
	if (count > 0)
		memcpy(b->data + b->count, data, count);
	b->count += count;
}

void bytes_text(struct bytes *b, const char *text)
{
	bytes_add(b, text, strlen(text));
}

void bytes_xml(struct bytes *b, const char *text, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		switch (text[i]) {
		case '<': bytes_text(b, "&lt;"); break;
		case '>': bytes_text(b, "&gt;"); break;
		case '&': bytes_text(b, "&amp;"); break;
		case '"': bytes_text(b, "&quot;"); break;
		default:
			if ((unsigned char)text[i] >= ' ') /* no control character is allowed in XML 1.0 */
				bytes_add(b, &text[i], 1);
			else
				bytes_text(b, " ");
		}
	}
}

void bytes_release(struct bytes *b)
{
	free(b->data);
	*b = (struct bytes){ NULL, 0, 0, false };
}
