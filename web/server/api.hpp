// SPDX-License-Identifier: Apache-2.0
#pragma once
// The REST API: one request in, one response out, through the gate. Knows no sockets.
// openapi.json describes every route; tests hold the two against each other.

#include <cstddef>
#include <deque>
#include <functional>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "daemon/rack/outlook/recommend.hpp"
#include "web/server/gate.hpp"
#include "web/server/http.hpp"
#include "web/server/render.hpp"
#include "web/server/spectra.hpp"

namespace catwalk::web {

// How that is done which takes long.
struct LongWork {
  // Runs `work` anywhere, and hands what it returns to `respond` on the caller's thread. False: too
  // much waits already, and neither is called.
  using Run = std::function<bool(std::function<HttpResponse()> work, Respond respond)>;
  Run soon;        // a second or less, which somebody waits for
  Run at_leisure;  // many seconds, perhaps; never in the way of anything else
  rack::ForEach for_each;
  std::function<bool()> going_on = [] { return true; };  // false: the daemon is about to end

  // Here and now.
  static LongWork at_once();
};

// Who has a table or a report made, which takes memory before it is sent: each asker a few at a
// time, and all together not many. For one thread.
class Makers {
 public:
  static constexpr std::size_t most = 4;
  static constexpr std::size_t most_of_one = 2;

  // Counts until its last copy is gone. Null: too many are being made now.
  using Place = std::shared_ptr<const std::string>;
  Place begin(const std::string& asker);

 private:
  std::shared_ptr<std::multiset<std::string>> busy_ =
      std::make_shared<std::multiset<std::string>>();
};

// For one thread. The gate must outlive it.
class Api {
 public:
  using WallClock = std::function<rack::TimePoint()>;
  Api(Gate& gate, WallClock clock, LongWork long_work = LongWork::at_once());

  // `respond` is called exactly once, now or when the fate is known.
  void handle(const HttpRequest& request, const Caller& caller, Respond respond);

  // "GET /nodes/{node}": every route, as the OpenAPI document writes it.
  static std::vector<std::string> route_names();

  // One request on its way through a route (api_call.hpp).
  struct Call;

 private:
  struct Route;
  static const std::vector<Route>& routes();

  // Answers by Idempotency-Key: the same key gets the same answer, and acts once.
  struct Kept {
    std::string fingerprint;
    std::optional<HttpResponse> response;
    std::vector<Respond> waiting;
  };
  bool replay(const HttpRequest& request, const Caller& caller, Respond& respond);

  void get_node(const Call& call);
  void get_wanted(const Call& call);
  void patch_wanted(const Call& call);
  void adopt(const Call& call);
  void reapply(const Call& call);
  void locate(const Call& call);
  void store(const Call& call);
  void reclaim(const Call& call);
  void get_rack(const Call& call);
  void lock(const Call& call);
  void unlock(const Call& call);
  void choose_segment(const Call& call);
  void take_over(const Call& call);
  void preview_reapply(const Call& call);
  void reapply_drifted(const Call& call);
  void reload(const Call& call);
  void arm_reload(const Call& call);
  void list_nodes(const Call& call);
  void list_segments(const Call& call);
  void get_segment(const Call& call);
  void list_lines(const Call& call);
  void get_line(const Call& call);
  void discover(const Call& call);
  void locate_found(const Call& call);
  void list_alarms(const Call& call);
  void acknowledge(const Call& call);
  void acknowledge_many(const Call& call);
  void shelve(const Call& call);
  void unshelve(const Call& call);
  void list_changes(const Call& call);
  void get_change(const Call& call);
  void list_journal(const Call& call);
  void journal_table(const Call& call);
  void report(const Call& call);
  void get_openapi(const Call& call);
  void explain_node(const Call& call);
  void recommend_node(const Call& call);
  void recommend_segment(const Call& call);
  void check_segment(const Call& call);
  // Whether somebody waits for the answer, and the daemon goes on.
  rack::StillWanted still_wanted(const Call& call) const;
  void what_if(const Call& call);
  void get_allowed(const Call& call);
  void get_response(const Call& call);
  void get_spectrum(const Call& call);
  void get_order(const Call& call);
  void get_switch(const Call& call);
  void preview_segment(const Call& call);
  void get_crew_sheet(const Call& call);
  void tick(const Call& call);
  void untick(const Call& call);
  void tick_rows(const Call& call, bool done);
  void go(const Call& call);
  void abort_switch(const Call& call);
  void arm(const Call& call);
  void disarm(const Call& call);
  void message(const Call& call);

  void compute(const Call& call, const LongWork::Run& run, std::function<HttpResponse()> work);
  void change(const Call& call, rack::Event event);
  void act(const Call& call, rack::Event event);
  void act_on_alarm(const Call& call, rack::Event event);

  static constexpr std::size_t keys_kept = 512;
  Gate& gate_;
  WallClock clock_;
  LongWork long_work_;
  NodeTexts texts_;
  Spectra spectra_;
  Makers makers_;
  std::unordered_map<std::string, Kept> kept_;
  std::deque<std::string> kept_order_;
};

// GET /metrics: Prometheus text format 0.0.4.
std::string metrics_text(const rack::Snapshot& snapshot, const std::vector<LineFigures>& lines,
                         const Totals& show_control, const Totals& doors = {},
                         const JournalFigures& journal = {});

}  // namespace catwalk::web
