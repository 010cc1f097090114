// SPDX-License-Identifier: Apache-2.0
#pragma once
// Finding nodes whose addresses nobody knows, on a line where answers collide: the method of
// ANSI E1.20 (discovery by bisection of unique ids, and muting of the found).
//
// The branches are those of the mixed uid, not of the uid: serial numbers from one production run
// share their leading bits, and would collide all the way down.

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "protocol/message.hpp"
#include "protocol/values.hpp"

namespace catwalk::protocol {

// An invertible mix of 48 bits, given step by step in PROTOCOL.md, section 7.
std::uint64_t mixed(NodeUid uid);
NodeUid unmixed(std::uint64_t mixed);

// Does the mixed uid begin with this prefix?
bool matches(const Find& find, NodeUid uid);

// The search as a state machine without a clock or a line: do what next() says, tell what came of
// it, repeat. Bounded: it ends after most_questions at the latest.
class Bisection {
 public:
  static constexpr std::size_t most_questions = 8000;

  struct Finished {
    std::string trouble;  // empty: the search was complete
  };
  // Unmute: broadcast it, nobody answers; then call done(). Find: call silence(), found() or
  // collision(). Mute: call done() when answered, silence() when it never was.
  using Step = std::variant<Unmute, Find, Mute, Finished>;

  Bisection();

  const Step& next() const { return step_; }

  void done();
  void silence();
  void found(const Found& answer);
  // Bytes came that are no answer: several nodes spoke at once, or noise.
  void collision();

  const std::vector<Found>& nodes() const { return nodes_; }
  std::size_t questions() const { return questions_; }

 private:
  void ask_top();
  void split_top();
  bool is_known(NodeUid uid) const;
  void finish();

  std::vector<Find> branches_;  // still to be asked, the next at the back
  std::vector<Found> nodes_;
  std::string trouble_;
  Step step_;
  std::size_t questions_ = 0;
  int stubborn_ = 0;      // answers in a row from a node that was muted already
  int quiet_rounds_ = 0;  // times the whole line was silent in the end
};

}  // namespace catwalk::protocol
