#include "lib/room_fake.h"

#include "base/text.h"
#include "shelf/shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int64_t fake_now(void *ctx)
{
	return ((struct room_fake *)ctx)->now_ns;
}

static int64_t fake_wall(void *ctx)
{
	struct room_fake *f = ctx;
	return f->wall_ms + f->now_ns / 1000000;
}

static const char *fake_boot_id(void *ctx)
{
	(void)ctx;
	return "00000000-0000-4000-8000-000000000001";
}

static bool fake_trusted(void *ctx)
{
	(void)ctx;
	return true;
}

static uint64_t fake_random(void *ctx)
{
	(void)ctx;
	return 4;
}

static void fail(const char *what)
{
	fprintf(stderr, "room_fake: %s\n", what);
	abort();
}

static void do_job(struct room_fake *f, struct wet_job *job)
{
	struct wet_fault fault = { 0 };
	fault.err = wet_ledger_begin(f->ledger, &fault);
	if (fault.err == 0)
		fault.err = job->work(job, f->ledger, &fault);
	if (fault.err == 0)
		fault.err = wet_ledger_commit(f->ledger, &fault);
	else
		wet_ledger_rollback(f->ledger);
	job->done(job, &fault);
}

static void fake_store(void *ctx, struct wet_job *job)
{
	struct room_fake *f = ctx;
	if (!f->is_disk_slow) {
		do_job(f, job);
		return;
	}
	if (f->waiting_count == (int)(sizeof f->waiting / sizeof f->waiting[0]))
		fail("too many jobs wait");
	f->waiting[f->waiting_count++] = job;
}

void room_fake_disk(struct room_fake *f)
{
	int count = f->waiting_count;
	f->waiting_count = 0;
	for (int i = 0; i < count; i++)
		do_job(f, f->waiting[i]);
}

static void hear(struct room_fake *f, int64_t at_ns, enum wet_tone tone)
{
	if (f->heard_count == (int)(sizeof f->heard / sizeof f->heard[0]))
		return;
	f->heard[f->heard_count].at_ns = at_ns;
	f->heard[f->heard_count++].tone = tone;
}

static void fake_cue_at(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate_milli)
{
	(void)owner;
	(void)pips;
	(void)rate_milli;
	hear(ctx, at_ns, tone);
}

static void fake_cue_now(void *ctx, enum wet_tone tone, int pips)
{
	(void)pips;
	hear(ctx, ((struct room_fake *)ctx)->now_ns, tone);
}

static void fake_cancel(void *ctx, uint64_t owner, int64_t from_ns)
{
	(void)ctx;
	(void)owner;
	(void)from_ns;
}

static void fake_want(void *ctx, bool is_wanted)
{
	(void)ctx;
	(void)is_wanted;
}

static bool fake_well(void *ctx, char *text, unsigned text_bytes)
{
	(void)ctx;
	wet_text_copy(text, text_bytes, "");
	return true;
}

static bool fake_inhibit(void *ctx, bool is_wanted)
{
	(void)is_wanted;
	return ((struct room_fake *)ctx)->has_login_manager;
}

static void start(struct room_fake *f)
{
	struct wet_ports ports = {
		.ctx = f,
		.now_ns = fake_now,
		.wall_ms = fake_wall,
		.boot_id = fake_boot_id,
		.is_wall_trusted = fake_trusted,
		.random = fake_random,
		.store = fake_store,
		.cue_at = fake_cue_at,
		.cue_now = fake_cue_now,
		.cue_cancel = fake_cancel,
		.sound_want = fake_want,
		.sound_is_well = fake_well,
		.inhibit = fake_inhibit,
	};
	struct wet_fault fault = { 0 };
	int bad = 0;
	if (wet_ledger_open(&f->ledger, f->path, &fault) != 0)
		fail(fault.want);
	if (wet_darkroom_new(&f->room, &ports, f->shelf) != 0 ||
		wet_darkroom_load(f->room, f->ledger, f->now_ns, fake_boot_id(NULL), &bad, &fault) != 0)
		fail("no darkroom");
}

static void stop(struct room_fake *f)
{
	wet_darkroom_free(f->room);
	wet_ledger_close(f->ledger);
}

void room_fake_open(struct room_fake *f)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL };
	static const char *const safety[] = { WET_SOURCE_DIR "/safety", NULL };
	memset(f, 0, sizeof *f);
	f->now_ns = 1000000000000LL;
	f->wall_ms = 1790000000000LL;
	wet_text_copy(f->folder, sizeof f->folder, "/tmp/wetside-room.XXXXXX");
	if (!mkdtemp(f->folder))
		fail("no folder");
	wet_text_format(f->path, sizeof f->path, "%s/ledger.sqlite", f->folder);
	if (wet_shelf_open(&f->shelf, recipes, safety) != 0)
		fail("no shelf");
	start(f);
}

void room_fake_close(struct room_fake *f)
{
	char command[128];
	stop(f);
	wet_shelf_free(f->shelf);
	unlink(f->path);
	wet_text_format(command, sizeof command, "%s-wal", f->path);
	unlink(command);
	rmdir(f->folder);
}

void room_fake_restart(struct room_fake *f, int64_t away_ns)
{
	stop(f);
	f->now_ns += away_ns;
	start(f);
}

void room_fake_go_to(struct room_fake *f, int64_t now_ns)
{
	for (;;) {
		int64_t wake_ns = wet_darkroom_turn(f->room);
		if (wake_ns > now_ns || wake_ns <= f->now_ns)
			break;
		f->now_ns = wake_ns;
	}
	f->now_ns = now_ns;
	(void)wet_darkroom_turn(f->room);
}

static void armed_cb(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	struct room_fake *f = ctx;
	f->fault = *fault;
	f->live = armed->live;
	wet_text_copy(f->told, sizeof f->told, armed->told);
}

void room_fake_arm(struct room_fake *f, const struct wet_arming *arming)
{
	const struct wet_shelf_recipe *shelved = wet_shelf_find(f->shelf, arming->recipe_name);
	struct wet_fault fault = { 0 };
	if (shelved)
		(void)wet_ledger_put_acknowledgement(f->ledger, arming->person, arming->recipe_name,
											 shelved->recipe.version, f->wall_ms, &fault);
	wet_darkroom_arm(f->room, arming, armed_cb, f);
	if (f->live)
		(void)wet_darkroom_heard(f->room, f->live, -1, &fault);
}

static void acted_cb(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)live;
	(void)is_stored;
	((struct room_fake *)ctx)->answer = *answer;
}

void room_fake_act(struct room_fake *f, int kind, uint32_t flags)
{
	struct wet_event event = { .kind = kind, .flags = flags, .bath = -1, .number = -1 };
	wet_darkroom_act(f->room, f->live, &event, acted_cb, f);
}

void room_fake_read(struct room_fake *f, int bath, int32_t temperature_mc)
{
	struct wet_event event = {
		.kind = WET_ACT_READING, .bath = bath, .temperature_mc = temperature_mc, .number = -1
	};
	wet_darkroom_act(f->room, f->live, &event, acted_cb, f);
}

int room_fake_told(const struct wet_live *live, const char *word)
{
	int count = 0;
	for (int i = 0; i < WET_CUE_LOG; i++)
		count += strcmp(live->log[i].word, word) == 0;
	return count;
}
