// SPDX-License-Identifier: Apache-2.0
#pragma once
// A running daemon that asks for tokens: one engineer, one operator and a wall screen have one.

#include <algorithm>
#include <cstdint>
#include <functional>
#include <string>

#include "daemon/base/sha256.hpp"
#include "tests/end_to_end/doors_bench.hpp"

namespace catwalk::test {

class GuardedRack {
 public:
  explicit GuardedRack(const std::function<void(Json&)>& edit = [](Json&) {}) {
    rig.edit_rack([&](Json& rack) {
      for (const auto* role : {"engineer", "operate", "watch"})
        rack["tokens"].push_back(
            {{"name", std::string{role} + "-1"}, {"role", role}, {"sha256", digest(role)}});
      edit(rack);
    });
    rig.start_daemon(false);
    port = rig.daemon_port();
  }

  static std::string token(const std::string& role) { return "token of " + role; }
  static std::string digest(const std::string& role) { return sha256_hex(token(role)); }

  RawResponse ask(const std::string& method, const std::string& target, const std::string& headers,
                  const std::string& body = {}) const {
    return ask_http(port, http_bytes(method, target, headers, body));
  }
  // The cookie, as a browser gives it back.
  std::string log_in(const std::string& role) const {
    const auto answer =
        ask("POST", "/api/v1/session", own_page, Json{{"token", token(role)}}.dump());
    const auto set = answer.header("set-cookie");
    return "Cookie: " + set.substr(0, set.find(';')) + "\r\n";
  }
  static std::string bearer(const std::string& role) {
    return "Authorization: Bearer " + token(role) + "\r\n";
  }
  bool serves() const { return ask("GET", "/api/v1/rack", bearer("watch")).status == 200; }

  // Waits until every node answers and is as it should be.
  bool has_met_all() const {
    return eventually([&] {
      const auto nodes = Json::parse(ask("GET", "/api/v1/nodes", bearer("watch")).body);
      return std::ranges::all_of(nodes.at("nodes"), [](const Json& node) {
        return node.at("link") == "answering" && node.at("agreement") == "agreed";
      });
    });
  }
  // All that a request could have changed. Left out is what nodes do by themselves, and who was
  // turned away.
  std::string state() const {
    const auto read = [&](const std::string& path) {
      return Json::parse(ask("GET", "/api/v1/" + path, bearer("engineer")).body);
    };
    Json state = Json::array();
    const auto nodes = read("nodes");
    for (const auto& node : nodes.at("nodes")) state.push_back(node.at("wanted"));
    const auto whole = read("rack");
    for (const auto* member : {"locked", "segment", "epoch"}) state.push_back(whole.at(member));
    for (const auto* path : {"changes", "running-order"}) state.push_back(read(path));
    const auto journal = read("journal?limit=1000");
    for (const auto& entry : journal.at("entries"))
      if (entry.at("kind") != "turned-away" && entry.at("kind") != "alarm" &&
          entry.at("kind") != "found")
        state.push_back(entry);
    return state.dump();
  }

  inline static const std::string own_page = "Sec-Fetch-Site: same-origin\r\n";
  Rig rig;
  std::uint16_t port = 0;
};

inline std::string detail(const RawResponse& response) {
  return Json::parse(response.body).value("detail", std::string{});
}

}  // namespace catwalk::test
