"""The whole ledger as JSON lines, with the real binaries: out, in, out again to the byte; a file that is cut, changed, newer,
or at odds with the ledger; the same file twice; while a run is live; a full disk; a daemon killed in the middle.

The file is made here, after what is written about its form (daemon/methods/rows.h), so that the daemon's reader and writer
are held to something outside both; the check is made with Python's hashlib."""
import hashlib, json, os, random, re, resource, signal, subprocess, sys, time
from wet import BUILD, SOURCE, Client, Daemon, Refused, until

SEED = int(os.environ.get("WET_SEED", "7"))
print("seed", SEED)
rng = random.Random(SEED)


def text(row):
    """Compact and ASCII, the digits of an escape in capitals."""
    return re.sub(r"\\\\|\\u[0-9a-f]{4}", lambda m: m[0] if m[0] == "\\\\" else "\\u" + m[0][2:].upper(), json.dumps(row, separators=(",", ":")))


SCHEMA = int(re.search(r"LEDGER_VERSION (\d+)", open(SOURCE + "/daemon/ledger/inside.h").read())[1])


def seal(rows, format_=1, check=True, schema=SCHEMA):
    lines = [text({"wetside": "ledger", "format": format_, "schema": schema})] + [text(r) for r in rows]
    chain = ""
    for line in lines:
        chain = hashlib.sha256((chain + line).encode()).hexdigest()
    end = {"row": "end", "lines": len(lines)}
    if check:
        end["check"] = chain
    return "".join(line + "\n" for line in lines + [text(end)])


def parts(text_):
    """As the writer cuts a recipe: by what its characters take when escaped."""
    out, cost = [""], 0
    for c in text_:
        one = 12 if ord(c) > 0xffff else 6 if ord(c) > 0x7e or ord(c) < 0x20 else 2 if c in '"\\' else 1
        if cost + one > 16000:
            out.append("")
            cost = 0
        out[-1] += c
        cost += one
    return out


def recipe(name, text_):
    digest = hashlib.sha256(text_.encode()).hexdigest()
    cut = parts(text_)
    return digest, [{"row": "recipe", "hash": digest, "name": name, "part": i + 1, "is_last": i + 1 == len(cut), "text": t}
                    for i, t in enumerate(cut)]


def vessel(name, fill, prefix=""):
    return {prefix + "name": name, prefix + "kind": "closed-tank", prefix + "fill_ns": str(fill * 10**9), prefix + "drain_ns": "20000000000",
            prefix + "pieces_max": 6, prefix + "stagger_ns": "0", prefix + "tau_ns": str(2**61 + fill),
            prefix + "tau_error_ns": str(2**60 + fill), prefix + "tau_count": 2**31 - 1, prefix + "chill_ppm": 1000000}


def run(number, digest, events, outcome="finished"):
    at = 2**60 + number * 10**12 + 1  # beyond what 53 bits hold, and not a multiple of anything
    rows = [{"row": "run", "run": str(number), "name": "tin-box %d é" % number, "recipe": "creek", "recipe_hash": digest, "person": "Ann \"\u0001",
             "owner_uid": 4294967295, "group_controls": True, "armed_boot_id": "00000000-0000-0000-0000-000000000001",
             "armed_boot_ns": str(at), "armed_wall_ms": 1700000000000 + number, "is_live": False, "outcome": outcome,
             "ended_wall_ms": 1700000900000 + number, **vessel("creek tank", 20, "vessel_"), **vessel("washer", 0, "washer_"), "pieces": 6,
             "room": "wash-house", "forecast": "newton", "forecast_room_mc": -2147483648, "forecast_tau_ns": "1", "tolerance_mc": 500,
             "is_rehearsal": True, "is_mine": False, "is_wet": False, "is_unheard": True, "no_beat": False, "rules_version": 1,
             "rates_milli": {"develop": 4000, "wash": 200000}}]
    for seq in range(1, events + 1):
        rows.append({"row": "event", "run": str(number), "seq": str(seq), "act": rng.choice(["begin", "go", "longer", "reading", "undo"]),
                     "flags": rng.randrange(256), "boot_ns": str(at + seq), "wall_ms": 1700000000000 + seq, "boot_id": "a boot",
                     "a_ns": str(-2**63 + seq), "b_ns": str(2**63 - seq), "c_ns": "0", "temperature_mc": 19400, "bath": -1,
                     "number": str(2**53 + seq), "token": "t%d" % seq, "uid": 1000})
    for stage in range(3):
        rows.append({"row": "stage", "run": str(number), "stage": stage, "begin_ns": str(stage * 10**9), "end_ns": str((stage + 1) * 10**9),
                     "late_pour_ms": -1, "flags": 3})
    return rows


big = json.dumps({"name": "creek", "say": "\\\"é€\U0001f4a7 mud, reed, water " * 3000}, ensure_ascii=False)
assert 60000 < len(big.encode()) < 256 * 1024
one, one_rows = recipe("creek", big)
two, two_rows = recipe("small", '{"name":"small"}')
recipes = one_rows + two_rows if one < two else two_rows + one_rows
vessels = [{"row": "vessel", **vessel("creek tank", fill), "wall_ms": wall} for fill, wall in ((20, 50), (25, 40), (22, 60))]
people = sorted("person %03d" % i for i in range(150))
acknowledgements = [{"row": "acknowledgement", "person": p, "recipe": "creek", "version": v, "wall_ms": 5} for p in people for v in (1, 2)]
runs = [run(n, one if n % 2 else two, 5000 if n == 3 else n % 40, "abandoned" if n % 7 == 0 else "finished") for n in range(1, 121)]


def item(number, kind, name, history, **more):
    """What stands on the shelf and its history, lines of (act, wall_ms, volume, area, run, stage and, if any, the area as second); it is their sum."""
    history = [h if len(h) == 7 else h + (0,) for h in history]
    lines = [{"row": "history", "item": str(number), "act": act, "wall_ms": wall, "volume_ul": volume, "area_mm2": area, "run": str(run_),
              "stage": stage, "uid": 1000, "token": "t%d-%d" % (wall, number) if act == "use" else "", "note": "né \u0001", "second_mm2": second,
              "kept": more.get("kept", "bottle")}
             for act, wall, volume, area, run_, stage, second in history]
    return [{"row": "item", "item": str(number), "kind": kind, "name": name, "what": "fixer", "strength": "1+9", "lot": "7", "place": "low shelf",
             "full_ul": 10**9, "volume_ul": sum(h[2] for h in history), "least_ul": 0, "pieces_max": 0, "width_um": 0, "height_um": 0,
             "since_ms": 5, "area_mm2": sum(h[3] for h in history), "from": "0", "class": "", "is_gone": False, "gone_ms": 0,
             "second_mm2": sum(h[6] for h in history), "rotations": 0, "kept": "bottle", "piece_width_um": 0,
             "piece_height_um": 0, "hole_um": 0, "distance_um": 0, "f_number_milli": 0, **more}] + lines


def plan(name, loads, baths, bottles, armed, mixed):
    out_ = [{"row": "plan", "plan": name, "recipe": "creek", "recipe_hash": one, "vessel": "creek tank", "wall_ms": 7}]
    out_ += [{"row": "load", "plan": name, "load": n_, "pieces": 1 + n_ % 6, "area_mm2": 10800 * n_, "run": str(armed.get(n_, 0))} for n_ in range(loads)]
    for n_ in range(baths):
        out_.append({"row": "bath", "plan": name, "bath": n_, "key": "k%d é" % n_, "what": "fixer", "strength": "1+9", "first_load": n_ % loads,
                     "load_count": 1, "item": str(mixed.get(n_, 0)), "volume_ul": 500000 + n_, "is_one_shot": n_ % 2 == 0,
                     "second_key": "s%d" % n_ if n_ % 3 == 0 else "", "second_load": n_ % loads if n_ % 3 == 0 else 0, "second_count": int(n_ % 3 == 0),
                     "rotations": n_ % 4})
        out_ += [{"row": "draw", "plan": name, "bath": n_, "bottle": str(b_), "stock_ul": n_ + b_} for b_ in bottles[:n_ % (len(bottles) + 1)]]
    return out_


def booking(run_, stage, number, second=0):
    return {"row": "booking", "run": str(run_), "stage": stage, "item": str(number), "area_mm2": 0 if second else 10800, "volume_ul": 0,
            "second_mm2": second}


# Numbers with holes; a bottle that is gone and one of its name that stands there; a history of several pages.
items = [item(3, "bottle", "fixer", [("add", 10, 500, 0, 0, 0), ("discard", 11, -500, 0, 0, 0)], is_gone=True, gone_ms=11),
         item(4, "bottle", "fixer", [("add", 20, 10**9, 0, 0, 0)] + [("use", 21 + n, -n, 0, 0, 0) for n in range(150)]),
         item(6, "bottle", "é" * 31, [("add", 30, 10**6, 0, 0, 0), ("change", 31, -5, 0, 0, 0)], strength=""),
         item(7, "bath", "creek dev", [("add", 40, 600000, 0, 0, 0), ("book", 41, -10, 10800, 1, 0), ("book", 42, 0, 10800, 2, 0)], **{"from": "4"}),
         item(8, "bath", "creek fix", [("add", 40, 600000, 0, 0, 0), ("book", 43, 0, 0, 1, 2, 10800)], rotations=2, kept="open", width_um=200000, height_um=250000),
         item(9, "vessel", "creek tank", [("add", 50, 0, 0, 0, 0)], what="closed-tank", least_ul=350000, full_ul=600000, pieces_max=4),
         item(12, "graduate", "tall", [("add", 60, 0, 0, 0, 0)], what="", strength="", full_ul=100000, least_ul=1000, **{"class": "A"})]
plans = [plan("tin boxes", 100, 60, [3, 4, 6], {0: 1, 1: 2}, {0: 7, 1: 8}), plan("later", 1, 0, [], {}, {})]
bookings = [booking(1, 0, 7), booking(1, 2, 8, 10800), booking(2, 0, 7)]
shelf = [r for rows_ in items + plans for r in rows_] + bookings
# Corrections and what was taken away; a body of the longest, full of what JSON doubles.
entries = [{"row": "entry", "kind": k_, "name": n_, "part": p_, "revision": r_, "is_gone": g_, "wall_ms": 70 + r_, "uid": 1000, "person": "Ann",
            "token": t_, "body": b_}
           for k_, n_, p_, r_, g_, t_, b_ in [("note", "piece é", 0, 1, False, "t1", '{"words":"mud bank"}'), ("note", "piece é", 0, 2, False, "", "{}"),
                                              ("note", "piece é", 1, 1, False, "", '"' * 2999), ("piece", "7", 0, 1, False, "", "x"),
                                              ("piece", "7", 0, 2, True, "", "")] + [("note", str(n), 0, 1, False, "", "\\" * 2000) for n in range(100)]]
rows = recipes + vessels + acknowledgements + [r for rows_ in runs for r in rows_] + shelf + entries
whole = seal(rows)


def wetside(d, *words, status=0, stdin=None, **more):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *words], input=stdin, capture_output=True, text=True, timeout=120, **more)
    assert p.returncode == status, f"{words}: exit status {p.returncode}, not {status}: {p.stdout[-300:]} {p.stderr[-600:]}"
    return p.stdout if status == 0 else p.stderr


def write(d, name, content):
    path = f"{d.dir}/{name}"
    with open(path, "w") as f:
        f.write(content)
    return path


# -- into an empty ledger and out again: the same bytes ------------------------------------------
d = Daemon()
c = d.start()
empty = wetside(d, "record", "--export")
assert empty == seal([]), empty
path = write(d, "whole.jsonl", whole)
began = time.monotonic()
result = json.loads(wetside(d, "--json", "record", "--import", path))
took = time.monotonic() - began
assert result["new"] == {"recipe": 2, "vessel": 3, "acknowledgement": 300, "run": 120, "item": 7, "plan": 2, "booking": 3, "entry": 105}, result
assert not any(result["there"].values()), result
out = f"{d.dir}/out.jsonl"
told = json.loads(wetside(d, "--json", "record", f"--export={out}"))
assert told == {"file": out, "lines": whole.count("\n")}, told
assert open(out).read() == whole, "not the same lines"
assert os.stat(out).st_mode & 0o777 == 0o600, "others can read it"
assert wetside(d, "record", "--export", "-") == whole
print(f"{whole.count(chr(10))} lines, {len(whole)} bytes, in {took:.2f} s: the same bytes again")


# -- twice: nothing is added -------------------------------------------------------------------------
again = json.loads(wetside(d, "--json", "record", "--import", path))
assert again["there"] == result["new"] and not any(again["new"].values()), again
after = wetside(d, "record", "--export")
assert json.loads(wetside(d, "--json", "record", "--import", "-", stdin=whole))["there"]["run"] == 120, "through a pipe"


# -- what is wrong with a file is told with its line, and changes nothing ------------------------------
small = Daemon()
small.start()
wetside(small, "record", "--import", "-", stdin=seal(recipes + runs[9]))
assert wetside(small, "record", "--export") == seal(recipes + runs[9])


def refused(content, *claims):
    said = wetside(small, "record", "--import", write(small, "bad.jsonl", content), status=1)
    for claim in claims:
        assert claim in said, f"{claim!r} is not in: {said}"
    assert wetside(small, "record", "--export") == seal(recipes + runs[9]), "something was stored"


fresh = run(900, one, 4)
good = recipes + fresh
lines = seal(good).splitlines()
n = len(lines)
for _ in range(12):  # cut anywhere, also within a character's escape
    refused(seal(good)[:rng.randrange(1, len(seal(good)) - 2)], "line ")
refused("", "line 1", "the end is missing")
refused("\n".join(lines[:-1]) + "\n", f"line {n}", "the end is missing")
refused("\n".join(lines[:5] + lines[6:]) + "\n", "line ")
refused("\n".join(lines) + "\n" + lines[-1] + "\n", f"line {n + 1}", "nothing behind the end")
refused(seal(good).replace('"wall_ms":1700000000002', '"wall_ms":1700000000003'), f"line {n}", "/check", "was changed since")
refused(seal(good, format_=2), "line 1", "/format", "newer wetside")
refused(seal(good).replace(f'"schema":{SCHEMA}', '"schema":99', 1), "line 1", "/schema", "newer wetside")
refused(seal(good, schema=SCHEMA + 1), "line 1", "/schema", "newer wetside")
refused("hello\n", "line 1, byte 1", "not understood")
refused("{}\n", "line 1", "the first line of an exported ledger")
refused("x" * 30000 + "\n", "line 1", "too long")


def changed(at, **members):
    changed_rows = [dict(r) for r in good]
    for key, value in members.items():
        if value is None:
            del changed_rows[at][key]
        else:
            changed_rows[at][key] = value
    return seal(changed_rows)


r, e = len(recipes), len(recipes) + 1
refused(changed(r, armed_boot_ns=5), f"line {r + 2}, /armed_boot_ns", "a whole number, as a text of digits")
refused(changed(r, armed_boot_ns="-1"), f"line {r + 2}, /armed_boot_ns", "-1")
refused(changed(r, armed_boot_ns=str(2**63)), "/armed_boot_ns", str(2**63))
refused(changed(r, pieces=0), "/pieces", "from 1 to 64")
refused(changed(r, person=None), "/person", "nothing", "a text of under 64 bytes")
refused(changed(r, colour="red"), f"line {r + 2}", "colour", "only the members of a row of kind run")
refused(changed(r, recipe_hash="0" * 64), "/recipe_hash", "a line before this one")
refused(changed(r, vessel_kind="bucket"), "/vessel_kind", "bucket", "closed-tank")
refused(changed(r, rates_milli={"develop": 0}), "/rates_milli", "develop")
refused(changed(r, outcome=""), "/outcome")
refused(changed(e, act="dance"), f"line {e + 2}, /act", "dance", "begin, go")
refused(changed(e, run="7"), "/run", "7")
refused(changed(e + 1, seq="1"), "/seq", "over that of the event before, 1")
refused(changed(e, flags=1 << 30), f"line {r + 2}")
refused(changed(e, row="gift"), "/row", "gift", "recipe, vessel")
refused(changed(0, text="other"), "line 2" if len(one_rows) == 1 or recipes[0]["is_last"] else "line ")
refused(changed(0, part=2), "line 2, /part", "part 1")

# -- the shelf: what does not add up, or names what is not there ------------------------------------------
base = recipes + runs[9] + fresh


def shelf_line(row, **members):
    """`row`: which of the item's lines; the line in the file it is told with."""
    changed_items = [dict(r_) for r_ in items[1][:3] + items[4][:1]]
    changed_items[-1:] = item(8, "bath", "creek fix", [("add", 40, 600000, 0, 0, 0), ("book", 43, 0, 10800, 900, 2)], **{"from": "4"})
    changed_items[0]["volume_ul"] = 10**9
    changed_items += plan("p", 2, 3, [4], {0: 900}, {0: 8}) + [booking(900, 2, 8)]
    for key, value in members.items():
        changed_items[row]["from" if key == "from_" else key] = value
    return seal(base + changed_items), len(base) + 2 + row


def shelf_refused(row, *claims, line=None, **members):
    content, at = shelf_line(row, **members)
    refused(content, f"line {at if line is None else at - row + line}", *claims)


shelf_refused(0, "/volume_ul", "the sum of its history, which is 1000000000", volume_ul=10**9 - 1)
shelf_refused(3, "/area_mm2", "10801", "the sum of its history, which is 10800", area_mm2=10801)
shelf_refused(3, "/second_mm2", "5", "the sum of its history, which is 0", second_mm2=5)
shelf_refused(3, "/kept", "covered", "as the last line of its history has it: bottle", kept="covered")
shelf_refused(5, "never falls below nothing; its line 2 does", line=3, second_mm2=-1)
shelf_refused(9, "bath 0 is for none", line=6, load_count=0, second_count=0)
shelf_refused(1, "never falls below nothing; its line 1 does", line=0, volume_ul=-1)
shelf_refused(1, "/volume_ul", line=0, volume_ul=10**9 - 7)
shelf_refused(1, "/item", "the item in a line before this one", item="8")
shelf_refused(2, "/token", line=2, token="x" * 40)
shelf_refused(3, "/from", "9", "a line before this one", from_="9")
shelf_refused(5, "/run", "901", "a line before this one", line=3, run="901")
shelf_refused(3, "name", "a name to point at it by", name="")
shelf_refused(3, "/kind", "bottle, bath, vessel, graduate", kind="gift")
shelf_refused(3, "/class", "one letter", **{"class": "AB"})
shelf_refused(6, "/plan", "the name of the plan in a line before this one", line=7, plan="q")
shelf_refused(7, "/run", "77", line=6, run="77")
shelf_refused(8, "/load", "1: loads one by one", load=0)
shelf_refused(9, "/item", "77", line=6, item="77")
shelf_refused(11, "/bottle", "77", line=6, bottle="77")
shelf_refused(11, "/bath", bath=0)
shelf_refused(9, "bath 0 is for more", line=6, load_count=3)
shelf_refused(13, "/run", "77", run="77")
shelf_refused(13, "/item", "77", item="77")
refused(seal(base + [items[1][0]]), f"line {len(base) + 2}", "its history in the lines behind it")
refused(seal(base + items[5] + item(10, "vessel", "creek tank", [("add", 51, 0, 0, 0, 0)], what="drum")), f"line {len(base) + 4}", "that is not gone")
refused(seal(base + items[5] + items[5][:1]), "that is not gone")
refused(seal(base + items[0] + items[0]), f"line {len(base) + 5}", "each number once")
refused(seal(base + plans[1] + plans[1]), f"line {len(base) + 4}", "each plan once")
refused(seal(base + items[1] + items[1][-1:]), f"line {len(base) + 2 + len(items[1])}", "each token once")

# -- at odds with what is here ------------------------------------------------------------------------
other = [dict(r_) for r_ in recipes + runs[9]]
other[len(recipes) + 4]["temperature_mc"] = 20000
refused(seal(other), "tin-box 10", "event 4 differs")
other = [dict(r_) for r_ in recipes + runs[9]]
other[len(recipes)]["pieces"] = 5
refused(seal(recipes + fresh + other[len(recipes):]), "tin-box 10", "pieces or room differs")
refused(seal(recipes + runs[9][:-1]), "tin-box 10", "its end or its stages differ")
small.stop()
small.clean()
# A file of before the shelf.
assert json.loads(wetside(d, "--json", "record", "--import", "-", stdin=seal(recipes + runs[9], schema=1)))["there"]["run"] == 1
# One of before the second baths lacks what came since, and counts nothing as second; a file of now may not lack it.
CAMERA = {"hole_um", "distance_um", "f_number_milli"}
KEPT = {"kept", "piece_width_um", "piece_height_um"} | CAMERA
LATER = {"second_mm2", "rotations", "second_key", "second_load", "second_count"} | KEPT
since = recipes + runs[0] + runs[1] + items[1] + items[3] + plan("tub", 4, 4, [4], {0: 1}, {}) + [booking(1, 0, 7)]
older_rows = [{k_: v_ for k_, v_ in r_.items() if r_["row"] not in ("item", "history", "bath", "booking") or k_ not in LATER} for r_ in since]
for r_ in since:
    r_.update({k_: "" if k_ == "second_key" else "bottle" if k_ == "kept" else 0 for k_ in LATER & set(r_)})
older = Daemon()
older.start()
assert "second_mm2" in wetside(older, "record", "--import", "-", stdin=seal(older_rows), status=1)
assert json.loads(wetside(older, "--json", "record", "--import", "-", stdin=seal(older_rows, schema=3)))["new"]["item"] == 2
assert wetside(older, "record", "--export") == seal(since)
assert not any(json.loads(wetside(older, "--json", "record", "--import", "-", stdin=seal(older_rows, schema=3)))["new"].values())
four = [{k_: v_ for k_, v_ in r_.items() if k_ not in KEPT} for r_ in since]
assert "kept" in wetside(older, "record", "--import", "-", stdin=seal(four), status=1)
assert not any(json.loads(wetside(older, "--json", "record", "--import", "-", stdin=seal(four, schema=4)))["new"].values())
older.stop()
older.clean()
# A hand-made file needs no check.
assert json.loads(wetside(d, "--json", "record", "--import", write(d, "hand.jsonl", seal(recipes + runs[9], check=False))))["there"]["run"] == 1

# -- one at a time ------------------------------------------------------------------------------------
two_lines = seal(good).splitlines()[:2]
c.call("record.import", lines=two_lines, check=True)
said = wetside(d, "record", "--import", path, status=1)
assert "Another import is under way" in said, said
c.s.close()
deadline = time.monotonic() + 10
while True:  # the daemon notices the closed connection
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "record", "--import", path], capture_output=True, text=True)
    if p.returncode == 0 or time.monotonic() > deadline:
        break
assert p.returncode == 0, p.stderr
c = Client(d.socket)
for bad in ({}, {"lines": []}, {"lines": [5]}, {"lines": two_lines, "check": 1}):
    try:
        c.call("record.import", **bad)
        sys.exit(f"{bad} was taken")
    except Refused:
        pass
for bad in (5, {}, {"at": "moon"}, "r"):
    try:
        c.call("record.export", cursor=bad)
        sys.exit(f"{bad} was taken for a cursor")
    except Refused as fault:
        assert "cursor" in str(fault)

# -- while a run is live, and of a live run -------------------------------------------------------------
live = c.call("run.rehearse", recipe="direct-positive-fibre-tank", pieces=2, rate="1", mine=True, run="live")["run"]
out_live = wetside(d, "record", "--export")
assert json.loads(wetside(d, "--json", "record", "--import", "-", stdin=out_live))["new"]["run"] == 0, "its own live run is known"
result = json.loads(wetside(d, "--json", "record", "--import", "-", stdin=seal(good)))
assert result["new"]["run"] == 1 and result["there"]["recipe"] == 2, result
c.call("run.go", run="live")
live_id = next(json.loads(line)["run"] for line in out_live.splitlines() if '"name":"live"' in line)
live_id = int(live_id)
status = c.call("status.get")
assert status["live_count"] == 1 and [r_["name"] for r_ in status["runs"] if not r_["outcome"]] == ["live"], status
b = Daemon()
cb = b.start()
wetside(b, "record", "--import", "-", stdin=out_live)
assert cb.call("status.get")["live_count"] == 0, "another machine's run became live"
assert cb.call("record.list")["runs"][0]["outcome"] == "unfinished"
out_b = wetside(b, "record", "--export")
b.stop()
cb = b.start()
assert cb.call("status.get")["live_count"] == 0
assert json.loads(wetside(b, "--json", "record", "--import", "-", stdin=out_b))["new"]["run"] == 0
# It goes on here, ends, and the later file completes the record there.
c.call("run.abandon", run="live", held=True)
deadline = time.monotonic() + 10
while c.call("record.get", run=live_id)["run"]["is_live"]:
    assert time.monotonic() < deadline
out_ended = wetside(d, "record", "--export")
result = json.loads(wetside(b, "--json", "record", "--import", "-", stdin=out_ended))
assert result["new"]["run"] == 2 and result["there"]["run"] == 120, result  # the one that went on, and `fresh`
assert wetside(b, "record", "--export") == out_ended
assert json.loads(wetside(b, "--json", "record", "--import", "-", stdin=out_live))["new"]["run"] == 0, "an older file knows less"
b.stop()
b.clean()

# -- a shelf with numbers of its own: they are translated, the histories go on, and all of it comes in once ------------


def check(dd):
    dd.stop()
    p_ = subprocess.run([f"{BUILD}/daemon/wetsided", "--ledger", dd.ledger, "--check"], capture_output=True, text=True)
    assert p_.returncode == 0, p_.stderr
    client = dd.start()
    client.call("status.get")  # it is up, and ends when it is told to
    return client


def story(content):
    """A ledger's shelf without its numbers: what each thing is said to come from, to be booked for."""
    rows_ = [json.loads(line) for line in content.splitlines()]
    names = {("run", "0"): "", ("item", "0"): ""}
    names.update({("run", r_["run"]): r_["name"] for r_ in rows_ if r_.get("row") == "run"})
    names.update({("item", r_["item"]): (r_["kind"], r_["name"], r_["gone_ms"]) for r_ in rows_ if r_.get("row") == "item"})
    return sorted(repr([(k, names[("item" if k in ("from", "bottle") else k, v)] if k in ("run", "item", "from", "bottle") else v) for k, v in r_.items()])
                  for r_ in rows_ if r_.get("row") in ("item", "history", "plan", "load", "bath", "draw", "booking"))


b = Daemon()
cb = b.start()
for n_ in range(5):
    cb.call("bottle.add", name=f"own {n_}", what="fixer", volume="1 L")
cb.call("run.rehearse", recipe="direct-positive-fibre-tank", pieces=2, rate="1", mine=True, run="own")
own = [line for line in story(wetside(b, "record", "--export"))]
content = seal(recipes + runs[0] + runs[1] + shelf)
result = json.loads(wetside(b, "--json", "record", "--import", "-", stdin=content))
assert result["new"] == {"recipe": 2, "vessel": 0, "acknowledgement": 0, "run": 2, "item": 7, "plan": 2, "booking": 3, "entry": 0}, result
mixed = wetside(b, "record", "--export")
assert story(mixed) == sorted(own + story(content)), "something lost its own on the way"
assert '"row":"item","item":"6","kind":"bottle","name":"fixer"' in mixed, "the numbers were free?"
again = json.loads(wetside(b, "--json", "record", "--import", "-", stdin=content))
assert again["there"] == result["new"] and wetside(b, "record", "--export") == mixed, again
cb = check(b)


def clash(change, *claims):
    rows_ = [dict(r_) for r_ in recipes + runs[0] + runs[1] + shelf]
    change(rows_)
    said_ = wetside(b, "record", "--import", "-", stdin=seal(rows_), status=1)
    assert all(claim in said_ for claim in claims), said_
    assert wetside(b, "record", "--export") == mixed


def find(rows_, **members):
    return next(n_ for n_, r_ in enumerate(rows_) if all(r_.get(k) == v for k, v in members.items()))


def put(members, **new):
    return lambda rows_: rows_[find(rows_, **members)].update(new)


clash(put(dict(row="item", name="creek dev"), lot="8"), "creek dev", "its lot differs")
clash(put(dict(row="history", act="book", item="8"), stage=3), "creek fix", "line 2 of its history differs")
clash(put(dict(row="item", name="creek dev"), **{"from": "6"}), "creek dev", "its from differs")
clash(put(dict(row="load", load=1), run="1"), "tin boxes", "its armed loads differ")
clash(put(dict(row="bath", bath=1), item="7"), "tin boxes", "its mixed baths differ")
clash(put(dict(row="draw", bath=1), stock_ul=1), "tin boxes", "its draws differ")
clash(put(dict(row="bath", bath=1), rotations=7), "tin boxes", "its baths differ")
clash(put(dict(row="item", name="creek fix"), rotations=3), "creek fix", "its rotations differs")
clash(put(dict(row="item", name="creek dev"), piece_width_um=1, piece_height_um=1), "creek dev", "its piece differs")
clash(put(dict(row="booking", stage=2), second_mm2=1), "booking", "the area and the volume")
# A longer history of there completes the one here; a longer one of here stays.
longer = [dict(r_) for r_ in recipes + runs[0] + runs[1] + shelf]
at = find(longer, row="history", act="book", item="8")
longer[at + 1:at + 1] = [dict(longer[at], act="change", run="0", stage=0, volume_ul=-600000, second_mm2=0, wall_ms=44)]
longer[find(longer, row="item", item="8")].update(name="creek fix, old", volume_ul=0)
longer[find(longer, row="load", load=5)].update(run="1")
assert json.loads(wetside(b, "--json", "record", "--import", "-", stdin=seal(longer)))["new"] == {
    "recipe": 0, "vessel": 0, "acknowledgement": 0, "run": 0, "item": 1, "plan": 1, "booking": 0, "entry": 0}
after = wetside(b, "record", "--export")
assert story(after) == sorted(own + story(seal(longer))), "it did not go on"
assert not any(json.loads(wetside(b, "--json", "record", "--import", "-", stdin=content))["new"].values()), "an older file knows less"
assert wetside(b, "record", "--export") == after
# Another thing of the same name stands here.
said = wetside(b, "record", "--import", "-", stdin=seal(item(1, "bottle", "own 1", [("add", 1, 5, 0, 0, 0)])), status=1)
assert "line 2" in said and "own 1" in said and "rename or discard it first" in said, said
# A plan that was armed here, by the program's own hand.


def keep(name):
    assert cb.call("plan.compute", recipe=TANK, vessel="creek-tank", pieces=[{"count": 6, "size": "9x12cm"}], keep=name)["is_feasible"]


def area_done():
    return sum(bath["area_mm2"] for bath in cb.call("bath.list")["items"])


def use_plan(name, is_booked=False):
    """Arms the plan, and ends; if it is to be booked, when its first bath is."""
    before_ = area_done()
    cb.call("run.arm", plan=name, run=name)
    cb.call("run.begin", run=name, unheard=True)
    while is_booked and cb.press("run.go", run=name)["run"]["phase"] != "before least":
        pass
    if is_booked:  # on a bath that is mixed for it, or that still stands there
        until(lambda: area_done() > before_, "its first bath is booked")
    cb.call("run.abandon", run=name, held=True)


cb.call("run.abandon", run="own", held=True)
TANK = "direct-positive-fibre-tank"
for name, what in (("developer", "print-developer-metol-hydroquinone"), ("stop", "stop-bath-citric"), ("fix", "fixer-rapid"), ("aid", "washing-aid-sulfite")):
    cb.call("bottle.add", name=name, what=what, volume="40 L")
cb.call("vessel.add", name="creek-tank", kind="closed-tank", least="350 mL", most="600 mL", pieces=4, fill="20 s", drain="20 s")
cb.call("safety.acknowledge", name=TANK, person="")
keep("six")
unarmed = wetside(b, "record", "--export")
use_plan("six")
deadline = time.monotonic() + 10
while cb.call("status.get")["live_count"]:
    assert time.monotonic() < deadline
after = wetside(b, "record", "--export")
assert sum('"row":"booking"' in line for line in after.splitlines()) > 3
e_ = Daemon()
ce = e_.start()
wetside(e_, "record", "--import", "-", stdin=unarmed)
wetside(e_, "record", "--import", "-", stdin=after)
assert wetside(e_, "record", "--export") == after, "armed since: not completed"
ce = check(e_)
assert not any(json.loads(wetside(e_, "--json", "record", "--import", "-", stdin=after))["new"].values())
e_.stop()
e_.clean()
# Bottles are used at every page, and a plan is kept, armed and booked while an item, a history or a plan is half told.
cb = check(b)
seen_points = set()
for when in ["item", "history", "plan", "booking"]:
    lines_, cursor, is_done = [], None, False
    for bath in cb.call("bath.list")["items"]:
        cb.call("bath.discard", name=bath["name"])
    is_kept = when in ("plan", "booking")
    if is_kept:  # its baths are mixed when the shelf has been told
        keep(when)
    while True:
        page = cb.call("record.export", **({"cursor": cursor} if cursor else {}))
        lines_ += page["lines"]
        cursor = page["next"]
        if not cursor:
            break
        cb.call("bottle.use", name="developer", volume="1 mL")
        if cursor["at"] == when and not is_done:
            is_done = True
            seen_points.add(when)
            if not is_kept:
                keep(when)
            use_plan(when, is_booked=when == "history")
    f_ = Daemon()
    f_.start()
    wetside(f_, "record", "--import", "-", stdin="".join(line + "\n" for line in lines_))
    cf = check(f_)
    wetside(f_, "record", "--import", "-", stdin=wetside(b, "record", "--export"))
    cf = check(f_)
    assert story(wetside(f_, "record", "--export")) == story(wetside(b, "record", "--export")), when
    f_.stop()
    f_.clean()
assert {"history", "plan"} <= seen_points, seen_points
print("armed while", sorted(seen_points), "were half told")
cb = check(b)
b.stop()
b.clean()

# -- a disk that is full leaves no half file ------------------------------------------------------------
before = set(os.listdir(d.dir))


def small_files():
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100000, 100000))


said = wetside(d, "record", "--export", f"{d.dir}/full.jsonl", status=1, preexec_fn=small_files)
assert "full.jsonl" in said, said
assert set(os.listdir(d.dir)) == before, set(os.listdir(d.dir)) - before
with open("/dev/full", "w") as full:
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "record", "--export"], stdout=full, stderr=subprocess.PIPE, text=True)
    assert p.returncode == 1 and "standard output" in p.stderr, p
assert "no plain file" in wetside(d, "record", "--export", "/dev/full", status=1)
wetside(d, "record", "--import", f"{d.dir}/nothing", status=1)
for wrong in (["--export", "a", "b"], ["--export", "--import"], ["--export", "--before", "5"], ["--export="]):
    wetside(d, "record", *wrong, status=2)
assert "--export creek.jsonl" in wetside(d, "record", "--help")
d.stop()

# -- killed in the middle: what is there is whole, and the second try completes it ---------------------------
caught = 0
whole = seal(recipes + vessels + [r_ for rows_ in runs if len(rows_) < 100 for r_ in rows_] + shelf)
for attempt in range(5):
    k = Daemon()
    k.start()
    file = write(k, "whole.jsonl", whole)
    p = subprocess.Popen([f"{BUILD}/client/wetside", "--socket", k.socket, "record", "--import", file], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    ck, want = Client(k.socket), 1 + rng.randrange(110)
    while p.poll() is None:  # until about so many runs are stored
        seen = ck.call("record.list")["runs"]
        if seen and seen[0]["id"] >= want:
            break
    k.kill()
    p.wait()
    assert p.returncode in (0, 3, 4), p.stderr.read()
    caught += p.returncode != 0
    check = subprocess.run([f"{BUILD}/daemon/wetsided", "--ledger", k.ledger, "--check"], capture_output=True, text=True)
    assert check.returncode == 0, check.stderr
    k.start()
    half = wetside(k, "record", "--export").splitlines()[1:-1]
    assert half == whole.splitlines()[1:1 + len(half)], "what was stored is not a beginning of the file"
    assert not half or '"row":"event"' not in half[-1], "a run without its end"
    result = json.loads(wetside(k, "--json", "record", "--import", file))
    assert wetside(k, "record", "--export") == whole
    k.stop()
    k.clean()
print(f"killed in the middle {caught} times of 5")
assert caught > 0
d.clean()
