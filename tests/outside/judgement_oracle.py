# judgement_oracle.py fit: the MM-estimate again, by scipy's general tools, one line a question from standard input:
# has_slope n, level slope scale as the daemon found them, then x y x y ...
# Answers: the minimum of the bisquare objective at that scale, found from there (level, slope); how much lower the best minimum
# from eight beginnings is; the scale by its equation; half widths of level and slope. The constants come from quadrature.
import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, minimize
from scipy.stats import norm, t

C0, C = 1.54764, 4.685


def weight(u, c=C):
    return np.where(np.abs(u) < c, (1 - (u / c) ** 2) ** 2, 0)


def rho(u, c):
    return np.where(np.abs(u) < c, 1 - (1 - (u / c) ** 2) ** 3, 1)


def mean(f):
    return quad(lambda z: f(z) * norm.pdf(z), -C, C, epsabs=1e-13)[0]


E_W = mean(lambda z: float(weight(z)))
KAPPA = mean(lambda z: float(weight(z)) * z * z) / E_W
E_DPSI = mean(lambda z: (1 - (z / C) ** 2) * (1 - 5 * (z / C) ** 2))
COV = mean(lambda z: (z * float(weight(z))) ** 2) / E_DPSI ** 2 * E_W


def s_scale(r, p):
    half, high = 0.5 * (len(r) - p), 10 * np.max(np.abs(r)) + 1e-9
    lack = lambda log_s: np.sum(rho(r / np.exp(log_s), C0)) - half
    low = np.log(1e-9)
    return np.exp(brentq(lack, low, np.log(high), xtol=1e-12)) if lack(low) > 0 else 1e-9


def least_s(x, y, p):
    lines = [(y[i] - b * x[i], b) for i in range(len(x)) for j in range(i) if x[i] != x[j]
             for b in [(y[i] - y[j]) / (x[i] - x[j])]] if p == 2 else [(v, 0) for v in y]
    least = s_scale(y - lines[0][0] - lines[0][1] * x, p)
    for a, b in lines[1:]:
        if np.sum(rho((y - a - b * x) / least, C0)) < 0.5 * (len(x) - p):
            least = s_scale(y - a - b * x, p)
    return least


def fit(row):
    p, n, level, slope, scale = 1 + int(row[0]), int(row[1]), *row[2:5]
    x, y = np.array(row[5::2]), np.array(row[6::2])
    assert len(x) == n and len(y) == n
    loss = lambda v: float(np.sum(rho((y - v[0] - (v[1] * x if p == 2 else 0)) / scale, C)))
    psi = lambda v: (lambda r: -6 / C ** 2 / scale ** 2 * r * weight(r / scale))(y - v[0] - (v[1] * x if p == 2 else 0))
    slope_of = lambda v: np.array([np.sum(psi(v)), np.sum(psi(v) * x)][:p])
    best = lambda start: minimize(loss, start, jac=slope_of, method="BFGS", options={"gtol": 1e-10})
    here = best([level, slope][:p])
    rng = np.random.default_rng(n)
    starts = [[*(np.polyfit(x[k], y[k], 1)[::-1])] if p == 2 else [y[k[0]]] for k in (rng.choice(n, 2, replace=False) for _ in range(8))]
    lower = here.fun - min(best(s).fun for s in starts)
    w = weight((y - level - slope * x) / scale)
    r = y - level - slope * x
    sigma = max(np.sqrt(np.sum(w * r * r) / (KAPPA * np.sum(w)) * n / (n - p)), 0.7 * least_s(x, y, p), 0.1)
    # The weighted design, by matrices.
    X = np.column_stack([np.ones(n), x][:p])
    cov = scale ** 2 * COV * np.linalg.inv(X.T @ (w[:, None] * X))
    df = min(np.sum(w) / E_W, n) - p
    half = t.ppf(0.95, df) * np.sqrt(np.diag(cov)) * (1 + 0.6 / n if n > 4 else 1)
    print(*(repr(float(v)) for v in (here.x[0], here.x[1] if p == 2 else 0, lower, sigma, half[0], half[1] if p == 2 else 0)))


if __name__ == "__main__":
    for line in sys.stdin:
        if line.strip():
            fit([float(v) for v in line.split()])
