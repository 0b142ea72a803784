/* dilution.c: quick dilution: parts, strengths, several steps, and the graduates to measure with. */
#include "methods/graduates.h"
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/dilution.h"
#include "wetside/graduate.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

/* What is poured, in the order of pouring. The first of a step is water where there is any: acid goes into
 * water, and whatever is measured wrongly is then not yet poured. */
struct pour {
	char name[40];
	int64_t volume_ul;
	int32_t strength_milli; /* in the answer's own scale: water is 0, a stock of unsaid strength STOCK */
};
#define STOCK 100000

struct step {
	uint32_t count;
	struct pour pours[WET_PARTS];
	int64_t total_ul, left_ul;
};
struct answer {
	uint32_t count; /* of steps, in the order of work */
	struct step steps[WET_SERIES];
	bool is_mix;  /* of two strengths: no water */
	int64_t a, b; /* as one ratio of two, where a series may be needed; a = 0: none */
	char lacks[160]; /* what the shelf's graduates lack to measure it; empty: nothing */
};

struct question {
	char ratio[96], stock[32], with[32], to[32], solute[40], reading[8];
	bool is_make; /* else: have */
	struct wet_quantity volume;
	uint32_t graduate_count, then_count;
	struct wet_graduate graduates[WET_GRADUATES];
	char shelf[256]; /* names of those of the shelf, where none was typed */
	struct wet_parts then[WET_SERIES];
};

static int fail_at(struct wet_fault *fault, int rc, const char *key)
{
	if (rc != 0 && !fault->where[0])
		wet_fault_prefix(fault, key);
	return rc;
}

/* -- computing ---------------------------------------------------------------------- */

static void add_pour(struct step *step, const char *name, int64_t volume_ul, int32_t strength_milli)
{
	struct pour *p = &step->pours[step->count];
	if (volume_ul == 0)
		return;
	wet_text_copy(p->name, sizeof p->name, name);
	p->volume_ul = volume_ul;
	p->strength_milli = strength_milli;
	step->total_ul += volume_ul;
	step->count++;
}

static void one_step(struct answer *answer, const char *stock, int64_t stock_ul, int64_t water_ul)
{
	*answer = (struct answer){ .count = 1 };
	add_pour(&answer->steps[0], "water", water_ul, 0);
	add_pour(&answer->steps[0], stock, stock_ul, STOCK);
}

static void from_series(struct answer *answer, const struct wet_series *series)
{
	*answer = (struct answer){ .count = series->count };
	for (uint32_t i = 0; i < series->count; i++) {
		char name[40] = "stock";
		if (i > 0)
			wet_text_format(name, sizeof name, "step %d", (int)i);
		add_pour(&answer->steps[i], "water", series->steps[i].water_ul, 0);
		add_pour(&answer->steps[i], name, series->steps[i].draw_ul, STOCK);
		answer->steps[i].left_ul = series->steps[i].left_ul;
	}
}

/* Concentrate to stock to working from what one has: every step uses the one before up. */
static int chain_from(const struct wet_parts *ratios, uint32_t count, int64_t have_ul,
					  struct wet_series *ret_series, struct wet_fault *f)
{
	struct wet_series s = { .count = count };
	for (uint32_t i = 0; i < count; i++) {
		struct wet_dilution d;
		if (ratios[i].count != 2)
			return wet_fault_set(f, WET_ERR_INVALID, "then", NULL,
								 "steps of two parts, as in 1+3 and then 1+9");
		int rc = wet_dilute_have(ratios[i].milli[0], ratios[i].milli[1], have_ul, &d, f);
		if (rc != 0)
			return rc;
		s.steps[i] = (struct wet_series_step){ ratios[i], d.stock_ul, d.water_ul, d.total_ul, 0 };
		have_ul = d.total_ul;
	}
	*ret_series = s;
	return WET_OK;
}

static int compute_parts(const struct question *q, const struct wet_parts *parts, struct answer *ret_answer,
						 struct wet_fault *f)
{
	int64_t volumes[WET_PARTS], have[WET_PARTS];
	if (q->then_count > 0) {
		struct wet_parts ratios[WET_SERIES] = { *parts };
		struct wet_series series;
		for (uint32_t i = 0; i < q->then_count; i++)
			ratios[i + 1] = q->then[i];
		int rc = q->is_make ? wet_series_chain(ratios, q->then_count + 1, q->volume.value, &series, f)
							: chain_from(ratios, q->then_count + 1, q->volume.value, &series, f);
		if (rc == 0)
			from_series(ret_answer, &series);
		return rc;
	}
	for (uint32_t i = 0; i < WET_PARTS; i++)
		have[i] = i == 0 ? q->volume.value : -1;
	int rc = q->is_make ? wet_dilute_parts_make(parts, q->volume.value, volumes, f)
						: wet_dilute_parts_most(parts, have, volumes, f);
	if (rc != 0)
		return rc;
	one_step(ret_answer, parts->count == 2 ? "stock" : "stock 1", volumes[0], volumes[parts->count - 1]);
	for (uint32_t i = 1; i + 1 < parts->count; i++) {
		char name[40];
		wet_text_format(name, sizeof name, "stock %d", (int)i + 1);
		add_pour(&ret_answer->steps[0], name, volumes[i], STOCK);
	}
	ret_answer->a = parts->count == 2 ? parts->milli[0] : 0;
	ret_answer->b = parts->milli[1];
	return WET_OK;
}

/* Two strengths and a third between them. The weaker is poured first. */
static int compute_mix(const struct question *q, struct wet_strength one, struct wet_strength two,
					   struct wet_strength want, struct answer *ret_answer, struct wet_fault *f)
{
	char name[40];
	struct wet_mix m;
	if (one.kind != two.kind || one.kind != want.kind || one.kind == WET_PERCENT_WW)
		return wet_fault_set(f, WET_ERR_REFUSED, "with", q->with,
							 "strengths of one kind, by volume: of w/w the parts are weighed, not measured");
	bool is_first_high = one.milli > two.milli;
	struct wet_strength high = is_first_high ? one : two, low = is_first_high ? two : one;
	int rc = q->is_make
				 ? wet_mix_make(high.milli, low.milli, want.milli, q->volume.value, &m, f)
				 : wet_mix_most(high.milli, low.milli, want.milli, is_first_high ? q->volume.value : -1,
								is_first_high ? -1 : q->volume.value, &m, f);
	if (rc != 0)
		return rc;
	*ret_answer = (struct answer){ .count = 1, .is_mix = true };
	wet_print_strength(low, name, sizeof name);
	add_pour(&ret_answer->steps[0], name, m.low_ul, low.milli);
	wet_print_strength(high, name, sizeof name);
	add_pour(&ret_answer->steps[0], name, m.high_ul, high.milli);
	return WET_OK;
}

static int compute_strengths(const struct question *q, struct answer *ret_answer, struct wet_fault *f)
{
	struct wet_strength stock, with, to;
	struct wet_dilution d;
	enum wet_solute solute = WET_SOLUTE_N;
	int rc = fail_at(f, wet_parse_strength(q->stock, &stock, f), "stock");
	if (rc == 0)
		rc = fail_at(f, wet_parse_strength(q->to, &to, f), "to");
	if (rc == 0 && q->solute[0])
		rc = fail_at(f, wet_parse_solute(q->solute, &solute, f), "solute");
	if (rc == 0 && q->with[0]) {
		rc = fail_at(f, wet_parse_strength(q->with, &with, f), "with");
		return rc != 0 ? rc : compute_mix(q, stock, with, to, ret_answer, f);
	}
	if (rc == 0)
		rc = q->is_make ? wet_dilute_strength_make(solute, stock, to, q->volume.value, &d, f)
						: wet_dilute_strength_have(solute, stock, to, q->volume.value, &d, f);
	if (rc != 0)
		return rc;
	one_step(ret_answer, "stock", d.stock_ul, d.water_ul);
	if (stock.kind == to.kind && stock.kind != WET_PERCENT_WW) {
		ret_answer->a = to.milli;
		ret_answer->b = stock.milli - to.milli;
	}
	return WET_OK;
}

/* Can every part of it be measured? */
static int try_graduates(const struct question *q, const struct answer *answer, bool *ret_is_too_coarse,
						 struct wet_fault *f)
{
	for (uint32_t i = 0; i < answer->count; i++)
		for (uint32_t k = 0; k < answer->steps[i].count; k++) {
			const struct pour *p = &answer->steps[i].pours[k];
			struct wet_measure m;
			int rc = wet_measure(q->graduates, q->graduate_count, p->volume_ul, &m, f);
			if (rc != 0)
				return rc;
			*ret_is_too_coarse = *ret_is_too_coarse || (m.is_too_coarse && p->strength_milli > 0);
		}
	return WET_OK;
}

/* A draw that the graduates do not measure is made in more than one step, where that is possible. */
static int fit_graduates(const struct question *q, struct answer *answer, struct wet_fault *f)
{
	bool is_too_coarse = false;
	if (q->graduate_count == 0)
		return WET_OK;
	int worst = try_graduates(q, answer, &is_too_coarse, f);
	if ((worst == WET_OK && !is_too_coarse) || !q->is_make || answer->a == 0 || answer->count > 1)
		return worst;
	struct wet_series series;
	int64_t most = wet_graduates_most(q->graduates, q->graduate_count);
	most = most > q->volume.value ? most : q->volume.value;
	if (wet_series_measurable(answer->a, answer->b, q->volume.value,
							  wet_graduates_least(q->graduates, q->graduate_count), most, &series, NULL) != 0)
		return worst;
	struct answer by_steps;
	from_series(&by_steps, &series);
	if (worst == WET_OK && try_graduates(q, &by_steps, &is_too_coarse, NULL) != 0)
		return WET_OK; /* in one step, coarse as it is */
	if (worst != WET_OK && (worst = try_graduates(q, &by_steps, &is_too_coarse, f)) != 0)
		return worst;
	*answer = by_steps;
	return WET_OK;
}

static int compute(const struct question *q, const struct wet_parts *parts, struct answer *ret_answer,
				   struct wet_fault *f)
{
	int rc = parts ? compute_parts(q, parts, ret_answer, f) : compute_strengths(q, ret_answer, f);
	if (rc != 0 || (rc = fit_graduates(q, ret_answer, f)) == 0 || !q->shelf[0])
		return rc;
	wet_text_copy(ret_answer->lacks, sizeof ret_answer->lacks, f->want); /* nobody asked for them: told, not refused */
	return WET_OK;
}

/* -- answering ---------------------------------------------------------------------- */

static json_t *measure_json(const struct question *q, const struct pour *p, int64_t *ret_measured_ul)
{
	struct wet_measure m;
	char text[200] = "", graduate[48], volume[48];
	if (wet_measure(q->graduates, q->graduate_count, p->volume_ul, &m, NULL) != 0)
		return NULL;
	*ret_measured_ul = m.measured_ul;
	if (m.full_fills > 0)
		wet_text_format(text, sizeof text, "%d times the %s graduate full", (int)m.full_fills,
						wet_print_graduate(&q->graduates[m.full], graduate, sizeof graduate));
	if (m.last_ul > 0) {
		const struct wet_graduate *g = &q->graduates[m.last];
		wet_text_append(
			text, sizeof text, "%s%s in the %s%s", text[0] ? " and " : "",
			wet_print_quantity_about((struct wet_quantity){ m.last_ul, g->unit }, 3, volume, sizeof volume),
			wet_print_graduate(g, graduate, sizeof graduate),
			g->kind == WET_GRADUATE_SYRINGE ? "" : " graduate");
	}
	json_t *o = json_pack("{s:s, s:I, s:b}", "text", text, "measured_ul", (json_int_t)m.measured_ul,
						  "is_coarse", m.is_coarse || m.is_too_coarse);
	if (m.tolerance_ul >= 0) {
		(void)json_object_set_new(o, "tolerance_ul", json_integer(m.tolerance_ul));
		(void)json_object_set_new(o, "tolerance_milli_percent", json_integer(m.tolerance_milli));
	}
	return o;
}

/* One line a measure: how, how far it may be off, and whether that is too far. */
static void say_measure(const struct pour *p, const json_t *o, char *text, size_t bytes)
{
	const json_t *t = json_object_get(o, "tolerance_milli_percent");
	char percent[24];
	wet_text_append(text, bytes, "\n  %s: %s", p->name, json_string_value(json_object_get(o, "text")));
	if (!t) {
		wet_text_append(text, bytes, "; how exact this graduate is, is not known here");
		return;
	}
	wet_print_percent((int32_t)(json_integer_value(t) + 5) / 10 * 10, percent, sizeof percent);
	wet_text_append(text, bytes, "; it may be off by %s%s", percent,
					json_is_true(json_object_get(o, "is_coarse"))
						? ", which is much: use a smaller graduate or make more"
						: "");
}

/* What rounding does to the strength of a step. */
static void say_change(const struct step *s, const int64_t *measured_ul, json_t *o, char *text, size_t bytes)
{
	double strongest = 0, wanted = 0, measured = 0, all_wanted = 0, all_measured = 0;
	char percent[24];
	for (uint32_t i = 0; i < s->count; i++) {
		double strength = s->pours[i].strength_milli;
		strongest = strength > strongest ? strength : strongest;
		wanted += strength * (double)s->pours[i].volume_ul;
		measured += strength * (double)measured_ul[i];
		all_wanted += (double)s->pours[i].volume_ul;
		all_measured += (double)measured_ul[i];
	}
	/* As so much of the strongest, and water. */
	int64_t a = llround(wanted / strongest), b = llround(measured / strongest);
	int32_t change = wet_strength_change_milli(a, llround(all_wanted) - a, b, llround(all_measured) - b);
	(void)json_object_set_new(o, "strength_change_milli_percent", json_integer(change));
	if (change == 0)
		return;
	wet_print_percent(change < 0 ? -change : change, percent, sizeof percent);
	wet_text_append(text, bytes, "\n  measured so, it is %s %s than asked", percent,
					change < 0 ? "weaker" : "stronger");
}

static json_t *step_json(const struct question *q, const struct step *s, char *text, size_t bytes)
{
	json_t *o = json_object(), *list = json_array();
	char volume[48], measures[1200] = "";
	int64_t measured_ul[WET_PARTS] = { 0 };
	for (uint32_t i = 0; i < s->count; i++) {
		const struct pour *p = &s->pours[i];
		print_asked_volume(p->volume_ul, q->volume.unit, volume, sizeof volume);
		wet_text_append(text, bytes, "%s%s of %s", i == 0 ? "" : ", then ", volume, p->name);
		json_t *row = json_pack("{s:s, s:s, s:I}", "name", p->name, "volume", volume, "volume_ul",
								(json_int_t)p->volume_ul);
		json_t *measure = q->graduate_count > 0 ? measure_json(q, p, &measured_ul[i]) : NULL;
		if (measure) {
			say_measure(p, measure, measures, sizeof measures);
			(void)json_object_set_new(row, "measure", measure);
		}
		(void)json_array_append_new(list, row);
	}
	print_asked_volume(s->total_ul, q->volume.unit, volume, sizeof volume);
	wet_text_append(text, bytes, ": %s.", volume);
	(void)json_object_set_new(o, "pours", list);
	(void)json_object_set_new(o, "total", json_string(volume));
	(void)json_object_set_new(o, "total_ul", json_integer(s->total_ul));
	if (s->left_ul > 0) {
		print_asked_volume(s->left_ul, q->volume.unit, volume, sizeof volume);
		(void)json_object_set_new(o, "left", json_string(volume));
		wet_text_append(text, bytes, " %s of it will be left over.", volume);
	}
	if (q->graduate_count > 0)
		say_change(s, measured_ul, o, measures, sizeof measures);
	wet_text_append(text, bytes, "%s", measures);
	return o;
}

static json_t *answer_json(const struct question *asked, const struct answer *a)
{
	struct question fitting = *asked;
	const struct question *q = &fitting;
	fitting.graduate_count = a->lacks[0] ? 0 : asked->graduate_count;
	char text[4096] = "", volume[48];
	json_t *o = json_object(), *steps = json_array();
	const struct step *last = &a->steps[a->count - 1];
	for (uint32_t i = 0; i < a->count; i++) {
		if (a->count > 1)
			wet_text_append(text, sizeof text, "%sStep %d: ", i > 0 ? "\n" : "", (int)i + 1);
		(void)json_array_append_new(steps, step_json(q, &a->steps[i], text, sizeof text));
	}
	if (a->lacks[0])
		wet_text_append(text, sizeof text, "\nNo graduate on the shelf measures that: %s.", a->lacks);
	else if (q->shelf[0])
		wet_text_append(text, sizeof text, "\nMeasured with what is on the shelf: %s; --graduate names others.", q->shelf);
	wet_text_append(text, sizeof text, "%sRead the label and its safety data sheet first.",
					a->count > 1 || asked->graduate_count > 0 ? "\n" : " ");
	/* The last step once more, by name: the plain case of stock and water. */
	int64_t water_ul = last->pours[0].strength_milli == 0 ? last->pours[0].volume_ul : 0;
	int64_t stock_ul = last->total_ul - water_ul;
	if (!a->is_mix) {
		(void)json_object_set_new(o, "stock",
								  json_string(print_asked_volume(stock_ul, q->volume.unit, volume, sizeof volume)));
		(void)json_object_set_new(o, "water",
								  json_string(print_asked_volume(water_ul, q->volume.unit, volume, sizeof volume)));
		(void)json_object_set_new(o, "stock_ul", json_integer(stock_ul));
		(void)json_object_set_new(o, "water_ul", json_integer(water_ul));
	}
	print_asked_volume(last->total_ul, q->volume.unit, volume, sizeof volume);
	(void)json_object_set_new(o, "total", json_string(volume));
	(void)json_object_set_new(o, "total_ul", json_integer(last->total_ul));
	(void)json_object_set_new(o, "steps", steps);
	(void)json_object_set_new(o, "text", json_string(text));
	return o;
}

/* "1:9": both readings worked out, as a question or, where nobody can be asked, as a refusal. */
static void answer_both(struct wet_call *c, const struct question *q, const struct wet_parts readings[2])
{
	static const char *const words[] = { "parts", "whole" };
	struct answer answers[2];
	struct wet_fault f = { 0 };
	char ratio[2][48], stock[2][48], water[2][48];
	json_t *list = json_array();
	for (int i = 0; i < 2; i++) {
		if (compute(q, &readings[i], &answers[i], &f) != 0) {
			json_decref(list);
			call_fault(c, &f);
			return;
		}
		json_t *o = answer_json(q, &answers[i]);
		wet_print_parts(&readings[i], ratio[i], sizeof ratio[i]);
		wet_text_copy(stock[i], sizeof stock[i], json_string_value(json_object_get(o, "stock")));
		wet_text_copy(water[i], sizeof water[i], json_string_value(json_object_get(o, "water")));
		(void)json_array_append_new(
			list, json_pack("{s:s, s:s, s:o}", "reading", words[i], "ratio", ratio[i], "result", o));
	}
	if (strcmp(q->reading, "ask") == 0) {
		call_result(c, json_pack("{s:s, s:o}", "question", q->ratio, "readings", list));
		return;
	}
	json_decref(list);
	wet_fault_set(&f, WET_ERR_AMBIGUOUS, "ratio", q->ratio,
				  "write %s (%s of stock and %s of water) or %s (a part in the whole: %s and %s)%s", ratio[0],
				  stock[0], water[0], ratio[1], stock[1], water[1],
				  readings[1].milli[1] == 0 ? "; the second is the stock itself" : "");
	call_fault(c, &f);
}

/* -- the question ------------------------------------------------------------------- */

static bool want_question(struct wet_call *c, struct question *q)
{
	char make[48] = "", have[48] = "";
	struct wet_fault f = { 0 };
	json_t *graduates, *then, *one;
	size_t i;
	int rc = WET_OK;
	if (!want_text(c, "ratio", false, q->ratio, sizeof q->ratio) ||
		!want_text(c, "make", false, make, sizeof make) || !want_text(c, "have", false, have, sizeof have) ||
		!want_text(c, "stock", false, q->stock, sizeof q->stock) ||
		!want_text(c, "to", false, q->to, sizeof q->to) ||
		!want_text(c, "with", false, q->with, sizeof q->with) ||
		!want_text(c, "solute", false, q->solute, sizeof q->solute) ||
		!want_text(c, "reading", false, q->reading, sizeof q->reading) ||
		!want_list(c, "graduates", WET_GRADUATES, &graduates) || !want_list(c, "then", WET_SERIES - 1, &then))
		return false;
	q->is_make = make[0];
	if ((!make[0]) == (!have[0]))
		rc = wet_fault_set(&f, WET_ERR_PARAMS, "make", NULL,
						   "either the whole to make (make) or the stock you have (have)");
	if (rc == 0 && q->ratio[0] && (q->stock[0] || q->to[0] || q->with[0] || q->solute[0]))
		rc = wet_fault_set(&f, WET_ERR_PARAMS, "ratio", NULL,
						   "either a ratio or strengths (stock, to), not both");
	if (rc == 0 && !q->ratio[0] && then)
		rc = wet_fault_set(&f, WET_ERR_PARAMS, "then", NULL, "a ratio to begin with");
	if (rc == 0)
		rc = fail_at(&f, wet_parse_quantity(make[0] ? make : have, WET_QUANTITY_VOLUME, &q->volume, &f),
					 make[0] ? "make" : "have");
	json_array_foreach(graduates, i, one) if (rc == 0) rc = fail_at(
		&f, wet_parse_graduate(json_string_value(one), &q->graduates[q->graduate_count++], &f), "graduates");
	json_array_foreach(then, i, one) if (rc == 0) rc =
		fail_at(&f, wet_parse_parts(json_string_value(one), &q->then[q->then_count++], &f), "then");
	if (rc != 0)
		call_fault(c, &f);
	return rc == 0;
}

static void dilute(struct wet_call *c, const struct own_graduates *own)
{
	struct question q = { .then_count = 0 };
	struct wet_fault f = { 0 }, unused;
	struct wet_parts parts, readings[2];
	struct answer answer;
	int rc = WET_OK;
	if (!want_question(c, &q))
		return;
	for (uint32_t i = 0; i < own->count; i++) {
		q.graduates[q.graduate_count++] = own->graduates[i];
		wet_text_append(q.shelf, sizeof q.shelf, "%s%s", i == 0 ? "" : ", ", own->names[i]);
	}
	if (q.ratio[0] && (rc = wet_parse_parts(q.ratio, &parts, &f)) == WET_ERR_AMBIGUOUS &&
		wet_parse_colon(q.ratio, readings, &unused) == 0) {
		bool is_parts = strcmp(q.reading, "parts") == 0;
		if (!is_parts && strcmp(q.reading, "whole") != 0) {
			answer_both(c, &q, readings);
			return;
		}
		parts = readings[is_parts ? 0 : 1];
		rc = WET_OK;
	}
	if (rc != 0)
		(void)fail_at(&f, rc, "ratio");
	else
		rc = compute(&q, q.ratio[0] ? &parts : NULL, &answer, &f);
	if (rc != 0)
		call_fault(c, &f);
	else
		call_result(c, answer_json(&q, &answer));
}

void serve_dilution(struct wet_call *c)
{
	static const struct own_graduates none = { .count = 0 };
	const json_t *typed = json_object_get(c->params, "graduates");
	if (typed && !json_is_null(typed))
		dilute(c, &none);
	else
		with_own_graduates(c, dilute);
}
