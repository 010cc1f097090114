#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds the rule for text (protocol/text.hpp) against the Unicode Character Database that Python carries
(module unicodedata): every code point there is, one by one.

  unicode_text.py PROBE    PROBE reads code points in hexadecimal, and says 1 (plain) or 0 for each
"""
import subprocess
import sys
import unicodedata

# Python's database may be older than the table: characters that it does not know yet.
NEWER = {0x13439 + i for i in range(7)}  # Egyptian hieroglyph format controls of Unicode 15.0


def main():
    points = [p for p in range(0x110000) if not 0xD800 <= p <= 0xDFFF]
    told = subprocess.run([sys.argv[1]], input="\n".join("%X" % p for p in points), text=True, check=True,
                          capture_output=True).stdout.split()
    assert len(told) == len(points), "an answer for each"
    wrong = []
    for point, answer in zip(points, told):
        category = unicodedata.category(chr(point))
        plain = category not in ("Cc", "Cf", "Zl", "Zp")
        if plain != (answer == "1") and not (point in NEWER and category == "Cn"):
            wrong.append("U+%04X (%s) is told to be %s" % (point, category, answer))
    if wrong:
        sys.exit("\n".join(wrong[:20]))
    print("%d code points as in Unicode %s" % (len(points), unicodedata.unidata_version))


if __name__ == "__main__":
    main()
