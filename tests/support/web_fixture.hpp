// SPDX-License-Identifier: Apache-2.0
#pragma once
// The panel side without threads, sockets or clocks: a gate to a real core, whose nodes and journal
// are in the test's hand, and the API in front of it. Every answer of the API is held against the
// OpenAPI document as it passes.

#include <deque>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "daemon/rack/core/core.hpp"
#include "tests/support/rack_fixture.hpp"
#include "web/server/api/api.hpp"
#include "web/server/api/gate.hpp"

namespace catwalk::test {

using Json = nlohmann::json;

class FakeGate : public web::Gate {
 public:
  explicit FakeGate(plan::RackPlan plan = small_rack());

  rack::SnapshotPtr snapshot() const override { return core_.snapshot(); }
  using Gate::ask;
  void ask(rack::Event request, Answered answered, Until until) override;
  void read_journal(rack::JournalQuery query, Render render, Page page) override;
  web::JournalFigures journal_figures() const override { return journal_said; }
  std::vector<web::LineFigures> line_figures() const override { return figures; }
  void reload(std::string, Reloaded reloaded) override { reloaded(not_taken); }

  // Something happens at the field side, and all that follows from it.
  void on(const rack::Event& event);
  // Every line is up and every node is read for the first time.
  void meet_all();
  // Somebody turns knobs at the node, and it is read.
  void turn(std::uint64_t node, const plan::Settings& settings);
  // The same at a matrix.
  void turn(std::uint64_t matrix, const plan::MatrixSettings& settings);
  // What waits at the lines is answered now, and all that follows from it.
  void release();

  struct FakeNode {
    plan::Settings in_force = slide_at(0, 518);
    plan::Settings staged = {};
    std::optional<protocol::RefusalReason> refuses = {};
    bool answers = true;
    bool takes_what_it_is_given = true;  // false: applies nothing, and says it is done
  };
  std::map<std::uint64_t, FakeNode> nodes;  // by uid: all of the plan's
  // At first each output takes the input of its number, and every input feeds the most that it can.
  struct FakeMatrix {
    plan::MatrixSettings in_force;
    plan::MatrixSettings staged = {};
    std::optional<protocol::RefusalReason> refuses = {};
    bool answers = true;
    bool takes_what_it_is_given = true;
    bool supplied = true;
  };
  std::map<std::uint64_t, FakeMatrix> matrices;  // by uid: those of the plan that hang on lines
  bool journal_writes = true;
  bool journal_reads = true;
  bool journal_is_busy = false;  // too many readings wait
  bool journal_holds = false;    // readings wait in `readings_held`
  std::vector<std::function<void()>> readings_held;
  std::size_t rows_of_a_reading = 1'000'000;  // that one may look at
  int readings = 0;
  web::JournalFigures journal_said;
  bool hold = false;  // commands wait for release()
  std::vector<rack::Send> sent;
  std::vector<rack::StoredEntry> journal;
  std::optional<rack::JournalQuery> last_query;
  std::vector<web::LineFigures> figures;
  web::NotTaken not_taken;  // when the files are read again
  rack::TimePoint now{std::chrono::sys_days{std::chrono::year{2026} / 8 / 14}};

 private:
  void carry_out(const rack::Effect& effect);
  void answer(const rack::Send& send);
  void answer(const rack::Send& send, FakeMatrix& matrix);

  rack::Core core_;
  rack::RequestId last_request_ = 0;
  struct Waiting {
    Answered answered;
    Until until = Until::fate;
  };
  std::map<rack::RequestId, Waiting> waiting_;
  std::vector<rack::Send> held_;
  std::deque<rack::Event> events_;
  bool running_ = false;
};

// What a call came to.
struct Called {
  int status = 0;
  std::string type;
  Json body;  // of what is no JSON the text
  std::multimap<std::string, std::string> headers;
  std::string header(const std::string& name) const {
    const auto found = headers.find(name);
    return found == headers.end() ? std::string{} : found->second;
  }
  std::string text(const char* member) const { return body.value(member, std::string{}); }
};

using Headers = std::map<std::string, std::string>;  // names in lower case

class WebBench {
 public:
  explicit WebBench(plan::RackPlan plan = small_rack(),
                    web::LongWork long_work = web::LongWork::at_once());

  // The answers so far to a request that may still wait for its fate.
  std::vector<Called>& begin(const std::string& method, const std::string& target,
                             const std::string& body = {}, const Headers& headers = {},
                             web::Role role = web::Role::engineer);
  // The answer, which must be there at once.
  Called call(const std::string& method, const std::string& target, const std::string& body = {},
              const Headers& headers = {}, web::Role role = web::Role::engineer);
  // Changes a node's settings from the revision they have now.
  Called set(const std::string& node, const Json& patch, Headers headers = {});
  std::string etag(const std::string& node);

  FakeGate gate;
  web::Api api;
  std::set<std::string> statuses_seen;  // "GET /nodes/{node} 200"

 private:
  void hold_against_document(const std::string& method, const std::string& path,
                             const Called& called);

  std::deque<std::vector<Called>> answers_;  // a deque, since callers keep references
};

const Json& openapi();
// "/nodes/{node}" for "/api/v1/nodes/left"; empty: the document has no such path.
std::string described_path(const std::string& path);

inline const std::string left = "/nodes/left/settings";

}  // namespace catwalk::test
