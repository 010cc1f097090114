// SPDX-License-Identifier: Apache-2.0
// The text format of Prometheus, version 0.0.4, as its documentation of exposition formats has it.
#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <memory>
#include <regex>
#include <sstream>

#include "tests/support/web_fixture.hpp"
#include "web/server/api/answer.hpp"
#include "web/server/documents/metrics.hpp"
#include "web/server/documents/timings.hpp"
#include "web/server/http/accept.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

struct Metrics {
  std::map<std::string, std::string> types;
  std::map<std::string, std::string> helps;
  std::map<std::string, double> samples;  // with labels, as written
};

// Reads it as strictly as the format is described; a line that does not fit fails the test.
Metrics parse(const std::string& text) {
  static const std::regex help{R"(# HELP ([a-zA-Z_:][a-zA-Z0-9_:]*) (.+))"};
  static const std::regex type{R"(# TYPE ([a-zA-Z_:][a-zA-Z0-9_:]*) (counter|gauge|histogram))"};
  static const std::regex sample{
      R"(([a-zA-Z_:][a-zA-Z0-9_:]*)(\{[a-zA-Z_][a-zA-Z0-9_]*="[^"\\\n]*"(,[a-zA-Z_][a-zA-Z0-9_]*="[^"\\\n]*")*\})? ([-+0-9.e]+))"};
  Metrics metrics;
  REQUIRE(text.ends_with('\n'));
  std::istringstream lines{text};
  std::string family;
  for (std::string line; std::getline(lines, line);) {
    CAPTURE(line);
    std::smatch match;
    if (std::regex_match(line, match, help)) {
      CHECK(metrics.helps.emplace(match[1], match[2]).second);
    } else if (std::regex_match(line, match, type)) {
      family = match[1];
      CHECK(metrics.types.emplace(family, match[2]).second);
      CHECK(metrics.helps.contains(family));
    } else {
      REQUIRE(std::regex_match(line, match, sample));
      // All samples of a family stand together, below its head.
      auto name = match[1].str();
      if (metrics.types.at(family) == "histogram")
        for (const std::string end : {"_bucket", "_sum", "_count"})
          if (name == family + end) name = family;
      CHECK(name == family);
      CHECK(metrics.samples.emplace(match[1].str() + match[2].str(), std::stod(match[4])).second);
    }
  }
  return metrics;
}

}  // namespace

TEST_CASE("every family has its help and type once, before its samples; counters end in _total") {
  FakeGate gate;
  gate.meet_all();
  gate.figures = {{"bus", {{"frames_sent", 1042}, {"retries", 3}}},
                  {"net", {{"frames_sent", 7}, {"retries", 0}}}};
  const auto metrics = parse(
      web::metrics_text(*gate.snapshot(), {gate.figures, {{"received", 12}, {"malformed", 0}}}));
  CHECK(metrics.types.size() == metrics.helps.size());
  for (const auto& [name, type] : metrics.types) {
    const auto& the_name = name;
    CAPTURE(the_name);
    CHECK((name.starts_with("catwalk_") || name.starts_with("process_")));
    CHECK(name.ends_with("_total") == (type == "counter"));
  }
  CHECK(metrics.samples.at("catwalk_line_frames_sent_total{line=\"bus\"}") == 1042);
  CHECK(metrics.samples.at("catwalk_line_frames_sent_total{line=\"net\"}") == 7);
  CHECK(metrics.samples.at("catwalk_line_retries_total{line=\"bus\"}") == 3);
  CHECK(metrics.samples.at("catwalk_osc_received_total") == 12);
  CHECK(metrics.samples.at("catwalk_osc_malformed_total") == 0);
}

TEST_CASE("the gauges follow the rack") {
  FakeGate gate;
  gate.meet_all();
  gate.on(rack::LineWentDown{{"net"}, "unplugged"});
  gate.turn(1, slide_at(4, 518));
  gate.ask(rack::LockRequested{.who = "ana"}, [](const rack::Answer&) {});
  const auto metrics = parse(web::metrics_text(*gate.snapshot(), {}));
  auto of_the_rack = metrics.samples;
  std::erase_if(of_the_rack, [](const auto& one) {
    const auto is_of = [&one](const char* begin) { return one.first.starts_with(begin); };
    return is_of("catwalk_node_") || is_of("catwalk_alarms{") || is_of("catwalk_feed_") ||
           is_of("catwalk_reloads_") || is_of("catwalk_logins_") ||
           (is_of("catwalk_nodes{") && one.second == 0);
  });
  CHECK(of_the_rack ==
        std::map<std::string, double>{{R"(catwalk_nodes{link="answering",agreement="agreed"})", 1},
                                      {R"(catwalk_nodes{link="answering",agreement="drifted"})", 1},
                                      {R"(catwalk_nodes{link="line-down",agreement="agreed"})", 1},
                                      {"catwalk_alarms_active", 2},
                                      {"catwalk_alarms_shelved", 0},
                                      {"catwalk_locked", 1},
                                      {"catwalk_watching", 0},
                                      {"catwalk_journal_rows", 0},
                                      {"catwalk_journal_records_failed_total", 0},
                                      {"catwalk_journal_readings_refused_total", 0},
                                      {R"(catwalk_line_up{line="bus"})", 1},
                                      {R"(catwalk_line_up{line="net"})", 0}});
  // What there is none of now is 0, and not absent.
  CHECK(metrics.samples.at(R"(catwalk_nodes{link="silent",agreement="not-ours"})") == 0);
}

TEST_CASE("every kind of alarm has its figure, also while there is none") {
  FakeGate gate;
  gate.meet_all();
  gate.turn(1, slide_at(4, 518));
  const auto metrics = parse(web::metrics_text(*gate.snapshot(), {}));
  double all = 0;
  std::size_t kinds = 0;
  for (const auto& [name, value] : metrics.samples)
    if (name.starts_with("catwalk_alarms{kind=")) {
      all += value;
      ++kinds;
    }
  CHECK(kinds == words_of(rack::AlarmKind{}).size());
  CHECK(all == metrics.samples.at("catwalk_alarms_active"));
  CHECK(metrics.samples.at(R"(catwalk_alarms{kind="drifted"})") == 1);
  CHECK(metrics.samples.at(R"(catwalk_alarms{kind="silent"})") == 0);
}

TEST_CASE("each node has its figures; one that was never read has no reading") {
  FakeGate gate;
  const auto figures = [&] { return parse(web::metrics_text(*gate.snapshot(), {})).samples; };
  const auto name = gate.snapshot()->nodes.front()->name.text;
  const auto of = [&](const std::string& what) {
    return "catwalk_node_" + what + "{node=\"" + name + "\"}";
  };
  CHECK(figures().at(of("answering")) == 0);
  CHECK(figures().at(of("alarms_active")) == 0);
  CHECK_FALSE(figures().contains(of("supply_volts")));
  CHECK_FALSE(figures().contains(of("read_timestamp_seconds")));
  gate.meet_all();
  const auto met = figures();
  const auto& seen = *gate.snapshot()->nodes.front()->seen;
  const auto& said = seen.reading.telemetry;
  CHECK(met.at(of("answering")) == 1);
  CHECK(met.at(of("agreed")) == 1);
  CHECK(met.at(of("powered")) == (said.powered ? 1 : 0));
  CHECK(met.at(of("supply_volts")) == doctest::Approx(said.supply_mv / 1000.0));
  CHECK(met.at(of("supply_amperes")) == doctest::Approx(said.supply_ma / 1000.0));
  CHECK(met.at(of("temperature_celsius")) == doctest::Approx(said.temperature_ddegc / 10.0));
  CHECK(met.at(of("detector_dbm")) == doctest::Approx(said.detector_cdbm / 100.0));
  CHECK(met.at(of("read_timestamp_seconds")) ==
        doctest::Approx(std::chrono::duration<double>(seen.at.time_since_epoch()).count()));
  gate.turn(1, slide_at(4, 518));
  const auto turned = figures();
  double drifted = 0;
  for (const auto& node : gate.snapshot()->nodes)
    drifted += 1 - turned.at("catwalk_node_agreed{node=\"" + node->name.text + "\"}");
  CHECK(drifted == 1);
}

TEST_CASE("of a node that does not answer any more it is told when it was read, and no reading") {
  FakeGate gate;
  gate.meet_all();
  const auto node = *gate.snapshot()->nodes.front();
  const auto of = [&](const std::string& what) {
    return "catwalk_node_" + what + "{node=\"" + node.name.text + "\"}";
  };
  const auto figures = [&] { return parse(web::metrics_text(*gate.snapshot(), {})).samples; };
  const auto read_at = figures().at(of("read_timestamp_seconds"));
  CHECK(figures().contains(of("temperature_celsius")));
  gate.on(rack::NodeFellSilent{node.uid});
  const auto silent = figures();
  CHECK(silent.at(of("answering")) == 0);
  CHECK(silent.at(of("alarms_active")) == 1);
  CHECK(silent.at(of("read_timestamp_seconds")) == read_at);
  for (const auto* what : {"agreed", "powered", "supply_volts", "supply_amperes",
                           "temperature_celsius", "detector_dbm"}) {
    CAPTURE(what);
    CHECK_FALSE(silent.contains(of(what)));
  }
}

TEST_CASE("an alarm of a line or of a cue is not a node's of the same name") {
  FakeGate gate;
  gate.meet_all();
  auto snapshot = *gate.snapshot();
  const auto& name = snapshot.nodes.front()->name.text;
  std::vector<rack::Alarm> alarms;
  // That of another controller is the line's, as long as the node is not held.
  for (const auto kind :
       {rack::AlarmKind::line_down, rack::AlarmKind::trigger_held, rack::AlarmKind::cue_blocked,
        rack::AlarmKind::other_controller, rack::AlarmKind::passive})
    alarms.push_back({.id = alarms.size() + 1,
                      .kind = kind,
                      .subject = name,
                      .sentence = {},
                      .raised = {},
                      .returned = {},
                      .acknowledged_by = {}});
  snapshot.alarms = std::make_shared<const std::vector<rack::Alarm>>(alarms);
  const auto figures = parse(web::metrics_text(snapshot, {})).samples;
  CHECK(figures.at("catwalk_node_alarms_active{node=\"" + name + "\"}") == 1);
  CHECK(figures.at("catwalk_alarms_active") == 5);
}

TEST_CASE("whatever a name holds stays between the quotes of its label") {
  FakeGate gate;
  gate.meet_all();
  auto snapshot = *gate.snapshot();
  const auto lines_of = [](const std::string& text) { return std::ranges::count(text, '\n'); };
  const auto harmless = web::metrics_text(snapshot, {{{"bus", {{"retries", 3}}}}});
  auto node = *snapshot.nodes.front();
  node.name.text = "a\\\"} 1\ncatwalk_locked 1\n#";
  snapshot.nodes.front() = std::make_shared<const rack::NodeView>(node);
  const auto hostile = web::metrics_text(snapshot, {{{"b\"us\\\n", {{"retries", 3}}}}});
  CHECK(lines_of(hostile) == lines_of(harmless));
  const auto has = [&](const std::string& line) { return hostile.find(line) != std::string::npos; };
  CHECK(has(R"(
catwalk_node_answering{node="a\\\"} 1\ncatwalk_locked 1\n#"} 1
)"));
  CHECK(has(R"(
catwalk_line_retries_total{line="b\"us\\\n"} 3
)"));
  CHECK(has("\ncatwalk_locked 0\n"));
  CHECK_FALSE(has("\ncatwalk_locked 1\n"));
}

TEST_CASE("totals stay exact as far as a double can hold them") {
  FakeGate gate;
  gate.figures = {{"bus", {{"bytes_sent", 123'456'789'012'345}}}};
  const auto metrics = parse(web::metrics_text(*gate.snapshot(), {gate.figures}));
  CHECK(metrics.samples.at("catwalk_line_bytes_sent_total{line=\"bus\"}") == 123'456'789'012'345.0);
}

TEST_CASE("the journal's head, and what could not be written or read, are told") {
  FakeGate gate;
  const std::string hash(64, 'c');
  gate.journal_said = {{4'711, hash}, 3, 2};
  const auto metrics = parse(web::metrics_text(*gate.snapshot(), {{}, {}, gate.journal_figures()}));
  CHECK(metrics.samples.at("catwalk_journal_rows") == 4'711);
  CHECK(metrics.samples.at("catwalk_journal_head_info{row=\"4711\",hash=\"" + hash + "\"}") == 1);
  CHECK(metrics.samples.at("catwalk_journal_records_failed_total") == 3);
  CHECK(metrics.samples.at("catwalk_journal_readings_refused_total") == 2);
}

TEST_CASE("a daemon lives, but is not ready, while nothing can be recorded") {
  FakeGate gate;
  gate.meet_all();
  const auto ask = [&gate](const char* path) {
    const auto answer = web::health({"GET", path, {}, {}, {}}, gate);
    REQUIRE(answer);
    return *answer;
  };
  CHECK(ask("/readyz").status == 200);
  gate.journal_writes = false;
  gate.turn(1, slide_at(4, 518));
  CHECK(ask("/healthz").status == 200);
  const auto not_ready = ask("/readyz");
  CHECK(not_ready.status == 503);
  CHECK(not_ready.body ==
        "The journal cannot be written (the disk is full): no change can be made until it can.\n");
  gate.journal_writes = true;
  gate.now += std::chrono::seconds{2};
  gate.on(rack::TimePassed{});
  CHECK(ask("/readyz").status == 200);
  CHECK_FALSE(web::health({"POST", "/readyz", {}, {}, {}}, gate));
}

TEST_CASE("how long changes took is counted once each, by their fate") {
  FakeGate gate;
  gate.meet_all();
  web::Timings timings{*gate.snapshot()};
  const auto set = [&](double gain) {
    gate.ask(rack::ChangeRequested{.node = {"left"}, .patch = {.gain = rf::Gain::decibels(gain)}},
             [](const rack::Answer&) {});
  };
  const auto& settled = timings.changes().at(rack::ChangeStage::settled);
  set(3);
  timings.look(*gate.snapshot());
  timings.look(*gate.snapshot());
  CHECK(settled.count() == 1);
  const auto& first = gate.snapshot()->changes->back();
  const auto lasted = std::chrono::duration<double>(*first.ended - first.requested).count();
  CHECK(lasted > 0);
  CHECK(settled.sum() == doctest::Approx(lasted));
  // More than one between two looks, and one that is not over.
  set(4);
  set(5);
  gate.hold = true;
  set(6);
  timings.look(*gate.snapshot());
  CHECK(settled.count() == 3);
  gate.now += std::chrono::seconds{20};
  gate.release();
  timings.look(*gate.snapshot());
  CHECK(settled.count() == 4);
  CHECK(settled.up_to(0) == 0);
  const auto up_to = [&](double bound) {
    const auto at = std::ranges::find(web::Durations::bounds, bound);
    return settled.up_to(static_cast<std::size_t>(at - web::Durations::bounds.begin()));
  };
  CHECK(up_to(10.0) == 3);
  CHECK(up_to(30.0) == 4);
  gate.nodes.at(1).refuses = protocol::RefusalReason::gain_out_of_range;
  set(7);
  timings.look(*gate.snapshot());
  CHECK(timings.changes().at(rack::ChangeStage::failed).count() == 1);
  CHECK(settled.count() == 4);
  // Whoever comes later counts from then on.
  CHECK(web::Timings{*gate.snapshot()}.changes().at(rack::ChangeStage::settled).count() == 0);
}

TEST_CASE("durations are a histogram: buckets that add up, their sum and their count") {
  FakeGate gate;
  gate.meet_all();
  web::Figures figures;
  figures.panel_side.timings.emplace(*gate.snapshot());
  gate.ask(rack::ChangeRequested{.node = {"left"}, .patch = {.gain = rf::Gain::decibels(3)}},
           [](const rack::Answer&) {});
  figures.panel_side.timings->look(*gate.snapshot());
  const auto metrics = parse(web::metrics_text(*gate.snapshot(), figures));
  CHECK(metrics.types.at("catwalk_change_duration_seconds") == "histogram");
  const auto of = [&](const std::string& what) { return metrics.samples.at("catwalk_" + what); };
  double before = 0;
  for (const auto* bound : {"0.01", "0.025", "0.05", "0.1", "0.25", "0.5", "1.0", "2.5", "5.0",
                            "10.0", "30.0", "60.0", "120.0", "300.0", "+Inf"}) {
    const auto count =
        of("change_duration_seconds_bucket{outcome=\"settled\",le=\"" + std::string{bound} + "\"}");
    CHECK(count >= before);
    before = count;
  }
  CHECK(before == 1);
  CHECK(of(R"(change_duration_seconds_count{outcome="settled"})") == 1);
  CHECK(of(R"(change_duration_seconds_sum{outcome="settled"})") > 0);
  for (const std::string none : {"failed", "unreachable"})
    CHECK(of("change_duration_seconds_count{outcome=\"" + none + "\"}") == 0);
  for (const std::string none : {"done", "rolled-back", "stuck"})
    CHECK(of("switch_duration_seconds_count{outcome=\"" + none + "\"}") == 0);
}

TEST_CASE(
    "the panel side tells of its doors, its feed, its certificate, the build and the process") {
  FakeGate gate;
  web::Figures figures;
  auto& side = figures.panel_side;
  side.logins = 5;
  side.logins_refused = 2;
  side.panels_patches = 7;
  side.reloads_refused = 1;
  side.version = "0.1.0";
  side.commit = "0123456789ab";
  auto samples = parse(web::metrics_text(*gate.snapshot(), figures)).samples;
  CHECK(samples.at(R"(catwalk_logins_total{outcome="done"})") == 5);
  CHECK(samples.at(R"(catwalk_logins_total{outcome="refused"})") == 2);
  CHECK(samples.at(R"(catwalk_feed_panels{nodes="patches"})") == 7);
  CHECK(samples.at(R"(catwalk_feed_panels{nodes="whole"})") == 0);
  CHECK(samples.at(R"(catwalk_reloads_total{outcome="taken"})") == 0);
  CHECK(samples.at(R"(catwalk_reloads_total{outcome="refused"})") == 1);
  CHECK(samples.at(R"(catwalk_build_info{version="0.1.0",commit="0123456789ab"})") == 1);
  CHECK_FALSE(samples.contains("catwalk_certificate_end_timestamp_seconds"));
  side.certificate_ends = std::chrono::sys_seconds{std::chrono::seconds{1'800'000'000}};
  side.process = {12.5, 3e7, 4e7, 20, 4096, 9, 1'796'000'000};
  samples = parse(web::metrics_text(*gate.snapshot(), figures)).samples;
  CHECK(samples.at("catwalk_certificate_end_timestamp_seconds") == 1'800'000'000);
  CHECK(samples.at("process_cpu_seconds_total") == 12.5);
  CHECK(samples.at("process_resident_memory_bytes") == 3e7);
  CHECK(samples.at("process_open_fds") == 20);
  CHECK(samples.at("process_start_time_seconds") == 1'796'000'000);
}

// The specification of OpenMetrics, version 1.0.0: families of counters and infos are named without
// their ends, and the text says that it is whole.
TEST_CASE("whoever asks for OpenMetrics is given it, and others the older format") {
  FakeGate gate;
  gate.meet_all();
  gate.journal_said = {{4'711, std::string(64, 'c')}, 3, 2};
  const auto ask = [&](const std::string& accept) {
    web::HttpRequest request{"GET", "/metrics", {}, {}, {}};
    if (!accept.empty()) request.headers.emplace("accept", accept);
    REQUIRE(web::asks_for_metrics(request));
    web::PanelSideFigures side;
    side.version = "0.1.0";
    side.commit = "unknown";
    side.timings.emplace(*gate.snapshot());
    return web::metrics(request, gate, side);
  };
  const std::string open_metrics = "application/openmetrics-text; version=1.0.0; charset=utf-8";
  const std::string older = "text/plain; version=0.0.4; charset=utf-8";
  for (const auto* accept :
       {"application/openmetrics-text",
        "application/openmetrics-text;version=1.0.0;q=0.5,application/openmetrics-text;"
        "version=0.0.1;q=0.4,text/plain;version=0.0.4;q=0.3,*/*;q=0.2"}) {
    CAPTURE(accept);
    const auto answer = ask(accept);
    CHECK(answer.content_type == open_metrics);
    CHECK(answer.body.ends_with("\n# EOF\n"));
    const auto has = [&](const std::string& text) {
      return answer.body.find(text) != std::string::npos;
    };
    CHECK(
        has("# TYPE catwalk_journal_records_failed counter\n"
            "catwalk_journal_records_failed_total 3\n"));
    CHECK(has("# TYPE catwalk_build info\ncatwalk_build_info{version=\"0.1.0\""));
    CHECK(has("# TYPE catwalk_journal_head info\ncatwalk_journal_head_info{row=\"4711\""));
    CHECK(has("# TYPE catwalk_change_duration_seconds histogram\n"));
    // Counters' samples do end in _total, their families do not.
    CHECK_FALSE(std::regex_search(answer.body, std::regex{"# (TYPE|HELP) [a-z_]+_(total|info) "}));
  }
  for (const auto* accept : {"", "*/*", "text/plain", "application/openmetrics-text;q=0",
                             "text/plain, application/openmetrics-text;q=0.5", "text/html"}) {
    CAPTURE(accept);
    const auto answer = ask(accept);
    CHECK(answer.content_type == older);
    CHECK(parse(answer.body).samples.at("catwalk_journal_rows") == 4'711);
  }
  CHECK_FALSE(web::asks_for_metrics({"POST", "/metrics", {}, {}, {}}));
}

TEST_CASE("what a client would rather have is read as RFC 9110 says") {
  const auto* list = "text/*;q=0.3, text/html;q=0.7, text/html;level=1, */*;q=0.5, x/y;q=oh";
  CHECK(web::weight_of(list, "text/html") == 1);
  CHECK(web::weight_of(list, "text/plain") == 0.3);
  CHECK(web::weight_of(list, "image/png") == 0.5);
  CHECK(web::weight_of(list, "x/y") == 0);
  CHECK(web::weight_of("", "x/y") == 1);
  CHECK(web::weight_of("TEXT/HTML ; Q=0.25", "text/html") == 0.25);
  CHECK(web::weight_of("text/html", "x/y") == 0);
  CHECK(web::names_type(list, "text/html"));
  CHECK_FALSE(web::names_type(list, "text/plain"));
}
