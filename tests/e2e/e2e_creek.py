"""The creek session whole, through the client, on time that the test moves: six pieces cut, loaded, metered, noted, planned, run,
judged, and the index for the next; each piece followed from the cut to the judgement."""
import json, subprocess, time
from still import *

d = StillDaemon()
c = d.start()


def client(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    said = p.stdout if status == 0 else p.stderr
    print("$ wetside", " ".join(args), "\n" + said, flush=True)  # ctest -R e2e_creek -V shows the session
    return " ".join(said.split())


def run_of(name):
    return next(r for r in c.call("status.get")["runs"] if r["name"] == name)


def go(name):
    d.wait(2.5)
    assert c.call("run.go", run=name)["done"]


TINS = ["tin-one", "tin-two", "tin-three", "tin-four", "tin-five", "tin-six"]
for tin in TINS:
    client("camera", "add", tin, "--pinhole", "0.3mm", "--distance", "72mm", "--format", "9x12cm")  # f/240
client("camera", "box", "creek-box", "--paper", "creek direct", "--direct-positive", "--safelight", "deep red", "--tested", "4min")
client("note", "--meter", "f/128 index 10")

# -- cut, under a safelight -------------------------------------------------------------------------------------------------------
client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--sheets", "1", "--guide", "--run", "cutting", "--box", "creek-box", "--safelight", "deep red")
c.call("run.begin", run="cutting", unheard=True)
for _ in range(40):
    if run_of("cutting")["outcome"]:
        break
    go("cutting")
d.wait(1)
pieces = until(lambda: c.call("piece.list")["pieces"], "pieces")
assert [p["name"] for p in pieces] == ["1", "2", "3", "4", "5", "6"], pieces
cut_s = pieces[0]["cut_light_s"]
assert 5 <= cut_s <= 100, pieces[0]

# -- load, meter, note --------------------------------------------------------------------------------------------------------------
for i, tin in enumerate(TINS, 1):
    client("camera", "load", tin, "--piece", str(i), "--emulsion", "towards", "--safelight", "10s")
box = c.call("box.list")["boxes"][0]
assert (box["load_s"], box["cut_s"], box["most_s"], box["fresh"]) == (60, cut_s, cut_s + 10, 0), box
assert not box["is_past"] and "your test of it: 4:00" in client("camera", "boxes")
# Metered at index 10 and f/128, 8 s is ordinary bright daylight; common practice, no source.
metered = client("meter", "--bright", "8s f/128 index 10", "--shaded", "60s f/128 index 10", "--camera", "tin-one", "--paper-index", "3", "--direct-positive")
assert "f/240" in metered, metered
given = ["60s", "90s", "120s", "180s", "240s"]
for i, seconds in enumerate(given):
    client("note", str(i + 1), seconds, "bright 8s, shaded 60s", "mud", "bank", "with", f"{i + 2}", "posts,", "overcast")
# The sixth is written down only after the run.

# -- plan, arm: the cameras are named --------------------------------------------------------------------------------------------------
RECIPE = "direct-positive-fibre-tank"
c.call("vessel.add", name="creek-tank", kind="closed-tank", least="350 mL", most="1000 mL", pieces=6, fill="20 s", drain="20 s")
for name, what in (("developer", "print-developer-metol-hydroquinone"), ("stop", "stop-bath-citric"), ("fixer", "fixer-rapid"),
                   ("aid", "washing-aid-sulfite")):
    c.call("bottle.add", name=name, what=what, volume="20 L")
client("safety", RECIPE, "--acknowledge", "--person", "mara")
client("plan", RECIPE, "--vessel", "creek-tank", "--pieces", "6", "--size", "9x12cm", "--keep", "evening")
armed = client("arm", "--plan", "evening", "--from-cameras", "--run", "tank", "--person", "mara", "--yes")
assert "Armed" in armed or "tank" in armed, armed
run = run_of("tank")
c.call("run.reading", run="tank", temperature="20C", bath="developer")
c.call("run.begin", run="tank", unheard=True)
said = [run_of("tank")["doing"]]
for _ in TINS[1:]:
    go("tank")
    said.append(run_of("tank")["doing"])
assert said[0] == "Tin one, slot one." and said[5] == "Tin six, slot six.", said
assert "in the run tank" in client("arm", RECIPE, "--piece", "1", "--run", "other", "--person", "mara", "--yes", status=1)
d.kill()  # what is named comes back with the run
c = d.start()
assert run_of("tank")["doing"] == "Tin six, slot six."


def walk(name):
    """Each bath as long as it is planned; a press where one is waited for."""
    for _ in range(200):
        run = run_of(name)
        if run["outcome"]:
            return
        at = run["aim_us"] * 1000 if run["phase"] in ("pouring", "before least", "between least and aim") else 0
        if at > d.now:
            d.pass_to(at + SECOND // 10)
        else:
            go(name)
    raise AssertionError(run_of(name))


# Power fails over the end of the developer: what nobody could hear is counted, and stands in the record.
while run_of("tank")["phase"] not in ("before least", "between least and aim"):
    go("tank")
developer = run_of("tank")["stage"]
d.wait(1)
d.kill()
d.wait(600)
c = d.start()
walk("tank")
d.wait(1)
until(lambda: all(p["state"] == "processed" for p in c.call("piece.list")["pieces"]), "processed pieces")
assert "never twice" in client("camera", "load", "tin-one", "--piece", "2", status=1)
assert "no camera holds" in client("arm", RECIPE, "--from-cameras", "--person", "mara", "--yes", status=1)
client("note", "6", "150s", "bright 8s, shaded 60s", "the landing stage?", "overcast")

# -- judge ------------------------------------------------------------------------------------------------------------------------------
wrong = client("judge", "1", "0.5", "darker", status=2)
assert "dry or wet" in wrong, wrong
assert "dries darker" in client("judge", "1", "0.5", "darker", "--wet")
first = client("judge", "1", "0.9", "darker", "--dry")
assert "too little exposure: give the next more" in first and "rule of thumb" in first.lower(), first
assert "no interval" in client("judge", "2", "1/2", "darker", "--dry")
client("judge", "3", "right", "--dry")
assert "4 results" in client("judge", "4", "0.6", "stop", "lighter", "--dry")
client("judge", "5", "1", "lighter", "--dry", "--flaw", "air-bells")
last = client("judge", "6", "4", "darker", "--dry", "--flaw", "fogged")
assert "Piece 6 is set aside: a flaw that hides the exposure" in last, last
lesson = c.call("judgement.suggest", paper="creek direct")["suggestion"]
assert lesson["kind"] in ("index", "exponent") and lesson["counted"] == 5 and lesson["index_low"] < lesson["index"] < lesson["index_high"], lesson
judged = c.call("judgement.put", piece="3", judged="right", dry=True)
assert judged["off_mc"] == 0 and judged["used_milli"] is not None and 0 <= judged["aged_milli"] <= 10, judged
# Told late that the developer was mixed two days before: it keeps 24 hours (the recipe's, from memory). Only who judges again has it.
bath = next(b for b in c.call("record.get", run=run["id"])["baths"] if b["what"].startswith("print-developer"))
shelf = next(b for b in c.call("bath.list")["items"] if b["name"] == bath["name"])
assert bath["aged_milli"] <= 10 < shelf["age"]["used_ppm"] // 1000, (bath, shelf)  # older by now than as the stage began
told = time.strftime("%Y-%m-%d", time.gmtime(shelf["since_ms"] / 1000 - 2 * 86400))
client("bath", "change", bath["name"], "--mixed", told)
aged = c.call("judgement.put", piece="3", judged="right", dry=True)
assert 1000 < aged["aged_milli"] < 4000 and aged["used_milli"] == judged["used_milli"], aged
assert f"had used {aged['aged_milli'] // 10} % of its age" in aged["text"] and "Piece 3 is set aside: developed in a bath that was nearly spent or too old." in aged["suggestion"]["lines"], aged
assert aged["suggestion"]["counted"] == 4, aged
assert "metered" in client("judge") or "meter the next" in client("judge")
assert "one of: creek direct" in client("judge", "--paper", "glass", status=1)

# -- look back ----------------------------------------------------------------------------------------------------------------------------
number = str(run["id"])
record = client("record", number)
assert "slot 1: piece 1, tin-one; given 60 s in tin-one" in record and "slot 6: piece 6, tin-six" in record, record
assert "the landing stage" in record and "planned" in record and "of what it bears by then" in record, record
gaps = c.call("record.get", run=run["id"])["gaps"]
assert gaps["count"] == 1 and gaps["us"] >= 590 * 10**6 and gaps["cues_missed"] >= 3, gaps
assert "cues missed" in record, record
for args in (["--camera", "tin-four"], ["--paper", "creek"], ["--find", "landing overcast"], ["--recipe", RECIPE], ["--find", "tank mara"]):
    assert f"{number} " in client("record", *args), args
assert "No finished run" in client("record", "--find", "submarine") and "No finished run" in client("record", "--camera", "tin-nine")
assert "No finished run" in client("record", "--date", "1999-12") and "a day as in" in client("record", "--date", "2026-02-31", status=1)
assert "Unload" in client("record", number, "--with", "1") or "Develop" in client("record", number, "--with", "1")
assert "another run" in client("record", number, "--with", number, status=2)
# On paper: read back by poppler, with the course of the baths.
client("print", "record", number, "--output", d.dir + "/run.pdf")
page = subprocess.run(["pdftotext", "-layout", d.dir + "/run.pdf", "-"], capture_output=True, text=True, check=True).stdout
assert "Run " + number in page and "Planned" in page and "from 20 C" in page and "past its most" in page, page
client("print", "notes", "--output", d.dir + "/notes.pdf")
page = subprocess.run(["pdftotext", "-layout", d.dir + "/notes.pdf", "-"], capture_output=True, text=True, check=True).stdout
assert "6 entries" in page and "posts" in page, page
d.stop()
d.clean()
print(last)
