/* cues.c: what sounds next, purely.
 *
 * Candidates of the live stage are collected in a window of run time with a margin on both sides, the one of the
 * boundary that ends it included; they are kept from the highest rank down, and the first kept one after `after` is
 * the answer. Windows slide to the stage's last cue; then the clock's own move is made on a copy, and so on. */
#include "inside.h"

#include "wetside/cues.h"

#include <assert.h>
#include <string.h>

#define CANDIDATES 1024
#define WINDOW_S 70
#define MARGIN_NS (8 * NS_PER_S)        /* real; over twice the longest reach of a tone */
#define GAP_AROUND_NS (200 * NS_PER_MS) /* real */
#define BEAT_CLEAR_NS (3 * NS_PER_S)    /* real */
#define BEAT_EVERY_NS (15 * NS_PER_S)
#define MINUTE_NS (60 * NS_PER_S)
#define FIRST_WORD_NS NS_PER_S /* handling: what to do first, so long after begin */
#define LIGHTS_NS (2 * NS_PER_S)
#define STAND_BY_NS (5 * NS_PER_S)
#define BEAT_RATE_MILLI_MAX 5000     /* faster, beats would stand closer than 3 s */

static const struct {
	const char *word;
	enum wet_tone tone;
} kinds[WET_CUE_KIND_N] = {
#define X(name, tone, word) { word, WET_TONE_##tone },
	WET_CUES(X)
#undef X
};

const char *wet_cue_word(enum wet_cue_kind kind)
{
	return (unsigned)kind < WET_CUE_KIND_N ? kinds[kind].word : "unknown";
}

enum wet_tone wet_cue_tone(enum wet_cue_kind kind)
{
	return kinds[kind].tone;
}

struct candidate {
	int64_t at_ns;      /* run time */
	int64_t at_boot_ns; /* real */
	int64_t length_ns;  /* real */
	uint8_t kind;
	uint8_t rank;
	uint8_t pips;
	bool is_kept;
};

struct gather {
	const struct wet_run *run;
	int64_t from_ns, to_ns; /* window in run time, both included */
	int64_t last_ns;        /* the stage's last cue; INT64_MAX: repeats for ever */
	bool is_entry_dropped;  /* the key that began this stage is not heard: a higher one sounded into it */
	int count;
	struct candidate list[CANDIDATES];
};

static void add_pips(struct gather *g, enum wet_cue_kind kind, int64_t at_ns, int pips)
{
	/* A rehearsal too fast to count pips between two of its keys gives a plain answer. */
	if (pips > 0 && wet_tone_length_ns(WET_TONE_PIPS, pips, 1000) + GAP_AROUND_NS > AUTO_NS * 1000 / g->run->rate_milli)
		pips = 0;
	bool is_before = at_ns < g->run->pos.since_ns; /* in the stage before: it takes part in the ranking, no more */
	if (at_ns > g->last_ns && !is_before)
		g->last_ns = at_ns;
	if ((at_ns < g->from_ns && !is_before) || at_ns > g->to_ns || g->count == CANDIDATES)
		return;
	if (kind == WET_CUE_KEY && g->is_entry_dropped && at_ns == g->run->pos.since_ns)
		return;
	enum wet_tone tone = pips > 0 ? WET_TONE_PIPS : kinds[kind].tone;
	g->list[g->count++] = (struct candidate){
		.at_ns = at_ns,
		.at_boot_ns = wet_run_boot(g->run, at_ns),
		.length_ns = wet_tone_length_ns(tone, pips > 0 ? pips : 1, g->run->rate_milli),
		.kind = (uint8_t)kind,
		.rank = (uint8_t)wet_tone_rank(tone),
		.pips = (uint8_t)pips,
	};
}

static void add(struct gather *g, enum wet_cue_kind kind, int64_t at_ns)
{
	add_pips(g, kind, at_ns, 0);
}

/* at first, first + every, ... up to and including last (INT64_MAX: for ever). */
static void add_series(struct gather *g, enum wet_cue_kind kind, int64_t first_ns, int64_t every_ns,
					   int64_t last_ns)
{
	if (first_ns > last_ns)
		return;
	int64_t i = 0;
	if (g->from_ns > first_ns)
		i = (g->from_ns - first_ns) / every_ns;
	for (;; i++) {
		int64_t at_ns = first_ns + i * every_ns;
		if (at_ns > last_ns || at_ns > g->to_ns)
			break;
		add(g, kind, at_ns);
	}
	if (last_ns == INT64_MAX)
		g->last_ns = INT64_MAX;
	else if (first_ns + (last_ns - first_ns) / every_ns * every_ns > g->last_ns)
		g->last_ns = first_ns + (last_ns - first_ns) / every_ns * every_ns;
}

static void gather_agitation(struct gather *g, const struct ends *e)
{
	const struct wet_run *run = g->run;
	int64_t begin = run->pos.since_ns, stop = e->pour_out_ns - QUIET_END_NS;
	struct turns t;
	if (live_stage(run)->agitation.is_continuous) {
		if (begin + e->fill_ns < stop && e->fill_ns > 0)
			add(g, WET_CUE_TURN, begin + e->fill_ns);
		return;
	}
	turns_of(run, e, &t);
	if (t.opening_ns != INT64_MIN) {
		add(g, WET_CUE_TURN, t.opening_ns);
		add(g, WET_CUE_REST, t.opening_rest_ns);
	}
	if (t.every_ns <= 0)
		return;
	add_series(g, WET_CUE_TURN, t.first_ns, t.every_ns, t.last_ns);
	if (t.last_ns >= t.first_ns) /* each turn has its rest */
		add_series(g, WET_CUE_REST, t.first_ns + t.burst_ns, t.every_ns,
				   t.first_ns + (t.last_ns - t.first_ns) / t.every_ns * t.every_ns + t.burst_ns);
}

static void gather_bath(struct gather *g)
{
	const struct wet_run *run = g->run;
	const struct wet_stage *stage = live_stage(run);
	struct ends e;
	ends_of(run, &e);
	int64_t begin = run->pos.since_ns;
	bool waits = next_waits(run);
	bool is_wash = stage->kind == WET_STAGE_WASH, is_quiet = stage_is_quiet(stage);
	if (waits)
		e.pour_out_ns = e.aim_ns; /* nothing drains by the clock */

	if (run->pos.has_window && !run->pos.was_shifted)
		add(g, WET_CUE_CHANGE, begin);
	else if (run->pos.is_auto)
		add(g, WET_CUE_KEY, begin);
	if (run->pos.stage > 0 && light_now(run) == WET_LIGHT_WHITE &&
		wet_recipe_light(run->setup.recipe, run->pos.stage - 1) < WET_LIGHT_WHITE &&
		wet_stage_kind_is_bath(run->setup.recipe->stages[run->pos.stage - 1].kind))
		add(g, WET_CUE_LIGHTS, begin + LIGHTS_NS);
	gather_agitation(g, &e);
	if (!run->setup.no_beat && !is_quiet && run->rate_milli <= BEAT_RATE_MILLI_MAX)
		add_series(g, WET_CUE_BEAT, begin + BEAT_EVERY_NS, BEAT_EVERY_NS,
				   waits ? INT64_MAX : e.pour_out_ns - 1);
	const struct wet_waters *waters = &stage->waters;
	if (waters->count > 1)
		add_series(g, WET_CUE_WATER, begin + waters->first_ns, waters->each_ns,
				   begin + waters->first_ns + (waters->count - 2) * waters->each_ns);
	else if (e.aim_ns - begin > 3 * MINUTE_NS)
		add(g, WET_CUE_LAST_MINUTE, e.pour_out_ns - MINUTE_NS);
	if (waits) {
		if (is_wash && next_stage(run) < 0)
			add(g, WET_CUE_POUR_READY, e.aim_ns); /* once: a wash never nags */
		else
			add_series(g, WET_CUE_POUR_READY, e.aim_ns, MINUTE_NS, INT64_MAX);
		if (e.most_ns != INT64_MAX)
			add_series(g, WET_CUE_PAST_MOST, e.most_ns + NS_PER_S, MINUTE_NS, INT64_MAX);
		return;
	}
	int64_t attend = attend_ns(run, &e);
	if (attend > begin)
		add(g, WET_CUE_NEXT, attend);
	if (e.pour_out_ns - WET_COUNT_PIPS * NS_PER_S > begin)
		add(g, WET_CUE_COUNT, e.pour_out_ns - WET_COUNT_PIPS * NS_PER_S);
	if (e.pour_out_ns > begin)
		add(g, WET_CUE_POUR_OUT, e.pour_out_ns);
}

/* A rehearsal so fast that what sounded before its own key is still heard: where it stood is known from the keys' own times. */
static void gather_before(struct gather *g)
{
	const struct wet_run *run = g->run;
	const struct wet_recipe *recipe = run->setup.recipe;
	int before = run->pos.base == WET_PHASE_HANDLING && run->pos.piece > 0 ? run->pos.stage : run->pos.stage - 1;
	if (!run->pos.is_auto || before < 0)
		return;
	int64_t since = run->pos.since_ns, begin = run->records[before].begin_ns;
	bool has_waited = bath_is_live(run) && !wet_stage_kind_is_bath(recipe->stages[before].kind);
	if (!wet_stage_kind_is_bath(recipe->stages[before].kind) && begin + FIRST_WORD_NS < since)
		add(g, WET_CUE_HANDLE, begin + FIRST_WORD_NS);
	else if (wet_stage_kind_is_bath(recipe->stages[before].kind))
		add(g, WET_CUE_POUR_READY, since - AUTO_NS);
	if (has_waited && light_now(run) == WET_LIGHT_WHITE && wet_recipe_light(recipe, before) < WET_LIGHT_WHITE)
		add(g, WET_CUE_LIGHTS, since - AUTO_POUR_NS + LIGHTS_NS);
	if (has_waited)
		add(g, WET_CUE_STAND_BY, since - AUTO_POUR_NS + STAND_BY_NS);
}

static void gather_stage(struct gather *g)
{
	const struct wet_run *run = g->run;
	if (run->is_interrupted)
		return; /* stage sounds stop */
	gather_before(g);
	switch (run->pos.base) {
	case WET_PHASE_HANDLING: {
		bool is_each = live_stage(run)->handling == WET_HANDLING_PIECES;
		if (run->pos.is_auto)
			add_pips(g, WET_CUE_KEY, run->pos.since_ns, is_each ? run->pos.piece : 0);
		if (run->pos.piece == 0)
			add(g, WET_CUE_HANDLE, run->pos.since_ns + FIRST_WORD_NS);
		break;
	}
	case WET_PHASE_WAITING: {
		int before = run->pos.stage - 1;
		if (run->pos.is_auto)
			add(g, WET_CUE_KEY, run->pos.since_ns);
		if (before >= 0 && light_now(run) == WET_LIGHT_WHITE &&
			wet_recipe_light(run->setup.recipe, before) < WET_LIGHT_WHITE)
			add(g, WET_CUE_LIGHTS, run->pos.since_ns + LIGHTS_NS);
		add_series(g, WET_CUE_STAND_BY, run->pos.since_ns + STAND_BY_NS, MINUTE_NS, INT64_MAX);
		break;
	}
	case WET_PHASE_EARLY: gather_bath(g); break;
	case WET_PHASE_ENDED:
		if (run->pos.is_auto)
			add(g, WET_CUE_KEY, run->pos.since_ns);
		break;
	default: break;
	}
}

/* -- leaving out what would overlap --------------------------------------- */

static bool is_in_the_way(const struct candidate *c, const struct candidate *kept)
{
	int64_t apart = c->at_boot_ns - kept->at_boot_ns;
	if (c->kind == WET_CUE_BEAT && kept->kind != WET_CUE_BEAT && apart < BEAT_CLEAR_NS &&
		apart > -BEAT_CLEAR_NS)
		return true;
	return apart >= 0 ? apart < kept->length_ns + GAP_AROUND_NS : -apart < c->length_ns + GAP_AROUND_NS;
}

static void sort_by_rank(struct candidate *list, int count)
{
	for (int i = 1; i < count; i++) { /* small and nearly sorted */
		struct candidate c = list[i];
		int j = i;
		while (j > 0 &&
			   (list[j - 1].rank > c.rank || (list[j - 1].rank == c.rank && list[j - 1].at_ns > c.at_ns))) {
			list[j] = list[j - 1];
			j--;
		}
		list[j] = c;
	}
}

static void keep_from_the_top(struct gather *g)
{
	sort_by_rank(g->list, g->count);
	for (int i = 0; i < g->count; i++) {
		g->list[i].is_kept = true;
		for (int j = 0; j < i && g->list[i].is_kept; j++)
			if (g->list[j].is_kept && is_in_the_way(&g->list[i], &g->list[j]))
				g->list[i].is_kept = false;
	}
}

/* -- the answer ------------------------------------------------------------- */

static void answer(const struct wet_run *run, const struct candidate *c, struct wet_cue *ret_cue)
{
	memset(ret_cue, 0, sizeof *ret_cue);
	ret_cue->kind = (enum wet_cue_kind)c->kind;
	ret_cue->tone = c->pips > 0 ? WET_TONE_PIPS : kinds[c->kind].tone;
	ret_cue->pips = c->pips > 0 ? c->pips : 1;
	ret_cue->rate_milli = run->rate_milli;
	ret_cue->at_boot_ns = c->at_boot_ns;
	ret_cue->at_run_ns = c->at_ns;
	ret_cue->stage = run->pos.stage;
	say_cue(run, (enum wet_cue_kind)c->kind, c->at_ns, ret_cue->text, sizeof ret_cue->text);
}

/* The first cue with after_boot < at, at before the boundary. Searches windows up to the stage's last cue. */
static bool find_in_stage(const struct wet_run *run, int64_t after_boot_ns, int64_t boundary,
						  bool is_entry_dropped, struct wet_cue *ret_cue)
{
	static const int64_t never = INT64_MAX;
	struct gather g;
	g.run = run;
	g.is_entry_dropped = is_entry_dropped;
	int64_t margin = MARGIN_NS / 1000 * run->rate_milli;
	int64_t after_ns = wet_run_time(run, after_boot_ns);
	int64_t entry_ns = run->pos.since_ns;
	int64_t w = after_ns > entry_ns ? after_ns : entry_ns;
	if (wet_run_boot(run, w) > after_boot_ns && w > entry_ns)
		w--; /* rounding of a fast clock */
	while (boundary == never || w <= boundary) {
		g.count = 0;
		g.last_ns = INT64_MIN;
		g.from_ns = w - margin > entry_ns ? w - margin : entry_ns;
		g.to_ns = w + WINDOW_S * NS_PER_S + margin;
		if (g.to_ns > boundary)
			g.to_ns = boundary;
		gather_stage(&g);
		if (boundary >= g.from_ns && boundary <= w + WINDOW_S * NS_PER_S + margin) {
			/* What the boundary itself sounds takes part in the ranking; it is answered from the next stage. */
			g.to_ns = boundary;
			add(&g, next_waits(run) ? WET_CUE_KEY : WET_CUE_CHANGE, boundary);
		}
		assert(g.count < CANDIDATES);
		keep_from_the_top(&g);
		const struct candidate *best = NULL;
		for (int i = 0; i < g.count; i++) {
			const struct candidate *c = &g.list[i];
			if (!c->is_kept || c->at_boot_ns <= after_boot_ns || c->at_ns >= boundary || c->at_ns < entry_ns ||
				c->at_ns > w + WINDOW_S * NS_PER_S)
				continue;
			if (!best || c->at_ns < best->at_ns)
				best = c;
		}
		if (best) {
			answer(run, best, ret_cue);
			return true;
		}
		if (w + WINDOW_S * NS_PER_S >= g.last_ns)
			return false;
		w += WINDOW_S * NS_PER_S;
	}
	return false;
}

/* Is the cue at the boundary left out for what this stage sounds just before? */
static bool boundary_is_dropped(const struct wet_run *run, int64_t boundary)
{
	if (!next_waits(run))
		return false; /* a change is never left out */
	struct gather g = { .run = run, .last_ns = INT64_MIN, .to_ns = boundary };
	int64_t margin = MARGIN_NS / 1000 * run->rate_milli;
	g.from_ns = boundary - margin > run->pos.since_ns ? boundary - margin : run->pos.since_ns;
	gather_stage(&g);
	add(&g, WET_CUE_KEY, boundary);
	keep_from_the_top(&g);
	for (int i = 0; i < g.count; i++)
		if (g.list[i].at_ns == boundary && g.list[i].kind == WET_CUE_KEY)
			return !g.list[i].is_kept;
	return false;
}

bool wet_cue_next(const struct wet_run *before, int64_t after_boot_ns, struct wet_cue *ret_cue)
{
	struct wet_run run = *before;
	bool is_entry_dropped = false;
	wet_run_advance(&run, after_boot_ns);
	for (int i = 0; i < WET_RECIPE_STAGES * (WET_PIECES + 2); i++) {
		int64_t boundary = boundary_ns(&run);
		if (find_in_stage(&run, after_boot_ns, boundary, is_entry_dropped, ret_cue))
			return true;
		if (boundary == INT64_MAX)
			return false;
		is_entry_dropped = boundary_is_dropped(&run, boundary);
		wet_run_advance(&run, wet_run_boot(&run, boundary));
	}
	return false;
}
