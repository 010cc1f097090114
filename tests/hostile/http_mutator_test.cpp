// SPDX-License-Identifier: Apache-2.0
// Mutated requests by the ten thousand, many on each connection. For longer runs by hand:
//
//   CATWALK_REQUESTS=10000000 CATWALK_SEED=7 build/debug/tests/hostile/http_mutator_test
#include <doctest/doctest.h>

#include <chrono>
#include <cstdlib>
#include <iostream>
#include <map>

#include "tests/end_to_end/guarded_rack.hpp"
#include "tests/hostile/exchange.hpp"
#include "tests/hostile/mutator.hpp"

using namespace catwalk::test;

namespace {

std::uint64_t chosen(const char* name, std::uint64_t otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::stoull(text);
}

struct Figures {
  std::uint64_t sent = 0, answered = 0, connections = 0;
  std::map<int, std::uint64_t> by_status;
};

constexpr std::size_t at_once = 128;  // requests on one connection

void burst(const GuardedRack& rack, Mutator& mutator, Figures& figures) {
  std::string bytes;
  for (std::size_t i = 1; i < at_once; ++i) bytes += mutator.next();
  bytes += mutator.broken();
  const auto got = converse(rack.port, bytes);
  CAPTURE(figures.sent);
  figures.sent += at_once;
  ++figures.connections;
  const auto answers = read_answers(got.bytes);
  // A WebSocket goes on after its upgrade, and is cut off by us.
  const bool upgraded = !answers.all.empty() && answers.all.back().status == 101;
  REQUIRE((got.ended || upgraded));
  REQUIRE(answers.fault == "");
  for (const auto& one : answers.all) {
    ++figures.answered;
    ++figures.by_status[one.status];
    CAPTURE(one.body);
    REQUIRE(one.status != 500);
    if (one.status < 400 || one.body.empty()) continue;
    REQUIRE(one.type == "application/problem+json");
    REQUIRE(nlohmann::json::accept(one.body));
  }
}

}  // namespace

TEST_CASE("whatever is sent, answers are HTTP, the next good request is served, and nothing acts") {
  const auto seed = chosen("CATWALK_SEED", 1);
  const auto count = chosen("CATWALK_REQUESTS", 20'000);
  CAPTURE(seed);
  const GuardedRack rack;
  REQUIRE(rack.has_met_all());
  // The token of who only looks gets further than none, and may not act either.
  Mutator mutator{seed, {GuardedRack::token("watch"), "token of nobody"}};
  const auto before = rack.state();
  Figures figures;
  const auto began = std::chrono::steady_clock::now();
  while (figures.sent < count) {
    burst(rack, mutator, figures);
    REQUIRE(rack.serves());
    if (figures.connections % 64 == 0) REQUIRE(rack.state() == before);
  }
  CHECK(rack.state() == before);
  CHECK(rack.rig.daemon->running());
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began;
  CHECK(figures.answered > figures.sent / 8);
  std::cout << figures.sent << " requests (seed " << seed << "), " << figures.answered
            << " answers on " << figures.connections << " connections in " << took.count() << " s:";
  for (const auto& [status, times] : figures.by_status) std::cout << ' ' << status << '=' << times;
  std::cout << '\n';
}
