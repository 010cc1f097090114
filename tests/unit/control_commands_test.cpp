// SPDX-License-Identifier: Apache-2.0
// Every address of show control: what it does to a real core, what it replies, and what it says to
// arguments that are wrong.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/booth.hpp"

using namespace catwalk;
using namespace catwalk::test;
using control::Argument;
using control::Message;
using control::Peer;

namespace {

Message saying(const std::string& command, std::vector<Argument> arguments = {}) {
  return {"/catwalk/" + command, std::move(arguments)};
}

Message replying(const std::string& command, const std::string& subject, const std::string& outcome,
                 const std::string& sentence) {
  return {"/catwalk/reply/" + command, {subject, outcome, sentence}};
}

using Messages = std::vector<Message>;

// The one reply to a message.
Message answer(Booth& booth, const Message& message) {
  booth.replies();
  booth.send(message);
  const auto replies = booth.replies();
  REQUIRE(replies.size() == 1);
  return replies[0];
}

const std::string in_speeches = "a segment of the show: \"speeches\", \"finale\"";

}  // namespace

TEST_CASE("a preview tells steps, milliseconds, nodes and obstacles, and moves nothing") {
  Booth booth;
  const auto clear = answer(booth, saying("preview", {std::string{"finale"}}));
  const auto expected = rack::preview(*booth.hall.snapshot(), plan::SegmentName{"finale"});
  CHECK(clear.address == "/catwalk/reply/preview");
  REQUIRE(expected.way.steps.size() == 1);
  CHECK(clear.arguments ==
        std::vector<Argument>{
            std::string{"finale"}, std::string{"done"},
            std::string{"3 nodes in 1 step, and nothing in the way."}, std::int32_t{1},
            static_cast<std::int32_t>(
                std::chrono::ceil<std::chrono::milliseconds>(expected.time).count()),
            std::int32_t{3}});
  CHECK(expected.time > std::chrono::milliseconds{1});
  CHECK(booth.hall.applied.empty());

  booth.send(saying("lock"));
  const auto held = answer(booth, saying("preview", {std::string{"finale"}}));
  CHECK(Booth::outcome(held) == "refused");
  REQUIRE(held.arguments.size() == 7);
  CHECK(std::get<std::string>(held.arguments[6]) ==
        "The rack is locked for the show. Unlock it, or arm the cue that leads there.");
}

TEST_CASE("going to a segment is replied to when it begins, and when it has ended") {
  Booth booth;
  booth.hold = true;
  booth.send(saying("go", {std::string{"finale"}}));
  CHECK(booth.replies().empty());
  booth.hold = false;
  booth.settle();
  const auto replies = booth.replies();
  REQUIRE(replies.size() == 2);
  REQUIRE(booth.hall.switching()->steps == 1);
  CHECK(replies[0] == replying("go", "finale", "accepted", "To finale: 3 nodes in 1 step."));
  CHECK(replies[1].address == "/catwalk/reply/go");
  CHECK(Booth::outcome(replies[1]) == "done");
  CHECK(booth.segment() == "finale");
  CHECK(booth.hall.switching()->who == "osc 10.0.0.1:53000");
}

TEST_CASE("next goes to the segment of the next cue, and says when there is none") {
  Booth booth;
  for (const auto* expected : {"speeches", "finale", "speeches"}) {
    booth.send(saying("next"));
    CHECK(booth.segment() == expected);
  }
  CHECK(answer(booth, saying("next")) ==
        replying("next", "", "unknown-name", "The running order is over: name a segment."));
}

TEST_CASE("a locked rack moves for an armed cue alone, and everybody sees who has armed it") {
  Booth booth;
  CHECK(answer(booth, saying("lock")) == replying("lock", "", "done", "Done."));
  CHECK(booth.hall.snapshot()->lock->who == "osc 10.0.0.1:53000");
  CHECK(answer(booth, saying("next")) ==
        replying("next", "", "refused",
                 "The rack is locked for the show. Unlock it, or arm the cue that leads there."));
  CHECK(Booth::outcome(answer(booth, saying("arm"))) == "done");
  CHECK(booth.hall.snapshot()->order.armed->cue.text == "opening");
  CHECK(booth.hall.snapshot()->order.armed->who == "osc 10.0.0.1:53000");
  CHECK(Booth::outcome(answer(booth, saying("disarm"))) == "done");
  CHECK_FALSE(booth.hall.snapshot()->order.armed);
  CHECK(answer(booth, saying("arm", {std::string{"big end"}})) ==
        replying("arm", "big end", "done", "Done."));
  booth.send(saying("go", {std::string{"finale"}}));
  CHECK(booth.segment() == "finale");
  CHECK(Booth::outcome(answer(booth, saying("unlock"))) == "done");
  CHECK_FALSE(booth.hall.snapshot()->lock);
}

TEST_CASE("a message triggers the next cue if that waits for it, and no other") {
  Booth booth;
  booth.send(saying("go", {std::string{"finale"}}));
  REQUIRE(booth.hall.snapshot()->order.next->text == "home");
  CHECK(answer(booth, saying("message", {std::string{"encore"}})) ==
        replying("message", "encore", "refused",
                 "The next cue does not wait for the message \"encore\"."));
  booth.send(saying("message", {std::string{"curtain"}}));
  CHECK(booth.segment() == "speeches");
  CHECK(booth.hall.switching()->triggered_by == rack::TriggeredBy::message);
}

TEST_CASE("an abort rolls the switch back, and both that asked are told") {
  Booth booth;
  booth.hold = true;
  booth.send(saying("go", {std::string{"finale"}}));
  REQUIRE(
      booth.hall.run_until([&] { return booth.hall.stage() == rack::SwitchStage::reading_back; }));
  const Peer other{"10.0.0.2", 7000};
  booth.send(saying("abort"), other);
  CHECK(booth.replies(other) == Messages{replying("abort", "", "done", "Done.")});
  booth.hold = false;
  booth.settle();
  const auto replies = booth.replies();
  REQUIRE(replies.size() == 2);
  CHECK(Booth::outcome(replies[1]) == "rolled-back");
  CHECK(Booth::sentence(replies[1]).find("osc 10.0.0.2:7000") != std::string::npos);
  CHECK(answer(booth, saying("abort")) ==
        replying("abort", "", "refused", "No switch is under way."));
}

TEST_CASE("what the rules refuse is replied with the reason of the rules") {
  auto plan = called_show();
  plan.segments[1].settings[{"left"}].centre = rf::Frequency::megahertz(568);
  Booth booth{plan};
  const auto reply = answer(booth, saying("go", {std::string{"finale"}}));
  CHECK(Booth::outcome(reply) == "refused");
  CHECK(Booth::sentence(reply).starts_with(
      "The rules refuse where it would end; nothing was moved. "));
  CHECK(Booth::sentence(reply).find("voice-3 needs 619.900 to 620.100 MHz") != std::string::npos);
}

TEST_CASE("ping and status are answered to whoever asks") {
  Booth booth;
  CHECK(answer(booth, saying("ping")) == replying("ping", "", "done", "small"));
  booth.send(saying("status"));
  CHECK(booth.replies() == Messages{replying("status", "", "done", "")});
  CHECK(booth.states(booth.desk).size() == 1);
}

TEST_CASE("an argument that is missing, wrong or one too many is named, with what is allowed") {
  Booth booth;
  struct Wrong {
    Message message;
    std::string sentence;
  };
  const std::string text = "text of 1 to 64 printable ASCII characters";
  const std::string cues = "a cue: \"opening\", \"big end\", \"home\"";
  const std::vector<Wrong> all{
      {saying("go"), "SEGMENT is missing; allowed: " + in_speeches + '.'},
      {saying("go", {std::int32_t{7}}),
       "SEGMENT: 7 (int32) is no string; allowed: " + in_speeches + '.'},
      {saying("go", {2.5F}), "SEGMENT: 2.5 (float32) is no string; allowed: " + in_speeches + '.'},
      {saying("go", {std::string{"encore"}}),
       "SEGMENT: \"encore\" is not allowed; allowed: " + in_speeches + '.'},
      {saying("go", {std::string{"finale"}, true}),
       "Argument 2: true is one too many; allowed: none."},
      {saying("preview", {std::int64_t{7}}),
       "SEGMENT: 7 (int64) is no string; allowed: " + in_speeches + '.'},
      {saying("preview", {2.5, control::Nil{}, control::Infinitum{}}),
       "SEGMENT: 2.5 (double) is no string; allowed: " + in_speeches +
           ". Argument 2: nil is one too many; allowed: none. Argument 3: infinitum is one too "
           "many; allowed: none."},
      {saying("arm", {std::string{"finale"}}),
       "CUE: \"finale\" is not allowed; allowed: " + cues + '.'},
      {saying("arm", {'c'}), "CUE: \"c\" (char) is no string; allowed: " + cues + '.'},
      {saying("message"), "TEXT is missing; allowed: " + text + '.'},
      {saying("message", {std::string{}}), "TEXT: \"\" is not allowed; allowed: " + text + '.'},
      {saying("message", {std::string{"a\tb"}}),
       "TEXT: \"a?b\" is not allowed; allowed: " + text + '.'},
      {saying("message", {std::string{"\xFF\xFE"}}),
       "TEXT: \"??\" is not allowed; allowed: " + text + '.'},
      {saying("message", {std::string(65, 'x')}),
       "TEXT: \"" + std::string(64, 'x') + "…\" is not allowed; allowed: " + text + '.'},
      {saying("message", {control::TimeTag{5}}),
       "TEXT: a time tag is no string; allowed: " + text + '.'},
      {saying("subscribe", {std::int32_t{0}}),
       "PORT: 0 (int32) is not allowed; allowed: an int32 from 1 to 65535."},
      {saying("unsubscribe", {std::int32_t{65'536}}),
       "PORT: 65536 (int32) is not allowed; allowed: an int32 from 1 to 65535."},
      {saying("subscribe", {std::string{"8000"}}),
       "PORT: \"8000\" is not allowed; allowed: an int32 from 1 to 65535."}};
  for (const auto& wrong : all) {
    const auto reply = answer(booth, wrong.message);
    CHECK(reply == replying(wrong.message.address.substr(9), "", "not-understood", wrong.sentence));
  }
  for (const auto* command : {"next", "disarm", "abort", "lock", "unlock", "status", "ping"}) {
    const auto reply = answer(booth, saying(command, {1.0F}));
    CHECK(reply == replying(command, "", "not-understood",
                            "Argument 1: 1 (float32) is one too many; allowed: none."));
  }
  CHECK(booth.control.counters().not_understood == all.size() + 7);
  CHECK(booth.control.counters().commands == 0);
  CHECK_FALSE(booth.hall.snapshot()->lock);
  CHECK(booth.hall.applied.empty());
}

TEST_CASE("a show without a running order says so") {
  auto plan = called_show();
  plan.running_order.cues.clear();
  Booth booth{plan};
  CHECK(Booth::sentence(answer(booth, saying("arm", {std::string{"big end"}}))) ==
        "CUE: \"big end\" is not allowed; allowed: nothing, since the show has no cues.");
  CHECK(Booth::outcome(answer(booth, saying("arm"))) == "unknown-name");
}

TEST_CASE("of many segments, sixteen are named") {
  auto plan = called_show();
  while (plan.segments.size() < 20) {
    plan.segments.push_back(plan.segments[0]);
    plan.segments.back().name = {"s" + std::to_string(plan.segments.size())};
  }
  Booth booth{plan};
  const auto sentence = Booth::sentence(answer(booth, saying("go")));
  CHECK(sentence.find("\"s16\" or one of 4 more.") != std::string::npos);
  CHECK(sentence.find("\"s17\"") == std::string::npos);
}

TEST_CASE("an unknown address is told, with those that there are") {
  Booth booth;
  for (const auto* address : {"/catwalk/toggle", "/catwalk", "/catwalk/", "/catwalk/go/finale",
                              "/catwalk/*", "/Catwalk/go", "/"}) {
    CAPTURE(address);
    const auto reply = answer(booth, {address, {}});
    CHECK(reply.address == "/catwalk/reply");
    CHECK(reply.arguments[0] == Argument{std::string{address}});
    CHECK(Booth::outcome(reply) == "not-understood");
    CHECK(Booth::sentence(reply) ==
          "There is no address \"" + std::string{address} +
              "\"; allowed: /catwalk/preview, /catwalk/go, /catwalk/next, /catwalk/arm, "
              "/catwalk/disarm, /catwalk/abort, /catwalk/lock, /catwalk/unlock, "
              "/catwalk/message, /catwalk/subscribe, /catwalk/unsubscribe, /catwalk/status, "
              "/catwalk/ping.");
  }
}

TEST_CASE("strangers are dropped and counted, and get no reply") {
  Booth booth;
  const Peer strangers[] = {{"10.0.0.3", 53'000}, {"10.0.0.2", 7001}, {"::1", 53'000}};
  for (const auto& stranger : strangers) {
    booth.send(saying("lock"), stranger);
    CHECK(booth.replies(stranger).empty());
  }
  CHECK_FALSE(booth.hall.snapshot()->lock);
  CHECK(booth.control.counters().stranger == 3);
  CHECK(booth.control.counters().received == 3);
  booth.send(saying("ping"), {"10.0.0.2", 7000});
  CHECK(booth.replies({"10.0.0.2", 7000}).size() == 1);
}

TEST_CASE("malformed datagrams are dropped and counted, and get no reply") {
  Booth booth;
  booth.send(protocol::Bytes{'g', 'o', '!', 0}, booth.desk);
  booth.send(protocol::Bytes{}, booth.desk);
  CHECK(booth.replies().empty());
  CHECK(booth.control.counters().malformed == 2);
  CHECK(booth.notes ==
        std::vector<std::string>{"show control: dropped a datagram from 10.0.0.1:53000: a message "
                                 "has no address"});
}

TEST_CASE("a flood of rubbish is one line in the log every ten seconds") {
  Booth booth;
  const Peer stranger{"10.0.0.3", 1};
  for (int i = 0; i < 100; ++i) booth.send(saying("ping"), stranger);
  booth.pass(std::chrono::milliseconds{9'999});
  booth.send(saying("ping"), stranger);
  CHECK(booth.notes.size() == 1);
  booth.pass(std::chrono::milliseconds{1});
  booth.send(saying("ping"), stranger);
  CHECK(booth.notes ==
        std::vector<std::string>{"show control: dropped a datagram from 10.0.0.3:1, which is not "
                                 "among the senders",
                                 "show control: dropped a datagram from 10.0.0.3:1, which is not "
                                 "among the senders (and 100 more since the last line)"});
}

TEST_CASE("a message with a type that is not read is left out without a reply") {
  Booth booth;
  auto bytes = control::write_message(saying("go", {std::string{"finale"}}));
  bytes[13] = 'r';
  booth.send(bytes, booth.desk);
  CHECK(booth.replies().empty());
  CHECK(booth.control.counters().unread == 1);
  CHECK(booth.control.counters().malformed == 0);
  CHECK(booth.segment() == "speeches");
}

TEST_CASE("no more than four previews are computed at a time") {
  Booth booth;
  booth.hold_previews = true;
  for (int i = 0; i < 5; ++i) booth.send(saying("preview", {std::string{"finale"}}));
  CHECK(booth.replies() ==
        Messages{replying("preview", "finale", "busy", "4 previews are being computed.")});
  CHECK(booth.control.counters().crowded_out == 1);
  booth.compute_previews();
  CHECK(booth.replies().size() == 4);
  booth.hold_previews = false;
  CHECK(Booth::outcome(answer(booth, saying("preview", {std::string{"finale"}}))) == "done");
}

TEST_CASE("while the core owes 64 answers nothing more is asked of it, but to abort") {
  Booth booth;
  booth.hold = true;  // locks wait for the journal
  for (int i = 0; i < 65; ++i) booth.send(saying("lock"));
  CHECK(booth.replies() ==
        Messages{replying("lock", "", "busy", "64 requests have no answer yet.")});
  CHECK(answer(booth, saying("abort")) ==
        replying("abort", "", "refused", "No switch is under way."));
  booth.hold = false;
  booth.settle();
  CHECK(booth.replies().size() == 64);
  CHECK(Booth::outcome(answer(booth, saying("unlock"))) == "done");
}

TEST_CASE("an answer to nothing that was asked is nobody's") {
  Booth booth;
  CHECK(booth.control.answered(99, {}).empty());
  CHECK(booth.control.previewed(99, {}).empty());
}
