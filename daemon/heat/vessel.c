/* vessel.c: the heat that a vessel takes up, from its mass and what it is made of. */
#include "wetside/tempering.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

static const struct {
	const char *word;
	int j_per_kg_k;
} materials[] = {
#define ROW(word, j) { word, j },
	WET_VESSEL_MATERIALS(ROW)
#undef ROW
};

int wet_parse_vessel_heat(const char *text, int32_t *ret_j_per_k, struct wet_fault *reterr)
{
	char mass[48], words[96] = "";
	int64_t mg;
	size_t n = strlen(text);
	for (size_t i = 0; i < sizeof materials / sizeof materials[0]; i++) {
		size_t m = strlen(materials[i].word);
		wet_text_append(words, sizeof words, "%s%s", i == 0 ? "" : ", ", materials[i].word);
		if (n < m + 2 || n - m > sizeof mass || strcmp(text + n - m, materials[i].word) != 0 ||
			(text[n - m - 1] != ' ' && text[n - m - 1] != '-'))
			continue;
		wet_text_copy(mass, n - m, text);
		int rc = wet_parse_mass(mass, &mg, reterr);
		if (rc != 0)
			return rc;
		double j_per_k = (double)mg / 1e6 * materials[i].j_per_kg_k;
		if (mg == 0 || j_per_k > WET_VESSEL_J_PER_K_MAX)
			return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "a mass over nothing, up to 40 t");
		*ret_j_per_k = j_per_k < 1 ? 1 : (int32_t)lround(j_per_k);
		return WET_OK;
	}
	return wet_fault_set(reterr, WET_ERR_INVALID, "", text, "its mass and what it is made of, as in \"400 g glass\": %s", words);
}
