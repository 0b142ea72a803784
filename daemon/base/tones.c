/* tones.c: the table of tones. */
#include "wetside/tones.h"

#include "base/text.h"

#include <stdbool.h>

static const struct {
	const char *name, *sound, *text;
	int rank, length_ms;
} tones[WET_TONE_N] = {
#define X(name, sound, rank, ms, text) { #name, sound, text, rank, ms },
	WET_TONES(X)
#undef X
};

const char *wet_tone_name(enum wet_tone tone)
{
	return (unsigned)tone < WET_TONE_N ? tones[tone].name : "UNKNOWN";
}

const char *wet_tone_sound(enum wet_tone tone)
{
	return (unsigned)tone < WET_TONE_N ? tones[tone].sound : "unknown";
}

const char *wet_tone_text(enum wet_tone tone)
{
	return (unsigned)tone < WET_TONE_N ? tones[tone].text : "unknown";
}

char *wet_tone_lesson(enum wet_tone tone, char *buf, unsigned buf_bytes)
{
	wet_text_format(buf, buf_bytes, "%s. %s.", wet_tone_name(tone), wet_tone_text(tone));
	bool is_first = true;
	for (char *p = buf; *p; p++) {
		bool is_big = *p >= 'A' && *p <= 'Z', is_small = *p >= 'a' && *p <= 'z';
		if (*p == '_')
			*p = ' ';
		else if (is_first && is_small)
			*p = (char)(*p - 'a' + 'A');
		else if (!is_first && is_big)
			*p = (char)(*p - 'A' + 'a');
		is_first = *p == '.' || (is_first && *p == ' ');
	}
	return buf;
}

int wet_tone_rank(enum wet_tone tone)
{
	return (unsigned)tone < WET_TONE_N ? tones[tone].rank : 9;
}

int64_t wet_tone_spacing_ns(uint32_t rate_milli)
{
	if (rate_milli == 0)
		rate_milli = 1000;
	int64_t spacing_ns = 1000000000000LL / rate_milli;
	int64_t least_ns = WET_COUNT_SPACING_MS_MIN * 1000000LL;
	return spacing_ns < least_ns ? least_ns : spacing_ns;
}

int64_t wet_tone_length_ns(enum wet_tone tone, int pips, uint32_t rate_milli)
{
	if (tone == WET_TONE_COUNT)
		return (WET_COUNT_PIPS - 1) * wet_tone_spacing_ns(rate_milli) + WET_COUNT_PIP_MS * 1000000LL;
	if (tone == WET_TONE_PIPS) {
		int n = pips < 1 ? 1 : pips > WET_PIPS_MAX ? WET_PIPS_MAX : pips;
		return ((n - 1) * (int64_t)WET_PIP_SPACING_MS + WET_PIP_MS) * 1000000LL;
	}
	return (unsigned)tone < WET_TONE_N ? tones[tone].length_ms * 1000000LL : 0;
}
