"""Ten runs at once on one card, so that their changes and cues fall into one another's sound; and one run alone on another.
From the developer's begin to the second fixer's, each cue of each run is found in the recording, to the sample, and when each
stage change began is printed for ten runs beside one.

The tones are soft here, so that ten together are still their plain sum; that more than full scale is made softer without a
click is tested in unit/test_sound.c, and that each sentence names its tank and the most urgent goes first in test_saying.c and
test_talk.c."""
import threading
import numpy as np
import listen, rules
from creek import AIM_US, NAME
from recorded import Recorded
from wet import SOURCE

LEVEL = 100
RATES = {"handling": 8, "develop": 12, "rinse": 12, "stop": 12, "fix": 60, "second-fix": 60}
REST = 200
APART = 0.02  # seconds at least from one run's begin to the next: all changes sound together


class Runs(threading.Thread):
    def __init__(self, count):
        super().__init__()
        self.count, self.failure = count, None
        self.daemon_ = Recorded(voice=("--voice", "none", "--level", str(LEVEL)))

    def run(self):
        try:
            self.play(self.daemon_.start())
            self.daemon_.stop()
        except BaseException as e:
            self.failure = e

    def play(self, c):
        c.s.settimeout(300)
        c.call("changes.follow")
        self.begun_us, ended, pause = [], set(), threading.Event()
        for i in range(self.count):
            state = c.call("run.rehearse", recipe=NAME, run=f"tank {i + 1}", pieces=1, rate=str(REST), rates={k: str(r) for k, r in RATES.items()})["run"]
            self.begun_us.append(state["begin_us"])
            pause.wait(APART)
        while len(ended) < self.count:
            state = (c.news.pop(0) if c.news else c.line())["params"]
            if state.get("outcome"):
                ended.add(state["name"])

    def judge(self):
        if self.failure:
            raise self.failure
        recording = self.daemon_.recording()
        session = rules.expected(f"{SOURCE}/recipes/{NAME}.json", 1, RATES, REST)
        first_bath = session.began[0][1] - 0.1  # before, the light of the room is told once it is dark for no other run
        last_change = dict(session.began)["Second fixer"] + 0.001
        expected = sorted((rules.Cue(cue.at + (begun - self.begun_us[0]) / 1e6, cue.tone, cue.why, cue.rate, cue.pips)
                           for begun in self.begun_us for cue in session.heard() if first_bath < cue.at < last_change), key=lambda cue: cue.at)
        due = lambda cue: recording.frame(self.begun_us[0] * 1000 + cue.at * 1e9)
        pcm = np.array(recording.pcm)
        pcm[:int(recording.frame(self.begun_us[0] * 1000 + first_bath * 1e9))] = 0
        placed, stuck = listen.hear_exactly(pcm, expected, due, LEVEL)
        assert stuck is None, f"at {stuck / recording.rate:.4f} s sounds what nobody expects"
        assert len(placed) == len(expected), f"{len(expected) - len(placed)} cues are missing"
        errors = [(cue, (frame - due(cue)) / recording.rate * 1e6) for cue, frame in placed]
        changes = sorted(abs(e) for cue, e in errors if cue.tone == "CHANGE")
        together = max(sum(0 <= frame - begin < cue.length * recording.rate for _, frame in placed) for cue, begin in placed)
        print(f"{self.count} run{'s' if self.count > 1 else ''}: {len(placed)} cues, none missing, none extra; at most {together} sound together; "
              f"onset {listen.spread([abs(e) for _, e in errors], AIM_US)}; of changes {listen.spread(changes, AIM_US)}", flush=True)
        assert self.count == 1 or together >= self.count
        self.daemon_.clean()
        return changes


both = [Runs(10), Runs(1)]
for runs in both:
    runs.start()
for runs in both:
    runs.join()
many, one = (runs.judge() for runs in both)
assert len(many) == 10 * len(one)
