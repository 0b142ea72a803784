/* fuzz_mixing.c: any bytes as the text that the ledger keeps of a mix. What decodes is a recipe that fits its vessel, never
 * dark, and its rehearsal comes to its end; what does not is told with a place and what would be right. */
#include "shelf/mixing.h"
#include "wetside/cues.h"
#include "wetside/run.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static void must(int is_so)
{
	if (!is_so)
		abort();
}

static void rehearse(const struct wet_recipe *r)
{
	struct wet_run_setup setup = { .recipe = r, .pieces = 1, .is_rehearsal = true, .rules_version = WET_RULES_VERSION };
	struct wet_event begin = { .kind = WET_ACT_BEGIN, .boot_ns = 1000, .bath = -1, .number = -1 };
	struct wet_fault fault = { 0 };
	struct wet_cue cue;
	struct wet_view view;
	static struct wet_run run;
	char told[256];
	setup.vessel.kind = r->vessel_kind;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup.rate_milli[i] = WET_RATE_MILLI_MAX;
	must(wet_recipe_is_mix(r));
	must(wet_recipe_fit(r, &setup.vessel, 1, NULL, told, sizeof told, &fault) == 0);
	wet_run_init(&run, &setup, 1000);
	wet_run_fold(&run, &begin);
	for (int64_t due; wet_run_deadline(&run, &due);) {
		wet_run_view(&run, due, &view);
		must(view.light == WET_LIGHT_WHITE);
		(void)wet_cue_next(&run, due, &cue);
		wet_run_advance(&run, due);
	}
	must(run.outcome == 1);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
	static struct wet_recipe r, before;
	struct wet_fault fault = { 0 };
	int rc = wet_mixing_decode((const char *)bytes, n, "ledger", &r, &fault);
	if (rc == 0) {
		rehearse(&r);
		before = r;
		return 0;
	}
	must(fault.err == rc && fault.want[0] != '\0' && strncmp(fault.where, "ledger", 6) == 0);
	must(memcmp(&r, &before, sizeof r) == 0); /* untouched on failure */
	return 0;
}
