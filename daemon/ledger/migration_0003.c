/* migration_0003.c: no table changes; an event may be a join, which an older wetside would take for damage. */
#include "ledger/inside.h"

const char wet_migration_0003[] = "";
