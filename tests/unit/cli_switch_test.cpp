// SPDX-License-Identifier: Apache-2.0
// The running order, previews and switches as people read them.
#include <doctest/doctest.h>

#include "daemon/cli/show_switch.hpp"

using namespace catwalk::cli;

namespace {

Json settings(double gain, double centre) {
  return {{"gain_db", gain},
          {"filter", "slide"},
          {"centre_mhz", centre},
          {"power", true},
          {"label", ""}};
}

Json switched(const std::string& stage, bool ended) {
  return {{"id", 41},
          {"from", "speeches"},
          {"to", "finale"},
          {"stage", stage},
          {"ended", ended},
          {"back", false},
          {"step", 1},
          {"steps", 2},
          {"nodes",
           {{{"node", "left"},
             {"where", "target"},
             {"progress", "waiting"},
             {"level", "calm"},
             {"word", "as planned"},
             {"steps_done", 4},
             {"before", settings(0, 518)},
             {"target", settings(3, 618)}},
            {{"node", "right"},
             {"where", "unknown"},
             {"progress", "failed"},
             {"level", "fault"},
             {"word", "failed; not known"},
             {"steps_done", 0},
             {"before", settings(0, 518)},
             {"target", settings(3, 618)},
             {"reason", "did not answer (timed out)."},
             {"what_to_do", "See to its line."}}}}};
}

Json preview() {
  return {{"from", "speeches"},
          {"to", "finale"},
          {"cue", "last"},
          {"would_be", "done"},
          {"obstacles", Json::array()},
          {"missing", Json::array()},
          {"nodes",
           {{{"node", "left"},
             {"line", "bus"},
             {"before", settings(0, 518)},
             {"target", settings(3, 618)},
             {"answers", true},
             {"left_out", false},
             {"supplied", false}}}},
          {"steps",
           {{{"moves", {{{"node", "left"}, {"part", "gain"}}}},
             {"in_flight", Json::array()},
             {"after", Json::array()}}}},
          {"clean", true},
          {"least_bad", true},
          {"end",
           {{{"severity", "note"}, {"rule", "if-power-fails"}, {"sentence", "A long one."}},
            {{"severity", "caution"}, {"rule", "chain-gain"}, {"sentence", "Too much."}}}},
          {"lines", {{{"line", "bus"}, {"steps_ms", {12.25}}, {"total_ms", 12.25}}}},
          {"time_ms", 12.25}};
}

}  // namespace

TEST_CASE("a switch under way tells its step, one that has ended does not") {
  CHECK(switch_words(switched("reading-back", false)) ==
        "switch 41: speeches → finale, reading back, step 1 of 2");
  CHECK(switch_words(switched("done", true)) == "switch 41: speeches → finale, done");
}

TEST_CASE("a stuck switch tells of each node where it is and what to do") {
  CHECK(show_switch(switched("stuck", true)) ==
        "switch 41: speeches → finale, stuck\n"
        "  left: as planned, gain +0 dB → +3 dB, centre 518.000 MHz → 618.000 MHz\n"
        "  right: failed; not known: did not answer (timed out). See to its line.\n");
}

TEST_CASE("what the first line of a switch says of a node is not said again below it") {
  auto back = switched("rolled-back", true);
  back["reason"] = "right: did not answer (timed out).";
  back["nodes"][0]["word"] = back["nodes"][1]["word"] = "as before";
  back["nodes"][0]["where"] = back["nodes"][1]["where"] = "before";
  back["nodes"][1].erase("what_to_do");
  CHECK(show_switch(back) ==
        "switch 41: speeches → finale, rolled back: right: did not answer (timed out).\n"
        "  left: as before\n"
        "  right: as before\n");
}

TEST_CASE("a preview is read from the top: may it, whom does it move, in which steps, how long") {
  CHECK(
      show_preview(preview()) ==
      "speeches → finale, cue last: ready to go\n"
      "NODE  LINE  MOVES\n"
      "left  bus   gain +0 dB → +3 dB, centre 518.000 MHz → 618.000 MHz; without supply, passive\n"
      "Step 1 of 1, about 12 ms: left (gain)\n"
      "No moment on the way is worse than either end.\n"
      "Expected: about 12 ms (bus 12 ms).\n"
      "  at the end: caution  chain-gain: Too much.\n"
      "At the end: 1 note; see catwalk check-segment finale --all.\n");
}

TEST_CASE("what is in the way of a switch stands first") {
  auto refused = preview();
  refused["would_be"] = "refused";
  refused["obstacles"] = {"The rack is locked for the show."};
  const auto text = show_preview(refused);
  CHECK(
      text.starts_with("speeches → finale, cue last: would be refused\n"
                       "  The rack is locked for the show.\n"));
}

TEST_CASE("what a preview would come to once it is armed, and what follows, is told with it") {
  auto locked = preview();
  locked["would_be"] = "refused";
  locked["obstacles"] = {"The rack is locked for the show."};
  locked["if_armed"] = {{"would_be", "done"}, {"obstacles", Json::array()}};
  locked["follows"] = {{"cue", "parade"},
                       {"segment", "parade"},
                       {"trigger", {{"by", "duration"}, {"after", "finale"}, {"seconds", 60}}},
                       {"held_by_lock", true}};
  auto text = show_preview(locked);
  CHECK(text.find("  Once it is armed: ready to go.\n") != std::string::npos);
  CHECK(text.find("Then parade follows by itself, 60 s after finale, if it is armed by then.\n") !=
        std::string::npos);
  locked["follows"]["held_by_lock"] = false;
  locked["follows"]["due_local"] = "2026-08-14 21:30:00";
  text = show_preview(locked);
  CHECK(text.find("Then parade follows by itself, on 2026-08-14 21:30:00.\n") != std::string::npos);
}

TEST_CASE("nodes that do not answer are told with the command that goes without them") {
  auto silent = preview();
  silent["would_be"] = "unreachable";
  silent["missing"] = {"left", "spare"};
  CHECK(show_preview(silent).find("catwalk go finale --without left,spare --why … --waive … --by "
                                  "…\n") != std::string::npos);
  auto left_out = preview();
  left_out["nodes"][0]["left_out"] = true;
  CHECK(show_preview(left_out).find("left  bus   left out, stays as it is; wanted: gain +0 dB") !=
        std::string::npos);
}

TEST_CASE("a cue that waits for a person is not told to come by itself") {
  Json order = {{"cues",
                 {{{"name", "finale"},
                   {"segment", "finale"},
                   {"trigger", {{"by", "clock"}, {"at", "21:30:00"}}}}}},
                {"zone", "UTC"},
                {"second_trigger", "refuse"},
                {"after_restart", "wait"},
                {"arming_s", 60},
                {"waiting", Json::array()},
                {"next", "finale"},
                {"due_local", "2026-08-14 21:30:00"}};
  CHECK(show_order(order).find("next on 2026-08-14 21:30:00") != std::string::npos);
  order["held_because"] = "the last switch is stuck";
  const auto held = show_order(order);
  CHECK(held.find("next on") == std::string::npos);
  CHECK(held.find("The next cue does not go by itself: the last switch is stuck. Go by hand.") !=
        std::string::npos);
  CHECK(order_words(order).find("held: the last switch is stuck") != std::string::npos);
}

TEST_CASE("a trigger that the show lock will hold back is told before it comes") {
  const auto order = [](const Json& trigger) {
    return Json{{"cues", {{{"name", "finale"}, {"segment", "lights"}, {"trigger", trigger}}}},
                {"zone", "UTC"},
                {"second_trigger", "refuse"},
                {"after_restart", "wait"},
                {"waiting", Json::array()},
                {"next", "finale"},
                {"next_held_by_lock", true}};
  };
  auto by_clock = order({{"by", "clock"}, {"at", "21:30:00"}});
  by_clock["due_local"] = "2026-08-14 21:30:00";
  CHECK(show_order(by_clock).find("on 2026-08-14 21:30:00, unless armed: locked") !=
        std::string::npos);
  CHECK(show_order(by_clock).find("The rack is locked: unless finale is armed, it is held when its "
                                  "time comes. To arm it: catwalk arm.\n") != std::string::npos);
  CHECK(order_words(by_clock).find("held by the show lock unless armed") != std::string::npos);
  CHECK(show_order(order({{"by", "message"}, {"text", "rockets"}}))
            .find("unless finale is armed, its message is refused.") != std::string::npos);
  CHECK(
      show_order(order({{"by", "hand"}})).find("unless finale is armed, going there is refused.") !=
      std::string::npos);
  by_clock["next_held_by_lock"] = false;
  CHECK(show_order(by_clock).find("The rack is locked") == std::string::npos);
}

TEST_CASE("the running order marks where the rack is and what is next") {
  const Json order = {
      {"cues",
       {{{"name", "doors"}, {"segment", "doors"}, {"trigger", {{"by", "hand"}}}},
        {{"name", "talk"},
         {"segment", "speeches"},
         {"trigger", {{"by", "clock"}, {"at", "20:00:00"}}}},
        {{"name", "band"},
         {"segment", "concert"},
         {"trigger", {{"by", "duration"}, {"seconds", 90}, {"after", "speeches"}}}},
        {{"name", "end"},
         {"segment", "finale"},
         {"trigger", {{"by", "message"}, {"text", "rockets"}}}}}},
      {"zone", "Europe/Helsinki"},
      {"second_trigger", "queue"},
      {"after_restart", "wait"},
      {"waiting", Json::array()},
      {"at", "doors"},
      {"next", "talk"},
      {"due_at", "2026-08-14T17:00:00Z"},
      {"due_local", "2026-08-14 20:00:00"},
      {"armed", {{"cue", "talk"}, {"who", "ana"}, {"until", "2026-08-14T17:05:00.5Z"}}}};
  CHECK(
      show_order(order) ==
      "      CUE    SEGMENT   TRIGGER\n"
      "at    doors  doors     by hand\n"
      "next  talk   speeches  at 20:00:00, every day: next on 2026-08-14 20:00:00\n"
      "      band   concert   90 s after speeches\n"
      "      end    finale    message \"rockets\"\n"
      "Clock times in Europe/Helsinki. A second trigger during a switch: queue. After a restart in "
      "the middle: wait.\n"
      "talk is armed by ana until 2026-08-14 17:05:00Z. It passes the show lock, once.\n");
  CHECK(
      order_words(order) ==
      "running order: at doors, next talk on 2026-08-14 20:00:00 Europe/Helsinki; talk is armed by "
      "ana until 2026-08-14 17:05:00Z");
}
