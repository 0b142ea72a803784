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
                     (1003, dict(to="20 C", make="0 mL", hot="50 C", cold="9 C"))):
    try:
        c.call("blend.compute", **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (code, e.args[0])
    else:
        sys.exit(f"{params} was taken")
# A bottle in a water bath: Newton's law by hand: 12 -> 20 C in 35 C, which reads 15 C after 5 min.
import math
tau = 300 / math.log((35 - 12) / (35 - 15))
r = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", after="5 min", reads="15 C")
assert abs(r["time_us"] / 1e6 - tau * math.log((35 - 12) / (35 - 20))) < 0.01, r
again = c.call("blend.time", bottle="12 C", **{"in": "35 C"}, to="20 C", constant=f"{r['constant_us'] / 1e6:.6f} s")
assert abs(again["time_us"] - r["time_us"]) < 1000, (again, r)
for code, params in ((1011, dict(to="36 C", constant="10 min")), (-32602, dict(to="20 C")), (1003, dict(to="20 C", after="5 min", reads="40 C")),
                     (1003, dict(to="20 C", after="5 min", reads="35 C"))):
    try:
        c.call("blend.time", bottle="12 C", **{"in": "35 C"}, **params)
    except Refused as e:
        assert e.args[0]["code"] == code and e.args[0]["data"]["want"], (code, e.args[0])
    else:
        sys.exit(f"{params} was taken")
d.stop()
d.clean()
print("blended as IAPWS-95 says; units as typed")
