// SPDX-License-Identifier: Apache-2.0
#pragma once
// Spectra that were computed, kept until something in them changes: panels ask far more often, and
// all at once when a node has moved.

#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/rack/values/snapshot.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

// All that a spectrum is computed from. Equal keys, equal spectra.
struct SpectrumKey {
  std::shared_ptr<const plan::RackPlan> plan;
  plan::SegmentName segment;
  plan::SegmentName active;
  std::optional<plan::SegmentName> entered;             // while a switch moves nodes
  std::vector<std::optional<plan::Settings>> in_force;  // of the plan's nodes
  std::vector<bool> seen;
  friend bool operator==(const SpectrumKey&, const SpectrumKey&) = default;
};

// For one thread.
class Spectra {
 public:
  // The response that was computed for this key, at once or when it is there. False: nobody
  // computes it yet; whoever asked does, and says fill() or give_up().
  bool ask(const SpectrumKey& key, Respond respond);
  void fill(const SpectrumKey& key, const HttpResponse& response);
  // It is not computed after all: all who wait are told this.
  void give_up(const SpectrumKey& key, const HttpResponse& response);

 private:
  static constexpr std::size_t most_kept = 4;
  struct Kept {
    SpectrumKey key;
    std::optional<HttpResponse> response;
    std::vector<Respond> waiting;
  };
  std::deque<Kept>::iterator find(const SpectrumKey& key);
  std::deque<Kept> kept_;  // the newest last
};

}  // namespace catwalk::web
