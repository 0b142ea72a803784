"""What becomes of the sound, by the whole daemon on cards that keep time (tests/lib/pcm_rtfile.c) with a mixer of ours
(ctl_rtmixer.c): muted at the sound check and during a run, told to every follower and when it is back; another device in the middle
of a run, by one and by twenty at once; a card that is pulled in the very period of a stage change; killed while it plays. How often
its threads wake: counted, by thread."""
import concurrent.futures, glob, json, os, re, subprocess, time
from wet import BUILD, Client, Daemon, Refused, until

TANK = "direct-positive-fibre-tank"
GOOD, MUTED = "Master on 60\nHeadphone on 80\n", "Master off 60\nHeadphone on 80\n"
PERIODS = 200  # of the feeder in a second


class Bench(Daemon):
    def __init__(self, mixer=GOOD, sound="default"):
        super().__init__(sound=sound)
        if mixer:
            self.put("mixer", mixer)
        with open(self.dir + "/asound.conf", "w") as f:
            f.write(f'pcm_type.rtfile {{ lib "{BUILD}/tests/libasound_module_pcm_rtfile.so" }}\n'
                    f'ctl_type.rtmixer {{ lib "{BUILD}/tests/libasound_module_ctl_rtmixer.so" }}\n'
                    f'ctl.!default {{ type rtmixer file "{self.dir}/mixer" }}\n')
            for name in ("!default", *(f"card{i}" for i in range(20))):
                f.write(f'pcm.{name} {{ type rtfile file "{self.dir}/{name.strip("!")}.raw" gone "{self.dir}/{name.strip("!")}.gone" '
                        f'hint {{ show on description "{name.strip("!")} on\nthe bench" }} }}\n')
        self.env.update(ALSA_CONFIG_PATH=self.dir + "/asound.conf")

    def put(self, name, text):
        with open(f"{self.dir}/{name}.new", "w") as f:
            f.write(text)
        os.rename(f"{self.dir}/{name}.new", f"{self.dir}/{name}")

    def wetside(self, *args):
        return subprocess.run([f"{BUILD}/client/wetside", "--socket", self.socket, *args], capture_output=True, text=True, timeout=30,
                              stdin=subprocess.DEVNULL)

    def switches(self):
        """Times that each kind of thread went to sleep by itself."""
        count = {}
        for path in glob.glob(f"/proc/{self.process.pid}/task/*/status"):
            try:
                text = open(path).read()
            except OSError:  # it has just ended
                continue
            name = re.search(r"^Name:\s*(.*)$", text, re.M).group(1)
            count[name] = count.get(name, 0) + int(re.search(r"^voluntary_ctxt_switches:\s*(\d+)", text, re.M).group(1))
        return count

    def woke(self, seconds):
        before, began = self.switches(), time.monotonic()
        time.sleep(seconds)
        after = self.switches()
        assert "wetsided" in after, after
        return {name: after[name] - before.get(name, 0) for name in after}, time.monotonic() - began


class Follower(Client):
    """Sees what every follower sees."""

    def __init__(self, path):
        super().__init__(path)
        self.cues, self.sound = {}, ""
        self.call("changes.follow")

    def look(self):
        self.call("rpc.discover")  # news come before the answer
        for run in (n["params"] for n in self.news):
            self.sound = run["sound"]
            self.cues.update({(run["name"], cue["seq"]): cue for cue in run["cues"]})
        self.news = []
        return [cue["text"] for _, cue in sorted(self.cues.items()) if cue["word"] == "sound"]

    def told(self, text):
        return until(lambda: any(text in t for t in self.look()), f"told: {text}; was told: {self.look()}")


def arm(c, name="real", **more):
    c.call("safety.acknowledge", name=TANK, person="keeper")
    return c.call("run.arm", recipe=TANK, person="keeper", run=name, pieces=1, **more)


def muted():
    d = Bench(mixer=MUTED)
    c = d.start()
    followers = [Follower(d.socket), Follower(d.socket)]
    assert arm(c)["sound_check"]
    for f in followers:
        f.told("is muted (its mixer says: Master is muted)")
        assert "muted" in f.sound, f"who looks in later is not told: {f.sound!r}"
    status = c.call("status.get")["sound"]
    assert status["health"] == "not well" and "muted" in status["text"], status
    # The check stays asked, and by the verb it is told in plain words.
    try:
        c.call("run.begin", run="real")
        raise AssertionError("a check that nobody could hear is passed")
    except Refused as e:
        assert e.args[0]["code"] == 1016, e
    out = d.wetside("arm", TANK, "--run", "second", "--person", "keeper", "--no-input").stdout
    assert "NO SOUND: \"default\" is muted" in out, out
    c.call("run.abandon", run="second", held=True)
    d.put("mixer", GOOD)
    for f in followers:
        f.told("Sound is back.")
        assert f.sound == "", f.sound
    # Under way.
    c.call("run.begin", run="real", unheard=True)
    d.put("mixer", "Master on 0\nHeadphone on 80\n")
    for f in followers:
        f.told("Master is at zero")
    time.sleep(1.1)
    d.put("mixer", GOOD)
    for f in followers:
        f.told("Sound is back. It was gone for ")
    assert any("Camera one, slot one." in t for t in followers[0].look()), f"nobody says where it is now: {followers[0].look()}"
    assert not os.path.exists(d.dir + "/mixer.written"), "the mixer was moved"
    d.stop()
    d.clean()
    print("muted: told to both followers at the check and under way, and when it is back", flush=True)


def unseen():
    d = Bench(mixer=None)
    c = d.start()
    arm(c)
    status = until(lambda: [s for s in [c.call("status.get")["sound"]] if s["health"] == "not known"], "nobody can tell")[0]
    assert "can't be seen" in status["text"], status
    out = d.wetside("arm", TANK, "--run", "second", "--person", "keeper", "--no-input").stdout
    assert "the number that you hear is the proof" in out, out
    d.stop()
    d.clean()


def switched():
    d = Bench()
    c = d.start()
    f = Follower(d.socket)
    arm(c)
    c.call("run.begin", run="real", unheard=True)
    out = d.wetside("sound", "--devices").stdout
    assert "default  (now)  default on; the bench" in out and "alsa:card1  card1 on; the bench" in out, out
    out = d.wetside("sound", "--device", "alsa:card1").stdout
    assert "The sound goes to alsa:card1 now. Until the daemon ends" in out and "not known" in out, out
    f.told("The sound is on alsa:card1 now.")
    for bad, why in (("alsa:nothing", "knows no device"), ("file:/nowhere/x.wav", "No such file"), ("radio", "\"default\"")):
        done = d.wetside("sound", "--device", bad)
        assert done.returncode == 1 and why in done.stderr and not done.stdout, done
    assert d.wetside("sound", "--device", "default", "--devices").returncode == 2
    assert c.call("sound.device")["sound"]["device"] == "alsa:card1"
    # To nothing, which every follower sees, and to a file beside who asks.
    d.wetside("sound", "--device", "none")
    f.told("The sound is off now.")
    until(lambda: f.look() and "no sound" in f.sound, "seen later too")
    done = subprocess.run([f"{BUILD}/client/wetside", "--socket", d.socket, "--json", "sound", "--device", "file:take.wav"], cwd=d.dir,
                          capture_output=True, text=True, timeout=30)
    assert json.loads(done.stdout)["sound"]["device"] == f"file:{d.dir}/take.wav", done
    f.told("Sound is back.")
    # Twenty at once, each its own card, again and again: each is done or refused, and the last one done is where it is.
    def ask(i):
        one, done = Client(d.socket), 0
        for _ in range(5):
            try:
                done += one.call("sound.device", device=f"alsa:card{i}")["sound"]["device"] == f"alsa:card{i}"
            except Refused as e:
                assert e.args[0]["code"] == 1011, e
        return done
    with concurrent.futures.ThreadPoolExecutor(20) as pool:
        done = sum(pool.map(ask, range(20)))
    assert done > 0
    assert "well" in c.call("sound.device", device="default")["sound"]["health"]
    until(lambda: sum(1 for _ in glob.glob(f"/proc/{d.process.pid}/task/*")) < 14, "the others' threads end")
    d.stop()
    log = open(d.dir + "/log").read()
    assert "Sanitizer" not in log, log
    d.clean()
    print(f"switched: {done} of 100 by twenty at once, the others refused", flush=True)


def from_nothing():
    """Begun without sound: a voice comes with the device."""
    d = Bench(sound="none")
    d.voice, d.env["XDG_CACHE_HOME"] = ("--voice-program", "/nonexistent/voice"), d.dir + "/cache"
    c = d.start()
    assert c.call("status.get")["voice"]["health"] == "none"
    c.call("sound.device", device="default")
    until(lambda: c.call("status.get")["voice"]["health"] == "not well", "it asks whether there is a voice")
    d.stop()
    d.clean()


def pulled():
    """Its card is gone from before a stage change until after it: told, and back it says where the run is."""
    d = Bench()
    c = d.start()
    f = Follower(d.socket)
    run = c.call("run.rehearse", recipe=TANK, run="creek", pieces=1, rate="20")["run"]
    while run["aim_us"] < 0 or run["stage_name"] != "Developer":
        run = [r for r in c.call("status.get")["runs"] if r["name"] == "creek"][0]
        time.sleep(0.02)
    change_us = run["aim_us"]
    assert change_us > time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000
    time.sleep(max(0, (change_us - time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000) / 1e6 - 0.003))
    d.put("default.gone", "")
    f.told("no sound from \"default\": it is not there")
    os.unlink(d.dir + "/default.gone")
    f.told("Sound is back.")
    stage = [r for r in c.call("status.get")["runs"] if r["name"] == "creek"][0]["stage_name"]
    assert stage != "Developer", "the stage change waited for the card"
    d.stop()
    d.clean()


def killed():
    d = Bench()
    c = d.start()
    arm(c)
    c.call("run.begin", run="real", unheard=True)
    d.kill()
    c = d.start()
    f = Follower(d.socket)
    until(lambda: c.call("status.get")["sound"]["text"].startswith("sounding"), "it sounds again")
    assert c.call("status.get")["sound"]["health"] == "well"
    d.stop()
    d.clean()


def idle():
    d = Bench()
    c = d.start()
    c.call("sound.play", tone="BEAT")
    until(lambda: os.path.exists(d.dir + "/default.raw.clock"), "it was played")
    until(lambda: "closed" in c.call("status.get")["sound"]["text"], "and the device closed")
    time.sleep(2)
    woke, _ = d.woke(10)
    assert sum(woke.values()) == 0, f"nothing is live, and it woke: {woke}"
    # A bath of a live run: the feeder by its periods, the loop by what is due.
    run = c.call("run.rehearse", recipe=TANK, run="creek", pieces=1, rate="1", rates={"handling": "20"})["run"]
    while run["stage_name"] != "Developer":
        time.sleep(0.1)
        run = [r for r in c.call("status.get")["runs"] if r["name"] == "creek"][0]
    time.sleep(1)
    log = run["cues"]
    woke, seconds = d.woke(5)
    run = [r for r in c.call("status.get")["runs"] if r["name"] == "creek"][0]
    due = len([cue for cue in run["cues"] if cue["seq"] > max([0] + [l["seq"] for l in log])])
    feeder = woke.pop("wet-feeder")
    assert feeder < seconds * PERIODS * 1.5, f"the feeder woke {feeder / seconds:.0f} times a second, for {PERIODS} periods"
    assert sum(woke.values()) <= 12 + 8 * due, f"between {due} cues the others woke: {woke}"
    print(f"a bath: the feeder {feeder / seconds:.0f} wake-ups a second for {PERIODS} periods, the others {sum(woke.values())} in "
          f"{seconds:.1f} s with {due} cues", flush=True)
    c.call("run.abandon", run="creek", held=True)
    # A long wash: nothing is heard for minutes, the device is closed, and its mixer is watched asleep.
    c.call("run.wash", base="fibre-double", pieces=2, size="9x12cm", run="wash")
    c.press("run.go", run="wash")
    until(lambda: "closed" in c.call("status.get")["sound"]["text"], "closed over the wash", seconds=30)
    time.sleep(2)
    woke, _ = d.woke(5)
    assert sum(woke.values()) == 0, f"in a long wash it woke: {woke}"
    d.put("mixer", MUTED)
    f = Follower(d.socket)
    f.told("is muted")
    d.stop()
    d.clean()
    print("idle, and in a long wash: 0 wake-ups; muted then is told at once", flush=True)


with concurrent.futures.ThreadPoolExecutor(3) as pool:
    for job in [pool.submit(job) for job in (idle, muted, switched, unseen, from_nothing, pulled, killed)]:
        job.result()
