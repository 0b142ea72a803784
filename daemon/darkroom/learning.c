/* learning.c: what a use told of how a vessel cools goes to the vessel, so that the next run begins with it. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

char *wet_vessel_cooling(const struct wet_vessel *v, char *buf, unsigned buf_bytes)
{
	char tau[32], half[32], error[32];
	wet_text_copy(buf, buf_bytes, "");
	if (v->tau_ns > 0)
		wet_text_format(buf, buf_bytes, "goes halfway to the room's temperature in %s: constant %s",
						wet_print_duration(llround((double)v->tau_ns * log(2)), half, sizeof half),
						wet_print_duration(v->tau_ns, tau, sizeof tau));
	if (v->tau_ns > 0 && v->tau_error_ns > 0)
		wet_text_append(buf, buf_bytes, " +/- %s, from %d use%s", wet_print_duration(v->tau_error_ns, error, sizeof error),
						v->tau_count, v->tau_count == 1 ? "" : "s");
	else if (v->tau_ns > 0)
		wet_text_append(buf, buf_bytes, ", as told");
	if (v->chill_ppm > 0)
		wet_text_append(buf, buf_bytes, "%stakes %d %% of what a bath is warmer than it", buf[0] ? "; " : "",
						(int)((v->chill_ppm + 5000) / 10000));
	return buf;
}

/* The line of its history, if it stands on the shelf. */
static int note_use(struct wet_ledger *ledger, const struct wet_stock *item, const struct wet_vessel *v,
					const struct lesson *lesson, struct wet_fault *reterr)
{
	char cools[WET_LINE_BYTES];
	struct wet_stock_event why = { .act = WET_STOCK_ACT_CHANGE, .wall_ms = lesson->wall_ms, .uid = lesson->uid };
	wet_text_format(why.note, sizeof why.note, "run %lld: %s", (long long)lesson->run_id,
					wet_vessel_cooling(v, cools, sizeof cools));
	return wet_ledger_change_stock(ledger, item, &why, reterr);
}

int vessel_learn(struct wet_ledger *ledger, const struct lesson *lesson, struct wet_fault *reterr)
{
	struct wet_vessel v;
	struct wet_stock item;
	struct wet_fault none = { 0 };
	int rc = wet_ledger_get_vessel(ledger, lesson->vessel.name, &v, reterr);
	int has_item = wet_ledger_get_stock(ledger, WET_STOCK_VESSEL, lesson->vessel.name, &item, &none);
	bool stands = has_item == WET_OK && !item.is_gone;
	if (rc == WET_ERR_NOT_FOUND && !stands)
		return WET_OK; /* a vessel of which only the kind is known: the next of that kind is another */
	if (rc == WET_ERR_NOT_FOUND)
		v = lesson->vessel;
	else if (rc != 0)
		return rc;
	struct wet_constant c = { v.tau_ns, v.tau_error_ns, v.tau_count };
	wet_constant_learn(&c, &lesson->seen);
	v.tau_ns = c.tau_ns;
	v.tau_error_ns = c.error_ns;
	v.tau_count = c.count;
	rc = wet_ledger_put_vessel(ledger, &v, lesson->wall_ms, reterr);
	return rc == 0 && stands ? note_use(ledger, &item, &v, lesson, reterr) : rc;
}
