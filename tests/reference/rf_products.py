#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What of an intermodulation product lies in a channel, against carriers sent through a cubic and a fifth power.

Frequency-modulated and digital carriers are made sample by sample, added up, distorted by x·|x|² or x·|x|⁴,
and the power in channels on and beside the products is measured with an FFT. No formula of ours is used but
for the levels of whole products, which rf_intermodulation_test.cpp holds.

  rf_products.py PROBE     exit status 77 without numpy
"""
import subprocess
import sys

try:
    import numpy as np
except ImportError:
    sys.exit(77)

RATE = 16e6  # samples a second, around any carrier frequency
SAMPLES = 1 << 19
ROUNDS = 8
FREQUENCIES = np.fft.fftfreq(SAMPLES, 1 / RATE)
STAND_AT = (-3.0e6, -1.0e6, 2.2e6)
ALLOWED_DB = 0.5
LEAST_SHARE = 0.1
ALLOWED_OF_FIFTH_DB = 1.0  # what is assumed of a carrier counts five times


def fm(random, deviation, top=15e3):
    """A carrier that noise from 50 Hz to `top` deviates by `deviation` Hz (r.m.s.)."""
    spectrum = np.fft.fft(random.standard_normal(SAMPLES))
    spectrum[(abs(FREQUENCIES) > top) | (abs(FREQUENCIES) < 50)] = 0
    noise = np.fft.ifft(spectrum).real
    return np.exp(2j * np.pi * np.cumsum(noise * deviation / noise.std()) / RATE)


def digital(random, points, roll_off, rate=100e3):
    """Square-root raised cosine pulses, made by their spectrum: `points` a square of 4, 16 or 64."""
    every = int(RATE / rate)
    side = np.arange(0, np.sqrt(points)) * 2 - np.sqrt(points) + 1
    count = SAMPLES // every
    impulses = np.zeros(SAMPLES, complex)
    impulses[: count * every : every] = random.choice(side, count) + 1j * random.choice(side, count)
    x = abs(FREQUENCIES) / rate
    edge = (1 - roll_off) / 2
    cosine = 0.5 * (1 + np.cos(np.pi / roll_off * np.clip(x - edge, 0, roll_off)))
    signal = np.fft.ifft(np.fft.fft(impulses) * np.sqrt(cosine))
    return signal / np.sqrt(np.mean(abs(signal) ** 2))


def ofdm(random, width=200e3, carriers=100):
    """Four phases on each subcarrier, without pauses between the symbols."""
    every = int(RATE / (width / carriers))
    turns = np.outer(np.arange(carriers) - carriers / 2, np.arange(every) / every)
    phases = 1j ** random.integers(0, 4, (SAMPLES // every + 1, carriers))
    signal = (phases @ np.exp(2j * np.pi * turns)).ravel()[:SAMPLES]
    return signal / np.sqrt(np.mean(abs(signal) ** 2))


def power(signal):
    return abs(np.fft.fft(signal)) ** 2 / SAMPLES**2


def occupied(make):
    """The bandwidth that holds 99 % of the power, ITU Radio Regulations No. 1.153."""
    total = sum(power(make()) for _ in range(ROUNDS))
    order = np.argsort(FREQUENCIES)
    part = np.cumsum(total[order]) / total.sum()
    low, high = (FREQUENCIES[order][np.searchsorted(part, edge)] for edge in (0.005, 0.995))
    return high - low


def in_channel(spectrum, middle, width):
    return spectrum[abs(FREQUENCIES - middle) <= width / 2].sum()


KINDS = {
    "fm, 20 kHz": ("fm", lambda random: fm(random, 20e3)),
    "fm, 30 kHz": ("fm", lambda random: fm(random, 30e3)),
    "four phases, roll-off 0.35": ("psk", lambda random: digital(random, 4, 0.35)),
    "four phases, roll-off 0.2": ("psk", lambda random: digital(random, 4, 0.2)),
    "16 points, roll-off 0.2": ("qam", lambda random: digital(random, 16, 0.2)),
    "64 points, roll-off 0.2": ("qam", lambda random: digital(random, 64, 0.2)),
    "ofdm": ("ofdm", ofdm),
}
# Which kinds stand on the three frequencies.
TRIALS = [(name, name, name) for name in KINDS] + [
    ("fm, 20 kHz", "four phases, roll-off 0.35", "fm, 30 kHz"),
    ("four phases, roll-off 0.2", "fm, 20 kHz", "fm, 20 kHz"),
    ("fm, 20 kHz", "ofdm", "16 points, roll-off 0.2"),
]
# a + b − c by their places; of two carriers where the first two are one.
PRODUCTS = ((0, 1, 2), (0, 2, 1), (1, 2, 0), (0, 0, 1), (1, 1, 0), (1, 1, 2), (2, 2, 1))


# 3a − 2b by their places.
OF_FIFTH = ((0, 1), (1, 0))  # none of the other comes back there past half the rate


def compare(probe, what, questions, measured, least, allowed):
    """How many there are to compare, and how far apart the worst is."""
    answers = subprocess.run([probe], input="\n".join(questions) + "\n", text=True, capture_output=True,
                             check=True).stdout.split()
    worst, compared = 0.0, 0
    for question, ours, theirs in zip(questions, map(float, answers), measured, strict=True):
        if theirs < least:
            continue
        compared += 1
        off = 10 * np.log10(ours / theirs)
        worst = max(worst, abs(off))
        if abs(off) > allowed:
            print(f"{what}: {question}: {ours:.4f}, an FFT has {theirs:.4f}: {off:+.2f} dB")
    return compared, worst


def told(bandwidth, trial, places):
    return " ".join(f"{KINDS[trial[k]][0]} {bandwidth[trial[k]]:.0f}" for k in places)


def third_order(probe, random, bandwidth, trial, turn):
    total = np.zeros(SAMPLES)
    for _ in range(ROUNDS):
        x = sum(KINDS[name][1](random) * turn[i] for i, name in enumerate(trial))
        total += power(x * abs(x) ** 2) / ROUNDS
    questions, measured, width = [], [], bandwidth[trial[0]]
    for a, b, c in PRODUCTS:
        at = STAND_AT[a] + STAND_AT[b] - STAND_AT[c]
        for beside in np.arange(0, 2, 0.25) * width:
            questions.append(f"share {int(a == b)} {told(bandwidth, trial, (a, b, c))} {beside:.0f} {width:.0f}")
            # Each carrier has a power of 1: 2abc* has one of 4, a²b* of 1.
            measured.append(in_channel(total, at + beside, width) / (1 if a == b else 4))
    return compare(probe, trial, questions, measured, LEAST_SHARE, ALLOWED_DB)


def fifth_order(probe, random, bandwidth, trial, turn):
    """Of two carriers alone: with three there would be products of three beside."""
    compared, worst = 0, 0.0
    for a, b in OF_FIFTH:
        total = np.zeros(SAMPLES)
        for _ in range(ROUNDS):
            x = KINDS[trial[a]][1](random) * turn[a] + KINDS[trial[b]][1](random) * turn[b]
            total += power(x * abs(x) ** 4) / ROUNDS
        questions, measured, width = [], [], bandwidth[trial[0]]
        at = 3 * STAND_AT[a] - 2 * STAND_AT[b]
        for beside in np.arange(0, 2, 0.25) * width:
            questions.append(f"fifth-share {told(bandwidth, trial, (a, b))} {beside:.0f} {width:.0f}")
            measured.append(in_channel(total, at + beside, width))
        least = LEAST_SHARE * max(measured)
        of_these, apart = compare(probe, trial, questions, measured, least, ALLOWED_OF_FIFTH_DB)
        compared, worst = compared + of_these, max(worst, apart)
    return compared, worst


def main(probe):
    random = np.random.default_rng(20)
    bandwidth = {name: occupied(lambda make=make: make(random)) for name, (_, make) in KINDS.items()}
    turn = [np.exp(2j * np.pi * at * np.arange(SAMPLES) / RATE) for at in STAND_AT]
    passed = True
    for order, of_trial, allowed in (("third", third_order, ALLOWED_DB), ("fifth", fifth_order, ALLOWED_OF_FIFTH_DB)):
        counts, apart = zip(*(of_trial(probe, random, bandwidth, trial, turn) for trial in TRIALS))
        print(f"{order} order: {sum(counts)} channels, at most {max(apart):.2f} dB apart")
        passed = passed and max(apart) <= allowed and sum(counts) > 100
    return 0 if passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
