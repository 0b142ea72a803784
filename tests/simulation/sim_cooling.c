/* sim_cooling.c: a cold wash-house, a tank that loses heat, a thermometer that is off by a little, read by hand; then the hands are
 * busy until the clock ends the stage. How far the end was from the one that gives the paper its dose: within the band as often
 * as a band of two standard errors should be, and nearer than with no forecast at all.  [--sessions N] */
#include "base/random.h"
#include "base/text.h"
#include "wetside/run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define TREF_C 20.0
#define READINGS_MAX 10

static struct wet_random rnd;
static struct wet_recipe recipe;

/* The truth of one session. */
struct session {
	double room_c, from_c, tau_s, factor, aim_s;
	double offset_c; /* the thermometer shows so much more */
};

static double normal(void)
{
	double sum = -6; /* of twelve: near enough to the normal law, and of finite reach */
	for (int i = 0; i < 12; i++)
		sum += wet_random_unit(&rnd);
	return sum;
}

static double true_c(const struct session *s, double at_s)
{
	return s->room_c + (s->from_c - s->room_c) * exp(-at_s / s->tau_s);
}

/* What a person reads: the thermometer's own error, theirs, and to a tenth. */
static int32_t read_mc(const struct session *s, double c)
{
	return (int32_t)lround((c + s->offset_c + 0.06 * normal()) * 10) * 100;
}

/* When the paper has its dose, by small steps that share nothing with the daemon's integral. */
static double true_end_s(const struct session *s)
{
	double dose = 0, at = 0, step = 0.25;
	while (dose < s->aim_s) {
		dose += step * pow(s->factor, (true_c(s, at + step / 2) - TREF_C) / 10);
		at += step;
	}
	return at;
}

static void make(const struct session *s)
{
	int64_t aim_ns = llround(s->aim_s * 1e9);
	memset(&recipe, 0, sizeof recipe);
	recipe.vessel_kind = WET_VESSEL_OPEN_TANK;
	recipe.bath_count = recipe.stage_count = 1;
	recipe.stages[0] = (struct wet_stage){
		.kind = WET_STAGE_DEVELOP, .name = "Develop", .least_ns = aim_ns / 2, .aim_ns = aim_ns, .most_ns = 4 * aim_ns
	};
	recipe.stages[0].law = (struct wet_law){ WET_LAW_FACTOR, s->factor, 20000, INT32_MIN, INT32_MAX, 0, { { 0, 0 } } };
}

static void fold(struct wet_run *run, int kind, uint32_t flags, double at_s, int32_t mc)
{
	struct wet_event e = { .kind = kind,
						   .flags = flags,
						   .boot_ns = 1000 * S + llround(at_s * 1e9),
						   .temperature_mc = mc,
						   .bath = flags & WET_EVENT_ROOM ? -1 : 0 };
	wet_run_fold(run, &e);
}

struct log {
	int count;
	double at_s[READINGS_MAX];
	int32_t mc[READINGS_MAX], room_mc;
};

/* The same readings, under these rules. */
static void live(struct wet_run *run, const struct wet_vessel *vessel, int rules, int32_t room_mc, const struct log *log)
{
	struct wet_run_setup setup = {
		.recipe = &recipe, .pieces = 1, .tolerance_mc = 500, .rules_version = rules, .vessel = *vessel
	};
	wet_run_init(run, &setup, 1000 * S);
	if (room_mc != INT32_MIN)
		fold(run, WET_ACT_READING, WET_EVENT_ROOM, 0, room_mc);
	fold(run, WET_ACT_BEGIN, 0, 0, 0);
	fold(run, WET_ACT_GO, 0, 0, 0);
	for (int i = 0; i < log->count; i++)
		fold(run, WET_ACT_READING, 0, log->at_s[i], log->mc[i]);
}

struct tally {
	long sessions, within;
	double off2, plain2; /* seconds squared: with the forecast, and with none */
	double band;
};

static void one_session(struct tally tally[WET_COURSE_KIND_N])
{
	static struct wet_run run, plain;
	struct session s = { .room_c = 8 + 8 * wet_random_unit(&rnd),
						 .from_c = 18 + 5 * wet_random_unit(&rnd),
						 .tau_s = 1500 + 3000 * wet_random_unit(&rnd),
						 .factor = 1.8 + wet_random_unit(&rnd),
						 .aim_s = 300 + 900 * wet_random_unit(&rnd),
						 .offset_c = 0.25 * normal() };
	struct wet_vessel vessel = { .kind = WET_VESSEL_OPEN_TANK }, unknown = vessel;
	struct log log = { .count = (int)wet_random_between(&rnd, 1, READINGS_MAX), .room_mc = INT32_MIN };
	struct wet_view v, w;
	make(&s);
	/* Half of the tanks were used before: their constant is known, and today's is a little another. */
	if (wet_random_below(&rnd, 2)) {
		double usual_s = s.tau_s * (1 + WET_CONSTANT_SPREAD * normal()), error = 0.1;
		vessel.tau_ns = llround(fmax(usual_s * (1 + error * normal()), 300) * 1e9);
		vessel.tau_error_ns = (int64_t)(error * (double)vessel.tau_ns);
	}
	if (wet_random_below(&rnd, 4))
		log.room_mc = read_mc(&s, s.room_c + 0.3 * normal());
	for (int i = 0; i < log.count; i++) {
		log.at_s[i] = 2 + s.aim_s * 0.6 * (i + 0.5 * wet_random_unit(&rnd)) / READINGS_MAX;
		log.mc[i] = read_mc(&s, true_c(&s, log.at_s[i]));
	}
	live(&run, &vessel, WET_RULES_VERSION, log.room_mc, &log);
	live(&plain, &unknown, 1, INT32_MIN, &log);
	int64_t now = 1000 * S + llround(log.at_s[log.count - 1] * 1e9);
	wet_run_view(&run, now, &v);
	wet_run_view(&plain, now, &w);
	double end = true_end_s(&s), off = (double)(v.aim_ns - v.begin_ns) / 1e9 - end;
	struct tally *t = &tally[v.course];
	t->sessions++;
	t->within += fabs(off) <= (double)v.band_ns / 1e9;
	t->off2 += off * off;
	t->plain2 += pow((double)(w.aim_ns - w.begin_ns) / 1e9 - end, 2);
	t->band += (double)v.band_ns / 1e9;
}

static int judge(const char *name, int kind, const struct tally *t)
{
	double n = (double)t->sessions, share = (double)t->within / n, off = sqrt(t->off2 / n), plain = sqrt(t->plain2 / n);
	int bad = 0;
	printf("%-9s %8ld %7.1f%% %8.1f s %10.2f s %10.2f s\n", name, t->sessions, 100 * share, t->band / n, off, plain);
	if (t->sessions < 100 || share < 0.93) {
		printf("broken: the end is within its band (two standard errors: 95 %%)\n");
		bad = 1;
	}
	if (kind != WET_COURSE_CONSTANT && share > 0.995) {
		printf("broken: the band is no wider than need be\n");
		bad = 1;
	}
	if (kind != WET_COURSE_CONSTANT && !(off < 0.8 * plain)) {
		printf("broken: a forecast is better than none\n");
		bad = 1;
	}
	return bad;
}

int main(int argc, char **argv)
{
	static const char *const names[WET_COURSE_KIND_N] = { "none", "constant", "vessel", "fitted" };
	struct tally tally[WET_COURSE_KIND_N];
	long sessions = argc > 2 && strcmp(argv[1], "--sessions") == 0 ? atol(argv[2]) : 3000;
	int bad = 0;
	memset(tally, 0, sizeof tally);
	wet_random_seed(&rnd, 5);
	for (long i = 0; i < sessions; i++)
		one_session(tally);
	printf("%-9s %8s %8s %10s %12s %12s\n", "course", "sessions", "within", "mean band", "rms off", "no forecast");
	for (int k = WET_COURSE_CONSTANT; k < WET_COURSE_KIND_N; k++)
		bad |= judge(names[k], k, &tally[k]);
	return bad;
}
