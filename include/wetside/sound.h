/* sound.h: tones into samples, and the clock map that places them.
 *
 * PURE: no device, no clock, no allocation. Samples are int16 mono at WET_SAMPLE_RATE.
 * Each note has a component in 150..1,000 Hz among its four strongest, four or more within 15 dB, all of them
 * inside 150..4,000 Hz, an onset ramp of 10 to 50 ms and no click at its end (after IEC 60601-1-8:2006 + A1, as
 * summarised by publishers' pages); loudness is equal within 2 dB(A) (IEC 61672-1 A-weighting). Planned tones and
 * the alarm differ in timbre. */
#ifndef WETSIDE_SOUND_H
#define WETSIDE_SOUND_H

#include "wetside/tones.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_SAMPLE_RATE 48000 /* samples a second, of every tone and sink */

/* Samples of a tone: its length rounded to the nearest sample. */
size_t wet_tone_samples(enum wet_tone tone, int pips, uint32_t rate_milli);

/* Renders exactly wet_tone_samples() samples (none for a tone that is not one). The first sample that is not zero is
 * sample 0, so an onset can be measured to the sample. level_milli 1000: the highest peak stays under half of full
 * scale, so two sounds at once do not clip; 0 is silence. */
void wet_tone_render(enum wet_tone tone, int pips, uint32_t rate_milli, uint32_t level_milli, int16_t *out);

/* Many sounds at once: what is over full scale is made softer, all of it, and comes back slowly. It changes along straight
 * lines within the samples of a call (5 ms), so nothing clicks, and an onset stays at its sample. Zero it to begin. */
#define WET_LIMIT_BACK_MS 300 /* from silence to full */
struct wet_limit {
	double softer; /* 0: as it is; 1: silent */
};
void wet_limit_apply(struct wet_limit *limit, const int32_t *sum, size_t samples, int16_t *out);

/* Adds src to dst with saturation. */
void wet_mix(int16_t *dst, const int16_t *src, size_t samples);

/* Boot time to sample position, from looks at the card: `frame` was audible at `at_ns`. A pointer that moves in
 * steps, or is rounded down, only ever says too little, so the true line lies along the lower edge of the looks: the
 * map is the edge of their lower convex hull at the middle of the window, whose slope is the error of the card's
 * crystal (a straight "lowest anchor" would lag behind a slow crystal by window x error). */
#define WET_CLOCK_MAP_LOOKS 512           /* 2.6 s of 5 ms periods */
#define WET_CLOCK_MAP_SPAN_NS 500000000.0 /* looks closer together than this give no slope */
#define WET_CLOCK_MAP_SLOPE_MAX 1e-3      /* a crystal is never 1,000 ppm off; then it was a jump */
#define WET_CLOCK_MAP_JUMP_NS 20000000.0  /* looks this far above the line ... */
#define WET_CLOCK_MAP_JUMP_LOOKS 8        /* ... for so long: the path to the ear has become longer */
struct wet_clock_map {
	double at_ns[WET_CLOCK_MAP_LOOKS];     /* minus origin_ns; a ring */
	double anchor_ns[WET_CLOCK_MAP_LOOKS]; /* at_ns - (frame - origin_frame) * 1e9 / rate */
	int64_t origin_ns;                     /* these keep the doubles small */
	int64_t origin_frame;
	uint32_t head, count, high_looks;
	uint32_t rate_hz;
	double line_at_ns, line_anchor_ns, line_slope; /* anchor(t) = line_anchor + slope * (t - line_at) */
};
void wet_clock_map_init(struct wet_clock_map *map, uint32_t rate_hz);
/* Forgets all looks (after an underrun, a new device, a suspend). */
void wet_clock_map_reset(struct wet_clock_map *map);
/* One look; earlier than the last one: ignored. */
void wet_clock_map_look(struct wet_clock_map *map, int64_t at_ns, int64_t frame);
/* Has there been a look since the reset? The two below need one. */
bool wet_clock_map_ready(const struct wet_clock_map *map);
/* The frame that is audible at a boot time, nearest. */
int64_t wet_clock_map_frame(const struct wet_clock_map *map, int64_t at_ns);
/* When a frame is audible. */
int64_t wet_clock_map_at_ns(const struct wet_clock_map *map, int64_t frame);

#endif
