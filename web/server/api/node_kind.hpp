// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a route does with one node is the same for amplifiers and matrices, each under its own
// resource. Internal to the room.

#include <string>
#include <utility>
#include <vector>

#include "web/server/api/acts.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/http/input.hpp"

namespace catwalk::web {

struct NodeKind {
  const char* what;    // "node", in sentences
  const char* folder;  // "nodes", below /api/v1
  rack::NodeViewPtr (rack::Snapshot::*find)(const plan::NodeName&) const;
  rack::NodeViewPtr (rack::Snapshot::*find_other)(const plan::NodeName&) const;
};
inline constexpr NodeKind amplifiers{"node", "nodes", &rack::Snapshot::find,
                                     &rack::Snapshot::find_matrix};
inline constexpr NodeKind matrices{"matrix", "matrices", &rack::Snapshot::find_matrix,
                                   &rack::Snapshot::find};

inline rack::NodeViewPtr named(const Call& call, const NodeKind& kind) {
  return ((*call.desk.gate.snapshot()).*kind.find)({call.names[0]});
}
// True: the name is that of a node of the other kind, which has been answered. A name of nobody is
// the core's to answer.
bool is_of_other_kind(const Call& call, const NodeKind& kind);

bool wants_dry_run(const HttpRequest& request, std::vector<BadValue>& complaints);
// True: an If-Match is missing, or can never do, which has been answered.
bool lacks_match(const Call& call, const NodeKind& kind);
bool has_only_weak_match(const Call& call, const IfMatch& match, const rack::NodeViewPtr& node);
// The wanted settings, with their tag.
void get_wanted_of(const Call& call, const NodeKind& kind);

// The rest of a request that changes a node, after what is its own has been read from the body.
// False: something was wrong, and has been answered.
template <class Event>
bool read_change(const Call& call, const NodeKind& kind, Body& body, Event& event,
                 std::vector<BadValue> complaints = {}) {
  event.node = {call.names[0]};
  event.who = call.caller.name;
  auto all = body.finish();
  all.insert(all.end(), complaints.begin(), complaints.end());
  const auto match = read_if_match(call.request);
  if (match.complaint) all.push_back(*match.complaint);
  const auto node = named(call, kind);
  event.if_revision =
      match.revision(node && node->wanted ? std::optional{node->wanted->revision} : std::nullopt);
  return !complained(call, all) && !is_of_other_kind(call, kind) &&
         !has_only_weak_match(call, match, node);
}

// Either of the two ways to end a drift.
template <class Event>
void settle_drift(const Call& call, const NodeKind& kind) {
  Event event;
  Body body{call.request.body};
  event.why = read_why(body);
  event.waiver = body.waiver("waiver");
  if (read_change(call, kind, body, event)) change(call, event);
}

void locate(const Call& call, const NodeKind& kind);
void store(const Call& call, const NodeKind& kind);
// It undoes what was said to the node under another epoch: nobody does that without saying why.
void reclaim(const Call& call, const NodeKind& kind);

}  // namespace catwalk::web
