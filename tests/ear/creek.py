"""creek.py: the creek session, hands-free, on a card that keeps time; and what the ear says to it."""
import threading
import listen, rules
from recorded import Recorded
from wet import SOURCE

NAME = "direct-positive-fibre-tank"
AIM_US, STEPPING_AIM_US = 42, 150  # two samples; and where the card's pointer steps by 64 frames


class Answer(rules.Cue):
    """To a key: as soon as it can be heard, not at a time."""
    is_loose = True


class Creek(threading.Thread):
    """rates: by kind of stage, `rest` for the others."""

    def __init__(self, name, rates, rest, pieces, ppm=0, step=1, voice=()):
        super().__init__()
        self.name_, self.rates, self.rest, self.pieces, self.failure = name, rates, rest, pieces, None
        self.aim_us = AIM_US if step == 1 else STEPPING_AIM_US
        self.daemon_ = Recorded(ppm, step, voice)

    def run(self):
        try:
            self.play(self.daemon_.start())
            self.daemon_.stop()
        except BaseException as e:  # an exception in a thread is no failure of the test: told to the main one
            self.failure = e

    def play(self, c):
        c.s.settimeout(900)
        c.call("changes.follow")
        state = c.call("run.rehearse", recipe=NAME, pieces=self.pieces, rate=str(self.rest),
                       rates={kind: str(rate) for kind, rate in self.rates.items()})["run"]
        self.begun_ns = state["begin_us"] * 1000
        while not state["outcome"]:
            state = (c.news.pop(0) if c.news else c.line())["params"]

    def judge(self):
        """Judges the recording; the daemon is not asked."""
        if self.failure:
            raise self.failure
        recording = self.daemon_.recording()
        expected = rules.expected(f"{SOURCE}/recipes/{NAME}.json", self.pieces, self.rates, self.rest).heard()
        expected.insert(0, Answer(0, "ANSWER", "begin", 1))
        heard = listen.hear(recording.pcm, listen.templates({1.0, float(self.rest), *map(float, self.rates.values())}, self.pieces))
        verdict = listen.Verdict(expected, heard, lambda cue: recording.frame(self.begun_ns + cue.at * 1e9), recording.rate)
        verdict.say(self.name_, self.aim_us)
        assert verdict.is_right(), "not what the recipe asks for"
        spoken_over = [str(cue) for cue, h in verdict.found if cue.tone == "CHANGE" and h.likeness < 0.98]
        assert not spoken_over, f"something else sounds into a change: {spoken_over}"
        self.daemon_.clean()
        return verdict
