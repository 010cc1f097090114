#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Whole racks at random, from files to margins, by rack_probe and by a calculation of its own (rack_reckoning.py).

  rack_live.py PROBE [RACKS [SEED]]

Every figure of every carrier at every receiver and antenna agrees within 0.01 dB, as levels/README.md says that it is
counted. Where that is an approximation by design, rack_reckoning.py can do without: `exact` levels of carriers behind
the node, and intermodulation triple by triple, which is never more than what is counted.
"""
import json
import math
import os
import random
import subprocess
import sys
import tempfile

try:
    import numpy  # noqa: F401
except ImportError:
    print("numpy is not there to compare with" + (", and CI must compare" if os.environ.get("CI") else ": skipped"))
    sys.exit(1 if os.environ.get("CI") else 77)

import rack_random
import rack_reckoning as reckoning

SEED = 20261130
WITHIN = 0.01  # dB
FIGURES = ["chain-gain", "noise-figure", "external-noise", "noise", "intermodulation", "transmitter-noise", "blocking",
           "co-channel", "spurious-response", "transmitter-products", "brought-products", "desensitisation", "weakest", "needed",
           "protection-decides", "interference-costs", "margin"]


def write(folder, rack, show, sheets, cables):
    os.mkdir(folder)
    files = {"rack.json": rack, "show.json": show, "cables.json": cables, **{f"{one['type']}.json": one for one in sheets}}
    for name, content in files.items():
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            json.dump(content, file, indent=1)
    return os.path.join(folder, "rack.json")


def ask(probe, lines):
    done = subprocess.run([probe], input="\n".join(lines) + "\n", capture_output=True, text=True, timeout=100)
    if done.returncode != 0:
        sys.exit(f"the probe failed: {done.stderr}")
    return [block.splitlines() for block in done.stdout.split("end\n")[:-1]]


class Score:
    """How far apart figures are, by kind."""

    def __init__(self):
        self.worst, self.count, self.powers = {}, {}, {}  # by kind; powers: of which there is something
        self.apart, self.strict, self.antennas = [], [], 0

    def compare(self, where, kind, ours, theirs, within=WITHIN):
        """`theirs` is a word of the probe."""
        self.count[kind] = self.count.get(kind, 0) + 1
        if ours is None or theirs == "-":
            by = 0.0 if ours is None and theirs == "-" else 999.0
        else:
            by = abs(ours - float(theirs))
            self.powers[kind] = self.powers.get(kind, 0) + (ours > -200)
        self.worst[kind] = max(self.worst.get(kind, 0.0), by)
        if not by <= within:
            self.apart.append(f"{where}: {kind} is {ours}, the probe says {theirs}")


def compare_carrier(score, where, figures, words, carriers):
    # Blockers that each do 40 dB less than what would cost something are left out.
    left_out = carriers * 1e-4
    theirs = dict(zip(FIGURES, words))
    least = reckoning.ratio(figures["blocking"]) - reckoning.ratio(figures["noise"]) * left_out
    if reckoning.ratio(float(theirs["blocking"])) >= least:
        figures["blocking"] = min(figures["blocking"], float(theirs["blocking"]))
    costs = 10 * math.log10(1 + left_out)
    for kind in FIGURES:
        by_blocking = kind in ("desensitisation", "needed", "interference-costs", "margin")
        score.compare(where, kind, figures[kind], theirs[kind], WITHIN + (costs if by_blocking else 0))
    # Parts of a chain that meet other levels are summed apart: never less than triple by triple.
    triples, parts = figures["triples"], figures["parts"]
    if not triples - 1e-6 <= figures["intermodulation"] <= triples + 10 * math.log10(max(parts, 1)) + 1e-6:
        score.apart.append(f"{where}: of intermodulation {triples} triple by triple, {figures['intermodulation']} together")
    score.strict.append(figures["intermodulation"] - triples)


def compare_node(score, where, world, node, lines):
    expected = [(way, index) for way, heard in reckoning.ways_of(world, node) for index in heard]
    rows = [line.split()[1:] for line in lines if line.startswith("carrier")]
    names = [(row[0], row[1]) for row in rows]
    assert names == [(world.carriers[index].name, way.name) for way, index in expected], f"{where}: {names}"
    for (way, index), row in zip(expected, rows):
        compare_carrier(score, f"{where} {row[0]} {row[1]}", way.figures(index), row[2:], len(world.carriers))


def compare_loads(score, where, world, node, lines):
    loads = reckoning.amplifier_loads(world, node)
    rows = [line.split()[1:] for line in lines if line.startswith("amplifier")]
    assert [row[0] for row in rows] == [load[0] for load in loads], f"{where}: {rows} {loads}"
    for load, row in zip(loads, rows):
        for kind, ours, theirs in zip(("load-input", "load-output", "load-p1db"), load[1:], row[1:]):
            score.compare(f"{where} {row[0]}", kind, ours, theirs)
    inputs = list(reckoning.receiver_loads(world, node))
    rows = [line.split()[1:] for line in lines if line.startswith("receiver")]
    assert [(row[0], row[2]) for row in rows] == [(one[0], one[2]) for one in inputs], f"{where}: {rows} {inputs}"
    for one, row in zip(inputs, rows):
        score.compare(f"{where} {row[0]}", "receiver-level", one[1], row[1])


def answers(probe, folder, racks, seed):
    """(where, world, node, lines of the probe) of every antenna that has settings."""
    asked, lines = [], []
    for number in range(seed, seed + racks):
        rng = random.Random(number)
        rack, show, sheets, cables = rack_random.make(rng, reckoning.staged_amplifier)
        told, files = rack, sheets
        if number % 3 == 0:
            told, rack, matrices = rack_random.behind_matrices(rng, rack, two=number % 2 == 0)
            files = sheets + matrices
        path = write(os.path.join(folder, str(number)), told, show, files, cables)
        world = reckoning.World(rack, show, sheets, cables)
        for node in show["segments"][0]["settings"]:
            asked.append((f"rack {number} {node}", world, node))
            lines.append(f"{path} act {node}")
    told = ask(probe, lines)
    assert len(told) == len(asked)
    for one, answer in zip(asked, told):
        yield *one, answer


def main(probe, racks=60, seed=SEED):
    score = Score()
    with tempfile.TemporaryDirectory() as folder:
        for where, world, node, answer in answers(probe, folder, racks, seed):
            compare_node(score, where, world, node, answer)
            compare_loads(score, where, world, node, answer)
            score.antennas += 1
    for kind, worst in score.worst.items():
        print(f"{kind:21} {score.count[kind]:6} figures, {score.powers.get(kind, 0):6} of something: "
              f"at most {worst:.1e} dB apart")
    print(f"intermodulation by parts of the chain: up to {max(score.strict):.2f} dB over that by triples, "
          f"{sum(by > 0.1 for by in score.strict)} times above 0.1 dB")
    print(f"{racks} racks, {score.antennas} antennas, {sum(score.count.values())} figures (seed {seed})")
    if score.apart:
        sys.exit("\n".join(score.apart[:40]) + f"\n{len(score.apart)} figures are apart")
    seldom = [kind for kind in FIGURES if score.powers.get(kind, 0) < racks]
    if seldom:
        sys.exit(f"hardly anything to compare: {seldom}")


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:]))
