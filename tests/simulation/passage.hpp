// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a way promises, looked at in the nodes themselves while a switch walks it: who hears whom,
// and who is fed, reckoned anew from what every amplifier and every matrix truly has at each
// moment. No rule, no route and no level of the rack's own is asked.

#include <deque>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/rack/values/switch_view.hpp"
#include "daemon/rack/way/way.hpp"
#include "tests/simulation/truth.hpp"
#include "tests/simulation/violation.hpp"

namespace catwalk::simulation {

class Passage {
 public:
  // A way as the core is given it: a switch may walk it, now or later.
  void planned(const rack::WayQuestion& question, const rack::Way& way);
  // A node is told its settings in the first step of a way. If that is one of those, clean, and the
  // nodes stand where it begins, it is watched from now on.
  void begins(const rack::SwitchView& view, const plan::NodeName& node,
              const plan::NodeSettings& to, const Truth& truth, Moment now);
  // A hand, a supply or a restart was at some node: what is promised of the way is promised no
  // more.
  void meddled() { watch_.reset(); }
  // The switch is over, or the daemon.
  void over() { watch_.reset(); }

  // "No receiver loses its last antenna on the way": who hears a carrier at its beginning and at
  // its end hears it at every moment. "No antenna in use loses its supply on the way": in use is
  // one on a branch of a receiver that hears somebody in either segment; but one that is so without
  // supply at an end. Precondition: some node has other settings than when it was looked at last.
  Complaint look(const Truth& truth) const;
  std::uint64_t watched() const { return watched_; }

 private:
  // How all devices stand, in the order of the plan.
  struct Standing {
    std::vector<plan::NodeSettings> settings;
    std::vector<bool> powered;
  };
  struct Pair {
    const plan::Receiver* receiver = nullptr;
    rf::Band band;
    std::string carrier;
  };
  struct Watch {
    std::shared_ptr<const plan::RackPlan> plan;  // described
    std::vector<bool> unsure;                    // relied on for nothing
    std::vector<bool> cable_whole;               // what its input feeds gets there
    std::vector<bool> may_be_unfed;              // is in use without supply at an end
    std::vector<Pair> pairs;                     // of which somebody hears both ends
    std::vector<const plan::Receiver*> at_work;  // have somebody to hear in either segment
  };
  struct Planned {
    rack::WayQuestion question;
    rack::Way way;
  };

  const Planned* walked_by(const rack::SwitchView& view, const plan::NodeName& node,
                           const plan::NodeSettings& to) const;
  static Standing standing(const Truth& truth);
  static std::optional<Standing> end_of(const Watch& watch, const Planned& planned,
                                        const Standing& start);
  static bool is_fed(const Watch& watch, const Standing& now, std::size_t node);
  static std::vector<std::size_t> antennas_of(const Watch& watch, const Standing& now,
                                              const plan::Receiver& receiver);
  static bool is_in_use(const Watch& watch, const Standing& now, std::size_t node);
  static bool hears(const Watch& watch, const Standing& now, const Pair& pair);
  static std::vector<const plan::Receiver*> listeners(const plan::RackPlan& plan,
                                                      const rack::WayQuestion& question);
  static std::vector<Pair> live_pairs(const plan::RackPlan& plan,
                                      const rack::WayQuestion& question);

  std::deque<Planned> planned_;  // the latest
  std::optional<Watch> watch_;
  std::uint64_t watched_ = 0;
};

}  // namespace catwalk::simulation
