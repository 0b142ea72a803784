"""Washes with their joiners, with the real binaries: the plan; a wash alone; two rehearsed runs in one washer; the daemon killed
in the middle of a wash and after a join, and the clock goes on right; a dark screen stays dark."""
import os, pty, select, subprocess, time
from wet import BUILD, Client, Daemon, Refused

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()


def wetside(*words, status=0):
    done = subprocess.run([BUILD + "/client/wetside", "--socket", d.socket, *words], capture_output=True, text=True, timeout=20)
    assert done.returncode == status, (words, done)
    return done.stdout + done.stderr


def state(name):
    return c.call("run.where", run=name)["run"]


def again():
    global c
    d.kill()
    c = d.start()


def press(run, **more):
    while True:  # for two real seconds the guard takes it for a bouncing switch
        answer = c.call("run.go", run=run, **more)
        if answer["done"]:
            return answer
        time.sleep(0.1)


# The plan only: no run comes of it. TM 11-2323, para. 33: 50 F takes twice as long.
text = wetside("wash", "--plan", "--base", "fibre-double", "--pieces", "6", "--size", "9x12cm", "--aid")
assert "Running water: 20:00." in text and "tells, not this model" in text and "Washing aid first: 3:00." in text, text
cold = wetside("wash", "--plan", "--base", "fibre-double", "--pieces", "6", "--size", "9x12cm", "--aid", "--water", "10C")
assert "Running water: 40:00." in cold, cold
plan = c.call("wash.compute", base="fibre-double", area="648 cm2", aid=True, fill_of="5 L")
assert sum(plan["change_us"]) == plan["standing_us"] and len(plan["change_us"]) == plan["changes"], plan
assert plan["total_water_ul"] == 5000000 * plan["changes"] and plan["left_ppm"] <= 2000, plan
assert c.call("status.get")["runs"] == []
for words, status, says in ((("--base", "cloth", "--pieces", "1", "--size", "9x12cm"), 1, "rc, fibre-single, fibre-double, film"),
                            (("--base", "rc", "--pieces", "1"), 2, "9x12cm"), (("--join", "nobody"), 1, "not found"),
                            (("--join", "wash", "--base", "rc"), 2, "does not belong to --join"), ((), 2, "--base is missing"),
                            (("--plan", "--base", "rc", "--run", "x"), 2, "does not belong to --plan")):
    assert says in wetside("wash", *words, status=status), words

# A wash alone, by changes: it waits for go, and a crash in between keeps all of it.
ready = wetside("wash", "--base", "rc", "--pieces", "2", "--size", "9x12cm", "--fill-and-dump", "--run", "creek")
assert "Ready as creek" in ready, ready
assert ready.count("keeps this machine awake") == wetside("status").count("keeps this machine awake"), ready
again()
assert state("creek")["phase"] == "waiting", state("creek")
answer = c.call("run.go", run="creek")
assert answer["text"] == "Wash begins now. No beat now.", answer
before = state("creek")
assert before["doing"] == "Wash: the first water of four." and before["aim_us"] - before["begin_us"] == 240e6, before
again()
after = state("creek")
assert (after["begin_us"], after["aim_us"], after["is_late"], after["order"]) == (before["begin_us"], before["aim_us"], False, ""), after
answer = wetside("wash", "--join", "creek", "--pieces", "2")
assert answer.startswith("Two more pieces joined: the wash begins anew, 4:00."), answer
joined = state("creek")
assert joined["begin_us"] > before["begin_us"] and joined["aim_us"] - joined["begin_us"] == 240e6, joined
again()
after = state("creek")
assert (after["begin_us"], after["aim_us"], after["stage_name"]) == (joined["begin_us"], joined["aim_us"], "Wash"), after

# A repeated token joins once.
one = c.call("run.join", run="creek", pieces=1, token="again")
begin = state("creek")["begin_us"]
assert c.call("run.join", run="creek", pieces=1, token="again")["text"] == one["text"] and state("creek")["begin_us"] == begin

# Two rehearsed runs: the second one to come into the washer restarts the wash of the first, and nobody else's.
c.call("run.rehearse", recipe=TANK, pieces=1, run="tank", rate="1000", rates={"wash": "1"}, fill="2 s", drain="2 s")
c.call("run.rehearse", recipe=TANK, pieces=1, run="second", rate="1", mine=True, fill="2 s", drain="2 s")
while state("second")["next"] != "First wash next, washer.":
    press("second", held=True)
first = state("tank")
assert first["stage_name"] == "First wash", first
both = press("second", held=True)
assert both["text"] == "First wash begins now. No beat now. The wash of tank begins anew for both.", both
tank, second = state("tank"), state("second")
assert abs(tank["begin_us"] - second["begin_us"]) <= 1000 and tank["begin_us"] > first["begin_us"], (tank, second)
assert tank["aim_us"] - tank["begin_us"] == 300e6, tank
assert [cue["text"] for cue in tank["cues"] if cue["word"] == "joined"] == ["One more piece joined: the first wash begins anew, 5:00."]
assert state("creek")["begin_us"] == begin, "a rehearsal touches no real wash"
again()
for run in (tank, second):
    after = state(run["name"])
    assert (after["begin_us"], after["aim_us"], after["stage"]) == (run["begin_us"], run["aim_us"], run["stage"]), after

# Undo takes it back, as far as the stage goes.
c.call("run.join", run="tank")
assert state("tank")["begin_us"] > tank["begin_us"]
c.call("run.undo", run="tank")
assert state("tank")["begin_us"] == tank["begin_us"]

# While paper is open a join is done, and nothing goes to the terminal; a plan waits for light.
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=1, run="dark", fill="2 s", drain="2 s")
c.call("run.begin", run="dark", unheard=True)
assert state("dark")["light"] == "dark"


def on_terminal(*words):
    master, slave = pty.openpty()
    p = subprocess.Popen([BUILD + "/client/wetside", "--socket", d.socket, *words], stdin=slave, stdout=slave, stderr=slave)
    os.close(slave)
    status, seen = p.wait(20), b""
    while select.select([master], [], [], 0)[0]:
        try:
            piece = os.read(master, 4096)
        except OSError:
            break
        if not piece:
            break
        seen += piece
    os.close(master)
    return status, seen


begin = state("creek")["begin_us"]
assert on_terminal("wash", "--join", "creek", "--pieces", "1") == (0, b"")
assert state("creek")["begin_us"] > begin
assert on_terminal("wash", "--join", "dark") == (1, b"")
assert on_terminal("wash", "--join", "creek", "--base", "rc") == (2, b"")
assert on_terminal("wash", "--plan", "--base", "rc", "--pieces", "1", "--size", "9x12cm") == (1, b"")

# It ends by go only; the record says what was done.
press("creek", held=True)
assert state("creek")["outcome"] == "finished"
record = c.call("record.list")["runs"][0]
assert record["name"] == "creek" and record["recipe"] == "stand-alone-wash", record
d.stop(), d.clean()
print("washes planned, begun, joined, killed and come back: as told")
