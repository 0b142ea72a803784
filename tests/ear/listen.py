"""listen.py: finds tones in a recording by matched filters, and judges them against what was expected.

A tone's clean samples slide over the recording; where what sounds is that tone at its level, the correlation with it is its
energy. The strongest is taken out, and what is left is listened to again, so tones in one another's sound and words around
them hide nothing: first what is nearly alone, then what has as much other sound as itself over it. Rhythm is part of a
template (its rests count too), so a pip of a count is no pips, and the first note of three is no tone of one."""
import functools, subprocess
import numpy as np
from scipy import fft, signal
from recorded import BUILD, RATE

BLOCK = 1 << 19
# Likeness asked for in each pass: 1 is the tone alone, 0.7 is as much else as itself.
PASSES = (0.97, 0.9, 0.8, 0.7, 0.6, 0.6)
AMPLITUDE = (0.6, 1.05) # of a tone at full level; the daemon's is 0.8
FEWER = 4               # samples are taken together where only a rough look is needed
NEAR = 60               # of those, within which two peaks are one: 5 ms
QUIET = 24  # of full scale 32768: a remainder of rounding


@functools.lru_cache(maxsize=None)
def tone(name, pips=1, rate=1.0, level=1000):
    out = subprocess.run([f"{BUILD}/tests/tone_samples", name, str(pips), str(round(rate * 1000)), str(level)], capture_output=True, check=True).stdout
    return np.frombuffer(out, dtype=np.int16).astype(np.float64)


class Template:
    def __init__(self, name, pips=1, rate=1.0):
        self.name, self.pips, self.rate = name, pips, rate
        self.samples = tone(name, pips, rate)
        self.size, self.energy = len(self.samples), float(np.dot(self.samples, self.samples))
        self.few = signal.resample_poly(self.samples, 1, FEWER)
        self.few_energy = float(np.dot(self.few, self.few))
        self.spectra = {}

    def spectrum(self, n):
        if n not in self.spectra:
            self.spectra[n] = np.conj(fft.rfft(self.few, n))
        return self.spectra[n]

    def fit(self, x, at):
        """(energy explained, amplitude, likeness) if it begins there."""
        under = x[at:at + self.size]
        correlation = float(np.dot(under, self.samples))
        return correlation * abs(correlation) / self.energy, correlation / self.energy, correlation / np.sqrt(self.energy * max(1.0, float(np.dot(under, under))))


def templates(rates=(1.0,), pips=6, unplanned=("ALARM", "REFUSED")):
    """Every tone that a session may sound: pips to that number, a count at each of the rates."""
    found = [Template(name) for name in ("CHANGE", "POUR_OUT", "ATTEND", "ANSWER", "TURN", "REST", "BEAT", *unplanned)]
    found += [Template("PIPS", n) for n in range(1, pips + 1)]
    spacings = {}
    for rate in rates:
        spacings.setdefault(round(max(150.0, 1000.0 / rate), 3), rate)
    return found + [Template("COUNT", 1, rate) for rate in spacings.values()]


class Heard:
    def __init__(self, frame, template, amplitude, likeness):
        self.frame, self.template, self.amplitude, self.likeness = frame, template, amplitude, likeness

    def __repr__(self):
        t = self.template
        return f"{t.name}{t.pips if t.name == 'PIPS' else ''} at frame {self.frame} ({self.frame / RATE:.3f} s), level {self.amplitude:.2f}, likeness {self.likeness:.2f}"


def candidates(x, every, likeness, amplitude):
    """Peaks of each filter that are like enough: (energy explained, place, template, amplitude, likeness). Looked for in a
    quarter of the samples, for no tone has anything above 4 kHz; then placed to the sample."""
    few = signal.resample_poly(x, 1, FEWER)
    n = fft.next_fast_len(len(few) + max(len(t.few) for t in every), real=True)
    spectrum = fft.rfft(few, n)
    energy = np.concatenate(([0.0], np.cumsum(few * few)))
    found = []
    for t in every:
        size = len(t.few)
        if t.size > len(x):
            continue
        correlation = fft.irfft(spectrum * t.spectrum(n), n)[:len(few) - size + 1]
        a = correlation / t.few_energy
        like = correlation / np.sqrt(t.few_energy * np.maximum(energy[size:] - energy[:-size], 1.0))
        good = np.flatnonzero((a > amplitude[0] * 0.85) & (a < amplitude[1] * 1.15) & (like > likeness * 0.85))
        for group in np.split(good, np.flatnonzero(np.diff(good) > NEAR) + 1) if len(good) else ():
            peaks = group[correlation[group] > 0.85 * np.max(correlation[group])] * FEWER  # some periods of a tone, perhaps
            near = sorted({int(p) + d for p in peaks for d in range(-2, 3) if 0 <= p + d <= len(x) - t.size})
            explained, at, fit = max(((fit[0], at, fit) for at in near for fit in [t.fit(x, at)]), default=(0, 0, None))
            if fit and amplitude[0] < fit[1] < amplitude[1] and fit[2] > likeness:
                found.append((explained, at, t, fit[1], min(fit[2], 1.0)))
    return sorted(found, key=lambda c: -c[0])


def hear_block(x, every, amplitude=AMPLITUDE, passes=PASSES):
    """All tones of a block, which is left with what they don't explain."""
    heard = []
    for likeness in passes:
        for _ in range(20):
            if np.max(np.abs(x), initial=0) < QUIET:
                return heard
            taken = []
            for _, at, t, a, like in candidates(x, every, likeness, amplitude):
                if any(at < end and at + t.size > begin for begin, end in taken):
                    continue
                taken.append((at, at + t.size))
                heard.append(Heard(at, t, a, like))
                x[at:at + t.size] -= a * t.samples
            if not taken:
                break
    return heard


def hear(pcm, every, amplitude=AMPLITUDE, passes=PASSES, block=BLOCK):
    """All tones of a recording. Blocks overlap by the longest tone: one that begins in the overlap is the next block's."""
    overlap = max(t.size for t in every)
    heard, begin, carried = [], 0, np.zeros(0)
    while begin < len(pcm):
        x = np.array(pcm[begin:begin + block + overlap], dtype=np.float64)
        x[:len(carried)] = carried  # without what the block before has heard of it
        if np.any(x):
            before = x.copy()
            found = hear_block(x, every, amplitude, passes)
            mine = [h for h in found if h.frame < block]
            for h in mine:
                before[h.frame:h.frame + h.template.size] -= h.amplitude * h.template.samples
                h.frame += begin
            heard += mine
            carried = before[block:]
        else:
            carried = np.zeros(0)
        begin += block
    return sorted(heard, key=lambda h: h.frame)


def explained(part, clean):
    """Of how many samples the first are just these."""
    wrong = np.flatnonzero(part != clean[:len(part)])
    return int(wrong[0]) if len(wrong) else len(part)


def hear_exactly(pcm, expected, frame_of, level, slack=RATE // 50, loose=RATE * 6 // 100):
    """Places what was expected, where many tones stand too close for filters: their sum must be plain, that is soft. From the
    first sample on, the expected tone that explains the most samples to the last bit is taken out, and so on; if then
    something is left that is no tone, the next best was it. Two may begin with one sample. So each onset is found to
    the sample. Ends with the last of them. Gives the pairs (cue, frame), and the frame of what nothing explains, if
    there is such."""
    x, placed, best, choices, furthest = np.array(pcm, dtype=np.int32), [], [], [], 0
    due = np.array([frame_of(cue) for cue in expected])
    clean = [tone(cue.tone, cue.pips, cue.rate if cue.tone == "COUNT" else 1.0, level).astype(np.int32) for cue in expected]
    late = np.array([loose if getattr(cue, "is_loose", False) else slack for cue in expected])
    is_left = np.ones(len(expected), dtype=bool)

    def add(group, at, sign):
        for i in group:
            part = x[at:at + len(clean[i])]
            part += sign * clean[i][:len(part)]
            is_left[i] = sign > 0

    def ways(at):
        near = [int(i) for i in np.flatnonzero(is_left & (due - slack <= at) & (at <= due + late))]
        one_each = {(expected[i].tone, expected[i].pips): i for i in reversed(near)}  # of equal ones the first that is due
        groups = [[i] for i in one_each.values()] + [[i, j] for i in near for j in near if i < j]
        found = []
        for group in groups:
            together = np.zeros(max(len(clean[i]) for i in group), np.int32)
            for i in group:
                together[:len(clean[i])] += clean[i]
            found.append((explained(x[at:at + len(together)], together), group))
        return [group for samples, group in sorted(found, key=lambda f: (-f[0], len(f[1]))) if samples > 0][:6]

    at = 0
    while True:
        rest = np.flatnonzero(x[at:])
        if not len(rest) or not is_left.any():
            return [(expected[i], frame) for group, frame in placed for i in group], None
        at += int(rest[0])
        if at > furthest:
            furthest, best = at, list(placed)
        choices.append((at, ways(at)))
        while choices and not choices[-1][1]:
            choices.pop()
            if placed:
                add(*placed.pop(), 1)
        if not choices or furthest - choices[-1][0] > RATE:
            return [(expected[i], frame) for group, frame in best for i in group], furthest
        at, left = choices[-1]
        placed.append((left.pop(0), at))
        add(*placed[-1], -1)


class Verdict:
    """What was expected beside what was heard. An onset's error is in microseconds, of those heard nearly alone."""

    def __init__(self, expected, heard, frame_of, card_rate, slack_ms=20, loose_ms=60):
        slack, loose = slack_ms * RATE / 1000, loose_ms * RATE / 1000
        left = list(heard)
        self.errors, self.missing, self.found = [], [], []
        for cue in expected:
            due = frame_of(cue)
            is_loose = getattr(cue, "is_loose", False)
            early, late = (2, loose) if is_loose else (slack, slack)
            fits = [h for h in left if h.template.name == cue.tone and h.template.pips == cue.pips and -early <= h.frame - due <= late]
            if not fits:
                self.missing.append(cue)
                continue
            best = min(fits, key=lambda h: abs(h.frame - due))
            left.remove(best)
            self.found.append((cue, best))
            if not is_loose and best.likeness > 0.95:
                self.errors.append((cue, (best.frame - due) / card_rate * 1e6))
        self.extra = left
        order = [h.frame for _, h in self.found]
        self.out_of_order = sum(a >= b for a, b in zip(order, order[1:]))

    def of(self, *tones):
        return sorted(abs(e) for cue, e in self.errors if cue.tone in tones)

    def is_right(self):
        return not self.missing and not self.extra and not self.out_of_order

    def say(self, name, aim_us):
        print(f"{name}: {len(self.found)} cues heard, {len(self.missing)} missing, {len(self.extra)} extra, {self.out_of_order} out of order")
        for cue in self.missing[:5]:
            print(f"  missing: {cue}")
        for h in self.extra[:5]:
            print(f"  extra: {h}")
        print(f"  onset of all cues: {spread([abs(e) for _, e in self.errors], aim_us)}")
        print(f"  of stage changes:  {spread(self.of('CHANGE'), aim_us)}", flush=True)


def spread(us, aim=None):
    us = sorted(us)
    if not us:
        return "none"
    at = [us[0], us[len(us) // 2], us[min(len(us) - 1, len(us) * 99 // 100)], us[-1]]
    return f"{len(us)}, min {at[0]:.1f} median {at[1]:.1f} p99 {at[2]:.1f} max {at[3]:.1f} us" + (
        f"; over {aim} us: {sum(u > aim for u in us)}" if aim else "")
