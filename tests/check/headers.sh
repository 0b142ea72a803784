#!/usr/bin/env bash
# headers.sh: every header compiles alone, twice in a row, in every compiler at hand. A public header needs nothing but
# include/ and strict C17.
. "$(dirname "$0")/common.bash"
warnings=(-std=c17 -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wformat=2 -Werror -fsyntax-only)
compilers=()
for compiler in gcc clang; do
	command -v "$compiler" >/dev/null && compilers+=("$compiler")
done
[ "${#compilers[@]}" -gt 0 ] || compilers=("${CC:-cc}")
jansson=$(pkg-config --cflags libuv jansson sqlite3 alsa pangocairo 2>/dev/null | sed 's/-I */-isystem /g')

while IFS= read -r header; do
	looked=$((looked + 1))
	case $header in
	include/*) see=(-I "$WET_SOURCE_DIR/include") ;;
	# shellcheck disable=SC2206 # flags are words
	*) see=(-D_GNU_SOURCE -I "$WET_SOURCE_DIR/include" -I "$WET_SOURCE_DIR/daemon" -I "$WET_SOURCE_DIR" $jansson) ;;
	esac
	[ "$header" != daemon/base/banned.h ] || see+=(-D_GNU_SOURCE)
	for compiler in "${compilers[@]}"; do
		# The last line keeps the unit from being empty, which pedantic C forbids.
		said=$(printf '#include "%s"\n#include "%s"\nextern int wet_header_check;\n' \
			"$WET_SOURCE_DIR/$header" "$WET_SOURCE_DIR/$header" |
			"$compiler" "${warnings[@]}" "${see[@]}" -x c - 2>&1) || problem "$header does not compile alone with $compiler:
$said"
	done
done < <(sources_in include daemon client | grep '\.h$')
finish "headers (${compilers[*]})"
