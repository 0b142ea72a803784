"""Not a byte goes to a terminal while paper of a real run lies open in its room: whatever is typed, however many runs there are,
whichever run is watched. The emergency's words are shown: its lights are on."""
import os, pty, select, subprocess, termios
from wet import BUILD, Client, Daemon, until

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
env = dict(os.environ, TERM="xterm")


class Terminal:
    def __init__(self, *words):
        self.master, slave = pty.openpty()
        mode = termios.tcgetattr(slave)
        mode[3] &= ~termios.ECHO  # a key that comes before the watch is up is echoed by the terminal, not by us
        termios.tcsetattr(slave, termios.TCSANOW, mode)
        self.process = subprocess.Popen([f"{BUILD}/client/wetside", "--socket", d.socket, *words], stdin=slave, stdout=slave,
                                        stderr=slave, env=env)
        os.close(slave)

    def read(self):
        """What was written since; at the end of its life all that is left."""
        got = b""
        while select.select([self.master], [], [], 0)[0]:
            try:
                part = os.read(self.master, 4096)
            except OSError:  # the other side is closed
                break
            if not part:
                break
            got += part
        return got

    def key(self, key):
        os.write(self.master, key)

    def end(self):
        status = self.process.wait(20)
        wrote = self.read()
        os.close(self.master)
        return status, wrote


def one_shot(*words):
    return Terminal(*words).end()


def runs():
    return {run["name"]: run for run in c.call("status.get")["runs"]}


def cues(name):
    return [cue["seq"] for cue in runs()[name]["cues"]][-1:]


def look(t, name):
    """A key that is answered by news of this run; once it is seen here the watch has it too, or gets it before the next one."""
    for key in (b"x", b"y", b"w"):  # the same one so soon would be a key kept down
        before = cues(name)
        t.key(key)
        until(lambda: cues(name) != before, "the key's answer")


c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=2, run="creek")
c.call("run.rehearse", recipe=TANK, run="other", rate="1", mine=True)
c.call("run.arm", recipe=TANK, run="elsewhere", room="school")
status, wrote = one_shot("where", "--run", "creek")
assert status == 0 and b"Ready" in wrote, (status, wrote)
status, wrote = one_shot("go", "--hold")
assert status == 2 and b"no option" in wrote, (status, wrote)

watches = {name: Terminal("--plain", "watch", "--run", name) for name in ("creek", "other", "elsewhere")}
for name, t in watches.items():
    seen = b""

    def shown():
        global seen
        seen += t.read()
        return name.encode() + b": " in seen
    until(shown, f"the watch of {name}")
c.call("run.begin", run="creek", unheard=True)
for t in watches.values():
    t.key(b"w")
for name, t in watches.items():
    before = cues(name)
    look(t, name)
    t.read()  # what was on its way as the light went out
for name, t in watches.items():
    look(t, name)
for name in ("creek", "other"):
    assert watches[name].read() == b"", name
look(watches["elsewhere"], "elsewhere")
until(lambda: b"Ready" in watches["elsewhere"].read(), "another room's watch")

number = 0


def is_crowded_out():
    """A word of the dark run brings it to the front again: as many others as it takes."""
    global number
    number += 1
    c.call("run.rehearse", recipe=TANK, run=f"school-{number}", rate="1", mine=True)
    return "creek" not in runs()


until(is_crowded_out, "more runs than the status tells of")
wrong = [["jump"], ["go", "--hold"], ["go", "one", "two"], ["longer"], ["--help"], ["go", "--help"], ["--version"], [], ["--color=red", "go"],
         ["--plain", "watch"], ["watch", "--run", "none"], ["watch", "--jump"], ["go"], ["go", "--run", "none"], ["where", "--run", "other"],
         ["--json", "go", "--run", "none"], ["--json", "go", "--hold"], ["where", "--run", "creek"], ["status"], ["record", "--jump"],
         ["rehearse", TANK], ["reading", "68"], ["begin", "--run", "creek", "--heard", "x"], ["abandon", "--run", "creek"]]
for words in wrong:
    status, wrote = one_shot(*words)
    assert wrote == b"", (words, wrote)
    assert status in (0, 1, 2), (words, status)
# Not a terminal: told as ever.
told = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "jump"], capture_output=True, text=True)
assert told.returncode == 2 and "no verb" in told.stderr, told
late = Terminal("--plain", "watch", "--run", "other")
look_at = Client(d.socket)
look_at.call("changes.follow")


def other_answered(key):
    late.key(key)
    return until(lambda: next((m for m in iter(look_at.line, None) if m.get("params", {}).get("name") == "other"), None), "news")


for key in (b"x", b"y", b"w"):
    other_answered(key)
assert late.read() == b""

# The emergency: lights on, and its words on every screen.
watches["creek"].key(b"e")
for name in ("creek", "other"):
    seen = b""

    def words():
        global seen
        seen += watches[name].read()
        return b"Lights on." in seen
    until(words, f"the emergency on the screen of {name}")
status, wrote = one_shot("emergency")
assert status == 0 and b"Lights on." in wrote, (status, wrote)
status, wrote = one_shot("where", "--run", "creek")
assert status == 0 and b"Interrupted" in wrote, (status, wrote)
c.call("run.resume", run="creek")
assert one_shot("where", "--run", "creek")[1] == b""
watches["creek"].key(b"q")  # in lines too there is no leaving in the dark, as the shell would write its prompt
look(watches["creek"], "creek")
assert watches["creek"].process.poll() is None, "q left the watch in the dark"
for t in [*watches.values(), late]:
    t.process.terminate()
    t.end()
d.stop()
d.clean()
print("dark is dark, from every verb")
