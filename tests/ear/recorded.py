"""recorded.py: a daemon on a sound card that keeps time and records (tests/lib/pcm_rtfile.c), and what it recorded."""
import os, sys, time
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "e2e"))
import numpy as np
from paced import boot_minus_monotonic_ns
from wet import BUILD, Daemon

RATE = 48000
PLUGIN = f"{BUILD}/tests/libasound_module_pcm_rtfile.so"


class Recorded(Daemon):
    def __init__(self, ppm=0, step=1, voice=("--voice", "none"), recipes=None):
        super().__init__(sound="default", voice=voice)
        assert os.access(PLUGIN, os.R_OK), "the card's plug-in was not built"
        self.ppm, self.step, self.raw = ppm, step, self.dir + "/card.raw"
        with open(self.dir + "/asound.conf", "w") as f:
            f.write(f'pcm_type.rtfile {{ lib "{PLUGIN}" }}\n'
                    f'pcm.!default {{ type rtfile file "{self.raw}" ppm {ppm} step {step} }}\n')
        self.env.update(ALSA_CONFIG_PATH=self.dir + "/asound.conf", XDG_CACHE_HOME=self.dir + "/cache")
        if recipes:
            self.folders = ["--recipes", recipes]

    def recording(self):
        return Recording(self.raw, self.ppm)


class Recording:
    """Samples (memory-mapped), and at which boot time each was audible."""

    def __init__(self, raw, ppm):
        origin, rate, channels = open(raw + ".clock").read().split()
        self.rate = float(rate)
        assert channels == "1" and abs(self.rate - RATE * (1 + ppm / 1e6)) < 1e-3, "the card is not as it was asked for"
        self.origin_ns = int(origin) + boot_minus_monotonic_ns()
        self.pcm = np.memmap(raw, dtype=np.int16, mode="r")

    def frame(self, boot_ns):
        return (boot_ns - self.origin_ns) * self.rate / 1e9

    def seconds(self):
        return len(self.pcm) / self.rate
