/* plan_kept.c: the plan and its mixing sheet as they were told when it was kept, for who has lost the page. Kept as entries, in
 * parts: reckoned anew they would follow a shelf that has changed since. */
#include "methods/inside.h"
#include "methods/plan_kept.h"

#include "base/text.h"
#include "darkroom/entries.h"
#include "darkroom/planning.h"

#include <stdlib.h>
#include <string.h>

#define KIND "plan-sheet"

/* -- keeping ---------------------------------------------------------------------------- */

struct keeping {
	struct pending *pending;
	json_t *result;
};

static void kept(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct keeping *k = ctx;
	(void)entries;
	/* The plan itself is kept all the same. */
	(void)json_object_set_new(k->result, "is_sheet_kept", json_boolean(fault->err == WET_OK));
	reply_result(k->pending, k->result);
	free(k);
}

/* As many whole characters of the text as a part holds. */
static size_t part_bytes(const char *text)
{
	size_t n = strlen(text);
	if (n < WET_ENTRY_BYTES)
		return n;
	n = WET_ENTRY_BYTES - 1;
	while (n > 0 && ((unsigned char)text[n] & 0xc0) == 0x80)
		n--;
	return n;
}

static int cut_up(const char *name, uint32_t uid, const char *text, struct wet_entry *parts)
{
	int count = 0;
	while (*text && count < WET_ENTRY_PARTS) {
		struct wet_entry *e = &parts[count];
		size_t n = part_bytes(text);
		wet_text_copy(e->kind, sizeof e->kind, KIND);
		wet_text_copy(e->name, sizeof e->name, name);
		e->part = count++;
		e->uid = uid;
		memcpy(e->body, text, n);
		text += n;
	}
	return *text ? -1 : count;
}

void keep_plan_sheet(struct pending *p, json_t *result)
{
	const char *name = json_string_value(json_object_get(result, "kept_as"));
	json_t *told = json_pack("{s:O, s:O, s:O, s:O}", "text", json_object_get(result, "text"), "cautions",
							 json_object_get(result, "cautions"), "sheet", json_object_get(result, "sheet"), "vessel",
							 json_object_get(result, "vessel"));
	char *text = NULL;
	size_t n = 0;
	struct wet_entry *parts = calloc(WET_ENTRY_PARTS, sizeof *parts);
	struct keeping *k = malloc(sizeof *k);
	static const int follows[WET_ENTRY_PARTS]; /* all 0: names of plans are never given twice */
	int count = told && wet_json_text(told, &text, &n) == 0 && parts ? cut_up(name, 0, text, parts) : -1;
	if (k && count > 0) {
		*k = (struct keeping){ p, result };
		wet_darkroom_put_entries(p->methods->darkroom, parts, follows, count, kept, k);
	} else {
		free(k);
		reply_result(p, result);
	}
	free(parts);
	free(text);
	json_decref(told);
}

/* -- showing ---------------------------------------------------------------------------- */

struct showing {
	struct pending *pending;
	char name[WET_NAME_BYTES];
	json_t *row; /* of the list */
};

static int missing(struct showing *s, struct wet_fault *fault, const char *want)
{
	(void)wet_fault_set(fault, WET_ERR_NOT_FOUND, "name", s->name, "%s", want);
	reply_fault(s->pending, fault);
	json_decref(s->row);
	free(s);
	return fault->err;
}

static void found(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct showing *s = ctx;
	struct wet_fault none = *fault;
	json_t *told = NULL;
	if (fault->err == WET_OK && entries->count > 0) {
		size_t bytes = (size_t)entries->count * WET_ENTRY_BYTES + 1;
		char *text = calloc(1, bytes);
		for (int i = 0; text && i < entries->count; i++)
			wet_text_append(text, bytes, "%s", entries->list[i].body);
		told = text ? json_loads(text, JSON_REJECT_DUPLICATES, NULL) : NULL;
		free(text);
	}
	if (!told || json_object_update(s->row, told) != 0) {
		json_decref(told);
		(void)missing(s, &none, "a plan with its sheet; this one was kept before sheets were: plan it anew under another name");
		return;
	}
	json_decref(told);
	reply_result(s->pending, s->row);
	free(s);
}

static void listed(void *ctx, const struct wet_plan_names *names, const struct wet_fault *fault)
{
	struct showing *s = ctx;
	struct wet_fault none = *fault;
	for (int i = 0; fault->err == WET_OK && i < names->count; i++)
		if (strcmp(names->rows[i].name, s->name) == 0)
			s->row = json_pack("{s:s, s:s, s:I}", "name", s->name, "recipe", names->rows[i].recipe, "wall_ms",
							   (json_int_t)names->rows[i].wall_ms);
	if (!s->row) {
		(void)missing(s, &none, "one of the plans that `wetside plan` lists");
		return;
	}
	struct wet_entry_query query = { .kind = KIND, .limit = WET_ENTRY_PARTS };
	wet_text_copy(query.name, sizeof query.name, s->name);
	wet_darkroom_get_entries(s->pending->methods->darkroom, &query, found, s);
}

void serve_plan_get(struct wet_call *c)
{
	struct showing *s = calloc(1, sizeof *s);
	if (!s) {
		call_result(c, NULL);
		return;
	}
	if (!want_text(c, "name", true, s->name, sizeof s->name) || !(s->pending = hold_reply(c))) {
		free(s);
		return;
	}
	wet_darkroom_list_plans(c->methods->darkroom, listed, s);
}
