"""The wall clock is set in the middle of a run, with wetsided-sim: nothing moves, each live run's record says by how much, a
daemon that is killed comes back in the same state, and after a reboot the time that passed is right across the steps."""
import os, time
from wet import Client, Daemon, until

RECIPE = "direct-positive-fibre-tank"
HOUR = 3600000
BOOTS = ["11111111-1111-4111-8111-111111111111", "22222222-2222-4222-8222-222222222222"]
REBOOT, UNCERTAIN = 16, 32  # run.h
STATE = ("phase", "stage", "stage_name", "number", "begin_us", "pour_out_us", "aim_us", "most_us", "window_us", "is_late", "order",
         "is_uncertain", "light")


class Clock:
    def __init__(self):
        self.d = Daemon(program="wetsided-sim")
        self.wall = self.d.dir + "/wall"
        self.ms = 0
        self.set(0)
        self.d.env.update(WET_SIM_BOOT_ID=BOOTS[0], WET_SIM_WALL_FILE=self.wall, WET_SIM_BOOT_SHIFT_MS="0")

    def set(self, ms):
        """Whole or not at all, as clock_sim.c wants it."""
        self.ms = ms
        with open(self.wall + ".new", "w") as f:
            f.write(str(ms))
        os.rename(self.wall + ".new", self.wall)

    def step(self, by_ms):
        self.set(self.ms + by_ms)

    def reboot(self, off_ms, wall_ms):
        """Killed; the machine comes up with boot time at 20 s, and a wall clock that says wall_ms more than it did."""
        self.d.kill()
        self.set(self.ms + wall_ms)
        up_ms = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000000
        self.d.env.update(WET_SIM_BOOT_ID=BOOTS[1], WET_SIM_BOOT_SHIFT_MS=str(off_ms - up_ms))
        return self.d.start()


def where(c, name="creek"):
    return c.call("run.where", run=name)["run"]


def state_of(c, name="creek"):
    seen = where(c, name)
    seen["order"] = bool(seen["order"])  # its words count the seconds
    return {k: seen[k] for k in STATE}


def events(c, name="creek"):
    return c.call("record.get", run=where(c, name)["id"])["events"]


def steps(c, name="creek"):
    return [round(e["by_us"] / 1000) for e in events(c, name) if e["act"] == "clock"]


def about(got, want, within=100):
    assert len(got) == len(want) and all(abs(g - w) < within for g, w in zip(got, want)), (got, want)


def noticed(c, count, name="creek"):
    return until(lambda: len(steps(c, name)) == count, f"{count} steps of the clock in the record of {name}")


def session(k):
    c = k.d.start()
    c.call("safety.acknowledge", name=RECIPE, person="")
    c.call("run.arm", recipe=RECIPE, pieces=1, run="creek", fill="2 s", drain="2 s")
    c.call("run.begin", run="creek", unheard=True)
    for i in range(3):
        c.press("run.go", run="creek")
    assert where(c)["stage_name"] == "Developer"
    return c


# -- in the middle of a run ---------------------------------------------------------
k = Clock()
c = session(k)
c.call("run.arm", recipe=RECIPE, pieces=1, run="other")  # live too, and not begun
follower = Client(k.d.socket)
follower.call("changes.follow")
before, other, told = state_of(c), state_of(c, "other"), where(c)
planned = [q["word"] for q in told["cues"]]

k.step(HOUR)
noticed(c, 1), noticed(c, 1, "other")
about(steps(c), [HOUR]), about(steps(c, "other"), [HOUR])
assert state_of(c) == before and state_of(c, "other") == other, "something moved"
# The follower, which asked nothing, is told what time of day the deadline is now; nothing is sounded.
deadline = time.monotonic() + 20
while True:
    m = follower.line()["params"]
    assert time.monotonic() < deadline
    if m["name"] == "creek" and m["deadline_utc_ms"] > told["deadline_utc_ms"] + 1000:
        break
about([m["deadline_utc_ms"] - told["deadline_utc_ms"]], [HOUR])
assert not {q["word"] for q in m["cues"]} - {"answer", "beat", "turn", "rest", "lights", "handle", "stand-by", "no-reading"}, m["cues"]

# Corrections are no steps, until they add up since the last event.
k.step(1500)
c.call("run.longer", run="creek", by="10 s", token="after-a-leap")
assert [e["act"] for e in events(c)[-2:]] == ["clock", "longer"] and len(steps(c)) == 1, events(c)
k.step(1200)
k.step(1200)
noticed(c, 2)
about(steps(c), [HOUR, 2400])

# Back, and an act in the same breath: the step stands before it.
k.step(-HOUR)
c.call("run.undo", run="creek", token="undo")
assert [e["act"] for e in events(c)[-2:]] == ["clock", "undo"], events(c)[-3:]
about(steps(c), [HOUR, 2400, -HOUR])
noticed(c, 3, "other")  # its last event was the first step: 1500 and one or both 1200 in one
about([sum(steps(c, "other"))], [1500 + 1200 + 1200], 2000)
got = events(c)
assert [e["boot_us"] for e in got] == sorted(e["boot_us"] for e in got)
assert state_of(c)["aim_us"] == before["aim_us"] and state_of(c)["begin_us"] == before["begin_us"]

# The same state when it comes back, and no step is told twice.
seen = state_of(c)
k.d.kill()
c = k.d.start()
assert state_of(c) == seen, (seen, state_of(c))
assert len(steps(c)) == 3 and len(steps(c, "other")) == 3

# Set while no daemon ran.
k.d.kill()
k.step(HOUR)
c = k.d.start()
assert state_of(c) == seen, (seen, state_of(c))
noticed(c, 4), noticed(c, 4, "other")
about(steps(c)[3:], [HOUR])
c.call("run.abandon", run="other", held=True)
k.step(-HOUR)
noticed(c, 5)
assert len(steps(c, "other")) == 4, "a run that has ended has no more events"
k.d.stop()
k.d.clean()


# -- and then the power goes ----------------------------------------------------------
def power_cut(step_ms, away_ms, wall_ms, uncertain):
    k = Clock()
    c = session(k)
    k.step(step_ms)
    noticed(c, 1)
    was = where(c)
    c = k.reboot(20000, wall_ms)
    now = until(lambda: where(c)["is_stored"] and where(c), "what it says as it comes back is stored")
    last = events(c)[-1]
    assert last["act"] == "resumed" and last["flags"] & REBOOT, last
    assert bool(last["flags"] & UNCERTAIN) == uncertain, last
    spent = (now["now_us"] - now["begin_us"]) - (was["now_us"] - was["begin_us"])
    # The kill, the start and the two looks lie within the five seconds.
    assert away_ms * 1000 - 100000 < spent < away_ms * 1000 + 5e6, (spent, away_ms)
    assert len(steps(c)) == 1, "a reboot is no step"
    again = state_of(c)
    k.d.kill()
    c = k.d.start()
    assert state_of(c) == again, (again, state_of(c))
    k.d.kill()
    k.d.clean()
    return now


for step in (HOUR, -HOUR):
    power_cut(step, 50000, 50000, False)
# The clock that runs over power-off had not been set: back where it was before the step, less than the machine is up.
now = power_cut(HOUR, 20000, 50000 - HOUR, True)
assert now["stage_name"] == "Developer" and not now["is_late"], now
# As far forward: by the clock an hour passed, and no more can be known; the piece is in its bath, and the order says what to do.
now = power_cut(-HOUR, HOUR + 50000, 50000 + HOUR, False)
assert now["is_late"] and "Pour in the rinse now" in now["order"], now["order"]
# A rehearsal a thousand times faster that was left in the middle: two hundred days later, or centuries by a clock that makes no
# sense, its own time has gone on and not back.
for days in (200, 400 * 365, -400 * 365):
    k = Clock()
    c = k.d.start()
    c.call("run.rehearse", recipe=RECIPE, run="creek", rate="1000", mine=True)
    was = where(c)
    c = k.reboot(20000, days * 24 * HOUR)
    now = until(lambda: where(c)["is_stored"] and where(c), "what it says as it comes back is stored")
    assert now["run_us"] > was["run_us"] and now["begin_us"] <= now["now_us"], (days, was["run_us"], now)
    k.d.kill()
    c = k.d.start()
    assert where(c)["run_us"] >= now["run_us"]
    k.d.kill()
    k.d.clean()
print("set forward, back, by little, while away, before a power cut: told in the record, nothing moved")
