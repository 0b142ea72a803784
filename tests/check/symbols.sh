#!/usr/bin/env bash
# symbols.sh: what the compiled rooms call is what they may call.
#
# The compiler cannot hold the wall: strict C17 declares fopen, time and malloc to everybody. So the undefined symbols
# of every room's library are compared with its row in daemon/CMakeLists.txt:
#   - a pure room may use the memory and string functions that neither allocate nor keep state, libm, bsearch, and what
#     the compiler itself puts in; base also formats and reads numbers. Not qsort: glibc's may allocate.
#   - any room may call functions of the rooms in its row, and of no other room
#   - an outside library is called from its own rooms only
#   - a name that does not begin with wet_ is between the files of one room: no other room calls it or has it too
. "$(dirname "$0")/common.bash"
rooms=$(rooms_file)

allowed='^(
mem(cpy|move|set|cmp|chr)|bcmp|
str(len|nlen|cmp|ncmp|chr|rchr|str|spn|cspn|pbrk|ncpy|ncat)|
__(mem(cpy|move|set)|str(ncpy|ncat))_chk|bsearch|
(acos|asin|atan|atan2|cbrt|ceil|copysign|cos|cosh|erf|exp|exp2|expm1|fabs|floor|fma|fmax|fmin|fmod|frexp|hypot|ldexp|
llrint|llround|log|log10|log1p|log2|lrint|lround|modf|nearbyint|nextafter|pow|remainder|rint|round|scalbn|sin|sincos|
sinh|sqrt|tan|tanh|trunc)f?|__(isnan|isinf|finite|signbit|fpclassify)f?|
__(u?div|u?mod|u?divmod|mul|mulo|ashl|lshr|ashr)[td]i[345]|__float(un)?tidf|__fix(uns)?dfti|
__assert_fail|__stack_chk_fail|_GLOBAL_OFFSET_TABLE_|
__(asan|ubsan|tsan|sanitizer|sancov|gcov|llvm)_.*|
__(div|mod|divmod|udiv|umod)ti[34]
)$'
allowed=$(tr -d '\n' <<<"$allowed")
# base alone turns numbers into text and text into numbers, in the C locale that nobody changes.
allowed_in_base='^(vsnprintf|snprintf|__vsnprintf_chk|__snprintf_chk|strto(l|ul|ll|ull|d)|__errno_location)$'

# Outside libraries and the rooms that may call them.
outside='^uv_ host
^sqlite3_ ledger
^json_|^jansson_ wire,shelf,methods
^SHA256 shelf,speech
^src_ speech
^snd_ speaker
^sd_ host
^pthread_create$|^thrd_create$ speaker,host'
# Rooms that take the world as ports call neither clock nor files nor sockets themselves.
quiet_rooms=' darkroom methods '
quiet='^(clock_gettime|clock_nanosleep|nanosleep|time|gettimeofday|open|openat|fopen|socket|timerfd_create|fork|posix_spawn|getenv)$'

undefined_of() { nm -u "$1" 2>/dev/null | awk 'NF == 2 && ($1 == "U" || $1 == "w") { print $2 }' | sort -u; }
defined_of() { nm -g --defined-only "$1" 2>/dev/null | awk 'NF == 3 { print $3 }' | sort -u; }

declare -A owner=() has=() built=() # symbol -> first room; "room symbol"; room
while read -r room kind deps headers lent archive; do
	[ "$room" != "#" ] && [ "$archive" != "-" ] || continue
	[ -f "$archive" ] || {
		problem "$room: $archive is not built"
		continue
	}
	built[$room]=yes
	while IFS= read -r symbol; do
		has[$room $symbol]=yes
		[[ -z ${owner[$symbol]:-} || $symbol == __* ]] ||
			problem "$room: has $symbol, and so has another room, ${owner[$symbol]}; two cannot be linked together"
		owner[$symbol]=${owner[$symbol]:-$room}
	done < <(defined_of "$archive")
done <"$rooms"

while read -r room kind deps headers lent archive; do
	[ "$room" != "#" ] && [ -n "${built[$room]:-}" ] || continue
	looked=$((looked + 1))
	while IFS= read -r symbol; do
		[ -z "${has[$room $symbol]:-}" ] || continue
		from=${owner[$symbol]:-}
		# The clock is an object of the program, exchanged at link time (daemon/clock_os.c).
		[[ $symbol == wet_clock_* && $room == host ]] && continue
		if [[ $symbol == wet_* ]] || [ -n "$from" ]; then
			if [ -n "$from" ]; then
				[[ $symbol == wet_* ]] || problem "$room: calls $symbol, which is between the files of $from"
				[[ ,$deps, == *,$from,* ]] || problem "$room: calls $symbol of $from, which its row does not name"
			else
				open=
				for dep in ${deps//,/ }; do
					[ -n "${built[$dep]:-}" ] || open=yes
				done
				[ -n "$open" ] || problem "$room: calls $symbol, which no room it may use defines"
			fi
			continue
		fi
		if [ "$kind" = pure ]; then
			[[ $symbol =~ $allowed ]] && continue
			[ "$room" = base ] && [[ $symbol =~ $allowed_in_base ]] && continue
			problem "$room: is pure and calls $symbol"
			continue
		fi
		while read -r pattern may; do
			if [[ $symbol =~ $pattern ]] && [[ ,$may, != *,$room,* ]]; then
				problem "$room: calls $symbol, which belongs to ${may//,/, } only"
			fi
		done <<<"$outside"
		if [[ $quiet_rooms == *" $room "* ]] && [[ $symbol =~ $quiet ]]; then
			problem "$room: calls $symbol; it takes the world as ports"
		fi
	done < <(undefined_of "$archive")
done <"$rooms"
finish rooms
