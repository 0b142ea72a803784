"""kill -9 at 200 random points of one session driven by acts: no acknowledged act is lost, and the deadlines are the same
afterwards. --seed S --count N"""
import random, sys, time
from wet import Daemon, Refused

seed, count = 1, 200
if "--seed" in sys.argv:
    seed = int(sys.argv[sys.argv.index("--seed") + 1])
if "--count" in sys.argv:
    count = int(sys.argv[sys.argv.index("--count") + 1])
print(f"seed {seed} count {count}")
rnd = random.Random(seed)
d = Daemon()
c = d.start()
c.call("safety.acknowledge", name="direct-positive-fibre-tank", person="")
c.call("run.arm", recipe="direct-positive-fibre-tank", pieces=6, run="creek")
c.call("run.begin", run="creek", unheard=True)
for i in range(8):  # a go within two seconds is a bounce: held presses are not needed here, time is
    time.sleep(2.01)
    c.call("run.go", run="creek", token=f"load{i}")
run_id = c.call("run.where", run="creek")["run"]["id"]
acknowledged, kills, same = set(f"load{i}" for i in range(8)), 0, 0
last = c.call("run.where", run="creek")["run"]
assert last["stage_name"] == "Developer", last
n = 0
while kills < count:
    token = f"act{n}"
    n += 1
    kind = rnd.choice(["longer", "undo", "reading"])
    params = {"run": "creek", "token": token}
    if kind == "longer":
        params["by"] = "1 s"
    if kind == "reading":
        params["temperature"] = f"{20 + rnd.randint(-5, 5) / 10} C"
    try:
        number = c.send("run." + kind, **params)
        if rnd.random() < 0.5:
            answer = c.answer(number)
            if answer["done"] and answer["stored"]:
                acknowledged.add(token)
            last = answer["run"]
            certain = True
        else:
            time.sleep(rnd.random() * 0.004)
            certain = False
    except Refused:
        certain = True
        last = c.call("run.where", run="creek")["run"]
    d.kill()
    kills += 1
    c = d.start()
    now = c.call("run.where", run="creek")["run"]
    if certain:
        assert (now["aim_us"], now["begin_us"], now["stage"]) == (last["aim_us"], last["begin_us"], last["stage"]), (last, now)
        same += 1
    record = c.call("record.get", run=run_id)
    stored = {e["token"] for e in record["events"]}
    missing = {t for t in acknowledged if t not in stored} if len(record["events"]) < 256 else set()
    assert not missing, f"acknowledged and lost: {missing}"
print(f"{kills} kills, {len(acknowledged)} acknowledged acts, none lost; {same} deadlines compared, all equal")
c.call("run.abandon", run="creek", held=True)
d.stop()
d.clean()
