"""A table of safety data or of substances that can't be used, each in turn: the daemon goes on, `wetside status` names the file,
and no page of safety passes for whole. A recipe or a formula that is there has its page."""
import subprocess
import wet
from wet import *

GAP = "NOT WHOLE: a table of safety data could not be used"
TABLES = ("safety/substances.json", "safety/gases.json", "safety/incompatibilities.json", "safety/statements.json",
          "safety/practice.json")


def cut(path):
    whole = open(path, "rb").read()
    open(path, "wb").write(whole[:len(whole) // 2])


def started(spoil=None, table=None):
    d = Daemon()
    for folder in ("recipes", "safety"):
        shutil.copytree(f"{SOURCE}/{folder}", f"{d.dir}/{folder}")
    if spoil:
        spoil(f"{d.dir}/{table}")
    wet.SOURCE = d.dir  # where the daemon looks
    return d, d.start()


def pages(c):
    names = [r["name"] for r in c.call("recipe.list")["recipes"]] + [f["name"] for f in c.call("formula.list")["formulas"]]
    return {name: c.call("safety.get", name=name)["note"] for name in names}


def status(d):
    said = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "status"], capture_output=True, text=True)
    assert said.returncode == 0, said
    return said.stdout


d, c = started()
assert "Shelf:" not in status(d) and not any(GAP in " ".join(page.split()) for page in pages(c).values())
d.stop()
d.clean()
for table in TABLES:
    for spoil in (cut, os.remove):
        d, c = started(spoil, table)
        name = table.split("/")[1]
        first = next(line for line in status(d).splitlines() if line.startswith("Shelf:"))
        assert name in first and name in c.call("recipe.list")["faults"][0], (table, first)
        seen = pages(c)
        assert len(seen) >= 15 and all(GAP in " ".join(page.split()) for page in seen.values()), (table, len(seen))
        d.stop()
        d.clean()

# Without what substances weigh there are no formulas, and it is said why.
for spoil in (cut, os.remove):
    d, c = started(spoil, "recipes/substances.json")
    got = c.call("formula.list")
    assert got["formulas"] == [] and len(got["faults"]) == 1 and "substances.json" in got["faults"][0], got
    d.stop()
    d.clean()
print("a table that can't be used is named, and its pages say so")
