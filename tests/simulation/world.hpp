// SPDX-License-Identifier: Apache-2.0
#pragma once
// The whole rack in virtual time: the real core, the real engines, the real
// node emulation, and around them the store, the people and the weather of a
// script. One thread, no socket, no clock. The same script gives the same run,
// byte for byte.
//
// What happens next is whatever is due first: an event for the core that waits,
// else the earliest of the script, the lines, and the disk; at the same moment
// in that order.

#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/core/core.hpp"
#include "tests/simulation/asks.hpp"
#include "tests/simulation/calm.hpp"
#include "tests/simulation/mutation.hpp"
#include "tests/simulation/orders.hpp"
#include "tests/simulation/passage.hpp"
#include "tests/simulation/promises.hpp"
#include "tests/simulation/script.hpp"
#include "tests/simulation/store_model.hpp"
#include "tests/simulation/switches.hpp"
#include "tests/simulation/tally.hpp"
#include "tests/simulation/trace.hpp"
#include "tests/simulation/truth.hpp"
#include "tests/simulation/violation.hpp"
#include "tests/simulation/virtual_line.hpp"

namespace catwalk::simulation {

// What the core could not write down, it owes: it travels with the next record.
class Debts {
 public:
  void failed(rack::RecordId) {
    owes_ = true;
    carrier_.reset();
  }
  void asked(rack::RecordId record) {
    if (owes_ && !carrier_) carrier_ = record;
  }
  void kept(rack::RecordId record) {
    if (carrier_ == record) *this = {};
  }
  bool any() const { return owes_; }

 private:
  bool owes_ = false;
  std::optional<rack::RecordId> carrier_;
};

struct RunEnd {
  std::optional<Violation> violation;  // the first; the run ends there
  Micros at{0};
  Tally tally;
};

class World {
 public:
  // `trace` null: nothing is written, which is a good deal faster.
  explicit World(const Script& script, Mutation mutation = Mutation::none, Trace* trace = nullptr);

  // The whole script; then everything is put right, and has to be found right.
  RunEnd run();

 private:
  // ---- time
  // ------------------------------------------------------------------------------------
  void run_until(Moment end);
  // One thing; false: nothing before `end`.
  bool step(Moment end);

  // ---- the daemon
  // ------------------------------------------------------------------------------
  void start_daemon();
  void on(const rack::Event& event);
  void carry_out(const rack::Effect& effect);
  void plan_way(const rack::PlanWay& what);
  void hear(VirtualLine& line);
  void kill_daemon();
  // When the core wants to be woken, by a clock that only runs.
  std::optional<Moment> core_due() const;
  rack::RequestId ask(Ask ask);
  VirtualLine* line_of(const plan::LineName& name);

  // ---- the script
  // ------------------------------------------------------------------------------
  void perform(const Action& action);
  void perform(const AskChange& action);
  void perform(const AskRoutes& action);
  template <class Event>
  void ask_about_drift(Ask::Kind kind, const plan::NodeName& node, bool waiver);
  void perform(const AskAdopt& action);
  void perform(const AskReapply& action);
  void perform(const AskRestore& action);
  void perform(const AskSegment& action);
  void perform(const AskSwitch& action);
  void perform(const AskAbort& action);
  void perform(const AskArm& action);
  void perform(const AskDisarm& action);
  void perform(const AskMessage& action);
  void perform(const AskLock& action);
  void perform(const AskLocate& action);
  void perform(const AskStore& action);
  void perform(const AskDiscover& action);
  void perform(const AskTakeOver& action);
  void perform(const AskAcknowledge& action);
  void perform(const AskShelve& action);
  void perform(const Reload& action);
  void perform(const TurnKnob& action);
  void perform(const TurnSocket& action);
  void perform(const Short& action);
  void perform(const Cable& action);
  void perform(const Supply& action);
  void perform(const Reboot& action);
  void perform(const Silence& action);
  void perform(const Refuse& action);
  void perform(const Slow& action);
  void perform(const Lie& action);
  void perform(const Move& action);
  void perform(const Rival& action);
  void perform(const Faults& action);
  void perform(const Plug& action);
  void perform(const Crash& action);
  void perform(const StepClock& action);
  void perform(const Disk& action);
  // Everything that is out of order is put right.
  void put_right();
  // Null: there is no such node in this show, and nothing is done.
  const TrueNode* touch(const plan::NodeName& name);
  // The same, of a matrix, and whatever lives on its supplies.
  const TrueNode* touch_unit(const plan::NodeName& name);
  // What somebody asks for, behind the present revision by so many.
  std::optional<std::uint64_t> revision_behind(const plan::NodeName& node,
                                               std::optional<int> behind);

  // ---- the checks
  // ------------------------------------------------------------------------------
  void complain(Complaint complaint);
  void check_respond(const rack::Respond& respond);
  void check_snapshot();
  void check_switch_sends(const rack::Send& send);
  void check_idle();
  void check_nodes_after_wires();
  // It has started anew, or has lost its supply.
  void note_supply(const TrueNode& node);
  void check_whose_nodes(const rack::Snapshot& now);
  void check_end();

  // ---- what is broken on purpose
  // --------------------------------------------------------------- The event
  // as the core is to see it; nothing: not at all.
  std::optional<rack::Event> falsified(const rack::Event& event);
  // The way as the core is to be given it: another than was planned, and looked at.
  rack::Way deceived(rack::Way way) const;
  static rack::Way reversed(rack::Way way);
  static rack::Way supply_cut_early(rack::Way way);
  void be_moody();

  // Luck that belongs to this moment: 0 to below - 1 µs.
  Micros luck_now(std::uint64_t below) const;
  template <class Text>
  void say(Text&& text) {
    if (trace_ != nullptr) trace_->say(clock_.since_start(), text());
  }

  Show show_;
  Script script_;
  Mutation mutation_;
  Random mutant_;
  Trace* trace_;
  VirtualClock clock_;
  std::vector<std::unique_ptr<VirtualLine>> lines_;
  Truth truth_;
  StoreModel store_;
  std::size_t next_action_ = 0;
  int things_now_ = 0;  // that happened at this moment

  std::shared_ptr<const plan::RackPlan> files_;     // as they are on the disk
  std::shared_ptr<const plan::RackPlan> in_force_;  // as the core was given them last
  std::optional<rack::Core> core_;                  // nothing: the daemon does not run
  std::deque<rack::Event> inbox_;                   // posted to the core, not yet heard
  std::optional<Moment> starts_at_;
  // The wall clock was put, and the daemon has not looked at it yet.
  std::optional<Moment> notices_clock_at_;
  Micros clock_put_by_{0};
  // The way as it is planned.
  rack::Way way_for(const rack::WayQuestion& question) const;
  // Ways that are being computed beside the core, one after the other.
  struct Planning {
    Moment done_at;
    rack::PlanWay what;
  };
  std::deque<Planning> plannings_;
  std::optional<int> effects_left_;  // until it is killed
  Crash crash_;                      // how
  rack::RequestId last_request_ = 0;

  Asks asks_;
  Orders orders_;
  Promises promises_;
  Switches switches_;
  Passage passage_;
  Calm calm_;
  rack::SnapshotPtr looked_at_;  // the snapshot that was checked last
  Debts debts_;
  // When a rival spoke last, and when a daemon was killed that had spoken under an epoch that no
  // disk has: only then may the next one take nodes for another's.
  std::optional<Moment> rival_spoke_;
  std::optional<Moment> spoke_unkept_;
  bool watched_before_ = false;  // the daemon before this one, when it was stopped
  Moment next_calm_look_;
  RunEnd end_;
};

}  // namespace catwalk::simulation
