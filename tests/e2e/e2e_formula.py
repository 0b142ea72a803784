"""Formulas through the real socket and the real client: the list, a weigh-out list with a hydrate that is owned, a small scale,
and what cannot be: each a clear error. The numbers are the ratio of molar masses, computed here from standard atomic masses."""
import re, json, os, subprocess
from wet import BUILD, SOURCE, Daemon, Refused

d = Daemon()
c = d.start()


def run(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "formula", *args], capture_output=True, text=True)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    return p.stdout if status == 0 else p.stderr


def refused(code, method="formula.compute", **params):
    try:
        c.call(method, **params)
    except Refused as e:
        error = e.args[0]
        assert error["code"] == code, error
        return error["data"]
    raise AssertionError(f"{method} {params} was accepted")


listed = c.call("formula.list")
shipped = [f for f in os.listdir(f"{os.environ['WET_SOURCE_DIR']}/recipes/formulas") if f.endswith(".json")]
assert listed["faults"] == [] and len(listed["formulas"]) == len(shipped) >= 13, listed
names = [f["name"] for f in listed["formulas"]]
assert names == sorted(names)
for name in names:
    whole = c.call("formula.get", name=name)
    assert whole["formula"]["name"] == name and whole["formula"]["sources"] is not None
    out = c.call("formula.compute", name=name, make="2 L", scale="10 mg", measure="0.1 mL")
    assert out["steps"][0]["do"] == "water" and out["steps"][-1]["do"] == "fill-up" and out["make_ul"] == 2000000
    assert any("an adult weighs and mixes" in caution for caution in out["cautions"]), name
    assert out["cautions"][-1].startswith("The safety data sheet outranks this"), out["cautions"]

# Anhydrous carbonate asked for, crystals owned: 67.5 g * M(decahydrate) / M(anhydrous).
H, C, O, NA = 1.008, 12.011, 15.999, 22.98976928
dry = 2 * NA + C + 3 * O
crystals = 67.5e3 * (dry + 10 * (2 * H + O)) / dry
developer = "print-developer-metol-hydroquinone"
step = c.call("formula.compute", name=developer, own="sodium-carbonate-decahydrate", scale="1 g")["steps"][5]
assert abs(step["exact_mg"] - crystals) < 1 and step["mass_mg"] == 182000 and step["is_replaced"], step

# Dissolving crystals chills: 64.87 kJ/mol (PHREEQC databases, as in daemon/heat), 182 g in 500 mL. The solid's own
# heat capacity makes it a little less than all the heat taken from the water alone.
taken_k = 182 / (dry + 10 * (2 * H + O)) * 64870 / (500 * 4.18)
assert -taken_k < step["change_mc"] / 1000 < -taken_k * 0.7 and "It chills the water by about" in step["text"], (step, taken_k)
assert "It warms the water by about 8 C (6 to 9)." in run(developer), run(developer)

# Crystals in place of a solution: the water that it would have brought is put back (800 mL of 1.32 g/mL or so, 40 % water).
dry_fixer = c.call("formula.compute", name="fixer-rapid", own="ammonium-thiosulfate")["steps"]
assert dry_fixer[1]["is_replaced"] and 500000 <= dry_fixer[0]["volume_ul"] <= 600000, dry_fixer[:2]
assert c.call("formula.compute", name="fixer-rapid")["steps"][0]["volume_ul"] == 130000

# What people see: cautions before the list, the list in its order.
text = run(developer, "--make", "500mL", "--own", "sodium-carbonate-monohydrate", "--own", "sodium sulfite, heptahydrate")
order = ["an adult weighs", "The safety data sheet outranks", "1. 250 mL of water at 52 C", "2. A pinch", "3. 1.6 g of metol",
         "4. 45 g of sodium sulfite, heptahydrate", "hydroquinone", "6. 39.5 g of sodium carbonate, monohydrate", "potassium bromide",
         "8. Cold water to make 500 mL", "Use: "]
places = [text.index(word, text.index("In this order") if word[0].isdigit() else 0) for word in order[2:]]
assert text.index(order[0]) < text.index(order[1]) < places[0], text
assert places[:2] == sorted(places[:2]) and all(text.index(a) < text.index(b) for a, b in zip(order[2:6], order[3:6])), text
assert "(3.2 % more than the exact 1.55 g)" in text, text
ends = text[text.index("Use: "):].splitlines()
assert ends[1] == "Where the amounts come from:" and ends[2] == "  sodium carbonate, anhydrous, potassium bromide: from memory", ends
assert ends[3].startswith("  metol, sodium sulfite, anhydrous, hydroquinone: Handicraft") and len(ends) == 5, ends
phenidone = run("ascorbate-phenidone-developer", "--make", "1L", "--scale", "0.05g")
assert "of a 1 % solution of phenidone in alcohol" in phenidone and "1 g, and alcohol to make 100 mL" in phenidone, phenidone
assert json.loads(run("stop-bath-citric", "--make", "1L", "--json"))["steps"][1]["mass_mg"] == 15000
assert "stop-bath-citric" in run() and len(run().splitlines()) == len(shipped)

# A percent solution is no stronger than what dissolves: permanganate 6.4, borax 5 g in 100 mL (from memory).
table = json.load(open(SOURCE + "/recipes/substances.json"))
assert all("solubility" in s for s in table["substances"] if s["stock"] != "none"), table
bleach = run("reversal-bleach-permanganate", "--make", "1L")
assert "100 mL of a 1 % solution of potassium permanganate" in bleach and "10 %" not in bleach, bleach
borax = run("borax-developer-metol-hydroquinone", "--make", "200mL")
assert "40 mL of a 1 % solution of borax, decahydrate" in borax, borax
# The volume that is told does, also by a percent solution; a little less does not.
want = refused(1003, name="ascorbate-phenidone-developer", make="400 mL")["want"]
least = int(re.search(r"make (\d+) mL or more", want)[1])
assert 500 < least <= 600 and "of a 1 % solution of phenidone" in run("ascorbate-phenidone-developer", "--make", f"{least}mL"), want
assert refused(1003, name="ascorbate-phenidone-developer", make=f"{least - 20} mL")
# A scale that shows grains is read in grains: 48 of them are 3.11 g (NIST Handbook 44, the grain of 64.79891 mg).
grains = run(developer, "--make", "1L", "--scale", "1 grain")
assert "48 grains (3.11 g) of metol" in grains and "694 grains (44.97 g) of sodium sulfite" in grains, grains
quarter = c.call("formula.compute", name=developer, make="1 L", scale="1/4 grain")["steps"]
for step in quarter:
    if step["do"] == "weigh":
        told = float(re.match(r"([\d.]+) grains \(", step["text"])[1])
        assert told * 4 == round(told * 4) and abs(told * 64.79891 - step["mass_mg"]) < 0.51, step
assert not any(line.endswith(" ") for line in (bleach + borax + grains).splitlines())

# What cannot be.
assert "sodium-carbonate-monohydrate" in refused(1009, name=developer, own="sodium-carbonate-trihydrate")["want"]
assert "another substance" in refused(1011, name=developer, own=["potassium-carbonate-anhydrous"])["want"]
assert refused(1010, name=developer, own=["soda ash", "washing soda"])["where"] == "own"
assert refused(1009, name="developer of the neighbours")
refused(-32602, name=developer, own=[7])
refused(-32602)
refused(1004, name=developer, make="1")
refused(1003, name=developer, make="1 mL")
refused(1005, name=developer, scale="1 mL")
assert "make" in refused(1003, name=developer, make="20 mL")["want"]
assert "another substance" in run(developer, "--own", "potassium-carbonate-anhydrous", status=1)
run("--nonsense", status=2)
assert "Example: wetside formula" in run("--help")
# What it can do to a person, at this strength: hydroquinone is a stock's, not a dilute acid's.
hazards = c.call("formula.compute", name=developer)["hazards"]
assert hazards["signal"] == "Warning" and hazards["unknown"] == [], hazards
codes = [line.split()[0] for line in hazards["lines"]]
assert {"H317", "H341", "H351"} <= set(codes) and not any("<" in line for line in hazards["lines"]), hazards
assert any("hydroquinone" in why for why in hazards["why"]), hazards
mild = c.call("formula.compute", name="stop-bath-citric")["hazards"]
assert mild["signal"] == "" and mild["lines"] == [], mild  # no crying wolf
bleach = c.call("formula.compute", name="reversal-bleach-permanganate")["hazards"]
assert "H272" not in [line.split()[0] for line in bleach["lines"]], bleach  # of the crystals, not of a gram in a litre
assert bleach["signal"] == "Danger" and any("pH about 1." in line and "until it is tested" in line for line in bleach["lines"]), bleach
note = c.call("safety.get", name="123-31-9")["note"]
assert note.startswith("hydroquinone") and "Emergency: 112" in note and "H351" in note, note
# The sheet of what is hazardous asks for its acknowledgement, that of what is mild does not.
assert f"acknowledge it once before you mix it: wetside safety {developer} --acknowledge" in run(developer)
assert "acknowledge" not in run("stop-bath-citric")
d.stop()
d.clean()
print("weighed out in its order")
