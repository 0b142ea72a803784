"""The seven sounds as an ear gets them, computed from their samples alone: what tells each pair apart, whether noise hides
them, and the pictures and tables of that in the documentation, which must be those of the tones as they are now.

  ear_tones.py            judges, and compares README.md and DEVELOPERS.md
  ear_tones.py --write    writes the pictures and tables into them
  ear_tones.py --count N  so many of each tone in each noise (the documentation has 30)

Sources: rhythm first and two features between any two, after A. J. Sanderson and others, Anaesthesia 61 (2006) 142 (fewer than
a third of 33 people learned melodies of one length and rhythm) and Brewster, Wright and Edwards on earcons (timbre and
register for families, rhythm within; two to three octaves where register alone must tell). Spectrum after IEC
60601-1-8 as publishers' pages summarise it. Fundamental at most 2.5 kHz: ISO 24500 (from memory). Bubbles in water
ring at 3.26 m/s over their radius: M. Minnaert, On musical air-bubbles, Phil. Mag. 16 (1933)."""
import sys
import numpy as np
from scipy import fft, signal
from listen import RATE, tone
from wet import SOURCE

# The forms of the seven sounds, and of which they are.
FORMS = {"ALARM": "alarm", "CHANGE": "change", "COUNT": "count", "POUR_OUT": "count", "ATTEND": "attend", "ANSWER": "answer",
         "REFUSED": "answer", "PIPS": "answer", "TURN": "turn", "REST": "turn", "BEAT": "beat"}
PIPS = 3
ROUGH_DB = 9  # what is unplanned is rough, nothing else
SEED, COUNT = 5, 30
FEWER = 4  # samples taken together where noise is added: no tone reaches 4 kHz, and all noise above is left out anyway
BAND = (150, 4000)


def samples(name):
    return tone(name, PIPS if name == "PIPS" else 1)


# -- features ---------------------------------------------------------------------------------------------------------
def notes(x):
    """(first, last + 1) of what stands between silences of 5 ms."""
    sounding = np.flatnonzero(np.abs(x) > 8)
    gaps = np.flatnonzero(np.diff(sounding) > RATE * 5 // 1000)
    return list(zip(sounding[np.r_[0, gaps + 1]], sounding[np.r_[gaps, len(sounding) - 1]] + 1))


def power_of(x):
    size = 1 << 17
    return np.arange(size // 2 + 1) * RATE / size, np.abs(fft.rfft(x, size)) ** 2


def peaks(x, apart_hz=70):
    """Partials, the strongest first: (Hz, power)."""
    hz, power = power_of(x * signal.windows.hann(len(x)))
    at, _ = signal.find_peaks(power, distance=round(apart_hz / hz[1]), height=power.max() * 1e-3)
    return sorted(((hz[i], power[i]) for i in at), key=lambda p: -p[1])


def pitch(x):
    """Of a note: what its partials are multiples of."""
    strong = [hz for hz, power in peaks(x)[:7] if 10 * np.log10(peaks(x)[0][1] / power) < 12]
    best = None
    for base in (s / n for s in strong for n in range(1, 8)):
        if base < 150:
            continue
        off = max(abs(s / base - round(s / base)) * base for s in strong)
        if off < 25 and (best is None or base > best + 1):
            best = base  # the largest of which all are multiples
    return best or min(strong)


def timbre(x):
    """Shares of the first seven multiples of the pitch, as a unit vector."""
    base, (hz, power) = pitch(x), power_of(x)
    shares = np.sqrt([power[(hz > base * (k - 0.3)) & (hz < base * (k + 0.3))].sum() for k in range(1, 8)])
    return shares / np.linalg.norm(shares)


def roughness(x):
    """How far its lowest partial rises again after a dip, in dB: two copies a few Hz apart beat."""
    turned = x * np.exp(-2j * np.pi * pitch(x) / RATE * np.arange(len(x)))
    level = np.abs(np.convolve(turned, np.ones(RATE * 15 // 1000), "valid"))[RATE * 15 // 1000:-RATE * 15 // 1000]
    return 20 * np.log10((level / np.minimum.accumulate(level)).max()) if len(level) else 0.0


def fading(x):
    """What a note loses from its second fifth to its fourth, in dB a tenth of a second: struck and plucked ones do."""
    early, late = (np.sqrt(np.mean(part ** 2)) for part in (x[len(x) // 5:2 * len(x) // 5], x[3 * len(x) // 5:4 * len(x) // 5]))
    return 20 * np.log10(early / late) / (len(x) * 0.4 / RATE / 0.1)


def a_weight(hz):
    h2 = np.maximum(hz, 1e-3) ** 2
    return (12194.0 ** 2 * h2 ** 2 / ((h2 + 20.6 ** 2) * np.sqrt((h2 + 107.7 ** 2) * (h2 + 737.9 ** 2)) * (h2 + 12194.0 ** 2))) * 10 ** 0.1


class Sound:
    def __init__(self, name):
        self.name, self.x = name, samples(name)
        self.spans = notes(self.x)
        self.notes = [self.x[a:b] for a, b in self.spans]
        self.length_ms = len(self.x) * 1000 / RATE
        self.pitches = [pitch(n) for n in self.notes]
        self.timbre = timbre(self.notes[0])
        self.roughness, self.fading = roughness(self.notes[0]), fading(self.notes[0])

    def rhythm(self):
        starts = [a * 1000 / RATE for a, _ in self.spans]
        return [(b - a) * 1000 / RATE for a, b in self.spans], list(np.diff(starts))


def unlike(a, b, ratio):
    return max(a, b) / max(min(a, b), 1e-9) >= ratio


def differences(p, q):
    """In which of rhythm, length, register and timbre two sounds differ."""
    found = set()
    (lengths, steps), (other_lengths, other_steps) = p.rhythm(), q.rhythm()
    if len(lengths) != len(other_lengths) or any(unlike(a, b, 1.4) for a, b in zip(lengths + steps, other_lengths + other_steps)):
        found.add("rhythm")
    if unlike(p.length_ms, q.length_ms, 1.3):
        found.add("length")
    if unlike(np.exp(np.mean(np.log(p.pitches))), np.exp(np.mean(np.log(q.pitches))), 1.5):
        found.add("register")
    if np.dot(p.timbre, q.timbre) < 0.9 or (p.roughness > ROUGH_DB) != (q.roughness > ROUGH_DB) or abs(p.fading - q.fading) > 4:
        found.add("timbre")
    return found


def judge_features(sounds):
    for p in sounds.values():
        for q in sounds.values():
            if FORMS[p.name] < FORMS[q.name]:  # forms of one sound share what makes it one
                found = differences(p, q)
                assert "rhythm" in found and len(found) > 1, f"{p.name} and {q.name} differ in {found or 'nothing'} only"
    assert len(set(FORMS.values())) == 7, "more than seven sounds to learn"
    # The two rules: rising is "do"; falling, or low, is "don't".
    rising = [name for name, s in sounds.items() if len(s.pitches) > 1 and s.pitches[-1] > 1.1 * s.pitches[0]]
    falling = [name for name, s in sounds.items() if len(s.pitches) > 1 and s.pitches[-1] < s.pitches[0] / 1.1]
    assert sorted(rising) == ["ANSWER", "CHANGE", "TURN"] and falling == ["REST"], f"{rising} rise, {falling} fall"
    assert sounds["REFUSED"].pitches[0] < min(s.pitches[0] for n, s in sounds.items() if n != "REFUSED") / 1.3, "refused is not low"
    for name, s in sounds.items():
        if name != "ALARM":
            assert s.roughness < ROUGH_DB < sounds["ALARM"].roughness, f"{name} is as rough as what is unplanned"


def judge_spectra(sounds):
    levels = []
    for s in sounds.values():
        assert np.abs(s.x).max() < 32767 / 2, f"{s.name}: two at once would clip"
        for n in s.notes:
            found = peaks(n)
            inside = [(hz, p) for hz, p in found if BAND[0] <= hz <= BAND[1] and 10 * np.log10(found[0][1] / p) <= 15]
            assert len(inside) >= 4, f"{s.name}: {len(inside)} partials within 15 dB"
            assert any(150 <= hz <= 1000 for hz, _ in found[:4]), f"{s.name}: nothing of 150 to 1,000 Hz among the strongest"
            assert pitch(n) <= 2500, f"{s.name} is too high"
            hz, power = power_of(n)
            levels.append(10 * np.log10((power * a_weight(hz) ** 2).sum() / len(n)))
            # Rise from 10 to 90 hundredths of the most, of an envelope that follows its lowest partial.
            assert 10 <= rise_ms(n) <= 50, f"{s.name} rises in {rise_ms(n):.1f} ms"
            steps = np.abs(np.diff(np.r_[0, n, 0]))
            assert max(steps[0], steps[-1]) <= 0.05 * steps.max(), f"{s.name} clicks"
    print(f"loudness of notes: {max(levels) - min(levels):.2f} dB(A) from the softest to the loudest")
    assert max(levels) - min(levels) <= 2


def rise_ms(n):
    """How long the onset is: until the envelope (of the samples' absolute values, over the longest period) is full."""
    envelope = np.abs(signal.hilbert(n))
    full = np.flatnonzero(envelope >= 0.97 * envelope[:RATE * 60 // 1000].max())[0]
    return full * 1000 / RATE


# -- noise ------------------------------------------------------------------------------------------------------------
def white(draw, size):
    return draw.standard_normal(size)


def pink(draw, size):
    spectrum = fft.rfft(draw.standard_normal(size))
    return fft.irfft(spectrum / np.sqrt(np.maximum(1, np.arange(len(spectrum)))), size)


def water(draw, size):
    """Four hundred bubbles a second, of 0.8 to 8 mm, each ringing down in some fifteen periods, over a hiss."""
    rate, x = RATE // FEWER, 0.3 * draw.standard_normal(size)
    for _ in range(400 * size // rate):
        hz = 3.26 / np.exp(draw.uniform(np.log(0.8e-3), np.log(8e-3)))
        at, length = draw.integers(size), int(rate * 45 / hz)
        t = np.arange(min(length, size - at)) / rate
        x[at:at + len(t)] += draw.exponential(1.0) * np.exp(-t * hz / 5) * np.sin(2 * np.pi * hz * t)
    return x


NOISES = {"white": white, "pink": pink, "running water": water}


class Classifier:
    """Matched filters behind a filter that makes the noise white, as it was heard before the tone. The answer is the tone
    that explains most, wherever within a quarter of a second it begins and however loud it is."""

    SIZE = 1 << 15

    def __init__(self, names):
        self.names = names
        self.band = signal.butter(4, [b * 2 * FEWER / RATE for b in BAND], "band", output="sos")
        self.clean = [signal.resample_poly(samples(name), 1, FEWER) for name in names]
        self.clean = [signal.sosfilt(self.band, np.r_[x, np.zeros(200)]) for x in self.clean]
        self.spectra = [fft.rfft(x.astype(np.float32), self.SIZE) for x in self.clean]

    def listen_to(self, noise):
        _, density = signal.welch(noise, nperseg=512)
        self.whiten = 1 / np.maximum(np.interp(np.linspace(0, 1, self.SIZE // 2 + 1), np.linspace(0, 1, len(density)), density), density.max() * 1e-6)
        self.whiten = self.whiten.astype(np.float32)
        self.energy = [float((np.abs(s) ** 2 * self.whiten).sum()) for s in self.spectra]

    def hear(self, x):
        weighted = fft.rfft(x.astype(np.float32), self.SIZE) * self.whiten
        best = [fft.irfft(weighted * np.conj(s), self.SIZE)[:RATE // FEWER // 4].max() / np.sqrt(e) for s, e in zip(self.spectra, self.energy)]
        return int(np.argmax(best))


def confusion(count, level_db):
    names = list(FORMS)
    matrices = {}
    for kind, make in NOISES.items():
        draw, classifier = np.random.default_rng(SEED), Classifier(names)
        matrix = np.zeros((len(names), len(names)), dtype=int)
        long = signal.sosfilt(classifier.band, make(draw, 60 * RATE // FEWER))[RATE // FEWER:]
        long /= np.sqrt(np.mean(long ** 2))
        classifier.listen_to(long[:10 * RATE // FEWER])
        for i, clean in enumerate(classifier.clean):
            sounding = np.concatenate([clean[a // FEWER:b // FEWER] for a, b in notes(samples(names[i]))])
            gain = np.sqrt(np.mean(sounding ** 2)) * 10 ** (-level_db / 20)
            for _ in range(count):
                at, begin = draw.integers(len(long) - classifier.SIZE), draw.integers(RATE // FEWER // 4)
                x = long[at:at + classifier.SIZE] * gain
                x[begin:begin + len(clean)] += clean
                matrix[i, classifier.hear(x)] += 1
        matrices[kind] = matrix
    return matrices


# -- the documentation ------------------------------------------------------------------------------------------------
STEP_MS = 40
BARS = "▁▂▃▄▅▆▇█"


def picture(s):
    """Forty milliseconds a sign; the higher, the higher in pitch; what fades is not shown, what is rough is."""
    cells = [" "] * round(len(s.x) * 1000 / RATE / STEP_MS + 0.4)
    for (a, b), hz in zip(s.spans, s.pitches):
        height = BARS[min(7, max(0, round(np.log2(hz / 150) / np.log2(900 / 150) * 7)))]
        for i in range(int(a * 1000 / RATE / STEP_MS + 0.5), max(int(b * 1000 / RATE / STEP_MS + 0.5), int(a * 1000 / RATE / STEP_MS + 0.5) + 1)):
            if i < len(cells):
                cells[i] = "▒" if s.roughness > ROUGH_DB else height
    return "".join(cells).rstrip()


def pictures(sounds):
    shown = {"ALARM": "alarm", "CHANGE": "change", "ATTEND": "attend", "TURN": "turn", "REST": "  rest", "COUNT": "count",
             "POUR_OUT": "  pour out", "ANSWER": "answer", "REFUSED": "  refused", "PIPS": "  three", "BEAT": "beat"}
    return "```\n" + "\n".join(f"{label:11}{picture(sounds[name])}" for name, label in shown.items()) + "\n```\n"


def tables(count, results):
    lines = []
    for level, matrices in results.items():
        total = sum(matrices.values())
        right = {kind: 100 * np.trace(m) / m.sum() for kind, m in matrices.items()}
        lines += [f"{level} dB, {count} of each tone in each noise: right in " + ", ".join(f"{r:.2f} % ({kind})" for kind, r in right.items()) + ".", ""]
        lines += ["| sounded, heard as | " + " | ".join(n.lower().replace("_", "-") for n in FORMS) + " |", "|---" * (len(FORMS) + 1) + "|"]
        lines += [f"| {n.lower().replace('_', '-')} | " + " | ".join(str(v) for v in total[i]) + " |" for i, n in enumerate(FORMS)]
        lines.append("")
    return "\n".join(lines)


def stands_in(path, mark, text, is_writing):
    content = open(path).read()
    begin, end = f"<!-- {mark}: tests/ear/ear_tones.py --write -->\n", f"<!-- end of {mark} -->\n"
    a, b = content.index(begin) + len(begin), content.index(end)
    if is_writing:
        open(path, "w").write(content[:a] + text + content[b:])
    else:
        assert content[a:b] == text, f"{path}: {mark} are not those of the tones as they are now; tests/ear/ear_tones.py --write"


if __name__ == "__main__":
    count = int(sys.argv[sys.argv.index("--count") + 1]) if "--count" in sys.argv else COUNT
    sounds = {name: Sound(name) for name in FORMS}
    judge_features(sounds)
    judge_spectra(sounds)
    results = {level: confusion(count, level) for level in (0, -5, -15)}
    print(tables(count, results))
    if count == COUNT:
        stands_in(SOURCE + "/README.md", "pictures", pictures(sounds), "--write" in sys.argv)
        stands_in(SOURCE + "/DEVELOPERS.md", "confusion", tables(count, results), "--write" in sys.argv)
    for level, least in ((0, 99.9), (-5, 99.0)):
        for kind, m in results[level].items():
            assert 100 * np.trace(m) / m.sum() >= least, f"{kind} noise at {level} dB: {100 * np.trace(m) / m.sum():.2f} % are told apart"
