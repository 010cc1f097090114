// SPDX-License-Identifier: Apache-2.0
// Crew sheets on the command line, as people read and print them.
#include <doctest/doctest.h>

#include "daemon/cli/show_crew.hpp"
#include "daemon/cli/show_switch.hpp"

using namespace catwalk::cli;

namespace {

const std::string open = "1 of 2 to do before it is not ticked: ears-1 off, 570.000 MHz.";

Json sheet() {
  return {{"from", "speeches"},
          {"to", "finale"},
          {"rows",
           {{{"key", "voice-1.off"},
             {"act", "off"},
             {"moment", "before"},
             {"what", "voice-1 off, 510.000 MHz, then to 620.000 MHz"},
             {"receivers", {"vocals", "roving"}},
             {"held_by", "Ada"},
             {"ticked", {{"who", "bo"}, {"at", "2026-08-14T17:05:00.5Z"}}}},
            {{"key", "ears-1.off"},
             {"act", "off"},
             {"moment", "before"},
             {"what", "ears-1 off, 570.000 MHz (ours)"},
             {"receivers", Json::array()}},
            {{"key", "voice-1.move"},
             {"act", "move"},
             {"moment", "after"},
             {"what", "voice-1 to 620.000 MHz from 510.000 MHz"},
             {"receivers", {"vocals"}},
             {"held_by", "Ada"}}}},
          {"not_ticked", open}};
}

Json nothing() { return {{"from", "speeches"}, {"to", "finale"}, {"rows", Json::array()}}; }

}  // namespace

TEST_CASE("a crew sheet lists what is to be done, in its order, with a box for each") {
  CHECK(show_crew(sheet()) ==
        "Crew sheet, speeches → finale: 3 things for people to do, 1 ticked\n"
        "\n"
        "Before the first node moves:\n"
        "  [x] voice-1 off, 510.000 MHz, then to 620.000 MHz\n"
        "      voice-1.off; heard by vocals, roving; held by Ada; ticked by bo, 2026-08-14\n"
        "      17:05:00Z\n"
        "  [ ] ears-1 off, 570.000 MHz (ours)\n"
        "      ears-1.off\n"
        "\n"
        "When the last node is there:\n"
        "  [ ] voice-1 to 620.000 MHz from 510.000 MHz\n"
        "      voice-1.move; heard by vocals; held by Ada\n"
        "\n"
        "Warning: 1 of 2 to do before it is not ticked: ears-1 off, 570.000 MHz.\n");
}

TEST_CASE("a sheet with nothing on it is one line") {
  CHECK(show_crew(nothing()) == "Crew sheet, speeches → finale: nothing for people to do\n");
}

TEST_CASE("what is gone to and what is armed warn of what is not ticked") {
  const Json gone = {
      {"id", 41},           {"from", "speeches"},    {"to", "finale"}, {"stage", "done"},
      {"ended", true},      {"back", false},         {"step", 1},      {"steps", 1},
      {"not_ticked", open}, {"nodes", Json::array()}};
  CHECK(show_switch(gone) ==
        "switch 41: speeches → finale, done\n"
        "  Warning: 1 of 2 to do before it is not ticked: ears-1 off, 570.000 MHz.\n");
  const Json armed = {
      {"cue", "end"}, {"who", "ana"}, {"until", "2026-08-14T17:05:00Z"}, {"not_ticked", open}};
  CHECK(show_armed(armed) ==
        "end is armed by ana until 2026-08-14 17:05:00Z. It passes the show lock, once.\n"
        "  Warning: 1 of 2 to do before it is not ticked: ears-1 off, 570.000 MHz.\n");
}

TEST_CASE("a preview from another segment says so, and where its crew sheet is") {
  Json preview = {{"from", "speeches"},
                  {"to", "finale"},
                  {"from_now", false},
                  {"would_be", "done"},
                  {"obstacles", Json::array()},
                  {"missing", Json::array()},
                  {"nodes", Json::array()},
                  {"steps", Json::array()},
                  {"clean", true},
                  {"least_bad", true},
                  {"end", Json::array()},
                  {"lines", Json::array()},
                  {"time_ms", 0},
                  {"crew_sheet", sheet()}};
  CHECK(show_preview(preview) ==
        "speeches → finale, from every node as speeches has it: ready to go\n"
        "No node has to move.\n"
        "Crew sheet: 3 things for people to do, 1 ticked; see catwalk crew finale --from "
        "speeches.\n"
        "  Warning: 1 of 2 to do before it is not ticked: ears-1 off, 570.000 MHz.\n");
  preview["from_now"] = true;
  preview["crew_sheet"] = nothing();
  CHECK(show_preview(preview) == "speeches → finale: ready to go\nNo node has to move.\n");
}
