#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Times in every zone of the machine's database, against Python's zoneinfo (PEP 615): time_zones.py PROBE

What clocks show at a moment is the same. When clocks show a time is the same as zoneinfo's with fold=0 (PEP 495:
the first of two), but for a time that clocks are put forward over: zoneinfo goes on with the offset from before,
and we take the moment at which the clocks are turned. That rule is held against zoneinfo's clocks as well.
"""
import datetime
import random
import subprocess
import sys
import zoneinfo

SEED = 20270328
FIRST, LAST = datetime.datetime(1970, 1, 1), datetime.datetime(2037, 12, 31)
EPOCH = datetime.datetime(1970, 1, 1)
UTC = datetime.timezone.utc


def ask(probe, lines):
    done = subprocess.run([probe], input="\n".join(lines) + "\n", capture_output=True, text=True, timeout=100)
    if done.returncode != 0:
        sys.exit(f"the probe failed: {done.stderr}")
    return [line.split() for line in done.stdout.split("\n")]


def seconds(naive):
    return round((naive - EPOCH).total_seconds())


def shown_at(zone, moment):
    """What the clocks show, as seconds."""
    aware = datetime.datetime.fromtimestamp(moment, UTC).astimezone(zone)
    return seconds(aware.replace(tzinfo=None))


def first_shown(zone, shown):
    """The moment by PEP 495 with fold=0, and whether clocks ever show that time."""
    wall = (EPOCH + datetime.timedelta(seconds=shown)).replace(tzinfo=zone, fold=0)
    moment = seconds(wall.astimezone(UTC).replace(tzinfo=None))
    return moment, shown_at(zone, moment) == shown


def main():
    probe = sys.argv[1]
    rng = random.Random(SEED)
    names = ask(probe, ["zones"])[0]
    assert len(names) > 300, f"only {len(names)} zones"
    unknown = zoneinfo.available_timezones() - set(names)
    # These are no zones but what the database calls when there is none.
    assert unknown <= {"localtime", "Factory", "posixrules"}, f"zones that we do not know: {sorted(unknown)}"

    turns = ask(probe, [f"turns {name}" for name in names])
    begin, end = seconds(FIRST) + 2 * 86400, seconds(LAST)
    compared = left_out = twice = 0
    for name, at in zip(names, turns):
        zone = zoneinfo.ZoneInfo(name)
        at = [int(turn) for turn in at if begin < int(turn) < end]
        near = rng.sample(at, min(8, len(at))) + at[-2:]
        moments = [rng.randrange(begin, end) for _ in range(100)]
        moments += [turn + step for turn in near for step in (-7200, -1800, -1, 0, 1, 1799, 3600, 90000)]
        walls = [rng.randrange(begin, end) for _ in range(20)]
        for turn in near:
            before, after = shown_at(zone, turn - 1) + 1, shown_at(zone, turn)
            low, high = min(before, after), max(before, after)
            walls += [low - 1, low, low + 1, high - 1, high, high + 1, rng.randint(low, high), rng.randint(low, high),
                      rng.randint(low - 86400, high + 86400)]
        words = lambda numbers: " ".join(map(str, numbers))
        ours_local, ours_when = ask(probe, [f"local {name} {words(moments)}", f"when {name} {words(walls)}"])[:2]
        assert len(ours_local) == len(moments) and len(ours_when) == len(walls)
        for moment, ours in zip(moments, ours_local):
            assert int(ours) == shown_at(zone, moment), f"{name}: at {moment} clocks show {ours}"
        for shown, ours in zip(walls, map(int, ours_when)):
            theirs, exists = first_shown(zone, shown)
            if exists:
                assert ours == theirs, f"{name}: {shown} is {ours}, and {theirs} by zoneinfo"
                twice += first_shown_again(zone, shown) != theirs
            else:
                # Clocks go from less than this to more in one second.
                before, after = shown_at(zone, ours - 1), shown_at(zone, ours)
                assert before < shown < after, f"{name}: {shown} is not left out at {ours}"
                left_out += 1
        compared += len(moments) + len(walls)
    assert left_out > 500 and twice > 500, "too few times near turns"
    print(f"{compared} times in {len(names)} zones: {left_out} that clocks leave out, {twice} that they show twice")


def first_shown_again(zone, shown):
    """The second moment, where there are two."""
    wall = (EPOCH + datetime.timedelta(seconds=shown)).replace(tzinfo=zone, fold=1)
    return seconds(wall.astimezone(UTC).replace(tzinfo=None))


if __name__ == "__main__":
    main()
