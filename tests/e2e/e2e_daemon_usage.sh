#!/bin/bash
# Usage and exit status of the daemon: 0 help, 1 failed, 2 wrong usage. Each is found before a socket or a ledger is made.
set -u
: "${WET_BUILD_DIR:?the build folder}"
wetsided="$WET_BUILD_DIR/daemon/wetsided"
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
failed=0 count=0

# expect STATUS TEXT ARGS...: the exit status, TEXT in the output, and nothing left in the folder.
expect()
{
	local status=$1 text=$2 got
	shift 2
	count=$((count + 1))
	timeout 10 "$wetsided" --socket "$dir/run/socket" --ledger "$dir/ledger.sqlite" "$@" >/dev/null 2>"$dir.err" </dev/null
	got=$?
	if [ "$got" -ne "$status" ]; then
		echo "wetsided $*: exit status $got instead of $status"
		failed=1
	fi
	if [ -n "$text" ] && ! grep -qF -- "$text" "$dir.err"; then
		echo "wetsided $*: '$text' is not in: $(cat "$dir.err")"
		failed=1
	fi
	if [ -n "$(ls -A "$dir")" ]; then
		echo "wetsided $*: it left $(ls -A "$dir")"
		rm -rf "$dir"/*
		failed=1
	fi
	rm -f "$dir.err"
}

expect 0 "" --help
expect 0 "" --version
expect 2 "no arguments" extra
expect 2 "try --help" --jump
# A loudness of nothing at all would be a silent timer.
for level in "" " " x 1e3 8x -1 1001 4294967296 99999999999999999999; do
	expect 2 "from 0 to 1000" --level "$level"
done
# A ledger that isn't there is not made, and not called sound.
expect 1 "not found" --check
expect 1 "not found" --check --ledger "$dir/none/ledger.sqlite"
expect 1 "$dir/none.json" --check-recipe "$dir/none.json"
[ "$failed" -eq 0 ] && echo "$count cases"
exit "$failed"
