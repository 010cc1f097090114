// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/spectra.hpp"

#include <algorithm>
#include <utility>

namespace catwalk::web {

std::deque<Spectra::Kept>::iterator Spectra::find(const SpectrumKey& key) {
  return std::ranges::find(kept_, key, &Kept::key);
}

bool Spectra::ask(const SpectrumKey& key, Respond respond) {
  const auto found = find(key);
  if (found == kept_.end()) {
    if (kept_.size() >= most_kept) {
      // One that is being computed stays: somebody waits for it.
      const auto oldest =
          std::ranges::find_if(kept_, [](const Kept& kept) { return kept.response.has_value(); });
      if (oldest != kept_.end()) kept_.erase(oldest);
    }
    kept_.push_back({key, std::nullopt, {}});
    kept_.back().waiting.push_back(std::move(respond));
    return false;
  }
  if (found->response)
    respond(*found->response);
  else
    found->waiting.push_back(std::move(respond));
  return true;
}

void Spectra::fill(const SpectrumKey& key, const HttpResponse& response) {
  const auto found = find(key);
  if (found == kept_.end()) return;
  found->response = response;
  for (const auto& respond : std::exchange(found->waiting, {})) respond(response);
}

void Spectra::give_up(const SpectrumKey& key, const HttpResponse& response) {
  const auto found = find(key);
  if (found == kept_.end()) return;
  const auto waiting = std::move(found->waiting);
  kept_.erase(found);
  for (const auto& respond : waiting) respond(response);
}

}  // namespace catwalk::web
