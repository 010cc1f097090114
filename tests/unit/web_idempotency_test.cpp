// SPDX-License-Identifier: Apache-2.0
// Idempotency-Key: a request that is repeated because its answer was lost acts once.
#include <doctest/doctest.h>

#include "tests/support/web_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

std::size_t stages(const FakeGate& gate) {
  return static_cast<std::size_t>(std::ranges::count_if(gate.sent, [](const rack::Send& send) {
    return std::holds_alternative<protocol::Stage>(send.request);
  }));
}

}  // namespace

TEST_CASE("the same key gets the same answer, and acts once") {
  WebBench bench;
  const Headers headers{{"if-match", "\"1\""}, {"idempotency-key", "k1"}};
  const auto first = bench.call("PATCH", left, R"({"gain_db":6})", headers);
  CHECK(first.text("outcome") == "settled");
  const auto again = bench.call("PATCH", left, R"({"gain_db":6})", headers);
  CHECK(again.body == first.body);
  CHECK(again.status == first.status);
  CHECK(again.header("ETag") == "\"2\"");
  CHECK(stages(bench.gate) == 1);
}

TEST_CASE("while the first still waits for its fate, the others wait with it") {
  WebBench bench;
  bench.gate.hold = true;
  const Headers headers{{"if-match", "\"1\""}, {"idempotency-key", "k1"}};
  const auto& first = bench.begin("PATCH", left, R"({"gain_db":6})", headers);
  const auto& second = bench.begin("PATCH", left, R"({"gain_db":6})", headers);
  CHECK(first.empty());
  CHECK(second.empty());
  bench.gate.release();
  REQUIRE(first.size() == 1);
  REQUIRE(second.size() == 1);
  CHECK(first[0].body == second[0].body);
  CHECK(stages(bench.gate) == 1);
}

TEST_CASE("what watchers ask takes no place from the keys of those who act") {
  WebBench bench;
  const Headers headers{{"if-match", "\"1\""}, {"idempotency-key", "k1"}};
  const auto first = bench.call("PATCH", left, R"({"gain_db":6})", headers);
  for (int i = 0; i < 600; ++i)
    CHECK(bench
              .call("POST", "/nodes/left/what-if", R"({"passive":true})",
                    {{"idempotency-key", "w" + std::to_string(i)}}, web::Role::watch)
              .status == 200);
  CHECK(bench.call("PATCH", left, R"({"gain_db":6})", headers).body == first.body);
  CHECK(stages(bench.gate) == 1);
}

TEST_CASE("the same key with another request is refused") {
  WebBench bench;
  const Headers headers{{"if-match", "\"1\""}, {"idempotency-key", "k1"}};
  REQUIRE(bench.call("PATCH", left, R"({"gain_db":6})", headers).status == 200);
  const auto other_body = bench.call("PATCH", left, R"({"gain_db":7})", headers);
  CHECK(other_body.status == 422);
  CHECK(other_body.text("type") == "/problems/idempotency-key");
  CHECK(other_body.text("detail") == "This Idempotency-Key was used before with another request.");
  CHECK(bench.call("POST", "/rack/lock", "", {{"idempotency-key", "k1"}}).status == 422);
  CHECK(bench.call("PATCH", left + "?dry_run=true", R"({"gain_db":6})", headers).status == 422);
  CHECK(bench.call("GET", "/rack").body.at("locked") == false);
}

TEST_CASE("a key has 1 to 128 characters") {
  WebBench bench;
  for (const auto& key : {std::string{}, std::string(129, 'k')}) {
    const auto bad = bench.call("POST", "/rack/lock", "", {{"idempotency-key", key}});
    CHECK(bad.status == 422);
    CHECK(bad.text("pointer") == "header/Idempotency-Key");
    CHECK(bad.text("detail") == "Idempotency-Key has " + std::to_string(key.size()) +
                                    " characters; allowed is 1 to 128 characters.");
  }
  CHECK(bench.call("POST", "/rack/lock", "", {{"idempotency-key", std::string(128, 'k')}}).status ==
        200);
}

TEST_CASE("what was refused before it was begun may be tried again under the same key") {
  WebBench bench;
  REQUIRE(bench.call("POST", "/rack/lock").status == 200);
  const Headers headers{{"if-match", "\"1\""}, {"idempotency-key", "k1"}};
  CHECK(bench.call("PATCH", left, R"({"gain_db":6})", headers).status == 409);
  REQUIRE(bench.call("POST", "/rack/unlock").status == 200);
  CHECK(bench.call("PATCH", left, R"({"gain_db":6})", headers).status == 200);
}

TEST_CASE(
    "keys of five hundred and twelve requests are remembered, the oldest is forgotten first") {
  WebBench bench;
  const auto lock = [&](int key) {
    return bench.call("POST", "/rack/lock", "", {{"idempotency-key", std::to_string(key)}});
  };
  for (int key = 0; key < 513; ++key) REQUIRE(lock(key).status == 200);
  const auto rows = bench.gate.journal.size();
  CHECK(lock(512).status == 200);
  CHECK(lock(1).status == 200);
  CHECK(bench.gate.journal.size() == rows);  // both are repetitions
  CHECK(lock(0).status == 200);
  CHECK(bench.gate.journal.size() == rows + 1);
}
