/* json_text.h: JSON written without an allocation, private to this room. */
#ifndef WET_WIRE_JSON_TEXT_H
#define WET_WIRE_JSON_TEXT_H

#include <jansson.h>
#include <stddef.h>

/* Writes `text` (n bytes of UTF-8) as a JSON string in ASCII, with its quotes and a NUL. The bytes written
 * without the NUL; 0 if it does not fit or is not UTF-8. */
size_t wet_json_escape(char *dst, size_t dst_bytes, const char *text, size_t n);
/* Writes a string, an integer, a real (the shortest text that reads back as the same number) or null. As
 * above. */
size_t wet_json_scalar(char *dst, size_t dst_bytes, const json_t *json);

#endif
