"""A rehearsed creek session, the whole daemon, on a sound card that keeps time and records (tests/lib/pcm_rtfile.c): every
planned cue is in the recording at its time, in order, none missing, none extra. Two daemons at once, the card of the
second with a crystal that is 100 ppm fast; and a third whose card is unplugged and comes back, which is told both times.

How late onsets are is printed beside the aim of 42 us, two samples at 48 kHz. What is asserted is 20 ms: a busy machine
can make the card run dry, but only a bug is as late as that."""
import os
from paced import Session
from wet import BUILD


class Unplugged(Session):
    def play(self, c):
        c.call("changes.follow")
        state = c.call("run.rehearse", recipe="direct-positive-fibre-tank", pieces=6, rate="4")["run"]
        seen = 0

        def wait_for(text):
            nonlocal state, seen
            while True:
                for cue in state["cues"]:
                    if cue["word"] == "sound" and cue["seq"] > seen:
                        seen = cue["seq"]
                        assert text in cue["text"], f"told {cue['text']!r}, not {text!r}"
                        return
                assert not state["outcome"], f"it was never told: {text}"
                state = (c.news.pop(0) if c.news else c.line())["params"]

        while not os.path.exists(self.raw + ".clock"):  # open; before that there is nothing to unplug
            state = (c.news.pop(0) if c.news else c.line())["params"]
        open(self.gone, "w").close()
        wait_for("no sound from")
        os.unlink(self.gone)
        wait_for("Sound is back.")

    def report(self):
        if self.failure:
            raise self.failure
        print("unplugged and back: told both times")
        self.daemon_.clean()


assert os.access(f"{BUILD}/tests/libasound_module_pcm_rtfile.so", os.R_OK), "the card's plug-in was not built"
sessions = [Session(0), Session(100), Unplugged()]
for session in sessions:
    session.start()
for session in sessions:
    session.join()
for session in sessions:
    session.report()
