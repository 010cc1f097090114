// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/calm.hpp"

#include <algorithm>

#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

bool is_faultless(const drivers::FaultRates& rates) {
  return rates.loss == 0 && rates.corrupt == 0 && rates.duplicate == 0 &&
         rates.delay_max == Micros{0};
}

}  // namespace

Complaint Calm::knows_its_nodes(const rack::Snapshot& snapshot, const Truth& truth, Moment now,
                                rack::TimePoint wall) const {
  constexpr auto invariant = "after a calm the rack knows its nodes";
  const auto stands = [&](rack::AlarmKind kind, const std::string& subject) {
    return std::ranges::any_of(*snapshot.alarms, [&](const rack::Alarm& alarm) {
      return alarm.kind == kind && alarm.subject == subject && alarm.active();
    });
  };
  for (const auto& one : truth.nodes()) {
    const auto& setup = one.line->setup();
    const auto disturbed = last_.find(setup.name);
    if (disturbed != last_.end() && now - disturbed->second < after(setup)) continue;
    if (!is_faultless(one.line->faults()) || one.lies) continue;
    const auto node = snapshot.find(one.name);
    const auto& name = one.name.text;
    if (!one.line->is_plugged()) {
      if (!stands(rack::AlarmKind::line_down, setup.name.text))
        return Violation{invariant, setup.name.text + " is unplugged, and no alarm says so"};
      continue;
    }
    if (one.node->is_silent()) {
      if (node->link == rack::Link::silent) continue;
      // On a bus nobody asks it while another controller speaks there.
      if (node->agreement == rack::Agreement::not_ours && node->link != rack::Link::answering)
        continue;
      return Violation{invariant, name + " is silent, and is shown as " +
                                      std::string{rack::name_of(node->link)}};
    }
    if (!one.line->can_be_found(one.name)) continue;
    // Over datagrams it obeys whoever spoke to it last, over a bus also whoever
    // only reads it.
    const bool watches = snapshot.control == rack::Control::watching;
    const bool overtaken = watches || stands(rack::AlarmKind::other_controller, name);
    if (overtaken && node->link == rack::Link::silent) continue;
    // It keeps quiet on a bus while it only watches.
    if (watches && node->link != rack::Link::answering) continue;
    if (one.node->memory().epoch > snapshot.epoch) {
      if (overtaken) continue;
      return Violation{invariant, name + " obeys another controller, and no alarm says so"};
    }
    if (node->link != rack::Link::answering || !node->seen)
      return Violation{invariant, name + " is shown as " + std::string{rack::name_of(node->link)}};
    if (node->seen->settings != one.settings())
      return Violation{invariant, name + " has " + words(one.settings()) + ", and is shown with " +
                                      words(node->seen->settings)};
    if (wall - node->seen->at > setup.reading_age + std::chrono::seconds{1})
      return Violation{invariant, "the reading of " + name + " is older than its line allows"};
    if (one.is_powered() == stands(rack::AlarmKind::passive, name))
      return Violation{invariant, name + (one.is_powered() ? " is powered" : " has no supply") +
                                      ", and the alarms say otherwise"};
    if (node->agreement == rack::Agreement::not_ours) continue;
    // A disk may take its time.
    if (node->change && node->change->stage == rack::ChangeStage::recording) continue;
    if (node->change) return Violation{invariant, name + " is still being changed"};
    if (node->wanted->settings != one.settings() && !stands(rack::AlarmKind::drifted, name))
      return Violation{invariant, name + " has " + words(one.settings()) + ", wanted is " +
                                      words(node->wanted->settings) + ", and no alarm says so"};
  }
  return std::nullopt;
}

}  // namespace catwalk::simulation
