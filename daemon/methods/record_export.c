/* record_export.c: the whole ledger as lines, a page a call. Nothing is kept between two calls: the cursor says it all. */
#include "methods/inside.h"
#include "methods/rows.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

struct export_call {
	struct pending *pending;
	int64_t line_count; /* before this page */
	char check[65];
	bool is_begun;
};

/* The line, and its part in the check. False: no memory. */
static bool add_line(struct export_call *e, json_t *list, json_t *line)
{
	char *text = NULL;
	size_t n = 0;
	bool is_well = line && wet_json_text(line, &text, &n) == 0 && row_check(e->check, text, n) == 0 &&
				   json_array_append_new(list, json_stringn(text, n)) == 0;
	free(text);
	json_decref(line);
	e->line_count++;
	return is_well;
}

static json_t *cursor_json(const struct export_call *e, const struct wet_cursor *c)
{
	return json_pack("{s:s, s:s, s:I, s:i, s:I, s:[s, s, i], s:I, s:I, s:I, s:i, s:b, s:I, s:s, s:[I, I, I, I, I, i, I, i, I, I]}",
					 "at", row_word(c->at), "hash", c->hash, "offset", (json_int_t)c->offset, "part", c->part,
					 "vessel", (json_int_t)c->vessel_id, "acknowledgement", c->acknowledgement.person,
					 c->acknowledgement.recipe_name, c->acknowledgement.version, "run", (json_int_t)c->run_id,
					 "to_run", (json_int_t)c->to_run, "seq", (json_int_t)c->seq, "stage", c->stage,
					 "was_live", c->was_live, "lines", (json_int_t)e->line_count, "check", e->check, "shelf",
					 (json_int_t)c->item_id, (json_int_t)c->event_id, (json_int_t)c->to_event, (json_int_t)c->plan_id,
					 (json_int_t)c->to_plan, c->plan_row, (json_int_t)c->booking.run_id, c->booking.stage,
					 (json_int_t)c->booking.stock_id, (json_int_t)c->entry_id);
}

static void told(void *ctx, const struct wet_export_page *page, const struct wet_fault *fault)
{
	struct export_call *e = ctx;
	json_t *list = json_array(), *next = NULL;
	bool is_well = list != NULL;
	if (fault->err != WET_OK) {
		json_decref(list);
		reply_fault(e->pending, fault);
		free(e);
		return;
	}
	if (!e->is_begun)
		is_well = is_well && add_line(e, list,
									  json_pack("{s:s, s:i, s:i}", "wetside", "ledger", "format",
												WET_LEDGER_FORMAT, "schema", wet_darkroom_schema()));
	for (int i = 0; i < page->row_count && is_well; i++)
		is_well = add_line(e, list, row_encode(&page->rows[i]));
	if (page->is_end) {
		json_t *end =
			json_pack("{s:s, s:I, s:s}", "row", "end", "lines", (json_int_t)e->line_count, "check", e->check);
		is_well = is_well && add_line(e, list, end);
		next = json_null();
	} else {
		next = cursor_json(e, &page->next);
	}
	if (!is_well) {
		json_decref(list);
		json_decref(next);
		list = next = NULL;
	}
	reply_result(e->pending, list && next ? json_pack("{s:o, s:o, s:I}", "lines", list, "next", next, "count",
													  (json_int_t)e->line_count)
										  : NULL);
	free(e);
}

static bool read_cursor(json_t *json, struct export_call *e, struct wet_cursor *c)
{
	const char *at, *hash, *person, *recipe, *check;
	json_int_t offset, vessel, run, to_run, seq, lines, item, event, to_event, plan, to_plan, booked_run, booked_item, entry;
	int was_live;
	if (json_unpack(json, "{s:s, s:s, s:I, s:i, s:I, s:[s, s, i!], s:I, s:I, s:I, s:i, s:b, s:I, s:s, s:[I, I, I, I, I, i, I, i, I, I!]!}",
					"at",
					&at, "hash", &hash, "offset", &offset, "part", &c->part, "vessel", &vessel,
					"acknowledgement", &person, &recipe, &c->acknowledgement.version, "run", &run, "to_run",
					&to_run, "seq", &seq, "stage", &c->stage, "was_live", &was_live, "lines", &lines, "check",
					&check, "shelf", &item, &event, &to_event, &plan, &to_plan, &c->plan_row, &booked_run,
					&c->booking.stage, &booked_item, &entry) != 0)
		return false;
	for (c->at = 0; c->at < WET_ROW_END && strcmp(at, row_word(c->at)) != 0;)
		c->at++;
	if (c->at == WET_ROW_END || offset < 0 || lines < 1 || strlen(check) != 64 || c->part < 0)
		return false;
	wet_text_copy(c->hash, sizeof c->hash, hash);
	wet_text_copy(c->acknowledgement.person, sizeof c->acknowledgement.person, person);
	wet_text_copy(c->acknowledgement.recipe_name, sizeof c->acknowledgement.recipe_name, recipe);
	wet_text_copy(e->check, sizeof e->check, check);
	c->offset = (size_t)offset;
	c->vessel_id = vessel;
	c->item_id = item;
	c->event_id = event;
	c->to_event = to_event;
	c->plan_id = plan;
	c->to_plan = to_plan;
	c->booking.run_id = booked_run;
	c->booking.stock_id = booked_item;
	c->entry_id = entry;
	c->run_id = run;
	c->to_run = to_run;
	c->seq = seq;
	c->was_live = was_live;
	c->is_begun = true;
	e->line_count = lines;
	e->is_begun = true;
	return true;
}

void serve_record_export(struct wet_call *c)
{
	struct wet_fault fault = { 0 };
	struct wet_cursor cursor = { .at = WET_ROW_RECIPE };
	json_t *json = json_object_get(c->params, "cursor");
	struct export_call *e = calloc(1, sizeof *e);
	if (!e) {
		wet_fault_set(&fault, WET_ERR_NOMEM, "", NULL, "more memory");
		call_fault(c, &fault);
		return;
	}
	if (json && !json_is_null(json) && !read_cursor(json, e, &cursor)) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "cursor", NULL, "the `next` of the page before, as it was");
		call_fault(c, &fault);
		free(e);
		return;
	}
	e->pending = hold_reply(c);
	if (e->pending)
		wet_darkroom_export(c->methods->darkroom, &cursor, told, e);
	else
		free(e);
}
