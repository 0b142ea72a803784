#include "methods/rows.h"

#include "base/text.h"
#include "darkroom/checklist.h"
#include "shelf/shelf.h"

#include <inttypes.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* How a member stands in the struct, and so in JSON. */
enum member_type { TEXT, FLAG, INT32, UINT32, INT64, DIGITS /* int64 as a text */, WORD, LETTER /* a char; 0: "" */ };

struct member {
	const char *key;
	enum member_type type;
	size_t offset;
	int64_t low, high;              /* TEXT: high is the buffer's size */
	const char *(*word)(int value); /* WORD */
	int since;                      /* the first schema that has it; a file of one before leaves it at nothing */
};

static const char *vessel_word(int kind)
{
	return wet_vessel_kind_word((enum wet_vessel_kind)kind);
}

static const char *forecast_word(int kind)
{
	return kind == WET_FORECAST_NEWTON ? "newton" : kind == WET_FORECAST_ROOM ? "room" : "constant";
}

static const char *stock_word(int kind)
{
	return wet_stock_kind_word((enum wet_stock_kind)kind);
}

static const char *stock_act_word(int act)
{
	return wet_stock_act_word((enum wet_stock_act)act);
}

static const char *kept_word(int kept)
{
	return wet_stock_kept_word((enum wet_stock_kept)kept);
}

static_assert(sizeof(enum wet_stock_kind) == sizeof(int) && sizeof(enum wet_stock_act) == sizeof(int), "WORD");
static_assert(sizeof(enum wet_stock_kept) == sizeof(int) && sizeof(enum wet_check_answer) == sizeof(int), "WORD");
static_assert(sizeof(enum wet_vessel_kind) == sizeof(int) && sizeof(enum wet_forecast_kind) == sizeof(int),
			  "WORD");

/* clang-format off */
#define T(s, key, m) { key, TEXT, offsetof(struct s, m), 0, sizeof((struct s *)0)->m, NULL, 1 }
#define F(s, key, m) { key, FLAG, offsetof(struct s, m), 0, 1, NULL, 1 }
#define I(s, key, m, low, high) { key, INT32, offsetof(struct s, m), low, high, NULL, 1 }
#define U(s, key, m) { key, UINT32, offsetof(struct s, m), 0, UINT32_MAX, NULL, 1 }
#define L(s, key, m) { key, INT64, offsetof(struct s, m), -MS_MAX, MS_MAX, NULL, 1 }
#define D(s, key, m, low) { key, DIGITS, offsetof(struct s, m), low, INT64_MAX, NULL, 1 }
#define Q(s, key, m, low) { key, INT64, offsetof(struct s, m), low, MS_MAX, NULL, 1 }
#define W(s, key, m, count, word) { key, WORD, offsetof(struct s, m), 0, (count) - 1, word, 1 }
#define SINCE(schema, s, key, type, m, high) { key, type, offsetof(struct s, m), 0, high, NULL, schema }
#define MS_MAX (INT64_C(1) << 53)
#define VESSEL(s, prefix, m) \
	T(s, prefix "name", m.name), W(s, prefix "kind", m.kind, WET_VESSEL_KIND_N, vessel_word), \
	D(s, prefix "fill_ns", m.fill_ns, 0), D(s, prefix "drain_ns", m.drain_ns, 0), \
	I(s, prefix "pieces_max", m.pieces_max, 0, INT32_MAX), D(s, prefix "stagger_ns", m.stagger_ns, 0), \
	D(s, prefix "tau_ns", m.tau_ns, 0), SINCE(7, s, prefix "tau_error_ns", DIGITS, m.tau_error_ns, INT64_MAX), \
	SINCE(7, s, prefix "tau_count", INT32, m.tau_count, INT32_MAX), SINCE(7, s, prefix "chill_ppm", INT32, m.chill_ppm, 1000000)
#define END { NULL, TEXT, 0, 0, 0, NULL, 1 }

static const struct member recipe_members[] = {
	T(wet_recipe_part, "hash", hash), T(wet_recipe_part, "name", name),
	I(wet_recipe_part, "part", part, 1, WET_RECIPE_FILE_BYTES), F(wet_recipe_part, "is_last", is_last), END
};
static const struct member vessel_members[] = {
	VESSEL(wet_vessel_row, "", vessel), L(wet_vessel_row, "wall_ms", wall_ms), END
};
static const struct member acknowledgement_members[] = {
	T(wet_acknowledgement, "person", person), T(wet_acknowledgement, "recipe", recipe_name),
	I(wet_acknowledgement, "version", version, INT32_MIN, INT32_MAX), L(wet_acknowledgement, "wall_ms", wall_ms), END
};
static const struct member run_members[] = {
	D(wet_ledger_run, "run", id, 1), T(wet_ledger_run, "name", name), T(wet_ledger_run, "recipe", recipe_name),
	T(wet_ledger_run, "recipe_hash", recipe_hash), T(wet_ledger_run, "person", person),
	U(wet_ledger_run, "owner_uid", owner_uid), F(wet_ledger_run, "group_controls", group_controls),
	T(wet_ledger_run, "armed_boot_id", armed_boot_id), D(wet_ledger_run, "armed_boot_ns", armed_boot_ns, 0),
	L(wet_ledger_run, "armed_wall_ms", armed_wall_ms), F(wet_ledger_run, "is_live", is_live),
	T(wet_ledger_run, "outcome", outcome), L(wet_ledger_run, "ended_wall_ms", ended_wall_ms),
	VESSEL(wet_ledger_run, "vessel_", setup.vessel), VESSEL(wet_ledger_run, "washer_", setup.washer),
	I(wet_ledger_run, "pieces", setup.pieces, 1, WET_PIECES), T(wet_ledger_run, "room", setup.room),
	W(wet_ledger_run, "forecast", setup.forecast.kind, 3, forecast_word),
	I(wet_ledger_run, "forecast_room_mc", setup.forecast.room_mc, INT32_MIN, INT32_MAX),
	D(wet_ledger_run, "forecast_tau_ns", setup.forecast.tau_ns, 0),
	I(wet_ledger_run, "tolerance_mc", setup.tolerance_mc, 0, INT32_MAX),
	F(wet_ledger_run, "is_rehearsal", setup.is_rehearsal), F(wet_ledger_run, "is_mine", setup.is_mine),
	F(wet_ledger_run, "is_wet", setup.is_wet), F(wet_ledger_run, "is_unheard", setup.is_unheard),
	F(wet_ledger_run, "no_beat", setup.no_beat),
	I(wet_ledger_run, "rules_version", setup.rules_version, 0, INT32_MAX), END
};
static const struct member event_members[] = {
	D(wet_event_row, "run", run_id, 1), D(wet_event_row, "seq", seq, 1),
	W(wet_event_row, "act", event.kind, WET_EVENT_KIND_N, wet_act_word), U(wet_event_row, "flags", event.flags),
	D(wet_event_row, "boot_ns", event.boot_ns, 0), L(wet_event_row, "wall_ms", event.wall_ms),
	T(wet_event_row, "boot_id", event.boot_id), D(wet_event_row, "a_ns", event.a_ns, INT64_MIN),
	D(wet_event_row, "b_ns", event.b_ns, INT64_MIN), D(wet_event_row, "c_ns", event.c_ns, INT64_MIN),
	I(wet_event_row, "temperature_mc", event.temperature_mc, INT32_MIN, INT32_MAX),
	I(wet_event_row, "bath", event.bath, -1, WET_RECIPE_BATHS - 1), D(wet_event_row, "number", event.number, INT64_MIN),
	T(wet_event_row, "token", event.token), U(wet_event_row, "uid", event.uid), END
};
static const struct member check_members[] = {
	D(wet_check, "run", run_id, 1), Q(wet_check, "seq", seq, 1), T(wet_check, "key", key), T(wet_check, "text", text),
	W(wet_check, "answer", answer, WET_CHECK_ANSWER_N, wet_check_answer_word), T(wet_check, "person", person),
	U(wet_check, "uid", uid), L(wet_check, "wall_ms", wall_ms), L(wet_check, "since_ms", since_ms), END
};
static const struct member stage_members[] = {
	D(wet_stage_row, "run", run_id, 1), I(wet_stage_row, "stage", stage, 0, WET_RECIPE_STAGES - 1),
	D(wet_stage_row, "begin_ns", record.begin_ns, INT64_MIN), D(wet_stage_row, "end_ns", record.end_ns, INT64_MIN),
	I(wet_stage_row, "late_pour_ms", record.late_pour_ms, INT32_MIN, INT32_MAX),
	{ "flags", UINT32, offsetof(struct wet_stage_row, record.flags), 1, UINT32_MAX, NULL, 1 }, END
};
static const struct member item_members[] = {
	D(wet_stock, "item", id, 1), W(wet_stock, "kind", kind, WET_STOCK_KIND_N, stock_word), T(wet_stock, "name", name),
	T(wet_stock, "what", what), T(wet_stock, "strength", strength), T(wet_stock, "lot", lot), T(wet_stock, "place", place),
	Q(wet_stock, "full_ul", full_ul, 0), Q(wet_stock, "volume_ul", volume_ul, 0), Q(wet_stock, "least_ul", least_ul, 0),
	I(wet_stock, "pieces_max", pieces_max, 0, INT32_MAX), Q(wet_stock, "width_um", width_um, 0),
	Q(wet_stock, "height_um", height_um, 0), Q(wet_stock, "since_ms", since_ms, 0), Q(wet_stock, "area_mm2", area_mm2, 0),
	D(wet_stock, "from", from_id, 0), { "class", LETTER, offsetof(struct wet_stock, grade), 0, 127, NULL, 1 },
	F(wet_stock, "is_gone", is_gone), Q(wet_stock, "gone_ms", gone_ms, 0),
	SINCE(4, wet_stock, "second_mm2", INT64, second_mm2, MS_MAX), SINCE(4, wet_stock, "rotations", INT32, rotations, INT32_MAX),
	{ "kept", WORD, offsetof(struct wet_stock, kept), 0, WET_STOCK_KEPT_N - 1, kept_word, 5 },
	SINCE(5, wet_stock, "piece_width_um", INT64, piece_width_um, MS_MAX),
	SINCE(5, wet_stock, "piece_height_um", INT64, piece_height_um, MS_MAX),
	SINCE(9, wet_stock, "hole_um", INT64, hole_um, MS_MAX), SINCE(9, wet_stock, "distance_um", INT64, distance_um, MS_MAX),
	SINCE(9, wet_stock, "f_number_milli", INT64, f_number_milli, MS_MAX), END
};
static const struct member history_members[] = {
	D(wet_stock_event, "item", stock_id, 1), W(wet_stock_event, "act", act, WET_STOCK_ACT_N, stock_act_word),
	L(wet_stock_event, "wall_ms", wall_ms), L(wet_stock_event, "volume_ul", volume_ul),
	L(wet_stock_event, "area_mm2", area_mm2), D(wet_stock_event, "run", run_id, 0),
	I(wet_stock_event, "stage", stage, 0, WET_RECIPE_STAGES - 1), U(wet_stock_event, "uid", uid),
	T(wet_stock_event, "token", token), T(wet_stock_event, "note", note),
	{ "second_mm2", INT64, offsetof(struct wet_stock_event, second_mm2), -MS_MAX, MS_MAX, NULL, 4 },
	{ "kept", WORD, offsetof(struct wet_stock_event, kept), 0, WET_STOCK_KEPT_N - 1, kept_word, 5 }, END
};
static const struct member plan_members[] = {
	T(wet_plan_row, "plan", name), T(wet_plan_row, "recipe", recipe_name), T(wet_plan_row, "recipe_hash", recipe_hash),
	T(wet_plan_row, "vessel", vessel), L(wet_plan_row, "wall_ms", wall_ms), END
};
static const struct member load_members[] = {
	T(wet_load_row, "plan", plan), I(wet_load_row, "load", index, 0, WET_KEPT_LOADS - 1),
	I(wet_load_row, "pieces", load.pieces, 1, WET_PIECES), Q(wet_load_row, "area_mm2", load.area_mm2, 0),
	D(wet_load_row, "run", load.run_id, 0), END
};
static const struct member bath_members[] = {
	T(wet_bath_row, "plan", plan), I(wet_bath_row, "bath", index, 0, WET_KEPT_BATHS - 1), T(wet_bath_row, "key", bath.key),
	T(wet_bath_row, "what", bath.what), T(wet_bath_row, "strength", bath.strength),
	I(wet_bath_row, "first_load", bath.first_load, 0, WET_KEPT_LOADS),
	I(wet_bath_row, "load_count", bath.load_count, 0, WET_KEPT_LOADS), D(wet_bath_row, "item", bath.stock_id, 0),
	Q(wet_bath_row, "volume_ul", bath.volume_ul, 1), F(wet_bath_row, "is_one_shot", bath.is_one_shot),
	SINCE(4, wet_bath_row, "second_key", TEXT, bath.second_key, WET_NAME_BYTES),
	SINCE(4, wet_bath_row, "second_load", INT32, bath.second_load, WET_KEPT_LOADS),
	SINCE(4, wet_bath_row, "second_count", INT32, bath.second_count, WET_KEPT_LOADS),
	SINCE(4, wet_bath_row, "rotations", INT32, bath.rotations, INT32_MAX), END
};
static const struct member draw_members[] = {
	T(wet_draw_row, "plan", plan), I(wet_draw_row, "bath", bath, 0, WET_KEPT_BATHS - 1),
	D(wet_draw_row, "bottle", bottle_id, 1), Q(wet_draw_row, "stock_ul", stock_ul, 0), END
};
static const struct member booking_members[] = {
	D(wet_booking, "run", run_id, 1), I(wet_booking, "stage", stage, 0, WET_RECIPE_STAGES - 1),
	D(wet_booking, "item", stock_id, 1), Q(wet_booking, "area_mm2", area_mm2, 0), Q(wet_booking, "volume_ul", volume_ul, 0),
	SINCE(4, wet_booking, "second_mm2", INT64, second_mm2, MS_MAX), END
};
static const struct member entry_members[] = {
	T(wet_entry, "kind", kind), T(wet_entry, "name", name), I(wet_entry, "part", part, 0, WET_ENTRY_PARTS - 1),
	I(wet_entry, "revision", revision, 1, INT32_MAX), F(wet_entry, "is_gone", is_gone), L(wet_entry, "wall_ms", wall_ms),
	U(wet_entry, "uid", uid), T(wet_entry, "person", person), T(wet_entry, "token", token), T(wet_entry, "body", body), END
};
/* clang-format on */

static const struct member *const members[WET_ROW_N] = {
	[WET_ROW_RECIPE] = recipe_members,
	[WET_ROW_VESSEL] = vessel_members,
	[WET_ROW_ACKNOWLEDGEMENT] = acknowledgement_members,
	[WET_ROW_RUN] = run_members,
	[WET_ROW_EVENT] = event_members,
	[WET_ROW_CHECK] = check_members,
	[WET_ROW_STAGE] = stage_members,
	[WET_ROW_ITEM] = item_members,
	[WET_ROW_HISTORY] = history_members,
	[WET_ROW_PLAN] = plan_members,
	[WET_ROW_LOAD] = load_members,
	[WET_ROW_BATH] = bath_members,
	[WET_ROW_DRAW] = draw_members,
	[WET_ROW_BOOKING] = booking_members,
	[WET_ROW_ENTRY] = entry_members,
};

const char *row_word(enum wet_row_kind kind)
{
	static const char *const words[WET_ROW_N] = {
#define WET_ROW_WORD(name, word) word,
		WET_ROWS(WET_ROW_WORD)
#undef WET_ROW_WORD
	};
	return words[kind];
}

/* -- out ---------------------------------------------------------------------------------- */

static json_t *member_json(const struct member *m, const char *base)
{
	const void *at = base + m->offset;
	char digits[24];
	switch (m->type) {
	case TEXT: return json_string(at);
	case FLAG: return json_boolean(*(const bool *)at);
	case INT32: return json_integer(*(const int32_t *)at);
	case UINT32: return json_integer(*(const uint32_t *)at);
	case INT64: return json_integer(*(const int64_t *)at);
	case DIGITS:
		wet_text_format(digits, sizeof digits, "%" PRId64, *(const int64_t *)at);
		return json_string(digits);
	case WORD: return json_string(m->word(*(const int *)at));
	case LETTER: return json_stringn(at, *(const char *)at ? 1 : 0);
	}
	return NULL;
}

static bool add_rates(json_t *line, const struct wet_run_setup *setup)
{
	json_t *rates = json_object();
	bool is_well = rates != NULL;
	for (int i = 0; i < WET_STAGE_KIND_N && is_well; i++) {
		if (setup->rate_milli[i] != 1000)
			is_well = json_object_set_new(rates, wet_stage_kind_word((enum wet_stage_kind)i),
										  json_integer(setup->rate_milli[i])) == 0;
	}
	return json_object_set_new(line, "rates_milli", rates) == 0 && is_well;
}

json_t *row_encode(const struct wet_row *row)
{
	json_t *line = json_object();
	bool is_well = line && json_object_set_new(line, "row", json_string(row_word(row->kind))) == 0;
	for (const struct member *m = members[row->kind]; m->key && is_well; m++)
		is_well = json_object_set_new(line, m->key, member_json(m, (const char *)&row->of)) == 0;
	if (is_well && row->kind == WET_ROW_RECIPE)
		is_well =
			json_object_set_new(line, "text", json_stringn(row->of.recipe.text, row->of.recipe.bytes)) == 0;
	if (is_well && row->kind == WET_ROW_RUN)
		is_well = add_rates(line, &row->of.run.setup);
	if (!is_well) {
		json_decref(line);
		return NULL;
	}
	return line;
}

/* -- in ----------------------------------------------------------------------------------- */

static int wrong(const struct member *m, const json_t *value, const char *want, struct wet_fault *reterr)
{
	char where[64], found[96] = "";
	wet_text_format(where, sizeof where, "/%s", m->key);
	if (json_is_string(value))
		wet_text_copy(found, sizeof found, json_string_value(value));
	else if (json_is_integer(value))
		wet_text_format(found, sizeof found, "%lld", (long long)json_integer_value(value));
	return wet_fault_set(reterr, WET_ERR_INVALID, where, value ? found : "nothing", "%s", want);
}

static int wrong_number(const struct member *m, const json_t *value, struct wet_fault *reterr)
{
	char want[128];
	wet_text_format(want, sizeof want, "a whole number%s from %" PRId64 " to %" PRId64,
					m->type == DIGITS ? ", as a text of digits," : "", m->low, m->high);
	return wrong(m, value, want, reterr);
}

/* Digits as wetside writes them: what is read back is the same text. */
static bool read_digits(const char *text, int64_t *ret_value)
{
	char back[24], *end;
	long long value = strtoll(text, &end, 10);
	wet_text_format(back, sizeof back, "%lld", value);
	*ret_value = value;
	return *end == '\0' && strcmp(back, text) == 0;
}

static int read_number(const struct member *m, const json_t *value, char *at, struct wet_fault *reterr)
{
	int64_t number;
	if (m->type == DIGITS ? !json_is_string(value) || !read_digits(json_string_value(value), &number)
						  : !json_is_integer(value))
		return wrong_number(m, value, reterr);
	if (m->type != DIGITS)
		number = json_integer_value(value);
	if (number < m->low || number > m->high)
		return wrong_number(m, value, reterr);
	if (m->type == INT32)
		*(int32_t *)(void *)at = (int32_t)number;
	else if (m->type == UINT32)
		*(uint32_t *)(void *)at = (uint32_t)number;
	else
		*(int64_t *)(void *)at = number;
	return WET_OK;
}

static int read_word(const struct member *m, const json_t *value, char *at, struct wet_fault *reterr)
{
	char want[224] = "one of:";
	for (int i = 0; i <= (int)m->high; i++) {
		if (json_is_string(value) && strcmp(json_string_value(value), m->word(i)) == 0) {
			*(int *)(void *)at = i;
			return WET_OK;
		}
		wet_text_append(want, sizeof want, "%s %s", i > 0 ? "," : "", m->word(i));
	}
	return wrong(m, value, want, reterr);
}

static int read_member(const struct member *m, const json_t *value, char *base, struct wet_fault *reterr)
{
	char *at = base + m->offset, want[48];
	switch (m->type) {
	case TEXT:
		if (!json_is_string(value) || json_string_length(value) >= (size_t)m->high) {
			wet_text_format(want, sizeof want, "a text of under %d bytes", (int)m->high);
			return wrong(m, value, want, reterr);
		}
		wet_text_copy(at, (size_t)m->high, json_string_value(value));
		return WET_OK;
	case FLAG:
		if (!json_is_boolean(value))
			return wrong(m, value, "true or false", reterr);
		*(bool *)at = json_is_true(value);
		return WET_OK;
	case WORD: return read_word(m, value, at, reterr);
	case LETTER:
		if (!json_is_string(value) || json_string_length(value) > 1)
			return wrong(m, value, "one letter, or none", reterr);
		*at = json_string_value(value)[0];
		return WET_OK;
	default: return read_number(m, value, at, reterr);
	}
}

static int read_rates(const json_t *value, struct wet_run_setup *setup, struct wet_fault *reterr)
{
	const char *key;
	json_t *rate;
	enum wet_stage_kind kind;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup->rate_milli[i] = 1000;
	if (!json_is_object(value))
		return wet_fault_set(reterr, WET_ERR_INVALID, "/rates_milli", NULL,
							 "an object, {} for a run in real time");
	json_object_foreach((json_t *)value, key, rate)
	{
		if (wet_stage_kind_from_word(key, &kind) != 0 || !json_is_integer(rate) ||
			json_integer_value(rate) < 1 || json_integer_value(rate) > WET_RATE_MILLI_MAX)
			return wet_fault_set(reterr, WET_ERR_INVALID, "/rates_milli", key,
								 "kinds of stages with whole numbers from 1 to %d", WET_RATE_MILLI_MAX);
		setup->rate_milli[kind] = (uint32_t)json_integer_value(rate);
	}
	return WET_OK;
}

static bool is_member(enum wet_row_kind kind, const char *key)
{
	for (const struct member *m = members[kind]; m->key; m++) {
		if (strcmp(m->key, key) == 0)
			return true;
	}
	return strcmp(key, "row") == 0 || (kind == WET_ROW_RECIPE && strcmp(key, "text") == 0) ||
		   (kind == WET_ROW_RUN && strcmp(key, "rates_milli") == 0);
}

int row_decode(const json_t *line, enum wet_row_kind kind, int schema, struct wet_row *ret_row,
			   struct wet_fault *reterr)
{
	struct wet_row row;
	const char *key;
	json_t *value, *text = json_object_get(line, "text");
	int rc = WET_OK;
	memset(&row, 0, sizeof row);
	row.kind = kind;
	json_object_foreach((json_t *)line, key, value)
	{
		if (!is_member(kind, key))
			return wet_fault_set(reterr, WET_ERR_INVALID, "", key, "only the members of a row of kind %s",
								 row_word(kind));
	}
	for (const struct member *m = members[kind]; m->key && rc == 0; m++)
		if (schema >= m->since || json_object_get(line, m->key))
			rc = read_member(m, json_object_get(line, m->key), (char *)&row.of, reterr);
	if (rc == 0 && kind == WET_ROW_RECIPE) {
		if (!json_is_string(text))
			return wet_fault_set(reterr, WET_ERR_INVALID, "/text", NULL, "a text: this part of the recipe");
		row.of.recipe.text = json_string_value(text);
		row.of.recipe.bytes = json_string_length(text);
	}
	if (rc == 0 && kind == WET_ROW_RUN)
		rc = read_rates(json_object_get(line, "rates_milli"), &row.of.run.setup, reterr);
	if (rc == 0)
		*ret_row = row;
	return rc;
}

int row_check(char check[65], const char *line, size_t bytes)
{
	size_t before = strlen(check);
	char *both = malloc(before + bytes + 1);
	if (!both)
		return WET_ERR_NOMEM;
	memcpy(both, check, before);
	memcpy(both + before, line, bytes);
	wet_shelf_hash(both, before + bytes, check);
	free(both);
	return WET_OK;
}
