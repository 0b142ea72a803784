/* phrasebook.c: a language file, JSON text -> phrases. */
#include "shelf/phrasebook.h"

#include "base/text.h"
#include "shelf/files.h"
#include "shelf/reader.h"

#include <stdlib.h>
#include <string.h>

static int read_phrases(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_phrasebook *book = object;
	const char *say;
	json_t *as;
	(void)field;
	if (!json_is_object(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "an object: English sentences and what is said for them");
	json_object_foreach((json_t *)value, say, as)
	{
		struct wet_phrase *p = &book->list[book->phrases.count];
		if (book->phrases.count == WET_PHRASES)
			return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "at most %d phrases", WET_PHRASES);
		size_t mark = wet_reader_enter(r, say);
		*p = (struct wet_phrase){ .say = say, .as = wet_reader_string(r, as) };
		if (!p->as)
			return r->fault ? r->fault->err : WET_ERR_INVALID;
		if (strlen(say) >= WET_LINE_BYTES || strlen(p->as) >= WET_LINE_BYTES)
			return wet_reader_fail(r, WET_ERR_TOO_LONG, NULL, as, "at most %d bytes", WET_LINE_BYTES - 1);
		if (!wet_phrase_is_sound(p))
			return wet_reader_fail(r, WET_ERR_INVALID, NULL, as,
								   "holes {1} to {9}, each once and none side by side in the sentence; no other braces");
		wet_reader_leave(r, mark);
		book->phrases.count++;
	}
	return WET_OK;
}

static int read_names(struct reader *r, const json_t *value, struct wet_number_name *names, size_t *count)
{
	const char *figures;
	json_t *as;
	if (!json_is_object(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "an object: numbers and how they are said");
	json_object_foreach((json_t *)value, figures, as)
	{
		char *end, back[16];
		long n = strtol(figures, &end, 10);
		if (*count == WET_NUMBER_NAMES)
			return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "at most %d numbers", WET_NUMBER_NAMES);
		size_t mark = wet_reader_enter(r, figures);
		wet_text_format(back, sizeof back, "%ld", n);
		if (n < 0 || n > 9999 || strcmp(back, figures) != 0)
			return wet_reader_fail(r, WET_ERR_RANGE, NULL, NULL, "a whole number from 0 to 9999, in figures");
		names[*count] = (struct wet_number_name){ (int)n, wet_reader_string(r, as) };
		if (!names[*count].as)
			return r->fault ? r->fault->err : WET_ERR_INVALID;
		wet_reader_leave(r, mark);
		++*count;
	}
	return WET_OK;
}

static int read_numbers(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_phrasebook *book = object;
	(void)field;
	return read_names(r, value, book->numbers, &book->phrases.number_count);
}

static int read_ordinals(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_phrasebook *book = object;
	(void)field;
	return read_names(r, value, book->ordinals, &book->phrases.ordinal_count);
}

static const struct field fields[] = {
	{ "language", wet_read_key, FIELD_NEEDED, offsetof(struct wet_phrasebook, language), WET_NAME_BYTES },
	{ "voice", wet_read_text, FIELD_NEEDED, offsetof(struct wet_phrasebook, voice), WET_NAME_BYTES },
	{ "decimal", wet_read_text, 0, offsetof(struct wet_phrasebook, decimal), sizeof((struct wet_phrasebook *)0)->decimal },
	{ "numbers", read_numbers, 0, 0, 0 },
	{ "ordinals", read_ordinals, 0, 0, 0 },
	{ "phrases", read_phrases, FIELD_NEEDED, 0, 0 },
};

int wet_phrasebook_decode(const char *json, size_t bytes, struct wet_phrasebook **ret_book, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct wet_phrasebook *book = calloc(1, sizeof *book);
	json_t *root = NULL;
	struct reader r = { .whole = book, .fault = &fault };
	int rc = book ? wet_reader_parse(json, bytes, WET_PHRASEBOOK_BYTES, &root, &fault)
				  : wet_fault_set(&fault, WET_ERR_NOMEM, "", NULL, "more memory");
	if (rc == 0) {
		r.root = book->file = root;
		book->phrases.list = book->list;
		rc = wet_reader_object(&r, root, fields, sizeof fields / sizeof fields[0], "a language file", book);
	}
	if (rc == 0) {
		book->phrases.says_numbers = strncmp(book->language, "en", 2) != 0;
		book->phrases.numbers = book->numbers;
		book->phrases.ordinals = book->ordinals;
		book->phrases.decimal = book->decimal[0] ? book->decimal : NULL;
		*ret_book = book;
	} else
		wet_phrasebook_free(book);
	if (rc != 0 && reterr)
		*reterr = fault;
	return rc;
}

int wet_phrasebook_read(const char *path, struct wet_phrasebook **ret_book, struct wet_fault *reterr)
{
	char *text = NULL;
	size_t bytes = 0;
	int rc = wet_shelf_read_file(path, WET_PHRASEBOOK_BYTES, &text, &bytes, reterr);
	if (rc != 0)
		return rc;
	rc = wet_phrasebook_decode(text, bytes, ret_book, reterr);
	if (rc != 0)
		wet_fault_prefix(reterr, path);
	free(text);
	return rc;
}

void wet_phrasebook_free(struct wet_phrasebook *book)
{
	if (!book)
		return;
	json_decref(book->file);
	free(book);
}
