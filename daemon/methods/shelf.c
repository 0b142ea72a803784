/* shelf.c: recipes, safety notes, status, records. */
#include "methods/caution.h"
#include "methods/hazard.h"
#include "methods/inside.h"
#include "methods/place.h"

#include "base/text.h"
#include "darkroom/records.h"
#include "shelf/formula_note.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

static struct wet_shelf *shelf_of(struct wet_call *c)
{
	return wet_darkroom_shelf(c->methods->darkroom);
}

/* Parts of one reply share its bytes: a list ends where its share does, because of a reply that is too long nothing arrives. */
bool add_within(json_t *list, json_t *value, size_t *left)
{
	size_t n = json_dumpb(value, NULL, 0, JSON_COMPACT | JSON_ENCODE_ANY) + 1;
	if (n > *left) {
		json_decref(value);
		return false;
	}
	*left -= n;
	return json_array_append_new(list, value) == 0;
}

/* The tables first: what is wrong with them is wrong with many a recipe. */
static json_t *faults_json(struct wet_shelf *shelf, size_t left)
{
	json_t *list = json_array();
	const struct wet_safety *safety = wet_shelf_safety(shelf);
	size_t tables = (size_t)safety->fault_count;
	for (size_t i = 0; i < tables + wet_shelf_fault_count(shelf) && i < WET_PAGE; i++) {
		char line[512];
		wet_fault_line(i < tables ? &safety->faults[i] : wet_shelf_fault(shelf, i - tables), line, sizeof line);
		if (!add_within(list, json_string(line), &left))
			break;
	}
	return list;
}

void serve_recipe_list(struct wet_call *c)
{
	struct wet_shelf *shelf = shelf_of(c);
	json_t *list = json_array();
	size_t left = WET_REPLY_BYTES / 2;
	for (size_t i = 0; i < wet_shelf_count(shelf) && i < 4 * WET_PAGE; i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		if (!add_within(list,
						json_pack("{s:s, s:s, s:i, s:s, s:s}", "name", r->name, "title", r->title, "version",
								  r->version, "kind", r->is_test ? "test" : "process", "vessel",
								  wet_vessel_kind_word(r->vessel_kind)),
						&left))
			break;
	}
	call_result(c, json_pack("{s:o, s:o}", "recipes", list, "faults",
							 faults_json(shelf, WET_REPLY_BYTES / 4)));
}

const struct wet_shelf_recipe *find_recipe(struct wet_call *c)
{
	char name[WET_NAME_BYTES];
	struct wet_fault fault = { 0 };
	if (!want_text(c, "name", true, name, sizeof name))
		return NULL;
	const struct wet_shelf_recipe *r = wet_shelf_find(shelf_of(c), name);
	if (!r) {
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, "name", name,
					  "one of the recipes that `wetside recipe` lists");
		call_fault(c, &fault);
	}
	return r;
}

/* What meets in it; NULL: the fault was answered. */
static json_t *meets_of(struct wet_call *c, const struct wet_shelf_recipe *r)
{
	bool is_stale_air = false;
	if (!want_bool(c, "stale_air", &is_stale_air))
		return NULL;
	json_t *meets = wet_recipe_meets(&r->recipe, c->methods->formulary, c->methods->safety, is_stale_air);
	if (!meets)
		call_result(c, NULL);
	return meets;
}

void serve_recipe_get(struct wet_call *c)
{
	const struct wet_shelf_recipe *r = find_recipe(c);
	if (!r)
		return;
	json_t *doc = json_loadb(r->json, r->json_bytes, 0, NULL), *meets = meets_of(c, r);
	if (meets)
		call_result(c, json_pack("{s:s, s:s, s:s, s:o, s:s, s:o}", "name", r->recipe.name, "title", r->recipe.title,
								 "hash", r->hash, "recipe", doc, "note", r->note, "meets", meets));
	else
		json_decref(doc);
}

/* The lines one under the other; NULL without memory. */
static json_t *joined(const json_t *lines)
{
	size_t bytes = 1, i;
	json_t *line;
	json_array_foreach(lines, i, line) bytes += json_string_length(line) + 1;
	char *text = calloc(1, bytes);
	if (!text)
		return NULL;
	json_array_foreach(lines, i, line) wet_text_append(text, bytes, "%s\n", json_string_value(line));
	json_t *result = json_string(text);
	free(text);
	return result;
}

/* The formula of that name, where no recipe has it. */
static const struct wet_formula *formula_of(struct wet_call *c, const char *name)
{
	const struct wet_formulary_item *item = name && !wet_shelf_find(shelf_of(c), name)
												? wet_formulary_find(c->methods->formulary, name)
												: NULL;
	return item ? &item->formula : NULL;
}

static void serve_formula_note(struct wet_call *c, const struct wet_formula *f)
{
	char *note = NULL, *sources = NULL;
	json_t *result = NULL;
	bool is_hazardous = wet_formula_is_hazardous(c->methods->safety, wet_formulary_substances(c->methods->formulary), f);
	if (wet_formula_note(c->methods->safety, c->methods->formulary, f->name, &note, &sources) == 0)
		result = json_pack("{s:s, s:s, s:s, s:b, s:i}", "name", f->name, "note", note, "sources", sources,
						   "needs_acknowledgement", is_hazardous, "version", f->version);
	call_result(c, result);
	free(note);
	free(sources);
}

/* What is no recipe: a formula, the room, a substance, a gas. */
static bool serve_other(struct wet_call *c, const char *name)
{
	const struct wet_formula *f = formula_of(c, name);
	if (f) {
		serve_formula_note(c, f);
		return true;
	}
	const struct wet_safety *safety = c->methods->safety;
	bool is_room = strcmp(name, "room") == 0;
	json_t *lines = is_room ? wet_room_lines(safety) : wet_safety_lines(safety, name);
	bool is_known = !lines || json_array_size(lines) > 0;
	if (is_known) {
		json_t *sources = is_room ? wet_room_sources(safety) : json_array();
		call_result(c, lines ? json_pack("{s:s, s:o, s:o, s:b, s:i}", "name", name, "note", joined(lines), "sources",
										 joined(sources), "needs_acknowledgement", 0, "version", 0)
							 : NULL);
		json_decref(sources);
	}
	json_decref(lines);
	return is_known;
}

void serve_safety_get(struct wet_call *c)
{
	const char *name = json_string_value(json_object_get(c->params, "name"));
	if (name && !wet_shelf_find(shelf_of(c), name) && serve_other(c, name))
		return;
	const struct wet_shelf_recipe *r = find_recipe(c);
	json_t *meets = r ? meets_of(c, r) : NULL;
	if (meets)
		call_result(c, json_pack("{s:s, s:s, s:s, s:b, s:i, s:o}", "name", r->recipe.name, "note", r->note, "sources",
								 r->note_sources, "needs_acknowledgement", r->recipe.needs_acknowledgement, "version",
								 r->recipe.version, "meets", meets));
}

static void acknowledged(void *ctx, const struct wet_records *records, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	(void)records;
	if (fault->err != WET_OK)
		reply_fault(p, fault);
	else
		reply_result(p, json_pack("{s:b}", "acknowledged", 1));
}

static void looked_up(void *ctx, const struct wet_records *records, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK)
		reply_fault(p, fault);
	else
		reply_result(p, json_pack("{s:b}", "acknowledged", records->is_acknowledged));
}

/* Whose note it is, and of which version. False: answered. */
static bool want_note(struct wet_call *c, char *ret_name, unsigned name_bytes, int *ret_version)
{
	const struct wet_formula *f = formula_of(c, json_string_value(json_object_get(c->params, "name")));
	const struct wet_shelf_recipe *r = f ? NULL : find_recipe(c);
	if (!r && !f)
		return false;
	wet_text_format(ret_name, name_bytes, "%s%s", f ? WET_MIX_PREFIX : "", f ? f->name : r->recipe.name);
	*ret_version = f ? f->version : r->recipe.version;
	return true;
}

void serve_acknowledged(struct wet_call *c)
{
	char person[WET_NAME_BYTES] = "", name[sizeof WET_MIX_PREFIX + WET_NAME_BYTES];
	int version;
	if (!want_note(c, name, sizeof name, &version) || !want_person(c, person, sizeof person))
		return;
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_acknowledged(c->methods->darkroom, person, name, version, looked_up, p);
}

void serve_acknowledge(struct wet_call *c)
{
	char person[WET_NAME_BYTES] = "", name[sizeof WET_MIX_PREFIX + WET_NAME_BYTES];
	struct wet_fault fault = { 0 };
	int version;
	if (!want_note(c, name, sizeof name, &version) || !want_person(c, person, sizeof person))
		return;
	if (wet_darkroom_is_dark_anywhere(c->methods->darkroom)) {
		wet_fault_set(&fault, WET_ERR_REFUSED, "name", name, "reading it in the light, when no paper is open");
		call_fault(c, &fault);
		return;
	}
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_acknowledge(c->methods->darkroom, person, name, version, acknowledged, p);
}

/* -- status ------------------------------------------------------------------------ */

#define PART_BYTES (WET_REPLY_BYTES / 8) /* of each list beside the runs */
#define RUNS 24                          /* live ones first */

static json_t *runs_json(struct wet_darkroom *d)
{
	json_t *list = json_array();
	size_t left = WET_REPLY_BYTES - 4 * PART_BYTES - 2048;
	for (int ended = 0; ended < 2; ended++)
		for (struct wet_live *l = wet_darkroom_newest(d); l && json_array_size(list) < RUNS; l = l->older)
			if (wet_live_is_over(l) == (ended == 1) && !add_within(list, wet_run_snapshot(d, l), &left))
				return list;
	return list;
}

static json_t *drying_json(struct wet_darkroom *d)
{
	const struct wet_drying *list;
	const struct wet_ports *ports = wet_darkroom_ports(d);
	int64_t wall_ms = ports->wall_ms(ports->ctx);
	json_t *rows = json_array();
	size_t left = PART_BYTES;
	for (int i = 0, n = wet_darkroom_drying(d, &list); i < n; i++)
		(void)add_within(rows, json_pack("{s:s, s:s, s:I, s:I, s:b}", "run", list[i].name, "how",
													list[i].how, "due_utc_ms", (json_int_t)list[i].due_wall_ms,
													"most_utc_ms", (json_int_t)list[i].most_wall_ms, "is_due",
													list[i].due_wall_ms <= wall_ms), &left);
	return rows;
}

/* Where no screen may light up. Beside the runs, because of those only the ones that changed last are told. */
static json_t *dark_json(struct wet_darkroom *d, json_int_t *ret_count)
{
	json_t *list = json_array();
	size_t left = PART_BYTES;
	*ret_count = 0;
	for (struct wet_live *l = wet_darkroom_newest(d); l; l = l->older) {
		if (!wet_live_is_dark(d, l))
			continue;
		if (++*ret_count <= WET_PAGE)
			(void)add_within(list, json_pack("{s:I, s:s, s:s}", "id", (json_int_t)l->id, "name", l->name, "room",
											 l->run.setup.room),
							 &left);
	}
	return list;
}

/* What stands together and should not. */
static json_t *meets_json(struct wet_methods *m)
{
	json_t *list = json_array(), *caution;
	size_t left = PART_BYTES, i;
	json_array_foreach(wet_shelf_meets(m), i, caution)
		if (!add_within(list, json_incref(caution), &left))
			break;
	return list;
}

void serve_status(struct wet_call *c)
{
	struct wet_darkroom *d = c->methods->darkroom;
	const struct wet_ports *ports = wet_darkroom_ports(d);
	char voice[WET_LINE_BYTES] = "none was asked for", disk[512] = "";
	json_int_t dark_count;
	json_t *dark = dark_json(d, &dark_count);
	bool is_spoken = ports->voice_is_well && ports->voice_is_well(ports->ctx, voice, sizeof voice);
	const char *spoken = !ports->voice_is_well ? "none" : is_spoken ? "well" : "not well";
	(void)wet_darkroom_disk_is_behind(d, disk, sizeof disk);
	call_result(c, json_pack("{s:o, s:o, s:I, s:o, s:b, s:o, s:{s:s, s:s}, s:s, s:o, s:o, s:I}", "runs",
							 runs_json(d), "dark", dark, "dark_count", dark_count, "drying",
							 drying_json(d), "may_sleep", wet_darkroom_may_sleep(d), "sound", sound_json(ports), "voice",
							 "health", spoken, "text", voice, "disk", disk, "shelf",
							 faults_json(wet_darkroom_shelf(d), PART_BYTES), "meets", meets_json(c->methods), "live_count",
							 (json_int_t)wet_darkroom_count(d)));
}

/* -- records ------------------------------------------------------------------------ */

json_t *record_row_json(const struct wet_ledger_run *r)
{
	return json_pack("{s:I, s:s, s:s, s:s, s:b, s:b, s:I, s:I, s:s, s:s, s:i}", "id", (json_int_t)r->id,
					 "name", r->name, "recipe", r->recipe_name, "outcome", r->outcome, "is_live", r->is_live,
					 "is_rehearsal", r->setup.is_rehearsal, "armed_wall_ms", (json_int_t)r->armed_wall_ms,
					 "ended_wall_ms", (json_int_t)r->ended_wall_ms, "person", r->person, "vessel",
					 r->setup.vessel.name, "pieces", r->setup.pieces);
}

static void listed(void *ctx, const struct wet_records *records, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK) {
		reply_fault(p, fault);
		return;
	}
	json_t *list = json_array();
	for (int i = 0; i < records->run_count; i++)
		(void)json_array_append_new(list, record_row_json(&records->runs[i]));
	json_int_t next = records->run_count == WET_PAGE ? (json_int_t)records->runs[WET_PAGE - 1].id : 0;
	reply_result(p, json_pack("{s:o, s:I}", "runs", list, "next", next));
}

void serve_record_list(struct wet_call *c)
{
	int64_t before = INT64_MAX;
	if (!want_int(c, "before", 1, INT64_MAX, &before))
		return;
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_list_records(c->methods->darkroom, before, listed, p);
}

static json_t *degrees_json(int32_t mc)
{
	return mc == INT32_MIN ? json_null() : json_integer(mc);
}

/* How warm a stage was: "20 C to 19.2 C, 5 readings", the sentence about its course as it was seen last, and the points. */
static json_t *trace_json(const struct wet_trace *t, int64_t begin_ns)
{
	static const char *const courses[WET_COURSE_KIND_N] = { "none", "constant", "vessel", "fitted" };
	char text[96] = "", in[24], out[24];
	json_t *points = json_array();
	for (int i = 0; i < t->count; i++)
		(void)json_array_append_new(points, json_pack("{s:I, s:i}", "at_us", (json_int_t)((t->points[i].at_ns - begin_ns) / 1000),
													  "temperature_mc", (int)t->points[i].temperature_mc));
	if (t->in_mc != INT32_MIN)
		wet_text_format(text, sizeof text, "from %s ", wet_print_temperature(t->in_mc, in, sizeof in));
	if (t->out_mc != INT32_MIN)
		wet_text_append(text, sizeof text, "to %s, %u reading%s", wet_print_temperature(t->out_mc, out, sizeof out), t->readings,
						t->readings == 1 ? "" : "s");
	return json_pack("{s:s, s:s, s:s, s:i, s:o, s:o, s:o, s:I, s:i, s:o}", "text", text, "course_text", t->text, "course",
					 courses[t->course], "readings", (int)t->readings, "in_mc", degrees_json(t->in_mc), "out_mc",
					 degrees_json(t->out_mc), "settles_mc", t->tau_ns > 0 ? json_integer(t->settles_mc) : json_null(),
					 "constant_us", (json_int_t)(t->tau_ns / 1000), "fit_readings", (int)t->fit_readings, "points", points);
}

static json_t *event_json(const struct wet_records *r, const struct wet_event *e)
{
	bool has_bath = e->bath >= 0 && e->bath < WET_RECIPE_BATHS;
	char t[24] = "";
	if (e->kind == WET_ACT_READING)
		wet_print_temperature(e->temperature_mc, t, sizeof t);
	bool has_length = e->kind == WET_ACT_LONGER || e->kind == WET_EVENT_CLOCK; /* of time; a step back is below zero */
	return json_pack("{s:s, s:I, s:I, s:i, s:b, s:s, s:i, s:s, s:s, s:I}", "act", wet_act_word(e->kind), "boot_us",
					 (json_int_t)(e->boot_ns / 1000), "wall_ms", (json_int_t)e->wall_ms, "flags",
					 (int)e->flags, "by_probe", (e->flags & WET_EVENT_PROBE) != 0, "temperature", t, "bath", e->bath, "bath_name",
					 has_bath ? r->bath_names[e->bath] : "", "token", e->token,
					 "by_us", (json_int_t)(has_length ? e->a_ns / 1000 : 0));
}

static void got(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK) {
		reply_fault(p, fault);
		return;
	}
	json_t *events = json_array(), *stages = json_array();
	for (int i = 0; i < r->event_count; i++)
		(void)json_array_append_new(events, event_json(r, &r->events[i]));
	for (int i = 0; i < WET_RECIPE_STAGES; i++)
		if (r->stages[i].flags)
			(void)json_array_append_new(stages, json_pack("{s:i, s:I, s:s, s:b, s:b, s:b, s:I, s:I, s:i, s:i, s:o}",
														  "stage", i, "planned_us", (json_int_t)(r->planned_ns[i] / 1000),
														  "name", r->stage_names[i], "is_early",
														  (r->stages[i].flags & WET_STAGE_EARLY) != 0, "is_past_most",
														  (r->stages[i].flags & WET_STAGE_OVERTIME) != 0, "is_uncertain",
														  (r->stages[i].flags & WET_STAGE_UNCERTAIN) != 0, "begin_us",
														  (json_int_t)(r->stages[i].begin_ns / 1000),
														  "end_us", (json_int_t)(r->stages[i].end_ns / 1000),
														  "late_pour_ms", r->stages[i].late_pour_ms, "flags",
														  (int)r->stages[i].flags, "warmth",
														  trace_json(&r->tracing.stages[i], r->stages[i].begin_ns)));
	reply_result(p, json_pack("{s:o, s:o, s:o, s:o, s:o, s:o}", "run", record_row_json(&r->runs[0]), "events", events, "stages", stages,
							  "baths", record_baths_json(r), "gaps", record_gaps_json(r), "checklist", wet_answers_json(&r->answers)));
}

void serve_record_get(struct wet_call *c)
{
	int64_t id = 0;
	struct wet_fault f = { 0 };
	if (!want_int(c, "run", 1, INT64_MAX, &id))
		return;
	if (id == 0) {
		wet_fault_set(&f, WET_ERR_PARAMS, "run", NULL, "the number of a run, as record.list shows it");
		call_fault(c, &f);
		return;
	}
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_get_record(c->methods->darkroom, id, got, p);
}
