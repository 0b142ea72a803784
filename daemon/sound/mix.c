/* mix.c: adding sounds. */
#include "wetside/sound.h"

void wet_mix(int16_t *dst, const int16_t *src, size_t samples)
{
	for (size_t i = 0; i < samples; i++) {
		int sum = dst[i] + src[i];

		if (sum > INT16_MAX) sum = INT16_MAX;
		if (sum < INT16_MIN) sum = INT16_MIN;
		dst[i] = (int16_t)sum;
	}
}
