// SPDX-License-Identifier: Apache-2.0
// The words in which the room's enumerations are told to people and to the API.
#include "daemon/rack/effect.hpp"
#include "daemon/rack/snapshot.hpp"
#include "daemon/rack/switching/crew_sheet.hpp"

namespace catwalk::rack {

std::string_view name_of(Link link) {
  switch (link) {
    case Link::unknown:
      return "unknown";
    case Link::answering:
      return "answering";
    case Link::silent:
      return "silent";
    case Link::line_down:
      return "line-down";
  }
  return "?";
}

std::string_view name_of(Agreement agreement) {
  switch (agreement) {
    case Agreement::unknown:
      return "unknown";
    case Agreement::agreed:
      return "agreed";
    case Agreement::changing:
      return "changing";
    case Agreement::drifted:
      return "drifted";
    case Agreement::not_ours:
      return "not-ours";
  }
  return "?";
}

std::string_view name_of(ChangeStage stage) {
  switch (stage) {
    case ChangeStage::recording:
      return "recording";
    case ChangeStage::staging:
      return "staging";
    case ChangeStage::applying:
      return "applying";
    case ChangeStage::reading_back:
      return "reading-back";
    case ChangeStage::settled:
      return "settled";
    case ChangeStage::failed:
      return "failed";
    case ChangeStage::unreachable:
      return "unreachable";
    case ChangeStage::interrupted:
      return "interrupted";
  }
  return "?";
}

std::string_view name_of(AlarmKind kind) {
  switch (kind) {
    case AlarmKind::drifted:
      return "drifted";
    case AlarmKind::silent:
      return "silent";
    case AlarmKind::passive:
      return "passive";
    case AlarmKind::line_down:
      return "line-down";
    case AlarmKind::other_controller:
      return "other-controller";
    case AlarmKind::wrong_type:
      return "wrong-type";
    case AlarmKind::change_failed:
      return "change-failed";
    case AlarmKind::off_plan:
      return "off-plan";
    case AlarmKind::journal_failed:
      return "journal-failed";
    case AlarmKind::switch_failed:
      return "switch-failed";
    case AlarmKind::trigger_held:
      return "trigger-held";
    case AlarmKind::epoch_out_of_reach:
      return "epoch-out-of-reach";
    case AlarmKind::babbling:
      return "babbling";
    case AlarmKind::certificate:
      return "certificate";
    case AlarmKind::journal_broken:
      return "journal-broken";
    case AlarmKind::cue_blocked:
      return "cue-blocked";
  }
  return "?";
}

std::string_view name_of(JournalKind kind) {
  switch (kind) {
    case JournalKind::intent:
      return "intent";
    case JournalKind::fate:
      return "fate";
    case JournalKind::refused:
      return "refused";
    case JournalKind::adopted:
      return "adopted";
    case JournalKind::found:
      return "found";
    case JournalKind::lock:
      return "lock";
    case JournalKind::segment:
      return "segment";
    case JournalKind::alarm:
      return "alarm";
    case JournalKind::command:
      return "command";
    case JournalKind::plan:
      return "plan";
    case JournalKind::switching:
      return "switch";
    case JournalKind::step:
      return "step";
    case JournalKind::arming:
      return "arming";
    case JournalKind::turned_away:
      return "turned-away";
    case JournalKind::journal:
      return "journal";
    case JournalKind::carriers:
      return "carriers";
    case JournalKind::crew:
      return "crew";
  }
  return "?";
}

std::string_view name_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::done:
      return "done";
    case Outcome::checked:
      return "checked";
    case Outcome::accepted:
      return "accepted";
    case Outcome::settled:
      return "settled";
    case Outcome::refused:
      return "refused";
    case Outcome::needs_waiver:
      return "needs-waiver";
    case Outcome::failed:
      return "failed";
    case Outcome::unreachable:
      return "unreachable";
    case Outcome::stale:
      return "stale";
    case Outcome::busy:
      return "busy";
    case Outcome::unknown_name:
      return "unknown-name";
    case Outcome::not_recorded:
      return "not-recorded";
    case Outcome::rolled_back:
      return "rolled-back";
    case Outcome::stuck:
      return "stuck";
  }
  return "?";
}

std::string_view name_of(TriggeredBy trigger) {
  switch (trigger) {
    case TriggeredBy::hand:
      return "hand";
    case TriggeredBy::clock:
      return "clock";
    case TriggeredBy::duration:
      return "duration";
    case TriggeredBy::message:
      return "message";
  }
  return "?";
}

std::string_view name_of(SwitchStage stage) {
  switch (stage) {
    case SwitchStage::planning:
      return "planning";
    case SwitchStage::recording:
      return "recording";
    case SwitchStage::staging:
      return "staging";
    case SwitchStage::applying:
      return "applying";
    case SwitchStage::reading_back:
      return "reading-back";
    case SwitchStage::interrupted:
      return "interrupted";
    case SwitchStage::done:
      return "done";
    case SwitchStage::rolled_back:
      return "rolled-back";
    case SwitchStage::stuck:
      return "stuck";
  }
  return "?";
}

std::string_view name_of(Whereabouts where) {
  switch (where) {
    case Whereabouts::before:
      return "before";
    case Whereabouts::between:
      return "between";
    case Whereabouts::target:
      return "target";
    case Whereabouts::elsewhere:
      return "elsewhere";
    case Whereabouts::not_ours:
      return "not-ours";
    case Whereabouts::unknown:
      return "unknown";
  }
  return "?";
}

std::string_view name_of(Progress progress) {
  switch (progress) {
    case Progress::waiting:
      return "waiting";
    case Progress::staging:
      return "staging";
    case Progress::staged:
      return "staged";
    case Progress::applying:
      return "applying";
    case Progress::reading_back:
      return "reading-back";
    case Progress::failed:
      return "failed";
  }
  return "?";
}

std::string_view name_of(CrewAct act) {
  switch (act) {
    case CrewAct::off:
      return "off";
    case CrewAct::move:
      return "move";
    case CrewAct::change:
      return "change";
    case CrewAct::on:
      return "on";
  }
  return "?";
}

std::string_view name_of(CrewMoment moment) {
  switch (moment) {
    case CrewMoment::before:
      return "before";
    case CrewMoment::meanwhile:
      return "meanwhile";
    case CrewMoment::after:
      return "after";
  }
  return "?";
}

}  // namespace catwalk::rack
