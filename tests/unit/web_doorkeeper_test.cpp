// SPDX-License-Identifier: Apache-2.0
// What becomes of those who are turned away again and again.
#include "web/server/doors/doorkeeper.hpp"

#include <doctest/doctest.h>

#include "web/server/http/problem.hpp"

using namespace catwalk;
using namespace catwalk::web;
using namespace std::chrono_literals;

namespace {

struct Door {
  Doorkeeper keeper;
  Visit visit{"192.0.2.7", Throttle::Time{1h}, rack::TimePoint{1'790'000'000s}};

  void pass(std::chrono::seconds time) {
    visit.now += time;
    visit.wall += time;
  }
  // 0: let in; else the status.
  int come(Admission::By by, bool right, const std::string& token = {}) {
    Admission admission;
    admission.by = by;
    admission.token = token;
    if (right)
      admission.caller = Caller{token, Role::operate};
    else
      admission.refusal = problem(401, "token", "No.");
    const auto judged = keeper.weigh(std::move(admission), visit);
    return judged.caller ? 0 : judged.refusal.status;
  }
  int guess() { return come(Admission::By::token, false); }
};

constexpr auto by_token = Admission::By::token;
constexpr auto by_login = Admission::By::login;

}  // namespace

TEST_CASE(
    "after five wrong tokens each further one is followed by a longer pause, up to a minute") {
  Door door;
  for (int i = 0; i < 5; ++i) CHECK(door.guess() == 401);
  for (const auto pause : {1s, 2s, 4s, 8s, 16s, 32s, 60s, 60s}) {
    CHECK(door.guess() == 401);
    CHECK(door.guess() == 429);
    door.pass(pause - 1s);
    CHECK(door.guess() == 429);
    door.pass(1s);
  }
  // Ten quiet minutes.
  CHECK(door.guess() == 401);
  door.pass(601s);
  for (int i = 0; i < 5; ++i) CHECK(door.guess() == 401);
}

TEST_CASE("a pause says in whole seconds when to come again") {
  Door door;
  for (int i = 0; i < 9; ++i) {
    door.guess();
    door.pass(i < 5 ? 0s : 60s);
  }
  CHECK(door.guess() == 401);  // 16 s
  door.visit.now += 500ms;
  Admission wrong;
  wrong.by = by_token;
  const auto judged = door.keeper.weigh(std::move(wrong), door.visit);
  CHECK(judged.refusal.status == 429);
  CHECK(judged.refusal.headers ==
        std::vector<std::pair<std::string, std::string>>{{"Retry-After", "16"}});
}

TEST_CASE("who is at work from the same address is not held up by another's wrong tokens") {
  Door door;
  CHECK(door.come(by_token, true, "ana") == 0);
  for (int i = 0; i < 20; ++i) door.guess();
  CHECK(door.guess() == 429);
  CHECK(door.come(by_token, true, "ana") == 0);
  CHECK(door.come(by_login, true, "ben") == 0);
  // Here for the first time: not told apart from a guess that was right.
  CHECK(door.come(by_token, true, "cem") == 429);
  door.visit.from = "192.0.2.8";
  CHECK(door.come(by_token, true, "cem") == 0);
  CHECK(door.guess() == 401);
}

TEST_CASE("old logins of one token are held up from whatever address they come") {
  Door door;
  for (int i = 0; i < 6; ++i) {
    door.visit.from = "192.0.2." + std::to_string(i);
    CHECK(door.come(by_login, false, "ana") == 401);
  }
  door.visit.from = "192.0.2.99";
  CHECK(door.come(by_login, false, "ana") == 429);
  CHECK(door.come(by_login, false, "ben") == 401);
  CHECK(door.come(by_login, true, "ana") == 0);
  CHECK(door.come(Admission::By::nothing, false) == 401);
}

TEST_CASE("more addresses than the table holds cost no more memory, and forget the quietest") {
  Recent<int> table{3};
  table.touch("a") = 1;
  table.touch("b") = 2;
  table.touch("c") = 3;
  table.touch("a");
  table.touch("d") = 4;
  CHECK(table.size() == 3);
  CHECK(table.find("b") == nullptr);
  CHECK(*table.find("a") == 1);
  CHECK(*table.find("d") == 4);
}

TEST_CASE("a burst is told once, with how many, whence and since when") {
  Door door;
  const auto began = door.visit.wall;
  for (int i = 0; i < 300; ++i) door.guess();
  door.keeper.role_refused({"wall", Role::watch}, "This needs the role operate.", door.visit);
  CHECK(door.keeper.take_bursts(door.visit.wall).empty());
  door.pass(9s);
  CHECK(door.keeper.take_bursts(door.visit.wall).empty());
  door.pass(1s);
  const auto told = door.keeper.take_bursts(door.visit.wall);
  REQUIRE(told.size() == 2);
  CHECK(told[0] == rack::TurnedAway{"", "192.0.2.7", "the token is not known", 300, began});
  CHECK(told[1] == rack::TurnedAway{"wall", "192.0.2.7", "This needs the role operate.", 1, began});
  CHECK_FALSE(door.keeper.has_bursts());
  CHECK(door.keeper.figures().front() ==
        std::pair<std::string, std::uint64_t>{"wrong_tokens", 300});
}

TEST_CASE(
    "a burst without an end is told every minute, and of many addresses at once some together") {
  Bursts bursts;
  rack::TimePoint now{1'790'000'000s};
  std::size_t rows = 0;
  std::uint64_t times = 0;
  for (int second = 0; second < 600; ++second, now += 1s) {
    bursts.add("", "192.0.2.7", "x", now);
    for (const auto& one : bursts.take_over(now)) {
      ++rows;
      times += one.times;
    }
  }
  CHECK(rows == 9);
  for (int i = 0; i < 1'000; ++i) bursts.add("", std::to_string(i), "y", now);
  const auto told = bursts.take_over(now + 10s);
  CHECK(told.size() <= Bursts::most + 2);
  for (const auto& one : told) times += one.times;
  CHECK(times == 1'600);
}
