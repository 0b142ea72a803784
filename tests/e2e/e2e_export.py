"""The whole ledger as JSON lines, with the real binaries: out, in, out again to the byte; a file that is cut, changed, newer,
or at odds with the ledger; the same file twice; while a run is live; a full disk; a daemon killed in the middle.

The file is made here, after what is written about its form (daemon/methods/rows.h), so that the daemon's reader and writer
are held to something outside both; the check is made with Python's hashlib."""
import hashlib, json, os, random, re, resource, signal, subprocess, sys, time
from wet import BUILD, Client, Daemon, Refused

SEED = int(os.environ.get("WET_SEED", "7"))
print("seed", SEED)
rng = random.Random(SEED)


def text(row):
    """Compact and ASCII, the digits of an escape in capitals."""
    return re.sub(r"\\\\|\\u[0-9a-f]{4}", lambda m: m[0] if m[0] == "\\\\" else "\\u" + m[0][2:].upper(), json.dumps(row, separators=(",", ":")))


def seal(rows, format_=1, check=True):
    lines = [text({"wetside": "ledger", "format": format_, "schema": 1})] + [text(r) for r in rows]
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
            prefix + "pieces_max": 6, prefix + "stagger_ns": "0", prefix + "tau_ns": str(2**61 + fill)}


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
                     "flags": rng.randrange(128), "boot_ns": str(at + seq), "wall_ms": 1700000000000 + seq, "boot_id": "a boot",
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
rows = recipes + vessels + acknowledgements + [r for rows_ in runs for r in rows_]
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
assert result["new"] == {"recipe": 2, "vessel": 3, "acknowledgement": 300, "run": 120}, result
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
refused(seal(good).replace('"schema":1', '"schema":99', 1), "line 1", "/schema", "newer wetside")
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
refused(changed(e, flags=128), f"line {r + 2}")
refused(changed(e, row="gift"), "/row", "gift", "recipe, vessel")
refused(changed(0, text="other"), "line 2" if len(one_rows) == 1 or recipes[0]["is_last"] else "line ")
refused(changed(0, part=2), "line 2, /part", "part 1")

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
whole = seal(recipes + vessels + [r_ for rows_ in runs if len(rows_) < 100 for r_ in rows_])
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
