// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/words.hpp"

#include <charconv>

#include "daemon/base/overloaded.hpp"
#include "daemon/rack/values/settings_words.hpp"
#include "daemon/rack/values/wire.hpp"
#include "tests/simulation/action.hpp"

namespace catwalk::simulation {
namespace {

std::string text_of(std::uint64_t value) { return std::to_string(value); }
std::string quoted(const std::string& text) { return '"' + text + '"'; }

std::string of_telemetry(const protocol::Telemetry& telemetry) {
  return std::string{telemetry.powered ? "" : " passive"} +
         (telemetry.locally_changed ? " by hand" : "") + " boot " + text_of(telemetry.boots);
}

std::string asked(std::string_view what, rack::RequestId request, const plan::NodeName& node,
                  bool waiver = false) {
  return std::string{what} + " #" + text_of(request) + ' ' + node.text +
         (waiver ? " with a waiver" : "");
}

std::string of_tick(const rack::CrewTick& tick) {
  return tick.left + " to " + tick.entered + ' ' + tick.row + " by " + tick.ticked.who;
}

std::string of_write(const rack::Write& write) {
  return std::visit(
      Overloaded{
          [](const rack::KeepWanted& one) {
            return "wanted " + one.node.text() + " r" + text_of(one.wanted.revision) + ' ' +
                   words(one.wanted.settings);
          },
          [](const rack::KeepUnfinished& one) {
            return "unfinished " + text_of(one.unfinished.change);
          },
          [](const rack::ForgetUnfinished& one) { return "finished " + text_of(one.change); },
          [](const rack::KeepLock& one) {
            return std::string{one.lock ? "locked by " + one.lock->who : "unlocked"};
          },
          [](const rack::KeepSegment& one) { return "segment " + one.segment; },
          [](const rack::KeepEpoch& one) { return "epoch " + text_of(one.epoch.value); },
          [](const rack::KeepSpoken& one) { return "spoken as " + text_of(one.epoch.value); },
          [](const rack::KeepAlarm& one) {
            return "alarm " + text_of(one.alarm.id) + ' ' +
                   std::string{rack::name_of(one.alarm.kind)} + ' ' + one.alarm.subject +
                   (one.alarm.active() ? "" : " returned") +
                   (one.alarm.acknowledged_by ? " acknowledged" : "") +
                   (one.alarm.shelved ? " shelved" : "");
          },
          [](const rack::ForgetAlarm& one) { return "no alarm " + text_of(one.alarm); },
          [](const rack::KeepSwitch& one) {
            return "switch " + text_of(one.unfinished.id) + ' ' + one.unfinished.left + " to " +
                   one.unfinished.entered;
          },
          [](const rack::KeepSwitchStep& one) {
            return std::string{one.back ? "step back " : "step "} + text_of(one.step) + " ticket " +
                   text_of(one.ticket);
          },
          [](const rack::ForgetSwitch&) { return std::string{"no switch"}; },
          [](const rack::KeepSwitchStuck&) { return std::string{"the switch is stuck"}; },
          [](const rack::KeepCue& one) { return "cue " + one.cue; },
          [](const rack::KeepReached& one) { return "reached " + one.segment; },
          [](const rack::KeepTick& one) { return "tick " + of_tick(one.tick); },
          [](const rack::ForgetReached&) { return std::string{"nothing reached"}; },
          [](const rack::ForgetWanted& one) { return "nothing wanted of " + one.node.text(); },
          [](const rack::ForgetTick& one) { return "no tick " + of_tick(one.tick); },
      },
      write);
}

}  // namespace

std::string number(double value) {
  char digits[32];
  return {std::begin(digits), std::to_chars(std::begin(digits), std::end(digits), value).ptr};
}

std::string words(const plan::Settings& settings) {
  return "gain=" + number(settings.gain.decibels()) + " filter=" + text_of(settings.filter) +
         " centre=" + number(settings.centre.megahertz()) +
         " power=" + (settings.power ? "on" : "off") + " label=" + quoted(settings.label);
}

std::string words(const plan::NodeSettings& settings) {
  if (const auto* own = settings.amplifier()) return words(*own);
  std::string text = "routes";
  for (const auto& output : settings.matrix()->outputs) text += ' ' + rack::in_words(output);
  for (const auto& input : settings.matrix()->inputs)
    text += ' ' + std::to_string(input.trim.centidecibels()) + '@' + text_of(input.supply_mv);
  return text;
}

std::string words(const protocol::Settings& settings) { return words(rack::from_wire(settings)); }

std::string words(const rack::Way& way) {
  std::string text;
  for (const auto& step : way.steps) {
    text += '[';
    for (const auto& move : step.moves)
      text += (&move == &step.moves.front() ? "" : " ") + move.node.text + ' ' +
              std::string{rack::name_of(move.part)};
    text += ']';
  }
  return text + (way.clean() ? "" : " not clean");
}

std::string words(const protocol::Ask& request) {
  std::string text{protocol::name_of(request)};
  std::visit(
      Overloaded{
          [&](const protocol::Stage& one) {
            text += " epoch " + text_of(one.epoch.value) + " ticket " + text_of(one.ticket.value) +
                    ' ' + words(one.settings);
          },
          [&](const protocol::Apply& one) {
            text += " epoch " + text_of(one.epoch.value) + " ticket " + text_of(one.ticket.value);
          },
          [&](const protocol::Discard& one) {
            text += " epoch " + text_of(one.epoch.value) + " ticket " + text_of(one.ticket.value);
          },
          [&](const protocol::Store& one) { text += " epoch " + text_of(one.epoch.value); },
          [](const auto&) {},
      },
      request);
  return text;
}

std::string words(const protocol::Answer& reply) {
  std::string text{protocol::name_of(reply)};
  std::visit(Overloaded{
                 [&](const protocol::Reading& one) {
                   text += ' ' + words(one.settings) + of_telemetry(one.telemetry);
                 },
                 [&](const protocol::Refusal& one) {
                   text += " (" + std::string{protocol::sentence_of(one.reason)} + ')';
                 },
                 [](const auto&) {},
             },
             reply);
  return text;
}

std::string words(const rack::Event& event) {
  return std::visit(
      Overloaded{
          [](const rack::ChangeRequested& one) {
            auto text = asked(one.dry_run ? "dry run" : "change", one.request, one.node,
                              one.waiver.has_value());
            if (one.patch.gain) text += " gain=" + number(one.patch.gain->decibels());
            if (one.patch.filter) text += " filter=" + *one.patch.filter;
            if (one.patch.centre) text += " centre=" + number(one.patch.centre->megahertz());
            if (one.patch.power) text += *one.patch.power ? " power=on" : " power=off";
            if (one.patch.label) text += " label=" + quoted(*one.patch.label);
            if (one.if_revision) text += " if_revision=" + text_of(*one.if_revision);
            return text;
          },
          [](const rack::RoutesRequested& one) {
            auto text = asked(one.dry_run ? "dry run of routes" : "routes", one.request, one.node,
                              one.waiver.has_value());
            for (const auto& [output, inputs] : one.patch.routes)
              text += " output " + text_of(output) + '=' + rack::in_words(inputs);
            for (const auto& [input, supply] : one.patch.supplies_mv)
              text += " supply " + text_of(input) + '=' + text_of(supply);
            return text;
          },
          [](const rack::PowerCycleRequested& one) {
            return asked("power cycle", one.request, one.node, one.waiver.has_value()) + " input " +
                   text_of(one.input);
          },
          [](const rack::AdoptRequested& one) {
            return asked("adopt", one.request, one.node, one.waiver.has_value());
          },
          [](const rack::ReapplyRequested& one) {
            return asked("reapply", one.request, one.node, one.waiver.has_value());
          },
          [](const rack::SegmentRequested& one) {
            return "segment #" + text_of(one.request) + ' ' + one.segment.text;
          },
          [](const rack::LockRequested& one) {
            return (one.locked ? "lock #" : "unlock #") + text_of(one.request);
          },
          [](const rack::LocateRequested& one) { return asked("locate", one.request, one.node); },
          [](const rack::LocateFoundRequested& one) {
            return "locate #" + text_of(one.request) + ' ' + one.node.text() + " on " +
                   one.line.text;
          },
          [](const rack::StoreRequested& one) { return asked("store", one.request, one.node); },
          [](const rack::DiscoverRequested& one) {
            return "discover #" + text_of(one.request) + ' ' + one.line.text;
          },
          [](const rack::ReclaimRequested& one) { return asked("reclaim", one.request, one.node); },
          [](const rack::TakeOverRequested& one) { return "take-over #" + text_of(one.request); },
          [](const rack::AcknowledgeRequested& one) {
            return "acknowledge #" + text_of(one.request) + " alarm " + text_of(one.alarm);
          },
          [](const rack::ShelveRequested& one) {
            return "shelve #" + text_of(one.request) + " alarm " + text_of(one.alarm) + " for " +
                   text_of(one.lasting.count()) + " s";
          },
          [](const rack::UnshelveRequested& one) {
            return "unshelve #" + text_of(one.request) + " alarm " + text_of(one.alarm);
          },
          [](const rack::TickRequested& one) {
            return (one.done ? "tick #" : "untick #") + text_of(one.request) + ' ' + one.left.text +
                   " to " + one.entered.text + ' ' + text_of(one.rows.size()) + " rows";
          },
          [](const rack::NodeReported& one) {
            const auto* reading = std::get_if<protocol::Reading>(&one.reading);
            return "reported " + one.node.text() + ' ' +
                   (reading != nullptr ? words(reading->settings) : std::string{"as a matrix"}) +
                   of_telemetry(protocol::telemetry_of(one.reading));
          },
          [](const rack::NodeIdentified& one) { return "identified " + one.node.text(); },
          [](const rack::OtherSpeaks& one) {
            return "other speaks to " + one.node.text() + " epoch " + text_of(one.epoch.value);
          },
          [](const rack::NodeFree& one) { return "nobody else speaks to " + one.node.text(); },
          [](const rack::LineAsked& one) { return "asked " + one.line.text; },
          [](const rack::NodeBabbles& one) {
            return (one.babbles ? "babbles " : "calm ") + one.node.text();
          },
          [](const rack::NodeFellSilent& one) { return "silent " + one.node.text(); },
          [](const rack::CommandAnswered& one) {
            return "answered " + text_of(one.command) + ' ' + words(one.reply);
          },
          [](const rack::CommandFailed& one) {
            return "failed " + text_of(one.command) + ' ' + std::string{name_of(one.fault)};
          },
          [](const rack::LineWentUp& one) { return "up " + one.line.text; },
          [](const rack::LineWentDown& one) { return "down " + one.line.text; },
          [](const rack::NodeDiscovered& one) {
            return "discovered " + one.node.text() + " on " + one.line.text;
          },
          [](const rack::DiscoveryEnded& one) {
            return "discovery ended on " + one.line.text + ' ' + one.trouble;
          },
          [](const rack::Recorded& one) { return "recorded " + text_of(one.record); },
          [](const rack::RecordFailed& one) { return "not recorded " + text_of(one.record); },
          [](const rack::TurnedAway& one) {
            return "turned away " + one.from + ' ' + text_of(one.times) + " times: " + one.why;
          },
          [](const rack::CertificateJudged& one) {
            return "certificate judged " + quoted(one.trouble);
          },
          [](const rack::JournalFound& one) { return "journal found " + quoted(one.trouble); },
          [](const rack::PlanReplaced& one) { return "plan replaced by " + one.plan->name; },
          [](const rack::SwitchRequested& one) {
            return "go #" + text_of(one.request) + ' ' +
                   (one.segment ? one.segment->text : "to the next") +
                   (one.waiver ? " with a waiver" : "");
          },
          [](const rack::MessageReceived& one) {
            return "message #" + text_of(one.request) + ' ' + quoted(one.text);
          },
          [](const rack::AbortRequested& one) { return "abort #" + text_of(one.request); },
          [](const rack::ArmRequested& one) {
            return "arm #" + text_of(one.request) + ' ' + (one.cue ? one.cue->text : "the next");
          },
          [](const rack::ArmReloadRequested& one) { return "arm reload #" + text_of(one.request); },
          [](const rack::DisarmRequested& one) { return "disarm #" + text_of(one.request); },
          [](const rack::RestoreRequested& one) {
            return "restore #" + text_of(one.request) + (one.waiver ? " with a waiver" : "");
          },
          [](const rack::AcknowledgeManyRequested& one) {
            return "acknowledge #" + text_of(one.request) + ' ' + text_of(one.alarms.size()) +
                   " alarms";
          },
          [](const rack::WayPlanned& one) {
            return "way " + text_of(one.id) + " planned: " + (one.way ? words(*one.way) : "none");
          },
          [](const rack::TimePassed&) { return std::string{"tick"}; },
          [](const rack::ClockStepped& one) { return "clock stepped by " + words(one.by); },
      },
      event);
}

std::string words(const rack::Effect& effect) {
  return std::visit(
      Overloaded{
          [](const rack::Respond& one) {
            auto text = "respond #" + text_of(one.request) + ' ' +
                        std::string{rack::name_of(one.answer.outcome)};
            if (one.answer.change != 0) text += " change " + text_of(one.answer.change);
            if (!one.answer.detail.empty()) text += ": " + one.answer.detail;
            for (const auto& finding : one.answer.verdict.findings)
              text += " [" + std::string{rack::name_of(finding.severity)} + ' ' +
                      std::string{rack::name_of(finding.rule)} + ']';
            return text;
          },
          [](const rack::Send& one) {
            return "send " + text_of(one.command) + " to " + one.node.text() + ' ' +
                   words(one.request);
          },
          [](const rack::Search& one) { return "search " + one.line.text; },
          [](const rack::Record& one) {
            auto text = "record " + text_of(one.id);
            for (const auto& entry : one.entries)
              text += " [" + std::string{rack::name_of(entry.kind)} +
                      (entry.node.empty() ? "" : ' ' + entry.node) +
                      (entry.change == 0 ? "" : " change " + text_of(entry.change)) +
                      (entry.what.empty() ? "" : ": " + entry.what) +
                      (entry.fate.empty() ? "" : "; " + entry.fate) + ']';
            for (const auto& write : one.writes) text += " {" + of_write(write) + '}';
            return text;
          },
          [](const rack::SpeakAs& one) {
            return "speak as " + text_of(one.epoch.value) + (one.takes_over ? ", taking over" : "");
          },
          [](const rack::FallQuiet&) { return std::string{"fall quiet"}; },
          [](const rack::Publish& one) { return "publish " + text_of(one.snapshot->revision); },
          [](const rack::PlanWay& one) {
            return "plan way " + text_of(one.id) + ' ' + one.question.left.text + " to " +
                   one.question.entered.text + (one.question.back ? ", back" : "");
          },
      },
      effect);
}

}  // namespace catwalk::simulation
