// SPDX-License-Identifier: Apache-2.0
#pragma once
// The result of checking: every finding, not the first, each with its numbers and a sentence.

#include <compare>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/plan/names.hpp"
#include "daemon/rack/values/rule.hpp"

namespace catwalk::rack {

// One figure behind a finding: {"low", 470.1, "MHz"}.
struct Number {
  std::string name;
  double value = 0.0;
  std::string unit;
  friend bool operator==(const Number&, const Number&) = default;
};

struct Finding {
  Rule rule = Rule::gain_range;
  Severity severity = Severity::note;
  plan::NodeName node;
  std::vector<std::string> concerns;  // names of carriers, lanes, receivers
  std::vector<Number> numbers;
  std::string sentence;  // what a technician would say
  friend bool operator==(const Finding&, const Finding&) = default;
};

struct Verdict {
  std::vector<Finding> findings;
  friend bool operator==(const Verdict&, const Verdict&) = default;

  bool refuses() const { return has(Severity::refuse); }
  // Nothing is refused, but a named person must say why to go on.
  bool needs_waiver() const { return !refuses() && has(Severity::caution); }
  bool has(Severity severity) const;
};
// What is broken, counted; notes do not count.
struct Count {
  int refusals = 0;
  int cautions = 0;
  friend auto operator<=>(const Count&, const Count&) = default;
  friend Count operator+(Count a, Count b) {
    return {a.refusals + b.refusals, a.cautions + b.cautions};
  }
  bool none() const { return refusals == 0 && cautions == 0; }
};

// As the journal has it: one finding a line.
std::string in_words(const Verdict& verdict);

}  // namespace catwalk::rack
