// SPDX-License-Identifier: Apache-2.0
// Polling of 32 nodes on one serial line at 115200 baud, against the time that the bytes need on
// the wire (10 bits each: start, eight, stop).
//
// In virtual time, since a pseudo-terminal has no baud rate: the engine that drives a real port,
// its frames, and emulated nodes that take 0.3 ms to turn round; the bytes take the time that they
// take at 115200. What the processor needs beside it is measured in real time and told as well: on
// a real port the wire waits for it.

#include "tests/bench/bench.hpp"
#include "tests/support/drivers.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

constexpr std::size_t nodes = 32;
constexpr double baud = 115'200;

std::uint64_t bytes_of(const Bench& bench) {
  return bench.bus.counters().bytes_sent + bench.bus.counters().bytes_received;
}

int measure(const BenchOptions& options) {
  auto config = line_of(nodes);
  config.baud = static_cast<std::uint32_t>(baud);
  config.reading_age = drivers::Micros{0};  // round and round without a pause
  Bench bench{config};
  // Every node has been met and read.
  if (!bench.run_until([&] { return bench.count<drivers::NodeRead>() >= 2 * nodes; },
                       std::chrono::seconds{10}))
    return 1;

  std::vector<double> rounds;
  std::vector<double> wires;
  std::vector<double> processor;
  for (int round = 0; round < options.rounds(200, 3); ++round) {
    const auto begin = bench.now();
    const auto bytes = bytes_of(bench);
    bench.log.clear();
    const auto real = time_of([&] {
      bench.run_until([&] { return bench.count<drivers::NodeRead>() == nodes; },
                      std::chrono::seconds{10});
    });
    rounds.push_back(1e3 * Seconds{bench.now() - begin}.count());
    wires.push_back(1e3 * static_cast<double>(bytes_of(bench) - bytes) * 10 / baud);
    processor.push_back(1e6 * real.count() / nodes);
  }
  const int status =
      judge("one round of polling 32 nodes at 115200 baud, virtual time", {"round", rounds},
            {"its bytes on the wire", wires}, 1.25, "ms", options);
  tell("processor time an exchange, engine and node", median(processor), "us");
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
