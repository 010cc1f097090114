#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Manual pages and completions against what the programs themselves say: every option and command that --help
has, and no other; every member of a schema. Pages are laid out by groff, completions run in their shells.

papers_test.py ROOT PAPERS CATWALKD CATWALK CATWALK_NODE
"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT, PAPERS = (pathlib.Path(word) for word in sys.argv[1:3])
CATWALKD, CATWALK, CATWALK_NODE = sys.argv[3:]
FOR_ALL = {"--json", "--server", "--authority", "--token-file", "--help"}


def run(*words, **more):
    done = subprocess.run([str(word) for word in words], text=True, capture_output=True, **more)
    assert done.returncode == 0 and not done.stderr, (words, done.returncode, done.stderr)
    return done.stdout


def options_in_help(text):
    return set(re.findall(r"^  (--[a-z-]+)", text, re.M))


def laid_out(page):
    """As a reader sees it, without warnings of groff."""
    text = run("man", "--warnings", "--encoding=UTF-8", "--local-file", PAPERS / page,
               env={**os.environ, "MANWIDTH": "120", "MANROFFOPT": "-c", "LC_ALL": "C.UTF-8"})
    return re.sub(r".\x08", "", text).replace("‐", "-").replace("−", "-")


def section(text, title):
    return re.search(rf"^{title}\n(.*?)(?=^\S|\Z)", text, re.M | re.S).group(1)


def pages_of_programs():
    for page, program in [("catwalk.1", CATWALK), ("catwalkd.8", CATWALKD), ("catwalk-node.1", CATWALK_NODE)]:
        wanted = options_in_help(run(program, "--help"))
        assert len(wanted) > 8, wanted
        told = set(re.findall(r"^ {7}(--[a-z-]+)", section(laid_out(page), "OPTIONS"), re.M))
        assert told == wanted, (page, told ^ wanted)


def commands():
    return re.findall(r"^  ([a-z][a-z-]*)(?= |$)", run(CATWALK, "--help").split("\nSettings:")[0], re.M)


def options_of(command):
    return options_in_help(run(CATWALK, command, "--help"))


def page_of_commands():
    text = section(laid_out("catwalk.1"), "COMMANDS")
    told = re.findall(r"^   ([a-z][a-z-]*)$", text, re.M)
    assert told == commands() and len(told) > 30, (told, commands())
    for command in told:
        usage = re.search(rf"^ {{7}}catwalk {command}\b(.*(?:\n {{7}}\S.*)*?)$", text, re.M).group(1)
        for option in options_of(command) - FOR_ALL:
            assert option in usage + text, (command, option)


def members(schema):
    if isinstance(schema, dict):
        for key, value in schema.items():
            if key == "properties":
                yield from ((name, member) for name, member in value.items() if isinstance(member, dict))
            # What a condition looks at is no member of its own.
            if key != "if":
                yield from members(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from members(value)


def pages_of_files():
    for kind in ("rack", "show"):
        schema = json.loads((ROOT / f"config/schemas/{kind}.schema.json").read_text())
        text = laid_out(f"catwalk-{kind}.5")
        told = set(re.findall(r"^ {7}([a-z_0-9]+)\b", section(text, "MEMBERS"), re.M))
        wanted = {name for name, _ in members(schema)}
        assert len(wanted) > 25 and not wanted - told, (kind, wanted - told)
        for _, member in members(schema):
            words = member.get("description", "").split()[:6]
            assert re.search(r"\s+".join(map(re.escape, words)).replace("-", r"-\s*"), text), (kind, words)


def with_a_rack(folder):
    """A catwalk whose tables have these names, and that says how it was asked."""
    stub = folder / "catwalk"
    stub.write_text("#!/bin/sh\ncase $1 in\nnodes) printf 'NODE STATE\\ntruss-left x\\nquay-east y\\n' ;;\n"
                    "segments) printf 'NAME\\nfinale\\n' ;;\nlines) printf 'LINE\\npontoon\\n' ;;\nesac\n")
    stub.chmod(0o755)
    return {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}", "HOME": str(folder), "LC_ALL": "C.UTF-8"}


def in_bash(env, *words):
    script = ('. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _catwalk; '
              'printf "%s\\n" "${COMPREPLY[@]}"')
    return set(run("bash", "--norc", "-c", script, "bash", PAPERS / "catwalk.bash", "catwalk", *words,
                   env=env).split())


def in_fish(env, *words):
    text = run("fish", "--no-config", "-c", f"source {PAPERS / 'catwalk.fish'}; complete -C '{' '.join(['catwalk', *words])}'",
               env=env)
    return {line.split("\t")[0] for line in text.splitlines()}


def in_zsh(env, *words):
    """What its helpers are asked to offer: those belong to zsh, and draw on a terminal."""
    script = ('_arguments() { print -rl -- "$@"; if [[ $1 == -C ]]; then state=$wanted; fi }\n'
              '_describe() { local name=${@[-1]}; print -rl -- ${(P)name}; }\n'
              '_call_program() { shift; eval "$@"; }\n'
              'wanted=$2; words=("${@[3,-1]}"); source $1\n')
    state = "command" if len(words) == 1 else "word"
    return run("zsh", "-f", "-c", script, "zsh", PAPERS / "_catwalk", state, *words, env=env)


def completions():
    everything = set(commands())
    with tempfile.TemporaryDirectory() as name:
        env = with_a_rack(pathlib.Path(name))
        for shell in (in_bash, in_fish):
            assert shell(env, "") == everything, (shell.__name__, shell(env, "") ^ everything)
            for command in everything:
                offered = {word for word in shell(env, command, "--") if word.startswith("--")}
                assert offered == options_of(command), (shell.__name__, command, offered ^ options_of(command))
            assert {"truss-left", "quay-east"} <= shell(env, "set", "")
            assert shell(env, "show", "t") == {"truss-left"}
            assert shell(env, "go", "") == {"finale"}
            assert shell(env, "segment", "f") == {"finale"}
            assert shell(env, "discover", "") == {"pontoon"}
            assert shell(env, "preview", "--from", "") == {"finale"}
            assert "truss-left" in shell(env, "journal", "--node", "")
        assert {"gain=", "centre="} <= in_bash(env, "set", "truss-left", "")
        assert in_bash(env, "--server", "http://127.0.0.1:1", "show", "") == set()
        assert in_bash(env, "set", "truss-left", "--why", "") == set()

        offered = in_zsh(env, "")
        for command in everything:
            assert f"\n{command}:" in offered, command
            told = set(re.findall(r"^(--[a-z-]+)\[", in_zsh(env, command, ""), re.M))
            assert told == options_of(command) | {"--version", "--licences"}, (command, told)
        assert ":word:_catwalk_nodes" in in_zsh(env, "show", "")


pages_of_programs()
page_of_commands()
pages_of_files()
completions()
