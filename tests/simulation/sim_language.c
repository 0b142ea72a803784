/* sim_language.c: whole sessions of every shipped process, with random acts, in German: of all that is said (cues, answers, where,
 * readings, orders, doubts, alarms, hands, the lesson) nothing is left in English. --seed S --count N */
#include "base/phrases.h"
#include "base/random.h"
#include "prop_args.h"
#include "shelf/phrasebook.h"
#include "shelf/shelf.h"
#include "wetside/cues.h"
#include "wetside/hands.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL

static struct wet_random rnd;
static struct wet_phrasebook *german;
static unsigned long long seed = 5;
static long count = 10, said_count;
static int wrong_count;

/* Heard before, by its hash (FNV-1a): another with the same one is not missed for long, with another seed. */
static bool is_old(const char *text)
{
	static uint64_t seen[1 << 16];
	uint64_t hash = 1469598103934665603ULL;
	for (const char *p = text; *p; p++)
		hash = (hash ^ (unsigned char)*p) * 1099511628211ULL;
	bool is_there = seen[hash % (1 << 16)] == hash;
	seen[hash % (1 << 16)] = hash;
	return is_there;
}

static void hear(const char *what, const char *text)
{
	char said[1024], left[200];
	if (!text[0] || is_old(text))
		return;
	said_count++;
	wet_phrases_say_all(&german->phrases, text, said, sizeof said, left, sizeof left);
	if (left[0] && wrong_count++ < 40)
		printf("%s: \"%s\" of \"%s\" is left: \"%s\"\n", what, left, text, said);
}

static void hear_sentence(void *ctx, const char *text)
{
	hear(ctx, text);
}

static void look(struct wet_run *run, int64_t now)
{
	struct wet_view v;
	struct wet_cue cue;
	wet_run_view(run, now, &v);
	hear("doing", v.doing);
	hear("next", v.next);
	hear("left", v.left);
	hear("order", v.order);
	hear("doubt", v.doubt);
	if (wet_cue_next(run, now, &cue))
		hear(wet_cue_word(cue.kind), cue.text);
}

static struct wet_event random_event(const struct wet_run *run, int64_t now)
{
	static const int often[] = { WET_ACT_GO, WET_ACT_GO, WET_ACT_GO, WET_ACT_WHERE, WET_ACT_READING, WET_ACT_READING, WET_ACT_LONGER };
	bool is_often = wet_random_below(&rnd, 3) > 0;
	struct wet_event e = { .boot_ns = now, .wall_ms = now / 1000000, .bath = -1, .number = -1 };
	e.kind = is_often ? often[wet_random_below(&rnd, sizeof often / sizeof often[0])] : (int)wet_random_below(&rnd, WET_ACT_N);
	if (e.kind == WET_ACT_ABANDON && wet_random_below(&rnd, 10) > 0)
		e.kind = WET_ACT_UNDO;
	e.flags = wet_random_below(&rnd, 4) == 0 ? WET_EVENT_HELD : 0;
	e.a_ns = e.kind == WET_ACT_JOIN ? (int64_t)wet_random_below(&rnd, 5) : wet_random_between(&rnd, -S, 90 * S);
	e.temperature_mc = (int32_t)wet_random_between(&rnd, 4000, 32000) / 100 * 100;
	if (wet_random_below(&rnd, 30) == 0)
		e.temperature_mc = 180000;
	if (e.kind == WET_ACT_READING) {
		e.bath = (int)wet_random_below(&rnd, (uint64_t)run->setup.recipe->bath_count + 1) - 1;
		e.flags |= wet_random_below(&rnd, 5) == 0 ? WET_EVENT_FAHRENHEIT : 0;
		e.flags |= e.bath < 0 ? WET_EVENT_ROOM : wet_random_below(&rnd, 3) == 0 ? WET_EVENT_AFTER : WET_EVENT_BEFORE;
	}
	return e;
}

static void gap(struct wet_run *run, int64_t *now)
{
	struct wet_event e = { .kind = WET_EVENT_RESUMED, .bath = -1, .number = -1 };
	e.a_ns = wet_run_time(run, *now);
	*now += wet_random_between(&rnd, 3 * S, 4000 * S);
	e.boot_ns = *now;
	e.b_ns = wet_run_time(run, *now);
	e.c_ns = wet_random_below(&rnd, 2) ? e.b_ns : e.a_ns + (e.b_ns - e.a_ns) / 2;
	e.flags = e.c_ns != e.b_ns ? WET_EVENT_UNCERTAIN : 0;
	wet_run_fold(run, &e);
}

static void session(const struct wet_recipe *recipe)
{
	struct wet_run_setup setup = { .recipe = recipe, .pieces = 1 + (int)wet_random_below(&rnd, 30), .tolerance_mc = 500,
								   .rules_version = WET_RULES_VERSION };
	struct wet_presses presses = { .has_doubt = false };
	struct wet_run run;
	int64_t now = 1000 * S;
	setup.vessel = (struct wet_vessel){ .kind = recipe->vessel_kind, .fill_ns = recipe->fill_ns, .drain_ns = recipe->drain_ns };
	setup.washer.kind = WET_VESSEL_WASHER;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup.rate_milli[i] = 1000;
	wet_run_init(&run, &setup, now);
	wet_run_sentences(&run, hear_sentence, "planned");
	struct wet_event begin = { .kind = WET_ACT_BEGIN, .boot_ns = now, .bath = -1, .number = -1 };
	wet_run_fold(&run, &begin);
	for (int i = 0; i < 250 && run.outcome == 0; i++) {
		struct wet_answer a;
		now += wet_random_between(&rnd, S / 2, 40 * S);
		wet_run_advance(&run, now);
		if (wet_random_below(&rnd, 40) == 0)
			gap(&run, &now);
		look(&run, now);
		struct wet_event e = random_event(&run, now);
		wet_run_try(&run, &presses, &e, &a);
		hear(wet_act_word(e.kind), a.text);
		if (a.kind == WET_ANSWER_DO && e.kind != WET_ACT_WHERE)
			wet_run_fold(&run, &e);
		look(&run, now);
	}
}

static void two_tanks(const struct wet_recipe *recipe)
{
	static struct wet_hands a, b;
	struct wet_run_setup setup = { .recipe = recipe, .pieces = 4, .rules_version = WET_RULES_VERSION };
	struct wet_run run;
	char text[WET_LINE_BYTES];
	setup.vessel = (struct wet_vessel){ .kind = recipe->vessel_kind, .fill_ns = recipe->fill_ns, .drain_ns = recipe->drain_ns };
	for (int i = 0; i < 60; i++) {
		wet_run_init(&run, &setup, 0);
		wet_hands_of(&run, i * 17 * S, &a);
		wet_hands_of(&run, 400 * S, &b);
		hear("hands", wet_hands_sentence(&a, "tank", &b, "tank-2", 400 * S, text, sizeof text));
	}
}

int main(int argc, char **argv)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = { WET_SOURCE_DIR "/safety", NULL };
	struct wet_shelf *shelf;
	struct wet_fault fault = { 0 };
	char text[WET_LINE_BYTES];
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu count %ld\n", seed, count);
	if (wet_shelf_open(&shelf, recipes, safety) != 0 ||
		wet_phrasebook_read(WET_SOURCE_DIR "/daemon/ship/speech/de.json", &german, &fault) != 0) {
		printf("not read: %s %s\n", fault.where, fault.want);
		return 2;
	}
	wet_random_seed(&rnd, seed);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		for (long n = 0; n < count && !r->is_test; n++)
			session(r);
		if (!r->is_test)
			two_tanks(r);
	}
	for (int t = 0; t < WET_TONE_N; t++)
		if (t != WET_TONE_PIPS)
			hear("lesson", wet_tone_lesson((enum wet_tone)t, text, sizeof text));
	printf("%ld sentences, %d with English left\n", said_count, wrong_count);
	wet_phrasebook_free(german);
	wet_shelf_free(shelf);
	return wrong_count ? 1 : 0;
}
