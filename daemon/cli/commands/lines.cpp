// SPDX-License-Identifier: Apache-2.0
// Lines, and the search for nodes on them.
#include "daemon/cli/commands/rows.hpp"

#include <chrono>
#include <thread>

#include "daemon/cli/run.hpp"
#include "daemon/cli/show.hpp"

namespace catwalk::cli {
namespace {

int discover(Run& run) {
  const auto path = "/lines/" + escaped(run.word(0));
  if (const auto begun = run.ask("POST", path + "/discover", "{}"); !begun) return begun.error();
  const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds{60};
  for (;;) {
    const auto line = run.ask("GET", path);
    if (!line) return line.error();
    if (!line->body.at("searching").get<bool>()) {
      run.print(*line, show_discovered);
      return exit_done;
    }
    if (std::chrono::steady_clock::now() > give_up)
      return run.complain(exit_unreachable, "the search has not ended after 60 s");
    std::this_thread::sleep_for(std::chrono::milliseconds{100});
  }
}

constexpr CommandInfo rows_on_lines[]{
    {"lines", "", 0, 0, "", "the lines and whether they are up",
     [](Run& run) {
       return run.show(
           "/lines", [&](const Json& json) { return show_lines(json.at("lines"), run.colour()); });
     }},
    {"discover", "LINE", 1, 1, "", "search a line for nodes: what and where each is", discover,
     "On a UDP line also those with no endpoint in the rack file: of the network of its "
     "\"bind\", "
     "by broadcast and by multicast, at the line's \"search_port\". What is in doubt about a "
     "node "
     "is said below; catwalk locate UID blinks it."},
};

}  // namespace

std::span<const CommandInfo> commands_on_lines() { return rows_on_lines; }

}  // namespace catwalk::cli
