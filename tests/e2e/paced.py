"""paced.py: a daemon on a sound card that keeps time and records (tests/lib/pcm_rtfile.c), and its rehearsal judged."""
import array, threading, time
from rehearsal import check_developer, judge, rehearse
from wet import BUILD, Daemon

BOUND_MS = 20
AIM_US = 42


def boot_minus_monotonic_ns():
    """The narrowest of a few readings: an interruption between the clocks' reads only makes one wider."""
    best = None
    for _ in range(50):
        before = time.clock_gettime_ns(time.CLOCK_MONOTONIC)
        boot = time.clock_gettime_ns(time.CLOCK_BOOTTIME)
        width = time.clock_gettime_ns(time.CLOCK_MONOTONIC) - before
        if best is None or width < best[0]:
            best = width, boot - before - width // 2
    return best[1]


class Session(threading.Thread):
    def __init__(self, ppm=0, voice=("--voice", "none")):
        super().__init__()
        self.ppm, self.failure, self.is_spoken = ppm, None, "none" not in voice
        self.daemon_ = Daemon(sound="default", voice=voice)
        self.daemon_.env["XDG_CACHE_HOME"] = self.daemon_.dir + "/cache"
        self.raw, self.gone = self.daemon_.dir + "/card.raw", self.daemon_.dir + "/gone"
        config = self.daemon_.dir + "/asound.conf"
        with open(config, "w") as f:
            f.write(f'pcm_type.rtfile {{ lib "{BUILD}/tests/libasound_module_pcm_rtfile.so" }}\n'
                    f'pcm.!default {{ type rtfile file "{self.raw}" gone "{self.gone}" ppm {ppm} }}\n')
        self.daemon_.env["ALSA_CONFIG_PATH"] = config

    def run(self):
        try:
            self.play(self.daemon_.start())
            self.daemon_.stop()
        except BaseException as e:  # an exception in a thread is no failure of the test: told to the main one
            self.failure = e

    def play(self, c):
        self.heard, self.begin = rehearse(c)

    def report(self):
        if self.failure:
            raise self.failure
        check_developer(self.heard, self.begin)
        origin_ns, rate, channels = open(self.raw + ".clock").read().split()
        origin_ns, rate = int(origin_ns) + boot_minus_monotonic_ns(), float(rate)
        assert channels == "1" and abs(rate - 48000 * (1 + self.ppm / 1e6)) < 1e-3, "the card is not as it was asked for"
        pcm = array.array("h", open(self.raw, "rb").read())
        late, extra = judge(self.heard, pcm, lambda at_us: (at_us * 1000 - origin_ns) * rate / 1e9,
                            slack=BOUND_MS * 48)
        us = sorted(abs(frames) / rate * 1e6 for frames in late)
        at = {name: us[min(len(us) - 1, len(us) * percent // 100)] for name, percent in (("p50", 50), ("p99", 99), ("max", 100))}
        print(f"card {self.ppm:+d} ppm: {len(us)} planned cues, onset error " +
              ", ".join(f"{name} {value:.1f} us ({value * rate / 1e6:.2f} samples)" for name, value in at.items()) +
              f"; aim {AIM_US} us; {sum(v > AIM_US for v in us)} over it; {len(extra)} samples of extra sound" +
              (", which are words" if self.is_spoken else ""), flush=True)
        assert len(us) > 18, "most cues overlap: the rehearsal is not the one that was meant"
        assert self.is_spoken == bool(extra), f"sound where none is due, from {(extra or [0])[0] / rate:.3f} s"
        self.daemon_.clean()
