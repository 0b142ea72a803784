# common.sh: what the two commands of the README share. POSIX sh; sourced, not run.
set -eu
house=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
say() { printf '%s\n' "$*"; }

# need PACKAGE...: installs those that are missing, and says which. Debian 12 and its relatives; elsewhere the
# configuration names what it misses.
need() {
	command -v dpkg-query >/dev/null 2>&1 || {
		say "This is no Debian; the next step says what is missing, if anything."
		return 0
	}
	missing=
	for package in "$@"; do
		case $(dpkg-query -W -f '${Status}' "$package" 2>/dev/null || :) in
		"install ok installed") ;;
		*) missing="$missing $package" ;;
		esac
	done
	[ -n "$missing" ] || return 0
	as_root=
	if [ "$(id -u)" != 0 ]; then
		if ! command -v sudo >/dev/null 2>&1; then
			say "These Debian packages are missing, and only root can install them:$missing" >&2
			say "As root: apt-get update && apt-get install$missing" >&2
			exit 1
		fi
		as_root=sudo
	fi
	say "Installing from Debian:$missing"
	$as_root apt-get -q update
	# shellcheck disable=SC2086 # a list of words on purpose
	$as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y --no-install-recommends install $missing
}

# build FOLDER CONFIGURATION TARGET...: configures and builds; the default target if none is named.
build() {
	folder=$1
	configuration=$2
	shift 2
	say "Building ($configuration) in ${folder#"$house"/}"
	cmake -S "$house" -B "$folder" -DCMAKE_BUILD_TYPE="$configuration" "$@"
	cmake --build "$folder" --parallel "$(nproc 2>/dev/null || echo 2)"
}

packages_build="gcc libc6-dev make cmake pkg-config libuv1-dev libjansson-dev libsqlite3-dev libasound2-dev libsystemd-dev libmd-dev libsamplerate0-dev libncurses-dev libpango1.0-dev"
packages_run="espeak-ng fonts-dejavu-core" # it runs without, in tones only, and prints with whatever font there is
packages_test="$packages_run tmux python3-pyte libcriterion-dev poppler-utils python3 binutils bash gawk python3-jsonschema sox units python3-iapws python3-scipy openbabel python3-openbabel"
