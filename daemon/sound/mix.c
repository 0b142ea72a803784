/* mix.c: adding sounds. */
#include "wetside/sound.h"

#include <math.h>
#include <stdlib.h>

void wet_limit_apply(struct wet_limit *limit, const int32_t *sum, size_t samples, int16_t *out)
{
	double gain = 1 - limit->softer, back = gain + (double)samples * 1000 / WET_SAMPLE_RATE / WET_LIMIT_BACK_MS, step;
	size_t ramp;
	int32_t peak = INT16_MAX;

	for (size_t i = 0; i < samples; i++)
		if (abs(sum[i]) > peak) peak = abs(sum[i]);
	back = fmin(back, (double)INT16_MAX / peak);
	/* Down in a quarter of the span, up in all of it. */
	ramp = back < gain ? samples / 4 + 1 : samples;
	step = samples > 0 ? (back - gain) / (double)ramp : 0;
	for (size_t i = 0; i < samples; i++) {
		double level = sum[i] * (gain + step * (double)(i < ramp ? i + 1 : ramp));

		/* On the way down a loud one may come before the end of the line. */
		out[i] = (int16_t)lrint(fmax(-INT16_MAX, fmin(INT16_MAX, level)));
	}
	limit->softer = 1 - back;
}

void wet_mix(int16_t *dst, const int16_t *src, size_t samples)
{
	for (size_t i = 0; i < samples; i++) {
		int sum = dst[i] + src[i];

		if (sum > INT16_MAX) sum = INT16_MAX;
		if (sum < INT16_MIN) sum = INT16_MIN;
		dst[i] = (int16_t)sum;
	}
}
