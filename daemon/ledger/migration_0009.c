/* migration_0009.c: cameras stand on the shelf too: their pinhole, its distance from the paper, their aperture number. */
#include "ledger/inside.h"

const char wet_migration_0009[] =
	"ALTER TABLE stock ADD COLUMN hole_um INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock ADD COLUMN distance_um INTEGER NOT NULL DEFAULT 0;"
	"ALTER TABLE stock ADD COLUMN f_number_milli INTEGER NOT NULL DEFAULT 0;";
