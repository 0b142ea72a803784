"""Clients that drip: one byte at a time without an end, half a line and silence, a line that is too long, whole lines and then
half a one. Each is held to its limit (limits.h), counted from the line's first byte; who is merely silent is left alone; and
meanwhile another client's acts are done and stored and a run's deadlines are kept."""
import json, re, select, socket, time
from wet import SOURCE, Client, Daemon, until

RECIPE = "direct-positive-fibre-tank"
limits = open(SOURCE + "/include/wetside/limits.h").read()
DRIP_S = int(re.search(r"WET_DRIP_NS (\d+)LL", limits).group(1)) / 1e9
LINE = 64 * 1024
assert re.search(r"WET_REQUEST_BYTES \(64 \* 1024\)", limits), "the limit has another value"
ASK = b'{"jsonrpc":"2.0","id":%d,"method":"recipe.list"}\n'

d = Daemon()
c = d.start()


class Dripper:
    """What it was sent lies in `got` until the daemon closes; then `closed` is when."""

    def __init__(self, first=b""):
        self.s = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.s.connect(d.socket)
        self.got, self.closed, self.began = b"", None, None
        if first:
            self.send(first)

    def send(self, data):
        if self.began is None:
            self.began = time.monotonic()
        try:
            self.s.sendall(data)
        except (BrokenPipeError, ConnectionResetError):
            pass

    def look(self):
        if self.closed is None and select.select([self.s], [], [], 0)[0]:
            try:
                part = self.s.recv(65536)
            except ConnectionResetError:
                part = b""
            self.got += part
            if not part:
                self.closed = time.monotonic()
                self.s.close()
        return self.closed

    def replies(self):
        return [json.loads(line) for line in self.got.split(b"\n") if line]


# Too long a line: an answer that says so, once, and the end; sent at once, and in pieces by one who doesn't look.
for pieces in (1, 40):
    long = Dripper()
    for i in range(pieces):
        long.send(b"x" * (LINE // pieces + 1))
    long.send(b"x")
    until(long.look, "too long a line is closed")
    assert [r["error"]["code"] for r in long.replies()] == [1007] and long.replies()[0]["id"] is None, long.got
just = Dripper(b'{"jsonrpc":"2.0","id":1,"method":"recipe.list"}'.ljust(LINE) + b"\n")  # exactly as long as allowed
until(lambda: just.look() or b"\n" in just.got, "an answer")
assert just.replies()[0]["id"] == 1 and just.closed is None, just.got

# Half a line, and the sending side is shut: nothing more can come.
half = Dripper(b'{"jsonrpc"')
half.s.shutdown(socket.SHUT_WR)
until(half.look, "half a line from one who has gone is closed")
assert half.got == b"" and half.closed - half.began < DRIP_S, "it was waited for all the same"

c.call("safety.acknowledge", name=RECIPE, person="")
c.call("run.rehearse", recipe=RECIPE, run="beside", pieces=1, rate="400")
c.call("run.rehearse", recipe=RECIPE, run="creek", pieces=1, rate="1", mine=True)

drip, mute, one = Dripper(b"{"), Dripper(b'{"jsonrpc":"2.0","id":1,'), Dripper(b" ")
blank = Dripper(b"\n\n\r\n")  # no line was begun
some = Dripper(ASK % 1 + ASK % 2 + b'{"jsonrpc"')
crowd = [Dripper(b'{"id":' + b"1" * 1000) for _ in range(300)]
idle = Dripper()
slow = Dripper()
slow.rest = (ASK % 9)
ends = [drip, mute, one, some] + crowd
acts, late = 0, None
deadline = time.monotonic() + 3 * DRIP_S
while any(e.closed is None for e in ends):
    assert time.monotonic() < deadline, [i for i, e in enumerate(ends) if e.closed is None]
    # The dripping goes on all the while, in time with the acts of another.
    drip.closed or drip.send(b"1")
    if slow.rest:
        slow.send(slow.rest[:1])
        slow.rest = slow.rest[1:]
    answer = c.call("run.reading", run="creek", bath="developer", temperature=f"{20 + acts % 2 / 10} C", token=f"r{acts}")
    assert answer["done"] and answer["stored"], answer
    acts += 1
    if acts == 100:
        late = Dripper(b"{")
    for e in ends + [idle, slow, blank]:
        e.look()
    time.sleep(0.02)
beside = c.call("run.where", run="beside")["run"]
# Nobody else stirs now: the daemon wakes up for the last one by itself.
assert beside["outcome"] == "finished" and late.closed is None and not late.look()
late.s.settimeout(3 * DRIP_S)
assert late.s.recv(1) == b""
late.closed = time.monotonic()
ends.append(late)
for e in ends:
    assert e.closed - e.began >= DRIP_S, f"closed after {e.closed - e.began} s"
assert [r["id"] for r in some.replies()] == [1, 2], "what was whole is answered"
assert all(e.got == b"" for e in [drip, mute, one] + crowd)
assert [r["id"] for r in slow.replies()] == [9], slow.got
for e in (idle, slow, blank, just):
    e.look()
    assert e.closed is None, "a client may be silent as long as it likes between lines"
    e.got = b""
    e.send(ASK % 5)
    until(lambda: e.look() or b"\n" in e.got, "an answer")
    assert e.replies()[0]["id"] == 5, e.got

assert beside["late_max_us"] < 1000000, beside["late_max_us"]  # WET_GAP_NS is two seconds: nothing stood still
assert "order" not in [q["word"] for q in beside["cues"]], beside["cues"]
record = c.call("record.get", run=c.call("run.where", run="creek")["run"]["id"])["events"]
assert [e["token"] for e in record if e["act"] == "reading"] == [f"r{i}" for i in range(acts)][:len(record) - 1], record
c.call("run.abandon", run="creek", held=True)
d.stop()
d.clean()
worst = max(e.closed - e.began for e in ends)
print(f"{len(ends)} drippers closed, the last after {worst:.2f} s; {acts} acts of another stored; latest boundary {beside['late_max_us']} us")
