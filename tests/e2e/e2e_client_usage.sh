#!/bin/bash
# Usage and exit status of the client where no daemon runs: 0 help, 2 wrong usage (found before anything is asked),
# 3 no daemon, with the line that starts it.
set -u
: "${WET_BUILD_DIR:?the build folder}"
wetside="$WET_BUILD_DIR/client/wetside"
dir=$(mktemp -d) || exit 1
trap 'rm -rf "$dir"' EXIT
failed=0 count=0

# expect STATUS TEXT ARGS...: the exit status, and TEXT somewhere in the output. Failures leave standard output empty.
expect()
{
	local status=$1 text=$2 got
	shift 2
	count=$((count + 1))
	"$wetside" --socket "$dir/none" "$@" >"$dir/out" 2>"$dir/err" </dev/null
	got=$?
	if [ "$got" -ne "$status" ]; then
		echo "wetside $*: exit status $got instead of $status"
		failed=1
	fi
	if ! grep -qF -- "$text" "$dir/out" "$dir/err"; then
		echo "wetside $*: '$text' is not in:"
		cat "$dir/out" "$dir/err"
		failed=1
	fi
	if [ "$status" -ne 0 ] && [ $# -gt 0 ] && [ -s "$dir/out" ]; then
		echo "wetside $*: a failure wrote to standard output"
		failed=1
	fi
	if LC_ALL=C tr -d '\n\t' <"$dir/out" | LC_ALL=C grep -q '[[:cntrl:]]'; then
		echo "wetside $*: a control byte in the output"
		failed=1
	fi
}

verbs="abandon arm begin dilute emergency formula camera go hold longer meter reading recipe record rehearse resume safety sound status test
undo watch where"
expect 0 "Exit status" --help
expect 2 "this is not UTF-8" arm some-recipe --piece $'\xff'
expect 0 "wetside " --version
for verb in $verbs; do
	expect 0 "Example: wetside $verb" "$verb" --help
	expect 2 "there is no option" "$verb" --nonsense
done

expect 2 "Usage"
expect 2 "there is no verb" polish
expect 2 "did you mean 'rehearse'" rehears
expect 2 "there is no verb" $'bad\033[31m'
expect 2 "the recipe is missing" arm
expect 2 "the recipe is missing" rehearse
expect 2 "the name is missing" safety
expect 2 "the time is missing" longer
expect 2 "the temperature is missing" reading
expect 2 "one argument too many" go now
expect 2 "one argument too many" recipe one two
expect 2 "one argument too many" test one two
expect 2 "one argument too many" sound CHANGE REST
expect 2 "one argument too many" record 1 2
expect 2 "number is needed" record abc
expect 2 "a whole number is needed" arm direct-positive-fibre-tank --pieces six
expect 2 "a value is missing" rehearse direct-positive-fibre-tank --rate
expect 2 "--rate KIND=N" rehearse direct-positive-fibre-tank --rate develop=
expect 2 "--rate KIND=N" rehearse direct-positive-fibre-tank --rate =2
expect 2 "does not belong here" go --heard 3
expect 2 "does not belong here" emergency --run tank
expect 2 "not both" reading 19.4C --before --after
expect 2 "not both" begin --heard 3 --unheard
expect 2 "give a ratio" dilute --make 600mL
expect 2 "give a ratio" dilute --stock 28% --make 600mL
expect 2 "give a ratio" dilute 1+9 --stock 28% --to 2% --make 600mL
expect 2 "give a ratio" dilute 1+9 --with 5% --make 600mL
expect 2 "give a ratio" dilute --stock 28% --to 2% --then 1+9 --make 600mL
expect 2 "--make and --have" dilute 1+9
expect 2 "--make and --have" dilute 1+9 --make 600mL --have 60mL
expect 2 "auto, always or never" --color=red status
expect 2 "--socket needs" status --socket

start="start it: wetsided"
for verb in begin emergency go hold recipe record resume sound status undo watch where; do
	expect 3 "$start" "$verb"
done
expect 3 "$start" abandon --held
expect 3 "$start" arm direct-positive-fibre-tank --pieces 6
expect 3 "$start" rehearse direct-positive-fibre-tank --rate 20 --rate develop=2 --pieces 6
expect 3 "$start" longer 15s
expect 3 "$start" longer "15 s" --run tank
expect 3 "$start" reading 19.4C --bath fixer --after
expect 3 "$start" safety direct-positive-fibre-tank
expect 3 "$start" dilute 1+9 --make 600mL
expect 3 "$start" dilute --make=600mL 1+9
expect 3 "$start" dilute --stock 28% --to 2% --have 45mL
expect 3 "$start" dilute --stock 28% --with 5% --to 10% --make 1L --graduate 100mL --graduate 25mL
expect 3 "$start" dilute 1+3 --then 1+9 --make 1L
expect 3 "$start" record 1
expect 3 "$start" --color never --plain --quiet --no-input status
expect 3 "$start" status --json

echo "$count calls"
exit "$failed"
