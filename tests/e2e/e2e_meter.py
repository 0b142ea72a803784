"""meter: readings as typed, to the seconds that are counted; what is refused, and what was assumed. By hand: N^2/t = 2^EV
S/100 (ASA PH2.5-1960), t^1.3 (Schwarzschild), and what the trade says of bright daylight."""
import math, shlex
from wet import *

d = Daemon()
c = d.start()


def near(a, b, share=1e-5):
    assert abs(a / b - 1) < share, (a, b)


r = c.call("meter.compute", reading="1/60 at f/8 index 100", aperture="f/240", paper_index="3", direct_positive=True)
near(r["time_us"] / 1e6, 240 ** 2 / 2 ** 12 * 100 / 3)  # both are marks: EV 12
assert r["bright_ev100_milli"] == 12000 and len(r["bracket"]) == 5 and "lighter" in r["text"], r
for i, row in enumerate(r["bracket"]):
    near(row["time_us"] / 1e6, r["time_us"] / 1e6 * 2 ** ((i - 2) / 3))
    assert row["counted_us"] % 1000000 == 0, row
# Common practice, no source: metered at index 10 and f/128, 8 s is ordinary bright daylight; with 60 s the middle is about 22 s.
two = dict(bright="8 s at f/128 index 10", shaded="60 s at f/128 index 10", aperture="f/128", paper_index="10")
r = c.call("meter.compute", direct_positive=True, **two)
assert abs(r["bright_ev100_milli"] - 14300) < 50 and r["bracket"][2]["counted_us"] == 22000000, r
assert not r["is_held_back"] and "bright reading" in r["text"], r
# What the paper holds is less: the bright reading governs a direct positive, the shaded one a negative.
r = c.call("meter.compute", direct_positive=True, holds="1 stop", **two)
assert r["is_held_back"] and r["bright_millistops"] == 1000 and r["loses_shaded"], r
near(r["time_us"] / 1e6, 16)
r = c.call("meter.compute", negative=True, holds="1 stop", **two)
assert r["is_held_back"] and r["shaded_millistops"] == -1000 and r["loses_bright"], r
near(r["time_us"] / 1e6, 30)
r = c.call("meter.compute", place="1 stop from bright", **two)
near(r["time_us"] / 1e6, 16)
# Pinhole and distance, filter and reciprocity.
r = c.call("meter.compute", reading="4096 cd/m2", pinhole="0.3mm", distance="72mm", paper_index="3", filters=["4x", "density 0.30103"],
           reciprocity="power 1.3", count=1, more="1 stop")
assert r["f_number_milli"] == 240000 and r["bright_ev100_milli"] == 15000, r
metered = 240 ** 2 / 2 ** 15 * 100 / 3 * 8 * 2
near(r["metered_us"] / 1e6, metered)
near(r["time_us"] / 1e6, metered ** 1.3)
near(c.call("meter.compute", reading="81920 lx", aperture="f/8", paper_index="100", bellows="300mm", focal="150mm")["time_us"] / 1e6,
     64 / 2 ** 15 * 4, 1e-3)
# In inches: a hole of 1/64 in at 3 in.
r = c.call("meter.compute", reading="EV 14", pinhole="1/64 in", distance="3 in", paper_index="6")
near(r["f_number_milli"] / 1000, 192, 1e-3)  # holes are kept in whole micrometres
# The sharpest pinhole: 1.9 sqrt(72 mm 450 nm) (Rayleigh 1891).
r = c.call("meter.compute", distance="72mm")
by = {row["formula"]: row["diameter_um"] for row in r["best"]}
near(by["rayleigh"], 1.9 * math.sqrt(72e-3 * 450e-9) * 1e6, 2e-3)
near(by["airy"], math.sqrt(2.44 * 72e-3 * 450e-9) * 1e6, 2e-3)
r = c.call("meter.compute", flash_test="2s", direct_positive=True)
assert [s["total_s"] for s in r["strips"]] == [2, 3, 4, 6, 8, 11] and "full black" in r["text"], r
r = c.call("meter.compute", reading="EV 14.3")
assert "EV 14.3" in r["text"] and "cd/m2" in r["text"], r
for code, params in ((1004, dict(reading="1/60 at f/8")), (1004, dict(reading="14.3")), (1006, dict(reading="EV 14", filters=["2"])),
                     (-32602, dict(reading="EV 14", bright="EV 14", shaded="EV 9")), (-32602, dict(bright="EV 14")),
                     (1002, dict(bright="EV 9", shaded="EV 14")), (-32602, dict(reading="EV 14", place="middle")),
                     (-32602, dict(reading="EV 14", aperture="f/240")), (-32602, dict(reading="EV 14", paper_index="3")),
                     (-32602, dict(pinhole="0.3mm")), (-32602, dict(aperture="f/240", distance="72mm")),
                     (-32602, dict(reading="EV 14", direct_positive=True, negative=True)), (1008, dict(x=1)),
                     (1003, dict(reading="EV 14", aperture="f/240", paper_index="3", bright=None, count=4)),
                     (1004, dict(reading="EV 14", more="1")), (1003, dict(reading="EV 14", k="30")), (1006, dict(reading="1,000 lx")),
                     (-32602, dict(reading="EV 14", pinhole="0.3mm", distance="72mm", magnification="1")),
                     (1003, dict(**two)), (1004, dict(reading="EV 14", pinhole="0.3", distance="72mm")),
                     (-32602, dict(flash_test="2s")), (-32602, {}), (1007, dict(reading="E" * 300)),
                     (1003, dict(reading="EV -15", aperture="f/240", paper_index="3"))):
    if "x" in params:
        code = -32602
    try:
        c.call("meter.compute", **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (code, params, e.args[0])
    else:
        sys.exit(f"{params} was taken")


def client(*args):
    r = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    return r.returncode, r.stdout, r.stderr


code, out, err = client("meter", "--bright", "8 s at f/128 index 10", "--shaded", "60 s at f/128 index 10", "--aperture", "f/128",
                        "--paper-index", "10", "--direct-positive")
assert code == 0 and "> this          22 s       22 s" in out and "governs" in out and not err, (code, out, err)
code, out, err = client("--json", "meter", "--reading", "EV 14.3", "--aperture", "f/128", "--paper-index", "10")
assert code == 0 and abs(json.loads(out)["time_us"] / 8e6 - 1) < 0.03, (code, out, err)
code, out, err = client("meter", "--reading", "1/60 at f/8", "--aperture", "f/128", "--paper-index", "10")
assert code == 1 and not out and "index 100" in err, (code, out, err)
# A camera of the shelf, by its name: put right, kept in the history, out and in again.
code, out, err = client("camera", "add", "tin-one", "--pinhole", "0.3mm", "--distance", "72mm", "--format", "9x12cm")
assert code == 0 and "pinhole of 0.3 mm at 72 mm, f/240; takes 90 mm x 120 mm" in out, (code, out, err)
assert client("camera", "add", "box", "--aperture", "f/11", "--distance", "150mm")[0] == 0
r = c.call("meter.compute", reading="EV 14", camera="tin-one", paper_index="3")
near(r["time_us"] / 1e6, 240 ** 2 / 2 ** 14 * 100 / 3)
assert "tin-one, f/240 (0.3 mm at 72 mm)" in r["text"], r
near(c.call("camera.list")["items"][1]["f_number_milli"] / 1000, 2 ** 3.5, 1e-4)  # f/11 is an engraved mark
assert c.call("camera.change", name="tin-one", distance="75mm")["item"]["f_number_milli"] == 250000
r = c.call("camera.change", name="tin-one", aperture="f/255")["item"]  # as measured: the hole is another than was thought
assert r["hole_um"] == 0 and r["f_number_milli"] == 255000 and r["what"] == "pinhole", r
assert [e["act"] for e in c.call("camera.history", name="tin-one")["events"]] == ["change", "change", "add"]
for code, method, params in ((-32602, "meter.compute", dict(reading="EV 14", camera="tin-one", paper_index="3", aperture="f/8")),
                             (1009, "meter.compute", dict(reading="EV 14", camera="tin-two", paper_index="3")),
                             (-32602, "meter.compute", dict(reading="EV 14", camera="tin-one", paper_index="3", magnification="1")),
                             (1003, "camera.add", dict(name="bad")), (1003, "camera.add", dict(name="bad", pinhole="0.3mm")),
                             (1003, "camera.add", dict(name="bad", kind="lens", pinhole="0.3mm", distance="72mm")),
                             (1002, "camera.add", dict(name="bad", kind="mirror", aperture="f/8")),
                             (1003, "camera.add", dict(name="bad", pinhole="11mm", distance="72mm")),
                             (-32602, "camera.add", dict(name="bad", pinhole="0.3mm", distance="72mm", aperture="f/8")),
                             (1010, "camera.add", dict(name="box", aperture="f/8"))):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (code, method, params, e.args[0])
    else:
        sys.exit(f"{method} {params} was taken")
c.call("camera.discard", name="box", note="dropped")
code, exported, err = client("record", "--export")
assert code == 0 and exported.count('"kind":"camera"') == 2, err
second = Daemon()
second.start()
said = subprocess.run([f"{BUILD}/client/wetside", "--socket", second.socket, "record", "--import", "-"], input=exported, capture_output=True, text=True)
assert said.returncode == 0, said
again = subprocess.run([f"{BUILD}/client/wetside", "--socket", second.socket, "record", "--export"], capture_output=True, text=True).stdout
assert again == exported, (again, exported)
# A hand that makes another aperture of the same hole and distance is seen.
bent = "\n".join(line.replace('"hole_um":0,"distance_um":75000', '"hole_um":300,"distance_um":75000') for line in exported.splitlines()[:-1]) + "\n"
said = subprocess.run([f"{BUILD}/client/wetside", "--socket", second.socket, "record", "--import", "-"], input=bent, capture_output=True, text=True)
assert said.returncode == 1 and "the distance over the pinhole's diameter" in said.stderr, said
second.stop()
second.clean()
c.call("camera.discard", name="tin-one")
# README's own commands, word for word.
told = open(SOURCE + "/README.md").read().split("## Meter and expose")[1].split("\n## ")[0]
commands = [line.strip() for line in told.splitlines() if line.startswith("    wetside ")]
for line in commands:
    code, out, err = client(*shlex.split(line)[1:])
    assert code == 0 and ("> this" in out or "camera add" in line) and not err, (line, code, out, err)
assert len(commands) == 4, commands
assert client("meter")[0] == 2 and client("meter", "--nonsense")[0] == 2
d.stop()
d.clean()
print("metered, placed and counted as the laws say")
