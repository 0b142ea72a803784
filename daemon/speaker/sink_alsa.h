/* sink_alsa.h: the feeder, for the two files that it is made of: sink_alsa.c feeds an open device, feeder_alsa.c is the
 * thread, which opens and closes it. Inside the speaker room; for its ALSA files only. */
#ifndef WET_SPEAKER_SINK_ALSA_H
#define WET_SPEAKER_SINK_ALSA_H

#include "speaker/card_alsa.h"
#include "speaker/inside.h"

struct wet_feeder {
	struct wet_speaker *speaker;
	int wake_fd;
	char device[WET_SPEAKER_WHERE_BYTES];
	_Atomic int64_t busy_ns; /* since when it is in a call into the device; 0: it is not */
	_Atomic bool is_open, is_told_stuck;

	/* Under the lock. */
	bool is_candidate, is_retired, is_released;
	struct wet_mixer *mixer; /* NULL: none is looked at */

	/* The feeder's thread only. */
	struct wet_card card;
	snd_pcm_status_t *status;
	struct pollfd fds[1 + POLL_FDS_MAX]; /* the first is wake_fd */
	unsigned pcm_fds;
	struct wet_clock_map map;
	int64_t boot_offset_ns, narrowest_ns;
	uint32_t stream;
	int64_t written;      /* frames, over all streams */
	int64_t quiet_frames; /* written since something sounded */
	int64_t progress_mono_ns; /* when the pointer last moved */
	int64_t pace_mono_ns, pace_frames; /* the beginning of the second in which the pace is checked */
	int64_t retry_at_ns, recovery_from_ns;
	int recoveries;
	int64_t trial_at_mono_ns; /* of a candidate: fed so long it plays; 0: told */
	bool was_ever_open;
	int16_t chunk[PERIOD_FRAMES];
};

int64_t sink_boot_now(void);
int64_t sink_mono_now(void);
/* What a device that has just been opened is told: silence, and to begin. 0, or an error of ALSA. */
int sink_start(struct wet_feeder *feeder);
/* One wake-up's work: looks, mixes, writes; begins anew after an underrun, which `rc` may be already. 0, or the error that
 * ends it. */
int sink_feed(struct wet_feeder *feeder, int rc);

#endif
