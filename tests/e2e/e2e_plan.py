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
for name in ("a\x1b[2J", "\u202e", "\ufeff"):  # its baths would be called so
    refused(-32602, "plan.compute", keep=name, **SIX)
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

# Two fixers: the first takes one load of four more; then the second takes its place, and a fresh one stands behind it.
EIGHT = dict(SIX, pieces=[{"count": 8, "size": "9x12cm"}])
BATH = dict(what="fixer-rapid", dilution="1+4", volume="350 mL")
c.call("bath.add", name="fix-a", area="0.9 m2", **BATH)
c.call("bath.add", name="fix-b", area="0 cm2", as_second="0.9 m2", rotations=1, **BATH)
turn = c.call("plan.compute", **EIGHT)
fixers = [b for b in turn["baths"] if "fixer" in b["bath"]]
assert [(b["bath"], b["working"], b["first_load"], b["load_count"], b["was"]) for b in fixers] == [
    ("first-fixer", "fix-a", 0, 1, ""), ("first-fixer", "fix-b", 1, 1, "second-fixer"), ("second-fixer", "fix-b", 0, 1, ""),
    ("second-fixer", "", 1, 1, "")], fixers
assert fixers[1]["area_mm2"] == 43200 and fixers[1]["second_mm2"] == 943200 and fixers[3]["rotations"] == 2, fixers
sheet = turn["sheet"]


def after(line, *lines):
    at = next((i for i, said_ in enumerate(sheet) if said_.startswith(line)), None)
    assert at is not None, (line, sheet)
    for i, want in enumerate(lines):
        assert want in sheet[at + 1 + i], (want, sheet[at:at + 1 + len(lines)])
    return at


first = after("First fixer (bottle three), load 1: 350 mL, 1+4", "take fix-a as it stands; it has done 0.9 m2")
second = after("Second fixer (bottle four), load 1: 350 mL, 1+4", "take fix-b as it stands; it has done 0 cm2 as first, 0.9 m2 as second")
between = after("LOAD 2: 4 pieces")
spent = after("BETWEEN LOAD 1 AND LOAD 2", "the Stop bath is done with", "fix-a is spent: it holds silver; into its marked bottle")
rotated = after("First fixer (bottle three), load 2: fix-b, which was the second", "fix-b takes the first fixer's place")
assert first < second < spent < between < rotated, sheet
after("Second fixer (bottle four), load 2: 350 mL", "water to make 350 mL: 280 mL", "fixer-rapid from fixer, 70 mL")
kept = after("[ ] keep fix-b, closed, named and dated: the first fixer next time too; it bears 0.86 m2 more", "the second fixer")
assert kept > after("AFTERWARDS")
c.call("bath.use", name="fix-a", area="500 cm2")  # between two sessions
sheet = c.call("plan.compute", **SIX)["sheet"]
after("[ ] fix-a is spent: it can't take load 1", "First fixer (bottle three), loads 1 to 2", "take fix-b as it stands, which was the second")
c.call("bath.change", name="fix-b", rotations=4)
sheet = c.call("plan.compute", **SIX)["sheet"]
after("[ ] fix-b was rotated often enough", "First fixer (bottle three), loads 1 to 2", "water to make 350 mL: 280 mL")
for name in ("fix-a", "fix-b"):
    c.call("bath.discard", name=name)
# -- the size of a tray, the strength of a bottle, lots
TRAYS = "negative-resin-coated-trays"


def trays(*sizes, **more):
    return c.call("plan.compute", recipe=TRAYS, vessel="trays", pieces=[dict(count=n, size=s) for n, s in sizes], **more)


c.call("vessel.add", name="trays", kind="trays", least="500 mL", most="1 L", tray="20x25cm", pieces=2, fill="5 s", drain="10 s")
for size in ("30x40cm", "10x45cm"):
    assert "200 mm x 250 mm" in refused(1017, "plan.compute", recipe=TRAYS, vessel="trays", pieces=[{"count": 1, "size": size}])
assert [x["counts"] for x in trays((2, "25x20cm"))["loads"]] == [[1], [1]]
assert [x["counts"] for x in trays((2, "9x12cm"))["loads"]] == [[2]]
c.call("vessel.change", name="trays", piece="20x25cm")  # one over another, as a stack is turned over
assert [x["counts"] for x in trays((2, "25x20cm"))["loads"]] == [[2]]
assert "largest piece of trays" in refused(1017, "plan.compute", recipe=TRAYS, vessel="trays", pieces=[{"count": 1, "size": "21x21cm"}])
c.call("vessel.discard", name="trays")
c.call("vessel.add", name="trays", kind="trays", least="500 mL", most="1 L", tray="20x25cm", pieces=2, fill="5 s", drain="10 s")
mixed = trays((1, "20x25cm"), (3, "9x12cm"))
assert sorted(x["counts"] for x in mixed["loads"]) == [[0, 1], [0, 2], [1, 0]] and "no room for more" in mixed["text"][0], mixed["text"]
c.call("bottle.change", name="stop", strength="15 %")  # the formula makes 1.5 % w/v: 15 g in a litre
strong = trays((1, "9x12cm"))
assert [(b["stock_ul"], b["water_ul"]) for b in strong["baths"] if b["bath"] == "stop"] == [(50000, 450000)], strong["baths"]
assert any("50 mL from stop, 450 mL of water" in line for line in strong["text"]), strong["text"]
c.call("bottle.change", name="stop", strength="1 %")  # too weak to be used undiluted
weak = trays((1, "9x12cm"))["refusal"]["lines"]
assert sum("1.5 % w/v" in line for line in weak) == 1 and "stop is left out" in "".join(weak), weak
c.call("bottle.change", name="stop", strength="stock")
c.call("bottle.change", name="fixer", strength="5 %")
lines = trays((1, "9x12cm"))["refusal"]["lines"]
assert sum("fixer is left out" in line and "--strength stock" in line for line in lines) == 1, lines
c.call("bottle.change", name="fixer", strength="stock", volume="60 mL", lot="1")
c.call("bottle.add", name="fixer-2", what="fixer-rapid", volume="60 mL", lot="2")
apart = trays((2, "9x12cm"))
assert any("--mix-lots" in line for line in apart["refusal"]["lines"]), apart
together = trays((2, "9x12cm"), mix_lots=True, keep="two-lots")
assert [len(b["draws"]) for b in together["baths"] if b["bath"] == "fixer"] == [2], together["baths"]
assert any("lots 1 and 2" in line for line in together["text"]), together["text"]
c.call("safety.acknowledge", name=TRAYS, person="")
c.call("run.arm", plan="two-lots", run="two-lots")
c.call("run.abandon", run="two-lots")
assert any("lots 1 and 2" in e["note"] for e in c.call("bath.history", name="two-lots fixer")["events"])
for bath in c.call("bath.list")["items"]:
    c.call("bath.discard", name=bath["name"])
c.call("bottle.discard", name="fixer-2")
c.call("bottle.add", name="fixer", what="fixer-rapid", volume="20 L")
assert "holds" in refused(1011, "bath.add", name="x2", what="fixer-rapid", volume="1 L", dilution="1+4", **{"from": "developer"})

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
    if point == 0:  # what a live run is still to use is not thrown away under it
        fixer = next(b["name"] for b in c.call("bath.list")["items"] if b["what"] == "fixer-rapid")
        try:
            c.call("bath.discard", name=fixer)
            raise AssertionError("a bath of an armed run was discarded")
        except Refused as e:
            assert "end that run, or abandon it, first" in str(e.args[0]), e.args
    c.call("run.abandon", run=name)
    for bath in c.call("bath.list")["items"]:
        c.call("bath.discard", name=bath["name"])
d.stop()
said = subprocess.run([f"{BUILD}/daemon/wetsided", "--check", "--ledger", d.ledger], capture_output=True, text=True)
assert said.returncode == 0, said
d.clean()
print(f"{POINTS} kills while a load was armed: all of its baths, or none")
