"""From begin until the lights may come on, exactly 0 bytes go to the terminal of the full-screen watch: counted on a pseudo-terminal,
while wrong keys, resizes, stops, another client's errors, and a daemon that dies and comes back happen. The emergency key breaks
through, also where no daemon is; and a watch that is started, or ended by a signal, in the dark writes nothing."""
import random, signal
from screens import TANK, Terminal, need_emulator, press_until
from wet import Daemon, until

need_emulator()
d = Daemon()
c = d.start()
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=2, run="creek")


def run():
    return next(r for r in c.call("status.get")["runs"] if r["name"] == "creek")


def answered(t, key):
    """Pressed until it is heard: while no daemon is there nobody hears it."""
    before = [q["at_us"] for q in run()["cues"]][-1:]

    press_until(lambda: t.key(key), lambda: [q["at_us"] for q in run()["cues"]][-1:] != before, f"an answer to {key!r}")


def storm(t):
    """All that may happen in the dark, but keys that act."""
    for seed in range(20):
        r = random.Random(seed)
        t.resize(r.randint(1, 200), r.randint(1, 300))
        t.process.send_signal(signal.SIGTSTP)
        t.key(*r.sample([b"x", b"\033[A", b"q", b"7", b"?", b"\xc3\xa9", b"\x1a", b"\x13", b"!", b"r"], 4))
    answered(t, b"w")


# Begun from the shell: cleared to black before, nothing after.
watch = Terminal(d.socket, "begin", "--run", "creek", "--unheard", "--watch")
until(lambda: run()["phase"] == "handling", "it is begun")
begun = watch.read()
assert b"\033[2J" in begun and b"48;5;16" in begun, begun
assert b"\033[?25l" in begun and b"Ready" not in begun, begun
late = Terminal(d.socket, "watch", "--run", "creek")
started = [watch, late]
for t in started:
    answered(t, b"w")
    assert t.read() == b"", "from the first answer on nothing"
for t in started:
    storm(t)
    assert t.read() == b""
for _ in range(2):
    d.kill()
    for t in started:
        t.key(b"w", b" ", b"x")  # nobody hears it
    c = d.start()
    for t in started:
        answered(t, b"w")
        answered(t, b"x")
d.stop()
c = d.start()
for t in started:
    storm(t)
    assert t.read() == b"", "dead and back"
one_shot = Terminal(d.socket, "go", "--run", "none")
assert one_shot.end()[1] == b""

# Ended by a signal in the dark: the keyboard is as it was, the screen stays black.
gone = Terminal(d.socket, "watch", "--run", "creek")
answered(gone, b"w")
gone.process.send_signal(signal.SIGTERM)
until(lambda: gone.process.poll() is not None, "its end")
assert gone.is_given_back() and gone.end() == (-signal.SIGTERM, b"")

# To the end of the dark stage: a press a piece, and the lid.
for stage, piece in (("Unload", 2), ("Lid on", 0)):
    name = run()["doing"]
    press_until(lambda: watch.key(b" "), lambda: run()["doing"] != name, f"past {name}")
    assert run()["stage_name"] == stage
    assert watch.read() == b"" and late.read() == b"", stage
name = run()["doing"]
press_until(lambda: watch.key(b" "), lambda: run()["phase"] == "waiting", "the lid is on")
for t in started:
    t.shows(b"Developer, bottle one")  # and by itself it is back

# Taking the lid's press back makes it dark again: black first, then the act.
watch.read()
watch.key(b"u")
until(lambda: run()["phase"] == "handling", "dark again")
black = watch.read()
assert b"48;5;16" in black and b"Developer" not in black and b"Unload" not in black, black
answered(watch, b"w")
watch.read(), late.read()
answered(watch, b"x")
answered(late, b"x")
assert watch.read() == b"" and late.read() == b""

# The emergency: lights on, on every screen, at once.
watch.key(b"e")
for t in started:
    t.shows(b"Lights on. Get out")
until(lambda: run()["phase"] == "interrupted", "it is interrupted")
late.key(b"q")
assert late.end()[0] == 0
# Resumed it is dark again; then no daemon is there, and the key still has its words, and tells the next daemon.
watch.read()
watch.key(b"r")
until(lambda: run()["phase"] == "handling", "resumed")
assert b"Resume" not in watch.read()
answered(watch, b"w")
watch.read()
d.kill()
assert watch.read() == b""
watch.resize(24, 80)
watch.draw()
watch.key(b"e")
watch.shows(b"Lights on. Get out")
c = d.start()
until(lambda: run()["phase"] == "interrupted", "the emergency reaches the daemon that came back")
watch.sees("Resume with r")
watch.key(b"q")
status, last = watch.end()
assert status == 0 and b"\033[?1049l" in last and b"\033[?25h" in last, (status, last)
d.stop()
d.clean()
print("0 bytes in the dark")
