"""blend: real water, units as typed, what can't be reached. Outside: the half-and-half of 50 C and 10 C, by Debian's
python3-iapws (IAPWS-95) live."""
from wet import *

PYTHON = "/usr/bin/python3"
d = Daemon()
c = d.start()
r = c.call("blend.compute", to="20 C", make="1 L", hot="50 C", cold="9 C")
assert r["hot_ul"] + r["cold_ul"] + r["stock_ul"] == r["total_ul"] == 1000000, r
oracle = """
from iapws import IAPWS95
def w(c): return IAPWS95(T=c + 273.15, P=0.101325)
hot, cold = w(50), w(9)
mh, mc = %d * hot.rho, %d * cold.rho
h = (mh * hot.h + mc * cold.h) / (mh + mc)
low, high = 9.0, 50.0
while high - low > 1e-6:
    mid = (low + high) / 2
    low, high = (mid, high) if w(mid).h < h else (low, mid)
print(low)
""" % (r["hot_ul"], r["cold_ul"])
said = subprocess.run([PYTHON, "-c", oracle], capture_output=True, text=True)
assert said.returncode == 0, said.stderr
assert abs(float(said.stdout) - r["temperature_mc"] / 1000) < 0.002, (said.stdout, r)
r = c.call("blend.compute", to="68 F", make="32 US fl oz", hot="120 F", cold="50 F", stock="8 US fl oz", stock_at="55 F")
assert r["total"] == "32 US fl oz" and r["stock"] == "8 US fl oz" and r["temperature"].endswith(" F"), r
for code, params in ((1011, dict(to="60 C", make="1 L", hot="50 C", cold="9 C")), (1004, dict(to="20", make="1 L", hot="50 C", cold="9 C")),
                     (1006, dict(to="20 C", make="32 oz", hot="50 C", cold="9 C")), (1002, dict(to="20 C", make="1 L", hot="9 C", cold="50 C")),
                     (1003, dict(to="20 C", make="0 mL", hot="50 C", cold="9 C")),
                     (1003, dict(to="20 C", make="600 mL", hot="50 C", cold="9 C", stock="700 mL")),
                     (-32602, dict(to="20 C", make="600 mL", hot="50 C", cold="9 C", vessel_at="9 C")),
                     (1002, dict(to="20 C", make="600 mL", hot="50 C", cold="9 C", vessel="400 g gold")),
                     (1003, dict(to="20 C", make="600 mL", hot="50 C", cold="9 C", vessel="400 g glass", vessel_at="200 C"))):
    try:
        c.call("blend.compute", **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (code, e.args[0])
    else:
        sys.exit(f"{params} was taken")
# What is said can be poured: to the millilitre, and it sums; nothing speaks of a recipe or its vessel.
import re
r = c.call("blend.compute", to="20 C", make="0.9 L", hot="50 C", cold="9 C")
hot, cold = (int(re.fullmatch(r"(\d+) mL", r[k])[1]) for k in ("hot", "cold"))
assert hot + cold == 900 and r["hot_ul"] == hot * 1000, r
r = c.call("blend.compute", to="68 F", make="1 US gal", hot="120 F", cold="50 F")
hot, cold = (float(re.fullmatch(r"([\d.]+) US fl oz", r[k])[1]) for k in ("hot", "cold"))
assert abs(hot + cold - 128) < 1e-9 and abs(hot * 10 - round(hot * 10)) < 1e-9, r
try:
    c.call("blend.compute", to="20 C", make="600 mL", hot="50 C", cold="9 C", stock="700 mL")
except Refused as e:
    assert "recipe" not in e.args[0]["message"] and "less stock than the total of 600 mL" in e.args[0]["data"]["want"], e.args[0]
# A cold vessel takes heat: the balance by plain arithmetic, water with 4186 J/(kg K) and 0.99 kg/L, glass with the 840 told.
bare = c.call("blend.compute", to="20 C", make="1 L", hot="50 C", cold="9 C")
glass = c.call("blend.compute", to="20 C", make="1 L", hot="50 C", cold="9 C", vessel="1 kg glass", vessel_at="5 C")
assert glass["vessel_j_per_k"] == 840 and "in 1 kg glass at 5 C" in glass["text"], glass
more_ml = 840 * (20 - 5) / (4.186 * 0.99 * (50 - 9))
assert abs((glass["hot_ul"] - bare["hot_ul"]) / 1000 - more_ml) < 2, (bare, glass, more_ml)
assert c.call("blend.compute", to="20 C", make="1 L", hot="50 C", cold="9 C", vessel="1 kg glass")["hot_ul"] < glass["hot_ul"]

# A bottle in a water bath: Newton's law by hand: 12 -> 20 C in 35 C, which reads 15 C after 5 min.
import math
tau = 300 / math.log((35 - 12) / (35 - 15))
r = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", after="5 min", reads="15 C")
assert abs(r["time_us"] / 1e6 - tau * math.log((35 - 12) / (35 - 20))) < 0.01, r
again = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", constant=f"{r['constant_us'] / 1e6:.6f} s")
assert abs(again["time_us"] - r["time_us"]) < 1000, (again, r)
for code, params in ((1011, dict(to="36 C", constant="10 min")), (-32602, dict(to="20 C")), (1003, dict(to="20 C", after="5 min", reads="40 C")),
                     (1003, dict(to="20 C", after="5 min", reads="35 C")),
                     (1011, dict(to="20 C", after="10 s", reads="12.1 C")), (1011, dict(to="20 C", after="2 h", reads="34.9 C")),
                     (-32602, dict(to="20 C", constant="30 min", holds="1 L")), (-32602, dict(to="20 C", constant="30 min", bath="1 L")),
                     (-32602, dict(to="20 C", constant="30 min", room="12 C")),
                     (-32602, dict(to="20 C", constant="30 min", holds="1 L", bath="2 L", room="12 C")),
                     (-32602, dict(to="20 C", constant="30 min", holds="1 L", bath="2 L", bath_constant="3 h")),
                     (1011, dict(to="20 C", constant="30 min", holds="1 L", bath="0.5 L")),
                     (1003, dict(to="20 C", constant="30 min", holds="0 mL", bath="2 L", room="200 C"))):
    try:
        c.call("blend.time", bottle="12 C", **{"in": "35 C"}, **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (code, e.args[0])
    else:
        sys.exit(f"{params} was taken")
# How far the thermometer's 0.1 C takes it off, from the same law.
said = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", after="5 min", reads="15 C")["text"]
low, high = (int(m) * 60 + int(s) for m, s in re.findall(r"(\d+):(\d\d)", said.split("between")[1])[:2])
for told, off in ((low, 0.1), (high, -0.1)):
    by_hand = 300 / math.log((35 - 12) / (35 - 15 - off)) * math.log((35 - 12) / (35 - 20))
    assert abs(told - by_hand) <= 1, (told, by_hand, said)


# A small bath in a room, by small steps of C1 T1' = k12 (T2 - T1); C2 T2' = k12 (T1 - T2) + k2r (Tr - T2), water 4.18 kJ/L K.
def small_bath(holds, bath, tau, tau_bath, room):
    t1, t2, t = 12.0, 35.0, 0.0
    while t1 < 20:
        flow = (t2 - t1) / tau
        t1, t2 = t1 + flow * 0.1, t2 - flow * holds / bath * 0.1 + ((room - t2) / tau_bath * 0.1 if tau_bath else 0)
        t += 0.1
    return t, t2


for params, by_hand in ((dict(holds="1 L", bath="2 L"), small_bath(1, 2, 1800, None, 0)),
                        (dict(holds="1 L", bath="1 L", room="12 C", bath_constant="3 h"), small_bath(1, 1, 1800, 10800, 12))):
    r = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", constant="30 min", **params)
    assert abs(r["time_us"] / 1e6 / by_hand[0] - 1) < 0.01 and abs(r["bath_mc"] / 1000 - by_hand[1]) < 0.2, (r, by_hand)
told = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", constant="30 min", holds="1 L", bath="1 L", room="12 C",
              bath_after="30 min", bath_reads="31.468 C")["time_us"]  # 12 + 23 exp(-30/180) = 31.469: the same 3 h
assert abs(told / 1e6 / by_hand[0] - 1) < 0.01, (told, by_hand)
d.stop()
d.clean()
print("blended as IAPWS-95 says; units as typed")
