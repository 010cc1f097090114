// SPDX-License-Identifier: Apache-2.0
#pragma once
// Whatever stands on a line and is set from here: an amplifier, or a matrix. A view into a plan,
// which has to live as long.

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <variant>

#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::plan {

class Device {
 public:
  explicit Device(const Node& node) : what_{std::cref(node)} {}
  // Precondition: it is on a line.
  explicit Device(const Matrix& matrix) : what_{std::cref(matrix)} {}

  const NodeName& name() const { return is_node() ? node().name : unit().name; }
  NodeUid uid() const { return is_node() ? node().uid : unit().on_line->uid; }
  const LineName& line() const { return is_node() ? node().line : unit().on_line->line; }
  OnReturn on_return() const { return is_node() ? node().on_return : unit().on_line->on_return; }
  bool simulated() const { return is_node() ? node().simulated : unit().on_line->simulated; }
  const std::string& type() const {
    return is_node() ? node().datasheet->type : unit().sheet->type;
  }
  // Where it is, for people.
  const std::string& where() const { return is_node() ? node().hangs : unit().stands; }

  // Could it be in such settings at all: are they of its kind, with as many sockets?
  bool fits(const NodeSettings& settings) const {
    if (is_node()) return settings.amplifier() != nullptr;
    return settings.matrix() != nullptr && unit().sheet->fits(*settings.matrix());
  }

  // Null: it is of another kind.
  const Node* amplifier() const { return is_node() ? &node() : nullptr; }
  const Matrix* matrix() const { return is_node() ? nullptr : &unit(); }

 private:
  bool is_node() const { return what_.index() == 0; }
  const Node& node() const { return std::get<0>(what_).get(); }
  const Matrix& unit() const { return std::get<1>(what_).get(); }

  std::variant<std::reference_wrapper<const Node>, std::reference_wrapper<const Matrix>> what_;
};

// Nothing: the plan has none that is set from here and called so.
std::optional<Device> device_named(const RackPlan& plan, const NodeName& name);
// The nodes, then the matrices that are set from here.
std::size_t count_devices(const RackPlan& plan);
// Precondition: place < count_devices(plan).
Device device_at(const RackPlan& plan, std::size_t place);

}  // namespace catwalk::plan
