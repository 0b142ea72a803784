"""A service manager hears of the daemon: ready, a watchdog while a run is live, none when it is over, stopping.
The manager is a socket of ours; what is sent is that of sd_notify(3)."""
import os, socket, tempfile
from wet import *

folder = tempfile.mkdtemp(prefix="wetside-notify.")
path = folder + "/notify"
manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
manager.bind(path)
manager.settimeout(20)


def heard():
    return manager.recv(4096).decode().split("\n")


d = Daemon(env={"NOTIFY_SOCKET": path})
c = d.start()
assert "READY=1" in heard()
c.call("status.get")
manager.settimeout(0.3)
try:
    raise SystemExit(f"an idle daemon says {heard()}")
except TimeoutError:
    manager.settimeout(20)
c.call("safety.acknowledge", name="direct-positive-fibre-tank", person="")
c.call("run.arm", recipe="direct-positive-fibre-tank", pieces=1, run="creek")
said = heard()
assert "WATCHDOG=1" in said and any(s.startswith("WATCHDOG_USEC=") and int(s[14:]) > 0 for s in said), said
c.call("run.abandon", run="creek")
said = heard()
assert said == ["WATCHDOG_USEC=0"], said
d.stop()
assert "STOPPING=1" in heard()
d.clean()
shutil.rmtree(folder)
print("ready, watched while a run is live, unwatched, stopping")
