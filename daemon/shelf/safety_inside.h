/* safety_inside.h: what the files that read safety data share. */
#ifndef WET_SHELF_SAFETY_INSIDE_H
#define WET_SHELF_SAFETY_INSIDE_H

#include "shelf/reader.h"
#include "shelf/safety.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
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

/* Reads a list of `least` to `most` elements, each with `one`, which gets its place. `what` names them. */
int read_list(struct reader *r, const json_t *value, int least, int most, const char *what,
			  int (*one)(struct reader *r, const json_t *value, void *object, int at), void *object);

/* "0.3 %" -> int32 ppm, over 0 to 100 %. */
int read_share(struct reader *r, const json_t *value, void *object, const struct field *field);

/* A list of reaction classes -> their bits, uint64. */
int read_classes(struct reader *r, const json_t *value, void *object, const struct field *field);

/* One limit in air, of a substance or a gas. */
int read_exposure_limit(struct reader *r, const json_t *value, struct wet_exposure *exposure);

/* The version is checked and not kept: nothing depends on it yet. */
int read_file_version(struct reader *r, const json_t *value, void *object, const struct field *field);

/* A whole file: parses, reads `fields` into `table` and prefixes the fault. */
int read_file(const char *json, size_t json_bytes, const char *where, struct reader *r,
			  const struct field *fields, size_t field_count, const char *what, void *table,
			  int (*check)(const void *table, struct wet_fault *fault));

#endif
