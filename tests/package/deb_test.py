#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The Debian package: what is in it, that it is stripped and hardened, that its debug symbols are in a package
of their own, and that lintian says nothing.

deb_test.py FOLDER VERSION
"""
import pathlib
import re
import subprocess
import sys
import tempfile

FOLDER, VERSION = pathlib.Path(sys.argv[1]), sys.argv[2]
PROGRAMS = ["catwalk", "catwalkd", "catwalk-node"]
FILES = """
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


def symbols_are_apart(tree, symbols):
    for program in PROGRAMS:
        path = tree / "usr/bin" / program
        sections = run("readelf", "--section-headers", "--wide", path)
        assert ".debug_info" not in sections and ".symtab" not in sections, program
        build_id = re.search(r"Build ID: ([0-9a-f]{40})", run("readelf", "--notes", path)).group(1)
        debug = symbols / f"usr/lib/debug/.build-id/{build_id[:2]}/{build_id[2:]}.debug"
        assert ".debug_info" in run("readelf", "--section-headers", "--wide", debug), program


def main():
    package = one(f"catwalk_{VERSION}_*.deb")
    debug = one(f"catwalk-dbgsym_{VERSION}_*.ddeb")
    with tempfile.TemporaryDirectory() as name:
        tree, symbols = pathlib.Path(name, "tree"), pathlib.Path(name, "symbols")
        run("dpkg-deb", "--extract", package, tree)
        run("dpkg-deb", "--extract", debug, symbols)
        there = {str(path.relative_to(tree)) for path in tree.rglob("*") if not path.is_dir()}
        assert not set(FILES) - there, set(FILES) - there
        surplus = {path for path in there - set(FILES)
                   if not re.match(r"usr/share/catwalk/(bands|datasheets|schemas)/[a-z-]+(\.schema)?\.json$", path)}
        assert not surplus, surplus
        for program in PROGRAMS:
            is_hardened(tree / "usr/bin" / program)
        symbols_are_apart(tree, symbols)
        print(f"{package.name}: {package.stat().st_size >> 10} KiB; {debug.name}: {debug.stat().st_size >> 20} MiB")
    depends = run("dpkg-deb", "--field", package, "Depends")
    for library in ("libc6", "libssl3", "libsqlite3-0", "libstdc++6", "tzdata"):
        assert library in depends, (library, depends)
    said = subprocess.run(["lintian", "--allow-root", "--fail-on", "error,warning", "--tag-display-limit", "0", package],
                          text=True, capture_output=True)
    assert said.returncode == 0, said.stdout + said.stderr
    assert not re.search(r"^[EW]: ", said.stdout, re.M), said.stdout


main()
