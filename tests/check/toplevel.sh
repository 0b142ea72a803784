#!/usr/bin/env bash
# toplevel.sh: the top level is exactly the fixed list; dot-files beside it.
. "$(dirname "$0")/common.bash"
fixed="CMakeLists.txt DEVELOPERS.md LICENSE README.md client daemon include recipes safety tests"
present=$(sources_in . | sed 's|/.*||' | sort -u)
for name in $present; do
	looked=$((looked + 1))
	[[ $name == .* ]] || [[ " $fixed " == *" $name "* ]] || problem "$name: the top level is fixed; it belongs into one of: $fixed"
done
for name in $fixed; do
	grep -qxF -- "$name" <<<"$present" || problem "$name is missing"
done
finish "names at the top"
