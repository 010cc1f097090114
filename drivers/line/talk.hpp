// SPDX-License-Identifier: Apache-2.0
#pragma once
// A question or a command as a line carries it: one packet and its answer, or several that belong
// together, since the settings of a matrix do not fit into one. Knows no line and no time.
//
//   stage, matrix    stage_part 0 … n − 1, then Done
//   read             Reading
//   read, matrix     matrix_reading, then the parts of its settings if they are not known, then
//                    those of its inputs, then MatrixState
//   any other        its answer

#include <cstdint>
#include <memory>
#include <optional>

#include "protocol/parts.hpp"
#include "protocol/whole.hpp"

namespace catwalk::drivers {

// The settings of a matrix as they were read last, and what tells whether they are those still.
struct KnownMatrix {
  std::uint32_t boots = 0;
  std::uint16_t number = 0;
  std::shared_ptr<const protocol::MatrixSettings> settings;  // null: not known
  int readings = 0;                                          // since they were read

  // So many at most: a unit with bad memory may have said nonsense once, and tells the same number.
  static constexpr int most_readings = 10;
};

class Talk {
 public:
  explicit Talk(protocol::Ask ask, KnownMatrix known = {});

  const protocol::Ask& ask() const { return ask_; }
  // What is to be said now.
  const protocol::Request& request() const { return request_; }
  // Takes what came of it: the answer to the whole. Nothing: request() is to be said next.
  // Preconditions: it answers request(), and is no Wait.
  std::optional<protocol::Answer> heard(const protocol::Reply& reply);
  // Of a matrix that was read whole.
  const KnownMatrix& known() const { return known_; }

 private:
  std::optional<protocol::Answer> heard_part(const protocol::Part& part);
  std::optional<protocol::Answer> settings_came();
  void say_staged_part(std::uint8_t part);
  void read(protocol::PartsOf of);
  void begin_to_read(const protocol::MatrixReading& reading);

  protocol::Ask ask_;
  protocol::Request request_;
  KnownMatrix known_;
  protocol::Bytes staged_;                // of a stage: all of it
  protocol::MatrixReading reading_ = {};  // of a read
  protocol::Parts parts_;
  int begun_anew_ = 0;
};

}  // namespace catwalk::drivers
