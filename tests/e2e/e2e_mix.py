"""A solution mixed as a run with the real programs: the note and its acknowledgement, step by step to the label, over kill -9 at any
press once on the shelf; what cannot be, each a clear error; never beside open paper, and no dark beside open powders."""
import json, os, random, subprocess, tempfile, time
from wet import BUILD, SOURCE, Daemon, Refused, until

# A file of one's own whose order would sulphurise: the acid before the sulfite.
home = tempfile.mkdtemp(prefix="wetside-e2e-own.")
os.makedirs(home + "/wetside/recipes/formulas")
bad = json.load(open(SOURCE + "/recipes/formulas/fixer-acid-hardening.json"))
bad["name"] = "creek-fixer"
bad["ingredients"] = [bad["ingredients"][i] for i in (2, 0, 1, 3, 4)]
json.dump(bad, open(home + "/wetside/recipes/formulas/creek-fixer.json", "w"))

d = Daemon(env={"XDG_DATA_HOME": home})
c = d.start()
seed = int.from_bytes(os.urandom(4), "big")
print("seed", seed)
rng = random.Random(seed)


def client(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    return p.stdout if status == 0 else p.stderr


def refused(code, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code, e.args[0]
        return e.args[0]
    raise AssertionError(f"{method} {params} was accepted")


def run_of(name):
    return next((r for r in c.call("status.get")["runs"] if r["name"] == name), None)


def bottles(what=None):
    return [b for b in c.call("bottle.list")["items"] if what in (None, b["what"])]


# -- every formula has its whole note --------------------------------------------------------------------------------------
headings = ["## First: what to wear, what to open", "## What can hurt", "## Never mix it with", "## If it happens", "## Afterwards: what goes where"]
closing = ["- Emergency: 112", "- Poison centre:", "- The safety data sheet outranks this, and local rules decide about waste."]
grave = set()
for name in [f["name"] for f in c.call("formula.list")["formulas"]]:
    got = c.call("safety.get", name=name)
    note = got["note"]
    flat = " ".join(note.split())
    parts = [note.index(h) for h in headings + closing]
    assert parts == sorted(parts), note
    for part, after in zip(parts, parts[1:]):
        assert note[part:after].strip().count("\n- ") >= 1 or part >= parts[5], (name, note[part:after])
    assert "In the eye:" in note and "Swallowed:" in note and "Breathed in" in note and "On the skin:" in note, note
    assert ("Read this once before you mix it for the first time and acknowledge it." in flat) == got["needs_acknowledgement"], note
    assert ".." not in note and "<" not in note and len(note.splitlines()) <= 84 and max(map(len, note.splitlines())) <= 90, note
    assert got["sources"].count("\n    ") > 30 and "from memory" in got["sources"], got["sources"]
    if got["needs_acknowledgement"]:
        grave.add(name)
# Hydroquinone, hydroxide, boric acid, 28 % acetic acid, metabisulfite, silver nitrate, sulfide, permanganate: not the mild ones.
assert grave.isdisjoint({"stop-bath-citric", "fixer-plain", "washing-aid-sulfite", "clearing-bath-sulfite"}), grave
assert {"print-developer-metol-hydroquinone", "ascorbate-phenidone-developer", "fixer-acid-hardening", "stop-bath-acetic", "fixer-acid",
        "residual-thiosulfate-test", "residual-silver-test", "reversal-bleach-permanganate"} <= grave, grave
assert "Hydroquinone, as it goes in: Danger." in c.call("safety.get", name="print-developer-metol-hydroquinone")["note"]

# -- what cannot be --------------------------------------------------------------------------------------------------------
assert "one of the formulas" in client("formula", "creek-water", "--guide", status=1)
assert "make" in client("formula", "fixer-plain", "--guide", "--make", "0mL", status=1)
assert "sodium-thiosulfate-pentahydrate" in client("formula", "fixer-plain", "--guide", "--own", "sodium-thiosulfate-octahydrate", status=1)
why = client("formula", "creek-fixer", "--guide", status=1)
assert "thiosulfate before acid" in why and "milky with sulfur" in why, why
assert "--guide" in client("formula", "fixer-plain", "--bottle", "low-shelf", status=2)
assert "name" in client("formula", "--guide", status=2)
assert "wetside formula fixer-plain --guide" in client("arm", "fixer-plain", status=1)
refused(-32602, "run.mix")
refused(-32602, "run.mix", name="fixer-plain", bottle="one", bath="two")
refused(-32602, "run.mix", name="fixer-plain", bottle="a\x1b[2J")
refused(1009, "run.mix", name="negative-fibre-tank")
refused(1002, "run.mix", name="fixer-plain", bottle="-dash")
refused(-32602, "run.rehearse", recipe="negative-fibre-tank", make="1 L")
refused(-32602, "run.rehearse", recipe="fixer-plain", wet=True, vessel="bucket")
assert c.call("status.get")["live_count"] == 0 and bottles() == []

# -- the note first, and its acknowledgement per person ----------------------------------------------------------------------
why = client("formula", "fixer-acid", "--guide", "--make", "1L", "--person", "keeper", status=1)
assert "wetside safety fixer-acid --acknowledge" in why, why
assert "Acknowledged." in client("safety", "fixer-acid", "--acknowledge", "--person", "keeper")
out = client("formula", "fixer-acid", "--guide", "--make", "1L", "--person", "keeper", "--run", "acid")
assert out.index("what to wear") < out.index("## What can hurt") < out.index("Ready as acid") < out.index("White light, extraction on"), out
refused(1015, "run.mix", name="fixer-acid", person="pupil")
client("abandon", "--run", "acid", "--held")
# Who gives no name is the user of the connection, in both.
refused(1015, "run.mix", name="fixer-acid")
c.call("safety.acknowledge", name="fixer-acid")
assert c.call("run.mix", name="fixer-acid", run="nameless")["done"]
c.call("run.abandon", run="nameless", held=True)
# Who owns the pure acid in place of the thin one has more to read, though the formula's own form is told.
assert refused(1015, "run.mix", name="stop-bath-acetic", own="acetic-acid-glacial")["data"]["where"] == "formula"

# -- step by step, several at once, killed at any press ------------------------------------------------------------------------
runs = {"creek": dict(name="fixer-plain", make="3.7 L"), "tin": dict(name="stop-bath-citric", make="250 mL", own="citric-acid-monohydrate"),
        "box": dict(name="stop-bath-citric", bath="tray-two")}
told = {}
for name, params in runs.items():
    begun = c.call("run.mix", run=name, **params)
    assert begun["done"] and begun["run"]["light"] == "white" and not begun["run"]["is_dark"], begun
    told[name] = [begun["text"]]
assert "White light" in client("where", "--run", "tin") and "tin: White light" in client("status")
kills = 0
while runs:
    round_at = time.monotonic()
    for name in list(runs):
        answer = c.call("run.go", run=name, held=True, token=f"{name}-{len(told[name])}")
        if answer["done"]:
            told[name].append(answer["text"])
    if rng.random() < 0.4 or any("Write today" in t[-1] for t in told.values()):
        for name in runs:  # a press of which nobody hears the answer
            c.send("run.go", run=name, held=True, token=f"{name}-dead-{kills}")
        time.sleep(rng.random() * 0.02)
        d.kill()
        kills += 1
        c = d.start()
    live = {r["name"] for r in c.call("status.get")["runs"] if r["outcome"] == ""}
    runs = {k: v for k, v in runs.items() if k in live}
    assert len(told.get("creek", [])) < 40, told
    time.sleep(max(0, round_at + 2.05 - time.monotonic()))
assert kills > 0
until(lambda: len(bottles()) == 2, "two bottles on the shelf")
assert {(b["name"], b["volume_ul"]) for b in bottles()} == {("fixer-plain", 3700000), ("stop-bath-citric", 250000)}, bottles()
baths = c.call("bath.list")["items"]
assert [(b["name"], b["what"], b["volume_ul"]) for b in baths] == [("tray-two", "stop-bath-citric", 1000000)], baths
assert any("monohydrate, 4.1 g" in t for t in told["tin"]), told["tin"]  # 3.75 g times 210.14 / 192.12
d.kill()
c = d.start()
assert len(bottles()) == 2 and len(c.call("bath.list")["items"]) == 1
assert len(c.call("bottle.history", name="fixer-plain")["events"]) == 1
assert "mixed by run" in client("bottle", "history", "fixer-plain")
refused(1010, "run.mix", name="fixer-plain", bottle="fixer-plain")

# -- a rehearsal is heard and books nothing --------------------------------------------------------------------------------------
out = client("rehearse", "stop-bath-citric", "--make", "3.7L", "--rate", "60")
assert "Citric acid, anhydrous, 55.5 g: stir until all is dissolved." in out and "rehearsal: finished" in out, out
c.call("run.rehearse", recipe="print-developer-metol-hydroquinone", rate="1000", run="fast", own="sodium-carbonate-monohydrate")
until(lambda: run_of("fast")["outcome"] == "finished", "the rehearsal's end", 60)
cues = [cue["word"] for cue in run_of("fast")["cues"]]
assert {"stand-by", "pour-ready", "last-minute"} & set(cues), cues  # so fast most would run into one another
assert len(bottles()) == 2

# -- never beside open paper -------------------------------------------------------------------------------------------------------
c.call("safety.acknowledge", name="direct-positive-fibre-tank")
for name in ("tank", "late"):
    c.call("run.arm", recipe="direct-positive-fibre-tank", run=name)
c.call("run.begin", run="tank", unheard=True)
why = refused(1011, "run.mix", name="stop-bath-citric")["data"]
assert "tank has open paper in this room" in why["want"] and why["where"] == "room", why
c.call("run.abandon", run="tank", held=True)
c.call("run.mix", name="stop-bath-citric", run="powder")
assert "powder mixes in this room" in refused(1011, "run.begin", run="late", unheard=True)["data"]["want"]
c.call("run.abandon", run="powder", held=True)
assert c.call("run.begin", run="late", unheard=True)["done"]

# -- it goes out and in again with the ledger --------------------------------------------------------------------------------------
lines, cursor = [], None
while True:
    page = c.call("record.export", **({"cursor": cursor} if cursor else {}))
    lines += page["lines"]
    cursor = page["next"]
    if not cursor:
        break
finished = next(r for r in c.call("record.list")["runs"] if r["recipe"] == "mix-fixer-plain" and r["outcome"] == "finished")
stages = [s["name"] for s in c.call("record.get", run=finished["id"])["stages"]]
assert stages[0] == "The room" and "Sodium thiosulfate, pentahydrate" in stages and stages[-1] == "Label", stages
c.call("run.abandon", run="late", held=True)
d.stop()
d.clean()
other = Daemon()
c = other.start()
for i in range(0, len(lines), 20):
    c.call("record.import", lines=lines[i:i + 20])
assert [s["name"] for s in c.call("record.get", run=finished["id"])["stages"]] == stages
assert {b["name"] for b in c.call("bottle.list")["items"]} == {"fixer-plain", "stop-bath-citric"}
other.stop()
other.clean()
print("mixed, labelled, on the shelf once;", kills, "kills")
