/* wash.c: the plan of a wash, a wash alone as a run, and pieces that join one. */
#include "methods/inside.h"

#include "base/text.h"
#include "darkroom/wash.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

/* "fibre-double", pieces and size or an area, water's temperature, the volume of a fill, aid. */
struct asked {
	struct wet_wash_ask ask;
	int64_t pieces;
	bool by_changes;
};

static bool want_area(struct wet_call *c, struct asked *a)
{
	char area[48] = "";
	int64_t width_um = 0, height_um = 0;
	struct wet_fault fault = { 0 };
	if (!want_text(c, "area", false, area, sizeof area) || !want_size(c, "size", &width_um, &height_um) ||
		!want_int(c, "pieces", 1, WET_PIECES, &a->pieces))
		return false;
	if ((!area[0]) == (width_um == 0)) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "size", NULL,
					  "the size of a piece, as in 9x12cm, with how many; or an area, as in 650 cm2");
		call_fault(c, &fault);
		return false;
	}
	if (area[0])
		return wet_parse_area(area, &a->ask.area_mm2, &fault) == 0 ? true : call_fault_at(c, "area", &fault);
	a->ask.area_mm2 = (a->pieces * width_um * height_um + 500000) / 1000000;
	return true;
}

static bool want_ask(struct wet_call *c, struct asked *ret_asked)
{
	struct asked a = { .pieces = 1, .ask = { .temperature_mc = 20000 } };
	char base[48] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, "base", true, base, sizeof base) ||
		!want_temperature(c, "water", false, &a.ask.temperature_mc) ||
		!want_volume(c, "fill_of", false, &a.ask.water_ul) || !want_bool(c, "aid", &a.ask.is_aided) ||
		!want_bool(c, "fill_and_dump", &a.by_changes) || !want_area(c, &a))
		return false;
	int rc = wet_wash_base_from_key(base, &a.ask.base, &fault);
	if (rc != 0) {
		call_fault(c, &fault);
		return false;
	}
	if (json_object_get(c->params, "fill_of") && a.ask.water_ul <= 0) {
		wet_fault_set(&fault, WET_ERR_RANGE, "fill_of", NULL, "a volume over nothing, as in 5L");
		call_fault(c, &fault);
		return false;
	}
	*ret_asked = a;
	return true;
}

/* -- in words ----------------------------------------------------------------------- */

static void say_aid(const struct asked *a, const struct wet_wash_plan *p, char *buf, size_t n)
{
	char time[32];
	if (p->aid_is_idle)
		wet_text_append(buf, n, "Resin-coated paper needs no washing aid: left out.\n");
	else if (p->aid_ns > 0)
		wet_text_append(
			buf, n,
			"Washing aid first: %s. It is sulfite: with any acid it gives sulfur dioxide; with asthma or a "
			"sulfite allergy don't work alone. Its safety data sheet outranks this.\n",
			wet_print_duration(p->aid_ns, time, sizeof time));
	else if (!a->ask.is_aided && a->ask.base != WET_BASE_RC)
		wet_text_append(buf, n, "Without washing aid; with it (--aid) the wash is shorter.\n");
}

/* Nobody measures wash water finer than this. */
static int64_t round_up(int64_t volume_ul)
{
	return (volume_ul + 9999) / 10000 * 10000;
}

static int plan_wash(const struct wet_wash_ask *ask, struct wet_wash_plan *ret_plan, struct wet_fault *reterr)
{
	struct wet_wash_ask round = *ask;
	int rc = wet_wash_plan(ask, ret_plan, reterr);
	if (rc != 0 || ask->water_ul != 0)
		return rc;
	round.water_ul = round_up(ret_plan->least_water_ul);
	return wet_wash_plan(&round, ret_plan, reterr);
}

static void say_changes(const struct wet_wash_plan *p, char *buf, size_t n)
{
	char first[32], each[32], fill[32], least[32], all[32], time[32];
	wet_text_append(buf, n, "By changes: %d fills of %s", p->changes,
					wet_print_volume(p->water_ul, fill, sizeof fill));
	if (round_up(p->least_water_ul) < p->water_ul)
		wet_text_append(buf, n, " (%s would do, if it covers every piece)",
						wet_print_volume(round_up(p->least_water_ul), least, sizeof least));
	else
		wet_text_append(buf, n, ", or as much more as covers every piece");
	wet_text_append(buf, n, ", %s of water in all; ", wet_print_volume(p->total_water_ul, all, sizeof all));
	if (p->changes > 1)
		wet_text_append(buf, n, "the first stands %s, each other %s: %s.\n",
						wet_print_duration(p->change_ns[0], first, sizeof first),
						wet_print_duration(p->change_ns[1] / 1000000000 * 1000000000, each, sizeof each),
						wet_print_duration(p->standing_ns, time, sizeof time));
	else
		wet_text_append(buf, n, "it stands %s.\n", wet_print_duration(p->change_ns[0], first, sizeof first));
	wet_text_append(buf, n,
					"By the model %.2f %% of the thiosulfate is left then: a test of residual thiosulfate "
					"tells, not this model.\n",
					p->left_ppm / 10000.0);
}

static void say_plan(const struct asked *a, const struct wet_wash_plan *p, char *buf, size_t n)
{
	char water[24], time[32];
	wet_print_temperature(a->ask.temperature_mc, water, sizeof water);
	wet_text_format(buf, n, "Wash: %s, %g cm2 a side, in water of %s.\n", wet_base_word(a->ask.base),
					(double)a->ask.area_mm2 / 100.0, water);
	if (p->is_too_cold)
		wet_text_append(buf, n,
						"Below 10 C fixer does not come out well in any time given here: warm the water.\n");
	else if (p->slower > 1.0)
		wet_text_append(buf, n, "So cold it takes %.2g times as long.\n", p->slower);
	say_aid(a, p, buf, n);
	wet_text_append(buf, n, "Running water: %s.\n", wet_print_duration(p->running_ns, time, sizeof time));
	say_changes(p, buf, n);
}

static json_t *plan_json(const struct wet_wash_plan *p, const char *text)
{
	json_t *stands = json_array();
	for (int i = 0; stands && i < p->changes; i++)
		(void)json_array_append_new(stands, json_integer((json_int_t)(p->change_ns[i] / 1000)));
	return json_pack("{s:I, s:I, s:i, s:o, s:I, s:I, s:I, s:I, s:i, s:f, s:b, s:b, s:s}", "aid_us",
					 (json_int_t)(p->aid_ns / 1000), "running_us", (json_int_t)(p->running_ns / 1000),
					 "changes", p->changes, "change_us", stands, "standing_us",
					 (json_int_t)(p->standing_ns / 1000), "water_ul", (json_int_t)p->water_ul,
					 "least_water_ul", (json_int_t)p->least_water_ul, "total_water_ul",
					 (json_int_t)p->total_water_ul, "left_ppm", (int)p->left_ppm, "slower", p->slower,
					 "is_too_cold", p->is_too_cold, "aid_is_idle", p->aid_is_idle, "text", text);
}

void serve_wash_compute(struct wet_call *c)
{
	struct asked a;
	struct wet_wash_plan p;
	struct wet_fault fault = { 0 };
	char text[1024];
	if (!want_ask(c, &a))
		return;
	if (plan_wash(&a.ask, &p, &fault) != 0) {
		call_fault(c, &fault);
		return;
	}
	say_plan(&a, &p, text, sizeof text);
	call_result(c, plan_json(&p, text));
}

/* -- as a run ------------------------------------------------------------------------- */

struct beginning {
	struct pending *pending;
	const char *key; /* static */
	json_t *more;
	char told[512];
};

static void run_begun(void *ctx, struct wet_live *live, const struct wet_answer *a, bool is_stored)
{
	struct beginning *b = ctx;
	struct pending *p = b->pending;
	json_t *result = json_pack("{s:b, s:b, s:s, s:s, s:o, s:o}", "done", a->kind == WET_ANSWER_DO, "stored",
							   is_stored, "text", a->text, "told", b->told, b->key, b->more, "run",
							   live ? wet_run_snapshot(p->methods->darkroom, live) : json_null());
	free(b);
	reply_result(p, result);
}

/* No paper is open and nothing is timed yet: it begins by itself, and waits for the go. */
static void run_armed(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	struct beginning *b = ctx;
	if (fault->err != WET_OK) {
		struct pending *p = b->pending;
		json_decref(b->more);
		free(b);
		reply_fault(p, fault);
		return;
	}
	wet_text_copy(b->told, sizeof b->told, armed->told);
	struct wet_event event = {
		.kind = WET_ACT_BEGIN, .bath = -1, .number = -1, .uid = armed->live->owner_uid
	};
	wet_darkroom_act(b->pending->methods->darkroom, armed->live, &event, run_begun, b);
}

void arm_and_begin(struct wet_call *c, const struct wet_arming *arming, const char *key, json_t *more)
{
	struct beginning *b = malloc(sizeof *b);
	struct pending *p = b && more ? hold_reply(c) : NULL;
	if (!p) {
		if (!b || !more)
			call_result(c, NULL);
		json_decref(more);
		free(b);
		return;
	}
	*b = (struct beginning){ .pending = p, .key = key, .more = more };
	wet_darkroom_arm(c->methods->darkroom, arming, run_armed, b);
}

void serve_wash(struct wet_call *c)
{
	struct asked a;
	struct wet_wash_plan plan;
	struct wet_fault fault = { 0 };
	char text[1024];
	struct wet_arming arming = {
		.fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN, .is_wash = true, .uid = c->uid
	};
	if (!want_ask(c, &a) || !want_text(c, "run", false, arming.run_name, sizeof arming.run_name) ||
		!want_text(c, "washer", false, arming.washer_name, sizeof arming.washer_name) ||
		!want_text(c, "room", false, arming.room, sizeof arming.room) ||
		!want_person(c, arming.person, sizeof arming.person) ||
		!want_bool(c, "group", &arming.group_controls))
		return;
	if (plan_wash(&a.ask, &plan, &fault) != 0) {
		call_fault(c, &fault);
		return;
	}
	arming.pieces = (int)a.pieces;
	wet_washing_of(&a.ask, &plan, a.by_changes, &arming.wash);
	say_plan(&a, &plan, text, sizeof text);
	arm_and_begin(c, &arming, "plan", plan_json(&plan, text));
}
