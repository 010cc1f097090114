// SPDX-License-Identifier: Apache-2.0
#pragma once
// The settings of a node of whatever kind. Who moves nodes, keeps them and tells of them does not
// look inside; who has to do with one kind asks for it, and is told if it is another.

#include <optional>
#include <utility>
#include <variant>

#include "daemon/plan/matrix_settings.hpp"
#include "daemon/plan/settings.hpp"

namespace catwalk::plan {

class NodeSettings {
 public:
  NodeSettings() = default;  // an amplifier's
  // Settings of either kind are settings of a node.
  NodeSettings(Settings settings)
      : kind_{std::move(settings)} {}  // NOLINT(google-explicit-constructor)
  NodeSettings(MatrixSettings settings)
      : kind_{std::move(settings)} {}  // NOLINT(google-explicit-constructor)

  // Null: they are of another kind.
  const Settings* amplifier() const { return std::get_if<Settings>(&kind_); }
  Settings* amplifier() { return std::get_if<Settings>(&kind_); }
  const MatrixSettings* matrix() const { return std::get_if<MatrixSettings>(&kind_); }
  MatrixSettings* matrix() { return std::get_if<MatrixSettings>(&kind_); }

  bool same_kind(const NodeSettings& other) const { return kind_.index() == other.kind_.index(); }
  friend bool operator==(const NodeSettings&, const NodeSettings&) = default;

 private:
  std::variant<Settings, MatrixSettings> kind_;
};

// Nothing: there are none, or those of another kind.
inline std::optional<Settings> amplifier_of(const std::optional<NodeSettings>& settings) {
  const auto* own = settings ? settings->amplifier() : nullptr;
  return own == nullptr ? std::nullopt : std::optional{*own};
}

}  // namespace catwalk::plan
