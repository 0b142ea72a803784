/* screens.c: what the fog test of a screen told. Kept as entries under the screen's name, the last one holds. */
#include "methods/inside.h"

#include "base/text.h"
#include "darkroom/entries.h"
#include "wetside/quantity.h"
#include "wire/json_text.h"

#include <stdlib.h>
#include <string.h>

#define KIND "screen-test"

static json_t *told(const struct wet_entry *e)
{
	char distance[32];
	json_t *body = json_loads(e->body, JSON_REJECT_DUPLICATES, NULL);
	json_int_t um = json_integer_value(json_object_get(body, "distance_um"));
	bool is_passed = json_is_true(json_object_get(body, "is_passed"));
	wet_print_length(um, distance, sizeof distance);
	json_t *row = json_pack("{s:s, s:b, s:s, s:I, s:I, s:s}", "name", e->name, "is_passed", is_passed, "distance", distance,
							"distance_um", um, "wall_ms", (json_int_t)e->wall_ms, "person", e->person);
	json_decref(body);
	return row;
}

static void judged(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK)
		reply_fault(p, fault);
	else
		reply_result(p, told(&entries->list[0]));
}

void serve_screen_judge(struct wet_call *c)
{
	struct wet_entry e = { .kind = KIND, .uid = c->uid };
	const int follows = WET_ENTRY_WHATEVER;
	char distance[32] = "";
	int64_t um = 0;
	bool is_passed = false;
	struct wet_fault fault = { 0 };
	if (!want_text(c, "name", true, e.name, sizeof e.name) || !want_name(c, "name", e.name, sizeof e.name) ||
		!want_text(c, "distance", true, distance, sizeof distance) || !want_bool(c, "passed", &is_passed) ||
		!want_person(c, e.person, sizeof e.person) || !want_text(c, "token", false, e.token, sizeof e.token))
		return;
	if (wet_parse_length(distance, &um, &fault) != 0) {
		(void)call_fault_at(c, "distance", &fault);
		return;
	}
	if (!e.name[0] || um <= 0 || !json_object_get(c->params, "passed")) {
		wet_fault_set(&fault, WET_ERR_PARAMS, !e.name[0] ? "name" : um <= 0 ? "distance" : "passed", NULL, "%s",
					  !e.name[0] ? "what you call the screen"
					  : um <= 0  ? "how near it stood, as in 60 cm"
								 : "true: all quarters are one black; false: one is greyed");
		call_fault(c, &fault);
		return;
	}
	wet_text_format(e.body, sizeof e.body, "{\"distance_um\":%lld,\"is_passed\":%s}", (long long)um,
					is_passed ? "true" : "false");
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_put_entries(c->methods->darkroom, &e, &follows, 1, judged, p);
}

static void listed(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK) {
		reply_fault(p, fault);
		return;
	}
	json_t *list = json_array();
	for (int i = 0; i < entries->count; i++)
		(void)json_array_append_new(list, told(&entries->list[i]));
	reply_result(p, json_pack("{s:o, s:I}", "screens", list, "next",
							  entries->has_more ? (json_int_t)entries->list[entries->count - 1].id : (json_int_t)0));
}

void serve_screen_list(struct wet_call *c)
{
	struct wet_entry_query query = { .kind = KIND, .limit = WET_PAGE };
	if (!want_text(c, "name", false, query.name, sizeof query.name) || !want_int(c, "after", 0, INT64_MAX, &query.after_id))
		return;
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_get_entries(c->methods->darkroom, &query, listed, p);
}
