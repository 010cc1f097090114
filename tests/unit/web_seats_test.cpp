// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/seats.hpp"

#include <doctest/doctest.h>

using namespace catwalk::web;

namespace {

constexpr auto watch = Role::watch;
constexpr auto operate = Role::operate;
constexpr auto engineer = Role::engineer;

Holder panel(const std::string& name, Role role) { return {Guests::panels, name, role}; }
Holder stranger(const std::string& address) { return {Guests::strangers, address, watch}; }

// As many as there is room for.
std::size_t fill(Seats& seats, const Holder& holder) {
  std::size_t taken = 0;
  while (!seats.full(holder)) {
    seats.take(holder);
    ++taken;
  }
  return taken;
}

SeatLimits small_limits() {
  SeatLimits limits;
  limits.strangers = {6, 4};
  limits.callers = {8, 3};
  limits.panels = {8, 3};
  return limits;
}

}  // namespace

TEST_CASE("one token has its part of the panels, and is told so") {
  Seats seats{small_limits()};
  CHECK(fill(seats, panel("wall", watch)) == 3);
  const auto full = seats.full(panel("wall", watch));
  REQUIRE(full);
  CHECK(full->of_name);
  CHECK(full->sentence ==
        "\"wall\" has 3 panels open, which is all that one token may have. Close one that nobody "
        "looks at.");
  // Its requests have seats of their own.
  CHECK(fill(seats, {Guests::callers, "wall", watch}) == 3);
  seats.give_back(panel("wall", watch));
  CHECK(fill(seats, panel("wall", watch)) == 1);
}

TEST_CASE("whoever may do more finds places that those who may do less cannot take") {
  Seats seats{small_limits()};
  CHECK(fill(seats, panel("wall", watch)) == 3);
  CHECK(fill(seats, panel("door", watch)) == 1);  // half of 8
  const auto full = seats.full(panel("bar", watch));
  REQUIRE(full);
  CHECK_FALSE(full->of_name);
  CHECK(full->sentence == "Too many panels are open for the role watch: 4.");
  CHECK(fill(seats, panel("ana", operate)) == 2);  // three quarters
  CHECK(fill(seats, panel("ben", engineer)) == 2);
  CHECK(fill(seats, panel("cem", engineer)) == 0);
}

TEST_CASE("those who may do more take no more than all of the places, either") {
  Seats seats{small_limits()};
  CHECK(fill(seats, panel("ana", engineer)) == 3);
  CHECK(fill(seats, panel("ben", engineer)) == 3);
  CHECK(fill(seats, panel("cem", engineer)) == 2);
  CHECK(fill(seats, panel("wall", watch)) == 0);
  CHECK(fill(seats, panel("door", operate)) == 0);
}

TEST_CASE("strangers are limited by address, and take nobody else's places") {
  Seats seats{small_limits()};
  CHECK(fill(seats, stranger("192.0.2.1")) == 4);
  CHECK(seats.full(stranger("192.0.2.1"))->sentence ==
        "From 192.0.2.1 there are 4 connections without a token, which is all that one address may "
        "have.");
  CHECK(fill(seats, stranger("192.0.2.2")) == 2);
  CHECK_FALSE(seats.full(stranger("192.0.2.3"))->of_name);
  CHECK_FALSE(seats.full(panel("wall", watch)));
  CHECK_FALSE(seats.full({Guests::trusted, "root", engineer}));
  CHECK_FALSE(seats.full({Guests::users, "ana", watch}));
}

TEST_CASE("room is made by one's like: of the same name, or of no higher role") {
  const Seats::Full of_name{true, ""};
  const Seats::Full of_all{false, ""};
  CHECK(Seats::would_do(stranger("a"), stranger("a"), of_name));
  CHECK_FALSE(Seats::would_do(stranger("b"), stranger("a"), of_name));
  CHECK(Seats::would_do(stranger("b"), stranger("a"), of_all));
  const Holder caller{Guests::callers, "ana", operate};
  CHECK(Seats::would_do({Guests::callers, "wall", watch}, caller, of_all));
  CHECK_FALSE(Seats::would_do({Guests::callers, "ben", engineer}, caller, of_all));
  CHECK_FALSE(Seats::would_do({Guests::trusted, "root", watch}, caller, of_all));
}

TEST_CASE("without tokens nobody is told from another, and only all together are counted") {
  Seats seats{small_limits()};
  CHECK(fill(seats, panel("", engineer)) == 8);
}

TEST_CASE("the places that are given back are all that were taken") {
  Seats seats{SeatLimits{}};
  std::vector<Holder> holders;
  for (int i = 0; i < 300; ++i)
    holders.push_back(
        {static_cast<Guests>(i % 5), std::to_string(i % 7), static_cast<Role>(i % 3)});
  for (const auto& one : holders) seats.take(one);
  for (const auto& one : holders) seats.give_back(one);
  for (int kind = 0; kind < 5; ++kind) CHECK(seats.taken(static_cast<Guests>(kind)) == 0);
  CHECK(SeatLimits{}.all() <= 2'048);  // descriptors, half of what the daemon allows itself
}
