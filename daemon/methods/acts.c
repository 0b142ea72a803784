/* acts.c: acts on a run. */
#include "methods/caution.h"
#include "methods/hazard.h"
#include "methods/inside.h"

#include "base/text.h"
#include "shelf/formulary.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

static struct wet_darkroom *room(struct wet_call *c)
{
	return c->methods->darkroom;
}

bool may_control(struct wet_call *c, const struct wet_live *live)
{
	if (live->owner_uid == c->uid || c->uid == 0 || live->group_controls)
		return true;
	struct wet_fault fault = { 0 };
	wet_fault_set(&fault, WET_ERR_PERMISSION, "run", live->name,
				  "the one who armed it; the group may if it was armed with --group");
	call_fault(c, &fault);
	return false;
}

bool find_run(struct wet_call *c, struct wet_live **ret_live)
{
	char name[WET_NAME_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, "run", false, name, sizeof name))
		return false;
	if (!name[0]) {
		if (wet_darkroom_the_run(room(c), ret_live, &fault) == 0)
			return true;
	} else {
		*ret_live = wet_darkroom_find(room(c), name);
		if (*ret_live)
			return true;
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, "run", name, "one of those that `wetside status` lists");
	}
	call_fault(c, &fault);
	return false;
}

static void acted(void *ctx, struct wet_live *live, const struct wet_answer *a, bool is_stored)
{
	struct pending *p = ctx;
	if (a->kind == WET_ANSWER_REFUSE) {
		struct wet_fault fault = { 0 };
		wet_fault_set(&fault, a->err ? a->err : WET_ERR_REFUSED, live ? live->name : "", NULL, "%s", a->text);
		reply_fault(p, &fault);
		return;
	}
	json_t *snapshot = live ? wet_run_snapshot(p->methods->darkroom, live) : json_null();
	reply_result(p, json_pack("{s:b, s:b, s:s, s:o}", "done", a->kind == WET_ANSWER_DO, "stored", is_stored,
							  "text", a->text, "run", snapshot));
}

static bool common_params(struct wet_call *c, struct wet_event *event)
{
	int64_t number = -1;
	bool held = false;
	if (!want_int(c, "number", 0, INT64_MAX / 2, &number) || !want_bool(c, "held", &held) ||
		!want_text(c, "token", false, event->token, sizeof event->token))
		return false;
	event->number = number;
	if (held)
		event->flags |= WET_EVENT_HELD;
	event->uid = c->uid;
	return true;
}

static void act(struct wet_call *c, struct wet_live *live, struct wet_event *event)
{
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_act(room(c), live, event, acted, p);
}

void serve_act(struct wet_call *c, int kind)
{
	struct wet_live *live;
	struct wet_event event = { .kind = kind, .bath = -1, .number = -1 };
	char name[WET_NAME_BYTES];
	if (kind == WET_ACT_JOIN && !want_text(c, "run", true, name, sizeof name))
		return; /* washes are named */
	if (!find_run(c, &live) || !common_params(c, &event))
		return;
	if (kind != WET_ACT_WHERE && !may_control(c, live))
		return;
	if (kind == WET_ACT_JOIN && !want_int(c, "pieces", 1, WET_PIECES, &event.a_ns))
		return;
	if (kind == WET_ACT_LONGER) {
		char by[32] = "15 s";
		struct wet_fault fault = { 0 };
		if (!want_text(c, "by", false, by, sizeof by))
			return;
		if (wet_parse_duration(by, &event.a_ns, &fault) != 0) {
			wet_fault_prefix(&fault, "by");
			call_fault(c, &fault);
			return;
		}
	}
	act(c, live, &event);
}

void serve_act_begin(struct wet_call *c)
{
	struct wet_live *live;
	struct wet_event event = { .kind = WET_ACT_BEGIN, .bath = -1, .number = -1 };
	int64_t heard = INT64_MIN;
	bool unheard = false;
	struct wet_fault fault = { 0 };
	if (!find_run(c, &live) || !may_control(c, live) || !common_params(c, &event) ||
		!want_int(c, "heard", 0, 99, &heard) || !want_bool(c, "unheard", &unheard))
		return;
	if (heard != INT64_MIN || unheard) {
		bool is_open = live->digit > 0;
		if (wet_darkroom_heard(room(c), live, unheard ? -1 : (int)heard, &fault) != 0) {
			call_fault(c, &fault);
			return;
		}
		if (is_open)
			checklist_heard(c, live, unheard);
	}
	act(c, live, &event);
}

static int find_bath(const struct wet_live *live, const char *name)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	for (int i = 0; i < r->bath_count; i++)
		if (strcmp(r->baths[i].key, name) == 0 || strcmp(r->baths[i].name, name) == 0)
			return i;
	return -1;
}

/* The live bath, or the next; -1: there is none. */
static int near_bath(struct wet_call *c, const struct wet_live *live)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	const struct wet_ports *ports = wet_darkroom_ports(room(c));
	struct wet_view v;
	int bath = -1;
	wet_run_view(&live->run, ports->now_ns(ports->ctx), &v);
	for (int i = v.stage < 0 ? 0 : v.stage; i < r->stage_count && bath < 0; i++)
		bath = r->stages[i].bath;
	return bath;
}

static void refuse_bath(struct wet_call *c, const struct wet_live *live, const char *found)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	struct wet_fault fault = { 0 };
	char known[160] = "";
	for (int i = 0; i < r->bath_count; i++)
		wet_text_append(known, sizeof known, "%s%s", i ? ", " : "", r->baths[i].key);
	wet_fault_set(&fault, WET_ERR_NOT_FOUND, "bath", found, "one of: %s", known);
	call_fault(c, &fault);
}

void serve_reading(struct wet_call *c)
{
	struct wet_live *live;
	struct wet_event event = { .kind = WET_ACT_READING, .bath = -1, .number = -1 };
	char text[32], bath[WET_NAME_BYTES] = "", when[16] = "";
	bool is_room = false;
	struct wet_fault fault = { 0 };
	if (!find_run(c, &live) || !may_control(c, live) || !common_params(c, &event) ||
		!want_text(c, "temperature", true, text, sizeof text) ||
		!want_text(c, "bath", false, bath, sizeof bath) || !want_text(c, "when", false, when, sizeof when) ||
		!want_bool(c, "room", &is_room))
		return;
	struct wet_quantity typed;
	if (wet_parse_quantity(text, WET_QUANTITY_TEMPERATURE, &typed, &fault) != 0) {
		wet_fault_prefix(&fault, "temperature");
		call_fault(c, &fault);
		return;
	}
	event.temperature_mc = (int32_t)typed.value;
	if (typed.unit == WET_UNIT_F)
		event.flags |= WET_EVENT_FAHRENHEIT;
	if (strcmp(when, "before") == 0)
		event.flags |= WET_EVENT_BEFORE;
	else if (strcmp(when, "after") == 0)
		event.flags |= WET_EVENT_AFTER;
	else if (when[0]) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "when", when, "before or after");
		call_fault(c, &fault);
		return;
	}
	if (is_room) {
		event.flags |= WET_EVENT_ROOM;
	} else if (bath[0]) {
		event.bath = find_bath(live, bath);
	} else {
		event.bath = near_bath(c, live);
	}
	if (!is_room && event.bath < 0) {
		refuse_bath(c, live, bath);
		return;
	}
	act(c, live, &event);
}

#define STEP_MC 500
#define STEP_LOW_MC 0
#define STEP_HIGH_MC 60000

/* Where stepping begins: what the bath is believed to be, else 20 C, which most recipes are written for; to the half degree. */
static int32_t step_start_mc(const struct wet_live *live, int bath, int64_t now_ns)
{
	struct wet_view v;
	int32_t mc = live->run.before_mc[bath];
	wet_run_view(&live->run, now_ns, &v);
	if (v.stage >= 0 && live->run.setup.recipe->stages[v.stage].bath == bath && v.temperature_mc != INT32_MIN)
		mc = v.temperature_mc;
	if (mc == INT32_MIN)
		mc = 20000;
	if (mc < STEP_LOW_MC)
		mc = STEP_LOW_MC;
	return mc > STEP_HIGH_MC ? STEP_HIGH_MC : (mc + STEP_MC / 2) / STEP_MC * STEP_MC;
}

/* For hands that can't type: each step is spoken, and only run.reading makes it one. Nothing of it is kept here. */
void serve_reading_step(struct wet_call *c)
{
	struct wet_live *live;
	struct wet_fault fault = { 0 };
	char name[WET_NAME_BYTES] = "", text[WET_LINE_BYTES], value[24];
	int64_t step = 0;
	int32_t mc = INT32_MIN;
	const struct wet_ports *ports = wet_darkroom_ports(room(c));
	if (!find_run(c, &live) || !may_control(c, live) || !want_text(c, "bath", false, name, sizeof name) ||
		!want_int(c, "step", -1, 1, &step) || !want_temperature(c, "from", false, &mc))
		return;
	int bath = name[0] ? find_bath(live, name) : near_bath(c, live);
	if (bath < 0) {
		refuse_bath(c, live, name);
		wet_live_tell(room(c), live, "refused", WET_TONE_REFUSED, 1, "No bath to read.");
		return;
	}
	mc = mc == INT32_MIN ? step_start_mc(live, bath, ports->now_ns(ports->ctx)) : mc + (int32_t)step * STEP_MC;
	if (mc < STEP_LOW_MC || mc > STEP_HIGH_MC) {
		wet_live_tell(room(c), live, "refused", WET_TONE_REFUSED, 1, "No further.");
		wet_fault_set(&fault, WET_ERR_RANGE, "step", NULL, "from 0 C to 60 C");
		call_fault(c, &fault);
		return;
	}
	wet_print_temperature(mc, value, sizeof value);
	const struct wet_bath *b = &live->run.setup.recipe->baths[bath];
	wet_text_format(text, sizeof text, "%s, %s?", b->name, value);
	wet_live_tell(room(c), live, "answer", WET_TONE_ANSWER, 1, text);
	call_result(c, json_pack("{s:s, s:s, s:s}", "bath", b->key, "temperature", value, "text", text));
}

void serve_refuse(struct wet_call *c)
{
	struct wet_live *live;
	if (!find_run(c, &live) || !may_control(c, live))
		return;
	wet_live_tell(room(c), live, "refused", WET_TONE_REFUSED, 1, "That key does nothing here.");
	call_result(c, json_pack("{s:b}", "done", 0));
}

void serve_stages(struct wet_call *c)
{
	struct wet_live *live;
	if (find_run(c, &live))
		call_result(c, json_pack("{s:s, s:o}", "run", live->name, "stages", wet_run_stages(live)));
}

void serve_emergency(struct wet_call *c)
{
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_emergency(room(c), c->uid, acted, p);
}

/* -- arming ---------------------------------------------------------------------- */

static void armed(void *ctx, const struct wet_armed *a, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK) {
		reply_fault(p, fault);
		return;
	}
	json_t *snapshot = wet_run_snapshot(p->methods->darkroom, a->live);
	if (a->live->run.setup.is_rehearsal) {
		/* A rehearsal begins by itself: nothing is at stake. */
		struct wet_event event = { .kind = WET_ACT_BEGIN, .bath = -1, .number = -1 };
		struct pending *again = malloc(sizeof *again);
		json_decref(snapshot);
		if (!again) {
			reply_result(p, NULL);
			return;
		}
		*again = *p;
		free(p);
		wet_darkroom_act(again->methods->darkroom, a->live, &event, acted, again);
		return;
	}
	json_t *lines = wet_checklist(p->methods->safety), *caution;
	json_t *meets = wet_recipe_meets(a->live->run.setup.recipe, p->methods->formulary, p->methods->safety, a->is_stale_air);
	size_t at;
	json_array_foreach(meets, at, caution) (void)json_array_append(lines, json_object_get(caution, "text"));
	reply_result(p, json_pack("{s:o, s:s, s:o, s:o, s:b}", "run", snapshot, "told", a->told, "checklist", lines, "meets",
							  meets, "sound_check", a->live->digit > 0));
}

bool want_arming(struct wet_call *c, struct wet_arming *a)
{
	int64_t pieces = 1;
	struct wet_fault fault = { 0 };
	*a = (struct wet_arming){
		.fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN, .uid = c->uid
	};
	bool has_plan = json_object_get(c->params, "plan") != NULL;
	if (has_plan && (json_object_get(c->params, "recipe") || json_object_get(c->params, "pieces") ||
					 json_object_get(c->params, "vessel"))) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "plan", NULL, "a plan alone: it says recipe, vessel and pieces");
		call_fault(c, &fault);
		return false;
	}
	if (!want_text(c, "plan", false, a->plan_name, sizeof a->plan_name) ||
		!want_text(c, "recipe", !has_plan, a->recipe_name, sizeof a->recipe_name) ||
		!want_name(c, "run", a->run_name, sizeof a->run_name) ||
		!want_name(c, "vessel", a->vessel_name, sizeof a->vessel_name) ||
		!want_name(c, "washer", a->washer_name, sizeof a->washer_name) ||
		!want_name(c, "room", a->room, sizeof a->room) || !want_person(c, a->person, sizeof a->person) ||
		!want_int(c, "pieces", 1, WET_PIECES, &pieces) || !want_duration(c, "fill", &a->fill_ns) ||
		!want_duration(c, "drain", &a->drain_ns) || !want_duration(c, "stagger", &a->stagger_ns) ||
		!want_duration(c, "cooling", &a->tau_ns) || !want_bool(c, "no_beat", &a->no_beat) ||
		!want_bool(c, "group", &a->group_controls) || !want_bool(c, "stale_air", &a->is_stale_air) ||
		!want_bool(c, "number_later", &a->is_number_later) ||
		!want_temperature(c, "room_temperature", false, &a->room_mc))
		return false;
	a->pieces = (int)pieces;
	return true;
}

void arm_and_reply(struct wet_call *c, const struct wet_arming *a)
{
	struct wet_fault fault = { 0 };
	if (!wet_shelf_find(wet_darkroom_shelf(room(c)), a->recipe_name) &&
		wet_formulary_find(c->methods->formulary, a->recipe_name)) {
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, "recipe", a->recipe_name,
					  "a recipe; this is a formula, it is mixed with: wetside formula %s --guide", a->recipe_name);
		call_fault(c, &fault);
		return;
	}
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_arm(room(c), a, armed, p);
}

void serve_arm(struct wet_call *c)
{
	struct wet_arming a;
	if (json_is_true(json_object_get(c->params, "from_cameras")) || json_is_array(json_object_get(c->params, "unload")))
		serve_arm_from_cameras(c);
	else if (want_arming(c, &a))
		arm_and_reply(c, &a);
}

/* "rate": "20" for all, "rates": {"develop": "2"} by kind of stage. */
static bool rates_params(struct wet_call *c, struct wet_arming *a)
{
	char text[24] = "20";
	uint32_t rate;
	struct wet_fault fault = { 0 };
	if (!want_text(c, "rate", false, text, sizeof text))
		return false;
	if (wet_parse_rate(text, &rate, &fault) != 0) {
		wet_fault_prefix(&fault, "rate");
		call_fault(c, &fault);
		return false;
	}
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		a->rate_milli[i] = rate;
	const char *key;
	json_t *value, *rates = json_object_get(c->params, "rates");
	if (rates && !json_is_object(rates)) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "rates", NULL, "an object, as in {\"develop\": \"2\"}");
		call_fault(c, &fault);
		return false;
	}
	json_object_foreach(rates, key, value)
	{
		enum wet_stage_kind kind;
		if (wet_stage_kind_from_word(key, &kind) != 0)
			wet_fault_set(&fault, WET_ERR_PARAMS, "rates", key,
						  "kinds of stages: handling, develop, rinse, stop, fix, second-fix, ...");
		else if (!json_is_string(value) || wet_parse_rate(json_string_value(value), &rate, &fault) != 0)
			wet_fault_set(&fault, WET_ERR_PARAMS, key, NULL, "how many times faster, as in \"2\"");
		if (fault.err != WET_OK) {
			call_fault(c, &fault);
			return false;
		}
		a->rate_milli[kind] = rate;
	}
	return true;
}

/* A formula by the name that is told as the recipe's, where no recipe has it: its mixing is rehearsed. */
static bool mixing_params(struct wet_call *c, struct wet_arming *a)
{
	struct wet_fault fault = { 0 };
	const struct wet_formulary_item *item = wet_formulary_find(c->methods->formulary, a->recipe_name);
	if (item && !wet_shelf_find(wet_darkroom_shelf(room(c)), a->recipe_name)) {
		if (!a->is_wet)
			return want_mixing(c, &item->formula, a);
		wet_fault_set(&fault, WET_ERR_PARAMS, "wet", NULL, "a recipe: mixing has no vessel to measure");
	} else if (json_object_get(c->params, "make") || json_object_get(c->params, "own") ||
			   json_object_get(c->params, "scale") || json_object_get(c->params, "measure")) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "recipe", a->recipe_name, "a formula, with make, own, scale or measure");
	} else {
		return true;
	}
	call_fault(c, &fault);
	return false;
}

void serve_rehearse(struct wet_call *c)
{
	struct wet_arming a;
	if (!want_arming(c, &a) || !rates_params(c, &a) || !want_bool(c, "mine", &a.is_mine) ||
		!want_bool(c, "wet", &a.is_wet) || !mixing_params(c, &a))
		return;
	if (a.is_wet && !a.vessel_name[0]) {
		struct wet_fault fault = { 0 };
		wet_fault_set(&fault, WET_ERR_PARAMS, "vessel", NULL, "a name for the vessel that is measured");
		call_fault(c, &fault);
		return;
	}
	a.is_rehearsal = true;
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_arm(room(c), &a, armed, p);
}
