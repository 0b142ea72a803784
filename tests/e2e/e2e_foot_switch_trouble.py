"""Foot switches that are away, no switches at all, unplugged, broken, flooding or speaking nonsense: told once to the log, the
status and the run, found again by itself, and never a stage skipped."""
from still import *

TANK = "direct-positive-fibre-tank"
d = StillDaemon()
dev = d.dir + "/dev"
os.symlink("nowhere", dev + "/dangling")
os.mkdir(dev + "/folder")
open(dev + "/file", "w").close()
elsewhere = d.dir + "/elsewhere"
os.mkdir(elsewhere)
os.symlink(elsewhere + "/node", dev + "/link")
NAMES = ["null", "zero", "file", "folder", "dangling", "link", "late", "pedals-a"]
PATHS = {"null": "/dev/null", "zero": "/dev/zero", "late": d.dir + "/later/by-id/pedal", "pedals-a": dev + "/pedals"}
config = [{"name": n, "device": PATHS.get(n, f"{dev}/{n}"), "run": "creek" if n == "late" else n} for n in NAMES]
config[-1].update(run="a", key=30)
d.configure({"foot_switches": config})
two = Pedal(dev + "/pedals")
c = d.start()


def switches():
    return {s["name"]: s for s in c.call("inputs.get")["switches"]}


def health(name):
    return switches()[name]["health"]


def log():
    return open(d.dir + "/log").read()


def runs():
    return {r["name"]: r for r in c.call("status.get")["runs"]}


until(lambda: health("pedals-a") == "well", "the one that is there")
for name, why in (("null", "no input device"), ("zero", "no input device"), ("file", "no input device"), ("folder", "no input device"),
                  ("dangling", "not there"), ("link", "not there"), ("late", "not there")):
    s = switches()[name]
    assert s["health"] == "not well" and why in s["text"], s
    assert f"Foot switch {name}: " in log(), log()
# It comes, in a folder that was not there either; by a link whose other end comes.
os.makedirs(os.path.dirname(PATHS["late"]))
late = Pedal(PATHS["late"])
until(lambda: health("late") == "well", "the late one")
linked = Pedal(elsewhere + "/node")
until(lambda: health("link") == "well", "through the link")

# Two pedals on one device are two switches; a key of neither is none.
for name in ("a", "creek"):
    c.call("run.rehearse", recipe=TANK, run=name, rate="1", mine=True)


def acts(name):
    return runs()[name]["number"] % 1000000


def press(pedal, name, code=KEY_B):
    d.wait(3)
    before = switches()[name]["presses"]
    pedal.press(code)
    until(lambda: switches()[name]["presses"] == before + 1, f"a press of {name}")


before = runs()["a"]["doing"]
two.press(31)
press(two, "pedals-a", 30)
assert runs()["a"]["doing"] != before and runs()["creek"]["doing"] == before

# A run hears that its switch has gone, once, and that it is back; nobody else does.
late.unplug()
until(lambda: health("late") == "not well", "unplugged")
until(lambda: runs()["creek"]["cues"][-1]["word"] == "switch", "told")
told = [q for q in runs()["creek"]["cues"] if q["word"] == "switch"]
assert len(told) == 1 and told[0]["tone"] == "ALARM" and "Foot switch late is not heard" in told[0]["text"], told
assert not [q for q in runs()["a"]["cues"] if q["word"] == "switch"]
for _ in range(5):  # while the run is live it is tried again, and nothing is said twice
    d.wait(10)
assert len([q for q in runs()["creek"]["cues"] if q["word"] == "switch"]) == 1
late = Pedal(PATHS["late"])
until(lambda: health("late") == "well", "back")
until(lambda: runs()["creek"]["cues"][-1]["text"] == "Foot switch late is back.", "told")
press(late, "late")

# Bounces and floods. A thousand events in a burst are one press.
d.wait(3)
before, done = switches()["late"]["presses"], acts("creek")
for _ in range(250):
    late.write(event(EV_KEY, KEY_B, 1) + event(EV_SYN, 0, 0) + event(EV_KEY, KEY_B, 0) + event(EV_SYN, 0, 0))
until(lambda: switches()["late"]["presses"] > before, "the burst")
assert switches()["late"]["presses"] == before + 1 and acts("creek") == done + 1
# One that chatters is told, and is deaf until it is quiet.
for i in range(30):
    d.wait(0.06)
    late.press()
    until(lambda: switches()["late"]["presses"] >= min(before + 2 + i, before + 12), "a tap")
chatter = [q for q in runs()["creek"]["cues"] if "chatters" in q["text"]]
assert len(chatter) == 1, runs()["creek"]["cues"]
assert acts("creek") <= done + 2
press(late, "late")

# Half an event is completed by its other half, and forgotten where that doesn't come.
d.wait(3)
before = switches()["late"]["presses"]
down = event(EV_KEY, KEY_B, 1)
late.write(down[:10])
late.write(down[10:])
until(lambda: switches()["late"]["presses"] == before + 1, "two halves")
d.wait(3)
late.write(down[:10])
c.call("status.get")
d.wait(2)
late.press()
until(lambda: switches()["late"]["presses"] == before + 2, "after half an event")
assert health("late") == "well"

# Events of another word size, and noise: told, and not one press of it.
for noise in (struct.pack("IIHHi", 1790000000, 123456, EV_KEY, KEY_B, 1) * 6, bytes(range(256)) * 3, b"\xff" * 240, b"press\n" * 40):
    before = switches()["late"]["presses"]
    late.write(noise)
    s = until(lambda: [s for s in [switches()["late"]] if s["health"] == "not well"], "noise")[0]
    assert "no input events" in s["text"] and s["presses"] == before, s
    late.unplug()
    late = Pedal(PATHS["late"])
    until(lambda: health("late") == "well", "a new one")

# A flood of what might be events: not read for a while, and the daemon answers all the time.
zeros = bytes(24) * 2000
sent = 0
def flooded():
    global sent
    try:
        late.write(zeros)
    except BlockingIOError:
        pass
    return health("late") == "not well"
until(flooded, "a flood")
assert "floods" in switches()["late"]["text"]
while True:  # what is in the pipe by then
    try:
        os.read(late.fd, 65536)
    except BlockingIOError:
        break
d.wait(6)
until(lambda: health("late") == "well", "after the flood")
press(late, "late")

# What was pressed while nobody listened is pressed for nobody.
number = runs()["creek"]["number"]
d.kill()
for _ in range(3):
    late.press()
c = d.start()
until(lambda: health("late") == "well", "after a kill")
assert switches()["late"]["presses"] == 0 and runs()["creek"]["number"] == number, (switches()["late"], runs()["creek"], number)
press(late, "late")
d.process.send_signal(signal.SIGTERM)
assert d.process.wait(20) == 0
d.clean()
print("away, back, no switch, bounces, chatter, half events, noise, floods, a kill")
