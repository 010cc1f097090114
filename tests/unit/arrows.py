# SPDX-License-Identifier: Apache-2.0
"""A picture of arrows as the sources have them, kept in a paper."""
import sys


def hold(paper, script, picture, faults):
    """Writes it with --write, else compares. The exit code: 1 for faults, or another picture."""
    begin = f"<!-- includes: written by tests/unit/{script} --write -->\n```\n"
    end = "```\n<!-- end -->"
    head, rest = paper.read_text().split(begin)
    told, tail = rest.split(end)
    if "--write" in sys.argv:
        paper.write_text(head + begin + picture + end + tail)
        return 0
    bad = list(faults)
    if told != picture:
        bad.append(f"{paper.name} draws other arrows than the sources have: "
                   f"run tests/unit/{script} --write")
    print("\n".join(bad))
    return 1 if bad else 0
