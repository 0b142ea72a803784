"""The verb dilute through a real daemon: answers in the unit typed, both readings of a colon, criss-cross, steps, graduates.
Numbers are from tests/data/dilution_examples.json and glassware.json where those have the case, else plain arithmetic."""
import json, os, pty, select, subprocess, sys, time
from wet import BUILD, SOURCE, Daemon, Refused

d = Daemon()
c = d.start()
wetside = [BUILD + "/client/wetside", "--socket", d.socket]


def run(*args, status=0, text=()):
    p = subprocess.run(wetside + ["dilute", *args], stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=20)
    said = p.stdout + p.stderr
    assert p.returncode == status, (args, p.returncode, said)
    assert not (status and p.stdout), (args, p.stdout)
    for part in (text,) if isinstance(text, str) else text:
        assert part in said, (args, part, said)
    return said


def answer(*args):
    return json.loads(run(*args, "--json"))


# Parts.
run("1+9", "--make", "600mL", text="540 mL of water, then 60 mL of stock: 600 mL.")
run("1+9", "--have", "45mL", text="405 mL of water, then 45 mL of stock: 450 mL.")
run("1+1+10", "--make", "600 mL", text="500 mL of water, then 50 mL of stock 1, then 50 mL of stock 2: 600 mL.")
run("1+1+10", "--have", "45 mL", text=("450 mL of water", "45 mL of stock 2: 540 mL."))
run("1+0", "--make", "600 mL", text="600 mL of stock: 600 mL.")
a = answer("1+9", "--make", "600mL")
assert (a["stock_ul"], a["water_ul"], a["total_ul"]) == (60000, 540000, 600000), a
assert [p["name"] for p in a["steps"][0]["pours"]] == ["water", "stock"], a

# What can't be measured is refused, water too; nothing is said to be nine times stronger.
run("1+9", "--make", "600mL", "--graduate", "5mL", status=1, text=("a larger graduate for 540 mL", "over 20 times"))
# Units come back as typed; a gallon's parts in fluid ounces, 128 to the US gallon and 20 to the imperial pint.
run("1+63", "--make", "1 US gal", text="126 US fl oz of water, then 2 US fl oz of stock: 1 US gal.")
run("1+3", "--make", "1 imp gal", text="0.75 imp gal of water, then 0.25 imp gal of stock: 1 imp gal.")
run("1+9", "--make", "1 imp pint", text="18 imp fl oz of water, then 2 imp fl oz of stock: 1 imp pint.")
run("1+9", "--make", "20 US fl oz", text="18 US fl oz of water, then 2 US fl oz of stock: 20 US fl oz.")
run("1+9", "--make", "20 imp fl oz", text="18 imp fl oz of water, then 2 imp fl oz of stock: 20 imp fl oz.")
run("1+9", "--make", "1200mL", text="1080 mL of water, then 120 mL of stock: 1200 mL.")
run("1+9", "--make", "1.5 L", text="1.35 L of water, then 150 mL of stock: 1.5 L.")
# US Army subcourse SS0513: 32 oz of 28 % from 99.5 %, 9 and 23.
run("--stock", "99.5%", "--to", "28%", "--make", "32 US fl oz", text="22.99 US fl oz of water, then 9.01 US fl oz of stock")
run("1+9", "--make", "20 oz", status=1, text=("US fl oz", "imp fl oz", "591.5 mL", "568.3 mL"))
run("1+9", "--make", "1 pint", status=1, text=("473.2 mL", "568.3 mL"))

# A colon: both readings, worked out; a choice only where somebody can be asked.
said = run("1:9", "--make", "1000mL", status=1, text=("1+9", "1+8", "100 mL", "111.11 mL", "888.89 mL"))
run("1:9", "--make", "1000mL", "--json", status=1, text='"1:9"')
run("1:1", "--make", "600mL", status=1, text="the stock itself")
run("9:1", "--make", "600mL", status=1)
asked = c.call("dilution.compute", ratio="1:9", make="600mL", reading="ask")
assert [r["ratio"] for r in asked["readings"]] == ["1+9", "1+8"], asked
assert c.call("dilution.compute", ratio="1:9", make="900mL", reading="whole")["stock_ul"] == 100000
assert c.call("dilution.compute", ratio="1:9", make="900mL", reading="parts")["stock_ul"] == 90000


def at_terminal(typed, *args):
    """What a person at a terminal sees who types this at the question, and the exit status."""
    pid, fd = pty.fork()
    if pid == 0:
        os.execv(wetside[0], wetside + ["dilute", *args])
    seen, sent, end = b"", False, time.monotonic() + 20
    while time.monotonic() < end:
        if select.select([fd], [], [], 0.5)[0]:
            try:
                part = os.read(fd, 4096)
            except OSError:
                break
            if not part:
                break
            seen += part
        if not sent and b"Which, 1 or 2?" in seen:
            os.write(fd, typed)
            sent = True
    return seen.decode(), os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


seen, status = at_terminal(b"2\n", "1:9", "--make", "1000mL")
assert status == 0 and "100 mL of stock and 900 mL" in seen and "888.89 mL of water, then 111.11 mL of stock" in seen, seen
seen, status = at_terminal(b"1\n", "1:9", "--make", "1000mL")
assert status == 0 and "900 mL of water, then 100 mL of stock" in seen, seen
seen, status = at_terminal(b"\n", "1:9", "--make", "1000mL")
assert status == 1 and "then 1" not in seen, seen
seen, status = at_terminal(b"", "--no-input", "1:9", "--make", "1000mL")
assert status == 1 and "Which" not in seen, seen

# Strengths, criss-cross, percent of what.
run("--stock", "28%", "--to", "2%", "--have", "45mL", text="585 mL of water, then 45 mL of stock: 630 mL.")
run("--stock", "2%", "--to", "28%", "--make", "1L", status=1, text="no stronger than the stock")
run("--stock", "100%", "--with", "50%", "--to", "70%", "--make", "20mL", text="12 mL of 50 %, then 8 mL of 100 %: 20 mL.")
run("--stock", "50%", "--with", "100%", "--to", "70%", "--have", "12mL", text="12 mL of 50 %, then 8 mL of 100 %: 20 mL.")
assert "water" not in answer("--stock", "28%", "--with", "5%", "--to", "10%", "--make", "230mL")
run("--stock", "28%", "--with", "5%", "--to", "10%", "--make", "230mL", text="180 mL of 5 %, then 50 mL of 28 %: 230 mL.")
run("--stock", "28%", "--with", "5%", "--to", "30%", "--make", "1L", status=1, text="from 5 % to 28 %")
run("--stock", "100% w/w", "--to", "28% w/v", "--make", "1L", status=1, text="what is dissolved")
run("--stock", "100% w/w", "--to", "28% w/v", "--solute", "acetic acid", "--make", "1L", text="267.25 mL of stock")  # 280 / 1.0477
run("--stock", "100% w/w", "--to", "28% w/v", "--solute", "acetic-acid", "--make", "1L", text="267.25 mL of stock")
run("1+9", "--make", "1e99L", status=1, text="not understood: 1e99L")
run("1+9", "--make", "½ L", text="then 50 mL of stock: 500 mL.")
run("--stock", "99.5% w/w", "--to", "28% w/w", "--solute", "acetic acid", "--make", "1L", status=1, text="maximum")
for bad in ("0%", "-5%", "nan%", "101%", "28"):
    run("--stock", "28%", "--to", bad, "--make", "1L", status=1)
for bad in ("0mL", "-600mL", "nan mL", "1e3 mL", "99999999999L", "600"):
    run("1+9", "--make", bad, status=1)

# Graduates: the smallest that holds it, its graduation, its tolerance, several fills, and a series.
said = run("1+9", "--make", "600mL", "--graduate", "100mL", text=(
    "5 times the 100 mL graduate full and 40 mL", "stock: 60 mL in the 100 mL graduate; it may be off by 1.67 %"))
assert "which is much" not in said and "than asked" not in said, said
a = answer("--stock", "10%", "--to", "2.4%", "--make", "50mL", "--graduate", "100mL", "--graduate", "25mL")
stock = a["steps"][0]["pours"][1]["measure"]  # 12 mL in the 25: 2.833 %, as in glassware.json
assert stock["measured_ul"] == 12000 and stock["tolerance_milli_percent"] == 2833 and stock["is_coarse"], a
said = run("1+13", "--make", "100mL", "--graduate", "50mL", "--graduate", "100mL", text=("stock: 7 mL", "which is much", "weaker than asked"))
run("1+9", "--make", "600mL", "--graduate", "1000mL", text="how exact this graduate is, is not known here")
run("1+9", "--make", "3mL", "--graduate", "100mL", status=1, text="finer graduate")
run("1+9", "--make", "600mL", "--graduate", "600mL", status=1, text="least graduation")
a = answer("1+99", "--make", "100mL", "--graduate", "5mL", "--graduate", "100mL", "--graduate", "25mL")
draws = [s["pours"][-1]["volume_ul"] for s in a["steps"]]
assert len(a["steps"]) == 1 or min(draws) >= 5000, a
a = answer("1+499", "--make", "100mL", "--graduate", "5mL", "--graduate", "100mL", "--graduate", "25mL")
strength = 1.0
for s in a["steps"]:
    strength *= s["pours"][-1]["volume_ul"] / s["total_ul"]
    assert s["pours"][-1]["volume_ul"] >= 5000 and sum(p["volume_ul"] for p in s["pours"]) == s["total_ul"], a
assert len(a["steps"]) > 1 and abs(strength * 500 - 1) < 1e-3, (strength, a)

# Concentrate to stock to working: 1 in 5 and 1 in 8 is 1 in 40.
run("1+4", "--then", "1+7", "--make", "400mL", text=("Step 1: 40 mL of water, then 10 mL of stock: 50 mL.",
                                                     "Step 2: 350 mL of water, then 50 mL of step 1: 400 mL."))
run("1+4", "--then", "1+7", "--have", "10mL", text="then 50 mL of step 1: 400 mL.")
run("1+4", "--then", "1:7", "--make", "400mL", status=1)
run("--stock", "28%", "--to", "2%", "--then", "1+1", "--make", "1L", status=2, text="give a ratio")

for params in (dict(ratio="1+9", make="1L", graduates="100mL"), dict(ratio="1+9", make="1L", graduates=[100]),
               dict(ratio="1+9", make="1L", graduates=["100mL"] * 13), dict(ratio="1+9", make="1L", then=["1+1"] * 6),
               dict(ratio="1+9", make="1L", stock="28%"), dict(ratio="1+9"), dict(stock="28%", to="2%", then=["1+1"], make="1L")):
    try:
        print(c.call("dilution.compute", **params))
        sys.exit(f"accepted: {params}")
    except Refused as e:
        assert e.args[0]["code"] == -32602, (params, e)

# Those of the shelf, where none is typed; and which. What they can't measure is told then, not refused.
c.call("graduate.add", name="tall", holds="100 mL", marks="1 mL")
c.call("graduate.add", name="small", holds="10 mL", marks="0.2 mL")
run("1+9", "--make", "600mL", text=("stock: 60 mL in the 100 mL graduate", "on the shelf: tall, small"))
run("1+49", "--make", "600mL", text="stock: 1 times the 10 mL graduate full and 2 mL in the 10 mL graduate")
run("1+9", "--make", "600mL", "--graduate", "250mL", text="stock: 60 mL in the 250 mL graduate")
assert "shelf" not in run("1+9", "--make", "600mL", "--graduate", "250mL")
run("1+9", "--make", "30L", text=("27 L of water, then 3 L of stock", "No graduate on the shelf measures that: a larger graduate"))
run("1:9", "--make", "1000mL", status=1, text=("1+9", "1+8"))
answer_now = json.loads(run("1+9", "--make", "600mL", "--json"))
assert answer_now["steps"][0]["pours"][1]["measure"]["measured_ul"] == 60000, answer_now
formula = subprocess.run([wetside[0], "--socket", d.socket, "formula", "ascorbate-phenidone-developer", "--make", "1L"], capture_output=True, text=True)
assert formula.returncode == 0 and "measured to 0.2 mL, as small on the shelf is marked" in formula.stdout, formula
assert "measured" not in json.loads(subprocess.run([wetside[0], "--socket", d.socket, "--json", "formula", "stop-bath-citric", "--measure", "1mL"],
                                                   capture_output=True, text=True).stdout)["measured"]
for name in ("tall", "small"):
    c.call("graduate.discard", name=name)
assert "shelf" not in run("1+9", "--make", "600mL")
d.stop()
d.clean()
print("dilute: every answer as expected")
