"""The status answers however much there is to tell: many runs of long names that JSON must escape, with much behind them. And the
live ones come first, so that a quiet one is not crowded out by those that ended."""
from wet import Daemon, Refused

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, run="quiet")
for i in range(30):
    name = '"\\' * 30 + f"{i:03}"
    c.call("run.rehearse", recipe=TANK, run=name, rate="1", mine=True)
    for _ in range(20):  # each a line in the log of cues, the longest the timer says
        try:
            c.call("run.reading", run=name, temperature="68 C", bath="developer")
        except Refused:
            pass
assert len(c.call("status.get")["runs"]) >= 10
for i in range(30):
    c.call("run.abandon", run='"\\' * 30 + f"{i:03}", held=True)
runs = c.call("status.get")["runs"]
assert runs[0]["name"] == "quiet" and len(runs) >= 10, [run["name"] for run in runs]
for key in ("run", "room", "vessel", "person"):
    for bad in ("\x01", "\x1b[2J", "a\nb", "\u202eab"):
        try:
            c.call("run.arm", recipe=TANK, **{key: bad})
            raise AssertionError((key, bad))
        except Refused as e:
            assert e.args[0]["code"] == -32602 and "control" in e.args[0]["data"]["want"], e
d.stop()
d.clean()
print("the status answers")
