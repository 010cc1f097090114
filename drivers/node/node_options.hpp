// SPDX-License-Identifier: Apache-2.0
#pragma once
// The command line of catwalk-node.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/option_info.hpp"
#include "daemon/base/result.hpp"
#include "drivers/line/faults.hpp"
#include "drivers/node/emulated_node.hpp"

namespace catwalk::drivers {

struct HostPort {
  std::string host;  // an IP address
  std::uint16_t port = 0;
};

struct NodeSpec {
  protocol::NodeUid uid;
  protocol::Address address = protocol::Address::unassigned();
  NodeType type;
  std::string label;
  std::optional<std::string> key_file;  // its own, beside that of its line
};

struct NodeOptions {
  std::optional<std::string> serial;  // device
  bool pty = false;
  std::optional<std::string> link;  // to the pseudo-terminal
  std::uint32_t baud = 115'200;
  std::optional<HostPort> udp;
  std::optional<std::string> key_file;
  std::optional<HostPort> report_to;
  std::vector<NodeSpec> nodes;
  std::optional<std::string> state_file;
  FaultRates faults;
  std::uint64_t seed = 1;
  bool help = false;
  bool version = false;
  bool licences = false;
};

// The error names the option, the word and what is allowed.
Result<NodeOptions, std::string> parse_node_options(const std::vector<std::string_view>& words);

std::vector<OptionInfo> node_option_infos();
// What may be typed, line by line.
extern const std::string_view node_commands_help;
std::string node_usage();

}  // namespace catwalk::drivers
