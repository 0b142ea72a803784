/* practice_decode.c: rules of practice, JSON text -> struct. The tables below are the file's format;
 * safety/practice.schema.json says the same to outside validators, and a test holds both to one verdict. */
#include "shelf/safety_inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define WORD(name, word) word,
#define TOPIC(name, word, heading) word,
static const char *const topic_words[] = { WET_PRACTICE_TOPICS(TOPIC) };
static const char *const section_words[] = { WET_NOTE_SECTIONS(WORD) };
static const char *const route_words[] = { WET_NOTE_ROUTES(WORD) };
#undef TOPIC
#undef WORD

static int read_word(struct reader *r, const json_t *value, void *object, const struct field *field,
					 const char *const *words, size_t count)
{
	int index, rc = wet_reader_word(r, value, words, count, &index);
	if (rc == 0)
		*((uint8_t *)object + field->offset) = (uint8_t)index;
	return rc;
}

static int read_topic(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_word(r, value, object, field, topic_words, COUNT(topic_words));
}

static int read_section(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_word(r, value, object, field, section_words, COUNT(section_words));
}

static int read_route(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_word(r, value, object, field, route_words, COUNT(route_words));
}

static int read_vessel(struct reader *r, const json_t *value, void *object, int at)
{
	const char *words[WET_VESSEL_KIND_N];
	int index;
	(void)at;
	for (int i = 0; i < WET_VESSEL_KIND_N; i++)
		words[i] = wet_vessel_kind_word((enum wet_vessel_kind)i);
	int rc = wet_reader_word(r, value, words, COUNT(words), &index);
	if (rc == 0)
		*(uint8_t *)object |= (uint8_t)(1u << index);
	return rc;
}

static int read_vessels(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_list(r, value, 1, WET_VESSEL_KIND_N, "kinds of vessel", read_vessel, (char *)object + field->offset);
}

static const struct field note_fields[] = {
	VALUE(struct wet_practice_rule, "section", section, read_section, FIELD_NEEDED),
	VALUE(struct wet_practice_rule, "route", route, read_route, 0),
	TEXT(struct wet_practice_rule, "text", note, FIELD_NEEDED),
};

static int read_note(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const struct wet_practice_rule *rule = object;
	(void)field;
	int rc = wet_reader_object(r, value, note_fields, COUNT(note_fields), "the line in a note", object);
	if (rc == 0 && (json_object_get(value, "route") != NULL) != (rule->section == WET_SECTION_HAPPENS))
		return wet_reader_fail(r, WET_ERR_INVALID, "route", NULL, "a route for \"%s\", and only there",
							   section_words[WET_SECTION_HAPPENS]);
	return rc;
}

/* A citation -> its place among those of the table, which grows. The reader has seen that the key is known. */
static int place_of(struct wet_practice *p, const json_t *root, const char *key)
{
	const char *cited = json_string_value(json_object_get(json_object_get(root, "sources"), key));
	if (cited == NULL)
		cited = key; /* one of the phrases */
	for (int i = 0; i < p->citation_count; i++) {
		if (strcmp(p->citations[i], cited) == 0)
			return i;
	}
	if (p->citation_count == WET_PRACTICE_SOURCES)
		return -1;
	wet_text_copy(p->citations[p->citation_count], WET_CITATION_BYTES, cited);
	return p->citation_count++;
}

static int take_source(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_practice_rule *rule = object;
	struct field here = { "source", wet_read_source, 0, 0, 0 };
	int rc = wet_read_source(r, value, NULL, &here);
	int place = rc == 0 ? place_of(r->whole, r->root, json_string_value(value)) : -1;
	if (rc == 0 && place < 0)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, value, "at most %d sources in all", WET_PRACTICE_SOURCES);
	if (rc == 0) {
		rule->sources[at] = (uint8_t)place;
		rule->source_count = (uint8_t)(at + 1);
	}
	return rc;
}

static int read_source(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	if (json_is_array(value))
		return read_list(r, value, 1, WET_RULE_SOURCES, "sources", take_source, object);
	return take_source(r, value, object, 0);
}

static int read_asked(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	if (!json_is_integer(value) || json_integer_value(value) < 1 || json_integer_value(value) > UINT8_MAX)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "a whole number from 1 to %d", UINT8_MAX);
	((struct wet_practice_rule *)object)->asked = (uint8_t)json_integer_value(value);
	return WET_OK;
}

static const struct field rule_fields[] = {
	VALUE(struct wet_practice_rule, "key", key, wet_read_key, FIELD_NEEDED),
	VALUE(struct wet_practice_rule, "topic", topic, read_topic, FIELD_NEEDED),
	TEXT(struct wet_practice_rule, "text", text, FIELD_NEEDED),
	VALUE(struct wet_practice_rule, "holds", holds, read_classes, 0),
	VALUE(struct wet_practice_rule, "vessels", vessels, read_vessels, 0),
	PART("note", read_note, 0),
	TEXT(struct wet_practice_rule, "checklist", checklist, 0),
	PART("asked", read_asked, 0),
	VALUE(struct wet_practice_rule, "each_load", is_each_load, wet_read_bool, 0),
	PART("source", read_source, FIELD_NEEDED),
};

static int read_rule(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_practice *p = object;
	p->count = at + 1;
	return wet_reader_object(r, value, rule_fields, COUNT(rule_fields), "a rule", &p->rules[at]);
}

static int read_rules(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_list(r, value, 1, WET_PRACTICE_RULES, "rules", read_rule, object);
}

static const struct field table_fields[] = {
	PART("$schema", wet_read_schema, 0),
	PART("version", read_file_version, FIELD_NEEDED),
	VALUE(struct wet_practice, "first_aid_reviewed", is_first_aid_reviewed, wet_read_bool, FIELD_NEEDED),
	PART("rules", read_rules, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

static int check(const void *table, struct wet_fault *fault)
{
	return wet_practice_check(table, fault);
}

int wet_practice_decode(const char *json, size_t json_bytes, const char *where, struct wet_practice *ret_practice,
						struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct wet_practice *practice = calloc(1, sizeof *practice);
	struct reader r = { .whole = practice, .fault = &fault };
	int rc = practice == NULL ? wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory")
							  : read_file(json, json_bytes, where, &r, table_fields, COUNT(table_fields),
										  "a table of rules of practice", practice, check);
	if (rc == 0)
		*ret_practice = *practice;
	else if (reterr != NULL)
		*reterr = fault;
	free(practice);
	return rc;
}
