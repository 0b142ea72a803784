#include "speaker/tone_cache.h"

#include "wetside/errors.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static size_t pcm_bytes(size_t samples)
{
	return sizeof(struct wet_pcm) + samples * sizeof(int16_t);
}

void wet_tone_cache_init(struct wet_tone_cache *cache, uint32_t level_milli)
{
	memset(cache, 0, sizeof *cache);
	cache->level_milli = level_milli > 1000 ? 1000 : level_milli;
}

void wet_tone_cache_release(struct wet_tone_cache *cache)
{
	for (int i = 0; i < WET_TONE_CACHE_ENTRIES; i++) free(cache->entries[i]);
	memset(cache, 0, sizeof *cache);
}

/* What does not matter to a tone must not split its entry. */
static void settle_key(enum wet_tone tone, int *pips, uint32_t *rate_milli)
{
	if (tone != WET_TONE_PIPS) *pips = 1;
	if (tone != WET_TONE_COUNT) *rate_milli = 1000;
}

static struct wet_pcm *find(struct wet_tone_cache *cache, enum wet_tone tone, int pips, uint32_t rate_milli)
{
	for (int i = 0; i < WET_TONE_CACHE_ENTRIES; i++) {
		struct wet_pcm *pcm = cache->entries[i];

		if (pcm && pcm->tone == tone && pcm->pips == pips && pcm->rate_milli == rate_milli) return pcm;
	}
	return NULL;
}

/* Frees least recently used entries until `bytes` more fit; gives a free place, or -1. The lock is held, so users
 * that are zero stay zero (only this thread raises them). */
static int make_room(struct wet_tone_cache *cache, size_t bytes)
{
	for (;;) {
		int oldest = -1, empty = -1;

		for (int i = 0; i < WET_TONE_CACHE_ENTRIES; i++) {
			struct wet_pcm *pcm = cache->entries[i];

			if (!pcm)
				empty = i;
			else if (pcm->users == 0 && (oldest < 0 || pcm->used_at < cache->entries[oldest]->used_at))
				oldest = i;
		}
		if (empty >= 0 && cache->bytes + bytes <= WET_TONE_CACHE_BYTES) return empty;
		if (oldest < 0) return -1;
		cache->bytes -= pcm_bytes(cache->entries[oldest]->samples);
		free(cache->entries[oldest]);
		cache->entries[oldest] = NULL;
	}
}

int wet_tone_cache_get(struct wet_tone_cache *cache, pthread_mutex_t *lock, enum wet_tone tone, int pips,
                       uint32_t rate_milli, struct wet_pcm **ret_pcm)
{
	struct wet_pcm *pcm;
	size_t samples;
	int place;

	settle_key(tone, &pips, &rate_milli);
	pcm = find(cache, tone, pips, rate_milli);
	if (!pcm) {
		samples = wet_tone_samples(tone, pips, rate_milli);
		if (samples == 0) return WET_ERR_INVALID;
		pthread_mutex_lock(lock);
		place = make_room(cache, pcm_bytes(samples));
		pthread_mutex_unlock(lock);
		if (place < 0) return WET_ERR_TOO_MANY;
		pcm = calloc(1, pcm_bytes(samples));
		if (!pcm) return WET_ERR_NOMEM;
		pcm->tone = tone;
		pcm->pips = pips;
		pcm->rate_milli = rate_milli;
		pcm->samples = samples;
		wet_tone_render(tone, pips, rate_milli, cache->level_milli, pcm->sample);
		cache->entries[place] = pcm;
		cache->bytes += pcm_bytes(samples);
	}
	pthread_mutex_lock(lock);
	pcm->users++;
	pcm->used_at = ++cache->uses;
	assert(pcm->users > 0);
	pthread_mutex_unlock(lock);
	*ret_pcm = pcm;
	return WET_OK;
}
