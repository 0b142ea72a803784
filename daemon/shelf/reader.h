/* reader.h: reads a JSON object into a struct by a table of its members, with exact errors. Inside the shelf
 * only.
 *
 * Strict: every member is in the table, or it is an error that suggests the nearest name. A member marked
 * SOURCED needs an entry in the object's "source", which names a key of the file's "sources" or one of the
 * reserved phrases. The first mistake ends the reading. Text is checked to be safe to speak and show. */
#ifndef WET_SHELF_READER_H
#define WET_SHELF_READER_H

#include "wetside/errors.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define READER_DEPTH 12 /* pointer levels; the deepest member of either file kind has 6 */

struct reader {
	const json_t *root;      /* the whole file, for "sources"; borrowed */
	void *whole;             /* the struct the whole file is read into */
	struct wet_fault *fault; /* may be NULL */
	char pointer[120];       /* JSON pointer of the value being read */
};

enum field_flags {
	FIELD_NEEDED = 1 << 0,
	FIELD_SOURCED = 1 << 1,
	FIELD_EMPTY_FINE = 1 << 2 /* text may be empty */
};

struct field {
	const char *name;
	/* Reads `value` into `object`. NULL: checked elsewhere. */
	int (*read)(struct reader *r, const json_t *value, void *object, const struct field *field);
	unsigned flags;
	size_t offset; /* in `object` */
	size_t bytes;  /* of a text buffer */
};

/* Rows of a table of fields. */
#define TEXT(type, name, member, flags)                                                 \
	{                                                                                   \
		name, wet_read_text, flags, offsetof(type, member), sizeof(((type *)0)->member) \
	}
#define VALUE(type, name, member, read, flags)       \
	{                                                \
		name, read, flags, offsetof(type, member), 0 \
	}
#define PART(name, read, flags) \
	{                           \
		name, read, flags, 0, 0 \
	}
#define COUNT(a) (sizeof(a) / sizeof(a)[0])

/* Parses a file's text: caps size and depth first, UTF-8, no duplicates. *ret_root is owned by the caller. */
int wet_reader_parse(const char *json, size_t json_bytes, size_t bytes_max, json_t **ret_root,
					 struct wet_fault *fault);

/* Fault at the reader's pointer (+ "/" + member, if given); returns err. `found` may be NULL: the value is
 * shown. */
int wet_reader_fail(struct reader *r, int err, const char *member, const json_t *value, const char *want, ...)
	__attribute__((format(printf, 5, 6)));

/* Reads an object; `what` names it for people ("a develop stage"). */
int wet_reader_object(struct reader *r, const json_t *json, const struct field *fields, size_t field_count,
					  const char *what, void *object);

/* Goes into a member or an element; leave with wet_reader_leave(r, mark). */
size_t wet_reader_enter(struct reader *r, const char *member);
size_t wet_reader_enter_index(struct reader *r, size_t index);
void wet_reader_leave(struct reader *r, size_t mark);

/* Readers for tables. A key has small letters, digits and '-' within: what files are named after and what people
 * type; WET_NAME_BYTES. */
int wet_read_text(struct reader *r, const json_t *value, void *object, const struct field *field);
int wet_read_key(struct reader *r, const json_t *value, void *object, const struct field *field);
int wet_read_bool(struct reader *r, const json_t *value, void *object, const struct field *field);
int wet_read_version(struct reader *r, const json_t *value, void *object,
					 const struct field *field); /* int, 1..1e9 */
int wet_read_duration(struct reader *r, const json_t *value, void *object,
					  const struct field *field); /* int64 ns */
int wet_read_temperature(struct reader *r, const json_t *value, void *object,
						 const struct field *field); /* int32 mC */
int wet_read_source(struct reader *r, const json_t *value, void *object, const struct field *field);
int wet_read_sources(struct reader *r, const json_t *value, void *object, const struct field *field);
int wet_read_schema(struct reader *r, const json_t *value, void *object, const struct field *field);

/* "12.5" with at most `whole` digits and `places` after the point: the number of 10^-places, and what follows. False:
 * no such number. */
bool wet_reader_decimal(const char *text, size_t whole, size_t places, int64_t *ret_number, const char **ret_rest);

/* One of `words` -> its index. `want` lists them. */
int wet_reader_word(struct reader *r, const json_t *value, const char *const *words, size_t word_count,
					int *ret_index);

/* A key of /sources or a reserved phrase? */
bool wet_reader_is_source(const struct reader *r, const char *text);

/* The text as it stands in the file, checked; NULL after a fault. `value` may be NULL. */
const char *wet_reader_string(struct reader *r, const json_t *value);

/* Only small letters, digits, ':', '.', ',' and blanks? What a duration in a file may be written with. */
bool wet_reader_is_plain(const char *text);

#define SOURCE_MEMORY "from memory"
#define SOURCE_PRACTICE "common practice, no source"

/* Canonical JSON (sorted keys, compact), NUL-terminated and owned by the caller; NULL: out of memory. */
char *wet_reader_canonical(const json_t *root, size_t *ret_bytes);

#endif
