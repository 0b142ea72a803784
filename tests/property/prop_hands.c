/* prop_hands.c: hands that two runs need at once. The delay that is named is held against each delay tried in turn, second by second,
 * on random stretches and on runs of the shipped recipes at random moments; the stretches themselves against the cues that sound.
 *   --seed S --count N */
#include "base/random.h"
#include "prop_args.h"
#include "shelf/shelf.h"
#include "wetside/cues.h"
#include "wetside/hands.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define ALL (WET_HANDS_POUR | WET_HANDS_TURN)

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 400, this_case;
static long met, freed, never;

static void broken(const char *law)
{
	printf("broken: %s\nagain: prop_hands --seed %llu --count %ld\n", law, seed, this_case + 1);
	exit(1);
}

static int64_t below(int64_t n)
{
	return (int64_t)wet_random_below(&rnd, (uint64_t)n);
}

/* Second by second: is there a moment at which both hands are needed, or nearly? */
static bool meet_slowly(const struct wet_hands *a, const struct wet_hands *b, unsigned what, int64_t delay_ns)
{
	for (int i = 0; i < a->count; i++) {
		for (int j = 0; j < b->count; j++) {
			int64_t from = b->list[j].from_ns + delay_ns, to = b->list[j].to_ns + delay_ns;
			bool counts = (a->list[i].what & what) && (b->list[j].what & what);
			int64_t first_end = a->list[i].to_ns < to ? a->list[i].to_ns : to;
			int64_t last_begin = a->list[i].from_ns > from ? a->list[i].from_ns : from;
			if (counts && last_begin - first_end < WET_HANDS_APART_NS)
				return true;
		}
	}
	return false;
}

static void check_delay(const struct wet_hands *a, const struct wet_hands *b, unsigned what)
{
	int64_t delay = -1, slow = 0;
	bool has = wet_hands_delay(a, b, what, &delay);
	while (slow <= WET_HANDS_LATEST_NS && meet_slowly(a, b, what, slow))
		slow += S;
	if (has != (slow <= WET_HANDS_LATEST_NS) || (has && delay != slow))
		broken("the delay is the first of all delays at which no hands meet");
	if (wet_hands_meet(a, b, what, 0, NULL) != meet_slowly(a, b, what, 0))
		broken("hands meet as one sees it");
	met += slow > 0;
	freed += slow > 0 && has;
	never += !has;
}

static void random_hands(struct wet_hands *h)
{
	struct wet_hands one = { .count = (int)below(30) };
	h->count = 0;
	for (int i = 0; i < one.count; i++) {
		one.list[i].from_ns = below(900 * S);
		one.list[i].to_ns = one.list[i].from_ns + 1 + below(40 * S);
		one.list[i].what = below(2) ? WET_HANDS_POUR : WET_HANDS_TURN;
	}
	wet_hands_add(h, &one, (uint8_t)below(8));
	for (int i = 1; i < h->count; i++)
		if (h->list[i].from_ns < h->list[i - 1].from_ns)
			broken("stretches are in order");
}

static struct wet_run random_run(const struct wet_shelf *shelf, int64_t boot_ns)
{
	const struct wet_recipe *r = &wet_shelf_at(shelf, (size_t)below((int64_t)wet_shelf_count(shelf)))->recipe;
	struct wet_run_setup setup = { .recipe = r, .pieces = 1 + (int)below(6), .rules_version = WET_RULES_VERSION };
	struct wet_run run;
	setup.vessel = (struct wet_vessel){ .kind = r->vessel_kind, .fill_ns = r->fill_ns, .drain_ns = r->drain_ns };
	setup.washer.kind = WET_VESSEL_WASHER;
	setup.is_rehearsal = true; /* it presses its own keys: what comes is known */
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup.rate_milli[i] = 1000;
	wet_run_init(&run, &setup, boot_ns);
	struct wet_event begin = { .kind = WET_ACT_BEGIN, .boot_ns = boot_ns, .bath = -1, .number = -1 };
	wet_run_fold(&run, &begin);
	return run;
}

/* Each boundary that sounds asks for hands, and each turn that is not left out. */
static void check_cues(const struct wet_run *run, const struct wet_hands *h, int64_t from_ns)
{
	struct wet_cue cue = { .at_boot_ns = from_ns };
	while (wet_cue_next(run, cue.at_boot_ns, &cue) && cue.at_boot_ns < from_ns + 7200 * S) {
		const struct wet_stage *stage = &run->setup.recipe->stages[cue.stage];
		bool asks = cue.kind == WET_CUE_CHANGE || cue.kind == WET_CUE_POUR_OUT ||
					(cue.kind == WET_CUE_TURN && !stage->agitation.is_continuous);
		bool is_there = false;
		for (int i = 0; i < h->count && asks; i++)
			is_there = is_there || (h->list[i].from_ns <= cue.at_boot_ns && h->list[i].to_ns > cue.at_boot_ns);
		if (asks && stage->kind != WET_STAGE_WASH && stage->kind != WET_STAGE_AID && stage->kind != WET_STAGE_MIX &&
			stage->kind != WET_STAGE_STAND && !is_there && h->count < WET_HANDS)
			broken("what sounds for the hands is foreseen");
	}
}

static void check_runs(const struct wet_shelf *shelf)
{
	static struct wet_hands a, b;
	char text[WET_LINE_BYTES];
	struct wet_view v;
	int64_t begun = 1000 * S, now = begun + below(1500 * S);
	struct wet_run one = random_run(shelf, begun), two = random_run(shelf, now);
	wet_hands_of(&one, now, &a);
	wet_hands_of(&two, now, &b);
	for (int i = 0; i < a.count; i++)
		if (a.list[i].to_ns <= now || a.list[i].to_ns <= a.list[i].from_ns)
			broken("what is over needs no hands");
	wet_run_view(&one, now, &v);
	if (v.aim_ns > 0) /* one that is handled or waits is taken to go on from now */
		check_cues(&one, &a, now);
	check_delay(&a, &b, ALL);
	check_delay(&a, &b, WET_HANDS_POUR);
	wet_hands_sentence(&a, "tank", &b, "tank-2", now, text, sizeof text);
	if ((text[0] != '\0') != meet_slowly(&a, &b, ALL, 0) || strlen(text) >= sizeof text - 1)
		broken("it is told if and only if hands meet, in a whole sentence");
}

int main(int argc, char **argv)
{
	static const char *const dirs[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = { WET_SOURCE_DIR "/safety", NULL };
	static struct wet_hands a, b;
	struct wet_shelf *shelf = NULL;
	test_prop_args(argc, argv, &seed, &count);
	if (wet_shelf_open(&shelf, dirs, safety) != 0)
		return 1;
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		random_hands(&a);
		random_hands(&b);
		check_delay(&a, &b, ALL);
		check_delay(&a, &b, 1U + (unsigned)below(3));
		check_runs(shelf);
	}
	printf("seed %llu, %ld cases: hands met %ld times, a delay freed them %ld times, none did %ld times\n", seed, count, met,
		   freed, never);
	if (count >= 100 && (met == 0 || freed == 0 || never == 0))
		broken("all three were met");
	wet_shelf_free(shelf);
	return 0;
}
