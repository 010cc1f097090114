// SPDX-License-Identifier: Apache-2.0
#pragma once
// The trace of a run: a line for everything that happens, as text or only as
// its fingerprint.

#include <cstdint>
#include <iosfwd>
#include <ostream>
#include <string>

#include "tests/simulation/action.hpp"
#include "tests/simulation/random.hpp"

namespace catwalk::simulation {

class Trace {
 public:
  // Into the fingerprint, and to `out` if there is one.
  explicit Trace(std::ostream* out = nullptr) : out_{out} {}

  void say(Micros at, const std::string& what) {
    const auto line = words(at) + ' ' + what + '\n';
    print_.add(line);
    ++lines_;
    if (out_ != nullptr) *out_ << line;
  }
  std::uint64_t fingerprint() const { return print_.value(); }
  std::uint64_t lines() const { return lines_; }

 private:
  std::ostream* out_;
  Fingerprint print_;
  std::uint64_t lines_ = 0;
};

}  // namespace catwalk::simulation
