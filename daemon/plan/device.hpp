// SPDX-License-Identifier: Apache-2.0
#pragma once
// Whatever stands on a line and is set from here: an amplifier, or a matrix. A view into a plan,
// which has to live as long.

#include <cstddef>
#include <optional>
#include <string>

#include "daemon/plan/node_settings.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::plan {

class Device {
 public:
  explicit Device(const Node& node) : node_{&node} {}
  // Precondition: it is on a line.
  explicit Device(const Matrix& matrix) : matrix_{&matrix} {}

  const NodeName& name() const { return node_ != nullptr ? node_->name : matrix_->name; }
  NodeUid uid() const { return node_ != nullptr ? node_->uid : matrix_->on_line->uid; }
  const LineName& line() const { return node_ != nullptr ? node_->line : matrix_->on_line->line; }
  OnReturn on_return() const {
    return node_ != nullptr ? node_->on_return : matrix_->on_line->on_return;
  }
  bool simulated() const {
    return node_ != nullptr ? node_->simulated : matrix_->on_line->simulated;
  }
  const std::string& type() const {
    return node_ != nullptr ? node_->datasheet->type : matrix_->sheet->type;
  }
  // Where it is, for people.
  const std::string& where() const { return node_ != nullptr ? node_->hangs : matrix_->stands; }

  // Could it be in such settings at all: are they of its kind, with as many sockets?
  bool fits(const NodeSettings& settings) const {
    if (matrix_ != nullptr)
      return settings.matrix() != nullptr && matrix_->sheet->fits(*settings.matrix());
    return settings.amplifier() != nullptr;
  }

  // Null: it is of another kind.
  const Node* amplifier() const { return node_; }
  const Matrix* matrix() const { return matrix_; }

 private:
  const Node* node_ = nullptr;
  const Matrix* matrix_ = nullptr;
};

// Nothing: the plan has none that is set from here and called so.
std::optional<Device> device_named(const RackPlan& plan, const NodeName& name);
// The nodes, then the matrices that are set from here.
std::size_t count_devices(const RackPlan& plan);
// Precondition: place < count_devices(plan).
Device device_at(const RackPlan& plan, std::size_t place);

}  // namespace catwalk::plan
