// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/places.hpp"

#include <doctest/doctest.h>

using namespace catwalk::web;

namespace {

constexpr auto watch = Role::watch;
constexpr auto operate = Role::operate;
constexpr auto engineer = Role::engineer;

Holder panel(const std::string& name, Role role) { return {Guests::panels, name, role}; }
Holder stranger(const std::string& address) { return {Guests::strangers, address, watch}; }

// As many as there is room for.
std::size_t fill(Places& places, const Holder& holder) {
  std::size_t taken = 0;
  while (!places.full(holder)) {
    places.take(holder);
    ++taken;
  }
  return taken;
}

PlaceLimits small_limits() {
  PlaceLimits limits;
  limits.strangers = {6, 4};
  limits.callers = {8, 3};
  limits.panels = {8, 3};
  return limits;
}

}  // namespace

TEST_CASE("one token has its part of the panels, and is told so") {
  Places places{small_limits()};
  CHECK(fill(places, panel("wall", watch)) == 3);
  const auto full = places.full(panel("wall", watch));
  REQUIRE(full);
  CHECK(full->of_name);
  CHECK(full->sentence ==
        "\"wall\" has 3 panels open, which is all that one token may have. Close one that nobody "
        "looks at.");
  // Its requests have places of their own.
  CHECK(fill(places, {Guests::callers, "wall", watch}) == 3);
  places.give_back(panel("wall", watch));
  CHECK(fill(places, panel("wall", watch)) == 1);
}

TEST_CASE("whoever may do more finds places that those who may do less cannot take") {
  Places places{small_limits()};
  CHECK(fill(places, panel("wall", watch)) == 3);
  CHECK(fill(places, panel("door", watch)) == 1);  // half of 8
  const auto full = places.full(panel("bar", watch));
  REQUIRE(full);
  CHECK_FALSE(full->of_name);
  CHECK(full->sentence == "Too many panels are open for the role watch: 4.");
  CHECK(fill(places, panel("ana", operate)) == 2);  // three quarters
  CHECK(fill(places, panel("ben", engineer)) == 2);
  CHECK(fill(places, panel("cem", engineer)) == 0);
}

TEST_CASE("those who may do more take no more than all of the places, either") {
  Places places{small_limits()};
  CHECK(fill(places, panel("ana", engineer)) == 3);
  CHECK(fill(places, panel("ben", engineer)) == 3);
  CHECK(fill(places, panel("cem", engineer)) == 2);
  CHECK(fill(places, panel("wall", watch)) == 0);
  CHECK(fill(places, panel("door", operate)) == 0);
}

TEST_CASE("strangers are limited by address, and take nobody else's places") {
  Places places{small_limits()};
  CHECK(fill(places, stranger("192.0.2.1")) == 4);
  CHECK(places.full(stranger("192.0.2.1"))->sentence ==
        "From 192.0.2.1 there are 4 connections without a token, which is all that one address may "
        "have.");
  CHECK(fill(places, stranger("192.0.2.2")) == 2);
  CHECK_FALSE(places.full(stranger("192.0.2.3"))->of_name);
  CHECK_FALSE(places.full(panel("wall", watch)));
  CHECK_FALSE(places.full({Guests::trusted, "root", engineer}));
  CHECK_FALSE(places.full({Guests::users, "ana", watch}));
}

TEST_CASE("room is made by one's like: of the same name, or of no higher role") {
  const Places::Full of_name{true, ""};
  const Places::Full of_all{false, ""};
  CHECK(Places::would_do(stranger("a"), stranger("a"), of_name));
  CHECK_FALSE(Places::would_do(stranger("b"), stranger("a"), of_name));
  CHECK(Places::would_do(stranger("b"), stranger("a"), of_all));
  const Holder caller{Guests::callers, "ana", operate};
  CHECK(Places::would_do({Guests::callers, "wall", watch}, caller, of_all));
  CHECK_FALSE(Places::would_do({Guests::callers, "ben", engineer}, caller, of_all));
  CHECK_FALSE(Places::would_do({Guests::trusted, "root", watch}, caller, of_all));
}

TEST_CASE("without tokens nobody is told from another, and only all together are counted") {
  Places places{small_limits()};
  CHECK(fill(places, panel("", engineer)) == 8);
}

TEST_CASE("the places that are given back are all that were taken") {
  Places places{PlaceLimits{}};
  std::vector<Holder> holders;
  for (int i = 0; i < 300; ++i)
    holders.push_back(
        {static_cast<Guests>(i % 5), std::to_string(i % 7), static_cast<Role>(i % 3)});
  for (const auto& one : holders) places.take(one);
  for (const auto& one : holders) places.give_back(one);
  for (int kind = 0; kind < 5; ++kind) CHECK(places.taken(static_cast<Guests>(kind)) == 0);
  CHECK(PlaceLimits{}.all() <= 2'048);  // descriptors, half of what the daemon allows itself
}
