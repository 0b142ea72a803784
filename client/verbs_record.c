/* verbs_record.c: finished runs: a list, one, those that are sought, two side by side. */
#include "client/client.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

/* "2:05", of a stretch of run time. */
static void say_time(json_int_t us, char *buf, size_t bytes)
{
	json_int_t s = (us + 500000) / 1000000;
	wet_text_format(buf, bytes, "%lld:%02d", (long long)(s / 60), (int)(s % 60));
}

static void say_runs(const json_t *result)
{
	size_t i;
	json_t *row;
	char line[400], when[32];
	json_array_foreach(json_object_get(result, "runs"), i, row)
	{
		say_when(json_integer_value(json_object_get(row, "armed_wall_ms")), when, sizeof when);
		wet_text_format(line, sizeof line, "%4d  %s  %-12s %-32s %s%s", (int)json_integer_value(json_object_get(row, "id")),
						when, text_of(row, "name"), text_of(row, "recipe"), text_of(row, "outcome"),
						json_is_true(json_object_get(row, "is_rehearsal")) ? " (rehearsal)" : "");
		say(line);
	}
	if (json_array_size(json_object_get(result, "runs")) == 0)
		say("No finished run yet.");
}

/* What was gone through before the light went out: what was not confirmed stands first. */
static void say_answers(const json_t *answers)
{
	json_t *row;
	size_t i;
	char line[400], when[32];
	if (json_array_size(answers) == 0)
		say("The checklist was not gone through.");
	else
		say("Before the light went out:");
	for (int confirmed = 0; confirmed < 2; confirmed++) {
		json_array_foreach(answers, i, row)
		{
			const char *word = text_of(row, "answer");
			bool stands = strcmp(word, "stands") == 0;
			if ((stands || strcmp(word, "confirmed") == 0) != (confirmed == 1))
				continue;
			say_when(json_integer_value(json_object_get(row, stands ? "since_ms" : "wall_ms")), when, sizeof when);
			wet_text_format(line, sizeof line, "  %s by %s, %s: %s", stands ? "still confirmed" : word, text_of(row, "person"),
							when, text_of(row, "text"));
			say(line);
		}
	}
}

/* Bottles and baths, and what nobody could hear. */
static void say_used(const json_t *result)
{
	size_t i;
	json_t *row;
	char line[400], gap[24];
	const json_t *gaps = json_object_get(result, "gaps");
	json_array_foreach(json_object_get(result, "baths"), i, row)
	{
		wet_text_format(line, sizeof line, "  %s: %s (%s), %g cm2 in this run", text_of(row, "stage_name"),
						text_of(row, "name"), text_of(row, "what"),
						(double)json_integer_value(json_object_get(row, "area_mm2")) / 100);
		if (json_is_integer(json_object_get(row, "used_milli")))
			wet_text_append(line, sizeof line, ", %g %% of what it bears by then",
							(double)(json_integer_value(json_object_get(row, "used_milli")) / 10));
		if (json_integer_value(json_object_get(row, "aged_milli")) >= 10)
			wet_text_append(line, sizeof line, ", %g %% of its age used as it began",
							(double)(json_integer_value(json_object_get(row, "aged_milli")) / 10));
		say(line);
	}
	if (json_integer_value(json_object_get(gaps, "count")) > 0) {
		say_time(json_integer_value(json_object_get(gaps, "us")), gap, sizeof gap);
		wet_text_format(line, sizeof line, "Nobody could hear for %s in all; %lld cues missed. %s", gap,
						(long long)json_integer_value(json_object_get(gaps, "cues_missed")), text_of(gaps, "missed"));
		say_wrapped(line);
	}
}

static void say_pieces(const json_t *pieces)
{
	size_t i;
	json_t *row;
	char line[2000];
	json_array_foreach(pieces, i, row)
	{
		wet_text_format(
			line, sizeof line, "  slot %d: piece %s%s%s%s%s%s%s%s", (int)json_integer_value(json_object_get(row, "slot")),
			text_of(row, "name"), text_of(row, "camera")[0] ? ", " : "", text_of(row, "camera"),
			text_of(row, "note")[0] ? "; " : "; no note", text_of(row, "note"), text_of(row, "judged")[0] ? "; " : "",
			text_of(row, "judged"), text_of(row, "judged")[0] && !json_is_true(json_object_get(row, "is_dry")) ? " (wet)" : "");
		say_wrapped(line);
	}
}

static void say_run(const json_t *result)
{
	size_t i;
	json_t *row;
	char line[400], when[32], begin[24], took[24];
	const json_t *run = json_object_get(result, "run");
	say_when(json_integer_value(json_object_get(run, "armed_wall_ms")), when, sizeof when);
	wet_text_format(line, sizeof line, "%s, %s, %s", text_of(run, "recipe"), when, text_of(run, "outcome"));
	say(line);
	json_array_foreach(json_object_get(result, "stages"), i, row)
	{
		say_time(json_integer_value(json_object_get(row, "begin_us")), begin, sizeof begin);
		say_time(json_integer_value(json_object_get(row, "end_us")) - json_integer_value(json_object_get(row, "begin_us")),
				 took, sizeof took);
		json_int_t planned_us = json_integer_value(json_object_get(row, "planned_us"));
		char planned[24];
		say_time(planned_us, planned, sizeof planned);
		wet_text_format(line, sizeof line, "  %8s  %-16s took %8s%s%s%s%s%s", begin, text_of(row, "name"), took,
						planned_us > 0 ? ", planned " : "", planned_us > 0 ? planned : "",
						json_is_true(json_object_get(row, "is_early")) ? "; ended early by hand" : "",
						json_is_true(json_object_get(row, "is_past_most")) ? "; past its most" : "",
						json_is_true(json_object_get(row, "is_uncertain")) ? "; uncertain" : "");
		double late_s = (double)json_integer_value(json_object_get(row, "late_pour_ms")) / 1e3;
		if (late_s > 0)
			wet_text_append(line, sizeof line, "; the next poured %.1f s late", late_s);
		say(line);
		const json_t *warmth = json_object_get(row, "warmth");
		if (text_of(warmth, "text")[0]) {
			wet_text_format(line, sizeof line, "  %8s  %s. %s", "", text_of(warmth, "text"), text_of(warmth, "course_text"));
			say(line);
		}
	}
	say_used(result);
	say_pieces(json_object_get(result, "pieces"));
	say_answers(json_object_get(result, "checklist"));
	say("What was done:");
	json_array_foreach(json_object_get(result, "events"), i, row)
	{
		double by_s = (double)json_integer_value(json_object_get(row, "by_us")) / 1e6;
		struct tm tm;
		time_t t = (time_t)(json_integer_value(json_object_get(row, "wall_ms")) / 1000);
		char clock[16] = "";
		if (localtime_r(&t, &tm))
			(void)strftime(clock, sizeof clock, "%H:%M:%S", &tm);
		wet_text_format(line, sizeof line, "  %s  %s %s%s%s", clock, text_of(row, "act"), text_of(row, "temperature"),
						text_of(row, "bath_name")[0] ? " " : "", text_of(row, "bath_name"));
		if (by_s != 0)
			wet_text_append(line, sizeof line, "by %+.1f s", by_s);
		if (json_is_true(json_object_get(row, "by_probe")))
			wet_text_append(line, sizeof line, ", by a probe");
		say(line);
	}
}

static int compare(struct session *s, json_t *params)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[400];
	int rc = ask(s, "record.compare", params, &result);
	if (rc == DONE && !show(s, result)) {
		const json_t *first = json_object_get(result, "first"), *second = json_object_get(result, "second");
		wet_text_format(line, sizeof line, "  %-18s %-32s %s", "", text_of(json_object_get(first, "run"), "recipe"),
						text_of(json_object_get(second, "run"), "recipe"));
		say(line);
		json_array_foreach(json_object_get(result, "rows"), i, row)
		{
			double by_s = (double)json_integer_value(json_object_get(row, "by_us")) / 1e6;
			wet_text_format(line, sizeof line, "%s %-18s %-32s %s", json_is_true(json_object_get(row, "differs")) ? "*" : " ",
							text_of(row, "stage"), text_of(row, "first"), text_of(row, "second"));
			if (by_s > 1 || by_s < -1)
				wet_text_append(line, sizeof line, "  (%+.0f s)", by_s);
			say(line);
		}
		for (int k = 0; k < 2; k++) {
			const json_t *side = k ? second : first;
			wet_text_format(line, sizeof line,
							"Run %lld:", (long long)json_integer_value(json_object_get(json_object_get(side, "run"), "id")));
			say(line);
			say_used(side);
			say_pieces(json_object_get(side, "pieces"));
		}
	}
	json_decref(result);
	return rc;
}

/* One run: its record, and its pieces beside it. */
static int show_run(struct session *s, json_int_t number)
{
	json_t *result = NULL, *pieces = NULL;
	int rc = ask(s, "record.get", json_pack("{s:I}", "run", number), &result);
	if (rc == DONE)
		rc = ask(s, "record.pieces", json_pack("{s:I}", "run", number), &pieces);
	if (rc == DONE)
		(void)json_object_update_missing(result, pieces);
	if (rc == DONE && !show(s, result))
		say_run(result);
	json_decref(pieces);
	json_decref(result);
	return rc;
}

int verb_record(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "before", "before", NUMBER }, { "with", "with", NUMBER },
											  { "find", "words", TEXT },      { "date", "date", TEXT },
											  { "since", "since", TEXT },     { "until", "until", TEXT },
											  { "recipe", "recipe", TEXT },   { "camera", "camera", TEXT },
											  { "paper", "paper", TEXT },     { NULL, NULL, TEXT } };
	static const char *const keys[] = { "run", NULL };
	json_t *params = json_object(), *result = NULL;
	char *end;
	if (wants_exchange(argc, argv)) {
		json_decref(params);
		return exchange(s, argc, argv);
	}
	bool has_number = argc > 1 && argv[1][0] != '-';
	int rc = read_args(s, argc, argv, rows, has_number ? keys : NULL, params);
	const char *word = text_of(params, "run");
	long long number = word[0] ? strtoll(word, &end, 10) : 0;
	if (rc == DONE && word[0] && (*end || number < 1))
		rc = fail(s, USAGE, "record: a run's number is needed, as `wetside record` lists them");
	else if (rc == DONE && number > 0 && json_object_size(params) > (json_object_get(params, "with") ? 2U : 1U))
		rc = fail(s, USAGE, "record: beside a run's number only --with another; try: wetside record --help");
	else if (rc == DONE && number == 0 && json_object_get(params, "with"))
		rc = fail(s, USAGE, "record: two runs are compared with: wetside record 3 --with 5");
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (number > 0) {
		(void)json_object_set_new(params, "run", json_integer(number));
		if (json_object_get(params, "with"))
			return compare(s, params);
		json_decref(params);
		return show_run(s, number);
	}
	bool finds = json_object_size(params) > (json_object_get(params, "before") ? 1U : 0U);
	rc = ask(s, finds ? "record.find" : "record.list", params, &result);
	if (rc == DONE && !show(s, result)) {
		if (finds && json_array_size(json_object_get(result, "runs")) == 0)
			say("No finished run holds all of that.");
		else
			say_runs(result);
	}
	json_decref(result);
	return rc;
}
