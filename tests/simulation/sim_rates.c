/* sim_rates.c: rehearsals of every shipped process at 1x, 4x, 20x and 100x: which cues sound, that none begins into another, and that
 * no change is left out at any rate. At 1x all that the recipe has is heard. */
#include "shelf/shelf.h"
#include "wetside/cues.h"

#include <stdio.h>
#include <string.h>

#define S 1000000000LL

static int wrong_count;

static void wrong(const struct wet_recipe *r, int rate, const char *what, const struct wet_cue *cue)
{
	wrong_count++;
	printf("%s at %dx, %s at %.3f s: %s\n", r->name, rate, wet_cue_word(cue->kind), (double)cue->at_boot_ns / 1e9, what);
}

struct tally {
	int heard[WET_CUE_KIND_N];
	int64_t took_ns;
};

static void rehearse(const struct wet_recipe *r, int rate, struct tally *t)
{
	struct wet_run_setup setup = { .recipe = r, .pieces = 6, .is_rehearsal = true, .rules_version = WET_RULES_VERSION };
	struct wet_cue cue = { .at_boot_ns = 0 }, next;
	struct wet_run run;
	int count = 0;
	memset(t, 0, sizeof *t);
	setup.vessel = (struct wet_vessel){ .kind = r->vessel_kind, .fill_ns = r->fill_ns, .drain_ns = r->drain_ns };
	setup.washer.kind = WET_VESSEL_WASHER;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup.rate_milli[i] = (uint32_t)rate * 1000;
	wet_run_init(&run, &setup, 0);
	struct wet_event begin = { .kind = WET_ACT_BEGIN, .bath = -1, .number = -1 };
	wet_run_fold(&run, &begin);
	bool has = wet_cue_next(&run, 0, &cue);
	for (; has && count < 100000; count++) {
		t->heard[cue.kind]++;
		t->took_ns = cue.at_boot_ns;
		has = wet_cue_next(&run, cue.at_boot_ns, &next);
		int64_t end_ns = cue.at_boot_ns + wet_tone_length_ns(cue.tone, cue.pips, cue.rate_milli);
		if (has && next.at_boot_ns < end_ns && next.tone != WET_TONE_CHANGE && cue.tone != WET_TONE_CHANGE)
			wrong(r, rate, "the next begins before it has ended", &cue);
		if (has && next.at_boot_ns <= cue.at_boot_ns)
			wrong(r, rate, "two at once", &cue);
		cue = next;
	}
	if (count >= 100000)
		wrong(r, rate, "it never ends", &cue);
}

/* Of each kind that the first has: is it in the other? */
static void compare(const struct wet_recipe *r, const struct tally *one, const struct tally *other, int rate)
{
	const struct wet_cue change = { .kind = WET_CUE_CHANGE };
	if (other->heard[WET_CUE_CHANGE] != one->heard[WET_CUE_CHANGE])
		wrong(r, rate, "a change is left out", &change);
	for (int k = 0; k < WET_CUE_KIND_N; k++)
		if (other->heard[k] > one->heard[k])
			wrong(r, rate, "more is heard than at 1x", &(struct wet_cue){ .kind = (enum wet_cue_kind)k });
	if (other->took_ns * rate > one->took_ns + one->took_ns / 20 + 100 * S)
		wrong(r, rate, "it takes longer than it should", &change);
}

int main(void)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = { WET_SOURCE_DIR "/safety", NULL };
	static const int rates[] = { 4, 20, 100 };
	struct wet_shelf *shelf;
	struct tally all = { .took_ns = 0 };
	if (wet_shelf_open(&shelf, recipes, safety) != 0)
		return 2;
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		struct tally one, other;
		if (r->is_test)
			continue;
		rehearse(r, 1, &one);
		for (int k = 0; k < WET_CUE_KIND_N; k++)
			all.heard[k] += one.heard[k];
		for (size_t n = 0; n < sizeof rates / sizeof rates[0]; n++) {
			rehearse(r, rates[n], &other);
			compare(r, &one, &other, rates[n]);
		}
	}
	/* Past the most: a rehearsal presses in time. Change the water: only a wash by fill and dump. */
	for (int k = 0; k < WET_CUE_KIND_N; k++) {
		printf("%s %d\n", wet_cue_word((enum wet_cue_kind)k), all.heard[k]);
		if (all.heard[k] == 0 && k != WET_CUE_PAST_MOST && k != WET_CUE_WATER) {
			printf("never heard at 1x: %s\n", wet_cue_word((enum wet_cue_kind)k));
			wrong_count++;
		}
	}
	wet_shelf_free(shelf);
	return wrong_count ? 1 : 0;
}
