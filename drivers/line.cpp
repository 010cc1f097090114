// SPDX-License-Identifier: Apache-2.0
#include "drivers/line.hpp"

namespace catwalk::drivers {

std::string_view name_of(Fault fault) {
  switch (fault) {
    case Fault::timed_out:
      return "timed out";
    case Fault::line_down:
      return "line down";
    case Fault::queue_full:
      return "queue full";
    case Fault::node_unknown:
      return "node unknown";
    case Fault::no_key:
      return "no key of it is known here: key_file";
  }
  return "";
}

}  // namespace catwalk::drivers
