"""What must not meet, where people work: a recipe's note, the plan with its sheet and what may not go down after what, the
checklist of a run, a list of weighing. Forbidden recipes are refused, a warning is acknowledged, ordinary work is left in peace."""
import json
from wet import *

d = Daemon()
os.makedirs(d.dir + "/recipes/formulas")
os.makedirs(d.dir + "/safety")


def make(name, change, reason="made for this test"):
    recipe = json.load(open(f"{SOURCE}/recipes/negative-resin-coated-trays.json"))
    note = json.load(open(f"{SOURCE}/safety/negative-resin-coated-trays.json"))
    recipe["name"] = note["recipe"] = name
    note["needs_acknowledgement"] = bool(reason)
    note.pop("reason", None)
    if reason:
        note["reason"] = reason
    change(recipe)
    json.dump(recipe, open(f"{d.dir}/recipes/{name}.json", "w"))
    json.dump(note, open(f"{d.dir}/safety/{name}.json", "w"))


def sulfide_after_the_stop(recipe):
    fixer = next(b for b in recipe["baths"] if b["key"] == "fixer")
    fixer["mix"]["from"], fixer["mix"]["dilution"] = "residual-silver-test", "stock"


def no_acid_in_the_stop(recipe):
    next(b for b in recipe["baths"] if b["key"] == "stop")["mix"]["from"] = "print-developer-metol-hydroquinone"


make("creek-sulfide", sulfide_after_the_stop)
make("creek-no-acid", no_acid_in_the_stop, reason=None)
d.folders = ["--recipes", d.dir + "/recipes", "--safety", d.dir + "/safety"]
c = d.start()


def refused(code, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code, (method, params, e.args[0])
        return e.args[0]["data"]["want"]
    sys.exit(f"{method} {params} was taken")


def run(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    return p.stdout + p.stderr


# Every recipe that is shipped: told, worst first, each with its source; none warns, and what is not known is said once.
ranks = ["inform", "warn", "forbid"]
for r in c.call("recipe.list")["recipes"]:
    meets = c.call("safety.get", name=r["name"])["meets"]
    assert meets == c.call("recipe.get", name=r["name"])["meets"]
    order = [ranks.index(m["severity"]) for m in meets]
    assert order == sorted(order, reverse=True), meets
    assert all(m["source"] and m["text"] and m["do"] for m in meets if m["rule"]), meets
    assert sum(m["rule"] == "" for m in meets) <= 1, meets
    if not r["name"].startswith("creek-"):
        assert not order or order[0] == 0, (r["name"], meets)

reversal = c.call("safety.get", name="reversal-resin-coated-trays")["meets"]
assert "bisulfate dissolved first" in reversal[0]["needs"] and reversal[0]["first"] == "Bleach", reversal
assert "Sulfide drop is not known" in c.call("safety.get", name="test-residual-silver")["meets"][-1]["text"]

# Forbidden: told, and in no plan and no run; not even a rehearsal. Its vessel can be measured with water.
told = run("safety", "creek-sulfide")
assert "Never: Stop bath to Fixer." in told and "hydrogen sulfide" in told, told
c.call("vessel.add", name="bay", kind="trays", least="350 mL", most="900 mL", pieces=4, fill="0 s", drain="15 s")
plan = dict(vessel="bay", pieces=[{"count": 2, "size": "9x12cm"}])
for method, params in (("plan.compute", plan), ("run.arm", {}), ("run.rehearse", {})):
    want = refused(1011, method, recipe="creek-sulfide", **params)
    assert "Stop bath to Fixer gives hydrogen sulfide" in want, want
assert "hydrogen sulfide" in run("plan", "creek-sulfide", "--vessel", "bay", "--pieces", "2", "--size", "9x12cm", status=1)
assert "hydrogen sulfide" in run("arm", "creek-sulfide", status=1)

# A warning must be acknowledged, though the note does not ask for it.
assert c.call("safety.get", name="creek-no-acid")["needs_acknowledgement"]
refused(1015, "run.arm", recipe="creek-no-acid", run="a")
c.call("safety.acknowledge", name="creek-no-acid", person="")
armed = c.call("run.arm", recipe="creek-no-acid", run="a")
assert [m["rule"] for m in armed["meets"]] == ["ammonium-alkali"], armed["meets"]
assert armed["meets"][0]["text"] in armed["checklist"] and armed["meets"][0]["text"].startswith("Care: Stop bath to Fixer.")
c.call("run.abandon", run="a")

# In stale air an open developer and stop bath are a warning; a tank with its lid on is not.
trays = "negative-resin-coated-trays"
assert c.call("safety.get", name=trays, stale_air=True)["meets"][0]["severity"] == "warn"
assert c.call("safety.get", name="direct-positive-fibre-tank", stale_air=True)["meets"][0]["severity"] == "inform"
assert "Care: Developer to Stop bath." in run("safety", trays, "--stale-air")

# The plan: at the line where it is poured, and afterwards.
for what in ("print-developer-metol-hydroquinone", "stop-bath-citric", "fixer-rapid", "clearing-bath-sulfite",
             "reversal-bleach-permanganate"):
    c.call("bottle.add", name=what, what=what, volume="20 L")
result = c.call("plan.compute", recipe="reversal-resin-coated-trays", **plan)
assert result["meets"] == reversal, result["meets"]
after = result["sheet"][result["sheet"].index("AFTERWARDS"):]
assert any("Bleach is spent: it holds silver; into its marked bottle" in line for line in after), after
assert any("never into one bottle: Bleach and Fixer" in line for line in after), after
drains = [line for line in after if "never one after the other" in line]
assert len(drains) == 1 and "Developer and Stop bath" in drains[0] and "rinse the sink" in drains[0], after
assert "Bleach" not in drains[0], "what goes into a bottle does not go down the drain"
assert any("no household bleach and no drain cleaner" in line for line in after), after
printed = run("plan", "reversal-resin-coated-trays", "--vessel", "bay", "--pieces", "2", "--size", "9x12cm")
assert printed.index("What meets in this process") < printed.index("MIXING SHEET") < printed.index("never one after"), printed

# Weighing out: the caution stands at its line.
steps = c.call("formula.compute", name="fixer-acid-hardening")["steps"]
acid = next(i for i, s in enumerate(steps) if s.get("substance", "").startswith("acetic-acid"))
assert any("sulfur dioxide" in line for line in steps[acid]["cautions"]), steps[acid]
assert not any("sulfur dioxide" in line for s in steps[:acid] for line in s["cautions"]), steps
glacial = c.call("formula.compute", name="fixer-acid-hardening", own="acetic-acid-glacial")["steps"][acid]["cautions"]
assert "3 times as much cold water" in glacial[0], glacial
text = run("formula", "fixer-acid-hardening").splitlines()
at = next(i for i, line in enumerate(text) if "acetic acid, 28 %" in line)
assert text[at + 1].startswith("     ! Care: Acid plus sulfite"), text[at:at + 3]

# The shelf: ordinary bottles side by side are left in peace, and the shelf asks where a bottle stands.
for name in c.call("bottle.list")["items"]:
    c.call("bottle.discard", name=name["name"])
assert "Where does it stand" in c.call("bottle.add", name="b", what="fixer-rapid", volume="1 L")["ask"]
c.call("bottle.discard", name="b")
for name, what in (("developer", "print-developer-metol-hydroquinone"), ("stop", "stop-bath-citric"), ("acetic", "stop-bath-acetic"),
                   ("fixer", "fixer-rapid"), ("aid", "washing-aid-sulfite"), ("no-one-knows", "fixer of the neighbours")):
    added = c.call("bottle.add", name=name, what=what, volume="1 L", place="low shelf", beside="none")
    assert added["meets"] == [] and added["ask"] == "" and added["item"]["place"] == "low shelf", added
c.call("bath.add", name="fixer-one", what="fixer-rapid", volume="600 mL", dilution="1+4", place="Low shelf")
assert c.call("status.get")["meets"] == []
assert all(item["cautions"] == [] for item in c.call("bottle.list")["items"])

# Bottles against each other: told at once, in the list and in the status; elsewhere they are no matter.
bleach = c.call("bottle.add", name="permanganate", what="reversal-bleach-permanganate", volume="1 L", place="low shelf")["meets"]
assert {m["then"] for m in bleach} >= {"developer", "fixer"} and {m["severity"] for m in bleach} == {"warn"}, bleach
assert any("permanganate" in text for text in c.call("bottle.list")["items"][0]["cautions"]), c.call("bottle.list")["items"][0]
assert len(c.call("status.get")["meets"]) == len(bleach), "each pair once"
assert c.call("bottle.change", name="permanganate", place="high shelf")["meets"] == []
assert c.call("status.get")["meets"] == []
jar = c.call("bottle.add", name="jar", what="sodium-sulfite-anhydrous", volume="1 L", place="bench")
assert jar["meets"] == []
acid = c.call("bottle.add", name="acid", what="acetic-acid-28-percent", volume="1 L", place="bench")["meets"]
assert [m["rule"] for m in acid] == ["acid-sulfite-shelf"] and acid[0]["source"], acid
strong = c.call("bottle.add", name="peroxide", what="hydrogen-peroxide", strength="3 %", volume="1 L", place="high shelf")["meets"]
assert strong[0]["severity"] == "forbid" and strong[0]["rule"] == "perm-peroxide", strong

# What else stands there: for every bottle of the place, whoever told it.
told = c.call("bottle.change", name="stop", beside="bleach, food")
assert told["item"]["beside"] == ["bleach", "food"] and told["item"]["text"].endswith("low shelf (beside bleach, food)"), told
assert [m["then"] for m in told["meets"]] == ["household bleach", "food"] and told["meets"][0]["forms"] == "chlorine gas", told
status = [m for m in c.call("status.get")["meets"] if m["place"] == "low shelf"]
assert [m["then"] for m in status] == ["household bleach", "food"], status
for item in c.call("bottle.list")["items"]:
    if item["place"] == "low shelf":
        assert any("ousehold bleach" in text for text in item["cautions"]), item
d.kill()
c = d.start()  # kept with the item
assert [m for m in c.call("status.get")["meets"] if m["place"] == "low shelf"] == status
assert "household bleach" in run("status") and "household bleach" in run("bottle", "list")
assert "Where it stands:" in run("bottle", "change", "fixer", "--beside", "drain-cleaner,children")
assert c.call("bottle.change", name="fixer", place="cellar")["item"]["beside"] == [], "another place brings its own"
assert c.call("bottle.change", name="stop", beside="none")["item"]["beside"] == []
assert "household bleach" not in run("status")
assert "drain-cleaner" in refused(1009, "bottle.change", name="stop", beside="soap")
refused(1007, "bottle.change", name="stop", place="x" * 60, beside="food")
assert c.call("bottle.change", name="stop", place="low shelf (beside food)")["item"]["beside"] == ["food"], "as it is shown"
d.stop()
d.clean()
print("told where it is met")
