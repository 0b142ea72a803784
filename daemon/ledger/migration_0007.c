/* migration_0007.c: how a vessel cools is learned from use, with how well it is known, and what it takes of a bath's heat at
 * pour-in is told. An older wetside would also take a reading that was typed in Fahrenheit, and a room that was told at arming
 * without a constant, for damage. */
#include "ledger/inside.h"

#define WARMTH(table, prefix)                                                          \
	"ALTER TABLE " table " ADD COLUMN " prefix "tau_error_ns INTEGER NOT NULL DEFAULT 0;" \
	"ALTER TABLE " table " ADD COLUMN " prefix "tau_count INTEGER NOT NULL DEFAULT 0;"    \
	"ALTER TABLE " table " ADD COLUMN " prefix "chill_ppm INTEGER NOT NULL DEFAULT 0;"

const char wet_migration_0007[] = WARMTH("vessel", "") WARMTH("run", "vessel_") WARMTH("run", "washer_");
