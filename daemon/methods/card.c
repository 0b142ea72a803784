/* card.c: the card for the pocket: for each light, from deep shade to open sand, the seconds to count at each camera. Reckoned once
 * at home, so that nothing is in the field. */
#include "methods/meter.h"

#include "base/text.h"
#include "darkroom/stock.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define EV_LOW 4  /* at ISO 100: a lit room */
#define EV_HIGH 16 /* the sun on sand or snow */
#define DAY_NS (24 * 3600 * INT64_C(1000000000))
#define CAMERAS 12 /* side by side on one card */

struct card {
	struct metering m;
	double index, f_number; /* of the meter's own time; f_number 0: EV alone */
	struct wet_stock cameras[CAMERAS];
	int count;
	bool is_cut; /* the shelf has more than stand side by side */
};

/* What the meter shows for a light: its EV, or the time at its own index and aperture. */
static json_t *light_cell(const struct card *card, int ev)
{
	char text[48], time[24];
	if (card->f_number > 0) {
		double at = wet_ev_for_index(ev, 100, card->index);
		wet_text_format(text, sizeof text, "%s", wet_print_exposure(wet_ev_time_s(at, card->f_number), time, sizeof time));
	} else {
		wet_text_format(text, sizeof text, "EV %g", wet_ev_for_index(ev, 100, card->index));
	}
	return json_string(text);
}

/* The seconds to count; "-" where there are none: too short for a hand, or over a day. */
static json_t *time_cell(const struct card *card, const struct wet_stock *camera, int ev)
{
	struct wet_exposure_ask ask = card->m.ask;
	struct wet_exposed e;
	struct wet_fault fault = { 0 };
	char text[32] = "-";
	ask.f_number = (double)camera->f_number_milli / 1000;
	ask.bright_ev100 = ask.shaded_ev100 = ev;
	if (wet_expose(&ask, &e, &fault) == 0) {
		int64_t counted_ns = wet_count_ns(e.given.time_s);
		if (counted_ns > 0 && counted_ns <= DAY_NS)
			(void)wet_print_exposure((double)counted_ns / WET_NS_PER_S, text, sizeof text);
	}
	return json_string(text);
}

static json_t *rows_json(const struct card *card)
{
	json_t *rows = json_array();
	for (int ev = EV_LOW; ev <= EV_HIGH; ev++) {
		json_t *row = json_array();
		(void)json_array_append_new(row, light_cell(card, ev));
		for (int i = 0; i < card->count; i++)
			(void)json_array_append_new(row, time_cell(card, &card->cameras[i], ev));
		(void)json_array_append_new(rows, row);
	}
	return rows;
}

static const char *sense_line(enum wet_sense sense)
{
	switch (sense) {
	case WET_SENSE_DIRECT_POSITIVE:
		return "Direct positive: read the brightest part that must keep its detail; more exposure is lighter.";
	case WET_SENSE_NEGATIVE: return "Negative: read the darkest part that must keep its detail; more exposure is darker.";
	default: return "Which way more exposure goes depends on the paper: --direct-positive or --negative says it.";
	}
}

static void answer(struct wet_call *c, const struct card *card)
{
	json_t *columns = json_array(), *text = json_array();
	char line[240], f[24], law[96];
	if (card->f_number > 0)
		wet_text_format(line, sizeof line, "Meter at %s, index %g", wet_print_f_number(card->f_number, f, sizeof f), card->index);
	else
		wet_text_format(line, sizeof line, "Meter at index %g", card->index);
	(void)json_array_append_new(columns, json_string(line));
	for (int i = 0; i < card->count; i++) {
		wet_print_f_number((double)card->cameras[i].f_number_milli / 1000, f, sizeof f);
		wet_text_format(line, sizeof line, "%s %s", card->cameras[i].name, f);
		(void)json_array_append_new(columns, json_string(line));
	}
	wet_text_format(line, sizeof line, "Paper index %g; reciprocity: %s. Times are rounded to what a person can count.", card->m.ask.index,
					card->m.has_reciprocity ? wet_print_reciprocity(&card->m.ask.reciprocity, law, sizeof law) : "none told");
	(void)json_array_append_new(text, json_string(line));
	(void)json_array_append_new(text, json_string(sense_line(card->m.ask.sense)));
	if (card->is_cut)
		(void)json_array_append_new(text, json_string("The first twelve cameras of the shelf; --camera NAME names others."));
	call_result(c, json_pack("{s:o, s:o, s:o}", "columns", columns, "rows", rows_json(card), "text", text));
}

static bool is_wanted(const json_t *names, const char *name)
{
	size_t i;
	json_t *one;
	json_array_foreach(names, i, one)
	{
		if (strcmp(json_string_value(one), name) == 0)
			return true;
	}
	return !names;
}

static void serve_with(struct wet_call *c, const struct wet_stock_answer *answer_)
{
	struct card card = { .index = 100 };
	struct wet_fault fault = { 0 };
	json_t *names = NULL;
	double aperture = 0;
	if (!meter_want_paper(c, &card.m) || !meter_want_number(c, "index", wet_parse_index, &card.index) ||
		!meter_want_number(c, "aperture", wet_parse_f_number, &aperture) || !want_list(c, "cameras", CAMERAS, &names))
		return;
	card.f_number = aperture > 0 ? wet_f_number_of_mark(aperture) : 0;
	for (int i = 0; i < answer_->item_count; i++) {
		if (!is_wanted(names, answer_->items[i].name))
			continue;
		if (card.count < CAMERAS)
			card.cameras[card.count++] = answer_->items[i];
		else
			card.is_cut = true;
	}
	if (!card.m.has_index)
		wet_fault_set(&fault, WET_ERR_PARAMS, "paper_index", NULL, "the index your paper is exposed at, as in 3");
	else if (card.count == 0 || (names && json_array_size(names) != (size_t)card.count))
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, "cameras", NULL,
					  names ? "names of cameras on the shelf; `wetside camera` lists them"
							: "a camera on the shelf: wetside camera add tells one");
	if (fault.err != WET_OK)
		call_fault(c, &fault);
	else
		answer(c, &card);
}

static void found(void *ctx, const struct wet_stock_answer *answer_, const struct wet_fault *fault)
{
	struct wet_call *c = ctx; /* of its own: rpc is looked for again, params are ours */
	c->rpc = c->methods->find_client(c->methods->ctx, c->client_id);
	if (c->rpc && fault->err != WET_OK)
		call_fault(c, fault);
	else if (c->rpc)
		serve_with(c, answer_);
	json_decref(c->params);
	free(c);
}

void serve_meter_card(struct wet_call *c)
{
	const struct wet_stock_request request = { .op = WET_STOCK_OP_LIST, .item = { .kind = WET_STOCK_CAMERA } };
	struct wet_call *later = malloc(sizeof *later);
	if (!later) {
		call_result(c, NULL);
		return;
	}
	*later = *c;
	json_incref(later->params);
	wet_darkroom_stock(c->methods->darkroom, &request, found, later);
}
