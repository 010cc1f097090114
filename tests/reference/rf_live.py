#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Compares daemon/rf with general-purpose programs, on random cases: rf_live.py CHECK PROBE

  filters          shapes against scipy.signal, within 0.001 dB
  measured         interpolation against scipy.interpolate, within 0.000001 dB
  ladders          finite-Q ladders against ngspice, within 0.05 dB
  intermodulation  products of three unequal carriers behind a filter against the FFT of a cubic
                   non-linearity in time, within 0.1 dB

Without the program to compare with it fails where CI is set, and else says that it skips (status 77).
"""
import itertools
import math
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile

from probe import ask, compare

SEED = 20260613


def skip(missing):
    print(f"{missing} is not there to compare with" + (", and CI must compare" if os.environ.get("CI") else ": skipped"))
    sys.exit(1 if os.environ.get("CI") else 77)


def random_design(rng, butterworth):
    centre = rng.uniform(180e6, 960e6)
    width = centre * math.exp(rng.uniform(math.log(0.01), math.log(0.4)))
    low = round(math.sqrt(centre**2 + (width / 2) ** 2) - width / 2)
    return {"shape": "butterworth" if butterworth else "chebyshev", "order": rng.randint(1, 9),
            "ripple": 10 * math.log10(2) if butterworth else math.exp(rng.uniform(math.log(0.01), math.log(3))),
            "low": low, "high": low + round(width)}


def frequencies_for(rng, d, reach):
    middle, width = (d["low"] + d["high"]) / 2, d["high"] - d["low"]
    inside = [rng.uniform(d["low"], d["high"]) for _ in range(10)]
    outside = [f for f in (middle + width * rng.uniform(-reach, reach) for _ in range(20)) if f > 1e6]
    return [round(f) for f in [d["low"], d["high"], *inside, *outside]]


def request(d, q, frequencies):
    return " ".join(map(str, ["filter", d["shape"], d["order"], repr(d["ripple"]), d["low"], d["high"], q, *frequencies]))


def check_filters(probe, rng):
    try:
        import numpy as np
        from scipy import signal
    except ImportError:
        skip("scipy")
    cases = [(d, frequencies_for(rng, d, 4)) for d in (random_design(rng, i % 3 == 0) for i in range(150))]
    worst = 0
    for (d, fs), ours in zip(cases, ask(probe, [request(d, 0, fs) for d, fs in cases])):
        edges = [2 * np.pi * d["low"], 2 * np.pi * d["high"]]
        if d["shape"] == "butterworth":
            z, p, k = signal.butter(d["order"], edges, btype="bandpass", analog=True, output="zpk")
        else:
            z, p, k = signal.cheby1(d["order"], d["ripple"], edges, btype="bandpass", analog=True, output="zpk")
        # In logarithms: for a high order the gain factor and the products leave double's range.
        s = 2j * np.pi * np.array(fs, float)[:, None]
        db = 20 * (np.log10(np.abs(s - z)).sum(1) - np.log10(np.abs(s - p)).sum(1) + math.log10(k))
        worst = max(worst, compare(f"{d}", ours, list(-db), 1e-3))
    return len(cases), worst


def check_measured(probe, rng):
    try:
        from scipy.interpolate import PchipInterpolator
    except ImportError:
        skip("scipy")
    lines, theirs = [], []
    for _ in range(100):
        fs = sorted(rng.sample(range(470_000_000, 700_000_000), rng.randint(2, 30)))
        # Flat stretches and turns are where shapes get lost.
        values = [rng.choice([1.5, rng.uniform(0, 60)]) for _ in fs]
        at = [rng.randint(fs[0], fs[-1]) for _ in range(40)] + fs
        pairs = " ".join(f"{f} {v!r}" for f, v in zip(fs, values))
        lines.append(f"measured {len(fs)} {pairs} " + " ".join(map(str, at)))
        theirs.append([float(v) for v in PchipInterpolator(fs, values)(at)])
    return len(lines), max(compare(line, ours, other, 1e-6) for line, ours, other in zip(lines, ask(probe, lines), theirs))


def prototype(d):
    """g1 … gn and the load resistance, after Matthaei, Young, Jones; written apart from daemon/rf."""
    n, r = d["order"], d["ripple"]
    sines = [math.sin((2 * k - 1) * math.pi / (2 * n)) for k in range(1, n + 1)]
    if d["shape"] == "butterworth":
        return [2 * s for s in sines], 1.0
    beta = math.log(1 / math.tanh(r / 17.37177927613007))
    gamma = math.sinh(beta / (2 * n))
    g = [2 * sines[0] / gamma]
    for k in range(1, n):
        g.append(4 * sines[k - 1] * sines[k] / ((gamma**2 + math.sin(k * math.pi / n) ** 2) * g[-1]))
    return g, 1.0 if n % 2 else math.tanh(beta / 4) ** 2


def netlist(d, q, fs, ohms=50.0):
    g, load = prototype(d)
    w0 = 2 * math.pi * math.sqrt(d["low"] * d["high"])
    fractional = (d["high"] - d["low"]) / math.sqrt(d["low"] * d["high"])
    lines, node = ["band-pass", "V1 src 0 dc 0 ac 1", f"Rs src n1 {ohms}"], 1
    for k, value in enumerate(g, 1):
        if k % 2:
            inductance = fractional * ohms / (w0 * value)
            lines += [f"L{k} n{node} 0 {inductance:.12g}", f"C{k} n{node} 0 {1 / (w0**2 * inductance):.12g}",
                      f"Rp{k} n{node} 0 {q * w0 * inductance:.12g}"]
        else:
            inductance = value * ohms / (fractional * w0)
            lines += [f"L{k} n{node} m{k} {inductance:.12g}", f"C{k} m{k} x{k} {1 / (w0**2 * inductance):.12g}",
                      f"Rq{k} x{k} n{node + 1} {w0 * inductance / q:.12g}"]
            node += 1
    lines += [f"Rl n{node} 0 {ohms * load:.12g}", ".control", "set numdgt=12"]
    for f in fs:
        lines += [f"ac lin 1 {f} {f}", f"let a=vdb(n{node})", "print a"]
    return "\n".join(lines + ["quit", ".endc", ".end"]) + "\n", 10 * math.log10(4 / load)


def check_ladders(probe, rng):
    if not shutil.which("ngspice"):
        skip("ngspice")
    cases = []
    for i in range(24):
        d = random_design(rng, i % 3 == 0)
        d["order"] = rng.randint(1, 7)
        cases.append((d, round(math.exp(rng.uniform(math.log(40), math.log(3000))), 3), frequencies_for(rng, d, 2)))
    worst = 0
    for (d, q, fs), ours in zip(cases, ask(probe, [request(*case) for case in cases])):
        text, available = netlist(d, q, fs)
        with tempfile.NamedTemporaryFile("w", suffix=".cir") as file:
            file.write(text)
            file.flush()
            out = subprocess.run(["ngspice", "-b", file.name], capture_output=True, text=True, timeout=60).stdout
        theirs = [-(float(v) + available) for v in re.findall(r"^a = (\S+)", out, re.M)]
        worst = max(worst, compare(f"{d} Q {q}", ours, theirs, 0.05))
    return len(cases), worst


def check_intermodulation(probe, rng):
    try:
        import numpy as np
        from scipy import signal
    except ImportError:
        skip("numpy with scipy")
    step, points, ohms = 25_000, 1 << 17, 50.0
    low, high, order, ripple = 500_000_000, 540_000_000, 3, 0.1
    amplitude = lambda dbm: math.sqrt(2 * ohms * 1e-3 * 10 ** (dbm / 10))
    z, p, k = signal.cheby1(order, ripple, [2 * np.pi * low, 2 * np.pi * high], btype="bandpass", analog=True, output="zpk")
    time = np.arange(points)
    lines, theirs = [], []
    while len(lines) < 20:
        bins = rng.sample(range(19_000, 23_000), 3)  # 475 to 575 MHz: pass band, edges and skirts
        levels = [rng.uniform(-45, -5) for _ in bins]
        iip3 = rng.uniform(0, 20)
        products = [2 * a - b for a, b in itertools.permutations(bins, 2)]
        products += [sum(bins) - 2 * c for c in bins]
        if len(set(products + bins)) < len(products + bins):
            continue  # each product on a frequency of its own
        _, response = signal.freqs_zpk(z, p, k, worN=2 * np.pi * np.array(bins) * float(step))
        x = sum(abs(h) * amplitude(level) * np.cos(2 * np.pi * (b * time % points) / points + rng.uniform(0, 6.28))
                for h, level, b in zip(response, levels, bins))
        # y = x + a3·x³: for two equal tones the product 2a−b equals them at the intercept.
        y = x - (4 / 3) / amplitude(iip3) ** 2 * x**3
        peaks = np.abs(np.fft.rfft(y)[products]) * 2 / points
        theirs.append([float(v) for v in 10 * np.log10(peaks**2 / (2 * ohms) / 1e-3)])
        tones = " ".join(f"{b * step} {level!r}" for b, level in zip(bins, levels))
        lines.append(f"filtered-intermodulation {order} {ripple} {low} {high} {iip3!r} 3 {tones} "
                     + " ".join(str(b * step) for b in products))
    return len(lines), max(compare(line, ours, other, 0.1) for line, ours, other in zip(lines, ask(probe, lines), theirs))


CHECKS = {"filters": check_filters, "measured": check_measured, "ladders": check_ladders,
          "intermodulation": check_intermodulation}
cases, worst = CHECKS[sys.argv[1]](sys.argv[2], random.Random(SEED))
print(f"{sys.argv[1]}: {cases} random cases (seed {SEED}), at most {worst:.2e} dB apart")
