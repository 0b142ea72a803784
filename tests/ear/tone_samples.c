/* tone_samples.c: one tone as the daemon renders it, raw S16 at 48 kHz, to the standard output.
 *
 *   tone_samples TONE [PIPS [RATE_MILLI [LEVEL_MILLI]]]     TONE as in wetside/tones.h: CHANGE, POUR_OUT ... */
#include "wetside/sound.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int main(int argc, char **argv)
{
	int pips = argc > 2 ? atoi(argv[2]) : 1;
	uint32_t rate_milli = argc > 3 ? (uint32_t)strtoul(argv[3], NULL, 10) : 1000;
	uint32_t level_milli = argc > 4 ? (uint32_t)strtoul(argv[4], NULL, 10) : 1000;

	for (int tone = 0; argc > 1 && tone < WET_TONE_N; tone++) {
		size_t count = wet_tone_samples((enum wet_tone)tone, pips, rate_milli);
		int16_t *out;

		if (strcmp(argv[1], wet_tone_name((enum wet_tone)tone)) != 0) continue;
		out = calloc(count + 1, sizeof *out);
		if (!out) return 1;
		wet_tone_render((enum wet_tone)tone, pips, rate_milli, level_milli, out);
		int failed = fwrite(out, sizeof *out, count, stdout) != count;

		free(out);
		return failed;
	}
	fprintf(stderr, "tone_samples TONE [PIPS [RATE_MILLI [LEVEL_MILLI]]]\n");
	return 2;
}
