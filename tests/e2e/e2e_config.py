"""The configuration file: what it says counts, options go before it, and whatever is wrong in it, the daemon comes up with a run
that is live and tells what it left out."""
import subprocess
from wet import *

TANK = "direct-positive-fibre-tank"
d = Daemon()
d.sound = None
os.makedirs(d.dir + "/config/wetside")
PATH = d.dir + "/config/wetside/config.json"


def start(config, *options):
    """The daemon on this text of a file, with these options and no others about sound and voice; its status."""
    open(d.dir + "/log", "w").close()
    if config is None:
        if os.path.exists(PATH):
            os.remove(PATH)
    else:
        open(PATH, "w").write(config if isinstance(config, str) else json.dumps(config))
    d.process = subprocess.Popen([f"{BUILD}/daemon/wetsided", "--socket", d.socket, "--ledger", d.ledger, "--recipes", SOURCE + "/recipes",
                                  "--safety", SOURCE + "/safety", *options], stderr=open(d.dir + "/log", "a"), env=d.env)

    def connect():
        assert d.process.poll() is None, open(d.dir + "/log").read()
        try:
            return Client(d.socket)
        except OSError:
            return None
    c = until(connect, "the daemon")
    return c, dict(c.call("status.get"), **c.call("inputs.get"))


def log():
    return open(d.dir + "/log").read()


# What it says counts: no sound is no fault, and no voice was asked for.
wav = d.dir + "/session.wav"
_, s = start({"sound": {"where": "file:" + wav}, "voice": {"name": "none"}})
assert s["config"] == {"path": PATH, "faults": [], "fault_count": 0}, s["config"]
assert s["voice"]["health"] == "none" and os.path.exists(wav)
d.stop()
# An option goes before it.
os.remove(wav)
_, s = start({"sound": {"where": "file:" + wav}, "voice": {"name": "none"}}, "--sound", "none")
assert not os.path.exists(wav)
d.stop()
# No file: nothing to tell. One that was named and isn't there is told.
_, s = start(None, "--sound", "none", "--voice", "none")
assert s["config"] is None
d.stop()
_, s = start(None, "--sound", "none", "--voice", "none", "--config", d.dir + "/none.json")
assert s["config"]["fault_count"] == 1 and "none.json" in s["config"]["faults"][0] and "none.json" in log()
d.stop()

# A run is live; whatever the file is then, the run comes back.
c, s = start({"voice": {"name": "none"}, "sound": {"where": "none"}})
c.call("safety.acknowledge", name=TANK, person="")
c.call("run.arm", recipe=TANK, run="creek")
d.kill()
bad = {
    "no JSON": ('{ "sound": ', [":1:"]),
    "empty": ("", [":1:"]),
    "a list": ("[]", ["an object"]),
    "zeros": ("\0" * 100, ["UTF-8"]),
    "huge": (" " * 70000, ["at most 65536 bytes"]),
    "deep": ("[" * 40000, ["levels"]),
    "a bad part": ({"sound": {"where": "loud", "level": 9000}, "voice": {"name": "none"}, "probes": [{"name": "a"}], "x": 1},
                   ["#/sound/where", "#/sound/level", "#/probes/0/file", "#/x"]),
    "no such file for sound": ({"sound": {"where": f"file:{d.dir}/none/a.wav"}, "voice": {"name": "none"}}, ["#/sound/where", "none/a.wav"]),
    "no such language": ({"sound": {"where": "none"}, "voice": {"language": "zz"}}, ["#/voice/language"]),
}
for name, (text, told) in bad.items():
    _, s = start(text)
    assert [r["name"] for r in s["runs"]] == ["creek"], name
    assert s["config"]["fault_count"] == len(s["config"]["faults"]) >= 1, (name, s["config"])
    for word in told:
        assert any(word in f for f in s["config"]["faults"]), (name, word, s["config"])
        assert word in log(), (name, word, log())
    shown = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "status"], capture_output=True, text=True)
    assert shown.returncode == 0 and "Configuration: " in shown.stdout, shown
    d.kill()
os.remove(PATH)
os.mkfifo(PATH)  # does not hang
d.process = None
fifo = subprocess.run([f"{BUILD}/daemon/wetsided", "--check-config", PATH], capture_output=True, text=True, timeout=20)
assert fifo.returncode == 1 and "config.json" in fifo.stderr, fifo
os.remove(PATH)

# --check-config tells all of it, and makes neither socket nor ledger.
open(PATH, "w").write('{"sound": {"level": 9000}, "probes": 3}')
got = subprocess.run([f"{BUILD}/daemon/wetsided", "--check-config", PATH, "--ledger", d.dir + "/no.sqlite"], capture_output=True, text=True)
assert got.returncode == 1 and "#/sound/level" in got.stderr and "#/probes" in got.stderr and got.stdout == "", got
assert not os.path.exists(d.dir + "/no.sqlite")
open(PATH, "w").write("{}")
got = subprocess.run([f"{BUILD}/daemon/wetsided", "--check-config", PATH], capture_output=True, text=True)
assert (got.returncode, got.stdout, got.stderr) == (0, f"{PATH}: sound\n", ""), got
d.clean()
print(f"{len(bad)} files that are wrong, and the run came back each time")
