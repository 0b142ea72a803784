/* safety_inside.h: what the files that read safety data share. */
#ifndef WET_SHELF_SAFETY_INSIDE_H
#define WET_SHELF_SAFETY_INSIDE_H

#include "shelf/reader.h"
#include "shelf/safety.h"

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
