// SPDX-License-Identifier: Apache-2.0
#pragma once
// Nodes on a serial device. A device that is missing, or is pulled out, is a line that is down: it
// is opened again after 0.5, 1, 2, 4, 8, 8 … s, a little more or less, and after a success from
// 0.5 s again.

#include <string>
#include <vector>

#include "drivers/bus/bus_engine.hpp"
#include "drivers/line/shelled_line.hpp"

namespace asio {
class io_context;
}

namespace catwalk::drivers {

struct SerialLineConfig {
  std::string device = {};          // "/dev/ttyUSB0", or a link to it
  std::uint32_t baud = 115'200;     // 1 or more
  std::vector<BusNode> nodes = {};  // at most 247, each uid once
  Micros reading_age{1'000'000};
  int tries = 3;
  std::size_t most_commands = 1'024;
  Micros longest_slack{40'000};  // what device, adapter and system may add to an answer
  Micros first_pause{500'000};   // between attempts to open
  Micros last_pause{8'000'000};
  std::uint64_t seed = 1;   // for the little more or less
  bool asks_first = false;  // see BusConfig
  bool speaks = false;      // see BusConfig
  protocol::Epoch epoch = {};
};

class SerialLine : public ShelledLine {
 public:
  // Throws std::invalid_argument for what BusEngine refuses, and for a baud rate of 0.
  SerialLine(asio::io_context& io, const SerialLineConfig& config);
};

}  // namespace catwalk::drivers
