"""Out of memory: what can't be had is refused, and once there is memory again all is as before. The limit is one on address space,
set from outside while the daemon runs (prlimit of util-linux)."""
import resource, socket
from wet import Client, Daemon, Refused, until

TANK = "direct-positive-fibre-tank"
d = Daemon()
c = d.start()
c.call("run.rehearse", recipe=TANK, run="creek", rate="1", mine=True)
was = resource.prlimit(d.process.pid, resource.RLIMIT_AS)
size = int(next(line for line in open(f"/proc/{d.process.pid}/status") if line.startswith("VmSize")).split()[1]) * 1024
if size > 1 << 40:
    print("SKIP: a sanitizer's shadow takes more address space than can be limited")
    d.stop()
    d.clean()
    raise SystemExit(0)
resource.prlimit(d.process.pid, resource.RLIMIT_AS, (size, was[1]))


def is_refused(method, **params):
    try:
        c.call(method, **params)
        return False
    except Refused as e:
        assert e.args[0]["code"] == 1001, e
        return True


refused = next(i for i in range(2000) if is_refused("run.rehearse", recipe=TANK, run=f"more-{i}", rate="1", mine=True))
# Many at once, while nothing is left: each is served, or closed.
waiting = []
for i in range(400):
    s = socket.socket(socket.AF_UNIX)
    s.setblocking(False)
    try:
        s.connect(d.socket)
        s.send(b'{"jsonrpc":"2.0","id":1,"method":"status.get"}\n')
    except OSError:  # the queue is full, or closed already
        pass
    waiting.append(s)
is_refused("run.where", run="creek")  # who was there before is answered, as far as there is memory for an answer
for s in waiting:
    s.close()
resource.prlimit(d.process.pid, resource.RLIMIT_AS, was)
assert c.call("run.where", run="creek")["done"]


def answered():
    try:
        new = Client(d.socket)
        new.s.settimeout(2)
        return new.call("status.get")
    except OSError:
        return None


assert until(answered, "a new client is answered again")["live_count"] >= 1
d.stop()
d.clean()
print(f"out of memory after {refused} runs, and back")
