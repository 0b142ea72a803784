"""A closed-tank session is done blind: the screen shows nothing to anybody, the keys are pressed when the cues ask for it, and from
the developer's go to the end at most eight single keys are (target of ours). Then the other keys, each with its answer: held by a
key kept down, an abandon, a reading in steps that are spoken back."""
import time
from screens import TANK, Terminal, press_until
from wet import Daemon, until

d = Daemon()
c = d.start()
c.call("run.rehearse", recipe=TANK, run="creek", rate="300", rates={"handling": "50", "second-fix": "60"}, mine=True, pieces=2)
hands = Terminal(d.socket, "watch", "--run", "creek")


def run():
    return next(r for r in c.call("status.get")["runs"] if r["name"] == "creek")


def press(key):
    """One press, and its answer by sound."""
    time.sleep(0.2)  # no hand is faster; closer together it is a key that is kept down
    before = max(q["seq"] for q in run()["cues"])
    hands.key(key)

    def is_answered():
        hands.read()  # nobody looks
        return run()["outcome"] or any(q["word"] in ("answer", "refused") for q in run()["cues"] if q["seq"] > before)
    until(is_answered, "an answer")


# Loading: a press a piece, one for the lid.
hands.shows(b"Camera one")
while run()["phase"] == "handling":
    press_until(lambda: hands.key(b" "), lambda seen=run()["number"]: run()["number"] != seen, "a piece")
assert run()["stage_name"] == "Developer"

# What asks for a press: the cues that say so, of a stage that waits.
pressed = 0
answered = -1
while not run()["outcome"]:
    hands.read()
    state = run()
    asks = [q for q in state["cues"] if q["word"] in ("stand-by", "last-minute", "pour-ready", "past-most") and q["at_us"] <= state["now_us"]]
    last = asks[-1]["seq"] if asks else -1
    if last <= answered or state["phase"] not in ("waiting", "past aim"):
        continue
    # A go within two seconds of the one before is a bounce, whatever the rate of the rehearsal.
    before = state["number"]
    press(b" ")
    if run()["number"] != before or run()["outcome"]:
        pressed += 1
        answered = last
assert run()["outcome"] == "finished", run()
assert pressed <= 8, pressed
assert hands.end()[0] == 0

# The other keys.
c.call("run.rehearse", recipe=TANK, run="creek", rate="1", mine=True)
hands = Terminal(d.socket, "watch", "--run", "creek")
hands.shows(b"Camera one")


def hears(key, *words):
    before = [q["seq"] for q in run()["cues"]][-1:]

    def answer():
        new = [q for q in run()["cues"] if not before or q["seq"] > before[0]]
        return next((q for q in new if any(word in q["text"] for word in words)), None)
    press_until(lambda: hands.key(key), answer, f"{key}: {words}")
    return answer()


assert hears(b"h", "Not while handling")["tone"] == "REFUSED"
assert hears(b"z", "That key does nothing here.")["tone"] == "REFUSED"
assert hears(b"\033[A", "That key does nothing here.")["tone"] == "REFUSED"
assert hears(b"7", "That key does nothing here.")["tone"] == "REFUSED", "there is no seventh tank"
assert "Camera one" in hears(b"1", "Camera one")["text"], "the first one says where it is"
assert hears(b"t", "Developer, 20 C?")["tone"] == "ANSWER"
hears(b"-", "Developer, 19.5 C?")
hears(b"+", "Developer, 20 C?")
hears(b"+", "Developer, 20.5 C?")
hears(b" ", "Developer 20.5 C.")
hears(b"t", "Developer, 20.5 C?")
hears(b"u", "That key does nothing here.")  # leaves the reading, and undoes nothing
hears(b"r", "Nothing was interrupted.")
hears(b"a", "Abandon the run? Press three times")
hands.key(b"a" * 40)  # kept down: a terminal tells no release
until(lambda: run()["outcome"] == "abandoned", "held")
assert hands.end()[0] == 0
d.stop()
d.clean()
print(f"a session done blind with {pressed} presses from the developer's go to the end")
