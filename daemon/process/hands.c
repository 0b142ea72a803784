/* hands.c: when hands are needed: the run is gone through on a copy that presses its own keys. */
#include "wetside/hands.h"

#include "inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>

#define POUR_LEAST_NS (2 * NS_PER_S)

static void add_span(struct wet_hands *h, const struct wet_hands_span *span)
{
	if (h->count == WET_HANDS)
		return;
	int at = h->count++;
	for (; at > 0 && h->list[at - 1].from_ns > span->from_ns; at--)
		h->list[at] = h->list[at - 1];
	h->list[at] = *span;
}

struct gathering {
	struct wet_hands *hands;
	const struct wet_run *run;
	int64_t now_ns; /* run time: what was before is over */
};

static void add(const struct gathering *g, int64_t from_ns, int64_t to_ns, enum wet_hands_for what)
{
	if (to_ns <= g->now_ns || to_ns <= from_ns)
		return;
	add_span(g->hands, &(struct wet_hands_span){ .from_ns = wet_run_boot(g->run, from_ns),
												 .to_ns = wet_run_boot(g->run, to_ns),
												 .what = (uint8_t)what });
}

static void add_turns(const struct gathering *g, const struct turns *t)
{
	if (t->opening_ns != INT64_MIN)
		add(g, t->opening_ns, t->opening_rest_ns, WET_HANDS_TURN);
	for (int64_t at_ns = t->first_ns; t->every_ns > 0 && at_ns <= t->last_ns; at_ns += t->every_ns)
		add(g, at_ns, at_ns + t->burst_ns, WET_HANDS_TURN);
}

/* A wash, an aid and a mix wait. */
static void add_bath(const struct gathering *g)
{
	const struct wet_run *run = g->run;
	const struct wet_stage *stage = live_stage(run);
	struct turns turns;
	struct ends e;
	if (stage_is_quiet(stage) || stage_is_mixing(stage))
		return;
	ends_of(run, &e);
	int64_t pieces_ns = stage_vessel(run, run->pos.stage)->stagger_ns * run->setup.pieces;
	int64_t in_ns = e.fill_ns > pieces_ns ? e.fill_ns : pieces_ns, out_ns = e.drain_ns > pieces_ns ? e.drain_ns : pieces_ns;
	add(g, run->pos.since_ns, run->pos.since_ns + (in_ns > POUR_LEAST_NS ? in_ns : POUR_LEAST_NS), WET_HANDS_POUR);
	turns_of(run, &e, &turns);
	add_turns(g, &turns);
	add(g, e.pour_out_ns, e.pour_out_ns + (out_ns > POUR_LEAST_NS ? out_ns : POUR_LEAST_NS), WET_HANDS_POUR);
}

void wet_hands_of(const struct wet_run *before, int64_t boot_ns, struct wet_hands *ret_hands)
{
	struct wet_run run = *before;
	struct gathering g = { ret_hands, &run, 0 };
	ret_hands->count = 0;
	wet_run_advance(&run, boot_ns);
	g.now_ns = wet_run_time(&run, boot_ns);
	run.is_interrupted = false;
	run.setup.is_rehearsal = true;
	run.setup.is_mine = run.setup.is_wet = false;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		run.setup.rate_milli[i] = 1000;
	if (run.pos.base == WET_PHASE_READY)
		press_go(&run, g.now_ns, true);
	else if (!bath_is_live(&run))
		run.pos.since_ns = g.now_ns; /* it may have waited long */
	for (int i = 0; i < WET_RECIPE_STAGES * (WET_PIECES + 2); i++) {
		if (bath_is_live(&run))
			add_bath(&g);
		int64_t at_ns = boundary_ns(&run);
		if (at_ns == INT64_MAX)
			return;
		advance_run(&run, at_ns);
	}
}

void wet_hands_add(struct wet_hands *hands, const struct wet_hands *more, uint8_t whose)
{
	for (int i = 0; i < more->count; i++) {
		struct wet_hands_span span = more->list[i];
		span.whose = whose;
		add_span(hands, &span);
	}
}

/* The delay at which this pair is free again, if it isn't at delay_ns; else delay_ns. */
static int64_t free_at(const struct wet_hands_span *a, const struct wet_hands_span *b, int64_t delay_ns)
{
	bool is_apart = b->from_ns + delay_ns >= a->to_ns + WET_HANDS_APART_NS || a->from_ns >= b->to_ns + delay_ns + WET_HANDS_APART_NS;
	return is_apart ? delay_ns : a->to_ns + WET_HANDS_APART_NS - b->from_ns;
}

bool wet_hands_meet(const struct wet_hands *a, const struct wet_hands *b, unsigned what, int64_t delay_ns,
					struct wet_hands_span *ret_span)
{
	for (int i = 0; i < a->count; i++) {
		for (int j = 0; j < b->count && (a->list[i].what & what); j++) {
			if (!(b->list[j].what & what) || free_at(&a->list[i], &b->list[j], delay_ns) == delay_ns)
				continue;
			if (ret_span)
				*ret_span = a->list[i];
			return true;
		}
	}
	return false;
}

bool wet_hands_delay(const struct wet_hands *a, const struct wet_hands *b, unsigned what, int64_t *ret_delay_ns)
{
	int64_t delay_ns = 0, next_ns;
	/* Each round passes at least one pair for good; the delay only grows, by whole seconds. */
	for (;; delay_ns = next_ns) {
		next_ns = delay_ns;
		for (int i = 0; i < a->count; i++) {
			for (int j = 0; j < b->count && (a->list[i].what & what); j++) {
				int64_t free_ns = b->list[j].what & what ? free_at(&a->list[i], &b->list[j], delay_ns) : delay_ns;
				next_ns = free_ns > next_ns ? free_ns : next_ns;
			}
		}
		if (next_ns == delay_ns) {
			*ret_delay_ns = delay_ns;
			return true;
		}
		next_ns = (next_ns + NS_PER_S - 1) / NS_PER_S * NS_PER_S;
		if (next_ns > WET_HANDS_LATEST_NS)
			return false;
	}
}

char *wet_hands_sentence(const struct wet_hands *a, const char *a_name, const struct wet_hands *b, const char *b_name,
						 int64_t now_ns, char *buf, unsigned buf_bytes)
{
	struct wet_hands_span span;
	int64_t delay_ns = 0;
	char in[48], by[48];
	wet_text_copy(buf, buf_bytes, "");
	if (!wet_hands_meet(a, b, WET_HANDS_POUR | WET_HANDS_TURN, 0, &span))
		return buf;
	/* What can wait a little is given up first. */
	bool is_free = wet_hands_delay(a, b, WET_HANDS_POUR | WET_HANDS_TURN, &delay_ns);
	bool is_poured = is_free || wet_hands_delay(a, b, WET_HANDS_POUR, &delay_ns);
	if (!is_free)
		(void)wet_hands_meet(a, b, is_poured && delay_ns > 0 ? WET_HANDS_POUR : WET_HANDS_POUR | WET_HANDS_TURN, 0, &span);
	wet_print_seconds(span.from_ns > now_ns ? (span.from_ns - now_ns) / NS_PER_S * NS_PER_S : 0, in, sizeof in);
	wet_text_format(buf, buf_bytes, "%s and %s both need you in %s", a_name, b_name, in);
	if (delay_ns > 0)
		wet_text_append(buf, buf_bytes, "; pour %s later.%s", wet_print_seconds(delay_ns, by, sizeof by),
						is_free ? "" : " Turning has to wait.");
	else
		wet_text_append(buf, buf_bytes, "; %s.",
						is_poured ? "turn one, then the other" : "no later start helps: ask for a second pair of hands");
	return buf;
}
