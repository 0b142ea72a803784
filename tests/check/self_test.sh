#!/usr/bin/env bash
# self_test.sh: each check can fail. A small house in a temporary folder is green in every check; then one fault at a
# time is put in, and the check that is there for it must turn red and name it.
. "$(dirname "$0")/common.bash"
check=$here
scratch=$(mktemp -d) || exit 1
trap 'rm -rf "$scratch"' EXIT
compiler=${CC:-cc}
unset ASAN_OPTIONS UBSAN_OPTIONS TSAN_OPTIONS # the outer run's reports are not these

write() { # write FILE: from standard input
	mkdir -p "$(dirname "$1")"
	cat >"$1"
}

# -- the small house ------------------------------------------------------------
build_house() {
	rm -rf "$scratch/house" "$scratch/build" "$scratch/stage"
	mkdir -p "$scratch/house" "$scratch/build"
	cd "$scratch/house" || exit 1
	local name
	for name in CMakeLists.txt DEVELOPERS.md LICENSE README.md client/note safety/note tests/note; do
		write $name <<<"A small house."
	done
	write recipes/substances.json <<<'{"name": "substances"}'
	for name in substances incompatibilities statements gases practice; do
		write safety/$name.json <<<'{"version": 1}'
	done
	write recipes/formulas/one.json <<<'{"name": "one"}'
	write recipes/one.json <<<'{"name": "one", "text": "H314, P280", "source": "report QX-7"}'
	write include/wetside/errors.h <<'END'
/* errors.h: what can go wrong. */
#ifndef WETSIDE_ERRORS_H
#define WETSIDE_ERRORS_H

/* Errors. */
enum wet_err { WET_OK, WET_ERR_RANGE };
/* The text of an error. */
const char *wet_err_text(int err);
const char *wet_err_name(int err); /* its name */

#endif
END
	write include/wetside/limits.h <<'END'
/* limits.h: one limit on everything. */
#ifndef WETSIDE_LIMITS_H
#define WETSIDE_LIMITS_H

#define WET_NAME_BYTES 64 /* as long as a label */

#endif
END
	write include/wetside/heat.h <<'END'
/* heat.h: warmth. */
#ifndef WETSIDE_HEAT_H
#define WETSIDE_HEAT_H

/* Degrees to kelvin. */
double wet_heat_kelvin(double temp_c);

#endif
END
	write daemon/base/banned.h <"$WET_SOURCE_DIR/daemon/base/banned.h"
	write daemon/base/errors.c <<'END'
#include "wetside/errors.h"

#include "wetside/limits.h"

#include <string.h>

const char *wet_err_text(int err)
{
	char name[WET_NAME_BYTES];
	memset(name, err, sizeof name);
	return memchr(name, 7, sizeof name) != NULL ? "seven" : "done";
}
const char *wet_err_name(int err)
{
	return err == WET_ERR_RANGE ? "RANGE" : "OK";
}
END
	write daemon/heat/heat.c <<'END'
#include "wetside/heat.h"

#include "wetside/errors.h"

#include <math.h>

double wet_heat_kelvin(double temp_c)
{
	return wet_err_text(0)[0] == 'd' ? pow(temp_c, 1.0) + 273.15 : 0;
}
END
	write daemon/wire/wire.c <<'END'
#include "wire/wire.h"

#include "wetside/errors.h"

#include <jansson.h>

const char *wet_wire_answer(int err)
{
	json_decref(json_null());
	return wet_err_text(err);
}
END
	write daemon/wire/wire.h <<'END'
/* wire.h: lines. */
#ifndef WET_WIRE_H
#define WET_WIRE_H

const char *wet_wire_answer(int err);

#endif
END
	write daemon/darkroom/turn.c <<'END'
#include "wetside/heat.h"

int wet_turn(void);
int wet_turn(void)
{
	return wet_heat_kelvin(20) > 0;
}
END
	cat >"$scratch/build/rooms.txt" <<END
# room kind may-use public-headers lent-headers archive
base pure - errors.h,limits.h - $scratch/build/base.a
heat pure base heat.h - $scratch/build/heat.a
wire shell base - - $scratch/build/wire.a
darkroom shell heat,base - - $scratch/build/darkroom.a
END
	cat >"$scratch/build/compile_commands.json" <<END
[{"directory": "/", "file": "$scratch/house/daemon/heat/heat.c",
  "command": "cc -O2 -Wall -Wconversion -ffp-contract=off -include banned.h -c heat.c"}]
END
	# What an installation would leave, and a stand-in for cmake that puts it in place.
	write "$scratch/cmake" <<END
#!/bin/sh
mkdir -p "\$4" && cp -R "$scratch/stage/." "\$4/"
END
	chmod +x "$scratch/cmake"
	printf 'int main(int argc, char **argv)\n{\n\tchar text[64];\n\tfor (int i = 0; i < 64; i++)\n\t\ttext[i] = argv[argc - 1][0];\n\treturn text[argc] == 1;\n}\n' >"$scratch/program.c"
}

pack() { # compiles the rooms as they are now
	local room
	for room in base heat wire darkroom; do
		rm -f "$scratch/build/$room.a" "$scratch"/*.o
		(cd "$scratch" && for source in "$scratch/house/daemon/$room"/*.c; do
			"$compiler" -std=c17 -D_GNU_SOURCE -I house/include -I house/daemon -c "$source" || exit 1
		done && ar rcs "build/$room.a" ./*.o) >"$scratch/packed" 2>&1 || {
			cat "$scratch/packed"
			exit 1
		}
	done
}

stage() { # stage LINK-FLAG...: what would be installed
	pack
	rm -rf "$scratch/stage"
	mkdir -p "$scratch/stage/lib" "$scratch/stage/bin" "$scratch/stage/include" "$scratch/stage/share/wetside"
	cp -R "$scratch/house/include/wetside" "$scratch/stage/include/"
	cp -R "$scratch/house/recipes" "$scratch/house/safety" "$scratch/stage/share/wetside/"
	mkdir "$scratch/objects"
	(cd "$scratch/objects" && ar x ../build/base.a && ar x ../build/heat.a && ar rcs ../stage/lib/libwetside.a ./*.o)
	rm -rf "$scratch/objects"
	"$compiler" -O1 -fPIE -fstack-protector-all -pie -Wl,-z,relro,-z,now "$@" "$scratch/program.c" \
		-o "$scratch/stage/bin/wetsided" && cp "$scratch/stage/bin/wetsided" "$scratch/stage/bin/wetside"
}

run_check() {
	WET_SOURCE_DIR=$scratch/house WET_BUILD_DIR=$scratch/build CMAKE=$scratch/cmake bash "$check/$1.sh" 2>&1
}

# red CHECK WORDS: the check must fail, and say WORDS.
red() {
	looked=$((looked + 1))
	local said
	if said=$(run_check "$1"); then
		problem "$1 stayed green; it should have said: $2"
	elif [[ $said != *"$2"* ]]; then
		problem "$1 is red, but did not say \"$2\". It said:
$said"
	fi
	build_house
}

# -- green without a fault --------------------------------------------------------
build_house
pack
stage
for name in symbols includes headers banned docs toplevel names limits install; do
	looked=$((looked + 1))
	said=$(run_check $name) || problem "$name is red without a fault, so its reds prove nothing:
$said"
done

# -- symbols ----------------------------------------------------------------------
seed_call() { # seed_call ROOM DECLARATION CALL
	printf '%s\nint wet_seed(void);\nint wet_seed(void)\n{\n\treturn %s;\n}\n' "$2" "$3" >"daemon/$1/seed.c"
	pack
}
build_house
seed_call heat '#include <stdlib.h>' 'malloc(7) != NULL'
red symbols "heat: is pure and calls malloc"
seed_call heat '#include <stdio.h>' 'fopen("a", "r") != NULL'
red symbols "heat: is pure and calls fopen"
seed_call heat '#include <time.h>' '(int)time(NULL)'
red symbols "heat: is pure and calls time"
seed_call base '#include <stdio.h>' 'printf("%d", 7)'
red symbols "base: is pure and calls printf"
seed_call heat '#include <stdio.h>' 'snprintf(NULL, 0, "%p", (void *)0)'
red symbols "heat: is pure and calls snprintf"
seed_call base 'double wet_heat_kelvin(double);' '(int)wet_heat_kelvin(3)'
red symbols "base: calls wet_heat_kelvin of heat, which its row does not name"
seed_call darkroom 'int wet_nobody(void);' 'wet_nobody()'
red symbols "darkroom: calls wet_nobody, which no room it may use defines"
seed_call darkroom 'int sqlite3_libversion_number(void);' 'sqlite3_libversion_number()'
red symbols "darkroom: calls sqlite3_libversion_number, which belongs to ledger only"
seed_call wire 'unsigned uv_version(void);' '(int)uv_version()'
red symbols "wire: calls uv_version, which belongs to host only"
seed_call wire 'const char *src_get_version(void);' 'src_get_version() != 0'
red symbols "wire: calls src_get_version, which belongs to speech only"
seed_call darkroom '#include <time.h>' '(int)clock_gettime(CLOCK_MONOTONIC, NULL)'
red symbols "darkroom: calls clock_gettime; it takes the world as ports"
echo 'int shared_name; ' | tee daemon/base/seed.c >daemon/heat/seed.c
pack
red symbols "has shared_name, and so has another room"
rm -f "$scratch/build/heat.a"
red symbols "heat.a is not built"

# -- includes ---------------------------------------------------------------------
seed_include() { printf '#include %s\n' "$2" >>"$1"; }
seed_include daemon/wire/wire.c '<uv.h>'
red includes "daemon/wire/wire.c:12: <uv.h> belongs to ^daemon/host/ only"
seed_include daemon/darkroom/turn.c '<sqlite3.h>'
red includes "<sqlite3.h> belongs to"
seed_include daemon/darkroom/turn.c '<jansson.h>'
red includes "<jansson.h> belongs to"
mkdir -p daemon/speaker && echo 'speaker shell base - - -' >>"$scratch/build/rooms.txt"
seed_include daemon/speaker/speaker.c '<alsa/asoundlib.h>'
red includes "<alsa/asoundlib.h> belongs to"
mkdir -p daemon/speaker && echo 'speaker shell base - - -' >>"$scratch/build/rooms.txt"
seed_include daemon/speaker/speaker.c '<samplerate.h>'
red includes "<samplerate.h> belongs to"
seed_include daemon/heat/heat.c '<time.h>'
red includes "<time.h> in heat, which is pure"
seed_include daemon/heat/heat.c '"wire/wire.h"'
red includes "\"wire/wire.h\" of wire in heat, whose row does not name it"
seed_include daemon/base/errors.c '"wetside/heat.h"'
red includes "\"wetside/heat.h\" of heat in base"
seed_include include/wetside/heat.h '"wire/wire.h"'
red includes "a public header may include public headers only"
seed_include daemon/heat/heat.c '"../wire/wire.h"'
red includes "paths start at daemon or include"
seed_include client/verbs.c '"darkroom/darkroom.h"'
red includes "the client knows base, wire and the public headers"
write include/wetside/stray.h <<<'/* stray.h: whose? */'
red includes "a public header that no row"
mkdir daemon/attic
red includes "daemon/attic: a room without a row"

# -- headers, banned functions, comments --------------------------------------------
printf 'size_t wet_wire_bytes(void);\n' >>daemon/wire/wire.h
red headers "daemon/wire/wire.h does not compile alone"
sed -i 's/#define WETSIDE_HEAT_H/typedef int wet_twice;\nstruct wet_twice { int a; };/' include/wetside/heat.h
red headers "include/wetside/heat.h does not compile alone"
sed -i 's/ strcpy / /' daemon/base/banned.h
red banned "must not: strcpy(a, b);"
sed -i 's/-include banned.h//' "$scratch/build/compile_commands.json"
red banned "daemon/heat/heat.c: compiled without banned.h"
sed -i 's/-O2/-O2 -DNDEBUG/' "$scratch/build/compile_commands.json"
red banned "compiled with -DNDEBUG"
sed -i 's/-ffp-contract=off/-ffast-math/' "$scratch/build/compile_commands.json"
red banned "compiled with -ffast-math"
rm daemon/base/banned.h
red banned "banned.h is missing"
sed -i '/^\/\* Degrees/d' include/wetside/heat.h
red docs "wet_heat_kelvin has no comment"
sed -i 's|^#define WET_NAME_BYTES.*|&\n\n#define WET_BARE 1|' include/wetside/limits.h
red docs "WET_BARE has no comment"
sed -i 's|^/\* Errors. \*/||' include/wetside/errors.h
red docs "wet_err has no comment"
sed -i 1d include/wetside/heat.h
red docs "the first line says what the header is"

# -- names and limits -----------------------------------------------------------------
write notes.txt <<<"A stray file."
red toplevel "notes.txt: the top level is fixed"
rm LICENSE
red toplevel "LICENSE is missing"
printf 'See %s/daemon.\n' "$scratch/house" >>README.md
red names "README.md:2: names a place on one machine"
printf 'See /%s/somebody/pictures.\n' home >>README.md
red names "README.md:2: names a place on one machine"
printf '/* TO%s: later */\n' DO >>daemon/heat/heat.c
red names "a note to self was left"
write recipes/two.json <<<'{"name": "developer QX-7"}'
red names "recipes/two.json: QX-7 looks like the code name of a maker"
write recipes/two.json <<<'{"name": "developer QX77"}'
red names "recipes/two.json: QX77 looks like the code name of a maker"
write safety/two.md <<<'Mix QX-7 in a fume hood.'
red names "safety/two.md:1: QX-7"
write recipes/two.json <<<'{"name": "the Brightdev developer"}'
red names "recipes/two.json: Brightdev looks like the name of a product"
write recipes/two.json <<<'{"name": "BRIGHT developer"}'
red names "recipes/two.json: BRIGHT looks like the name of a product"
write safety/two.md <<<'Mix it as brightDev says.'
red names "safety/two.md:1: brightDev looks like the name of a product"
printf 'A fine developer\302\256.\n' >>README.md
red names "a trade mark sign"
write client/seed.c <<<'static const char seed[] = "buy brightDev";'
red names "client/seed.c:1: brightDev looks like the name of a product"
printf 'static const char seed[] = "QX-7";\n' >>daemon/heat/heat.c
red names "daemon/heat/heat.c"
sed -i 's|^#define WET_NAME_BYTES.*|#define WET_NAME_BYTES 64|' include/wetside/limits.h
red limits "WET_NAME_BYTES has no reason"
sed -i 's/WET_NAME_BYTES/64/' daemon/base/errors.c
red limits "WET_NAME_BYTES is used nowhere"
printf '/* %0200d */\n' 7 >>daemon/heat/heat.c
red limits "a line of 206 columns"
{
	printf 'int wet_seed(void)\n{\n'
	yes '	;' | head -100
	printf '}\n'
} >>daemon/heat/heat.c
red limits "a function of 102 lines"
yes '/* long */' | head -800 >>daemon/heat/heat.c
red limits "daemon/heat/heat.c: over"

# -- what is installed ------------------------------------------------------------------
printf '/* Not there. */\ndouble wet_heat_absent(void);\n' >>include/wetside/heat.h
stage
red install "wetside/heat.h declares wet_heat_absent, and libwetside does not hold it"
printf 'int stray_name;\n' >daemon/heat/seed.c
stage
red install "libwetside exports stray_name"
sed -i 's/"RANGE"/"RAGE"/' daemon/base/errors.c
stage
red install "a program that links libwetside runs wrongly"
stage -Wl,-z,norelro
red install "wetsided: no RELRO"
stage -Wl,-z,lazy
red install "wetsided: no BIND_NOW"
stage -no-pie
red install "wetsided: not position-independent"
stage -Wl,-z,execstack
red install "wetsided: the stack is executable"
stage -fno-stack-protector
red install "wetsided: no stack protector"
stage && cp "$scratch/stage/bin/wetsided" "$scratch/stage/bin/wetsided-sim"
red install "bin/wetsided-sim is installed and belongs to the tests"
stage && rm "$scratch/stage/bin/wetside"
red install "wetside is not installed"
stage && rm -r "$scratch/stage/share/wetside/recipes/formulas"
red install "share/wetside/recipes/formulas is empty"
stage && rm "$scratch/stage/share/wetside/recipes/substances.json"
red install "the substances are not installed"
stage && rm "$scratch/stage/share/wetside/safety/statements.json"
red install "safety/statements.json is not installed"
stage && rm "$scratch/stage/share/wetside/safety/practice.json"
red install "safety/practice.json is not installed"

# -- the launcher of sanitized tests, and the replay of a corpus ---------------------------
cat >"$scratch/leak.c" <<'END'
#include <stdlib.h>
#include <unistd.h>
int main(int argc, char **argv)
{
	(void)argv;
	char *volatile lost = argc > 1 ? malloc(77) : NULL;
	lost = NULL;
	if (fork() == 0) /* a child that reports while its parent says all is well */
		exit(lost != NULL);
	return 0;
}
END
if "$compiler" -fsanitize=address "$scratch/leak.c" -o "$scratch/leak" 2>/dev/null; then
	looked=$((looked + 2))
	sh "$check/run_sanitized.sh" "$scratch/leak" >/dev/null 2>&1 || problem "run_sanitized.sh is red without a report"
	said=$(sh "$check/run_sanitized.sh" env ASAN_OPTIONS= sh -c 'exit 7' 2>&1)
	[ $? -eq 7 ] || problem "run_sanitized.sh loses the status of its test: $said"
	if sh "$check/run_sanitized.sh" sh -c "'$scratch/leak' leak; exit 0" >/dev/null 2>&1; then
		problem "run_sanitized.sh stayed green over a leak"
	fi
fi
printf '#include <stdint.h>\n#include <stdlib.h>\nint LLVMFuzzerTestOneInput(const uint8_t *b, size_t n);\nint LLVMFuzzerTestOneInput(const uint8_t *b, size_t n)\n{\n\tif (n > 0 && b[0] == 7)\n\t\tabort();\n\treturn 0;\n}\n' >"$scratch/target.c"
if "$compiler" "$scratch/target.c" "$WET_SOURCE_DIR/tests/fuzz/replay.c" -o "$scratch/replay"; then
	looked=$((looked + 3))
	mkdir "$scratch/corpus"
	! "$scratch/replay" "$scratch/corpus" >/dev/null 2>&1 || problem "replay passes an empty corpus"
	printf 'a' >"$scratch/corpus/a"
	"$scratch/replay" "$scratch/corpus" >/dev/null 2>&1 || problem "replay fails a good corpus"
	printf '\007' >"$scratch/corpus/b"
	! bash -c 'ulimit -c 0; "$@"; exit' - "$scratch/replay" "$scratch/corpus" >/dev/null 2>&1 || problem "replay passes an input that aborts"
else
	problem "tests/fuzz/replay.c does not compile"
fi
cd / || exit 1
finish "seeded faults"
