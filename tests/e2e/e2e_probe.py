"""Probes: files of millidegrees, read only while a run needs them. What they say reaches the run and its record; whatever is put
in a probe's place is told once, the run goes on, and the others are read on. The clock stands still and is moved by hand."""
import fcntl, subprocess
from still import *

TANK = "direct-positive-fibre-tank"
d = StillDaemon()
NAMES = {"jacket": "developer", "tray": "stop", "wire": "fixer-1", "wall": None}
RECIPE = json.load(open(SOURCE + "/recipes/direct-positive-fibre-tank.json"))
keys = [b["key"] for b in RECIPE["baths"]]
baths = dict(zip(("jacket", "tray", "wire"), [keys[0], keys[2], keys[3]]))


def path(name):
    return f"{d.dir}/dev/{name}"


d.configure({"probes": [{"name": n, "file": path(n), **({"bath": baths[n]} if n in baths else {"room": "darkroom"})} for n in NAMES]})


def say(name, text):
    """As the kernel's files: in place, so that a reader sees one or the other."""
    with open(path(name) + ".new", "w") as file:
        file.write(text)
    os.rename(path(name) + ".new", path(name))


say("jacket", "19437\n")
say("tray", "18500\r\n")
say("wire", "36 01 4b 46 7f ff 0a 10 30 : crc=30 YES\n36 01 4b 46 7f ff 0a 10 30 t=19375\n")
say("wall", "-1250\n")
c = d.start()


def probes():
    return {p["name"]: p for p in c.call("inputs.get")["probes"]}


def read_again(seconds=10, names=NAMES):
    """So much time passes, and each of these was read since."""
    before = {n: p["reads"] for n, p in probes().items()}
    d.wait(seconds)
    return until(lambda: all(p["reads"] > before[n] for n, p in probes().items() if n in names) and probes(), "a read")


def run():
    return c.call("status.get")["runs"][0]


def cues(word="probe"):
    return [q["text"] for q in run()["cues"] if q["word"] == word]


# No run: nothing is read.
d.wait(1000)
c.call("status.get")
assert all((p["health"], p["reads"], p["is_needed"]) == ("idle", 0, False) for p in probes().values()), probes()
# A rehearsal has no baths.
c.call("run.rehearse", recipe=TANK, run="dry", rate="1", mine=True)
d.wait(20)
assert all(p["reads"] == 0 for p in probes().values())
c.call("run.abandon", run="dry", held=True)
# A run: each is read at once, and again soon, as a first value is believed when it repeats.
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=1, run="creek")
until(lambda: all(p["reads"] == 1 for p in probes().values()), "the first reads")
assert all(p["temperature"] == "" for p in probes().values()), probes()
seen = read_again(5)
shown = {n: p["temperature"] for n, p in seen.items()}
assert shown == {"jacket": "19.4 C", "tray": "18.5 C", "wire": "19.4 C", "wall": shown["wall"]} and shown["wall"] in ("-1.2 C", "-1.3 C"), seen
assert all(p["health"] == "well" for p in seen.values())
read_again(5, ["wall"])  # below 5 C a reading is asked for twice, whose-ever it is


def events():
    return c.call("record.get", run=run()["id"])["events"]


record = until(lambda: len(events()) == 4 and events(), "all four in the ledger")
assert sorted(e["temperature"] for e in record) == sorted(p["temperature"] for p in seen.values()), record
assert all(e["act"] == "reading" and e["by_probe"] for e in record), record
# It holds still: the ledger does not fill.
for _ in range(20):
    read_again()
assert len(events()) == 4, events()
for number in range(10):
    try:
        c.call("run.begin", run="creek", heard=number)
        break
    except Refused:
        continue
for _ in range(3):
    d.wait(3)
    c.call("run.go", run="creek")
assert run()["stage_name"] == "Developer" and run()["temperature"] == "19.4 C", run()
end = run()["aim_us"]
say("jacket", "19100\n")
read_again(10, ["jacket"])
assert run()["temperature"] == "19.1 C" and run()["aim_us"] > end and not cues(), run()
d.kill()  # in the middle; what was heard of the probe is in the ledger
c = d.start()
assert run()["temperature"] == "19.1 C", run()
until(lambda: probes()["jacket"]["reads"] >= 1, "a read after the kill")
read_again(5)

# Whatever stands in its place is told, once, and the others are read on.
c.call("run.abandon", run="creek", held=True)
c.call("run.arm", recipe=TANK, pieces=1, run="lake")
read_again(10)
read_again(10)


def put(kind):
    if os.path.isdir(path("jacket")) and not os.path.islink(path("jacket")):
        os.rmdir(path("jacket"))
    elif os.path.lexists(path("jacket")):
        os.remove(path("jacket"))
    if kind == "folder":
        os.mkdir(path("jacket"))
    elif kind == "pipe":
        os.mkfifo(path("jacket"))
    elif kind.startswith("/dev"):
        os.symlink(kind, path("jacket"))
    elif kind == "loop":
        os.symlink(path("jacket"), path("jacket"))
    elif kind != "nothing":
        say("jacket", kind)


WRONG = {"nothing": "not there", "folder": "no file", "pipe": "no file", "/dev/zero": "no file", "/dev/null": "no file", "/dev/tty": "no file",
         "loop": "can't be read", "": "no temperature", "\0" * 400: "no temperature", "9" * 300: "no temperature",
         "99999999999": "no temperature", "cold\n": "no temperature", "20.5\n": "no temperature", "20000\n20000\n": "no temperature",
         "85000\n": "too cold or too hot", "-127000\n": "too cold or too hot",
         "ff : crc=c9 NO\nff t=20000\n": "check sum", "25500\n": "jumped"}
for kind, why in WRONG.items():
    before, others = len(cues()), probes()["tray"]["reads"]
    put(kind)
    for _ in range(4 if why != "jumped" else 1):
        seen = read_again()
    assert seen["jacket"]["health"] == "not well" and why in seen["jacket"]["text"], (kind, seen["jacket"])
    assert seen["tray"]["health"] == "well" and seen["tray"]["reads"] > others
    told = cues()[-1]
    assert told.startswith("Probe jacket: ") and told.endswith("The forecast carries on."), (kind, told)
    assert c.call("status.get")["runs"][0]["name"] == "lake"
    put("19000\n")
    for _ in range(6):
        seen = read_again()
    assert seen["jacket"]["health"] == "well", (kind, seen["jacket"])
    assert "Probe jacket is back: 19 C." == cues()[-1], (kind, cues())
    c.call("run.where", run="lake")
log = open(d.dir + "/log").read()
assert log.count("Probe jacket: ") == 2 * len(WRONG), log

# A read that hangs: the file is leased for writing (fcntl F_SETLEASE), so whoever opens it waits until the lease is given back.
holder = os.open(path("jacket"), os.O_RDWR)
signal.signal(signal.SIGIO, signal.SIG_IGN)
try:
    fcntl.fcntl(holder, fcntl.F_SETLEASE, fcntl.F_WRLCK)
    can_lease = True
except OSError as e:
    can_lease = False
    print(f"SKIP a read that hangs: no leases here ({e})")
if can_lease:
    steps = 0
    while probes()["jacket"]["health"] == "well":  # asked, late, and late for longer: the whole machine might have stood still
        read_again(10, ["tray", "wire", "wall"])
        steps += 1
        assert steps < 6, probes()["jacket"]
    s, reads = probes()["jacket"], probes()["jacket"]["reads"]
    assert "does not answer" in s["text"] and s["reads"] == reads, s
    for _ in range(3):  # the others are read on, and it is not asked again
        read_again(10, ["tray", "wire", "wall"])
    assert probes()["jacket"]["reads"] == reads
    threads = len(os.listdir(f"/proc/{d.process.pid}/task"))
    assert threads <= 8, threads
    fcntl.fcntl(holder, fcntl.F_SETLEASE, fcntl.F_UNLCK)
    until(lambda: probes()["jacket"]["reads"] > reads, "it answers again")
    for _ in range(4):
        s = read_again()
    assert s["jacket"]["health"] == "well", s["jacket"]
    # And the end waits for none that hangs.
    fcntl.fcntl(holder, fcntl.F_SETLEASE, fcntl.F_WRLCK)
    read_again(11, ["tray", "wire", "wall"])
shown = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "status"], capture_output=True, text=True).stdout
assert "Probe tray, bath " in shown and "Probe wall, room darkroom: " in shown, shown
d.stop()
if can_lease:
    fcntl.fcntl(holder, fcntl.F_SETLEASE, fcntl.F_UNLCK)
d.clean()
print(f"{len(WRONG)} things in a probe's place, each told once and back once")
