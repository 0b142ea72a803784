/* bench_onset.c: when tones really begin on a card that keeps time, against when they were due.
 *
 *   bench_onset [--count N] [--ppm N] [--step FRAMES] [--busy PROCESSES] [--seed S]
 *
 * Prints the distribution; the aim is 42 us, two samples. Fails only if a tone is missing, too many, or out of order, for
 * what is late on a busy machine is to be reported. Without options: idle, then with two busy processes. */
#include "paced_card.h"
#include "speaker/speaker.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define COUNT_MAX 2000
#define NS_PER_MS 1000000LL

struct plan {
	int count, busy;
	long ppm, step;
	uint64_t seed;
};

static int64_t boot_ns(void *ctx)
{
	struct timespec ts;

	(void)ctx;
	clock_gettime(CLOCK_BOOTTIME, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

static void sleep_until(int64_t at_ns)
{
	struct timespec ts = { .tv_sec = at_ns / 1000000000, .tv_nsec = at_ns % 1000000000 };

	while (clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME, &ts, NULL) != 0) {
	}
}

/* splitmix64 */
static uint64_t next_random(uint64_t *state)
{
	uint64_t z = (*state += 0x9e3779b97f4a7c15u);

	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
	z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
	return z ^ (z >> 31);
}

static int compare(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;

	return (x > y) - (x < y);
}

static void start_busy(pid_t *pids, int count)
{
	for (int i = 0; i < count; i++) {
		pids[i] = fork();
		if (pids[i] == 0) {
			for (volatile unsigned long spin = 0;; spin = spin + 1) {
			}
		}
	}
}

static void end_busy(const pid_t *pids, int count)
{
	for (int i = 0; i < count; i++) {
		if (pids[i] <= 0) continue;
		kill(pids[i], SIGKILL);
		waitpid(pids[i], NULL, 0);
	}
}

/* Plays the plan's tones, each queued 150 ms before it is due, as the daemon does. */
static void play(struct wet_speaker *speaker, const struct plan *plan, int64_t *due_ns)
{
	uint64_t state = plan->seed;
	int64_t at_ns = boot_ns(NULL) + 1000 * NS_PER_MS;

	wet_speaker_want(speaker, true);
	for (int i = 0; i < plan->count; i++) {
		due_ns[i] = at_ns;
		at_ns += 150 * NS_PER_MS + (int64_t)(next_random(&state) % (uint64_t)(100 * NS_PER_MS));
	}
	for (int i = 0; i < plan->count; i++) {
		sleep_until(due_ns[i] - 150 * NS_PER_MS);
		if (wet_speaker_at(speaker, 1, due_ns[i], WET_TONE_BEAT, 1, 1000) != 0) printf("tone %d was refused\n", i);
	}
	sleep_until(due_ns[plan->count - 1] + 150 * NS_PER_MS);
}

/* Missing, extra and order are one question: is each onset nearest to its own tone, under half the smallest gap? */
static int judge(const struct plan *plan, const int64_t *due_ns, const int64_t *onset_ns, int onsets)
{
	static double error_us[COUNT_MAX];
	int over = 0, misplaced = 0;

	if (onsets != plan->count) {
		printf("FAILED: %d onsets for %d tones\n", onsets, plan->count);
		return 1;
	}
	for (int i = 0; i < onsets; i++) {
		error_us[i] = fabs((double)(onset_ns[i] - due_ns[i]) / 1e3);
		if (error_us[i] > 75e3) misplaced++;
		if (error_us[i] > 42) over++;
	}
	qsort(error_us, (size_t)onsets, sizeof error_us[0], compare);
	printf("onset error, us: p50 %.1f  p90 %.1f  p99 %.1f  max %.1f   over 42 us: %d of %d\n", error_us[onsets / 2],
	       error_us[onsets * 9 / 10], error_us[onsets * 99 / 100], error_us[onsets - 1], over, onsets);
	if (misplaced > 0) printf("FAILED: %d tones missing, added or out of order\n", misplaced);
	return misplaced > 0;
}

static int run(const struct plan *plan)
{
	static int64_t due_ns[COUNT_MAX], onset_ns[COUNT_MAX + 1];
	struct wet_speaker_options options = { .where = "default", .now_ns = boot_ns, .level_milli = 1000 };
	struct wet_speaker *speaker;
	struct paced_card card;
	struct rusage used;
	pid_t busy[16];
	int onsets, failed = 0;

	printf("%d tones, card %ld ppm off, pointer in steps of %ld frames, %d busy processes, seed %llu\n", plan->count,
	       plan->ppm, plan->step, plan->busy, (unsigned long long)plan->seed);
	fflush(stdout);
	if (!paced_card_make(&card, paced_card_plugin(), plan->ppm, plan->step)) {
		printf("FAILED: no plug-in %s\n", paced_card_plugin());
		return 1;
	}
	if (wet_speaker_open(&speaker, &options, NULL) != 0) return 1;
	start_busy(busy, plan->busy);
	play(speaker, plan, due_ns);
	end_busy(busy, plan->busy);
	printf("underruns %llu, dropped %llu; ", (unsigned long long)wet_speaker_underruns(speaker),
	       (unsigned long long)wet_speaker_dropped(speaker));
	wet_speaker_close(speaker);
	getrusage(RUSAGE_SELF, &used);
	onsets = paced_card_onsets(&card, 480, onset_ns, COUNT_MAX + 1);
	printf("processor time so far %.0f ms\n",
	       (double)(used.ru_utime.tv_sec + used.ru_stime.tv_sec) * 1e3
	           + (double)(used.ru_utime.tv_usec + used.ru_stime.tv_usec) / 1e3);
	failed = judge(plan, due_ns, onset_ns, onsets);
	paced_card_remove(&card);
	return failed;
}

int main(int argc, char **argv)
{
	struct plan plan = { .count = 100, .step = 1, .seed = 1 };

	for (int i = 1; i + 1 < argc; i += 2) {
		long value = strtol(argv[i + 1], NULL, 10);

		if (strcmp(argv[i], "--count") == 0) plan.count = (int)value;
		else if (strcmp(argv[i], "--ppm") == 0) plan.ppm = value;
		else if (strcmp(argv[i], "--step") == 0) plan.step = value;
		else if (strcmp(argv[i], "--busy") == 0) plan.busy = (int)value;
		else if (strcmp(argv[i], "--seed") == 0) plan.seed = (uint64_t)value;
		else return 2;
	}
	if (plan.count < 1 || plan.count > COUNT_MAX || plan.step < 1 || plan.busy < 0 || plan.busy > 16) return 2;
	if (argc > 1) return run(&plan);
	int failed = run(&plan);

	plan.busy = 2;
	return run(&plan) | failed;
}
