/* checklist.c: what is gone through before the light goes out, asked and answered. The items are the data's
 * (safety/practice.json); how each is answered, and what else is known of it, is added here. */
#include "methods/caution.h"
#include "methods/inside.h"

#include "base/text.h"
#include "darkroom/checklist.h"
#include "shelf/safety.h"
#include "shelf/shelf.h"
#include "wetside/practice.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define SOUND_KEY "sound"
#define SPREAD_MC 3000 /* as the item says: common practice, no source */

/* What answers an item, where a press of the hand alone does not. */
static const char *how_of(const char *key)
{
	static const struct {
		const char *key, *how;
	} rows[] = { { SOUND_KEY, "number" }, { "temperatures", "readings" }, { "emergency-key", "emergency" }, { "stage", "baths" } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		if (strcmp(rows[i].key, key) == 0)
			return rows[i].how;
	return "press";
}

/* Everything is lit, or nobody could hear it: then these are not asked. */
static bool is_asked(const struct wet_live *live, const struct wet_practice_rule *rule)
{
	bool is_lit = wet_recipe_light(live->run.setup.recipe, 0) == WET_LIGHT_WHITE;
	return rule->checklist[0] && !(is_lit && strcmp(rule->key, "screen") == 0);
}

struct listing {
	struct pending *pending;
	char run[WET_NAME_BYTES], person[WET_NAME_BYTES];
	int64_t run_id, number; /* repeat: the number that was heard; -1: only listed */
	uint32_t uid;
};

static struct wet_live *live_of(const struct listing *l)
{
	struct wet_live *live = wet_darkroom_find(l->pending->methods->darkroom, l->run);
	return live && live->id == l->run_id ? live : NULL;
}

static const struct wet_practice *practice_of(const struct listing *l)
{
	return &l->pending->methods->safety->practice;
}

static int64_t wall_of(const struct listing *l)
{
	const struct wet_ports *ports = wet_darkroom_ports(l->pending->methods->darkroom);
	return ports->wall_ms(ports->ctx);
}

/* Was every item of the list confirmed for the run before, and none longer ago than a working day? */
static bool may_repeat(const struct listing *l, const struct wet_live *live, const struct wet_checklist *list)
{
	const struct wet_practice *p = practice_of(l);
	bool may = list->before_id > 0;
	for (int i = 0; i < p->count && may; i++)
		if (is_asked(live, &p->rules[i]))
			may = wet_check_stands(wet_answer_to(&list->before, p->rules[i].key), wall_of(l));
	return may;
}

static json_t *items_json(const struct listing *l, const struct wet_live *live, const struct wet_checklist *list)
{
	const struct wet_practice *p = practice_of(l);
	json_t *items = json_array();
	int rules[WET_PRACTICE_RULES];
	for (int i = 0, n = wet_practice_asked(p, rules); i < n; i++) {
		const struct wet_practice_rule *rule = &p->rules[rules[i]];
		const struct wet_check *answer = wet_answer_to(&list->now, rule->key);
		if (!is_asked(live, rule))
			continue;
		/* The number is asked for again by another daemon, whatever was answered to the one before. */
		bool is_open = strcmp(rule->key, SOUND_KEY) == 0 && live->digit > 0;
		(void)json_array_append_new(
			items, json_pack("{s:s, s:s, s:s, s:b, s:s, s:s}", "key", rule->key, "text", rule->checklist, "how",
							 how_of(rule->key), "is_each_load", rule->is_each_load, "answer",
							 answer && !is_open ? wet_check_answer_word(answer->answer) : "", "more", rule->text));
	}
	return items;
}

static json_t *baths_json(const struct wet_live *live, const struct wet_checklist *list)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	json_t *baths = json_array();
	for (int i = 0; i < r->bath_count; i++) {
		char at[24] = "";
		if (live->run.before_mc[i] != INT32_MIN)
			wet_print_temperature(live->run.before_mc[i], at, sizeof at);
		(void)json_array_append_new(baths, json_pack("{s:s, s:s, s:s, s:b, s:s, s:s}", "key", r->baths[i].key, "name",
													 r->baths[i].name, "place", r->baths[i].place, "is_water",
													 r->baths[i].is_water, "temperature", at, "shelf", list->baths[i]));
	}
	return baths;
}

/* How far the baths that were read are apart; empty: fewer than two were. */
static bool tell_spread(const struct wet_live *live, char *buf, unsigned buf_bytes)
{
	const struct wet_recipe *r = live->run.setup.recipe;
	int low = -1, high = -1, count = 0;
	const int32_t *mc = live->run.before_mc;
	for (int i = 0; i < r->bath_count; i++) {
		if (mc[i] == INT32_MIN)
			continue;
		count++;
		low = low < 0 || mc[i] < mc[low] ? i : low;
		high = high < 0 || mc[i] > mc[high] ? i : high;
	}
	buf[0] = '\0';
	if (count < 2)
		return false;
	int64_t apart_mc = (int64_t)mc[high] - mc[low];
	char cold[24], warm[24];
	wet_print_temperature(mc[low], cold, sizeof cold);
	wet_print_temperature(mc[high], warm, sizeof warm);
	if (apart_mc == 0)
		wet_text_format(buf, buf_bytes, "All that were read are at %s.", cold);
	else
		wet_text_format(buf, buf_bytes, "From %s (%s) to %s (%s): %s.", cold, r->baths[low].name, warm, r->baths[high].name,
					apart_mc > SPREAD_MC ? "more than 3 C apart; temper the baths, or go on as it is"
										 : "within 3 C of each other");
	return apart_mc > SPREAD_MC;
}

static json_t *repeat_json(const struct listing *l, const struct wet_live *live, const struct wet_checklist *list)
{
	const struct wet_practice *p = practice_of(l);
	json_t *stands = json_array(), *anew = json_array();
	int rules[WET_PRACTICE_RULES];
	for (int i = 0, n = wet_practice_asked(p, rules); i < n; i++) {
		const struct wet_practice_rule *rule = &p->rules[rules[i]];
		if (is_asked(live, rule) && strcmp(rule->key, SOUND_KEY) != 0)
			(void)json_array_append_new(rule->is_each_load ? anew : stands, json_string(rule->checklist));
	}
	return json_pack("{s:I, s:I, s:o, s:o}", "run", (json_int_t)list->before_id, "armed_wall_ms",
					 (json_int_t)list->before_wall_ms, "stands", stands, "anew", anew);
}

static void told(void *ctx, const struct wet_checklist *list, const struct wet_fault *fault)
{
	struct listing *l = ctx;
	struct wet_fault gone = { 0 };
	struct wet_live *live = live_of(l);
	char spread[WET_LINE_BYTES];
	if (fault->err == WET_OK && !live)
		wet_fault_set(&gone, WET_ERR_NOT_FOUND, "run", l->run, "a run that is still there");
	if (fault->err != WET_OK || !live) {
		reply_fault(l->pending, fault->err != WET_OK ? fault : &gone);
		free(l);
		return;
	}
	bool is_wide = tell_spread(live, spread, sizeof spread);
	json_t *repeat = may_repeat(l, live, list) ? repeat_json(l, live, list) : json_null();
	json_t *run = wet_run_snapshot(l->pending->methods->darkroom, live);
	json_t *meets = wet_recipe_meets(live->run.setup.recipe, l->pending->methods->formulary, l->pending->methods->safety, false);
	reply_result(l->pending,
				 json_pack("{s:o, s:b, s:s, s:o, s:o, s:s, s:b, s:o, s:o}", "run", run, "sound_check", live->digit > 0, "light",
						   wet_light_kind_word(wet_recipe_light(live->run.setup.recipe, 0)), "items",
						   items_json(l, live, list), "baths", baths_json(live, list), "spread", spread, "is_wide", is_wide,
						   "repeat", repeat, "meets", meets));
	free(l);
}

/* The list of a run that has not begun; NULL: answered. */
static struct listing *listing_of(struct wet_call *c, struct wet_live **ret_live)
{
	struct wet_fault fault = { 0 };
	if (!find_run(c, ret_live) || !may_control(c, *ret_live))
		return NULL;
	if ((*ret_live)->run.pos.base != WET_PHASE_READY || (*ret_live)->run.outcome != 0) {
		wet_fault_set(&fault, WET_ERR_REFUSED, "run", (*ret_live)->name,
					  "The run has begun already; its list is closed: wetside record shows what was answered.");
		call_fault(c, &fault);
		return NULL;
	}
	struct listing *l = calloc(1, sizeof *l);
	if (!l) {
		call_result(c, NULL);
		return NULL;
	}
	wet_text_copy(l->run, sizeof l->run, (*ret_live)->name);
	wet_text_copy(l->person, sizeof l->person, (*ret_live)->person);
	l->run_id = (*ret_live)->id;
	l->number = -1;
	l->uid = c->uid;
	return l;
}

/* The request's person, where one is given; then the reply is held. False: answered, and the listing freed. */
static bool hold(struct wet_call *c, struct listing *l)
{
	if ((!json_object_get(c->params, "person") || want_name(c, "person", l->person, sizeof l->person)) &&
		(l->pending = hold_reply(c)))
		return true;
	free(l);
	return false;
}

void serve_checklist_get(struct wet_call *c)
{
	struct wet_live *live;
	struct listing *l = listing_of(c, &live);
	if (l && hold(c, l))
		wet_darkroom_checklist(c->methods->darkroom, live, told, l);
}

static void put_item(struct wet_check *check, const struct wet_practice_rule *rule, enum wet_check_answer answer)
{
	*check = (struct wet_check){ .answer = answer };
	wet_text_copy(check->key, sizeof check->key, rule->key);
	wet_text_copy(check->text, sizeof check->text, rule->checklist);
}

/* What an option answers: all that a hand's press would, and no number that nobody named. */
static int assume(const struct wet_practice *p, const struct wet_live *live, struct wet_check *checks)
{
	int count = 0, rules[WET_PRACTICE_RULES];
	for (int i = 0, n = wet_practice_asked(p, rules); i < n && count < WET_CHECK_ITEMS; i++)
		if (is_asked(live, &p->rules[rules[i]]) && strcmp(p->rules[rules[i]].key, SOUND_KEY) != 0)
			put_item(&checks[count++], &p->rules[rules[i]], WET_CHECK_ASSUMED);
	return count;
}

/* The item of this key, answered; the number of the sound check is heard first. 0: refused, with the fault. */
static int answer_one(struct wet_call *c, struct wet_live *live, const char *key, enum wet_check_answer answer,
					  struct wet_check *check, struct wet_fault *fault)
{
	const struct wet_practice *p = &c->methods->safety->practice;
	int64_t number = -1;
	if (!want_int(c, "number", 0, 99, &number))
		return -1;
	for (int i = 0; i < p->count; i++) {
		if (strcmp(p->rules[i].key, key) != 0 || !is_asked(live, &p->rules[i]))
			continue;
		bool is_sound = strcmp(key, SOUND_KEY) == 0;
		if (is_sound && answer == WET_CHECK_CONFIRMED && number < 0)
			return wet_fault_set(fault, WET_ERR_PARAMS, "number", NULL, "the number that was heard"), 0;
		if (is_sound &&
			wet_darkroom_heard(c->methods->darkroom, live, answer == WET_CHECK_CONFIRMED ? (int)number : -1, fault) != 0)
			return 0;
		put_item(check, &p->rules[i], answer);
		return 1;
	}
	return wet_fault_set(fault, WET_ERR_NOT_FOUND, "key", key, "one of those that checklist.get lists"), 0;
}

void serve_checklist_answer(struct wet_call *c)
{
	struct wet_live *live;
	struct listing *l = listing_of(c, &live);
	struct wet_check checks[WET_CHECK_ITEMS];
	struct wet_fault fault = { 0 };
	char key[WET_NAME_BYTES] = "", word[24] = "";
	enum wet_check_answer answer = WET_CHECK_ANSWER_N;
	if (!l)
		return;
	if (!want_text(c, "key", false, key, sizeof key) || !want_text(c, "answer", true, word, sizeof word)) {
		free(l);
		return;
	}
	(void)wet_check_answer_from_word(word, &answer);
	int count = 0;
	if (key[0] ? answer != WET_CHECK_CONFIRMED && answer != WET_CHECK_SKIPPED : answer != WET_CHECK_ASSUMED)
		wet_fault_set(&fault, WET_ERR_PARAMS, "answer", word, "confirmed or skipped, with a key; or assumed, for all the others");
	else
		count = key[0] ? answer_one(c, live, key, answer, checks, &fault) : assume(&c->methods->safety->practice, live, checks);
	if (count <= 0) {
		if (count == 0)
			call_fault(c, &fault);
		free(l);
		return;
	}
	if (hold(c, l))
		wet_darkroom_check(c->methods->darkroom, live, l->person, l->uid, checks, count, told, l);
}

void checklist_heard(struct wet_call *c, const struct wet_live *live, bool is_unheard)
{
	const struct wet_practice *p = &c->methods->safety->practice;
	struct wet_check check;
	for (int i = 0; i < p->count; i++) {
		if (strcmp(p->rules[i].key, SOUND_KEY) != 0)
			continue;
		put_item(&check, &p->rules[i], is_unheard ? WET_CHECK_SKIPPED : WET_CHECK_CONFIRMED);
		wet_darkroom_check(c->methods->darkroom, live, live->person, c->uid, &check, 1, NULL, NULL);
	}
}

/* -- the same once more ------------------------------------------------------------------ */

static void repeat(void *ctx, const struct wet_checklist *list, const struct wet_fault *fault)
{
	struct listing *l = ctx;
	struct wet_fault why = *fault;
	struct wet_live *live = live_of(l);
	struct wet_darkroom *d = l->pending->methods->darkroom;
	const struct wet_practice *p = practice_of(l);
	struct wet_check checks[WET_CHECK_ITEMS];
	int count = 0, rules[WET_PRACTICE_RULES];
	if (why.err == WET_OK && !live)
		wet_fault_set(&why, WET_ERR_NOT_FOUND, "run", l->run, "a run that is still there");
	if (why.err == WET_OK && !may_repeat(l, live, list))
		wet_fault_set(&why, WET_ERR_REFUSED, "run", l->run,
					  "Nothing stands that could be repeated: go through the list item by item.");
	if (why.err == WET_OK)
		(void)wet_darkroom_heard(d, live, (int)l->number, &why);
	if (why.err != WET_OK) {
		reply_fault(l->pending, &why);
		free(l);
		return;
	}
	for (int i = 0, n = wet_practice_asked(p, rules); i < n && count < WET_CHECK_ITEMS; i++) {
		const struct wet_practice_rule *rule = &p->rules[rules[i]];
		if (!is_asked(live, rule))
			continue;
		put_item(&checks[count], rule, rule->is_each_load ? WET_CHECK_CONFIRMED : WET_CHECK_STANDS);
		if (!rule->is_each_load)
			checks[count].since_ms = wet_answer_to(&list->before, rule->key)->since_ms;
		count++;
	}
	wet_darkroom_check(d, live, l->person, l->uid, checks, count, told, l);
}

void serve_checklist_repeat(struct wet_call *c)
{
	struct wet_live *live;
	struct listing *l = listing_of(c, &live);
	if (!l)
		return;
	if (!want_int(c, "number", 0, 99, &l->number)) {
		free(l);
		return;
	}
	if (l->number < 0) {
		struct wet_fault fault = { 0 };
		wet_fault_set(&fault, WET_ERR_PARAMS, "number", NULL, "the number that was heard");
		call_fault(c, &fault);
		free(l);
		return;
	}
	if (hold(c, l))
		wet_darkroom_checklist(c->methods->darkroom, live, repeat, l);
}

/* -- for the record ---------------------------------------------------------------------- */

json_t *wet_answers_json(const struct wet_answers *answers)
{
	json_t *list = json_array();
	for (int i = 0; i < answers->count; i++) {
		const struct wet_check *a = &answers->list[i];
		(void)json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:s, s:I, s:I, s:I}", "key", a->key, "text", a->text,
													"answer", wet_check_answer_word(a->answer), "person", a->person, "uid",
													(json_int_t)a->uid, "wall_ms", (json_int_t)a->wall_ms, "since_ms",
													(json_int_t)a->since_ms));
	}
	return list;
}
