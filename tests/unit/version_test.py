#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Which Catwalk it is: number, commit and build in --version of each program, in the same words; the commit of
a clone, of changed sources, of an archive without git, and of sources that nobody knows.

version_test.py ROOT CMAKE NUMBER PROGRAM …
"""
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

ROOT, CMAKE, NUMBER, *PROGRAMS = sys.argv[1:]
ROOM = "daemon/base"
FILES = ["stamp_version.cmake", "version.cpp.in", "commit.txt"]


def run(*words, cwd=None):
    return subprocess.run([str(word) for word in words], cwd=cwd, check=True, text=True, capture_output=True).stdout


def git(folder, *words):
    return run("git", "-c", "user.name=Ana", "-c", "user.email=ana@harbour.example", "-c", "commit.gpgsign=false",
               "-C", folder, *words)


def commit_of(root):
    """What the script says that the sources at `root` are."""
    out = root.parent / "version.cpp"
    run(CMAKE, f"-DROOT={root}", f"-DOUT={out}", "-DNUMBER=1.2.3", "-DBUILD=a, b", f"-DGIT={shutil.which('git')}",
        "-P", root / ROOM / "stamp_version.cmake")
    number, commit, build = re.search(r'ours\{"(.*)", "(.*)", "(.*)"\}', out.read_text()).groups()
    assert (number, build) == ("1.2.3", "a, b"), out.read_text()
    return commit


def programs_say_the_same():
    said = set()
    for program in PROGRAMS:
        name = pathlib.Path(program).name
        line = run(program, "--version")
        found = re.fullmatch(rf"{name} {re.escape(NUMBER)} (\(commit ([0-9a-f]{{12}}(\+changed)?|unknown); [^()]+\))\n", line)
        assert found, line
        said.add(found.group(1))
    assert len(said) == 1 and len(PROGRAMS) == 3, said


def sources_say_their_commit(folder):
    clone = folder / "clone"
    (clone / ROOM).mkdir(parents=True)
    for name in FILES:
        shutil.copy(pathlib.Path(ROOT, ROOM, name), clone / ROOM)
    shutil.copy(pathlib.Path(ROOT, ".gitattributes"), clone)
    assert commit_of(clone) == "unknown"

    git(folder, "init", "--quiet", clone)
    git(clone, "add", "--all")
    git(clone, "commit", "--quiet", "--message", "First")
    commit = git(clone, "rev-parse", "HEAD")[:12]
    assert commit_of(clone) == commit
    # Nothing else is known: nothing is written, and nothing built again.
    before = (folder / "version.cpp").stat().st_mtime_ns
    assert commit_of(clone) == commit
    assert (folder / "version.cpp").stat().st_mtime_ns == before

    git(clone, "archive", "--prefix=archive/", "--output", folder / "archive.tar", "HEAD")
    run("tar", "-xf", folder / "archive.tar", cwd=folder)
    assert commit_of(folder / "archive") == commit
    # In a work tree of something else it is still that, and not the commit of the other.
    git(folder, "init", "--quiet", folder)
    assert commit_of(folder / "archive") == commit

    with open(clone / ROOM / "version.cpp.in", "a") as file:
        file.write("// another line\n")
    assert commit_of(clone) == commit + "+changed"


programs_say_the_same()
with tempfile.TemporaryDirectory() as name:
    sources_say_their_commit(pathlib.Path(name))
