/* safety.c: folders of safety data -> the tables; and what the readers of its files share. */
#include "shelf/safety.h"

#include "base/text.h"
#include "shelf/files.h"
#include "shelf/safety_inside.h"
#include "shelf/where.h"

#include <stdlib.h>
#include <string.h>

#define FILE_BYTES (512 * 1024) /* the substances take under 128 KiB */
#define PATH_BYTES 256

/* -- what the readers share -------------------------------------------------------------------- */

int read_list(struct reader *r, const json_t *value, int least, int most, const char *what,
			  int (*one)(struct reader *r, const json_t *value, void *object, int at), void *object)
{
	size_t n = json_array_size(value);
	if (!json_is_array(value) || n < (size_t)least || n > (size_t)most)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of %d to %d %s", least, most, what);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = one(r, json_array_get(value, i), object, (int)i);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

int read_share(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t ppm;
	const char *rest, *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (!wet_reader_decimal(text, 3, 4, &ppm, &rest) || strcmp(rest, " %") != 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a share: \"0.3 %%\"");
	if (ppm < 1 || ppm > WET_PPM)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "over 0 to 100 %%");
	int32_t share = (int32_t)ppm;
	memcpy((char *)object + field->offset, &share, sizeof share);
	return WET_OK;
}

static int read_one_class(struct reader *r, const json_t *value, void *object, int at)
{
#define WORD(name, word) word,
	static const char *const words[] = { WET_REACTION_CLASSES(WORD) };
#undef WORD
	int index, rc = wet_reader_word(r, value, words, COUNT(words), &index);
	(void)at;
	if (rc == 0)
		*(uint64_t *)object |= UINT64_C(1) << index;
	return rc;
}

int read_classes(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	uint64_t classes = 0;
	int rc = read_list(r, value, 1, 16, "classes", read_one_class, &classes);
	if (rc == 0)
		memcpy((char *)object + field->offset, &classes, sizeof classes);
	return rc;
}

int read_file_version(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int version;
	struct field here = { field->name, wet_read_version, 0, 0, 0 };
	(void)object;
	return wet_read_version(r, value, &version, &here);
}

int read_file(const char *json, size_t json_bytes, const char *where, struct reader *r,
			  const struct field *fields, size_t field_count, const char *what, void *table,
			  int (*check)(const void *table, struct wet_fault *fault))
{
	json_t *root = NULL;
	int rc = wet_reader_parse(json, json_bytes, FILE_BYTES, &root, r->fault);
	if (rc != 0) {
		wet_where_prefix(r->fault, where, "");
		return rc;
	}
	r->root = root;
	rc = wet_reader_object(r, root, fields, field_count, what, table);
	if (rc == 0 && check != NULL)
		rc = check(table, r->fault);
	if (rc != 0)
		wet_where_prefix(r->fault, where, "#");
	json_decref(root);
	return rc;
}

/* -- statements ----------------------------------------------------------------------------------- */

static int read_code(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	size_t n = strlen(text);
	bool is_code = n > 0 && n < WET_STATEMENT_BYTES && strspn(text, "EUHPFDfd+0123456789") == n &&
				   (text[0] == 'E' || text[0] == 'H' || text[0] == 'P');
	if (!is_code)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "a code: \"H314\", \"EUH031\", \"P301+P310\"");
	wet_text_copy((char *)object + field->offset, WET_STATEMENT_BYTES, text);
	return WET_OK;
}

static const struct field statement_fields[] = {
	VALUE(struct wet_statement, "code", code, read_code, FIELD_NEEDED),
	TEXT(struct wet_statement, "text", text, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};

static int read_statement(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_statement_table *t = object;
	(void)at;
	struct wet_statement *s = &t->statements[t->count];
	int rc = wet_reader_object(r, value, statement_fields, COUNT(statement_fields), "a statement", s);
	if (rc != 0)
		return rc;
	if (wet_statement_text(t, s->code) != NULL)
		return wet_reader_fail(r, WET_ERR_EXISTS, "code", json_object_get(value, "code"),
							   "a code that no statement before it has");
	t->count++;
	return WET_OK;
}

static int read_statements(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, 1, WET_STATEMENTS, "statements", read_statement, object);
}

static const struct field statement_file_fields[] = {
	PART("$schema", wet_read_schema, 0),
	PART("version", read_file_version, FIELD_NEEDED),
	PART("statements", read_statements, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

int wet_statements_decode(const char *json, size_t json_bytes, const char *where,
						  struct wet_statement_table *ret_table, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct wet_statement_table *table = calloc(1, sizeof *table);
	struct reader r = { .whole = table, .fault = &fault };
	int rc = table == NULL ? wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory")
						   : read_file(json, json_bytes, where, &r, statement_file_fields,
									   COUNT(statement_file_fields), "a table of statements", table, NULL);
	if (rc == 0)
		*ret_table = *table;
	else if (reterr != NULL)
		*reterr = fault;
	free(table);
	return rc;
}

/* -- folders ---------------------------------------------------------------------------------------- */

/* The text of a file in the first folder that has it; owned by the caller. */
static int find_file(const char *const *dirs, const char *file, char *path, char **ret_text,
					 size_t *ret_bytes, struct wet_fault *fault)
{
	for (size_t i = 0; dirs[i] != NULL; i++) {
		if (strlen(dirs[i]) + strlen(file) + 2 > PATH_BYTES)
			continue; /* the shelf tells of such a folder */
		wet_text_format(path, PATH_BYTES, "%s/%s", dirs[i], file);
		int rc = wet_shelf_read_file(path, FILE_BYTES, ret_text, ret_bytes, fault);
		if (rc != WET_ERR_NOT_FOUND)
			return rc;
	}
	return wet_fault_set(fault, WET_ERR_NOT_FOUND, file, NULL,
						 "a file of that name in a folder of safety data");
}

static int load(struct wet_safety *s, const char *const *dirs, int which)
{
	/* In this order: a file names what stands in those before it. */
	static const char *const files[WET_SAFETY_FILES] = { WET_HAZARDS_FILE, WET_GASES_FILE,
														 WET_INCOMPATIBILITIES_FILE, WET_STATEMENTS_FILE,
														 WET_PRACTICE_FILE };
	char path[PATH_BYTES], *text = NULL;
	size_t n = 0;
	struct wet_fault fault = { 0 };
	int rc = find_file(dirs, files[which], path, &text, &n, &fault);
	if (rc == 0 && which == 0)
		rc = wet_hazards_decode(text, n, path, &s->hazards, &fault);
	else if (rc == 0 && which == 1)
		rc = wet_gases_decode(text, n, path, &s->hazards, &s->gases, &fault);
	else if (rc == 0 && which == 2)
		rc = wet_incompatibilities_decode(text, n, path, &s->hazards, &s->gases, &s->incompatibilities, &fault);
	else if (rc == 0 && which == 3)
		rc = wet_statements_decode(text, n, path, &s->statements, &fault);
	else if (rc == 0)
		rc = wet_practice_decode(text, n, path, &s->practice, &fault);
	free(text);
	if (rc != 0 && rc != WET_ERR_NOMEM)
		s->faults[s->fault_count++] = fault;
	return rc == WET_ERR_NOMEM ? rc : WET_OK;
}

int wet_safety_open(struct wet_safety **ret_safety, const char *const *safety_dirs)
{
	struct wet_safety *s = calloc(1, sizeof *s);
	int rc = s != NULL ? WET_OK : WET_ERR_NOMEM;
	for (int i = 0; rc == 0 && i < WET_SAFETY_FILES; i++)
		rc = load(s, safety_dirs, i);
	if (rc != 0) {
		wet_safety_free(s);
		return rc;
	}
	*ret_safety = s;
	return WET_OK;
}

void wet_safety_free(struct wet_safety *safety)
{
	free(safety);
}
