# common.bash: what the checks share; sourced. A check names every problem with its place, then finishes: red if there
# was a problem, and red too if it looked at nothing, because then it proves nothing.
set -u
export LC_ALL=C.UTF-8
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
WET_SOURCE_DIR=${WET_SOURCE_DIR:-$(cd "$here/../.." && pwd)}
WET_BUILD_DIR=${WET_BUILD_DIR:-$WET_SOURCE_DIR/.build/test}
problems=0
looked=0

problem() {
	printf '%s\n' "$*"
	problems=$((problems + 1))
}

# problems_from TEXT: each line is a problem.
problems_from() {
	local line
	while IFS= read -r line; do
		[ -z "$line" ] || problem "$line"
	done <<<"$1"
}

finish() { # finish WHAT-WAS-LOOKED-AT
	if [ "$looked" -eq 0 ]; then
		printf 'No %s were found: nothing was checked.\n' "$1"
		exit 1
	fi
	printf '%s %s looked at, %s problems\n' "$looked" "$1" "$problems"
	[ "$problems" -eq 0 ]
	exit
}

rooms_file() {
	local file=$WET_BUILD_DIR/rooms.txt
	[ -f "$file" ] || {
		printf '%s is missing: configure first\n' "$file" >&2
		exit 1
	}
	printf '%s' "$file"
}

# Files of the repository below the given places, as they are now: new ones too, built and ignored ones not.
sources_in() {
	if git -C "$WET_SOURCE_DIR" rev-parse --git-dir >/dev/null 2>&1 &&
		[ "$(git -C "$WET_SOURCE_DIR" rev-parse --show-toplevel)" = "$WET_SOURCE_DIR" ]; then
		git -C "$WET_SOURCE_DIR" ls-files --cached --others --exclude-standard -- "$@" | sort -u |
			while IFS= read -r file; do [ ! -f "$WET_SOURCE_DIR/$file" ] || printf '%s\n' "$file"; done
	else
		(cd "$WET_SOURCE_DIR" && find "$@" -name .build -prune -o -name .git -prune -o -type f -print 2>/dev/null |
			sed 's|^\./||' | sort -u)
	fi
}
