#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""No file of production code is over 400 lines, and no function in it over 60.

Of what clang-format has laid out: a function begins with the line of its name, wherever that stands in
column 0 or, in a class, 2 or 4, and ends with the brace that closes in the same column.

sizes_test.py ROOT           fails, and names what is too long
sizes_test.py --self-test    whether it would find one
"""
import pathlib
import re
import sys

LONGEST_FILE = 400
LONGEST_FUNCTION = 60
ROOMS = ("config", "daemon", "drivers", "protocol", "web/server")

NO_FUNCTION = re.compile(
    r"^\s*(namespace|struct|class|enum|union|extern|using|public|private|do|if|for|while|switch|else|try|catch)\b")
OPENS = re.compile(r"^ *[^\s#/}].*\{$")


def functions(lines):
    """(first line from 1, number of lines, its text) of each function."""
    at = 0
    while at < len(lines):
        opening = OPENS.match(lines[at])
        first = at
        # A signature over several lines: go back to where it begins.
        while opening and first > 0 and is_continued(lines[first - 1]):
            first -= 1
        text = lines[first]
        if opening and not NO_FUNCTION.match(text) and "(" in "".join(lines[first:at + 1]):
            indent = re.match(r" *", text).group()
            end = next((i for i in range(at + 1, len(lines)) if re.match(rf"^{indent}\}}", lines[i])), None)
            if end is not None and lines[end].rstrip() in (indent + "}", indent + "};"):
                yield first + 1, end - first + 1, text.strip()
                at = end
        at += 1


def is_continued(line):
    line = line.strip()
    return line != "" and line[-1] not in ";{}:" and not line.startswith(("//", "#"))


def too_long(name, text):
    lines = text.splitlines()
    if len(lines) > LONGEST_FILE:
        yield f"{name}: {len(lines)} lines; {LONGEST_FILE} are the most"
    for first, length, head in functions(lines):
        if length > LONGEST_FUNCTION:
            yield f"{name}:{first}: a function of {length} lines; {LONGEST_FUNCTION} are the most: {head}"


def self_test():
    body = "  call();\n"
    short = "int f(int a,\n      int b) {\n" + body * 57 + "}\n"
    assert list(too_long("short", short)) == [], list(too_long("short", short))
    for head in ("int f(int a,\n      int b) {\n", "  void g() const {\n", "template <class T>\nT h(T t) {\n",
                 "Core::Core(int a)\n    : a_{a} {\n"):
        indent = re.match(r" *", head).group()
        found = list(too_long("long", head + body * 60 + indent + "}\n"))
        assert len(found) == 1, (head, found)
    assert len(list(too_long("file", "int a;\n" * 401))) == 1
    assert list(too_long("data", "const std::array rows{\n" + "  row(1),\n" * 70 + "};\n")) == []


def main():
    if sys.argv[1:] == ["--self-test"]:
        return self_test()
    root = pathlib.Path(sys.argv[1])
    complaints = []
    count = 0
    for room in ROOMS:
        for path in sorted((root / room).rglob("*.[ch]pp")):
            count += 1
            complaints += too_long(path.relative_to(root), path.read_text())
    assert count > 200, f"only {count} sources found below {root}"
    for complaint in complaints:
        print(complaint)
    return 1 if complaints else 0


if __name__ == "__main__":
    sys.exit(main())
