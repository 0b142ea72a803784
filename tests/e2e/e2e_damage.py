"""A ledger that was left in the middle, or damaged: the daemon comes up, the run goes on with what can be read, and what is done
from then on is stored and found again."""
import sqlite3, time
from wet import Daemon

RECIPE = "direct-positive-fibre-tank"


def change(d, *statements):
    db = sqlite3.connect(d.ledger)
    for s in statements:
        assert db.execute(s).rowcount > 0, s
    db.commit()
    db.close()


def armed(d, name):
    c = d.start()
    c.call("safety.acknowledge", name=RECIPE, person="")
    c.call("run.arm", recipe=RECIPE, pieces=2, run=name)
    return c


# Killed between the last event and the row that says finished: as if it had not been written.
d = Daemon()
c = armed(d, "creek")
c.call("run.abandon", run="creek")
time.sleep(0.2)
d.stop()
change(d, "UPDATE run SET is_live = 1, outcome = '', ended_wall_ms = 0 WHERE name = 'creek'")
c = d.start()
deadline = time.monotonic() + 10
while not c.call("record.list")["runs"]:
    assert time.monotonic() < deadline, "it was never finished"
    time.sleep(0.05)
assert c.call("record.list")["runs"][0]["outcome"] == "abandoned"
d.stop()
d.clean()

# One event gone, one of no known kind: the rest counts, and what is done now is stored behind them.
d = Daemon()
c = armed(d, "creek")
for i in range(4):
    c.call("run.reading", run="creek", temperature=f"{20 + i / 10} C", bath="developer", token=f"r{i}")
c.call("run.begin", run="creek", unheard=True, token="begin")
d.stop()
change(d, "DELETE FROM event WHERE token = 'r1'", "UPDATE event SET kind = 77 WHERE token = 'r2'")
for attempt in range(2):
    c = d.start()
    run = c.call("run.where", run="creek")["run"]
    assert run["phase"] == "handling", run
    answer = c.call("run.reading", run="creek", temperature="20.4 C", bath="developer", token=f"after{attempt}")
    assert answer["stored"] is True, answer
    d.kill()
c = d.start()
tokens = {e["token"] for e in c.call("record.get", run=c.call("run.where", run="creek")["run"]["id"])["events"]}
assert {"after0", "after1", "begin", "r0", "r3"} <= tokens, tokens
d.stop()

d.clean()
print("left in the middle, damaged: goes on")
