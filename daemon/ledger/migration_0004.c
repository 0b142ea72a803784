/* migration_0004.c: two fixing baths rotate, so that each keeps its own counts as first and as second. What was booked before
 * stays booked as of the first, which errs to the safe side. */
#include "ledger/inside.h"

const char wet_migration_0004[] =
	"ALTER TABLE stock ADD COLUMN second_mm2 INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock ADD COLUMN rotations INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock_event ADD COLUMN second_mm2 INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE plan_bath ADD COLUMN second_key TEXT NOT NULL DEFAULT '';" /* of the recipe's second bath; '': never it */
	"ALTER TABLE plan_bath ADD COLUMN second_load INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE plan_bath ADD COLUMN second_count INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE plan_bath ADD COLUMN rotations INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE booking ADD COLUMN second_mm2 INTEGER NOT NULL DEFAULT 0;";
