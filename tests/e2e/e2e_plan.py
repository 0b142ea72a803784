"""What do I mix? A plan from the shelf, kept and armed; what can't be done is said with ways out; a machine that dies while a
load is armed has mixed all of its baths or none."""
import random
from wet import *

seed = int(os.environ.get("WET_SEED", "7"))
rng = random.Random(seed)
print("seed", seed)
TANK = "direct-positive-fibre-tank"
POINTS = 40

d = Daemon()
c = d.start()


def refused(code, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (method, params, e.args[0])
        return e.args[0]["data"]["want"]
    sys.exit(f"{method} {params} was taken")


def left():
    return {b["name"]: b["volume_ul"] for b in c.call("bottle.list")["items"]}


SIX = dict(recipe=TANK, vessel="creek-tank", pieces=[{"count": 6, "size": "9x12cm"}])
refused(1009, "plan.compute", **SIX)  # no such vessel
c.call("vessel.add", name="creek-tank", kind="closed-tank", least="350 mL", most="600 mL", pieces=4, fill="20 s", drain="20 s")
nothing = c.call("plan.compute", **SIX)
assert not nothing["is_feasible"] and nothing["refusal"]["lines"], nothing
for name, what, volume in (("developer", "print-developer-metol-hydroquinone", "20 L"), ("stop", "stop-bath-citric", "40 L"),
                           ("fixer", "fixer-rapid", "20 L"), ("aid", "washing-aid-sulfite", "40 L")):
    c.call("bottle.add", name=name, what=what, volume=volume)
refused(1009, "plan.compute", **dict(SIX, recipe="no-such"))
refused(1004, "plan.compute", **dict(SIX, pieces=[{"count": 6, "size": "9x12"}]))
refused(-32602, "plan.compute", **dict(SIX, pieces=[]))
refused(-32602, "plan.compute", **dict(SIX, pieces=[{"count": 0, "size": "9x12cm"}]))
refused(1017, "plan.compute", **dict(SIX, recipe="negative-resin-coated-trays"))
refused(1009, "run.arm", plan="no-such")
first, again = c.call("plan.compute", **SIX), c.call("plan.compute", **SIX)
assert first == again and first["is_feasible"] and len(first["loads"]) == 2, first
for bath in first["baths"]:
    assert bath["stock_ul"] + bath["water_ul"] == bath["volume_ul"] and sum(x["stock_ul"] for x in bath["draws"]) == bath["stock_ul"]
warm = c.call("plan.compute", hot="50 C", cold="9 C", stock="12 C", **SIX)
assert any("hot water of 50 C" in line for line in warm["sheet"]), warm["sheet"]
assert any("counted as if in creek-tank: --washer NAME" in line for line in warm["text"]), warm["text"]
c.call("vessel.add", name="basin", kind="washer", least="1.2 L", most="3 L", pieces=2)
washed = c.call("plan.compute", washer="basin", **SIX)
assert {b["volume_ul"] for b in washed["baths"] if b["bath"] == "washing-aid"} == {1200000}, washed["baths"]
assert len(washed["loads"]) == 3 and any("basin takes 2 pieces" in line for line in washed["text"]), washed["text"]
assert any("Washing aid" in line and line.endswith("for basin") for line in washed["sheet"]), washed["sheet"]
refused(1009, "plan.compute", washer="no-such", **SIX)
c.call("safety.acknowledge", name=TANK, person="")

for point in range(POINTS):
    name = f"plan-{point}"
    plan = c.call("plan.compute", keep=name, **SIX)
    taken = {}
    for bath in plan["baths"]:
        if bath["first_load"] == 0:
            for draw in bath["draws"]:
                taken[draw["bottle"]] = taken.get(draw["bottle"], 0) + draw["stock_ul"]
    before = left()
    try:
        c.send("run.arm", plan=name, run=name)
        time.sleep(rng.random() * 0.003)
        d.kill()
    except (OSError, ConnectionError):
        pass
    c = d.start()
    after = left()
    runs = {r["name"] for r in c.call("status.get")["runs"]}
    expected = {b: v - taken.get(b, 0) for b, v in before.items()} if name in runs else before
    assert after == expected, (point, name in runs, before, after, taken)
    if name not in runs:
        c.call("run.arm", plan=name, run=name)
    c.call("run.abandon", run=name)
    for bath in c.call("bath.list")["items"]:
        c.call("bath.discard", name=bath["name"])
d.stop()
said = subprocess.run([f"{BUILD}/daemon/wetsided", "--check", "--ledger", d.ledger], capture_output=True, text=True)
assert said.returncode == 0, said
d.clean()
print(f"{POINTS} kills while a load was armed: all of its baths, or none")
