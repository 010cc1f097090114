// SPDX-License-Identifier: Apache-2.0
// What each action of a script does to the World.
#include <algorithm>

#include "drivers/node/liar.hpp"
#include "tests/simulation/views.hpp"
#include "tests/simulation/words.hpp"
#include "tests/simulation/world.hpp"

namespace catwalk::simulation {
namespace {

std::optional<rack::Waiver> waiver_if(bool given) {
  if (!given) return std::nullopt;
  return rack::Waiver{"ana", "heard at the rehearsal"};
}

}  // namespace

void World::perform(const Action& action) {
  ++end_.tally.actions;
  say([&] { return "> " + words(action); });
  std::visit([this](const auto& one) { perform(one); }, action);
  // What hands and supplies did is no matter of the wires.
  truth_.touched();
  truth_.look(
      clock_.now(), [&](const TrueNode& node) { note_supply(node); },
      [&](const TrueNode& node, const plan::NodeSettings&) {
        ++end_.tally.node_changes;
        say([&] { return node.name.text + " has " + words(node.settings()) + " now"; });
      });
}

// ---- people at the panel -----------------------------------------------------------------------

rack::RequestId World::ask(Ask ask) {
  ask.at = clock_.now();
  asks_.asked(++last_request_, std::move(ask));
  return last_request_;
}

void World::perform(const AskChange& action) {
  if (!core_) return;
  rack::ChangeRequested event;
  event.node = action.node;
  event.patch = {action.gain, action.filter, action.centre, action.power, action.label};
  event.dry_run = action.dry_run;
  event.waiver = waiver_if(action.waiver);
  event.who = "ana";
  event.why = "asked for at the desk";
  event.if_revision = revision_behind(action.node, action.behind);
  event.request = ask({.kind = Ask::Kind::change,
                       .node = action.node,
                       .waiver = action.waiver,
                       .dry_run = action.dry_run});
  inbox_.emplace_back(std::move(event));
}

std::optional<std::uint64_t> World::revision_behind(const plan::NodeName& node,
                                                    std::optional<int> behind) {
  const auto* view = behind ? view_of(*core_->snapshot(), node) : nullptr;
  if (view == nullptr || !view->wanted) return std::nullopt;
  return view->wanted->revision - static_cast<std::uint64_t>(*behind);
}

void World::perform(const AskRoutes& action) {
  if (!core_) return;
  rack::RoutesRequested event;
  event.node = action.node;
  if (const auto* segment =
          action.as_in ? show_.plan->find(plan::SegmentName{*action.as_in}) : nullptr)
    if (const auto found = segment->matrices.find(action.node); found != segment->matrices.end())
      event.patch = found->second;
  if (action.output)
    if (auto taken = inputs_in(action.takes.value_or("none")))
      event.patch.routes[static_cast<std::size_t>(*action.output)] = *std::move(taken);
  const auto input = static_cast<std::size_t>(action.input.value_or(1));
  if (action.trim) event.patch.trims[input] = *action.trim;
  if (action.supply) event.patch.supplies_mv[input] = static_cast<std::uint16_t>(*action.supply);
  if (action.label) event.patch.labels[input] = *action.label;
  event.dry_run = action.dry_run;
  event.waiver = waiver_if(action.waiver);
  event.who = "ana";
  event.why = "asked for at the desk";
  event.if_revision = revision_behind(action.node, action.behind);
  event.request = ask({.kind = Ask::Kind::change,
                       .node = action.node,
                       .waiver = action.waiver,
                       .dry_run = action.dry_run});
  inbox_.emplace_back(std::move(event));
}

template <class Event>
void World::ask_about_drift(Ask::Kind kind, const plan::NodeName& node, bool waiver) {
  if (!core_) return;
  const auto request = ask({.kind = kind, .node = node, .waiver = waiver});
  inbox_.emplace_back(
      Event{.request = request, .node = node, .waiver = waiver_if(waiver), .who = "bo"});
}

void World::perform(const AskAdopt& action) {
  ask_about_drift<rack::AdoptRequested>(Ask::Kind::adopt, action.node, action.waiver);
}

void World::perform(const AskReapply& action) {
  ask_about_drift<rack::ReapplyRequested>(Ask::Kind::reapply, action.node, action.waiver);
}

void World::perform(const AskSegment& action) {
  if (!core_) return;
  inbox_.emplace_back(rack::SegmentRequested{
      ask({.kind = Ask::Kind::segment, .segment = action.segment}), action.segment, "bo", ""});
}

void World::perform(const AskSwitch& action) {
  if (!core_) return;
  const auto request = ask({.kind = Ask::Kind::switching, .waiver = action.waiver});
  rack::SwitchRequested event{.request = request, .waiver = waiver_if(action.waiver), .who = "ana"};
  if (action.segment) event.segment = plan::SegmentName{*action.segment};
  inbox_.emplace_back(std::move(event));
}

void World::perform(const AskRestore& action) {
  if (!core_) return;
  const auto request = ask({.kind = Ask::Kind::switching, .waiver = action.waiver});
  inbox_.emplace_back(
      rack::RestoreRequested{.request = request, .waiver = waiver_if(action.waiver), .who = "ana"});
}

void World::perform(const AskAbort&) {
  if (!core_) return;
  inbox_.emplace_back(rack::AbortRequested{ask({}), "bo", "not yet"});
}

void World::perform(const AskArm& action) {
  if (!core_) return;
  rack::ArmRequested event{.request = ask({.kind = Ask::Kind::arming}),
                           .waiver = waiver_if(action.waiver),
                           .who = "ana"};
  if (action.cue) event.cue = plan::CueName{*action.cue};
  inbox_.emplace_back(std::move(event));
}

void World::perform(const AskDisarm&) {
  if (!core_) return;
  inbox_.emplace_back(rack::DisarmRequested{ask({}), "bo"});
}

void World::perform(const AskMessage& action) {
  if (!core_) return;
  inbox_.emplace_back(
      rack::MessageReceived{ask({.kind = Ask::Kind::switching}), action.text.value_or(""), "desk"});
}

void World::perform(const AskLock& action) {
  if (!core_) return;
  inbox_.emplace_back(rack::LockRequested{ask({.kind = Ask::Kind::lock, .locks = action.on}),
                                          action.on, "bo", "the show"});
}

void World::perform(const AskLocate& action) {
  if (!core_) return;
  inbox_.emplace_back(rack::LocateRequested{ask({.node = action.node}), action.node, 5, "bo"});
}

void World::perform(const AskStore& action) {
  if (!core_) return;
  inbox_.emplace_back(rack::StoreRequested{ask({.node = action.node}), action.node, "bo"});
}

void World::perform(const AskDiscover& action) {
  if (!core_) return;
  inbox_.emplace_back(rack::DiscoverRequested{ask({}), action.line, "bo"});
}

void World::perform(const AskTakeOver&) {
  if (!core_) return;
  inbox_.emplace_back(rack::TakeOverRequested{ask({}), "bo", "the other one is switched off"});
}

namespace {

// The nth of those that stand, counted round; one that is not there if none stands.
rack::AlarmId alarm_no(const rack::Snapshot& now, int nth) {
  const auto& alarms = *now.alarms;
  const auto at = static_cast<std::size_t>(std::max(nth, 0));
  return alarms.empty() ? rack::AlarmId{99} : alarms[at % alarms.size()].id;
}

}  // namespace

void World::perform(const AskAcknowledge& action) {
  if (!core_) return;
  inbox_.emplace_back(
      rack::AcknowledgeRequested{ask({}), alarm_no(*core_->snapshot(), action.nth), "bo"});
}

void World::perform(const AskShelve& action) {
  if (!core_) return;
  const auto id = alarm_no(*core_->snapshot(), action.nth);
  if (action.lasting == 0)
    inbox_.emplace_back(rack::UnshelveRequested{ask({}), id, "bo"});
  else
    inbox_.emplace_back(rack::ShelveRequested{ask({}), id, std::chrono::seconds{action.lasting},
                                              "bo", "it is known"});
}

void World::perform(const Reload& action) {
  files_ = edited(show_, static_cast<unsigned>(std::max(action.edit, 0)));
  // The shell refuses it while a switch is under way.
  const auto under_way = core_ ? core_->snapshot()->switching : nullptr;
  const bool refused = (under_way && !rack::is_end(under_way->stage)) || !inbox_.empty();
  if (core_ && !refused && mutation_ != Mutation::blind_rules)
    inbox_.emplace_back(rack::PlanReplaced{files_, "reload"});
}

// ---- at the nodes and lines --------------------------------------------------------------------

const TrueNode* World::touch(const plan::NodeName& name) {
  const auto* node = truth_.find(name);
  if (node != nullptr) {
    calm_.disturb(node->line->setup().name, clock_.now());
    switches_.meddled(node->uid, clock_.now());
  }
  return node;
}

void World::perform(const TurnKnob& action) {
  const auto* one = touch(action.node);
  if (one == nullptr || one->node->is_matrix()) return;
  passage_.meddled();
  auto settings = one->node->settings();
  if (action.gain) settings.gain_cdb = static_cast<std::int16_t>(action.gain->centidecibels());
  if (action.filter) settings.filter = static_cast<std::uint8_t>(*action.filter);
  if (action.centre) settings.centre_hz = static_cast<std::uint32_t>(action.centre->hertz());
  if (action.power) settings.power = *action.power;
  // Where it cannot be turned to, it is not.
  static_cast<void>(one->node->turn(settings));
}

void World::perform(const Supply& action) {
  const auto* one = touch(action.node);
  if (one == nullptr || action.on == one->is_powered()) return;
  touch_unit(action.node);
  passage_.meddled();
  if (action.on)
    one->node->restore_power(clock_.now());
  else
    one->node->cut_power();
}

void World::perform(const Reboot& action) {
  const auto* one = touch(action.node);
  if (one == nullptr) return;
  touch_unit(action.node);
  passage_.meddled();
  one->node->restart(clock_.now());
}

void World::perform(const Silence& action) {
  if (const auto* one = touch(action.node)) one->node->silence(action.on);
}

void World::perform(const Refuse& action) {
  const auto* one = touch(action.node);
  if (one == nullptr) return;
  one->node->refuse(action.on ? std::optional{protocol::RefusalReason::storage_failed}
                              : std::nullopt);
}

void World::perform(const Slow& action) {
  if (const auto* one = touch(action.node))
    one->node->be_slow(std::chrono::floor<drivers::Millis>(action.by));
}

void World::perform(const Lie& action) {
  const auto* one = touch(action.node);
  if (one == nullptr) return;
  const bool lies = action.luck != 0;
  if (lies)
    one->node->speak_through(drivers::Liar{static_cast<std::uint64_t>(action.luck)});
  else
    one->node->speak_through(nullptr);
  truth_.lies(one->uid, lies, clock_.now());
}

void World::perform(const Move& action) {
  if (const auto* one = touch(action.node))
    one->line->move(action.node, static_cast<unsigned>(action.place), clock_.now());
}

void World::perform(const Rival& action) {
  const auto* one = touch(action.node);
  if (one == nullptr) return;
  rival_spoke_ = clock_.now();
  const auto heard = one->node->memory().epoch.value;
  one->line->hear_rival(action.node, {heard + static_cast<std::uint32_t>(action.ahead)},
                        clock_.now());
}

void World::perform(const Faults& action) {
  auto* line = line_of(action.line);
  if (line == nullptr) return;
  calm_.disturb(action.line, clock_.now());
  drivers::FaultRates rates;
  rates.loss = action.loss;
  rates.duplicate = action.duplicate;
  rates.corrupt = action.corrupt;
  rates.delay_min = action.least;
  rates.delay_max = action.most;
  line->set_faults(rates, static_cast<std::uint64_t>(action.luck));
}

void World::perform(const Plug& action) {
  auto* line = line_of(action.line);
  if (line == nullptr) return;
  calm_.disturb(action.line, clock_.now());
  line->plug(action.in, clock_.now());
  if (core_) hear(*line);
}

// ---- in the daemon's machine -------------------------------------------------------------------

void World::perform(const Crash& action) {
  if (!core_ || effects_left_) return;
  crash_ = action;
  effects_left_ = action.effects;
  if (action.effects <= 0) kill_daemon();
}

void World::perform(const StepClock& action) {
  clock_.set_by(action.by);
  // The daemon looks at the clock once a second.
  if (core_) {
    clock_put_by_ += action.by;
    if (!notices_clock_at_) notices_clock_at_ = clock_.now() + luck_now(1'000'000);
  }
  calm_.disturb_all(show_, clock_.now());
}

void World::perform(const Disk& action) { store_.set_disk(action.fails, action.slower); }

void World::put_right() {
  perform(Action{Disk{}});
  for (const auto& line : show_.lines) {
    perform(Action{Faults{line.name}});
    perform(Action{Plug{line.name, true}});
  }
  for (const auto& node : show_.plan->nodes)
    if (node.ends_at) perform(Action{Cable{node.name, true}});
  for (const auto& matrix : show_.plan->matrices)
    for (std::size_t input = 1; input <= matrix.sheet->inputs; ++input)
      perform(Action{Short{matrix.name, static_cast<int>(input), false}});
  for (const auto& node : truth_.nodes()) {
    perform(Action{Silence{node.name, false}});
    perform(Action{Refuse{node.name, false}});
    perform(Action{Slow{node.name, Micros{0}}});
    perform(Action{Lie{node.name, 0}});
    perform(Action{Supply{node.name, true}});
    if (!node.line->can_be_found(node.name)) perform(Action{Move{node.name, 0}});
  }
}

}  // namespace catwalk::simulation
