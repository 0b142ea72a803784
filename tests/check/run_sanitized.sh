#!/bin/sh
# run_sanitized.sh COMMAND...: runs a test of a sanitized build and fails if any process of it left a report.
#
# Criterion 2.4.1 prints a leak that LeakSanitizer found and passes the test with status 0; a daemon that a test starts
# may die of a report after the test has seen enough. So reports go to files, and a file is a failure.
set -u
reports=$(mktemp -d "${TMPDIR:-/tmp}/wetside-reports.XXXXXX") || exit 1
trap 'rm -rf "$reports"' EXIT
trap 'exit 130' INT TERM

ASAN_OPTIONS="log_path=$reports/asan:detect_leaks=1:strict_string_checks=1:${ASAN_OPTIONS:-}"
UBSAN_OPTIONS="log_path=$reports/ubsan:print_stacktrace=1:${UBSAN_OPTIONS:-}"
TSAN_OPTIONS="log_path=$reports/tsan:${TSAN_OPTIONS:-}"
export ASAN_OPTIONS UBSAN_OPTIONS TSAN_OPTIONS

"$@"
status=$?
for report in "$reports"/*; do
	[ -e "$report" ] || continue
	printf '\n-- a sanitizer reported (test status was %s):\n' "$status"
	cat "$report"
	status=1
done
exit "$status"
