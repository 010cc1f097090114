// SPDX-License-Identifier: Apache-2.0
#include "daemon/rack/core/commands.hpp"

#include <algorithm>

#include "daemon/rack/core/alarms.hpp"
#include "daemon/rack/core/asked.hpp"
#include "daemon/rack/values/epochs.hpp"
#include "daemon/rack/values/wording.hpp"

namespace catwalk::rack {
namespace {

// The line that a request names. Null: it was answered.
template <class Event>
const LineView* find_up(Turn& turn, const Event& event) {
  const auto* line = turn.state.find(event.line);
  if (line == nullptr) {
    turn.respond(event.request, unknown_name("line", event.line.text));
    return nullptr;
  }
  if (line->up) return line;
  turn.respond(event.request, {Outcome::unreachable,
                               "Line " + line->name.text + " is down: " + line->reason + '.'});
  return nullptr;
}

// The first of those that its last search found.
std::string found_on(const LineView& line) {
  constexpr std::size_t most = 8;
  std::vector<std::string> uids;
  for (const auto& found : line.discovered) {
    if (uids.size() == most) {
      uids.push_back(std::to_string(line.discovered.size() - most) + " more");
      break;
    }
    uids.push_back(found.uid.text());
  }
  return uids.empty() ? "none, search it first" : listed(uids);
}

// A command goes out when it stands in the journal, like a change.
void record_command(Turn& turn, const std::string& who, const NodeState& node, std::string what,
                    AfterRecord then) {
  auto entry = turn.entry(JournalKind::command, who, &node);
  entry.what = std::move(what);
  turn.record({std::move(entry)}, {}, std::move(then));
}

// To a node that a plan may have taken away meanwhile.
void send(Turn& turn, RequestId request, protocol::NodeUid uid, protocol::Ask what,
          AfterCommand then) {
  if (const auto* node = turn.state.find(uid))
    turn.send(*node, std::move(what), std::move(then));
  else
    turn.respond(request, hangs_there_no_more());
}

// To whoever asked for a command by itself. `reply` null: there was none, which `unanswered` says.
Answer answer_of_command(const State& state, protocol::NodeUid uid, const protocol::Answer* reply,
                         std::string unanswered) {
  const auto* node = state.find(uid);
  Answer answer{Outcome::done, {}, {}, 0, node ? view_of(state, *node) : nullptr};
  if (reply == nullptr) {
    answer.outcome = Outcome::unreachable;
    answer.detail = std::move(unanswered);
  } else if (const auto* refusal = std::get_if<protocol::Refusal>(reply)) {
    answer.outcome = Outcome::failed;
    answer.detail =
        "The node refused: " + std::string{protocol::sentence_of(refusal->reason)} + '.';
  }
  return answer;
}

}  // namespace

void on_request(Turn& turn, const LocateRequested& event) {
  const auto* node = node_of_ours(turn, event.request, event.node);
  if (node == nullptr) return;
  record_command(turn, event.who, *node, "locate for " + std::to_string(event.seconds) + " s",
                 ThenLocate{event.request, node->uid, event.seconds});
}

void on_request(Turn& turn, const LocateFoundRequested& event) {
  const auto* line = find_up(turn, event);
  if (line == nullptr) return;
  const auto row = std::ranges::find(line->discovered, event.node, &LineView::Discovery::uid);
  if (row == line->discovered.end()) {
    turn.respond(event.request,
                 {Outcome::unknown_name,
                  "uid " + event.node.text() + ": the last search of line " + line->name.text +
                      " found no such node; allowed: " + found_on(*line) + '.'});
    return;
  }
  const auto* node = turn.state.find(event.node);
  if (node != nullptr && refuse_held(turn, event.request, *node)) return;
  auto entry = turn.entry(JournalKind::command, event.who, node);
  entry.what = "locate " + event.node.text() + " on " + line->name.text + " for " +
               std::to_string(event.seconds) + " s";
  turn.record({std::move(entry)}, {},
              ThenLocateFound{event.request, event.line, event.node, event.seconds});
}

void on_request(Turn& turn, const StoreRequested& event) {
  const auto* node = node_of_ours(turn, event.request, event.node);
  if (node == nullptr) return;
  if (node->seen && node->wanted && node->seen->settings != node->wanted->settings) {
    turn.respond(event.request,
                 {Outcome::refused,
                  node->name.text + " shows other settings than are wanted; adopt them or re-apply "
                                    "first, so that it keeps what is wanted.",
                  {},
                  0,
                  view_of(turn.state, *node)});
    return;
  }
  record_command(turn, event.who, *node, "store the settings in force on the node",
                 ThenStore{event.request, node->uid});
}

void on_request(Turn& turn, const ReclaimRequested& event) {
  const auto* node = named_node(turn, event.request, event.node);
  if (node == nullptr) return;
  const auto refuse = [&](std::string detail) {
    turn.respond(event.request,
                 {Outcome::refused, std::move(detail), {}, 0, view_of(turn.state, *node)});
  };
  if (!node->obeys_other)
    return refuse(node->name.text +
                  " does not say that it obeys another epoch than ours: there is "
                  "nothing to reclaim.");
  const auto highest = *node->obeys_other;
  if (could_be_an_epoch(highest, turn.state.epoch, turn.now))
    return refuse(node->name.text + " obeys another controller (epoch " +
                  std::to_string(highest.value) + "): take over instead, if it is to obey ours.");
  auto entry = turn.entry(JournalKind::command, event.who, node);
  entry.what = "reclaim from epoch " + std::to_string(highest.value);
  entry.why = event.why;
  turn.record({std::move(entry)}, {}, ThenReclaim{event.request, node->uid, highest});
}

void on_request(Turn& turn, const DiscoverRequested& event) {
  const auto* line = find_up(turn, event);
  if (line == nullptr) return;
  if (!line->searching) {
    auto& searched = turn.state.lines.write(*line);
    searched.searching = true;
    searched.discovered.clear();
    searched.trouble.clear();
    turn.effects.emplace_back(Search{line->name});
    auto entry = turn.entry(JournalKind::command, event.who);
    entry.what = "discover on " + line->name.text;
    turn.record({std::move(entry)});
  }
  turn.respond(event.request, {Outcome::done});
}

void kept(Turn& turn, const ThenLocate& then) {
  send(turn, then.request, then.node, protocol::Locate{then.seconds},
       ForRequest{then.request, then.node});
}

void lost(Turn& turn, const ThenLocate& then, const std::string& reason) {
  turn.respond(then.request, not_recorded(reason));
}

void kept(Turn& turn, const ThenLocateFound& then) {
  turn.send_on(then.line, then.node, protocol::Locate{then.seconds},
               ForFound{then.request, then.line, then.node});
}

void lost(Turn& turn, const ThenLocateFound& then, const std::string& reason) {
  turn.respond(then.request, not_recorded(reason));
}

void kept(Turn& turn, const ThenStore& then) {
  send(turn, then.request, then.node, protocol::Store{turn.state.epoch},
       ForRequest{then.request, then.node});
}

void lost(Turn& turn, const ThenStore& then, const std::string& reason) {
  turn.respond(then.request, not_recorded(reason));
}

void kept(Turn& turn, const ThenReclaim& then) {
  send(turn, then.request, then.node, protocol::Reclaim{turn.state.epoch, then.highest, 0, {}},
       ForReclaim{then.request, then.node});
}

void lost(Turn& turn, const ThenReclaim& then, const std::string& reason) {
  turn.respond(then.request, not_recorded(reason));
}

void answered(Turn& turn, const ForRequest& what, const protocol::Answer* reply,
              protocol::Fault fault) {
  turn.respond(what.request,
               answer_of_command(turn.state, what.node, reply,
                                 "The node did not answer (" + std::string{name_of(fault)} + ")."));
}

void answered(Turn& turn, const ForFound& what, const protocol::Answer* reply,
              protocol::Fault fault) {
  turn.respond(
      what.request,
      answer_of_command(turn.state, what.node, reply,
                        what.node.text() + " on line " + what.line.text + " did not answer (" +
                            std::string{name_of(fault)} + "). Search the line again."));
}

void answered(Turn& turn, const ForReclaim& what, const protocol::Answer* reply,
              protocol::Fault fault) {
  auto* node = turn.state.write(what.node);
  if (node == nullptr)
    return turn.respond(what.request,
                        {Outcome::unknown_name, "The node is no longer in the rack."});
  if (reply != nullptr && !std::holds_alternative<protocol::Refusal>(*reply)) {
    node->obeys_other.reset();
    node->told_nonsense = false;
    node->had_by.reset();
    return_alarm(turn, AlarmKind::epoch_out_of_reach, node->name.text);
  }
  turn.respond(what.request, answer_of_command(turn.state, what.node, reply,
                                               node->name.text + " was not reclaimed: " +
                                                   std::string{name_of(fault)} + '.'));
}

}  // namespace catwalk::rack
