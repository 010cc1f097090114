// SPDX-License-Identifier: Apache-2.0
#include "web/server/feed/feed.hpp"

#include <doctest/doctest.h>

#include "tests/support/web_fixture.hpp"
#include "web/server/documents/render.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// A feed beside a gate, as the server keeps one.
struct FeedBench {
  FeedBench() { gate.meet_all(); }

  Json advance() {
    const auto text = feed.advance(gate.snapshot(), gate.now);
    return text ? Json::parse(*text) : Json{};
  }

  FakeGate gate;
  web::Feed feed{"5f0c", gate.snapshot()};
};

std::vector<std::string> names_in(const Json& list) {
  std::vector<std::string> names;
  for (const auto& one : list) names.push_back(one.at("name"));
  return names;
}

std::set<std::string> members_of(const Json& message) {
  std::set<std::string> names;
  for (const auto& [name, ignored] : message.items()) names.insert(name);
  return names;
}
using Members = std::set<std::string>;

}  // namespace

TEST_CASE("a hello names the server, the epoch and where the numbering stands") {
  FeedBench bench;
  bench.advance();
  CHECK(Json::parse(*bench.feed.hello()) ==
        Json{{"type", "hello"}, {"server", "5f0c"}, {"epoch", 1}, {"sequence", 1}});
}

TEST_CASE("a snapshot has everything, at the number of the last change") {
  FeedBench bench;
  bench.advance();
  const auto snapshot = Json::parse(*bench.feed.snapshot(bench.gate.now));
  CHECK(members_of(snapshot) == Members{"type", "sequence", "at", "rack", "nodes", "running_order",
                                        "lines", "alarms", "ticks", "changes"});
  CHECK(snapshot.at("sequence") == 1);
  CHECK(snapshot.at("at") == web::time_text(bench.gate.now));
  CHECK(names_in(snapshot.at("nodes")) == std::vector<std::string>{"left", "right", "spare"});
  CHECK(snapshot.at("rack").at("segment") == "speeches");
}

TEST_CASE("changes are numbered one by one, and tell only what changed") {
  FeedBench bench;
  bench.advance();
  bench.gate.turn(2, slide_at(0, 518));  // read once more
  const auto read = bench.advance();
  CHECK(read.at("sequence") == 2);
  CHECK(members_of(read) == Members{"type", "sequence", "at", "nodes"});
  CHECK(names_in(read.at("nodes")) == std::vector<std::string>{"right"});

  bench.gate.turn(1, slide_at(4, 518));  // drift raises an alarm
  const auto drifted = bench.advance();
  CHECK(drifted.at("sequence") == 3);
  CHECK(members_of(drifted) == Members{"type", "sequence", "at", "nodes", "alarms"});
  CHECK(names_in(drifted.at("nodes")) == std::vector<std::string>{"left"});

  bench.gate.ask(rack::ShelveRequested{0, 1, std::chrono::minutes{5}, "ana", "known"},
                 [](const rack::Answer&) {});
  const auto shelved = bench.advance();
  CHECK(members_of(shelved) == Members{"type", "sequence", "at", "alarms"});
  CHECK(shelved.at("alarms").at(0).at("shelved").at("by") == "ana");

  bench.gate.on(rack::LineWentDown{{"net"}, "unplugged"});
  CHECK(members_of(bench.advance()) ==
        Members{"type", "sequence", "at", "nodes", "lines", "alarms"});

  bench.gate.ask(rack::LockRequested{.who = "ana"}, [](const rack::Answer&) {});
  const auto locked = bench.advance();
  // Who may go where is another matter then.
  CHECK(members_of(locked) == Members{"type", "sequence", "at", "rack", "running_order"});
  CHECK(locked.at("rack").at("locked") == true);
  CHECK(locked.at("running_order").at("going_to").at(0).at("held_by_lock") == true);
}

TEST_CASE("the rack is told anew when another controller has a node, and when it is free again") {
  FeedBench bench;
  bench.advance();
  bench.gate.on(rack::OtherSpeaks{{"bus"}, uid(1), {170}, {}, {1}});
  auto told = bench.advance();
  REQUIRE(told.contains("rack"));
  CHECK(told.at("rack").at("not_ours") == Json{"left"});
  bench.gate.on(rack::NodeFree{uid(1)});
  told = bench.advance();
  REQUIRE(told.contains("rack"));
  CHECK_FALSE(told.at("rack").contains("not_ours"));
}

TEST_CASE("what no panel could see is no change, and takes no number") {
  FeedBench bench;
  bench.advance();
  CHECK(bench.feed.advance(bench.gate.snapshot(), bench.gate.now) == nullptr);
  CHECK(bench.feed.sequence() == 1);
}

TEST_CASE("many snapshots between two looks are one change") {
  FeedBench bench;
  bench.advance();
  for (int gain = 1; gain <= 5; ++gain) bench.gate.turn(1, slide_at(gain, 518));
  const auto change = bench.advance();
  CHECK(change.at("sequence") == 2);
  CHECK(change.at("nodes").at(0).at("seen").at("settings").at("gain_db") == 5.0);
}

TEST_CASE("a change of a node is told stage by stage, and its end") {
  FeedBench bench;
  bench.advance();
  bench.gate.hold = true;
  bench.gate.ask(rack::ChangeRequested{.node = {"left"}, .patch = {.gain = rf::Gain::decibels(6)}},
                 [](const rack::Answer&) {});
  const auto begun = bench.advance();
  CHECK(begun.at("changes").at(0).at("stage") == "staging");
  CHECK(begun.at("nodes").at(0).at("agreement") == "changing");
  bench.gate.release();
  const auto ended = bench.advance();
  CHECK(ended.at("changes").at(0).at("stage") == "settled");
  CHECK_FALSE(ended.at("nodes").at(0).contains("change"));
}

TEST_CASE("only the latest sixteen changes travel with the feed") {
  FeedBench bench;
  for (int i = 1; i <= 18; ++i)
    bench.gate.ask(
        rack::ChangeRequested{.node = {"left"}, .patch = {.gain = rf::Gain::decibels(i)}},
        [](const rack::Answer&) {});
  const auto changes = bench.advance().at("changes");
  CHECK(changes.size() == 16);
  CHECK(changes.front().at("id") == 3);
  CHECK(changes.back().at("id") == 18);
}

TEST_CASE("who was away gets the changes since, and only if all of them are still kept") {
  FeedBench bench;
  bench.advance();
  for (int i = 0; i < 300; ++i) {
    bench.gate.turn(1, slide_at(i % 2, 518));
    bench.advance();
  }
  REQUIRE(bench.feed.sequence() == 301);
  const auto last_three = bench.feed.since(298);
  REQUIRE(last_three);
  REQUIRE(last_three->size() == 3);
  CHECK(Json::parse(*last_three->front()).at("sequence") == 299);
  CHECK(Json::parse(*last_three->back()).at("sequence") == 301);
  CHECK(bench.feed.since(301)->empty());
  CHECK(bench.feed.since(45)->size() == 256);  // the oldest that are kept
  CHECK_FALSE(bench.feed.since(44));
  CHECK_FALSE(bench.feed.since(0));
  CHECK_FALSE(bench.feed.since(302));  // there never was such a one
}

TEST_CASE(
    "panels that arrive together share one text, and a later one is told the age as of then") {
  FeedBench bench;
  bench.advance();
  const auto first = bench.feed.snapshot(bench.gate.now);
  CHECK(bench.feed.snapshot(bench.gate.now) == first);
  const auto later = Json::parse(*bench.feed.snapshot(bench.gate.now + std::chrono::seconds{60}));
  const auto& seen = later.at("nodes").at(0).at("seen");
  CHECK(seen.at("age_ms").get<int>() >= 60'000);
  CHECK(seen.at("quality") == "stale");
}

TEST_CASE("a panel may ask for a snapshot, and is told of everything else what was wrong with it") {
  CHECK(web::read_panel_message(R"({"type":"snapshot"})", true).snapshot);
  CHECK(web::read_panel_message(" {\"type\" : \"snapshot\"}\n", true).snapshot);
  struct Row {
    std::string text;
    bool is_text;
    std::string value, detail;
  };
  const std::string one =
      "The feed understands one message: it sends a snapshot when asked for one.";
  const std::string no_type = "The message is not an object with a type.";
  for (const auto& [text, is_text, value, detail] : std::vector<Row>{
           {R"({"type":"snapshot"})", false, "a binary message",
            "The feed speaks text messages only."},
           {"snapshot", true, "snapshot", "The message is not JSON."},
           {"", true, "", "The message is not JSON."},
           {"[]", true, "[]", no_type},
           {"\"snapshot\"", true, "\"snapshot\"", no_type},
           {"null", true, "null", no_type},
           {R"({"kind":"snapshot"})", true, R"({"kind":"snapshot"})", no_type},
           {R"({"type":"set"})", true, R"({"type":"set"})", one},
           {R"({"type":7})", true, R"({"type":7})", one},
           {R"({"type":"snapshot","of":"left"})", true, R"({"type":"snapshot","of":"left"})", one},
           {std::string(200, 'x'), true, std::string(80, 'x'), "The message is not JSON."},
           {std::string(20'000, '['), true, std::string(80, '['), "The message is not JSON."}}) {
    const auto beginning = text.substr(0, 100);
    CAPTURE(beginning);
    const auto ask = web::read_panel_message(text, is_text);
    CHECK_FALSE(ask.snapshot);
    REQUIRE(ask.problem);
    CHECK(Json::parse(*ask.problem) == Json{{"type", "problem"},
                                            {"detail", detail},
                                            {"value", value},
                                            {"allowed", R"({"type":"snapshot"})"}});
  }
}

TEST_CASE("a bad message that is no UTF-8 is still told in UTF-8") {
  const auto ask = web::read_panel_message("\xC3\x28", true);
  REQUIRE(ask.problem);
  CHECK(Json::parse(*ask.problem).at("detail") == "The message is not JSON.");
}

TEST_CASE("node documents made from kept text are the same as those made anew") {
  FakeGate gate;
  web::NodeTexts texts;
  const auto same = [&] {
    for (const auto& node : gate.snapshot()->nodes)
      CHECK(texts.text(node, gate.now) == web::render(*node, gate.now).dump());
  };
  same();  // never read
  gate.meet_all();
  same();
  same();
  gate.now += std::chrono::seconds{7};
  same();
  auto marked = slide_at(0, 518);
  marked.label = R"("age_ms":"@")";  // looks like the place where the age goes
  gate.turn(1, marked);
  same();
}
