"""The full screen in trouble. Every signal that can be caught ends it with the terminal as it was; ten thousand random resizes and a
storm of keys leave a page that is whole; a second of count-down writes at most a kilobyte."""
import os, random, re, signal
from screens import TANK, Terminal, need_emulator, press_until
from wet import Daemon, until

need_emulator()
d = Daemon()
c = d.start()
c.call("run.rehearse", recipe=TANK, run="creek", rate="1", mine=True)

# -- signals ---------------------------------------------------------------------------
ends = [s for s in signal.valid_signals() if s not in (
    signal.SIGKILL, signal.SIGSTOP, signal.SIGCHLD, signal.SIGCONT, signal.SIGURG, signal.SIGWINCH, signal.SIGTSTP, signal.SIGTTIN,
    signal.SIGTTOU, signal.SIGPIPE)]
named = [s for s in ends if isinstance(s, signal.Signals) and s < signal.SIGRTMIN]
assert len(named) >= 20
for number in named + [signal.SIGRTMIN, signal.SIGRTMAX]:
    t = Terminal(d.socket, "watch", "--run", "creek")
    t.shows(b"leave | ? keys")
    t.process.send_signal(number)
    assert t.process.wait(20) == -number, (number, t.process.returncode)
    last = t.read()
    assert last.endswith(b"\033[?12l\033[?25h\033[?1049l\033[23;0;0t"), (number, last[-80:])
    assert t.is_given_back(), number
    t.end()
hung = Terminal(d.socket, "watch", "--run", "creek")
hung.shows(b"leave | ? keys")
os.close(hung.slave)
os.close(hung.master)
assert hung.process.wait(20) in (-signal.SIGHUP, 0, 3), "the terminal itself has gone"

# -- how much is written -----------------------------------------------------------------
for name in ("pond", "marsh", "slip"):
    c.call("run.rehearse", recipe=TANK, run=name, rate="1", mine=True)
for name in ("creek", "pond", "marsh", "slip"):
    for _ in range(2):  # loaded, and the lid is on
        c.press("run.go", run=name)
for name in ("creek", "pond", "marsh", "slip"):
    c.pressed = 0
    c.press("run.go", run=name)
t = Terminal(d.socket, "watch", "--run", "creek", rows=50, columns=132)
t.draw()
t.sees("Other tanks", "4 slip: 0:")
most = ticks = 0
t.read()
while ticks < 4:
    before = re.search(r"(?m)^in (\d:\d\d)$", t.text())
    wrote = 0

    def is_next():
        global wrote
        wrote += len(t.read())
        return re.search(r"(?m)^in (\d:\d\d)$", "\n".join(line.rstrip() for line in t.screen.display)).group(1) != before.group(1)
    until(is_next, "the next second")
    ticks += 1
    most = max(most, wrote)
assert most <= 1000, most

# -- resizes and keys --------------------------------------------------------------------
r = random.Random(5)
keys = b"wxhu+t-lz?19\033[A\033OP\xc3\xa9\x1b "
for i in range(10000):
    big = i % 500 == 0
    t.resize(r.randint(5, 200 if big else 40), r.randint(20, 500 if big else 80))
    if i % 50 == 0:
        t.key(bytes([r.choice(keys)]))
    if i % 20 == 0:
        t.screen = None  # what is drawn now fits no emulator's size
        t.read()
    assert t.process.poll() is None, "it lives"
t.key(b"x")
until(lambda: not t.read(), "it is still")
for rows, columns in ((5, 20), (12, 40), (200, 500), (24, 80)):
    t.resize(rows, columns)
    t.draw()
    t.resize(rows, columns)
    press_until(lambda: t.key(b"w"), lambda: "EMERGENCY" in t.text() if rows > 5 else re.search(r"\d:\d\d", t.text()), f"{rows} x {columns}")
    for line in t.screen.display:
        assert len(line.rstrip()) <= columns
t.key(b"q")
assert t.end()[0] == 0
d.stop()
d.clean()
print(f"{len(named) + 2} signals, 10,000 resizes; at most {most} bytes in a second of count-down with four tanks")
