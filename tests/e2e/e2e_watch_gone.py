"""A watch whose terminal has gone ends, as a page and as lines, in light and in the dark, with a daemon and without: it waits for nobody."""
import os
from screens import TANK, Terminal
from wet import Daemon, until

d = Daemon()
c = d.start()
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, run="creek")
c.call("run.arm", recipe=TANK, run="pond", room="annex")


def heard(name):
    run = next(r for r in c.call("status.get")["runs"] if r["name"] == name)
    return [q["seq"] for q in run["cues"]][-1:]


def start(name, *words, session=True):
    before = heard(name)
    t = Terminal(d.socket, *words, "watch", "--run", name, session=session)
    t.key(b"x")
    until(lambda: heard(name) != before, "a key's answer")
    return t


c.call("run.begin", run="creek", unheard=True)
for is_there in (True, False):
    # Not its controlling terminal: no signal tells it.
    watches = [start(name, *words, session=False) for name in ("creek", "pond") for words in ([], ["--plain"])]
    if not is_there:
        d.kill()
    for t in watches:
        os.close(t.slave)
        os.close(t.master)
        assert t.process.wait(20) in (0, 1, 3, 5), t.process.returncode  # 5: what was to be written could not be
d.clean()
print("gone with its terminal")
