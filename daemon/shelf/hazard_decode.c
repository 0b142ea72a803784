/* hazard_decode.c: the hazards of substances, JSON text -> struct. The tables below are the file's format;
 * safety/substance.schema.json says the same to outside validators, and a test holds both to one verdict. */
#include "shelf/safety_inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* -- classes, limits, lines ------------------------------------------------------------------------ */

#define KIND(name, endpoint, word, title, code, pictogram, signal) word,
static int read_kind(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { WET_HAZARD_KINDS(KIND) };
	int index, rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		*((uint8_t *)object + field->offset) = (uint8_t)index;
	return rc;
}
#undef KIND

static int read_m_factor(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const int factors[] = { 1, 10, 100, 1000, 10000 };
	double n = json_number_value(value);
	(void)field;
	for (size_t i = 0; json_is_number(value) && i < COUNT(factors); i++) {
		if (n >= factors[i] && n <= factors[i]) {
			((struct wet_hazard *)object)->m_factor = (uint16_t)factors[i];
			return WET_OK;
		}
	}
	return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "1, 10, 100, 1000 or 10000");
}

static int read_narrower(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { "H360F",  "H360D", "H360FD", "H360Fd",
										 "H360Df", "H361f", "H361d",  "H361fd" };
	int index, rc = wet_reader_word(r, value, words, COUNT(words), &index);
	(void)field;
	if (rc == 0)
		wet_text_copy(((struct wet_hazard *)object)->statement,
					  sizeof((struct wet_hazard *)object)->statement, words[index]);
	return rc;
}

static int read_basis(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { "supplier", "harmonised" };
	int index, rc = wet_reader_word(r, value, words, COUNT(words), &index);
	(void)field;
	if (rc == 0)
		((struct wet_hazard *)object)->is_harmonised = index == 1;
	return rc;
}

static int read_line_code(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { "EUH031", "EUH032", "EUH071", "EUH206" };
	int index, rc = wet_reader_word(r, value, words, COUNT(words), &index);
	(void)field;
	if (rc == 0)
		wet_text_copy(((struct wet_supplement *)object)->code, sizeof((struct wet_supplement *)object)->code,
					  words[index]);
	return rc;
}

static const struct field hazard_fields[] = {
	VALUE(struct wet_hazard, "class", kind, read_kind, FIELD_NEEDED),
	PART("m_factor", read_m_factor, 0),
	PART("statement", read_narrower, 0),
	PART("basis", read_basis, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};
static const struct field limit_fields[] = {
	VALUE(struct wet_hazard_limit, "class", kind, read_kind, FIELD_NEEDED),
	VALUE(struct wet_hazard_limit, "from", from_ppm, read_share, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};
static const struct field supplement_fields[] = {
	PART("code", read_line_code, FIELD_NEEDED),
	VALUE(struct wet_supplement, "from", from_ppm, read_share, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};
static const struct field exposure_fields[] = {
	TEXT(struct wet_exposure, "who", who, FIELD_NEEDED),
	TEXT(struct wet_exposure, "limit", limit, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};

static int read_hazard(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazards *s = object;
	s->hazard_count = at + 1;
	return wet_reader_object(r, value, hazard_fields, COUNT(hazard_fields), "a hazard", &s->hazards[at]);
}

static int read_limit(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazards *s = object;
	s->limit_count = at + 1;
	return wet_reader_object(r, value, limit_fields, COUNT(limit_fields), "a limit", &s->limits[at]);
}

static int read_supplement(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazards *s = object;
	s->supplement_count = at + 1;
	return wet_reader_object(r, value, supplement_fields, COUNT(supplement_fields), "a line",
							 &s->supplements[at]);
}

int read_exposure_limit(struct reader *r, const json_t *value, struct wet_exposure *exposure)
{
	return wet_reader_object(r, value, exposure_fields, COUNT(exposure_fields), "an exposure limit", exposure);
}

static int read_exposure(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazards *s = object;
	s->exposure_count = at + 1;
	return read_exposure_limit(r, value, &s->exposures[at]);
}

/* -- acute toxicity ---------------------------------------------------------------------------------- */

static const char *const way_words[] = { "oral", "dermal", "inhaled" };

struct estimate {
	int way;
	int64_t ate_milli;
};

static int read_way(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return wet_reader_word(r, value, way_words, COUNT(way_words), &((struct estimate *)object)->way);
}

/* "302 mg/kg", "1.5 mg/L". */
static int read_ate(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	struct estimate *e = object;
	const char *rest, *text = wet_reader_string(r, value);
	(void)field;
	if (text == NULL)
		return WET_ERR_INVALID;
	const char *unit = e->way == WET_ACUTE_INHALED ? " mg/L" : " mg/kg";
	if (!wet_reader_decimal(text, 6, 3, &e->ate_milli, &rest) ||
		(strcmp(rest, " mg/kg") != 0 && strcmp(rest, " mg/L") != 0))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "an estimate: \"302 mg/kg\", \"1.5 mg/L\"");
	if (strcmp(rest, unit) != 0)
		return wet_reader_fail(r, WET_ERR_UNIT_WRONG, NULL, value, "%s for that way", unit + 1);
	if (e->ate_milli < 1)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "over 0");
	return WET_OK;
}

static const struct field estimate_fields[] = {
	/* the way first: the unit depends on it */
	PART("way", read_way, FIELD_NEEDED),
	PART("ate", read_ate, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};

static int read_estimate(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazards *s = object;
	struct estimate e = { .way = 0 };
	(void)at;
	int rc = wet_reader_object(r, value, estimate_fields, COUNT(estimate_fields), "an estimate", &e);
	if (rc == 0 && s->ate_milli[e.way] != 0)
		return wet_reader_fail(r, WET_ERR_EXISTS, "way", json_object_get(value, "way"), "each way once");
	if (rc == 0)
		s->ate_milli[e.way] = e.ate_milli;
	return rc;
}

static int read_unknown_way(struct reader *r, const json_t *value, void *object, int at)
{
	int way, rc = wet_reader_word(r, value, way_words, COUNT(way_words), &way);
	(void)at;
	if (rc == 0)
		((struct wet_hazards *)object)->unknown_ways |= (uint8_t)(1u << way);
	return rc;
}

static int read_pka(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazards *s = object;
	const char *text = wet_reader_string(r, value), *rest;
	int64_t milli;
	if (text == NULL)
		return WET_ERR_INVALID;
	if (!wet_reader_decimal(text, 2, 3, &milli, &rest) || rest[0] != '\0' || milli < 1 || milli > 14000)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value,
							   "an acid constant, as its negative logarithm: over 0 and up to 14, as in \"4.756\"");
	s->pka_milli[at] = (int32_t)milli;
	s->pka_count = at + 1;
	if (at > 0 && s->pka_milli[at] <= s->pka_milli[at - 1])
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "rising ones");
	return WET_OK;
}

/* -- names and advice ---------------------------------------------------------------------------------- */

static int read_other_name(struct reader *r, const json_t *value, void *object, int at)
{
	struct field here = { "also", wet_read_text, 0, 0, WET_NAME_BYTES };
	return wet_read_text(r, value, ((struct wet_hazards *)object)->also[at], &here);
}

static const struct wet_advice *advice_at(const struct wet_hazard_table *t, int i)
{
	return &t->advice[i];
}

/* A key of /advice of one kind -> its place. */
static int read_advice_key(struct reader *r, const json_t *value, struct wet_hazards *s, int kind)
{
	const struct wet_hazard_table *t = r->whole;
	const char *key = wet_reader_string(r, value);
	if (key == NULL)
		return WET_ERR_INVALID;
	for (int i = 0; i < t->advice_count; i++) {
		if (advice_at(t, i)->kind == kind && strcmp(advice_at(t, i)->key, key) == 0) {
			s->advice[kind][s->advice_count[kind]++] = (uint8_t)i;
			return WET_OK;
		}
	}
	return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "the key of advice of that kind in /advice");
}

#define READ_ADVICE(name, word, member)                                                                \
	static int read_one_##name(struct reader *r, const json_t *value, void *object, int at)            \
	{                                                                                                  \
		(void)at;                                                                                      \
		return read_advice_key(r, value, object, WET_ADVICE_##name);                                   \
	}                                                                                                  \
	static int read_##name(struct reader *r, const json_t *value, void *object, const struct field *f) \
	{                                                                                                  \
		(void)f;                                                                                       \
		return read_list(r, value, 1, WET_HAZARD_ADVICE, "keys of advice", read_one_##name, object);   \
	}
WET_ADVICE_KINDS(READ_ADVICE)
#undef READ_ADVICE

#define READ_LIST(name, least, most, what, one)                                                     \
	static int name(struct reader *r, const json_t *value, void *object, const struct field *field) \
	{                                                                                               \
		(void)field;                                                                                \
		return read_list(r, value, least, most, what, one, object);                                 \
	}
READ_LIST(read_hazards, 0, WET_HAZARDS_OF_ONE, "hazards", read_hazard)
READ_LIST(read_limits, 1, WET_HAZARD_LIMITS, "limits", read_limit)
READ_LIST(read_supplements, 1, WET_HAZARD_SUPPLEMENTS, "lines", read_supplement)
READ_LIST(read_exposures, 1, WET_HAZARD_EXPOSURES, "exposure limits", read_exposure)
READ_LIST(read_estimates, 1, WET_ACUTE_N, "estimates", read_estimate)
READ_LIST(read_unknown, 1, WET_ACUTE_N, "ways", read_unknown_way)
READ_LIST(read_pkas, 1, WET_HAZARD_PKAS, "acid constants", read_pka)
READ_LIST(read_also, 1, WET_HAZARD_NAMES, "other names", read_other_name)

/* -- the file ------------------------------------------------------------------------------------------ */

static const struct field substance_fields[] = {
	VALUE(struct wet_hazards, "key", key, wet_read_key, FIELD_NEEDED),
	TEXT(struct wet_hazards, "name", name, FIELD_NEEDED),
	PART("also", read_also, 0),
	TEXT(struct wet_hazards, "cas", cas, FIELD_SOURCED),
	TEXT(struct wet_hazards, "formula", formula, 0),
	VALUE(struct wet_hazards, "refused", is_refused, wet_read_bool, FIELD_SOURCED),
	VALUE(struct wet_hazards, "not_additive", is_not_additive, wet_read_bool, FIELD_SOURCED),
	VALUE(struct wet_hazards, "classes", classes, read_classes, FIELD_NEEDED | FIELD_SOURCED),
	PART("pka", read_pkas, FIELD_SOURCED),
	PART("hazards", read_hazards, FIELD_NEEDED),
	PART("limits", read_limits, 0),
	PART("supplements", read_supplements, 0),
	PART("acute", read_estimates, 0),
	PART("unknown", read_unknown, 0),
	PART("exposure", read_exposures, 0),
	PART("first_aid", read_FIRST_AID, FIELD_NEEDED),
	PART("protection", read_PROTECTION, FIELD_NEEDED),
	PART("storage", read_STORAGE, FIELD_NEEDED),
	PART("disposal", read_DISPOSAL, FIELD_NEEDED),
	PART("source", NULL, FIELD_NEEDED),
};

static int read_substance(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazard_table *t = object;
	t->substance_count = at + 1;
	return wet_reader_object(r, value, substance_fields, COUNT(substance_fields), "a substance",
							 &t->substances[at]);
}

#define WORD(name, word, member) word,
static int read_advice_kind(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	static const char *const words[] = { WET_ADVICE_KINDS(WORD) };
	int index, rc = wet_reader_word(r, value, words, COUNT(words), &index);
	(void)field;
	if (rc == 0)
		((struct wet_advice *)object)->kind = (uint8_t)index;
	return rc;
}
#undef WORD

static const struct field advice_fields[] = {
	VALUE(struct wet_advice, "key", key, wet_read_key, FIELD_NEEDED),
	PART("kind", read_advice_kind, FIELD_NEEDED),
	TEXT(struct wet_advice, "text", text, FIELD_NEEDED),
	PART("source", wet_read_source, FIELD_NEEDED),
};

static int read_one_advice(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_hazard_table *t = object;
	int rc = wet_reader_object(r, value, advice_fields, COUNT(advice_fields), "advice", &t->advice[at]);
	for (int i = 0; rc == 0 && i < at; i++) {
		if (t->advice[i].kind == t->advice[at].kind && strcmp(t->advice[i].key, t->advice[at].key) == 0)
			return wet_reader_fail(r, WET_ERR_EXISTS, "key", json_object_get(value, "key"),
								   "a key that no advice of its kind has");
	}
	t->advice_count = at + 1;
	return rc;
}

READ_LIST(read_advice, 1, WET_ADVICE, "pieces of advice", read_one_advice)
READ_LIST(read_substances, 1, WET_HAZARD_SUBSTANCES, "substances", read_substance)
#undef READ_LIST

static const struct field table_fields[] = {
	/* the advice first: substances name it */
	PART("$schema", wet_read_schema, 0),
	PART("version", read_file_version, FIELD_NEEDED),
	PART("advice", read_advice, FIELD_NEEDED),
	PART("substances", read_substances, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

static int check(const void *table, struct wet_fault *fault)
{
	return wet_hazards_check(table, fault);
}

int wet_hazards_decode(const char *json, size_t json_bytes, const char *where,
					   struct wet_hazard_table *ret_table, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct wet_hazard_table *table = calloc(1, sizeof *table);
	struct reader r = { .whole = table, .fault = &fault };
	int rc = table == NULL ? wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory")
						   : read_file(json, json_bytes, where, &r, table_fields, COUNT(table_fields),
									   "a table of hazards", table, check);
	if (rc == 0)
		*ret_table = *table;
	else if (reterr != NULL)
		*reterr = fault;
	free(table);
	return rc;
}
