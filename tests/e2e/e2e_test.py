"""The tests that people do, through the real client: listed apart from the recipes, shown with how they read, and one of them
armed. Their sense is the direct positive's own: a dark-kept scrap must go black (tests of ordinary paper read the
other way; common practice, no source)."""
import json, os, subprocess
from wet import BUILD, Daemon

d = Daemon()
c = d.start()


def run(*args, status=0):
    p = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, *args], capture_output=True, text=True)
    assert p.returncode == status, (args, p.returncode, p.stdout, p.stderr)
    return p.stdout if status == 0 else p.stderr


shelf = f"{os.environ['WET_SOURCE_DIR']}/recipes"
files = {f[:-5] for f in os.listdir(shelf) if f.endswith(".json") and "schema" not in f and f != "substances.json"}
kinds = {name: json.load(open(f"{shelf}/{name}.json")).get("kind", "process") for name in files}
tests = sorted(name for name in files if kinds[name] == "test")
assert len(tests) >= 6, tests
listed = [line.split()[0] for line in run("test").splitlines()]
assert listed[:-1] == tests and listed[-1] == "What", listed
assert sorted(line.split()[0] for line in run("recipe").splitlines()) == sorted(files - set(tests))

for name in tests:
    text = run("test", name)
    assert text == run("test", name.removeprefix("test-")), name
    doc = json.load(open(f"{shelf}/{name}.json"))
    for reading in doc["reading"]:
        assert f"{reading['see']}: {reading['means']}" in text, (name, reading)
    assert f"wetside arm {name}" in text and f"wetside rehearse {name}" in text
    assert run("safety", name).startswith("# Safety: ")
vigour = run("test", "developer-vigour")
assert "clipped scrap must be full black, the other white" in vigour, vigour
for name in ("nothing", "test-nothing", "direct-positive-fibre-tank"):
    assert f"there is no test '{name}'" in run("test", name, status=1)

# The one without hazard is armed at once, in white light; the others want their note acknowledged.
refused = run("arm", "test-residual-silver", "--pieces", "1", status=1)
assert "acknowledge" in refused, refused
run("arm", "test-clearing-time", "--pieces", "1")
live = c.call("status.get")["runs"][0]
assert live["recipe"] == "test-clearing-time", live
d.stop()
