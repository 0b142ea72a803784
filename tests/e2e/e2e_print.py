"""`print`: each page as PDF and SVG, on A4 and Letter, in both kinds of units, read back by poppler (pdftotext). Times at each
temperature are held to the plain law, reckoned here: t = t20 / Q^((T - 20)/10) (the factor is the recipe's, its source there);
a kept plan's sheet is the one that was told when it was kept, whatever became of the shelf."""
import re
from xml.etree import ElementTree
from wet import *

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
c.call("vessel.add", name="creek-tank", kind="closed-tank", least="350 mL", most="600 mL", pieces=4, fill="20 s", drain="20 s")
for name, what in (("dev", "print-developer-metol-hydroquinone"), ("stop", "stop-bath-citric"), ("fix", "fixer-rapid"), ("aid", "washing-aid-sulfite")):
    c.call("bottle.add", name=name, what=what, volume="1 L")
kept = c.call("plan.compute", recipe=TANK, vessel="creek-tank", pieces=[{"count": 6, "size": "9x12cm"}], keep="evening", hot="50 C", cold="9 C")
assert kept["is_sheet_kept"]
c.call("bottle.discard", name="dev")  # the shelf changes, what was told does not
c.call("run.rehearse", recipe=TANK, pieces=2, rate="1000", run="creek")
until(lambda: c.call("record.list")["runs"], "the end of the rehearsal")


def wetside(*words, status=0, **more):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *words], capture_output=True, text=True, timeout=60, **more)
    assert p.returncode == status, f"{words}: {p.returncode}: {p.stdout} {p.stderr}"
    return p.stdout if status == 0 else p.stderr


def words_of(path):
    """The page's words, and whether all lie between the margins."""
    text = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True).stdout
    width, height = map(float, re.search(r"<page width=\"([\d.]+)\" height=\"([\d.]+)\"", text).groups())
    boxes = re.findall(r"<word xMin=\"([-\d.]+)\" yMin=\"([-\d.]+)\" xMax=\"([-\d.]+)\" yMax=\"([-\d.]+)\">(.*?)</word>", text)
    for x0, y0, x1, y1, word in boxes:
        assert 40 < float(x0) and float(x1) < width - 40 and 38 < float(y0) and float(y1) < height - 38, f"{path}: {word} is cut off"
    return " ".join(b[4] for b in boxes).replace("&amp;", "&").replace("&apos;", "'").replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", '"')


c.call("camera.add", name="tin-one", kind="pinhole", pinhole="0.3 mm", distance="72 mm")
for n in range(2, 7):
    c.call("camera.add", name=f"tin-{n}", kind="pinhole", aperture=f"f/{100 * n}")
for n in range(1, 7):
    c.call("camera.load", name=f"tin-{n}" if n > 1 else "tin-one", piece=str(n), size="9x12cm")
    c.call("note.put", piece=str(n), text=f'{8 + n}s "EV 12" mud bank with {n} posts, overcast')
PAGES = {
    "process": ([TANK], ["Developer", "bottle one, one band", "First fixer", "2:00", "Read the safety note", "Never mix", "In the eye: rinse softly, fifteen minutes, lids open, lenses out. At once to a doctor."]),
    "times": ([TANK], ["Time and temperature", "not at this temperature"]),
    "plan": (["evening"], ["Mixing sheet", "LOAD 1", "AFTERWARDS", "The safety data sheet outranks this"]),
    "record": (["1"], ["Run 1", "rehearsal", "Second fixer"]),
    "card": (["--paper-index", "3", "--direct-positive", "--reciprocity", "power 1.3"], ["Field card", "tin-one f/240", "tin-6", "EV 16", "power 1.3"]),
    "notes": (["--find", "posts"], ["Notebook", "6 entries", "mud bank with 6 posts", "given 9 s"]),
    "cut": (["--sheet", "24x30cm", "--size", "9x12cm"], ["6 pieces", "guard", "Sheet 1", "rest"]),
}
for kind, (words, claims) in PAGES.items():
    for paper in ("A4", "Letter"):
        for units in ("metric", "us"):
            path = f"{d.dir}/{kind}-{paper}-{units}.pdf"
            assert path in wetside("print", kind, *words, "-o", path, "--paper", paper, "--units", units)
            text = words_of(path)
            for claim in claims:
                assert claim in text, f"{claim!r} is not on {path}: {text[:300]}"
    svg = f"{d.dir}/{kind}.svg"
    wetside("print", kind, *words, f"--output={svg}")
    text = " ".join("".join(e.itertext()) for e in ElementTree.parse(svg).iter("{http://www.w3.org/2000/svg}text"))
    assert claims[0] in text, text[:300]

for paper in ("A4", "Letter"):
    info = subprocess.run(["pdfinfo", f"{d.dir}/process-{paper}-metric.pdf"], capture_output=True, text=True, check=True).stdout
    assert re.search(r"Pages:\s+2\b", info), info  # the card, and its note

# The times on the page, against the law.
for units, shown, celsius in (("metric", "C", lambda t: t), ("us", "F", lambda t: (t - 32) / 1.8)):
    rows = re.findall(rf"\b(\d+) {shown} (\d+):(\d\d)\b", words_of(f"{d.dir}/times-A4-{units}.pdf"))
    assert len(rows) >= 12, rows
    for degrees, minutes, seconds in rows:
        told, law = int(minutes) * 60 + int(seconds), 120 / 1.92 ** ((celsius(float(degrees)) - 20) / 10)
        assert abs(told - law) <= 0.51, (degrees, shown, told, law)
refused = c.call("recipe.times", name=TANK)["stages"][0]
assert refused["name"] == "Developer" and min(p["degrees"] for p in refused["points"]) == 13 and max(p["degrees"] for p in refused["points"]) == 27

# The card's seconds, against t = (N^2 / 2^EV) 100 / S and t^1.3 over a second, as near as a person can count.
def seconds(text):
    if text.endswith(" s"):
        return float(text[:-2])
    parts = [float(x) for x in text.split(":")]
    return sum(x * 60 ** i for i, x in enumerate(reversed(parts)))


card = c.call("meter.card", paper_index="3", direct_positive=True, reciprocity="power 1.3")
assert len(card["columns"]) == 7 and len(card["rows"]) == 13
for row in card["rows"]:
    metered = 240**2 / 2 ** float(row[0][3:]) * 100 / 3
    given = metered**1.3 if metered > 1 else metered
    if row[1] != "-":
        assert abs(seconds(row[1]) - given) <= max(0.5, given * 0.03), (row, given)
    else:
        assert given < 0.5 or given > 80000, (row, given)
shown = c.call("meter.card", paper_index="10", negative=True, index="10", aperture="f/128", cameras=["tin-2"])
assert shown["columns"][0] == "Meter at f/128, index 10" and len(shown["columns"]) == 2
# Common practice, no source: at index 10 and f/128, 8 s is ordinary bright daylight, about EV 14.3 at ISO 100.
day = [row[0] for row in shown["rows"]]
assert seconds(day[10]) > 8 > seconds(day[11]), day
# 12 point or larger: no word on the card is lower than letters of that size.
small = subprocess.run(["pdftotext", "-bbox", f"{d.dir}/card-A4-metric.pdf", "-"], capture_output=True, text=True).stdout
heights = [float(b) - float(a) for a, b, w in re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(.*?)<', small) if w.startswith(("EV", "tin"))]
assert heights and min(heights) > 12, heights

# What was kept is what was told.
sheet = words_of(f"{d.dir}/plan-A4-metric.pdf")
for line in kept["sheet"]:
    for word in line.replace("[ ]", "").split():
        assert word in sheet, f"{word!r} of {line!r} is not on the sheet"
again = c.call("plan.get", name="evening")
assert again["sheet"] == kept["sheet"] and again["text"] == kept["text"]
c.call("plan.compute", recipe=TANK, vessel="creek-tank", pieces=[{"count": 1, "size": "9x12cm"}])  # refused now, and no matter

# US measures stand behind the metric ones. Outside judge: GNU units, live, on each pair that a page shows.
def gnu(value, unit, to):
    out = subprocess.run(["units", "-t", f"{value} {unit}" if unit != "tempC" else f"tempC({value})", to], capture_output=True, text=True, check=True)
    return float(out.stdout)


TO = {"mL": ("mL", "usfloz", "US fl oz"), "L": ("L", "usquart", "US qt"), "C": ("tempC", "tempF", "F"), "cm": ("cm", "inch", "in"), "g": ("g", "oz", "oz av")}
lines = ["350 mL, 1+2, at 20 C", "hot water of 50 C: 86 mL: 2 x 100 mL in tall", "9 x 12 cm", "15 g in a litre", "1 L of it; 3 C apart", "0.4 C a minute",
         "H319 and 1+4", "4:30 min"]
told = c.call("units.us", lines=lines)["lines"]
assert told[0] == "350 mL (11.83 US fl oz), 1+2, at 20 C (68 F)" and told[2] == "9 x 12 cm (3.54 x 4.72 in)", told
assert c.call("units.us", lines=["9" * 15 + " L"])["lines"] == ["9" * 15 + " L"]  # more than can be told
assert told[5:] == lines[5:] and "apart" in told[4] and "(37.4 F)" not in told[4], told
found = re.findall(r"([\d.]+) (mL|L|C|cm|g) \(([\d.]+) (US fl oz|US qt|F|in|oz av)\)", " ".join(told) + words_of(f"{d.dir}/plan-A4-us.pdf"))
assert len(found) > 20 and {f[1] for f in found} >= {"mL", "C"}, found
for value, unit, us, shown in found:
    assert TO[unit][2] == shown and abs(gnu(value, *TO[unit][:2]) - float(us)) <= 0.051, (value, unit, us, shown)
assert "(" not in re.sub(r"\(bottle|\(water|\(washer", "", words_of(f"{d.dir}/cut-A4-metric.pdf").split("Before")[0])

# What can't be printed is told, and leaves no file.
out = f"{d.dir}/no.pdf"
for words, claim in ((["times", "nothing", "-o", out], "recipes"), (["plan", "nothing", "-o", out], "plans"), (["record", "99", "-o", out], "number of a run"),
                     (["record", "x", "-o", out], "number"), (["cut", "--sheet", "1x1cm", "--size", "9x12cm", "-o", out], "size"),
                     (["what", "-o", out], "process"), (["card", "-o", out], "paper_index"),
                     (["notes", "--find", "whale", "-o", out], "no such entry"),
                     (["card", "--paper-index", "3", "--camera", "none", "-o", out], "cameras"), (["process", TANK], "--output"), (["process", TANK, "-o", f"{d.dir}/x.png"], ".svg"),
                     (["process", TANK, "-o", out, "--paper", "A5"], "Letter"), (["process", TANK, "-o", out, "--units", "feet"], "metric"),
                     (["process", TANK, "-o", f"{d.dir}/none/x.pdf"], "x.pdf")):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "print", *words], capture_output=True, text=True, timeout=60)
    assert p.returncode in (1, 2) and claim in p.stderr, (words, p.returncode, p.stderr)
    assert not os.path.exists(out), words
d.stop()
d.clean()
