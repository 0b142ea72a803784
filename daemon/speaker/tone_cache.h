/* tone_cache.h: tones as samples, rendered once and shared. Inside the speaker room.
 *
 * All calls come from the loop's thread. `users` of an entry is also lowered by the feeder, so it is read and written
 * only under the lock of the voices; an entry in use is never given up. */
#ifndef WET_SPEAKER_TONE_CACHE_H
#define WET_SPEAKER_TONE_CACHE_H

#include "wetside/sound.h"

#include <pthread.h>

#define WET_TONE_CACHE_ENTRIES 64
#define WET_TONE_CACHE_BYTES (8u << 20) /* the longest tone, 64 pips, is 1.7 MB; the fixed ones together 0.5 MB */

struct wet_pcm { /* of a tone; or of words, which are no entry of the cache */
	enum wet_tone tone;
	int pips;
	uint32_t rate_milli;
	unsigned users;       /* voices that hold it */
	uint64_t used_at;     /* counts uses: the least recent goes first */
	size_t samples;
	int16_t sample[];
};

struct wet_tone_cache {
	struct wet_pcm *entries[WET_TONE_CACHE_ENTRIES];
	size_t bytes;
	uint64_t uses;
	uint32_t level_milli;
};

void wet_tone_cache_init(struct wet_tone_cache *cache, uint32_t level_milli);
void wet_tone_cache_release(struct wet_tone_cache *cache);

/* Finds or renders a tone and counts one user for the caller, who hands it to a voice or lowers `users` again. Must be
 * called without the lock (rendering takes milliseconds). WET_ERR_TOO_MANY if all entries are in use, WET_ERR_NOMEM,
 * WET_ERR_INVALID for what is no tone. */
int wet_tone_cache_get(struct wet_tone_cache *cache, pthread_mutex_t *lock, enum wet_tone tone, int pips,
                       uint32_t rate_milli, struct wet_pcm **ret_pcm);

#endif
