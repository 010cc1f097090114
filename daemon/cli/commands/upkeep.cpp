// SPDX-License-Identifier: Apache-2.0
// What a node needs beside its settings: drift settled, found by its lamp, stored, reclaimed.
#include "daemon/cli/commands/rows.hpp"

#include <optional>

#include "daemon/base/text.hpp"
#include "daemon/cli/run.hpp"

namespace catwalk::cli {
namespace {

std::string in_lower_case(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

// "7a10-0000002f"
bool has_shape_of_uid(const std::string& word) {
  const auto text = in_lower_case(word);
  return text.size() == 13 && text[4] == '-' && is_hex(text.substr(0, 4), 4) &&
         is_hex(text.substr(5), 8);
}

// Is the node that the command names a matrix? A daemon that has run since before there were any
// has none; whatever else is wrong is told when the node is asked for. An error was complained of.
Result<bool, int> names_matrix(Run& run) {
  const auto reply = run.ask_anything("GET", "/matrices");
  if (!reply) return Failure<int>{reply.error()};
  for (const auto& matrix : reply->body.value("matrices", Json::array()))
    if (text_of(matrix, "name") == run.word(0)) return true;
  return false;
}

// Where that node is found.
Result<std::string, int> path_of_node(Run& run) {
  const auto is_matrix = names_matrix(run);
  if (!is_matrix) return Failure<int>{is_matrix.error()};
  return (is_matrix.value() ? "/matrices/" : "/nodes/") + escaped(run.word(0));
}

int act_on_node(Run& run, const std::string& act, const Json& body = Json::object()) {
  const auto path = path_of_node(run);
  return path ? run.act(path.value() + act, body) : path.error();
}

// `how`: "adopt" or "reapply".
int settle_drift(Run& run, const std::string& how) {
  const auto path = path_of_node(run);
  if (!path) return path.error();
  const auto& node = path.value();
  const auto wanted = run.ask("GET", node + "/settings");
  if (!wanted) return wanted.error();
  const auto reply =
      run.ask("POST", node + '/' + how, run.with_why().dump(), {{"If-Match", wanted->etag}});
  return reply ? run.show_change(*reply) : reply.error();
}

int reapply(Run& run) {
  const bool all = run.has("--all");
  if (all != run.arguments().words.empty())
    return run.complain(exit_usage, "reapply needs a NODE or --all, one of them");
  if (!all) return settle_drift(run, "reapply");
  return run.switched("/rack/reapply", run.with_why(), run.without_waiting());
}

// By its uid, on the line whose last search found it. Nothing: none did, so it may be a name.
std::optional<int> locate_found(Run& run, const Json& body) {
  const auto lines = run.ask("GET", "/lines");
  if (!lines) return lines.error();
  for (const auto& line : lines->body.at("lines")) {
    for (const auto& found : line.at("discovered")) {
      if (text_of(found, "uid") != in_lower_case(run.word(0))) continue;
      return run.act("/lines/" + escaped(text_of(line, "name")) + "/discovered/" +
                         text_of(found, "uid") + "/locate",
                     body);
    }
  }
  const auto nodes = run.ask("GET", "/nodes");
  if (!nodes) return nodes.error();
  for (const auto& node : nodes->body.at("nodes"))
    if (text_of(node, "name") == run.word(0)) return std::nullopt;
  const auto is_matrix = names_matrix(run);
  if (!is_matrix) return is_matrix.error();
  if (is_matrix.value()) return std::nullopt;
  return run.complain(
      exit_usage, "no search has found " + run.word(0) + "; find it first: catwalk discover LINE");
}

int locate(Run& run) {
  Json body = Json::object();
  if (run.arguments().words.size() > 1) {
    const auto seconds = Json::parse(run.word(1), nullptr, false);
    if (!seconds.is_number_integer())
      return run.complain(exit_usage,
                          "\"" + run.word(1) + "\" cannot be used; allowed is 0 to 255 seconds");
    body["seconds"] = seconds;
  }
  if (has_shape_of_uid(run.word(0)))
    if (const auto status = locate_found(run, body)) return *status;
  return act_on_node(run, "/locate", body);
}

constexpr CommandInfo rows_of_upkeep[]{
    {"adopt", "NODE", 1, 1, "--why --waive --by", "wanted follows what the node shows",
     [](Run& run) { return settle_drift(run, "adopt"); }},
    {"reapply", "[NODE]", 0, 1, "--all --no-wait --why --waive --by",
     "send what is wanted once more", reapply,
     "Under the show lock too. --all instead of NODE: every node that answers and shows other "
     "settings than wanted, along a way like that of go; catwalk preview --drifted shows it."},
    {"locate", "NODE [SECONDS]", 1, 2, "", "blink the node's lamp", locate,
     "NODE is a name, or the uid of one that discover found, before it stands in any file. One "
     "without an address of its own is given one with that, and keeps it."},
    {"store", "NODE", 1, 1, "", "the node keeps its settings across a loss of power",
     [](Run& run) { return act_on_node(run, "/store"); }},
    {"reclaim", "NODE", 1, 1, "--why",
     "let a node that obeys an epoch which no controller can have obey ours again; needs --why",
     [](Run& run) { return act_on_node(run, "/reclaim", run.with_why()); },
     "Proved by the node's own key (key_file), on a UDP line by that of the line. A node without "
     "a key is reclaimed by hand, as its manual says.",
     "--why"},
};

}  // namespace

std::span<const CommandInfo> commands_of_upkeep() { return rows_of_upkeep; }

}  // namespace catwalk::cli
