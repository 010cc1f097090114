// SPDX-License-Identifier: Apache-2.0
#pragma once
// What people, weather and bad luck do to the rack, as words:
//
//   change node=n0 gain=6 waiver=on          somebody asks for settings
//   knob node=n0 gain=-3                     somebody turns a knob at the node
//   crash effects=2 records=1 down=300ms     the daemon is killed after its
//   next two effects, when
//                                            one more of its records has become
//                                            durable
//
// Each kind is a struct with a verb and a list of its fields, from which the
// words are written and read. A field that is left out has its default. Nothing
// in here is random: whatever luck an action needs is a number in it.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "daemon/base/result.hpp"
#include "daemon/plan/matrix_settings.hpp"
#include "daemon/plan/names.hpp"
#include "daemon/rf/units.hpp"
#include "tests/simulation/virtual_clock.hpp"

namespace catwalk::simulation {

// ---- people at the panel -----------------------------------------------------------------------

struct AskChange {
  plan::NodeName node;
  std::optional<rf::Gain> gain;
  std::optional<std::string> filter;
  std::optional<rf::Frequency> centre;
  std::optional<bool> power;
  std::optional<std::string> label;
  bool waiver = false;
  bool dry_run = false;
  std::optional<int> behind;  // if_revision: the present one, or so many behind it

  static constexpr std::string_view verb = "change";
  void fields(auto& f) {
    f("node", node), f("gain", gain), f("filter", filter), f("centre", centre), f("power", power),
        f("label", label), f("waiver", waiver), f("dry_run", dry_run), f("behind", behind);
  }
};
// The same of a matrix: one output, one input, or what a segment has for it.
struct AskRoutes {
  plan::NodeName node;
  std::optional<int> output;
  std::optional<std::string> takes;  // "1+3" or "none"
  std::optional<int> input;
  std::optional<rf::Gain> trim;
  std::optional<int> supply;  // mV; 0: off
  std::optional<std::string> label;
  std::optional<std::string> as_in;  // a segment; beside what else is asked for
  bool waiver = false;
  bool dry_run = false;
  std::optional<int> behind;

  static constexpr std::string_view verb = "routes";
  void fields(auto& f) {
    f("node", node), f("output", output), f("takes", takes), f("input", input), f("trim", trim),
        f("supply", supply), f("label", label), f("as_in", as_in), f("waiver", waiver),
        f("dry_run", dry_run), f("behind", behind);
  }
};
struct AskAdopt {
  plan::NodeName node;
  bool waiver = false;
  static constexpr std::string_view verb = "adopt";
  void fields(auto& f) { f("node", node), f("waiver", waiver); }
};
struct AskReapply {
  plan::NodeName node;
  bool waiver = false;
  static constexpr std::string_view verb = "reapply";
  void fields(auto& f) { f("node", node), f("waiver", waiver); }
};
// Everything that has drifted, in one act.
struct AskRestore {
  bool waiver = false;
  static constexpr std::string_view verb = "restore";
  void fields(auto& f) { f("waiver", waiver); }
};
struct AskSegment {
  plan::SegmentName segment;
  static constexpr std::string_view verb = "segment";
  void fields(auto& f) { f("segment", segment); }
};
// Every node to a segment; without one, to the next cue.
struct AskSwitch {
  std::optional<std::string> segment;
  bool waiver = false;
  static constexpr std::string_view verb = "switch";
  void fields(auto& f) { f("segment", segment), f("waiver", waiver); }
};
struct AskAbort {
  static constexpr std::string_view verb = "abort";
  void fields(auto&) {}
};
// Without a cue: the next one.
struct AskArm {
  std::optional<std::string> cue;
  bool waiver = false;
  static constexpr std::string_view verb = "arm";
  void fields(auto& f) { f("cue", cue), f("waiver", waiver); }
};
struct AskDisarm {
  static constexpr std::string_view verb = "disarm";
  void fields(auto&) {}
};
struct AskMessage {
  std::optional<std::string> text;
  static constexpr std::string_view verb = "message";
  void fields(auto& f) { f("text", text); }
};
struct AskLock {
  bool on = true;
  static constexpr std::string_view verb = "lock";
  void fields(auto& f) { f("on", on); }
};
struct AskLocate {
  plan::NodeName node;
  static constexpr std::string_view verb = "locate";
  void fields(auto& f) { f("node", node); }
};
struct AskStore {
  plan::NodeName node;
  static constexpr std::string_view verb = "store";
  void fields(auto& f) { f("node", node); }
};
struct AskDiscover {
  plan::LineName line;
  static constexpr std::string_view verb = "discover";
  void fields(auto& f) { f("line", line); }
};
struct AskTakeOver {
  static constexpr std::string_view verb = "take-over";
  void fields(auto&) {}
};
struct AskAcknowledge {
  int nth = 0;  // of the alarms that stand, counted round
  static constexpr std::string_view verb = "acknowledge";
  void fields(auto& f) { f("nth", nth); }
};
struct AskShelve {
  int nth = 0;       // as above
  int lasting = 60;  // seconds; 0: unshelve it
  static constexpr std::string_view verb = "shelve";
  void fields(auto& f) { f("nth", nth), f("lasting", lasting); }
};
// The files were edited and are read again.
struct Reload {
  int edit = 0;  // show.hpp; 0: as they were
  static constexpr std::string_view verb = "reload";
  void fields(auto& f) { f("edit", edit); }
};

// ---- at the nodes and lines --------------------------------------------------------------------

struct TurnKnob {
  plan::NodeName node;
  std::optional<rf::Gain> gain;
  std::optional<int> filter;
  std::optional<rf::Frequency> centre;
  std::optional<bool> power;
  static constexpr std::string_view verb = "knob";
  void fields(auto& f) {
    f("node", node), f("gain", gain), f("filter", filter), f("centre", centre), f("power", power);
  }
};
// At a matrix, one output or one input.
struct TurnSocket {
  plan::NodeName node;
  std::optional<int> output;
  std::optional<std::string> takes;
  std::optional<int> input;
  std::optional<rf::Gain> trim;
  std::optional<int> supply;
  static constexpr std::string_view verb = "socket";
  void fields(auto& f) {
    f("node", node), f("output", output), f("takes", takes), f("input", input), f("trim", trim),
        f("supply", supply);
  }
};
// In the cable that ends there: the supply of the input lets go.
struct Short {
  plan::NodeName node;
  int input = 1;
  bool on = true;
  static constexpr std::string_view verb = "short";
  void fields(auto& f) { f("node", node), f("input", input), f("on", on); }
};
// The cable of an antenna comes off its matrix, or is plugged in again.
struct Cable {
  plan::NodeName node;
  bool in = true;
  static constexpr std::string_view verb = "cable";
  void fields(auto& f) { f("node", node), f("in", in); }
};
// Of a node of either kind, its own.
struct Supply {
  plan::NodeName node;
  bool on = true;
  static constexpr std::string_view verb = "supply";
  void fields(auto& f) { f("node", node), f("on", on); }
};
struct Reboot {
  plan::NodeName node;
  static constexpr std::string_view verb = "reboot";
  void fields(auto& f) { f("node", node); }
};
struct Silence {
  plan::NodeName node;
  bool on = true;
  static constexpr std::string_view verb = "silence";
  void fields(auto& f) { f("node", node), f("on", on); }
};
// Refuses whatever would change it.
struct Refuse {
  plan::NodeName node;
  bool on = true;
  static constexpr std::string_view verb = "refuse";
  void fields(auto& f) { f("node", node), f("on", on); }
};
struct Slow {
  plan::NodeName node;
  Micros by{0};
  static constexpr std::string_view verb = "slow";
  void fields(auto& f) { f("node", node), f("by", by); }
};
// Says what no honest node says, and does what it is told; luck 0: no more.
struct Lie {
  plan::NodeName node;
  int luck = 0;
  static constexpr std::string_view verb = "lie";
  void fields(auto& f) { f("node", node), f("luck", luck); }
};
// Another short address, or another port.
struct Move {
  plan::NodeName node;
  int place = 0;
  static constexpr std::string_view verb = "move";
  void fields(auto& f) { f("node", node), f("place", place); }
};
// Another controller, whose epoch is so much higher than any that the node has
// heard.
struct Rival {
  plan::NodeName node;
  int ahead = 1;
  static constexpr std::string_view verb = "rival";
  void fields(auto& f) { f("node", node), f("ahead", ahead); }
};
struct Faults {
  plan::LineName line;
  double loss = 0;
  double duplicate = 0;
  double corrupt = 0;
  Micros least{0};  // delay
  Micros most{0};
  int luck = 0;
  static constexpr std::string_view verb = "faults";
  void fields(auto& f) {
    f("line", line), f("loss", loss), f("duplicate", duplicate), f("corrupt", corrupt),
        f("least", least), f("most", most), f("luck", luck);
  }
};
struct Plug {
  plan::LineName line;
  bool in = true;
  static constexpr std::string_view verb = "plug";
  void fields(auto& f) { f("line", line), f("in", in); }
};

// ---- in the daemon's machine -------------------------------------------------------------------

struct Crash {
  int effects = 0;  // that are still carried out
  int records = 0;  // of those that wait, that become durable all the same
  Micros down{100'000};
  bool broken = false;  // and its journal, as the next start finds
  static constexpr std::string_view verb = "crash";
  void fields(auto& f) {
    f("effects", effects), f("records", records), f("down", down), f("broken", broken);
  }
};
struct StepClock {
  Micros by{0};
  static constexpr std::string_view verb = "clock";
  void fields(auto& f) { f("by", by); }
};
struct Disk {
  bool fails = false;
  Micros slower{0};
  static constexpr std::string_view verb = "disk";
  void fields(auto& f) { f("fails", fails), f("slower", slower); }
};

using Action = std::variant<AskChange, AskRoutes, AskAdopt, AskReapply, AskRestore, AskSegment,
                            AskSwitch, AskAbort, AskArm, AskDisarm, AskMessage, AskLock, AskLocate,
                            AskStore, AskDiscover, AskTakeOver, AskAcknowledge, AskShelve, Reload,
                            TurnKnob, TurnSocket, Short, Cable, Supply, Reboot, Silence, Refuse,
                            Slow, Lie, Move, Rival, Faults, Plug, Crash, StepClock, Disk>;

std::string words(const Action& action);
// The error names the word at fault and what is allowed.
Result<Action, std::string> action_from(std::string_view words);

// "1+3" or "none". Nothing: it is neither.
std::optional<plan::Inputs> inputs_in(std::string_view text);
std::string words(const plan::Inputs& inputs);

// "12.345678s", "300ms", "20us"; negative too.
std::string words(Micros duration);

}  // namespace catwalk::simulation
