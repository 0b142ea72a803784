"""The watch in a real terminal: each light condition and size, as text and as colour; the terminal is given back."""
import re
from screens import TANK, Tmux, press_until
from wet import BUILD, Daemon, Refused, until

d = Daemon()
c = d.start()
t = Tmux(d.dir)
found = t.state()
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=1, run="creek")


def phase():
    return c.call("status.get")["runs"][0]["phase"]


def press(key, then, seconds=20):
    press_until(lambda: t.key(key), lambda: phase() == then, f"{key}: {then}", seconds)


# Light, before begin.
t.type(f"{BUILD}/client/wetside --socket {d.socket} watch")
seen = t.shows("creek. Light: white allowed", "Ready. Light and screen off, then begin.", "Which number did you hear", "space begin",
               "     Second fixer                 3:00")
assert t.state().startswith("1 0"), "a screen of its own, without a cursor"
coloured = t.coloured()
assert set(re.findall(r"48;5;(\d+)", coloured)) == {"16"}, "one ground"
assert set(re.findall(r"38;5;(\d+)", coloured)) == {"231", "250", "214"}, coloured
assert re.search(r"\033\[1m[^\n]*Ready\. Light and screen off", coloured), "what leads is bold"
assert "! NO SOUND: no sound was asked for" in seen, "and what warns says so without colour"

# The number heard, then space; a wrong one brings the page back, with why.
for number in range(2, 7):
    t.key(str(number))
    t.shows(f"You heard {number}. Light off, cover the screen, then space begins.")
    t.key("Space")
    until(lambda: phase() == "handling" or "listen again" in t.text(), "an answer to the number")
    if phase() == "handling":
        break
assert phase() == "handling"

# Dark: nothing is to be seen, on black.
black = t.coloured()
assert t.text().strip() == "", t.text()
assert set(re.findall(r"48;5;(\d+)", black)) <= {"16"} and not re.search(r"\033\[7m", black)
rows = black.split("\n")[:24]
assert all("48;5;16" in row or i for i, row in enumerate(rows)), "explicit black from the first cell on"
t.resize(12, 40)
for key in ("x", "F5", "C-z"):
    t.key(key)
t.resize(24, 80)
press_until(lambda: t.key("Space"), lambda: c.call("status.get")["runs"][0]["stage_name"] == "Lid on", "the piece is in")
assert t.text().strip() == ""

# The lid is on, so it is light again: the page is back by itself.
press("Space", "waiting")
seen = t.shows("Developer, bottle one, one band. Press as you start to pour.", "now; waiting ")
assert "Light: white allowed" in seen and "done Lid on" in seen, seen
assert "\u2588" in seen, "large digits"
press("Space", "before least")
seen = t.shows("Turn: four slow turns, tap for air bells.", "in 0:1", "Pour out in 1:")
# A reading, stepped and kept.
t.key("t")
t.shows("Reading of the developer: 20 C?")
t.key("+")
t.shows("Reading of the developer: 20.5 C?")
t.key("-")
t.shows("Reading of the developer: 20 C?")
press_until(lambda: t.key("-"), lambda: "19.5 C?" in t.text(), "a step down")  # so soon it was one kept down
t.shows("Reading of the developer: 19.5 C?", "Heard: Developer, 19.5 C?")
t.key("t")
t.shows("Bath at 19.5 C", "+/-")
press_until(lambda: t.key("t"), lambda: "Reading of the developer: 19.5 C?" in t.text(), "another reading")
t.key("x")
until(lambda: "Reading of" not in t.text(), "another key leaves the reading")
t.key("?")
t.shows("t: a reading; then + and - step it")
press_until(lambda: t.key("?"), lambda: "space go on" in t.text(), "the page again")

for rows, columns in ((12, 40), (5, 20), (50, 132), (24, 80)):
    t.resize(rows, columns)
    name = "Developer, " if columns > 24 else "Developer,"
    seen = t.shows(name, *(["EMERGENCY"] if rows > 5 else []))
    assert re.search(r"(?m)^in \d:\d\d$", seen), seen
    lines = [line.rstrip() for line in seen.split("\n")]
    assert len(lines) <= rows + 1 and max(map(len, lines)) <= columns

# Another tank, chosen by its digit.
c.call("run.rehearse", recipe=TANK, run="pond", rate="1", mine=True)
t.shows("Other tanks, chosen by digit:", "2 pond: now, Camera one, slot one.")
t.key("2")
t.shows("pond, rehearsal", "1 creek: ")
t.key("1")
t.shows("2 pond: ")
t.key("9")
t.shows("Heard: That key does nothing here.")

# The emergency, and back.
t.key("e")
seen = t.shows("Lights on. Get out, or rinse the eye for fifteen minutes.", "Resume with r when all is well.")
t.key("r")
until(lambda: "Resume with r" not in t.text(), "it goes on")

# Stopped and brought back.
t.key("C-z")
t.shows("$")
assert t.state().startswith("0 1"), t.state()
t.type("fg")
t.shows("Developer, ")
assert t.state().startswith("1 0")
t.key("q")
until(lambda: t.state() == found, "the terminal as it was")

# Without colour, and without Unicode.
t.resize(50, 80)
t.type(f"clear; NO_COLOR=1 LC_ALL=C {BUILD}/client/wetside --socket {d.socket} watch --run creek")
seen = t.shows("Developer, ", "space go on", "#####")
assert "\u2588" not in seen and seen.isascii(), seen
assert not re.search(r"[34]8;5|\033\[[34][0-7]", t.coloured()), "no colour where none is wanted"
t.key("q")
until(lambda: t.state() == found, "the terminal as it was")
t.type(f"clear; NO_COLOR=1 {BUILD}/client/wetside --socket {d.socket} --color=always watch --run creek")
t.shows("Developer, ", "space go on")
assert "48;5;16" in t.coloured(), "what is typed outranks the environment"
t.key("q")
until(lambda: t.state() == found, "the terminal as it was")

# As lines, with no escape at all.
t.type(f"clear; TERM=dumb {BUILD}/client/wetside --socket {d.socket} watch --run creek")
t.shows("Keys: space goes on")
assert t.state().startswith("0 1")
t.key("q")
t.end()
d.stop()
d.clean()
print("seen: light, dark and back, five sizes, reading, tanks, emergency, no colour, no Unicode, lines")
