// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/promises.hpp"

#include "tests/simulation/views.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

std::string text_of(const std::map<protocol::NodeUid, rack::Wanted>& all, protocol::NodeUid node) {
  const auto found = all.find(node);
  return found == all.end() ? "nothing" : words(found->second.settings);
}

bool has(const Kept& kept, protocol::NodeUid node, const plan::NodeSettings& settings) {
  const auto found = kept.state.wanted.find(node);
  return found != kept.state.wanted.end() && found->second.settings == settings;
}

}  // namespace

void Promises::record_asked(const rack::Record& record) {
  for (const auto& write : record.writes)
    if (std::holds_alternative<rack::ForgetSwitch>(write) ||
        std::holds_alternative<rack::KeepSwitchStuck>(write))
      ends_switch_.insert(record.id);
  for (const auto& write : record.writes) {
    if (const auto* one = std::get_if<rack::KeepWanted>(&write))
      wanted_[one->node].later.push_back({record.id, one->wanted.settings});
    if (const auto* one = std::get_if<rack::ForgetWanted>(&write))
      wanted_[one->node].later.push_back({record.id, std::nullopt});
    if (const auto* one = std::get_if<rack::KeepLock>(&write))
      lock_.later.push_back({record.id, one->lock.has_value()});
    if (const auto* one = std::get_if<rack::KeepSegment>(&write))
      segment_.later.push_back({record.id, one->segment});
    if (const auto* one = std::get_if<rack::KeepUnfinished>(&write))
      intents_[one->unfinished.change] = one->unfinished;
  }
}

void Promises::record_ended(rack::RecordId record, bool kept, const Kept& disk) {
  const auto forget_failed = [&](auto& promised) {
    std::erase_if(promised.later, [&](const auto& one) { return one.record == record; });
  };
  // What the end of a switch decided stays decided: it is owed to the disk.
  if (!kept && ends_switch_.contains(record)) return;
  if (!kept) {
    for (auto& [node, promised] : wanted_) forget_failed(promised);
    forget_failed(lock_);
    forget_failed(segment_);
    return;
  }
  recorded_ = record;
  // What was promised is on the disk: nothing from before it is any more.
  for (auto& [node, promised] : wanted_)
    if (promised.what && !promised.later.empty() && has(disk, node, *promised.what))
      promised.now(*promised.what, record);
}

// Records that wait together are durable together, so the disk may be ahead of
// what was heard of it.
bool Promises::is_or_is_later(const Kept& kept, protocol::NodeUid node) const {
  const auto found = kept.state.wanted.find(node);
  return found != kept.state.wanted.end() && wanted_.at(node).may_be(found->second.settings);
}

Complaint Promises::answered(const Ask& ask, const rack::Answer& answer, const Kept& kept) {
  constexpr auto invariant = "what is acknowledged is durable";
  using rack::Outcome;
  if (ask.kind == Ask::Kind::lock && answer.outcome == Outcome::done) {
    lock_.now(ask.locks, recorded_);
    if (!lock_.may_be(kept.state.lock.has_value()))
      return Violation{invariant, "the lock is acknowledged, and the disk has another"};
  }
  if (ask.kind == Ask::Kind::segment && answer.outcome == Outcome::done) {
    segment_.now(ask.segment.text, recorded_);
    if (!segment_.may_be(kept.state.segment))
      return Violation{invariant, "segment " + ask.segment.text +
                                      " is acknowledged, and the disk has \"" + kept.state.segment +
                                      '"'};
  }
  if (ask.kind == Ask::Kind::adopt && answer.outcome == Outcome::settled) {
    const auto& node = *answer.node;
    wanted_[node.uid].now(node.wanted->settings, recorded_);
    if (!is_or_is_later(kept, node.uid))
      return Violation{invariant, "an adoption by " + node.name.text +
                                      " is acknowledged, and the disk wants " +
                                      text_of(kept.state.wanted, node.uid)};
  }
  // Of switches more is looked at in switches.hpp.
  // One that had nothing to bring back is done as well, without a number.
  if (ask.kind == Ask::Kind::switching && answer.outcome == Outcome::done && answer.change != 0) {
    done_ = answer.change;
    if (kept.state.switching && kept.state.switching->id == done_)
      return Violation{invariant, "switch " + std::to_string(done_) +
                                      " is answered done, and is under way on the disk"};
  }
  if (answer.change == 0 || ask.kind == Ask::Kind::switching) return std::nullopt;
  const auto intent = intents_.find(answer.change);
  const auto number = "change " + std::to_string(answer.change);
  if (intent == intents_.end())
    return Violation{invariant, number + " is answered, and its intent never was recorded"};
  const auto& [change, node, before, after] = intent->second;
  auto& promised = wanted_[node];
  switch (answer.outcome) {
    case Outcome::accepted:
      promised.now(after, recorded_);
      if (!is_or_is_later(kept, node))
        return Violation{invariant, number + " of " + ask.node.text +
                                        " is accepted, and the disk wants " +
                                        text_of(kept.state.wanted, node)};
      break;
    case Outcome::settled:
      if (promised.what != after || !is_or_is_later(kept, node))
        return Violation{invariant, number + " of " + ask.node.text +
                                        " is settled, and the disk wants " +
                                        text_of(kept.state.wanted, node)};
      break;
    case Outcome::failed:
    case Outcome::unreachable:
      // Put back, but until that is on the disk a crash leaves what was wanted
      // meanwhile.
      promised.what = before;
      promised.later.push_back({0, after});
      break;
    default:
      break;
  }
  return std::nullopt;
}

Complaint Promises::switch_ended(const rack::SwitchView& view) const {
  if (done_ == 0 || view.id != done_ || !rack::is_end(view.stage) ||
      view.stage == rack::SwitchStage::done)
    return std::nullopt;
  return Violation{"no acknowledged change is lost",
                   "switch " + std::to_string(view.id) + " to " + view.entered.text +
                       " was answered done, and is " + std::string{rack::name_of(view.stage)} +
                       " after a restart"};
}

Complaint Promises::wanted_as_promised(const rack::NodeView& node, bool adopting, bool switched,
                                       const Kept& kept) {
  constexpr auto invariant = "wanted moves only when somebody decides";
  if (!node.wanted || adopting) return std::nullopt;
  const auto& wanted = node.wanted->settings;
  auto& promised = wanted_[node.uid];
  if (node.change && node.change->stage != rack::ChangeStage::interrupted) {
    if (wanted == node.change->after) return std::nullopt;
    return Violation{invariant, node.name.text + " is changed to " + words(node.change->after) +
                                    ", and wanted is " + words(wanted)};
  }
  if (!promised.what) {
    // Met for the first time: it counts from when it is durable.
    if (has(kept, node.uid, wanted)) promised.now(wanted, recorded_);
    return std::nullopt;
  }
  if (*promised.what == wanted) return std::nullopt;
  // The end of a switch and a take-over decide for all their nodes at once, when it is durable.
  if ((switched || taken_over_.contains(node.uid)) && promised.may_be(wanted)) {
    if (!has(kept, node.uid, wanted)) return std::nullopt;
    promised.now(wanted, recorded_);
    taken_over_.erase(node.uid);
    return std::nullopt;
  }
  return Violation{invariant, words(*promised.what) + " was decided for " + node.name.text +
                                  ", and wanted is " + words(wanted)};
}

void Promises::taken_over(const rack::Snapshot& before, const Kept& kept) {
  for (std::size_t i = 0; i < count_views(before); ++i) {
    const auto& node = view_at(before, i);
    if (before.control == rack::Control::ours && node->agreement != rack::Agreement::not_ours)
      continue;
    if (kept.state.wanted.contains(node->uid))
      taken_over_.insert(node->uid);
    else
      wanted_[node->uid] = {};
  }
}

void Promises::journal_lost() {
  wanted_.clear();
  done_ = 0;
}

Complaint Promises::restored(const rack::Restored& restored) {
  constexpr auto invariant = "no acknowledged change is lost";
  for (auto& [node, promised] : wanted_) {
    const auto found = restored.wanted.find(node);
    const auto on_disk = found == restored.wanted.end() ? std::optional<plan::NodeSettings>{}
                                                        : std::optional{found->second.settings};
    if (!promised.may_be(on_disk))
      return Violation{invariant, "after a restart " + node.text() + " should be " +
                                      words(*promised.what) + ", and the disk has " +
                                      text_of(restored.wanted, node)};
    promised = {on_disk, {}};
  }
  if (!lock_.may_be(restored.lock.has_value()))
    return Violation{invariant, "after a restart the rack is locked no more, or again"};
  lock_ = {.what = restored.lock.has_value(), .later = {}};
  if (!segment_.may_be(restored.segment))
    return Violation{invariant, "after a restart the segment is \"" + restored.segment +
                                    "\" and was acknowledged as \"" + *segment_.what + '"'};
  segment_ = {};
  if (!restored.segment.empty()) segment_.what = restored.segment;
  // Its number may be another's, once it is no longer on the disk.
  if (!restored.switching || restored.switching->id != done_) done_ = 0;
  intents_.clear();
  ends_switch_.clear();
  taken_over_.clear();
  recorded_ = 0;
  return std::nullopt;
}

}  // namespace catwalk::simulation
