#!/usr/bin/env bash
# install.sh: what is installed is complete and can be used by somebody else: every public function is in libwetside, a
# program outside this tree links it with nothing but libm, and the programs carry their hardening.
. "$(dirname "$0")/common.bash"
stage=$(mktemp -d) || exit 1
trap 'rm -rf "$stage"' EXIT
"${CMAKE:-cmake}" --install "$WET_BUILD_DIR" --prefix "$stage/usr" >"$stage/log" 2>&1 || {
	cat "$stage/log"
	exit 1
}
library=$(find "$stage/usr" -name libwetside.a)
include=$stage/usr/include
[ -n "$library" ] || {
	echo "libwetside.a is not installed"
	exit 1
}

# 1. Every function that a public header declares is in the library.
nm -g --defined-only "$library" 2>/dev/null | awk 'NF == 3 { print $3 }' | sort -u >"$stage/defined"
for header in "$include"/wetside/*.h; do
	name=wetside/$(basename "$header")
	while IFS= read -r function; do
		looked=$((looked + 1))
		grep -qxF -- "$function" "$stage/defined" || problem "$name declares $function, and libwetside does not hold it"
	done < <(printf '#include "%s"\n' "$name" | "${CC:-cc}" -std=c17 -I "$include" -E -P -x c - |
		tr '\n' ' ' | sed 's/__attribute__ *((.*\?))//g' | grep -oE '\bwet_[a-z0-9_]+ *\(' | tr -d ' (' | sort -u)
done

while IFS= read -r name; do
	problem "libwetside exports $name; what is exported begins with wet_"
done < <([ -n "$(nm -u "$library" 2>/dev/null | grep -E '__(asan|ubsan|tsan)_')" ] || grep -v '^wet_' "$stage/defined")

# 2. A stranger's program: headers from the stage, the library, libm.
flags=()
if nm -u "$library" 2>/dev/null | grep -q __asan_; then
	flags+=(-fsanitize=address,undefined)
elif nm -u "$library" 2>/dev/null | grep -q __tsan_; then
	flags+=(-fsanitize=thread)
elif nm -u "$library" 2>/dev/null | grep -q __ubsan_; then
	flags+=(-fsanitize=undefined)
fi
{
	for header in "$include"/wetside/*.h; do
		printf '#include <wetside/%s>\n' "$(basename "$header")"
	done
	cat <<'END'
#include <string.h>
int main(void)
{
	return wet_err_text(WET_OK) != NULL && strcmp(wet_err_name(WET_ERR_RANGE), "RANGE") == 0 ? 0 : 1;
}
END
} >"$stage/stranger.c"
if said=$("${CC:-cc}" -std=c17 -Wall -Wextra -Wpedantic -Werror "${flags[@]}" -I "$include" "$stage/stranger.c" \
	"$library" -lm -o "$stage/stranger" 2>&1); then
	"$stage/stranger" || problem "a program that links libwetside runs wrongly"
else
	problem "a program outside this tree cannot use libwetside: $said"
fi

# 3. The programs: there, hardened, and nothing of the tests among them.
for program in wetsided wetside; do
	file=$stage/usr/bin/$program
	[ -x "$file" ] || {
		problem "$program is not installed"
		continue
	}
	looked=$((looked + 1))
	dynamic=$(readelf -lWd "$file")
	[[ $dynamic == *GNU_RELRO* ]] || problem "$program: no RELRO"
	[[ $dynamic == *BIND_NOW* || $dynamic == *"Flags: NOW"* ]] || problem "$program: no BIND_NOW"
	[[ $(readelf -hW "$file") == *"DYN ("* ]] || problem "$program: not position-independent"
	grep -qE 'GNU_STACK .* RW ' <<<"$dynamic" || problem "$program: the stack is executable"
	[ "${#flags[@]}" -gt 0 ] || [[ $(nm -D -u "$file") == *__stack_chk_fail* ]] || problem "$program: no stack protector"
done
for stray in $(find "$stage/usr" -name '*sim*' -path '*bin*' -o -name '*test*' -path '*bin*' -o -name '*rtfile*'); do
	problem "${stray#"$stage"} is installed and belongs to the tests"
done
for folder in recipes recipes/formulas safety; do
	[ -n "$(find "$stage/usr/share/wetside/$folder" -type f 2>/dev/null | head -1)" ] ||
		problem "share/wetside/$folder is empty"
done
[ -f "$stage/usr/share/wetside/recipes/substances.json" ] || problem "the substances are not installed"
for table in substances incompatibilities statements gases practice; do
	[ -f "$stage/usr/share/wetside/safety/$table.json" ] || problem "safety/$table.json is not installed"
done
finish "public functions and programs"
