"""Two mixes of one formula at once have two labels; what another ledger's run of the same number left is not taken for this
run's bottle."""
import time
from wet import Daemon, Refused

here, there = Daemon(), Daemon()
a, b = here.start(), there.start()
NAME = "stop-bath-citric"


def refused(code, c, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code, e.args[0]
        return e.args[0]["data"]
    raise AssertionError(f"{method} {params} was accepted")


def bottles(c):
    return {x["name"]: x["volume_ul"] for x in c.call("bottle.list")["items"]}


# Both asked before either is answered: the second must not be told the first one's label.
numbers = [a.send("run.mix", name=NAME, run=run, make=make) for run, make in (("first", "1 L"), ("second", "250 mL"))]
for number in numbers:
    assert a.answer(number)["done"]
assert b.call("run.mix", name=NAME, run="theirs", make="3 L")["done"]
assert NAME in refused(1010, a, "run.mix", name="fixer-plain", run="third", bottle=NAME)["found"]
assert a.call("run.mix", name=NAME, run="third", bath=NAME)["done"], "a bath is no bottle"
a.call("run.abandon", run="third", held=True)
a.call("run.rehearse", recipe=NAME, run="heard", rate="1000")

runs = [(a, "first"), (a, "second"), (b, "theirs")]
while runs:
    round_at = time.monotonic()
    for c, run in list(runs):
        if run == "theirs" and c.call("run.where", run=run)["run"]["stage_name"] == "Label":
            runs.remove((c, run))
            continue
        answer = c.call("run.go", run=run, held=True)
        if answer["done"] and answer["run"]["outcome"]:
            assert answer["run"]["outcome"] == "finished", answer
            runs.remove((c, run))
    time.sleep(max(0, round_at + 2.05 - time.monotonic()))
assert bottles(a) == {NAME: 1000000, NAME + "-2": 250000}, bottles(a)
told = [cue["text"] for r in a.call("status.get")["runs"] for cue in r["cues"] if "On the shelf" in cue["text"]]
assert any(NAME + "-2" in text for text in told), told

# The other's first run was its number 1 too. Its bottle is used up; its history comes here while ours is mixed.
a.call("bottle.discard", name=NAME)
lines, cursor = [], None
while True:
    page = a.call("record.export", **({"cursor": cursor} if cursor else {}))
    lines += page["lines"]
    cursor = page["next"]
    if not cursor:
        break
for i in range(0, len(lines), 20):
    b.call("record.import", lines=lines[i:i + 20])
assert bottles(b) == {NAME + "-2": 250000}, bottles(b)
while not (ended := b.press("run.go", run="theirs", held=True)["run"]["outcome"]):
    pass
assert ended == "finished", ended
assert bottles(b) == {NAME: 3000000, NAME + "-2": 250000}, bottles(b)
for d in (here, there):
    d.stop()
    d.clean()
print("each mix has a label of its own")
