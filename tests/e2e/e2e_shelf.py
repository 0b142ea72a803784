"""The shelf's verbs, and a machine that dies while a bottle is booked: a volume is before or after, never between, never twice."""
import random
from wet import *

seed = int(os.environ.get("WET_SEED", "5"))
rng = random.Random(seed)
print("seed", seed)
POINTS = 100
SECONDS = 30

d = Daemon()
c = d.start()


def refused(code, method, **params):
    try:
        c.call(method, **params)
    except Refused as e:
        assert e.args[0]["code"] == code, (method, params, e.args[0])
        assert e.args[0]["data"]["want"], e.args[0]
        return
    sys.exit(f"{method} {params} was taken")


c.call("bottle.add", name="fixer-stock", what="fixer", volume="100 L", opened="today", lot="7")
refused(-32602, "bottle.add", name="x", what="fixer")
refused(-32602, "bath.add", name="x", what="fixer")
refused(1010, "bottle.add", name="fixer-stock", what="fixer", volume="1 L")
refused(1004, "bottle.use", name="fixer-stock", volume="45")
refused(1006, "bottle.use", name="fixer-stock", volume="2 oz")
refused(1003, "bottle.use", name="fixer-stock", volume="101 L")
refused(-32602, "bottle.use", name="fixer-stock")
refused(1009, "bottle.use", name="no-such", volume="1 mL")
refused(1006, "bath.add", name="x", what="fixer", volume="1 L", dilution="1:9")
refused(1009, "bath.add", name="x", what="fixer", volume="1 L", dilution="1+9", **{"from": "no-such"})
refused(1002, "bottle.add", name="y", what="fixer", volume="1 L", opened="yesterday")
refused(1002, "bottle.add", name="y", what="fixer", volume="1 L", opened="2026-02-31")
refused(1003, "bottle.add", name="y", what="fixer", volume="1 L", opened="2199-01-01")
refused(1002, "vessel.add", name="v", kind="bucket", most="1 L")
refused(1003, "vessel.add", name="v", kind="closed-tank", most="300 mL", least="350 mL")
assert c.call("bath.list")["items"] == [] and c.call("vessel.list")["items"] == []

# -- what is left, by both clocks; how a bath is kept
refused(1002, "bath.add", name="x", what="fixer", volume="1 L", kept="jar")
refused(1009, "bath.add", name="x", what="fixer", volume="1 L", kept="open", vessel="no-such")
c.call("vessel.add", name="dish", kind="trays", most="1 L", tray="20x25cm")
c.call("bottle.add", name="rapid", what="fixer-rapid", volume="1 L")
c.call("bath.add", name="fix", volume="350 mL", dilution="1+4", what="fixer-rapid", kept="open", vessel="dish", **{"from": "rapid"})
c.call("bath.add", name="bare", volume="350 mL", what="fixer-rapid")
old = time.strftime("%Y-%m-%d", time.localtime(time.time() - 90 * 86400))
c.call("bath.add", name="old", volume="350 mL", dilution="2+8", what="fixer-rapid", mixed=old)
c.call("bath.add", name="spent", volume="350 mL", dilution="1+4", what="fixer-rapid", area="2 m2")
shown = {b["name"]: b for b in c.call("bath.list", size="9x12cm")["items"]}
assert {w["as"]: w["pieces_left"] for w in shown["fix"]["ways"]} == {
    "as first of two baths": 88, "alone, commercial": 13, "alone, archival": 2}, shown["fix"]
assert "as first of two baths: 88 pieces; alone, commercial: 13 pieces; alone, archival: 2 pieces" in shown["fix"]["left"] or \
    "alone, commercial: 13 pieces; as first of two baths: 88 pieces; alone, archival: 2 pieces" in shown["fix"]["left"], shown["fix"]["left"]
assert shown["fix"]["kept"] == "open" and shown["fix"]["age"]["by"] == "standing" and "in an open tray" in shown["fix"]["left"]
week = 7 * 86400 * 1000  # 350 mL in 20 x 25 cm: 7 of 25 mm deep
assert week * 0.27 < shown["fix"]["age"]["left_ms"] < week * 0.29, shown["fix"]["age"]
assert "no recipe uses fixer-rapid undiluted" in shown["bare"]["left"] and shown["bare"]["ways"] == [], shown["bare"]["left"]
assert "mixed 89 days ago; its age ran out" in shown["old"]["left"] or "mixed 90 days ago; its age ran out" in shown["old"]["left"], shown["old"]["left"]
assert {w["spent"] for w in shown["old"]["ways"]} == {"age"} and shown["old"]["age"]["by"] == "recipe", shown["old"]
assert "none, its area ran out" in shown["spent"]["left"]
assert "opened just now" in c.call("bottle.list")["items"][1]["left"]  # by being drawn from
c.call("bottle.add", name="new", what="fixer-rapid", volume="1 L")
assert "counts as fresh" in c.call("bottle.list")["items"][2]["left"]
warned = c.call("stock.warnings")
assert warned["count"] == 2 and warned["warnings"][0].startswith("bath old: its age ran out") and \
    warned["warnings"][1] == "bath spent: its area is used up", warned
said = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "status"], capture_output=True, text=True)
assert said.returncode == 0 and "Shelf: bath old: its age ran out" in said.stdout, said
c.call("bath.change", name="fix", kept="covered")
assert c.call("bath.list")["items"][0]["age"]["left_ms"] > 8 * week  # two months under a lid
assert [e["kept"] for e in c.call("bath.history", name="fix")["events"]] == ["covered", "open"]
for name in ("fix", "bare", "old", "spent"):
    c.call("bath.discard", name=name)
c.call("bottle.discard", name="rapid")
c.call("bottle.discard", name="new")

left, made = 100_000_000, 0
for point in range(POINTS):
    size, parts = rng.choice([100, 250, 600]), rng.choice([4, 9, 19])
    request = dict(name=f"bath-{point}", what="fixer", volume=f"{size} mL", dilution=f"1+{parts}", token=f"t{seed}-{point}",
                   **{"from": "fixer-stock"})
    try:
        c.send("bath.add", **request)
        time.sleep(rng.random() * 0.0005)  # a point in time at random, no wait for anything
        d.kill()
    except (OSError, ConnectionError):
        pass
    c = d.start()
    drawn = size * 1000 // (parts + 1)  # exact for all of these
    now = c.call("bottle.list")["items"][0]["volume_ul"]
    baths = {b["name"]: b for b in c.call("bath.list", after=0)["items"]} if point < 50 else None
    was_stored = now != left
    assert now in (left, left - drawn), (point, now, left, drawn)
    if baths is not None:
        assert (request["name"] in baths) == was_stored, (point, was_stored)
    made += was_stored
    c.call("bath.add", **request)  # asking again with the token is safe
    left -= drawn
    now = c.call("bottle.list")["items"][0]["volume_ul"]
    assert now == left, (point, now, left)
# A fixer's two counts are booked together, once or not at all.
c.call("bath.add", name="fix-b", what="fixer", volume="350 mL", dilution="1+4", area="10 cm2", as_second="20 cm2", rotations=2)
for point in range(SECONDS):
    request = dict(name="fix-b", area="1 cm2", as_second="3 cm2", token=f"s{seed}-{point}")
    try:
        c.send("bath.use", **request)
        time.sleep(rng.random() * 0.0005)
        d.kill()
    except (OSError, ConnectionError):
        pass
    c = d.start()
    item = c.call("bath.history", name="fix-b")["item"]
    assert (item["area_mm2"], item["second_mm2"]) in ((1000 + 100 * point, 2000 + 300 * point), (1100 + 100 * point, 2300 + 300 * point)), item
    item = c.call("bath.use", **request)["item"]
    assert (item["area_mm2"], item["second_mm2"]) == (1100 + 100 * point, 2300 + 300 * point), item
assert "0.11 m2" not in item["text"] and "as first" in item["text"] and "pair rotated 2 times" in item["text"], item["text"]
item = c.call("bath.change", name="fix-b", as_second="0.5 m2", rotations=3)["item"]
assert item["second_mm2"] == 500000 and item["rotations"] == 3 and "0.5 m2 as second" in item["text"], item
refused(-32602, "bath.change", name="fix-b", rotations=101)
refused(1004, "bath.change", name="fix-b", as_second="5")
d.stop()
said = subprocess.run([f"{BUILD}/daemon/wetsided", "--check", "--ledger", d.ledger], capture_output=True, text=True)
assert said.returncode == 0, said
d.clean()
print(f"{POINTS} kills; stored before death: {made}, after: {POINTS - made}")
