"""How often the idle daemon wakes: context switches of all its threads, both kinds, over ten seconds: alone, with fifty
followers connected, and with those and a run that waits for a press. Prints them; the aim is 0. (The last without sound:
a sound device that is open is fed in periods.)

    bench_idle.py [SECONDS]"""
import glob, json, os, re, sys, time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "..", "e2e"))
from wet import Client, Daemon

seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 10


def switches(pid):
    """By thread: its name and how often it was switched away from."""
    count = {}
    for path in glob.glob(f"/proc/{pid}/task/*/status"):
        text = open(path).read()
        number = path.split("/")[-2] + " " + re.search(r"^Name:\s*(.*)$", text, re.M).group(1)
        count[number] = sum(int(n) for n in re.findall(r"ctxt_switches:\s*(\d+)", text))
    return count


def measure(daemon, name):
    time.sleep(2)  # what was asked for just before is over
    before = switches(daemon.process.pid)
    time.sleep(seconds)
    after = switches(daemon.process.pid)
    woke = {thread: n - before.get(thread, 0) for thread, n in after.items()}
    by = ", ".join(f"{thread.split()[1]} {n}" for thread, n in woke.items() if n)
    print(f"  {name}: {sum(woke.values())} wake-ups of {len(woke)} threads in {seconds} s (aim 0){': ' + by if by else ''}",
          flush=True)


def follow(daemon, first):
    followers = [first] + [Client(daemon.socket) for _ in range(49)]
    for f in followers:
        f.call("changes.follow")
    return followers


d = Daemon(sound="default")
first = d.start()
measure(d, "no run, no follower")
followers = follow(d, first)
measure(d, "no run, 50 followers")
d.stop()
d.clean()

d = Daemon(sound="none")
os.makedirs(d.dir + "/config/wetside")
os.mkfifo(d.dir + "/config/pedal")
with open(d.dir + "/config/wetside/config.json", "w") as file:
    json.dump({"foot_switches": [{"name": "pedal", "device": d.dir + "/config/pedal"}, {"name": "away", "device": d.dir + "/config/away"}],
               "probes": [{"name": "probe", "file": d.dir + "/config/probe", "room": "darkroom"}]}, file)
first = d.start()
measure(d, "no run, a foot switch, one that is away, a probe")
d.stop()
d.clean()

d = Daemon(sound="none")
followers = follow(d, d.start())
followers[0].call("run.rehearse", recipe="direct-positive-fibre-tank", pieces=6, rate="1", mine=True)
measure(d, "a run that waits for a press, no sound, 50 followers")
d.stop()
d.clean()
