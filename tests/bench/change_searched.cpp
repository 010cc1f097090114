// SPDX-License-Identifier: Apache-2.0
// A change, from the request to the answer that it was read back, while sixteen clients search a
// journal of 300,000 rows as fast as they are answered, against the same change alone: a few of
// either, in turns, in one run. Once they look for what no row says, so that every search looks at
// all rows; once they ask for as many rows as they may have.
#include <atomic>
#include <thread>

#include "daemon/store/journal.hpp"
#include "tests/bench/bench.hpp"
#include "tests/bench/raw_change.hpp"
#include "tests/support/raw_socket.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

constexpr int searchers = 16;

void write_rows(const std::filesystem::path& folder, int rows) {
  std::filesystem::create_directories(folder);
  auto journal = store::Journal::open(folder / "journal.sqlite");
  if (!journal) throw std::runtime_error{journal.error().sentence};
  std::vector<rack::Record> batch(1);
  for (int i = 0; i < rows; ++i) {
    auto& entry = batch.front().entries.emplace_back();
    entry.at = rack::TimePoint{std::chrono::seconds{1'780'000'000 + i}};
    entry.kind = i % 2 == 0 ? rack::JournalKind::intent : rack::JournalKind::fate;
    entry.who = "ana";
    entry.node = "node-" + std::to_string(i % 256);
    entry.change = static_cast<rack::ChangeId>(1 + i / 2);
    entry.segment = "speeches";
    entry.what = "gain +0 dB, slide-40 at 585.000 MHz → gain +1 dB";
    entry.why = "the long cable to the left mast";
    entry.verdict = "caution lane-conflict: 470.000 to 600.000 MHz is not all in the window";
    entry.fate = "settled";
    if (batch.front().entries.size() < 10'000 && i + 1 < rows) continue;
    if (const auto trouble = journal.value().keep(batch))
      throw std::runtime_error{trouble->sentence};
    batch.front().entries.clear();
  }
}

// Search as long as it lives, while `on`.
class Searchers {
 public:
  Searchers(std::uint16_t port, const std::string& query) {
    for (int i = 0; i < searchers; ++i)
      threads_.emplace_back([this, port, query] {
        TcpClient client{port};
        while (!end_) {
          on_.wait(false);
          if (end_) return;
          client.say("GET /api/v1/journal?" + query + " HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
          if (client.response().status == 200) ++answered_;
        }
      });
  }
  Searchers(const Searchers&) = delete;
  Searchers& operator=(const Searchers&) = delete;
  ~Searchers() {
    end_ = true;
    search(true);
    for (auto& thread : threads_) thread.join();
  }
  void search(bool on) {
    on_ = on;
    on_.notify_all();
  }
  int answered() const { return answered_; }

 private:
  std::atomic<bool> on_{false};
  std::atomic<bool> end_{false};
  std::atomic<int> answered_{0};
  std::vector<std::thread> threads_;
};

int measure(const BenchOptions& options) {
  Rig rig;
  write_rows(rig.file("state"), options.rounds(300'000, 20'000));
  rig.start_daemon();
  const auto port = rig.daemon_port();
  TcpClient daemon{port};
  auto etag = rig.get("/nodes/net-1/settings").etag;
  int gain = 0;
  const auto change = [&] {
    gain = 1 - gain;
    daemon.say(patch(gain, etag));
    const auto answer = daemon.response();
    etag = answer.header("etag");
    if (answer.status != 200) throw std::runtime_error{"not settled: " + answer.body};
  };
  change();

  int status = 0;
  for (const auto& [name, query] : std::vector<std::pair<std::string, std::string>>{
           {"a change under 16 searches that find nothing", "text=nothing-is-like-this"},
           {"a change under 16 searches that find much", "limit=1000"}}) {
    Searchers all{port, query};
    std::vector<double> alone;
    std::vector<double> searched;
    const auto several = [&](std::vector<double>& times) {
      for (int i = 0; i < 10; ++i) times.push_back(1e6 * time_of(change).count());
    };
    for (int round = 0; round < options.rounds(40, 2); ++round) {
      several(alone);
      all.search(true);
      const int before = all.answered();
      while (all.answered() < before + searchers / 4) std::this_thread::yield();
      several(searched);
      all.search(false);
      // Until the last of them is answered, which takes its turn.
      daemon.say("GET /api/v1/journal?limit=1 HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
      while (daemon.response().status == 503) {
        std::this_thread::sleep_for(std::chrono::milliseconds{10});
        daemon.say("GET /api/v1/journal?limit=1 HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
      }
    }
    status |= judge(name, {"under searches", searched}, {"alone", alone}, 2.0, "us", options);
    tell("99th percentile under searches", quantile(searched, 0.99), "us");
    tell("searches answered", all.answered());
  }
  return status;
}

}  // namespace

int main(int argc, char** argv) { return run_bench(argc, argv, measure); }
