// SPDX-License-Identifier: Apache-2.0
#pragma once
// The "segments" of a show, each written in full or as differences from an earlier one.
//
// Differences are taken in this order: what "without" names goes away; lanes and carriers replace
// those of the same name, or are added; settings are merged member by member. Title and policy are
// each segment's own.

#include <string>
#include <vector>

#include "config/rack_facts.hpp"
#include "config/reader.hpp"
#include "daemon/plan/segment.hpp"

namespace catwalk::config {

constexpr std::size_t most_segments = 64;
// Of all segments together, with what they have in common counted in each: lanes, carriers with
// their receivers and isolations, settings. Bounds the memory that a small file can ask for.
constexpr std::size_t most_filled_in = 1'000'000;

class SegmentSection {
 public:
  // Reads the segments as far as they can be read; what is wrong with the rest has been reported.
  SegmentSection(const Cursor& at, const RackFacts& rack);

  const std::vector<std::string>& names() const { return names_; }
  // A segment has no name of its own, so that a name not found here may yet have been meant for it.
  bool incomplete() const { return incomplete_; }

  std::vector<plan::Segment> take() &&;

 private:
  struct Read {
    plan::Segment segment;
    // Something in it, or in what it differs from, has been reported: what is missing in it may
    // only be missing for that reason.
    bool faulty = false;
  };

  Read read(const Cursor& at);
  Read earlier(const Cursor& at) const;
  void add(Read read, const Cursor& at_name);

  const RackFacts& rack_;
  std::vector<Read> read_;  // those that have a name of their own
  std::vector<std::string> names_;
  bool incomplete_ = false;
  Once<std::string> once_;
  std::size_t filled_in_ = 0;
};

}  // namespace catwalk::config
