/* bench_deadlines.c: how late the daemon is at its deadlines, with 1, 100 and 10,000 runs live, against the kernel.
 *
 *   bench_deadlines [--runs N] [--seconds N] [--seed S]
 *
 * Real: the whole host in this process (loop, timerfd on boot time behind uv_poll, darkroom with its heap, ledger with
 * its worker, opened as the daemon opens them), N rehearsals armed and begun through the darkroom's own functions and
 * now waiting for the developer, each with its "stand by" every minute of its own time. Taken at the port to the
 * speaker: the clock is read when the tone is handed over, and the deadline is the wake-up for which the run lay in the
 * heap. Not real: no sound device, no clients, and the runs come from inside instead of over the socket.
 *
 * Beside it at the same time, each with as many deadlines of its own: the limit, a thread that sleeps by
 * clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME) with 1 ns of timer slack; and a bare loop in a thread, the same timerfd
 * behind uv_poll with nothing else, which shows what of the difference is the mechanism's and what is ours.
 *
 * Prints them, and the ratio of the medians in each fifth of the time; the aim is at most 1.25 of the limit's, 1.3 with
 * 10,000 runs. Fails only if a deadline was early, or none came: that is no noise. */
#include "darkroom/inside.h"
#include "host/clock.h"
#include "host/inside.h"
#include "methods/methods.h"
#include "samples.h"
#include "shelf/safety.h"
#include "shelf/shelf.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <unistd.h>

#define RUNS_MAX 16000
#define NS_PER_S INT64_C(1000000000)
#define TICK_MS 5
#define BLOCKS 5 /* the measured time is cut into these, so that the noise of a moment spoils one ratio only */

static struct bench {
	struct wet_host *host;
	int runs, seconds;
	int64_t rate;      /* times faster than life */
	int64_t spread_ns; /* runs begin spread over this, so that their deadlines are */
	uint64_t seed;
	int64_t begin_ns, measured_from_ns;
	int asked, begun, failed;
	bool is_measuring;
	struct wet_live *live[RUNS_MAX + 1]; /* by id */
	void (*real_cue_at)(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate_milli);
	struct samples daemon, limit, bare, daemon_block[BLOCKS], limit_block[BLOCKS];
	atomic_bool is_over;
	int64_t cpu_ns, limit_cpu_ns, bare_cpu_ns;
	pthread_t limit_thread, bare_thread;
	uv_timer_t ticker;
} b;

static void add(struct samples *all, struct samples *blocks, int64_t at_ns, int64_t now_ns)
{
	int64_t block = (at_ns - b.measured_from_ns) * BLOCKS / (b.seconds * NS_PER_S);

	samples_add(all, now_ns - at_ns);
	if (block >= 0 && block < BLOCKS) samples_add(&blocks[block], now_ns - at_ns);
}

/* In the speaker's place: what was due, and when it came. */
static void cue_at(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate_milli)
{
	int64_t now_ns = samples_clock(CLOCK_BOOTTIME);
	const struct wet_live *live = owner <= RUNS_MAX ? b.live[owner] : NULL;

	/* A cue that is handed over for another reason (an act a moment before it) was no deadline. */
	if (b.is_measuring && live && live->wake_ns == at_ns - LEAD_NS) add(&b.daemon, b.daemon_block, live->wake_ns, now_ns);
	b.real_cue_at(ctx, owner, at_ns, tone, pips, rate_milli);
}

/* -- beside it ---------------------------------------------------------------- */

/* As many as the runs have, at random, and never in the past. */
static int64_t next_deadline(uint64_t *state, int64_t at_ns)
{
	double every_ns = 60e9 / (double)b.rate / b.runs;

	do {
		at_ns += 1 + (int64_t)(2 * every_ns * (double)(samples_random(state) >> 11) * 0x1p-53);
	} while (at_ns < samples_clock(CLOCK_BOOTTIME));
	return at_ns;
}

static void *sleep_to_deadlines(void *arg)
{
	uint64_t state = b.seed + 1;
	int64_t at_ns = samples_clock(CLOCK_BOOTTIME);

	(void)arg;
	(void)prctl(PR_SET_TIMERSLACK, 1UL);
	while (!atomic_load(&b.is_over)) {
		at_ns = next_deadline(&state, at_ns);
		struct timespec ts = { .tv_sec = at_ns / NS_PER_S, .tv_nsec = at_ns % NS_PER_S };

		if (clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME, &ts, NULL) != 0) continue;
		add(&b.limit, b.limit_block, at_ns, samples_clock(CLOCK_BOOTTIME));
	}
	b.limit_cpu_ns = samples_clock(CLOCK_THREAD_CPUTIME_ID);
	return NULL;
}

struct bare {
	uv_loop_t loop;
	uv_poll_t poll;
	int fd;
	int64_t at_ns;
	uint64_t state;
};

static void bare_cb(uv_poll_t *poll, int status, int events)
{
	int64_t now_ns = samples_clock(CLOCK_BOOTTIME);
	struct bare *bare = poll->data;
	uint64_t expirations;

	(void)status;
	(void)events;
	if (read(bare->fd, &expirations, sizeof expirations) < 0) return;
	samples_add(&b.bare, now_ns - bare->at_ns);
	if (atomic_load(&b.is_over)) uv_poll_stop(poll);
	bare->at_ns = next_deadline(&bare->state, bare->at_ns);
	wet_clock_timer_arm(bare->fd, bare->at_ns);
}

static void *run_bare_loop(void *arg)
{
	struct bare bare = { .state = b.seed + 2, .fd = wet_clock_timer_open(), .at_ns = samples_clock(CLOCK_BOOTTIME) };

	(void)arg;
	uv_loop_init(&bare.loop);
	uv_poll_init(&bare.loop, &bare.poll, bare.fd);
	bare.poll.data = &bare;
	uv_poll_start(&bare.poll, UV_READABLE, bare_cb);
	bare.at_ns = next_deadline(&bare.state, bare.at_ns);
	wet_clock_timer_arm(bare.fd, bare.at_ns);
	uv_run(&bare.loop, UV_RUN_DEFAULT);
	uv_close((uv_handle_t *)&bare.poll, NULL);
	uv_run(&bare.loop, UV_RUN_DEFAULT);
	uv_loop_close(&bare.loop);
	close(bare.fd);
	b.bare_cpu_ns = samples_clock(CLOCK_THREAD_CPUTIME_ID);
	return NULL;
}

/* -- bringing the runs to where they wait ------------------------------------- */

static void acted(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)ctx;
	(void)is_stored;
	if (answer->kind != WET_ANSWER_DO && b.failed++ == 0) printf("FAILED: %s: %s\n", live->name, answer->text);
}

static void armed(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	struct wet_darkroom *darkroom = wet_host_darkroom(b.host);
	char line[256];

	(void)ctx;
	if (!armed->live || armed->live->id > RUNS_MAX) {
		if (b.failed++ == 0) printf("FAILED: %s\n", wet_fault_line(fault, line, sizeof line));
		return;
	}
	b.live[armed->live->id] = armed->live;
	for (int i = 0; i < 2; i++) {
		struct wet_event event = { .kind = i == 0 ? WET_ACT_BEGIN : WET_ACT_GO, .bath = -1, .number = -1 };

		wet_darkroom_act(darkroom, armed->live, &event, acted, NULL);
	}
	b.begun++;
}

static void arm_one(void)
{
	struct wet_arming arming = {
		.recipe_name = "negative-resin-coated-trays", .pieces = 1, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1,
		.room_mc = INT32_MIN, .is_rehearsal = true, .is_mine = true, .uid = getuid()
	};

	snprintf(arming.run_name, sizeof arming.run_name, "run %d", ++b.asked);
	snprintf(arming.person, sizeof arming.person, "bench");
	for (int i = 0; i < WET_STAGE_KIND_N; i++) arming.rate_milli[i] = (uint32_t)b.rate * 1000;
	wet_darkroom_arm(wet_host_darkroom(b.host), &arming, armed, NULL);
}

static void end(uv_timer_t *ticker)
{
	b.cpu_ns = samples_clock(CLOCK_THREAD_CPUTIME_ID) - b.cpu_ns; /* the loop's thread */
	atomic_store(&b.is_over, true);
	uv_stop(ticker->loop);
}

static void tick(uv_timer_t *ticker)
{
	int64_t since_ns = samples_clock(CLOCK_BOOTTIME) - b.begin_ns;

	while (b.asked < b.runs && b.asked * b.spread_ns <= since_ns * b.runs) arm_one();
	if (b.failed > 0) uv_stop(ticker->loop);
	/* A second more, so that each has had a deadline of its own and the disk is quiet. */
	if (b.begun < b.runs || since_ns < b.spread_ns + 2 * NS_PER_S) return;
	b.is_measuring = true;
	b.measured_from_ns = samples_clock(CLOCK_BOOTTIME);
	b.cpu_ns = samples_clock(CLOCK_THREAD_CPUTIME_ID);
	if (pthread_create(&b.limit_thread, NULL, sleep_to_deadlines, NULL) != 0) exit(1);
	if (pthread_create(&b.bare_thread, NULL, run_bare_loop, NULL) != 0) exit(1);
	uv_timer_start(ticker, end, (uint64_t)b.seconds * 1000, 0);
}

/* -- one measurement ---------------------------------------------------------- */

static void say(const char *line)
{
	(void)line; /* "no sound was asked for" */
}

static struct wet_methods methods;

static void serve(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, uint64_t client_id, uint32_t uid,
                  const char *method, json_t *params)
{
	wet_methods_serve(ctx, rpc, ticket, client_id, uid, method, params);
}

static int compare(const void *left, const void *right)
{
	double x = *(const double *)left, y = *(const double *)right;

	return (x > y) - (x < y);
}

static double per(int64_t ns, const struct samples *samples)
{
	return samples->count ? (double)ns / 1e3 / (double)samples->count : 0;
}

static int report(double aim)
{
	double ratio[BLOCKS];
	size_t early = samples_negative(&b.daemon);

	samples_print("daemon", &b.daemon);
	samples_print("bare loop", &b.bare);
	samples_print("clock_nanosleep, the limit", &b.limit);
	for (int i = 0; i < BLOCKS; i++) {
		int64_t limit_ns = samples_quantile(&b.limit_block[i], 0.5);

		ratio[i] = limit_ns ? (double)samples_quantile(&b.daemon_block[i], 0.5) / (double)limit_ns : 0;
	}
	qsort(ratio, BLOCKS, sizeof ratio[0], compare);
	printf("  p50 daemon / limit %.2f (%.2f to %.2f), aim at most %.2f; daemon / bare loop %.2f; p99 daemon / limit %.2f\n",
	       ratio[BLOCKS / 2], ratio[0], ratio[BLOCKS - 1], aim,
	       (double)samples_quantile(&b.daemon, 0.5) / (double)samples_quantile(&b.bare, 0.5),
	       (double)samples_quantile(&b.daemon, 0.99) / (double)samples_quantile(&b.limit, 0.99));
	printf("  processor time a deadline: daemon %.1f, bare loop %.1f, limit %.1f us; %zu early\n", per(b.cpu_ns, &b.daemon),
	       per(b.bare_cpu_ns, &b.bare), per(b.limit_cpu_ns, &b.limit), early);
	if (b.daemon.count == 0) printf("FAILED: no deadline came\n");
	if (early > 0) printf("FAILED: a deadline was early by %.1f us\n", (double)-b.daemon.ns[0] / 1e3);
	return b.daemon.count == 0 || early > 0;
}

static void forget_samples(void)
{
	samples_free(&b.daemon);
	samples_free(&b.limit);
	samples_free(&b.bare);
	for (int i = 0; i < BLOCKS; i++) {
		samples_free(&b.daemon_block[i]);
		samples_free(&b.limit_block[i]);
	}
}

static int run(int runs, int64_t rate, int64_t spread_ns, int seconds, uint64_t seed, double aim)
{
	char folder[] = "/tmp/wet-bench-XXXXXX", socket_path[64], ledger_path[64], alive_path[64], command[96];
	const char *recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *safety[] = { WET_SOURCE_DIR "/safety", NULL };
	struct wet_fault fault = { 0 };
	struct wet_shelf *shelf;
	struct wet_safety *cautions;
	int failed;

	memset(&b, 0, sizeof b);
	b.runs = runs;
	b.rate = rate;
	b.spread_ns = spread_ns;
	b.seconds = seconds;
	b.seed = seed;
	printf("%d run(s) live, seed %llu\n", runs, (unsigned long long)seed);
	fflush(stdout);
	if (!mkdtemp(folder) || wet_shelf_open(&shelf, recipes, safety) != 0 || wet_safety_open(&cautions, safety) != 0)
		return 1;
	snprintf(socket_path, sizeof socket_path, "%s/socket", folder);
	snprintf(ledger_path, sizeof ledger_path, "%s/ledger.sqlite", folder);
	snprintf(alive_path, sizeof alive_path, "%s/alive", folder);
	struct wet_host_options options = { .socket_path = socket_path, .ledger_path = ledger_path, .alive_path = alive_path,
		.sound = "none", .shelf = shelf, .log = say, .serve = serve, .snapshot = wet_run_snapshot, .ctx = &methods };

	if (wet_host_open(&b.host, &options, &fault) != 0) {
		printf("FAILED: %s\n", wet_fault_line(&fault, command, sizeof command));
		return 1;
	}
	methods = (struct wet_methods){ .darkroom = wet_host_darkroom(b.host), .find_client = wet_host_find_client,
		.follow = wet_host_follow, .ctx = b.host, .safety = cautions };
	b.real_cue_at = wet_host_darkroom(b.host)->ports.cue_at;
	wet_host_darkroom(b.host)->ports.cue_at = cue_at;
	b.begin_ns = samples_clock(CLOCK_BOOTTIME);
	uv_timer_init(&b.host->loop, &b.ticker);
	uv_timer_start(&b.ticker, tick, TICK_MS, TICK_MS);
	(void)wet_host_run(b.host);
	if (b.is_measuring) {
		pthread_join(b.limit_thread, NULL);
		pthread_join(b.bare_thread, NULL);
	}
	failed = b.failed > 0 ? 1 : report(aim);
	wet_host_close(b.host);
	wet_shelf_free(shelf);
	wet_safety_free(cautions);
	snprintf(command, sizeof command, "rm -rf %s", folder);
	failed |= system(command) != 0;
	forget_samples();
	return failed;
}

int main(int argc, char **argv)
{
	int runs = 0, seconds = 30, failed = 0;
	uint64_t seed = 1;

	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--runs") == 0) runs = atoi(argv[i + 1]);
		else if (strcmp(argv[i], "--seconds") == 0) seconds = atoi(argv[i + 1]);
		else if (strcmp(argv[i], "--seed") == 0) seed = strtoull(argv[i + 1], NULL, 10);
		else return 2;
	}
	if (runs < 0 || runs > RUNS_MAX || seconds < 1) return 2;
	/* Rates so that a cue's length and its gap just fit (60: one a second for each run), and with 10,000 runs one
	 * deadline in 6 ms. */
	if (runs == 0 || runs == 1) failed |= run(1, 60, 0, seconds * 2, seed, 1.25);
	if (runs == 0 || runs == 100) failed |= run(100, 60, NS_PER_S, seconds, seed, 1.25);
	if (runs == 0 || runs > 100) failed |= run(runs ? runs : 10000, 1, 60 * NS_PER_S, seconds, seed, 1.3);
	return failed;
}
