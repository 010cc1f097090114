// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/rack_files.hpp"

#include <iostream>
#include <utility>

#include "drivers/node/node_actions.hpp"

namespace catwalk::shell {

config::Loaded load(const Options& options) {
  config::LoadOptions how;
  how.state_dir = options.state_dir;
  how.script_error = [](const std::string& line) -> std::optional<std::string> {
    const auto step = drivers::parse_script_step(line);
    if (step) return std::nullopt;
    return step.error();
  };
  return config::load(options.rack_file, how);
}

std::optional<config::RackFile> load_rack(const Options& options) {
  auto loaded = load(options);
  config::print(std::cerr, loaded.problems);
  return std::move(loaded.rack);
}

}  // namespace catwalk::shell
