"""The daemon speaks: with espeak-ng (Debian package espeak-ng; without it this fails, unless WET_WITHOUT_ESPEAK is set), and
with voices that are not there, hang, are slow, die or write what is no sound. Judged by the recording of the file sink."""
import array, concurrent.futures, glob, json, math, os, re, shutil, subprocess, sys, time
from paced import Session
from rehearsal import length_ms
from wet import BUILD, SOURCE, Daemon, until

TANK = "direct-positive-fibre-tank"
QUIET = 20  # of full scale 32767: below this nothing sounds


class Recording:
    """The file as it is now, and what is in it by boot time."""

    def __init__(self, path):
        data = open(path, "rb").read()
        self.origin = int(re.search(rb"origin_boot_ns=(\d+)", data).group(1))
        at = data.index(b"data")
        size = int.from_bytes(data[at + 4:at + 8], "little")
        self.pcm = array.array("h", data[at + 8:at + 8 + size - size % 2])

    def between(self, from_us, to_us):
        first, last = (max(0, round((us * 1000 - self.origin) * 48000 / 1e9)) for us in (from_us, to_us))
        return self.pcm[first:last]

    def rms(self, from_us, to_us):
        part = self.between(from_us, to_us)
        return math.sqrt(sum(x * x for x in part) / max(1, len(part)))


class Speaker(Daemon):
    """A daemon with a voice: a script for a fake one, or the real one."""

    def __init__(self, script=None, program=None, cache=None):
        super().__init__(voice=())
        self.wav, self.cache = self.dir + "/session.wav", cache or self.dir + "/cache"
        self.sound = "file:" + self.wav
        self.env["XDG_CACHE_HOME"] = self.cache
        if script:
            program = self.dir + "/fake-voice"
            with open(program, "w") as f:
                f.write("#!/bin/sh\n" + script + "\n")
            os.chmod(program, 0o755)
        if program:
            self.voice = ("--voice-program", program)

    def voice_is(self, c):
        return c.call("status.get")["voice"]

    def children(self):
        return open(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read().split()

    def told(self):
        """What a fake voice was given to say."""
        try:
            return open(self.dir + "/texts").read()
        except FileNotFoundError:
            return ""

    def record(self):
        return Recording(self.wav)


def arm(c, name="creek"):
    return c.call("run.rehearse", recipe=TANK, run=name, rate="1", mine=True)


def spoken_after_where(d, c, name="creek", wait=4.0):
    """Asks where the run is; gives the level of what sounds once the answering tone is over, within a second."""
    time.sleep(2.5)  # what sounded before is over
    asked = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000
    c.call("run.where", run=name)
    time.sleep(wait)
    c.call("status.get")
    return d.record().rms(asked + 300_000, asked + 1_300_000), asked


def says_where(d, c, what):
    """It says where the run is, within a second; on a busy machine not the first time."""
    until(lambda: spoken_after_where(d, c)[0] > 300, f"{what}: where says nothing; " + open(d.dir + "/log").read(), seconds=30)


def tone_only(what, said, script=None, program=None, early=True):
    """A voice that is none: told in the status and the log, once; tones go on; arming tries it again."""
    d = Speaker(script, program)
    c = d.start()
    voice = until(lambda: d.voice_is(c)["health"] == "not well" and d.voice_is(c), f"{what}: status")
    assert said in voice["text"] and "tones only" in voice["text"], voice
    arm(c)
    level, asked = spoken_after_where(d, c, wait=2.2)
    assert level < QUIET, f"{what}: something speaks, {level}"
    assert d.record().rms(asked, asked + 150_000) > 100, f"{what}: the tone is missing"
    until(lambda: not d.children(), f"{what}: no child is left")
    d.stop()
    log = open(d.dir + "/log").read()
    assert log.count("No voice") == 1, log
    d.clean()
    print(f"{what}: tones only, said once ({voice['text']})", flush=True)


def rehearsal():
    # -- a rehearsal, hands-free: words after the tones ------------------------------------
    d = Speaker()
    c = d.start()
    until(lambda: d.voice_is(c)["health"] == "well", "the voice is well")
    c.call("changes.follow")
    state = c.call("run.rehearse", recipe=TANK, pieces=2, rate="300", rates={"handling": "3", "develop": "3", "rinse": "3"})["run"]
    cues = {}
    while not state["outcome"]:
        for cue in state["cues"]:
            cues[cue["seq"]] = cue
        state = (c.news.pop(0) if c.news else c.line())["params"]
    heard = sorted(cues.values(), key=lambda cue: cue["at_us"])
    folder = glob.glob(d.cache + "/wetside/*.words")
    assert len(folder) > 20, f"only {len(folder)} sentences are kept"
    d.stop()
    r = d.record()
    assert max(abs(x) for x in r.pcm) < 32000, "it clips"
    spoken = quiet = 0
    levels = []
    for i, this in enumerate(heard[:-1]):
        after = next((cue for cue in heard[i + 1:] if cue["tone"] != "BEAT"), None)
        if not after:
            break
        end = this["at_us"] + (767 if this["tone"] == "COUNT" else length_ms(this)) * 1000  # a count of three at rate 3
        gap = after["at_us"] - end
        if gap < 400_000 or this["tone"] == "BEAT":
            continue
        # Words end before the next cue's tone; nothing sounds into it, beats aside.
        assert r.rms(after["at_us"] - 100_000, after["at_us"] - 5_000) < QUIET, \
            f"words of {this['word']} run into {after['word']}"
        assert "BEAT" in [cue["tone"] for cue in heard if 0 < cue["at_us"] - this["at_us"] < 2e6] or r.rms(end + 20_000, end + 100_000) < QUIET, f"words of {this['word']} begin before its tone has ended"
        level = r.rms(end + 300_000, min(after["at_us"], end + 1_300_000))
        if this["text"] and gap > 1_000_000 + 100_000 * len(this["text"]):  # a slow speaker says it in that time
            assert level > 300, f"{this['word']} says nothing: {this['text']!r}"
            tone = r.rms(this["at_us"], end)
            levels.append(20 * math.log10(level / tone))
            spoken += 1
        elif not this["text"]:
            assert level < QUIET, f"{this['word']} has no words, yet something is said"
            quiet += 1
    assert spoken >= 7, f"only {spoken} cues had time for words"
    print(f"rehearsal: {spoken} cues spoken after their tones, {quiet} without words silent; words beside tones "
          f"{min(levels):+.1f} to {max(levels):+.1f} dB", flush=True)
    d.clean()


def on_a_card():
    # -- a card that keeps time: words in between, and no tone is later for them ------------
    session = Session(voice=())
    session.start()
    session.join()
    session.report()


def no_voice_on_a_card():
    # -- a voice that hangs, and one that dies in the middle: no tone is later or missing ---
    d = Speaker("case $(($$ % 3)) in 0) exec sleep 1000;; 1) kill -SEGV $$;; *) head -c 100000 /dev/urandom;; esac")
    session = Session(voice=d.voice)
    session.is_spoken = False
    session.start()
    session.join()
    session.report()
    d.clean()


def disk_full():
    # -- no room for what is spoken: it speaks all the same, and says so once (a small file system, where one may mount)
    if subprocess.run(["unshare", "-m", "true"], stderr=subprocess.DEVNULL).returncode != 0:
        print("SKIP: no file system of its own that could be full")
        return
    d = Speaker()
    os.mkdir(d.cache)
    with open(d.dir + "/daemon", "w") as f:  # the mount is the daemon's alone, and ends with it
        f.write(f"#!/bin/sh\nmount -t tmpfs -o size=64k none {d.cache} && exec {BUILD}/daemon/wetsided \"$@\"\n")
    os.chmod(d.dir + "/daemon", 0o755)
    d.command = ["unshare", "-m", d.dir + "/daemon"]
    c = d.start()
    arm(c)
    until(lambda: "not kept" in open(d.dir + "/log").read(), "the folder is full")
    says_where(d, c, "on a full disk")
    d.stop()
    assert open(d.dir + "/log").read().count("not kept") == 1, open(d.dir + "/log").read()
    d.clean()


def asked():
    # -- asked: a second at the most; kept; damage noticed --------------------------------------
    d = Speaker()
    c = d.start()
    arm(c)
    says_where(d, c, "asked")
    files = until(lambda: glob.glob(d.cache + "/wetside/*.words"), "sentences are kept")
    until(lambda: len(glob.glob(d.cache + "/wetside/*.words")) > 40, "all sentences of the run are kept", seconds=60)
    assert not glob.glob(d.cache + "/wetside/*.new-*"), "something is left beside"
    d.stop()
    for path in glob.glob(d.cache + "/wetside/*.words"):
        with open(path, "r+b") as f:
            f.seek(200)
            f.write(b"damaged")
    cache = d.cache
    again = Speaker(cache=cache)
    c = again.start()
    arm(c)
    def is_whole(path):
        try:
            return b"damaged" not in open(path, "rb").read(300)
        except FileNotFoundError:  # noticed, and not made yet
            return False

    def whole():  # all but what only that run was asked
        return sum(map(is_whole, glob.glob(cache + "/wetside/*.words"))) > 40

    until(whole, "what was damaged is made again", seconds=60)
    again.stop()
    again.clean()

    d.clean()

    # -- a folder that can't be written: it speaks all the same ------------------------------------
    blocked = Speaker()
    open(blocked.cache, "w").close()  # a file where the folder should be
    c = blocked.start()
    arm(c)
    says_where(blocked, c, "without a folder")
    blocked.stop()
    assert open(blocked.dir + "/log").read().count("not kept") == 1
    blocked.clean()
    print("asked, damaged, without a folder: spoken", flush=True)


def translated():
    # -- a language file: what is said, by whom; what is printed stays English --------------------
    d = Speaker("cat >$(dirname $0)/text.$$; cat $(dirname $0)/text.$$ >>$(dirname $0)/texts\n"
                "printf '%s ' \"$@\" >>$(dirname $0)/args; exec espeak-ng \"$@\" <$(dirname $0)/text.$$")
    with open(d.dir + "/de.json", "w") as f:
        json.dump({"language": "de", "voice": "de", "phrases": {"{1} next, {2}.": "Danach {1}, {2}.", "Rest.": "Ruhe.",
                                                                "Developer": "Entwickler"}}, f)
    d.voice += ("--language", d.dir + "/de.json")
    c = d.start()
    until(lambda: d.voice_is(c)["health"] == "well", "the voice is well")
    arm(c)
    until(lambda: "Ruhe.\n" in d.told(), "a sentence in the other language")
    texts = until(lambda: [t for t in d.told().split("\n") if t.startswith("Danach ")], "with holes")
    assert not any(" next, " in t for t in texts), texts
    assert "-v de " in open(d.dir + "/args").read()
    printed = c.call("run.where", run="creek")["text"]
    assert "amera" in printed, f"what is printed stays as it is: {printed}"
    d.stop()
    d.clean()


def german():
    # -- the German file that is shipped: of a whole session nothing is said in English ---------------
    d = Speaker("cat >$(dirname $0)/text.$$; cat $(dirname $0)/text.$$ >>$(dirname $0)/texts; exec espeak-ng \"$@\" <$(dirname $0)/text.$$")
    d.voice += ("--language", SOURCE + "/daemon/ship/speech/de.json")
    c = d.start()
    until(lambda: d.voice_is(c)["health"] == "well", "the voice is well")
    arm(c)
    c.call("run.where", run="creek")
    for part in ("Kamera eins, Fach eins.", "Als Nächstes Stoppbad: Flasche zwei, zwei Ringe.", "Zurückgießen: Flasche eins."):
        until(lambda: part in d.told(), part)
    words = set(re.findall("[a-z]+", d.told().lower()))
    english = {"the", "next", "press", "pour", "bottle", "turns", "turn", "water", "now", "begins", "bath", "one", "two", "you"}
    assert not words & english, (words & english, d.told())
    d.stop()
    d.clean()


def number_spoken():
    # -- the number of the sound check is spoken, no pips -------------------------------------------
    d = Speaker()
    c = d.start()
    until(lambda: d.voice_is(c)["health"] == "well", "the voice is well")
    armed_at = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000
    c.call("safety.acknowledge", name=TANK, person="keeper")
    armed = c.call("run.arm", recipe=TANK, person="keeper", run="real")
    assert armed["sound_check"] and "No voice" not in armed["told"]
    time.sleep(1.5)
    d.stop()
    part = d.record().between(armed_at, armed_at + 1_500_000)
    sounding = [i for i, x in enumerate(part) if abs(x) > QUIET]
    assert sounding and 0.15 < (sounding[-1] - sounding[0]) / 48000 < 0.9, "one number is said"
    d.clean()


def number_in_pips():
    # Without a voice the check's number is played as pips, and arming says so.
    d = Speaker(program="/nonexistent/voice")
    c = d.start()
    until(lambda: d.voice_is(c)["health"] == "not well", "no voice")
    c.call("safety.acknowledge", name=TANK, person="keeper")
    armed_at = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000
    armed = c.call("run.arm", recipe=TANK, person="keeper", run="real")
    assert "No voice" in armed["told"], armed["told"]
    time.sleep(2)
    d.stop()
    part = d.record().between(armed_at, armed_at + 2_000_000)
    pips, last = 0, -99999
    for i, x in enumerate(part):
        if abs(x) > QUIET:
            pips += i - last > 4800
            last = i
    assert 2 <= pips <= 6, f"{pips} pips"
    d.clean()


def text_is_text():
    # -- the text reaches the voice as text, through a pipe and as nothing else ------------------------------
    d = Speaker("printf '%s\\n' \"$@\" >>$(dirname $0)/args; cat >>$(dirname $0)/texts; exit 1")
    c = d.start()
    until(lambda: d.voice_is(c)["health"] == "not well", "it is no voice")
    c.call("run.rehearse", recipe=TANK, run="-x $(touch pwned) `id` [[x]] --help", rate="1", mine=True)
    until(lambda: "touch" in d.told(), "the name is to be said")
    args, texts = open(d.dir + "/args").read().split("\n"), d.told()
    assert not any("touch" in a or "-x" in a for a in args), args
    assert "[" not in texts and "`" not in texts, texts
    d.stop()
    d.clean()


def killed():
    # -- killed: no child is left behind ------------------------------------------------------------------------
    d = Speaker("exec sleep 1000")
    c = d.start()
    child = until(d.children, "a child runs")[0]
    d.kill()
    until(lambda: not os.path.exists(f"/proc/{child}") or open(f"/proc/{child}/stat").read().split(")")[1].split()[0] == "Z",
          "the child is gone", seconds=3)
    d.clean()


def switches(pid):
    return sum(int(n) for path in glob.glob(f"/proc/{pid}/task/*/status")
               for n in re.findall(r"ctxt_switches:\s*(\d+)", open(path).read()))


def idle():
    # -- idle: nobody is woken for speech
    d = Speaker() if shutil.which("espeak-ng") else Speaker("exit 1")
    c = d.start()
    until(lambda: not d.children() and d.voice_is(c), "asked whether it is there")
    time.sleep(2)
    before = switches(d.process.pid)
    time.sleep(3)
    woke = switches(d.process.pid) - before
    assert woke == 0, f"an idle daemon woke {woke} times"
    d.stop()
    d.clean()


if not shutil.which("espeak-ng") and "WET_WITHOUT_ESPEAK" not in os.environ:
    sys.exit("espeak-ng is not there: apt-get install espeak-ng, or set WET_WITHOUT_ESPEAK")
jobs = [(killed,), (text_is_text,), (idle,), (number_in_pips,)]
if shutil.which("espeak-ng"):
    jobs = [(rehearsal,), (on_a_card,), (no_voice_on_a_card,), (disk_full,), (asked,), (translated,), (number_spoken,)] + jobs
jobs.append((lambda: tone_only("absent", "not there", program="/nonexistent/voice"),))
jobs.append((lambda: tone_only("hangs", "over 1.5 s", "exec sleep 1000"),))
jobs.append((lambda: tone_only("its child hangs", "over 1.5 s", "sleep 1000"),))
jobs.append((lambda: tone_only("slow", "over 1.5 s", "sleep 2; exec espeak-ng \"$@\""),))
jobs.append((lambda: tone_only("takes twenty seconds", "over 1.5 s", "sleep 20; exec espeak-ng \"$@\""),))
jobs.append((lambda: tone_only("a gigabyte", "no end", "espeak-ng \"$@\" | head -c 40; head -c 1073741824 /dev/zero"),))
jobs.append((lambda: tone_only("dies", "signal 11", "kill -SEGV $$"),))
jobs.append((lambda: tone_only("fails", "status 3", "exit 3"),))
jobs.append((lambda: tone_only("says nothing", "no sound", "exit 0"),))
jobs.append((lambda: tone_only("writes garbage", "no sound", "head -c 100000 /dev/urandom"),))
jobs.append((lambda: tone_only("writes a header only", "no sound", "printf 'RIFF\\044\\000\\000\\000WAVEfmt '"),))
jobs.append((lambda: tone_only("writes for ever", "no end", "exec cat /dev/zero"),))
with concurrent.futures.ThreadPoolExecutor(6) as pool:
    for done in [pool.submit(*job) for job in jobs]:
        done.result()
if shutil.which("espeak-ng"):
    german()  # by itself: what has to be said within a second has the machine for itself before
print("no shell, no child left, no wake-up")
