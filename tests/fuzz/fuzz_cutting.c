/* fuzz_cutting.c: any bytes as the text that the ledger keeps of a cutting sequence. What decodes is a recipe that is dark (or
 * under its safelight) until its last dark step and light behind it, and presses lead through it to its end; what does not is
 * told with a place and what would be right. */
#include "shelf/cutting.h"
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

static void press(struct wet_run *run, int kind, int64_t boot_ns)
{
	struct wet_event e = { .kind = kind, .boot_ns = boot_ns, .bath = -1, .number = -1 };
	wet_run_fold(run, &e);
}

static void lead_through(const struct wet_recipe *r)
{
	static struct wet_run run;
	struct wet_run_setup setup = { .recipe = r, .pieces = 1, .rules_version = WET_RULES_VERSION };
	struct wet_view view;
	struct wet_fault fault = { 0 };
	char told[256];
	int64_t now = 1000;
	setup.vessel.kind = r->vessel_kind;
	must(wet_recipe_fit(r, &setup.vessel, 1, NULL, told, sizeof told, &fault) == 0);
	wet_run_init(&run, &setup, now);
	press(&run, WET_ACT_BEGIN, now);
	for (int i = 0; i < r->stage_count; i++) {
		wet_run_view(&run, now, &view);
		must(view.stage == i && view.is_paper_open == (i <= r->white_after));
		must((view.light == WET_LIGHT_WHITE) == (i > r->white_after));
		now += 3 * WET_NS_PER_S;
		press(&run, WET_ACT_GO, now);
	}
	must(run.outcome == 1);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
	static struct wet_recipe r, before;
	struct wet_fault fault = { 0 };
	int rc = wet_cutting_decode((const char *)bytes, n, "ledger", &r, &fault);
	if (rc == 0) {
		lead_through(&r);
		before = r;
		return 0;
	}
	must(fault.err == rc && fault.want[0] != '\0' && strncmp(fault.where, "ledger", 6) == 0);
	must(memcmp(&r, &before, sizeof r) == 0); /* untouched on failure */
	return 0;
}
