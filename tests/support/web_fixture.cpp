// SPDX-License-Identifier: Apache-2.0
#include "tests/support/web_fixture.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/support/json_schema.hpp"
#include "tests/support/matrix_rack.hpp"
#include "web/server/http/embedded.hpp"

namespace catwalk::test {
namespace {

constexpr std::string_view root = "/api/v1";

plan::MatrixSettings first_set(const plan::MatrixSheet& sheet) {
  auto settings = sheet.nothing_set();
  for (std::size_t i = 0; i < std::min(sheet.inputs, sheet.outputs); ++i)
    settings.outputs[i] = {i + 1};
  if (sheet.supply)
    for (auto& input : settings.inputs) input.supply_mv = sheet.supply->millivolts.back();
  return settings;
}

protocol::MatrixState said_by(const FakeGate::FakeMatrix& matrix) {
  auto state = state_of(matrix.in_force);
  state.reading.telemetry.powered = matrix.supplied;
  return state;
}

// The store's own reading of a query is tested with the store.
bool asks_for(const rack::JournalQuery& query, const rack::StoredEntry& row) {
  const auto& entry = row.entry;
  return (!query.node || *query.node == entry.node) &&
         (!query.kind || *query.kind == rack::name_of(entry.kind)) &&
         (!query.who || *query.who == entry.who) &&
         (!query.before || row.sequence < *query.before) &&
         (!query.from || *query.from <= entry.at) && (!query.to || entry.at < *query.to);
}

}  // namespace

FakeGate::FakeGate(plan::RackPlan plan)
    // Something has been on the air before, so that alarms are alarms of the show.
    : core_{std::make_shared<const plan::RackPlan>(std::move(plan)),
            {.epoch = {1}, .reached = {{"rehearsal", now}}},
            now} {
  for (const auto& node : snapshot()->plan->nodes) nodes[node.uid.bits()] = {};
  for (const auto& matrix : snapshot()->plan->matrices)
    if (matrix.on_line) matrices[matrix.on_line->uid.bits()].in_force = first_set(*matrix.sheet);
}

void FakeGate::ask(rack::Event request, Answered answered, Until until) {
  const auto id = ++last_request_;
  std::visit(
      [id](auto& event) {
        if constexpr (requires { event.request; }) event.request = id;
      },
      request);
  waiting_.emplace(id, Waiting{std::move(answered), until});
  on(request);
}

void FakeGate::read_journal(rack::JournalQuery query, Render render, Page page) {
  last_query = query;
  ++readings;
  if (!journal_reads) return page(Failure{rack::Unread::failed});
  if (journal_is_busy && !query.goes_on) return page(Failure{rack::Unread::too_many_wait});
  if (journal_holds) {
    readings_held.emplace_back([this, query, render, page] {
      journal_holds = false;
      read_journal(query, render, page);
      journal_holds = true;
    });
    return;
  }
  JournalText read;
  auto& found = read.page;
  std::size_t looked_at = 0;
  for (auto row = journal.rbegin(); row != journal.rend() && found.rows.size() < query.limit;
       ++row) {
    if (query.before && row->sequence >= *query.before) continue;
    if (looked_at++ == rows_of_a_reading) {
      found.looked_down_to = row->sequence + 1;
      break;
    }
    if (asks_for(query, *row)) found.rows.push_back(*row);
  }
  if (render) read.text = render(found.rows);
  page(std::move(read));
}

void FakeGate::on(const rack::Event& event) {
  events_.push_back(event);
  if (running_) return;
  running_ = true;
  while (!events_.empty()) {
    const auto next = std::move(events_.front());
    events_.pop_front();
    now += std::chrono::milliseconds{10};
    for (const auto& effect : core_.on(next, now)) carry_out(effect);
  }
  running_ = false;
}

void FakeGate::carry_out(const rack::Effect& effect) {
  if (const auto* respond = std::get_if<rack::Respond>(&effect)) {
    const auto found = waiting_.find(respond->request);
    if (found == waiting_.end()) return;  // the fate of a change that was answered when accepted
    if (respond->answer.outcome == rack::Outcome::accepted && found->second.until == Until::fate)
      return;
    const auto answered = std::move(found->second.answered);
    waiting_.erase(found);
    answered(respond->answer);
  } else if (const auto* send = std::get_if<rack::Send>(&effect)) {
    sent.push_back(*send);
    if (hold)
      held_.push_back(*send);
    else
      answer(*send);
  } else if (const auto* record = std::get_if<rack::Record>(&effect)) {
    if (journal_writes) {
      for (const auto& entry : record->entries) journal.push_back({journal.size() + 1, entry});
      on(rack::Recorded{record->id});
    } else {
      on(rack::RecordFailed{record->id, "the disk is full"});
    }
  } else if (const auto* search = std::get_if<rack::Search>(&effect)) {
    on(rack::NodeDiscovered{
        search->line, uid(1), {4}, protocol::Identity{uid(1), {4}, 1, 0x0102, "tern-inline"}});
    on(rack::NodeDiscovered{search->line,
                            uid(77),
                            protocol::Address::unassigned(),
                            {},
                            "192.0.2.7:7010",
                            "It has no address yet."});
    on(rack::DiscoveryEnded{search->line, "one branch gave no clean answer"});
  } else if (const auto* way = std::get_if<rack::PlanWay>(&effect)) {
    on(rack::WayPlanned{way->id, rack::plan_way(way->question)});
  }
}

void FakeGate::answer(const rack::Send& send) {
  if (send.node == protocol::NodeUid::everyone()) {
    for (const auto& planned : snapshot()->plan->nodes)
      if (auto& each = nodes.at(planned.uid.bits()); planned.line == send.line)
        each.in_force = each.staged;
    for (const auto& planned : snapshot()->plan->matrices)
      if (planned.on_line && planned.on_line->line == send.line)
        if (auto& each = matrices.at(planned.on_line->uid.bits()); !each.staged.outputs.empty())
          each.in_force = each.staged;
    return on(rack::CommandAnswered{send.command, protocol::Done{}});
  }
  if (const auto matrix = matrices.find(send.node.bits()); matrix != matrices.end())
    return answer(send, matrix->second);
  auto& node = nodes.at(send.node.bits());
  if (!node.answers) return on(rack::CommandFailed{send.command, protocol::Fault::timed_out});
  const auto reply = [&](protocol::Answer what) {
    on(rack::CommandAnswered{send.command, std::move(what)});
  };
  if (std::holds_alternative<protocol::Read>(send.request)) return reply(reading_of(node.in_force));
  if (node.refuses) return reply(protocol::Refusal{*node.refuses, 0});
  if (const auto* stage = std::get_if<protocol::Stage>(&send.request))
    node.staged = rack::from_wire(stage->settings);
  if (std::holds_alternative<protocol::Apply>(send.request) && node.takes_what_it_is_given)
    node.in_force = node.staged;
  reply(protocol::Done{});
}

void FakeGate::answer(const rack::Send& send, FakeMatrix& matrix) {
  if (!matrix.answers) return on(rack::CommandFailed{send.command, protocol::Fault::timed_out});
  const auto reply = [&](protocol::Answer what) {
    on(rack::CommandAnswered{send.command, std::move(what)});
  };
  if (std::holds_alternative<protocol::Read>(send.request)) return reply(said_by(matrix));
  if (matrix.refuses) return reply(protocol::Refusal{*matrix.refuses, 0});
  if (const auto* stage = std::get_if<protocol::StageMatrix>(&send.request))
    matrix.staged = rack::from_wire(stage->settings);
  if (std::holds_alternative<protocol::Apply>(send.request) && matrix.takes_what_it_is_given)
    matrix.in_force = matrix.staged;
  reply(protocol::Done{});
}

void FakeGate::meet_all() {
  for (const auto& line : snapshot()->plan->lines) on(rack::LineWentUp{line});
  for (const auto& [bits, matrix] : matrices) on(rack::NodeReported{uid(bits), said_by(matrix)});
  for (const auto& [bits, node] : nodes)
    on(rack::NodeReported{uid(bits), reading_of(node.in_force)});
}

void FakeGate::turn(std::uint64_t node, const plan::Settings& settings) {
  nodes.at(node).in_force = settings;
  on(rack::NodeReported{uid(node), reading_of(settings)});
}

void FakeGate::turn(std::uint64_t matrix, const plan::MatrixSettings& settings) {
  auto& its = matrices.at(matrix);
  its.in_force = settings;
  on(rack::NodeReported{uid(matrix), said_by(its)});
}

void FakeGate::release() {
  hold = false;
  auto held = std::move(held_);
  held_.clear();
  for (const auto& send : held) answer(send);
}

const Json& openapi() {
  static const Json document = Json::parse(web::embedded::openapi_json);
  return document;
}

std::string described_path(const std::string& path) {
  if (!path.starts_with(root)) return {};
  const auto parts = web::path_parts(path.substr(root.size()));
  for (const auto& [pattern, ignored] : openapi().at("paths").items()) {
    const auto wanted = web::path_parts(pattern);
    if (std::ranges::equal(wanted, parts, [](const std::string& want, const std::string& part) {
          return want.front() == '{' || want == part;
        }))
      return pattern;
  }
  return {};
}

WebBench::WebBench(plan::RackPlan plan, web::LongWork long_work)
    : gate{std::move(plan)}, api{gate, [this] { return gate.now; }, std::move(long_work)} {
  gate.meet_all();
}

std::vector<Called>& WebBench::begin(const std::string& method, const std::string& target,
                                     const std::string& body, const Headers& headers,
                                     web::Role role) {
  const auto parsed = web::parse_target(std::string{root} + target);
  REQUIRE(parsed);
  const web::HttpRequest request{method, parsed->path, parsed->query, headers, body};
  auto& answers = answers_.emplace_back();
  api.handle(request, {"ana", role}, [this, &answers, method, path = parsed->path](auto response) {
    Called called;
    called.status = response.status;
    called.type = response.content_type;
    if (const std::string text{response.content()}; !text.empty())
      called.body = called.type.find("json") == std::string::npos ? Json(text) : Json::parse(text);
    for (const auto& [name, value] : response.headers) called.headers.emplace(name, value);
    hold_against_document(method, path, called);
    answers.push_back(std::move(called));
  });
  return answers;
}

Called WebBench::call(const std::string& method, const std::string& target, const std::string& body,
                      const Headers& headers, web::Role role) {
  const auto& answers = begin(method, target, body, headers, role);
  REQUIRE(answers.size() == 1);
  return answers.front();
}

std::string WebBench::etag(const std::string& node) {
  return call("GET", "/nodes/" + node + "/settings").header("ETag");
}

Called WebBench::set(const std::string& node, const Json& patch, Headers headers) {
  headers.emplace("if-match", etag(node));
  return call("PATCH", "/nodes/" + node + "/settings", patch.dump(), headers);
}

void WebBench::hold_against_document(const std::string& method, const std::string& path,
                                     const Called& called) {
  auto verb = method;
  std::ranges::transform(verb, verb.begin(), [](char c) {
    return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  });
  const auto pattern = described_path(path);
  CAPTURE(method);
  CAPTURE(path);
  CAPTURE(called.status);
  if (pattern.empty() || !openapi().at("paths").at(pattern).contains(verb)) {
    // Nothing that is not in the document may be answered as if it were there.
    CHECK((called.status == 404 || called.status == 405));
    return;
  }
  const auto& responses = openapi().at("paths").at(pattern).at(verb).at("responses");
  const auto status = std::to_string(called.status);
  statuses_seen.insert(method + ' ' + pattern + ' ' + status);
  REQUIRE_MESSAGE(responses.contains(status), "status ", status,
                  " is not in the document: ", called.body.dump());
  const JsonSchema schema{openapi()};
  const auto& response = schema.resolved(responses.at(status));
  if (!response.contains("content")) {
    CHECK(called.body.is_null());
    return;
  }
  const auto media = called.type.substr(0, called.type.find(';'));
  REQUIRE(response.at("content").contains(media));
  const auto faults = schema.faults(response.at("content").at(media).at("schema"), called.body);
  CHECK_MESSAGE(faults.empty(), (faults.empty() ? std::string{} : faults.front()));
}

}  // namespace catwalk::test
