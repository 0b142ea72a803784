/* quantity_share.c: a whole shared out in integers that sum to it. */
#include "wetside/quantity.h"

#include "base/number.h"

#define SHARES_MAX 64 /* as many as pieces in one load: nothing of ours has more parts */

int wet_share(int64_t total, const int64_t *weights, uint32_t count, int64_t *ret_shares)
{
	wide sum = 0, rest[SHARES_MAX];
	int64_t shares[SHARES_MAX], left = total;
	if (count == 0 || count > SHARES_MAX || total < 0)
		return WET_ERR_RANGE;
	for (uint32_t i = 0; i < count; i++) {
		if (weights[i] < 0)
			return WET_ERR_RANGE;
		sum += weights[i];
	}
	if (sum == 0)
		return WET_ERR_RANGE;
	for (uint32_t i = 0; i < count; i++) {
		wide exact = (wide)total * weights[i];
		shares[i] = (int64_t)(exact / sum);
		rest[i] = exact % sum;
		left -= shares[i];
	}
	/* Fewer are left than there are parts with a remainder. */
	for (; left > 0; left--) {
		uint32_t best = 0;
		for (uint32_t i = 1; i < count; i++)
			if (rest[i] > rest[best])
				best = i;
		shares[best]++;
		rest[best] = -1;
	}
	for (uint32_t i = 0; i < count; i++)
		ret_shares[i] = shares[i];
	return WET_OK;
}
