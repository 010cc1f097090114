// SPDX-License-Identifier: Apache-2.0
// The search against a bus of bare uids, where answers collide; and the mix it branches on.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "drivers/line/faults.hpp"
#include "protocol/discovery.hpp"

using namespace catwalk;
using namespace catwalk::protocol;

namespace {

struct Line {
  std::vector<NodeUid> nodes;
  std::set<NodeUid> unmutable;
  double lost = 0;  // chance that an answer is not heard
  drivers::Dice dice{1};

  std::size_t search(Bisection& search) {
    std::set<NodeUid> muted;
    std::size_t steps = 0;
    while (!std::holds_alternative<Bisection::Finished>(search.next())) {
      ++steps;
      REQUIRE(steps < 3 * Bisection::most_questions);
      const auto step = search.next();
      if (std::holds_alternative<Unmute>(step)) {
        muted.clear();
        search.done();
      } else if (const auto* mute = std::get_if<Mute>(&step)) {
        if (!unmutable.contains(mute->uid)) muted.insert(mute->uid);
        search.done();
      } else {
        answer(search, std::get<Find>(step), muted);
      }
    }
    return steps;
  }

  void answer(Bisection& search, const Find& find, const std::set<NodeUid>& muted) {
    std::vector<NodeUid> answers;
    for (const NodeUid uid : nodes) {
      if (!muted.contains(uid) && matches(find, uid) && !dice.chance(lost)) answers.push_back(uid);
    }
    if (answers.empty()) {
      search.silence();
    } else if (answers.size() == 1) {
      search.found(Found{answers.front(), Address::unassigned()});
    } else {
      search.collision();
    }
  }
};

std::set<NodeUid> uids_of(const Bisection& search) {
  std::set<NodeUid> out;
  for (const Found& found : search.nodes()) out.insert(found.uid);
  return out;
}

std::string trouble_of(const Bisection& search) {
  return std::get<Bisection::Finished>(search.next()).trouble;
}

std::vector<NodeUid> in_a_row(std::size_t count) {
  std::vector<NodeUid> nodes;
  for (std::size_t i = 0; i < count; ++i) {
    nodes.emplace_back(std::uint16_t{0x7a10}, static_cast<std::uint32_t>(0x1000 + i));
  }
  return nodes;
}

std::vector<NodeUid> at_random(std::size_t count) {
  drivers::Dice dice{77};
  std::set<NodeUid> nodes;
  while (nodes.size() < count) nodes.insert(NodeUid::from_bits(dice.below(NodeUid::mask)));
  return {nodes.begin(), nodes.end()};
}

}  // namespace

TEST_CASE("the search finds every node, and asks no more than five times a node") {
  for (const std::size_t count : {0U, 1U, 2U, 32U, 200U}) {
    for (const bool row : {true, false}) {
      Line line;
      line.nodes = row ? in_a_row(count) : at_random(count);
      Bisection search;
      line.search(search);
      CAPTURE(count);
      CAPTURE(row);
      CHECK(trouble_of(search) == "");
      CHECK(uids_of(search) == std::set<NodeUid>(line.nodes.begin(), line.nodes.end()));
      MESSAGE(count << (row ? " nodes in a row: " : " random nodes: ") << search.questions()
                    << " questions");
      // A binary trie of n random leaves has about 1.44 n inner branches and as many empty ones
      // again, and each node is asked past once: below 5 n, and a few for the root.
      CHECK(search.questions() <= 5 * count + 8);
    }
  }
}

TEST_CASE("an answer that gets lost is asked for again at the end") {
  int complete = 0;
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    Line line;
    line.nodes = in_a_row(32);
    line.lost = 0.05;
    line.dice = drivers::Dice{seed};
    Bisection search;
    line.search(search);
    if (uids_of(search).size() == 32) ++complete;
  }
  // A node is missed only if its answer is lost on the way down and in both rounds at the end.
  CHECK(complete >= 98);
}

TEST_CASE("two nodes with the same uid end in a sentence, and the others are found") {
  Line line;
  line.nodes = in_a_row(10);
  line.nodes.push_back(line.nodes.front());
  Bisection search;
  line.search(search);
  CHECK(trouble_of(search).find(line.nodes.front().text()) != std::string::npos);
  CHECK(uids_of(search).size() == 9);
}

TEST_CASE("a node that cannot be muted ends in a sentence, and the others are found") {
  Line line;
  line.nodes = in_a_row(10);
  line.unmutable = {line.nodes[4]};
  Bisection search;
  line.search(search);
  CHECK(trouble_of(search) == "node " + line.nodes[4].text() + " cannot be muted");
  CHECK(uids_of(search).size() == 10);
}

TEST_CASE("a line that only ever makes noise ends the search") {
  Bisection search;
  std::size_t steps = 0;
  search.done();
  while (!std::holds_alternative<Bisection::Finished>(search.next())) {
    REQUIRE(++steps <= Bisection::most_questions + 1);
    search.collision();
  }
  CHECK(trouble_of(search) != "");
  CHECK(search.nodes().empty());
}

TEST_CASE("an answer from outside the branch that was asked counts as a collision") {
  Bisection search;
  search.done();
  search.collision();
  const auto asked = std::get<Find>(search.next());
  const NodeUid outside = unmixed(~asked.prefix & NodeUid::mask);
  REQUIRE_FALSE(matches(asked, outside));
  search.found(Found{outside, Address::unassigned()});
  CHECK(std::get<Find>(search.next()).prefix_bits == asked.prefix_bits + 1);
  CHECK(search.nodes().empty());
}

TEST_CASE("the mix is a permutation: it is undone for every uid tried") {
  drivers::Dice dice{5};
  for (int i = 0; i < 100'000; ++i) {
    const auto uid = NodeUid::from_bits(dice.below(NodeUid::mask));
    REQUIRE(unmixed(mixed(uid)) == uid);
    REQUIRE(mixed(uid) <= NodeUid::mask);
  }
}
