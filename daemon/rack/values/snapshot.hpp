// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the panel side sees: the whole rack at one revision, never changed once published. Parts
// that did not change are shared with the snapshot before, so a pointer comparison finds what did.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/words.hpp"
#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/values/alarm.hpp"
#include "daemon/rack/values/carriers_at.hpp"
#include "daemon/rack/values/ids.hpp"
#include "daemon/rack/values/kept.hpp"
#include "daemon/rack/values/switch_view.hpp"
#include "daemon/rack/values/time.hpp"
#include "daemon/rack/values/verdict.hpp"
#include "protocol/whole.hpp"

namespace catwalk::rack {

enum class Link {
  unknown,  // never heard since start
  answering,
  silent,
  line_down,
};
constexpr auto words_of(Link) {
  using enum Link;
  return WordTable<Link, 4>{{{"unknown", unknown},
                             {"answering", answering},
                             {"silent", silent},
                             {"line-down", line_down}}};
}
using catwalk::name_of;

enum class Agreement {
  unknown,   // never read
  agreed,    // seen is wanted
  changing,  // a change is under way
  drifted,   // seen is not wanted, and nothing is under way
  not_ours,  // another controller has it: what is wanted here says nothing of it
};
constexpr auto words_of(Agreement) {
  using enum Agreement;
  return WordTable<Agreement, 5>{{{"unknown", unknown},
                                  {"agreed", agreed},
                                  {"changing", changing},
                                  {"drifted", drifted},
                                  {"not-ours", not_ours}}};
}

// Where a change stands. The last four are fates.
enum class ChangeStage {
  recording,
  staging,
  applying,
  reading_back,
  resting,  // what it goes by on its way is in force, and stays so for a while
  settled,
  failed,       // the node refused, or reads back something else; wanted was put back
  unreachable,  // the node did not answer; wanted was put back
  interrupted,  // the daemon stopped in the middle; waits for the node to be read
};
constexpr auto words_of(ChangeStage) {
  using enum ChangeStage;
  return WordTable<ChangeStage, 9>{{{"recording", recording},
                                    {"staging", staging},
                                    {"applying", applying},
                                    {"reading-back", reading_back},
                                    {"resting", resting},
                                    {"settled", settled},
                                    {"failed", failed},
                                    {"unreachable", unreachable},
                                    {"interrupted", interrupted}}};
}
constexpr bool is_fate(ChangeStage stage) {
  return stage == ChangeStage::settled || stage == ChangeStage::failed ||
         stage == ChangeStage::unreachable;
}

struct ChangeView {
  ChangeId id = 0;
  plan::NodeName node;
  ChangeStage stage = ChangeStage::recording;
  std::string who;
  std::string why;
  plan::NodeSettings before;
  plan::NodeSettings after;
  std::string reason;  // why it failed
  TimePoint requested;
  std::optional<TimePoint> ended;
  friend bool operator==(const ChangeView&, const ChangeView&) = default;
};

// What a node says beside its settings.
struct Told {
  Told() = default;
  // What either kind of reading says is told.
  Told(const protocol::AnyReading& reading);  // NOLINT(google-explicit-constructor)
  Told(const protocol::Reading& reading) : Told{protocol::AnyReading{reading}} {}  // NOLINT
  protocol::Epoch epoch;
  protocol::Telemetry telemetry;
  std::vector<protocol::InputMeasured> inputs = {};  // of a matrix
  friend bool operator==(const Told&, const Told&) = default;
};

// Settings and telemetry as last read back, and when.
struct Seen {
  plan::NodeSettings settings;
  Told reading;
  TimePoint at;
  friend bool operator==(const Seen&, const Seen&) = default;
};

struct NodeView {
  std::uint64_t revision = 0;  // of the snapshot in which this view is new
  plan::NodeName name;
  protocol::NodeUid uid;
  plan::LineName line;
  std::shared_ptr<const plan::Datasheet> datasheet;            // null: it is a matrix …
  std::shared_ptr<const plan::MatrixSheet> matrix_sheet = {};  // … and has this one
  std::string hangs;
  plan::OnReturn on_return = plan::OnReturn::hold;
  bool simulated = false;
  std::vector<plan::ServedBranch> serves;       // where its chain ends
  std::optional<plan::InputOf> fed_by = {};     // where its cable ends, if that is at a matrix
  std::optional<plan::GainLimits> gain_limits;  // its own, or the rack's
  std::optional<Wanted> wanted;                 // absent until the node has been met once
  std::optional<Seen> seen;
  Link link = Link::unknown;
  // It was told to apply something and its answer never came: it has what was seen last, or the
  // other.
  bool uncertain = false;
  bool held = false;  // another controller speaks to it, while the rack is ours
  // What may be in force: before and after a change that is under way, what one left behind whose
  // end nobody knows, and last what was seen; wanted, before it was read. Without supply it is
  // passive.
  std::vector<plan::NodeSettings> possible;
  Agreement agreement = Agreement::unknown;
  std::optional<protocol::Identity> identity;
  std::optional<ChangeView> change;  // under way
  Verdict standing;                  // on what is in force, in the active segment
  // What the active segment has for it, on top of what is wanted; absent: it has nothing for it, or
  // nothing that the node can be set to.
  std::optional<plan::NodeSettings> planned;
  // Of the active segment. The other two are of what was seen, and absent before it was read.
  CarrierNames own;
  std::optional<CarrierNames> outside;
  std::optional<CarrierNames> let_in;
  friend bool operator==(const NodeView&, const NodeView&) = default;

  const std::string& type() const { return datasheet ? datasheet->type : matrix_sheet->type; }
};
using NodeViewPtr = std::shared_ptr<const NodeView>;

struct LineView {
  plan::LineName name;
  bool up = false;
  std::string reason;  // why it is down
  bool searching = false;
  struct Discovery {
    protocol::NodeUid uid;
    protocol::Address address;
    std::optional<plan::NodeName> node;  // absent: not in the rack file
    std::string type = {};               // as it says; empty: not known
    std::uint16_t firmware = 0;          // major in the high byte, minor in the low
    std::string endpoint = {};           // empty on a serial line
    std::string doubt = {};              // a sentence, with what to do; empty: none
    friend bool operator==(const Discovery&, const Discovery&) = default;
  };
  std::vector<Discovery> discovered;  // of the last search
  std::string trouble;                // of the last search; empty: it was complete
  // It is up as far as its driver knows, and none of its nodes answers: as good as down.
  bool unheard = false;
  friend bool operator==(const LineView&, const LineView&) = default;
};

// Whether this daemon controls the nodes.
enum class Control {
  ours,
  asking,    // it has just started, and asks them whom they obey
  watching,  // another controller speaks to them: nothing is moved from here
};
// "ours", "asking", "watching"
constexpr auto words_of(Control) {
  using enum Control;
  return WordTable<Control, 3>{{{"ours", ours}, {"asking", asking}, {"watching", watching}}};
}
struct NoControl {
  Outcome outcome;
  std::string sentence;
};
// Why nothing can be moved from here; nothing: it can.
std::optional<NoControl> no_control(Control control, const std::string& watching_because);

struct Snapshot;
// Of a node of which nothing is wanted: a sentence that goes on after a colon.
std::string why_nothing_is_wanted(const Snapshot& snapshot, const NodeView& node);

// What holds for the whole rack.
struct RackFacts {
  std::shared_ptr<const plan::RackPlan> plan;
  plan::SegmentName segment;
  protocol::Epoch epoch;
  protocol::OurEpochs spoken;  // those that nodes were spoken to under
  Control control = Control::ours;
  std::string watching_because;          // a sentence, while it only watches
  std::optional<TimePoint> other_heard;  // when another controller spoke last, if that is known
  std::optional<Lock> lock;
  OrderView order;
  friend bool operator==(const RackFacts&, const RackFacts&) = default;

  const plan::Segment& active() const;
};

struct Snapshot : RackFacts {
  std::uint64_t revision = 0;
  TimePoint at;
  std::vector<NodeViewPtr> nodes;     // amplifiers, in the order of the rack file
  std::vector<NodeViewPtr> matrices;  // those that are set from here, likewise
  std::shared_ptr<const std::vector<LineView>> lines;
  std::shared_ptr<const std::vector<Alarm>> alarms;
  std::shared_ptr<const std::vector<CrewTick>> ticks;
  std::shared_ptr<const std::vector<ChangeView>>
      changes;              // the latest, ended ones too; newest last
  SwitchViewPtr switching;  // under way, or the last one; null: none since the start

  // Of an amplifier.
  NodeViewPtr find(const plan::NodeName& name) const;
  NodeViewPtr find_matrix(const plan::NodeName& name) const;
  // What going to this segment leads to: plan::RunningOrder::leads_to(). Nothing: no cue.
  std::optional<plan::CueName> cue_to(const plan::SegmentName& segment) const;
  // Going there, by this cue or by none, is refused until the rack is unlocked or the cue is armed.
  bool is_held_by_lock(const std::optional<plan::CueName>& cue) const;
};
using SnapshotPtr = std::shared_ptr<const Snapshot>;

}  // namespace catwalk::rack
