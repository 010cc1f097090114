// SPDX-License-Identifier: Apache-2.0
#pragma once
// Names in a question, found in the plan or complained of. Internal to the room.

#include <optional>
#include <string>
#include <vector>

#include "web/server/api/acts.hpp"

namespace catwalk::web {

// The one part of a question that a name points to, and where the name stood.
struct Asked {
  std::optional<std::string> name;
  std::string pointer;
};
Asked in_query(const Call& call, const std::string& name);

// "a,b" as names; absent: none.
std::vector<std::string> listed_in(const Asked& asked);

// The active segment if none is asked for. Null: there is no such one, and it is complained of.
const plan::Segment* segment_of(const rack::Snapshot& snapshot, const Asked& asked,
                                std::vector<BadValue>& complaints);

// The segment to come from on the way to another. Where none is asked for: the one that is on the
// air; when that is the one to go to, the one that it was reached from. Complained of if there is
// no such one, or it is `entered` itself.
plan::SegmentName segment_to_leave(const rack::Snapshot& snapshot, const Asked& asked,
                                   const plan::SegmentName& entered,
                                   std::vector<BadValue>& complaints);

// A carrier that the node has to hear; empty if none is asked for.
plan::CarrierName carrier_of(const plan::RackPlan& plan, const plan::Segment& segment,
                             const plan::Node& node, const Asked& asked,
                             std::vector<BadValue>& complaints);

// The name is known, and there is nothing to it by now: no bad word, so it is told as refused.
HttpResponse not_yet(const std::string& detail);
HttpResponse never_read(const plan::Node& node);
// The node shows settings that its datasheet does not have.
HttpResponse not_of_this_type(const plan::Node& node, const rack::Finding& finding);

}  // namespace catwalk::web
