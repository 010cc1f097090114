#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What the air does between antennas, computed apart from daemon/ on random cases: air_live.py CHECK PROBE

  ways             two rays drawn as vectors in the plane, and losses indoors, within 0.001 dB
  fading           outages by integrating the density of the best of several Rayleigh signals, within 0.001 dB
  noise            man-made noise; and that of racks of one to four antennas on a combiner, every source of noise
                   followed to the receiver's input, within 0.001 dB
  responses        carriers at spurious responses of a receiver, by how far apart the centres are, and the margin that
                   is left, within 0.01 dB

Written from the formulas of the headers' sources, with Python's own mathematics alone.
"""
import cmath
import math
import random
import sys

from probe import ask, compare, spread

SEED = 20261130
LIGHT = 299_792_458.0


def field(hertz, way, factor=1.0):
    """What arrives by one ray, over what leaves: spherical spreading, and a turn for each wavelength."""
    wave = LIGHT / hertz
    return factor * wave / (4 * math.pi * way) * cmath.exp(-2j * math.pi * way / wave)


def decibels(amplitude):
    return -20 * math.log10(abs(amplitude))


def check_ways(probe, rng):
    lines, theirs = [], []
    for _ in range(400):
        hertz, high, low = round(spread(rng, 4e8, 2.4e9)), spread(rng, 0.5, 20), spread(rng, 0.5, 4)
        along, rho = spread(rng, 1, 3000), rng.choice([0.0, 1.0, rng.random()])
        direct, reflected = math.hypot(along, high - low), math.hypot(along, high + low)
        both = decibels(field(hertz, direct) + field(hertz, reflected, -rho))
        free = decibels(field(hertz, direct))
        last = 4 * high * low * hertz / LIGHT
        if abs(direct - last) < 1e-6:
            continue
        usual = max(free, both) if direct > last else free
        lines.append(f"two-ray {hertz} {direct!r} {high!r} {low!r} {rho!r}")
        theirs.append([both, free - 20 * math.log10(1 + rho), usual, last])
    for _ in range(200):
        hertz, metres, slope = round(spread(rng, 4e8, 2.4e9)), spread(rng, 0.1, 500), rng.uniform(10, 60)
        free = decibels(field(hertz, metres))
        walls = decibels(field(hertz, min(metres, 1))) + slope * math.log10(max(metres, 1))
        lines.append(f"indoor {hertz} {metres!r} {slope!r}")
        theirs.append([walls, min(free, walls), walls])
    answers = ask(probe, lines)
    assert len(answers) == len(lines)
    return len(lines), max(compare(line, ours, other, 1e-3) for line, ours, other in zip(lines, answers, theirs))


def outage(threshold, antennas, steps=4000):
    """Of the strongest of several powers of mean 1: its density integrated up to the threshold (Simpson)."""
    density = lambda x: antennas * (1 - math.exp(-x)) ** (antennas - 1) * math.exp(-x)
    width = threshold / steps
    inner = sum((4 if i % 2 else 2) * density(i * width) for i in range(1, steps))
    return width / 3 * (density(0) + inner + density(threshold))


def check_fading(probe, rng):
    lines, theirs = [], []
    for _ in range(60):
        share, antennas = rng.choice([0.5, 0.9, 0.99, 0.999, 1 - spread(rng, 1e-5, 0.5)]), rng.randint(1, 8)
        low, high = 1e-7, 30.0  # by halving: where the outage is what may be missed
        for _ in range(60):
            middle = math.sqrt(low * high)
            low, high = (middle, high) if outage(middle, antennas) < 1 - share else (low, middle)
        lines.append(f"fading {share!r} {antennas}")
        theirs.append([-10 * math.log10(low)])
    answers = ask(probe, lines)
    assert len(answers) == len(lines)
    return len(lines), max(compare(line, ours, other, 1e-3) for line, ours, other in zip(lines, answers, theirs))


PLACES = {"city": (76.8, 27.7), "residential": (72.5, 27.7), "rural": (67.2, 27.7), "quiet-rural": (53.6, 28.6)}
KT0 = 1.380649e-23 * 290 * 1e3  # mW/Hz


def ratio(db):
    return 10 ** (db / 10)


def dbm(milliwatts):
    return 10 * math.log10(milliwatts)


def noise_at_receiver(external, gains, receiver_db):
    """kT0 in each Hz at the input of a receiver behind a combiner of as many ports as there are gains."""
    by_antennas = sum(g * ratio(external) + (1 - g) for g in gains) / len(gains)
    return by_antennas + ratio(receiver_db) - 1


def check_noise(probe, rng):
    lines, theirs = [], []
    for _ in range(100):
        place, hertz = rng.choice(list(PLACES)), round(spread(rng, 3e5, 3e9))
        c, d = (44.3, 12.3) if place == "city" and hertz > 128.9e6 else PLACES[place]
        if place == "city" and 128e6 < hertz < 130e6:
            continue  # where one curve hands over to the other
        lines.append(f"man-made {place} {hertz}")
        theirs.append([c - d * math.log10(hertz / 1e6)])
    for _ in range(200):
        external, receiver_db = rng.choice([0.0, rng.uniform(0, 30)]), rng.uniform(1, 15)
        feeds = [rng.uniform(0, 20) for _ in range(rng.randint(1, 4))]
        hertz, width = round(spread(rng, 4e8, 9e8)), 2 * rng.randint(5_000, 200_000)
        gains = [ratio(-1 - feed) for feed in feeds]
        own = gains[0] / len(gains)
        noise = KT0 * width * noise_at_receiver(external, gains, receiver_db) / own
        figure = noise_at_receiver(external, gains, receiver_db) / own - ratio(external) + 1
        # 10 dBm e.r.p. 50 m away; what the sensitivity of −95 dBm stands over the receiver's own noise.
        weakest = 10 + 2.15 - decibels(field(hertz, 50))
        needed = dbm(noise) + -95 - dbm(KT0 * width * ratio(receiver_db))
        lines.append(f"rack {external!r} {len(feeds)} {' '.join(map(repr, feeds))} {receiver_db!r} 0 1 {hertz} {width}")
        theirs.append([dbm(figure), dbm(noise), -999, -999, weakest - needed])
    answers = ask(probe, lines)
    assert len(answers) == len(lines)
    return len(lines), max(compare(line, ours, other, 1e-3) for line, ours, other in zip(lines, answers, theirs))


def within(carrier, centre, width):
    """Share of a carrier's even spectrum that lies in a channel, by how far apart the two centres are."""
    hertz, bandwidth = carrier
    covered = (bandwidth + width) / 2 - abs(hertz - centre)
    return min(max(covered, 0), bandwidth, width) / bandwidth


def check_responses(probe, rng):
    lines, theirs = [], []
    while len(lines) < 60:
        feeds = [rng.uniform(0, 20) for _ in range(rng.randint(1, 3))]
        gains, receiver_db = [ratio(-1 - feed) for feed in feeds], rng.uniform(1, 15)
        own = gains[0] / len(gains)
        wanted = (round(rng.uniform(480e6, 700e6)), 200_000)
        responses = [(rng.choice([-1, 1]) * rng.randint(1_000_000, 60_000_000), rng.uniform(0, 90)) for _ in range(6)]
        carriers = [wanted]
        for offset, _ in responses[:4]:
            bandwidth = rng.choice([100_000, 200_000, 400_000])
            carriers.append((wanted[0] + offset + rng.randint(-300_000, 300_000), bandwidth))
        spurious = sum(ratio(12.15 - decibels(field(carrier[0], 10)) - rejection) * within(carrier, wanted[0] + offset, wanted[1])
                       for carrier in carriers[1:] for offset, rejection in responses)
        # What one antenna hears every antenna does; at the receiver they add, by their gains.
        spurious *= sum(gains) / len(gains) / own
        co_channel = sum(ratio(12.15 - decibels(field(carrier[0], 10))) * within(carrier, *wanted) for carrier in carriers[1:])
        if co_channel:
            continue
        noise = KT0 * wanted[1] * noise_at_receiver(0, gains, receiver_db) / own
        over_noise = ratio(-95) / (KT0 * wanted[1] * ratio(receiver_db))
        needed = max((noise + spurious) * over_noise, spurious * ratio(12))
        listed = " ".join(f"{offset} {rejection!r}" for offset, rejection in responses)
        lines.append(f"rack 0 {len(feeds)} {' '.join(map(repr, feeds))} {receiver_db!r} {len(responses)} {listed} "
                     f"{len(carriers)} " + " ".join(f"{hertz} {width}" for hertz, width in carriers))
        theirs.append([dbm(noise / (KT0 * wanted[1])), dbm(noise), dbm(spurious) if spurious else -999, -999,
                       12.15 - decibels(field(wanted[0], 50)) - dbm(needed)])
    answers = ask(probe, lines)
    assert len(answers) == len(lines)
    assert sum(other[2] > -999 for other in theirs) > 20, "hardly anything is heard"
    return len(lines), max(compare(line, ours, other, 1e-2) for line, ours, other in zip(lines, answers, theirs))


CHECKS = {"ways": check_ways, "fading": check_fading, "noise": check_noise, "responses": check_responses}
cases, worst = CHECKS[sys.argv[1]](sys.argv[2], random.Random(SEED))
print(f"{sys.argv[1]}: {cases} random cases (seed {SEED}), at most {worst:.2e} apart")
