/* loudness.h: how loud speech is, and making it as loud as the tones. PURE: no allocation.
 *
 * The level of speech is that of its sounding parts: blocks of 20 ms that are within 25 dB of the loudest (after the idea
 * of the active speech level in ITU-T P.56, from memory), A-weighted (IEC 61672-1). Samples: mono at WET_SAMPLE_RATE. */
#ifndef WET_SOUND_LOUDNESS_H
#define WET_SOUND_LOUDNESS_H

#include <stddef.h>
#include <stdint.h>

/* A-weighted root mean square, of full scale, that every tone has at level 1000, and speech too. With it the highest peak
 * of all tones (the low one's) is 0.49 of full scale; test_sound holds it under a half. */
#define WET_LOUDNESS 0.12
#define WET_SPEECH_PEAK 0.49                    /* so that a tone and words at once do not clip */
#define WET_SPEECH_SAMPLES_MAX (30 * 48000)     /* no sentence is so long */

/* A-weighted level of the sounding parts; 0 if nothing sounds. */
double wet_speech_level(const float *sample, size_t samples);
/* Which samples are between the silences at both ends; none: *ret_from = *ret_to. */
void wet_speech_trim(const float *sample, size_t samples, size_t *ret_from, size_t *ret_to);
/* Brings at most WET_SPEECH_SAMPLES_MAX samples to WET_LOUDNESS; what would pass WET_SPEECH_PEAK is held down for some
 * milliseconds, so that nothing is cut off; both ends begin and end softly. Silence stays silence. */
void wet_speech_settle(float *sample, size_t samples, int16_t *out);

#endif
