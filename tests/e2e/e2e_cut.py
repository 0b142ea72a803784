"""Pieces out of sheets, through the real socket and client: what is told and drawn, what can't be asked, and a run that leads
through it: dark until the boxes are shut, killed in between, nothing skipped."""
import json, subprocess
from wet import BUILD, Daemon, Refused, until

d = Daemon()
c = d.start()


def client(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    return p.stdout if status == 0 else p.stderr


def refused(code, method="cut.compute", **params):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code, e.args[0]
        return e.args[0]["data"]
    raise AssertionError(f"{method} {params} was accepted")


# -- the creek survey's sheets ----------------------------------------------------------------------------------------------
NINE = [{"size": "9x12cm"}]
creek = c.call("cut.compute", sheet="24x30cm", pieces=NINE, sheets=2)
assert (creek["pieces"], creek["sheets"], creek["cuts"], creek["proven"], creek["keys"]) == (12, 2, 12, 3, 3), creek
assert [s["length_um"] for s in creek["stops"]] == [120000, 90000], creek["stops"]
layout = creek["layouts"][0]
assert layout["times"] == 2 and len(layout["steps"]) == 6, layout
# The drawing's data: pieces lie within the sheet and apart, each cut is a line from edge to edge of what is on the table.
parts = layout["parts"]
pieces = [p["um"] for p in parts if p["is"] == "piece"]
assert parts[0]["um"] == [0, 0, 240000, 300000] and sorted(p["number"] for p in parts if p["is"] == "piece") == [1, 2, 3, 4, 5, 6]
assert all(sorted(p[2:]) == [90000, 120000] and p[0] + p[2] <= 240000 and p[1] + p[3] <= 300000 for p in pieces), pieces
for i, a in enumerate(pieces):
    for b in pieces[:i]:
        assert a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0] or a[1] + a[3] <= b[1] or b[1] + b[3] <= a[1], (a, b)
for step in layout["steps"]:
    x, y, w, h = parts[step["table"]]["um"]
    x1, y1, x2, y2 = step["line_um"]
    assert (x1 == x2 and [y1, y2] == [y, y + h] and x < x1 < x + w) or (y1 == y2 and [x1, x2] == [x, x + w] and y < y1 < y + h), step
    assert creek["stops"][step["stop"]]["length_um"] in parts[step["stays"]]["um"][2:], step
text = client("cut", "--sheet", "24x30cm", "--size", "9x12cm")
assert text.startswith("6 pieces of 9 x 12 cm from 1 sheet of 24 x 30 cm; 6 cuts, 2 settings of the stop.\nProven: "), text
order = ["Before the light goes out:", "never an open blade", "Pupils cut with a teacher", "Stop 1: 12 cm", "Stop 2: 9 cm", "Sheet 1 of 1:", "+----", " 6. "]
places = [text.index(word) for word in order]
assert places == sorted(places) and text.isascii(), text

# -- as people type it ------------------------------------------------------------------------------------------------------
assert c.call("cut.compute", sheet="8 1/8 x 5 in", pieces=[{"size": "4 1/16 x 5 in"}])["pieces"] == 2
inches = client("cut", "--sheet", "16x20in", "--size", "4x6in")
assert inches.startswith("13 pieces of 4 x 6 in") and "Stop 1: 6 in" in inches, inches
inside = client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--inside", "--under", "2mm", "--sheets", "2")
assert inside.startswith("12 pieces of 8.8 x 11.8 cm from 2 sheets"), inside
assert "1/16 in smaller" in client("cut", "--sheet", "8x10in", "--size", "4x5in", "--inside")
mixed = c.call("cut.compute", sheet="24x30cm", pieces=[{"size": "9x12cm", "count": 10}, {"size": "6x9cm", "count": 4}], first=7, base="rc")
assert (mixed["sheets"], mixed["pieces"], mixed["rest_mm2"], mixed["proven"]) == (2, 14, 12600, 4), mixed
numbers = [p["number"] for layout in mixed["layouts"] for p in layout["parts"] if p["is"] == "piece"]
assert sorted(numbers) == list(range(7, 21)), numbers
marks = {p["number"]: p["mark"] for layout in mixed["layouts"] for p in layout["parts"] if p["is"] == "piece"}
assert marks[7] == "nicks long 2, short 1" and len(set(marks.values())) == 14, marks
assert "Clip one corner" in " ".join(mixed["before_dark"])
kerf = c.call("cut.compute", sheet="24.3 x 10 cm", pieces=[{"size": "6x10cm"}], kerf="1 mm")
assert kerf["pieces"] == 4 and c.call("cut.compute", sheet="24 x 10 cm", pieces=[{"size": "6x10cm"}], kerf="1 mm")["pieces"] == 3
margin = c.call("cut.compute", sheet="25x31cm", pieces=NINE, margin="5mm")
assert margin["pieces"] == 6 and margin["cuts"] == 10 and any(s["is_margin"] for s in margin["stops"]), margin
# A reply that would be too long is told layout by layout.
many = client("cut", "--sheet", "50x60cm", "--size", "35x45mm", "--pieces", "150", "--size", "9x12cm", "--pieces", "15")
assert many.count("cuts by their order") == many.count("\nSheet"), many[:600]

# -- what cannot be ---------------------------------------------------------------------------------------------------------
assert "larger than the sheet" in refused(1003, sheet="8x10in", pieces=[{"size": "30x40cm"}])["want"]
assert refused(1003, sheet="0x10cm", pieces=NINE)["where"] == "sheet"
assert refused(1004, sheet="24x30", pieces=NINE)["where"] == "sheet"
assert refused(1005, sheet="24x30 kg", pieces=NINE)["where"] == "sheet"
assert refused(1003, sheet="24x30cm", pieces=NINE, kerf="-1 mm")["where"] == "kerf"
assert refused(1003, sheet="24x30cm", pieces=NINE, margin="12 cm")["where"] == "margin"
assert refused(1008, sheet="24x30cm", pieces=[{"size": "1x1mm"}])["where"] == "size"
for bad in (None, [], [{"size": "9x12cm", "count": 0}], [{"count": 3}], [{"size": "9x12cm", "count": 10**9}], NINE * 5, "9x12cm"):
    refused(-32602, sheet="24x30cm", pieces=bad)
refused(-32602, pieces=NINE)
refused(-32602, sheet="24x30cm", pieces=NINE, sheets=0)
refused(-32602, sheet="24x30cm", pieces=NINE, base="plastic")
refused(-32602, sheet="24x30cm", pieces=NINE, under="1 mm")
assert "2 sheets" in client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--pieces", "7", "--sheets", "1", status=1)
assert "in pairs" in client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--size", "6x9cm", status=2)
assert "--sheet is missing" in client("cut", "--size", "9x12cm", status=2)
assert "goes with --guide" in client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--box", "one", status=2)
assert "7 sheets at a time" in client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--sheets", "20", "--guide", status=1)
assert "Example: wetside cut" in client("cut", "--help")
assert json.loads(client("cut", "--sheet", "24x30cm", "--size", "9x12cm", "--json"))["pieces"] == 6

# -- in the dark, one press a cut -------------------------------------------------------------------------------------------
told = client("cut", "--sheet", "18x12cm", "--size", "9x12cm", "--guide", "--run", "creek", "--box", "box one")
assert "2 pieces of 9 x 12 cm" in told and "Armed as creek." in told and "wetside begin --run creek --heard N" in told, told
assert c.call("status.get")["runs"][0]["light"] == "white"
assert refused(1016, "run.begin", run="creek", heard=9)  # the sound check is open
c.call("run.begin", run="creek", unheard=True)


def now():
    run = next(r for r in c.call("status.get")["runs"] if r["name"] == "creek")
    return run["doing"], run["is_dark"], run["outcome"]


seen = []
while now()[2] == "":
    doing, is_dark, _ = now()
    seen.append((doing, is_dark))
    assert len(seen) < 20, seen
    if "The sheet, stop" in doing:
        d.kill()
        c = d.start()
        assert now()[0] == doing  # as it was
    c.press("run.go", run="creek")
says = [s for s, _ in seen]
assert "guarded trimmer only" in says[0] and "Emulsion side up" in says[1] and "paper box shut" in says[1], says
assert [s for s in says if ", stop " in s] == [step["text"] for step in c.call("cut.compute", sheet="18x12cm", pieces=NINE, first=1)["layouts"][0]["steps"]]
assert "Paper box shut, piece box shut." in says[-2] and "Lights may come on" in says[-1], says
assert [dark for _, dark in seen] == [True] * (len(seen) - 1) + [False], seen
assert "finished" in client("record")
# The pieces are in the ledger, once, with what stands on their backs; the next are numbered behind them.
listed = c.call("piece.list")
assert [(p["name"], p["number"], p["mark"], p["size"], p["box"], p["state"]) for p in listed["pieces"]] == [
    (str(i), i, f"{i} on its back", "90 x 120 mm", "box one", "cut") for i in range(1, 3)], listed
assert listed["next"] is None and "2  90 x 120 mm  2 on its back, cut by run " in client("cut", "--list") and "from box one" in client("cut", "--list")
assert c.call("cut.compute", sheet="18x24cm", pieces=NINE)["layouts"][0]["first_number"] == 3
assert c.call("cut.compute", sheet="18x24cm", pieces=NINE, first=1)["layouts"][0]["first_number"] == 1
# With scrap paper in the light: nothing is dark, nothing is asked.
rehearsal = client("cut", "--sheet", "18x24cm", "--size", "9x12cm", "--guide", "--rehearse", "--run", "scrap")
assert "Rehearsing as scrap" in rehearsal and "heard" not in rehearsal.split("Rehearsing")[1], rehearsal
run = next(r for r in c.call("status.get")["runs"] if r["name"] == "scrap")
assert not run["is_dark"] and "Guard on" in run["doing"], run
c.call("run.abandon", run="scrap", held=True)
assert len(c.call("piece.list")["pieces"]) == 2  # scrap is no piece
d.stop()
d.clean()
print(f"cut in {len(seen)} steps")
