/* formula_decode.c: substances and formulas, JSON text -> structs. The tables below are the files' format;
 * recipes/substances.schema.json and recipes/formula.schema.json say the same to outside validators, and a test holds
 * both to one verdict. */
#include "shelf/formulary.h"

#include "base/text.h"
#include "shelf/reader.h"
#include "shelf/where.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define FILE_BYTES (256 * 1024)
#define FORMS_OF_ONE 16 /* forms of one substance */
#define DIGITS "0123456789"

/* A formula's file being read, and what it is made of. */
struct making {
	struct wet_formula formula;
	const struct wet_substances *table;
};

/* A line being read: what stands in it, before the two are weighed against each other. */
struct line {
	struct wet_ingredient ingredient;
	bool is_volume, has_amount;
};

/* -- plain numbers ------------------------------------------------------------------ */

/* "3.1 g", "48 mL": millionths of the unit, which is one of a NULL-terminated list; -1: none such. */
static int read_amount_of(const char *text, const char *const *units, int64_t *ret_millionths)
{
	const char *rest;
	if (!wet_reader_decimal(text, 9, 6, ret_millionths, &rest) || rest[0] != ' ')
		return -1;
	for (int i = 0; units[i] != NULL; i++) {
		if (strcmp(rest + 1, units[i]) == 0)
			return i;
	}
	return -1;
}

static int64_t divided(int64_t n, int64_t d)
{
	return (n + d / 2) / d;
}

/* Microlitres of the volume that `unit` millionths of mL (0) or L (1) are. */
static int64_t volume_ul(int unit, int64_t millionths)
{
	return unit == 0 ? divided(millionths, 1000) : millionths;
}

static int read_volume(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const units[] = { "mL", "L", NULL };
	int64_t millionths;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	int unit = read_amount_of(text, units, &millionths);
	if (unit < 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a plain volume: \"750 mL\", \"1 L\"");
	int64_t ul = volume_ul(unit, millionths);
	memcpy((char *)object + field->offset, &ul, sizeof ul);
	return WET_OK;
}

/* -- formulas ------------------------------------------------------------------------ */

static int read_amount(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const units[] = { "mL", "L", "mg", "g", "kg", NULL };
	struct line *line = object;
	int64_t millionths;
	(void)field;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	int unit = read_amount_of(text, units, &millionths);
	if (unit < 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "a plain amount: \"3.1 g\", \"81 mg\", \"48 mL\"");
	line->has_amount = true;
	line->is_volume = unit < 2;
	line->ingredient.amount = unit < 2    ? volume_ul(unit, millionths)
							  : unit == 2 ? divided(millionths, 1000000)
							  : unit == 3 ? divided(millionths, 1000)
										  : millionths;
	return WET_OK;
}

static int read_form(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const struct wet_substances *table = ((struct making *)r->whole)->table;
	(void)field;
	const char *key = wet_reader_string(r, value);
	if (key == NULL)
		return WET_ERR_INVALID;
	if (key[0] == '\0' || strlen(key) >= WET_NAME_BYTES)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "the key of a form in " WET_SUBSTANCES_FILE);
	for (int i = 0; i < table->form_count; i++) {
		if (strcmp(table->forms[i].key, key) == 0) {
			((struct line *)object)->ingredient.form = (uint8_t)i;
			return WET_OK;
		}
	}
	return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "the key of a form in " WET_SUBSTANCES_FILE);
}

static int read_pinch(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	if (!json_is_true(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "true, or no such member");
	((struct line *)object)->ingredient.is_pinch = true;
	return WET_OK;
}

static int read_below(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	((struct line *)object)->ingredient.has_below = true;
	return wet_read_temperature(r, value, object, field);
}

#define MIX_TIME(name, member) VALUE(struct wet_mix_time, name, member, wet_read_duration, FIELD_NEEDED | FIELD_SOURCED)
static const struct field time_fields[] = {
	MIX_TIME("least", least_ns),
	MIX_TIME("aim", aim_ns),
	MIX_TIME("most", most_ns),
	PART("source", NULL, FIELD_NEEDED),
};
#undef MIX_TIME

/* A timed step; one of no length is none. */
static int read_time(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_mix_time *time = (struct wet_mix_time *)((char *)object + field->offset);
	int rc = wet_reader_object(r, value, time_fields, COUNT(time_fields), "a timed step", time);
	if (rc == 0 && time->aim_ns == 0)
		rc = wet_reader_fail(r, WET_ERR_RANGE, "aim", json_object_get(value, "aim"), "20 s or more");
	return rc;
}

static const struct field line_fields[] = {
	PART("substance", read_form, FIELD_NEEDED),
	PART("amount", read_amount, FIELD_SOURCED),
	PART("pinch", read_pinch, FIELD_SOURCED),
	VALUE(struct line, "below", ingredient.below_mc, read_below, FIELD_SOURCED),
	VALUE(struct line, "cool", ingredient.cool, read_time, 0),
	VALUE(struct line, "stir", ingredient.stir, read_time, 0),
	PART("source", NULL, FIELD_NEEDED),
};

static int read_line(struct reader *r, const json_t *value, struct making *m)
{
	struct line line = { .is_volume = false };
	int rc = wet_reader_object(r, value, line_fields, COUNT(line_fields), "an ingredient", &line);
	if (rc != 0)
		return rc;
	if (line.has_amount == line.ingredient.is_pinch)
		return wet_reader_fail(r, WET_ERR_INVALID, "amount", NULL, "either an amount or a pinch");
	bool is_liquid = wet_form_is_liquid(&m->table->forms[line.ingredient.form]);
	if (line.has_amount && line.is_volume != is_liquid)
		return wet_reader_fail(r, WET_ERR_UNIT_WRONG, "amount", json_object_get(value, "amount"),
							   is_liquid ? "mL or L: it is a liquid" : "g, mg or kg: it is a solid");
	m->formula.ingredients[m->formula.ingredient_count++] = line.ingredient;
	return WET_OK;
}

static int read_lines(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	size_t n = json_array_size(value);
	(void)field;
	if (!json_is_array(value) || n < 1 || n > WET_FORMULA_INGREDIENTS)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d ingredients",
							   WET_FORMULA_INGREDIENTS);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = read_line(r, json_array_get(value, i), object);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static const struct field caution_fields[] = {
	{ "text", wet_read_text, FIELD_NEEDED, 0, WET_LINE_BYTES },
	PART("source", wet_read_source, FIELD_NEEDED),
};

static int read_cautions(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_formula *f = &((struct making *)object)->formula;
	size_t n = json_array_size(value);
	(void)field;
	if (!json_is_array(value) || n < 1 || n > WET_FORMULA_CAUTIONS)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d cautions",
							   WET_FORMULA_CAUTIONS);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_reader_object(r, json_array_get(value, i), caution_fields, COUNT(caution_fields),
								   "a caution", f->cautions[f->caution_count]);
		if (rc != 0)
			return rc;
		f->caution_count++;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static const struct field start_fields[] = {
	VALUE(struct making, "water", formula.start_ul, read_volume, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct making, "temperature", formula.start_mc, wet_read_temperature, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct making, "distilled", formula.is_distilled, wet_read_bool, 0),
	PART("source", NULL, FIELD_NEEDED),
};

static int read_start(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return wet_reader_object(r, value, start_fields, COUNT(start_fields), "the water to begin with", object);
}

static const struct field formula_fields[] = {
	PART("$schema", wet_read_schema, 0),
	VALUE(struct making, "name", formula.name, wet_read_key, FIELD_NEEDED),
	TEXT(struct making, "title", formula.title, FIELD_NEEDED),
	VALUE(struct making, "version", formula.version, wet_read_version, FIELD_NEEDED),
	TEXT(struct making, "use", formula.use, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct making, "makes", formula.makes_ul, read_volume, FIELD_NEEDED),
	PART("start", read_start, FIELD_NEEDED),
	PART("ingredients", read_lines, FIELD_NEEDED),
	VALUE(struct making, "stand", formula.stand, read_time, 0),
	PART("cautions", read_cautions, FIELD_NEEDED),
	PART("source", NULL, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

/* -- substances ------------------------------------------------------------------------ */

static struct wet_form *last_form(struct reader *r)
{
	struct wet_substances *t = r->whole;
	return &t->forms[t->form_count];
}

static int read_strength(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t percent;
	const char *rest, *text = wet_reader_string(r, value);
	struct wet_form *form = object;
	(void)field;
	if (text == NULL)
		return WET_ERR_INVALID;
	bool is_fine = wet_reader_decimal(text, 3, 3, &percent, &rest) && strncmp(rest, " % w/", 5) == 0;
	if (!is_fine || (strcmp(rest + 5, "w") != 0 && strcmp(rest + 5, "v") != 0))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a strength: \"28 %% w/w\", \"10 %% w/v\"");
	if (percent < 1 || percent > 100000)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "over 0 to 100 %%");
	form->percent_milli = (int32_t)percent;
	form->is_by_volume = rest[5] == 'v';
	return WET_OK;
}

static int read_density(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t ug;
	const char *rest, *text = wet_reader_string(r, value);
	(void)field;
	if (text == NULL)
		return WET_ERR_INVALID;
	if (!wet_reader_decimal(text, 1, 6, &ug, &rest) || strcmp(rest, " g/mL") != 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a density: \"1.0345 g/mL\"");
	if (ug < 1)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "0.7 to 3 g/mL");
	((struct wet_form *)object)->density_ug_per_ml = (int32_t)ug;
	return WET_OK;
}

static int read_also(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	size_t n = json_array_size(value);
	if (!json_is_array(value) || n < 1 || n > WET_FORM_ALIASES)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d other names",
							   WET_FORM_ALIASES);
	for (size_t i = 0; i < n; i++) {
		struct field at = { field->name, wet_read_text, 0, field->offset + i * WET_NAME_BYTES,
							WET_NAME_BYTES };
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_read_text(r, json_array_get(value, i), object, &at);
		if (rc != 0)
			return rc;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

static const struct field form_fields[] = {
	VALUE(struct wet_form, "key", key, wet_read_key, FIELD_NEEDED),
	TEXT(struct wet_form, "name", name, FIELD_NEEDED),
	VALUE(struct wet_form, "also", also, read_also, 0),
	TEXT(struct wet_form, "formula", formula, FIELD_NEEDED),
	PART("strength", read_strength, FIELD_SOURCED),
	PART("density", read_density, FIELD_SOURCED),
	PART("source", NULL, 0),
};

static int read_forms(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_substances *t = r->whole;
	size_t n = json_array_size(value);
	(void)object;
	(void)field;
	if (!json_is_array(value) || n < 1 || n > FORMS_OF_ONE)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d forms", FORMS_OF_ONE);
	if (t->form_count + (int)n > WET_FORMS)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "at most %d forms in all", WET_FORMS);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		last_form(r)->substance = (uint8_t)t->substance_count;
		int rc = wet_reader_object(r, json_array_get(value, i), form_fields, COUNT(form_fields), "a form",
								   last_form(r));
		if (rc != 0)
			return rc;
		t->form_count++;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

#define WORD(name, word) word,
static int read_class(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const class_words[] = { WET_CHEMICAL_CLASSES(WORD) };
	int index, rc = wet_reader_word(r, value, class_words, COUNT(class_words), &index);
	(void)field;
	if (rc == 0)
		((struct wet_substance *)object)->chemical_class = (uint8_t)index;
	return rc;
}

static int read_stock(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const stock_words[] = { WET_SOLVENTS(WORD) };
	int index, rc = wet_reader_word(r, value, stock_words, COUNT(stock_words), &index);
	(void)field;
	if (rc == 0)
		((struct wet_substance *)object)->stock = (uint8_t)index;
	return rc;
}
#undef WORD

static int read_solubility(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t milli;
	const char *rest, *text = wet_reader_string(r, value);
	(void)field;
	if (text == NULL)
		return WET_ERR_INVALID;
	if (!wet_reader_decimal(text, 3, 3, &milli, &rest) || strcmp(rest, " g in 100 mL") != 0)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a solubility: \"6.4 g in 100 mL\"");
	if (milli < 1)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "over nothing");
	((struct wet_substance *)object)->soluble_milli = (int32_t)milli;
	return WET_OK;
}

static const struct field substance_fields[] = {
	VALUE(struct wet_substance, "key", key, wet_read_key, FIELD_NEEDED),
	TEXT(struct wet_substance, "name", name, FIELD_NEEDED),
	PART("class", read_class, FIELD_NEEDED),
	PART("stock", read_stock, FIELD_NEEDED),
	PART("solubility", read_solubility, FIELD_SOURCED),
	PART("source", NULL, 0),
	PART("forms", read_forms, FIELD_NEEDED),
};

static int read_substances(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct wet_substances *t = object;
	size_t n = json_array_size(value);
	(void)field;
	if (!json_is_array(value) || n < 1 || n > WET_SUBSTANCES)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of 1 to %d substances",
							   WET_SUBSTANCES);
	for (size_t i = 0; i < n; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		int rc = wet_reader_object(r, json_array_get(value, i), substance_fields, COUNT(substance_fields),
								   "a substance", &t->substances[t->substance_count]);
		if (rc != 0)
			return rc;
		t->substance_count++;
		wet_reader_leave(r, mark);
	}
	return WET_OK;
}

/* The version is checked and not kept: nothing depends on it yet. */
static int read_version(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int version;
	struct field here = { field->name, wet_read_version, 0, 0, 0 };
	(void)object;
	return wet_read_version(r, value, &version, &here);
}

static const struct field table_fields[] = {
	PART("$schema", wet_read_schema, 0),
	PART("version", read_version, FIELD_NEEDED),
	PART("substances", read_substances, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

/* -- files ------------------------------------------------------------------------------- */

int wet_substances_decode(const char *json, size_t json_bytes, const char *where,
						  struct wet_substances *ret_table, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	struct wet_substances *table = NULL;
	int rc = wet_reader_parse(json, json_bytes, FILE_BYTES, &root, &fault);
	if (rc != 0) {
		wet_where_prefix(&fault, where, "");
		goto out;
	}
	table = calloc(1, sizeof *table);
	if (table == NULL) {
		rc = wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory");
		goto out;
	}
	struct reader r = { .root = root, .whole = table, .fault = &fault };
	rc = wet_reader_object(&r, root, table_fields, COUNT(table_fields), "a table of substances", table);
	if (rc == 0)
		rc = wet_substances_check(table, &fault);
	if (rc == 0)
		*ret_table = *table;
	else
		wet_where_prefix(&fault, where, "#");
out:
	free(table);
	json_decref(root);
	if (rc != 0 && reterr != NULL)
		*reterr = fault;
	return rc;
}

int wet_formula_decode(const char *json, size_t json_bytes, const char *where,
					   const struct wet_substances *table, struct wet_formula *ret_formula,
					   struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	struct making making = { .table = table };
	int rc = wet_reader_parse(json, json_bytes, FILE_BYTES, &root, &fault);
	if (rc != 0) {
		wet_where_prefix(&fault, where, "");
		goto out;
	}
	struct reader r = { .root = root, .whole = &making, .fault = &fault };
	rc = wet_reader_object(&r, root, formula_fields, COUNT(formula_fields), "a formula", &making);
	if (rc == 0)
		rc = wet_formula_check(table, &making.formula, &fault);
	if (rc == 0)
		*ret_formula = making.formula;
	else
		wet_where_prefix(&fault, where, "#");
out:
	json_decref(root);
	if (rc != 0 && reterr != NULL)
		*reterr = fault;
	return rc;
}
