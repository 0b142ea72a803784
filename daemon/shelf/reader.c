/* reader.c: JSON objects into structs by table. */
#include "shelf/reader.h"

#include "base/text.h"
#include "wetside/limits.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define VALUE_BYTES 72 /* how much of a wrong value is shown */
#define WANT_BYTES 224 /* as in struct wet_fault */
#define CITATION_BYTES 512
#define SOURCES_MAX 64
#define VERSION_MAX 1000000000
#define NEAR_BYTES 32 /* no member's name is longer */

/* -- the text of a file ------------------------------------------------------ */

/* Depth of nesting, counted outside of strings, without parsing: 0 for a text without brackets. */
static size_t deepest(const char *json, size_t n)
{
	size_t depth = 0, most = 0;
	bool is_inside = false;
	for (size_t i = 0; i < n; i++) {
		char c = json[i];
		if (is_inside) {
			if (c == '\\')
				i++;
			else if (c == '"')
				is_inside = false;
		} else if (c == '"') {
			is_inside = true;
		} else if (c == '{' || c == '[') {
			depth++;
			most = depth > most ? depth : most;
		} else if ((c == '}' || c == ']') && depth > 0) {
			depth--;
		}
	}
	return most;
}

static unsigned hex4(const char *digits)
{
	unsigned code = 0;
	for (int i = 0; i < 4; i++) {
		char c = digits[i];
		code = code << 4 | (unsigned)(c <= '9' ? c - '0' : (c | 0x20) - 'a' + 10);
	}
	return code;
}

/* Bytes of UTF-8 in all strings of a valid JSON text, escapes undone. */
static size_t string_bytes_of_text(const char *json, size_t n)
{
	size_t total = 0;
	bool is_inside = false;
	for (size_t i = 0; i < n; i++) {
		if (json[i] == '"') {
			is_inside = !is_inside;
		} else if (is_inside && json[i] == '\\' && json[i + 1] == 'u') {
			unsigned code = hex4(json + i + 2);
			/* Each half of a surrogate pair stands for two of the four bytes. */
			total += code < 0x80 ? 1 : code < 0x800 || (code >= 0xD800 && code < 0xE000) ? 2 : 3;
			i += 5;
		} else if (is_inside) {
			total++;
			i += json[i] == '\\';
		}
	}
	return total;
}

/* The same in what was parsed; at most WET_JSON_DEPTH deep. */
static size_t string_bytes_of_value(const json_t *value)
{
	const char *key;
	const json_t *inner;
	size_t total = 0;
	if (json_is_string(value))
		return json_string_length(value);
	for (size_t i = 0; json_is_array(value) && i < json_array_size(value); i++)
		total += string_bytes_of_value(json_array_get(value, i));
	json_object_foreach((json_t *)(uintptr_t)value, key, inner) total +=
		strlen(key) + string_bytes_of_value(inner);
	return total;
}

static int fail_parse(const json_error_t *error, struct wet_fault *fault)
{
	char where[48], want[JSON_ERROR_TEXT_LENGTH];
	wet_text_format(where, sizeof where, ":%d:%d", error->line, error->column);
	wet_text_copy(want, sizeof want, error->text);
	/* jansson leaves the text empty where memory failed before it could say so. */
	if (json_error_code(error) == json_error_out_of_memory || error->text[0] == '\0')
		return wet_fault_set(fault, WET_ERR_NOMEM, where, NULL, "more memory");
	if (json_error_code(error) == json_error_duplicate_key)
		return wet_fault_set(fault, WET_ERR_EXISTS, where, want, "each member once");
	return wet_fault_set(fault, WET_ERR_PARSE, where, want, "JSON as in RFC 8259");
}

int wet_reader_parse(const char *json, size_t json_bytes, size_t bytes_max, json_t **ret_root,
					 struct wet_fault *fault)
{
	char found[48];
	json_error_t error;
	if (json_bytes > bytes_max)
		return wet_fault_set(fault, WET_ERR_TOO_LONG, "",
							 wet_text_format(found, sizeof found, "%zu bytes", json_bytes),
							 "at most %zu bytes", bytes_max);
	if (!wet_text_is_utf8(json, json_bytes))
		return wet_fault_set(fault, WET_ERR_PARSE, "", "other bytes", "UTF-8 without NUL");
	if (json_bytes >= 3 && memcmp(json, "\xEF\xBB\xBF", 3) == 0)
		return wet_fault_set(fault, WET_ERR_PARSE, "", "a byte order mark", "UTF-8 without one");
	size_t depth = deepest(json, json_bytes);
	if (depth > WET_JSON_DEPTH)
		return wet_fault_set(fault, WET_ERR_TOO_LONG, "",
							 wet_text_format(found, sizeof found, "%zu levels", depth),
							 "at most %d levels of nesting", WET_JSON_DEPTH);
	json_t *root = json_loadb(json, json_bytes, JSON_REJECT_DUPLICATES, &error);
	if (root == NULL)
		return fail_parse(&error, fault);
	/* When memory fails within a long string, jansson 2.14 leaves a byte out and says nothing: "12:00" could become
	 * "2:00". A lost byte shows in the sum. */
	if (string_bytes_of_value(root) != string_bytes_of_text(json, json_bytes)) {
		json_decref(root);
		return wet_fault_set(fault, WET_ERR_NOMEM, "", NULL, "more memory");
	}
	*ret_root = root;
	return WET_OK;
}

char *wet_reader_canonical(const json_t *root, size_t *ret_bytes)
{
	/* json_dumps of 2.14 can return damaged text when memory fails; json_dumpb into a measured buffer
	 * cannot. */
	const size_t flags = JSON_SORT_KEYS | JSON_COMPACT;
	size_t n = json_dumpb(root, NULL, 0, flags);
	char *text = n > 0 ? malloc(n + 1) : NULL;
	if (text == NULL)
		return NULL;
	if (json_dumpb(root, text, n, flags) != n) {
		free(text);
		return NULL;
	}
	text[n] = '\0';
	*ret_bytes = n;
	return text;
}

/* -- where and what ------------------------------------------------------------ */

size_t wet_reader_enter(struct reader *r, const char *member)
{
	size_t mark = strlen(r->pointer);
	char escaped[2 * NEAR_BYTES + 3];
	size_t n = 0;
	for (const char *at = member; *at != '\0' && n + 3 < sizeof escaped; at++) {
		if (*at == '~' || *at == '/') { /* RFC 6901 */
			escaped[n++] = '~';
			escaped[n++] = *at == '~' ? '0' : '1';
		} else {
			escaped[n++] = *at;
		}
	}
	escaped[n] = '\0';
	wet_text_append(r->pointer, sizeof r->pointer, "/%s", escaped);
	return mark;
}

size_t wet_reader_enter_index(struct reader *r, size_t index)
{
	size_t mark = strlen(r->pointer);
	wet_text_append(r->pointer, sizeof r->pointer, "/%zu", index);
	return mark;
}

void wet_reader_leave(struct reader *r, size_t mark)
{
	r->pointer[mark] = '\0';
}

static const char *show_value(const json_t *value, char *buf, size_t buf_bytes)
{
	switch (json_typeof(value)) {
	case JSON_OBJECT: return "an object";
	case JSON_ARRAY: return "a list";
	case JSON_STRING: return wet_text_copy(buf, buf_bytes, json_string_value(value));
	case JSON_TRUE: return "true";
	case JSON_FALSE: return "false";
	case JSON_NULL: return "null";
	case JSON_INTEGER:
		return wet_text_format(buf, buf_bytes, "the number %lld", (long long)json_integer_value(value));
	default: return wet_text_format(buf, buf_bytes, "the number %g", json_real_value(value));
	}
}

int wet_reader_fail(struct reader *r, int err, const char *member, const json_t *value, const char *want, ...)
{
	char found[VALUE_BYTES], text[WANT_BYTES];
	va_list ap;
	va_start(ap, want);
	wet_text_vformat(text, sizeof text, want, ap);
	va_end(ap);
	size_t mark = strlen(r->pointer);
	if (member != NULL)
		wet_reader_enter(r, member);
	wet_fault_set(r->fault, err, r->pointer, value != NULL ? show_value(value, found, sizeof found) : NULL,
				  "%s", text);
	wet_reader_leave(r, mark);
	return err;
}

/* -- names that are nearly right ------------------------------------------------ */

/* Levenshtein's distance of two names under NEAR_BYTES, one row at a time. */
static size_t edit_distance(const char *a, const char *b)
{
	size_t row[NEAR_BYTES + 1];
	size_t an = strlen(a), bn = strlen(b);
	if (an > NEAR_BYTES || bn > NEAR_BYTES)
		return SIZE_MAX;
	for (size_t j = 0; j <= bn; j++)
		row[j] = j;
	for (size_t i = 1; i <= an; i++) {
		size_t diagonal = row[0];
		row[0] = i;
		for (size_t j = 1; j <= bn; j++) {
			size_t change = diagonal + (a[i - 1] != b[j - 1]);
			size_t shorter = row[j - 1] < row[j] ? row[j - 1] + 1 : row[j] + 1;
			diagonal = row[j];
			row[j] = change < shorter ? change : shorter;
		}
	}
	return row[bn];
}

static int fail_unknown(struct reader *r, const char *name, const struct field *fields, size_t field_count,
						const char *what)
{
	char list[WANT_BYTES] = "";
	const char *near = NULL;
	size_t nearest = strlen(name) / 3 + 1;
	for (size_t i = 0; i < field_count; i++) {
		size_t distance = edit_distance(name, fields[i].name);
		if (distance <= nearest && distance < SIZE_MAX) {
			nearest = distance;
			near = fields[i].name;
		}
		wet_text_append(list, sizeof list, "%s%s", i > 0 ? ", " : "", fields[i].name);
	}
	size_t mark = wet_reader_enter(r, name);
	int err = WET_ERR_INVALID;
	if (near != NULL)
		wet_fault_set(r->fault, err, r->pointer, name, "did you mean \"%s\"? %s may have: %s", near, what,
					  list);
	else
		wet_fault_set(r->fault, err, r->pointer, name, "a member %s may have: %s", what, list);
	wet_reader_leave(r, mark);
	return err;
}

/* -- sources --------------------------------------------------------------------- */

bool wet_reader_is_source(const struct reader *r, const char *text)
{
	return strcmp(text, SOURCE_MEMORY) == 0 || strcmp(text, SOURCE_PRACTICE) == 0 ||
		   json_object_get(json_object_get(r->root, "sources"), text) != NULL;
}

int wet_read_source(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (!wet_reader_is_source(r, text))
		return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "a key of /sources, \"%s\" or \"%s\"",
							   SOURCE_MEMORY, SOURCE_PRACTICE);
	return WET_OK;
}

/* {"key": "Author, Title, publisher, year, page"} */
int wet_read_sources(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *key;
	json_t *citation;
	(void)object;
	(void)field;
	if (!json_is_object(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "an object: key to citation");
	if (json_object_size(value) > SOURCES_MAX)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "at most %d sources", SOURCES_MAX);
	/* jansson's iterator wants a pointer that is not const; nothing is changed. */
	json_object_foreach((json_t *)(uintptr_t)value, key, citation)
	{
		size_t n = strlen(key);
		if (n == 0 || n > NEAR_BYTES || strspn(key, "abcdefghijklmnopqrstuvwxyz0123456789-") != n)
			return wet_reader_fail(r, WET_ERR_INVALID, key, NULL,
								   "a key of small letters, digits and '-', up to %d", NEAR_BYTES);
		size_t mark = wet_reader_enter(r, key);
		const char *text = wet_reader_string(r, citation);
		if (text == NULL)
			return WET_ERR_INVALID;
		if (text[0] == '\0' || strlen(text) >= CITATION_BYTES)
			return wet_reader_fail(r, WET_ERR_TOO_LONG, NULL, NULL, "a citation of 1 to %d bytes",
								   CITATION_BYTES - 1);
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static const struct field *find_field(const struct field *fields, size_t field_count, const char *name)
{
	for (size_t i = 0; i < field_count; i++) {
		if (strcmp(fields[i].name, name) == 0)
			return &fields[i];
	}
	return NULL;
}

/* The object's "source": every sourced value that is there has one, and each is known. */
static int check_source(struct reader *r, const json_t *json, const struct field *fields, size_t field_count)
{
	const json_t *source = json_object_get(json, "source");
	const char *name;
	json_t *value;
	size_t mark = wet_reader_enter(r, "source");
	if (source != NULL && !json_is_object(source))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, source, "an object: member to source");
	json_object_foreach((json_t *)(uintptr_t)source, name, value)
	{
		const struct field *f = find_field(fields, field_count, name);
		if (f == NULL || !(f->flags & FIELD_SOURCED))
			return wet_reader_fail(r, WET_ERR_INVALID, name, NULL, "the name of a sourced value beside it");
		size_t inner = wet_reader_enter(r, name);
		int rc = wet_read_source(r, value, NULL, NULL);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, inner);
	}
	for (size_t i = 0; i < field_count; i++) {
		const struct field *f = &fields[i];
		bool needs = (f->flags & FIELD_SOURCED) && json_object_get(json, f->name) != NULL;
		if (needs && json_object_get(source, f->name) == NULL)
			return wet_reader_fail(r, WET_ERR_INVALID, f->name, NULL,
								   "where \"%s\" comes from: a key of /sources, \"%s\" or \"%s\"", f->name,
								   SOURCE_MEMORY, SOURCE_PRACTICE);
	}
	wet_reader_leave(r, mark);
	return WET_OK;
}

/* -- objects ----------------------------------------------------------------------- */

int wet_reader_object(struct reader *r, const json_t *json, const struct field *fields, size_t field_count,
					  const char *what, void *object)
{
	const char *name;
	json_t *value;
	bool has_sources = false;
	if (!json_is_object(json))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, json, "an object: %s", what);
	json_object_foreach((json_t *)(uintptr_t)json, name, value)
	{
		if (find_field(fields, field_count, name) == NULL)
			return fail_unknown(r, name, fields, field_count, what);
	}
	for (size_t i = 0; i < field_count; i++) {
		const struct field *f = &fields[i];
		value = json_object_get(json, f->name);
		has_sources = has_sources || (f->flags & FIELD_SOURCED);
		if (value == NULL && (f->flags & FIELD_NEEDED))
			return wet_reader_fail(r, WET_ERR_INVALID, f->name, NULL, "this member, which %s needs", what);
		if (value == NULL || f->read == NULL)
			continue;
		size_t mark = wet_reader_enter(r, f->name);
		int rc = f->read(r, value, object, f);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
	}
	return has_sources ? check_source(r, json, fields, field_count) : WET_OK;
}

/* -- values ------------------------------------------------------------------------ */

const char *wet_reader_string(struct reader *r, const json_t *value)
{
	char clean[CITATION_BYTES * 2];
	if (!json_is_string(value)) {
		wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "text in quotes");
		return NULL;
	}
	const char *text = json_string_value(value);
	/* Longer than any text of a file: its own limit will refuse it. */
	if (strlen(text) < sizeof clean && strcmp(wet_text_clean(clean, sizeof clean, text), text) != 0) {
		wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "text without control characters");
		return NULL;
	}
	return text;
}

int wet_read_text(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (text[0] == '\0' && !(field->flags & FIELD_EMPTY_FINE))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "some text");
	if (strlen(text) >= field->bytes)
		return wet_reader_fail(r, WET_ERR_TOO_LONG, NULL, value, "at most %zu bytes", field->bytes - 1);
	wet_text_copy((char *)object + field->offset, field->bytes, text);
	return WET_OK;
}

int wet_read_key(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	size_t n = text != NULL ? strlen(text) : 0;
	if (text == NULL)
		return WET_ERR_INVALID;
	if (n == 0 || n >= WET_NAME_BYTES || strspn(text, "abcdefghijklmnopqrstuvwxyz-0123456789") != n ||
		text[0] == '-' || text[n - 1] == '-')
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "small letters, digits and '-' within, up to %d", WET_NAME_BYTES - 1);
	wet_text_copy((char *)object + field->offset, WET_NAME_BYTES, text);
	return WET_OK;
}

int wet_read_bool(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	if (!json_is_boolean(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "true or false");
	bool is_true = json_is_true(value);
	memcpy((char *)object + field->offset, &is_true, sizeof is_true);
	return WET_OK;
}

int wet_read_version(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	/* JSON Schema counts 1.0 as an integer, and so do we. */
	double n = json_number_value(value);
	if (!json_is_number(value) || n < 1 || n > VERSION_MAX || n != (double)(int)n)
		return wet_reader_fail(r, json_is_number(value) ? WET_ERR_RANGE : WET_ERR_INVALID, NULL, value,
							   "a whole number from 1 to %d", VERSION_MAX);
	int version = (int)n;
	memcpy((char *)object + field->offset, &version, sizeof version);
	return WET_OK;
}

/* People may type quantities in more ways than a file may hold them (fractions, signs, no-break spaces): a file
 * keeps to plain ones, so that its schema can say the same. */
bool wet_reader_is_plain(const char *text)
{
	return text[strspn(text, "0123456789abcdefghijklmnopqrstuvwxyz:., ")] == '\0';
}

/* As above, for temperatures: a sign, and the degree sign. */
static bool is_plain_temperature(const char *text)
{
	const char *sign = strstr(text, "\xC2\xB0");
	size_t n = strspn(text, "0123456789+-., CcFf");
	return text[n] == '\0' || (sign == text + n && text[n + 2 + strspn(text + n + 2, "CcFf ")] == '\0');
}

/* A parser of the core said no: its words, at our place. */
static int fail_quantity(struct reader *r, int err, const json_t *value, const struct wet_fault *inner)
{
	return wet_reader_fail(r, err, NULL, value, "%s", inner->want[0] ? inner->want : wet_err_text(err));
}

int wet_read_duration(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_fault inner = { 0 };
	int64_t ns;
	if (json_is_number(value))
		return wet_reader_fail(r, WET_ERR_UNIT_MISSING, NULL, value,
							   "a time in quotes, with its unit: \"2:00\" or \"90 s\"");
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	int rc = wet_parse_duration(text, &ns, &inner);
	if (rc != 0)
		return fail_quantity(r, rc, value, &inner);
	if (!wet_reader_is_plain(text))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "a plain time: \"2:00\", \"90 s\", \"1 min 30 s\"");
	memcpy((char *)object + field->offset, &ns, sizeof ns);
	return WET_OK;
}

int wet_read_temperature(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_fault inner = { 0 };
	int32_t mc;
	if (json_is_number(value))
		return wet_reader_fail(r, WET_ERR_UNIT_MISSING, NULL, value,
							   "a temperature in quotes, with its unit: \"20 C\"");
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	int rc = wet_parse_temperature(text, &mc, &inner);
	if (rc != 0)
		return fail_quantity(r, rc, value, &inner);
	if (!is_plain_temperature(text))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a plain temperature: \"20 C\", \"68 F\"");
	memcpy((char *)object + field->offset, &mc, sizeof mc);
	return WET_OK;
}

bool wet_reader_decimal(const char *text, size_t whole, size_t places, int64_t *ret_number,
						const char **ret_rest)
{
	size_t n = strspn(text, "0123456789"), after = 0;
	int64_t number = 0;
	if (n == 0 || n > whole)
		return false;
	if (text[n] == '.') {
		after = strspn(text + n + 1, "0123456789");
		if (after > places)
			return false; /* none at all: the point is left over */
	}
	for (size_t i = 0; i < n; i++)
		number = number * 10 + (text[i] - '0');
	for (size_t i = 0; i < places; i++)
		number = number * 10 + (i < after ? text[n + 1 + i] - '0' : 0);
	*ret_number = number;
	*ret_rest = text + n + (after > 0 ? after + 1 : 0);
	return true;
}

/* "$schema" is for editors. */
int wet_read_schema(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return wet_reader_string(r, value) != NULL ? WET_OK : WET_ERR_INVALID;
}

int wet_reader_word(struct reader *r, const json_t *value, const char *const *words, size_t word_count,
					int *ret_index)
{
	char list[WANT_BYTES] = "";
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	for (size_t i = 0; i < word_count; i++) {
		if (words[i] != NULL && strcmp(words[i], text) == 0) {
			*ret_index = (int)i;
			return WET_OK;
		}
		if (words[i] != NULL)
			wet_text_append(list, sizeof list, "%s%s", list[0] ? ", " : "", words[i]);
	}
	return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "one of: %s", list);
}
