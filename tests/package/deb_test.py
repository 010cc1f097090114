#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The Debian package: what is in it, that it is stripped, and that lintian says nothing; and of one that is
released that its programs are hardened, and their debug symbols in a package of their own.

deb_test.py FOLDER VERSION released|sanitized
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

FOLDER, VERSION = pathlib.Path(sys.argv[1]), sys.argv[2]
RELEASED = {"released": True, "sanitized": False}[sys.argv[3]]
PROGRAMS = ["catwalk", "catwalkd", "catwalk-node"]
FILES = """
etc/needrestart/conf.d/catwalk.conf
usr/lib/systemd/system/catwalkd.service
usr/lib/sysusers.d/catwalk.conf
usr/share/bash-completion/completions/catwalk
usr/share/catwalk/bands/cept.json
usr/share/catwalk/cables.json
usr/share/catwalk/datasheets/tern-inline.json
usr/share/catwalk/schemas/rack.schema.json
usr/share/catwalk/schemas/show.schema.json
usr/share/doc/catwalk/CHANGELOG.md.gz
usr/share/doc/catwalk/FILES.md.gz
usr/share/doc/catwalk/NOTICES.gz
usr/share/doc/catwalk/PROTOCOL.md.gz
usr/share/doc/catwalk/README.Debian
usr/share/doc/catwalk/catwalk.spdx.json.gz
usr/share/doc/catwalk/changelog.gz
usr/share/doc/catwalk/copyright
usr/share/doc/catwalk/examples/bench.rack.json
usr/share/doc/catwalk/examples/harbour.rack.json
usr/share/doc/catwalk/examples/harbour.show.json
usr/share/fish/vendor_completions.d/catwalk.fish
usr/share/man/man1/catwalk-node.1.gz
usr/share/man/man1/catwalk.1.gz
usr/share/man/man5/catwalk-rack.5.gz
usr/share/man/man5/catwalk-show.5.gz
usr/share/man/man8/catwalkd.8.gz
usr/share/zsh/vendor-completions/_catwalk
""".split() + [f"usr/bin/{program}" for program in PROGRAMS]


def run(*words, cwd=None):
    done = subprocess.run([str(word) for word in words], cwd=cwd, text=True, capture_output=True)
    assert done.returncode == 0, (words, done.stdout, done.stderr)
    return done.stdout


def one(pattern):
    found = list(FOLDER.glob(pattern))
    assert len(found) == 1, (pattern, found)
    return found[0]


def is_hardened(program):
    """Position-independent; relocated and then read-only before it begins; a stack that nothing runs on; canaries;
    copies that are checked."""
    header = run("readelf", "--file-header", program)
    assert re.search(r"Type:\s+DYN", header), (program, header)
    dynamic = run("readelf", "--dynamic", program)
    assert re.search(r"\(FLAGS_1\).*NOW.*PIE", dynamic), (program, dynamic)
    segments = run("readelf", "--program-headers", "--wide", program)
    assert "GNU_RELRO" in segments, program
    assert re.search(r"GNU_STACK.* RW ", segments), program
    symbols = run("readelf", "--dyn-syms", "--wide", program)
    assert "__stack_chk_fail" in symbols, program
    assert re.search(r"__\w+_chk@", symbols.replace("__stack_chk_fail", "")), program
    assert not re.search(r"\bRU?N?PATH\b", dynamic), program


def is_stripped(program):
    sections = run("readelf", "--section-headers", "--wide", program)
    assert ".debug_info" not in sections and ".symtab" not in sections, program


def symbols_are_apart(tree):
    debug_package = one(f"catwalk-dbgsym_{VERSION}_*.ddeb")
    symbols = tree.parent / "symbols"
    run("dpkg-deb", "--extract", debug_package, symbols)
    for program in PROGRAMS:
        path = tree / "usr/bin" / program
        build_id = re.search(r"Build ID: ([0-9a-f]{40})", run("readelf", "--notes", path)).group(1)
        debug = symbols / f"usr/lib/debug/.build-id/{build_id[:2]}/{build_id[2:]}.debug"
        assert ".debug_info" in run("readelf", "--section-headers", "--wide", debug), program


def main():
    package = one(f"catwalk_{VERSION}_*.deb")
    with tempfile.TemporaryDirectory() as name:
        tree = pathlib.Path(name, "tree")
        run("dpkg-deb", "--extract", package, tree)
        there = {str(path.relative_to(tree)) for path in tree.rglob("*") if not path.is_dir()}
        assert not set(FILES) - there, set(FILES) - there
        surplus = {path for path in there - set(FILES)
                   if not re.match(r"usr/share/catwalk/(bands|datasheets|schemas)/[a-z-]+(\.schema)?\.json$", path)}
        assert not surplus, surplus
        for program in PROGRAMS:
            is_stripped(tree / "usr/bin" / program)
            if RELEASED:
                is_hardened(tree / "usr/bin" / program)
        if RELEASED:
            symbols_are_apart(tree)
        print(f"{package.name}: {package.stat().st_size >> 10} KiB")
    depends = run("dpkg-deb", "--field", package, "Depends")
    for library in ("libc6", "libssl3", "libsqlite3-0", "libstdc++6", "tzdata"):
        assert library in depends, (library, depends)
    # It leaves files in the folder for temporary ones.
    with tempfile.TemporaryDirectory() as name:
        said = subprocess.run(["lintian", "--allow-root", "--fail-on", "error,warning", "--tag-display-limit", "0", package],
                              env={**os.environ, "TMPDIR": name}, text=True, capture_output=True)
    assert said.returncode == 0, said.stdout + said.stderr
    assert not re.search(r"^[EW]: ", said.stdout, re.M), said.stdout


main()
