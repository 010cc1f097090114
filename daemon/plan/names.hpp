// SPDX-License-Identifier: Apache-2.0
#pragma once
// Names that people give to things in the rack. One type each, so that a node is never looked up by
// the name of a line.

#include <compare>
#include <functional>
#include <string>

namespace catwalk::plan {

template <class Tag>
struct Name {
  std::string text;
  friend auto operator<=>(const Name&, const Name&) = default;
};

using NodeName = Name<struct NodeTag>;
using LineName = Name<struct LineTag>;
using ReceiverName = Name<struct ReceiverTag>;
using CarrierName = Name<struct CarrierTag>;
using LaneName = Name<struct LaneTag>;
using SegmentName = Name<struct SegmentTag>;
using CueName = Name<struct CueTag>;

}  // namespace catwalk::plan

template <class Tag>
struct std::hash<catwalk::plan::Name<Tag>> {
  std::size_t operator()(const catwalk::plan::Name<Tag>& name) const noexcept {
    return std::hash<std::string>{}(name.text);
  }
};
