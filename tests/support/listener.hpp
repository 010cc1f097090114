// SPDX-License-Identifier: Apache-2.0
#pragma once
// What a line on a real event loop says, and the loop run until it has said it.

#include <doctest/doctest.h>

#include <asio/io_context.hpp>
#include <chrono>

#include "tests/support/drivers.hpp"

namespace catwalk::test {

struct Listener : Heard {
  explicit Listener(asio::io_context& the_io) : io{the_io} {}

  drivers::NoticeHandler handler() {
    return [this](drivers::Notice notice) {
      CHECK_FALSE(inside_call);
      log.emplace_back(drivers::Clock::now(), std::move(notice));
    };
  }
  // False if it never held within this time.
  template <class Predicate>
  bool wait(Predicate holds, std::chrono::milliseconds within = std::chrono::seconds{10}) {
    const auto end = drivers::Clock::now() + within;
    io.restart();
    while (!holds()) {
      const auto left = end - drivers::Clock::now();
      if (left <= left.zero() || io.run_one_for(left) == 0) return holds();
    }
    return true;
  }

  asio::io_context& io;
  bool inside_call = false;
};

}  // namespace catwalk::test
