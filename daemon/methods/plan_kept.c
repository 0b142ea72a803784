/* plan_kept.c: the plan and its mixing sheet as they were told when it was kept, for who has lost the page. Kept as entries, in
 * parts: reckoned anew they would follow a shelf that has changed since. */
#include "methods/inside.h"
#include "methods/plan_kept.h"

#include "base/text.h"
#include "darkroom/entries.h"

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
	json_t *told = json_pack("{s:O, s:O, s:O, s:O, s:O}", "recipe", json_object_get(result, "recipe"),
							 "text", json_object_get(result, "text"), "cautions",
							 json_object_get(result, "cautions"), "sheet", json_object_get(result, "sheet"), "vessel",
							 json_object_get(result, "vessel"));
	char *text = NULL;
	size_t n = 0;
	struct wet_entry *parts = calloc(WET_ENTRY_PARTS, sizeof *parts);
	struct keeping *k = malloc(sizeof *k);
	static const int follows[WET_ENTRY_PARTS]; /* all 0: names of plans are never given twice */
	int count = told && wet_json_text(told, &text, &n) == 0 && parts ? cut_up(name, p->uid, text, parts) : -1;
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
};

/* The parts one behind the other; NULL: none, or no JSON. */
static json_t *joined(const struct wet_entries *entries)
{
	size_t bytes = (size_t)entries->count * WET_ENTRY_BYTES + 1;
	char *text = calloc(1, bytes);
	for (int i = 0; text && i < entries->count; i++)
		wet_text_append(text, bytes, "%s", entries->list[i].body);
	json_t *told = text ? json_loads(text, JSON_REJECT_DUPLICATES, NULL) : NULL;
	free(text);
	return told;
}

static void found(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct showing *s = ctx;
	struct wet_fault missing = *fault;
	json_t *told = fault->err == WET_OK ? joined(entries) : NULL;
	if (told) {
		(void)json_object_set_new(told, "name", json_string(s->name));
		(void)json_object_set_new(told, "wall_ms", json_integer((json_int_t)entries->list[0].wall_ms));
		reply_result(s->pending, told);
	} else {
		if (fault->err == WET_OK)
			(void)wet_fault_set(&missing, WET_ERR_NOT_FOUND, "name", s->name,
								"one of the plans that `wetside plan` lists; where it was kept before sheets were, "
								"plan anew under another name");
		reply_fault(s->pending, &missing);
	}
	free(s);
}

void serve_plan_get(struct wet_call *c)
{
	struct wet_entry_query query = { .kind = KIND, .limit = WET_ENTRY_PARTS };
	struct showing *s = calloc(1, sizeof *s);
	if (!s) {
		call_result(c, NULL);
		return;
	}
	if (!want_text(c, "name", true, s->name, sizeof s->name) || !(s->pending = hold_reply(c))) {
		free(s);
		return;
	}
	wet_text_copy(query.name, sizeof query.name, s->name);
	wet_darkroom_get_entries(c->methods->darkroom, &query, found, s);
}
