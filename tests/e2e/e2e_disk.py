"""A disk that is full, read-only or refuses, at the start and in the middle of a run: what is done is heard and goes on, "not
stored" is said in every place, nothing new is begun, and when the disk is well again all of it is stored, in order, and a
daemon that is killed then comes back in the very same state."""
import array, os, re, subprocess
from wet import BUILD, SOURCE, Client, Daemon, Refused, until
from wet_disk import Limited, Small, Unwritable, own_mounts, skip

RECIPE = "direct-positive-fibre-tank"
may_mount = own_mounts()
STATE = ("phase", "stage", "stage_name", "number", "begin_us", "pour_out_us", "aim_us", "most_us", "window_us", "is_held",
         "next_waits", "is_late", "light", "order", "temperature", "outcome")


def state_of(client, run="creek"):
    seen = client.call("run.where", run=run)["run"]
    seen["order"] = bool(seen["order"])  # its words count the seconds
    return {k: seen[k] for k in STATE}


def refused(c, code, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        error = e.args[0]
        assert error["code"] == code, error
        assert error["data"]["want"] and error["data"]["where"], error
        return error
    raise AssertionError(f"{method} {params} was accepted")


def wetside(d, *words):
    return subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *words], stdin=subprocess.DEVNULL,
                          capture_output=True, text=True, timeout=30)


def start_fails(d):
    """The daemon says why and ends; it leaves nothing that would stop the next one."""
    r = subprocess.run([f"{BUILD}/daemon/wetsided", "--socket", d.socket, "--ledger", d.ledger, "--recipes", SOURCE + "/recipes",
                        "--safety", SOURCE + "/safety", "--sound", "none"], capture_output=True, text=True, timeout=20)
    assert r.returncode == 1, r
    assert r.stdout == "" and r.stderr, r
    assert not os.path.exists(d.socket), "a socket nobody listens to"
    return r.stderr.splitlines()[-1]  # the reason comes last


def new_daemon(kind, **options):
    d = Daemon(**options)
    place = kind(d.dir + "/disk")
    d.ledger = place.folder + "/ledger.sqlite"
    return d, place


def end(d, place):
    d.stop()
    place.close()
    d.clean()


def is_alarm_in(path, at_us):
    """The alarm lasts 1.2 s (tones.h); an answer 0.12 s: what still sounds from 0.6 s on is the alarm."""
    data = open(path, "rb").read()
    origin = int(re.search(rb"origin_boot_ns=(\d+)", data).group(1))
    at = data.index(b"data") + 8
    pcm = array.array("h", data[at:at + (len(data) - at) // 2 * 2])
    first = round((at_us * 1000 - origin) * 48e-6)
    return sum(1 for s in pcm[first + 28800:first + 52800] if s) > 12000


def cues_told(follower, word):
    return [q for m in follower.news if m["method"] == "run.changed" for q in m["params"]["cues"] if q["word"] == word]


def next_news(follower):
    follower.news.append(follower.line())
    return follower.news[-1]["params"]


def fail_in_the_middle(kind):
    d, place = new_daemon(kind)
    wav = d.dir + "/session.wav"
    if kind is not Limited:
        d.sound = "file:" + wav
    c = d.start()
    follower = Client(d.socket)
    follower.call("changes.follow")
    c.call("safety.acknowledge", name=RECIPE, person="")
    c.call("run.arm", recipe=RECIPE, pieces=2, run="creek")
    c.call("run.begin", run="creek", unheard=True, token="begin")
    assert c.call("status.get")["disk"] == ""
    # A rehearsal beside it ends by itself, with nothing stored of its end.
    c.call("run.rehearse", recipe=RECIPE, pieces=1, run="beside", rate="1000")

    place.break_(d)
    tokens, number = ["begin"], state_of(c)["number"]

    def done(answer, token):
        nonlocal number
        tokens.append(token)
        assert answer["done"] and answer["stored"] is False, answer
        run = answer["run"]
        assert run["is_stored"] is False, run
        assert run["number"] != number or token == "warm", "it was heard and did nothing"
        number = run["number"]
        return run

    for i, at in enumerate(("handling", "handling", "waiting", "before least")):
        run = done(c.press("run.go", run="creek", token=f"go{i}"), f"go{i}")
        assert run["phase"] == at, run
    assert run["stage_name"] == "Developer", run
    aim = run["aim_us"]
    run = done(c.call("run.longer", run="creek", by="20 s", token="longer"), "longer")
    assert run["aim_us"] == aim + 20000000, run
    run = done(c.call("run.undo", run="creek", token="undo"), "undo")
    assert run["aim_us"] == aim, run
    run = done(c.call("run.reading", run="creek", bath="developer", temperature="20.4 C", token="warm"), "warm")
    assert run["temperature"] == "20.4 C", run

    # Every place says so.
    status = c.call("status.get")
    assert place.word in status["disk"] and d.ledger in status["disk"], status["disk"]
    shown = wetside(d, "status").stdout
    assert "NOT STORED" in shown and "Disk: " in shown, shown
    told = wetside(d, "longer", "1s", "--run", "creek", "--token", "typed")
    assert told.returncode == 0 and "NOT STORED" in told.stdout, told
    tokens.append("typed")
    aim += 1000000
    until(lambda: cues_told(follower, "not-stored") or next_news(follower) and None, "a follower is told")
    cue = cues_told(follower, "not-stored")[0]
    assert cue["tone"] == "ALARM" and place.word in cue["text"], cue
    mine = [q for q in until(lambda: c.call("run.where", run="creek")["run"]["cues"], "") if q["word"] == "not-stored"]
    assert len(mine) == 1, "said once a run, not with each act"

    # Nothing new is begun, and reading goes on.
    for name in ("other", "other"):
        refused(c, place.code, "run.arm", recipe=RECIPE, pieces=1, run=name)
    refused(c, place.code, "safety.acknowledge", name=RECIPE, person="anyone")
    typed = wetside(d, "arm", RECIPE, "--run", "other", "--person", f"uid {os.getuid()}", "--fill", "20s", "--drain", "20s")
    assert typed.returncode == 1 and place.word in typed.stderr, typed
    names = sorted(r["name"] for r in c.call("status.get")["runs"])
    assert names == ["beside", "creek"], names
    until(lambda: c.call("run.where", run="beside")["run"]["outcome"] == "finished", "the rehearsal ends by itself", 40)
    assert c.call("record.list")["runs"] == [], "its end is not stored"

    place.heal(d)
    while next_news(follower)["is_stored"] is not True or follower.news[-1]["params"]["name"] != "creek":
        pass
    until(lambda: c.call("status.get")["disk"] == "", "the status clears")
    assert any(q["text"] == "Stored again." for q in cues_told(follower, "stored"))
    until(lambda: [r["name"] for r in c.call("record.list")["runs"]] == ["beside"], "the rehearsal's end is stored")
    answer = c.call("run.longer", run="creek", by="2 s", token="after")
    assert answer["stored"] is True and answer["run"]["is_stored"] is True, answer
    tokens.append("after")
    run_id = answer["run"]["id"]
    events = c.call("record.get", run=run_id)["events"]
    assert [e["token"] for e in events] == tokens, events
    assert [e["boot_us"] for e in events] == sorted(e["boot_us"] for e in events)
    c.call("run.arm", recipe=RECIPE, pieces=1, run="other")
    c.call("run.abandon", run="other", held=True)
    before = state_of(c)
    if kind is not Limited:
        assert is_alarm_in(wav, cue["at_us"]), "no alarm in the sound"
    d.kill()
    c = d.start()
    assert state_of(c) == before, (before, state_of(c))
    assert [e["token"] for e in c.call("record.get", run=run_id)["events"]] == tokens
    assert c.call("run.abandon", run="creek", held=True)["stored"] is True
    end(d, place)
    print(f"{place.name} in the middle: {len(tokens)} acts heard, kept and stored in order")


def full_at_the_start():
    d, place = new_daemon(Small)
    place.break_(d)
    for attempt in range(2):
        line = start_fails(d)
        assert "the disk is full" in line and d.ledger in line, line
    place.heal(d)
    # What the failed start left is no ledger that the next one stumbles over; then it is full before anything is armed.
    c = d.start()
    assert c.call("status.get")["runs"] == []  # it is up
    place.break_(d)
    refused(c, 1031, "safety.acknowledge", name=RECIPE, person="")
    refused(c, 1031, "run.rehearse", recipe=RECIPE, run="creek")
    assert c.call("status.get")["live_count"] == 0
    typed = wetside(d, "rehearse", RECIPE)
    assert typed.returncode == 1 and "the disk is full" in typed.stderr, typed
    d.kill()  # nothing half-done comes back
    c = d.start()
    assert c.call("status.get")["runs"] == []
    place.heal(d)
    run = c.call("run.rehearse", recipe=RECIPE, run="creek", mine=True)["run"]
    assert run["id"] == 1, "a number was used up"
    c.call("run.abandon", run="creek", held=True)
    end(d, place)
    print("full at the start and at arming: told, nothing half-done")


def full_when_coming_back(is_killed):
    """The daemon comes back to a full disk, late: what it has to say of that is itself an event that can't be stored yet."""
    d, place = new_daemon(Small, program="wetsided-sim")
    wall = d.dir + "/wall"
    open(wall, "w").write("0")
    d.env.update(WET_SIM_WALL_FILE=wall)
    c = d.start()
    c.call("run.rehearse", recipe=RECIPE, run="creek", pieces=1, mine=True, rate="1")
    for i in range(3):
        c.press("run.go", run="creek")
    assert c.call("run.where", run="creek")["run"]["stage_name"] == "Developer"
    d.kill()
    place.break_(d)
    d.env["WET_SIM_BOOT_SHIFT_MS"] = "200000"
    open(wall, "w").write("200000")
    c = d.start()
    run = c.call("run.where", run="creek")["run"]
    assert run["is_late"] and run["stage_name"] == "Developer" and run["order"], run
    assert run["is_stored"] is False, run
    until(lambda: "full" in c.call("status.get")["disk"], "the status says so")
    answer = c.call("run.go", run="creek", token="rinse")
    assert answer["stored"] is False and answer["run"]["stage_name"] == "Rinse", answer
    place.heal(d)
    until(lambda: c.call("run.where", run="creek")["run"]["is_stored"], "all is stored")
    assert c.call("status.get")["disk"] == ""
    before = state_of(c)
    d.kill() if is_killed else d.stop()
    c = d.start()
    assert state_of(c) == before, (before, state_of(c))
    acts = [e["act"] for e in c.call("record.get", run=run["id"])["events"]]
    assert acts == ["begin", "go", "go", "go", "resumed", "go"], acts
    c.call("run.abandon", run="creek", held=True)
    end(d, place)


def stopped_while_full():
    d, place = new_daemon(Small)
    c = d.start()
    c.call("run.rehearse", recipe=RECIPE, run="creek", pieces=1, mine=True)
    before = state_of(c)
    place.break_(d)
    assert c.call("emergency.raise")["stored"] is False
    assert c.call("run.where", run="creek")["run"]["phase"] == "interrupted"
    d.stop()
    assert "Not all that was heard could be stored" in open(d.dir + "/log").read()
    place.heal(d)
    c = d.start()
    assert state_of(c) == before
    c.call("run.abandon", run="creek", held=True)
    end(d, place)


def read_only_at_the_start():
    d, place = new_daemon(Small)
    c = d.start()
    c.call("run.rehearse", recipe=RECIPE, run="creek", pieces=1, mine=True)
    before = state_of(c)
    d.kill()  # with a journal to be read back
    subprocess.run(["mount", "-o", "remount,bind,ro", place.folder], check=True)
    line = start_fails(d)
    assert "the disk is read-only" in line and d.ledger in line, line
    known, d.ledger = d.ledger, place.folder + "/none.sqlite"  # a new one
    line = start_fails(d)
    assert "the disk is read-only" in line and d.ledger in line, line
    d.ledger = known
    subprocess.run(["mount", "-o", "remount,bind,rw", place.folder], check=True)
    c = d.start()
    assert state_of(c) == before
    c.call("run.abandon", run="creek", held=True)
    end(d, place)
    print("read-only at the start: told; writable again: the run goes on")


fail_in_the_middle(Limited)
if may_mount:
    fail_in_the_middle(Small)
    full_at_the_start()
    full_when_coming_back(True)
    full_when_coming_back(False)
    stopped_while_full()
    print("full when coming back and when stopped: as told")
    read_only_at_the_start()
else:
    skip("no full and no read-only file system: mounting is not allowed here")
if Unwritable.works_in(None):
    fail_in_the_middle(Unwritable)
else:
    skip("no file that refuses writes in the middle of a run: this file system or user can't make one")
print("done")
