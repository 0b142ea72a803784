/* note.c: the safety note: data -> checked. The text for people is made in note_page.c.
 *
 * A note is complete if it says what to wear and open, what each bath can do, what never to mix, what to do
 * for eye, skin, mouth and lungs, and where each bath goes, with silver kept out of drains. What is alike for all comes
 * from the rules of practice, what follows from a bath's formula from the tables; the file adds what neither says.
 * Every line has its source. */
#include "shelf/note_inside.h"

#include "base/text.h"
#include "shelf/reader.h"
#include "shelf/where.h"

#include <stdlib.h>
#include <string.h>

#define ENTRIES_MAX 32
#define ENTRY_SOURCES_MAX 4

#define WORD(name, word) word,
static const char *const route_words[WET_ROUTE_N] = { WET_NOTE_ROUTES(WORD) };
#undef WORD

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
	struct note_contents *c = object;
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
		((struct note_contents *)object)->routes |= 1u << index;
	return rc;
}

#define LINE                                                                  \
	{                                                                         \
		"text", wet_read_text, FIELD_NEEDED, offsetof(struct note_contents, line), \
			sizeof(((struct note_contents *)0)->line)                              \
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
	{ "silver", wet_read_bool, 0, offsetof(struct note_contents, is_silver), 0 },
	SOURCE,
};
static const struct field happening_fields[] = {
	{ "route", read_route, FIELD_NEEDED, 0, 0 },
	{ "when", wet_read_text, FIELD_NEEDED, offsetof(struct note_contents, when),
	  sizeof(((struct note_contents *)0)->when) },
	LINE,
	SOURCE,
};

static int read_list(struct reader *r, const json_t *value, const struct field *fields, size_t field_count,
					 unsigned *ret_baths)
{
	struct note_contents *c = r->whole;
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

static int read_wear(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	((struct note_contents *)object)->sections |= 1u << WET_SECTION_WEAR;
	return read_list(r, value, plain_fields, COUNT(plain_fields), NULL);
}

static int read_never_mix(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	((struct note_contents *)object)->sections |= 1u << WET_SECTION_NEVER_MIX;
	return read_list(r, value, plain_fields, COUNT(plain_fields), NULL);
}

static int read_hurt(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, hurt_fields, COUNT(hurt_fields), &((struct note_contents *)object)->hurt);
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
					 &((struct note_contents *)object)->disposed);
}

#define HEAD(name, member)                                                    \
	{                                                                         \
		name, wet_read_text, FIELD_NEEDED, offsetof(struct note_contents, member), \
			sizeof(((struct note_contents *)0)->member)                            \
	}
static const struct field note_fields[] = {
	{ "$schema", wet_read_schema, 0, 0, 0 },
	HEAD("recipe", recipe_name),
	{ "recipe_version", wet_read_version, FIELD_NEEDED, offsetof(struct note_contents, recipe_version), 0 },
	HEAD("title", title),
	{ "needs_acknowledgement", wet_read_bool, FIELD_NEEDED, offsetof(struct note_contents, needs_acknowledgement),
	  0 },
	{ "reason", wet_read_text, 0, offsetof(struct note_contents, reason), WET_LINE_BYTES },
	{ "wear_and_open", read_wear, 0, 0, 0 },
	{ "can_hurt", read_hurt, 0, 0, 0 },
	{ "never_mix", read_never_mix, 0, 0, 0 },
	{ "if_it_happens", read_happenings, 0, 0, 0 },
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

/* What the tables know of the baths, and what the rules of practice say of such a recipe. */
static void take_known(struct note_contents *c, const struct note_reference *about)
{
	c->about = about;
	for (int i = 0; about && i < c->recipe->bath_count; i++) {
		const struct wet_bath *bath = &c->recipe->baths[i];
		const struct wet_formulary_item *item = wet_formulary_find(about->formulary, bath->mix.from);
		if (bath->is_water || bath->mix.from[0] == '\0' || item == NULL)
			continue;
		wet_formula_contents(&about->safety->hazards, wet_formulary_substances(about->formulary), &item->formula,
							 bath->mix.stock_milli, bath->mix.water_milli, &c->baths_hold[i]);
		if (c->baths_hold[i].unknown_count > 0)
			continue;
		c->known |= 1u << i;
		for (int j = 0; j < c->baths_hold[i].component_count; j++)
			c->classes |= c->baths_hold[i].components[j].substance->classes;
	}
	for (int i = 0; about && i < about->safety->practice.count; i++) {
		const struct wet_practice_rule *rule = &about->safety->practice.rules[i];
		if (rule->note[0] == '\0' || !wet_practice_applies(rule, c->recipe->vessel_kind, c->classes))
			continue;
		c->sections |= 1u << rule->section;
		if (rule->section == WET_SECTION_HAPPENS)
			c->routes |= 1u << rule->route;
	}
}

static int check_lists(struct reader *r, const struct note_contents *c)
{
	if (!(c->sections & 1u << WET_SECTION_WEAR))
		return missing(r, "wear_and_open", NULL, "what to wear and what to open", "");
	if (!(c->sections & 1u << WET_SECTION_NEVER_MIX))
		return missing(r, "never_mix", NULL, "what must never be mixed", "");
	for (int i = 0; i < WET_ROUTE_OTHER; i++) {
		if (!(c->routes & 1u << i))
			return missing(r, "if_it_happens", NULL, "an entry with the route ", route_words[i]);
	}
	return WET_OK;
}

static int check_complete(struct reader *r, const struct note_contents *c)
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
		if (!((c->hurt | c->known) & 1u << i))
			return missing(r, "can_hurt", NULL, "an entry with the bath ", recipe->baths[i].key);
		if (!(c->disposed & 1u << i))
			return missing(r, "disposal", NULL, "an entry with the bath ", recipe->baths[i].key);
	}
	for (int i = 0; i < recipe->stage_count; i++) {
		bool is_fix =
			recipe->stages[i].kind == WET_STAGE_FIX || recipe->stages[i].kind == WET_STAGE_SECOND_FIX;
		if (is_fix && !c->has_silver)
			return missing(r, "disposal", NULL, "an entry with \"silver\": true: fixer holds it", "");
	}
	return check_lists(r, c);
}

void note_release(struct note *note)
{
	free(note->text);
	free(note->sources);
	free(note->json);
	*note = (struct note){ 0 };
}

int wet_note_read(const char *json, size_t json_bytes, const char *where, const struct wet_recipe *recipe,
				  const struct note_reference *about, struct note *ret_note, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct note_contents *c = calloc(1, sizeof *c);
	struct note note = { 0 };
	json_t *root = NULL;
	size_t n;
	int rc = c == NULL ? wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory")
					   : wet_reader_parse(json, json_bytes, NOTE_FILE_BYTES, &root, &fault);
	if (c == NULL)
		goto out;
	c->recipe = recipe;
	if (rc != 0) {
		wet_where_prefix(&fault, where, "");
		goto out;
	}
	struct reader r = { .root = root, .whole = c, .fault = &fault };
	rc = wet_reader_object(&r, root, note_fields, COUNT(note_fields), "a safety note", c);
	take_known(c, about);
	if (rc == 0)
		rc = check_complete(&r, c);
	if (rc != 0) {
		wet_where_prefix(&fault, where, "#");
		goto out;
	}
	note.needs_acknowledgement = c->needs_acknowledgement;
	note_render(root, c, &note);
	note.json = wet_reader_canonical(root, &n);
	if (note.text == NULL || note.sources == NULL || note.json == NULL) {
		note_release(&note);
		rc = wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory");
		goto out;
	}
	*ret_note = note;
out:
	free(c);
	json_decref(root);
	if (rc != 0 && reterr != NULL)
		*reterr = fault;
	return rc;
}
