/* record_import.c: lines of a ledger, in batches, from one client at a time.
 *
 * A run is kept here until its last line has come, so that the ledger gets it whole, in one transaction; so is a recipe. A
 * file is first sent with `check`, which stores nothing: then a file that is cut, changed, or at odds with this ledger has
 * changed nothing. After a mistake the import is over and begins again with the first line. */
#include "methods/record_import.h"

#include "base/text.h"
#include "shelf/shelf.h"

#include <stdlib.h>
#include <string.h>

#define RECIPES_MAX 65536

/* -- memory ------------------------------------------------------------------------------- */

static void free_unit(struct wet_unit *u)
{
	if (!u)
		return;
	if (u->run) {
		free((void *)u->run->events);
		free((void *)u->run->seqs);
		free(u->run->checks);
	}
	free(u->run);
	if (u->item)
		free(u->item->events);
	free(u->item);
	free(u->plan);
	free(u->entry);
	free(u->json);
	free(u);
}

static void free_units(struct wet_importing *i)
{
	for (struct wet_unit *u = i->units, *next; u; u = next) {
		next = u->next;
		free_unit(u);
	}
	i->units = NULL;
	i->tail = &i->units;
}

static void free_importing(struct wet_importing *i)
{
	if (!i)
		return;
	free_units(i);
	free_unit(i->run);
	free_unit(i->item);
	free_unit(i->plan);
	wet_darkroom_forget(&i->known);
	json_decref(i->marks);
	json_decref(i->names);
	free(i->events);
	free(i->seqs);
	free(i->recipe_text);
	json_decref(i->hashes);
	for (struct vessel_name *v = i->vessels, *next; v; v = next) {
		next = v->next;
		free(v);
	}
	free(i);
}

void wet_methods_release(struct wet_methods *methods)
{
	free_importing(methods->importing);
	methods->importing = NULL;
	json_decref(methods->shelf_meets);
	methods->shelf_meets = NULL;
}

int import_nomem(struct wet_fault *reterr)
{
	return wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory");
}

struct wet_unit *import_new_unit(struct wet_importing *i, enum wet_row_kind kind)
{
	struct wet_unit *u = calloc(1, sizeof *u);
	if (u) {
		u->kind = kind;
		u->line = i->line_count;
	}
	return u;
}

void import_put_unit(struct wet_importing *i, struct wet_unit *u)
{
	*i->tail = u;
	i->tail = &u->next;
}

/* -- recipes -------------------------------------------------------------------------------- */

static int finish_recipe(struct wet_importing *i, struct wet_fault *reterr)
{
	char hash[65];
	struct wet_recipe_part *r = &i->recipe;
	bool is_made = strncmp(r->hash, WET_REHEARSAL_HASH, sizeof WET_REHEARSAL_HASH - 1) == 0; /* by no file */
	wet_shelf_hash(i->recipe_text, i->recipe_bytes, hash);
	if (!is_made && strcmp(hash, r->hash) != 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/hash", r->hash,
							 "the SHA-256 of the recipe's text, which is %s", hash);
	if (json_object_size(i->hashes) == RECIPES_MAX)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "", NULL, "at most %d recipes", RECIPES_MAX);
	struct wet_unit *u = import_new_unit(i, WET_ROW_RECIPE);
	if (!u || json_object_set_new(i->hashes, r->hash, json_true()) != 0) {
		free(u);
		return import_nomem(reterr);
	}
	wet_text_copy(u->hash, sizeof u->hash, r->hash);
	wet_text_copy(u->name, sizeof u->name, r->name);
	u->json = i->recipe_text;
	u->json_bytes = i->recipe_bytes;
	i->recipe_text = NULL;
	i->recipe_bytes = 0;
	i->recipe.part = 0;
	import_put_unit(i, u);
	return WET_OK;
}

static int take_recipe(struct wet_importing *i, const struct wet_recipe_part *part, struct wet_fault *reterr)
{
	if (part->part != i->recipe.part + 1 || (part->part > 1 && strcmp(part->hash, i->recipe.hash) != 0))
		return wet_fault_set(reterr, WET_ERR_INVALID, "/part", NULL, "part %d%s%s", i->recipe.part + 1,
							 i->recipe.part ? " of the recipe " : "", i->recipe.part ? i->recipe.hash : "");
	if (part->bytes == 0 || i->recipe_bytes + part->bytes > WET_RECIPE_FILE_BYTES)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "/text", NULL, "a recipe of 1 to %d bytes",
							 WET_RECIPE_FILE_BYTES);
	char *text = realloc(i->recipe_text, i->recipe_bytes + part->bytes + 1);
	if (!text)
		return import_nomem(reterr);
	memcpy(text + i->recipe_bytes, part->text, part->bytes);
	i->recipe_text = text;
	i->recipe_bytes += part->bytes;
	i->recipe = *part;
	i->recipe.text = NULL;
	return part->is_last ? finish_recipe(i, reterr) : WET_OK;
}

/* -- vessels, acknowledgements ----------------------------------------------------------------- */

static int take_vessel(struct wet_importing *i, const struct wet_vessel_row *row, struct wet_fault *reterr)
{
	struct vessel_name *v = i->vessels;
	while (v && strcmp(v->name, row->vessel.name) != 0)
		v = v->next;
	if (!v) {
		v = calloc(1, sizeof *v);
		if (!v)
			return import_nomem(reterr);
		wet_text_copy(v->name, sizeof v->name, row->vessel.name);
		v->next = i->vessels;
		i->vessels = v;
	}
	struct wet_unit *u = import_new_unit(i, WET_ROW_VESSEL);
	if (!u)
		return import_nomem(reterr);
	u->vessel = *row;
	u->is_latest = &v->is_latest;
	import_put_unit(i, u);
	return WET_OK;
}

static int take_entry(struct wet_importing *i, const struct wet_entry *entry, struct wet_fault *reterr)
{
	struct wet_unit *u = import_new_unit(i, WET_ROW_ENTRY);
	if (!u || !(u->entry = malloc(sizeof *u->entry))) {
		free(u);
		return import_nomem(reterr);
	}
	*u->entry = *entry;
	import_put_unit(i, u);
	return WET_OK;
}

static int take_acknowledgement(struct wet_importing *i, const struct wet_acknowledgement *a,
								struct wet_fault *reterr)
{
	struct wet_unit *u = import_new_unit(i, WET_ROW_ACKNOWLEDGEMENT);
	if (!u)
		return import_nomem(reterr);
	u->acknowledgement = *a;
	import_put_unit(i, u);
	return WET_OK;
}

/* -- runs ---------------------------------------------------------------------------------------- */

static void finish_run(struct wet_importing *i)
{
	if (!i->run)
		return;
	i->run->run->events = i->events;
	i->run->run->seqs = i->seqs;
	import_put_unit(i, i->run);
	i->run = NULL;
	i->events = NULL;
	i->seqs = NULL;
	i->event_room = 0;
}

static int take_run(struct wet_importing *i, const struct wet_ledger_run *run, struct wet_fault *reterr)
{
	if (!json_object_get(i->hashes, run->recipe_hash))
		return wet_fault_set(reterr, WET_ERR_INVALID, "/recipe_hash", run->recipe_hash,
							 "a recipe that stands in a line before this one");
	if (run->is_live != (run->outcome[0] == '\0'))
		return wet_fault_set(reterr, WET_ERR_INVALID, "/outcome", run->outcome,
							 "an outcome, or is_live true and no outcome");
	struct wet_unit *u = import_new_unit(i, WET_ROW_RUN);
	if (!u || !(u->run = calloc(1, sizeof *u->run))) {
		free(u);
		return import_nomem(reterr);
	}
	u->run->run = *run;
	i->run = u;
	return WET_OK;
}

/* Is it a row of the run that has begun? */
static int check_run(const struct wet_importing *i, int64_t run_id, struct wet_fault *reterr)
{
	char found[24];
	if (i->run && i->run->run->run.id == run_id)
		return WET_OK;
	wet_text_format(found, sizeof found, "%lld", (long long)run_id);
	return wet_fault_set(reterr, WET_ERR_INVALID, "/run", found,
						 "the number of the run in a line before this one");
}

static int make_room(struct wet_importing *i)
{
	int room = i->event_room ? i->event_room * 2 : 64;
	struct wet_event *events = realloc(i->events, (size_t)room * sizeof *events);
	if (events)
		i->events = events;
	int64_t *seqs = events ? realloc(i->seqs, (size_t)room * sizeof *seqs) : NULL;
	if (!seqs)
		return WET_ERR_NOMEM;
	i->seqs = seqs;
	i->event_room = room;
	return WET_OK;
}

static int take_event(struct wet_importing *i, const struct wet_event_row *row, struct wet_fault *reterr)
{
	int rc = check_run(i, row->run_id, reterr);
	if (rc != 0)
		return rc;
	struct wet_ledger_import *in = i->run->run;
	if (in->event_count == EVENTS_MAX)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "", NULL, "at most %d events in one run", EVENTS_MAX);
	if (in->event_count > 0 && row->seq <= i->seqs[in->event_count - 1])
		return wet_fault_set(reterr, WET_ERR_INVALID, "/seq", NULL,
							 "a number over that of the event before, %lld",
							 (long long)i->seqs[in->event_count - 1]);
	if (in->event_count == i->event_room && make_room(i) != 0)
		return import_nomem(reterr);
	i->seqs[in->event_count] = row->seq;
	i->events[in->event_count++] = row->event;
	return WET_OK;
}

static int take_check(struct wet_importing *i, const struct wet_check *check, struct wet_fault *reterr)
{
	int rc = check_run(i, check->run_id, reterr);
	if (rc != 0)
		return rc;
	struct wet_ledger_import *in = i->run->run;
	if (in->check_count == WET_CHECKS || check->seq != in->check_count + 1)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/seq", NULL, "answers one after the other, from 1, at most %d",
							 WET_CHECKS);
	if (!in->checks && !(in->checks = calloc(WET_CHECKS, sizeof *in->checks)))
		return import_nomem(reterr);
	in->checks[in->check_count++] = *check;
	return WET_OK;
}

static int take_stage(struct wet_importing *i, const struct wet_stage_row *row, struct wet_fault *reterr)
{
	int rc = check_run(i, row->run_id, reterr);
	if (rc != 0)
		return rc;
	struct wet_ledger_import *in = i->run->run;
	if (in->run.is_live || in->stages[row->stage].flags != 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/stage", NULL, "each stage of an ended run once");
	in->stages[row->stage] = row->record;
	return WET_OK;
}

/* -- lines ------------------------------------------------------------------------------------------ */

static int take_header(struct wet_importing *i, const json_t *line, struct wet_fault *reterr)
{
	const char *what = json_string_value(json_object_get(line, "wetside"));
	json_t *format = json_object_get(line, "format"), *schema = json_object_get(line, "schema");
	if (!what || strcmp(what, "ledger") != 0 || !json_is_integer(format) || !json_is_integer(schema) ||
		json_object_size(line) != 3 || json_integer_value(format) < 1)
		return wet_fault_set(
			reterr, WET_ERR_INVALID, "", NULL,
			"the first line of an exported ledger: {\"wetside\":\"ledger\",\"format\":%d,\"schema\":%d}",
			WET_LEDGER_FORMAT, wet_darkroom_schema());
	if (json_integer_value(format) > WET_LEDGER_FORMAT)
		return wet_fault_set(reterr, WET_ERR_NEWER, "/format", NULL,
							 "format %d at most; import it with a newer wetside", WET_LEDGER_FORMAT);
	if (json_integer_value(schema) > wet_darkroom_schema())
		return wet_fault_set(reterr, WET_ERR_NEWER, "/schema", NULL,
							 "schema %d at most; import it with a newer wetside", wet_darkroom_schema());
	i->schema = (int)json_integer_value(schema);
	return WET_OK;
}

static int take_end(struct wet_importing *i, const json_t *line, const char *check, struct wet_fault *reterr)
{
	json_t *lines = json_object_get(line, "lines"), *sum = json_object_get(line, "check");
	char found[24];
	if (!json_is_integer(lines) || json_object_size(line) != (sum ? 3 : 2) || (sum && !json_is_string(sum)))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", NULL,
							 "the last line: {\"row\":\"end\",\"lines\":NUMBER,\"check\":TEXT}");
	wet_text_format(found, sizeof found, "%lld", (long long)json_integer_value(lines));
	if (json_integer_value(lines) != i->line_count - 1)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/lines", found,
							 "%lld: lines are missing or were added", (long long)i->line_count - 1);
	if (sum && strcmp(json_string_value(sum), check) != 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/check", NULL,
							 "the file as it was written; a line before this one was changed since");
	finish_run(i);
	import_finish_shelf(i, WET_ROW_END);
	i->is_complete = true;
	return WET_OK;
}

static int take_row(struct wet_importing *i, const json_t *line, enum wet_row_kind kind,
					struct wet_fault *reterr)
{
	struct wet_row row;
	int rc = row_decode(line, kind, i->schema, &row, reterr);
	if (rc != 0)
		return rc;
	if (kind != WET_ROW_EVENT && kind != WET_ROW_CHECK && kind != WET_ROW_STAGE)
		finish_run(i);
	import_finish_shelf(i, kind);
	if (i->recipe.part > 0 && kind != WET_ROW_RECIPE)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", row_word(kind),
							 "the next part of the recipe before");
	switch (kind) {
	case WET_ROW_RECIPE: return take_recipe(i, &row.of.recipe, reterr);
	case WET_ROW_VESSEL: return take_vessel(i, &row.of.vessel, reterr);
	case WET_ROW_ACKNOWLEDGEMENT: return take_acknowledgement(i, &row.of.acknowledgement, reterr);
	case WET_ROW_ENTRY: return take_entry(i, &row.of.entry, reterr);
	case WET_ROW_RUN: return take_run(i, &row.of.run, reterr);
	case WET_ROW_EVENT: return take_event(i, &row.of.event, reterr);
	case WET_ROW_CHECK: return take_check(i, &row.of.check, reterr);
	case WET_ROW_STAGE: return take_stage(i, &row.of.stage, reterr);
	default: return import_take_shelf(i, &row, reterr);
	}
}

static int take_object(struct wet_importing *i, const json_t *line, const char *check,
					   struct wet_fault *reterr)
{
	const char *word = json_string_value(json_object_get(line, "row"));
	if (!json_is_object(line))
		return wet_fault_set(reterr, WET_ERR_INVALID, "", NULL, "an object");
	if (i->is_complete)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", NULL, "nothing behind the end");
	if (i->line_count == 1)
		return take_header(i, line, reterr);
	for (enum wet_row_kind kind = 0; word && kind < WET_ROW_END; kind++) {
		if (strcmp(word, row_word(kind)) == 0)
			return take_row(i, line, kind, reterr);
	}
	if (word && strcmp(word, row_word(WET_ROW_END)) == 0)
		return take_end(i, line, check, reterr);
	return wet_fault_set(reterr, WET_ERR_INVALID, "/row", word,
						 "recipe, vessel, acknowledgement, run, event, check, stage, item, history, plan, load, bath, draw,"
						 " booking, entry or end");
}

/* One line; the fault says which. */
static int take_line(struct wet_importing *i, const json_t *text, struct wet_fault *reterr)
{
	char before[65], where[48];
	json_t *line = NULL;
	const char *bytes = json_string_value(text);
	size_t n = json_string_length(text);
	i->line_count++;
	wet_text_copy(before, sizeof before, i->check);
	int rc = WET_OK;
	if (!bytes || n > WET_LEDGER_LINE_BYTES)
		rc = wet_fault_set(reterr, WET_ERR_TOO_LONG, "", NULL, "a text of at most %d bytes",
						   WET_LEDGER_LINE_BYTES);
	if (rc == 0)
		rc = wet_json_parse(bytes, n, 3, &line, reterr);
	if (rc == 0)
		rc = take_object(i, line, before, reterr);
	if (rc == 0 && row_check(i->check, bytes, n) != 0)
		rc = import_nomem(reterr);
	json_decref(line);
	/* The request was well; a line in it was not. */
	if (rc == WET_ERR_PARSE || rc == WET_ERR_TOO_LONG || rc == WET_ERR_TOO_MANY)
		rc = reterr->err = WET_ERR_INVALID;
	if (rc != 0) {
		wet_text_format(where, sizeof where, "line %lld%s", (long long)i->line_count,
						reterr->where[0] ? ", " : "");
		wet_fault_prefix(reterr, where);
	}
	return rc;
}

/* -- the method --------------------------------------------------------------------------------------- */

static json_t *counts_json(const int64_t *counts)
{
	json_t *o = json_object();
	static const enum wet_row_kind kinds[] = { WET_ROW_RECIPE, WET_ROW_VESSEL, WET_ROW_ACKNOWLEDGEMENT, WET_ROW_RUN,
											   WET_ROW_ITEM,   WET_ROW_PLAN,   WET_ROW_BOOKING, WET_ROW_ENTRY };
	for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
		(void)json_object_set_new(o, row_word(kinds[i]), json_integer(counts[kinds[i]]));
	return o;
}

static void taken(void *ctx, const struct wet_fault *fault)
{
	struct wet_importing *i = ctx;
	struct pending *p = i->pending;
	i->is_busy = false;
	i->pending = NULL;
	for (struct wet_unit *u = i->units; u && fault->err == WET_OK; u = u->next)
		(u->is_new ? i->new_count : i->there_count)[u->kind]++;
	free_units(i);
	if (fault->err != WET_OK)
		reply_fault(p, fault);
	else
		reply_result(p, json_pack("{s:I, s:b, s:b, s:o, s:o}", "lines", (json_int_t)i->line_count,
								  "is_complete", i->is_complete, "is_check", i->is_dry, "new",
								  counts_json(i->new_count), "there", counts_json(i->there_count)));
	if (fault->err != WET_OK || i->is_complete)
		wet_methods_release(i->methods);
}

static bool is_header(const json_t *lines)
{
	const char *first = json_string_value(json_array_get(lines, 0));
	return first && strncmp(first, "{\"wetside\":", 11) == 0;
}

/* The client's import, or a new one; the fault if another client has one under way. */
static int find_importing(struct wet_call *c, bool is_dry, const json_t *lines, struct wet_fault *reterr)
{
	struct wet_methods *m = c->methods;
	struct wet_importing *i = m->importing;
	bool is_mine = i && i->client_id == c->client_id;
	if (i && (i->is_busy || (!is_mine && m->find_client(m->ctx, i->client_id))))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "record.import", NULL,
							 "Another import is under way; wait until it has ended.");
	if (is_mine && !is_header(lines)) {
		if (i->is_dry == is_dry)
			return WET_OK;
		return wet_fault_set(reterr, WET_ERR_PARAMS, "check", NULL, "the same for every batch of a file");
	}
	if (i)
		wet_methods_release(m);
	i = calloc(1, sizeof *i);
	json_t *hashes = json_object(), *names = json_object();
	if (!i || !hashes || !names) {
		free(i);
		json_decref(hashes);
		json_decref(names);
		return import_nomem(reterr);
	}
	i->methods = m;
	i->client_id = c->client_id;
	i->is_dry = is_dry;
	i->hashes = hashes;
	i->names = names;
	i->tail = &i->units;
	m->importing = i;
	return WET_OK;
}

void serve_record_import(struct wet_call *c)
{
	struct wet_fault fault = { 0 };
	json_t *lines = json_object_get(c->params, "lines"), *line;
	bool is_dry = false;
	size_t at;
	if (!want_bool(c, "check", &is_dry))
		return;
	int rc = WET_OK;
	if (!json_is_array(lines) || json_array_size(lines) == 0)
		rc = wet_fault_set(&fault, WET_ERR_PARAMS, "lines", NULL,
						   "lines of an exported ledger, as texts, in order");
	if (rc == 0)
		rc = find_importing(c, is_dry, lines, &fault);
	if (rc != 0) {
		call_fault(c, &fault);
		return;
	}
	struct wet_importing *i = c->methods->importing;
	json_array_foreach(lines, at, line)
	{
		rc = take_line(i, line, &fault);
		if (rc != 0)
			break;
	}
	if (rc == 0)
		i->pending = hold_reply(c);
	else
		call_fault(c, &fault);
	if (rc != 0 || !i->pending) {
		wet_methods_release(c->methods);
		return;
	}
	i->is_busy = true;
	wet_darkroom_import(c->methods->darkroom, i->units, &i->known, is_dry, taken, i);
}
