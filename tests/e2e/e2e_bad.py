"""Bad input through the real socket: each a clear error, and nothing lost. And the screen: not a byte goes to a terminal while
the paper of a real run is open."""
import json, os, pty, select, socket, subprocess, sys, time
from wet import BUILD, SOURCE, Client, Daemon, Refused

d = Daemon()
c = d.start()


def raw(data, wants_reply=True):
    s = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    s.settimeout(20)
    s.connect(d.socket)
    try:
        s.sendall(data)
    except BrokenPipeError:
        pass
    got = b""
    while wants_reply and b"\n" not in got:
        part = s.recv(65536)
        if not part:
            break
        got += part
    s.close()
    return json.loads(got.split(b"\n")[0]) if got else None


assert raw(b'{"jsonrpc": "2.0", "method": \n')["error"]["code"] == -32700
assert raw(b'[' * 5000 + b']' * 5000 + b'\n')["error"]["code"] in (-32700, 1008)
assert raw(b'{"jsonrpc":"2.0","id":1,"method":"status.get\xff"}\n')["error"]["code"] == -32700
assert raw(b'x' * 300000 + b'\n')["error"]["code"] == 1007
raw(b'{"jsonrpc":"2.0","id":1,"me', wants_reply=False)  # broken off
s = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
s.connect(d.socket)
for byte in b'{"jsonrpc":"2.0","id":7,"method":"recipe.list"}\n':  # drip-fed, but whole in time
    s.sendall(bytes([byte]))
assert json.loads(s.recv(65536).split(b"\n")[0])["id"] == 7


def refused(code, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        error = e.args[0]
        assert error["code"] == code, error
        assert error["data"]["want"] or error["data"]["found"], error
        return error["data"]
    raise AssertionError(f"{method} {params} was accepted")


refused(-32601, "run.jump")
refused(-32602, "run.go", runn="creek")
refused(1009, "run.go")
refused(1009, "run.arm", recipe="no-such-recipe")
refused(1004, "dilution.compute", ratio="1+9", make="600")
refused(1006, "dilution.compute", ratio="1:9", make="600 mL")
refused(1011, "dilution.compute", stock="2 %", to="28 %", make="1 L")
refused(1015, "run.arm", recipe="direct-positive-fibre-tank")  # the note comes first
c.call("safety.acknowledge", name="direct-positive-fibre-tank", person="")
refused(1017, "run.arm", recipe="direct-positive-fibre-tank", fill="60 s", drain="60 s")
c.call("run.arm", recipe="direct-positive-fibre-tank", pieces=2, run="creek")
refused(1010, "run.arm", recipe="direct-positive-fibre-tank", run="creek")
refused(1016, "run.begin", run="creek")
refused(1016, "run.begin", run="creek", heard=77)
refused(1004, "run.reading", run="creek", temperature="68")
want = refused(1013, "run.reading", run="creek", temperature="68 C", bath="developer")["want"]
assert "20 C" in want and "30 seconds" in want, want
refused(1009, "run.reading", run="creek", temperature="19 C", bath="soup")
cold = c.call("run.reading", run="creek", temperature="12 C", bath="developer")
refused(1018, "run.begin", run="creek", unheard=True)  # hydroquinone below 13 C
c.call("run.reading", run="creek", temperature="20 C", bath="developer")
c.call("run.begin", run="creek", unheard=True)

assert c.call("sound.play")["tones"]
refused(1011, "sound.play", tone="CHANGE")  # it would be taken for the run's own

# Dark: what a person runs in a terminal writes nothing there.
env = dict(os.environ, TERM="xterm")
for verb in (["where"], ["go"], ["status"], ["recipe"], ["arm", "direct-positive-fibre-tank", "--run", "other"], ["watch"]):
    master, slave = pty.openpty()
    p = subprocess.Popen([f"{BUILD}/client/wetside", "--socket", d.socket] + verb, stdin=slave, stdout=slave, stderr=slave, env=env)
    time.sleep(1.0)
    if verb == ["watch"]:
        os.write(master, b" ")  # a key still acts
        time.sleep(0.5)
        os.write(master, b"q")  # no leaving in the dark: the shell would write its prompt
        time.sleep(0.5)
        assert p.poll() is None, "q left the watch in the dark"
        p.terminate()
    p.wait(20)
    ready, _, _ = select.select([master], [], [], 0.2)
    wrote = os.read(master, 4096) if ready else b""
    assert wrote == b"", (verb, wrote)
    os.close(slave), os.close(master)

# A stuck follower: news for one that never reads does not grow without end, and the others are served.
stuck = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
stuck.connect(d.socket)
stuck.sendall(b'{"jsonrpc":"2.0","id":1,"method":"changes.follow"}\n' + b'{"jsonrpc":"2.0","id":2,"method":"status.get"}\n' * 500)
for _ in range(300):
    c.call("run.where", run="creek")
rss = int(next(l for l in open(f"/proc/{d.process.pid}/status") if l.startswith("VmRSS")).split()[1])
assert rss < 120000, rss
d.stop()
d.clean()
print("refused as told; dark is dark")
