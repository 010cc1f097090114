// SPDX-License-Identifier: Apache-2.0
#pragma once
// A program that computes what each line of its input asks for, so that other programs can compare:
// one line of numbers out for one line in, whose first word says what of.

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <iostream>
#include <map>
#include <sstream>
#include <string>
#include <utility>

#include "daemon/rf/out_of_range.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::test {

template <class T>
T read(std::istream& in) {
  T value{};
  in >> value;
  return value;
}

inline rf::Frequency read_frequency(std::istream& in) {
  return rf::Frequency::hertz(read<std::int64_t>(in));
}

template <class T>
T require(rf::Checked<T> made) {
  if (made) return *std::move(made);
  std::fprintf(stderr, "%s\n", made.error().message().c_str());
  std::exit(2);
}

// By the first word: reads the rest of the line, and prints its numbers.
using Probes = std::map<std::string, std::function<void(std::istream&)>>;

// What main() returns.
inline int answer_lines(const Probes& probes) {
  for (std::string line; std::getline(std::cin, line);) {
    std::istringstream in{line};
    const auto what = read<std::string>(in);
    const auto found = probes.find(what);
    if (found == probes.end()) {
      std::fprintf(stderr, "what is '%s'?\n", what.c_str());
      return 2;
    }
    found->second(in);
    std::printf("\n");
  }
  return 0;
}

}  // namespace catwalk::test
