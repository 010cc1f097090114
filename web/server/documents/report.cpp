// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/report.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <sstream>

#include "daemon/base/overloaded.hpp"
#include "daemon/rack/values/alarm_list.hpp"
#include "daemon/rack/values/plan_differences.hpp"
#include "daemon/rack/values/wording.hpp"
#include "web/server/documents/html.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/documents/troubles.hpp"

namespace catwalk::web {
namespace {

std::string words_of(const rack::NodeView& node, const plan::NodeSettings& settings) {
  const auto* own = settings.amplifier();
  return own != nullptr && node.datasheet ? rack::in_words(*own, *node.datasheet) : std::string{};
}

// The first branch of a receiver is A, as the page calls it.
std::string branch_letter(std::size_t branch) {
  return branch >= 1 && branch <= 26 ? std::string(1, static_cast<char>('A' + branch - 1))
                                     : std::to_string(branch);
}

// Sizes in points and margins without a page size, so that A4 and Letter both hold it. Heads come
// again on each page, rows are not torn, and text of others cannot turn the direction of its
// neighbours. Black on white: what is wrong is said in words.
constexpr std::string_view style = R"css(
@page { margin: 14mm 12mm; }
html { font: 10pt/1.4 system-ui, sans-serif; color: #111; background: #fff; }
body { margin: 0 auto; max-width: 75em; padding: 1em; }
h1 { font-size: 17pt; margin: 0 0 .2em; }
h2 { font-size: 13pt; margin: 1.6em 0 .4em; border-bottom: 1.5pt solid #111; }
h3 { font-size: 11pt; margin: 1.2em 0 .3em; }
h4 { font-size: 10pt; margin: .8em 0 .2em; }
h2, h3, h4 { break-after: avoid; }
p { margin: .3em 0; }
table { border-collapse: collapse; width: 100%; margin: .4em 0 1em; font-size: 8.5pt; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { text-align: left; vertical-align: top; padding: .25em .5em .25em 0;
  border-bottom: .5pt solid #999; overflow-wrap: break-word; max-width: 24em;
  unicode-bidi: isolate; }
th { border-bottom: 1pt solid #111; white-space: nowrap; }
td:first-child { white-space: nowrap; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .15em 1em; margin: .6em 0; }
dt { font-weight: 600; }
dd { margin: 0; overflow-wrap: anywhere; unicode-bidi: isolate; }
@media print {
  body { max-width: none; padding: 0; }
  h2 { margin-top: 1.2em; }
}
)css";

std::string with_break(std::string text, const std::string& more) {
  if (!text.empty() && !more.empty()) text += '\n';
  return text + more;
}

// What would be lost without power is told of every node at every step; on paper it would drown the
// rest. The journal has it.
std::string without_notes(const std::string& verdict) {
  std::string kept;
  std::istringstream lines{verdict};
  for (std::string line; std::getline(lines, line);)
    if (!line.starts_with("note ")) kept = with_break(std::move(kept), line);
  return kept;
}

class Report {
 public:
  Report(const rack::Snapshot& snapshot, const std::vector<rack::StoredEntry>& rows, bool more,
         const ReportAsk& ask)
      : snapshot_{snapshot}, plan_{*snapshot.plan}, rows_{rows}, more_{more}, ask_{ask} {}

  std::string text() {
    head();
    what_went_wrong();
    carriers_as_used();
    alarms();
    nodes();
    running_order();
    changes();
    plan_now();
    rest_of_journal();
    anchor();
    text_ += "</body>\n</html>\n";
    return std::move(text_);
  }

 private:
  std::string local(rack::TimePoint at) const {
    const auto shown = plan_.running_order.zone.local(std::chrono::floor<std::chrono::seconds>(at));
    const auto day = std::chrono::floor<std::chrono::days>(shown);
    return plan::in_words(std::chrono::year_month_day{day}) + ' ' + plan::in_words(shown - day);
  }
  void title(int level, const std::string& words) {
    const auto tag = 'h' + std::to_string(level) + '>';
    text_ += '<' + tag + escaped(words) + "</" + tag + '\n';
  }
  void paragraph(const std::string& words) { text_ += "<p>" + escaped(words) + "</p>\n"; }
  void fact(const std::string& name, const std::string& value) {
    text_ += "<dt>" + escaped(name) + "</dt><dd>" + escaped(value) + "</dd>\n";
  }

  void head() {
    const auto& zone = plan_.running_order.zone.name;
    text_ +=
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>" +
        escaped("Record of " + plan_.name + ", " + local(ask_.from) + " to " + local(ask_.to)) +
        "</title>\n<style>";
    text_ += style;
    text_ += "</style>\n</head>\n<body>\n";
    title(1, "Record of " + plan_.name);
    paragraph("From " + local(ask_.from) + " to " + local(ask_.to) + ", made " + local(ask_.now) +
              " for " + ask_.caller + ". Times are those of " + zone + ".");
    text_ += "<dl>\n";
    const auto& active = snapshot_.active();
    fact("Segment",
         active.title.empty() ? active.name.text : active.name.text + ": " + active.title);
    fact("Lock", snapshot_.lock
                     ? "locked by " + snapshot_.lock->who + " since " +
                           local(snapshot_.lock->since) +
                           (snapshot_.lock->why.empty() ? "" : ": ") + snapshot_.lock->why
                     : "open");
    fact("Region", plan_.region.empty() ? "unknown" : plan_.region);
    if (snapshot_.switching)
      fact("Last switch",
           snapshot_.switching->left.text + " to " + snapshot_.switching->entered.text + ": " +
               std::string{rack::name_of(snapshot_.switching->stage)} +
               (snapshot_.switching->reason.empty() ? "" : ": ") + snapshot_.switching->reason);
    text_ += "</dl>\n";
  }

  static std::string lasting(std::chrono::microseconds time) {
    const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(time).count();
    if (seconds < 120) return std::to_string(seconds) + " s";
    if (seconds < 7200) return std::to_string(seconds / 60) + " min";
    return std::to_string(seconds / 3600) + " h " + std::to_string(seconds / 60 % 60) + " min";
  }
  // Who hears through it, and what of that the segment of the time had to be heard.
  std::string affected(const rack::JournalEntry& entry) const {
    std::set<std::string> names;
    const auto* segment = plan_.find(plan::SegmentName{entry.segment});
    for (const auto& node : plan_.nodes) {
      // A line takes all its nodes with it.
      if (node.name.text != entry.node && node.line.text != entry.node) continue;
      for (const auto& branch : plan_.served_by(node.name)) {
        names.insert("receiver " + branch.receiver.text);
        if (segment == nullptr) continue;
        for (const auto& carrier : segment->carriers)
          if (std::ranges::find(carrier.receivers, branch.receiver) != carrier.receivers.end())
            names.insert(carrier.name.text);
      }
    }
    return rack::listed({names.begin(), names.end()});
  }

  void what_went_wrong() {
    title(2, "What went wrong");
    HtmlTable table{"When", "For how long", "In", "What", "Who may have been affected"};
    for (const auto& trouble : troubles_in(rows_, ask_.from))
      table.row({local(trouble.from),
                 trouble.until ? lasting(*trouble.until - trouble.from)
                 : lasts(trouble.raised->what.substr(0, trouble.raised->what.find(' ')))
                     ? "to the end"
                     : "",
                 trouble.raised->segment, trouble.raised->why, affected(*trouble.raised)});
    text_ += table.text("Nothing that an alarm told of.");
    const auto plans = std::ranges::count_if(rows_, [](const rack::StoredEntry& row) {
      return row.entry.kind == rack::JournalKind::plan;
    });
    if (plans > 0)
      paragraph("The plan was replaced " + std::to_string(plans) +
                (plans == 1 ? " time" : " times") +
                " in this time; who did that, and what differed, stands among the changes.");
  }

  // What the journal says was on the air, and not what the plan says by now.
  void carriers_as_used() {
    title(2, "Carriers as used");
    struct Use {
      rack::TimePoint from;
      const rack::JournalEntry* entry;
    };
    std::vector<Use> uses;
    if (ask_.on_the_air) uses.push_back({ask_.from, &ask_.on_the_air->entry});
    for (auto row = rows_.rbegin(); row != rows_.rend(); ++row)
      if (row->entry.kind == rack::JournalKind::carriers)
        uses.push_back({row->entry.at, &row->entry});
    HtmlTable table{"From", "To", "Segment", "Carriers"};
    for (std::size_t i = 0; i < uses.size(); ++i) {
      std::string lines;
      for (const auto& carrier : rack::carriers_in(uses[i].entry->what))
        lines = with_break(std::move(lines), carrier);
      table.row({local(uses[i].from),
                 i + 1 < uses.size() ? local(uses[i + 1].from) : local(std::min(ask_.to, ask_.now)),
                 uses[i].entry->segment, lines});
    }
    text_ += table.text("The journal does not say: no segment went on the air in this time.");
  }

  void plan_now() {
    title(2, "The plan, as it is now");
    for (const auto& segment : plan_.segments) plan_of(segment);
  }

  void alarms() {
    title(2, "Alarms now");
    HtmlTable table{"No.", "State", "What", "Raised", "Returned", "Shelved"};
    for (const auto& alarm : rack::worst_first(*snapshot_.alarms)) {
      std::string state = alarm.active() ? "active" : "returned";
      if (alarm.acknowledged_by) state += ", acknowledged by " + *alarm.acknowledged_by;
      table.row({std::to_string(alarm.id), state, alarm.sentence, local(alarm.raised),
                 alarm.returned ? local(*alarm.returned) : "", shelving_of(alarm)});
    }
    text_ += table.text("None.");
  }
  std::string shelving_of(const rack::Alarm& alarm) const {
    if (!alarm.shelved) return {};
    return "by " + alarm.shelved->by + " until " + local(alarm.shelved->until) + ": " +
           alarm.shelved->why;
  }

  void nodes() {
    title(2, "Settings now");
    HtmlTable table{"Node", "Where", "Serves", "Wanted", "Seen", "State"};
    for (const auto& node : snapshot_.nodes) {
      std::string serves;
      for (const auto& [receiver, branch] : node->serves)
        serves += (serves.empty() ? "" : ", ") + receiver.text + ' ' + branch_letter(branch);
      table.row(
          {with_break(node->name.text, node->type()), with_break(node->hangs, node->line.text),
           serves, node->wanted ? words_of(*node, node->wanted->settings) : "never read",
           node->seen
               ? with_break(words_of(*node, node->seen->settings), "read " + local(node->seen->at))
               : "not since the start",
           state_of(*node)});
    }
    text_ += table.text("No nodes.");
  }
  std::string state_of(const rack::NodeView& node) const {
    std::string state{rack::name_of(node.agreement)};
    if (node.link != rack::Link::answering) state += ", " + std::string{rack::name_of(node.link)};
    if (node.seen && !node.seen->reading.telemetry.powered)
      state += ", without supply: a passive antenna";
    state += ", reading " + std::string{quality_of(node, ask_.now)};
    for (const auto& finding : node.standing.findings)
      if (finding.severity != rack::Severity::note)
        state += '\n' + std::string{rack::name_of(finding.severity)} + ' ' +
                 std::string{rack::name_of(finding.rule)} + ": " + finding.sentence;
    return state;
  }

  void running_order() {
    title(2, "Running order");
    HtmlTable table{"Cue", "Segment", "Triggered", "Here"};
    const auto& order = snapshot_.order;
    for (const auto& cue : plan_.running_order.cues)
      table.row({cue.name.text, cue.segment.text, trigger_of(cue),
                 order.at == cue.name     ? "the rack is here"
                 : order.next == cue.name ? "next"
                                          : ""});
    text_ += table.text("None.");
  }
  static std::string trigger_of(const plan::Cue& cue) {
    return std::visit(
        Overloaded{[](const plan::ByHand&) -> std::string { return "by hand"; },
                   [](const plan::AtClock& at) {
                     return "at " + (at.time.date ? plan::in_words(*at.time.date) + ' ' : "") +
                            plan::in_words(at.time.of_day);
                   },
                   [](const plan::AfterSegment& after) {
                     return std::to_string(after.by.count()) + " s after " + after.segment.text;
                   },
                   [](const plan::ByMessage& by) { return "by the message " + by.text; }},
        cue.trigger);
  }

  void plan_of(const plan::Segment& segment) {
    title(3, "Segment " + segment.name.text + (segment.title.empty() ? "" : ": " + segment.title) +
                 (segment.name == snapshot_.segment ? " (active)" : ""));
    title(4, "Lanes");
    HtmlTable lanes{"Lane", "For", "Band", "Why"};
    for (const auto& lane : segment.lanes)
      lanes.row({lane.name.text, std::string{plan::name_of(lane.purpose)},
                 rack::in_words(lane.band), lane.why});
    text_ += lanes.text("None.");
    title(4, "Carriers");
    HtmlTable carriers{"Carrier", "Use", "Frequency", "Bandwidth", "E.r.p.", "Receivers"};
    for (const auto& carrier : segment.carriers) {
      std::vector<std::string> receivers;
      for (const auto& receiver : carrier.receivers) receivers.push_back(receiver.text);
      carriers.row({carrier.name.text, std::string{plan::name_of(carrier.use)},
                    rack::in_words(carrier.frequency), rack::in_words(carrier.bandwidth),
                    carrier.erp ? rack::in_words(*carrier.erp) : "", rack::listed(receivers)});
    }
    text_ += carriers.text("None.");
    title(4, "Planned settings");
    HtmlTable settings{"Node", "Settings"};
    for (const auto& [node, patch] : segment.settings)
      settings.row({node.text, rack::in_words(patch)});
    text_ += settings.text("None.");
  }
  static std::string in_words(const plan::Settings& settings, const plan::Datasheet& sheet) {
    return rack::in_words(settings, sheet);
  }

  // What only repeats a change step by step, and what is told below.
  static bool is_change(const rack::JournalEntry& entry) {
    return entry.kind != rack::JournalKind::step && entry.kind != rack::JournalKind::alarm &&
           entry.kind != rack::JournalKind::found && entry.kind != rack::JournalKind::carriers;
  }

  void changes() {
    title(2, "Changes of this time");
    if (more_)
      paragraph("These are the latest " + std::to_string(rows_.size()) +
                " rows of the journal; there are more in this time. A shorter time shows them.");
    // The fate stands beside the intent where both are in this time.
    std::map<rack::ChangeId, const rack::JournalEntry*> fates;
    std::map<rack::ChangeId, bool> intents;
    for (const auto& [sequence, entry] : rows_) {
      if (entry.kind == rack::JournalKind::fate) fates.emplace(entry.change, &entry);
      if (entry.kind == rack::JournalKind::intent) intents[entry.change] = true;
    }
    HtmlTable table{"When", "Who", "What", "Why", "Waiver", "Outcome"};
    for (auto row = rows_.rbegin(); row != rows_.rend(); ++row) {
      const auto& entry = row->entry;
      if (!is_change(entry)) continue;
      const bool told = entry.kind == rack::JournalKind::fate && intents.contains(entry.change);
      if (told) continue;
      auto outcome = entry.fate;
      if (entry.kind == rack::JournalKind::intent) {
        const auto fate = fates.find(entry.change);
        outcome = fate == fates.end() ? "not known in this time" : fate->second->fate;
      }
      table.row({local(entry.at), entry.who, what_of(entry), entry.why, entry.waiver,
                 with_break(outcome, without_notes(entry.verdict))});
    }
    text_ += table.text("None.");
  }
  static std::string what_of(const rack::JournalEntry& entry) {
    std::string what{rack::name_of(entry.kind)};
    if (entry.change != 0) what += " no. " + std::to_string(entry.change);
    if (!entry.node.empty()) what += ", " + entry.node;
    if (!entry.segment.empty()) what += " (in " + entry.segment + ')';
    return with_break(what, entry.what);
  }

  void rest_of_journal() {
    title(2, "Alarms and findings of this time");
    HtmlTable table{"When", "Who", "About", "What", "Why"};
    for (auto row = rows_.rbegin(); row != rows_.rend(); ++row) {
      const auto& entry = row->entry;
      if (entry.kind == rack::JournalKind::alarm || entry.kind == rack::JournalKind::found)
        table.row({local(entry.at), entry.who, entry.node, entry.what, entry.why});
    }
    text_ += table.text("None.");
  }

  void anchor() {
    if (ask_.head.row == 0) return;
    title(2, "Proof");
    paragraph("When this was made, the journal ended with row " + std::to_string(ask_.head.row) +
              ". Whether it still says of all rows up to that one what it said then is told by:");
    paragraph("catwalkd --verify-journal --anchor " + ask_.head.text() + " RACKFILE");
  }

  const rack::Snapshot& snapshot_;
  const plan::RackPlan& plan_;
  const std::vector<rack::StoredEntry>& rows_;
  bool more_;
  const ReportAsk& ask_;
  std::string text_;
};

}  // namespace

std::string report_text(const rack::Snapshot& snapshot, const std::vector<rack::StoredEntry>& rows,
                        bool more, const ReportAsk& ask) {
  return Report{snapshot, rows, more, ask}.text();
}

std::string report_policy() {
  return "default-src 'none'; style-src " + csp_hash(style) +
         "; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

}  // namespace catwalk::web
