"""A whole session in a closed tank with the screen off, by the foot switch alone, from begin to the end of the last wash. The
clock stands still and is moved from one boundary to the next; the switch is a named pipe of input events."""
from still import *

TANK = "direct-positive-fibre-tank"
d = StillDaemon()
d.configure({"foot_switches": [{"name": "left", "device": d.dir + "/dev/pedal"}]})
pedal = Pedal(d.dir + "/dev/pedal")
c = d.start()


def run():
    return c.call("status.get")["runs"][0]


def presses():
    return c.call("inputs.get")["switches"][0]["presses"]


def press():
    """The next press, when the last go is no guard any more; it was heard."""
    d.wait(3)
    c.call("status.get")
    before = presses()
    pedal.press()
    until(lambda: presses() == before + 1, "the press")
    return run()


s = until(lambda: [s for s in c.call("inputs.get")["switches"] if s["health"] == "well"], "the pipe")[0]
assert s["name"] == "left" and s["run"] == "" and s["presses"] == 0, s
# Without a run it is refused with a sound, and nothing breaks.
pedal.press()
until(lambda: presses() == 1, "a press with no run")
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=2, run="creek")
r = press()
assert r["phase"] == "ready" and "number" in r["cues"][-1]["text"], r  # the sound check is open: no begin, and it is said
for number in range(10):
    try:
        c.call("checklist.answer", run="creek", key="sound", answer="confirmed", number=number)
        break
    except Refused:
        continue
r = press()
assert r["phase"] == "handling", r
# A bounce of begin is no first piece, and it sounds.
d.wait(1)
pedal.press()
until(lambda: run()["cues"][-1]["word"] == "refused", "the bounce")
assert run()["doing"] == r["doing"], run()
doing = [run()["doing"]]
for _ in range(3):  # two cameras, the lid
    doing.append(press()["doing"])
r = run()
assert r["phase"] == "waiting" and len(set(doing)) == 4, doing
# Autorepeat is no press; nor is a bounce, nor is a second press within two seconds anything but a sound.
for _ in range(50):
    pedal.write(event(EV_KEY, KEY_B, 2) + event(EV_SYN, 0, 0))
assert press()["stage_name"] == "Developer"
d.wait(1)
c.call("status.get")
before = presses()
pedal.press()
until(lambda: presses() == before + 1, "a press too soon")
r = run()
assert r["cues"][-1]["word"] == "refused" and r["stage_name"] == "Developer", r
names = ["Developer"]


def boundary():
    """To the next thing the clock does, in steps of the cues, as time passes."""
    r = run()
    d.pass_to(max(d.now, r["aim_us"] * 1000) + 1000000)
    return run()


while names[-1] != "Second fixer":  # straight on: the clock leads
    names.append(boundary()["stage_name"])
assert names == ["Developer", "Rinse", "Stop bath", "First fixer", "Second fixer"], names
r = boundary()
assert r["is_overtime"] or r["next_waits"], r
while not run()["outcome"]:
    r = press()
    if r["outcome"] or r["aim_us"] < 0:
        continue
    if names[-1] != r["stage_name"]:
        names.append(r["stage_name"])
    boundary()
assert names[-3:] == ["First wash", "Washing aid", "Wash"], names
assert run()["outcome"] == "finished", run()
until(lambda: run()["is_stored"], "the disk")
record = c.call("record.get", run=run()["id"])
assert {e["act"] for e in record["events"]} == {"begin", "go"}, record["events"]
print(f"begin to end with {presses() - 1} presses of the foot: {', '.join(names)}")
d.stop()
d.clean()
