// SPDX-License-Identifier: Apache-2.0
#include "tests/end_to_end/doors_bench.hpp"

#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <stdexcept>

namespace catwalk::test {

DoorsBench::DoorsBench() {
  rig.start_daemon();
  port_ = rig.daemon_port();
}

std::string DoorsBench::state() {
  Json all = Json::array();
  const auto nodes = rig.get("/nodes").body;
  for (const auto& node : nodes.at("nodes"))
    all.push_back({node.at("wanted"), node.at("seen").at("settings"), node.at("agreement")});
  const auto rack = rig.get("/rack").body;
  all.push_back({rack.at("locked"), rack.at("segment"), rack.at("epoch")});
  all.push_back(rig.get("/changes").body);
  return all.dump();
}

std::string DoorsBench::trouble() {
  const auto health = ask_http(port_, http_bytes("GET", "/healthz"));
  if (health.status != 200) return "no health";
  const auto nodes = rig.get("/nodes").body;
  for (const auto& node : nodes.at("nodes"))
    if (node.at("link") != "answering" || node.at("agreement") != "agreed" ||
        node.at("seen").at("quality") != "good")
      return node.dump();
  return rig.daemon->running() ? "" : "the daemon ended";
}

double DoorsBench::counter(const std::string& line, const std::string& name) {
  const auto text = ask_http(port_, http_bytes("GET", "/metrics")).body;
  const auto sample = "\ncatwalk_line_" + name + "_total{line=\"" + line + "\"} ";
  const auto at = text.find(sample);
  return at == std::string::npos ? -1 : std::stod(text.substr(at + sample.size()));
}

std::string http_bytes(const std::string& method, const std::string& target,
                       const std::string& headers, const std::string& body) {
  std::string bytes = method + ' ' + target + " HTTP/1.1\r\n";
  if (headers.find("Host:") == std::string::npos) bytes += "Host: 127.0.0.1\r\n";
  if (!body.empty()) {
    if (headers.find("Content-Type:") == std::string::npos)
      bytes += "Content-Type: application/json\r\n";
    bytes += "Content-Length: " + std::to_string(body.size()) + "\r\n";
  }
  return bytes + headers + "\r\n" + body;
}

std::uint16_t udp_port_of(int pid) {
  std::set<std::string> inodes;
  for (const auto& entry :
       std::filesystem::directory_iterator{"/proc/" + std::to_string(pid) + "/fd"}) {
    std::error_code ignored;
    const auto link = std::filesystem::read_symlink(entry.path(), ignored).string();
    if (link.starts_with("socket:[")) inodes.insert(link.substr(8, link.size() - 9));
  }
  // sl local_address rem_address st queues timer retrnsmt uid timeout inode …
  std::ifstream table{"/proc/net/udp"};
  for (std::string line; std::getline(table, line);) {
    std::istringstream words{line};
    std::string slot, local, word, inode;
    words >> slot >> local >> word >> word >> word >> word >> word >> word >> word >> inode;
    if (inodes.contains(inode))
      return static_cast<std::uint16_t>(std::stoul(local.substr(local.find(':') + 1), nullptr, 16));
  }
  throw std::runtime_error{"the process has no UDP port"};
}

}  // namespace catwalk::test
