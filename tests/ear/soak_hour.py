"""A thousand stage changes on each of four cards that keep time, for an hour: exact, 100 ppm fast, one whose pointer steps by 64
frames, and one that does so and is 100 ppm slow. Sessions of a recipe with fifty-five straight-on baths, one after another; none
may be missing, and when each began is printed beside the aim.

  soak_hour.py [SECONDS] [--busy]     --busy: two processes that only count and one that writes to the disk and waits for it"""
import json, os, random, shutil, sys, tempfile, threading, time
import listen, rules
from busy import Busy
from creek import AIM_US, NAME, STEPPING_AIM_US
from recorded import Recorded
from wet import SOURCE

STAGES, RATE, RATES = 60, 11, {"handling": 5}


def recipe(seed):
    """The shipped recipe (under whose name and note this stands for it), with a tank that fills fast and many baths of 34 to
    38 seconds between developer and fixer: no two changes stand alike to the card's periods."""
    draw = random.Random(seed)
    r = json.load(open(f"{SOURCE}/recipes/{NAME}.json"))
    r["vessel"].update(fill="2 s", drain="12 s")
    kept = {stage["name"]: stage for stage in r["stages"]}
    for name in ("Developer", "First fixer", "Second fixer"):
        kept[name].update(least="20 s", aim="40 s", agitation="none")
    for name in ("First wash", "Washing aid", "Wash"):
        kept[name].update(least="20 s", aim="30 s")
    middle = []
    for i in range(STAGES - 7):
        bath = kept["Stop bath" if i % 2 else "Rinse"]
        middle.append(dict(bath, name=f"{bath['name']} {i + 1}", least="20 s", aim=f"{34000 + draw.randrange(4001)} ms", agitation="none"))
    r["stages"] = [kept["Lid on"], kept["Developer"], *middle, *r["stages"][-5:]]
    return r


class Sessions(threading.Thread):
    """Rehearses session after session on one card."""

    def __init__(self, seconds, ppm, step):
        super().__init__()
        self.ppm, self.step, self.seconds, self.begun_us, self.failure = ppm, step, seconds, [], None
        self.folder = tempfile.mkdtemp(prefix="wetside-ear.")
        with open(f"{self.folder}/{NAME}.json", "w") as f:
            json.dump(recipe(ppm + step), f)
        self.daemon_ = Recorded(ppm, step, recipes=self.folder)

    def run(self):
        try:
            self.play(self.daemon_.start())
        except BaseException as e:
            self.failure = e

    def play(self, c):
        c.s.settimeout(600)
        c.call("changes.follow")
        until = time.monotonic() + self.seconds
        while time.monotonic() < until:
            state = c.call("run.rehearse", recipe=NAME, pieces=1, rate=str(RATE), rates={k: str(v) for k, v in RATES.items()})["run"]
            self.begun_us.append(state["begin_us"])
            while not state["outcome"]:
                state = (c.news.pop(0) if c.news else c.line())["params"]
        self.sound = c.call("status.get")["sound"]
        self.daemon_.stop()

    def judge(self):
        if self.failure:
            raise self.failure
        verdict = judge(self.daemon_.recording(), self.begun_us, f"{self.folder}/{NAME}.json", RATES)
        verdict.say(f"card {self.ppm:+d} ppm, pointer in steps of {self.step}", AIM_US if self.step == 1 else STEPPING_AIM_US)
        print(f"  {self.sound}")
        assert verdict.is_right(), "not what the recipe asks for"
        self.daemon_.clean()
        shutil.rmtree(self.folder)
        return verdict


class Begun(rules.Cue):
    """A cue of one of many sessions: `at` counts from the first one's begin. The answer to a begin comes when it can."""

    def __init__(self, cue, later, is_loose=False):
        super().__init__(cue.at + later, cue.tone, cue.why, cue.rate, cue.pips)
        self.is_loose = is_loose


def judge(recording, begun_us, recipe_path, rates):
    once = rules.expected(recipe_path, 1, rates, RATE).heard()
    expected = []
    for begun in begun_us:
        later = (begun - begun_us[0]) / 1e6
        expected.append(Begun(rules.Cue(0, "ANSWER", "begin", 1), later, True))
        expected += [Begun(cue, later) for cue in once]
    heard = listen.hear(recording.pcm, listen.templates({1.0, float(RATE), *map(float, rates.values())}, 1))
    return listen.Verdict(expected, heard, lambda cue: recording.frame(begun_us[0] * 1000 + cue.at * 1e9), recording.rate)


if __name__ == "__main__":
    seconds = float(next((a for a in sys.argv[1:] if not a.startswith("--")), 3700))
    all_sessions = [Sessions(seconds, *card) for card in ((0, 1), (100, 1), (0, 64), (-100, 64))]
    with Busy("--busy" in sys.argv):
        for s in all_sessions:
            s.start()
        for s in all_sessions:
            s.join()
    changes = [len(s.judge().of("CHANGE")) for s in all_sessions]
    if seconds >= 3700:
        assert min(changes) >= 1000, f"only {changes} stage changes"
