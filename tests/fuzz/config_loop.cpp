// SPDX-License-Identifier: Apache-2.0
// For every compiler: a bounded number of seeded mutations, and a number of executions at the end.
// Usage: config_fuzz_loop EXECUTIONS SEED FILE…, each file with the number of what it replaces
// before it: 0 rack, 1 show, 2 datasheet, 3 bands, 4 key, 5 cables. Example: 0:rack.json
// 1:show.json

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "tests/fuzz/config_target.hpp"

namespace {

using Random = std::mt19937_64;

std::size_t below(Random& random, std::size_t n) {
  return std::uniform_int_distribution<std::size_t>{0, n - 1}(random);
}

std::string seed_from(const std::string& argument) {
  std::ifstream file{argument.substr(2), std::ios::binary};
  if (argument.size() < 3 || argument[1] != ':' || !file.good()) {
    std::fprintf(stderr, "cannot read %s\n", argument.c_str());
    std::exit(2);
  }
  std::ostringstream text;
  text << static_cast<char>(argument[0] - '0') << file.rdbuf();
  return text.str();
}

// Bytes changed, pieces cut out, doubled or taken from another seed.
std::string mutated(const std::vector<std::string>& seeds, Random& random) {
  std::string text = seeds[below(random, seeds.size())];
  const std::size_t edits = 1 + below(random, 8);
  for (std::size_t i = 0; i < edits && text.size() > 1; ++i) {
    const std::size_t at = 1 + below(random, text.size() - 1);
    switch (below(random, 5)) {
      case 0:
        text[at] = static_cast<char>(below(random, 256));
        break;
      case 1:
        text.erase(at, 1 + below(random, 64));
        break;
      case 2:
        text.insert(at, text.substr(at, 1 + below(random, 64)));
        break;
      case 3: {
        const std::string& other = seeds[below(random, seeds.size())];
        text.insert(at, other.substr(below(random, other.size()), 1 + below(random, 64)));
        break;
      }
      default:
        text[at] = "{}[]\",:/*0-\\"[below(random, 12)];
    }
  }
  return text;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::fprintf(stderr, "usage: %s EXECUTIONS SEED NUMBER:FILE…\n", argv[0]);
    return 2;
  }
  const unsigned long executions = std::strtoul(argv[1], nullptr, 10);
  Random random{std::strtoull(argv[2], nullptr, 10)};
  std::vector<std::string> seeds;
  for (int i = 3; i < argc; ++i) seeds.push_back(seed_from(argv[i]));
  for (unsigned long i = 0; i < executions; ++i) {
    const std::string input = mutated(seeds, random);
    catwalk::config::load_one(reinterpret_cast<const std::uint8_t*>(input.data()), input.size());
  }
  std::printf("%lu executions\n", executions);
  return executions > 0 ? 0 : 2;
}
