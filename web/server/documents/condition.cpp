// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/condition.hpp"

#include <algorithm>

#include "daemon/rack/values/alarm_list.hpp"

namespace catwalk::web {
namespace {

using rack::AlarmKind;

// "reading-back" → "reading back"
std::string spaced(std::string_view name) {
  std::string words{name};
  std::ranges::replace(words, '-', ' ');
  return words;
}

const rack::Finding* first_of(const rack::Verdict& verdict, rack::Severity severity) {
  const auto found = std::ranges::find(verdict.findings, severity, &rack::Finding::severity);
  return found == verdict.findings.end() ? nullptr : &*found;
}

std::string_view calm_word(const rack::NodeView& node) {
  if (node.agreement == rack::Agreement::not_ours) return "another controller’s";
  if (!node.seen) return "nothing known";
  const auto* amplifier = node.seen->settings.amplifier();
  return amplifier == nullptr || amplifier->power ? "as wanted" : "power off, as wanted";
}

struct Conditions {
  std::vector<Condition> all;

  void add(Level level, std::string_view kind, std::string_view word, std::string sentence = {}) {
    all.push_back({level, kind, std::string{word}, std::move(sentence)});
  }
  // By the name and the word of its alarm.
  void add(Level level, AlarmKind kind, std::string sentence = {}) {
    add(level, name_of(kind), in_words(kind), std::move(sentence));
  }

  void link(const rack::NodeView& node) {
    if (node.link == rack::Link::silent)
      add(Level::fault, AlarmKind::silent,
          "It does not answer. It keeps its last settings: what stands here is the last that was "
          "read.");
    if (node.link == rack::Link::line_down)
      add(Level::fault, AlarmKind::line_down,
          "The line " + node.line.text + " is down, so nobody knows.");
    if (node.link == rack::Link::unknown) add(Level::caution, "not-read", "not read yet");
  }

  void seen(const rack::NodeView& node) {
    const auto& telemetry = node.seen->reading.telemetry;
    if (!telemetry.powered)
      add(Level::fault, name_of(AlarmKind::passive), "no supply: passive",
          node.matrix_sheet == nullptr
              ? "Its supply is gone. It still passes RF, without gain and without filter."
          : node.matrix_sheet->unsupplied
              ? "Its supply is gone: only its passive routes are left, and it feeds no antenna."
              : "Its supply is gone: nothing is heard through it, and it feeds no antenna.");
    // A knob, or a node that came back with other settings than it had.
    if (node.agreement == rack::Agreement::drifted)
      add(Level::caution, name_of(AlarmKind::drifted),
          telemetry.locally_changed ? "changed by hand" : in_words(AlarmKind::drifted));
  }

  void verdict(const rack::Verdict& verdict) {
    if (const auto* refused = first_of(verdict, rack::Severity::refuse))
      add(Level::fault, AlarmKind::off_plan, refused->sentence);
    const auto cautions =
        std::ranges::count(verdict.findings, rack::Severity::caution, &rack::Finding::severity);
    if (const auto* caution = first_of(verdict, rack::Severity::caution))
      add(Level::caution, "cautions",
          std::to_string(cautions) + (cautions == 1 ? " caution" : " cautions"), caution->sentence);
  }
};

}  // namespace

std::vector<Condition> conditions_of(const rack::NodeView& node) {
  Conditions found;
  found.link(node);
  if (node.seen) found.seen(node);
  if (node.identity && node.identity->type != node.type())
    found.add(Level::caution, AlarmKind::wrong_type,
              "It says that it is a " + node.identity->type + "; the rack file says " +
                  node.type() + ".");
  found.verdict(node.standing);
  if (node.agreement == rack::Agreement::changing)
    found.add(Level::moving, "changing",
              node.change ? spaced(name_of(node.change->stage)) : "changing");
  if (found.all.empty()) found.add(Level::calm, "calm", calm_word(node));
  std::ranges::stable_sort(found.all, {}, &Condition::level);
  return std::move(found.all);
}

std::string place_of(const rack::NodeView& node) {
  const auto place = node.hangs.substr(0, node.hangs.find(','));
  const auto begin = place.find_first_not_of(' ');
  return begin == std::string::npos ? std::string{}
                                    : place.substr(begin, place.find_last_not_of(' ') + 1 - begin);
}

}  // namespace catwalk::web
