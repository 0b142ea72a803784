"""The daemon dies while paper lies open, and comes back: the watch writes nothing, is not gone, and its keys act again. If it does not
come back the emergency key still has its words."""
import os, pty, select, subprocess, termios
from wet import BUILD, Daemon, until

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=6, run="creek")
c.call("run.begin", run="creek", unheard=True)
master, slave = pty.openpty()
mode = termios.tcgetattr(slave)
mode[3] &= ~termios.ECHO  # a key that comes before the watch is up is echoed by the terminal, not by us
termios.tcsetattr(slave, termios.TCSANOW, mode)
watch = subprocess.Popen([f"{BUILD}/client/wetside", "--socket", d.socket, "--plain", "watch"], stdin=slave, stdout=slave, stderr=slave,
                         env=dict(os.environ, TERM="xterm"))


def wrote():
    return os.read(master, 4096) if select.select([master], [], [], 0)[0] else b""


def told(word):
    return [cue for cue in c.call("status.get")["runs"][0]["cues"] if cue["word"] == word]


def key_acts():
    """A key pressed while no daemon is there is not kept for the next one: pressed again, as one does who hears no answer."""
    before = told("answer")[-1:]

    def pressed():
        os.write(master, b"w")
        return told("answer")[-1:] != before
    return until(pressed, "the key's answer")


key_acts()
for _ in range(3):
    d.kill()
    c = d.start()
    key_acts()  # the log of a new daemon begins anew
    assert watch.poll() is None and wrote() == b""
d.stop()
c = d.start()
key_acts()
d.kill()
os.write(master, b"w")  # nobody hears it
assert wrote() == b""
os.write(master, b"e")
seen = b""


def words():
    global seen
    seen += wrote()
    return b"Lights on." in seen and b"start it: wetsided" in seen


until(words, "the emergency's words")
assert watch.wait(20) == 3
alone = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "emergency"], capture_output=True, text=True)
assert alone.returncode == 3 and "Lights on." in alone.stderr, alone
d.clean()
print("gone and back, in the dark")
