"""The watch at a terminal: its keys are told, two rehearsals one after another are two, a daemon that dies in the light is waited for,
and `begin --watch` goes on to the watch by itself."""
import pty, select
from wet import *

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
screen = b""


def client(*words):
    global screen
    screen = b""
    master, slave = pty.openpty()
    p = subprocess.Popen([f"{BUILD}/client/wetside", "--socket", d.socket, *words], stdin=slave, stdout=slave, stderr=slave,
                         env=dict(os.environ, TERM="xterm"))
    os.close(slave)
    return p, master


def shows(master, text):
    def look():
        global screen
        if select.select([master], [], [], 0)[0]:
            try:
                screen += os.read(master, 65536)
            except OSError:
                pass
        return text in screen
    until(look, text.decode())


for _ in range(2):  # the second one is not taken for the first, which has the same name
    p, m = client("--plain", "rehearse", TANK, "--rate", "1000", "--pieces", "1")
    shows(m, b"Keys: space goes on")
    shows(m, b"rehearsal: finished.")
    assert p.wait(20) == 0 and screen.count(b"finished") == 1, screen
    os.close(m)
listed = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "status"], capture_output=True, text=True)
assert "No run." in listed.stdout and "rehearsal" not in listed.stdout, listed.stdout

c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, pieces=1, run="creek")
p, m = client("--plain", "watch")
shows(m, b"creek: Ready.")
d.kill()
shows(m, b"the daemon has gone")
c = d.start()
os.write(m, b"w")
until(lambda: any(q["word"] == "answer" for q in c.call("status.get")["runs"][0]["cues"]) or os.write(m, b"w") < 0, "a key acts again")
os.write(m, b"q")
assert p.wait(20) == 0
os.close(m)

p, m = client("--plain", "begin", "--unheard", "--watch")
until(lambda: c.call("status.get")["runs"][0]["phase"] == "handling", "it is begun")
time.sleep(0.3)  # time to write, were it to write
assert not select.select([m], [], [], 0)[0], os.read(m, 4096)
os.write(m, b"e")
shows(m, b"Lights on.")
os.write(m, b"q")
assert p.wait(20) == 0
d.stop()
d.clean()
print("watched: keys told, each rehearsal its own, waited for, begun")
