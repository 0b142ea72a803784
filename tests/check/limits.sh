#!/usr/bin/env bash
# limits.sh: a limit on everything. Each one in limits.h has its reason beside or above it and is used by the code that
# enforces it; and the sources keep to their own limits (aim: lines of 110 columns, functions of 70 lines, files of
# 600; the gate is a little above each, because a table may be worth more than a rule).
. "$(dirname "$0")/common.bash"
header=include/wetside/limits.h
cd "$WET_SOURCE_DIR" || exit 1

while IFS=: read -r number line; do
	name=$(awk '{ sub(/\(.*/, "", $2); print $2 }' <<<"$line")
	[ "$name" != WETSIDE_LIMITS_H ] || continue
	looked=$((looked + 1))
	if [[ $line != *'/*'* ]] && [[ $(sed -n "$((number - 1))p" $header) != *'*/'* ]]; then
		problem "$header:$number: $name has no reason"
	fi
	grep -rqw --include='*.[ch]' -- "$name" daemon client ||
		grep -rw --include='*.h' -- "$name" include | grep -qv "^$header:" ||
		problem "$header:$number: $name is used nowhere: nothing enforces it"
done < <(grep -n '^#define WET' $header 2>/dev/null)
[ "$looked" -gt 0 ] || finish limits

problems_from "$(sources_in include daemon client tests | grep '\.[ch]$' | xargs awk '
FNR == 1 { in_function = 0 }
{
	line = $0; gsub(/\t/, "    ", line)
	if (length(line) > 140) printf "%s:%d: a line of %d columns (aim 110, at most 140)\n", FILENAME, FNR, length(line)
}
FNR == 651 { printf "%s: over 650 lines (aim 600)\n", FILENAME }
/^[{]/ { in_function = 1; from = FNR }
/^[}]/ {
	if (in_function && FNR - from + 1 > 80)
		printf "%s:%d: a function of %d lines (aim 70, at most 80)\n", FILENAME, from, FNR - from + 1
	in_function = 0
}')"
finish limits
