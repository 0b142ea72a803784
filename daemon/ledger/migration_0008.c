/* migration_0008.c: what people write down and correct. */
#include "ledger/inside.h"

const char wet_migration_0008[] =
	"CREATE TABLE entry("
	"  id INTEGER PRIMARY KEY,"
	"  kind TEXT NOT NULL,"
	"  name TEXT NOT NULL,"
	"  part INTEGER NOT NULL,"
	"  revision INTEGER NOT NULL,"
	"  is_gone INTEGER NOT NULL,"
	"  wall_ms INTEGER NOT NULL,"
	"  uid INTEGER NOT NULL,"
	"  person TEXT NOT NULL,"
	"  token TEXT NOT NULL,"
	"  body TEXT NOT NULL,"
	"  UNIQUE(kind, name, part, revision)) STRICT;";
