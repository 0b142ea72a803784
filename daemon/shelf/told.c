/* told.c: remarks and readings of a recipe's file. */
#include "shelf/told.h"

#define TOLD_MAX 16 /* entries: what a person still reads */

struct told {
	char text[400], means[400];
};

static const struct field remark_fields[] = {
	{ "text", wet_read_text, FIELD_NEEDED, offsetof(struct told, text), sizeof(((struct told *)0)->text) },
	{ "source", wet_read_source, FIELD_NEEDED, 0, 0 },
};
static const struct field reading_fields[] = {
	{ "see", wet_read_text, FIELD_NEEDED, offsetof(struct told, text), sizeof(((struct told *)0)->text) },
	{ "means", wet_read_text, FIELD_NEEDED, offsetof(struct told, means), sizeof(((struct told *)0)->means) },
	{ "source", wet_read_source, FIELD_NEEDED, 0, 0 },
};

static int read_list(struct reader *r, const json_t *value, const struct field *fields, size_t field_count,
					 const char *what)
{
	size_t n = json_array_size(value);
	if (!json_is_array(value) || n < 1 || n > TOLD_MAX)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d entries", TOLD_MAX);
	for (size_t i = 0; i < n; i++) {
		struct told told = { 0 };
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_reader_object(r, json_array_get(value, i), fields, field_count, what, &told);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

int wet_read_remarks(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, remark_fields, COUNT(remark_fields), "a remark");
}

int wet_read_reading(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, reading_fields, COUNT(reading_fields), "what is seen and what it means");
}
