"""The red view: refused until this very screen has passed its fog test; red in that test's own run, only while its card slides; what it
told is kept, exported and taken in; then red in the dark, in one red on black and nothing else."""
import json, re, subprocess
from screens import TANK, Tmux, press_until
from wet import BUILD, Daemon, until

FOG = "test-screen-fog"
d = Daemon()
c = d.start()
t = Tmux(d.dir, term="xterm-256color")
found = t.state()
WETSIDE = f"{BUILD}/client/wetside --socket {d.socket}"


def client(*words, socket=None):
    return subprocess.run([f"{BUILD}/client/wetside", "--socket", socket or d.socket, *words], capture_output=True, text=True)


def run(name):
    return next(r for r in c.call("status.get")["runs"] if r["name"] == name)


def inks():
    seen = t.coloured()
    return set(re.findall(r"38;5;(\d+)", seen)), set(re.findall(r"48;5;(\d+)", seen)), t.text().strip()


def go(name, stage):
    press_until(lambda: client("go", "--run", name, "--held"), lambda: run(name)["stage_name"] == stage, f"{name} in {stage}")


for name in (TANK, FOG):
    c.call("safety.acknowledge", name=name, person="")
c.call("run.arm", recipe=TANK, pieces=1, run="creek")

# Refused, with what to do.
t.type(f"clear; {WETSIDE} watch --red --screen laptop; echo status $?")
seen = t.shows("status 1").replace("\n", "")
assert "laptop has not passed a fog test" in seen and "wetside arm test-screen-fog" in seen and "--passed" in seen, seen
t.type(f"clear; {WETSIDE} watch --red; echo status $?")
t.shows("status 2", "--red --screen NAME")
t.type(f"clear; NO_COLOR=1 {WETSIDE} watch --red --screen laptop; echo status $?")
t.shows("status 1", "256 fixed colours")
assert "256 fixed colours" in client("watch", "--red", "--screen", "laptop").stderr, "nor where there is no screen"

# The test itself, guided. Its own view is lit where the card slides.
c.call("run.arm", recipe=FOG, run="fog", room="annex")
t.type(f"clear; {WETSIDE} begin --run fog --unheard --watch --red --screen laptop")
until(lambda: run("fog")["phase"] == "handling", "it is begun")
until(lambda: "laptop" not in t.text(), "black")
assert inks()[2] == "", "a strip is cut in the dark"
go("fog", "First flash")
assert inks()[2] == ""
go("fog", "Screen")
t.shows("Screen on as you would use it", "Red view")
assert inks()[:2] == ({"196"}, {"16"}), inks()
go("fog", "First quarter")
t.shows("First quarter. Press to begin.")
press_until(lambda: client("go", "--run", "fog"), lambda: run("fog")["phase"] == "before least", "the card slides")
t.shows("First quarter, 0:0")
for stage in ("Second quarter", "Third quarter"):
    go("fog", stage)
    t.shows(stage)
assert inks()[:2] == ({"196"}, {"16"}), inks()
go("fog", "Dark again")
until(lambda: inks()[2] == "", "black again")
go("fog", "Developer")
assert inks()[2] == ""
t.key("e")
t.shows("Lights on.")
t.key("q")
until(lambda: t.state() == found, "the terminal as it was")
c.call("run.abandon", run="fog", held=True)
c.call("run.resume", run="creek")  # an emergency reaches every run

# What it told.
bad = client("test", "screen-fog", "--screen", "laptop", "--distance", "60cm")
assert bad.returncode == 2 and "--passed (all quarters one black) or --fogged" in bad.stderr, bad
bad = client("test", "developer-vigour", "--screen", "laptop", "--distance", "60cm", "--passed")
assert bad.returncode == 2, bad
bad = client("test", "screen-fog", "--screen", "laptop", "--distance", "far", "--passed")
assert bad.returncode != 0 and "distance" in bad.stderr, bad
told = client("test", "screen-fog", "--screen", "laptop", "--distance", "60cm", "--fogged")
assert told.returncode == 0 and "Kept: laptop fogged, 600 mm away. In the dark it stays off." in told.stdout, told
t.type(f"clear; {WETSIDE} watch --red --screen laptop --run creek; echo status $?")
t.shows("status 1", "laptop fogged paper in its test")
told = client("--json", "test", "screen-fog", "--screen", "laptop", "--distance", "60cm", "--passed")
assert json.loads(told.stdout)["is_passed"] is True, told
assert "laptop: passed on " in client("test", "screen-fog").stdout

# Red in the dark.
t.type(f"clear; {WETSIDE} begin --run creek --unheard --watch --red --screen laptop")
t.shows("Camera one, slot one.", "Light: dark. Red view", "now; waiting 0:")
assert inks()[:2] == ({"196"}, {"16"}), inks()
assert not re.search(r"\033\[7m", t.coloured()), "no lit ground"
t.key("q")
t.shows("Heard: That key does nothing here.")
t.resize(12, 40)
t.shows("Camera one, slot one.")
t.key("e")
t.shows("Lights on.")
until(lambda: "231" in inks()[0] or "214" in inks()[0], "the lights are on: no red")
t.key("q")
until(lambda: t.state() == found, "the terminal as it was")

# It goes with the ledger.
out = client("record", "--export")
assert '"kind":"screen-test"' in out.stdout.replace(" ", ""), out.stdout[-2000:]
other = Daemon()
there = other.start()
with open(other.dir + "/all.jsonl", "w") as f:
    f.write(out.stdout)
taken = client("record", "--import", other.dir + "/all.jsonl", socket=other.socket)
assert taken.returncode == 0, taken
row, = there.call("screen.list")["screens"]
assert row["name"] == "laptop" and row["is_passed"] and row["distance"] == "600 mm", row
t.end()
for daemon in (d, other):
    daemon.stop()
    daemon.clean()
print("red only after the test, and in it")
