/* fuzz_recipe.c: any bytes as a recipe file. What decodes also keeps the rules and answers every question
 * about fit, light and temperature; what does not is told with a place and what would be right. */
#include "shelf/shelf.h"

#include "wetside/recipe.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static void must(int is_so)
{
	if (!is_so)
		abort();
}

static void ask(const struct wet_recipe *r)
{
	struct wet_fault fault = { 0 };
	char told[256], text[96];
	struct wet_vessel vessel = { .kind = r->vessel_kind, .fill_ns = r->fill_ns, .drain_ns = r->drain_ns };
	must(wet_recipe_check(r, &fault) == 0);
	/* A recipe that loads fits its own vessel with one piece. */
	must(wet_recipe_fit(r, &vessel, 1, NULL, told, sizeof told, &fault) == 0);
	for (int i = 0; i < r->stage_count; i++) {
		struct wet_agitation back;
		struct wet_times t = wet_stage_times(r, i, &vessel, 6);
		bool is_bath = wet_stage_kind_is_bath(r->stages[i].kind);
		must(is_bath ? 0 < t.least_ns && t.least_ns <= t.aim_ns && t.aim_ns <= t.most_ns : t.most_ns == 0);
		must((unsigned)wet_recipe_light(r, i) < WET_LIGHT_KIND_N);
		(void)wet_temperature_policy(r, i, 18000, &fault);
		wet_print_agitation(&r->stages[i].agitation, text, sizeof text);
		must(wet_parse_agitation(text, &back, NULL) == 0);
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
	static struct wet_recipe r, before;
	struct wet_fault fault = { 0 };
	int rc = wet_recipe_decode((const char *)bytes, n, "fuzz.json", &r, &fault);
	if (rc == 0) {
		ask(&r);
		before = r;
		return 0;
	}
	must(fault.err == rc && fault.want[0] != '\0' && strncmp(fault.where, "fuzz.json", 9) == 0);
	must(memcmp(&r, &before, sizeof r) == 0); /* untouched on failure */
	return 0;
}
