/* room_fake.h: a darkroom on fake ports and virtual time: the real shelf, a real ledger in a private folder, a worker
 * that works at once. For unit tests; one at a time in a process. */
#ifndef WET_ROOM_FAKE_H
#define WET_ROOM_FAKE_H

#include "darkroom/darkroom.h"
#include "ledger/ledger.h"

struct room_fake {
	struct wet_darkroom *room;
	struct wet_shelf *shelf;
	struct wet_ledger *ledger;
	char folder[64], path[96];
	int64_t now_ns, wall_ms; /* wall_ms: at boot time 0 */
	bool has_login_manager;
	bool is_disk_slow; /* jobs wait until room_fake_disk */
	struct wet_job *waiting[8];
	int waiting_count;
	int heard_count; /* tones since the start, planned and unplanned */
	struct {
		int64_t at_ns;
		enum wet_tone tone;
	} heard[1024];
	/* the last answer */
	struct wet_answer answer;
	struct wet_live *live;
	struct wet_fault fault;
	char told[512];
};

void room_fake_open(struct room_fake *f);
void room_fake_close(struct room_fake *f);
/* The daemon dies and another one starts on the same ledger; time goes on by away_ns in between. */
void room_fake_restart(struct room_fake *f, int64_t away_ns);
/* Time passes, each wake-up served at its own moment. */
void room_fake_go_to(struct room_fake *f, int64_t now_ns);
/* The result is in fault, live, told. Acknowledged before, the sound check waived. */
void room_fake_arm(struct room_fake *f, const struct wet_arming *arming);
/* The slow disk does what waited, in order. */
void room_fake_disk(struct room_fake *f);
/* The result is in answer. */
void room_fake_act(struct room_fake *f, int kind, uint32_t flags);
void room_fake_read(struct room_fake *f, int bath, int32_t temperature_mc);
/* How often followers were told this word by the run. */
int room_fake_told(const struct wet_live *live, const char *word);

#endif
