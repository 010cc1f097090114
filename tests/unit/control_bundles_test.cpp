// SPDX-License-Identifier: Apache-2.0
// Bundles and their time tags: whole or not at all, in order, now or up to ten seconds ahead.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/booth.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;
using control::Message;
using control::Peer;

namespace {

const Message lock{"/catwalk/lock", {}};
const Message unlock{"/catwalk/unlock", {}};
const Message ping{"/catwalk/ping", {}};
const Message go_nowhere{"/catwalk/go", {std::string{"nowhere"}}};

// A bundle for that long after now.
protocol::Bytes bundle(const Booth& booth, std::chrono::microseconds ahead,
                       const std::vector<Message>& messages) {
  auto bytes = control::write_bundle(messages);
  protocol::Bytes tag;
  protocol::put(tag, control::time_tag_of(booth.hall.now + ahead).bits, 8);
  std::copy(tag.begin(), tag.end(), bytes.begin() + 8);
  return bytes;
}

// What the desk was told, as "go scheduled".
std::vector<std::string> told(Booth& booth, const Peer& peer) {
  std::vector<std::string> words;
  for (const auto& reply : booth.replies(peer)) {
    const auto name = reply.address == "/catwalk/reply" ? std::get<std::string>(reply.arguments[0])
                                                        : reply.address.substr(15);
    words.push_back(name + ' ' + Booth::outcome(reply));
  }
  return words;
}
std::vector<std::string> told(Booth& booth) { return told(booth, booth.desk); }

using Words = std::vector<std::string>;

}  // namespace

TEST_CASE("the messages of a bundle are carried out in order") {
  Booth booth;
  booth.send(control::write_bundle({lock, unlock, lock}), booth.desk);
  CHECK(told(booth) == Words{"lock done", "unlock done", "lock done"});
  CHECK(booth.hall.snapshot()->lock);
}

TEST_CASE("a bundle with a message that is not understood is refused whole") {
  Booth booth;
  booth.send(control::write_bundle({lock, go_nowhere, {"/other", {}}}), booth.desk);
  const auto replies = booth.replies();
  REQUIRE(replies.size() == 3);
  CHECK(replies[0].address == "/catwalk/reply/go");
  CHECK(replies[1].address == "/catwalk/reply");
  CHECK(Booth::sentence(replies[2]) ==
        "Nothing of the bundle was done: 2 of its 3 messages could not be understood.");
  CHECK_FALSE(booth.hall.snapshot()->lock);
  CHECK(booth.control.counters().commands == 0);
  CHECK(booth.control.counters().not_understood == 2);
}

TEST_CASE("a malformed element keeps the whole bundle from being carried out") {
  Booth booth;
  auto bytes = control::write_bundle({lock, go_finale});
  bytes.back() = 'x';  // in the padding of "finale"
  booth.send(bytes, booth.desk);
  CHECK(told(booth).empty());
  CHECK(booth.control.counters().malformed == 1);
  CHECK_FALSE(booth.hall.snapshot()->lock);
}

TEST_CASE("a bundle without messages is taken, and does nothing") {
  Booth booth;
  booth.send(control::write_bundle({}), booth.desk);
  CHECK(told(booth).empty());
  CHECK(booth.control.counters().malformed == 0);
}

TEST_CASE("a time tag that has passed is carried out now") {
  Booth booth;
  for (const auto past : {0us, -1us, -3'600'000'000us}) {
    booth.send(bundle(booth, past, {ping}), booth.desk);
    CHECK(told(booth) == Words{"ping done"});
  }
}

TEST_CASE("a time tag ahead is waited for, to the microsecond") {
  Booth booth;
  booth.send(bundle(booth, 1500ms, {{"/catwalk/arm", {}}, ping}), booth.desk);
  CHECK(told(booth) == Words{"arm scheduled", "ping scheduled"});
  CHECK_FALSE(booth.hall.snapshot()->order.armed);
  booth.pass(1500ms - 1us);
  CHECK_FALSE(booth.hall.snapshot()->order.armed);
  booth.pass(1us);
  CHECK(booth.hall.snapshot()->order.armed);
  // Arming is answered when its way is planned.
  CHECK(told(booth) == Words{"ping done", "arm done"});
}

TEST_CASE("ten seconds ahead is waited for, and more is refused whole") {
  Booth booth;
  booth.send(bundle(booth, 10s, {ping}), booth.desk);
  CHECK(told(booth) == Words{"ping scheduled"});
  booth.send(bundle(booth, 10s + 1us, {lock, ping}), booth.desk);
  const auto replies = booth.replies();
  REQUIRE(replies.size() == 1);
  CHECK(replies[0] ==
        Message{"/catwalk/reply",
                {std::string{"#bundle"}, std::string{"refused"},
                 std::string{"Its time tag is 10.1 s ahead; allowed: up to 10.0 s."}}});
  CHECK(booth.control.counters().too_far_ahead == 1);
  booth.pass(11s);
  CHECK(told(booth) == Words{"ping done"});
  CHECK_FALSE(booth.hall.snapshot()->lock);
}

TEST_CASE("a nested bundle that is too far ahead keeps the one around it from being carried out") {
  Booth booth;
  const auto inner = bundle(booth, 11s, {ping});
  auto outer = control::write_bundle({lock});
  protocol::put(outer, inner.size(), 4);
  outer.insert(outer.end(), inner.begin(), inner.end());
  booth.send(outer, booth.desk);
  CHECK(told(booth) == Words{"#bundle refused"});
  CHECK_FALSE(booth.hall.snapshot()->lock);
}

TEST_CASE("what waits is carried out by its time, and in order of arrival at the same time") {
  Booth booth;
  const Peer other{"10.0.0.2", 7000};
  booth.send(bundle(booth, 2s, {lock}), booth.desk);
  booth.send(bundle(booth, 1s, {ping}), other);
  booth.send(bundle(booth, 2s, {unlock}), other);
  told(booth);
  told(booth, other);
  booth.pass(1s);
  CHECK(told(booth, other) == Words{"ping done"});
  booth.pass(1s);
  CHECK(told(booth) == Words{"lock done"});
  CHECK(told(booth, other) == Words{"unlock done"});
  CHECK_FALSE(booth.hall.snapshot()->lock);
}

TEST_CASE("a wall clock that is put moves nothing that waits") {
  Booth booth;
  booth.send(bundle(booth, 5s, {lock}), booth.desk);
  booth.hall.now += 1h;
  booth.pass(5s - 1us);
  CHECK_FALSE(booth.hall.snapshot()->lock);
  booth.pass(1us);
  CHECK(booth.hall.snapshot()->lock);
}

TEST_CASE("64 messages may wait, and a bundle that does not fit is refused whole") {
  Booth booth;
  booth.send(bundle(booth, 5s, std::vector<Message>(63, ping)), booth.desk);
  booth.replies();
  booth.send(bundle(booth, 6s, {lock, ping}), booth.desk);
  CHECK(told(booth) == Words{"#bundle busy"});
  CHECK(booth.control.counters().crowded_out == 2);
  booth.send(bundle(booth, 6s, {lock}), booth.desk);
  CHECK(told(booth) == Words{"lock scheduled"});
  // What is for now needs no room.
  booth.send(ping);
  CHECK(told(booth) == Words{"ping done"});
  booth.pass(6s);
  CHECK(told(booth).size() == 64);
  CHECK(booth.hall.snapshot()->lock);
}

TEST_CASE("an abort drops what waits for its time, whichever door it comes through") {
  Booth booth;
  const Peer other{"10.0.0.2", 7000};
  booth.send(bundle(booth, 5s, {go_finale}), booth.desk);
  told(booth);
  booth.send(Message{"/catwalk/abort", {}}, other);
  CHECK(told(booth) == Words{"go refused"});
  booth.pass(6s);
  CHECK(booth.segment() == "speeches");

  booth.send(bundle(booth, 5s, {go_finale}), booth.desk);
  CHECK(booth.control.aborted().size() == 1);
  booth.pass(6s);
  CHECK(booth.segment() == "speeches");
}

TEST_CASE("a bundle may abort now, and go on later") {
  Booth booth;
  const auto later = bundle(booth, 2s, {go_finale});
  auto both = control::write_bundle({{"/catwalk/abort", {}}});
  protocol::put(both, later.size(), 4);
  both.insert(both.end(), later.begin(), later.end());
  booth.send(both, booth.desk);
  CHECK(told(booth) == Words{"abort refused", "go scheduled"});
  booth.pass(2s);
  CHECK(booth.segment() == "finale");
}

TEST_CASE("a preview that waited while the show was replaced names a segment that is gone") {
  auto plan = called_show();
  plan.running_order.cues.pop_back();
  plan.running_order.cues.pop_back();
  Booth booth{plan};
  booth.send(bundle(booth, 1s, {{"/catwalk/preview", {std::string{"finale"}}}}), booth.desk);
  plan.segments.pop_back();
  booth.hall.give(rack::PlanReplaced{std::make_shared<const plan::RackPlan>(plan), "reload"});
  booth.settle();
  told(booth);
  booth.pass(1s);
  CHECK(told(booth) == Words{"preview unknown-name"});
}
