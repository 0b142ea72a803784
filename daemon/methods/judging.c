/* judging.c: a piece against what was wanted, and what all of a paper teach for the next. */
#include "methods/book.h"

#include "base/text.h"
#include "darkroom/records.h"

#include <math.h>
#include <string.h>

/* -- one piece as a result ---------------------------------------------------------------------- */

static int32_t number_or_unknown(const json_t *judged, const char *key)
{
	const json_t *value = json_object_get(judged, key);
	return json_is_integer(value) ? (int32_t)json_integer_value(value) : WET_NOT_KNOWN;
}

/* What a judgement, its note and its camera come to; false: why not, in `why`. */
static bool result_of(const struct book *b, const char *name, enum wet_sense sense, struct wet_result *ret, char *why,
					  unsigned why_bytes)
{
	struct wet_note n;
	struct wet_piece p = { 0 };
	struct wet_fault fault = { 0 };
	json_t *judged = book_object(book_row(b, BOOK_JUDGED, name));
	int32_t used_milli = number_or_unknown(judged, "used_milli"), aged_milli = number_or_unknown(judged, "aged_milli");
	*ret = (struct wet_result){ .lighter_stops = (double)json_integer_value(json_object_get(judged, "lighter_milli")) / 1000,
								.is_dry = json_is_true(json_object_get(judged, "is_dry")),
								.flaws = (uint32_t)json_integer_value(json_object_get(judged, "flaws")),
								.off_mc = number_or_unknown(judged, "off_mc"),
								.used_milli = aged_milli > used_milli ? aged_milli : used_milli };
	json_decref(judged);
	why[0] = '\0';
	if (!book_piece(b, name, &p))
		wet_text_copy(why, why_bytes, "the piece is not known");
	else if (!book_note(b, name, &n))
		wet_text_copy(why, why_bytes, "no note of it");
	else if (n.given_ms == 0)
		wet_text_copy(why, why_bytes, "its note has no time");
	else if (wet_note_light(&n, sense, &ret->ev100, &fault) != 0)
		wet_text_format(why, why_bytes, "its note has no reading that can be reckoned with: %s", fault.want);
	if (why[0])
		return false;
	if (p.is_fogged)
		ret->flaws |= 1u << WET_FLAW_FOGGED;
	const char *camera = n.camera[0] ? n.camera : p.camera;
	ret->f_number = (double)json_integer_value(json_object_get(json_object_get(b->cameras, camera), "f_number_milli")) / 1000;
	ret->time_s = (double)n.given_ms / 1000;
	if (ret->f_number <= 0)
		wet_text_format(why, why_bytes, "the aperture of its camera%s%s is not known", camera[0] ? " " : "", camera);
	return !why[0];
}

/* -- all of a paper ------------------------------------------------------------------------------- */

struct teaching {
	char paper[WET_NAME_BYTES];
	enum wet_sense sense;
	struct wet_reciprocity held;
	uint32_t count;
	char names[WET_RESULTS][WET_NAME_BYTES];
	struct wet_result results[WET_RESULTS];
	struct wet_verdict verdicts[WET_RESULTS];
	struct wet_lesson lesson;
	json_t *without; /* judged, but nothing to reckon with */
};

static bool is_of_paper(const struct book *b, const char *name, const char *paper, struct wet_piece *ret_piece)
{
	char own[WET_NAME_BYTES];
	return book_piece(b, name, ret_piece) && strcmp(book_paper(b, ret_piece, own, sizeof own), paper) == 0;
}

/* The law that was told of the paper's boxes. */
static void take_law(const struct book *b, const struct wet_piece *p, struct wet_reciprocity *held)
{
	json_t *box = book_object(book_row(b, BOOK_BOXES, p->box));
	const char *law = json_string_value(json_object_get(box, "reciprocity"));
	if (law)
		(void)wet_parse_reciprocity(law, held, NULL);
	json_decref(box);
}

/* The newest, where there are more than can be looked at: the rows come in the order of their last judgement. */
static void collect(const struct book *b, struct teaching *t)
{
	const char *name;
	json_t *row;
	char why[WET_LINE_BYTES];
	struct wet_piece p;
	json_object_foreach(b->rows[BOOK_JUDGED], name, row)
	{
		if (!is_of_paper(b, name, t->paper, &p))
			continue;
		take_law(b, &p, &t->held);
		if (t->count == WET_RESULTS) {
			memmove(t->names, t->names + 1, sizeof t->names - sizeof t->names[0]);
			memmove(t->results, t->results + 1, sizeof t->results - sizeof t->results[0]);
			t->count--;
		}
		if (result_of(b, name, t->sense, &t->results[t->count], why, sizeof why))
			wet_text_copy(t->names[t->count++], WET_NAME_BYTES, name);
		else
			(void)json_array_append_new(t->without, json_pack("{s:s, s:s}", "piece", name, "why", why));
	}
}

static void say(json_t *lines, const char *text)
{
	(void)json_array_append_new(lines, json_string(text));
}

/* Two figures, and never in powers of ten: it is set at a meter. */
static char *print_index(double index, char *buf, unsigned buf_bytes)
{
	double step = index > 0 ? pow(10, floor(log10(index)) - 1) : 0;
	return step < 1 ? wet_text_format(buf, buf_bytes, "%.2g", index) : wet_text_format(buf, buf_bytes, "%.0f", round(index / step) * step);
}

static json_t *lines_of(const struct teaching *t)
{
	const struct wet_lesson *l = &t->lesson;
	char line[2 * WET_LINE_BYTES], more[48], index[32], low[32], high[32];
	(void)print_index(l->index, index, sizeof index);
	json_t *lines = json_array();
	const char *paper = t->paper[0] ? t->paper : "this paper";
	switch (l->kind) {
	case WET_LESSON_NOTHING:
		wet_text_format(line, sizeof line,
						"Nothing of %s counts yet: judged dry, with a note that has its time, a reading and a camera.", paper);
		say(lines, line);
		return lines;
	case WET_LESSON_THUMB:
		wet_text_format(line, sizeof line,
						"%s: meter the next at index %s. A rule of thumb, not a fit: %u result%s, and under %d a line says "
						"nothing. It is the "
						"middle of what each says alone; no interval can be told.",
						paper, index, l->counted, l->counted == 1 ? "" : "s", WET_RESULTS_FOR_A_FIT);
		say(lines, line);
		return lines;
	case WET_LESSON_INDEX:
	case WET_LESSON_EXPONENT:
		wet_text_format(line, sizeof line, "%s: meter the next at index %s (%d %% interval %s to %s), from %u results.",
						paper, index, WET_CONFIDENCE, print_index(l->index_low, low, sizeof low),
						print_index(l->index_high, high, sizeof high), l->counted);
		say(lines, line);
	}
	if (l->kind == WET_LESSON_EXPONENT)
		wet_text_format(line, sizeof line, "Reciprocity: power %.2f (Schwarzschild's p; %.2f to %.2f).", l->exponent,
						l->exponent_low, l->exponent_high);
	else
		wet_text_copy(line, sizeof line,
					  "Reciprocity can't be told: the times are too alike, or the law that was told is no power.");
	say(lines, line);
	wet_text_format(line, sizeof line, "Surest at about %s: there within %.1f stops.",
					wet_print_exposure(l->middle_s, more, sizeof more),
					fmax(fabs(l->middle_low_stops), fabs(l->middle_high_stops)));
	say(lines, line);
	return lines;
}

static json_t *verdicts_of(const struct teaching *t, json_t *lines)
{
	json_t *list = json_array();
	char line[WET_LINE_BYTES];
	for (uint32_t i = 0; i < t->count; i++) {
		const struct wet_verdict *v = &t->verdicts[i];
		(void)json_array_append_new(list, json_pack("{s:s, s:b, s:s, s:b, s:f, s:f}", "piece", t->names[i], "counts",
													v->aside == WET_ASIDE_NO, "why", wet_aside_text(v->aside), "is_outlier",
													v->is_outlier, "off_stops", v->off_stops, "weight", v->weight));
		if (v->aside != WET_ASIDE_NO)
			wet_text_format(line, sizeof line, "Piece %s is set aside: %s.", t->names[i], wet_aside_text(v->aside));
		else if (v->is_outlier)
			wet_text_format(line, sizeof line,
							"Piece %s is an outlier, %.1f stops %s exposed than the others say: hardly counted, not dropped. "
							"Is its note right?",
							t->names[i], fabs(v->off_stops), v->off_stops > 0 ? "more" : "less");
		else
			continue;
		say(lines, line);
	}
	size_t k;
	json_t *one;
	json_array_foreach(t->without, k, one)
	{
		wet_text_format(line, sizeof line, "Piece %s teaches nothing: %.120s.",
						json_string_value(json_object_get(one, "piece")), json_string_value(json_object_get(one, "why")));
		say(lines, line);
	}
	return list;
}

static const char *kind_word(enum wet_lesson_kind kind)
{
	static const char *const words[] = { "nothing", "thumb", "index", "exponent" };
	return words[kind];
}

/* NULL: no memory, or a fault that says which result is none. */
static json_t *teach(const struct book *b, const char *paper, enum wet_sense sense, struct wet_fault *fault)
{
	struct teaching *t = calloc(1, sizeof *t);
	json_t *suggestion = NULL;
	if (!t)
		return NULL;
	wet_text_copy(t->paper, sizeof t->paper, paper);
	t->sense = sense;
	t->without = json_array();
	collect(b, t);
	if (wet_judge(sense, t->results, t->count, &t->held, t->verdicts, &t->lesson, fault) == 0) {
		const struct wet_lesson *l = &t->lesson;
		json_t *lines = lines_of(t), *verdicts = verdicts_of(t, lines);
		suggestion =
			json_pack("{s:s, s:s, s:s, s:i, s:i, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:O, s:o}", "paper", paper, "sense",
					  wet_sense_name(sense), "kind", kind_word(l->kind), "counted", (int)l->counted, "outliers",
					  (int)l->outliers, "index", l->index, "index_low", l->index_low, "index_high", l->index_high, "exponent",
					  l->exponent, "exponent_low", l->exponent_low, "exponent_high", l->exponent_high, "scale_stops",
					  l->scale_stops, "results", verdicts, "without", t->without, "lines", lines);
	}
	json_decref(t->without);
	free(t);
	return suggestion;
}

/* -- judging ------------------------------------------------------------------------------------------ */

static enum wet_sense sense_of_paper(const struct book *b, const char *paper)
{
	const char *name;
	json_t *row;
	struct wet_piece p;
	enum wet_sense found = WET_SENSE_UNSAID;
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (found != WET_SENSE_UNSAID || !is_of_paper(b, name, paper, &p))
			continue;
		json_t *judged = book_object(book_row(b, BOOK_JUDGED, name));
		const char *sense = json_string_value(json_object_get(judged, "sense"));
		found = book_sense(b, &p);
		if (found == WET_SENSE_UNSAID && sense)
			found =
				strcmp(sense, wet_sense_name(WET_SENSE_DIRECT_POSITIVE)) == 0 ? WET_SENSE_DIRECT_POSITIVE : WET_SENSE_NEGATIVE;
		json_decref(judged);
	}
	return found;
}

/* The judgement is complete but for its run: stores it, and tells what follows from all. */
static void put_judgement(struct book *b)
{
	struct wet_piece *p = &b->piece;
	char paper[WET_NAME_BYTES], stops[64], text[2 * WET_LINE_BYTES], flaws[WET_LINE_BYTES] = "";
	struct wet_fault fault = { 0 };
	json_t *judged = b->more;
	const char *word = json_string_value(json_object_get(judged, "sense"));
	enum wet_sense sense = strcmp(word ? word : "", wet_sense_name(WET_SENSE_DIRECT_POSITIVE)) == 0 ? WET_SENSE_DIRECT_POSITIVE
																									: WET_SENSE_NEGATIVE;
	double lighter = (double)json_integer_value(json_object_get(judged, "lighter_milli")) / 1000;
	double too_much = wet_judged_too_much_stops(sense, lighter);
	bool is_dry = json_is_true(json_object_get(judged, "is_dry"));
	uint32_t bits = (uint32_t)json_integer_value(json_object_get(judged, "flaws"));
	for (int i = 0; i < WET_FLAW_N; i++)
		if (bits & 1u << i)
			wet_text_append(flaws, sizeof flaws, ", %s", wet_flaw_text((enum wet_flaw)i));
	wet_text_format(text, sizeof text, "Piece %s, judged %s: %s%s.%s%s%s", b->name, is_dry ? "dry" : "wet",
					wet_print_judged(lighter, stops, sizeof stops), flaws, fabs(too_much) < 0.01 ? "" : " On this ",
					fabs(too_much) < 0.01 ? "" : wet_sense_name(sense),
					fabs(too_much) < 0.01 ? ""
					: too_much > 0        ? " that is too much exposure: give the next less."
										  : " that is too little exposure: give the next more.");
	if (!is_dry)
		wet_text_append(text, sizeof text, " It dries darker, so it teaches nothing yet: judge it again, dry.");
	int32_t aged_milli = number_or_unknown(judged, "aged_milli");
	if (aged_milli > WET_NORMAL_USED_MILLI)
		wet_text_append(text, sizeof text, " Its developer had used %d %% of its age, so it teaches nothing of the exposure.",
						aged_milli / 10);
	/* What is stored now counts among all, as the judgement that stands there for its piece. */
	char *body = json_dumps(judged, JSON_COMPACT | JSON_SORT_KEYS);
	int revision = (int)json_integer_value(json_object_get(book_row(b, BOOK_JUDGED, b->name), "revision"));
	(void)json_object_del(b->rows[BOOK_JUDGED], b->name);
	(void)json_object_set_new(b->rows[BOOK_JUDGED], b->name,
							  json_pack("{s:s, s:i}", "body", body ? body : "", "revision", revision));
	json_t *suggestion = teach(b, book_paper(b, p, paper, sizeof paper), sense, &fault);
	bool is_put = body && suggestion && book_add(b, BOOK_JUDGED, b->name, body);
	free(body);
	if (!suggestion) {
		if (fault.err)
			book_fault(b, &fault);
		else
			book_answer(b, NULL);
		return;
	}
	p->state = WET_PIECE_JUDGED;
	if (is_put && book_add_piece(b, b->name, p)) {
		json_t *result =
			json_pack("{s:s, s:s, s:s, s:f, s:f, s:b, s:o}", "piece", b->name, "text", text, "judged", stops, "lighter_stops",
					  lighter, "too_much_stops", too_much, "is_dry", is_dry, "suggestion", suggestion);
		static const char *const frozen[] = { "off_mc", "used_milli", "aged_milli" };
		for (size_t i = 0; i < sizeof frozen / sizeof frozen[0]; i++) {
			json_t *value = json_object_get(judged, frozen[i]);
			(void)json_object_set(result, frozen[i], value ? value : json_null());
		}
		book_put(b, result);
		return;
	}
	json_decref(suggestion);
}

/* From the record of its run: how warm, how tired and how old the developer was, and which paper the recipe is for. */
static void take_run(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	struct book *b = ctx;
	if (!book_is_wanted(b))
		return;
	int d = fault->err == WET_OK && r && r->run_count == 1 ? r->developing : -1;
	if (d >= 0) {
		const struct wet_trace *trace = &r->tracing.stages[d];
		if (r->reference_mc != INT32_MIN && trace->in_mc != INT32_MIN && trace->out_mc != INT32_MIN)
			(void)json_object_set_new(b->more, "off_mc", json_integer((trace->in_mc + trace->out_mc) / 2 - r->reference_mc));
		for (int i = 0; i < r->used_count; i++) {
			if (r->used[i].stage == d && r->used[i].used_milli != INT32_MIN)
				(void)json_object_set_new(b->more, "used_milli", json_integer(r->used[i].used_milli));
			if (r->used[i].stage == d && r->used[i].aged_milli != INT32_MIN)
				(void)json_object_set_new(b->more, "aged_milli", json_integer(r->used[i].aged_milli));
		}
	}
	if (!json_object_get(b->more, "sense") && fault->err == WET_OK && r && r->run_count == 1 && b->piece.process_run > 0)
		(void)json_object_set_new(
			b->more, "sense",
			json_string(wet_sense_name(r->is_direct_positive ? WET_SENSE_DIRECT_POSITIVE : WET_SENSE_NEGATIVE)));
	if (json_object_get(b->more, "sense"))
		put_judgement(b);
	else
		book_refuse(b, WET_ERR_PARAMS, "direct_positive", NULL,
					"which paper, as lighter means the opposite: --direct-positive or --negative; told once of its box: "
					"wetside camera box NAME "
					"--direct-positive");
}

/* "fogged", "air-bells": as they are typed in an option. */
static bool want_flaws(struct book *b, uint32_t *ret_flaws)
{
	json_t *list, *one;
	size_t i;
	struct wet_fault fault = { 0 };
	if (!want_list(&b->call, "flaws", WET_FLAW_N, &list)) {
		book_end(b);
		return false;
	}
	json_array_foreach(list, i, one)
	{
		char text[64];
		uint32_t flaws = 0;
		wet_text_copy(text, sizeof text, json_string_value(one));
		for (char *p = text; *p; p++)
			if (*p == '-')
				*p = ' ';
		if (wet_parse_flaws(text, &flaws, &fault) != 0) {
			wet_fault_prefix(&fault, "flaws");
			book_fault(b, &fault);
			return false;
		}
		*ret_flaws |= flaws;
	}
	return true;
}

static void judge(struct book *b)
{
	char text[64] = "";
	bool is_dry = false, is_wet = false, is_direct = false, is_negative = false;
	double lighter;
	uint32_t flaws = 0;
	struct wet_fault fault = { 0 };
	struct wet_call *c = &b->call;
	if (!book_want_piece(b))
		return;
	if (!want_text(c, "judged", true, text, sizeof text) || !want_bool(c, "dry", &is_dry) || !want_bool(c, "wet", &is_wet) ||
		!want_bool(c, "direct_positive", &is_direct) || !want_bool(c, "negative", &is_negative)) {
		book_end(b);
		return;
	}
	if (is_dry == is_wet) {
		book_refuse(b, WET_ERR_PARAMS, "dry", NULL,
					"is the piece dry or wet? Paper dries darker, so only dry results teach: dry or wet");
		return;
	}
	if (is_direct && is_negative) {
		book_refuse(b, WET_ERR_PARAMS, "negative", NULL, "a direct positive or a negative, not both");
		return;
	}
	if (wet_parse_judged(text, &lighter, &fault) != 0) {
		wet_fault_prefix(&fault, "judged");
		book_fault(b, &fault);
		return;
	}
	if (!want_flaws(b, &flaws))
		return;
	if (b->piece.state < WET_PIECE_LOADED && !book_row(b, BOOK_NOTES, b->name)) {
		book_refuse(b, WET_ERR_REFUSED, "piece", b->name,
					"piece %s was not exposed, as far as is known: write its note first, wetside note %s 8s ...", b->name,
					b->name);
		return;
	}
	b->more = json_pack("{s:I, s:b, s:i, s:I}", "lighter_milli", (json_int_t)llround(lighter * 1000), "is_dry", is_dry, "flaws",
						(int)flaws, "run", (json_int_t)b->piece.process_run);
	enum wet_sense sense = is_direct ? WET_SENSE_DIRECT_POSITIVE : is_negative ? WET_SENSE_NEGATIVE : book_sense(b, &b->piece);
	if (sense != WET_SENSE_UNSAID)
		(void)json_object_set_new(b->more, "sense", json_string(wet_sense_name(sense)));
	if (b->piece.process_run > 0) {
		wet_darkroom_get_record(c->methods->darkroom, b->piece.process_run, take_run, b);
		return;
	}
	struct wet_fault none = { .err = WET_ERR_NOT_FOUND };
	take_run(b, NULL, &none);
}

void serve_judgement_put(struct wet_call *c)
{
	book_open(c, judge);
}

/* -- asking alone ------------------------------------------------------------------------------------------ */

static void suggest(struct book *b)
{
	char paper[WET_NAME_BYTES] = "", known[2 * WET_LINE_BYTES] = "", own[WET_NAME_BYTES];
	const char *name;
	json_t *row, *seen = json_object();
	struct wet_piece p;
	struct wet_fault fault = { 0 };
	bool is_there = false;
	if (!want_text(&b->call, "paper", false, paper, sizeof paper)) {
		json_decref(seen);
		book_end(b);
		return;
	}
	bool is_told = json_object_get(b->call.params, "paper") != NULL;
	json_object_foreach(b->rows[BOOK_JUDGED], name, row)
	{
		if (!book_piece(b, name, &p))
			continue;
		(void)book_paper(b, &p, own, sizeof own);
		if (!json_object_get(seen, own) && own[0])
			wet_text_append(known, sizeof known, "%s%s", known[0] ? ", " : "", own);
		(void)json_object_set_new(seen, own, json_true());
		if (!is_told)
			wet_text_copy(paper, sizeof paper, own);
		is_there = is_there || strcmp(own, paper) == 0;
	}
	size_t papers = json_object_size(seen);
	json_decref(seen);
	if (papers == 0) {
		book_refuse(b, WET_ERR_NOT_FOUND, "paper", NULL, "a piece that was judged: wetside judge 7 \"0.5 stop lighter\" --dry");
		return;
	}
	if (!is_there || (!is_told && papers > 1)) {
		book_refuse(b, is_told ? WET_ERR_NOT_FOUND : WET_ERR_PARAMS, "paper", is_told ? paper : NULL, "one of: %s", known);
		return;
	}
	json_t *suggestion = teach(b, paper, sense_of_paper(b, paper), &fault);
	if (!suggestion && fault.err)
		book_fault(b, &fault);
	else
		book_answer(b, suggestion ? json_pack("{s:o}", "suggestion", suggestion) : NULL);
}

void serve_judgement_suggest(struct wet_call *c)
{
	book_open(c, suggest);
}
