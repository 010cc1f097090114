// SPDX-License-Identifier: Apache-2.0
#pragma once
// Everything that a rack file and the files it refers to say. Plain values: who opens the lines and
// serves the panels makes of them what it needs. Its schema is schemas/rack.schema.json.

#include <array>
#include <chrono>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/base/endpoint.hpp"
#include "daemon/base/role.hpp"
#include "daemon/base/uid.hpp"
#include "daemon/plan/rack_plan.hpp"

namespace catwalk::config {

// Where on its line a node is found.
struct NodeOnLine {
  NodeUid uid;
  std::uint8_t address = 0;          // serial and simulated lines: 1 to 247, each once
  std::optional<Endpoint> endpoint;  // UDP lines; several nodes may share one
  std::vector<std::uint8_t> key;     // its own, 32 to 64 bytes; empty: it has none
  friend bool operator==(const NodeOnLine&, const NodeOnLine&) = default;
};

struct SerialSetup {
  plan::LineName name;
  std::filesystem::path device;  // a relative path in the file counts from the state folder
  std::uint32_t baud = 115'200;
  std::chrono::milliseconds reading_age{1'000};  // no node's reading gets older
  std::vector<NodeOnLine> nodes;
  friend bool operator==(const SerialSetup&, const SerialSetup&) = default;
};

struct UdpSetup {
  plan::LineName name;
  Endpoint bind;                             // port 0: any
  std::vector<std::uint8_t> key;             // 32 to 64 bytes
  std::optional<std::uint16_t> search_port;  // of nodes that hear a search; absent: the usual one
  std::chrono::milliseconds reading_age{1'000};
  std::vector<NodeOnLine> nodes;
  friend bool operator==(const UdpSetup&, const UdpSetup&) = default;
};

struct SimulatedSetup {
  plan::LineName name;
  std::uint64_t seed = 1;
  double loss = 0.0;  // probabilities of each frame, 0 to 1
  double corrupt = 0.0;
  double duplicate = 0.0;
  std::chrono::milliseconds delay_least{0};
  std::chrono::milliseconds delay_most{0};
  std::vector<std::string> script;  // one command a line, read by the simulation
  std::chrono::milliseconds reading_age{1'000};
  std::vector<NodeOnLine> nodes;
  friend bool operator==(const SimulatedSetup&, const SimulatedSetup&) = default;
};

using LineSetup = std::variant<SerialSetup, UdpSetup, SimulatedSetup>;

// What holds for a kind of line: files are read by it, and lines are opened by it.
struct LineKind {
  std::string_view word;     // as a file has it
  bool by_endpoint = false;  // its nodes are found by IP address and port, else by a short address
  // Others can get at it: another controller, whom its nodes are asked about first, and strangers,
  // against whom a node has a key.
  bool is_open = false;
};
// In the order of LineSetup.
inline constexpr std::array<LineKind, std::variant_size_v<LineSetup>> line_kinds{
    {{"serial", false, true}, {"udp", true, true}, {"simulated", false, false}}};
inline const LineKind& kind_of(const LineSetup& setup) { return line_kinds[setup.index()]; }
inline const plan::LineName& name_of(const LineSetup& setup) {
  return std::visit([](const auto& each) -> const plan::LineName& { return each.name; }, setup);
}

// PEM files; relative paths count from the state folder.
struct TlsSetup {
  std::filesystem::path certificate;  // our own first, then those that vouch for it
  std::filesystem::path private_key;
  friend bool operator==(const TlsSetup&, const TlsSetup&) = default;
};

struct ServerSetup {
  std::string host = "127.0.0.1";          // an IP address
  std::uint16_t port = 8470;               // 0: any
  std::vector<std::string> allowed_hosts;  // names beside the address that panels may call it by
  // Why panels beyond this machine are served without TLS; never empty where they are.
  std::string without_tls_because;
  std::optional<TlsSetup> tls;
  bool behind_tls_proxy = false;  // browsers come through one that speaks TLS with them
  std::chrono::seconds login_lasts = std::chrono::hours{16};
  friend bool operator==(const ServerSetup&, const ServerSetup&) = default;
};

// Who may send show-control messages: Open Sound Control 1.0 over UDP.
struct Sender {
  IpAddress ip{};
  std::optional<std::uint16_t> port;  // absent: from any
  friend bool operator==(const Sender&, const Sender&) = default;
};

struct ShowControlSetup {
  Endpoint bind;                      // port 0: any
  std::vector<Sender> senders;        // never empty; all addresses are of the family of `bind`
  std::vector<Endpoint> subscribers;  // are told what happens
  friend bool operator==(const ShowControlSetup&, const ShowControlSetup&) = default;
};

struct StoreSetup {
  std::filesystem::path state_dir;                          // journal, wanted settings; never empty
  std::chrono::days journal_kept = std::chrono::days{400};  // until rows may be exported
  friend bool operator==(const StoreSetup&, const StoreSetup&) = default;
};

struct Token {
  std::string name;  // who holds it
  Role role = Role::watch;
  std::string sha256;  // of the token: 64 lower-case hexadecimal digits
  friend bool operator==(const Token&, const Token&) = default;
};

// Who comes over the daemon's Unix socket needs no token: the system says who it is.
struct LocalUser {
  std::string name;  // as the machine knows it
  Role role = Role::watch;
  friend bool operator==(const LocalUser&, const LocalUser&) = default;
};

struct RackFile {
  plan::RackPlan plan;
  std::vector<LineSetup> lines;  // in the order of plan.lines
  ServerSetup server;
  StoreSetup store;
  std::vector<Token> tokens;
  std::vector<LocalUser> local_users;
  std::optional<ShowControlSetup> show_control;  // absent: that door is closed
};

}  // namespace catwalk::config
