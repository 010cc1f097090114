// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/commands.hpp"

#include <algorithm>
#include <chrono>
#include <ostream>
#include <thread>

#include "daemon/cli/printed_json.hpp"
#include "daemon/cli/settings_words.hpp"
#include "daemon/cli/show.hpp"
#include "daemon/cli/show_crew.hpp"
#include "daemon/cli/show_physics.hpp"
#include "daemon/cli/show_switch.hpp"
#include "daemon/cli/what_if_words.hpp"
#include "protocol/text.hpp"

namespace catwalk::cli {
namespace {

// Discarded if it is not JSON. The parser takes a NUL for the end of the text.
Json parsed(const std::string& text) {
  if (text.find('\0') != std::string::npos) return Json(Json::value_t::discarded);
  return Json::parse(text, nullptr, false);
}

int status_of(int http, const Json& body) {
  if (http < 300) return exit_done;
  const auto outcome = text_of(body, "outcome");
  if (outcome == "busy") return exit_overtaken;
  switch (http) {
    case 401:
    case 403:
    case 409:
      return exit_refused;
    case 412:
    case 428:
      return exit_overtaken;
    case 424:
    case 502:
      return exit_failed;
    case 504:
      return exit_unreachable;
    case 400:
    case 404:
    case 413:
    case 415:
    case 422:
      return exit_usage;
    default:
      return exit_no_daemon;
  }
}

std::string in_lower_case(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

// "7a10-0000002f"
bool has_shape_of_uid(const std::string& word) {
  const auto text = in_lower_case(word);
  return text.size() == 13 && text[4] == '-' && protocol::is_hex(text.substr(0, 4), 4) &&
         protocol::is_hex(text.substr(5), 8);
}

// One run of one command.
class Run {
 public:
  Run(const Arguments& arguments, Client& client, Screen screen)
      : arguments_{arguments}, client_{client}, screen_{screen} {}

  int operator()() {
    const auto name = arguments_.command->name;
    if (name == "rack") return show("/rack", [](const Json& json) { return show_rack(json); });
    if (name == "nodes")
      return show("/nodes",
                  [&](const Json& json) { return show_nodes(json.at("nodes"), screen_.colour); });
    if (name == "show")
      return show("/nodes/" + escaped(word(0)), [](const Json& json) { return show_node(json); });
    if (name == "segments")
      return show("/segments", [](const Json& json) {
        return show_segments(json.at("segments"), json.at("active"));
      });
    if (name == "lines")
      return show("/lines",
                  [&](const Json& json) { return show_lines(json.at("lines"), screen_.colour); });
    if (name == "alarms")
      return show("/alarms",
                  [&](const Json& json) { return show_alarms(json.at("alarms"), screen_.colour); });
    if (name == "journal") return journal();
    if (name == "order")
      return show("/running-order", [](const Json& json) { return show_order(json); });
    if (name == "switch")
      return show("/switch", [](const Json& json) { return show_switch(json); });
    if (name == "preview") return preview();
    if (name == "crew") return crew();
    if (name == "tick" || name == "untick") return tick(name);
    if (name == "go") return go();
    if (name == "arm") return arm();
    if (name == "disarm") return act("/running-order/disarm", Json::object());
    if (name == "abort") return act("/switch/abort", with_why(Json::object()));
    if (name == "message")
      return switched(ask("POST", "/running-order/message", Json{{"text", word(0)}}.dump()));
    if (name == "explain")
      return show("/nodes/" + escaped(word(0)) + "/explain" + query({"carrier", "segment"}),
                  [](const Json& json) { return show_explained(json); });
    if (name == "recommend") return recommend();
    if (name == "what-if") return what_if();
    if (name == "check-segment") return check_segment();
    if (name == "set") return change(false);
    if (name == "check") return change(true);
    if (name == "adopt") return settle_drift(name);
    if (name == "reapply") return reapply();
    if (name == "locate") return locate();
    if (name == "store") return act("/nodes/" + escaped(word(0)) + "/store", Json::object());
    if (name == "reclaim")
      return act("/nodes/" + escaped(word(0)) + "/reclaim", with_why(Json::object()));
    if (name == "segment") return act("/rack/segment", with_why({{"segment", word(0)}}));
    if (name == "lock" || name == "unlock" || name == "take-over")
      return act("/rack/" + std::string{name}, with_why(Json::object()));
    if (name == "reload") return act("/rack/reload", Json::object());
    if (name == "acknowledge") return acknowledge();
    if (name == "shelve") return shelve();
    if (name == "unshelve")
      return act_on_alarm("unshelve", Json::object(), [](const Json&) { return "unshelved\n"; });
    if (name == "report") return document("/report" + query({"from", "to"}));
    if (name == "discover") return discover();
    return watch();
  }

 private:
  const std::string& word(std::size_t i) const { return arguments_.words[i]; }
  bool as_json() const { return arguments_.has("--json"); }

  Json with_why(Json body) const {
    if (arguments_.has("--why")) body["why"] = arguments_.value("--why");
    if (arguments_.has("--waive"))
      body["waiver"] = {{"who", arguments_.value("--by")}, {"reason", arguments_.value("--waive")}};
    return body;
  }

  // Of going and arming; `what`: the first word, if there is one.
  Json trigger(const char* what) const {
    Json body = Json::object();
    if (!arguments_.words.empty()) body[what] = word(0);
    if (arguments_.has("--without")) body["without"] = parse_names(arguments_.value("--without"));
    return with_why(std::move(body));
  }

  std::string query(std::initializer_list<const char*> names) const {
    std::string query;
    for (const char* name : names) {
      const auto option = "--" + std::string{name};
      if (arguments_.has(option))
        query += (query.empty() ? "?" : "&") + std::string{name} + '=' +
                 escaped(arguments_.value(option));
    }
    return query;
  }

  int complain(int status, const std::string& sentence) {
    screen_.err << "catwalk: " << protocol::with_escapes(sentence) << '\n';
    return status;
  }

  struct Reply {
    int http = 0;
    Json body;  // for people: every text of it is plain
    Json whole;
    std::string etag;

    std::string as_json() const { return printed(whole) + '\n'; }
  };

  // Absent: it was complained of, and the status is exit_no_daemon.
  std::optional<Reply> ask(const std::string& method, const std::string& path,
                           const std::string& body = {}, const Headers& headers = {}) {
    const auto answer = client_.request(method, "/api/v1" + path, body, headers);
    if (!answer) {
      complain(exit_no_daemon, answer.error());
      return std::nullopt;
    }
    if (const auto zone = answer->headers.find("catwalk-zone"); zone != answer->headers.end())
      tell_times_in(zone->second);
    auto json = parsed(answer->body);
    Reply reply{answer->status, made_plain(json), json, {}};
    if (json.is_discarded()) {
      complain(exit_no_daemon, "the answer is not JSON; is this a Catwalk daemon?");
      return std::nullopt;
    }
    if (const auto found = answer->headers.find("etag"); found != answer->headers.end())
      reply.etag = found->second;
    return reply;
  }

  // What went wrong, with the findings; the status says which kind it was.
  int refused(const Reply& reply) {
    if (as_json()) screen_.out << reply.as_json();
    screen_.err << "catwalk: " << text_of(reply.body, "detail") << '\n';
    if (!as_json() && reply.body.contains("errors"))
      for (const auto& error : reply.body.at("errors"))
        if (text_of(error, "detail") != text_of(reply.body, "detail"))
          screen_.err << "  " << text_of(error, "detail") << '\n';
    if (!as_json() && reply.body.contains("problems"))
      for (const auto& problem : reply.body.at("problems"))
        screen_.err << "  " << problem.get<std::string>() << '\n';
    if (!as_json() && reply.body.contains("findings"))
      screen_.err << show_findings(reply.body.at("findings"), "  ");
    if (text_of(reply.body, "outcome") == "needs-waiver")
      screen_.err << "  to go on: --waive REASON --by NAME\n";
    return status_of(reply.http, reply.body);
  }

  template <class Show>
  int show(const std::string& path, Show&& in_words) {
    const auto reply = ask("GET", path);
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    screen_.out << (as_json() ? reply->as_json() : in_words(reply->body));
    return exit_done;
  }

  int act(const std::string& path, const Json& body) {
    const auto reply = ask("POST", path, body.dump());
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    if (as_json()) {
      screen_.out << reply->as_json();
      return exit_done;
    }
    screen_.out << text_of(reply->body, "outcome");
    if (const auto detail = text_of(reply->body, "detail"); !detail.empty())
      screen_.out << ": " << detail;
    screen_.out << '\n';
    return exit_done;
  }

  // What it would come to is told, and is no fault of arming it.
  int arm() {
    if (arguments_.has("--reload")) {
      if (arguments_.words.empty() && !arguments_.has("--without"))
        return act("/rack/reload/arm", with_why(Json::object()));
      return complain(exit_usage, "arm takes a CUE or --reload, one of them");
    }
    const auto reply = ask("POST", "/running-order/arm", trigger("cue").dump());
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    screen_.out << (as_json()                       ? reply->as_json()
                    : reply->body.contains("armed") ? show_armed(reply->body.at("armed"))
                                                    : text_of(reply->body, "outcome") + '\n');
    return exit_done;
  }

  // The answer is the alarm, as it is then.
  template <class Show>
  int act_on_alarm(const std::string& how, const Json& body, Show&& in_words) {
    const auto reply = ask("POST", "/alarms/" + escaped(word(0)) + '/' + how, body.dump());
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    screen_.out << (as_json() ? reply->as_json() : std::string{in_words(reply->body)});
    return exit_done;
  }

  int acknowledge() {
    const bool all = arguments_.has("--all");
    if (all != arguments_.words.empty())
      return complain(exit_usage, "acknowledge needs numbers of alarms or --all, one of them");
    if (all) return act("/alarms/acknowledge", Json{{"all", true}});
    const auto numbers = parse_ranges(arguments_.words);
    if (!numbers) return complain(exit_usage, numbers.error());
    if (numbers->size() == 1)
      return act("/alarms/" + std::to_string(numbers->front()) + "/acknowledge", Json::object());
    return act("/alarms/acknowledge", Json{{"alarms", *numbers}});
  }

  int shelve() {
    const auto seconds = parse_duration(arguments_.value("--for"));
    if (!seconds) return complain(exit_usage, seconds.error());
    return act_on_alarm(
        "shelve", {{"for_s", *seconds}, {"why", arguments_.value("--why")}}, [](const Json& alarm) {
          return "shelved until " + to_the_second(text_of(alarm.at("shelved"), "until")) + '\n';
        });
  }

  // What is no JSON is shown as it comes.
  int document(const std::string& path) {
    if (as_json()) return complain(exit_usage, "this is a document, not JSON: leave --json out");
    const auto answer = client_.request("GET", "/api/v1" + path);
    if (!answer) return complain(exit_no_daemon, answer.error());
    if (answer->status < 300) {
      screen_.out << plain_lines(answer->body);
      return exit_done;
    }
    const auto body = parsed(answer->body);
    if (body.is_discarded())
      return complain(exit_no_daemon, "the answer is not understood; is this a Catwalk daemon?");
    return refused({answer->status, made_plain(body), body, {}});
  }

  // The settings that the active segment has for the node, under those that were given in words.
  std::optional<int> add_planned(Json& patch) {
    const auto segments = ask("GET", "/segments");
    if (!segments) return exit_no_daemon;
    if (segments->http >= 300) return refused(*segments);
    const auto active = text_of(segments->body, "active");
    for (const auto& segment : segments->body.at("segments")) {
      if (text_of(segment, "name") != active) continue;
      const auto planned = segment.at("settings").find(word(0));
      if (planned == segment.at("settings").end())
        return complain(exit_usage,
                        "segment " + active + " has no settings for \"" + word(0) + "\"");
      Json whole = *planned;
      whole.update(patch);
      patch = std::move(whole);
    }
    return std::nullopt;
  }

  int change(bool dry_run) {
    auto parsed = parse_settings({arguments_.words.begin() + 1, arguments_.words.end()});
    if (!parsed) return complain(exit_usage, parsed.error());
    auto patch = std::move(parsed).value();
    if (arguments_.has("--as-planned"))
      if (const auto status = add_planned(patch)) return *status;
    if (patch.empty())
      return complain(exit_usage, "nothing to change: give setting=value or --as-planned");
    const auto path = "/nodes/" + escaped(word(0)) + "/settings";
    if (dry_run) return check(path, patch);

    const auto wanted = ask("GET", path);
    if (!wanted) return exit_no_daemon;
    if (wanted->http >= 300) return refused(*wanted);
    Headers headers{{"If-Match", wanted->etag}};
    if (arguments_.has("--no-wait")) headers.emplace_back("Prefer", "respond-async");
    const auto reply = ask("PATCH", path, with_why(patch).dump(), headers);
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    return show_change(*reply);
  }

  int show_change(const Reply& reply) {
    if (as_json()) {
      screen_.out << reply.as_json();
      return exit_done;
    }
    screen_.out << text_of(reply.body, "outcome");
    if (reply.body.contains("change"))
      screen_.out << ", change " << reply.body.at("change").get<std::uint64_t>();
    if (const auto detail = text_of(reply.body, "detail"); !detail.empty())
      screen_.out << ": " << detail;
    screen_.out << '\n' << show_findings(reply.body.at("findings"), "  ");
    if (reply.body.contains("node")) screen_.out << show_node(reply.body.at("node"));
    return exit_done;
  }

  int check(const std::string& path, const Json& patch) {
    const auto reply = ask("PATCH", path + "?dry_run=true", patch.dump());
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    const auto would_be = text_of(reply->body, "would_be");
    if (as_json())
      screen_.out << reply->as_json();
    else
      screen_.out << verdict_words(would_be) << '\n'
                  << show_findings(reply->body.at("findings"), "  ");
    return would_be == "accepted" ? exit_done : exit_refused;
  }

  int reapply() {
    const bool all = arguments_.has("--all");
    if (all != arguments_.words.empty())
      return complain(exit_usage, "reapply needs a NODE or --all, one of them");
    if (!all) return settle_drift("reapply");
    return switched(
        ask("POST", "/rack/reapply", with_why(Json::object()).dump(), without_waiting()));
  }

  Headers without_waiting() const {
    return arguments_.has("--no-wait") ? Headers{{"Prefer", "respond-async"}} : Headers{};
  }

  int settle_drift(std::string_view how) {
    const auto node = "/nodes/" + escaped(word(0));
    const auto wanted = ask("GET", node + "/settings");
    if (!wanted) return exit_no_daemon;
    if (wanted->http >= 300) return refused(*wanted);
    const auto reply = ask("POST", node + '/' + std::string{how}, with_why(Json::object()).dump(),
                           {{"If-Match", wanted->etag}});
    if (!reply) return exit_no_daemon;
    return reply->http >= 300 ? refused(*reply) : show_change(*reply);
  }

  int preview() {
    const bool drifted = arguments_.has("--drifted");
    if (drifted != arguments_.words.empty())
      return complain(exit_usage, "preview needs a SEGMENT or --drifted, one of them");
    if (drifted && arguments_.has("--from"))
      return complain(exit_usage, "--drifted is about nodes as they are now: leave --from out");
    const auto reply =
        drifted
            ? ask("GET", "/rack/reapply")
            : ask("GET", "/segments/" + escaped(word(0)) + "/preview" + query({"without", "from"}));
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    screen_.out << (as_json() ? reply->as_json() : show_preview(reply->body));
    return text_of(reply->body, "would_be") == "done" ? exit_done : exit_refused;
  }

  // The segment of the next cue. Absent: that was complained of, and this is the status.
  Result<std::string, int> next_segment() {
    const auto order = ask("GET", "/running-order");
    if (!order) return Failure<int>{exit_no_daemon};
    if (order->http >= 300) return Failure<int>{refused(*order)};
    const auto next = text_of(order->body, "next");
    for (const auto& cue : order->body.at("cues"))
      if (text_of(cue, "name") == next) return text_of(cue, "segment");
    return Failure<int>{complain(exit_usage, "there is no next cue: name a SEGMENT")};
  }

  int crew() {
    const auto segment =
        arguments_.words.empty() ? next_segment() : Result<std::string, int>{word(0)};
    if (!segment) return segment.error();
    return show("/segments/" + escaped(*segment) + "/crew-sheet" + query({"from"}),
                [](const Json& json) { return show_crew(json); });
  }

  // `how`: "tick" or "untick".
  int tick(std::string_view how) {
    Json body = {
        {"rows", std::vector<std::string>(arguments_.words.begin() + 1, arguments_.words.end())}};
    if (arguments_.has("--from")) body["from"] = arguments_.value("--from");
    const auto reply = ask(
        "POST", "/segments/" + escaped(word(0)) + "/crew-sheet/" + std::string{how}, body.dump());
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    screen_.out << (as_json() ? reply->as_json() : show_crew(reply->body));
    return exit_done;
  }

  int go() {
    return switched(ask("POST", "/switch", trigger("segment").dump(), without_waiting()));
  }

  // The end of a switch, with every node that is not where it should be.
  int switched(const std::optional<Reply>& reply) {
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) {
      const int status = refused(*reply);
      if (!as_json() && reply->body.contains("switch"))
        screen_.err << show_switch(reply->body.at("switch"));
      return status;
    }
    if (as_json())
      screen_.out << reply->as_json();
    else if (reply->body.contains("switch"))
      screen_.out << show_switch(reply->body.at("switch"));
    else
      screen_.out << text_of(reply->body, "outcome") << '\n';
    return exit_done;
  }

  int locate() {
    Json body = Json::object();
    if (arguments_.words.size() > 1) {
      const auto seconds = Json::parse(word(1), nullptr, false);
      if (!seconds.is_number_integer())
        return complain(exit_usage,
                        "\"" + word(1) + "\" cannot be used; allowed is 0 to 255 seconds");
      body["seconds"] = seconds;
    }
    if (has_shape_of_uid(word(0)))
      if (const auto status = locate_found(body)) return *status;
    return act("/nodes/" + escaped(word(0)) + "/locate", body);
  }

  // By its uid, on the line whose last search found it. Nothing: none did, so it may be a name.
  std::optional<int> locate_found(const Json& body) {
    const auto lines = ask("GET", "/lines");
    if (!lines) return exit_no_daemon;
    if (lines->http >= 300) return refused(*lines);
    for (const auto& line : lines->body.at("lines")) {
      for (const auto& found : line.at("discovered")) {
        if (text_of(found, "uid") != in_lower_case(word(0))) continue;
        return act("/lines/" + escaped(text_of(line, "name")) + "/discovered/" +
                       text_of(found, "uid") + "/locate",
                   body);
      }
    }
    const auto nodes = ask("GET", "/nodes");
    if (!nodes) return exit_no_daemon;
    if (nodes->http >= 300) return refused(*nodes);
    for (const auto& node : nodes->body.at("nodes"))
      if (text_of(node, "name") == word(0)) return std::nullopt;
    return complain(exit_usage,
                    "no search has found " + word(0) + "; find it first: catwalk discover LINE");
  }

  int discover() {
    const auto path = "/lines/" + escaped(word(0));
    const auto begun = ask("POST", path + "/discover", "{}");
    if (!begun) return exit_no_daemon;
    if (begun->http >= 300) return refused(*begun);
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds{60};
    for (;;) {
      const auto line = ask("GET", path);
      if (!line) return exit_no_daemon;
      if (line->http >= 300) return refused(*line);
      if (!line->body.at("searching").get<bool>()) {
        screen_.out << (as_json() ? line->as_json() : show_discovered(line->body));
        return exit_done;
      }
      if (std::chrono::steady_clock::now() > give_up)
        return complain(exit_unreachable, "the search has not ended after 60 s");
      std::this_thread::sleep_for(std::chrono::milliseconds{100});
    }
  }

  int watch() {
    Json known = Json::object();
    const auto why = client_.listen("/api/v1/live", [&](const std::string& message) {
      const auto json = parsed(message);
      if (as_json())
        screen_.out << printed_text(message) << '\n';
      else if (!json.is_discarded()) {
        if (json.contains("running_order"))
          tell_times_in(text_of(json.at("running_order"), "zone", "UTC"));
        screen_.out << show_live(made_plain(json), time_of_day(), known);
      }
      screen_.out.flush();
      return screen_.out.good();
    });
    return why.empty() ? exit_done : complain(exit_no_daemon, why);
  }

  int journal() {
    const auto narrowed = query(
        {"node", "kind", "who", "segment", "text", "change", "from", "to", "before", "limit"});
    if (arguments_.has("--csv")) return document("/journal.csv" + narrowed);
    const auto reply = ask("GET", "/journal" + narrowed);
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    const auto& entries = reply->body.at("entries");
    // A node that has left the rack file may still have a journal; one without is misspelt,
    // perhaps.
    if (entries.empty() && arguments_.has("--node")) {
      const auto node = ask("GET", "/nodes/" + escaped(arguments_.value("--node")));
      if (!node) return exit_no_daemon;
      if (node->http == 404) return refused(*node);
    }
    screen_.out << (as_json() ? reply->as_json() : show_journal(entries));
    if (reply->body.contains("looked_down_to") && !as_json()) {
      const auto row = std::to_string(reply->body.at("looked_down_to").get<std::uint64_t>());
      screen_.err << "catwalk: this took long; only rows from " << row
                  << " on were looked at. Older ones: the same with --before " << row << '\n';
    }
    return exit_done;
  }

  // Empty: it could not be asked for, and whoever shows it does without.
  std::string active_segment() {
    const auto rack = ask("GET", "/rack");
    return rack && rack->http < 300 ? text_of(rack->body, "segment") : std::string{};
  }

  int recommend() {
    if (!arguments_.words.empty())
      return show("/nodes/" + escaped(word(0)) + "/recommend" + query({"segment"}),
                  [&](const Json& json) { return show_recommendation(json, active_segment()); });
    const auto active = active_segment();
    const auto segment = arguments_.has("--segment") ? arguments_.value("--segment") : active;
    if (segment.empty()) return exit_no_daemon;  // it has been complained of
    return show("/segments/" + escaped(segment) + "/recommend",
                [&](const Json& json) { return show_recommendations(json, active); });
  }

  int check_segment() {
    const auto segment = arguments_.words.empty() ? active_segment() : word(0);
    if (segment.empty()) return exit_no_daemon;  // it has been complained of
    const auto reply = ask("GET", "/segments/" + escaped(segment) + "/check");
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    screen_.out << (as_json() ? reply->as_json()
                              : show_segment_check(reply->body, arguments_.has("--all")));
    const auto is_good = [](const Json& node) {
      return text_of(node, "would_be", "accepted") == "accepted";
    };
    const auto is_note = [](const Json& finding) { return text_of(finding, "severity") == "note"; };
    return std::ranges::all_of(reply->body.at("nodes"), is_good) &&
                   std::ranges::all_of(reply->body.at("findings"), is_note)
               ? exit_done
               : exit_refused;
  }

  int what_if() {
    const auto question = what_if_question(arguments_);
    if (!question) return complain(exit_usage, question.error());
    const auto node = "/nodes/" + escaped(word(0));
    const auto reply = ask("POST", node + "/what-if", question->dump());
    if (!reply) return exit_no_daemon;
    if (reply->http >= 300) return refused(*reply);
    const auto now = [&](const Json& chain) -> std::optional<double> {
      const auto is = ask("GET", node + "/explain?carrier=" + escaped(text_of(chain, "carrier")) +
                                     "&segment=" + escaped(text_of(reply->body, "segment")));
      if (!is || is->http >= 300) return std::nullopt;
      for (const auto& one : is->body.at("chains"))
        if (text_of(one, "receiver") == text_of(chain, "receiver") &&
            one.at("budget").contains("margin_db"))
          return one.at("budget").at("margin_db").get<double>();
      return std::nullopt;
    };
    screen_.out << (as_json() ? reply->as_json() : show_what_if(reply->body, now));
    return text_of(reply->body, "would_be") == "accepted" ? exit_done : exit_refused;
  }

  const Arguments& arguments_;
  Client& client_;
  Screen screen_;
};

// Of what would travel in a body; other options are escaped on their way, or stay on this machine.
std::optional<std::string> text_that_is_not_plain(const Arguments& arguments) {
  for (const auto& word : arguments.words)
    if (!protocol::is_plain_text(word)) return word;
  for (const auto* option : {"--why", "--waive", "--by"})
    if (const auto value = arguments.value(option); !protocol::is_plain_text(value)) return value;
  return std::nullopt;
}

}  // namespace

int run_command(const Arguments& arguments, Client& client, Screen screen) {
  if (const auto bad = text_that_is_not_plain(arguments)) {
    screen.err << "catwalk: \"" << protocol::made_plain(*bad)
               << "\" cannot be used; allowed is UTF-8 text without control or format characters\n";
    return exit_usage;
  }
  try {
    return Run{arguments, client, screen}();
  } catch (const Json::exception& error) {
    screen.err << "catwalk: the daemon's answer is not what was expected (" << error.what()
               << ")\n";
    return exit_no_daemon;
  }
}

}  // namespace catwalk::cli
