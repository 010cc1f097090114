// SPDX-License-Identifier: Apache-2.0
// The files of the page, as they are served.
#include <doctest/doctest.h>
#include <zlib.h>

#include <algorithm>
#include <string>

#include "web/server/http/coding.hpp"
#include "web/server/http/page_files.hpp"

using catwalk::web::encode;
using catwalk::web::HttpRequest;
using catwalk::web::HttpResponse;
using catwalk::web::page_file;
using catwalk::web::takes_gzip;

namespace {

HttpRequest get(const std::string& path, const std::string& accept_encoding = "") {
  HttpRequest request;
  request.method = "GET";
  request.path = path;
  if (!accept_encoding.empty()) request.headers.emplace("accept-encoding", accept_encoding);
  return request;
}

bool has(const catwalk::web::HttpResponse& response, const std::string& name,
         const std::string& value) {
  return std::ranges::find(response.headers, std::pair{name, value}) != response.headers.end();
}

// RFC 1952, read by zlib; empty: it is none such.
std::string unzipped(std::string_view coded) {
  constexpr std::size_t most = 4'000'000;
  z_stream stream{};
  std::string plain(most, '\0');
  if (inflateInit2(&stream, MAX_WBITS + 16) != Z_OK) return {};
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(coded.data()));
  stream.avail_in = static_cast<uInt>(coded.size());
  stream.next_out = reinterpret_cast<Bytef*>(plain.data());
  stream.avail_out = most;
  const bool whole = inflate(&stream, Z_FINISH) == Z_STREAM_END;
  plain.resize(whole ? stream.total_out : 0);
  inflateEnd(&stream);
  return plain;
}

HttpResponse answer(std::size_t bytes, const std::string& type = "application/json") {
  std::string text = "[";
  for (int i = 0; text.size() < bytes; ++i) text += std::to_string(i * i) + ',';
  text.resize(bytes);
  return {200, type, text, {}};
}

}  // namespace

TEST_CASE(
    "an answer of a packet or more is compressed for whoever takes that, and says on what it "
    "depends") {
  for (const auto* type :
       {"application/json", "application/problem+json", "text/csv; charset=utf-8",
        "text/html; charset=utf-8", "text/plain; version=0.0.4; charset=utf-8"})
    for (const std::size_t bytes : {1'400, 70'000, 1'048'576}) {
      CAPTURE(type);
      CAPTURE(bytes);
      const auto plain = answer(bytes, type);
      auto coded = plain;
      encode(coded, "br, gzip");
      CHECK(has(coded, "Content-Encoding", "gzip"));
      CHECK(has(coded, "Vary", "Accept-Encoding"));
      CHECK(coded.content_type == type);
      CHECK(coded.content().size() < bytes * 3 / 4);
      CHECK(unzipped(coded.content()) == plain.body);
      auto untouched = plain;
      encode(untouched, "gzip;q=0, br");
      CHECK(untouched.body == plain.body);
      CHECK(untouched.headers ==
            std::vector<std::pair<std::string, std::string>>{{"Vary", "Accept-Encoding"}});
    }
}

TEST_CASE("what stands in the program is compressed too") {
  static const auto text = answer(5'000).body;
  HttpResponse response{200, "application/json", {}, {}, text};
  encode(response, "gzip");
  CHECK(unzipped(response.content()) == text);
}

TEST_CASE(
    "small answers, long ones, pictures and what has a tag of its own bytes stay as they are") {
  struct Row {
    HttpResponse response;
    bool says_so;  // that it depends on the request
  };
  auto tagged = answer(5'000);
  tagged.headers.emplace_back("ETag", "\"3\"");
  auto coded = answer(5'000);
  coded.headers.emplace_back("Content-Encoding", "gzip");
  for (const auto& [response, says_so] : std::vector<Row>{{answer(1'399), false},
                                                          {answer(1'048'577), true},
                                                          {answer(5'000, "image/png"), false},
                                                          {tagged, false},
                                                          {coded, false},
                                                          {{304, "", "", {}}, false}}) {
    auto after = response;
    encode(after, "gzip");
    CHECK(after.body == response.body);
    CHECK(has(after, "Vary", "Accept-Encoding") == says_so);
  }
  auto weak = answer(5'000);
  weak.headers.emplace_back("ETag", "W/\"3\"");
  encode(weak, "gzip");
  CHECK(has(weak, "Content-Encoding", "gzip"));
  CHECK(has(weak, "ETag", "W/\"3\""));
}

// RFC 9110, section 12.5.3.
TEST_CASE("gzip is taken if it is named, or everything is, and its weight is not 0") {
  CHECK(takes_gzip("gzip"));
  CHECK(takes_gzip("br, GZIP;q=0.5, deflate"));
  CHECK(takes_gzip("*"));
  CHECK(takes_gzip("identity;q=0.1, *;q=0.2"));
  CHECK(takes_gzip("x-gzip"));
  CHECK_FALSE(takes_gzip(""));
  CHECK_FALSE(takes_gzip("br"));
  CHECK_FALSE(takes_gzip("gzip;q=0"));
  CHECK_FALSE(takes_gzip("gzip; q=0.000, *"));
  CHECK_FALSE(takes_gzip("*;q=0"));
  CHECK_FALSE(takes_gzip(" , ;q=1,"));
}

TEST_CASE("the page is served compressed to whoever takes that, and plain to others") {
  for (const std::string path : {"/", "/app.js", "/app.css", "/icon.svg", "/licences.txt"}) {
    CAPTURE(path);
    const auto plain = page_file(get(path));
    const auto compressed = page_file(get(path, "gzip, deflate"));
    REQUIRE(plain);
    REQUIRE(compressed);
    CHECK(plain->status == 200);
    CHECK_FALSE(has(*plain, "Content-Encoding", "gzip"));
    CHECK(has(*compressed, "Content-Encoding", "gzip"));
    CHECK(has(*plain, "Vary", "Accept-Encoding"));
    CHECK(plain->content_type == compressed->content_type);
    // The two bytes that RFC 1952, section 2.3.1, begins with, and the method after them.
    CHECK(compressed->content().substr(0, 3) == "\x1f\x8b\x08");
    // Its last four bytes are the length of the plain text, the lowest first.
    const auto tail = compressed->content().substr(compressed->content().size() - 4);
    std::size_t length = 0;
    for (std::size_t i = 4; i-- > 0;) length = length * 256 + static_cast<unsigned char>(tail[i]);
    CHECK(length == plain->content().size());
    CHECK(compressed->content().size() < plain->content().size());
  }
}

// RFC 9110, sections 8.8.3 and 13.1.2; RFC 9111, section 5.2.2.4.
TEST_CASE("a file of the page that a browser has is not sent again, and never used unasked") {
  for (const std::string path : {"/", "/app.js", "/app.css"}) {
    CAPTURE(path);
    const auto tag_of = [](const catwalk::web::HttpResponse& response) {
      const auto found = std::ranges::find(response.headers, "ETag",
                                           [](const auto& header) { return header.first; });
      return found == response.headers.end() ? std::string{} : found->second;
    };
    const auto plain = page_file(get(path));
    const auto compressed = page_file(get(path, "gzip"));
    REQUIRE(plain);
    REQUIRE(compressed);
    CHECK(has(*plain, "Cache-Control", "no-cache"));
    CHECK(tag_of(*plain).size() == 34);
    CHECK(tag_of(*plain) != tag_of(*compressed));  // other bytes

    auto again = get(path, "gzip");
    again.headers["if-none-match"] = "\"other\", " + tag_of(*compressed);
    const auto same = page_file(again);
    REQUIRE(same);
    CHECK(same->status == 304);
    CHECK(same->content().empty());
    CHECK(same->content_type.empty());
    CHECK(tag_of(*same) == tag_of(*compressed));
    CHECK(has(*same, "Vary", "Accept-Encoding"));
    again.headers["if-none-match"] = tag_of(*plain);
    CHECK(page_file(again)->status == 200);
  }
}

TEST_CASE("nothing else is a file of the page") {
  for (const std::string path :
       {"", "/index.html", "/app", "/app.js/", "/../app.js", "/api/v1/rack"})
    CHECK_FALSE(page_file(get(path)));
}

// The policy is default-src 'self': a script or a style within the markup would not run.
TEST_CASE("the markup of the page has no script and no style of its own, and no other host") {
  const auto page = page_file(get("/"));
  REQUIRE(page);
  CHECK(page->content_type == "text/html; charset=utf-8");
  CHECK(page->content().find("style=") == std::string::npos);
  CHECK(page->content().find("<style") == std::string::npos);
  CHECK(page->content().find("onclick") == std::string::npos);
  CHECK(page->content().find("://") == std::string::npos);
  CHECK(page->content().find("<script type=\"module\" src=\"/app.js\"></script>") !=
        std::string::npos);
}
