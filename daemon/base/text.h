/* text.h: fixed-size text. Leaf: libc only, no allocation. Buffers always end in a NUL; a text that is too
 * long is cut at a UTF-8 character. All return dst. */
#ifndef WET_TEXT_H
#define WET_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

char *wet_text_copy(char *dst, size_t dst_bytes, const char *src);
char *wet_text_format(char *dst, size_t dst_bytes, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
char *wet_text_vformat(char *dst, size_t dst_bytes, const char *format, va_list ap)
	__attribute__((format(printf, 3, 0)));
char *wet_text_append(char *dst, size_t dst_bytes, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
/* Makes text from files or people safe for a terminal: C0, DEL, C1, bidirectional controls, U+2028/9,
 * U+FEFF, tags and invalid UTF-8 become '?'. dst may be src. */
char *wet_text_clean(char *dst, size_t dst_bytes, const char *src);
/* Well-formed UTF-8 without NUL? */
bool wet_text_is_utf8(const char *bytes, size_t n);

#endif
