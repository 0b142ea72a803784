/* print_pages.c: what stands on each page. */
#include "client/print.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The one word after the kind, sent as `key`; the answer. */
static int ask_named(struct print *p, int argc, char **argv, const char *method, const char *key, const char *flag,
					 json_t **ret_result)
{
	static const struct option_row none[] = { { NULL, NULL, TEXT } };
	const char *keys[] = { key, NULL };
	json_t *params = json_object();
	int rc = read_args(p->session, argc, argv, none, keys, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (flag)
		(void)json_object_set_new(params, flag, json_true());
	return ask(p->session, method, params, ret_result);
}

static void print_lines(struct print *p, const json_t *lines)
{
	size_t i;
	json_t *line;
	json_array_foreach(lines, i, line)
	{
		if (json_is_string(line) && json_string_length(line) > 0)
			print_text(p, json_string_value(line));
	}
}

/* -- the process card --------------------------------------------------------------------------- */

/* A value of a recipe stands as it is, or with its source in an object. */
static const char *value_of(const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);
	return json_is_object(value) ? text_of(value, "value") : text_of(object, key);
}

static const json_t *bath_of(const json_t *recipe, const char *key)
{
	size_t i;
	json_t *bath;
	json_array_foreach(json_object_get(recipe, "baths"), i, bath)
	{
		if (strcmp(text_of(bath, "key"), key) == 0)
			return bath;
	}
	return NULL;
}

/* "Camera {piece}" is "Camera n" where it stands for all of them. */
static void add_said(const char *said, char *buf, size_t bytes)
{
	static const char piece[] = "{piece}";
	for (const char *at; (at = strstr(said, piece)); said = at + sizeof piece - 1)
		wet_text_append(buf, bytes, "%.*sn", (int)(at - said), said);
	wet_text_append(buf, bytes, "%s", said);
}

static void print_stage_rows(json_t *rows, const json_t *recipe)
{
	size_t i;
	json_t *stage;
	char number[8], what[400], how[200];
	json_array_foreach(json_object_get(recipe, "stages"), i, stage)
	{
		const json_t *bath = bath_of(recipe, text_of(stage, "bath"));
		const char *after = text_of(bath, "after"), *moves = value_of(stage, "agitation");
		bool is_still = strcmp(moves, "none") == 0 || !moves[0];
		wet_text_format(number, sizeof number, "%zu", i + 1);
		wet_text_format(what, sizeof what, "%s%s", text_of(bath, "place"), text_of(stage, "say")[0] && bath ? "; " : "");
		add_said(text_of(stage, "say"), what, sizeof what);
		wet_text_format(how, sizeof how, "%s%s%s", is_still ? "" : moves, is_still || !text_of(stage, "how")[0] ? "" : ": ",
						is_still ? "" : text_of(stage, "how"));
		(void)json_array_append_new(
			rows, json_pack("[s, s, s, s, s, s]", number, text_of(stage, "name"), value_of(stage, "aim"), what, how,
							!bath ? "" : strcmp(after, "back") == 0 ? "back" : "away"));
	}
}

/* What stands under one heading of the note, as one text. */
static void print_section(struct print *p, char *section)
{
	size_t n = strlen(section);
	while (n > 0 && section[n - 1] == '\n') /* the empty line before the next heading */
		section[--n] = '\0';
	if (section[0])
		print_block(p, "text", json_string(section));
	section[0] = '\0';
}

/* The recipe's safety note: its lines were broken for a terminal and are put together again. */
static void print_note(struct print *p, const char *note)
{
	char section[6000] = "", line[400];
	for (const char *at = note; *at;) {
		size_t n = strcspn(at, "\n");
		bool goes_on = at[0] == ' ' || (at[0] != '-' && section[0] && section[strlen(section) - 1] != '\n');
		wet_text_format(line, sizeof line, "%.*s", (int)n, at + strspn(at, "# "));
		line[strcspn(line, "\n")] = '\0';
		wet_text_clean(line, sizeof line, line);
		if (at[0] == '#') {
			print_section(p, section);
			print_heading(p, line);
		} else if (n > 0) {
			bool is_begun = section[0] && section[strlen(section) - 1] != '\n';
			wet_text_append(section, sizeof section, "%s%s", !is_begun ? "" : goes_on ? " " : "\n", line);
		} else if (section[0]) {
			wet_text_append(section, sizeof section, "\n"); /* an empty line ends what goes before */
		}
		at += n + (at[n] == '\n');
	}
	print_section(p, section);
}

int print_process(struct print *p, int argc, char **argv)
{
	static const char *const stages[] = { "right:", "left:Stage", "right:Time", "left:Where, and what to mind",
										  "left:Move", "left:Pour", NULL };
	static const char *const baths[] = { "left:Bath", "left:Place", "left:What it is", NULL };
	json_t *result = NULL, *note = NULL, *row;
	size_t i;
	int rc = ask_named(p, argc, argv, "recipe.get", "name", NULL, &result);
	if (rc == DONE)
		rc = ask(p->session, "safety.get", json_pack("{s:s}", "name", text_of(result, "name")), &note);
	if (rc == DONE) {
		const json_t *recipe = json_object_get(result, "recipe");
		(void)json_object_set_new(p->document, "size_pt", json_real(9.5)); /* so that the note keeps to one page */
		print_title(p, text_of(result, "title"), text_of(result, "name"));
		print_stage_rows(json_object_get(print_table(p, 10, stages), "rows"), recipe);
		print_text(p, "The times are those at the recipe's temperature; wetside's clock leads, this card does not replace it.");
		print_heading(p, "Baths, in pouring order");
		json_t *rows = json_object_get(print_table(p, 10, baths), "rows");
		json_array_foreach(json_object_get(recipe, "baths"), i, row)
			(void)json_array_append_new(
				rows, json_pack("[s, s, s]", text_of(row, "name"), text_of(row, "place"), value_of(row, "solution")));
		print_block(p, "caution", json_string("Read the safety note first; the safety data sheets outrank it and this card."));
		print_block(p, "page", json_true());
		print_note(p, text_of(note, "note"));
	}
	json_decref(note);
	json_decref(result);
	return rc;
}

/* -- time against temperature --------------------------------------------------------------------- */

/* Rows by temperature, one column a stage: the daemon has told each stage's points in the same steps. */
static void print_time_rows(struct print *p, const json_t *stages)
{
	const char *titles[16] = { "left:Temperature" };
	char words[14][80];
	size_t count = json_array_size(stages), i, k;
	json_t *stage, *point;
	count = count > 14 ? 14 : count;
	for (i = 0; i < count; i++) {
		wet_text_format(words[i], sizeof words[i], "right:%s", text_of(json_array_get(stages, i), "name"));
		titles[i + 1] = words[i];
	}
	titles[count + 1] = NULL;
	json_t *rows = json_object_get(print_table(p, 10, titles), "rows"), *by_degree = json_object();
	json_array_foreach(stages, i, stage)
	{
		json_array_foreach(json_object_get(stage, "points"), k, point)
		{
			const char *at = text_of(point, "at");
			json_t *row = json_object_get(by_degree, at);
			if (!json_is_true(json_object_get(point, "is_row")) || i >= count)
				continue;
			if (!row) {
				row = json_array();
				(void)json_object_set_new(by_degree, at, row);
				(void)json_array_append_new(row, json_string(at));
				for (size_t n = 0; n < count; n++)
					(void)json_array_append_new(row, json_string("-"));
			}
			(void)json_array_set_new(row, i + 1, json_string(text_of(point, "time")));
		}
	}
	const char *key;
	json_t *row;
	/* The longest course begins coldest and ends warmest: sorted by its own number. */
	double last = -1e9;
	for (size_t done = 0; done < json_object_size(by_degree); done++) {
		const char *next = NULL;
		double lowest = 1e9;
		json_object_foreach(by_degree, key, row)
		{
			double at = strtod(key, NULL);
			if (at > last && at < lowest) {
				lowest = at;
				next = key;
			}
		}
		if (next)
			(void)json_array_append(rows, json_object_get(by_degree, next));
		last = lowest;
	}
	json_decref(by_degree);
}

int print_times(struct print *p, int argc, char **argv)
{
	json_t *result = NULL, *stage, *point;
	size_t i, k;
	int rc = ask_named(p, argc, argv, "recipe.times", "name", p->is_us ? "fahrenheit" : NULL, &result);
	if (rc == DONE) {
		const json_t *stages = json_object_get(result, "stages");
		json_t *series = json_array();
		print_title(p, "Time and temperature", text_of(result, "title"));
		json_array_foreach(stages, i, stage)
		{
			json_t *points = json_array();
			json_array_foreach(json_object_get(stage, "points"), k, point)
				(void)json_array_append_new(points, json_pack("[O, O]", json_object_get(point, "degrees"),
															  json_object_get(point, "seconds")));
			/* A wash is ten times as long: it stands in the table, where it squeezes nothing. */
			if (json_array_size(points) > 0 && strcmp(text_of(stage, "kind"), "wash") != 0)
				(void)json_array_append_new(series, json_pack("{s:s, s:o}", "name", text_of(stage, "name"), "points", points));
			else
				json_decref(points);
		}
		if (json_array_size(series) > 0)
			print_block(p, "chart", json_pack("{s:{s:s}, s:{s:s, s:b, s:b}, s:o, s:i}", "x", "title",
											  p->is_us ? "Temperature of the bath, F" : "Temperature of the bath, C", "y", "title",
											  "Minutes:seconds", "is_time", 1, "is_log", 1, "series", series, "height_mm", 80));
		else
			json_decref(series);
		print_time_rows(p, stages);
		print_text(p, "-: not at this temperature. Times can be matched to the temperature, contrast can't be brought back in full: "
					  "work near the recipe's own temperature.");
	}
	json_decref(result);
	return rc;
}

/* -- the mixing sheet ------------------------------------------------------------------------------- */

/* Is it told in capitals, as LOAD 2 and AFTERWARDS are? */
static bool is_head(const char *text)
{
	return text[0] >= 'A' && text[0] <= 'Z' && text[1] >= 'A' && text[1] <= 'Z';
}

/* A line with a box goes to the list under way, a line set in belongs to the box before it. Returns the list that goes on. */
static json_t *print_sheet_line(struct print *p, json_t *checks, const char *text)
{
	char line[600];
	size_t last = json_array_size(checks);
	if (strncmp(text, "[ ] ", 4) == 0) {
		if (!checks) {
			checks = json_array();
			print_block(p, "checks", checks);
		}
		(void)json_array_append_new(checks, json_string(text + 4));
		return checks;
	}
	if (text[0] == ' ' && last > 0) {
		wet_text_format(line, sizeof line, "%s\n%s", json_string_value(json_array_get(checks, last - 1)), text + strspn(text, " "));
		(void)json_array_set_new(checks, last - 1, json_string(line));
		return checks;
	}
	if (is_head(text) || strstr(text, "), load"))
		print_heading(p, text);
	else if (text[0])
		print_text(p, text);
	return NULL;
}

int print_plan(struct print *p, int argc, char **argv)
{
	json_t *result = NULL, *line, *checks = NULL;
	size_t i;
	char subtitle[200], when[32];
	int rc = ask_named(p, argc, argv, "plan.get", "name", NULL, &result);
	if (rc != DONE)
		return rc;
	say_when(json_integer_value(json_object_get(result, "wall_ms")), when, sizeof when);
	wet_text_format(subtitle, sizeof subtitle, "%s, for %s; planned %s", text_of(result, "name"), text_of(result, "recipe"), when);
	print_title(p, "Mixing sheet", subtitle);
	json_array_foreach(json_object_get(result, "sheet"), i, line)
	{
		if (json_is_string(line))
			checks = print_sheet_line(p, checks, json_string_value(line));
	}
	print_heading(p, "Cautions");
	print_lines(p, json_object_get(result, "cautions"));
	json_decref(result);
	return rc;
}

/* -- the record of a run ------------------------------------------------------------------------------ */

static void add_time(json_int_t us, char *buf, size_t bytes)
{
	json_int_t s = (us + 500000) / 1000000;
	wet_text_format(buf, bytes, "%lld:%02d", (long long)(s / 60), (int)(s % 60));
}

static void print_record_stages(struct print *p, const json_t *result)
{
	static const char *const titles[] = { "right:Began",           "left:Stage", "right:Planned", "right:Took",
										  "left:How warm, and what was out of the ordinary", NULL };
	size_t i;
	json_t *stage;
	char begin[24], planned[24], took[24], notes[300], late[48];
	json_t *rows = json_object_get(print_table(p, 10, titles), "rows");
	json_array_foreach(json_object_get(result, "stages"), i, stage)
	{
		json_int_t begin_us = json_integer_value(json_object_get(stage, "begin_us"));
		json_int_t late_ms = json_integer_value(json_object_get(stage, "late_pour_ms"));
		add_time(begin_us, begin, sizeof begin);
		add_time(json_integer_value(json_object_get(stage, "end_us")) - begin_us, took, sizeof took);
		wet_text_format(late, sizeof late, "the next poured %.1f s late; ", (double)late_ms / 1e3);
		const char *warm = text_of(json_object_get(stage, "warmth"), "text");
		json_int_t planned_us = json_integer_value(json_object_get(stage, "planned_us"));
		add_time(planned_us, planned, sizeof planned);
		if (planned_us == 0) /* handling has no clock */
			planned[0] = '\0';
		wet_text_format(notes, sizeof notes, "%s%s%s%s%s%s", warm, warm[0] ? "; " : "",
						json_is_true(json_object_get(stage, "is_early")) ? "ended early by hand; " : "",
						json_is_true(json_object_get(stage, "is_past_most")) ? "past its most; " : "",
						json_is_true(json_object_get(stage, "is_uncertain")) ? "uncertain; " : "", late_ms > 0 ? late : "");
		size_t n = strlen(notes);
		notes[n >= 2 ? n - 2 : 0] = '\0';
		(void)json_array_append_new(rows, json_pack("[s, s, s, s, s]", begin, text_of(stage, "name"), planned, took, notes));
	}
}

/* Readings over the time since begin, a line for each bath. */
static void print_record_chart(struct print *p, const json_t *result)
{
	size_t i, k;
	json_t *stage, *point, *series = json_array();
	char name[300];
	json_array_foreach(json_object_get(result, "stages"), i, stage)
	{
		const json_t *warmth = json_object_get(stage, "warmth");
		json_t *points = json_array();
		double begin_us = (double)json_integer_value(json_object_get(stage, "begin_us"));
		json_array_foreach(json_object_get(warmth, "points"), k, point)
		{
			double at_us = begin_us + (double)json_integer_value(json_object_get(point, "at_us"));
			double mc = (double)json_integer_value(json_object_get(point, "temperature_mc"));
			(void)json_array_append_new(points, json_pack("[f, f]", at_us / 1e6, mc / 1e3));
		}
		wet_text_format(name, sizeof name, "%s: %s; %s", text_of(stage, "name"), text_of(warmth, "text"), text_of(warmth, "course_text"));
		if (json_array_size(points) > 0 && json_array_size(series) < 12)
			(void)json_array_append_new(series, json_pack("{s:s, s:o, s:b}", "name", name, "points", points, "has_marks", 1));
		else
			json_decref(points);
	}
	if (json_array_size(series) > 0) {
		print_heading(p, "Temperature of the baths");
		print_block(p, "chart", json_pack("{s:{s:s, s:b}, s:{s:s}, s:o, s:i}", "x", "title", "Minutes since begin", "is_time", 1, "y",
										  "title", "C", "series", series, "height_mm", 70));
	} else {
		json_decref(series);
	}
}

int print_record(struct print *p, int argc, char **argv)
{
	static const struct option_row none[] = { { NULL, NULL, TEXT } };
	static const char *const keys[] = { "run", NULL };
	static const char *const titles[] = { "left:When", "left:What was done", NULL };
	json_t *params = json_object(), *result = NULL, *event;
	size_t i;
	char line[300], when[32], *end = NULL;
	int rc = read_args(p->session, argc, argv, none, keys, params);
	long long number = rc == DONE ? strtoll(text_of(params, "run"), &end, 10) : 0;
	if (rc == DONE && (*end || number < 1))
		rc = fail(p->session, USAGE, "print record: a run's number is needed, as `wetside record` lists them");
	json_decref(params);
	if (rc == DONE)
		rc = ask(p->session, "record.get", json_pack("{s:I}", "run", (json_int_t)number), &result);
	if (rc != DONE)
		return rc;
	const json_t *run = json_object_get(result, "run");
	say_when(json_integer_value(json_object_get(run, "armed_wall_ms")), when, sizeof when);
	wet_text_format(line, sizeof line, "%s, %s: %s%s", text_of(run, "recipe"), when, text_of(run, "outcome"),
					json_is_true(json_object_get(run, "is_rehearsal")) ? " (a rehearsal)" : "");
	wet_text_format(when, sizeof when, "Run %lld", number);
	print_title(p, when, line);
	print_record_stages(p, result);
	print_record_chart(p, result);
	json_t *rows = json_object_get(print_table(p, 9, titles), "rows");
	json_array_foreach(json_object_get(result, "events"), i, event)
	{
		say_when(json_integer_value(json_object_get(event, "wall_ms")), when, sizeof when);
		wet_text_format(line, sizeof line, "%s %s %s", text_of(event, "act"), text_of(event, "temperature"), text_of(event, "bath_name"));
		(void)json_array_append_new(rows, json_pack("[s, s]", when, line));
	}
	json_decref(result);
	return rc;
}

/* -- the cutting drawing ------------------------------------------------------------------------------- */

static double mm_of(const json_t *um, size_t i)
{
	return json_number_value(json_array_get(um, i)) / 1000;
}

static void print_layout(struct print *p, const json_t *layout, const char *sheet)
{
	static const char *const titles[] = { "right:Cut", "left:In the dark, one after the other", NULL };
	size_t i;
	json_t *part, *step, *rects = json_array(), *cuts = json_array();
	char line[120];
	const json_t *whole = json_object_get(json_array_get(json_object_get(layout, "parts"), 0), "um");
	json_array_foreach(json_object_get(layout, "parts"), i, part)
	{
		const json_t *um = json_object_get(part, "um");
		const char *is = text_of(part, "is");
		bool is_piece = strcmp(is, "piece") == 0;
		if (strcmp(is, "strip") == 0)
			continue;
		wet_text_format(line, sizeof line, "%lld", (long long)json_integer_value(json_object_get(part, "number")));
		(void)json_array_append_new(rects, json_pack("{s:f, s:f, s:f, s:f, s:s, s:b}", "x", mm_of(um, 0), "y", mm_of(um, 1),
													 "width", mm_of(um, 2), "height", mm_of(um, 3),
													 "label", is_piece ? line : is, "is_waste", !is_piece));
	}
	json_t *rows = json_array();
	json_array_foreach(json_object_get(layout, "steps"), i, step)
	{
		const json_t *um = json_object_get(step, "line_um");
		wet_text_format(line, sizeof line, "%zu", i + 1);
		if (um)
			(void)json_array_append_new(cuts, json_pack("{s:f, s:f, s:f, s:f, s:s}", "x1", mm_of(um, 0), "y1", mm_of(um, 1),
														"x2", mm_of(um, 2), "y2", mm_of(um, 3), "label", line));
		(void)json_array_append_new(rows, json_pack("[s, s]", line, text_of(step, "text")));
	}
	print_block(p, "drawing", json_pack("{s:f, s:f, s:f, s:s, s:o, s:o}", "width", mm_of(whole, 2), "height", mm_of(whole, 3),
										"unit_mm", 0.45,
										"across", sheet, "rects", rects, "cuts", cuts));
	json_t *table = print_table(p, 11, titles);
	(void)json_object_set_new(table, "rows", rows);
}

int print_cut(struct print *p, int argc, char **argv)
{
	json_t *params = json_object(), *result = NULL, *row, *again;
	size_t i;
	int rc = read_cut(p->session, argc, argv, params);
	char title[200];
	again = json_deep_copy(params);
	if (rc == DONE)
		rc = ask(p->session, "cut.compute", params, &result);
	else
		json_decref(params);
	if (rc == DONE) {
		wet_text_format(title, sizeof title, "Cutting %s", text_of(again, "sheet"));
		print_title(p, title, json_string_value(json_array_get(json_object_get(result, "text"), 0)));
		json_t *more = json_deep_copy(json_object_get(result, "text"));
		(void)json_array_remove(more, 0); /* it stands under the title */
		print_lines(p, more);
		json_decref(more);
		print_heading(p, "Before the light goes out");
		print_block(p, "checks", json_incref(json_object_get(result, "before_dark")));
	}
	json_array_foreach(json_object_get(result, "layouts"), i, row)
	{
		json_t *one = NULL;
		const json_t *layout = row;
		if (rc == DONE && !json_object_get(row, "parts")) { /* it had no room in the first reply */
			json_t *asked = json_deep_copy(again);
			(void)json_object_set_new(asked, "layout", json_integer((json_int_t)i + 1));
			rc = ask(p->session, "cut.compute", asked, &one);
			layout = json_array_get(json_object_get(one, "layouts"), i);
		}
		if (rc == DONE) {
			wet_text_format(title, sizeof title, "Sheet %lld", (long long)json_integer_value(json_object_get(layout, "sheet")));
			print_heading(p, title);
			print_layout(p, layout, text_of(again, "sheet"));
		}
		json_decref(one);
	}
	json_decref(again);
	json_decref(result);
	return rc;
}

/* -- the field card ------------------------------------------------------------------------------------- */

/* 12 point and more: it is read outdoors, at arm's length. */
#define CARD_PT 13

int print_card(struct print *p, int argc, char **argv)
{
	static const struct option_row options[] = {
		{ "paper-index", "paper_index", TEXT }, { "direct-positive", "direct_positive", FLAG }, { "negative", "negative", FLAG },
		{ "reciprocity", "reciprocity", TEXT }, { "camera", "cameras", LIST },                  { "index", "index", TEXT },
		{ "aperture", "aperture", TEXT },       { NULL, NULL, TEXT }
	};
	json_t *params = json_object(), *result = NULL, *column;
	size_t i;
	char title[120];
	int rc = read_args(p->session, argc, argv, options, NULL, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(p->session, "meter.card", params, &result);
	if (rc == DONE) {
		json_t *table = json_pack("{s:[], s:O, s:i}", "columns", "rows", json_object_get(result, "rows"), "size_pt", CARD_PT);
		(void)json_object_set_new(p->document, "size_pt", json_integer(CARD_PT));
		print_title(p, "Field card", json_string_value(json_array_get(json_object_get(result, "text"), 0)));
		json_array_foreach(json_object_get(result, "columns"), i, column)
		{
			wet_text_clean(title, sizeof title, json_string_value(column));
			(void)json_array_append_new(json_object_get(table, "columns"),
										json_pack("{s:s, s:s}", "title", title, "side", i > 0 ? "right" : "left"));
		}
		print_block(p, "table", table);
		for (i = 1; i < json_array_size(json_object_get(result, "text")); i++)
			print_text(p, json_string_value(json_array_get(json_object_get(result, "text"), i)));
		print_text(p, "-: too short to count by hand, or over a day.");
	}
	json_decref(result);
	return rc;
}

/* -- the notebook ---------------------------------------------------------------------------------------- */

#define NOTE_PAGES 40 /* of the daemon's; a thick notebook */

static void add_card(json_t *cards, const json_t *note)
{
	char title[80], text[420], clean[420];
	double width = 9, height = 12; /* where its size is not known: the creek's */
	const char *size = text_of(note, "size"), *times;
	/* "90 mm x 120 mm": only the shape of the frame is taken from it. */
	if (size[0] >= '0' && size[0] <= '9' && (times = strstr(size, " x ")) != NULL) {
		width = strtod(size, NULL);
		height = strtod(times + 3, NULL);
	}
	wet_text_format(title, sizeof title, "%s  %s", text_of(note, "piece"), text_of(note, "state"));
	wet_text_copy(text, sizeof text, text_of(note, "text"));
	wet_text_clean(clean, sizeof clean, text);
	wet_text_clean(title, sizeof title, title);
	(void)json_array_append_new(cards, json_pack("{s:s, s:[s], s:f, s:f}", "title", title, "lines", clean, "picture_width",
												 width > 0 ? width : 9, "picture_height", height > 0 ? height : 12));
}

/* By their pieces' numbers, however often one was corrected since. */
static void put_in_order(json_t *notes, json_t *note)
{
	size_t at = json_array_size(notes);
	while (at > 0 && json_integer_value(json_object_get(json_array_get(notes, at - 1), "number")) >
						 json_integer_value(json_object_get(note, "number")))
		at--;
	(void)json_array_insert(notes, at, note);
}

int print_notes(struct print *p, int argc, char **argv)
{
	static const struct option_row options[] = { { "find", "find", TEXT }, { NULL, NULL, TEXT } };
	json_t *params = json_object(), *cards = json_array(), *notes = json_array(), *note;
	size_t i;
	int rc = read_args(p->session, argc, argv, options, NULL, params);
	char line[120];
	for (int page = 0; rc == DONE && page < NOTE_PAGES; page++) {
		json_t *result = NULL;
		rc = ask(p->session, "note.list", json_deep_copy(params), &result);
		json_array_foreach(json_object_get(result, "notes"), i, note) put_in_order(notes, note);
		json_t *next = json_object_get(result, "next");
		bool is_last = !next || json_is_null(next);
		if (!is_last)
			(void)json_object_set(params, "after", next);
		json_decref(result);
		if (is_last)
			break;
	}
	json_array_foreach(notes, i, note) add_card(cards, note);
	json_decref(notes);
	wet_text_format(line, sizeof line, "%zu entries", json_array_size(cards));
	print_title(p, "Notebook", line);
	if (rc == DONE && json_array_size(cards) == 0)
		rc = fail(p->session, REFUSED, "print notes: the notebook has no such entry; wetside note lists them");
	if (rc == DONE)
		print_block(p, "cards", json_pack("{s:O, s:i}", "cards", cards, "across", 3));
	json_decref(cards);
	json_decref(params);
	return rc;
}
