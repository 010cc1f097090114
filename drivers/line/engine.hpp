// SPDX-License-Identifier: Apache-2.0
#pragma once
// What the two engines share. An engine is a line without its device: no socket, no clock, no
// thread. The caller hands it bytes and the time, sends what it wants sent, and wakes it at its
// deadline. The same inputs always give the same outputs.

#include <chrono>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "daemon/base/endpoint.hpp"
#include "drivers/line/line.hpp"
#include "protocol/bytes.hpp"
#include "protocol/datagram.hpp"
#include "protocol/message.hpp"

namespace catwalk::drivers {

using Micros = std::chrono::microseconds;

// As a node says how long to wait.
constexpr Micros tens_of_ms(std::uint8_t count) { return Micros{10'000} * count; }

// What an engine wants done; taken with take(), which leaves it empty.
struct Transmission {
  protocol::Bytes bytes;
  Endpoint to;  // datagrams only
};
struct Output {
  std::vector<Transmission> send;
  std::vector<Notice> notices;
};

// How long an answer takes over the time its bytes need: smoothed, with its variation, after
// RFC 6298, section 2. Until something was measured, the longest.
class LatencyEstimate {
 public:
  LatencyEstimate(Micros shortest, Micros longest) : shortest_{shortest}, longest_{longest} {}

  void measured(Micros latency);
  // What to wait before an answer counts as missing. Within shortest and longest.
  Micros patience() const;

 private:
  Micros shortest_;
  Micros longest_;
  Micros mean_{0};
  Micros variation_{0};
  bool any_ = false;
};

// Pauses between attempts at something that fails: the first, then twice that, up to the last.
//   1, 2, 4, 8, 8, 8 … s          and after success again from the first
class Backoff {
 public:
  Backoff(Micros first, Micros last) : first_{first}, last_{last}, next_{first} {}

  Micros next();
  void succeeded() { next_ = first_; }

 private:
  Micros first_;
  Micros last_;
  Micros next_;
};

// A node that has restarted is asked at once who it is. One that says so again and again, by its
// boots or its session, is asked no more often than it is polled anyway.
class Restarts {
 public:
  static constexpr Micros apart{1'000'000};

  // One more. When to ask, if it would be asked at `due` anyway.
  TimePoint told(TimePoint now, TimePoint due) {
    const bool first_in_a_while = !last_ || now >= *last_ + apart;
    last_ = now;
    return first_in_a_while ? now : due;
  }

 private:
  std::optional<TimePoint> last_;
};

// A node may put one question off, or one command, by saying Wait; but not for ever: one that only
// ever says that is as good as silent.
class Deferral {
 public:
  // Sets when to come `again`. False: that is more than `longest` after the first Wait.
  bool put_off(const protocol::Wait& wait, TimePoint now, Micros longest, TimePoint& again);
  // It was answered, or will not be asked any more.
  void over() { until_.reset(); }

 private:
  std::optional<TimePoint> until_;
};

// Holds back what comes too often: the first of each interval passes at once, of the others the
// newest when the interval is over, which the caller keeps. Whoever sends `too_many` in one span
// babbles, and has longer intervals, until a whole span was calm.
//   at 0 ms passes, 20 is held, 70 replaces it and passes at 100, 180 is held until 200 …
class Brake {
 public:
  static constexpr Micros interval{100'000};
  static constexpr Micros babbling_interval{1'000'000};
  static constexpr Micros span{5'000'000};
  static constexpr std::uint32_t too_many = 100;  // 20 a second

  // One more has come. True: it passes now.
  bool pass(TimePoint now);
  // What was held back may pass from then on.
  TimePoint opens() const { return opens_; }
  // It passes now; the next has to wait.
  void passed(TimePoint now) { opens_ = now + (babbles_ ? babbling_interval : interval); }

  // Changes in pass() and, when nothing comes any more, in calm_down().
  bool babbles() const { return babbles_; }
  // When to come with calm_down(); nothing: it is calm.
  std::optional<TimePoint> calm_at() const;
  void calm_down(TimePoint now);

 private:
  void close_span(TimePoint now);
  TimePoint opens_;
  TimePoint span_began_;
  std::uint32_t came_ = 0;
  bool babbles_ = false;
};

// That another controller is still there is said this often.
constexpr Micros between_hearings{5'000'000};
constexpr std::string_view other_on_line = "another controller speaks on the line";

// So many in a second, and no more: what one datagram costs, a flood must not cost at every one.
class Allowance {
 public:
  explicit Allowance(std::uint32_t most) : most_{most} {}

  // One more. False: it is one too many.
  bool take(TimePoint now);

 private:
  std::uint32_t most_;
  std::uint32_t taken_ = 0;
  TimePoint began_;
};

// A reclaim with its proof for the node as it is now; any other request as it was.
protocol::Request proved(const protocol::Request& request, protocol::NodeUid node,
                         std::uint32_t boots, const std::optional<protocol::Key>& key);

// Is this a reply that may come to this request?
bool answers(const protocol::Reply& reply, const protocol::Request& request);

}  // namespace catwalk::drivers
