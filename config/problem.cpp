// SPDX-License-Identifier: Apache-2.0
#include "config/problem.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>

#include "daemon/base/text.hpp"

namespace catwalk::config {
namespace {

constexpr std::size_t longest_quote = 80;
constexpr std::size_t most_listed = 12;

// Never in the middle of a UTF-8 sequence.
std::string_view cut(std::string_view text, std::size_t longest) {
  if (text.size() <= longest) return text;
  while (longest > 0 && (static_cast<unsigned char>(text[longest]) & 0xC0) == 0x80) --longest;
  return text.substr(0, longest);
}

// Insertions, deletions, replacements and swaps of neighbours that lead from a to b (optimal string
// alignment). Swaps count once, since they are how fingers go wrong.
std::size_t edits_between(std::string_view a, std::string_view b) {
  const std::size_t width = b.size() + 1;
  std::vector<std::size_t> edits((a.size() + 1) * width);
  const auto at = [&](std::size_t i, std::size_t j) -> std::size_t& {
    return edits[i * width + j];
  };
  for (std::size_t i = 0; i <= a.size(); ++i) at(i, 0) = i;
  for (std::size_t j = 0; j <= b.size(); ++j) at(0, j) = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = at(i - 1, j - 1) + (a[i - 1] == b[j - 1] ? 0 : 1);
      at(i, j) = std::min({replaced, at(i - 1, j) + 1, at(i, j - 1) + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        at(i, j) = std::min(at(i, j), at(i - 2, j - 2) + 1);
    }
  }
  return at(a.size(), b.size());
}

}  // namespace

void add(Problems& problems, Problem problem) {
  if (problems.size() >= most_problems) return;
  problems.push_back(std::move(problem));
  if (problems.size() + 1 < most_problems) return;
  Problem rest{.file = problems.back().file,
               .line = 0,
               .pointer = {},
               .value = {},
               .message = "there are more problems than these",
               .allowed = {}};
  problems.push_back(std::move(rest));
}

std::string to_text(const Problem& problem) {
  std::string text = problem.file;
  if (problem.line > 0) text += ":" + std::to_string(problem.line);
  text += ": ";
  if (!problem.pointer.empty()) text += problem.pointer + ": ";
  if (!problem.value.empty()) text += problem.value + " ";
  text += problem.message;
  if (!problem.allowed.empty()) text += "; allowed: " + problem.allowed;
  return with_escapes(text);
}

void print(std::ostream& out, const Problems& problems) {
  for (const Problem& problem : problems) out << to_text(problem) << '\n';
}

std::string readable(std::string_view text, std::size_t longest) {
  const std::string_view shown = cut(text, longest);
  // The JSON writer replaces what is not UTF-8; reading its text back undoes the escapes.
  const nlohmann::json replaced =
      nlohmann::json::parse(nlohmann::json(std::string{shown})
                                .dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
  return replaced.get<std::string>() + (shown.size() < text.size() ? "…" : "");
}

std::string in_quotes(std::string_view text) {
  return nlohmann::json(readable(text, longest_quote)).dump();
}

std::string listed(const std::vector<std::string>& names, std::string_view conjunction) {
  std::string text;
  const std::size_t shown = std::min(names.size(), most_listed);
  for (std::size_t i = 0; i < shown; ++i) {
    if (i > 0) text += i + 1 == names.size() ? " " + std::string{conjunction} + " " : ", ";
    text += in_quotes(names[i]);
  }
  if (shown < names.size()) text += " and " + std::to_string(names.size() - shown) + " more";
  return text.empty() ? "nothing yet" : text;
}

std::string nearest(std::string_view written, const std::vector<std::string>& candidates) {
  constexpr std::size_t longest_compared = 64;
  if (written.size() > longest_compared) return {};
  std::string best;
  std::size_t fewest = std::max<std::size_t>(2, written.size() / 3) + 1;
  for (const std::string& candidate : candidates) {
    if (candidate.size() > longest_compared) continue;
    const std::size_t edits = edits_between(written, candidate);
    // With half of its letters wrong it is another word.
    if (edits < fewest && 2 * edits < candidate.size()) {
      fewest = edits;
      best = candidate;
    }
  }
  return best;
}

}  // namespace catwalk::config
