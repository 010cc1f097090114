#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Derives who includes whom from the sources, and fails on an arrow that DEVELOPERS.md does not allow."""
import pathlib
import re
import sys

from arrows import hold

ROOT = pathlib.Path(__file__).resolve().parents[2]
# The floors of daemon/rack, each on those before it; the last two stand side by side.
FLOORS = ["daemon/rack/values", "daemon/rack/levels", "daemon/rack/rules", "daemon/rack/way",
          "daemon/rack/core", "daemon/rack/outlook"]
# The rooms of web/server, each on those before it.
PANEL = ["web/server/http", "web/server/documents", "web/server/api", "web/server/doors", "web/server/feed",
         "web/server/wire"]
# The folders of drivers: what all lines have, the emulated node, and the two kinds of lines.
LINES = ["drivers/line", "drivers/node", "drivers/bus", "drivers/datagrams"]
ROOMS = ["daemon/base", "protocol", *LINES, "daemon/rf", "daemon/plan", *FLOORS, "daemon/store", "daemon/shell",
         "daemon/control", "daemon/cli", "daemon/papers", "config", *PANEL]
# Everybody's: it includes nobody, and is not drawn.
BASE = "daemon/base"
BELOW_RACK = {"daemon/plan", "daemon/rf", "protocol"}
RACK = {*FLOORS, *BELOW_RACK}
ALLOWED = {
    BASE: set(),
    "protocol": set(),
    "drivers/line": {"protocol"},
    "drivers/node": {"protocol", "drivers/line"},
    "drivers/bus": {"protocol", "drivers/line", "drivers/node"},
    "drivers/datagrams": {"protocol", "drivers/line"},
    "daemon/rf": set(),
    "daemon/plan": {"daemon/rf"},
    **{floor: BELOW_RACK | set(FLOORS[:min(i, 4)]) for i, floor in enumerate(FLOORS)},
    "daemon/store": {"daemon/rack/values", *BELOW_RACK},
    "daemon/cli": set(),
    "config": {"daemon/plan", "daemon/rf"},
    **{room: RACK | set(PANEL[:i]) for i, room in enumerate(PANEL)},
    "daemon/control": RACK,
    "daemon/papers": {"daemon/cli", "daemon/shell", "drivers/node"},
    "daemon/shell": set(ROOMS) - {"daemon/cli", "daemon/papers", BASE},
}
# Pure rooms: no clock, no thread, no file, no log.
PURE = ["protocol", "daemon/rf", "daemon/plan", *FLOORS]
IMPURE = re.compile(r'#include <(thread|mutex|atomic|fstream|iostream|filesystem|asio|boost|spdlog|sys/|unistd)'
                    r'|steady_clock::now|system_clock::now|#include "daemon/base/worker')
# The emulated node is the example for people who build hardware: it stands on protocol/ and the base alone.
NODE_ALONE = ["emulated_node", "node_on_bus", "node_on_datagrams", "node_type"]
# Libraries that one file knows and everybody else does without.
ONE_FILE = {"date/": "config/zone_database.cpp", "lo/": "daemon/control/osc_codec.cpp"}


def room_of(path):
    return next((room for room in ROOMS if path.startswith(room + "/")), None)


def includes(file):
    return re.findall(r'#include "([^"]+)"', file.read_text())


def sources():
    files = [f for room in ROOMS for f in (ROOT / room).rglob("*.[ch]pp")]
    assert len(files) > 60, "the sources are not where they were"
    return sorted(files)


def picture():
    """Which rooms each room includes, as DEVELOPERS.md has it; one file is told as such."""
    lines = []
    for room in ROOMS:
        known = {room_of(included) if room_of(included) in ALLOWED[room] else included
                 for file in sources() if room_of(str(file.relative_to(ROOT))) == room
                 for included in includes(file)}
        known = sorted(one for one in known if one != room and room_of(one + "/x") != room and room_of(one) != room
                       and (one in ROOMS or one in ALLOWED[room]))
        lines.append(f"{room + ' includes':30}{', '.join(known) or 'nobody'}")
    return "\n".join(lines) + "\n"


def faults():
    files = sources()
    for file in files:
        name = str(file.relative_to(ROOT))
        room, text = room_of(name), file.read_text()
        if file.suffix == ".cpp" and room in FLOORS and not file.with_suffix(".hpp").exists():
            yield f"{name} has no header of its name"
        for included in includes(file):
            target = room_of(included)
            if target not in ALLOWED[room] | {room, BASE} and included not in ALLOWED[room]:
                yield f"{name} includes {included}: {room} may not know {target}"
            if file.stem in NODE_ALONE and target in LINES and pathlib.Path(included).stem not in NODE_ALONE:
                yield f"{name} includes {included}: the emulated node stands on protocol/ alone"
        for library, only in ONE_FILE.items():
            if f"#include <{library}" in text and name != only:
                yield f"{name} includes <{library}…>: that is for {only} alone"
        if room in PURE and (found := IMPURE.search(text)):
            yield f"{name} has {found.group(0)}: {room} is pure"


sys.exit(hold(ROOT / "DEVELOPERS.md", "includes_test.py", picture(), faults()))
