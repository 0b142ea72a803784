# tempering_oracle.py TOPIC: answers for the tests of tempering, one line a question from standard input.
# Water is python3-iapws (IAPWS R6-95), the rest is python3-scipy; none of it shares code with the daemon.
import sys
import warnings

import numpy as np

P = 0.101325  # MPa


def water_state(c):
    from iapws import IAPWS95

    # Above 99.9 C water boils at this pressure: the saturated liquid stands in.
    return IAPWS95(T=c + 273.15, P=P) if c < 99.9 else IAPWS95(T=c + 273.15, x=0)


def water(rows):
    for (c,) in rows:
        s = water_state(c)
        print(repr(s.rho), repr(s.h * 1000), repr(s.cp * 1000))


def splines():
    from scipy.interpolate import CubicSpline

    at = np.linspace(0, 100, 101)
    states = [water_state(c) for c in at]
    return CubicSpline(at, [s.rho for s in states]), CubicSpline(at, [s.h * 1000 for s in states])


# total target hot cold | stock_ml stock_c g_per_ml share solute_cp | vessel_j_k vessel_c; volumes in mL, shares of one.
# Answers: temperature all cold, all hot, and the hot mL for the target (-1 when it is not between).
def blend(rows):
    from scipy.optimize import brentq

    rho, h = splines()

    def settle(parts, vessel):
        def lack(c):
            sum_j = vessel[0] * (c - vessel[1])
            for kg, part_c, share, cp in parts:
                sum_j += kg * ((1 - share) * (h(c) - h(part_c)) + share * cp * (c - part_c))
            return sum_j

        return brentq(lack, 0, 100, xtol=1e-12)

    for total, target, hot, cold, stock, stock_c, density, share, cp, vessel_j, vessel_c in rows:
        water_ml = total - stock

        def mixed(hot_ml):
            parts = [(hot_ml * rho(hot) / 1e6, hot, 0, 0), ((water_ml - hot_ml) * rho(cold) / 1e6, cold, 0, 0)]
            if stock > 0:
                parts.append((stock * (density * 1000 if density > 0 else rho(stock_c)) / 1e6, stock_c, share, cp))
            return settle(parts, (vessel_j, vessel_c))

        low, high = mixed(0), mixed(water_ml)
        is_between = low < target < high
        x = brentq(lambda ml: mixed(ml) - target, 0, water_ml, xtol=1e-9) if is_between else -1
        print(repr(float(low)), repr(float(high)), repr(float(x)))


# C1 C2 k12 k2r T1 T2 Tr t
def two_body(rows):
    from scipy.integrate import solve_ivp

    for c1, c2, k12, k2r, t1, t2, room, t in rows:
        def rate(_, y):
            return [k12 * (y[1] - y[0]) / c1, (k12 * (y[0] - y[1]) + k2r * (room - y[1])) / c2]

        s = solve_ivp(rate, (0, t), [t1, t2], method="LSODA", rtol=1e-11, atol=1e-11)
        assert s.success
        print(repr(s.y[0][-1]), repr(s.y[1][-1]))


# is_free surround n t T t T ...: T0 tau surround, their standard errors.
def fit(rows):
    from scipy.optimize import curve_fit

    for row in rows:
        is_free, surround, n = row[0] > 0, row[1], int(row[2])
        t, c = np.array(row[3:3 + 2 * n:2]), np.array(row[4:3 + 2 * n:2])
        if is_free:
            law = lambda t, t0, tau, s: s + (t0 - s) * np.exp(-t / tau)
        else:
            law = lambda t, t0, tau: surround + (t0 - surround) * np.exp(-t / tau)
        # From several beginnings, for from one alone it may run away; the least sum of squares counts.
        found = []
        for share in (0.1, 0.3, 1, 3, 10):
            start = (c[0], share * t[-1], c[-1]) if is_free else (c[0], share * t[-1])
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                try:
                    p, cov = curve_fit(law, t, c, start, maxfev=20000, xtol=1e-14, ftol=1e-14, gtol=1e-14)
                except RuntimeError:  # no convergence
                    continue
            if np.all(np.isfinite(cov)):
                found.append((float(np.sum((law(t, *p) - c) ** 2)), p, cov))
        _, p, cov = min(found, key=lambda f: f[0])
        e = np.sqrt(np.diag(cov))
        if not is_free:
            p, e = np.append(p, surround), np.append(e, 0)
        print(*(repr(float(x)) for x in (*p, *e)))


# is_free surround reference factor aim n t T t T ...: the end of a stage that begins at t = 0, warmer or colder readings
# joined by lines, after the last one the fitted law; then the temperature at the last reading, tau, surround and the standard
# errors of the first, of log tau and of the third, where no reading is trusted to better than 0.2 C in its division.
def stage(rows):
    from scipy.integrate import solve_ivp
    from scipy.optimize import curve_fit

    for row in rows:
        is_free, surround, reference, factor, aim, n = row[0] > 0, row[1], row[2], row[3], row[4], int(row[5])
        t, c = np.array(row[6:6 + 2 * n:2]), np.array(row[7:7 + 2 * n:2])
        back = t - t[-1]

        def law(x, last, log_tau, s=surround):
            return s + (last - s) * np.exp(-x / np.exp(log_tau))

        found = []
        for share in (0.1, 0.3, 1, 3, 10):
            start = [c[-1], np.log(share * (t[-1] - t[0]))] + ([c[-1] - 1] if is_free else [])
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                try:
                    fitted = law if is_free else lambda x, last, log_tau: law(x, last, log_tau)
                    p, cov = curve_fit(fitted, back, c, start, maxfev=20000, xtol=1e-14, ftol=1e-14, gtol=1e-14)
                except RuntimeError:
                    continue
            if np.all(np.isfinite(cov)):
                found.append((float(np.sum((law(back, *p) - c) ** 2)), p, cov))
        squares, p, cov = min(found, key=lambda f: f[0])
        variance = squares / (n - len(p))
        e = np.sqrt(np.diag(cov) * max(variance, 0.2 ** 2 / 12) / variance)
        if not is_free:
            p, e = np.append(p, surround), np.append(e, 0)

        def rate(x, _):
            warm = np.interp(x, t, c) if x < t[-1] else law(x - t[-1], *p)
            return [factor ** ((warm - reference) / 10)]

        dose = 0.0
        for a, b in zip(np.append(0, t), t):  # a reading bends the line: one piece at a time
            if b > a:
                dose = solve_ivp(rate, (a, b - 1e-12), [dose], rtol=1e-11, atol=1e-11).y[0][-1]
        full = lambda x, y: y[0] - aim
        full.terminal = True
        s = solve_ivp(rate, (t[-1], t[-1] + 50 * aim), [dose], rtol=1e-11, atol=1e-11, events=full)
        print(*(repr(float(x)) for x in (s.t_events[0][0], p[0], np.exp(p[1]), p[2], *e)))


if __name__ == "__main__":
    questions = [[float(x) for x in line.split()] for line in sys.stdin if line.strip()]
    {"water": water, "blend": blend, "two_body": two_body, "fit": fit, "stage": stage}[sys.argv[1]](questions)
