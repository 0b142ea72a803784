#!/usr/bin/env python3
"""What is known of gases and of the room, as people ask for it; and what is asked before the light goes out."""
import json, os, shutil, subprocess, tempfile
import wet

d = wet.Daemon()
c = d.start()


def run(*args, status=0):
    done = subprocess.run([wet.BUILD + "/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True)
    assert done.returncode == status, (args, done)
    return done.stdout + done.stderr


# A gas by its key, name, formula and CAS number: limits, the smell and where it fails, who forms it, the closing lines.
for name in ("hydrogen-sulfide", "hydrogen sulfide", "H2S", "7783-06-4"):
    text = run("safety", name)
    for part in ("rotten eggs", "numbs the nose", "NIOSH REL: C 10 ppm", "IDLH: 100 ppm", "H330 Fatal if inhaled", "Sulfide toner and acid"):
        assert part in text, (name, part, text)
    assert text.rstrip().split("\n")[-3].startswith("Emergency: 112"), text
assert "No limit in air is known" in run("safety", "chloramine")
both = run("safety", "ammonia")  # the solution and the gas
assert "1336-21-6" in both and "7664-41-7" in both and both.count("Emergency: ") == 1, both
assert "creek mist" in run("safety", "creek mist", status=1)

# The room: each rule once, by topic, and where it is from.
with open(os.path.join(wet.SOURCE, "safety", "practice.json")) as file:
    practice = json.load(file)
room, sources = run("safety", "room"), run("safety", "room", "--sources")
for rule in practice["rules"]:
    assert room.count("- " + rule["text"] + "\n") == 1, rule
    assert f"\n{rule['key']}: " in "\n" + sources, rule
assert "nobody trained in first aid has read them yet" in room
assert c.call("safety.get", name="room")["needs_acknowledgement"] is False

# A recipe's note is a page; what it rests on stands behind it. It speaks of the mix at its strength.
page = run("safety", "reversal-resin-coated-trays")
assert len(page.rstrip("\n").split("\n")) <= 66, page
for part in ("As used, 1+1: Contains metol, hydroquinone.", "Bleach, stop bath with developers, clearing bath, fixer: sulfur dioxide.",
             "Sulfur dioxide smells like a burnt match", "[H360FD]"):
    assert part in page, (part, page)
assert "hydroquinone" not in run("safety", "test-clearing-time")
behind = run("safety", "reversal-resin-coated-trays", "--sources")
assert "M. McCann, Photographic Processing Hazards" in behind and "common practice, no source" in behind, behind

# What is asked before the light goes out are the lines of those rules, in their order.
asked = [rule["checklist"] for rule in sorted((r for r in practice["rules"] if "checklist" in r), key=lambda r: r["asked"])]
armed = c.call("run.arm", recipe="test-clearing-time", person="Mia")
assert armed["checklist"] == asked, armed
for about in ("Fan on", "Gloves", "Eye rinse", "Floor dry", "Mains away", "door opens from inside", "No powders",
              "pouring order", "emergency key", "light on first"):
    assert sum(about in line for line in asked) == 1, (about, asked)
# One acknowledgement a person and version, for what is hazardous only; nobody's name stands for another's.
TANK = "direct-positive-fibre-tank"


def refused(code, method, **params):
    try:
        c.call(method, **params)
    except wet.Refused as error:
        assert error.args[0]["code"] == code, error
        return error.args[0]
    raise AssertionError((method, params))


c.call("run.abandon", run=armed["run"]["name"], held=True, number=armed["run"]["number"], token="a")  # nobody was asked for that one
asked_first = refused(1015, "run.arm", recipe=TANK, person="Mia")
assert f"wetside safety {TANK} --acknowledge" in str(asked_first), asked_first
assert "Acknowledged." in run("safety", TANK, "--acknowledge", "--person", "Mia")
mine = c.call("run.arm", recipe=TANK, person="Mia")["run"]
c.call("run.abandon", run=mine["name"], held=True, number=mine["number"], token="b")
refused(1015, "run.arm", recipe=TANK, person="Ole")
refused(1015, "run.arm", recipe=TANK)  # who gives no name is the user of the connection
c.call("safety.acknowledge", name=TANK)
mine = c.call("run.arm", recipe=TANK, run="evening")["run"]
refused(1015, "run.arm", recipe=TANK, person="Ole")
names = {row["person"] for row in map(json.loads, c.call("record.export")["lines"]) if row.get("row") == "acknowledgement"}
assert names == {"Mia", f"uid {os.getuid()}"}, names
# It is never asked for in the dark.
c.call("run.begin", run="evening", unheard=True, number=mine["number"], token="c")
assert "in the light" in str(refused(1011, "safety.acknowledge", name=TANK, person="Ole"))
d.stop()

# A recipe that changed is read again, a rehearsal never.
old, wet.SOURCE = wet.SOURCE, tempfile.mkdtemp(prefix="wetside-e2e.")
for folder in ("recipes", "safety"):
    shutil.copytree(os.path.join(old, folder), os.path.join(wet.SOURCE, folder))
for file, member in (("recipes", "version"), ("safety", "recipe_version")):
    path = os.path.join(wet.SOURCE, file, TANK + ".json")
    with open(path) as opened:
        data = json.load(opened)
    data[member] += 1
    with open(path, "w") as opened:
        json.dump(data, opened)
d.clean()
d = wet.Daemon()
c = d.start()
c.call("safety.acknowledge", name="negative-fibre-tank", person="Mia")
c.call("safety.acknowledge", name=TANK, person="Mia")
c.call("run.arm", recipe=TANK, person="Mia", run="again")
d.stop()
shutil.rmtree(wet.SOURCE)
wet.SOURCE = old
c = d.start()  # the version before: it was never read
refused(1015, "run.arm", recipe=TANK, person="Mia")
c.call("run.arm", recipe="negative-fibre-tank", person="Mia")
d.stop()
d.clean()
print("told")
