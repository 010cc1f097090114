// SPDX-License-Identifier: Apache-2.0
// Both engines over wires that lose, double, spoil and delay: every command ends exactly once, what
// was answered Done is so, and no repeat acts a second time.
#include <doctest/doctest.h>

#include <map>

#include "drivers/bus/simulated_bus.hpp"
#include "tests/support/datagram_bench.hpp"
#include "tests/support/drivers.hpp"

using namespace catwalk;
using namespace catwalk::drivers;
using namespace std::chrono_literals;
using test::uid_of;

namespace {

// After each applied change a hand turns the knob. A repeat that acted again would turn it back.
template <class AnyBench>
void change_and_turn(AnyBench& bench, EmulatedNode& node, std::uint64_t seed) {
  CommandId id = 0;
  for (std::uint32_t ticket = 1; ticket <= 20; ++ticket) {
    CAPTURE(seed);
    CAPTURE(ticket);
    protocol::Settings wanted = node.settings();
    wanted.gain_cdb = static_cast<std::int16_t>(100 * (ticket % 10));
    const CommandId stage = ++id;
    bench.submit(stage, node.uid(), protocol::Stage{{1}, {ticket}, wanted});
    const CommandId apply = ++id;
    bench.submit(apply, node.uid(), protocol::Apply{{1}, {ticket}});
    const bool ended = bench.run_until([&] { return bench.ends(apply) == 1; }, 60s);
    REQUIRE(ended);
    const auto answer = bench.answer_to(apply);
    const bool done = answer && std::holds_alternative<protocol::Done>(*answer);
    if (done) {
      REQUIRE(node.settings().gain_cdb == wanted.gain_cdb);
    }
    protocol::Settings turned = node.settings();
    turned.gain_cdb = -700;
    REQUIRE_FALSE(node.turn(turned));
    bench.run_for(500ms);  // whatever is still on the way arrives
    // Done was believed, so nothing that is still on the way may act. Without it the apply may
    // come late, once.
    if (done) REQUIRE(node.settings().gain_cdb == -700);
    REQUIRE(bench.ends(stage) == 1);
    REQUIRE(bench.ends(apply) == 1);
  }
}

FaultRates bad_wire(std::uint64_t seed) {
  drivers::Dice dice{seed};
  return {.loss = 0.3 * dice.unit(),
          .corrupt = 0.2 * dice.unit(),
          .duplicate = 0.3 * dice.unit(),
          .delay_min = 0us,
          .delay_max = Micros{static_cast<std::int64_t>(dice.below(20'000))}};
}

}  // namespace

TEST_CASE("on a bad serial line no retry acts twice and every command ends once") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    auto config = test::line_of(3);
    config.faults = bad_wire(seed);
    config.seed = seed;
    config.tries = 6;
    test::Bench bench{config};
    bench.run_for(2s);
    change_and_turn(bench, *bench.bus.node(uid_of(1)), seed);
  }
}

TEST_CASE("over bad datagrams no retry acts twice and every command ends once") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    test::DatagramBench bench{3, bad_wire(seed), seed};
    bench.run_for(2s);
    change_and_turn(bench, *bench.nodes[1], seed);
  }
}

TEST_CASE("with a tenth of the frames lost nearly every change still gets through") {
  auto config = test::line_of(4);
  config.faults.loss = 0.05;  // each way
  test::Bench bench{config};
  bench.run_for(2s);
  int done = 0;
  for (CommandId id = 1; id <= 500; ++id) {
    bench.submit(id, uid_of(id % 4), protocol::Identify{});
    bench.run_until([&] { return bench.ends(id) == 1; }, 5s);
    if (bench.answer_to(id)) ++done;
  }
  // Three tries of which each fails with 0.0975: 0.09 % are lost.
  CHECK(done >= 496);
}
