// SPDX-License-Identifier: Apache-2.0
#pragma once
// The rack as JSON: the documents of the API and of the live feed. The OpenAPI document describes
// them, and a test holds the two together.

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "daemon/plan/device.hpp"
#include "daemon/rack/core/effect.hpp"
#include "daemon/rack/values/snapshot.hpp"

namespace catwalk::web {

using Json = nlohmann::ordered_json;

// What may not be UTF-8 in it is replaced.
std::string json_text(const Json& json);

// "2026-11-25T19:30:00.250000Z"
std::string time_text(rack::TimePoint at);

// How much a reading is worth now. Older than this, it is stale even if the node should answer.
constexpr std::chrono::seconds stale_after{5};
std::string_view quality_of(const rack::NodeView& node, rack::TimePoint now);

// [low, high] in MHz
inline Json band_json(const rf::Band& band) {
  return {band.low.megahertz(), band.high.megahertz()};
}
Json names_json(const rack::CarrierNames& names);
// What a filter passes at a centre: "passband_mhz", and "skirt_mhz" beside each edge of it.
void add_window(Json& json, const plan::Filter& filter, rf::Frequency centre);
Json render(const plan::Settings& settings, const plan::Datasheet& datasheet);
Json render(const plan::NodeSettings& settings, const plan::Device& device);
Json render(const rack::Finding& finding);
Json render(const rack::Verdict& verdict);
// "accepted", "needs-waiver" or "refused".
std::string_view would_be(const rack::Verdict& verdict);
Json render(const rack::ChangeView& change, const rack::Snapshot& snapshot);
Json render(const rack::LineView& line);
Json render(const plan::Segment& segment);
Json render(const rack::StoredEntry& row);
Json render(const rack::NodeView& node, rack::TimePoint now);
Json render_rack(const rack::Snapshot& snapshot);
// The wanted settings with their revision. Precondition: the node has been met.
Json render_wanted(const rack::NodeView& node);

// Node documents are asked for far more often than they change: all but the age and the quality of
// the reading is kept as text. For one thread.
class NodeTexts {
 public:
  std::string text(const rack::NodeViewPtr& node, rack::TimePoint now);

 private:
  struct Kept {
    rack::NodeViewPtr node;
    std::string before;
    std::string after;
  };
  std::unordered_map<std::string, Kept> kept_;
};

}  // namespace catwalk::web
