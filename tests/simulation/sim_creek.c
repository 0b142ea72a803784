/* sim_creek.c: the session of the creek survey, as heard: six pieces of direct-positive paper in a closed tank at 20 C, fill and
 * drain 20 s. Virtual time, the shipped recipe, acts as a person does them; every sound in order, readable as documentation.
 * Times are minutes of the session, from the first pour. */
#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/cues.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define ARMED (1000 * S)
#define POUR (ARMED + 240 * S) /* the first pour: 0:00 */

static struct wet_run run;
static struct wet_presses presses;
static int64_t heard_to = ARMED;
static char story[16384];

static void line(int64_t boot_ns, const char *word, const char *text)
{
	int64_t t = (boot_ns - POUR) / (S / 10);
	const char *sign = t < 0 ? "-" : " ";
	if (t < 0)
		t = -t;
	wet_text_append(story, sizeof story, "%s%d:%02d %-11s %s\n", sign, (int)(t / 600), (int)(t / 10 % 60),
					word, text);
}

static void listen_to(int64_t until)
{
	struct wet_cue cue;
	while (wet_cue_next(&run, heard_to, &cue) && cue.at_boot_ns < until) {
		heard_to = cue.at_boot_ns;
		line(cue.at_boot_ns, wet_cue_word(cue.kind), cue.text);
	}
	heard_to = until;
}

static void act(int64_t at, int kind, const char *press)
{
	struct wet_event e = { .kind = kind, .boot_ns = at, .bath = -1, .number = -1 };
	struct wet_answer a;
	listen_to(at);
	wet_run_try(&run, &presses, &e, &a);
	if (a.kind == WET_ANSWER_DO)
		wet_run_fold(&run, &e);
	line(at, press, a.kind == WET_ANSWER_DO ? a.text : a.kind == WET_ANSWER_IGNORE ? "(ignored)" : a.text);
}

static const char expected[] =
	"-4:00 begin       Camera one, slot one.\n"
	"-3:59 handle      Camera one, slot one.\n"
	"-3:35 go          Camera two, slot two.\n"
	"-3:10 go          Camera three, slot three.\n"
	"-2:45 go          Camera four, slot four.\n"
	"-2:20 go          Camera five, slot five.\n"
	"-1:55 go          Camera six, slot six.\n"
	"-1:30 go          Lid on?\n"
	"-1:29 handle      Lid on?\n"
	"-1:05 go          Lights may come on if the paper box is shut and no piece is open.\n"
	"-1:03 lights      Lights may come on if the paper box is shut and no piece is open.\n"
	"-1:00 stand-by    Developer, bottle one, one band. Press as you start to pour.\n"
	" 0:00 go          Developer begins now.\n"
	" 0:15 beat        \n"
	" 0:20 turn        Turn: four slow turns, tap for air bells.\n"
	" 0:30 rest        Rest.\n"
	" 0:45 beat        \n"
	" 1:00 turn        Turn: four slow turns, tap for air bells.\n"
	" 1:10 rest        Rest.\n"
	" 1:15 beat        \n"
	" 1:20 next        Rinse next, water jug.\n"
	" 1:30 beat        \n"
	" 1:37 count       \n"
	" 1:40 pour-out    Pour back, bottle one.\n"
	" 2:00 change      Rinse.\n"
	" 2:03 go          Rinse begins now.\n";

/* A rehearsal presses its own keys, and each is heard, the last one too. */
static bool rehearsal_ends_audibly(const struct wet_run_setup *as)
{
	static struct wet_run rehearsal;
	struct wet_run_setup setup = *as;
	struct wet_event begin = { .kind = WET_ACT_BEGIN, .boot_ns = ARMED, .bath = -1, .number = -1 };
	struct wet_answer a;
	struct wet_cue cue = { 0 };
	int64_t after = ARMED;

	setup.is_rehearsal = true;
	for (int i = 0; i < WET_STAGE_KIND_N; i++) setup.rate_milli[i] = 1000;
	wet_run_init(&rehearsal, &setup, ARMED);
	memset(&presses, 0, sizeof presses);
	wet_run_try(&rehearsal, &presses, &begin, &a);
	wet_run_fold(&rehearsal, &begin);
	while (wet_cue_next(&rehearsal, after, &cue)) after = cue.at_boot_ns;
	return cue.kind == WET_CUE_KEY && strcmp(cue.text, "Done. The run has ended.") == 0;
}

int main(int argc, char **argv)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	struct wet_shelf *shelf;
	if (wet_shelf_open(&shelf, recipes, safety) != 0)
		return 2;
	const struct wet_shelf_recipe *r = wet_shelf_find(shelf, "direct-positive-fibre-tank");
	if (!r)
		return 2;
	struct wet_run_setup setup = {
		.recipe = &r->recipe, .pieces = 6, .tolerance_mc = 500, .rules_version = WET_RULES_VERSION
	};
	setup.vessel.kind = WET_VESSEL_CLOSED_TANK;
	setup.vessel.fill_ns = setup.vessel.drain_ns = 20 * S;
	setup.washer.kind = WET_VESSEL_WASHER;
	wet_run_init(&run, &setup, ARMED);
	act(POUR - 240 * S, WET_ACT_BEGIN, "begin");
	for (int i = 0; i < 7; i++)
		act(POUR - 215 * S + i * 25 * S, WET_ACT_GO, "go");
	act(POUR, WET_ACT_GO, "go");
	act(POUR + 123 * S, WET_ACT_GO,
		"go"); /* three seconds late: the rinse's start moves, the developer's end stays */
	size_t told = strlen(story);
	/* The rest, straight on: rinse 2:03, stop 3:03, first fixer 4:03, second 7:03; then the wash waits. */
	listen_to(POUR + 620 * S);
	static const char *const later[] = { " 3:03 change      Stop bath.", " 4:03 change      First fixer.",
										 " 7:03 change      Second fixer.", " 2:43 pour-out    Pour away.",
										 "10:03 pour-ready  Ready." };
	int bad = 0;
	for (size_t i = 0; i < sizeof later / sizeof later[0]; i++)
		if (!strstr(story + told, later[i])) {
			printf("missing: %s\n", later[i]);
			bad = 1;
		}
	if (run.records[2].late_pour_ms != 3000 || run.records[2].end_ns - run.records[2].begin_ns != 120 * S)
		bad = 1;
	if (argc > 1 && strcmp(argv[1], "--tell") == 0)
		fputs(story, stdout);
	story[told] = '\0';
	if (strcmp(story, expected) != 0) {
		printf("The story was told differently:\n%s\ninstead of:\n%s", story, expected);
		bad = 1;
	}
	if (!rehearsal_ends_audibly(&setup)) {
		puts("A rehearsal's last key is not heard.");
		bad = 1;
	}
	wet_shelf_free(shelf);
	return bad;
}
