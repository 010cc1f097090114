// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/switched_words.hpp"

namespace catwalk::web {
namespace {

using rack::Progress;
using rack::Whereabouts;

std::string_view where_in_words(Whereabouts where, bool restores) {
  switch (where) {
    case Whereabouts::before:
      return "as before";
    case Whereabouts::between:
      return "on intermediate settings";
    case Whereabouts::target:
      return restores ? "as wanted" : "as planned";
    case Whereabouts::elsewhere:
      return "on settings of neither";
    case Whereabouts::unknown:
      return "not known";
    case Whereabouts::not_ours:
      return "another controller’s";
  }
  return {};
}

SwitchedWords under_way(Progress progress) {
  switch (progress) {
    case Progress::staging:
      return {Level::moving, "is told", 1};
    case Progress::staged:
      return {Level::moving, "has confirmed", 2};
    case Progress::applying:
      return {Level::moving, "puts in force", 3};
    case Progress::reading_back:
      return {Level::moving, "is read back", 3};
    case Progress::waiting:
    case Progress::failed:
      break;
  }
  return {Level::calm, "waits"};
}

}  // namespace

SwitchedWords switched_words(const rack::SwitchedNode& node, const rack::SwitchView& view) {
  const std::string where{where_in_words(node.where, view.restores)};
  if (node.progress == Progress::failed) return {Level::fault, "failed; " + where};
  const bool ended = rack::is_end(view.stage);
  const bool goes_back = view.back || view.stage == rack::SwitchStage::rolled_back;
  const bool is_there = node.where == (goes_back ? Whereabouts::before : Whereabouts::target);
  if (is_there && (ended || node.progress == Progress::waiting))
    return {Level::calm, where, all_steps_done};
  if (!ended) return under_way(node.progress);
  const bool is_left = view.stage == rack::SwitchStage::stuck || node.where != Whereabouts::before;
  return {is_left ? Level::fault : Level::caution, where};
}

}  // namespace catwalk::web
