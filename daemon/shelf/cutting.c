/* cutting.c: a cutting sequence <-> text <-> the recipe of a run that leads through it. */
#include "shelf/cutting.h"

#include "base/text.h"
#include "shelf/reader.h"
#include "shelf/where.h"

#include <stdlib.h>
#include <string.h>

/* -- to text ------------------------------------------------------------------------- */

int wet_cutting_text(const struct wet_cutting *c, char **ret_json, size_t *ret_bytes,
					 struct wet_fault *reterr)
{
	json_t *steps = json_array(), *root = NULL;
	for (int i = 0; i < c->guide.step_count; i++)
		(void)json_array_append_new(
			steps, json_pack("{s:s, s:s}", "name", c->guide.steps[i].name, "say", c->guide.steps[i].say));
	if (json_array_size(steps) == (size_t)c->guide.step_count)
		root = json_pack("{s:s, s:s, s:i, s:s, s:s, s:i, s:O}", "name", WET_CUT_NAME, "title", c->title,
						 "version", 1, "safelight", c->safelight, "box", c->box, "dark", c->guide.dark_count,
						 "steps", steps);
	char *json = root != NULL ? wet_reader_canonical(root, ret_bytes) : NULL;
	json_decref(steps);
	json_decref(root);
	if (json == NULL)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "cut", NULL, "more memory");
	*ret_json = json;
	return WET_OK;
}

/* -- and back -------------------------------------------------------------------------- */

static const struct field step_fields[] = {
	TEXT(struct wet_stage, "name", name, FIELD_NEEDED),
	TEXT(struct wet_stage, "say", say, FIELD_NEEDED),
};

static int read_steps(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = object;
	size_t n = json_array_size(value);
	(void)field;
	if (!json_is_array(value) || n < 2 || n > WET_RECIPE_STAGES)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, NULL, "a list of 2 to %d steps", WET_RECIPE_STAGES);
	for (size_t i = 0; i < n; i++) {
		struct wet_stage *s = &recipe->stages[recipe->stage_count];
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_reader_object(r, json_array_get(value, i), step_fields, COUNT(step_fields), "a step", s);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
		s->kind = WET_STAGE_HANDLING;
		s->bath = -1;
		s->begin = WET_BEGIN_ON_GO;
		s->law = (struct wet_law){
			.factor_per_10c = 1.0, .tref_mc = 20000, .min_mc = INT32_MIN, .max_mc = INT32_MAX
		};
		recipe->stage_count++;
	}
	return WET_OK;
}

/* Kept in the text, where the box's time under the safelight can be added up from; a run has no use for it. */
static int read_box(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return wet_reader_string(r, value) != NULL ? WET_OK : WET_ERR_INVALID;
}

/* Of so many steps the last in the dark. */
static int read_dark(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	json_int_t n = json_integer_value(value);
	(void)field;
	if (!json_is_integer(value) || n < 1 || n >= WET_RECIPE_STAGES)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "how many steps are in the dark, 1 to %d",
							   WET_RECIPE_STAGES - 1);
	((struct wet_recipe *)object)->white_after = (int)n - 1;
	return WET_OK;
}

static const struct field cutting_fields[] = {
	TEXT(struct wet_recipe, "name", name, FIELD_NEEDED),
	TEXT(struct wet_recipe, "title", title, FIELD_NEEDED),
	VALUE(struct wet_recipe, "version", version, wet_read_version, FIELD_NEEDED),
	TEXT(struct wet_recipe, "safelight", safelight, FIELD_NEEDED | FIELD_EMPTY_FINE),
	{ "box", read_box, FIELD_NEEDED, 0, 0 },
	{ "dark", read_dark, FIELD_NEEDED, 0, 0 },
	{ "steps", read_steps, FIELD_NEEDED, 0, 0 },
};

int wet_cutting_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					   struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	struct wet_recipe *recipe = calloc(1, sizeof *recipe);
	int rc = recipe != NULL ? wet_reader_parse(json, json_bytes, WET_RECIPE_FILE_BYTES, &root, &fault)
							: WET_ERR_NOMEM;
	if (rc == 0) {
		struct reader r = { .root = root, .whole = recipe, .fault = &fault };
		rc = wet_reader_object(&r, root, cutting_fields, COUNT(cutting_fields), "a cutting sequence", recipe);
		if (rc == 0 &&
			(recipe->white_after >= recipe->stage_count - 1 || strcmp(recipe->name, WET_CUT_NAME) != 0))
			rc = wet_reader_fail(&r, WET_ERR_INVALID, NULL, NULL,
								 "a cutting sequence whose last step is in the light");
	}
	if (rc == 0) {
		recipe->vessel_kind = WET_VESSEL_TRAYS; /* the paper lies open until the last box is shut */
		recipe->paper_light = recipe->safelight[0] != '\0' ? WET_LIGHT_SAFELIGHT : WET_LIGHT_DARK;
		*ret_recipe = *recipe;
	} else {
		fault.err = rc;
		wet_where_prefix(&fault, where, "#");
	}
	free(recipe);
	json_decref(root);
	if (rc != 0 && reterr != NULL)
		*reterr = fault;
	return rc;
}
