#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Derives who imports whom in the page, and fails on an arrow that is not allowed here."""
import os
import pathlib
import re
import sys

from arrows import hold

PANEL = pathlib.Path(__file__).resolve().parents[2] / "web/panel"
SRC = PANEL / "src"
# Each view stands on these, and on no other view but as told; so does the frame.
BELOW = {"api", "browser", "feed", "model", "session", "ui"}
VIEWS = {
    "alarms": set(),
    "journal": {"generated/tables"},
    "node": {"edit", "journal/entries"},
    "spectrum": {"edit"},
    "routes": {"edit"},
    "order": set(),
    "grid": {"edit/drafts", "node"},
    "frame": {"alarms/sound"},
}
ALLOWED = {
    "generated": set(),
    "api": {"generated"},
    "model": {"api/types", "api/matrix"},
    "browser": set(),
    "feed": {"api", "model"},
    "session": {"api", "browser", "feed", "generated/tables"},
    "ui": {"api", "browser", "feed", "model", "session"},
    "edit": {"api", "browser", "feed", "model", "session", "ui"},
    **{view: BELOW | others for view, others in VIEWS.items()},
}
IMPORT = re.compile(r"(?:\bfrom|\bimport\(?)\s*'([^']+)'")


def sources(folder):
    return sorted((SRC / folder).rglob("*.ts*"))


def imports(file):
    """What it takes from other folders, as folder/file, and libraries by their names."""
    for told in IMPORT.findall(file.read_text()):
        if not told.startswith("."):
            yield told, True
            continue
        target = pathlib.Path(os.path.relpath((file.parent / told).resolve(), SRC)).as_posix()
        if target.split("/")[0] != file.relative_to(SRC).parts[0]:
            yield target, False


def allows(folder, imported):
    """The entry that allows it: its folder, or the file alone; None: nothing does."""
    entries = imported.split("/")[0], imported
    return next((entry for entry in entries if entry in ALLOWED[folder]), None)


def picture():
    lines = []
    for folder in ALLOWED:
        taken = {imported for file in sources(folder) for imported, _ in imports(file)}
        known = {allows(folder, imported) for imported in taken}
        lines.append(f"{folder + ' imports':18}{', '.join(sorted(known - {None})) or 'nobody'}")
    return "\n".join(lines) + "\n"


def faults():
    count = sum(len(sources(folder)) for folder in ALLOWED)
    assert count > 80, "the page's sources are not where they were"
    for entry in SRC.iterdir():
        if entry.is_dir() and entry.name not in {*ALLOWED, "style"}:
            yield f"{entry.name}/ has no place among the folders of the page"
    for folder in ALLOWED:
        for file in sources(folder):
            for imported, library in imports(file):
                if library and folder == "model":
                    yield f"{file.relative_to(PANEL)} imports {imported}: the model is pure"
                elif not library and not allows(folder, imported):
                    yield f"{file.relative_to(PANEL)} imports {imported}: {folder} may not know it"


sys.exit(hold(PANEL / "README.md", "page_imports_test.py", picture(), faults()))
