#include "speaker/voices.h"

#include "wetside/errors.h"

#include <assert.h>
#include <string.h>

#define NS_PER_SAMPLE (1000000000.0 / WET_SAMPLE_RATE)

int wet_voices_add(struct wet_voices *voices, const struct wet_voice *voice)
{
	if (voices->count == WET_VOICES) return WET_ERR_TOO_MANY;
	voices->voice[voices->count++] = *voice;
	return WET_OK;
}

void wet_voices_remove(struct wet_voices *voices, size_t i)
{
	assert(i < voices->count);
	assert(voices->voice[i].pcm->users > 0);
	voices->voice[i].pcm->users--;
	voices->voice[i] = voices->voice[--voices->count];
}

void wet_voices_clear(struct wet_voices *voices)
{
	while (voices->count > 0) wet_voices_remove(voices, voices->count - 1);
}

void wet_voices_cancel(struct wet_voices *voices, uint64_t owner, int64_t from_ns)
{
	for (size_t i = voices->count; i-- > 0;) {
		const struct wet_voice *v = &voices->voice[i];

		if (!v->is_asap && !v->is_words && !v->has_begun && v->owner == owner && v->at_ns >= from_ns) wet_voices_remove(voices, i);
	}
}

size_t wet_voice_samples(const struct wet_voice *voice)
{
	size_t end = voice->last + WET_VOICE_FADE;

	return voice->is_stopped && end < voice->pcm->samples ? end : voice->pcm->samples;
}

void wet_voice_copy(const struct wet_voice *voice, size_t from, size_t to, int16_t *out)
{
	assert(from <= to && to - from <= WET_VOICE_COPY && to <= voice->pcm->samples);
	memcpy(out, voice->pcm->sample + from, (to - from) * sizeof *out);
	if (!voice->is_stopped) return;
	for (size_t i = from > voice->last ? from : voice->last; i < to; i++) {
		int left = i - voice->last < WET_VOICE_FADE ? WET_VOICE_FADE - (int)(i - voice->last) : 0;

		out[i - from] = (int16_t)(out[i - from] * left / WET_VOICE_FADE);
	}
}

void wet_voices_stop_words(struct wet_voices *voices, int64_t at_ns)
{
	for (size_t i = voices->count; i-- > 0;) {
		struct wet_voice *v = &voices->voice[i];
		double last = (double)(at_ns - v->at_ns) / NS_PER_SAMPLE;

		if (!v->is_words || v->is_fading) continue;
		if (!v->has_begun && last <= 0) {
			wet_voices_remove(voices, i);
			continue;
		}
		if (last < (double)v->done) last = (double)v->done;
		if (v->is_stopped && last >= (double)v->last) continue;
		if (last >= (double)v->pcm->samples) continue;
		v->is_stopped = true;
		v->last = (size_t)last;
	}
}

/* How late it may begin. */
static int64_t patience_ns(const struct wet_voice *v)
{
	return v->is_asap || v->is_words ? WET_VOICE_ASAP_LATE_NS : WET_VOICE_LATE_NS;
}

void wet_voices_drop_late(struct wet_voices *voices, int64_t now_ns)
{
	for (size_t i = voices->count; i-- > 0;) {
		const struct wet_voice *v = &voices->voice[i];
		int64_t late_ns = now_ns - v->at_ns;

		if (v->has_begun) {
			if (late_ns > (int64_t)((double)v->pcm->samples * NS_PER_SAMPLE)) wet_voices_remove(voices, i);
		} else if (late_ns > patience_ns(v)) {
			voices->dropped++;
			wet_voices_remove(voices, i);
		}
	}
}

int64_t wet_voices_needed_ns(const struct wet_voices *voices)
{
	int64_t needed_ns = INT64_MAX;

	for (size_t i = 0; i < voices->count; i++) {
		const struct wet_voice *v = &voices->voice[i];
		int64_t at_ns = v->is_asap || v->has_begun ? INT64_MIN : v->at_ns - WET_VOICE_OPEN_AHEAD_NS;

		if (at_ns < needed_ns) needed_ns = at_ns;
	}
	return needed_ns;
}

void wet_voices_keep_due(struct wet_voices *voices, int64_t now_ns)
{
	for (size_t i = voices->count; i-- > 0;)
		if (!voices->voice[i].has_begun && voices->voice[i].at_ns > now_ns) wet_voices_remove(voices, i);
}

enum turn { WAITS, SOUNDS, DROPPED };

static void begin_at(struct wet_voice *v, uint32_t stream, int64_t frame)
{
	v->has_begun = true;
	v->stream = stream;
	v->start_frame = frame;
}

/* Decides what a voice does in the frames first..first+frames, and from which frame on it counts. */
static enum turn take_turn(struct wet_voice *v, const struct wet_clock_map *map, uint32_t stream, int64_t now_ns,
                           int64_t first, size_t frames)
{
	bool is_mapped = wet_clock_map_ready(map);
	int64_t frame;

	if (v->has_begun && v->stream == stream) return SOUNDS;
	if (v->is_asap && !v->has_begun) {
		if (now_ns - v->at_ns > WET_VOICE_ASAP_LATE_NS) return DROPPED;
		begin_at(v, stream, first);
		v->at_ns = is_mapped ? wet_clock_map_at_ns(map, first) : now_ns;
		return SOUNDS;
	}
	if (!is_mapped) return WAITS;
	frame = wet_clock_map_frame(map, v->at_ns);
	if (v->has_begun) {
		begin_at(v, stream, frame);
		return SOUNDS;
	}
	if (frame >= first + (int64_t)frames) return WAITS;
	if (frame < first) {
		if ((double)(first - frame) * NS_PER_SAMPLE > (double)patience_ns(v)) return DROPPED;
		frame = first;
		v->at_ns = wet_clock_map_at_ns(map, first);
	}
	begin_at(v, stream, frame);
	return SOUNDS;
}

static void add_voice(const struct wet_voice *v, size_t from, size_t to, int32_t *sum)
{
	int16_t part[WET_VOICE_COPY];

	wet_voice_copy(v, from, to, part);
	for (size_t i = 0; i < to - from; i++) sum[i] += part[i];
}

bool wet_voices_mix(struct wet_voices *voices, const struct wet_clock_map *map, uint32_t stream, int64_t now_ns,
                    int64_t first, int16_t *out, size_t frames)
{
	int32_t sum[WET_VOICE_COPY] = { 0 };
	bool is_sounding = false;

	assert(frames <= WET_VOICE_COPY);
	for (size_t i = voices->count; i-- > 0;) {
		struct wet_voice *v = &voices->voice[i];
		enum turn turn = take_turn(v, map, stream, now_ns, first, frames);
		int64_t from, to, end;

		if (turn == WAITS) continue;
		if (turn == DROPPED) {
			voices->dropped++;
			wet_voices_remove(voices, i);
			continue;
		}
		/* What was committed before it was stopped has gone: it fades from here. */
		if (v->is_stopped && !v->is_fading) {
			v->is_fading = true;
			if (v->start_frame + (int64_t)v->last < first) v->last = (size_t)(first - v->start_frame);
		}
		end = v->start_frame + (int64_t)wet_voice_samples(v);
		from = v->start_frame > first ? v->start_frame : first;
		to = end < first + (int64_t)frames ? end : first + (int64_t)frames;
		if (from < to) {
			add_voice(v, (size_t)(from - v->start_frame), (size_t)(to - v->start_frame), sum + (from - first));
			is_sounding = true;
		}
		if (end <= first + (int64_t)frames) wet_voices_remove(voices, i);
	}
	wet_limit_apply(&voices->limit, sum, frames, out);
	return is_sounding;
}
