/* cutting.c: a cutting sequence <-> text <-> the recipe of a run that leads through it. */
#include "shelf/cutting.h"

#include "base/text.h"
#include "shelf/reader.h"
#include "shelf/where.h"

#include <stdlib.h>
#include <string.h>

static const char *const base_words[] = { "fibre", "rc" };

/* -- to text ------------------------------------------------------------------------- */

int wet_cutting_text(const struct wet_cutting *c, char **ret_json, size_t *ret_bytes,
					 struct wet_fault *reterr)
{
	json_t *steps = json_array(), *pieces = json_array(), *root = NULL;
	for (int i = 0; i < c->guide.step_count; i++)
		(void)json_array_append_new(
			steps, json_pack("{s:s, s:s}", "name", c->guide.steps[i].name, "say", c->guide.steps[i].say));
	for (int i = 0; i < c->made_count; i++)
		(void)json_array_append_new(pieces,
									json_pack("[i, I, I]", c->made[i].number, (json_int_t)c->made[i].width_um,
											  (json_int_t)c->made[i].height_um));
	if (json_array_size(steps) == (size_t)c->guide.step_count &&
		json_array_size(pieces) == (size_t)c->made_count)
		root = json_pack("{s:s, s:s, s:i, s:s, s:s, s:s, s:O, s:i, s:O}", "name", WET_CUT_NAME, "title",
						 c->title, "version", 1, "safelight", c->safelight, "box", c->box, "base",
						 base_words[c->is_resin_coated], "pieces", pieces, "dark", c->guide.dark_count,
						 "steps", steps);
	char *json = root != NULL ? wet_reader_canonical(root, ret_bytes) : NULL;
	json_decref(steps);
	json_decref(pieces);
	json_decref(root);
	if (json == NULL)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "cut", NULL, "more memory");
	*ret_json = json;
	return WET_OK;
}

/* -- and back -------------------------------------------------------------------------- */

/* A run needs the recipe; the ledger, at its end, the rest. */
struct sequence {
	struct wet_recipe recipe;
	struct wet_cutting cutting;
};

static const struct field step_fields[] = {
	TEXT(struct wet_stage, "name", name, FIELD_NEEDED),
	TEXT(struct wet_stage, "say", say, FIELD_NEEDED),
};

static int read_steps(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = &((struct sequence *)object)->recipe;
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

/* [number, width, height], in micrometres. */
static int read_pieces(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_cutting *c = &((struct sequence *)object)->cutting;
	size_t i;
	json_t *row;
	(void)field;
	if (!json_is_array(value) || json_array_size(value) > WET_CUT_MADE)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, NULL, "a list of at most %d pieces", WET_CUT_MADE);
	json_array_foreach(value, i, row)
	{
		json_int_t n[3] = { 0 };
		for (size_t k = 0; k < 3; k++)
			n[k] = json_integer_value(json_array_get(row, k));
		if (json_array_size(row) != 3 || n[0] < 1 || n[0] > WET_CUT_NUMBER_MOST || n[1] < 1 ||
			n[1] > 3000000 || n[2] < 1 || n[2] > 3000000)
			return wet_reader_fail(r, WET_ERR_RANGE, NULL, row, "a piece's number, width and height");
		c->made[c->made_count++] = (struct wet_cut_made){ (int)n[0], n[1], n[2] };
	}
	return WET_OK;
}

static int read_base(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int index = 0, rc = wet_reader_word(r, value, base_words, COUNT(base_words), &index);
	(void)field;
	((struct sequence *)object)->cutting.is_resin_coated = index == 1;
	return rc;
}

/* Of so many steps the last in the dark. */
static int read_dark(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	json_int_t n = json_integer_value(value);
	(void)field;
	if (!json_is_integer(value) || n < 1 || n >= WET_RECIPE_STAGES)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "how many steps are in the dark, 1 to %d",
							   WET_RECIPE_STAGES - 1);
	((struct sequence *)object)->recipe.white_after = (int)n - 1;
	return WET_OK;
}

static const struct field cutting_fields[] = {
	TEXT(struct sequence, "name", recipe.name, FIELD_NEEDED),
	TEXT(struct sequence, "title", recipe.title, FIELD_NEEDED),
	VALUE(struct sequence, "version", recipe.version, wet_read_version, FIELD_NEEDED),
	TEXT(struct sequence, "safelight", recipe.safelight, FIELD_NEEDED | FIELD_EMPTY_FINE),
	TEXT(struct sequence, "box", cutting.box, FIELD_NEEDED | FIELD_EMPTY_FINE),
	{ "base", read_base, FIELD_NEEDED, 0, 0 },
	{ "pieces", read_pieces, FIELD_NEEDED, 0, 0 },
	{ "dark", read_dark, FIELD_NEEDED, 0, 0 },
	{ "steps", read_steps, FIELD_NEEDED, 0, 0 },
};

/* The caller's to free; NULL after a fault. */
static struct sequence *read_sequence(const char *json, size_t json_bytes, const char *where,
									  struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	struct sequence *q = calloc(1, sizeof *q);
	int rc =
		q != NULL ? wet_reader_parse(json, json_bytes, WET_RECIPE_FILE_BYTES, &root, &fault) : WET_ERR_NOMEM;
	if (rc == 0) {
		struct reader r = { .root = root, .whole = q, .fault = &fault };
		rc = wet_reader_object(&r, root, cutting_fields, COUNT(cutting_fields), "a cutting sequence", q);
		if (rc == 0 &&
			(q->recipe.white_after >= q->recipe.stage_count - 1 || strcmp(q->recipe.name, WET_CUT_NAME) != 0))
			rc = wet_reader_fail(&r, WET_ERR_INVALID, NULL, NULL,
								 "a cutting sequence whose last step is in the light");
	}
	json_decref(root);
	if (rc == 0)
		return q;
	fault.err = rc;
	wet_where_prefix(&fault, where, "#");
	if (reterr != NULL)
		*reterr = fault;
	free(q);
	return NULL;
}

int wet_cutting_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					   struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct sequence *q = read_sequence(json, json_bytes, where, &fault);
	if (q == NULL) {
		if (reterr != NULL)
			*reterr = fault;
		return fault.err;
	}
	q->recipe.vessel_kind = WET_VESSEL_TRAYS; /* the paper lies open until the last box is shut */
	q->recipe.paper_light = q->recipe.safelight[0] != '\0' ? WET_LIGHT_SAFELIGHT : WET_LIGHT_DARK;
	*ret_recipe = q->recipe;
	free(q);
	return WET_OK;
}

int wet_cutting_made(const char *json, size_t json_bytes, struct wet_cutting *ret_cutting,
					 struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct sequence *q = read_sequence(json, json_bytes, WET_CUT_NAME, &fault);
	if (q == NULL) {
		if (reterr != NULL)
			*reterr = fault;
		return fault.err;
	}
	*ret_cutting = q->cutting;
	free(q);
	return WET_OK;
}

char *wet_cutting_piece(const struct wet_cutting *c, int piece, int64_t run_id, char *buf, size_t buf_bytes)
{
	const struct wet_cut_made *m = &c->made[piece];
	struct wet_cut_words words = { .is_resin_coated = c->is_resin_coated };
	char mark[64], *json;
	size_t bytes;
	json_t *body = json_pack(
		"{s:s, s:s, s:I, s:s, s:i, s:I, s:s, s:I}", "base", base_words[c->is_resin_coated], "box", c->box,
		"height_um", (json_int_t)m->height_um, "mark", wet_cut_say_mark(&words, m->number, mark, sizeof mark),
		"number", m->number, "run", (json_int_t)run_id, "state", "cut", "width_um", (json_int_t)m->width_um);
	json = body != NULL ? wet_reader_canonical(body, &bytes) : NULL;
	wet_text_copy(buf, buf_bytes, json != NULL ? json : "");
	free(json);
	json_decref(body);
	return buf;
}
