// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/calm.hpp"

#include <algorithm>

#include "tests/simulation/views.hpp"
#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

bool is_faultless(const drivers::FaultRates& rates) {
  return rates.loss == 0 && rates.corrupt == 0 && rates.duplicate == 0 &&
         rates.delay_max == Micros{0};
}

}  // namespace

bool Calm::is_calm(const TrueNode& one, Moment now) const {
  const auto& setup = one.line->setup();
  const auto disturbed = last_.find(setup.name);
  if (disturbed != last_.end() && now - disturbed->second < after(setup)) return false;
  return is_faultless(one.line->faults()) && !one.lies;
}

Complaint Calm::knows_what_it_feeds(const rack::Snapshot& snapshot, const Truth& truth,
                                    Moment now) const {
  constexpr auto invariant = "after a calm the rack knows what it feeds";
  for (const auto& view : snapshot.nodes) {
    const auto* antenna = truth.find(view->name);
    const auto* unit = view->fed_by ? truth.find(view->fed_by->matrix) : nullptr;
    if (unit == nullptr || !view->datasheet->supply) continue;
    const auto unit_view = snapshot.find_matrix(unit->name);
    if (!is_calm(*antenna, now) || !is_calm(*unit, now)) continue;
    if (view->link != rack::Link::answering || unit_view->link != rack::Link::answering) continue;
    const auto& input = unit->node->inputs()[view->fed_by->input - 1];
    const auto fed = unit->node->matrix_settings().inputs[view->fed_by->input - 1].supply_mv;
    const bool open = fed != 0 && input.measures_current && input.supply_ma == 0;
    const bool well = fed != 0 && !input.limited && (!input.measures_current || !open);
    const bool told = std::ranges::any_of(*snapshot.alarms, [&](const rack::Alarm& alarm) {
      return alarm.kind == rack::AlarmKind::not_fed && alarm.subject == view->name.text &&
             alarm.active();
    });
    if (unit->is_powered() && (input.limited || open) && !told)
      return Violation{invariant, view->name.text + " is not fed by " + unit->name.text +
                                      ", and no alarm says so"};
    if ((well || !unit->is_powered()) && told)
      return Violation{invariant, view->name.text + " is fed by " + unit->name.text +
                                      ", or the unit is dark, and an alarm says otherwise"};
  }
  return std::nullopt;
}

Complaint Calm::knows_its_nodes(const rack::Snapshot& snapshot, const Truth& truth, Moment now,
                                rack::TimePoint wall) const {
  constexpr auto invariant = "after a calm the rack knows its nodes";
  const auto stands = [&](rack::AlarmKind kind, const std::string& subject) {
    return std::ranges::any_of(*snapshot.alarms, [&](const rack::Alarm& alarm) {
      return alarm.kind == kind && alarm.subject == subject && alarm.active();
    });
  };
  for (const auto& one : truth.nodes()) {
    if (!is_calm(one, now)) continue;
    const auto& setup = one.line->setup();
    const auto* node = view_of(snapshot, one.uid);
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
    // What a matrix once lied of its settings is read again after ten readings.
    const bool lied = one.node->is_matrix() && one.lied_until &&
                      now - *one.lied_until < 12 * (setup.reading_age + std::chrono::seconds{1});
    if (node->seen->settings != one.settings() && !lied)
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
    if (!lied && node->wanted->settings != one.settings() &&
        !stands(rack::AlarmKind::drifted, name))
      return Violation{invariant, name + " has " + words(one.settings()) + ", wanted is " +
                                      words(node->wanted->settings) + ", and no alarm says so"};
  }
  return std::nullopt;
}

}  // namespace catwalk::simulation
