#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Derives who includes whom from the sources, and fails on an arrow that DEVELOPERS.md does not allow."""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
ROOMS = ["protocol", "drivers", "daemon/rf", "daemon/plan", "daemon/rack", "daemon/store", "daemon/shell",
         "daemon/control", "daemon/cli", "config", "web/server"]
ALLOWED = {
    "protocol": set(),
    "drivers": {"protocol"},
    "daemon/rf": {"protocol/result.hpp"},
    "daemon/plan": {"daemon/rf", "protocol/overloaded.hpp"},
    "daemon/rack": {"daemon/plan", "daemon/rf", "protocol"},
    "daemon/store": {"daemon/rack", "daemon/plan", "daemon/rf", "protocol"},
    "daemon/cli": {"protocol/result.hpp", "protocol/text.hpp"},
    "config": {"daemon/plan", "daemon/rf", "protocol/result.hpp", "protocol/text.hpp"},
    "web/server": {"daemon/rack", "daemon/plan", "daemon/rf", "protocol"},
    "daemon/control": {"daemon/rack", "daemon/plan", "daemon/rf", "protocol"},
    "daemon/shell": set(ROOMS) - {"daemon/cli"},
}
# Pure rooms: no clock, no thread, no file, no log.
PURE = ["protocol", "daemon/rf", "daemon/plan", "daemon/rack"]
IMPURE = re.compile(r'#include <(thread|mutex|atomic|fstream|iostream|filesystem|asio|boost|spdlog|sys/|unistd)'
                    r'|steady_clock::now|system_clock::now')
# The emulated node is the example for people who build hardware: it stands on protocol/ alone.
NODE_ALONE = ["emulated_node", "node_on_bus", "node_on_datagrams", "node_type"]
# Libraries that one file knows and everybody else does without.
ONE_FILE = {"date/": "config/zone_database.cpp", "lo/": "daemon/control/osc_codec.cpp"}


def room_of(path):
    return next((room for room in ROOMS if path.startswith(room + "/")), None)


def faults():
    files = [f for room in ROOMS for f in (ROOT / room).rglob("*.[ch]pp")]
    assert len(files) > 60, "the sources are not where they were"
    for file in sorted(files):
        name = str(file.relative_to(ROOT))
        room, text = room_of(name), file.read_text()
        for included in re.findall(r'#include "([^"]+)"', text):
            target = room_of(included)
            if target not in ALLOWED[room] | {room} and included not in ALLOWED[room]:
                yield f"{name} includes {included}: {room} may not know {target}"
            if file.stem in NODE_ALONE and target == "drivers" and pathlib.Path(included).stem not in NODE_ALONE:
                yield f"{name} includes {included}: the emulated node stands on protocol/ alone"
        for library, only in ONE_FILE.items():
            if f"#include <{library}" in text and name != only:
                yield f"{name} includes <{library}…>: that is for {only} alone"
        if room in PURE and (found := IMPURE.search(text)):
            yield f"{name} has {found.group(0)}: {room} is pure"


bad = list(faults())
print("\n".join(bad))
sys.exit(1 if bad else 0)
