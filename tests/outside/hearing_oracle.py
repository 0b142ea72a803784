# hearing_oracle.py: a listener that knows the tones by heart and hears them in noise, with matched filters: python3-numpy and
# python3-scipy. Standard input: a line "seed trials db", then one line a tone: its samples at 48 kHz.
#
# Standard output: for each noise (white, pink, running water) a matrix, row by row: how often tone i was taken for tone j. The
# noise fills what the ear hears of a tone, 0 to 4.8 kHz, and for 0 dB is as strong as the notes themselves are (gaps not counted).
import sys

import numpy as np
from scipy.signal import resample_poly

RATE, DOWN = 48000, 5  # 9,600 Hz: all partials lie below 4 kHz
LISTEN = 2.75  # seconds heard; a tone begins somewhere in its first half second
FFT = 32768
POOL = 120  # seconds of each noise; every hearing takes a stretch of it


def white(rng, n):
    return rng.standard_normal(n)


def pink(rng, n):
    spectrum = np.fft.rfft(rng.standard_normal(n))
    f = np.fft.rfftfreq(n, DOWN / RATE)
    spectrum[f < 20] = 0
    spectrum[1:] /= np.sqrt(f[1:])
    return np.fft.irfft(spectrum, n)


# Running water is many bubbles: a bubble of radius r rings at 3/r Hz and dies away at 0.13/r + 0.0072 r^-1.5 a second
# (K. van den Doel, Physically based models for liquid sounds, ACM Transactions on Applied Perception 2, 2005; from
# memory), over the hiss of the stream, which swells and sinks.
def water(rng, n):
    rate = RATE / DOWN
    out = np.zeros(n + int(rate))
    for at in rng.integers(0, n, int(400 * n / rate)):
        r = rng.uniform(0.0008, 0.012)
        decay = 0.13 / r + 0.0072 * r**-1.5
        t = np.arange(int(min(rate, 7 * rate / decay))) / rate
        out[at : at + len(t)] += r * rng.uniform(0.2, 1) * np.sin(2 * np.pi * 3 / r * t + rng.uniform(0, 6.28)) * np.exp(-decay * t)
    hiss = pink(rng, n)
    swell = 1 + 0.4 * np.sin(2 * np.pi * rng.uniform(0.5, 3) * np.arange(n) / rate + rng.uniform(0, 6.28))
    out = out[:n] / out[:n].std()
    return out + 0.5 * hiss / hiss.std() * swell


def loud(tone):
    """Where a note sounds: over a hundredth of the peak in the last 3 ms."""
    over = np.abs(tone) > np.abs(tone).max() / 100
    return np.convolve(over, np.ones(int(0.006 * RATE / DOWN)), "same") > 0.5


def confusion(rng, tones, trials, db):
    n, rate = int(LISTEN * RATE / DOWN), RATE // DOWN
    filters = np.array([np.conj(np.fft.rfft(t / np.linalg.norm(t), FFT)) for t in tones])
    for noise in (white, pink, water):
        pool = noise(rng, POOL * rate)
        matrix = np.zeros((len(tones), len(tones)), int)
        for i, tone in enumerate(tones):
            level = np.sqrt(np.mean(tone[loud(tone)] ** 2)) * 10 ** (-db / 20)
            for _ in range(trials):
                start = rng.integers(0, len(pool) - n)
                heard = pool[start : start + n] * (level / pool[start : start + n].std())
                at = rng.integers(0, min(rate // 2, n - len(tone)))
                heard[at : at + len(tone)] += tone
                scores = np.fft.irfft(np.fft.rfft(heard, FFT) * filters, FFT)[:, : rate // 2]
                matrix[i, scores.max(axis=1).argmax()] += 1
        for row in matrix:
            print(*row)


seed, trials, db = sys.stdin.readline().split()
tones = [resample_poly(np.array(line.split(), float), 1, DOWN) for line in sys.stdin]
confusion(np.random.default_rng(int(seed)), tones, int(trials), float(db))
