"""The mixing sheet: parts sum to the volume, what rounding does is told of all parts, taps and bottles and the room, the order
of work. Outside: strengths by plain fractions, temperatures by Debian's python3-iapws (IAPWS-95) live."""
import re
from wet import *

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
c.call("vessel.add", name="creek-tank", kind="closed-tank", least="350 mL", most="600 mL", pieces=4, fill="20 s", drain="20 s")
for name, what in (("developer", "print-developer-metol-hydroquinone"), ("stop", "stop-bath-citric"), ("fixer", "fixer-rapid"),
                   ("aid", "washing-aid-sulfite")):
    c.call("bottle.add", name=name, what=what, volume="5 L")


def plan(pieces=2, **params):
    return c.call("plan.compute", recipe=TANK, vessel="creek-tank", pieces=[{"count": pieces, "size": "9x12cm"}], **params)


def refused(key, **params):
    try:
        plan(**params)
    except Refused as e:
        assert key in str(e.args[0]["data"]) and e.args[0]["data"]["want"], e.args[0]
    else:
        sys.exit(f"{params} was taken")


def baths(sheet):
    """{name: its lines}"""
    found, name = {}, None
    for line in sheet:
        head = re.match(r"([A-Z][\w ]+) \(", line)
        if head:
            name = head[1]
            found[name] = [line]
        elif name and (line.startswith("[ ]") or line.startswith("    ")):
            found[name].append(line)
        else:
            name = None
    return found


def poured(lines):
    """[mL] of the lines that pour."""
    return [float(re.search(r"([\d.]+) mL", re.sub(r" to make [\d.]+ mL", "", line))[1]) for line in lines
            if line.startswith("[ ]") and " mL" in line]


def all_sum(sheet):
    for name, lines in baths(sheet).items():
        volume = float(re.search(r"([\d.]+) mL", lines[0])[1])
        if poured(lines):
            assert abs(sum(poured(lines)) - volume) < 0.011, (name, lines)


IAPWS = """
from iapws import IAPWS95
import sys
def w(c): return IAPWS95(T=c + 273.15, P=0.101325)
parts = [tuple(map(float, a.split(","))) for a in sys.argv[1:]]
m = [(ml * w(c).rho, w(c).h) for ml, c in parts]
h = sum(a * b for a, b in m) / sum(a for a, _ in m)
low, high = 0.1, 90.0
while high - low > 1e-6:
    mid = (low + high) / 2
    low, high = (mid, high) if w(mid).h < h else (low, mid)
print(low)
"""


def mixed(*parts):
    said = subprocess.run(["/usr/bin/python3", "-c", IAPWS, *(f"{ml},{t}" for ml, t in parts)], capture_output=True, text=True)
    assert said.returncode == 0, said.stderr
    return float(said.stdout)


# Without a graduate: to the hundredth of a millilitre, and they sum.
all_sum(plan()["sheet"])

# A jug of 500 mL, marked each 50: 70 of fixer are 50, and water makes up the 350. 50/350 against 1/5 is 28.6 % weaker.
c.call("graduate.add", name="jug", holds="500 mL", marks="50 mL")
sheet = plan(hot="50 C", cold="9 C", stock="12 C")["sheet"]
all_sum(sheet)
fixer = baths(sheet)["First fixer"]
hot, cold, stock = poured(fixer)
assert (hot, cold, stock) == (100, 200, 50), fixer
off = (1 - stock / (hot + cold + stock) / 0.2) * 100
assert any(f"{off:.1f} % weaker" in line for line in fixer) and f"{off:.1f}" == "28.6", (off, fixer)
comes = mixed((hot, 50), (cold, 9), (stock, 12))
told = [float(re.search(r"comes to ([\d.]+) C, not 20 C", line)[1]) for line in fixer if "comes to" in line]
assert len(told) == 1 and abs(told[0] - comes) < 0.06, (comes, fixer)
c.call("graduate.discard", name="jug")

# 100 mL marked each 1 and 10 mL marked each 0.2: the developer's lines summed to 351 of 350.
c.call("graduate.add", name="tall", holds="100 mL", marks="1 mL")
c.call("graduate.add", name="small", holds="10 mL", marks="0.2 mL")
sheet = plan(hot="50 C", cold="9 C", stock="12 C")["sheet"]
all_sum(sheet)
assert sum(poured(baths(sheet)["Developer"])) == 350 and len(poured(baths(sheet)["Developer"])) == 3, sheet
assert not any("comes to" in line or "than wanted" in line for line in sheet), sheet

# Whence the stock's temperature: told, or the room, or the cold tap; said where it was not told.
assert not any("taken to be" in line for line in sheet)
assert any("as warm as the cold tap, 9 C" in line for line in plan(hot="50 C", cold="9 C")["sheet"])
by_room = plan(hot="50 C", cold="9 C", room="16 C")["sheet"]
assert any("as warm as the room, 16 C" in line for line in by_room), by_room
developer = baths(by_room)["Developer"]
hot, cold, stock = poured(developer)
assert abs(mixed((hot, 50), (cold, 9), (stock, 16)) - 20) < 0.5, developer
assert plan(hot="50 C", cold="9 C", stock="16 C")["sheet"] == [line for line in by_room if "taken to be" not in line]

# A bath that is not diluted: its bottle is stood in warmer water, and the words that tell how long are understood.
stop = baths(sheet)["Stop bath"]
assert any("stand it in water of 30 C until it reads 20 C" in line for line in stop), stop
command = next(line for line in stop if "wetside blend" in line).split("wetside ")[1].replace("reads T", "reads 14C").split()
said = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *command], capture_output=True, text=True)
assert said.returncode == 0 and "it has 20 C after" in said.stdout, said
warm = baths(plan(hot="50 C", cold="9 C", stock="28 C")["sheet"])["Stop bath"]
assert any("stand it in water of 10 C until it reads 20 C" in line for line in warm), warm

# Out of reach: all hot, what it comes to, what would help.
cool = plan(hot="18 C", cold="9 C", stock="12 C")["sheet"]
all_sum(cool)
developer = baths(cool)["Developer"]
assert len(poured(developer)) == 2 and "hot water of 18 C" in developer[1], developer
comes = mixed((poured(developer)[0], 18), (poured(developer)[1], 12))
said = next(line for line in developer if "out of reach" in line)
assert abs(float(re.search(r"comes to ([\d.]+) C", said)[1]) - comes) < 0.06 and "needs hot water at" in said, (comes, said)
assert any("no tap is warm enough" in line for line in cool), cool

# The rinse has the developer's temperature.
rinse = baths(sheet)["Rinse water"]
assert "at 20 C" in rinse[0] and len(poured(rinse)) == 2 and abs(mixed((poured(rinse)[0], 50), (poured(rinse)[1], 9)) - 20) < 0.5, rinse

# Taps that can't be.
refused("cold", hot="50 C")
refused("hot", cold="9 C")
refused("hot", hot="9 C", cold="50 C")
refused("hot", hot="120 C", cold="9 C")
refused("room", room="-4 C")


# A wash in cold water takes longer, and is counted: 25 min of washes, 2.2 times (heat.h's factor for washing at 9 C).
def minutes(result):
    h, m = re.search(r"about (?:(\d+):)?(\d+):\d\d in all", "\n".join(result["text"])).groups()
    return int(h or 0) * 60 + int(m)


usual, cold = minutes(plan()), minutes(plan(hot="50 C", cold="9 C"))
factor = c.call("wash.compute", base="fibre-double", pieces=2, size="9x12cm", water="9 C")["slower"]
assert factor > 2 and abs(cold - usual - 25 * (factor - 1)) <= 1, (usual, cold, factor)
assert minutes(plan(hot="50 C", cold="19 C")) == usual

# Order of work: between loads what is spent goes, the tank is dried, the next baths are mixed, then hands and a reading.
sheet = plan(pieces=6)["sheet"]
between = sheet[sheet.index("BETWEEN LOAD 1 AND LOAD 2"):sheet.index("AFTERWARDS")]


def at(part):
    return next(i for i, line in enumerate(between) if part in line)


assert at("Stop bath is done with") < at("closed cameras") < at("dry tank") < at("stop-bath-citric from stop") < at("wash hands") < at("new reading")
after = sheet[sheet.index("AFTERWARDS"):]
assert len(set(after)) == len(after) and sum("the Stop bath is" in line for line in after) == 1, after

# Cautions without the note's marks.
cautions = plan()["cautions"]
assert len(cautions) > 8 and not any("##" in line or re.search(r"\[\d|from memory\]", line) for line in cautions), cautions
assert all(line[0].isupper() or line.startswith("- ") for line in cautions), cautions
d.stop()
d.clean()
print("the sheet's parts sum; its temperatures are those of IAPWS-95")
