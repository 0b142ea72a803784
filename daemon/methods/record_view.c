/* record_view.c: looking back: the pieces of a run, runs that are sought, two runs side by side. */
#include "methods/book.h"

#include "base/text.h"
#include "darkroom/records.h"
#include "wetside/quantity.h"

#include <string.h>
#include <strings.h>
#include <time.h>

/* -- parts of record.get -------------------------------------------------------------------- */

json_t *record_baths_json(const struct wet_records *r)
{
	json_t *list = json_array();
	for (int i = 0; i < r->used_count; i++) {
		const struct wet_used_bath *u = &r->used[i];
		(void)json_array_append_new(list, json_pack("{s:i, s:s, s:s, s:s, s:I, s:o, s:o}", "stage", u->stage, "stage_name",
													u->stage < WET_RECIPE_STAGES ? r->stage_names[u->stage] : "", "name",
													u->name, "what", u->what, "area_mm2", (json_int_t)u->area_mm2, "used_milli",
													u->used_milli == INT32_MIN ? json_null() : json_integer(u->used_milli),
													"aged_milli",
													u->aged_milli == INT32_MIN ? json_null() : json_integer(u->aged_milli)));
	}
	return list;
}

json_t *record_gaps_json(const struct wet_records *r)
{
	return json_pack("{s:i, s:I, s:i, s:s}", "count", r->gap_count, "us", (json_int_t)(r->gap_ns / 1000), "cues_missed",
					 r->missed_count, "missed", r->missed);
}

/* -- pieces --------------------------------------------------------------------------------- */

static json_t *piece_of_run(const struct book *b, const char *name, const struct wet_piece *p)
{
	struct wet_note n;
	char line[WET_NOTE_TEXT_BYTES] = "", stops[64] = "";
	json_t *judged = book_object(book_row(b, BOOK_JUDGED, name)), *piece = book_piece_json(b, name, p);
	if (book_note(b, name, &n))
		note_text(&n, line, sizeof line);
	if (json_is_integer(json_object_get(judged, "lighter_milli")))
		wet_print_judged((double)json_integer_value(json_object_get(judged, "lighter_milli")) / 1000, stops, sizeof stops);
	(void)json_object_set_new(piece, "note", json_string(line));
	(void)json_object_set_new(piece, "judged", json_string(stops));
	(void)json_object_set_new(piece, "is_dry", json_boolean(json_is_true(json_object_get(judged, "is_dry"))));
	json_decref(judged);
	return piece;
}

/* By their slots. */
static json_t *pieces_of_run(const struct book *b, int64_t run)
{
	json_t *list = json_array(), *row;
	const char *name;
	struct wet_piece p;
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (!book_piece(b, name, &p) || p.process_run != run)
			continue;
		size_t at = 0;
		while (at < json_array_size(list) && json_integer_value(json_object_get(json_array_get(list, at), "slot")) <= p.slot)
			at++;
		(void)json_array_insert_new(list, at, piece_of_run(b, name, &p));
	}
	return list;
}

static bool want_run(struct book *b, const char *key, int64_t *ret_run)
{
	if (!want_int(&b->call, key, 1, INT64_MAX, ret_run)) {
		book_end(b);
		return false;
	}
	if (*ret_run == 0)
		book_refuse(b, WET_ERR_PARAMS, key, NULL, "the number of a run, as record.list shows it");
	return *ret_run != 0;
}

static void tell_pieces(struct book *b)
{
	int64_t run = 0;
	if (want_run(b, "run", &run))
		book_answer(b, json_pack("{s:o}", "pieces", pieces_of_run(b, run)));
}

void serve_record_pieces(struct wet_call *c)
{
	book_open(c, tell_pieces);
}

/* -- finding -------------------------------------------------------------------------------- */

struct finding {
	struct book *book;
	char recipe[WET_NAME_BYTES], camera[WET_NAME_BYTES], paper[WET_NAME_BYTES], words[WET_LINE_BYTES];
	int64_t from_ms, to_ms;
	json_t *by_run; /* number of a run as text -> list of its pieces */
	json_t *list;
	size_t left;
};

static void end_finding(struct finding *f, json_int_t next)
{
	json_t *list = f->list;
	json_decref(f->by_run);
	book_answer(f->book, json_pack("{s:o, s:I}", "runs", list, "next", next));
	free(f);
}

static bool holds(const char *text, const char *part)
{
	for (; *text; text++)
		if (strncasecmp(text, part, strlen(part)) == 0)
			return true;
	return part[0] == '\0';
}

static bool fits(const struct finding *f, const struct wet_ledger_run *run)
{
	char key[24], day[32] = "", line[6000];
	struct tm tm;
	time_t at = (time_t)(run->armed_wall_ms / 1000);
	bool has_camera = !f->camera[0], has_paper = !f->paper[0];
	json_t *piece;
	size_t i;
	if (!holds(run->recipe_name, f->recipe) || run->armed_wall_ms < f->from_ms || run->armed_wall_ms >= f->to_ms)
		return false;
	if (localtime_r(&at, &tm))
		(void)strftime(day, sizeof day, "%Y-%m-%d", &tm);
	wet_text_format(key, sizeof key, "%lld", (long long)run->id);
	wet_text_format(line, sizeof line, "%s %s %s %s %s %s %s", run->name, run->recipe_name, run->person, run->outcome,
					run->setup.vessel.name, run->setup.room, day);
	json_array_foreach(json_object_get(f->by_run, key), i, piece)
	{
		static const char *const keys[] = { "name", "camera", "paper", "box", "note", "judged" };
		for (size_t k = 0; k < sizeof keys / sizeof keys[0]; k++)
			wet_text_append(line, sizeof line, " %s", json_string_value(json_object_get(piece, keys[k])));
		has_camera = has_camera || strcasecmp(json_string_value(json_object_get(piece, "camera")), f->camera) == 0;
		has_paper = has_paper || holds(json_string_value(json_object_get(piece, "paper")), f->paper);
	}
	return has_camera && has_paper && has_all_words(line, f->words);
}

static void look_through(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	struct finding *f = ctx;
	if (!book_is_wanted(f->book)) { /* which ended the book */
		json_decref(f->by_run);
		json_decref(f->list);
		free(f);
		return;
	}
	if (fault->err != WET_OK || !r) {
		book_fault(f->book, fault);
		json_decref(f->by_run);
		json_decref(f->list);
		free(f);
		return;
	}
	for (int i = 0; i < r->run_count; i++) {
		if (!fits(f, &r->runs[i]))
			continue;
		if (json_array_size(f->list) == WET_PAGE || !add_within(f->list, record_row_json(&r->runs[i]), &f->left)) {
			end_finding(f, (json_int_t)r->runs[i].id + 1);
			return;
		}
	}
	if (r->run_count < WET_PAGE)
		end_finding(f, 0);
	else
		wet_darkroom_list_records(f->book->call.methods->darkroom, r->runs[WET_PAGE - 1].id, look_through, f);
}

/* "2026-11-20", a month "2026-11", a year: from its first moment to its last. */
static bool want_days(struct book *b, const char *key, int64_t *ret_from_ms, int64_t *ret_to_ms)
{
	char text[24] = "";
	int year = 0, month = 0, day = 0, used = 0;
	if (!want_text(&b->call, key, false, text, sizeof text)) {
		book_end(b);
		return false;
	}
	if (!text[0])
		return true;
	int n = sscanf(text, "%4d%n-%2d%n-%2d%n", &year, &used, &month, &used, &day, &used);
	bool is_good = n >= 1 && text[used] == '\0' && year >= 1970 && year <= 9999 && (n < 2 || (month >= 1 && month <= 12)) &&
				   (n < 3 || (day >= 1 && day <= 31));
	struct tm from = { .tm_year = year - 1900, .tm_mon = n < 2 ? 0 : month - 1, .tm_mday = n < 3 ? 1 : day, .tm_isdst = -1 };
	struct tm to = from;
	if (n < 2)
		to.tm_year++;
	else if (n < 3)
		to.tm_mon++;
	else
		to.tm_mday++;
	if (is_good) {
		*ret_from_ms = (int64_t)mktime(&from) * 1000;
		*ret_to_ms = (int64_t)mktime(&to) * 1000;
		is_good = n < 3 || from.tm_mday == day; /* there is no 31st of February */
	}
	if (!is_good)
		book_refuse(b, WET_ERR_INVALID, key, text, "a day as in 2026-11-20, a month as in 2026-11, or a year");
	return is_good;
}

static void find(struct book *b)
{
	struct wet_call *c = &b->call;
	struct finding *f = calloc(1, sizeof *f);
	int64_t before = INT64_MAX, low = INT64_MIN, high = INT64_MAX;
	if (!f) {
		book_answer(b, NULL);
		return;
	}
	*f = (struct finding){ .book = b, .from_ms = INT64_MIN, .to_ms = INT64_MAX, .left = WET_REPLY_BYTES / 2 };
	if (!want_text(c, "recipe", false, f->recipe, sizeof f->recipe) ||
		!want_text(c, "camera", false, f->camera, sizeof f->camera) ||
		!want_text(c, "paper", false, f->paper, sizeof f->paper) || !want_text(c, "words", false, f->words, sizeof f->words) ||
		!want_int(c, "before", 1, INT64_MAX, &before)) {
		book_end(b);
		free(f);
		return;
	}
	if (!want_days(b, "date", &f->from_ms, &f->to_ms)) {
		free(f);
		return;
	}
	if (!want_days(b, "since", &low, &high)) {
		free(f);
		return;
	}
	f->from_ms = low > f->from_ms ? low : f->from_ms;
	high = INT64_MAX;
	if (!want_days(b, "until", &low, &high)) {
		free(f);
		return;
	}
	f->to_ms = high < f->to_ms ? high : f->to_ms;
	f->by_run = json_object();
	f->list = json_array();
	const char *name;
	json_t *row;
	struct wet_piece p;
	char key[24];
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (!book_piece(b, name, &p) || p.process_run == 0)
			continue;
		wet_text_format(key, sizeof key, "%lld", (long long)p.process_run);
		if (!json_object_get(f->by_run, key))
			(void)json_object_set_new(f->by_run, key, json_array());
		(void)json_array_append_new(json_object_get(f->by_run, key), piece_of_run(b, name, &p));
	}
	wet_darkroom_list_records(c->methods->darkroom, before, look_through, f);
}

void serve_record_find(struct wet_call *c)
{
	book_open(c, find);
}

/* -- comparing ------------------------------------------------------------------------------- */

/* What is compared of one run. */
static json_t *side_of(const struct book *b, const struct wet_records *r)
{
	json_t *stages = json_array();
	for (int i = 0; i < WET_RECIPE_STAGES; i++) {
		const struct wet_trace *t = &r->tracing.stages[i];
		if (!r->stages[i].flags)
			continue;
		(void)json_array_append_new(stages, json_pack("{s:s, s:I, s:I, s:o, s:o, s:i}", "name", r->stage_names[i], "planned_us",
													  (json_int_t)(r->planned_ns[i] / 1000), "took_us",
													  (json_int_t)((r->stages[i].end_ns - r->stages[i].begin_ns) / 1000),
													  "in_mc", t->in_mc == INT32_MIN ? json_null() : json_integer(t->in_mc),
													  "out_mc", t->out_mc == INT32_MIN ? json_null() : json_integer(t->out_mc),
													  "late_pour_ms", r->stages[i].late_pour_ms));
	}
	return json_pack("{s:o, s:o, s:o, s:o, s:o}", "run", record_row_json(&r->runs[0]), "stages", stages, "baths",
					 record_baths_json(r), "gaps", record_gaps_json(r), "pieces", pieces_of_run(b, r->runs[0].id));
}

static void say_side(const json_t *stage, char *buf, unsigned buf_bytes)
{
	char took[32], in[24] = "", out[24] = "";
	const json_t *low = json_object_get(stage, "in_mc"), *high = json_object_get(stage, "out_mc");
	if (!stage) {
		wet_text_copy(buf, buf_bytes, "-");
		return;
	}
	int64_t s = (json_integer_value(json_object_get(stage, "took_us")) + 500000) / 1000000;
	wet_text_copy(buf, buf_bytes, wet_print_duration(s * WET_NS_PER_S, took, sizeof took));
	if (json_is_integer(low) && json_is_integer(high))
		wet_text_append(buf, buf_bytes, ", %s to %s", wet_print_temperature((int32_t)json_integer_value(low), in, sizeof in),
						wet_print_temperature((int32_t)json_integer_value(high), out, sizeof out));
}

/* The k-th stage of this name. */
static const json_t *stage_named(const json_t *side, const char *name, int k)
{
	size_t i;
	json_t *stage;
	json_array_foreach(json_object_get(side, "stages"), i, stage)
	{
		if (strcmp(json_string_value(json_object_get(stage, "name")), name) == 0 && k-- == 0)
			return stage;
	}
	return NULL;
}

static void add_rows(json_t *rows, const json_t *of, const json_t *first, const json_t *second)
{
	size_t i, m;
	json_t *stage, *before;
	char a[96], b[96];
	json_array_foreach(json_object_get(of, "stages"), i, stage)
	{
		const char *name = json_string_value(json_object_get(stage, "name"));
		int k = 0;
		json_array_foreach(json_object_get(of, "stages"), m, before)
		{
			if (m < i && strcmp(json_string_value(json_object_get(before, "name")), name) == 0)
				k++;
		}
		const json_t *one = stage_named(first, name, k), *two = stage_named(second, name, k);
		if (of == second && one)
			continue; /* it has its row */
		say_side(one, a, sizeof a);
		say_side(two, b, sizeof b);
		json_int_t by_us = one && two ? json_integer_value(json_object_get(two, "took_us")) -
											json_integer_value(json_object_get(one, "took_us"))
									  : 0;
		(void)json_array_append_new(rows,
									json_pack("{s:s, s:s, s:s, s:b, s:I}", "stage", name, "first", a, "second", b, "differs",
											  !one || !two || by_us > 1000000 || by_us < -1000000, "by_us", by_us));
	}
}

static void take_second(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	struct book *b = ctx;
	if (!book_is_wanted(b))
		return;
	if (fault->err != WET_OK || !r) {
		book_fault(b, fault);
		return;
	}
	json_t *rows = json_array(), *first = json_incref(b->more), *second = side_of(b, r);
	add_rows(rows, first, first, second);
	add_rows(rows, second, first, second);
	book_answer(b, json_pack("{s:o, s:o, s:o}", "first", first, "second", second, "rows", rows));
}

static void take_first(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	struct book *b = ctx;
	if (!book_is_wanted(b))
		return;
	if (fault->err != WET_OK || !r) {
		book_fault(b, fault);
		return;
	}
	b->more = side_of(b, r);
	wet_darkroom_get_record(b->call.methods->darkroom, b->after_id, take_second, b);
}

static void compare(struct book *b)
{
	int64_t run = 0, with = 0;
	if (!want_run(b, "run", &run) || !want_run(b, "with", &with))
		return;
	if (run == with) {
		book_refuse(b, WET_ERR_PARAMS, "with", NULL, "another run");
		return;
	}
	b->after_id = with;
	wet_darkroom_get_record(b->call.methods->darkroom, run, take_first, b);
}

void serve_record_compare(struct wet_call *c)
{
	book_open(c, compare);
}
