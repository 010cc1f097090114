// SPDX-License-Identifier: Apache-2.0
// The small rules beside the connections: what a host is, where a body ends, what answers may take.
#include <doctest/doctest.h>

#include "web/server/http/framing.hpp"
#include "web/server/http/host.hpp"
#include "web/server/wire/outbox.hpp"

using namespace catwalk::web;

TEST_CASE("a Host field is a name or an address, with at most a port") {
  // RFC 3986, section 3.2.2; the addresses are those of RFC 5737 and RFC 3849.
  for (const auto& [field, name] :
       std::vector<std::pair<std::string, std::string>>{{"rack.example", "rack.example"},
                                                        {"Rack.Example:8470", "rack.example"},
                                                        {"stage_left", "stage_left"},
                                                        {"192.0.2.7:80", "192.0.2.7"},
                                                        {"[2001:db8::1]", "[2001:db8::1]"},
                                                        {"[2001:DB8::1]:65535", "[2001:db8::1]"},
                                                        {"rack:", "rack"},
                                                        {"", ""}}) {
    CAPTURE(field);
    CHECK(host_name(field) == name);
  }
  for (const auto* field :
       {"[::1]evil.example", "[::1]:80evil", "[::1", "[]", "[rack]", "[192.0.2.7]", "[fe80::1%lo]",
        "rack:80:80", "rack:http", "rack:123456", "rack:-1", "a@rack", "rack/", "rack?", "ra ck",
        "rack,rack", "2001:db8::1", "rack\t",
        "r\xC3\xA4"
        "ck"}) {
    CAPTURE(field);
    CHECK_FALSE(host_name(field));
  }
}

// RFC 9112, sections 6.1, 6.3 and 7.1.
TEST_CASE("a body ends where one header says so, and only then") {
  const auto judged = [](std::vector<std::string_view> codings, std::size_t lengths = 0,
                         bool http_1_1 = true) {
    const auto bad = bad_framing({http_1_1, std::move(codings), lengths});
    return bad ? bad->status : 0;
  };
  CHECK(judged({}) == 0);
  CHECK(judged({}, 1) == 0);
  CHECK(judged({"chunked"}) == 0);
  CHECK(judged({"Chunked"}) == 0);
  CHECK(judged({" chunked\t"}) == 0);
  CHECK(judged({}, 2) == 400);
  CHECK(judged({"chunked"}, 1) == 400);
  CHECK(judged({"chunked"}, 0, false) == 400);
  CHECK(judged({"chunked", "chunked"}) == 400);
  for (const auto* coding : {"xchunked", "chunkedx", "", "identity", "gzip", "chunked, gzip",
                             "chunked, chunked", "chunked,", ",chunked,", "chunked;q=1"}) {
    CAPTURE(coding);
    CHECK(judged({coding}) == 400);
  }
  CHECK(judged({"gzip, chunked"}) == 501);
  CHECK(bad_framing({true, {"gzip, chunked"}, 0})->detail ==
        "The Transfer-Encoding is \"gzip, chunked\"; allowed is chunked.");
}

TEST_CASE("long answers take memory up to a bound, of all and of one, and give it back") {
  Outbox outbox{1'000'000, 600'000};
  const auto watcher = [](const char* name) { return Holder{Guests::callers, name, Role::watch}; };
  Outbox::Share first, second, third, fourth;
  CHECK(first.take(outbox, watcher("wall"), 300'000));
  CHECK_FALSE(second.take(outbox, watcher("wall"), 400'000));
  CHECK(second.take(outbox, watcher("wall"), Outbox::small));  // is not counted
  CHECK_FALSE(second.take(outbox, watcher("ana"), 700'000));   // more than anybody may have
  CHECK(second.take(outbox, watcher("ana"), 600'000));
  CHECK_FALSE(third.take(outbox, watcher("ben"), 200'000));
  CHECK(outbox.taken() == 900'000);
  first.give_back();
  CHECK(third.take(outbox, watcher("ben"), 200'000));
  {
    Outbox::Share passing;
    CHECK(passing.take(outbox, watcher("cem"), 100'000));
    CHECK_FALSE(fourth.take(outbox, watcher("dia"), 200'000));
  }
  CHECK(fourth.take(outbox, watcher("dia"), 200'000));
  second.give_back();
  third.give_back();
  fourth.give_back();
  CHECK(outbox.taken() == 0);
}

TEST_CASE("whoever may only look fills no memory that answers to those who act need") {
  Outbox outbox{400'000, 400'000};
  Outbox::Share wall, ana, root, other;
  CHECK(wall.take(outbox, {Guests::callers, "wall", Role::watch}, 400'000));
  CHECK_FALSE(other.take(outbox, {Guests::strangers, "192.0.2.7", Role::watch}, 100'000));
  CHECK(ana.take(outbox, {Guests::callers, "ana", Role::operate}, 400'000));
  CHECK_FALSE(other.take(outbox, {Guests::panels, "root", Role::engineer}, 100'000));
  // A token may be called as a user is.
  CHECK(root.take(outbox, {Guests::trusted, "root", Role::watch}, 400'000));
}
