/* mixing.c: a formula at one volume <-> text <-> the recipe of a run that leads through it. */
#include "shelf/mixing.h"

#include "base/text.h"
#include "shelf/reader.h"
#include "shelf/where.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define NS_PER_MS 1000000LL

static const char *const kind_words[] = { [WET_MIX_HANDLE] = "handle",
										  [WET_MIX_STIR] = "stir",
										  [WET_MIX_COOL] = "cool",
										  [WET_MIX_STAND] = "stand" };
static const char *const product_words[] = { "bottle", "bath" };

/* -- to text ------------------------------------------------------------------------- */

static json_t *steps_json(const struct wet_mix_guide *guide)
{
	json_t *list = json_array();
	for (int i = 0; list != NULL && i < guide->step_count; i++) {
		const struct wet_mix_step *s = &guide->steps[i];
		json_t *step = json_pack("{s:s, s:s, s:s, s:s}", "do", kind_words[s->kind], "name", s->name, "say", s->say, "how",
								 s->how);
		if (step != NULL && s->kind != WET_MIX_HANDLE &&
			json_object_update_new(step, json_pack("{s:I, s:I, s:I}", "least_ms", (json_int_t)(s->time.least_ns / NS_PER_MS),
												   "aim_ms", (json_int_t)(s->time.aim_ns / NS_PER_MS), "most_ms",
												   (json_int_t)(s->time.most_ns / NS_PER_MS))) != 0) {
			json_decref(step);
			step = NULL;
		}
		if (step == NULL || json_array_append_new(list, step) != 0) {
			json_decref(list);
			return NULL;
		}
	}
	return list;
}

int wet_mixing_text(const struct wet_mixing *m, char **ret_json, size_t *ret_bytes, struct wet_fault *reterr)
{
	const struct wet_formula *f = m->formula;
	const struct wet_weigh_step *last = &m->list.steps[m->list.step_count - 1];
	char name[sizeof WET_MIX_PREFIX + WET_NAME_BYTES], title[WET_LINE_BYTES];
	if (strlen(WET_MIX_PREFIX) + strlen(f->name) >= WET_NAME_BYTES)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "name", f->name, "a formula whose name has at most %d letters",
							 (int)(WET_NAME_BYTES - sizeof WET_MIX_PREFIX));
	struct wet_mix_guide *guide = malloc(sizeof *guide);
	int rc = guide != NULL ? wet_formula_guide(m->table, f, &m->list, m->called, guide) : WET_ERR_NOMEM;
	json_t *root = NULL;
	if (rc == 0) {
		wet_text_format(name, sizeof name, WET_MIX_PREFIX "%s", f->name);
		wet_text_format(title, sizeof title, "Mix: %s", f->title);
		root = json_pack("{s:s, s:s, s:i, s:{s:s, s:s, s:s, s:I}, s:o}", "name", name, "title", title, "version", f->version,
						 "makes", "as", product_words[m->is_bath], "called", m->called, "what", f->name, "volume_ul",
						 (json_int_t)last->shown, "steps", steps_json(guide));
		*ret_json = root != NULL ? wet_reader_canonical(root, ret_bytes) : NULL;
		rc = *ret_json != NULL ? WET_OK : WET_ERR_NOMEM;
	}
	json_decref(root);
	free(guide);
	return rc == 0 ? WET_OK : wet_fault_set(reterr, rc, "name", f->name, "more memory");
}

/* -- and back -------------------------------------------------------------------------- */

static int read_whole_number(struct reader *r, const json_t *value, int64_t low, int64_t high, int64_t *ret_number)
{
	if (!json_is_integer(value) || json_integer_value(value) < low || json_integer_value(value) > high)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "a whole number within reason");
	*ret_number = json_integer_value(value);
	return WET_OK;
}

static int read_ms(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t ms = 0;
	int rc = read_whole_number(r, value, 1, WET_STAGE_NS_MAX / NS_PER_MS, &ms);
	*(int64_t *)((char *)object + field->offset) = ms * NS_PER_MS;
	return rc;
}

static int read_volume_ul(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_whole_number(r, value, 1, WET_MAKE_UL_MOST, (int64_t *)((char *)object + field->offset));
}

static int read_as(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int index, rc = wet_reader_word(r, value, product_words, COUNT(product_words), &index);
	(void)field;
	if (rc == 0)
		((struct wet_product *)object)->is_bath = index == 1;
	return rc;
}

static int read_do(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const enum wet_stage_kind kinds[] = { [WET_MIX_HANDLE] = WET_STAGE_HANDLING,
												 [WET_MIX_STIR] = WET_STAGE_MIX,
												 [WET_MIX_COOL] = WET_STAGE_MIX,
												 [WET_MIX_STAND] = WET_STAGE_STAND };
	struct wet_stage *s = object;
	int index, rc = wet_reader_word(r, value, kind_words, COUNT(kind_words), &index);
	(void)field;
	if (rc != 0)
		return rc;
	s->kind = kinds[index];
	s->bath = s->kind == WET_STAGE_HANDLING ? -1 : 0;
	s->begin = WET_BEGIN_ON_GO;
	s->agitation.is_continuous = index == WET_MIX_STIR;
	s->law = (struct wet_law){ .factor_per_10c = 1.0, .tref_mc = 20000, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
	return WET_OK;
}

static const struct field step_fields[] = {
	{ "do", read_do, FIELD_NEEDED, 0, 0 },
	TEXT(struct wet_stage, "name", name, FIELD_NEEDED),
	TEXT(struct wet_stage, "say", say, FIELD_NEEDED),
	TEXT(struct wet_stage, "how", agitation.how, FIELD_NEEDED | FIELD_EMPTY_FINE),
	VALUE(struct wet_stage, "least_ms", least_ns, read_ms, 0),
	VALUE(struct wet_stage, "aim_ms", aim_ns, read_ms, 0),
	VALUE(struct wet_stage, "most_ms", most_ns, read_ms, 0),
};

static int read_steps(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = object;
	size_t n = json_array_size(value);
	(void)field;
	if (!json_is_array(value) || n < 1 || n > WET_MIX_STEPS)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, NULL, "a list of 1 to %d steps", WET_MIX_STEPS);
	for (size_t i = 0; i < n; i++) {
		struct wet_stage *s = &recipe->stages[recipe->stage_count];
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_reader_object(r, json_array_get(value, i), step_fields, COUNT(step_fields), "a step", s);
		if (rc != 0)
			return rc;
		bool is_timed = s->least_ns > 0 && s->least_ns <= s->aim_ns && s->aim_ns <= s->most_ns &&
						s->aim_ns >= WET_MIX_AIM_NS_LEAST;
		bool has_time = s->least_ns > 0 || s->aim_ns > 0 || s->most_ns > 0;
		if (s->kind == WET_STAGE_HANDLING ? has_time : !is_timed)
			return wet_reader_fail(r, WET_ERR_RANGE, NULL, NULL, "times in their order, and none where nothing is timed");
		wet_reader_leave(r, mark);
		recipe->stage_count++;
	}
	return WET_OK;
}

static const struct field product_fields[] = {
	{ "as", read_as, FIELD_NEEDED, 0, 0 },
	TEXT(struct wet_product, "called", name, FIELD_NEEDED),
	TEXT(struct wet_product, "what", what, FIELD_NEEDED),
	VALUE(struct wet_product, "volume_ul", volume_ul, read_volume_ul, FIELD_NEEDED),
};

static int read_makes(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return wet_reader_object(r, value, product_fields, COUNT(product_fields), "what is made",
							 &((struct wet_recipe *)object)->makes);
}

static const struct field mixing_fields[] = {
	TEXT(struct wet_recipe, "name", name, FIELD_NEEDED),
	TEXT(struct wet_recipe, "title", title, FIELD_NEEDED),
	VALUE(struct wet_recipe, "version", version, wet_read_version, FIELD_NEEDED),
	{ "makes", read_makes, FIELD_NEEDED, 0, 0 },
	{ "steps", read_steps, FIELD_NEEDED, 0, 0 },
};

/* What is the same in each: an open vessel in white light, and one bath, whose thermometer may be read. */
static void set_rest(struct wet_recipe *r)
{
	struct wet_bath *b = &r->baths[r->bath_count++];
	wet_text_copy(b->key, sizeof b->key, "solution");
	wet_text_copy(b->name, sizeof b->name, "Solution");
	wet_text_copy(b->place, sizeof b->place, "mixing vessel");
	wet_text_copy(b->solution, sizeof b->solution, r->title);
	r->vessel_kind = WET_VESSEL_OPEN_TANK;
	r->paper_light = WET_LIGHT_WHITE;
	r->white_after = -1;
}

int wet_mixing_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					  struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	struct wet_recipe *recipe = calloc(1, sizeof *recipe);
	int rc = recipe != NULL ? wet_reader_parse(json, json_bytes, WET_RECIPE_FILE_BYTES, &root, &fault) : WET_ERR_NOMEM;
	if (rc == 0) {
		struct reader r = { .root = root, .whole = recipe, .fault = &fault };
		rc = wet_reader_object(&r, root, mixing_fields, COUNT(mixing_fields), "a mix", recipe);
	}
	if (rc == 0) {
		set_rest(recipe);
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
