#!/usr/bin/env bash
# banned.sh: the functions the house never calls are compile errors in the daemon and the client, and the flags that
# keep asserts and arithmetic honest are really on every command line.
. "$(dirname "$0")/common.bash"
banned=$WET_SOURCE_DIR/daemon/base/banned.h
[ -f "$banned" ] || {
	echo "daemon/base/banned.h is missing"
	exit 1
}
# Only setlocale's own header is left out: nothing here may read it.
prologue='#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>
int wet_banned_check(char *a, const char *b);
int wet_banned_check(char *a, const char *b) { '
# Optimised and fortified as the daemon is: some of these are macros of the system's headers then, and may not be both.
compile() { # compile STATEMENT
	printf '%s%s return a != b; }\n' "$prologue" "$1" |
		"${CC:-cc}" -std=c17 -Werror -O2 -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=3 -D_GNU_SOURCE -include "$banned" -I "$WET_SOURCE_DIR/daemon" -fsyntax-only -x c - 2>&1
}
# The control: the same file without a banned call compiles, so a red below is the banned call's.
said=$(compile 'a[0] = (char)strlen(b);') || problem "the control does not compile: $said"
while IFS= read -r statement; do
	looked=$((looked + 1))
	if compile "$statement" >/dev/null; then
		problem "this compiles with banned.h and must not: $statement"
	fi
done <<'END'
strcpy(a, b);
strcat(a, b);
sprintf(a, "%s", b);
a = strtok(a, b);
a[0] = (char)atoi(b);
a[0] = (char)(system(b) == 0);
usleep(1);
{ time_t t = 0; a[0] = (char)(localtime(&t) == NULL); }
a[0] = (char)rand();
extern char *setlocale(int, const char *); a[0] = (char)(setlocale(0, b) == NULL);
END
# gets left the standard; a declaration of one's own must not bring it back.
looked=$((looked + 1))
if printf 'char *gets(char *);\nvoid wet_banned_check(char *);\nvoid wet_banned_check(char *a) { gets(a); }\n' |
	"${CC:-cc}" -std=c17 -D_GNU_SOURCE -Werror -include "$banned" -I "$WET_SOURCE_DIR/daemon" -fsyntax-only -x c - 2>/dev/null; then
	problem "gets can be called"
fi

commands=$WET_BUILD_DIR/compile_commands.json
if [ -f "$commands" ]; then
	problems_from "$(python3 - "$commands" "$WET_SOURCE_DIR" <<'END'
import json, os, sys
commands, source = sys.argv[1:]
seen = 0
for entry in json.load(open(commands)):
    name = os.path.relpath(entry["file"], source)
    line = entry.get("command") or " ".join(entry["arguments"])
    if not name.startswith(("daemon/", "client/")):
        continue
    seen += 1
    if "banned.h" not in line:
        print(f"{name}: compiled without banned.h")
    for flag in ("-ffp-contract=off", "-Wall", "-Wconversion"):
        if flag not in line.split():
            print(f"{name}: compiled without {flag}")
    for flag in ("-DNDEBUG", "-ffast-math", "-Ofast", "-funsafe-math-optimizations"):
        if flag in line.split():
            print(f"{name}: compiled with {flag}")
    words = line.split()
    if any("FORTIFY_SOURCE=" in w for w in words) and "-O0" in words:
        print(f"{name}: FORTIFY_SOURCE without the optimiser")
if seen == 0:
    print("compile_commands.json names no file of the daemon or the client")
END
)"
fi
finish "banned functions"
