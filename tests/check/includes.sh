#!/usr/bin/env bash
# includes.sh: what a room includes is what its row in daemon/CMakeLists.txt allows; arrows run downward only.
. "$(dirname "$0")/common.bash"
rooms=$(rooms_file)
files=$(sources_in include daemon client | grep '\.[ch]$')
looked=$(printf '%s\n' "$files" | grep -c .)

# Every folder of the daemon is a room with a row (ship holds no code).
for folder in "$WET_SOURCE_DIR"/daemon/*/; do
	name=$(basename "$folder")
	[ "$name" = ship ] || grep -q "^$name " "$rooms" ||
		problem "daemon/$name: a room without a row in daemon/CMakeLists.txt"
done

found=$(cd "$WET_SOURCE_DIR" && printf '%s\n' "$files" | grep . | xargs awk -v rooms="$rooms" '
function trouble(what) { printf "%s:%d: %s\n", FILENAME, FNR, what }
function owner_of(header) { return (header in owner) ? owner[header] : "" }
BEGIN {
	while ((getline line < rooms) > 0) {
		if (line ~ /^#/) continue
		split(line, f, " ")
		room_kind[f[1]] = f[2]
		may[f[1], f[1]] = 1
		n = split(f[3], list, ","); for (i = 1; i <= n; i++) may[f[1], list[i]] = 1
		n = split(f[4], list, ",")
		for (i = 1; i <= n; i++) if (list[i] != "-") {
			if (list[i] in owner)
				printf "daemon/CMakeLists.txt: %s belongs to both %s and %s\n", list[i], owner[list[i]], f[1]
			owner[list[i]] = f[1]
		}
		n = split(f[5], list, ","); for (i = 1; i <= n; i++) lent[f[1], list[i]] = 1
	}
	# Outside headers and who may include them.
	only["curses.h"] = "^client/screen[.]c$"
	only["term.h"] = "^client/screen[.]c$"
	only["uv.h"] = "^daemon/host/"
	only["sqlite3.h"] = "^daemon/ledger/"
	only["jansson.h"] = "^(daemon/(wire|shelf|methods)|client)/"
	only["samplerate.h"] = "^daemon/speech/"
	only["cairo.h"] = only["cairo-pdf.h"] = only["cairo-svg.h"] = only["pango/pangocairo.h"] = "^client/sheet/"
	only["alsa/asoundlib.h"] = "^daemon/speaker/[a-z]+_alsa[.][ch]$"
	pure_ok = "^(assert|errno|float|inttypes|limits|math|stdalign|stdarg|stdbool|stddef|stdint|stdlib|string)[.]h$"
}
FNR == 1 {
	split(FILENAME, part, "/")
	place = part[1]; room = ""
	if (place == "daemon" && part[3] != "") room = part[2]
	if (place == "include") {
		room = owner_of(part[3])
		if (room == "") trouble("a public header that no row of daemon/CMakeLists.txt names under HEADERS")
	}
	folder = FILENAME; sub(/\/[^\/]*$/, "", folder)
}
/^[ \t]*#[ \t]*include[ \t]*</ {
	header = $0; sub(/^[^<]*</, "", header); sub(/>.*$/, "", header)
	if (header in only && FILENAME !~ only[header]) trouble("<" header "> belongs to " only[header] " only")
	if (header ~ /^systemd\// && FILENAME !~ /^daemon\/host\//) trouble("<" header "> belongs to daemon/host only")
	if (header ~ /^(pthread|threads)[.]h$/ && FILENAME !~ /^daemon\/(host|speaker|main[.]c)/)
		trouble("threads are started by host and speaker only")
	if (header ~ /^alsa\// && !(header in only)) trouble("<" header ">: alsa/asoundlib.h, in the *_alsa files of daemon/speaker")
	if (header ~ /^(wetside|base|criterion)\//) trouble("<" header ">: our own headers are included with quotes, tests not at all")
	if (FILENAME ~ /banned[.]h$/) { next } # it names what is forbidden
	# banned.h reads what it bans, so that the declarations come before the ban.
	if (room != "" && room_kind[room] == "pure" && FILENAME != "daemon/base/banned.h" && header !~ pure_ok && !(room == "base" && header == "stdio.h"))
		trouble("<" header "> in " room ", which is pure")
}
/^[ \t]*#[ \t]*include[ \t]*"/ {
	header = $0; sub(/^[^"]*"/, "", header); sub(/".*$/, "", header)
	if (header ~ /(^|\/)[.][.]?\//) { trouble("\"" header "\": paths start at daemon or include"); next }
	n = split(header, step, "/")
	if (n == 1) {
		if ((getline ignored < (folder "/" header)) < 0) trouble("\"" header "\" is not in " folder)
		close(folder "/" header)
		next
	}
	if (step[1] == "wetside") target = owner_of(step[2]); else target = step[1]
	if (place == "include" && step[1] != "wetside") { trouble("\"" header "\": a public header may include public headers only"); next }
	if (step[1] == "wetside" && target == "") { trouble("\"" header "\" belongs to no room"); next }
	if (step[1] == "tests") { trouble("\"" header "\": nothing depends on tests"); next }
	if (place == "client") {
		if (header !~ /^(wetside|base|wire|client)\//) trouble("\"" header "\": the client knows base, wire and the public headers")
		next
	}
	if (room == "") next # main.c and the clock see every room
	if (!((room, target) in may) && !((room, header) in lent))
		trouble("\"" header "\" of " target " in " room ", whose row does not name it")
}')
problems_from "$found"
finish files
