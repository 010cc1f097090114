// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/values/verdict.hpp"

#include <algorithm>

namespace catwalk::rack {

bool Verdict::has(Severity severity) const {
  return std::ranges::find(findings, severity, &Finding::severity) != findings.end();
}

std::string in_words(const Verdict& verdict) {
  std::string text;
  for (const auto& finding : verdict.findings) {
    if (!text.empty()) text += '\n';
    text += name_of(finding.severity);
    text += ' ';
    text += name_of(finding.rule);
    text += ": " + finding.sentence;
  }
  return text;
}

}  // namespace catwalk::rack
