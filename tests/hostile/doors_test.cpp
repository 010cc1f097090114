// SPDX-License-Identifier: Apache-2.0
// Who may only look, or nobody at all, against those who must act: by the number of connections, by
// wrong tokens, and by tokens that were taken back.
#include <doctest/doctest.h>

#include "tests/end_to_end/guarded_rack.hpp"
#include "tests/hostile/descriptors.hpp"

using namespace catwalk::test;

namespace {

double metric(const GuardedRack& rack, const std::string& name) {
  const auto text = "\n" + rack.ask("GET", "/metrics", GuardedRack::bearer("engineer")).body;
  const auto at = text.find("\n" + name + " ");
  return at == std::string::npos ? -1 : std::stod(text.substr(at + name.size() + 2));
}

// The code with which a panel is closed, once all else has come: RFC 6455, section 5.5.1.
std::string how_it_ends(RawWebSocket& panel) {
  RawWebSocket::Message last;
  do last = panel.next();
  while (last.opcode == RawWebSocket::text);
  return last.opcode == RawWebSocket::close ? last.payload : std::string{"no close"};
}

}  // namespace

TEST_CASE("panels of one token, as many as it likes, shut nobody else out") {
  more_descriptors();
  const GuardedRack rack;
  std::vector<RawWebSocket> panels;
  int refused = 0;
  // No more than it takes: panels that answer no ping are let go after 20 s.
  for (int i = 0; i < 1'100 && refused < 64; ++i) {
    RawWebSocket panel{rack.port, "/api/v1/live", GuardedRack::bearer("watch")};
    if (panel.upgraded.status == 101) {
      panels.push_back(std::move(panel));
      continue;
    }
    REQUIRE(panel.upgraded.status == 429);
    CHECK(panel.upgraded.header("retry-after") == "5");
    if (refused++ > 0) continue;
    // Later there may be more: on a slow machine the first are let go by then.
    CHECK(panels.size() == 256);
    CHECK(detail(panel.upgraded) ==
          "\"watch-1\" has 256 panels open, which is all that one token may have. Close one that "
          "nobody looks at.");
  }
  CHECK(refused == 64);
  // Its requests, everybody else's panels and requests, health probes and the page.
  CHECK(rack.serves());
  CHECK(rack.ask("GET", "/healthz", "").status == 200);
  CHECK(rack.ask("GET", "/", "").status == 200);
  for (const auto* role : {"operate", "engineer"}) {
    CHECK(RawWebSocket{rack.port, "/api/v1/live", GuardedRack::bearer(role)}.upgraded.status ==
          101);
    CHECK(rack.ask("GET", "/api/v1/rack", GuardedRack::bearer(role)).status == 200);
  }
  CHECK(metric(rack, "catwalk_doors_no_place_total") == 64);
}

TEST_CASE("readers of the page who read nothing keep no probe out") {
  more_descriptors();
  const GuardedRack rack;
  std::vector<TcpClient> readers;
  for (int i = 0; i < 600; ++i) {
    readers.emplace_back(rack.port);
    REQUIRE(readers.back().say(http_bytes("GET", "/app.js") + http_bytes("GET", "/app.js")));
    if (i % 50 == 0) CHECK(rack.ask("GET", "/healthz", "").status == 200);
  }
  CHECK(rack.serves());
}

TEST_CASE("wrong tokens are slowed down, counted and journalled, and hold nobody up who works") {
  const GuardedRack rack;
  REQUIRE(rack.serves());
  const auto login = rack.log_in("operate");
  int guesses = 0, unknown = 0, paused = 0;
  const auto guess = [&] {
    const auto answer = ++guesses % 2 == 0
                            ? rack.ask("GET", "/api/v1/rack", "Authorization: Bearer guess\r\n")
                            : rack.ask("POST", "/api/v1/session", "", R"({"token":"guess"})");
    REQUIRE((answer.status == 401 || answer.status == 429));
    ++(answer.status == 401 ? unknown : paused);
    if (answer.status == 429) CHECK(std::stoi(answer.header("retry-after")) > 0);
  };
  while (guesses < 300) guess();
  CHECK(unknown >= 6);
  CHECK(paused > unknown);
  CHECK(rack.serves());
  CHECK(rack.ask("GET", "/api/v1/rack", login).status == 200);
  // One that has not been used from here yet has to wait, be it right or wrong. A pause may just
  // have ended; the next one is longer.
  CHECK(eventually([&] {
    guess();
    return rack.ask("POST", "/api/v1/session", "",
                    Json{{"token", GuardedRack::token("engineer")}}.dump())
               .status == 429;
  }));
  for (int i = 0; i < 2; ++i)
    CHECK(rack.ask("POST", "/api/v1/rack/lock", GuardedRack::bearer("watch"), "{}").status == 403);

  const auto watched = [&](const std::string& path) {
    return rack.ask("GET", path, GuardedRack::bearer("watch")).body;
  };
  const auto counted = [&](const std::string& name) {
    const auto text = watched("/metrics");
    const auto sample = "\ncatwalk_doors_" + name + "_total ";
    const auto at = text.find(sample);
    return at == std::string::npos ? -1 : std::stoi(text.substr(at + sample.size()));
  };
  CHECK(counted("wrong_tokens") == guesses);
  CHECK(counted("refused_roles") == 2);
  Json entries;
  CHECK(eventually([&] {
    entries = Json::parse(watched("/api/v1/journal?kind=turned-away")).at("entries");
    return entries.size() == 2;
  }));
  const auto times = std::to_string(guesses) + " times";
  for (const auto& entry : entries) {
    const bool of_role = entry.at("who") == "watch-1";
    CHECK(entry.at("what").get<std::string>().starts_with(
        "turned away " + (of_role ? "2 times" : times) + " from 127.0.0.1 since 20"));
    CHECK(entry.at("why") ==
          (of_role ? "This needs the role operate; watch-1 has watch." : "the token is not known"));
  }
  CHECK(rack.rig.daemon->output().find("turned away " + times + ": somebody from 127.0.0.1") !=
        std::string::npos);
}

TEST_CASE("a token that is taken back ends all that came by it, at once") {
  GuardedRack rack;
  const auto operate = rack.log_in("operate");
  RawWebSocket by_login{rack.port, "/api/v1/live", operate};
  RawWebSocket by_token{rack.port, "/api/v1/live", GuardedRack::bearer("operate")};
  RawWebSocket other{rack.port, "/api/v1/live", GuardedRack::bearer("watch")};
  TcpClient kept{rack.port};
  REQUIRE(kept.say(http_bytes("GET", "/api/v1/rack", GuardedRack::bearer("operate"))));
  REQUIRE(kept.response().status == 200);
  for (auto* panel : {&by_login, &by_token, &other})
    REQUIRE(Json::parse(panel->next_text()).at("type") == "hello");

  rack.rig.edit_rack([](Json& file) {
    auto& tokens = file["tokens"];
    for (auto one = tokens.begin(); one != tokens.end();)
      one = one->at("name") == "operate-1" ? tokens.erase(one) : one + 1;
    tokens.push_back(
        {{"name", "new-1"}, {"role", "watch"}, {"sha256", GuardedRack::digest("new")}});
  });
  const auto reloaded =
      rack.ask("POST", "/api/v1/rack/reload", GuardedRack::bearer("engineer"), "{}");
  CAPTURE(reloaded.body);
  REQUIRE(reloaded.status == 200);

  CHECK(how_it_ends(by_login).starts_with("\x11\x31"));  // 4401
  CHECK(how_it_ends(by_token).starts_with("\x11\x31"));
  CHECK(kept.ends());
  CHECK(rack.ask("GET", "/api/v1/rack", operate).status == 401);
  CHECK(rack.ask("GET", "/api/v1/rack", GuardedRack::bearer("operate")).status == 401);
  CHECK(rack.ask("GET", "/api/v1/rack", GuardedRack::bearer("new")).status == 200);
  REQUIRE(other.send(RawWebSocket::text, R"({"type":"snapshot"})"));
  CHECK(Json::parse(other.next_text()).at("type") == "snapshot");
}
