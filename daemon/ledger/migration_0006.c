/* migration_0006.c: what was answered to the checklist before a run's light went out. Answers are added, never changed: of one item
 * the last counts. since_ms: when it was looked at; older than wall_ms where an earlier run's answer stands. */
#include "ledger/inside.h"

const char wet_migration_0006[] = "CREATE TABLE run_check("
								  " run_id INTEGER NOT NULL REFERENCES run(id),"
								  " seq INTEGER NOT NULL,"
								  " key TEXT NOT NULL,"
								  " text TEXT NOT NULL,"
								  " answer INTEGER NOT NULL,"
								  " person TEXT NOT NULL,"
								  " uid INTEGER NOT NULL,"
								  " wall_ms INTEGER NOT NULL,"
								  " since_ms INTEGER NOT NULL,"
								  " PRIMARY KEY(run_id, seq)) STRICT, WITHOUT ROWID;";
