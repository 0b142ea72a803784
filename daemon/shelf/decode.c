/* decode.c: one recipe, JSON text -> struct wet_recipe. The tables below are the file's format; recipes/
 * recipe.schema.json says the same to outside validators, and a test holds the two to one verdict. */
#include "shelf/shelf.h"

#include "base/text.h"
#include "shelf/mix.h"
#include "shelf/reader.h"
#include "shelf/told.h"
#include "shelf/where.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FACTOR_STEP_MC 10000 /* factors are kept per 10 C */

static struct wet_recipe *whole(struct reader *r)
{
	return r->whole;
}

/* -- laws of temperature -------------------------------------------------------- */

/* "1.92 per 10 C": also per another step, as the older convention has it (per 7 C). */
static int read_factor(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char want[] = "a factor with its step: \"1.92 per 10 C\"";
	struct wet_law *law = object;
	char number[16], *end;
	int32_t step_mc;
	(void)field;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	size_t n = strspn(text, "0123456789.");
	if (n == 0 || n >= sizeof number || strncmp(text + n, " per ", 5) != 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, want);
	memcpy(number, text, n);
	number[n] = '\0';
	double factor = strtod(number, &end);
	if (*end != '\0' || number[0] == '.' || number[n - 1] == '.')
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, want);
	int rc = wet_parse_temperature_difference(text + n + 5, &step_mc, NULL);
	if (rc == 0 && strspn(text + n + 5, "0123456789+-., CcFf\xC2\xB0") != strlen(text + n + 5))
		rc = WET_ERR_INVALID;
	if (rc != 0)
		return wet_reader_fail(r, rc, NULL, value, want);
	if (factor < 1.0 || factor > 100.0 || step_mc < 1000 || step_mc > 20000)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "a factor of 1 or more, per 1 C to 20 C");
	law->kind = WET_LAW_FACTOR;
	law->factor_per_10c = step_mc == FACTOR_STEP_MC ? factor : pow(factor, (double)FACTOR_STEP_MC / step_mc);
	return WET_OK;
}

static const struct field law_row_fields[] = {
	VALUE(struct wet_law_row, "at", temperature_mc, wet_read_temperature, FIELD_NEEDED),
	VALUE(struct wet_law_row, "time", time_ns, wet_read_duration, FIELD_NEEDED),
};

static int read_law_table(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_law *law = object;
	(void)field;
	if (!json_is_array(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "a list of rows {\"at\": \"20 C\", \"time\": \"2:00\"}");
	if (json_array_size(value) < 2 || json_array_size(value) > WET_LAW_ROWS)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "2 to %d rows, not %zu", WET_LAW_ROWS,
							   json_array_size(value));
	law->kind = WET_LAW_TABLE;
	for (size_t i = 0; i < json_array_size(value); i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_reader_object(r, json_array_get(value, i), law_row_fields, COUNT(law_row_fields),
								   "a row of the table", &law->rows[i]);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
		law->row_count++;
	}
	return WET_OK;
}

static const struct field law_fields[] = {
	PART("factor", read_factor, 0),
	PART("table", read_law_table, 0),
	VALUE(struct wet_law, "reference", tref_mc, wet_read_temperature, FIELD_NEEDED),
	VALUE(struct wet_law, "from", min_mc, wet_read_temperature, 0),
	VALUE(struct wet_law, "to", max_mc, wet_read_temperature, 0),
};

/* "none", or an object with a factor or a table. Without the member a stage has the law of its kind. */
static int read_law(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_law *law = &((struct wet_stage *)object)->law;
	(void)field;
	if (json_is_string(value) && strcmp(json_string_value(value), "none") == 0) {
		law->kind = WET_LAW_NONE;
		return WET_OK;
	}
	if (!json_is_object(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "\"none\", or an object with a factor or a table");
	bool has_factor = json_object_get(value, "factor") != NULL;
	bool has_table = json_object_get(value, "table") != NULL;
	int rc = wet_reader_object(r, value, law_fields, COUNT(law_fields), "a law", law);
	if (rc != 0)
		return rc;
	if (has_factor == has_table)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, NULL, "one of factor and table");
	return WET_OK;
}

/* -- stages ---------------------------------------------------------------------- */

static int read_agitation(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_stage *s = object;
	struct wet_agitation a;
	struct wet_fault inner = { 0 };
	(void)field;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	int rc = wet_parse_agitation(text, &a, &inner);
	if (rc != 0)
		return wet_reader_fail(r, rc, NULL, value, "%s", inner.want);
	if (!wet_reader_is_plain(text))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "plain times: \"30 s, then 10 s each minute\"");
	memcpy(a.how, s->agitation.how, sizeof a.how);
	s->agitation = a;
	return WET_OK;
}

static int read_begin(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = {
		[WET_BEGIN_STRAIGHT_ON] = "straight-on", [WET_BEGIN_ON_GO] = "on-go"
	};
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_stage *)object)->begin = (enum wet_begin_kind)index;
	return rc;
}

static int read_each(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { [WET_HANDLING_ONCE] = "once", [WET_HANDLING_PIECES] = "piece" };
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_stage *)object)->handling = (enum wet_handling_kind)index;
	return rc;
}

static int read_bath_key(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const struct wet_recipe *recipe = whole(r);
	char list[160] = "";
	(void)field;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	for (int i = 0; i < recipe->bath_count; i++) {
		if (strcmp(recipe->baths[i].key, text) == 0) {
			((struct wet_stage *)object)->bath = i;
			return WET_OK;
		}
		wet_text_append(list, sizeof list, "%s%s", i > 0 ? ", " : "", recipe->baths[i].key);
	}
	return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "the key of a bath: %s", list);
}

/* Marks the stage in the recipe; `false` is as good as nothing. */
static int read_white_after(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = whole(r);
	int index = (int)((const struct wet_stage *)object - recipe->stages);
	(void)field;
	if (!json_is_boolean(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "true or false");
	if (!json_is_true(value))
		return WET_OK;
	if (recipe->white_after >= 0)
		return wet_reader_fail(r, WET_ERR_EXISTS, NULL, value, "one stage only; /stages/%d has it",
							   recipe->white_after);
	recipe->white_after = index;
	return WET_OK;
}

#define STAGE_NAME TEXT(struct wet_stage, "name", name, 0)
#define STAGE_KIND PART("kind", NULL, FIELD_NEEDED)
#define STAGE_TIMES                                                                              \
	VALUE(struct wet_stage, "least", least_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED), \
		VALUE(struct wet_stage, "aim", aim_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED), \
		VALUE(struct wet_stage, "most", most_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED)

static const struct field handling_fields[] = {
	STAGE_KIND,
	STAGE_NAME,
	PART("each", read_each, FIELD_NEEDED),
	TEXT(struct wet_stage, "say", say, FIELD_NEEDED),
	VALUE(struct wet_stage, "lid_on", lid_on, wet_read_bool, 0),
};
static const struct field light_fields[] = {
	STAGE_KIND,
	STAGE_NAME,
	PART("begin", read_begin, FIELD_NEEDED),
	STAGE_TIMES,
	TEXT(struct wet_stage, "how", agitation.how, 0),
	TEXT(struct wet_stage, "say", say, 0),
	PART("source", NULL, FIELD_NEEDED),
};
/* A test's own timed step: a drop, a scrap in a bath, or only a wait. */
static const struct field test_stage_fields[] = {
	STAGE_KIND,
	STAGE_NAME,
	PART("bath", read_bath_key, 0),
	PART("begin", read_begin, FIELD_NEEDED),
	STAGE_TIMES,
	TEXT(struct wet_stage, "how", agitation.how, 0),
	TEXT(struct wet_stage, "say", say, FIELD_NEEDED),
	PART("source", NULL, FIELD_NEEDED),
};
static const struct field bath_stage_fields[] = {
	STAGE_KIND,
	STAGE_NAME,
	PART("bath", read_bath_key, FIELD_NEEDED),
	PART("begin", read_begin, FIELD_NEEDED),
	STAGE_TIMES,
	TEXT(struct wet_stage, "how", agitation.how, 0),
	PART("agitation", read_agitation, FIELD_NEEDED | FIELD_SOURCED),
	PART("law", read_law, FIELD_SOURCED),
	VALUE(struct wet_stage, "in_washer", in_washer, wet_read_bool, 0),
	PART("white_after", read_white_after, 0),
	TEXT(struct wet_stage, "say", say, 0),
	PART("source", NULL, FIELD_NEEDED),
};

/* The kind decides which members a stage may have, so it is read first. */
static int read_stage_kind(struct reader *r, const json_t *json, enum wet_stage_kind *ret_kind)
{
	const char *words[WET_STAGE_FILE_KINDS];
	int index;
	if (!json_is_object(json))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, json, "an object: a stage");
	const json_t *kind = json_object_get(json, "kind");
	if (kind == NULL)
		return wet_reader_fail(r, WET_ERR_INVALID, "kind", NULL, "this member, which a stage needs");
	for (int i = 0; i < WET_STAGE_FILE_KINDS; i++)
		words[i] = wet_stage_kind_word((enum wet_stage_kind)i);
	size_t mark = wet_reader_enter(r, "kind");
	int rc = wet_reader_word(r, kind, words, COUNT(words), &index);
	if (rc == 0) {
		wet_reader_leave(r, mark);
		*ret_kind = (enum wet_stage_kind)index;
	}
	return rc;
}

static int read_stage(struct reader *r, const json_t *json, struct wet_stage *s)
{
	char what[48];
	int rc = read_stage_kind(r, json, &s->kind);
	if (rc != 0)
		return rc;
	s->bath = -1;
	s->law = (struct wet_law){ .kind = wet_stage_kind_law(s->kind),
							   .factor_per_10c = 1.0,
							   .tref_mc = 20000,
							   .min_mc = INT32_MIN,
							   .max_mc = INT32_MAX };
	wet_text_copy(s->name, sizeof s->name, wet_stage_kind_spoken(s->kind));
	wet_text_format(what, sizeof what, "a %s stage", wet_stage_kind_word(s->kind));
	if (s->kind == WET_STAGE_HANDLING)
		return wet_reader_object(r, json, handling_fields, COUNT(handling_fields), what, s);
	if (s->kind == WET_STAGE_RE_EXPOSE)
		return wet_reader_object(r, json, light_fields, COUNT(light_fields), what, s);
	if (s->kind == WET_STAGE_TEST)
		return wet_reader_object(r, json, test_stage_fields, COUNT(test_stage_fields), what, s);
	return wet_reader_object(r, json, bath_stage_fields, COUNT(bath_stage_fields), what, s);
}

static int read_stages(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = object;
	(void)field;
	if (!json_is_array(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of stages");
	size_t n = json_array_size(value);
	if (n < 1 || n > WET_RECIPE_STAGES)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "1 to %d stages, not %zu", WET_RECIPE_STAGES,
							   n);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = read_stage(r, json_array_get(value, i), &recipe->stages[i]);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
		recipe->stage_count++;
	}
	return WET_OK;
}

/* -- baths ------------------------------------------------------------------------ */

static int read_after(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { [WET_AFTER_BACK] = "back", [WET_AFTER_WASTE] = "waste" };
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_bath *)object)->after = (enum wet_after_kind)index;
	return rc;
}

static const struct field bath_fields[] = {
	TEXT(struct wet_bath, "key", key, FIELD_NEEDED),
	TEXT(struct wet_bath, "name", name, FIELD_NEEDED),
	TEXT(struct wet_bath, "place", place, FIELD_NEEDED),
	TEXT(struct wet_bath, "solution", solution, FIELD_NEEDED | FIELD_SOURCED),
	PART("after", read_after, FIELD_NEEDED),
	VALUE(struct wet_bath, "water", is_water, wet_read_bool, 0),
	VALUE(struct wet_bath, "mix", mix, wet_read_mix, 0),
	PART("source", NULL, FIELD_NEEDED),
};

static int read_baths(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = object;
	(void)field;
	if (!json_is_array(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of baths");
	size_t n = json_array_size(value);
	if (n < 1 || n > WET_RECIPE_BATHS)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "1 to %d baths, not %zu", WET_RECIPE_BATHS,
							   n);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		const json_t *bath = json_array_get(value, i);
		int rc = wet_reader_object(r, bath, bath_fields, COUNT(bath_fields), "a bath", &recipe->baths[i]);
		if (rc != 0)
			return rc;
		for (size_t j = 0; j < i; j++) {
			if (strcmp(recipe->baths[j].key, recipe->baths[i].key) == 0)
				return wet_reader_fail(r, WET_ERR_EXISTS, "key", json_object_get(bath, "key"),
									   "a key of its own; /baths/%zu has it", j);
		}
		wet_reader_leave(r, mark);
		recipe->bath_count++;
	}
	return WET_OK;
}

/* -- the head ----------------------------------------------------------------------- */

static int read_vessel_kind(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *words[WET_VESSEL_WASHER]; /* a washer is no vessel to develop in */
	int index;
	(void)field;
	for (int i = 0; i < WET_VESSEL_WASHER; i++)
		words[i] = wet_vessel_kind_word((enum wet_vessel_kind)i);
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_recipe *)object)->vessel_kind = (enum wet_vessel_kind)index;
	return rc;
}

static int read_paper_light(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = {
		[WET_LIGHT_DARK] = "dark", [WET_LIGHT_SAFELIGHT] = "safelight", [WET_LIGHT_WHITE] = "white"
	};
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_recipe *)object)->paper_light = (enum wet_light_kind)index;
	return rc;
}

static int read_image(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { "negative", "direct-positive" };
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_recipe *)object)->is_direct_positive = index == 1;
	return rc;
}

static int read_base(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { "fibre", "resin-coated" };
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_recipe *)object)->is_resin_coated = index == 1;
	return rc;
}

static int read_developer(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = {
		[WET_DEVELOPER_OTHER] = "other", [WET_DEVELOPER_HYDROQUINONE] = "hydroquinone"
	};
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_recipe *)object)->developer = (enum wet_developer_class)index;
	return rc;
}

static const struct field vessel_fields[] = {
	PART("kind", read_vessel_kind, FIELD_NEEDED),
	VALUE(struct wet_recipe, "fill", fill_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct wet_recipe, "drain", drain_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED),
	PART("source", NULL, FIELD_NEEDED),
};
static const struct field paper_fields[] = {
	PART("image", read_image, FIELD_NEEDED),
	PART("base", read_base, FIELD_NEEDED),
	PART("light", read_paper_light, FIELD_NEEDED | FIELD_SOURCED),
	TEXT(struct wet_recipe, "safelight", safelight, 0),
	PART("source", NULL, FIELD_NEEDED),
};
static const struct field both_fields[] = {
	VALUE(struct wet_recipe, "most", both_fix_most_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED),
	PART("source", NULL, FIELD_NEEDED),
};
static const struct field dry_fields[] = {
	VALUE(struct wet_recipe, "least", dry_least_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct wet_recipe, "most", dry_most_ns, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED),
	TEXT(struct wet_recipe, "how", dry_how, FIELD_NEEDED | FIELD_SOURCED),
	PART("source", NULL, FIELD_NEEDED),
};

#define PART_OF_HEAD(name, fields, what)                                                            \
	static int name(struct reader *r, const json_t *value, void *object, const struct field *field) \
	{                                                                                               \
		(void)field;                                                                                \
		return wet_reader_object(r, value, fields, COUNT(fields), what, object);                    \
	}
PART_OF_HEAD(read_vessel, vessel_fields, "the vessel")
PART_OF_HEAD(read_paper, paper_fields, "the paper")
PART_OF_HEAD(read_both, both_fields, "two-bath fixing")
PART_OF_HEAD(read_dry, dry_fields, "drying")

static int read_kind(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { "process", "test" };
	int index;
	(void)field;
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		((struct wet_recipe *)object)->is_test = index == 1;
	return rc;
}

/* Of a run's own copy: the cameras its pieces come from. */
static int read_unload(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_recipe *recipe = object;
	size_t i;
	json_t *one;
	(void)field;
	if (!json_is_array(value) || json_array_size(value) == 0 || json_array_size(value) > WET_PIECES)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d names of cameras", WET_PIECES);
	json_array_foreach((json_t *)value, i, one)
	{
		size_t mark = wet_reader_enter_index(r, i);
		const char *text = wet_reader_string(r, one);
		if (!text)
			return r->fault->err;
		if (!text[0] || strlen(text) >= WET_NAME_BYTES)
			return wet_reader_fail(r, WET_ERR_TOO_LONG, NULL, one, "a name of 1 to %d bytes", WET_NAME_BYTES - 1);
		wet_text_copy(recipe->unload[recipe->unload_count++], WET_NAME_BYTES, text);
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static const struct field recipe_fields[] = {
	PART("$schema", wet_read_schema, 0),
	TEXT(struct wet_recipe, "name", name, FIELD_NEEDED),
	TEXT(struct wet_recipe, "title", title, FIELD_NEEDED),
	VALUE(struct wet_recipe, "version", version, wet_read_version, FIELD_NEEDED),
	PART("kind", read_kind, 0),
	PART("vessel", read_vessel, FIELD_NEEDED),
	PART("paper", read_paper, FIELD_NEEDED),
	PART("developer", read_developer, FIELD_NEEDED),
	PART("baths", read_baths, FIELD_NEEDED),
	PART("stages", read_stages, FIELD_NEEDED),
	PART("both_fixers", read_both, 0),
	PART("dry", read_dry, 0),
	PART("unload", read_unload, 0),
	PART("remarks", wet_read_remarks, 0),
	PART("reading", wet_read_reading, 0),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

int wet_recipe_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					  struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	int rc = wet_reader_parse(json, json_bytes, WET_RECIPE_FILE_BYTES, &root, &fault);
	if (rc != 0) {
		wet_where_prefix(&fault, where, "");
		goto out;
	}
	struct wet_recipe *recipe = calloc(1, sizeof *recipe);
	if (recipe == NULL) {
		rc = wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory");
		goto out;
	}
	recipe->white_after = -1;
	struct reader r = { .root = root, .whole = recipe, .fault = &fault };
	rc = wet_reader_object(&r, root, recipe_fields, COUNT(recipe_fields), "a recipe", recipe);
	if (rc == 0 && recipe->is_test != (json_object_get(root, "reading") != NULL))
		rc = wet_fault_set(&fault, WET_ERR_INVALID, "/reading", NULL,
						   "with \"kind\": \"test\" how to read the result, and only there");
	if (rc == 0)
		rc = wet_recipe_check(recipe, &fault);
	if (rc == 0)
		*ret_recipe = *recipe;
	else
		wet_where_prefix(&fault, where, "#");
	free(recipe);
out:
	json_decref(root);
	if (rc != 0 && reterr != NULL)
		*reterr = fault;
	return rc;
}
