// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/explanations.hpp"

#include <algorithm>
#include <map>

#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/views.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

using rack::AlarmKind;

bool stands(const rack::Snapshot& now, AlarmKind kind, const std::string& subject) {
  return std::ranges::any_of(*now.alarms, [&](const rack::Alarm& alarm) {
    return alarm.kind == kind && alarm.subject == subject && alarm.active();
  });
}

bool waits_for_reading(const rack::NodeView& node) {
  return node.change && node.change->stage == rack::ChangeStage::interrupted;
}

bool none_answers(const rack::Snapshot& now, const plan::LineName& line) {
  for (std::size_t i = 0; i < count_views(now); ++i)
    if (view_at(now, i)->line == line && view_at(now, i)->link == rack::Link::answering)
      return false;
  return true;
}

// By what its matrix said last; of one that is not heard nobody knows.
bool may_be_not_fed(const rack::Snapshot& now, const rack::NodeView& node) {
  const auto unit = node.fed_by ? now.find_matrix(node.fed_by->matrix) : nullptr;
  if (!unit) return false;
  if (!unit->seen || unit->link != rack::Link::answering) return true;
  const auto at = node.fed_by->input - 1;
  if (at >= unit->seen->reading.inputs.size()) return true;
  const auto& measured = unit->seen->reading.inputs[at];
  return measured.limited || unit->seen->settings.matrix()->inputs[at].supply_mv == 0 ||
         (measured.measures_current && measured.supply_ma == 0);
}

// What the alarm says is so.
bool is_so(const rack::Snapshot& now, const rack::Alarm& alarm, const Asks& asks) {
  const auto* node = view_of(now, plan::NodeName{alarm.subject});
  switch (alarm.kind) {
    case AlarmKind::drifted:
      return node && node->agreement != rack::Agreement::not_ours &&
             (node->agreement != rack::Agreement::agreed || asks.adopts(node->name) ||
              (now.switching && !rack::is_end(now.switching->stage)));
    case AlarmKind::silent:
      return node && node->link != rack::Link::answering;
    case AlarmKind::passive:
      return node && (!node->seen || !node->seen->reading.telemetry.powered);
    case AlarmKind::line_down:
      return std::ranges::any_of(*now.lines, [&](const rack::LineView& line) {
        return line.name.text == alarm.subject && (!line.up || none_answers(now, line.name));
      });
    case AlarmKind::not_fed:
      return node && may_be_not_fed(now, *node);
    case AlarmKind::wrong_type:
      return false;  // no node here ever says that it is something else
    default:
      return true;  // told by what came before, not by what is
  }
}

}  // namespace

Complaint difference_is_explained(const rack::Snapshot& now, const rack::NodeView& node,
                                  const rack::NodeView* before, bool adopting) {
  if (node.agreement != rack::Agreement::drifted || adopting) return std::nullopt;
  const auto& name = node.name.text;
  if (stands(now, AlarmKind::drifted, name) || stands(now, AlarmKind::change_failed, name))
    return std::nullopt;
  // What ended just now is explained by the next reading.
  const bool read_anew = before != nullptr && before->seen && before->seen->at != node.seen->at &&
                         before->agreement == rack::Agreement::drifted;
  if (!read_anew) return std::nullopt;
  return Violation{"every difference between wanted and seen is explained",
                   name + " shows " + words(node.seen->settings) + ", wanted is " +
                       words(node.wanted->settings) + ", and no alarm says so"};
}

Complaint alarms_have_reasons(const rack::Snapshot& now, const Asks& asks) {
  constexpr auto invariant = "an alarm stands as long as its reason, and no longer";
  for (const auto& alarm : *now.alarms)
    if (alarm.active() && !is_so(now, alarm, asks))
      return Violation{invariant, "the alarm \"" + alarm.sentence + "\" stands, and it is not so"};
  for (std::size_t i = 0; i < count_views(now); ++i) {
    const auto& node = view_at(now, i);
    const auto& name = node->name.text;
    const auto missing = [&](AlarmKind kind) {
      return Violation{invariant,
                       name + " has no alarm \"" + std::string{rack::name_of(kind)} + '"'};
    };
    if (node->agreement == rack::Agreement::not_ours &&
        std::ranges::none_of(std::vector{std::string{}, name, node->line.text},
                             [&](const std::string& subject) {
                               return stands(now, AlarmKind::other_controller, subject);
                             }))
      return missing(AlarmKind::other_controller);
    if (node->link == rack::Link::silent && !stands(now, AlarmKind::silent, name))
      return missing(AlarmKind::silent);
    if (node->seen && !node->seen->reading.telemetry.powered &&
        !stands(now, AlarmKind::passive, name))
      return missing(AlarmKind::passive);
    if (node->seen && node->standing.refuses() != stands(now, AlarmKind::off_plan, name))
      return missing(AlarmKind::off_plan);
  }
  return std::nullopt;
}

Complaint nothing_hangs(const rack::Snapshot& now) {
  for (std::size_t i = 0; i < count_views(now); ++i) {
    const auto& node = view_at(now, i);
    if (node->change && !waits_for_reading(*node))
      return Violation{"what is under way ends when its commands and records have",
                       "change " + std::to_string(node->change->id) + " of " + node->name.text +
                           " is still " + std::string{rack::name_of(node->change->stage)}};
  }
  return std::nullopt;
}

Complaint disk_agrees(const rack::Snapshot& now, const Kept& kept) {
  constexpr auto invariant = "the disk is what the rack is";
  const auto& disk = kept.state;
  for (std::size_t i = 0; i < count_views(now); ++i) {
    const auto& node = view_at(now, i);
    const auto found = disk.wanted.find(node->uid);
    const bool same = node->wanted ? found != disk.wanted.end() &&
                                         found->second.settings == node->wanted->settings
                                   : found == disk.wanted.end();
    if (!same)
      return Violation{
          invariant, "wanted of " + node->name.text + " is " +
                         (node->wanted ? words(node->wanted->settings) : "nothing") +
                         ", and the disk has " +
                         (found == disk.wanted.end() ? "nothing" : words(found->second.settings))};
  }
  for (const auto& one : disk.unfinished) {
    const auto* node = view_of(now, one.node);
    if (!node->change || node->change->id != one.change)
      return Violation{invariant, "change " + std::to_string(one.change) + " of " +
                                      node->name.text +
                                      " has ended, and is unfinished on the disk"};
  }
  if (disk.lock != now.lock) return Violation{invariant, "the locks differ"};
  if (!disk.segment.empty() && disk.segment != now.segment.text)
    return Violation{invariant,
                     "the segment is " + now.segment.text + ", and the disk has " + disk.segment};
  if (disk.epoch != now.epoch) return Violation{invariant, "the epochs differ"};
  // What an alarm follows from is found anew, and is not on the disk.
  auto alarms = *now.alarms;
  for (auto& alarm : alarms) alarm.cause.reset();
  auto kept_alarms = disk.alarms;
  for (auto& alarm : kept_alarms) alarm.cause.reset();
  if (!std::ranges::is_permutation(kept_alarms, alarms))
    return Violation{invariant, "the alarms differ: " + std::to_string(now.alarms->size()) +
                                    " stand, and the disk has " +
                                    std::to_string(disk.alarms.size()) +
                                    ", or others of the same number"};
  return std::nullopt;
}

Complaint journal_is_complete(const Kept& kept) {
  std::map<rack::ChangeId, int> fates;
  for (const auto& entry : kept.journal) {
    if (entry.kind == rack::JournalKind::intent) fates.emplace(entry.change, 0);
    if (entry.kind == rack::JournalKind::fate) ++fates[entry.change];
  }
  for (const auto& [change, count] : fates)
    if (count != 1)
      return Violation{"every intent has one fate in the journal",
                       "change " + std::to_string(change) + " has " + std::to_string(count)};
  return std::nullopt;
}

}  // namespace catwalk::simulation
