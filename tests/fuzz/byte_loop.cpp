// SPDX-License-Identifier: Apache-2.0
// A short, seeded run of one fuzz target for every compiler, and the writer of its first corpus.
//
//   protocol_fuzz_loop packet 20000 1        so many inputs, with this seed
//   protocol_fuzz_loop packet corpus DIR     the valid inputs as files

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>

#include "drivers/line/faults.hpp"
#include "tests/fuzz/byte_targets.hpp"

namespace {

using catwalk::drivers::Dice;
using catwalk::protocol::Bytes;

void mutate(Bytes& bytes, const std::vector<Bytes>& seeds, Dice& dice) {
  const std::size_t size = bytes.size();
  const auto somewhere = [&](std::size_t last) {
    return bytes.begin() + static_cast<std::ptrdiff_t>(dice.below(last + 1));
  };
  const auto byte = static_cast<std::uint8_t>(dice.below(256));
  switch (dice.below(7)) {
    case 0:
      if (size > 0) *somewhere(size - 1) ^= static_cast<std::uint8_t>(1U << dice.below(8));
      break;
    case 1:
      if (size > 0) *somewhere(size - 1) = byte;
      break;
    case 2:
      if (size > 0) *somewhere(size - 1) = dice.below(2) == 0 ? 0x00 : 0xFF;
      break;
    case 3:
      bytes.insert(somewhere(size), byte);
      break;
    case 4:
      if (size > 0) bytes.erase(somewhere(size - 1));
      break;
    case 5:
      bytes.resize(dice.below(size + 1));
      break;
    default: {
      const Bytes& other = seeds[dice.below(seeds.size())];
      const std::size_t from = dice.below(other.size() + 1);
      bytes.insert(somewhere(size), other.begin() + static_cast<std::ptrdiff_t>(from), other.end());
      if (bytes.size() > 4096) bytes.resize(4096);
    }
  }
}

}  // namespace

int main(int count, char** words) {
  constexpr int used_wrongly = 2;
  if (count != 4) return used_wrongly;
  const std::string name = words[1];
  for (const auto& target : catwalk::fuzz::targets()) {
    if (target.name != name) continue;
    const auto seeds = target.seeds();
    if (words[2] == std::string{"corpus"}) {
      for (std::size_t i = 0; i < seeds.size(); ++i) {
        std::ofstream file{std::string{words[3]} + "/" + name + "-" + std::to_string(i)};
        file.write(reinterpret_cast<const char*>(seeds[i].data()),
                   static_cast<std::streamsize>(seeds[i].size()));
        if (!file) return 1;
      }
      return 0;
    }
    for (const Bytes& seed : seeds) target.run(seed);
    const long rounds = std::atol(words[2]);
    Dice dice{static_cast<std::uint64_t>(std::atol(words[3]))};
    for (long i = 0; i < rounds; ++i) {
      Bytes input = seeds[dice.below(seeds.size())];
      for (std::uint64_t n = 1 + dice.below(4); n > 0; --n) mutate(input, seeds, dice);
      target.run(input);
    }
    std::printf("%ld executions\n", rounds);
    return 0;
  }
  return used_wrongly;
}
