/* incompatibility_decode.c: what must not meet, JSON text -> struct. The tables below are the file's format;
 * safety/incompatibility.schema.json says the same to outside validators, and a test holds both to one verdict. */
#include "shelf/safety_inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* A file being read, and the substances its rules may name. */
struct reading {
	struct wet_incompatibility_table table;
	const struct wet_hazard_table *hazards;
	const struct wet_gas_table *gases;
};

#define WORD(name, word) word,
static const char *const meeting_words[] = { WET_MEETINGS(WORD) };
static const char *const severity_words[] = { WET_SEVERITIES(WORD) };
static const char *const state_words[] = { WET_STATES(WORD) };
#undef WORD

static int read_severity(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int index, rc = wet_reader_word(r, value, severity_words, COUNT(severity_words), &index);
	if (rc == 0)
		*((uint8_t *)object + field->offset) = (uint8_t)index;
	return rc;
}

static int read_one_meeting(struct reader *r, const json_t *value, void *object, int at)
{
	int index, rc = wet_reader_word(r, value, meeting_words, COUNT(meeting_words), &index);
	(void)at;
	if (rc == 0)
		*(uint8_t *)object |= (uint8_t)(1u << index);
	return rc;
}

static int read_meetings(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_list(r, value, 1, WET_MEETING_N, "meetings", read_one_meeting,
					 (char *)object + field->offset);
}

static int read_one_state(struct reader *r, const json_t *value, void *object, int at)
{
	int index, rc = wet_reader_word(r, value, state_words, COUNT(state_words), &index);
	(void)at;
	if (rc == 0)
		*(uint8_t *)object |= (uint8_t)(1u << index);
	return rc;
}

static int read_states(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_list(r, value, 1, WET_STATE_N, "states", read_one_state, (char *)object + field->offset);
}

static int read_known_substance(struct reader *r, const json_t *value, void *object,
								const struct field *field)
{
	const struct wet_hazard_table *hazards = ((struct reading *)r->whole)->hazards;
	int rc = wet_read_key(r, value, object, field);
	if (rc != 0)
		return rc;
	for (int i = 0; i < hazards->substance_count; i++) {
		if (strcmp(hazards->substances[i].key, json_string_value(value)) == 0)
			return WET_OK;
	}
	return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "the key of a substance in " WET_HAZARDS_FILE);
}

static const struct field override_fields[] = {
	VALUE(struct wet_override, "classes", classes, read_classes, 0),
	VALUE(struct wet_override, "substance", substance, read_known_substance, 0),
	VALUE(struct wet_override, "from", from_ppm, read_share, 0),
	VALUE(struct wet_override, "up_to", to_ppm, read_share, 0),
	VALUE(struct wet_override, "states", states, read_states, 0),
	VALUE(struct wet_override, "meetings", meetings, read_meetings, 0),
	VALUE(struct wet_override, "lacks", lacks, read_classes, 0),
	VALUE(struct wet_override, "to", to, read_severity, FIELD_NEEDED),
	TEXT(struct wet_override, "needs", needs, 0),
	PART("source", wet_read_source, FIELD_NEEDED),
};

static int read_override(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_incompatibility *rule = object;
	rule->override_count = at + 1;
	return wet_reader_object(r, value, override_fields, COUNT(override_fields), "an override",
							 &rule->overrides[at]);
}

static int read_overrides(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, 1, WET_OVERRIDES, "overrides", read_override, object);
}

static int read_one_gas(struct reader *r, const json_t *value, void *object, int at)
{
	struct field here = { "gases", wet_read_key, 0, 0, WET_NAME_BYTES };
	char(*gases)[WET_NAME_BYTES] = object;
	int rc = wet_read_key(r, value, gases[at], &here);
	if (rc == 0 && wet_gas_find(((struct reading *)r->whole)->gases, gases[at]) == NULL)
		return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "the key of a gas in " WET_GASES_FILE);
	return rc;
}

static int read_gases(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_list(r, value, 1, WET_RULE_GASES, "gases", read_one_gas, (char *)object + field->offset);
}

static const struct field rule_fields[] = {
	VALUE(struct wet_incompatibility, "key", key, wet_read_key, FIELD_NEEDED),
	VALUE(struct wet_incompatibility, "a", a, read_classes, FIELD_NEEDED),
	VALUE(struct wet_incompatibility, "b", b, read_classes, FIELD_NEEDED),
	VALUE(struct wet_incompatibility, "b_onto_a", is_ordered, wet_read_bool, 0),
	VALUE(struct wet_incompatibility, "severity", severity, read_severity, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct wet_incompatibility, "meetings", meetings, read_meetings, FIELD_NEEDED),
	PART("overrides", read_overrides, 0),
	TEXT(struct wet_incompatibility, "forms", forms, FIELD_NEEDED | FIELD_SOURCED),
	VALUE(struct wet_incompatibility, "gases", gases, read_gases, 0),
	TEXT(struct wet_incompatibility, "harm", harm, FIELD_NEEDED),
	TEXT(struct wet_incompatibility, "when", when, FIELD_NEEDED),
	TEXT(struct wet_incompatibility, "text", text, FIELD_NEEDED),
	TEXT(struct wet_incompatibility, "action", action, FIELD_NEEDED | FIELD_SOURCED),
	TEXT(struct wet_incompatibility, "except", except, 0),
	PART("source", NULL, FIELD_NEEDED),
};

static int read_rule(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_incompatibility_table *t = object;
	struct wet_incompatibility *rule = &t->rules[at];
	t->count = at + 1;
	int rc = wet_reader_object(r, value, rule_fields, COUNT(rule_fields), "an incompatibility", rule);
	if (rc != 0)
		return rc;
	const char *key = json_string_value(json_object_get(json_object_get(value, "source"), "forms"));
	const char *cited = json_string_value(json_object_get(json_object_get(r->root, "sources"), key));
	wet_text_copy(rule->source, sizeof rule->source, cited != NULL ? cited : key);
	return WET_OK;
}

static int read_rules(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, 1, WET_INCOMPATIBILITIES, "incompatibilities", read_rule, object);
}

static const struct field table_fields[] = {
	PART("$schema", wet_read_schema, 0),
	PART("version", read_file_version, FIELD_NEEDED),
	PART("incompatibilities", read_rules, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

static int check(const void *table, struct wet_fault *fault)
{
	return wet_incompatibilities_check(table, fault);
}

int wet_incompatibilities_decode(const char *json, size_t json_bytes, const char *where,
								 const struct wet_hazard_table *hazards, const struct wet_gas_table *gases,
								 struct wet_incompatibility_table *ret_table, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct reading *reading = calloc(1, sizeof *reading);
	struct reader r = { .whole = reading, .fault = &fault };
	if (reading != NULL) {
		reading->hazards = hazards;
		reading->gases = gases;
	}
	int rc = reading == NULL ? wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory")
							 : read_file(json, json_bytes, where, &r, table_fields, COUNT(table_fields),
										 "a table of incompatibilities", &reading->table, check);
	if (rc == 0)
		*ret_table = reading->table;
	else if (reterr != NULL)
		*reterr = fault;
	free(reading);
	return rc;
}
