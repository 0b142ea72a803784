/* note.c: the safety note: data -> checked -> text for people.
 *
 * A note is complete if it says what to wear and open, what each bath can do, what never to mix, what to do
 * for eye, skin, mouth and lungs, and where each bath goes, with silver kept out of drains. It ends with the
 * three lines of wet_closing_lines. Every line has its source. */
#include "shelf/note.h"

#include "base/text.h"
#include "shelf/reader.h"
#include "shelf/shelf.h"
#include "shelf/where.h"

#include <stdlib.h>
#include <string.h>

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
#define ENTRIES_MAX 32
#define ENTRY_SOURCES_MAX 4
#define SOURCES_MAX 64
#define WRAP_COLUMNS 78

/* The numbers: US Poison Help line, poisonhelp.hrsa.gov; the others from memory (112, 911, 999; NHS 111). */
const char *const wet_closing_lines[WET_CLOSING_LINES] = {
	"Emergency: 112 (Europe), 911 (North America), 999 (United Kingdom); elsewhere your own emergency "
	"number.",
	"Poison centre: 1-800-222-1222 (United States), NHS 111 (United Kingdom); elsewhere your national "
	"centre.",
	"The safety data sheet outranks this, and local rules decide about waste.",
};

enum { ROUTE_EYE, ROUTE_SKIN, ROUTE_SWALLOWED, ROUTE_BREATHED, ROUTE_OTHER, ROUTE_N };
static const char *const route_words[ROUTE_N] = { "eye", "skin", "swallowed", "breathed", "other" };

/* What the file says, as far as it is needed to judge it; texts are read into `line` one after another. */
struct contents {
	const struct wet_recipe *recipe;
	char recipe_name[WET_NAME_BYTES];
	char title[WET_LINE_BYTES];
	char reason[WET_LINE_BYTES];
	int recipe_version;
	bool needs_acknowledgement;
	char line[400];
	char when[WET_NAME_BYTES];
	bool is_silver, has_silver;
	unsigned routes;         /* bits */
	unsigned baths;          /* bits of the entry being read */
	unsigned hurt, disposed; /* bits of baths spoken of */
};

/* -- reading ------------------------------------------------------------------ */

static int read_one_source(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	if (!json_is_array(value))
		return wet_read_source(r, value, object, field);
	size_t n = json_array_size(value);
	if (n < 1 || n > ENTRY_SOURCES_MAX)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, value, "1 to %d sources", ENTRY_SOURCES_MAX);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_read_source(r, json_array_get(value, i), object, field);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static int read_baths(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct contents *c = object;
	(void)field;
	size_t n = json_array_size(value);
	if (!json_is_array(value) || n < 1 || n > WET_RECIPE_BATHS)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d keys of baths",
							   WET_RECIPE_BATHS);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int found = -1;
		const char *key = wet_reader_string(r, json_array_get(value, i));
		if (key == NULL)
			return WET_ERR_INVALID;
		for (int j = 0; j < c->recipe->bath_count; j++) {
			if (strcmp(c->recipe->baths[j].key, key) == 0)
				found = j;
		}
		if (found < 0)
			return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, json_array_get(value, i),
								   "the key of a bath of %s", c->recipe->name);
		c->baths |= 1u << found;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static int read_route(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, route_words, COUNT(route_words), &index);
	if (rc == 0)
		((struct contents *)object)->routes |= 1u << index;
	return rc;
}

#define LINE                                                                  \
	{                                                                         \
		"text", wet_read_text, FIELD_NEEDED, offsetof(struct contents, line), \
			sizeof(((struct contents *)0)->line)                              \
	}
#define BATHS                        \
	{                                \
		"baths", read_baths, 0, 0, 0 \
	}
#define SOURCE                                        \
	{                                                 \
		"source", read_one_source, FIELD_NEEDED, 0, 0 \
	}

static const struct field plain_fields[] = { LINE, SOURCE };
static const struct field hurt_fields[] = { LINE, BATHS, SOURCE };
static const struct field disposal_fields[] = {
	LINE,
	BATHS,
	{ "silver", wet_read_bool, 0, offsetof(struct contents, is_silver), 0 },
	SOURCE,
};
static const struct field happening_fields[] = {
	{ "route", read_route, FIELD_NEEDED, 0, 0 },
	{ "when", wet_read_text, FIELD_NEEDED, offsetof(struct contents, when),
	  sizeof(((struct contents *)0)->when) },
	LINE,
	SOURCE,
};

static int read_list(struct reader *r, const json_t *value, const struct field *fields, size_t field_count,
					 unsigned *ret_baths)
{
	struct contents *c = r->whole;
	size_t n = json_array_size(value);
	if (!json_is_array(value) || n < 1 || n > ENTRIES_MAX)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d entries", ENTRIES_MAX);
	c->baths = 0;
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		c->is_silver = false;
		int rc = wet_reader_object(r, json_array_get(value, i), fields, field_count, "an entry", c);
		if (rc != 0)
			return rc;
		c->has_silver = c->has_silver || c->is_silver;
		wet_reader_leave(r, mark);
	}
	if (ret_baths != NULL)
		*ret_baths = c->baths;
	return WET_OK;
}

static int read_plain(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, plain_fields, COUNT(plain_fields), NULL);
}

static int read_hurt(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, hurt_fields, COUNT(hurt_fields), &((struct contents *)object)->hurt);
}

static int read_happenings(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, happening_fields, COUNT(happening_fields), NULL);
}

static int read_disposal(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, disposal_fields, COUNT(disposal_fields),
					 &((struct contents *)object)->disposed);
}

#define HEAD(name, member)                                                    \
	{                                                                         \
		name, wet_read_text, FIELD_NEEDED, offsetof(struct contents, member), \
			sizeof(((struct contents *)0)->member)                            \
	}
static const struct field note_fields[] = {
	{ "$schema", wet_read_schema, 0, 0, 0 },
	HEAD("recipe", recipe_name),
	{ "recipe_version", wet_read_version, FIELD_NEEDED, offsetof(struct contents, recipe_version), 0 },
	HEAD("title", title),
	{ "needs_acknowledgement", wet_read_bool, FIELD_NEEDED, offsetof(struct contents, needs_acknowledgement),
	  0 },
	{ "reason", wet_read_text, 0, offsetof(struct contents, reason), WET_LINE_BYTES },
	{ "wear_and_open", read_plain, FIELD_NEEDED, 0, 0 },
	{ "can_hurt", read_hurt, FIELD_NEEDED, 0, 0 },
	{ "never_mix", read_plain, FIELD_NEEDED, 0, 0 },
	{ "if_it_happens", read_happenings, FIELD_NEEDED, 0, 0 },
	{ "disposal", read_disposal, FIELD_NEEDED, 0, 0 },
	{ "sources", wet_read_sources, FIELD_NEEDED, 0, 0 },
};

/* -- completeness --------------------------------------------------------------- */

static int missing(struct reader *r, const char *member, const char *found, const char *want,
				   const char *more)
{
	char where[48];
	wet_text_format(where, sizeof where, "/%s", member);
	return wet_fault_set(r->fault, WET_ERR_NOTE_MISSING, where, found, "%s%s", want, more);
}

static int check_complete(struct reader *r, const struct contents *c)
{
	char version[16];
	const struct wet_recipe *recipe = c->recipe;
	if (strcmp(c->recipe_name, recipe->name) != 0)
		return missing(r, "recipe", c->recipe_name, "the note of ", recipe->name);
	if (c->recipe_version != recipe->version)
		return missing(r, "recipe_version", wet_text_format(version, sizeof version, "%d", c->recipe_version),
					   "the version of the recipe it was written for; read it again and raise it", "");
	if (c->needs_acknowledgement != (c->reason[0] != '\0'))
		return missing(r, "reason", c->reason, "a reason where it must be acknowledged, and only there", "");
	for (int i = 0; i < recipe->bath_count; i++) {
		if (recipe->baths[i].is_water)
			continue;
		if (!(c->hurt & 1u << i))
			return missing(r, "can_hurt", NULL, "an entry with the bath ", recipe->baths[i].key);
		if (!(c->disposed & 1u << i))
			return missing(r, "disposal", NULL, "an entry with the bath ", recipe->baths[i].key);
	}
	for (int i = 0; i < ROUTE_OTHER; i++) {
		if (!(c->routes & 1u << i))
			return missing(r, "if_it_happens", NULL, "an entry with the route ", route_words[i]);
	}
	for (int i = 0; i < recipe->stage_count; i++) {
		bool is_fix =
			recipe->stages[i].kind == WET_STAGE_FIX || recipe->stages[i].kind == WET_STAGE_SECOND_FIX;
		if (is_fix && !c->has_silver)
			return missing(r, "disposal", NULL, "an entry with \"silver\": true: fixer holds it", "");
	}
	return WET_OK;
}

/* -- rendering -------------------------------------------------------------------- */

struct page {
	char *text;
	size_t n, room;
	bool is_out_of_memory;
	const json_t *root;
	const char *cited[SOURCES_MAX]; /* keys in the order of their numbers; borrowed from root */
	size_t cited_count;
};

static void put(struct page *p, const char *text, size_t n)
{
	if (p->is_out_of_memory)
		return;
	if (p->n + n + 1 > p->room) {
		size_t room = (p->n + n + 1) * 2;
		char *more = realloc(p->text, room);
		if (more == NULL) {
			p->is_out_of_memory = true;
			return;
		}
		p->text = more;
		p->room = room;
	}
	memcpy(p->text + p->n, text, n);
	p->n += n;
	p->text[p->n] = '\0';
}

static void put_text(struct page *p, const char *text)
{
	put(p, text, strlen(text));
}

/* Characters, not bytes; wide ones are no matter here. */
static size_t columns(const char *text, size_t n)
{
	size_t count = 0;
	for (size_t i = 0; i < n; i++)
		count += ((unsigned char)text[i] & 0xC0) != 0x80;
	return count;
}

/* Wraps at blanks; `first` stands before the first line, `rest` before the others. */
static void put_wrapped(struct page *p, const char *first, const char *rest, const char *text)
{
	size_t used = columns(first, strlen(first));
	put_text(p, first);
	for (bool is_first = true; *text != '\0'; is_first = false) {
		size_t n = strcspn(text, " ");
		size_t width = columns(text, n);
		if (!is_first && used + 1 + width > WRAP_COLUMNS) {
			put_text(p, "\n");
			put_text(p, rest);
			used = columns(rest, strlen(rest));
		} else if (!is_first) {
			put_text(p, " ");
			used++;
		}
		put(p, text, n);
		used += width;
		text += n;
		text += strspn(text, " ");
	}
	put_text(p, "\n");
}

/* The number of a source, given as it first appears; 0 for a reserved phrase. */
static size_t number_of(struct page *p, const char *key)
{
	if (json_object_get(json_object_get(p->root, "sources"), key) == NULL)
		return 0;
	for (size_t i = 0; i < p->cited_count; i++) {
		if (strcmp(p->cited[i], key) == 0)
			return i + 1;
	}
	if (p->cited_count == SOURCES_MAX)
		return 0;
	p->cited[p->cited_count++] = key;
	return p->cited_count;
}

static void append_source(struct page *p, const char *key, bool is_first, char *buf, size_t buf_bytes)
{
	size_t number = number_of(p, key);
	const char *joint = is_first ? " [" : ", ";
	if (number > 0)
		wet_text_append(buf, buf_bytes, "%s%zu", joint, number);
	else
		wet_text_append(buf, buf_bytes, "%s%s", joint, key);
}

static void put_entry(struct page *p, const json_t *entry)
{
	char line[1024] = "";
	const char *when = json_string_value(json_object_get(entry, "when"));
	const json_t *source = json_object_get(entry, "source");
	if (when != NULL)
		wet_text_append(line, sizeof line, "%s: ", when);
	wet_text_append(line, sizeof line, "%s", json_string_value(json_object_get(entry, "text")));
	if (json_is_string(source))
		append_source(p, json_string_value(source), true, line, sizeof line);
	for (size_t i = 0; i < json_array_size(source); i++)
		append_source(p, json_string_value(json_array_get(source, i)), i == 0, line, sizeof line);
	wet_text_append(line, sizeof line, "]");
	put_wrapped(p, "- ", "  ", line);
}

static void put_section(struct page *p, const char *heading, const char *member)
{
	const json_t *list = json_object_get(p->root, member);
	put_text(p, "\n## ");
	put_text(p, heading);
	put_text(p, "\n\n");
	for (size_t i = 0; i < json_array_size(list); i++)
		put_entry(p, json_array_get(list, i));
}

static void put_sources(struct page *p)
{
	char number[16];
	put_text(p, "\n## Sources\n\n");
	if (p->cited_count == 0)
		put_text(p, "None was found.\n");
	for (size_t i = 0; i < p->cited_count; i++) {
		wet_text_format(number, sizeof number, "%zu. ", i + 1);
		put_wrapped(p, number, "   ",
					json_string_value(json_object_get(json_object_get(p->root, "sources"), p->cited[i])));
	}
}

/* The whole note; NULL when memory ran out. */
static char *render(const json_t *root, const struct contents *c)
{
	struct page p = { .root = root };
	char reason[WET_LINE_BYTES + 64];
	put_wrapped(&p, "# Safety: ", "  ", c->title);
	if (c->needs_acknowledgement) {
		put_text(&p, "\n");
		wet_text_format(reason, sizeof reason, "%s Read this once before the first run and acknowledge it.",
						c->reason);
		put_wrapped(&p, "", "", reason);
	}
	put_section(&p, "First: what to wear, what to open", "wear_and_open");
	put_section(&p, "What can hurt", "can_hurt");
	put_section(&p, "Never mix", "never_mix");
	put_section(&p, "If it happens", "if_it_happens");
	put_section(&p, "Afterwards: what goes where", "disposal");
	put_sources(&p);
	put_text(&p, "\n");
	for (size_t i = 0; i < WET_CLOSING_LINES; i++) {
		put_text(&p, "- ");
		put_text(&p, wet_closing_lines[i]);
		put_text(&p, "\n");
	}
	if (p.is_out_of_memory) {
		free(p.text);
		return NULL;
	}
	return p.text;
}

int wet_note_read(const char *json, size_t json_bytes, const char *where, const struct wet_recipe *recipe,
				  struct note *ret_note, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct contents c = { .recipe = recipe };
	struct note note = { 0 };
	json_t *root = NULL;
	size_t n;
	int rc = wet_reader_parse(json, json_bytes, NOTE_FILE_BYTES, &root, &fault);
	if (rc != 0) {
		wet_where_prefix(&fault, where, "");
		goto out;
	}
	struct reader r = { .root = root, .whole = &c, .fault = &fault };
	rc = wet_reader_object(&r, root, note_fields, COUNT(note_fields), "a safety note", &c);
	if (rc == 0)
		rc = check_complete(&r, &c);
	if (rc != 0) {
		wet_where_prefix(&fault, where, "#");
		goto out;
	}
	note.needs_acknowledgement = c.needs_acknowledgement;
	note.text = render(root, &c);
	note.json = wet_reader_canonical(root, &n);
	if (note.text == NULL || note.json == NULL) {
		free(note.text);
		free(note.json);
		rc = wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory");
		goto out;
	}
	*ret_note = note;
out:
	json_decref(root);
	if (rc != 0 && reterr != NULL)
		*reterr = fault;
	return rc;
}
