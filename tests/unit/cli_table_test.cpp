// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/table.hpp"

#include <doctest/doctest.h>

using namespace catwalk::cli;

TEST_CASE("columns are as wide as their widest cell, in characters and not in bytes") {
  Table table{{{"NODE"}, {"GAIN", true}, {"HANGS"}}};
  table.add({"left", "+6.00 dB", "Brücke, Süd"});
  table.add({"right-hand", "-1.50 dB", "°"});
  table.add({"ü", "-", ""});
  CHECK(table.text(false) ==
        "NODE            GAIN  HANGS\n"
        "left        +6.00 dB  Brücke, Süd\n"
        "right-hand  -1.50 dB  °\n"
        "ü                  -\n");
}

TEST_CASE("a row is stressed on a terminal that understands it, and nowhere else") {
  Table table{{{"A"}, {"B"}}};
  table.add({"1", "2"}, true);
  table.add({"3", "4"});
  CHECK(table.text(true) == "A  B\n\x1b[1m1  2\x1b[0m\n3  4\n");
  CHECK(table.text(false) == "A  B\n1  2\n3  4\n");
}

TEST_CASE("cells that are missing are empty, and a table without rows has its titles") {
  Table table{{{"A"}, {"B"}}};
  CHECK(table.text(false) == "A  B\n");
  table.add({"1"});
  CHECK(table.text(false) == "A  B\n1\n");
}

TEST_CASE("the width of a text counts its characters") {
  CHECK(width_of("") == 0);
  CHECK(width_of("abc") == 3);
  CHECK(width_of("°C") == 2);
  CHECK(width_of("→ … ü") == 5);
}

TEST_CASE("a long text is broken between words, and what is too long stands alone") {
  CHECK(wrapped("one two three", 7, "  ") == "one two\n  three\n");
  CHECK(wrapped("immeasurable ü", 5, "") == "immeasurable\nü\n");
  CHECK(wrapped("", 10, "  ") == "\n");
}
