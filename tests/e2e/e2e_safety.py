#!/usr/bin/env python3
"""What is known of gases and of the room, as people ask for it; and what is asked before the light goes out."""
import json, os, subprocess
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

# What is asked before the light goes out are the lines of those rules, in their order.
asked = [rule["checklist"] for rule in practice["rules"] if "checklist" in rule]
armed = c.call("run.arm", recipe="test-clearing-time", person="Mia")
assert armed["checklist"] == asked, armed
for about in ("Fan on", "Gloves", "Eye rinse", "Floor dry", "Mains away", "door opens from inside", "No powders",
              "pouring order", "emergency key", "light on first"):
    assert sum(about in line for line in asked) == 1, (about, asked)
d.stop()
d.clean()
print("told")
