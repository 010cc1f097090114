# SPDX-License-Identifier: Apache-2.0
"""A program that computes a line of figures for each line it is given, and figures held against others."""
import math
import subprocess
import sys


def ask(probe, lines):
    done = subprocess.run([probe], input="\n".join(lines) + "\n", capture_output=True, text=True, timeout=60)
    if done.returncode != 0:
        sys.exit(f"the probe failed: {done.stderr}")
    return [[float(word) for word in line.split()] for line in done.stdout.splitlines()]


def compare(what, ours, theirs, within):
    """All figures of one case; a missing one is a fault."""
    assert len(ours) == len(theirs) > 0, f"{what}: {len(ours)} figures against {len(theirs)}"
    worst = max(abs(a - b) for a, b in zip(ours, theirs))
    if not worst <= within:
        sys.exit(f"{what}: {worst:.6f} dB apart\nours   {ours}\ntheirs {theirs}")
    return worst


def spread(rng, low, high):
    """As often within each factor."""
    return math.exp(rng.uniform(math.log(low), math.log(high)))
