"""A rehearsed creek session on a sound card that keeps time (tests/lib/pcm_rtfile.c), which is unplugged and comes back: it is
told both times. What such a card recorded is judged by tests/ear."""
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
session = Unplugged()
session.run()
session.report()
