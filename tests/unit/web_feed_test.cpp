// SPDX-License-Identifier: Apache-2.0
#include "web/server/feed/feed.hpp"

#include <doctest/doctest.h>

#include "tests/support/matrix_rack.hpp"
#include "tests/support/web_fixture.hpp"
#include "web/server/documents/render.hpp"
#include "web/server/feed/feed_query.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

// A feed beside a gate, as the server keeps one.
struct FeedBench {
  explicit FeedBench(std::chrono::milliseconds together = {}, plan::RackPlan plan = small_rack())
      : gate{std::move(plan)}, feed{"5f0c", gate.snapshot(), together} {
    gate.meet_all();
  }

  Json advance() {
    const auto told = feed.advance(gate.snapshot(), gate.now);
    if (!told) return {};
    in_patches = Json::parse(*told->node_patches);
    return Json::parse(*told->whole_nodes);
  }
  Json in_patches;  // what advance() gave, for those who want patches

  FakeGate gate;
  web::Feed feed;
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
constexpr auto whole = web::Telling::whole_nodes;
constexpr auto patches = web::Telling::node_patches;

// What the feed tells of a node; its name as a key.
std::map<std::string, Json> by_name(const Json& nodes) {
  std::map<std::string, Json> all;
  for (const auto& node : nodes) all[node.at("name")] = node;
  return all;
}

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
  CHECK(members_of(snapshot) == Members{"type", "sequence", "at", "rack", "nodes", "matrices",
                                        "running_order", "lines", "alarms", "ticks", "changes"});
  CHECK(snapshot.at("matrices") == Json::array());
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

TEST_CASE("matrices are told whole, and who hears through them with every change of that") {
  FeedBench bench{{}, matrix_rack()};
  bench.advance();
  const auto snapshot = Json::parse(*bench.feed.snapshot(bench.gate.now));
  REQUIRE(names_in(snapshot.at("matrices")) == std::vector<std::string>{"shore"});
  CHECK(snapshot.at("matrices")[0].at("outputs")[0].at("hears") == Json{"left"});

  // Read once more, and nobody hears otherwise: the nodes are not told again.
  bench.gate.turn(shore_uid, bench.gate.matrices.at(shore_uid).in_force);
  const auto read = bench.advance();
  CHECK(members_of(read) == Members{"type", "sequence", "at", "matrices"});
  CHECK(names_in(read.at("matrices")) == std::vector<std::string>{"shore"});
  bench.gate.turn(2, slide_at(0, 518));
  CHECK(members_of(bench.advance()) == Members{"type", "sequence", "at", "nodes"});

  // By a hand: it is told at the matrix, and at every node, since each may serve others now.
  bench.gate.turn(shore_uid, shore_set({{1, 3}, {2}, {3}}));
  const auto moved = bench.advance();
  CHECK(moved.at("matrices")[0].at("outputs")[0].at("hears") == Json{"left", "spare"});
  CHECK(moved.at("matrices")[0].at("agreement") == "drifted");
  const auto nodes = by_name(moved.at("nodes"));
  REQUIRE(nodes.contains("spare"));
  CHECK(nodes.at("spare").at("serves").size() == 1);
  CHECK(moved.at("alarms").at(0).at("subject") == "shore");
  // Whoever takes patches is told the nodes whole, since the plan is another.
  CHECK(bench.in_patches.at("nodes").size() == 3);

  bench.gate.on(rack::NodeFellSilent{uid(shore_uid)});
  const auto silent = bench.advance();
  REQUIRE(silent.contains("matrices"));
  CHECK(silent.at("matrices")[0].at("link") == "silent");
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
  CHECK_FALSE(bench.feed.advance(bench.gate.snapshot(), bench.gate.now));
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
  const auto last_three = bench.feed.since(298, whole);
  REQUIRE(last_three);
  REQUIRE(last_three->size() == 3);
  CHECK(Json::parse(*last_three->front()).at("sequence") == 299);
  CHECK(Json::parse(*last_three->back()).at("sequence") == 301);
  CHECK(bench.feed.since(301, whole)->empty());
  CHECK(bench.feed.since(45, whole)->size() == 256);  // the oldest that are kept
  CHECK_FALSE(bench.feed.since(44, whole));
  CHECK_FALSE(bench.feed.since(0, whole));
  CHECK_FALSE(bench.feed.since(302, whole));  // there never was such a one
}

TEST_CASE("a patch makes of a node that a panel knows the one that others are told whole") {
  FeedBench bench;
  bench.advance();
  auto known = by_name(Json::parse(*bench.feed.snapshot(bench.gate.now)).at("nodes"));
  std::size_t whole_bytes = 0;
  std::size_t patch_bytes = 0;
  int patched = 0;
  const auto follow = [&](const char* what) {
    CAPTURE(what);
    const auto told = bench.advance();
    const auto& mine = bench.in_patches;
    for (const auto& member : {"sequence", "at", "rack", "lines", "alarms", "changes"})
      CHECK(told.value(member, Json{}) == mine.value(member, Json{}));
    const auto new_ones = mine.value("nodes", Json::array());
    for (const auto& node : new_ones) known[node.at("name")] = node;
    const auto new_patches = mine.value("node_patches", Json::array());
    for (const auto& patch : new_patches) {
      known.at(patch.at("name")).merge_patch(patch);
      patch_bytes += patch.dump().size();
      ++patched;
    }
    const auto as_whole = by_name(told.value("nodes", Json::array()));
    for (const auto& [name, node] : as_whole) {
      CHECK(known.at(name) == node);
      whole_bytes += node.dump().size();
    }
  };
  bench.gate.turn(2, slide_at(0, 518));
  follow("read once more");
  bench.gate.turn(1, slide_at(4, 518));
  follow("a knob was turned");
  auto off = slide_at(4, 518);
  off.power = false;
  bench.gate.turn(1, off);
  follow("passive: its window is gone");
  bench.gate.turn(1, slide_at(0, 518));
  follow("as wanted again");
  bench.gate.hold = true;
  bench.gate.ask(rack::ChangeRequested{.node = {"left"}, .patch = {.gain = rf::Gain::decibels(6)}},
                 [](const rack::Answer&) {});
  follow("a change is under way");
  bench.gate.release();
  follow("it is over, and its member gone");
  bench.gate.on(rack::LineWentDown{{"net"}, "unplugged"});
  follow("stale");
  bench.gate.now += std::chrono::seconds{60};
  bench.gate.on(rack::LineWentUp{{"net"}});
  follow("and not any more");
  CHECK(patched >= 8);
  CHECK(patch_bytes * 2 < whole_bytes);
}

TEST_CASE("a patch of a reading has what is new in it, and how old it is") {
  FeedBench bench;
  bench.advance();
  bench.gate.turn(2, slide_at(0, 518));
  bench.advance();
  const auto& patch = bench.in_patches.at("node_patches").at(0);
  CHECK(members_of(patch) == Members{"name", "seen"});
  CHECK(patch.at("name") == "right");
  CHECK(members_of(patch.at("seen")) == Members{"read_at", "age_ms", "quality"});
  CHECK_FALSE(bench.in_patches.contains("nodes"));
}

TEST_CASE("new figures wait for others; what anybody would have to act on does not") {
  FeedBench bench{std::chrono::seconds{1}};
  bench.advance();
  const auto read = [&](std::uint64_t node, auto&& otherwise) {
    auto reading = reading_of(bench.gate.nodes.at(node).in_force);
    otherwise(reading.telemetry);
    bench.gate.on(rack::NodeReported{uid(node), reading});
  };
  const auto warmer = [](auto& telemetry) { telemetry.temperature_ddegc += 7; };
  read(1, warmer);
  CHECK(bench.advance() == Json{});
  const auto held = bench.feed.held_for();
  CHECK(held > std::chrono::milliseconds{900});
  CHECK(held < std::chrono::seconds{1});
  read(2, warmer);
  CHECK(bench.advance() == Json{});
  CHECK(bench.feed.sequence() == 1);

  bench.gate.now += held;
  const auto together = bench.advance();
  CHECK(together.at("sequence") == 2);
  CHECK(names_in(together.at("nodes")) == std::vector<std::string>{"left", "right"});
  CHECK(bench.feed.held_for() == std::chrono::seconds{0});

  read(1, warmer);
  CHECK(bench.advance() == Json{});
  read(2, [](auto& telemetry) { telemetry.powered = false; });
  const auto at_once = bench.advance();
  // What was held goes with it.
  CHECK(names_in(at_once.at("nodes")) == std::vector<std::string>{"left", "right"});
  CHECK(at_once.contains("alarms"));

  bench.gate.ask(rack::LockRequested{.who = "ana"}, [](const rack::Answer&) {});
  CHECK(bench.advance().at("rack").at("locked") == true);
  bench.gate.turn(1, slide_at(4, 518));
  CHECK(names_in(bench.advance().at("nodes")) == std::vector<std::string>{"left"});
}

TEST_CASE("what a matrix measures waits for other figures; that an input let go does not") {
  FeedBench bench{std::chrono::seconds{1}, matrix_rack()};
  bench.advance();
  auto state = state_of(bench.gate.matrices.at(shore_uid).in_force);
  const auto read = [&] { bench.gate.on(rack::NodeReported{uid(shore_uid), state}); };
  state.inputs[2].supply_ma += 3;
  state.inputs[0].level_cdbm -= 40;
  read();
  CHECK(bench.advance() == Json{});
  CHECK(bench.feed.sequence() == 1);
  bench.gate.now += bench.feed.held_for();
  const auto figures = bench.advance();
  CHECK(members_of(figures) == Members{"type", "sequence", "at", "matrices"});
  CHECK(figures.at("matrices")[0].at("inputs")[2].at("measured").at("current_ma") == 83);

  state.inputs[2].limited = true;
  read();
  const auto at_once = bench.advance();
  REQUIRE(at_once.contains("matrices"));
  CHECK(at_once.at("matrices")[0].at("inputs")[2].at("measured").at("limited") == true);
}

TEST_CASE("a wall clock that is set back holds nothing up") {
  FeedBench bench{std::chrono::seconds{1}};
  bench.advance();
  bench.gate.now -= std::chrono::hours{1};
  bench.gate.turn(2, slide_at(0, 518));
  CHECK(bench.advance().at("sequence") == 2);
}

TEST_CASE("changes are kept for who was away up to a megabyte of each kind") {
  FeedBench bench;
  bench.advance();
  const auto bytes_of = [&](web::Telling telling) {
    std::size_t count = 0;
    while (bench.feed.since(bench.feed.sequence() - count, telling)) ++count;
    const auto kept = bench.feed.since(bench.feed.sequence() - (count - 1), telling);
    std::size_t bytes = 0;
    for (const auto& text : *kept) bytes += text->size();
    return std::pair{count - 1, bytes};
  };
  for (int i = 0; i < 255; ++i) {
    // Every change has all sixteen: the list of them is most of a message.
    for (int gain = 0; gain < 8; ++gain)
      bench.gate.ask(rack::ChangeRequested{.node = {"left"},
                                           .patch = {.gain = rf::Gain::decibels(gain)},
                                           .why = std::string(500, 'x')},
                     [](const rack::Answer&) {});
    bench.advance();
  }
  const auto [count, bytes] = bytes_of(whole);
  CHECK(count < 255);
  CHECK(bytes <= 1'048'576);
  CHECK(bytes > 900'000);
  CHECK(bytes_of(patches).first >= count);
}

TEST_CASE("what a panel says when it comes is taken, or told what is wrong with all of it") {
  const auto read =
      web::read_feed_query({{"server", "5f0c"}, {"since", "41"}, {"nodes", "patches"}});
  REQUIRE(read);
  CHECK(read->server == "5f0c");
  CHECK(read->since == 41);
  CHECK(read->telling == patches);
  CHECK(web::read_feed_query({})->telling == whole);
  CHECK(web::read_feed_query({{"nodes", "whole"}})->telling == whole);
  const auto wrong = web::read_feed_query({{"nodes", "some"}, {"since", "-1"}, {"zoom", "2"}});
  REQUIRE_FALSE(wrong);
  CHECK(wrong.error().status == 422);
  const auto problem = Json::parse(wrong.error().body);
  Json said = Json::array();
  for (const auto& error : problem.at("errors")) said.push_back(error.at("detail"));
  CHECK(said ==
        Json{"nodes is \"some\"; allowed is whole, patches.",
             "since is \"-1\"; allowed is a sequence number.",
             "There is no query parameter \"zoom\" here; known are: server, since, nodes."});
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
