#!/usr/bin/env python3
"""A client whose terminal has gone must end: neither spin nor stay. No signal comes (it is nobody's controlling terminal, and hanging up
is ignored, as under nohup): the terminal itself is all that tells."""
import os, pty, signal, subprocess, sys, time
from wet import BUILD, Daemon, until

TANK = "direct-positive-fibre-tank"


class Line:
    def __init__(self, socket, *words, keys=True, term="xterm-256color"):
        self.master, slave = pty.openpty()
        self.process = subprocess.Popen(
            [f"{BUILD}/client/wetside", "--socket", socket, *words], stdin=slave if keys else subprocess.DEVNULL, stdout=slave, stderr=slave,
            env=dict(os.environ, TERM=term), start_new_session=True, preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN))
        os.close(slave)
        self.seen = b""

    def shows(self, text):
        os.set_blocking(self.master, False)

        def look():
            try:
                self.seen += os.read(self.master, 65536)
            except BlockingIOError:
                pass
            return text in self.seen
        try:
            until(look, text)
        except AssertionError:
            sys.exit(f"{text} is not in {self.seen}")

    def key(self, key):
        time.sleep(0.25)  # nobody has read a line sooner (HASTE_MS)
        os.write(self.master, key)

    def hangs_up(self, what):
        os.close(self.master)
        try:
            until(lambda: self.process.poll() is not None, "the end of: " + what)
        finally:
            self.process.kill()
            self.process.wait()


def watches():
    for words, keys in ((("watch",), True), (("--plain", "watch"), True), (("watch",), False), (("--plain", "watch"), False),
                        (("--json", "watch"), True), (("--json", "watch"), False)):
        yield words, keys, f"{' '.join(words)}, {'with keys' if keys else 'without'}"


def in_light(d):
    for words, keys, what in watches():
        w = Line(d.socket, *words, keys=keys)
        w.shows(b"eady")
        w.hangs_up(what + ", in light")


def conversation(d, c):
    """At a key, at a line that is typed, at the last Enter, and where nobody was ever there."""
    for keys, text in ((b"", b"1 of"), (b"\n", b"Type each as it reads"), (None, b"Ready.")):
        name = "at-" + text.decode().split()[0].strip(".").lower()
        c.call("run.arm", recipe=TANK, run=name)
        for item in c.call("checklist.get", run=name)["items"] if keys is None else ():
            c.call("checklist.answer", run=name, key=item["key"], answer="skipped")
        w = Line(d.socket, "arm", "--go-on", name)
        for n, key in enumerate(keys or b"", 1):
            w.shows(b"%d of" % n)
            w.key(bytes([key]))
        w.shows(text)
        w.hangs_up(f"arm, at {text.decode()!r}")


def lesson(d):
    for keys, text in ((b"", b"alarm"), (b"\n", b"2  ")):
        w = Line(d.socket, "sound", "--teach")
        w.shows(b"1  ")
        for key in keys:
            w.key(bytes([key]))
        w.shows(text)
        w.hangs_up("the lesson")
    w = Line(d.socket, "sound", "--teach", keys=False)
    w.shows(b"1  ")
    w.hangs_up("the lesson, without keys")


def in_dark(d, c):
    """Nothing is written there that could fail; and where the daemon has gone it is waited for."""
    lines = [(what, Line(d.socket, *words, keys=keys)) for words, keys, what in watches()]
    for _, w in lines:
        w.shows(b"eady")
    c.call("run.begin", run="creek", unheard=True)
    half = lines[:3]
    for what, w in half:
        w.hangs_up(what + ", in the dark")
    d.kill()
    for what, w in lines[3:]:
        w.hangs_up(what + ", in the dark, the daemon gone")

if __name__ == "__main__":
    d = Daemon()
    d.sound = f"file:{d.dir}/sound.wav"
    c = d.start()
    c.call("safety.acknowledge", name=TANK, person="")
    c.call("run.arm", recipe=TANK, pieces=2, run="creek")
    for part in (lambda: in_light(d), lambda: conversation(d, c), lambda: lesson(d), lambda: in_dark(d, c)):
        part()
    d.end()
    d.clean()
