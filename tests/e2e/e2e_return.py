"""Coming back: a boundary nobody could hear starts nothing; after a reboot elapsed time comes from the wall clock, or is a
range where that may not be trusted, and an order is given that is right for the whole range. Two daemons on one ledger."""
import os, subprocess, sys, time
from wet import BUILD, SOURCE, Client, Daemon, Refused


def session(d):
    c = d.start()
    c.call("safety.acknowledge", name="direct-positive-fibre-tank", person="")
    c.call("run.arm", recipe="direct-positive-fibre-tank", pieces=1, run="creek", fill="2 s", drain="2 s")
    c.call("run.begin", run="creek", unheard=True)
    for token in ("piece", "lid", "pour"):
        time.sleep(2.05)
        c.call("run.go", run="creek", token=token)
    return c, c.call("run.where", run="creek")["run"]


def reboot(shift_ms, boot, wall_ms, untrusted=False):
    d = Daemon(program="wetsided-sim")
    wall = d.dir + "/wall"
    open(wall, "w").write("0")
    d.env.update(WET_SIM_BOOT_ID="11111111-1111-4111-8111-111111111111", WET_SIM_WALL_FILE=wall, WET_SIM_BOOT_SHIFT_MS="0")
    c, before = session(d)
    d.kill()
    now_ms = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000000
    d.env.update(WET_SIM_BOOT_ID="22222222-2222-4222-8222-222222222222", WET_SIM_BOOT_SHIFT_MS=str(shift_ms - now_ms))
    if untrusted:
        d.env["WET_SIM_WALL_UNTRUSTED"] = "1"
    open(wall, "w").write(str(wall_ms))
    c = d.start()
    after = c.call("run.where", run="creek")["run"]
    return d, c, before, after


# A trusted clock, 50 s away: still in the developer, with 50 s more behind it.
d, c, before, after = reboot(20000, "2", 50000)
spent = (after["now_us"] - after["begin_us"]) - (before["now_us"] - before["begin_us"])
assert after["stage_name"] == "Developer" and not after["is_late"], after
assert 50e6 < spent < 56e6, spent
d.kill(), d.clean()

# 150 s away: the developer's end came due unheard. It is still in the developer; the order says what to pour.
d, c, before, after = reboot(20000, "2", 150000)
assert after["stage_name"] == "Developer" and after["is_late"], after
assert "Pour in the rinse now" in after["order"], after["order"]
answer = c.call("run.go", run="creek")
assert answer["run"]["stage_name"] == "Rinse", answer
d.kill(), d.clean()

# A clock that can't be trusted: a range, and an order.
d, c, before, after = reboot(130000, "2", 200000, untrusted=True)
assert "between 2 minutes" in after["order"] and "Pour in the rinse now" in after["order"], after["order"]
d.kill(), d.clean()

# A wall clock stepped back: the machine's uptime is the least that passed.
d, c, before, after = reboot(130000, "2", -3600000)
assert after["is_late"] and "Pour in the rinse now" in after["order"], after["order"]

# Two daemons on one ledger, and on one socket.
for socket in (d.dir + "/other/socket", d.socket):
    second = subprocess.run([f"{BUILD}/daemon/wetsided", "--socket", socket, "--ledger", d.ledger, "--recipes", SOURCE + "/recipes",
                             "--safety", SOURCE + "/safety", "--sound", "none"], stderr=subprocess.PIPE, text=True, timeout=20)
    assert second.returncode == 1 and "another" in second.stderr, second
    Client(d.socket).call("status.get")  # the one that lives is still found
d.kill(), d.clean()
print("reboots trusted, untrusted and stepped back; two daemons: as told")
