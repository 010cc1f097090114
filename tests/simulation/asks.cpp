// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/asks.hpp"

#include <algorithm>

namespace catwalk::simulation {

Complaint Asks::answered(const rack::Respond& respond, Ask& ask) {
  constexpr auto invariant = "every request is answered once";
  const auto found = waiting_.find(respond.request);
  const auto number = "request #" + std::to_string(respond.request);
  if (found == waiting_.end())
    return Violation{invariant, number + " is answered \"" +
                                    std::string{rack::name_of(respond.answer.outcome)} +
                                    "\", and nobody waits for that"};
  if (respond.answer.outcome == rack::Outcome::accepted) {
    if (found->second.accepted) return Violation{invariant, number + " is accepted twice"};
    found->second.accepted = true;
    ask = found->second;
    return std::nullopt;
  }
  ask = std::move(found->second);
  waiting_.erase(found);
  return std::nullopt;
}

Complaint Asks::nobody_waits(bool looks_ahead) const {
  // A switch may wait for its turn, for its way, and for nodes that were not
  // read yet.
  const auto one = std::ranges::find_if(waiting_, [&](const auto& ask) {
    const auto kind = ask.second.kind;
    return kind != Ask::Kind::switching && !(kind == Ask::Kind::arming && looks_ahead);
  });
  if (one == waiting_.end()) return std::nullopt;
  return Violation{"who asked is answered when what it took has ended",
                   "request #" + std::to_string(one->first) +
                       " is not answered, and no command and no record is under way"};
}

Complaint Asks::all_answered() const {
  if (waiting_.empty()) return std::nullopt;
  return Violation{
      "every request is answered once",
      "request #" + std::to_string(waiting_.begin()->first) + " is not answered in the end"};
}

bool Asks::adopts(const plan::NodeName& node) const {
  return std::ranges::any_of(waiting_, [&](const auto& one) {
    return one.second.kind == Ask::Kind::adopt && one.second.node == node;
  });
}

}  // namespace catwalk::simulation
