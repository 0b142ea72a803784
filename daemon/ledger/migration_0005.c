/* migration_0005.c: how a bottle or a bath is kept, now and from each line of its history on, and the largest piece of a vessel.
 * What was before counts as kept in a closed bottle. */
#include "ledger/inside.h"

const char wet_migration_0005[] =
	"ALTER TABLE stock ADD COLUMN kept INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock ADD COLUMN piece_width_um INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock ADD COLUMN piece_height_um INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock_event ADD COLUMN kept INTEGER NOT NULL DEFAULT 0;";
