/* gas_decode.c: the gases that mixing sets free, JSON text -> struct. The tables below are the file's format;
 * safety/gas.schema.json says the same to outside validators, and a test holds both to one verdict. */
#include "shelf/safety_inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* A file being read, and whose first aid it may name. */
struct reading {
	struct wet_gas_table table;
	const struct wet_hazard_table *hazards;
};

static int read_name(struct reader *r, const json_t *value, void *object, int at)
{
	struct field here = { "also", wet_read_text, 0, 0, WET_NAME_BYTES };
	return wet_read_text(r, value, ((struct wet_gas *)object)->also[at], &here);
}

static int read_statement(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_gas *g = object;
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (strlen(text) != 4 || text[0] != 'H' || strspn(text + 1, "0123456789") != 3)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a code: \"H331\"");
	wet_text_copy(g->statements[at], sizeof g->statements[at], text);
	g->statement_count = at + 1;
	return WET_OK;
}

static int read_limit(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_gas *g = object;
	g->exposure_count = at + 1;
	return read_exposure_limit(r, value, &g->exposures[at]);
}

static int read_aid(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_gas *g = object;
	const struct wet_hazard_table *t = ((struct reading *)r->whole)->hazards;
	const char *key = wet_reader_string(r, value);
	if (key == NULL)
		return WET_ERR_INVALID;
	for (int i = 0; i < t->advice_count; i++) {
		if (t->advice[i].kind == WET_ADVICE_FIRST_AID && strcmp(t->advice[i].key, key) == 0) {
			g->first_aid[at] = (uint8_t)i;
			g->first_aid_count = at + 1;
			return WET_OK;
		}
	}
	return wet_reader_fail(r, WET_ERR_NOT_FOUND, NULL, value, "the key of first aid in " WET_HAZARDS_FILE);
}

#define READ_LIST(name, most, what, one)                                                            \
	static int name(struct reader *r, const json_t *value, void *object, const struct field *field) \
	{                                                                                               \
		(void)field;                                                                                \
		return read_list(r, value, 1, most, what, one, object);                                     \
	}
READ_LIST(read_also, WET_HAZARD_NAMES, "other names", read_name)
READ_LIST(read_statements, WET_GAS_STATEMENTS, "codes", read_statement)
READ_LIST(read_limits, WET_HAZARD_EXPOSURES, "exposure limits", read_limit)
READ_LIST(read_first_aid, WET_HAZARD_ADVICE, "keys of first aid", read_aid)

static const struct field gas_fields[] = {
	VALUE(struct wet_gas, "key", key, wet_read_key, FIELD_NEEDED),
	TEXT(struct wet_gas, "name", name, FIELD_NEEDED),
	PART("also", read_also, 0),
	TEXT(struct wet_gas, "cas", cas, FIELD_NEEDED | FIELD_SOURCED),
	TEXT(struct wet_gas, "formula", formula, FIELD_NEEDED),
	TEXT(struct wet_gas, "smell", smell, FIELD_NEEDED | FIELD_SOURCED),
	TEXT(struct wet_gas, "smell_fails", smell_fails, FIELD_SOURCED),
	PART("statements", read_statements, FIELD_SOURCED),
	PART("exposure", read_limits, 0),
	PART("first_aid", read_first_aid, FIELD_NEEDED),
	PART("source", NULL, FIELD_NEEDED),
};

static int read_gas(struct reader *r, const json_t *value, void *object, int at)
{
	struct wet_gas_table *t = object;
	t->count = at + 1;
	return wet_reader_object(r, value, gas_fields, COUNT(gas_fields), "a gas", &t->gases[at]);
}

READ_LIST(read_gases, WET_GASES, "gases", read_gas)

static const struct field table_fields[] = {
	PART("$schema", wet_read_schema, 0),
	PART("version", read_file_version, FIELD_NEEDED),
	PART("gases", read_gases, FIELD_NEEDED),
	PART("sources", wet_read_sources, FIELD_NEEDED),
};

static int check(const void *table, struct wet_fault *fault)
{
	return wet_gases_check(table, fault);
}

int wet_gases_decode(const char *json, size_t json_bytes, const char *where, const struct wet_hazard_table *hazards,
					 struct wet_gas_table *ret_table, struct wet_fault *reterr)
{
	struct wet_fault fault = { 0 };
	struct reading *reading = calloc(1, sizeof *reading);
	struct reader r = { .whole = reading, .fault = &fault };
	if (reading != NULL)
		reading->hazards = hazards;
	int rc = reading == NULL ? wet_fault_set(&fault, WET_ERR_NOMEM, where, NULL, "more memory")
							 : read_file(json, json_bytes, where, &r, table_fields, COUNT(table_fields),
										 "a table of gases", &reading->table, check);
	if (rc == 0)
		*ret_table = reading->table;
	else if (reterr != NULL)
		*reterr = fault;
	free(reading);
	return rc;
}
